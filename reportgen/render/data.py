"""Write what was recorded as comma-separated values, one file a sheet (RFC 4180, UTF-8)."""

import csv
from collections.abc import Callable, Mapping
from datetime import datetime, time
from functools import partial
from io import StringIO
from typing import Final

from reportgen.model.data import DataColumn, DataTable, Datum
from reportgen.model.document import Report

FORMULA_BEGINS: Final = (
    "=",
    "+",
    "-",
    "@",
    "\t",
    "\r",
    "\n",
    "＝",
    "＋",
    "－",
    "＠",
)  # OWASP, "CSV Injection"
TO_THE_MINUTE: Final = (
    "%Y-%m-%d %H:%M"  # with a space, as spreadsheets read it; they take ISO 8601's T for text
)
TO_THE_SECOND: Final = "%Y-%m-%d %H:%M:%S"


def render(report: Report, figures: Mapping[str, str]) -> dict[str, bytes]:
    """Return a file for each sheet of the trial's workbook."""
    return {f"{report.slug}/data/{table.file_name}": _csv(table).encode() for table in report.data}


def _csv(table: DataTable) -> str:
    file = StringIO(newline="")
    writer = csv.writer(file)
    writer.writerow(map(heading, table.columns))
    writer.writerows(
        zip(*(map(_writer(column), column.values) for column in table.columns), strict=True)
    )
    return file.getvalue()


def heading(column: DataColumn) -> str:
    """Return what stands in the first row above a column."""
    return harmless(column.heading)


def moment_format(column: DataColumn) -> str:
    """Return how a column writes dates with times, one way for all of them; by strftime of C."""
    moments = (value for value in column.values if isinstance(value, datetime))
    if any(value.second for value in moments):
        return TO_THE_SECOND
    return TO_THE_MINUTE


def _writer(column: DataColumn) -> Callable[[Datum], str]:
    return partial(_written, form=moment_format(column))


def _written(value: Datum, form: str) -> str:
    """Return a value as text: numbers to the last digit, dates by ISO 8601, nothing for a blank."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.isoformat(sep=" ", timespec="minutes" if form is TO_THE_MINUTE else "seconds")
    if isinstance(value, time):
        return value.isoformat(timespec="seconds")
    return harmless(value) if isinstance(value, str) else str(value)


def harmless(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula: an apostrophe stands before one that
    could be.

    One more stands before a text that would look like such a one, so that every text can be had
    back: where what follows the apostrophes could be a formula, the first apostrophe is ours.
    """
    if _like_a_formula(text.lstrip("'")):
        return f"'{text}"
    return text


def _like_a_formula(text: str) -> bool:
    return text.startswith(FORMULA_BEGINS) or text.lstrip(" \u00a0").startswith(FORMULA_BEGINS)
