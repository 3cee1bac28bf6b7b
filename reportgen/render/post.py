"""Set the answer of a report as a post for a blog: a piece of HTML for an editor, and Markdown
beside its pictures.

The HTML carries its pictures as PNG within `data:` addresses and each element's style in the
element, above whatever a theme says. Where an editor takes the styles away, plain HTML in the
theme's own look is left; where it takes the pictures, their texts are.
"""

import io
import re
from base64 import b64encode
from dataclasses import dataclass
from typing import Final, TypeVar
from urllib.parse import quote

from markupsafe import Markup

from reportgen import direction, language
from reportgen.model.document import Figure, Prose, Report, Safety, TreatmentCards
from reportgen.render import answer_board, citation, linked, prose, templates
from reportgen.render import figures as vectors
from reportgen.render.card import SCALE, png

Kind = TypeVar("Kind")

MOST_FIGURES: Final = 2
WIDEST: Final = 640  # px of a picture
ORDER: Final = ("growth", "energy", "water")  # of the sections whose first figures a post takes
SPECIAL: Final = re.compile(r"([\\`*_{}\[\]<>#!|~&$^])")
# CommonMark, section 5.2: what begins a list; section 4.1 and 4.3: what underlines.
AT_START: Final = re.compile(r"^([-+=])|^(\d{1,9})([.)])(?=\s|$)")
LINE_ENDS: Final = re.compile(r"[ \t\n\v\f\r\x1c-\x1f\x85\u2028\u2029]+")
NUL: Final = "\0"  # which no Markdown may hold; CommonMark, section 2.3


@dataclass(frozen=True)
class Picture:
    """A figure as a picture: its address, its size in px as the figure is drawn, its width where
    there is room.
    """

    address: str
    width: int
    height: int

    @property
    def shown(self) -> int:
        """Return the width in px at which letters of the figure are as large as those of the post."""
        return min(self.width * 3 // 2, WIDEST)


def render(report: Report, *, address: str = "", heading: int = 2) -> dict[str, bytes]:
    """Return the report's post as HTML and as Markdown.

    `address` is the site's, without a slash at its end. The title is left out, for blogs have a
    field for it; headings start at level `heading`, 1 to 5. The Markdown names its pictures in the
    folder `figures` beside it.
    """
    shown = {
        "report": report,
        "lines": answer_board.answer_lines(report.box),
        "compared": answer_board.compared(report.box) if report.box.rows else "",
        "figures": figures(report),
        "captions": captions(report),
        "own_words": _blocks(report, Prose),
        "safety": safety(report),
        "address": quote(linked.address_of(report, address), safe="/:?#[]@!$&'()*+,;=%~"),
        "cited": _cited(report),
        "licence": linked.licence(report.dataset.licence),
    }
    html = templates.fill(
        "pages/post.html", pictures=_pictures(report), heading=heading, prose=prose.dressed, **shown
    )
    beside = {figure.key: f"figures/{quote(figure.key)}.png" for figure in figures(report)}
    marks = {"text": text, "start": start, "hashes": "#" * heading, "paragraphs": prose.paragraphs}
    markdown = templates.fill("pages/post.md", pictures=beside, **marks, **shown)
    # References in place of letters beyond ASCII: a fragment cannot say how its letters are
    # encoded.
    fragment = html.encode("ascii", "xmlcharrefreplace")
    return {f"{report.slug}/post.html": fragment, f"{report.slug}/post.md": markdown.encode()}


def figures(report: Report) -> tuple[Figure, ...]:
    """Return the figures of a post: the first of each section, growth and cost before the others."""
    sections = {section.key: section for section in report.sections}
    found: list[Figure] = []
    for key in ORDER:
        if key in sections:
            blocks = sections[key].blocks
        else:
            blocks = ()
        found += [block for block in blocks if isinstance(block, Figure)][:1]
    return tuple(found[:MOST_FIGURES])


def captions(report: Report) -> dict[str, str]:
    """Return the caption of each figure of a post by its key, what two have in common said once."""
    found: dict[str, str] = {}
    for figure in figures(report):
        if figure.caption in found.values():
            found[figure.key] = ""
        else:
            found[figure.key] = figure.caption
    return found


def safety(report: Report) -> tuple[str, ...]:
    """Return the cautions of a report in a sentence each, those that concern a treatment first."""
    boxes: list[Safety] = []
    for cards in _blocks(report, TreatmentCards):
        boxes += [card.safety for card in cards.cards if card.safety]
    boxes += _blocks(report, Safety)
    found = [caution for box in boxes for caution in box.brief or box.items]
    return tuple(dict.fromkeys(found))


def _blocks(report: Report, kind: type[Kind]) -> list[Kind]:
    return [
        block for section in report.sections for block in section.blocks if isinstance(block, kind)
    ]


def _cited(report: Report) -> str:
    with language.using(language.of(report.language)):
        return citation.text(report, report.dataset)


def _pictures(report: Report) -> dict[str, Picture]:
    """Return each figure as drawn for a phone, with its bytes in its address: a post may be as
    narrow.
    """
    return {
        figure.key: _picture(vectors.narrow_svg(figure) or vectors.svg(figure))
        for figure in figures(report)
    }


def _picture(svg: str) -> Picture:
    from PIL import Image

    content = png(svg)
    with Image.open(io.BytesIO(content)) as opened:
        size = (opened.width // SCALE, opened.height // SCALE)
    return Picture(f"data:image/png;base64,{b64encode(content).decode()}", *size)


def text(words: str) -> Markup:
    r"""Return plain text as one line of CommonMark that shows it unchanged, but for runs of white
    space.

    Marked as safe from being escaped for HTML, which it is not: `<` is written `\<`.
    """
    line = LINE_ENDS.sub(
        " ", direction.isolated(words).replace(NUL, "\N{REPLACEMENT CHARACTER}")
    ).strip()
    return Markup(SPECIAL.sub(r"\\\1", line))


def start(words: str) -> Markup:
    """Return plain text as `text` does, to begin a line with: it starts no list and no rule."""
    return Markup(AT_START.sub(_escaped_start, text(words)))


def _escaped_start(match: re.Match[str]) -> str:
    mark, number, point = match.groups()
    if mark:
        return f"\\{mark}"
    return f"{number}\\{point}"
