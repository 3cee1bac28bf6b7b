"""Tell a trial workbook from a log, and read the codes that the files beside it refer to."""

from collections.abc import Mapping
from typing import Final

from reportgen.importing.model.trial_book import TrialBook
from reportgen.workbook.declaration import PLANTS, TRAYS, TREATMENTS, TRIAL, Sheet
from reportgen.workbook.raw import Workbook
from reportgen.workbook.recognise import read_table, read_trial, sheets_named
from reportgen.workbook.table import INVALID, Table

MUST_BE_THERE: Final = (TRIAL, PLANTS)
FEWEST_FIELDS: Final = 2  # of the sheet Trial; a log may have a sheet of that name, too


def trial_book_of(book: Workbook) -> TrialBook | None:
    """Return what a trial workbook in any language says; None for any other file."""
    if not all(sheets_named(book.sheets, sheet.name) for sheet in MUST_BE_THERE):
        return None
    fields = _fields(book)
    if len(fields) < FEWEST_FIELDS:
        return None
    treatments = _table(book, TREATMENTS)
    trays = _table(book, TRAYS)
    return TrialBook(_texts(treatments, "Treatment", "Name"), _texts(trays, "Tray", "Treatment"), fields)


def _fields(book: Workbook) -> dict[str, object]:
    (table, _) = read_trial(sheets_named(book.sheets, TRIAL.name)[0])
    filled = {}
    for name, values in table.columns.items():
        if values and values[0] is not None and values[0] is not INVALID:
            filled[name] = values[0]
    return filled


def _table(book: Workbook, sheet: Sheet) -> Table | None:
    raws = sheets_named(book.sheets, sheet.name)
    return read_table(sheet, raws[0])[0] if raws else None


def _texts(table: Table | None, key: str, name: str) -> Mapping[str, str]:
    """Return what a column says of the codes in another."""
    if table is None:
        return {}
    return {row.text(key): row.text(name) for row in table.rows() if row.text(key)}
