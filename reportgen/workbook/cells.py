"""Read the cells of a spreadsheet file as they stand, with what a reader must know of each."""

import hashlib
import io
import re
import unicodedata
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from openpyxl.utils import get_column_letter

from reportgen.model.problem import Problem, Severity, WorkbookError

if TYPE_CHECKING:
    from openpyxl import Workbook as Spreadsheet
    from openpyxl.cell.cell import Cell, MergedCell
    from openpyxl.worksheet.worksheet import Worksheet

SUFFIXES: Final = (".xlsx", ".xlsm")

MOST_CELLS: Final = 2_000_000  # a year of readings every 5 minutes in a dozen columns is 1.3 million

# What a cell holds: openpyxl gives text, numbers, truth values, dates, times and durations.
Value = object


@dataclass(frozen=True)
class RawSheet:
    """One sheet: `rows` from the first row on, each a tuple of values from column A on.

    `formats` holds the number formats of numeric cells that are not General; `uncomputed` the formulas that no
    program has computed; both by (row, column), counted from 1. `hidden` names hidden rows and columns.
    """

    name: str
    rows: tuple[tuple[Value, ...], ...]
    formats: dict[tuple[int, int], str]
    uncomputed: dict[tuple[int, int], str]
    hidden: tuple[str, ...]


@dataclass(frozen=True)
class Workbook:
    """The sheets of one file, its name without folder and ending, and the SHA-256 of its bytes."""

    name: str
    source_sha256: str
    sheets: tuple[RawSheet, ...]

    @property
    def slug(self) -> str:
        """Return the name in small letters, digits and hyphens, as it stands in addresses."""
        bare = unicodedata.normalize("NFKD", self.name).encode("ascii", "ignore").decode()
        return re.sub(r"[^a-z0-9]+", "-", bare.casefold()).strip("-") or "trial"


def _refuse(path: Path, found: str, expected: str, advice: str) -> WorkbookError:
    return WorkbookError((Problem(Severity.ERROR, "", "", f"{path.name} {found}", expected, advice),))


def _bytes(path: Path) -> bytes:
    if path.suffix.casefold() not in SUFFIXES:
        raise _refuse(path, "is not an .xlsx or .xlsm file", "an Excel workbook", "Save it as .xlsx and try again.")
    try:
        return path.read_bytes()
    except FileNotFoundError as error:
        raise _refuse(path, "is not there", "a workbook", "Check the name and the folder.") from error
    except IsADirectoryError as error:
        raise _refuse(path, "is a folder", "an Excel workbook", "Name the workbook in it.") from error
    except OSError as error:
        reason = error.strerror or "unknown reason"
        advice = "Close it elsewhere or allow reading."
        raise _refuse(path, f"cannot be opened ({reason})", "a readable file", advice) from error


def read(path: Path) -> Workbook:
    """Return the cells of the workbook at `path`.

    Raises WorkbookError where the file is missing, unreadable, no workbook, or far larger than its data.
    """
    content = _bytes(path)
    try:
        formulas, computed = _loaded(content)
    except Exception as error:  # on a damaged file openpyxl raises errors of many kinds: zip, XML, index, type, ...
        raise _refuse(
            path,
            "cannot be read as a workbook",
            "an Excel workbook without a password",
            "Open it in your spreadsheet program and save it as .xlsx.",
        ) from error
    large = tuple(_too_large(sheet) for sheet in formulas.worksheets if _size(sheet) > MOST_CELLS)
    if large:
        raise WorkbookError(large)
    sheets = tuple(_sheet(sheet, computed[sheet.title]) for sheet in formulas.worksheets)
    return Workbook(path.stem, hashlib.sha256(content).hexdigest(), sheets)


def _loaded(content: bytes) -> tuple["Spreadsheet", "Spreadsheet"]:
    """Return the file with its formulas, and with the values that they had when it was saved."""
    from openpyxl import load_workbook

    with warnings.catch_warnings():  # what openpyxl leaves out (drawings, dropdowns) is not read here
        warnings.simplefilter("ignore")
        formulas = load_workbook(io.BytesIO(content))
        if not any(map(_has_formula, formulas.worksheets)):
            return formulas, formulas
        return formulas, load_workbook(io.BytesIO(content), data_only=True)


def _size(sheet: "Worksheet") -> int:
    return sheet.max_row * sheet.max_column


def _has_formula(sheet: "Worksheet") -> bool:
    return _size(sheet) <= MOST_CELLS and any(cell.data_type == "f" for row in sheet.iter_rows() for cell in row)


def _too_large(sheet: "Worksheet") -> Problem:
    return Problem(
        Severity.ERROR,
        sheet.title,
        "",
        f"the sheet goes on to row {sheet.max_row} and column {sheet.max_column}",
        "a sheet that ends with its data",
        "Delete the rows below and the columns beside the data, also those that look empty, and save it.",
    )


def _sheet(formulas: "Worksheet", computed: "Worksheet") -> RawSheet:
    formats: dict[tuple[int, int], str] = {}
    uncomputed: dict[tuple[int, int], str] = {}
    for row in formulas.iter_rows():
        for cell in row:
            _note_cell(cell, computed, formats, uncomputed)
    rows = tuple(tuple(row) for row in computed.iter_rows(min_row=1, min_col=1, values_only=True))
    return RawSheet(formulas.title, rows, formats, uncomputed, _hidden(formulas, rows))


def _note_cell(
    cell: "Cell | MergedCell",
    computed: "Worksheet",
    formats: dict[tuple[int, int], str],
    uncomputed: dict[tuple[int, int], str],
) -> None:
    if cell.value is None:
        return
    place = cell.row, cell.column
    if cell.data_type == "f" and _without_value(computed.cell(*place)):
        uncomputed[place] = str(getattr(cell.value, "text", cell.value))
    if cell.number_format != "General":
        formats[place] = cell.number_format


def _without_value(cell: "Cell | MergedCell") -> bool:
    return cell.value is None and cell.data_type != "str"  # a formula that gives an empty text has that type


def _hidden(sheet: "Worksheet", rows: tuple[tuple[Value, ...], ...]) -> tuple[str, ...]:
    """Return the names of hidden rows and columns that hold values."""
    filled = [
        (row, at) for row, values in enumerate(rows, 1) for at, value in enumerate(values, 1) if value is not None
    ]
    if sheet.sheet_state != "visible":
        return ("the whole sheet",) if filled else ()
    hidden_rows = {number for number, row in sheet.row_dimensions.items() if row.hidden}
    spans = [(column.min or 0, column.max or 0) for column in sheet.column_dimensions.values() if column.hidden]
    columns = {at for _, at in filled if any(first <= at <= last for first, last in spans)}
    return (
        *(f"row {number}" for number in sorted(hidden_rows & {row for row, _ in filled})),
        *(f"column {get_column_letter(at)}" for at in sorted(columns)),
    )
