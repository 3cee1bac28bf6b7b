"""Changes of a made log.

Those in `SAME` leave the trial as it is; those in `NEXT_WEEK` are what an owner does later.

Each makes another `Made` of one, with the truth that then holds, or None where it does not fit.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from numpy.random import default_rng

from .grid import (
    BLANK,
    DATA,
    Cell,
    Log,
    Row,
    Sheet,
    cells_of,
    changed_cells,
    changed_sheets,
    data_runs,
    same_in_all_columns,
    with_row,
)
from .habits import with_comma
from .making import Made, can_be_csv, made
from .trial import DECIMALS, ONLY_LAST, PICKINGS, Trial, Unit, Value, truth_of
from .words import GRAMS, HEADERS

Change = Callable[[Made], Made | None]
STATISTICS: Final = ("totals row", "means row", "totals column")


def _with_log(of: Made, log: Log) -> Made:
    return replace(of, log=log)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


# ---- the same trial, written otherwise -----------------------------------------------------------


def numbers_as_text(of: Made) -> Made:
    """Write every weight as text."""

    def change(cell: Cell) -> Cell:
        return (
            replace(cell, value=str(cell.value))
            if cell.what == "value" and _is_number(cell.value)
            else cell
        )

    return _with_log(of, changed_cells(of.log, change, "plants"))


def decimal_commas(of: Made) -> Made:
    """Write every number with a decimal comma: as text in a spreadsheet, and throughout a csv."""

    def change(cell: Cell) -> Cell:
        told = isinstance(cell.value, float) and cell.what in ("value", "total", "mean", "void")
        return replace(cell, value=with_comma(cell.value), sums=None) if told else cell

    log = changed_cells(of.log, change, "plants")
    return _with_log(of, replace(log, decimal=",", csv_separator=";"))


def as_csv(of: Made) -> Made | None:
    """Write a csv in place of a spreadsheet."""
    if of.log.suffix == "csv" or not can_be_csv(of.log):
        return None
    return _with_log(of, replace(of.log, suffix="csv", csv_encoding="utf-8"))


def as_spreadsheet(of: Made) -> Made | None:
    """Write a spreadsheet in place of a csv."""
    return _with_log(of, replace(of.log, suffix="xlsx")) if of.log.suffix == "csv" else None


def sheets_in_another_order(of: Made) -> Made | None:
    """Turn the order of the sheets round."""
    if len(of.log.files[0].sheets) < 2:
        return None
    files = [replace(file, sheets=file.sheets[::-1]) for file in of.log.files]
    return _with_log(of, replace(of.log, files=tuple(files)))


def rows_in_another_order(of: Made) -> Made | None:
    """Shuffle the rows of each table, where each row says all that it is."""
    if of.style.repeats != "all" or "struck row" in of.log.habits:
        return None
    rng = default_rng([of.seed, 11])

    def change(sheet: Sheet) -> Sheet:
        rows = list(sheet.rows)
        for first, last in data_runs(sheet.rows):
            held = rows[first:last]
            rows[first:last] = [held[at] for at in rng.permutation(len(held))]
        return replace(sheet, rows=tuple(rows))

    return _with_log(of, changed_sheets(of.log, change, "plants"))


def blank_row(of: Made) -> Made:
    """Put a blank row in the middle of each table."""

    def change(sheet: Sheet) -> Sheet:
        rows = sheet.rows
        for first, last in reversed(data_runs(rows)):
            if last - first > 1:
                rows = with_row(rows, (first + last) // 2, Row(()))
        return replace(sheet, rows=rows)

    return _with_log(of, changed_sheets(of.log, change, "plants"))


def blank_column(of: Made) -> Made:
    """Leave the first column of each sheet blank."""

    def change(sheet: Sheet) -> Sheet:
        return replace(sheet, rows=same_in_all_columns(sheet.rows, 0, lambda _: BLANK))

    return _with_log(of, changed_sheets(of.log, change, "plants"))


def title_added(of: Made) -> Made:
    """Put a title and a blank row above each sheet of plants."""

    def change(sheet: Sheet) -> Sheet:
        return replace(
            sheet,
            rows=(Row((Cell("Weighed by J. and M.", "title"),), "title"), Row(()), *sheet.rows),
        )

    return _with_log(of, changed_sheets(of.log, change, "plants"))


def language_changed(of: Made) -> Made:
    """Write headers and words in another language; names of treatments and sheets stay."""
    old = of.style.language
    new = {"en": "de", "de": "fr"}.get(old, "en")
    pairs: list[tuple[str, str]] = []
    for name, words in HEADERS[old].items():
        pairs += [
            (word, HEADERS[new][name][min(at, len(HEADERS[new][name]) - 1)])
            for at, word in enumerate(words)
        ]
    pairs.sort(key=lambda pair: -len(pair[0]))

    def change(cell: Cell) -> Cell:
        is_worded = cell.what in ("header", "total", "key") or cell.of in (
            "header",
            "fill",
            "top-up",
            "remaining",
        )
        if isinstance(cell.value, str) and (is_worded or cell.stands):
            return replace(cell, value=_translated(cell.value, pairs))
        return cell

    changed = changed_cells(of.log, change)
    said = {
        name: tuple(_translated(one, pairs) for one in told) for name, told in of.log.said.items()
    }
    return replace(of, log=replace(changed, said=said), style=replace(of.style, language=new))


def _translated(text: str, pairs: list[tuple[str, str]]) -> str:
    start = "column:" if text.startswith("column:") else ""
    rest = text.removeprefix(start)
    for word, other in pairs:
        if rest == word or rest.startswith((f"{word} ", f"{word},")):
            return start + other + rest[len(word) :]
    return text


SAME: Final[Mapping[str, Change]] = {
    "numbers as text": numbers_as_text,
    "decimal commas": decimal_commas,
    "csv for a spreadsheet": as_csv,
    "spreadsheet for a csv": as_spreadsheet,
    "sheets in another order": sheets_in_another_order,
    "rows in another order": rows_in_another_order,
    "a blank row": blank_row,
    "a blank column": blank_column,
    "a title": title_added,
    "another language": language_changed,
}


# ---- what an owner does next week ----------------------------------------------------------------


def _with_trial(of: Made, edit: Callable[[Trial], Trial]) -> Made:
    """Return the log of an edited trial in the same layout, with the same habits."""
    return made(of.seed, of.layout.name, edit)


def row_added(of: Made) -> Made | None:
    """Write down one more plant of the last unit, or one more unit where plants are not told apart."""
    if of.layout.name == "treatments over columns":
        return None  # a row is of all treatments there
    if of.trial.plants in ("each",):
        return _with_trial(of, _one_more_plant)
    return _with_trial(of, _one_more_unit)


def _one_more_plant(trial: Trial) -> Trial:
    last = trial.units[-1]
    name = str(len(last.plants) + 1)
    grown = replace(last, plants=(*last.plants, name))
    own = [value for value in trial.values if value.unit == last]
    gaps = {value.plant for value in own if value.amount is None}
    like = next(plant for plant in last.plants if plant not in gaps)
    pattern = [value for value in own if value.plant == like]
    return _replaced(trial, last, grown, [_like(value, grown, name) for value in pattern])


def _one_more_unit(trial: Trial) -> Trial:
    last = trial.units[-1]
    digits = "".join(letter for letter in last.name if letter.isdigit())
    name = last.name.replace(digits, str(int(digits) + 1).zfill(len(digits)))
    new = replace(last, name=name, block="")
    values = [_like(value, new, value.plant) for value in trial.values if value.unit == last]
    pours = [replace(one, unit=new) for one in trial.pours if one.unit == last]
    units = (*trial.units, new)
    return replace(
        trial, units=units, values=(*trial.values, *values), pours=(*trial.pours, *pours)
    )


def _replaced(trial: Trial, old: Unit, new: Unit, more: list[Value]) -> Trial:
    units = tuple(new if unit == old else unit for unit in trial.units)
    values = tuple(
        replace(value, unit=new) if value.unit == old else value for value in trial.values
    )
    pours = tuple(replace(one, unit=new) if one.unit == old else one for one in trial.pours)
    return replace(trial, units=units, values=(*values, *more), pours=pours)


def _like(value: Value, unit: Unit, plant: str) -> Value:
    """Return a value like another one, a little larger; what was lost lives."""
    amount = 1.0 if value.amount is None else value.amount
    if value.quantity == "count":
        return replace(value, unit=unit)
    decimals = len(str(amount).partition(".")[2])
    return replace(value, unit=unit, plant=plant, amount=round(amount * 1.1, decimals), stands="")


def picking_added(of: Made) -> Made | None:
    """Pick once more, a few days later."""
    return _with_trial(of, _one_more_picking) if of.trial.kind == PICKINGS else None


def _one_more_picking(trial: Trial) -> Trial:
    on = trial.days[-1] + (trial.days[-1] - trial.days[-2])
    last = len(trial.days) - 1
    more = [
        replace(_like(value, value.unit, value.plant), occasion=last + 1)
        for value in trial.values
        if value.occasion == last
    ]
    return replace(trial, days=(*trial.days, on), values=(*trial.values, *more))


def rows_sorted(of: Made) -> Made | None:
    """Sort the rows of each table by its last column of values, where each row says all that it is."""
    if of.style.repeats != "all" or {"struck row", *STATISTICS} & set(of.log.habits):
        return None

    def change(sheet: Sheet) -> Sheet:
        rows = list(sheet.rows)
        for first, last in data_runs(sheet.rows):
            rows[first:last] = sorted(rows[first:last], key=_last_value)
        return replace(sheet, rows=tuple(rows))

    return _with_log(of, changed_sheets(of.log, change, "plants"))


def _last_value(one: Row) -> str:
    values = [str(cell.value) for cell in one.cells if cell.what == "value"]
    return values[-1] if values else ""


def column_added(of: Made) -> Made:
    """Put a column of heights between the labels and the values."""

    def change(sheet: Sheet) -> Sheet:
        data = next((one for one in sheet.rows if one.kind == DATA), None)
        if data is None:
            return sheet
        at = next((place for place, cell in enumerate(data.cells) if cell.what == "value"), 0)
        heads = [place for place, one in enumerate(sheet.rows) if one.kind == "header"]
        last = {place for place in heads if place + 1 not in heads}
        number = iter(range(10**6))

        def new(one: Row) -> Cell:
            place = next(where for where, other in enumerate(sheet.rows) if other is one)
            if place in last:
                return Cell(
                    f"{HEADERS[of.style.language]['height'][0]} (cm)", "header", "height", "cm"
                )
            return (
                Cell(12 + next(number) * 7 % 5, "value", "height", "cm")
                if one.kind == DATA
                else BLANK
            )

        return replace(sheet, rows=same_in_all_columns(sheet.rows, at, new))

    return _with_log(of, changed_sheets(of.log, change, "plants"))


def sheet_added(of: Made) -> Made | None:
    """Put a sheet of notes before the others."""
    if of.log.suffix == "csv":
        return None
    rows = (Row((Cell("To do", "note"),), "note"), Row((Cell("order seed", "note"),), "note"))
    file = of.log.files[0]
    files = (replace(file, sheets=(Sheet("To do", rows, "junk"), *file.sheets)), *of.log.files[1:])
    return _with_log(of, replace(of.log, files=files))


def value_corrected(of: Made) -> Made | None:
    """Correct one weight in its cell."""
    last = len(of.trial.days) - 1
    weights = [
        cell
        for cell in cells_of(of.log, "plants")
        if cell.at >= 0
        and _is_number(cell.value)
        and cell.of in ("fresh_weight", "dry_weight", "gross")
    ]
    counting = [cell for cell in weights if _counts(of.trial, cell, last)]
    if of.trial.mass == "lb+oz" or not counting:
        return None
    chosen = counting[len(counting) // 2]
    decimals = len(str(chosen.value).partition(".")[2])
    new = round(chosen.value * 1.2 + 10**-decimals, decimals)

    def change(cell: Cell) -> Cell:
        return replace(cell, value=new) if cell is chosen else cell

    values = list(of.trial.values)
    values[chosen.at] = replace(values[chosen.at], amount=new)
    trial = replace(of.trial, values=tuple(values))
    return replace(
        of, log=changed_cells(of.log, change, "plants"), trial=trial, truth=truth_of(trial)
    )


def _counts(trial: Trial, cell: Cell, last: int) -> bool:
    """Return whether a value is among those that make the figures: of the last day where only that
    counts.
    """
    return trial.kind not in ONLY_LAST or trial.values[cell.at].occasion == last


def treatment_renamed(of: Made) -> Made | None:
    """Give one treatment another name wherever it stands."""
    return None if of.trial.spelled else _with_trial(of, _renamed)


def _renamed(trial: Trial) -> Trial:
    old, new = trial.treatments[-1], "Z" if len(trial.treatments[-1]) == 1 else "zebra"
    treatments = (*trial.treatments[:-1], new)
    units = {
        unit: replace(unit, treatment=new) if unit.treatment == old else unit
        for unit in trial.units
    }
    return replace(
        trial,
        treatments=treatments,
        units=tuple(units.values()),
        values=tuple(replace(value, unit=units[value.unit]) for value in trial.values),
        pours=tuple(replace(one, unit=units[one.unit]) for one in trial.pours),
        readings=tuple(
            replace(one, treatment=new) if one.treatment == old else one for one in trial.readings
        ),
    )


def unit_changed(of: Made) -> Made | None:
    """Weigh in another unit of measure: in the cells, and in the headers as far as they tell it."""
    if of.trial.mass not in GRAMS or "area_yield" in of.trial.measures:
        return None
    return _with_trial(of, _in_other_unit)


def _in_other_unit(trial: Trial) -> Trial:
    new = "kg" if trial.mass == "g" else "g"
    times = GRAMS[trial.mass] / GRAMS[new]
    values = []
    for value in trial.values:
        weight = value.quantity in ("fresh_weight", "dry_weight", "gross", "tare")
        if weight and value.amount is not None:
            extra = 2 if value.quantity == "dry_weight" else 1
            value = replace(value, amount=round(value.amount * times, DECIMALS[new] + extra))  # noqa: PLW2901
        values.append(value)
    return replace(trial, mass=new, values=tuple(values))


def titles_swapped(of: Made) -> Made | None:
    """Exchange the labels of the first two treatments wherever they stand in a title or a section
    row.
    """
    labels = [
        cell
        for cell in cells_of(of.log, "plants")
        if cell.what == "treatment" and cell.of in ("title", "section")
    ]
    firsts, seconds = of.trial.treatments[:2]
    if (
        not labels
        or set(of.layout.carriers.values()) & {"sheet"}
        or of.trial.pours
        or of.trial.readings
    ):
        return None

    def change(cell: Cell) -> Cell:
        if cell.what != "treatment" or cell.of not in ("title", "section"):
            return cell
        text = _with_other_label(str(cell.value), firsts, seconds)
        return replace(cell, value=int(text) if text.isdigit() else text)

    truth = {
        quantity: {_swapped(name, firsts, seconds): one for name, one in figures.items()}
        for quantity, figures in of.truth.items()
    }
    return replace(of, log=changed_cells(of.log, change, "plants"), truth=truth)


def _with_other_label(text: str, first: str, second: str) -> str:
    """Return a text that begins or ends with one of two labels with the other one in its place."""
    for old, new in ((first, second), (second, first)):
        if text.startswith(old):
            return new + text.removeprefix(old)
        if text.endswith(old):
            return text.removesuffix(old) + new
    return text


def _swapped(name: str, first: str, second: str) -> str:
    return {first: second, second: first}.get(name, name)


NEXT_WEEK: Final[Mapping[str, Change]] = {
    "a row added": row_added,
    "a picking added": picking_added,
    "rows sorted": rows_sorted,
    "a column put in": column_added,
    "a sheet added": sheet_added,
    "a value corrected": value_corrected,
    "a treatment renamed": treatment_renamed,
    "another unit": unit_changed,
    "labels swapped": titles_swapped,
    "sheets in another order": sheets_in_another_order,
    "a blank row": blank_row,
    "a title": title_added,
}
