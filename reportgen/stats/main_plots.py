"""Treatments compared where one of two factors was given to main plots: within them, and between
them.
"""

from dataclasses import dataclass
from math import sqrt

import numpy as np

from reportgen.stats.analysis import Design
from reportgen.stats.cell_means import CellMeans, freedoms
from reportgen.stats.scores import FloatArray, IntArray
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


@dataclass(frozen=True)
class PlotMeans:
    """Of each treatment (k,), how many main plots it stood in, and the variance of their means.

    NaN below two.

    `sharing` is how many treatments stood in each main plot: their variances are learnt from the
    same main plots.
    """

    plots: IntArray
    variances: FloatArray
    sharing: int


def plot_means(design: Design, scores: FloatArray) -> PlotMeans:
    """Return what a treatment's own interval rests on where main plots vary.

    scores: (n,), NaN without a figure.

    Raises ValueError where the design has no main plots.
    """
    if design.split is None:
        raise ValueError("the design has no main plots")
    numbers: list[int] = []
    variances: list[float] = []
    for treatment in range(design.treatments):
        own = np.isfinite(scores) & (design.treatment == treatment)
        plot = np.unique(design.split.plot[own], return_inverse=True)[1]
        means = np.bincount(plot, scores[own]) / np.bincount(plot)
        numbers.append(means.size)
        variances.append(float(means.var(ddof=1)) if means.size > 1 else np.nan)
    return PlotMeans(np.array(numbers), np.array(variances), design.split.levels[1])


def of_main_plots(design: Design, scores: FloatArray) -> MainPlots:
    """Return the treatments' means with the errors of main plots and of units.

    scores: (n,), NaN without a figure.

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
    if is_whole:
        cells = split_plot_cells(scores[usable], split)
    else:
        cells = None
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
