"""What holds for a whole site: whose it is, where it lies, how it looks."""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

Units = Literal["typed", "metric", "us", "both"]


@dataclass(frozen=True)
class Settings:
    """The settings of a site; every one has a default, so that none need be given.

    `title` heads the list of trials. `author`, `licence`, `currency` and `language` hold for
    workbooks that do not name their own. `units` are those of reports, `typed` the system that each
    workbook was typed in. `address` is where the site will be found, without a slash
    at its end; empty where that is not known. `theme` pairs names of design tokens with their
    values in light and `dark_theme` in dark. `templates` is a folder whose templates come before
    the ones that are shipped; `template_files` pairs the name of each of its files, relative to it
    and with slashes, with what was in the file when the settings were read. `screens` says whether
    there are pictures for talks. `domain` is the host that serves the site, `logo` the ending of a
    picture's name with its content, `menu` pairs texts of links with their addresses, `about` is
    Markdown. `attach_workbook` puts a cleaned copy of each workbook into its PDF.
    """

    title: str = "Growing trials"
    author: str = ""
    address: str = ""
    licence: str = ""
    currency: str = ""
    language: str = "en"
    units: Units = "typed"
    theme: tuple[tuple[str, str], ...] = ()
    dark_theme: tuple[tuple[str, str], ...] = ()
    templates: Path | None = None
    template_files: tuple[tuple[str, bytes], ...] = ()
    screens: bool = True
    domain: str = ""
    logo: tuple[str, bytes] | None = None
    menu: tuple[tuple[str, str], ...] = ()
    about: str = ""
    attach_workbook: bool = False


ASSUMED_CURRENCY = "USD"  # of money, where neither workbook nor settings name one
DEFAULTS = Settings()
