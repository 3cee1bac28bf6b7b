"""Two factors: their interaction, and what each does, as contrasts of the means of all combinations
of levels.
"""

from dataclasses import dataclass

import numpy as np

from reportgen.stats.cell_means import CellMeans, Contrast, FTest, contrasts, f_test
from reportgen.stats.scores import FloatArray, IntArray


@dataclass(frozen=True)
class Grid:
    """Which cell has which levels: `cells` (a, b) are numbers of cells.

    `references` are the levels compared with.
    """

    cells: IntArray
    references: tuple[int, int]

    def main(self, factor: int) -> FloatArray:
        """Return contrasts of levels with their reference, averaged over the other factor (m, k)."""
        rows = [self._level(factor, level) for level in self.others(factor)]
        return np.array(rows) - self._level(factor, self.references[factor])

    def others(self, factor: int) -> list[int]:
        """Return a factor's levels but the reference."""
        return [
            level for level in range(self.cells.shape[factor]) if level != self.references[factor]
        ]

    def simple(self, factor: int) -> FloatArray:
        """Return contrasts of levels with their reference within levels of the other factor (m, k)."""
        reference = self.references[factor]
        rows: list[FloatArray] = []
        for other in range(self.cells.shape[1 - factor]):
            cells = self.within(factor, other)
            rows += [cells[level] - cells[reference] for level in self.others(factor)]
        return np.array(rows)

    def interaction(self) -> FloatArray:
        """Return how effects of the first factor differ from those at the second's reference level."""
        first, second = self.references
        rows = []
        for other in self.others(1):
            for level in self.others(0):
                here = self._cell(level, other) - self._cell(first, other)
                rows.append(here - self._cell(level, second) + self._cell(first, second))
        return np.array(rows)

    def averages(self, factor: int) -> FloatArray:
        """Return the averages of a factor's levels over the other factor (levels, k)."""
        return np.array([self._level(factor, level) for level in range(self.cells.shape[factor])])

    def within(self, factor: int, other: int) -> FloatArray:
        """Return the cells of a factor's levels at one level of the other factor (levels, k)."""
        if factor == 0:
            cells = self.cells[:, other]
        else:
            cells = self.cells[other, :]
        chosen: FloatArray = np.eye(self.cells.size)[cells]
        return chosen

    def _level(self, factor: int, level: int) -> FloatArray:
        if factor == 0:
            cells = self.cells[level, :]
        else:
            cells = self.cells[:, level]
        weights = np.zeros(self.cells.size)
        weights[cells] = 1 / cells.size
        return weights

    def _cell(self, first: int, second: int) -> FloatArray:
        cell: FloatArray = np.eye(self.cells.size)[self.cells[first, second]]
        return cell


@dataclass(frozen=True)
class TwoFactors:
    """F tests of the factors judged and of their interaction, and contrasts of each in the order of
    `Grid`.

    The contrasts of all factors judged (`main`, first factor's first) hold together, as do those
    within levels (`simple`, likewise) and those of the interaction.
    """

    tests: tuple[FTest, ...]
    interaction_test: FTest
    main: tuple[Contrast, ...]
    simple: tuple[Contrast, ...]
    interaction: tuple[Contrast, ...]


def two_factors(
    cells: CellMeans, grid: Grid, level: float, judged: tuple[int, ...] = (0, 1)
) -> TwoFactors:
    """Return what two factors do.

    Each level counts alike, however many units it has (type III: Searle 1971, ch. 8).

    `judged` are the factors whose own effects can be judged; the interaction is tested in any case.
    """
    main = [grid.main(factor) for factor in judged]
    simple = [grid.simple(factor) for factor in judged]
    return TwoFactors(
        tuple(f_test(cells, matrix) for matrix in main),
        f_test(cells, grid.interaction()),
        contrasts(cells, np.vstack(main), level),
        contrasts(cells, np.vstack(simple), level),
        contrasts(cells, grid.interaction(), level),
    )
