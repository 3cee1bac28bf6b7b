"""Draw pictures of pixels: a report's figures, and its card for link previews."""

import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final

from reportgen.model.document import Report
from reportgen.render import figures as vectors
from reportgen.render import templates
from reportgen.render.linked import CARD_SIZE

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont

NAME: Final = "card.png"
SCALE: Final = 2  # pixels of a figure for each px of its drawing, for screens of twice the usual density
COLOURS: Final = 256
NEARLY_WHITE: Final = 252  # of 255; the few colours are means of some, and white would be 254
ELLIPSIS: Final = "…"
SPACES: Final = re.compile(r"[^\S\u00a0\u202f]+")  # all but those that do not break

MARGIN: Final = 72  # px, on all sides
WIDTH: Final = CARD_SIZE[0] - 2 * MARGIN
FOOT: Final = CARD_SIZE[1] - MARGIN  # px, where the lowest line stands
SAFETY: Final = 1.03  # the converter kerns, Pillow's plain layout does not
LEADING: Final = 1.25  # line heights
TITLE_SIZES: Final = (60, 52, 46)
TITLE_LINES: Final = 3
ANSWER_SIZES: Final = (32, 28, 24)
SMALL_SIZE: Final = 20
NUMBER_SIZE: Final = 28
GAP: Final = 32
COLUMN_GAP: Final = 24
MOST_NUMBERS: Final = 3
LABEL_LINES: Final = 2


@dataclass(frozen=True)
class Line:
    """One line of text on the card, at the foot of its letters; `role` says which letters it is set in."""

    x: float
    y: float
    size: int
    role: str
    text: str

    @property
    def bold(self) -> bool:
        """Return whether the line is in bold letters."""
        return self.role in ("title", "number")


def png(svg: str, scale: int = SCALE) -> bytes:
    """Return a drawing as PNG on white, in at most 256 colours: the same drawing gives the same bytes."""
    from PIL import Image

    drawn = vectors.converter().svg_to_png(_on_white(vectors.in_ink(svg)), scale=scale)
    with Image.open(io.BytesIO(drawn)) as picture:
        flat = picture.convert("RGB")
    out = io.BytesIO()
    few = flat.quantize(COLOURS, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)  # a fifth of median cut's time
    few.putpalette([255 if level >= NEARLY_WHITE else level for level in few.getpalette() or ()])
    few.save(out, "PNG")
    return out.getvalue()


def _on_white(svg: str) -> str:
    """Return a drawing on white: the converter gives wrong colours to what is half clear on nothing."""
    opening, end, rest = svg.partition(">")
    return f'{opening}{end}<rect width="100%" height="100%" fill="white"/>{rest}'


def pictures(figures: Mapping[str, str]) -> dict[str, bytes]:
    """Return each figure as PNG by the figure's key."""
    return {key: png(drawn) for key, drawn in figures.items()}


def render(report: Report) -> dict[str, bytes]:
    """Return the picture that link previews show: crop, title, answer and, where they fit, key figures."""
    return {f"{report.slug}/{NAME}": png(drawing(report), scale=1)}


def drawing(report: Report) -> str:
    """Return the card as SVG."""
    width, height = CARD_SIZE
    return templates.fill("pages/card.svg", width=width, height=height, margin=MARGIN, lines=lines(report))


def lines(report: Report) -> tuple[Line, ...]:
    """Return the lines of the card from top to bottom.

    The answer goes before the figures, for its end may take back what its beginning says: where both have no room the
    figures are left out, then the answer is set smaller. What has no room even then is cut at a word.
    """
    crop = _block(report.crop, "crop", SMALL_SIZE, MARGIN, 1)
    under_crop = _below(crop, MARGIN)
    title = _title(report.title, under_crop)
    top = _below(title, under_crop)
    said = report.answer[0] if report.answer else report.question
    numbers = _numbers(report)
    room = min((line.y - line.size for line in numbers), default=FOOT + GAP) - GAP - top
    if not _fits(said, ANSWER_SIZES[0], room):
        numbers, room = [], FOOT - top
    size = next((one for one in ANSWER_SIZES if _fits(said, one, room)), ANSWER_SIZES[-1])
    answer = _block(said, "answer", size, top, max(_lines_in(room, size), 1))
    return (*crop, *title, *answer, *numbers)


def _lines_in(room: float, size: int) -> int:
    return int(room / (size * LEADING))


def _fits(text: str, size: int, room: float) -> bool:
    return len(_wrapped(_plain(text), size)) <= _lines_in(room, size)


def _title(text: str, top: float) -> list[Line]:
    """Return the title in as few lines as it can be set in, and as large as that allows."""
    size = min(TITLE_SIZES, key=lambda one: (len(_wrapped(_plain(text), one, bold=True)), -one))
    return _block(text, "title", size, top, TITLE_LINES)


def _block(text: str, role: str, size: int, top: float, most: int) -> list[Line]:
    """Return a text in at most `most` lines from `top` on."""
    bold = role in ("title", "number")
    kept = _cut(_wrapped(_plain(text), size, bold), most, size, bold)
    return [Line(MARGIN, top + size + place * size * LEADING, size, role, line) for place, line in enumerate(kept)]


def _below(block: list[Line], otherwise: float) -> float:
    return block[-1].y + GAP if block else otherwise


def _numbers(report: Report) -> list[Line]:
    """Return up to three figures beside each other at the card's foot; none where one of them has no room."""
    caption = _plain(report.key_figures.caption)
    found = [(_plain(label), _plain(value)) for label, value in report.key_figures.figures[:MOST_NUMBERS]]
    column = WIDTH / MOST_NUMBERS
    room = column - COLUMN_GAP
    if not found or any(_width(value, NUMBER_SIZE, True) > room for _, value in found):
        return []
    above = FOOT - NUMBER_SIZE * LEADING
    labels = [_label(label, room) for label, _ in found]
    top = above - (max(map(len, labels)) - 1) * SMALL_SIZE * LEADING - SMALL_SIZE * 1.7
    placed = [Line(MARGIN, top, SMALL_SIZE, "label", _fitted(caption, SMALL_SIZE, WIDTH))]
    for place, (label, (_, value)) in enumerate(zip(labels, found, strict=True)):
        left = MARGIN + place * column
        for below, line in zip(reversed(range(len(label))), label, strict=True):
            placed.append(Line(left, above - below * SMALL_SIZE * LEADING, SMALL_SIZE, "label", line))
        placed.append(Line(left, FOOT, NUMBER_SIZE, "number", value))
    return placed


def _label(text: str, room: float) -> list[str]:
    """Return a label in two lines at most, so that it need not be cut before it says of which gram a figure is."""
    made = _wrapped(text, SMALL_SIZE, width=room)
    if len(made) <= LABEL_LINES:
        return made
    return [*made[: LABEL_LINES - 1], _fitted(" ".join(made[LABEL_LINES - 1 :]), SMALL_SIZE, room)]


def _plain(text: str) -> str:
    """Return a text in one line that XML can hold; spaces that do not break stay."""
    return SPACES.sub(" ", text.translate(vectors.NOT_IN_XML)).strip()


def _wrapped(text: str, size: int, bold: bool = False, width: float = WIDTH) -> list[str]:
    """Return the lines of a text that fills a width, the card's if not given; a word longer than a line is broken."""
    made = [""]
    for word in _words(text, size, bold, width):
        longer = f"{made[-1]} {word}".strip(" ")
        if _width(longer, size, bold) <= width:
            made[-1] = longer
        else:
            made.append(word)
    return [line for line in made if line]


def _words(text: str, size: int, bold: bool, width: float) -> Iterator[str]:
    for word in text.split(" "):
        rest = word
        while _width(rest, size, bold) > width:
            head = _longest(rest, size, width, bold)
            yield head
            rest = rest[len(head) :]
        yield rest


def _cut(made: list[str], most: int, size: int, bold: bool) -> list[str]:
    """Return the first lines of a text, the last with an ellipsis after a whole word where more followed."""
    if len(made) <= most:
        return made
    last = made[most - 1]
    while " " in last and _width(last + ELLIPSIS, size, bold) > WIDTH:
        last = last.rpartition(" ")[0]
    return [*made[: most - 1], _fitted(last.rstrip(" ,;:.") + ELLIPSIS, size, WIDTH, bold)]


def _fitted(text: str, size: int, room: float, bold: bool = False) -> str:
    """Return a text that fits a room, cut with an ellipsis where it does not."""
    if _width(text, size, bold) <= room:
        return text
    return _longest(text, size, room - _width(ELLIPSIS, size, bold), bold).rstrip() + ELLIPSIS


def _longest(text: str, size: int, room: float, bold: bool) -> str:
    """Return the longest beginning of a text that fits a room, at least one character of it."""
    from bisect import bisect_right

    fits = bisect_right(range(1, len(text) + 1), room, key=lambda length: _width(text[:length], size, bold))
    return text[: max(1, fits)]


def _width(text: str, size: int, bold: bool = False) -> float:
    """Return the width of a line in px, with some to spare."""
    return SAFETY * float(_font(size, bold).getlength(text))


@cache
def _font(size: int, bold: bool) -> "FreeTypeFont":
    """Return the font that the converter draws with, so that both measure alike."""
    from PIL import ImageFont

    name = "Inter-Bold.ttf" if bold else "Inter-Regular.ttf"
    path = templates.folder() / "assets" / "fonts" / name
    return ImageFont.truetype(str(path), size, layout_engine=ImageFont.Layout.BASIC)
