"""Stages 3 and 4: the label sets and value columns of a table, and what speaks for their meaning."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.layouts import Carrier, Dimension, Layout, Lookup, Values


@dataclass(frozen=True)
class Labels:
    """The labels that one carrier holds.

    `labels` (rows,) where `along` is "rows", (value columns,) where it is "columns" (an `over`
    carrier), those of the table (rows, columns) where it is "cells": str, filled down over merged
    or blank cells where `filled`; "" where none. `levels` are the distinct ones in order of
    appearance. `header` is the word that names them (a column's header, a field's label), "" where
    none. `lookup` is set where the labels are what another table says of the carrier's labels.
    """

    carrier: Carrier
    labels: NDArray[np.object_]
    levels: tuple[str, ...]
    along: str = "rows"
    header: str = ""
    filled: bool = False
    lookup: Lookup | None = None


@dataclass(frozen=True)
class TableLabels:
    """All label sets of a table, and its columns of values, as indexes of `Table.columns`."""

    table: str
    labels: tuple[Labels, ...]
    values: tuple[int, ...]


@dataclass(frozen=True)
class Claim:
    """What a clue says of labels: points for a dimension, or for none.

    `because` is its name; points below zero speak against.
    """

    because: str
    dimension: Dimension | None
    weight: float


@dataclass(frozen=True)
class Contents:
    """What the value columns of a table may be, with its score and the clues for it.

    `gives` is a sheet of the declaration or `nothing`; `columns` are further columns by
    declared name (Note, Status).
    """

    table: str
    gives: str
    values: tuple[Values, ...]
    score: float
    columns: Mapping[str, str] = field(default_factory=dict)
    because: tuple[str, ...] = ()


@dataclass(frozen=True)
class Reading:
    """A layout that keeps the constraints, with its score and the clues that speak for it."""

    layout: Layout
    score: float
    because: tuple[str, ...] = ()
