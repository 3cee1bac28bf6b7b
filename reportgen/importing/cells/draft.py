"""A sheet while its cells are typed: arrays that the passes fill one after another."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.cells import Kind, OpenConvention, Place


@dataclass
class Draft:
    """The arrays of a `Sheet`, with the texts that are still to be typed by column.

    `pending` holds for each column (from 0) its distinct texts and the rows (from 0) where each stands.
    """

    kind: NDArray[np.uint8]
    text: NDArray[np.object_]
    number: NDArray[np.float64]
    moment: NDArray[np.datetime64]
    pending: list[dict[str, list[int]]]
    units: dict[Place, str] = field(default_factory=dict)
    remarks: dict[Place, str] = field(default_factory=dict)
    bounds: dict[Place, str] = field(default_factory=dict)
    open: list[OpenConvention] = field(default_factory=list)

    @classmethod
    def blank(cls, rows: int, columns: int) -> "Draft":
        """Return the draft of a sheet of blank cells."""
        shape = rows, columns
        return cls(
            np.zeros(shape, np.uint8),
            np.full(shape, "", object),
            np.full(shape, np.nan),
            np.full(shape, "NaT", "datetime64[s]"),
            [{} for _ in range(columns)],
        )

    def set_numbers(self, column: int, rows: Sequence[int], numbers: Sequence[float], texts: Sequence[str]) -> None:
        """Make cells of a column hold numbers, one a row."""
        index = np.array(rows, np.intp)
        self.kind[index, column] = Kind.NUMBER
        self.number[index, column] = numbers
        self.text[index, column] = texts

    def set_moments(self, column: int, rows: Sequence[int], moments: Sequence[datetime], texts: Sequence[str]) -> None:
        """Make cells of a column hold moments, one a row."""
        index = np.array(rows, np.intp)
        self.kind[index, column] = Kind.MOMENT
        self.moment[index, column] = np.array(moments, "datetime64[s]")
        self.text[index, column] = texts

    def set_texts(self, column: int, rows: Sequence[int], texts: Sequence[str], kind: Kind = Kind.TEXT) -> None:
        """Make cells of a column hold texts, or words in place of a number, one a row."""
        index = np.array(rows, np.intp)
        self.kind[index, column] = kind
        self.text[index, column] = texts

    def finish(self, column: int, text: str) -> list[int]:
        """Take a text from those that are to be typed; return its rows."""
        return self.pending[column].pop(text)


def moment_text(moment: datetime) -> str:
    """Return a moment as a label: the day alone where it is midnight, seconds only where there are some."""
    text = moment.replace(microsecond=0).isoformat(" ")
    return text.removesuffix(" 00:00:00") if text.endswith(" 00:00:00") else text.removesuffix(":00")
