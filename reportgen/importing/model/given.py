"""Stage 10 gives a workbook of the declaration, with the owner's cell behind each of its own."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from reportgen.model.data import Traced
from reportgen.model.problem import Problem
from reportgen.workbook.raw import Workbook


@dataclass(frozen=True)
class SheetOrigins:
    """Where the cells of a derived sheet stand: arrays (rows, columns), header row included.

    `sheet` is an index into `Origins.places`, -1 where a row came from nowhere; `row` and
    `column` count from 1, `column` is 0 where only the row is known.
    """

    sheet: NDArray[np.intp]
    row: NDArray[np.intp]
    column: NDArray[np.intp]


@dataclass(frozen=True)
class Origins:
    """The origins of derived cells by sheet.

    `places` name the owner's sheets as messages do. `fields` tells by row of the sheet Trial where
    in the settings file it was said, under 0 for the sheet as a whole.
    """

    places: tuple[str, ...] = ()
    sheets: Mapping[str, SheetOrigins] = field(default_factory=dict)
    fields: Mapping[int, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Given:
    """A workbook made of an owner's tables, with the places of its cells and its problems."""

    workbook: Workbook
    origins: Origins
    traces: tuple[Traced, ...] = ()
    problems: tuple[Problem, ...] = ()
