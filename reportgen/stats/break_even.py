"""What a treatment adds, in crop and in cost, and the price of the crop at which the two are even.

A partial budget per tray (CIMMYT 1988, From Agronomic Data to Farmer Recommendations, ch. 2-3):
only what differs between treatment and reference counts. The break-even price is a quotient of two
differences of means, added cost over added crop, and its confidence set is Fieller's (1954, J. R.
Stat. Soc. B 16:175-185): all prices at which the margin cannot be told from 0. That set need not be
an interval.
"""

from dataclasses import dataclass
from math import sqrt
from typing import Literal

import numpy as np

from reportgen.model.trial import Variances
from reportgen.stats.comparisons import satterthwaite
from reportgen.stats.scores import FloatArray
from reportgen.stats.student import t_quantile, two_sided_p_value

Pays = Literal["pays", "loses", "unclear", "untestable"]
Direction = Literal["above", "below", "always", "never", "none"]
PriceSet = Literal["interval", "at_least", "at_most", "two_parts", "any", "empty", "unknown"]


@dataclass(frozen=True)
class TrayMoney:
    """Cost and crop of the trays of one treatment.

    Cost, crop: (n,), in currency and in units of crop a tray.

    A treatment's one cost figure is the same number for each tray: it adds no variance.
    """

    cost: FloatArray
    crop: FloatArray


@dataclass(frozen=True)
class Added:
    """Added cost and added crop a tray, with what their uncertainty rests on.

    Each member of `samples` is (2, n): cost and crop of its units. Their covariances of the mean
    add up. `pooled` takes one variance for all samples.
    """

    cost: float
    crop: float
    samples: tuple[FloatArray, ...]
    pooled: bool = False

    @property
    def is_testable(self) -> bool:
        """Tell whether the units show a spread.

        Two of each sample at least, or of one of them where pooled.
        """
        freedoms = self._freedoms()
        if self.pooled:
            return sum(freedoms) > 0
        return min(freedoms) > 0

    def covariance(self) -> tuple[float, float, float]:
        """Return the variance of the added cost, that of the added crop, and their covariance."""
        total = np.zeros((2, 2))
        for sample in self._means():
            total += sample
        return float(total[0, 0]), float(total[1, 1]), float(total[0, 1])

    def freedom(self, price: float) -> float:
        """Return the degrees of freedom of added revenue less added cost at a price."""
        freedoms = self._freedoms()
        if self.pooled or len(self.samples) == 1:
            return float(sum(freedoms))
        weights = np.array([-1.0, price])
        variances = [float(weights @ sample @ weights) for sample in self._means()]
        if not sum(variances):
            return float(sum(freedoms))
        return float(satterthwaite(variances[0], variances[1], (freedoms[0], freedoms[1])))

    def _freedoms(self) -> list[int]:
        return [int(sample.shape[1]) - 1 for sample in self.samples]

    def _means(self) -> list[FloatArray]:
        """Return the covariance of the mean (2, 2) of each sample."""
        squares = [_squares(sample) for sample in self.samples]
        sizes = [sample.shape[1] for sample in self.samples]
        if self.pooled:
            common = sum(squares) / (sum(sizes) - len(sizes))
            return [common / size for size in sizes]
        return [square / (size - 1) / size for square, size in zip(squares, sizes, strict=True)]


@dataclass(frozen=True)
class BreakEven:
    """The crop price at which treatment and reference are even, with its confidence set.

    `direction` says where the estimate pays: at prices above or below `price`, always, never, or
    nowhere different. `kind` says what the set of prices from 0 is: the interval `low` to `high`;
    at least `low`; at most `high`; two parts, up to `low` and from `high`; any price; empty, where
    the margin differs from 0 at every price from 0; or unknown, where the units tell no spread.
    Prices below 0 are left out.
    """

    price: float | None
    direction: Direction
    kind: PriceSet
    low: float | None = None
    high: float | None = None
    degrees_of_freedom: float | None = None


@dataclass(frozen=True)
class Budget:
    """The partial budget a tray at a price of the crop; the interval is that of the margin."""

    added_cost: float
    added_crop: float
    added_revenue: float
    margin: float
    pays: Pays
    low: float | None = None
    high: float | None = None
    p_value: float | None = None
    degrees_of_freedom: float | None = None


@dataclass(frozen=True)
class Payback:
    """How often a saving must come back to pay for what was bought, and its interval."""

    times: float
    low: float
    high: float


def added_independent(treated: TrayMoney, reference: TrayMoney, variances: Variances) -> Added:
    """Return what a treatment adds where trays of treatment and reference stand on their own."""
    samples = np.array([treated.cost, treated.crop]), np.array([reference.cost, reference.crop])
    difference = samples[0].mean(axis=1) - samples[1].mean(axis=1)
    return Added(float(difference[0]), float(difference[1]), samples, variances == "pooled")


def added_paired(treated: TrayMoney, reference: TrayMoney) -> Added:
    """Return what a treatment adds where tray i of both stands in block i. Shapes: (n,) each."""
    differences = np.array([treated.cost - reference.cost, treated.crop - reference.crop])
    mean = differences.mean(axis=1)
    return Added(float(mean[0]), float(mean[1]), (differences,))


def partial_budget(added: Added, price: float, level: float) -> Budget:
    """Return the margin a tray at a price of the crop; it pays where the interval leaves out 0.

    price: currency for a unit of crop. A margin of units that show no spread is untestable.
    """
    revenue = price * added.crop
    margin = revenue - added.cost
    plain = Budget(added.cost, added.crop, revenue, margin, "untestable")
    if not added.is_testable:
        return plain
    error = sqrt(max(_margin_variance(added, price), 0.0))
    if not error:
        return plain
    freedom = added.freedom(price)
    half = t_quantile(level, freedom) * error
    return Budget(
        added.cost,
        added.crop,
        revenue,
        margin,
        _pays(margin - half, margin + half),
        margin - half,
        margin + half,
        two_sided_p_value(margin / error, freedom),
        freedom,
    )


def break_even(added: Added, level: float) -> BreakEven:
    """Return the crop price at which added revenue equals added cost.

    Its confidence set is Fieller's, from 0 up.
    """
    direction = _direction(added)
    if not added.crop:
        return BreakEven(None, direction, "unknown")
    price = added.cost / added.crop
    if not added.is_testable:
        return BreakEven(price, direction, "unknown")
    cost_variance, crop_variance, covariance = added.covariance()
    if not cost_variance and not crop_variance:
        return BreakEven(price, direction, "unknown")
    freedom = added.freedom(price)
    squared = t_quantile(level, freedom) ** 2
    # (cost - price crop)^2 <= t^2 (cost variance - 2 price covariance + price^2 crop variance)
    leading = added.crop**2 - squared * crop_variance
    middle = added.cost * added.crop - squared * covariance
    last = added.cost**2 - squared * cost_variance
    kind, low, high = _prices(leading, middle, last)
    return BreakEven(price, direction, kind, low, high, freedom)


def payback(bought: float, saving: float, low: float, high: float) -> Payback | None:
    """Return how many times a saving must come back to pay for what was bought.

    bought: what the treatment costs once, above 0; saving, low, high: what it saves each time, with
    its interval. None unless the whole interval is above 0: what may be no saving pays nothing
    back.
    """
    if low <= 0 or bought <= 0:
        return None
    return Payback(bought / saving, bought / high, bought / low)


def _squares(sample: FloatArray) -> FloatArray:
    """Return sums of squares and products of deviations, (2, 2)."""
    deviations = sample - sample.mean(axis=1, keepdims=True)
    rounding = 1e-12 * np.abs(sample).max(axis=1, keepdims=True, initial=0.0)
    deviations = np.where(np.abs(deviations) <= rounding, 0.0, deviations)
    products: FloatArray = deviations @ deviations.T
    return products


def _margin_variance(added: Added, price: float) -> float:
    cost_variance, crop_variance, covariance = added.covariance()
    return price**2 * crop_variance - 2 * price * covariance + cost_variance


def _pays(low: float, high: float) -> Pays:
    if low > 0:
        return "pays"
    if high < 0:
        return "loses"
    return "unclear"


def _direction(added: Added) -> Direction:
    """Return at which prices the estimated margin is above 0."""
    if added.crop > 0:
        return "above" if added.cost > 0 else "always"
    if added.crop < 0:
        return "below" if added.cost < 0 else "never"
    if not added.cost:
        return "none"
    return "always" if added.cost < 0 else "never"


def _prices(
    leading: float, middle: float, last: float
) -> tuple[PriceSet, float | None, float | None]:
    """Return where leading p^2 - 2 middle p + last <= 0 for prices p from 0 up."""
    discriminant = middle**2 - leading * last
    if leading > 0:
        root = sqrt(max(discriminant, 0.0))
        low, high = (middle - root) / leading, (middle + root) / leading
        if high < 0:
            return "empty", None, None
        return ("interval", low, high) if low > 0 else ("at_most", None, high)
    if discriminant <= 0 or not leading:
        return "any", None, None
    root = sqrt(discriminant)
    low, high = (middle + root) / leading, (middle - root) / leading
    if high <= 0:
        return "any", None, None
    return ("two_parts", low, high) if low >= 0 else ("at_least", high, None)
