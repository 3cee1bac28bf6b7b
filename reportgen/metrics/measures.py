"""The metrics, as data: each the ratio of two tray totals."""

from dataclasses import dataclass

from reportgen.metrics import totals
from reportgen.metrics.totals import Quantity
from reportgen.model.results import Measure
from reportgen.model.trial import Trial


@dataclass(frozen=True)
class Metric:
    """A ratio of two tray totals, times `factor` for its unit.

    `partner` is the key of the metric that it is the reciprocal of, whose comparison it takes by inversion.
    In `unit`, `currency` stands for the trial's own.
    """

    key: str
    label: str
    numerator: Quantity
    denominator: Quantity
    unit: str
    better: str = ""
    factor: float = 1.0
    partner: str = ""

    def measure(self, trial: Trial) -> Measure:
        """Return what the metric measures in a trial, in its currency."""
        return Measure(self.key, self.label, self.unit.replace("currency", trial.currency), self.better)


PER_THOUSAND = 1000.0  # mL in a litre, g in a kilogram: exact
PERCENT = 100.0

METRICS = (
    Metric(
        "fresh_weight",
        "Fresh weight",
        totals.fresh_weight,
        totals.plants_harvested,
        "g/plant",
        "higher",
    ),
    Metric(
        "yield_per_plant_started",
        "Yield per plant started",
        totals.fresh_weight,
        totals.plants_started,
        "g/plant",
        "higher",
    ),
    Metric("tray_yield", "Yield", totals.fresh_weight, totals.one, "g/tray", "higher"),
    Metric("survival", "Survival", totals.plants_harvested, totals.plants_started, "%", "higher", factor=PERCENT),
    Metric("water_use", "Water use", totals.water_used, totals.one, "L/tray", "lower"),
    Metric(
        "water_per_gram",
        "Water per gram",
        totals.water_used,
        totals.fresh_weight,
        "mL/g",
        "lower",
        factor=PER_THOUSAND,
    ),
    Metric(
        "yield_per_litre",
        "Yield per litre",
        totals.fresh_weight,
        totals.water_used,
        "g/L",
        "higher",
        partner="water_per_gram",
    ),
    Metric("energy_use", "Energy use", totals.energy, totals.one, "kWh/tray", "lower"),
    Metric(
        "energy_per_kg",
        "Energy per kilogram",
        totals.energy,
        totals.fresh_weight,
        "kWh/kg",
        "lower",
        factor=PER_THOUSAND,
        partner="yield_per_kwh",
    ),
    Metric("yield_per_kwh", "Yield per kilowatt-hour", totals.fresh_weight, totals.energy, "g/kWh", "higher"),
    Metric(
        "electricity_cost_per_gram",
        "Electricity cost per gram",
        totals.electricity_cost,
        totals.fresh_weight,
        "currency/g",
        "lower",
        partner="yield_per_currency",
    ),
    Metric(
        "yield_per_currency",
        "Yield per unit of electricity cost",
        totals.fresh_weight,
        totals.electricity_cost,
        "g/currency",
        "higher",
    ),
)

ENERGY_METRICS = frozenset(
    metric.key
    for metric in METRICS
    if {metric.numerator, metric.denominator} & {totals.energy, totals.electricity_cost}
)


def metrics_of(trial: Trial) -> tuple[Metric, ...]:
    """Return the metrics of a trial: the declared ones, and the mean of each further trait of its plants.

    A trait whose key is that of a declared metric gets `_trait` behind it.
    """
    taken = {metric.key for metric in METRICS}
    traits = tuple(
        Metric(
            f"{trait.key}_trait" if trait.key in taken else trait.key,
            trait.label,
            totals.trait_sum(position),
            totals.trait_count(position),
            f"{trait.unit}/plant" if trait.unit == "g" else trait.unit,
        )
        for position, trait in enumerate(trial.traits)
    )
    return METRICS[:4] + traits + METRICS[4:]
