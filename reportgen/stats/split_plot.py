"""A balanced split-plot: one factor given to main plots, the other to the units within them, each
with its error.

Yates (1935), J. R. Stat. Soc. Suppl. 2:181-247; Cochran & Cox (1957), Experimental Designs, 2nd
ed., ch. 7.
"""

from dataclasses import dataclass

import numpy as np

from reportgen.stats.additive import fit_additive
from reportgen.stats.cell_means import CellMeans, ErrorTerm
from reportgen.stats.scores import BoolArray, FloatArray, IntArray


@dataclass(frozen=True)
class SplitPlot:
    """The design of n units: level of the main factor (n,), of the sub factor (n,), main plot (n,),
    block (n,) or None.

    All are numbers from 0 on without gaps. A main plot has one level of the main factor and lies in
    one block.
    """

    main: IntArray
    sub: IntArray
    plot: IntArray
    block: IntArray | None = None

    def only(self, usable: BoolArray) -> "SplitPlot":
        """Return the design of some of its units. usable: (n,)."""
        plot = np.unique(self.plot[usable], return_inverse=True)[1]
        if self.block is None:
            block = None
        else:
            block = np.unique(self.block[usable], return_inverse=True)[1]
        return SplitPlot(self.main[usable], self.sub[usable], plot, block)

    @property
    def levels(self) -> tuple[int, int]:
        """Return the numbers of levels of the main and of the sub factor."""
        return int(self.main.max()) + 1, int(self.sub.max()) + 1

    @property
    def has_one_plot_a_level(self) -> bool:
        """Return whether each main level had one main plot.

        Plot and level are then confounded.
        """
        return int(self.plot.max()) + 1 == self.levels[0]

    @property
    def is_balanced(self) -> bool:
        """Return whether main plots hold all sub levels equally often and all levels have plots.

        With blocks, each block holds each level of the main factor equally often.
        """
        levels, sub_levels = self.levels
        plots = int(self.plot.max()) + 1
        within = np.zeros((plots, sub_levels), dtype=int)
        np.add.at(within, (self.plot, self.sub), 1)
        first = self.first_units()
        main_of_plot = self.main[first]
        per_level = np.bincount(main_of_plot, minlength=levels)
        is_even = bool((within == within[0, 0]).all() and (per_level == per_level[0]).all())
        if self.block is None or not is_even:
            return is_even
        block_of_plot = self.block[first]
        in_blocks = np.zeros((int(block_of_plot.max()) + 1, levels), dtype=int)
        np.add.at(in_blocks, (block_of_plot, main_of_plot), 1)
        return bool((in_blocks == in_blocks[0, 0]).all())

    def first_units(self) -> IntArray:
        """Return the number of one unit of each main plot."""
        found: IntArray = np.unique(self.plot, return_index=True)[1]
        return found


def split_plot_cells(values: FloatArray, design: SplitPlot) -> CellMeans | None:
    """Return the means of the cells with the errors of main plots and of units.

    Cells stand main level by main level.

    values: (n,). Returns None where the design is not balanced or leaves one of the errors without
    spread. A contrast between main levels rests on main plots, one within a main level on units.
    """
    if not design.is_balanced:
        return None
    levels, sub_levels = design.levels
    first = design.first_units()
    plots = first.size
    units_a_plot = values.size // plots
    plot_means = np.bincount(design.plot, values) / units_a_plot
    if design.block is None:
        block = None
    else:
        block = design.block[first]
    between = fit_additive(plot_means, design.main[first], levels, block)
    within_freedom = values.size - plots - levels * (sub_levels - 1)
    if between.notes or within_freedom < 1:
        return None
    cell = design.main * sub_levels + design.sub
    means = np.bincount(cell, values) / np.bincount(cell)
    main_means = np.bincount(design.main, values) / np.bincount(design.main)
    residuals = values - plot_means[design.plot] - means[cell] + main_means[design.main]
    within = float(residuals @ residuals) / within_freedom
    if within <= 0:
        return None
    same_main = np.kron(np.eye(levels), np.ones((sub_levels, sub_levels))).astype(float)
    units_a_level = values.size / levels
    units_a_cell = units_a_level / sub_levels
    of_plots = ErrorTerm(
        between.residual_variance * units_a_plot,
        float(between.degrees_of_freedom),
        same_main / units_a_level,
    )
    own = np.eye(levels * sub_levels) / units_a_cell - same_main / units_a_level
    of_units = ErrorTerm(within, float(within_freedom), own)
    return CellMeans(means, (of_plots, of_units))
