"""Tell a trial workbook from a log, and read the codes that the files beside it refer to."""

from collections.abc import Mapping
from typing import Final

from reportgen.importing.model.layouts import Dimension
from reportgen.importing.model.trial_book import TrialBook
from reportgen.workbook.declaration import ALL, METER, PLANTS, TRAYS, TREATMENTS, TRIAL, Sheet
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
    return TrialBook(
        _texts(_table(book, TREATMENTS), "Treatment", "Name"),
        _texts(_table(book, TRAYS), "Tray", "Treatment"),
        _texts(_table(book, METER), "Meter", "Treatment"),
        fields,
    )


def codes_of(book: TrialBook, dimension: Dimension) -> dict[str, str]:
    """Return the workbook's codes by what may be written for them, in small letters.

    Treatments also go by their names.
    """
    if dimension is Dimension.METER:
        return {meter.casefold(): meter for meter in book.meters}
    codes = {ALL: ALL}
    if dimension is Dimension.UNIT:
        codes |= {tray.casefold(): tray for tray in book.trays}
        return codes
    codes |= {name.casefold(): code for code, name in book.treatments.items() if name}
    codes |= {code.casefold(): code for code in book.treatments}
    return codes


def _fields(book: Workbook) -> dict[str, object]:
    table, _ = read_trial(sheets_named(book.sheets, TRIAL.name)[0])
    filled = {}
    for name, values in table.columns.items():
        if values and values[0] is not None and values[0] is not INVALID:
            filled[name] = values[0]
    return filled


def _table(book: Workbook, sheet: Sheet) -> Table | None:
    raws = sheets_named(book.sheets, sheet.name)
    if raws:
        return read_table(sheet, raws[0])[0]
    return None


def _texts(table: Table | None, key: str, name: str) -> Mapping[str, str]:
    """Return what a column says of the codes in another."""
    if table is None:
        return {}
    return {row.text(key): row.text(name) for row in table.rows() if row.text(key)}
