"""Every setting of a site, once: what it does, an example, and what a value must be."""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import urlsplit

from reportgen import direction
from reportgen.language import say

ADDRESS: Final = re.compile(r"https?://[^\s/?#]+(?:/[^\s?#]*)?")
HOST: Final = re.compile(
    r"(?=.{1,253}$)(?:[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?\.)+[a-z][a-z0-9-]{0,61}[a-z0-9]"
)
LINK: Final = re.compile(r"https?://\S+|mailto:\S+|(?![\w+.-]*:|[/\\])\S+")
UNPRINTABLE: Final = re.compile(
    r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]"
)  # XML 1.0, 2.2: no Char, or discouraged
UNITS: Final = ("metric", "us", "both")
HEAD: Final = "| setting | what it does | without it | for example |\n| --- | --- | --- | --- |\n"

Check = Callable[[Any], str]  # what is expected, empty where the value is right


@dataclass(frozen=True)
class Setting:
    """A setting: its name, what it does, what holds without it, a value as TOML has it, and the
    check of a value.
    """

    name: str
    purpose: str
    otherwise: str
    example: str
    check: Check


def table() -> str:
    """Return all settings as a table of Markdown."""
    return HEAD + "".join(f"{line}\n" for line in _lines())


def _lines() -> Iterator[str]:
    for one in SETTINGS:
        yield f"| `{one.name}` | {one.purpose} | {one.otherwise} | `{one.example}` |"


def host_of(address: object) -> str:
    """Return the host of a web address in small letters, empty where it is none."""
    if not isinstance(address, str) or not ADDRESS.fullmatch(address):
        return ""
    return urlsplit(address).hostname or ""


def _text(value: object) -> str:
    if not isinstance(value, str):
        return say("text in quotes")
    if direction.CONTROLS.search(value):
        return say("text without characters that turn it round")
    if UNPRINTABLE.search(value):
        return say("text without control characters")
    return ""


def _address(value: object) -> str:
    right = isinstance(value, str) and ADDRESS.fullmatch(value)
    if right:
        return ""
    return say("an address such as https://example.org/trials")


def _domain(value: object) -> str:
    right = isinstance(value, str) and HOST.fullmatch(value.lower())
    if right:
        return ""
    return say("the name of a host such as trials.example.org, without https:// and path")


def _menu(value: object) -> str:
    expected = say('a table [menu] of lines such as "Our house" = "https://example.org"')
    if not isinstance(value, Mapping):
        return expected
    right = (
        isinstance(to, str) and LINK.fullmatch(to) and not _text(name) for name, to in value.items()
    )
    if all(right):
        return ""
    return say("{expected}, to web or mail addresses or files of the site", expected=expected)


def _units(value: object) -> str:
    if value in UNITS:
        return ""
    return say("one of {listed}", listed=", ".join(UNITS))


def _currency(value: object) -> str:
    from babel.core import get_global

    known = isinstance(value, str) and value.upper() in get_global("all_currencies")
    if known:
        return ""
    return say("a currency code of ISO 4217, such as EUR")


def _language(value: object) -> str:
    from babel import Locale, UnknownLocaleError

    try:
        Locale.parse(str(value).replace("_", "-"), sep="-")
    except (ValueError, UnknownLocaleError):
        return say("a tag of BCP 47, such as en or es")
    return ""


def _yes_or_no(value: object) -> str:
    if isinstance(value, bool):
        return ""
    return say("true or false, without quotes")


def _theme(_: object) -> str:
    return ""  # each of its tokens is checked by what the style sheet has


SETTINGS: Final = (
    Setting(
        "title",
        "heads the list of trials and the feed",
        "Growing trials",
        'title = "Trials of the house"',
        _text,
    ),
    Setting("author", "of workbooks that name none", "none", 'author = "A. Grower"', _text),
    Setting("licence", "of workbooks that name none", "none", 'licence = "CC-BY-4.0"', _text),
    Setting("currency", "of workbooks that name none", "USD", 'currency = "EUR"', _currency),
    Setting("language", "of reports whose workbooks name none", "en", 'language = "es"', _language),
    Setting(
        "units",
        "of tables and answers: `metric`, `us` or `both`; figures stay metric",
        "metric",
        'units = "both"',
        _units,
    ),
    Setting(
        "address",
        "where the site will be found: link previews, feed, sitemap and posts name it",
        "links are relative, without previews and sitemap",
        'address = "https://example.org/trials"',
        _address,
    ),
    Setting(
        "domain",
        "writes `CNAME`, by which hosts of static pages serve a domain of your own; gives the"
        " address too",
        "no such file",
        'domain = "trials.example.org"',
        _domain,
    ),
    Setting(
        "logo",
        "a picture at the head of every page, SVG, PNG, JPEG or WebP",
        "none",
        'logo = "logo.svg"',
        _text,
    ),
    Setting(
        "menu",
        "links at the head of every page, to web and mail addresses or files of the site",
        "none",
        'menu = {"Our house" = "https://example.org"}',
        _menu,
    ),
    Setting(
        "about",
        "who you are, in Markdown, beneath the list of trials",
        "none",
        'about = "Two growers."',
        _text,
    ),
    Setting(
        "screens",
        "pictures for talks and videos, 1920 x 1080 px, in `screens/`",
        "true",
        "screens = false",
        _yes_or_no,
    ),
    Setting(
        "attach_workbook",
        "puts a cleaned copy of each workbook, the cells in view alone, into its PDF",
        "false",
        "attach_workbook = true",
        _yes_or_no,
    ),
    Setting(
        "templates",
        "a folder whose templates are laid over those of reportgen; below the settings file, unless"
        " `--settings` names it",
        "those of reportgen",
        'templates = "my-templates"',
        _text,
    ),
    Setting(
        "theme",
        "design tokens of `templates/assets/tokens.css`; those of dark pages under `[theme.dark]`",
        "those of reportgen",
        'theme.accent = "#204080"',
        _theme,
    ),
)
CHECKS: Final[Mapping[str, Check]] = {
    one.name: one.check for one in SETTINGS if one.name != "theme"
}
