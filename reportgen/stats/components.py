"""How much of the variance lies between units of a treatment, and how much between the values
within a unit.
"""

from dataclasses import dataclass

import numpy as np

from reportgen.stats.scores import FloatArray, IntArray, without_rounding

NO_UNITS_REPEATED = (
    "no treatment has two units with values, so the variance between units is not known"
)
NO_VALUES_REPEATED = (
    "no unit has two values, so the variance between and within units cannot be told apart"
)
NEGATIVE = (
    "the units differ no more than the values within them would let them, "
    "so the estimate of the variance between units came out below 0 and is given as 0"
)


@dataclass(frozen=True)
class VarianceComponents:
    """Variances between units and within units, in squared units of the values.

    None where not known.

    `n0` is the number of values a unit that the variance between units is weighed with: the mean
    square between units estimates within + n0 x between. `values_per_unit` of a balanced trial
    equals it.
    """

    between: float | None
    within: float | None
    n0: float | None
    degrees_between: int
    degrees_within: int
    note: str = ""


def components(values: FloatArray, unit: IntArray, group: IntArray) -> VarianceComponents:
    """Estimate the variance components of units in groups by the nested analysis of variance.

    values, unit, group: (n,); a unit belongs to one group, and its number is its own among all
    groups. Numbers may be unequal. Values that are not finite are left out. Searle, Casella &
    McCulloch (1992), Variance Components, ch. 3 and 5 (the analysis of variance estimator).
    """
    known = np.isfinite(values)
    values, (_, unit) = values[known], np.unique(unit[known], return_inverse=True)
    sizes = np.bincount(unit)
    unit_means = np.bincount(unit, values) / sizes
    _, first = np.unique(unit, return_index=True)
    _, unit_group = np.unique(group[known][first], return_inverse=True)
    group_sizes = np.bincount(unit_group, sizes)
    group_means = np.bincount(unit_group, sizes * unit_means) / group_sizes
    return _components(
        without_rounding(values - unit_means[unit], values),
        without_rounding(np.sqrt(sizes) * (unit_means - group_means[unit_group]), values),
        sizes**2 / group_sizes[unit_group],
        group_sizes.size,
    )


def _components(
    within: FloatArray, between: FloatArray, shares: FloatArray, groups: int
) -> VarianceComponents:
    """Return the components from deviations within units (n,), weighted deviations between them
    (u,), shares (u,).
    """
    degrees_between, degrees_within = between.size - groups, within.size - between.size
    if degrees_within:
        square_within = float(within @ within) / degrees_within
    else:
        square_within = None
    if not degrees_between:
        return VarianceComponents(None, square_within, None, 0, degrees_within, NO_UNITS_REPEATED)
    n0 = float(within.size - shares.sum()) / degrees_between
    if square_within is None:
        return VarianceComponents(None, None, n0, degrees_between, 0, NO_VALUES_REPEATED)
    estimate = (float(between @ between) / degrees_between - square_within) / n0
    if estimate < 0:
        note = NEGATIVE
    else:
        note = ""
    return VarianceComponents(
        max(estimate, 0.0), square_within, n0, degrees_between, degrees_within, note
    )
