"""What was recorded, as tables that can be handed on."""

from dataclasses import dataclass
from datetime import date, datetime

Datum = str | float | int | bool | date | datetime | None


@dataclass(frozen=True)
class DataColumn:
    """A column of recorded data in `unit`, one value a row, None where the cell is blank."""

    name: str
    unit: str
    values: tuple[Datum, ...]


@dataclass(frozen=True)
class DataTable:
    """A sheet as it was recorded, in the units of the trial."""

    name: str
    columns: tuple[DataColumn, ...]

    @property
    def file_name(self) -> str:
        """Return the name that the table has as a file of comma-separated values."""
        return f"{self.name.casefold()}.csv"
