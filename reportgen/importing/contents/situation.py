"""A table as contents are found: its columns of numbers, what each measures, and its label sets."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.clues.quantities_model import Measure, Profile
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.claims import Labels, TableLabels
from reportgen.importing.model.layouts import CarrierKind, Values
from reportgen.importing.model.tables import Found, Statistic, Table
from reportgen.importing.words import meanings

AREA: Final = re.compile(r"(\d+(?:[.,]\d+)?)\s*(?:m2|m²|sqm|qm)(?!\w)", re.IGNORECASE)


@dataclass(frozen=True)
class Candidate:
    """What columns of a table may be, with points against the most likely one."""

    values: tuple[Values, ...]
    score: float = 0.0
    columns: Mapping[str, str] = field(default_factory=dict)
    because: tuple[str, ...] = ()


@dataclass(frozen=True)
class Situation:
    """A table, its profiles, and the measure of each by column index."""

    table: Table
    labels: TableLabels
    profiles: tuple[Profile, ...]
    measures: Mapping[int, Measure]
    found: Found
    sheets: Sequence[Sheet]

    def of(self, *measures: Measure) -> list[Profile]:
        """Return the columns of some measures."""
        return [profile for profile in self.profiles if self.measures[profile.index] in measures]

    def without(self, *measures: Measure) -> list[Profile]:
        """Return the columns of all but some measures."""
        others = set(self.measures.values()) - set(measures)
        return self.of(*others)

    def computed(
        self, profiles: Sequence[Profile], statistic: Statistic
    ) -> dict[int, tuple[int, ...]]:
        """Return the columns that are a statistic of others on each row, with those others.

        Both are among `profiles`.
        """
        indexes = {profile.index for profile in profiles}
        columns = {}
        for computed in self.table.computed:
            involved = {computed.column, *computed.of_columns}
            if computed.statistic is statistic and involved <= indexes:
                columns[computed.column] = computed.of_columns
        return columns

    @property
    def rows(self) -> int:
        """Return how many rows the table has."""
        return len(self.table.row)

    def label_columns(self) -> list[Labels]:
        """Return the labels down its columns, whole, without those that hold values."""
        measured = set()
        for index, measure in self.measures.items():
            if is_value(measure):
                measured.add(self.table.columns[index].name)
        columns = []
        for labels in self.labels.labels:
            carrier = labels.carrier
            is_whole_column = carrier.kind is CarrierKind.COLUMN and not carrier.part
            if is_whole_column and carrier.name not in measured:
                columns.append(labels)
        return columns

    def labels_of_rows(self) -> list[Labels]:
        """Return all labels down the rows: columns, sections, sheets, titles."""
        rows = self.label_columns()
        for labels in self.labels.labels:
            is_column = labels.carrier.kind is CarrierKind.COLUMN
            if labels.along == "rows" and not is_column and len(labels.levels) > 1:
                rows.append(labels)
        return rows

    def labels_of_columns(self) -> list[Labels]:
        """Return all labels along the header rows."""
        return [labels for labels in self.labels.labels if labels.along == "columns"]

    def labelled(self, word: str) -> list[Labels]:
        """Return label sets whose header, or most of whose levels, have a meaning."""
        named = [labels for labels in self.label_columns() if word in meanings(labels.header)]
        for labels in self.labels_of_columns():
            if not labels.carrier.part and _mostly(labels.levels, word):
                named.append(labels)
        for labels in self.labels_of_rows():
            if labels.header == "" and _mostly(labels.levels, word):
                named.append(labels)
        return named


def is_value(measure: Measure) -> bool:
    """Tell whether numbers of a measure are values rather than labels."""
    return measure is not Measure.LABEL


def area_around(table: Table) -> float:
    """Return the area in m2 that a title or field tells, 0 where none or several do.

    Such as `plots of 12 m2`.
    """
    texts = []
    for block in table.blocks:
        texts += [text for text, _ in block.titles]
        texts += [f"{label} {text}" for label, text in block.fields.items()]
    areas = set()
    for text in texts:
        for match in AREA.finditer(text):
            areas.add(float(match[1].replace(",", ".")))
    if len(areas) == 1:
        return areas.pop()
    return 0.0


def _mostly(levels: Sequence[str], word: str) -> bool:
    naming = sum(word in meanings(level) for level in levels)
    return naming > len(levels) / 2


def codes(labels: Labels) -> NDArray[np.intp]:
    """Return labels as whole numbers, (rows,)."""
    return np.unique(labels.labels.astype(str), return_inverse=True)[1].astype(np.intp)
