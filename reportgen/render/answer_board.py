"""The answer as a picture: the finding, then a line for each change with its interval as a bar."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from reportgen.language import marked, say
from reportgen.model.document import AnswerBox, IntervalBar, Report
from reportgen.render import lettering
from reportgen.render.boards import (
    MOST_LINES,
    Board,
    Dot,
    Format,
    Letters,
    Mark,
    Stroke,
    Text,
    block,
    heading,
    paragraph,
)
from reportgen.render.lettering import LEADING
from reportgen.render.palette import Palette

# Parts of a line's width: what was measured, both figures, the change, its bar, the word.
COLUMNS: Final = (0.3, 0.18, 0.12, 0.2, 0.2)
GUTTER: Final = 0.6  # of the size of letters, between columns
LABEL, FIGURES, CHANGE, BAR, WORD = range(5)  # places among `COLUMNS`
LINES_HIGH: Final = 2.3  # the height of a line of the answer, in lines of text
MORE: Final = marked("and {number} more")
EACH: Final = marked("{measure}, beside {reference}")
ROUNDING: Final = 1e-6
SPARE: Final = 0.2  # of a line of the answer, between lines that are set as close as can be
ARROW: Final = "→"


@dataclass(frozen=True)
class AnswerLine:
    """One change as printed: what was measured or compared, both figures, the change, its limits,
    its bar, its word.
    """

    label: str
    figures: str
    change: str
    limits: str
    bar: IntervalBar | None
    word: str


def answer(report: Report, board: Board) -> tuple[Mark, ...]:
    """Return the answer of a report: the lines of its box, or where it has none the sentences in
    its place.
    """
    head, top = heading(report, report.headline, board)
    lines = answer_lines(report.box)
    if lines:
        return (*head, *_table(report.box, lines, board, top))
    said = " ".join(report.lead) or report.question
    return (*head, *paragraph(said, board, top))


def answer_lines(box: AnswerBox) -> tuple[AnswerLine, ...]:
    """Return a line for each change of a box; its label is what tells it from the other lines."""
    return tuple(_lines_of(box))


def _lines_of(box: AnswerBox) -> Iterator[AnswerLine]:
    for row in box.rows:
        for change in row.changes:
            if box.only_other:
                label = with_unit(row.measure, row.unit)
            else:
                label = change.name
            figures = f"{row.reference} {ARROW} {change.figure}"
            if not change.figure:  # a level of a factor beside its own reference level
                label, figures = row.measure, f"{row.reference} {ARROW} {change.name}"
            yield AnswerLine(label, figures, change.change, change.limits, change.bar, change.word)


def with_unit(name: str, unit: str) -> str:
    """Return a name with its unit in brackets."""
    if unit:
        return f"{name} ({unit})"
    return name


def compared(box: AnswerBox) -> str:
    """Return what stands above the lines: what all of them have in common."""
    row = box.rows[0]
    if not row.changes[0].figure:
        return row.unit
    if box.only_other:
        return f"{box.reference} {ARROW} {box.only_other}"
    return say(EACH, measure=with_unit(row.measure, row.unit), reference=box.reference)


@dataclass(frozen=True)
class _Row:
    """Where a line of the answer stands, px: its top, its height, the size of its letters."""

    top: float
    height: float
    size: int

    @property
    def middle(self) -> float:
        return self.top + self.height / 2

    @property
    def most_lines(self) -> int:
        if self.height >= self.size * LEADING * MOST_LINES:
            return MOST_LINES
        return 1


def _table(box: AnswerBox, lines: Sequence[AnswerLine], board: Board, top: float) -> Iterator[Mark]:
    form = board.form
    head, top = block(compared(box), Letters(form.small, board.colours.soft), form, top, 1)
    yield from head
    lines = _measures_with_room(box, lines, form, top)
    size = _size_of_lines(lines, form, top)
    height = _height(size, form, top, len(lines))
    most = max(1, int((form.foot - top) / height + ROUNDING))
    if len(lines) <= most:
        shown = lines
    else:
        shown = lines[: most - 1]
    for place, line in enumerate(shown):
        yield from _line(line, _Row(top + place * height, height, size), board)
    if len(shown) < len(lines):
        said = say(MORE, number=str(len(lines) - len(shown)))
        yield Text(form.margin, top + len(shown) * height + size, size, board.colours.soft, said)


def _measures_with_room(
    box: AnswerBox, lines: Sequence[AnswerLine], form: Format, top: float
) -> Sequence[AnswerLine]:
    """Return the first lines that can be read, where lines are measures; all where they are
    treatments.
    """
    if not box.only_other:
        return lines
    most = int((form.foot - top) / (form.sizes[-1] * LEADING * MOST_LINES) - SPARE)
    return lines[: max(1, most)]


def _size_of_lines(lines: Sequence[AnswerLine], form: Format, top: float) -> int:
    """Return the largest size at which all lines have room and no text is parted that need not be."""
    room = (form.foot - top) / len(lines)
    sizes = [size for size in form.sizes if size * LEADING * LINES_HIGH <= room]
    for parts_figures in (False, True):
        for size in sizes:
            if all(_is_whole(line, size, form, parts_figures=parts_figures) for line in lines):
                return size
    return form.sizes[-1]


def _is_whole(line: AnswerLine, size: int, form: Format, *, parts_figures: bool) -> bool:
    """Return whether no text of a line is parted at a size, but for the label, which may take two
    lines.
    """
    texts = [(CHANGE, line.change, True), (WORD, line.word, True)]
    if not parts_figures:
        texts.append((FIGURES, line.figures, False))
    if any(
        lettering.width(text, size, bold=bold) > _room(column, size, form)
        for column, text, bold in texts
    ):
        return False
    return len(lettering.wrapped(line.label, size, _room(LABEL, size, form))) <= MOST_LINES


def _room(column: int, size: int, form: Format) -> float:
    return COLUMNS[column] * form.room - GUTTER * size


def _height(size: int, form: Format, top: float, number: int) -> float:
    """Return the height of a line: that of two lines of text where there is room, else of one."""
    tall = size * LEADING * LINES_HIGH
    return min(tall, max((form.foot - top) / number, size * LEADING * 1.15))


def _line(line: AnswerLine, row: _Row, board: Board) -> Iterator[Mark]:
    """Yield a line of the answer under a thin rule; each text is set in the middle of the line's
    height.
    """
    form, colours = board.form, board.colours
    left = float(form.margin)
    yield Stroke(left, row.top, left + form.room, row.top, 1.5, colours.rule)
    texts = (line.label, line.figures, line.change, "", line.word)
    for column, text in enumerate(texts):
        room = _room(column, row.size, form)
        if column == BAR and line.bar is not None:
            yield from _bar(line.bar, left, room, row, colours)
        mark = Text(left, row.top, row.size, colours.ink, text, bold=column in (CHANGE, WORD))
        yield from _cell(mark, room, row)
        left += COLUMNS[column] * form.room


def _cell(mark: Text, room: float, row: _Row) -> Iterator[Text]:
    lines = lettering.cut(mark.text, mark.size, room, row.most_lines, bold=mark.bold)
    step = mark.size * LEADING
    first = row.middle - step * len(lines) / 2 + mark.size
    for place, text in enumerate(lines):
        yield replace(mark, y=first + place * step, text=text)


def _bar(bar: IntervalBar, left: float, room: float, row: _Row, colours: Palette) -> Iterator[Mark]:
    """Yield the interval of a change with what was measured, over the upright line of no change."""
    zero, value, low, high = (left + room * percent / 100 for percent in _ends(bar))
    yield Stroke(zero, row.top + 4, zero, row.top + row.height - 4, row.size / 12, colours.soft)
    yield Stroke(low, row.middle, high, row.middle, row.size / 4, colours.accent)
    yield Dot(value, row.middle, row.size / 2.6, colours.ink)


def _ends(bar: IntervalBar) -> tuple[float, float, float, float]:
    """Return the places of a bar in percent of its width; what lies beyond the scale ends at it."""
    if bar.low is None:
        low = 0.0
    else:
        low = bar.low
    if bar.high is None:
        high = 100.0
    else:
        high = bar.high
    return bar.zero, bar.value, low, high
