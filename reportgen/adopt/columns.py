"""Which columns of the declaration a table of its owner's own layout may give."""

from typing import Final

from reportgen.workbook.declaration import PLANTS, SHEETS, TRAYS, TRIAL, Column, Kind, Sheet
from reportgen.workbook.headers import folded

OF_TRAYS: Final = ("Treatment", "Block", "Position", "Plants started", "Harvested on")  # that a row of plants may tell
WEIGHED: Final = ("Fresh weight", "Dry weight", "Root weight")
NOT_KNOWN: Final = "not known"  # in the place of a number that its owner does not know
NUMBERS: Final = (Kind.NUMBER, Kind.COUNT, Kind.AMOUNT)
TEMPERATURES: Final = ("Temperature", "Air temperature", "Solution temperature")
ASKED: Final = (*WEIGHED, "EC", "Volume", "Reading", "Height", *TEMPERATURES)  # whose unit is never guessed


def sheets_given() -> tuple[str, ...]:
    """Return the names of the sheets that a table can give."""
    return tuple(sheet.name for sheet in SHEETS if sheet is not TRIAL)


def sheet_called(name: str) -> Sheet | None:
    """Return the declared sheet of a name, None where there is none that a table can give."""
    return next((sheet for sheet in SHEETS if sheet is not TRIAL and folded(sheet.name) == folded(name)), None)


def columns_for(gives: str) -> tuple[Column, ...]:
    """Return the declared columns that a table giving the sheet `gives` may have."""
    sheet = sheet_called(gives)
    if not sheet:
        return ()
    further = tuple(TRAYS.column(name) for name in OF_TRAYS) if sheet is PLANTS else ()
    return sheet.columns + further


def column_called(gives: str, name: str) -> Column | None:
    """Return the declared column of a name, without regard to case and spaces; None where there is none."""
    return next((column for column in columns_for(gives) if folded(column.name) == folded(name)), None)


def declared_name(gives: str, name: str) -> str:
    """Return a column's name as the declaration spells it; a further measurement's as it stands."""
    column = column_called(gives, name)
    return column.name if column else name


def is_known(gives: str, name: str) -> bool:
    """Return whether a table giving the sheet `gives` may have a column `name`: a further measurement may be new."""
    sheet = sheet_called(gives)
    return sheet is None or sheet.further or column_called(gives, name) is not None


def kind_of(gives: str, name: str) -> Kind:
    """Return what the cells of a column hold; those of a further measurement hold numbers."""
    column = column_called(gives, name)
    return column.kind if column else Kind.NUMBER


def trial_field(name: str) -> Column | None:
    """Return the field of the Trial sheet of a name, with or without a unit in brackets behind it."""
    bare = name.partition("(")[0]
    return next((column for column in TRIAL.columns if folded(column.name) == folded(bare)), None)
