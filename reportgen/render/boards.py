"""Pictures of texts and lines: marks at places in px, of which cards and screens for talks are
made.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar, Final

from reportgen.model.document import Report
from reportgen.render import lettering, templates
from reportgen.render.lettering import LEADING
from reportgen.render.palette import Palette

MOST_LINES: Final = 2  # of a text that stands beside others


@dataclass(frozen=True)
class Format:
    """The size of a board in px, its margin, and the sizes of letters, largest first.

    `has_edge` says whether a band of the theme's accent runs along its left.
    """

    width: int
    height: int
    margin: int
    title_sizes: tuple[int, ...]
    title_lines: int
    sizes: tuple[int, ...]
    small: int
    gap: int
    has_edge: bool = True

    @property
    def room(self) -> int:
        """Return the px between the margins."""
        return self.width - 2 * self.margin

    @property
    def foot(self) -> int:
        """Return the lowest px that a text may reach."""
        return self.height - self.margin


@dataclass(frozen=True)
class Text:
    """A line of text; `y` is the foot of its letters."""

    kind: ClassVar = "text"
    x: float
    y: float
    size: int
    colour: str
    text: str
    bold: bool = False
    anchor: str = "start"


@dataclass(frozen=True)
class Stroke:
    """A straight line `width` px wide."""

    kind: ClassVar = "stroke"
    x: float
    y: float
    to_x: float
    to_y: float
    width: float
    colour: str


@dataclass(frozen=True)
class Dot:
    """A filled circle around its middle."""

    kind: ClassVar = "dot"
    x: float
    y: float
    radius: float
    colour: str


Mark = Text | Stroke | Dot


@dataclass(frozen=True)
class Board:
    """What a picture is set on: its format and its colours."""

    form: Format
    colours: Palette


@dataclass(frozen=True)
class Letters:
    """How a text is set: its size in px, its colour, whether bold."""

    size: int
    colour: str
    bold: bool = False


def svg(board: Board, marks: Iterable[Mark], inner: str = "") -> str:
    """Return a board as SVG; `inner` is a drawing that stands on it, as SVG."""
    drawn = templates.fill(
        "pages/board.svg", form=board.form, colours=board.colours, marks=tuple(marks)
    )
    return drawn.replace("</svg>", f"{inner}</svg>")


def heading(report: Report, title: str, board: Board) -> tuple[list[Mark], float]:
    """Return the head of a board and where the next thing may begin: the trial, its marks, a title,
    its problem.
    """
    form, colours = board.form, board.colours
    above, top = _strip(report, board)
    letters = Letters(_title_size(title, form), colours.ink, bold=True)
    titled, top = block(title, letters, form, top, form.title_lines)
    if report.trust.problems:
        problem = report.trust.problems[0]
    else:
        problem = ""
    warned, top = block(
        problem, Letters(form.small, colours.caution, bold=True), form, top, MOST_LINES
    )
    return [*above, *titled, *warned], top


def _title_size(title: str, form: Format) -> int:
    """Return the size that sets a title in the fewest lines, and the largest such size."""

    def lines_then_size(size: int) -> tuple[int, int]:
        return len(lettering.wrapped(title, size, form.room, bold=True)), -size

    return min(form.title_sizes, key=lines_then_size)


def _strip(report: Report, board: Board) -> tuple[list[Mark], float]:
    """Return what stands above the title: the grower's title, and marks such as Interim beside it
    or beneath.
    """
    form, colours = board.form, board.colours
    said = " · ".join(map(lettering.plain, report.trust.marks))
    title = lettering.plain(report.title)
    taken = (
        lettering.width(title, form.small) + form.gap + lettering.width(said, form.small, bold=True)
    )
    if said and taken <= form.room:
        y = form.margin + form.small
        beside = Text(
            form.width - form.margin, y, form.small, colours.caution, said, bold=True, anchor="end"
        )
        return [Text(form.margin, y, form.small, colours.accent, title), beside], y + form.gap
    titled, top = block(title, Letters(form.small, colours.accent), form, form.margin, MOST_LINES)
    letters = Letters(form.small, colours.caution, bold=True)
    beneath, below = block(said, letters, form, top - form.gap / 2, 1)
    return [*titled, *beneath], below if beneath else top


def block(
    text: str, letters: Letters, form: Format, top: float, most: int
) -> tuple[list[Mark], float]:
    """Return a text in at most `most` lines from `top` on, and where the next thing may begin."""
    size = letters.size
    lines = lettering.cut(text, size, form.room, most, bold=letters.bold)
    if not lines:
        return [], top
    marks: list[Mark] = []
    for place, line in enumerate(lines):
        y = top + size + place * size * LEADING
        marks.append(Text(form.margin, y, size, letters.colour, line, letters.bold))
    return marks, top + size + (len(lines) - 1) * size * LEADING + form.gap


def paragraph(text: str, board: Board, top: float) -> list[Mark]:
    """Return a text as large as the room beneath `top` allows, cut where even the smallest letters
    are too large.
    """
    form = board.form
    room = form.foot - top
    size = lettering.size_for(text, form.sizes, form.room, room)
    most = max(1, int(room / (size * LEADING)))
    return block(text, Letters(size, board.colours.ink), form, top, most)[0]
