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

    def computed(
        self, profiles: Sequence[Profile], statistic: Statistic
    ) -> dict[int, tuple[int, ...]]:
        """Return the columns among some that are a statistic of others among them on each row, with
        those others.
        """
        known = {profile.index for profile in profiles}
        found = {}
        for one in self.table.computed:
            if one.statistic is statistic and known >= {one.column, *one.of_columns}:
                found[one.column] = one.of_columns
        return found

    @property
    def rows(self) -> int:
        """Return how many rows the table has."""
        return len(self.table.row)

    def label_columns(self) -> list[Labels]:
        """Return the labels down its columns, whole, without those that hold values."""
        measured = {
            self.table.columns[index].name
            for index, measure in self.measures.items()
            if is_value(measure)
        }
        return [
            labels
            for labels in self.labels.labels
            if labels.carrier.kind is CarrierKind.COLUMN and not labels.carrier.part
            if labels.carrier.name not in measured
        ]

    def labels_of_rows(self) -> list[Labels]:
        """Return all labels down the rows: columns, sections, sheets, titles."""
        others = [
            labels
            for labels in self.labels.labels
            if labels.along == "rows" and labels.carrier.kind is not CarrierKind.COLUMN
            if len(labels.levels) > 1
        ]
        return [*self.label_columns(), *others]

    def labelled(self, word: str) -> list[Labels]:
        """Return label sets whose header, or most of whose levels, have a meaning."""
        columns = [labels for labels in self.label_columns() if word in meanings(labels.header)]
        over = [
            labels
            for labels in self.labels.labels
            if labels.along == "columns"
            and not labels.carrier.part
            and _mostly(labels.levels, word)
        ]
        others = [
            labels
            for labels in self.labels_of_rows()
            if labels.header == "" and _mostly(labels.levels, word)
        ]
        return [*columns, *over, *others]


def is_value(measure: Measure) -> bool:
    """Tell whether numbers of a measure are values rather than labels."""
    return measure is not Measure.LABEL


def area_around(table: Table) -> float:
    """Return the area in m2 that a title or field tells, as in `plots of 12 m2`; 0 where none or
    several do.
    """
    texts = [text for block in table.blocks for text, _ in block.titles]
    texts += [f"{label} {text}" for block in table.blocks for label, text in block.fields.items()]
    areas = {float(match[1].replace(",", ".")) for text in texts for match in AREA.finditer(text)}
    if len(areas) == 1:
        return areas.pop()
    return 0.0


def _mostly(levels: Sequence[str], word: str) -> bool:
    naming = sum(word in meanings(level) for level in levels)
    return naming > len(levels) / 2


def codes(labels: Labels) -> NDArray[np.intp]:
    """Return labels as whole numbers, (rows,)."""
    return np.unique(labels.labels.astype(str), return_inverse=True)[1].astype(np.intp)
