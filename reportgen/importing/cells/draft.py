"""A sheet while its cells are typed: arrays that the passes fill one after another."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from openpyxl.utils import get_column_letter

from reportgen.importing.cells.plain import plain
from reportgen.importing.model.cells import Kind, OpenConvention, Place
from reportgen.workbook.raw import Value

MOST_SHOWN = 3


class TextColumn:
    """The texts of one column, each once: what is found of a text holds for all its cells.

    `left` are those that are still to be typed, with their indexes; `codes` (rows,) tells which
    text a cell holds, -1 where none.
    """

    def __init__(self, values: Sequence[Value]) -> None:
        raw: dict[str, int] = {}
        codes = [raw.setdefault(value, len(raw)) if type(value) is str else -1 for value in values]
        self.left: dict[str, int] = {}
        cleaned = [plain(text) for text in raw]
        indexes = [self.left.setdefault(text, len(self.left)) if text else -1 for text in cleaned]
        self.codes = np.array([*indexes, -1], np.intp)[codes]
        self.index = dict(self.left)
        count = len(self.left)
        self.kind = np.zeros(count, np.uint8)
        self.shown = np.full(count, "", object)
        self.number = np.full(count, np.nan)
        self.moment = np.full(count, "NaT", "datetime64[s]")

    def rows(self, text: str) -> list[int]:
        """Return the rows, from 0, that hold a text."""
        order, starts = self._by_text
        index = self.index[text]
        rows: list[int] = order[starts[index] : starts[index + 1]].tolist()
        return rows

    @cached_property
    def _by_text(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Return the rows in the order of their texts, and where those of each text begin."""
        order = np.argsort(self.codes, kind="stable")
        return order, np.searchsorted(self.codes[order], np.arange(len(self.index) + 1))

    def set_numbers(
        self, texts: Sequence[str], numbers: Sequence[float], shown: Sequence[str]
    ) -> None:
        """Type texts as numbers."""
        indexes = self._take(texts, Kind.NUMBER, shown)
        self.number[indexes] = numbers

    def set_moments(
        self, texts: Sequence[str], moments: NDArray[np.datetime64], shown: Sequence[str]
    ) -> None:
        """Type texts as moments."""
        indexes = self._take(texts, Kind.MOMENT, shown)
        self.moment[indexes] = moments

    def set_texts(
        self, texts: Sequence[str], kind: Kind = Kind.TEXT, shown: Sequence[str] = ()
    ) -> None:
        """Type texts as what they are, as `shown` where that is given, or as words in place of a
        number.
        """
        self._take(texts, kind, shown or texts)

    def _take(self, texts: Sequence[str], kind: Kind, shown: Sequence[str]) -> NDArray[np.intp]:
        indexes = np.array([self.left.pop(text) for text in texts], np.intp)
        self.kind[indexes] = kind
        self.shown[indexes] = shown
        return indexes


@dataclass
class Draft:
    """The arrays of a `Sheet`, of shape (rows, columns), and the texts of its columns."""

    kind: NDArray[np.uint8]
    text: NDArray[np.object_]
    number: NDArray[np.float64]
    moment: NDArray[np.datetime64]
    columns: list[TextColumn]
    units: dict[Place, str] = field(default_factory=dict)
    remarks: dict[Place, str] = field(default_factory=dict)
    bounds: dict[Place, str] = field(default_factory=dict)
    open: list[OpenConvention] = field(default_factory=list)

    @classmethod
    def of(cls, columns: Sequence[Sequence[Value]], rows: int) -> "Draft":
        """Return the draft of a sheet's columns of values, nothing typed."""
        shape = rows, len(columns)
        return cls(
            np.zeros(shape, np.uint8),
            np.full(shape, "", object),
            np.full(shape, np.nan),
            np.full(shape, "NaT", "datetime64[s]"),
            [TextColumn(values) for values in columns],
        )

    def set_cell(
        self, row: int, column: int, kind: Kind, text: str, number: float = np.nan
    ) -> None:
        """Type one cell, by indexes from 0."""
        self.kind[row, column] = kind
        self.text[row, column] = text
        self.number[row, column] = number

    def spread_texts(self) -> None:
        """Put what was found of texts into their cells."""
        for column, texts in enumerate(self.columns):
            rows = np.flatnonzero(texts.codes >= 0)
            codes = texts.codes[rows]
            self.kind[rows, column] = texts.kind[codes]
            self.text[rows, column] = texts.shown[codes]
            self.number[rows, column] = texts.number[codes]
            self.moment[rows, column] = texts.moment[codes]

    def note_open(self, label: str, what: str, keys: Iterable[tuple[int, str]]) -> None:
        """Note that texts, each with the index of its column, can be read in two ways."""
        shown = list(keys)[:MOST_SHOWN]
        cells = [
            f"{get_column_letter(column + 1)}{self.columns[column].rows(text)[0] + 1}"
            for column, text in shown
        ]
        if shown:
            self.open.append(
                OpenConvention(label, what, tuple(cells), tuple(text for _, text in shown))
            )


def moment_texts(moments: NDArray[np.datetime64]) -> list[str]:
    """Return moments as labels: the day alone where it is midnight, seconds only where there are
    some.
    """
    written = [text.replace("T", " ") for text in np.datetime_as_string(moments, unit="s").tolist()]
    return [
        text[:10] if text.endswith(" 00:00:00") else text.removesuffix(":00") for text in written
    ]
