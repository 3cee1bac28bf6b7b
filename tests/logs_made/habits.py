"""Habits: what growers do to a log beyond its layout. Each is one line in `HABITS`.

A habit sets how things are written (`style`) before the trial is placed, or changes the grid after
that (`change`).
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from numpy.random import Generator, default_rng

from . import beside
from .grid import (
    BLANK,
    DATA,
    Cell,
    Log,
    Row,
    Sheet,
    cell_at,
    changed_cells,
    changed_sheets,
    data_runs,
    padded,
    same_in_all_columns,
    sheets_of,
    width,
    with_row,
)
from .layouts import Layout, Style
from .trial import Trial, chance, one_of
from .words import CROPS, HEADERS, LANGUAGES

NOTES: Final = (
    "Lamp 2 flickered",
    "watered late on Tuesday",
    "new scissors",
    "scale was at 0 before",
    "by J.",
)
Change = Callable[[Generator, Log, Trial, Style], Log]
Fits = Callable[[Trial, Layout], bool]


def always(trial: Trial, layout: Layout) -> bool:
    """Return True: the habit fits any log."""
    return True


@dataclass(frozen=True)
class Habit:
    """One habit: its name, what it sets, what it changes, and the trials that it fits."""

    name: str
    style: Mapping[str, object] = field(default_factory=dict)
    change: Change | None = None
    fits: Fits = always


# ---- rows and columns ----------------------------------------------------------------------------


def title_rows(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Put a title, sometimes a second line, above what stands on each sheet of plants."""
    more = chance(rng, 0.5)
    gap = chance(rng, 0.7)

    def change(sheet: Sheet) -> Sheet:
        rows = [Row((Cell(f"{trial.crop.title()} trial {trial.started.year}", "title"),), "title")]
        if more:
            rows.append(Row((Cell(one_of(rng, NOTES), "title"),), "title"))
        if gap:
            rows.append(Row(()))
        return replace(sheet, rows=(*rows, *sheet.rows))

    return changed_sheets(log, change, "plants")


def _statistic(name: str, word: str) -> Change:
    def change_log(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
        label = one_of(rng, HEADERS[style.language][word])
        formula = chance(rng, 0.5)
        each = chance(rng, 0.4)

        def change(sheet: Sheet) -> Sheet:
            runs = data_runs(sheet.rows)
            rows = sheet.rows
            if not each:
                data = tuple(one for first, last in runs for one in rows[first:last])
                whole = _of_rows(data, name, label, formula and len(runs) == 1)
                return replace(sheet, rows=with_row(rows, runs[-1][1], whole))
            for first, last in reversed(runs):
                rows = with_row(rows, last, _of_rows(rows[first:last], name, label, formula))
            return replace(sheet, rows=rows)

        return changed_sheets(log, change, "plants")

    return change_log


def _of_rows(rows: tuple[Row, ...], name: str, label: str, formula: bool) -> Row:
    what = "total" if name == "sum" else "mean"
    cells: list[Cell] = []
    for column in range(width(rows)):
        held = [cell_at(one, column) for one in rows]
        numbers = [cell.value for cell in held if cell.what == "value" and _is_number(cell.value)]
        if not numbers or any(cell.what in ("note", "junk") for cell in held):
            cells.append(BLANK)
            continue
        total = sum(numbers)
        value = round(total if name == "sum" else total / len(numbers), 6)
        of = next(cell for cell in held if cell.what == "value")
        sums = (name, len(rows), 0) if formula and not any(cell.strike for cell in held) else None
        cells.append(Cell(value, what, of.of, of.unit, sums=sums))
    free = next((at for at, cell in enumerate(cells) if cell is BLANK), None)
    if free is not None:
        cells[free] = Cell(label, what)
    return Row(tuple(cells), "total")


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def has_over(trial: Trial, layout: Layout) -> bool:
    """Return whether plants or pickings stand over columns, so that a row has a sum."""
    over = {dimension for dimension, carrier in layout.carriers.items() if carrier == "over"}
    return (
        over in ({"plant"}, {"occasion"})
        and trial.kind in ("", "pickings")
        and trial.mass != "lb+oz"
    )


def totals_column(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Put the sum of each row behind it."""
    label = one_of(rng, HEADERS[style.language]["total"])
    formula = chance(rng, 0.5)

    def change(sheet: Sheet) -> Sheet:
        at = width(sheet.rows)
        heads = [place for place, one in enumerate(sheet.rows) if one.kind == "header"]

        def new(one: Row) -> Cell:
            place = next(number for number, other in enumerate(sheet.rows) if other is one)
            if one.kind == "header" and (place + 1 not in heads):
                return Cell(label, "header", "total")
            return _sum_of_row(one, at, formula) if one.kind == DATA else BLANK

        return replace(sheet, rows=same_in_all_columns(sheet.rows, at, new))

    return changed_sheets(log, change, "plants")


def _sum_of_row(one: Row, at: int, formula: bool) -> Cell:
    values = [place for place, cell in enumerate(one.cells) if cell.what == "value"]
    numbers = [one.cells[place].value for place in values if _is_number(one.cells[place].value)]
    if not values:
        return BLANK
    whole = values == list(range(values[0], at))
    sums = ("sum", -len(values), 0) if formula and whole else None
    return Cell(round(sum(numbers), 6), "total", sums=sums)


def notes_beside(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Put a remark some columns to the right of a table, or below it."""

    def change(sheet: Sheet) -> Sheet:
        text = Cell(one_of(rng, NOTES), "note")
        rows = list(sheet.rows)
        if chance(rng, 0.4):
            return replace(sheet, rows=(*rows, Row(()), Row((text,), "note")))
        at = int(rng.integers(0, len(rows)))
        rows[at] = replace(rows[at], cells=(*padded(rows[at], width(sheet.rows) + 1).cells, text))
        return replace(sheet, rows=tuple(rows))

    return changed_sheets(log, change, "plants")


def remarks_column(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Put a column of remarks behind each table, few of them filled."""
    label = one_of(rng, HEADERS[style.language]["remark"])

    def change(sheet: Sheet) -> Sheet:
        rows = sheet.rows
        heads = [place for place, one in enumerate(rows) if one.kind == "header"]
        last = {place for place in heads if place + 1 not in heads}

        def new(one: Row) -> Cell:
            place = next(number for number, other in enumerate(rows) if other is one)
            if place in last:
                return Cell(label, "header", "remark")
            told = one.kind == DATA and chance(rng, 0.2)
            return Cell(one_of(rng, HEADERS[style.language]["small"]), "remark") if told else BLANK

        return replace(sheet, rows=same_in_all_columns(rows, width(rows), new))

    return changed_sheets(log, change, "plants")


def dose_column(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Put the dose of fertiliser a plant, in g, behind each table: a number that is no weight of a
    crop.
    """
    label = f"{one_of(rng, HEADERS[style.language]['dose'])} (g)"

    def change(sheet: Sheet) -> Sheet:
        heads = [place for place, one in enumerate(sheet.rows) if one.kind == "header"]

        def new(one: Row) -> Cell:
            place = next(number for number, other in enumerate(sheet.rows) if other is one)
            if place in heads and place + 1 not in heads:
                return Cell(label, "header", "junk")
            return Cell(2.5, "junk") if one.kind == DATA else BLANK

        return replace(sheet, rows=same_in_all_columns(sheet.rows, width(sheet.rows), new))

    return changed_sheets(log, change, "plants")


def blank_rows(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Put a blank row where a label of the first column changes, or one anywhere."""

    def change(sheet: Sheet) -> Sheet:
        rows = sheet.rows
        inside = [at for first, last in data_runs(rows) for at in range(first + 1, last)]
        turns = [
            at for at in inside if _label_of(rows[at]) not in (None, '"', _label_of(rows[at - 1]))
        ]
        few = (
            turns
            if 0 < len(turns) < len(inside)
            else inside[len(inside) // 2 : len(inside) // 2 + 1]
        )
        for at in reversed(few):
            rows = with_row(rows, at, Row(()))
        return replace(sheet, rows=rows)

    return changed_sheets(log, change, "plants")


def _label_of(one: Row) -> object:
    return cell_at(one, 0).value


def rows_mixed(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Write the rows in no order, where each says all that it is."""
    if style.repeats != "all":
        return log

    def change(sheet: Sheet) -> Sheet:
        rows = list(sheet.rows)
        for first, last in data_runs(sheet.rows):
            held = rows[first:last]
            rows[first:last] = [held[at] for at in rng.permutation(len(held))]
        return replace(sheet, rows=tuple(rows))

    return changed_sheets(log, change, "plants")


def blank_column(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Leave the first column blank, or one between the labels and the values."""
    first = chance(rng, 0.6)

    def change(sheet: Sheet) -> Sheet:
        at = 0
        if not first:
            data = next(one for one in sheet.rows if one.kind == DATA)
            at = next((place for place, cell in enumerate(data.cells) if cell.what == "value"), 0)
        return replace(sheet, rows=same_in_all_columns(sheet.rows, at, lambda _: BLANK))

    return changed_sheets(log, change, "plants")


def struck_row(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Write a row again below, and strike out the first one, whose weights were wrong."""

    def change(sheet: Sheet) -> Sheet:
        rows = [at for at, one in enumerate(sheet.rows) if one.kind == DATA]
        at = rows[int(rng.integers(min(len(rows), 4)))]
        void = tuple(_struck(rng, cell) for cell in sheet.rows[at].cells)
        return replace(sheet, rows=with_row(sheet.rows, at, Row(void, DATA)))

    file = log.files[0]
    places = [at for at, sheet in enumerate(file.sheets) if sheet.part == "plants"]
    chosen = places[0]
    sheets = tuple(change(sheet) if at == chosen else sheet for at, sheet in enumerate(file.sheets))
    return replace(log, files=(replace(file, sheets=sheets), *log.files[1:]))


def _struck(rng: Generator, cell: Cell) -> Cell:
    if cell.what == "key":
        return BLANK
    if cell.what == "value" and _is_number(cell.value) and cell.of != "count":
        cell = replace(cell, value=beside.alike(cell.value, 1.13))
    return replace(cell, strike=cell.value is not None, what="void", of="", stands="")


def second_crop(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Put a column of the crop first, and rows of another crop below, which is no part of the
    trial.
    """
    other = next(crop for crop in CROPS if crop != trial.crop)
    word = HEADERS[style.language]["crop"][0]

    def change(sheet: Sheet) -> Sheet:
        heads = [place for place, one in enumerate(sheet.rows) if one.kind == "header"]
        last = {place for place in heads if place + 1 not in heads}

        def new(one: Row) -> Cell:
            place = next(number for number, row in enumerate(sheet.rows) if row is one)
            if place in last:
                return Cell(word, "header", "crop")
            return Cell(trial.crop, "crop") if one.kind == DATA else BLANK

        rows = same_in_all_columns(sheet.rows, 0, new)
        data = [one for one in rows if one.kind == DATA]
        return replace(sheet, rows=(*rows, *(_of_other_crop(rng, one, other) for one in data)))

    return changed_sheets(log, change, "plants")


def _of_other_crop(rng: Generator, one: Row, crop: str) -> Row:
    cells = []
    for cell in one.cells:
        if cell.what == "key":  # it stands beside the rows, and once
            cells.append(BLANK)
            continue
        value = crop if cell.what == "crop" else cell.value
        if cell.what == "value" and _is_number(value) and cell.of != "count":
            value = beside.alike(value, float(rng.uniform(0.4, 0.6)))
        cells.append(replace(cell, value=value, what="junk", of="", stands="", at=-1))
    return replace(one, cells=tuple(cells))


def coloured_rows(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Colour some rows, which means nothing."""

    def change(sheet: Sheet) -> Sheet:
        rows = []
        for one in sheet.rows:
            yellow = one.kind == DATA and chance(rng, 0.2)
            cells = (
                tuple(replace(cell, fill="FFFF99") for cell in one.cells) if yellow else one.cells
            )
            rows.append(replace(one, cells=cells))
        return replace(sheet, rows=tuple(rows))

    return changed_sheets(log, change, "plants")


# ---- cells ---------------------------------------------------------------------------------------


def with_comma(value: float, thousands: bool = False) -> str:
    """Return a number with a decimal comma."""
    text = f"{value:,}" if thousands else str(value)
    return text.replace(",", "T").replace(".", ",").replace("T", ".")


def decimal_commas(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Write numbers with decimal commas: as text in a spreadsheet; so are all numbers of a csv."""
    thousands = chance(rng, 0.3)

    def change(cell: Cell) -> Cell:
        if not isinstance(cell.value, float) or cell.what not in ("value", "total", "mean", "void"):
            return cell
        return replace(cell, value=with_comma(cell.value, thousands), sums=None)

    return replace(changed_cells(log, change, "plants"), decimal=",", csv_separator=";")


def text_numbers(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Write the weights as text."""

    def change(cell: Cell) -> Cell:
        return (
            replace(cell, value=str(cell.value))
            if cell.what == "value" and _is_number(cell.value)
            else cell
        )

    return changed_cells(log, change, "plants")


def noted_numbers(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Write a note behind one or two numbers, in their cells."""
    word = one_of(rng, HEADERS[style.language]["small"])
    left = [2]

    def change(cell: Cell) -> Cell:
        weight = (
            cell.what == "value" and _is_number(cell.value) and cell.of not in ("count", "area")
        )
        if not weight or not left[0] or not chance(rng, 0.12):
            return cell
        left[0] -= 1
        return replace(cell, value=f"{cell.value} ({word})")

    return changed_cells(log, change, "plants")


def units_in_cells(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Write the unit of measure behind each number."""

    def change(cell: Cell) -> Cell:
        weight = cell.what == "value" and _is_number(cell.value) and cell.unit and cell.of != "area"
        return replace(cell, value=f"{cell.value} {cell.unit}") if weight else cell

    return changed_cells(log, change, "plants")


# ---- other tables --------------------------------------------------------------------------------


def _another_sheet(make: Callable[[Generator, Trial, Style], Sheet]) -> Change:
    def change(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
        file = log.files[0]
        sheet = make(rng, trial, style)
        if chance(rng, 0.2):
            return replace(log, files=(replace(file, sheets=(sheet, *file.sheets)), *log.files[1:]))
        return replace(log, files=(replace(file, sheets=(*file.sheets, sheet)), *log.files[1:]))

    return change


def hidden_sheet(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Keep last year's weights on a hidden sheet."""
    file = log.files[0]
    sheets = (*file.sheets, beside.last_year(rng, log, style))
    return replace(log, files=(replace(file, sheets=sheets), *log.files[1:]))


def table_below(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    """Put another table below that of the plants on the last sheet of it."""
    make = one_of(
        rng, (beside.climate_sheet, beside.lab_sheet, beside.means_sheet, beside.dose_sheet)
    )
    more = make(rng, trial, style)
    last = sheets_of(log, "plants")[-1]

    def change(sheet: Sheet) -> Sheet:
        if sheet is not last:
            return sheet
        return replace(sheet, rows=(*sheet.rows, Row(()), Row(()), *more.rows))

    return changed_sheets(log, change, "plants")


# ---- which fit -----------------------------------------------------------------------------------


def has_days(trial: Trial, layout: Layout) -> bool:
    """Return whether the log tells days."""
    return len(trial.days) > 1


def has_gaps(trial: Trial, layout: Layout) -> bool:
    """Return whether some value is lost or blank."""
    return any(value.stands for value in trial.values)


def has_label_column(trial: Trial, layout: Layout) -> bool:
    """Return whether two label columns stand side by side, so that the first repeats."""
    return sum(carrier == "column" for carrier in layout.carriers.values()) > 1


def has_over_levels(trial: Trial, layout: Layout) -> bool:
    """Return whether two dimensions stand over the values."""
    return sum(carrier == "over" for carrier in layout.carriers.values()) > 1


def has_weights(trial: Trial, layout: Layout) -> bool:
    """Return whether units of measure can be left to the owner: they are those of weights alone."""
    return trial.mass != "lb+oz" and not layout.units_row and "area_yield" not in trial.measures


def in_one_sheet(trial: Trial, layout: Layout) -> bool:
    """Return whether plants stand on one sheet in one table."""
    return not {"sheet", "title", "file", "section"} & set(layout.carriers.values())


def _not_of_pounds(trial: Trial, layout: Layout) -> bool:
    return trial.mass != "lb+oz"


HABITS: Final = (
    *(Habit(f"language {one}", {"language": one}) for one in LANGUAGES if one != "en"),
    Habit("units in square brackets", {"units": "square"}, fits=has_weights),
    Habit("units after a comma", {"units": "comma"}, fits=has_weights),
    Habit("units plain", {"units": "plain"}, fits=has_weights),
    Habit("units in a row", {"units": "row"}, fits=has_weights),
    Habit("no units", {"units": "none"}, fits=has_weights),
    Habit("dates as text", {"dates": "text"}, fits=has_days),
    Habit("dates in US order", {"dates": "us"}, fits=has_days),
    Habit("dates without a year", {"dates": "no year"}, fits=has_days),
    Habit("weeks", {"dates": "week"}, fits=has_days),
    Habit("labels blank below", {"repeats": "blank"}, fits=has_label_column),
    Habit("labels merged", {"repeats": "merged"}, fits=has_label_column),
    Habit("ditto marks", {"repeats": "ditto"}, fits=has_label_column),
    Habit("heads blank to the right", {"over": "blank"}, fits=has_over_levels),
    Habit("heads repeated", {"over": "repeat"}, fits=has_over_levels),
    Habit("blank for lost", {"blank_lost": True}, fits=has_gaps),
    Habit("dash for lost", {"dash": True}, fits=has_gaps),
    Habit("rows mixed", change=rows_mixed),
    Habit("struck row", change=struck_row),
    Habit("remarks column", change=remarks_column, fits=lambda t, lay: not lay.beside),
    Habit(
        "dose column",
        change=dose_column,
        fits=lambda t, lay: not lay.beside and not has_over(t, lay),
    ),
    Habit("totals column", change=totals_column, fits=has_over),
    Habit("totals row", change=_statistic("sum", "total")),
    Habit("means row", change=_statistic("mean", "mean")),
    Habit("second crop", change=second_crop, fits=in_one_sheet),
    Habit("blank rows", change=blank_rows),
    Habit("blank column", change=blank_column),
    Habit("table below", change=table_below, fits=in_one_sheet),
    Habit("notes beside", change=notes_beside),
    Habit("title rows", change=title_rows),
    Habit("coloured rows", change=coloured_rows),
    Habit("numbers with notes", change=noted_numbers),
    Habit("units in cells", {"units": "none"}, change=units_in_cells, fits=has_weights),
    Habit("decimal commas", change=decimal_commas),
    Habit("numbers as text", change=text_numbers),
    Habit("hidden sheet", change=hidden_sheet),
    Habit("climate log", change=_another_sheet(beside.climate_sheet)),
    Habit("lab values", change=_another_sheet(beside.lab_sheet)),
    Habit("sheet of means", change=_another_sheet(beside.means_sheet)),
    Habit("sheet of notes", change=_another_sheet(beside.notes_sheet)),
    Habit("sheet of doses", change=_another_sheet(beside.dose_sheet)),
)
HABIT_STREAM: Final = 7
SPREADSHEET_ONLY: Final = {"struck row", "hidden sheet"}


def drawn_habits(rng: Generator, trial: Trial, layout: Layout) -> list[Habit]:
    """Return two to four habits that fit, no two of which set the same."""
    number = int(rng.integers(2, 5))
    fitting = [habit for habit in HABITS if habit.fits(trial, layout)]
    # Languages are many lines of one habit.
    chosen: list[Habit] = []
    order = [fitting[at] for at in rng.permutation(len(fitting))]
    for habit in order:
        taken = {name for one in chosen for name in one.style}
        cells = {"decimal commas", "numbers as text", "numbers with notes", "units in cells"}
        clash = habit.name in cells and cells & {one.name for one in chosen}
        if len(chosen) < number and not taken & set(habit.style) and not clash:
            chosen.append(habit)
    return sorted(chosen, key=HABITS.index)


def styled(habits: list[Habit]) -> Style:
    """Return how a grower with some habits writes."""
    style = Style()
    for habit in habits:
        style = replace(style, **habit.style)
    return style


def changed(seed: int, log: Log, trial: Trial, style: Style, habits: list[Habit]) -> Log:
    """Return a log with the habits that change the grid, each drawn by itself."""
    for at, habit in enumerate(habits):
        if habit.change:
            log = habit.change(default_rng([seed, HABIT_STREAM, at]), log, trial, style)
    return replace(log, habits=tuple(habit.name for habit in habits))


def merged_labels(log: Log) -> Log:
    """Return a log whose labels that are blank below the first are merged with it."""

    def change(sheet: Sheet) -> Sheet:
        rows = [list(one.cells) for one in sheet.rows]
        for first, last in data_runs(sheet.rows):
            for column in range(width(sheet.rows)):
                _merge(rows, first, last, column)
        return replace(
            sheet,
            rows=tuple(replace(one, cells=tuple(rows[at])) for at, one in enumerate(sheet.rows)),
        )

    return changed_sheets(log, change, "plants")


def _merge(rows: list[list[Cell]], first: int, last: int, column: int) -> None:
    labels = ("occasion", "treatment", "factor", "block", "unit")
    at = first
    while at < last:
        end = at + 1
        here = rows[at][column] if column < len(rows[at]) else BLANK
        if here.what in labels and here.value is not None:
            while (
                end < last
                and rows[end][column].value is None
                and rows[end][column].what in (here.what, "void")
            ):
                end += 1  # a row that is struck out lies in the merged cell, too
            rows[at][column] = replace(here, span=(end - at, 1))
        at = end
