"""Stage 2: find the tables of sheets: headers, body, sections, statistics, fields, keys."""

from reportgen.importing.tables.finding import find, find_again

__all__ = ["find", "find_again"]
