"""Treatments compared where one of two factors was given to main plots: within them, and between them."""

from dataclasses import dataclass
from math import sqrt

import numpy as np

from reportgen.stats.analysis import Design
from reportgen.stats.cell_means import CellMeans, freedoms
from reportgen.stats.scores import FloatArray
from reportgen.stats.split_plot import split_plot_cells


@dataclass(frozen=True)
class MainPlots:
    """The treatments' means (k,) with both errors, None where main plots are not balanced.

    `freedoms` (k,) are those of each treatment against the reference, NaN for the reference itself.
    `in_other_main_plots` are the treatments whose level of the main factor is not the reference's.
    """

    cells: CellMeans | None
    freedoms: FloatArray
    in_other_main_plots: frozenset[int]

    def error(self, treatment: int, reference: int) -> float:
        """Return the standard error of the difference of two means."""
        assert self.cells is not None
        row = np.zeros((1, self.cells.means.size))
        row[0, [treatment, reference]] = 1.0, -1.0
        return sqrt(float(self.cells.combined(row).covariance[0, 0]))


def of_main_plots(design: Design, scores: FloatArray) -> MainPlots:
    """Return the treatments' means with the errors of main plots and of units. scores: (n,), NaN without a figure.

    Raises ValueError where the design has no main plots.
    """
    if design.split is None:
        raise ValueError("the design has no main plots")
    first = np.unique(design.treatment, return_index=True)[1]
    main, sub = design.split.main[first], design.split.sub[first]
    apart = np.flatnonzero(main != main[design.reference])
    others = frozenset(apart.tolist())
    usable = np.isfinite(scores)
    split = design.split.only(usable)
    is_whole = split.levels == design.split.levels
    cells = split_plot_cells(scores[usable], split) if is_whole else None
    if cells is None:
        return MainPlots(None, np.full(design.treatments, np.nan), others)
    order = main * split.levels[1] + sub
    of_treatments = cells.combined(np.eye(order.size)[order])
    differences = np.eye(order.size)
    differences[:, design.reference] -= 1.0
    kept = [treatment for treatment in range(order.size) if treatment != design.reference]
    own = np.full(order.size, np.nan)
    own[kept] = freedoms(of_treatments.combined(differences[kept]))
    return MainPlots(of_treatments, own, others)
