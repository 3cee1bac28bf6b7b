"""What changed in a log since its settings were written."""

from collections.abc import Iterator, Mapping, Sequence
from math import isclose
from typing import Final

import pandas as pd

from reportgen.importing.ledger.accounts import columns_of_labels
from reportgen.importing.ledger.cells import Finding, by_sheet
from reportgen.importing.ledger.statistics import disagreements
from reportgen.importing.long_form import amended, cells_named, column_indexes, factor_between, text_of_cells
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.layouts import NOTHING, Corrected, Layout, LeftOut
from reportgen.importing.model.questions import Fate, Figures, Ledger, Summary
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found, Table
from reportgen.importing.summaries import summary
from reportgen.model.problem import Problem, Severity

SAME: Final = 1e-6  # relative difference of totals that are the same
OR_AGAIN: Final = "Or run reportgen adopt on the log again."
Confirmed = tuple[int, int, float]  # units, values, total


def drift(
    sheets: Sequence[Sheet], found: Found, settings: Settings, frame: pd.DataFrame, accounts: Ledger
) -> tuple[Problem, ...]:
    """Return what no longer is as the settings say, with the owner's cells.

    Tables, columns and units of measure that went or changed, corrected or left out cells that hold something else,
    numbers that nothing explains, statistics that disagree, figures that are not the confirmed ones. More values of
    the same kind are a remark, all else is an error.
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
    problems.extend(_against_confirmed(summary(frame, settings), settings.confirmed))
    return tuple(problems)


# ---- tables and columns ------------------------------------------------------------------------------------


def _without_table(layout: Layout, sheets: Sequence[Sheet]) -> Iterator[Problem]:
    if layout.gives == NOTHING:
        return
    gone = list(_missing_sheets(layout, sheets))
    yield from gone
    if not gone:
        yield Finding(
            code="table_gone",
            found=f"the table {layout.table} is not there as it was adopted",
            expected="its headers on the same sheets",
        ).of_sheet(layout.sheets[0] if layout.sheets else layout.table)


def _missing_sheets(layout: Layout, sheets: Sequence[Sheet]) -> Iterator[Problem]:
    labels = [sheet.label for sheet in sheets]
    for label in layout.sheets:
        if label not in labels:
            yield Finding(
                code="sheet_gone",
                found=f'the sheet "{label}" is not there',
                expected=f"the sheets of the table {layout.table}",
                advice=f"Give the sheet its name back. {OR_AGAIN}",
            ).of_sheet(label)


def _missing_columns(layout: Layout, table: Table) -> Iterator[Problem]:
    for name in dict.fromkeys(_columns_named(layout)):
        if not column_indexes(table, [name]):
            yield Finding(
                code="column_gone",
                found=f'there is no column "{name}"',
                expected=f"the columns that the table {layout.table} was adopted with",
                advice=f"Give the column its header back. {OR_AGAIN}",
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
    """Yield each header that names another unit of measure than the settings."""
    block = table.blocks[0]
    for values in layout.values:
        for index in column_indexes(table, values.columns):
            written = table.columns[index].unit
            if written and values.unit and not _is_same_unit(written, values.unit):
                cell = block.sheet, block.header_rows[-1], block.letters[index]
                yield Finding(
                    code="unit_changed",
                    found=f'the header names the unit "{written}"',
                    expected=f'"{values.unit}", as when the log was adopted',
                ).at([cell], sheets)


def _is_same_unit(written: str, unit: str) -> bool:
    factor = factor_between(written, unit)
    return written.casefold() == unit.casefold() or factor is None or isclose(factor, 1.0)


# ---- cells -------------------------------------------------------------------------------------------------


def _other_cells(layout: Layout, table: Table, sheets: Sequence[Sheet], settings: Settings) -> Iterator[Problem]:
    for item in amended(table, layout, sheets, settings.conventions).stale:
        yield _of_stale(item, table, sheets)


def _of_stale(item: LeftOut | Corrected, table: Table, sheets: Sequence[Sheet]) -> Problem:
    if isinstance(item, LeftOut):
        place, held, verb = item.cells, item.holds, "leave out"
    else:
        place, held, verb = item.cell, item.held, "correct"
    cells = cells_named(place, table, sheets)
    now = text_of_cells(cells, sheets) or "nothing"
    found = f'holds "{now}"'
    expected = f'"{held}", which the settings {verb}'
    code = "left_out_changed" if isinstance(item, LeftOut) else "corrected_changed"
    if not cells:
        return Finding(code=code, found=f"{place} is no cell of the table", expected=expected).of_sheet(table.key)
    return Finding(code=code, found=found, expected=expected).at(cells, sheets)


def _not_explained(accounts: Ledger, sheets: Sequence[Sheet]) -> Iterator[Problem]:
    for entry in accounts.entries:
        if entry.fate is not Fate.UNEXPLAINED:
            continue
        for cells in by_sheet(entry.cells).values():
            yield Finding(
                code="number_not_explained",
                found="holds a number that the settings do not explain",
                expected="values, labels or totals as when the log was adopted",
            ).at(cells, sheets)


# ---- figures -----------------------------------------------------------------------------------------------


def _against_confirmed(figures: Summary, confirmed: Mapping[str, Mapping[str, Confirmed]]) -> Iterator[Problem]:
    for quantity, of_treatments in confirmed.items():
        now = figures.get(quantity, {})
        for treatment, held in of_treatments.items():
            yield from _of_treatment(f"{quantity} of {treatment}", held, now.get(treatment))
        for treatment in now:
            if treatment not in of_treatments:
                yield Finding(
                    code="treatment_new",
                    found=f'there is a treatment "{treatment}" in {quantity}',
                    expected=f"the confirmed ones: {', '.join(of_treatments)}",
                ).of_sheet("")


def _of_treatment(name: str, held: Confirmed, now: Figures | None) -> Iterator[Problem]:
    if now is None:
        yield Finding(
            code="treatment_gone", found=f"there is no {name}", expected="every confirmed treatment"
        ).of_sheet("")
        return
    units, values, total = held
    text = f"{name}: {now.units} units, {now.n} values, total {now.total:g} {now.unit}"
    before = f"{units} units, {values} values, total {total:g}, as confirmed"
    is_same_total = isclose(now.total, total, rel_tol=SAME)
    is_same_number = (now.units, now.n) == (units, values)
    if is_same_number and is_same_total:
        return
    has_more = now.units >= units and now.n > values and now.total >= total
    if not has_more:
        yield Finding(code="figures_changed", found=text.rstrip(), expected=before).of_sheet("")
        return
    yield Problem(
        Severity.REMARK, "", "", text.rstrip(), before, "More values than before are read.", code="more_values"
    )
