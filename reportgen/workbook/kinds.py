"""Which files are workbooks, by the ends of their names."""

from typing import Final

SUFFIXES: Final = (".xlsx", ".xlsm", ".xls", ".ods")
