"""Read the cells of a spreadsheet file as they stand, with what a reader must know of each."""

import hashlib
import io
import re
import unicodedata
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from reportgen.model.problem import Problem, Severity, WorkbookError

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell, MergedCell
    from openpyxl.worksheet.worksheet import Worksheet

SUFFIXES: Final = (".xlsx", ".xlsm")

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
    if not path.exists():
        raise _refuse(path, "is not there", "a workbook", "Check the name and the folder.")
    if path.suffix.casefold() not in SUFFIXES or path.is_dir():
        raise _refuse(path, "is not an .xlsx or .xlsm file", "an Excel workbook", "Save it as .xlsx and try again.")
    try:
        return path.read_bytes()
    except OSError as error:
        reason = error.strerror or "unknown reason"
        raise _refuse(
            path, f"cannot be opened ({reason})", "a readable file", "Close it elsewhere or allow reading."
        ) from error


def read(path: Path) -> Workbook:
    """Return the cells of the workbook at `path`.

    Raises WorkbookError where the file is missing, unreadable or no workbook.
    """
    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    content = _bytes(path)
    try:
        formulas = load_workbook(io.BytesIO(content))
        computed = (
            load_workbook(io.BytesIO(content), data_only=True)
            if any(map(_has_formula, formulas.worksheets))
            else formulas
        )
    except (
        InvalidFileException,
        zipfile.BadZipFile,
        KeyError,
        ValueError,
        TypeError,
        OSError,
        SyntaxError,
    ) as error:
        raise _refuse(
            path,
            "cannot be read as a workbook",
            "an Excel workbook without a password",
            "Open it in your spreadsheet program and save it as .xlsx.",
        ) from error
    sheets = tuple(_sheet(sheet, computed[sheet.title]) for sheet in formulas.worksheets)
    return Workbook(path.stem, hashlib.sha256(content).hexdigest(), sheets)


def _has_formula(sheet: "Worksheet") -> bool:
    return any(cell.data_type == "f" for row in sheet.iter_rows() for cell in row)


def _sheet(formulas: "Worksheet", computed: "Worksheet") -> RawSheet:
    formats: dict[tuple[int, int], str] = {}
    uncomputed: dict[tuple[int, int], str] = {}
    for row in formulas.iter_rows():
        for cell in row:
            _note_cell(cell, computed, formats, uncomputed)
    rows = tuple(tuple(row) for row in computed.iter_rows(min_row=1, min_col=1, values_only=True))
    return RawSheet(formulas.title, rows, formats, uncomputed, _hidden(formulas))


def _note_cell(
    cell: "Cell | MergedCell",
    computed: "Worksheet",
    formats: dict[tuple[int, int], str],
    uncomputed: dict[tuple[int, int], str],
) -> None:
    if cell.value is None:
        return
    place = cell.row, cell.column
    if cell.data_type == "f" and computed.cell(*place).value is None:
        uncomputed[place] = str(getattr(cell.value, "text", cell.value))
    if cell.number_format != "General":
        formats[place] = cell.number_format


def _hidden(sheet: "Worksheet") -> tuple[str, ...]:
    rows = (f"row {number}" for number, row in sorted(sheet.row_dimensions.items()) if row.hidden)
    columns = (f"column {letter}" for letter, column in sorted(sheet.column_dimensions.items()) if column.hidden)
    return (*rows, *columns)
