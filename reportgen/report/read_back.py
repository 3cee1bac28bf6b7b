"""What was read of a log in a layout of its owner's own.

Figures by treatment, and the fate of its numbers.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Final

from reportgen import language
from reportgen.language import OF_TRAITS, marked, plural, say
from reportgen.model.data import ReadBack, ReadFigures
from reportgen.model.document import Block, Paragraph, Table
from reportgen.model.measure_names import LAST, MEASURE_NAMES
from reportgen.report import numbers

NAMING: Final = (0, 1)  # the columns of HEAD that name a row
GAP: Final = 2
WIDEST: Final = 100  # letters of a line at a terminal
MOST_NAMES: Final = 8  # units that are named one by one
OTHER_NAMES: Final = {"water": marked("Water use"), "energy": marked("Energy use")}
REASONS: Final = (  # why numbers are left out; others are in their owner's words
    marked("no part of the trial"),
    marked("belongs to something else"),
    marked("column not read"),
    marked("beside the tables"),
    marked("struck"),
    marked("statistic"),
    marked("repeated header"),
    marked("owner"),
)
HEAD: Final = (
    marked("Quantity"),
    marked("Treatment"),
    marked("Units"),
    marked("Plants or values"),
    marked("Lost"),
    marked("Times measured"),
    marked("Total"),
    marked("Mean"),
    marked("Smallest to largest"),
    marked("First and last day"),
    marked("Sheet"),
)
AMOUNTS: Final = (0, 1, 2, 3, 4, 5, 6, 7)  # columns of HEAD
EXTREMES: Final = (*NAMING, 8, 9, 10)
NUMERIC: Final = (False, False, False, True, True, True, True, True, True, False, False)


def blocks(read: ReadBack | None) -> tuple[Block, ...]:
    """Return what was read as a sentence and a table, nothing for a trial workbook."""
    if read is None:
        return ()
    amounts = _table("read-back", say("What was read of each treatment"), AMOUNTS, read)
    extremes = _table("read-back-extremes", say("Its extremes, days and sheets"), EXTREMES, read)
    return Paragraph(sums(read)), amounts, extremes


def _table(key: str, caption: str, columns: Sequence[int], read: ReadBack) -> Table:
    """Return some columns of what was read, without empty ones: all together are too wide."""
    rows = [_row(figures) for figures in read.figures]
    used = _filled(rows, columns)
    head = tuple(say(HEAD[column]) for column in used)
    cells = tuple(tuple(map(row.__getitem__, used)) for row in rows)
    return Table(key, caption, head, cells, tuple(NUMERIC[column] for column in used))


def _filled(rows: Sequence[Sequence[str]], columns: Iterable[int]) -> list[int]:
    """Return those of some columns in which a row has a text."""
    filled: list[int] = []
    for column in columns:
        if any(row[column] for row in rows):
            filled.append(column)
    return filled


def lines(read: ReadBack) -> Iterator[str]:
    """Yield what was read as lines of plain text: the fate of numbers, then a line a treatment.

    Columns that do not fit beside the others stand below, with quantity and treatment again.
    """
    yield sums(read)
    rows = [_row(figures) for figures in read.figures]
    used = _filled(rows, range(len(HEAD)))
    whole = [tuple(map(say, HEAD)), *rows]
    widths: dict[int, int] = {}
    for column in used:
        widths[column] = max(len(row[column]) for row in whole) + GAP
    for columns in _fitting(used, widths):
        for row in whole:
            padded = [row[column].ljust(widths[column]) for column in columns]
            yield "".join(padded).rstrip()


def _fitting(used: Sequence[int], widths: Mapping[int, int]) -> list[list[int]]:
    """Return the columns in groups that fit a terminal, each with those that name a row."""
    naming = [column for column in used if column in NAMING]
    groups = [list(naming)]
    for column in used:
        if column in NAMING:
            continue
        width = sum(widths[each] for each in (*groups[-1], column))
        if width > WIDEST and groups[-1] != naming:
            groups.append(list(naming))
        groups[-1].append(column)
    return groups


def sums(read: ReadBack) -> str:
    """Return what became of the numbers of a log, such as `412 numbers: 396 read, 12 totals that
    agree`.
    """
    parts = [say("{number} read", number=_count(read.read))]
    if read.agreeing:
        parts.append(say("{number} totals and means that agree", number=_count(read.agreeing)))
    if read.disagreeing:
        parts.append(
            say("{number} totals and means that do not agree", number=_count(read.disagreeing))
        )
    for reason, number in read.left_out:
        parts.append(say("{number} left out: {reason}", number=_count(number), reason=say(reason)))
    if read.unexplained:
        parts.append(say("{number} not explained", number=_count(read.unexplained)))
    whole = plural("{number} number in the log", "{number} numbers in the log", read.numbers)
    return f"{whole}: {'; '.join(parts)}."


def _count(number: int) -> str:
    return numbers.fixed(number, 0)


def _row(figures: ReadFigures) -> tuple[str, ...]:
    return (
        _name(figures.key),
        figures.treatment,
        _units(figures.units),
        _count(figures.n),
        _count(figures.lost) if figures.lost else "",
        _times(figures.times),
        _amount(figures.total, figures.unit),
        _amount(figures.mean, figures.unit),
        _reach(figures),
        _days(figures),
        figures.place,
    )


def _amount(value: float, unit: str) -> str:
    """Return a figure with more digits than the report gives, for its owner to compare with his
    own.
    """
    return f"{numbers.typed(value)} {language.unit(unit)}".rstrip()


def _name(key: str) -> str:
    """Return the name of a measure by its key, which is that of the owner's column for measures of
    his own.
    """
    known = {**MEASURE_NAMES, **OTHER_NAMES}
    if key in known:
        return say(known[key])
    if key.startswith(f"{LAST}_"):
        return say(OF_TRAITS["Last measured"], trait=_name(key.removeprefix(f"{LAST}_")))
    return say(key.replace("_", " ").capitalize())


def _units(names: Sequence[str]) -> str:
    shown = [" ".join(name.split()) for name in names if name]
    if len(shown) > MOST_NAMES:
        left = len(shown) - MOST_NAMES + 1
        shown = [*shown[: MOST_NAMES - 1], say("{number} more", number=_count(left))]
    if shown:
        return f"{_count(len(names))}: {', '.join(shown)}"
    return _count(len(names))


def _times(times: tuple[int, int]) -> str:
    fewest, most = times
    if most <= 1:
        return ""
    if fewest == most:
        return _count(most)
    return say("{low} to {high}", low=_count(fewest), high=_count(most))


def _reach(figures: ReadFigures) -> str:
    if figures.smallest is None or figures.largest is None:
        return ""
    if figures.smallest == figures.largest:
        return _amount(figures.largest, figures.unit)
    return say(
        "{low} to {high}",
        low=numbers.typed(figures.smallest),
        high=_amount(figures.largest, figures.unit),
    )


def _days(figures: ReadFigures) -> str:
    shown = list(dict.fromkeys(_day(label) for label in (figures.first, figures.last) if label))
    return " – ".join(shown)


def _day(label: str) -> str:
    try:
        return numbers.day(date.fromisoformat(label[:10]))
    except ValueError:
        return label
