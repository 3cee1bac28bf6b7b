"""Write what was recorded as comma-separated values, one file a sheet (RFC 4180, UTF-8)."""

import csv
from collections.abc import Mapping
from datetime import datetime
from io import StringIO
from typing import Final

from reportgen.model.data import DataColumn, DataTable, Datum
from reportgen.model.document import Report

FORMULA_BEGINS: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")  # OWASP, "CSV Injection"


def render(report: Report, figures: Mapping[str, str]) -> dict[str, bytes]:
    """Return a file for each sheet of the trial's workbook."""
    return {f"{report.slug}/data/{table.file_name}": _csv(table).encode() for table in report.data}


def _csv(table: DataTable) -> str:
    file = StringIO(newline="")
    writer = csv.writer(file)
    writer.writerow(map(_heading, table.columns))
    writer.writerows(zip(*(map(_written, column.values) for column in table.columns), strict=True))
    return file.getvalue()


def _heading(column: DataColumn) -> str:
    return harmless(f"{column.name} ({column.unit})" if column.unit else column.name)


def _written(value: Datum) -> str:
    """Return a value as text: numbers to the last digit, dates by ISO 8601, nothing for a blank."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.isoformat(sep=" ", timespec="minutes" if not value.second else "seconds")
    return harmless(value) if isinstance(value, str) else str(value)


def harmless(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula: an apostrophe stands before one that could be."""
    return f"'{text}" if text.lstrip(" \u00a0").startswith(FORMULA_BEGINS) or text.startswith(FORMULA_BEGINS) else text
