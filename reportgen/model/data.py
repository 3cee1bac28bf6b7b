"""What was recorded, as tables that can be handed on."""

from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Literal

Datum = str | float | int | bool | date | datetime | time | None
DatumType = Literal["string", "number", "integer", "boolean", "date", "datetime", "time"]


@dataclass(frozen=True)
class DataColumn:
    """A column of recorded data in `unit`, one value a row, None where the cell is blank.

    A `required` column has no blanks. Numbers are `at_least`, `above` and `at_most` what is
    possible, texts one of `choices` where there are any. `refers` names the table whose key its
    codes are, `also` the words that may stand in place of such a code.
    """

    name: str
    unit: str
    values: tuple[Datum, ...]
    type: DatumType = "string"
    description: str = ""
    required: bool = False
    at_least: float | None = None
    above: float | None = None
    at_most: float | None = None
    choices: tuple[str, ...] = ()
    refers: str = ""
    also: tuple[str, ...] = ()

    @property
    def heading(self) -> str:
        """Return the name with the unit, such as `Fresh weight (g)`."""
        if self.unit:
            return f"{self.name} ({self.unit})"
        return self.name


@dataclass(frozen=True)
class DataTable:
    """A sheet as it was recorded, in the units of the trial.

    No two rows have the same values in the columns `key`.
    """

    name: str
    columns: tuple[DataColumn, ...]
    description: str = ""
    key: tuple[str, ...] = ()

    @property
    def file_name(self) -> str:
        """Return the name that the table has as a file of comma-separated values."""
        return f"{self.name.casefold()}.csv"


@dataclass(frozen=True)
class Traced:
    """One quantity's way from a spreadsheet of its owner's own layout into a report.

    `quantity` is the declared column of the sheet `gives`, `column` where it stands, such as "I:
    wet weight". `rows` are those that were read, as numbers of the sheet. `left_out` pairs a reason
    with rows; `corrected` holds cells with the value that was read and the one that stands there,
    `confirmed` those that look wrong and are right.
    """

    quantity: str
    gives: str
    file: str
    sheet: str
    column: str
    unit: str
    rows: tuple[int, ...]
    left_out: tuple[tuple[str, tuple[int, ...]], ...] = ()
    corrected: tuple[tuple[str, str, str], ...] = ()
    confirmed: tuple[str, ...] = ()


@dataclass(frozen=True)
class ReadFigures:
    """What was read of one quantity of one treatment in a log of its owner's own layout.

    `key` is that of the measure, such as fresh_weight, `treatment` the name that is printed.
    `units` are the trays, pots or plots by name, `n` counts plants or values. `times` are the
    fewest and the most occasions of a unit. `first` and `last` are occasions as they are labelled:
    a day in ISO 8601 where it is one. `total`, `mean` and the extremes of single values are in
    `unit`, "" where that is open. `place` is the sheet that they stand on.
    """

    key: str
    treatment: str
    units: tuple[str, ...]
    n: int
    lost: int
    times: tuple[int, int]
    total: float
    mean: float
    smallest: float | None
    largest: float | None
    first: str
    last: str
    unit: str
    place: str = ""


@dataclass(frozen=True)
class ReadBack:
    """What was read of a log, and the fate of each of its numbers.

    `numbers` counts the cells that hold a number, `read` those that are data or labels of it,
    `agreeing` the owner's own statistics that agree. `left_out` pairs a reason with how many are
    left out for it.
    """

    figures: tuple[ReadFigures, ...] = ()
    numbers: int = 0
    read: int = 0
    agreeing: int = 0
    disagreeing: int = 0
    unexplained: int = 0
    left_out: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True)
class Dataset:
    """What is said of a trial's data as a whole. Texts that were not given are empty.

    `started_on` is ISO 8601. `measured` pairs what was measured or computed with its unit,
    `instruments` says what was measured with what. `licence` is as it was typed.
    """

    author: str = ""
    organisation: str = ""
    location: str = ""
    licence: str = ""
    keywords: tuple[str, ...] = ()
    started_on: str = ""
    measured: tuple[tuple[str, str], ...] = ()
    instruments: tuple[str, ...] = ()
    source_sha256: str = ""
