"""The answer as a picture: the finding, then a line for each change with its interval as a bar.

A board is a list of marks at places in px; cards for link previews and screens for talks are boards of two sizes.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar, Final

from reportgen.language import marked, say
from reportgen.model.document import AnswerBox, IntervalBar, Report
from reportgen.render import lettering, templates
from reportgen.render.lettering import LEADING
from reportgen.render.palette import Palette

# Parts of a line's width: what was measured, both figures, the change, its bar, the word.
COLUMNS: Final = (0.31, 0.19, 0.12, 0.2, 0.18)
GUTTER: Final = 0.6  # of the size of letters, between columns
LABEL, FIGURES, CHANGE, BAR, WORD = range(5)  # places among `COLUMNS`
MOST_LINES: Final = 2  # of a text within a line of the answer
LINES_HIGH: Final = 2.3  # the height of a line of the answer, in lines of text
MORE: Final = marked("and {number} more")
EACH: Final = marked("{measure}: {reference} → each other treatment")
ARROW: Final = "→"


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
class AnswerLine:
    """One change as printed: what was measured or compared, both figures, the change with its limits, its bar, its word."""

    label: str
    figures: str
    change: str
    limits: str
    bar: IntervalBar | None
    word: str


def svg(form: Format, colours: Palette, marks: Sequence[Mark], inner: str = "") -> str:
    """Return a board as SVG; `inner` is a drawing that stands on it, as SVG."""
    drawn = templates.fill("pages/board.svg", form=form, colours=colours, marks=marks)
    return drawn.replace("</svg>", f"{inner}</svg>")


def answer(report: Report, form: Format, colours: Palette) -> tuple[Mark, ...]:
    """Return the answer of a report: the lines of its box, or where it has none the sentences in its place."""
    head, top = heading(report, report.headline, form, colours)
    lines = answer_lines(report.box)
    if lines:
        return (*head, *_table(report.box, lines, form, colours, top))
    said = " ".join(report.lead) or report.question
    return (*head, *paragraph(said, form, colours, top))


def heading(report: Report, title: str, form: Format, colours: Palette) -> tuple[list[Mark], float]:
    """Return the head of a board and where the next thing may begin: the trial, its marks, a title, its problem."""
    marks, top = _strip(report, form, colours)
    size = _title_size(title, form)
    titled, top = block(title, size, colours.ink, form, top, form.title_lines, bold=True)
    warned, top = _warning(report, form, colours, top)
    return [*marks, *titled, *warned], top


def _title_size(title: str, form: Format) -> int:
    """Return the size that sets a title in the fewest lines, and the largest such size."""

    def lines_then_size(size: int) -> tuple[int, int]:
        return len(lettering.wrapped(title, size, form.room, bold=True)), -size

    return min(form.title_sizes, key=lines_then_size)


def _strip(report: Report, form: Format, colours: Palette) -> tuple[list[Mark], float]:
    """Return what stands above the title: the grower's title, and marks such as Interim beside it or beneath."""
    said = " · ".join(map(lettering.plain, report.trust.marks))
    title = lettering.plain(report.title)
    taken = lettering.width(title, form.small) + form.gap + lettering.width(said, form.small, bold=True)
    if said and taken <= form.room:
        y = form.margin + form.small
        beside = Text(form.width - form.margin, y, form.small, colours.caution, said, bold=True, anchor="end")
        return [Text(form.margin, y, form.small, colours.accent, title), beside], y + form.gap
    titled, top = block(title, form.small, colours.accent, form, form.margin, MOST_LINES)
    beneath, top = block(said, form.small, colours.caution, form, top - form.gap / 2, 1, bold=True)
    return [*titled, *beneath], top if beneath else top + form.gap / 2


def _warning(report: Report, form: Format, colours: Palette, top: float) -> tuple[list[Mark], float]:
    if not report.trust.problems:
        return [], top
    return block(report.trust.problems[0], form.small, colours.caution, form, top, MOST_LINES, bold=True)


def block(
    text: str, size: int, colour: str, form: Format, top: float, most: int, *, bold: bool = False
) -> tuple[list[Mark], float]:
    """Return a text in at most `most` lines from `top` on, and where the next thing may begin."""
    lines = lettering.cut(text, size, form.room, most, bold=bold)
    if not lines:
        return [], top
    marks: list[Mark] = []
    for place, line in enumerate(lines):
        marks.append(Text(form.margin, top + size + place * size * LEADING, size, colour, line, bold))
    return marks, top + size + (len(lines) - 1) * size * LEADING + form.gap


def paragraph(text: str, form: Format, colours: Palette, top: float) -> list[Mark]:
    """Return a text as large as the room beneath `top` allows, cut where even the smallest letters are too large."""
    room = form.foot - top
    size = lettering.size_for(text, form.sizes, form.room, room)
    most = max(1, int(room / (size * LEADING)))
    return block(text, size, colours.ink, form, top, most)[0]


# ---- the answer's figures ----------------------------------------------------------------------------------


def answer_lines(box: AnswerBox) -> tuple[AnswerLine, ...]:
    """Return a line for each change of a box; its label is what tells it from the other lines."""
    return tuple(_lines_of(box))


def _lines_of(box: AnswerBox) -> Iterator[AnswerLine]:
    for row in box.rows:
        for change in row.changes:
            label = with_unit(row.measure, row.unit) if box.only_other else change.name
            figures = f"{row.reference} {ARROW} {change.figure}"
            if not change.figure:  # a level of a factor beside its own reference level
                label, figures = row.measure, f"{row.reference} {ARROW} {change.name}"
            yield AnswerLine(label, figures, change.change, change.limits, change.bar, change.word)


def with_unit(name: str, unit: str) -> str:
    """Return a name with its unit in brackets."""
    return f"{name} ({unit})" if unit else name


def compared(box: AnswerBox) -> str:
    """Return what stands above the lines: what all of them have in common."""
    row = box.rows[0]
    if not row.changes[0].figure:
        return row.unit
    if box.only_other:
        return f"{box.reference} {ARROW} {box.only_other}"
    return say(EACH, measure=with_unit(row.measure, row.unit), reference=box.reference)


def _table(
    box: AnswerBox, lines: Sequence[AnswerLine], form: Format, colours: Palette, top: float
) -> Iterator[Mark]:
    head, top = block(compared(box), form.small, colours.soft, form, top, 1)
    yield from head
    size = _size_of_lines(lines, form, top)
    height = _height(size, form, top, len(lines))
    most = max(1, int((form.foot - top) / height))
    shown = lines if len(lines) <= most else lines[: most - 1]
    for place, line in enumerate(shown):
        yield from _line(line, size, height, form, colours, top + place * height)
    if len(shown) < len(lines):
        said = say(MORE, number=str(len(lines) - len(shown)))
        yield Text(form.margin, top + len(shown) * height + size, size, colours.soft, said)


def _size_of_lines(lines: Sequence[AnswerLine], form: Format, top: float) -> int:
    """Return the largest size at which all lines have room, and no change or word is parted."""
    room = (form.foot - top) / len(lines)
    for size in form.sizes:
        if size * LEADING * LINES_HIGH <= room and all(_is_whole(line, size, form) for line in lines):
            return size
    return form.sizes[-1]


def _is_whole(line: AnswerLine, size: int, form: Format) -> bool:
    """Return whether no text of a line is parted at a size, but for the label, which may take two lines."""
    texts = ((FIGURES, line.figures, False), (CHANGE, line.change, True), (WORD, line.word, True))
    if any(lettering.width(text, size, bold=bold) > _room(column, size, form) for column, text, bold in texts):
        return False
    return len(lettering.wrapped(line.label, size, _room(LABEL, size, form))) <= MOST_LINES


def _room(column: int, size: int, form: Format) -> float:
    return COLUMNS[column] * form.room - GUTTER * size


def _height(size: int, form: Format, top: float, number: int) -> float:
    """Return the height of a line: that of two lines of text where there is room, else of one."""
    tall = size * LEADING * LINES_HIGH
    return min(tall, max((form.foot - top) / number, size * LEADING * 1.15))


def _line(line: AnswerLine, size: int, height: float, form: Format, colours: Palette, top: float) -> Iterator[Mark]:
    """Yield a line of the answer under a thin rule; each text is set in the middle of the line's height."""
    left = float(form.margin)
    yield Stroke(left, top, left + form.room, top, 1.5, colours.rule)
    most = MOST_LINES if height >= size * LEADING * MOST_LINES else 1
    texts = (line.label, line.figures, line.change, "", line.word)
    for place, (share, text) in enumerate(zip(COLUMNS, texts, strict=True)):
        room = _room(place, size, form)
        if place == BAR:
            yield from _bar(line.bar, left, room, top, height, size, colours)
        else:
            mark = Text(left, top, size, colours.ink, text, bold=place in (CHANGE, WORD))
            yield from _cell(mark, room, height, most)
        left += share * form.room


def _cell(mark: Text, room: float, height: float, most: int) -> Iterator[Text]:
    lines = lettering.cut(mark.text, mark.size, room, most, bold=mark.bold)
    step = mark.size * LEADING
    first = mark.y + (height - step * len(lines)) / 2 + mark.size
    for place, text in enumerate(lines):
        yield replace(mark, y=first + place * step, text=text)


def _bar(
    bar: IntervalBar | None, left: float, room: float, top: float, height: float, size: int, colours: Palette
) -> Iterator[Mark]:
    """Yield the interval of a change with what was measured, over the upright line of no change."""
    if bar is None:
        return
    middle = top + height / 2

    def at(percent: float) -> float:
        return left + room * percent / 100

    yield Stroke(at(bar.zero), top + 4, at(bar.zero), top + height - 4, size / 12, colours.soft)
    low = 0.0 if bar.low is None else bar.low
    high = 100.0 if bar.high is None else bar.high
    yield Stroke(at(low), middle, at(high), middle, size / 4, colours.accent)
    yield Dot(at(bar.value), middle, size / 2.6, colours.ink)
