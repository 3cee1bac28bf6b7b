"""Workbook files changed as zip archives, part by part, the way that other programs and attackers
write them.
"""

import io
import zipfile
from collections.abc import Callable
from pathlib import Path

import xlsxwriter

Change = str | bytes | None | Callable[[str], str]

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
FIRST_SHEET = "xl/worksheets/sheet1.xml"


def zipped(parts: dict[str, str | bytes], how: int = zipfile.ZIP_DEFLATED) -> bytes:
    """Return a zip archive of parts."""
    with zipfile.ZipFile(file := io.BytesIO(), "w", how) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return file.getvalue()


def parts_of(path: Path) -> dict[str, str | bytes]:
    """Return the parts of a workbook file as bytes."""
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def changed(path: Path, changes: dict[str, Change]) -> Path:
    """Replace parts of a workbook file: by text, by what a function makes of the old text, or by
    nothing.
    """
    parts = parts_of(path)
    for name, change in changes.items():
        if callable(change):
            parts[name] = change(bytes(parts[name]).decode())
        elif change is None:
            del parts[name]
        else:
            parts[name] = change
    path.write_bytes(zipped(parts))
    return path


def sheet_xml(rows: str, before: str = "", after: str = "") -> str:
    """Return the XML of a sheet with rows, and elements before and after them."""
    return f'<worksheet xmlns="{MAIN}">{before}<sheetData>{rows}</sheetData>{after}</worksheet>'


def one_cell(path: Path) -> Path:
    """Write a workbook of one sheet with one cell, whose text is among the shared ones."""
    book = xlsxwriter.Workbook(path)
    book.add_worksheet("Climate").write_string(0, 0, "half")
    book.close()
    return path
