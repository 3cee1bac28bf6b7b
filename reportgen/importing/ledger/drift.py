"""What changed in a log since its settings were written."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import isclose
from typing import Final

import pandas as pd

from reportgen.importing.contents import unit_around
from reportgen.importing.ledger.accounts import columns_of_labels
from reportgen.importing.ledger.cells import Finding, by_sheet
from reportgen.importing.ledger.marks import Cell
from reportgen.importing.ledger.statistics import READ, disagreements
from reportgen.importing.long_form import (
    amended,
    cells_named,
    column_indexes,
    factor_between,
    text_of_cells,
)
from reportgen.importing.model import long
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.layouts import NOTHING, Corrected, Layout, LeftOut
from reportgen.importing.model.questions import Fate, Ledger, Summary
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found, Table
from reportgen.importing.summaries.quantities import key_of
from reportgen.language import figure, marked, say
from reportgen.model.problem import Problem, Severity, of_file

SAME: Final = 1e-6  # relative difference of totals that are the same
OR_AGAIN: Final = marked("Or run reportgen adopt on the log again.")
Confirmed = tuple[int, int, float]  # units, values, total


def drift(
    sheets: Sequence[Sheet], found: Found, settings: Settings, frame: pd.DataFrame, accounts: Ledger
) -> tuple[Problem, ...]:
    """Return what no longer is as the settings say, with the owner's cells, each an error.

    Tables, columns and units of measure that went or changed, corrected or left out cells that hold
    something else, numbers that nothing explains, statistics that disagree.
    """
    tables = {table.key: table for table in found.tables}
    problems: list[Problem] = []
    for layout in settings.layouts:
        table = tables.get(layout.table)
        if table is None:
            problems.extend(_without_table(layout, sheets))
        elif layout.gives != NOTHING:
            problems.extend(_missing_sheets(layout, sheets))
            problems.extend(_missing_columns(layout, table))
            problems.extend(_other_units(layout, table, sheets))
            problems.extend(_other_cells(layout, table, sheets, settings))
    problems.extend(_not_explained(accounts, sheets))
    problems.extend(disagreements(sheets, found, frame, accounts))
    return tuple(problems)


def against_confirmed(
    figures: Summary, sheets: Sequence[Sheet], settings: Settings, frame: pd.DataFrame
) -> tuple[Problem, ...]:
    """Return where figures are not those that the owner confirmed, with his cells.

    More values of the same kind are a remark, all else is an error.
    """
    if not settings.confirmed:
        return ()
    now = _Now(figures, _cells_of_figures(frame, settings), sheets)
    return tuple(_against_confirmed(now, settings.confirmed))


# ---- tables and columns --------------------------------------------------------------------------


def _without_table(layout: Layout, sheets: Sequence[Sheet]) -> Iterator[Problem]:
    if layout.gives == NOTHING:
        return
    gone = list(_missing_sheets(layout, sheets))
    yield from gone
    if not gone:
        yield Finding(
            code="table_gone",
            found=say("the table {table} is not there as it was adopted", table=layout.table),
            expected=say("its headers on the same sheets"),
        ).of_sheet(layout.sheets[0] if layout.sheets else layout.table)


def _missing_sheets(layout: Layout, sheets: Sequence[Sheet]) -> Iterator[Problem]:
    labels = [sheet.label for sheet in sheets]
    for label in layout.sheets:
        if label not in labels:
            yield Finding(
                code="sheet_gone",
                found=say('the sheet "{label}" is not there', label=label),
                expected=say("the sheets of the table {table}", table=layout.table),
                advice=say("Give the sheet its name back. {or_again}", or_again=say(OR_AGAIN)),
            ).of_sheet(label)


def _missing_columns(layout: Layout, table: Table) -> Iterator[Problem]:
    for name in dict.fromkeys(_columns_named(layout)):
        if not column_indexes(table, [name]):
            yield Finding(
                code="column_gone",
                found=say('there is no column "{name}"', name=name),
                expected=say(
                    "the columns that the table {table} was adopted with", table=layout.table
                ),
                advice=say("Give the column its header back. {or_again}", or_again=say(OR_AGAIN)),
            ).of_sheet(layout.sheets[0] if layout.sheets else layout.table)


def _columns_named(layout: Layout) -> Iterator[str]:
    for values in layout.values:
        yield from values.columns
        yield from (name for name in (values.count, values.tare) if name)
        yield from (name for name, _ in values.plus)
    yield from columns_of_labels(layout)
    yield from layout.columns.values()
    yield from layout.only


def _other_units(layout: Layout, table: Table, sheets: Sequence[Sheet]) -> Iterator[Problem]:
    """Yield each header, or text around a table, that names another unit of measure than the
    settings.
    """
    block = table.blocks[0]
    around = unit_around(table, sheets)
    for values in layout.values:
        for index in column_indexes(table, values.columns):
            own = table.columns[index].unit
            written = own or around
            if written and values.unit and not _is_same_unit(written, values.unit):
                cell = block.sheet, block.header_rows[-1], block.letters[index]
                if own:
                    found = say('the header names the unit "{unit}"', unit=written)
                else:
                    found = say('the text around the table names the unit "{unit}"', unit=written)
                yield Finding(
                    code="unit_changed",
                    found=found,
                    expected=say('"{unit}", as when the log was adopted', unit=values.unit),
                ).at([cell], sheets)


def _is_same_unit(written: str, unit: str) -> bool:
    factor = factor_between(written, unit)
    return written.casefold() == unit.casefold() or factor is None or isclose(factor, 1.0)


# ---- cells ---------------------------------------------------------------------------------------


def _other_cells(
    layout: Layout, table: Table, sheets: Sequence[Sheet], settings: Settings
) -> Iterator[Problem]:
    for item in amended(table, layout, sheets, settings.conventions).stale:
        yield _of_stale(item, table, sheets)


def _of_stale(item: LeftOut | Corrected, table: Table, sheets: Sequence[Sheet]) -> Problem:
    if isinstance(item, LeftOut):
        place, code = item.cells, "left_out_changed"
        expected = say('"{held}", which the settings leave out', held=item.holds)
    else:
        place, code = item.cell, "corrected_changed"
        expected = say('"{held}", which the settings correct', held=item.held)
    cells = cells_named(place, table, sheets)
    found = say('holds "{now}"', now=text_of_cells(cells, sheets) or say("nothing"))
    if not cells:
        return Finding(
            code=code, found=say("{place} is no cell of the table", place=place), expected=expected
        ).of_sheet(table.key)
    return Finding(code=code, found=found, expected=expected).at(cells, sheets)


def _not_explained(accounts: Ledger, sheets: Sequence[Sheet]) -> Iterator[Problem]:
    for entry in accounts.entries:
        if entry.fate is not Fate.UNEXPLAINED:
            continue
        for cells in by_sheet(entry.cells).values():
            yield Finding(
                code="number_not_explained",
                found=say("holds a number that the settings do not explain"),
                expected=say("values, labels or totals as when the log was adopted"),
            ).at(cells, sheets)


# ---- figures -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Now:
    """The figures of today, and the cells of the values of each quantity and treatment."""

    figures: Summary
    cells: Mapping[tuple[str, str], Sequence[Cell]]
    sheets: Sequence[Sheet]

    def problem(self, finding: Finding, quantity: str, treatment: str) -> Problem:
        """Return a finding as an error at the values of a treatment, on their first sheet."""
        of_sheets = by_sheet(self.cells.get((quantity, treatment), ()))
        for cells in of_sheets.values():
            return finding.at(cells, self.sheets)
        return finding.of_sheet(self.sheets[0].label)


def _against_confirmed(
    now: _Now, confirmed: Mapping[str, Mapping[str, Confirmed]]
) -> Iterator[Problem]:
    for quantity, treatments in confirmed.items():
        figures = now.figures.get(quantity, {})
        yield from _new_or_gone(now, quantity, list(treatments), list(figures))
        for treatment, values in treatments.items():
            if treatment in figures:
                yield from _of_treatment(now, quantity, treatment, values)


def _new_or_gone(
    now: _Now, quantity: str, confirmed: Sequence[str], present: Sequence[str]
) -> Iterator[Problem]:
    """Yield a problem for each new treatment; where none is new, for each that is gone."""
    new = _lacking(confirmed, present)
    gone = _lacking(present, confirmed)
    names = ", ".join(gone or confirmed)
    for treatment in new:
        yield now.problem(_new_treatment(treatment, quantity, names), quantity, treatment)
    if new:
        return
    for treatment in gone:
        yield now.problem(_gone_treatment(treatment, quantity), quantity, treatment)


def _lacking(names: Sequence[str], others: Sequence[str]) -> list[str]:
    """Return the others that are not among the names."""
    return [other for other in others if other not in names]


def _new_treatment(treatment: str, quantity: str, names: str) -> Finding:
    found = say(
        'is of a treatment "{treatment}" ({quantity})', treatment=treatment, quantity=quantity
    )
    return Finding("treatment_new", found, say("{names}, as confirmed", names=names))


def _gone_treatment(treatment: str, quantity: str) -> Finding:
    found = say(
        'holds nothing of the treatment "{treatment}" ({quantity})',
        treatment=treatment,
        quantity=quantity,
    )
    return Finding("treatment_gone", found, say("every treatment that was confirmed"))


def _of_treatment(now: _Now, quantity: str, treatment: str, held: Confirmed) -> Iterator[Problem]:
    units, values, total = held
    figures = now.figures[quantity][treatment]
    is_same_number = (figures.units, figures.n) == (units, values)
    if is_same_number and isclose(figures.total, total, rel_tol=SAME):
        return
    amount = f"{figure(f'{figures.total:g}')} {figures.unit}".rstrip()
    found = say(
        "{quantity} of {treatment}: {units} units, {values} values, total {amount}",
        quantity=quantity,
        treatment=treatment,
        units=figures.units,
        values=figures.n,
        amount=amount,
    )
    expected = say(
        "{units} units, {values} values, total {total}, as confirmed",
        units=units,
        values=values,
        total=figure(f"{total:g}"),
    )
    has_more = figures.units >= units and figures.n > values and figures.total >= total
    if has_more:
        advice = say("More values than before are read.")
        yield of_file("more_values", found, expected, advice, Severity.REMARK)
    else:
        yield now.problem(Finding("figures_changed", found, expected), quantity, treatment)


def _cells_of_figures(
    frame: pd.DataFrame, settings: Settings
) -> Mapping[tuple[str, str], Sequence[Cell]]:
    """Return the cells of each quantity's values by treatment, by the names that are printed."""
    read = frame[frame[long.STATE].isin(READ)]
    cells: dict[tuple[str, str], list[Cell]] = {}
    for (index, number, label), rows in read.groupby(
        [long.LAYOUT, long.VALUES, long.TREATMENT], sort=False
    ):
        layout = settings.layouts[int(str(index))]
        quantity = key_of(layout, layout.values[int(str(number))])
        name = settings.treatments.get(str(label), str(label))
        places = rows[[long.SHEET, long.ROW, long.COLUMN]].astype(int)
        held = cells.setdefault((quantity, name), [])
        held.extend((sheet, row, column) for sheet, row, column in places.itertuples(index=False))
    return cells
