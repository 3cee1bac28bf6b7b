"""Workbooks as bytes: the same whenever they are written again."""

from datetime import datetime
from io import BytesIO
from typing import Final
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from openpyxl import Workbook
from openpyxl.writer.excel import ExcelWriter

A4: Final = 9  # paper size, ECMA-376 part 1, 18.3.1.63
WRITTEN_AT: Final = datetime(
    1980, 1, 1
)  # the earliest that a zip file can tell: nobody takes it for the real day


def stable_bytes(book: Workbook) -> bytes:
    """Return a workbook as the bytes of a file in which no time of day and no order of a set shows."""
    written, stable = BytesIO(), BytesIO()
    ExcelWriter(book, ZipFile(written, "w")).save()
    with ZipFile(written) as source, ZipFile(stable, "w") as target:
        for name in sorted(source.namelist()):  # macros come in the order of a set
            target.writestr(
                ZipInfo(name, WRITTEN_AT.timetuple()[:6]), source.read(name), ZIP_DEFLATED
            )
    return stable.getvalue()
