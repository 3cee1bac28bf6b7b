"""Set the heart of a report as a post for a blog: a piece of HTML for an editor, and Markdown beside its pictures.

The HTML carries its pictures as PNG within `data:` addresses and each element's style in the element, above whatever
a theme says. Where an editor takes the styles away, plain HTML in the theme's own look is left; where it takes the
pictures, their texts are.
"""

import io
import json
import re
from base64 import b64encode
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final
from urllib.parse import quote

from markupsafe import Markup

from reportgen import direction, language
from reportgen.model.document import Bullets, Paragraph, Report, Section, Table
from reportgen.render import citation, linked, templates
from reportgen.render.card import SCALE

# What a post keeps of each section, by the block's key or else its kind.
KEPT: Final[Mapping[str, frozenset[str]]] = {
    "effects": frozenset(("interaction", "effects", "response-1", "response-2", "paragraph")),
    "glance": frozenset(("overview", "at-a-glance", "at-a-glance-ratios", "notice")),
    "compared": frozenset(("paragraph", "bullets")),
    "scores": frozenset(("paragraph", "figure", "table")),
    "harvests": frozenset(("cumulative-yield", "harvest-figures", "paragraph")),
    "growth": frozenset(("plants", "paragraph")),
    "water": frozenset(("weight-and-water", "water-figures", "paragraph")),
    "energy": frozenset(("electricity-cost-per-gram", "energy-figures", "paragraph", "bullets")),
    "fair": frozenset(("fairness",)),
}
SPECIAL: Final = re.compile(r"([\\`*_{}\[\]<>#!|~&$^])")
# CommonMark, section 5.2: what begins a list; section 4.1 and 4.3: what underlines.
AT_START: Final = re.compile(r"^([-+=])|^(\d{1,9})([.)])(?=\s|$)")
LINE_ENDS: Final = re.compile(r"[ \t\n\v\f\r\x1c-\x1f\x85\u2028\u2029]+")
NUL: Final = "\0"  # which no Markdown may hold; CommonMark, section 2.3


@dataclass(frozen=True)
class Picture:
    """A figure as a picture: its address, and its size in px as the figure is drawn."""

    address: str
    width: int
    height: int


def render(report: Report, pictures: Mapping[str, bytes], *, address: str = "", heading: int = 2) -> dict[str, bytes]:
    """Return the report's post as HTML and as Markdown, and the report's figures as PNG.

    `pictures` holds each figure as PNG by its key. `address` is the site's, without a slash at its end. The title is
    left out, for blogs have a field for it; headings start at level `heading`, 1 to 5.
    """
    shown = {
        "report": report,
        "sections": sections(report),
        "methods": _methods(report),
        "safety": _safety(report),
        "address": quote(linked.address_of(report, address), safe="/:?#[]@!$&'()*+,;=%~"),
        "cited": _cited(report),
        "licence": linked.licence(report.dataset.licence),
    }
    html = templates.fill("pages/post.html", pictures=_within(pictures), heading=heading, **shown)
    beside = {key: f"figures/{quote(key)}.png" for key in pictures}
    marks = {"text": text, "start": start, "hashes": "#" * heading}
    markdown = templates.fill("pages/post.md", pictures=beside, **marks, **shown)
    files = {f"{report.slug}/figures/{key}.png": picture for key, picture in pictures.items()}
    # References in place of letters beyond ASCII: a fragment cannot say how its letters are encoded.
    fragment = html.encode("ascii", "xmlcharrefreplace")
    return {f"{report.slug}/post.html": fragment, f"{report.slug}/post.md": markdown.encode()} | files


def sections(report: Report) -> tuple[Section, ...]:
    """Return what a post keeps of the report's sections; a section of which nothing is kept is left out."""
    kept = (_kept(report, section) for section in report.sections if section.key in KEPT)
    return tuple(section for section in kept if section.blocks)


def _kept(report: Report, section: Section) -> Section:
    names = KEPT[section.key]
    blocks = [one for one in section.blocks if one.kind in names or getattr(one, "key", "") in names]
    if section.key == "fair":
        counted = [one for one in section.blocks[:1] if isinstance(one, Paragraph)]
        blocks = [*counted, *(_doubts(report, one) for one in blocks if isinstance(one, Table))]
    return replace(section, blocks=tuple(one for one in blocks if not isinstance(one, Table) or one.rows))


def _doubts(report: Report, checks: Table) -> Table:
    """Return the checks of a fair test that were not sound; all of them where the results file tells no verdicts."""
    found = json.loads(report.results).get("fairness", [])
    if len(found) != len(checks.rows):
        return checks
    rows = (row for row, check in zip(checks.rows, found, strict=True) if check["verdict"] != "sound")
    return replace(checks, rows=tuple(rows))


def _methods(report: Report) -> Section | None:
    """Return the methods in short: their first paragraph under their heading."""
    for section in report.sections:
        if section.key == "methods":
            said = [block for block in section.blocks if isinstance(block, Paragraph)]
            return replace(section, blocks=tuple(said[:1]))
    return None


def _safety(report: Report) -> Bullets | None:
    """Return the cautions of work with water, light and acids, which close the methods."""
    methods = (section for section in report.sections if section.key == "methods")
    lists = [block for section in methods for block in section.blocks if isinstance(block, Bullets)]
    return lists[-1] if lists else None


def _cited(report: Report) -> str:
    with language.using(language.of(report.language)):
        return citation.text(report, report.dataset)


def _within(pictures: Mapping[str, bytes]) -> dict[str, Picture]:
    """Return each picture with its bytes in its address."""
    from PIL import Image

    found = {}
    for key, content in pictures.items():
        with Image.open(io.BytesIO(content)) as opened:
            size = (opened.width // SCALE, opened.height // SCALE)
        found[key] = Picture(f"data:image/png;base64,{b64encode(content).decode()}", *size)
    return found


def text(words: str) -> Markup:
    r"""Return plain text as one line of CommonMark that shows it unchanged, but for runs of white space.

    Marked as safe from being escaped for HTML, which it is not: `<` is written `\<`.
    """
    line = LINE_ENDS.sub(" ", direction.isolated(words).replace(NUL, "\N{REPLACEMENT CHARACTER}")).strip()
    return Markup(SPECIAL.sub(r"\\\1", line))


def start(words: str) -> Markup:
    """Return plain text as `text` does, to begin a line with: it starts no list and no rule."""
    return Markup(AT_START.sub(_escaped_start, text(words)))


def _escaped_start(match: re.Match[str]) -> str:
    mark, number, point = match.groups()
    return f"\\{mark}" if mark else f"{number}\\{point}"
