"""The head that all pages of a site share: logo and menu of the settings; and the file that names
the site's domain.
"""

import re
from dataclasses import dataclass
from hashlib import sha256
from typing import Final

from reportgen.render import templates

ELSEWHERE: Final = re.compile(r"https?://|mailto:")
DOMAIN: Final = "CNAME"


@dataclass(frozen=True)
class Masthead:
    """What stands at the head of a page: the logo's address, links as text and address; `about` is
    Markdown.
    """

    logo: str
    title: str
    menu: tuple[tuple[str, str], ...]
    about: str


def masthead(root: str = "") -> Masthead:
    """Return the head of a page; `root` leads from the page to the site's root, such as `../`."""
    settings = templates.current()
    if settings.logo:
        logo = f"{root}{_logo_name()}"
    else:
        logo = ""
    menu = tuple((text, to if ELSEWHERE.match(to) else f"{root}{to}") for text, to in settings.menu)
    return Masthead(logo, settings.title, menu, settings.about)


def files() -> dict[str, bytes]:
    """Return the logo, and the file by which a host of pages learns the site's domain, as far as
    the settings say.
    """
    settings = templates.current()
    found: dict[str, bytes] = {}
    if settings.logo:
        found[_logo_name()] = settings.logo[1]
    if settings.domain:
        found[DOMAIN] = f"{settings.domain}\n".encode()
    return found


def _logo_name() -> str:
    """Return the logo's address from the site's root, by a fingerprint of its content."""
    ending, content = templates.current().logo or ("", b"")
    return f"assets/logo.{sha256(content).hexdigest()[:10]}{ending}"
