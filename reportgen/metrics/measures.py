"""The metrics, as data: ratios of two tray totals, and those with one figure for a treatment."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from reportgen.metrics import (
    climate,
    cost,
    growth_rate,
    growth_shape,
    harvests,
    light,
    solution,
    totals,
)
from reportgen.metrics.basis import BASES, Basis, bases_of
from reportgen.metrics.totals import Quantity
from reportgen.model.measure_names import LAST, LAST_MEASURED
from reportgen.model.message import Notes
from reportgen.model.results import Estimate, Measure
from reportgen.model.trial import Measured, Trait, Trial
from reportgen.stats.log_scale import Denominator

NotesOf = Callable[[Trial], dict[str, Notes]]


def no_notes(trial: Trial) -> dict[str, Notes]:
    """Return no note for any treatment."""
    return {}


@dataclass(frozen=True)
class Metric:
    """A ratio of two tray totals, times `factor` for its unit.

    `divides_by` says whether the denominator is a known number, such as plants, or a measured
    quantity. In `unit`, `currency` stands for the trial's own. `measured_by` are the instruments
    whose gain scales it, one twice where both totals are read with its kind. `notes` are what there
    is to say of it, by treatment. It has no ratio between treatments where its zero is a convention
    (`is_ratio_scale`), and may be below 0 where it is `signed`. `trait` is the label of the trait that
    it is the growth rate by, `grade` that of pickings which it is the share of. A proportion counts
    plants among plants. `withheld` says why a treatment that was measured has no figure.
    """

    key: str
    label: str
    numerator: Quantity
    denominator: Quantity
    unit: str
    better: str = ""
    factor: float = 1.0
    divides_by: Denominator = Denominator.MEASURED
    measured_by: tuple[Measured, ...] = ()
    notes: NotesOf = no_notes
    is_ratio_scale: bool = True
    signed: bool = False
    is_proportion: bool = False
    trait: str = ""
    grade: str = ""
    withheld: NotesOf = no_notes

    def measure(self, trial: Trial) -> Measure:
        """Return what the metric measures in a trial, in its currency."""
        unit = self.unit.replace("currency", trial.currency)
        return Measure(self.key, self.label, unit, self.better, self.trait, self.grade)


@dataclass(frozen=True)
class TreatmentMetric:
    """A metric with one figure for a treatment, which no trays stand behind, so nothing tells how
    sure it is.

    `figures` gives the figures by treatment, `uncompared` says why a treatment's is not compared.
    The rest is as for `Metric`.
    """

    key: str
    label: str
    figures: Callable[[Trial], dict[str, Estimate]]
    unit: str
    better: str = ""
    measured_by: tuple[Measured, ...] = ()
    uncompared: NotesOf = no_notes
    is_ratio_scale: bool = True

    def measure(self, trial: Trial) -> Measure:
        """Return what the metric measures."""
        return Measure(self.key, self.label, self.unit, self.better)


PER_THOUSAND = 1000.0  # mL in a litre, g in a kilogram: exact
PERCENT = 100.0

FRESH_WEIGHT = Metric(
    "fresh_weight",
    "Fresh weight",
    totals.fresh_weight_of_plants,
    totals.plants_harvested,
    "g/plant",
    "higher",
    measured_by=("weight",),
    divides_by=Denominator.FIXED,
)
SURVIVAL = Metric(
    "survival",
    "Survival",
    totals.plants_harvested,
    totals.plants_started,
    "%",
    "higher",
    factor=PERCENT,
    is_proportion=True,
)

DRY_MATTER = Metric(
    "dry_matter",
    "Dry matter",
    totals.dry_weight,
    totals.fresh_weight_of_dried,
    "%",
    factor=PERCENT,
    measured_by=("weight", "weight"),
)
WATER_USE = Metric(
    "water_use",
    "Water use",
    totals.water_used,
    totals.one,
    "L/tray",
    "lower",
    measured_by=("volume",),
    divides_by=Denominator.FIXED,
)
ENERGY_USE = Metric(
    "energy_use",
    "Energy use",
    totals.energy,
    totals.one,
    "kWh/tray",
    "lower",
    measured_by=("energy",),
    divides_by=Denominator.FIXED,
)
HARVEST_METRICS = (  # of crops that are picked more than once
    Metric(
        "marketable_yield",
        "Marketable yield",
        harvests.marketable_weight,
        totals.one,
        "g/tray",
        "higher",
        measured_by=("weight",),
        divides_by=Denominator.FIXED,
    ),
    Metric(
        "cull_share",
        "Share of culls",
        harvests.culls,
        harvests.picked,
        "%",
        "lower",
        factor=PERCENT,
    ),
    Metric(
        "pieces",
        "Pieces picked",
        harvests.pieces,
        totals.one,
        "pieces/tray",
        "higher",
        divides_by=Denominator.FIXED,
    ),
    Metric(
        "weight_per_piece",
        "Weight per piece",
        harvests.weight_of_counted,
        harvests.pieces_of_weighed,
        "g/piece",
        measured_by=("weight",),
    ),
    Metric(
        "days_to_first_harvest",
        "Days from the start to the first picking",
        harvests.days_to_first_picking,
        totals.one,
        "d",
        "lower",
        divides_by=Denominator.FIXED,
        notes=harvests.notes_of_first_picking,
        is_ratio_scale=False,
    ),
    Metric(
        "yield_per_week",
        "Yield per week of picking",
        harvests.weight_picked,
        harvests.weeks_of_picking,
        "g/tray/week",
        "higher",
        measured_by=("weight",),
        divides_by=Denominator.FIXED,
    ),
)

SOLUTION_METRICS = (
    Metric(
        "transpiration",
        "Transpiration",
        solution.transpiration,
        totals.one,
        "L/tray",
        measured_by=("volume",),
        notes=solution.notes_of_transpiration,
        signed=True,
        divides_by=Denominator.FIXED,
    ),
    Metric(
        "ec",
        "EC of the solution",
        solution.ec,
        totals.one,
        "mS/cm",
        measured_by=("EC",),
        notes=solution.notes_of_readings(solution.ec),
        divides_by=Denominator.FIXED,
    ),
    Metric(
        "ph",
        "pH of the solution",
        solution.ph,
        totals.one,
        "",
        measured_by=("pH",),
        notes=solution.notes_of_readings(solution.ph, solution.ARITHMETIC_PH),
        is_ratio_scale=False,
        divides_by=Denominator.FIXED,
    ),
    Metric(
        "solution_temperature",
        "Temperature of the solution",
        solution.temperature,
        totals.one,
        "°C",
        notes=solution.notes_of_readings(solution.temperature),
        is_ratio_scale=False,
        signed=True,
        divides_by=Denominator.FIXED,
    ),
)


def _crop_on(basis: Basis) -> tuple[Metric, ...]:
    """Return the metrics of the crop itself on one basis."""
    return (
        Metric(
            f"yield_per_plant_started{basis.suffix}",
            f"{basis.crop} per plant started",
            basis.total,
            totals.plants_started,
            f"{basis.gram}/plant",
            "higher",
            measured_by=("weight",),
            divides_by=Denominator.FIXED,
        ),
        Metric(
            f"tray_yield{basis.suffix}",
            basis.crop,
            basis.total,
            totals.one,
            f"{basis.gram}/tray",
            "higher",
            divides_by=Denominator.FIXED,
            measured_by=("weight",),
        ),
    )


def _water_on(basis: Basis) -> tuple[Metric, ...]:
    """Return the metrics of water and crop on one basis."""
    return (
        Metric(
            f"water_per_gram{basis.suffix}",
            f"Water per gram of {basis.weight}",
            totals.water_used,
            basis.total,
            f"mL/{basis.gram}",
            "lower",
            factor=PER_THOUSAND,
            measured_by=("volume", "weight"),
        ),
        Metric(
            f"yield_per_litre{basis.suffix}",
            f"{basis.weight.capitalize()} per litre",
            basis.total,
            totals.water_used,
            f"{basis.gram}/L",
            "higher",
            measured_by=("weight", "volume"),
        ),
    )


def _energy_on(basis: Basis) -> tuple[Metric, ...]:
    """Return the metrics of energy, what it cost, and crop on one basis."""
    return (
        Metric(
            f"energy_per_kg{basis.suffix}",
            f"Energy per kilogram of {basis.weight}",
            totals.energy,
            basis.total,
            f"kWh/k{basis.gram}",
            "lower",
            factor=PER_THOUSAND,
            measured_by=("energy", "weight"),
        ),
        Metric(
            f"yield_per_kwh{basis.suffix}",
            f"{basis.weight.capitalize()} per kilowatt-hour",
            basis.total,
            totals.energy,
            f"{basis.gram}/kWh",
            "higher",
            measured_by=("weight", "energy"),
        ),
        Metric(
            f"electricity_cost_per_gram{basis.suffix}",
            f"Electricity cost per gram of {basis.weight}",
            totals.electricity_cost,
            basis.total,
            f"currency/{basis.gram}",
            "lower",
            measured_by=("energy", "weight"),
        ),
        Metric(
            f"yield_per_currency{basis.suffix}",
            f"{basis.weight.capitalize()} per unit of electricity cost",
            basis.total,
            totals.electricity_cost,
            f"{basis.gram}/currency",
            "higher",
            measured_by=("weight", "energy"),
        ),
        Metric(
            f"running_cost_per_gram{basis.suffix}",
            f"Running cost per gram of {basis.weight}",
            cost.running_cost,
            basis.total,
            f"currency/{basis.gram}",
            "lower",
            measured_by=("energy", "volume", "weight"),
            notes=cost.notes_of_running_cost,
        ),
    )


def _light_on(basis: Basis) -> tuple[Metric, ...]:
    """Return the metrics of light and crop on one basis."""
    return (
        Metric(
            f"yield_per_mol{basis.suffix}",
            f"{basis.weight.capitalize()} per mole of photons",
            basis.total,
            light.photons,
            f"{basis.gram}/mol",
            "higher",
            measured_by=("weight", "light"),
            notes=light.notes_of_photons,
        ),
    )


def _plants_on(*bases: Basis) -> tuple[Metric, ...]:
    """Return the metrics of plants, those of their crop on each basis that is a crop of its own."""
    crop: list[Metric] = []
    for basis in bases:
        if basis.crop:
            crop.extend(_crop_on(basis))
    return (FRESH_WEIGHT, *crop, SURVIVAL)


def _resources_on(*bases: Basis) -> tuple[Metric, ...]:
    """Return the metrics of what the crop took, those per weight on each basis."""
    water: list[Metric] = []
    energy: list[Metric] = []
    by_light: list[Metric] = []
    for basis in bases:
        water.extend(_water_on(basis))
        energy.extend(_energy_on(basis))
        by_light.extend(_light_on(basis))
    return (DRY_MATTER, WATER_USE, *water, ENERGY_USE, *energy, *by_light, *SOLUTION_METRICS)


METRICS: tuple[Metric, ...] = (*_plants_on(*BASES), *HARVEST_METRICS, *_resources_on(*BASES))

TREATMENT_METRICS = (
    TreatmentMetric("ppfd", "PPFD", light.ppfd, "µmol/m2/s", measured_by=("light",)),
    TreatmentMetric("ppfd_uniformity", "Uniformity of PPFD", light.uniformity, "", "higher"),
    TreatmentMetric("dli", "Daily light integral", light.dli, "mol/m2/d", measured_by=("light",)),
    TreatmentMetric(
        "photons",
        "Photons on the canopy",
        light.photons_of_treatments,
        "mol/tray",
        measured_by=("light",),
    ),
    TreatmentMetric(
        "canopy_efficacy",
        "Canopy efficacy",
        light.canopy_efficacy,
        "µmol/J",
        "higher",
        measured_by=("light", "energy"),
    ),
    TreatmentMetric(
        "evaporation", "Evaporation", solution.evaporation, "L/tray", measured_by=("volume",)
    ),
    TreatmentMetric(
        "air_temperature",
        "Air temperature",
        partial(climate.means, quantity=climate.air_temperature),
        "°C",
        measured_by=("air temperature",),
        uncompared=partial(climate.shared, quantity=climate.air_temperature),
        is_ratio_scale=False,
    ),
    TreatmentMetric(
        "relative_humidity",
        "Relative humidity",
        partial(climate.means, quantity=climate.relative_humidity),
        "%",
        measured_by=("humidity",),
        uncompared=partial(climate.shared, quantity=climate.relative_humidity),
    ),
    TreatmentMetric(
        "vpd",
        "Vapour pressure deficit",
        partial(climate.means, quantity=climate.deficit),
        "kPa",
        measured_by=("air temperature", "humidity"),
        uncompared=partial(climate.shared, quantity=climate.deficit),
    ),
    TreatmentMetric(
        "co2",
        "CO2 in the air",
        partial(climate.means, quantity=climate.co2),
        "ppm",
        uncompared=partial(climate.shared, quantity=climate.co2),
    ),
    TreatmentMetric(
        "solution_temperature_logged",
        "Logged temperature of the solution",
        partial(climate.means, quantity=climate.solution_temperature),
        "°C",
        uncompared=partial(climate.shared, quantity=climate.solution_temperature),
        is_ratio_scale=False,
    ),
)

ENERGY_METRICS = frozenset(
    metric.key
    for metric in METRICS
    if {metric.numerator, metric.denominator}
    & {totals.energy, totals.electricity_cost, cost.running_cost}
)
GRADE_SHARE = "grade_share"
GROWTH_RATE = "relative_growth_rate"
RATIOS_OF_TOTALS = frozenset(
    metric.key for metric in METRICS if metric.divides_by is Denominator.MEASURED
)
DECLARED = frozenset(
    {metric.key for metric in METRICS} | {metric.key for metric in TREATMENT_METRICS}
)


def is_ratio_of_totals(measure: Measure) -> bool:
    """Return whether a measure is divided by a measured quantity, such as water per gram."""
    return measure.key in RATIOS_OF_TOTALS or bool(measure.grade)


def metrics_of(trial: Trial) -> tuple[Metric, ...]:
    """Return the metrics of a trial.

    The declared ones, and those of further traits, growth traits and own grades.

    Figures per weight rest on the weights that the trial has (`bases_of`). Scores have no mean and
    no rate, so they are not among them.
    """
    of_traits: list[Metric] = []
    for position, trait in quantities(trial.traits):
        of_traits.append(_of_trait(trait, position))
    traits = tuple(of_traits)
    graded = []
    for position, grade in enumerate(harvests.own_grades(trial), 1):
        graded.append(_of_grade(grade, position))
    grades = tuple(graded)
    bases = bases_of(trial)
    crop = (*_plants_on(*bases), *HARVEST_METRICS, *grades)
    return (*crop, *traits, *_of_growth_traits(trial), *_resources_on(*bases))


def metrics_by_key(trial: Trial) -> dict[str, Metric]:
    """Return the metrics of a trial by their keys."""
    return {metric.key: metric for metric in metrics_of(trial)}


def _of_growth_traits(trial: Trial) -> tuple[Metric, ...]:
    """Return last values of growth traits without harvest values, then growth rates."""
    growing = quantities(trial.growth_traits)
    harvested = _measured_at_harvest(trial)
    last: list[Metric] = []
    for position, trait in growing:
        if trait.key not in harvested:
            last.append(last_of(trait, position))
    rates = []
    for position, trait in growing:
        rates.append(_of_growth(trait, position, growth_rate_key(trial, trait)))
    return (*last, *rates)


def _measured_at_harvest(trial: Trial) -> set[str]:
    """Return the keys of the traits that some plant has a value of.

    A column may stand ready and stay empty.
    """
    measured: set[str] = set()
    for position, trait in enumerate(trial.traits):
        if any(plant.traits[position] is not None for plant in trial.plants):
            measured.add(trait.key)
    return measured


def growth_rate_key(trial: Trial, trait: Trait) -> str:
    """Return the key of the relative growth rate by a growth trait.

    The first that is no score has the plain key.
    """
    first = next(trait for trait in trial.growth_traits if not trait.is_score)
    if trait == first:
        return GROWTH_RATE
    return f"{GROWTH_RATE}_{trait.key}"


def _of_grade(grade: str, position: int) -> Metric:
    """Return the share of one grade in what was picked.

    Grades have no keys of their own, so they are numbered.
    """
    return Metric(
        f"{GRADE_SHARE}_{position}",
        "Share of a grade",
        harvests.of_grade(grade),
        harvests.picked,
        "%",
        factor=PERCENT,
        grade=grade,
    )


def quantities(traits: Sequence[Trait]) -> list[tuple[int, Trait]]:
    """Return the traits that are no scores, each with its position."""
    measured: list[tuple[int, Trait]] = []
    for position, trait in enumerate(traits):
        if not trait.is_score:
            measured.append((position, trait))
    return measured


def trait_measure_key(trait: Trait) -> str:
    """Return the key of the measure of a trait.

    One whose key is that of a declared metric gets `_trait` behind it.
    """
    if trait.key in {*DECLARED, GROWTH_RATE}:
        return f"{trait.key}_trait"
    return trait.key


def _of_trait(trait: Trait, position: int) -> Metric:
    is_weight = trait.unit == "g"
    return Metric(
        trait_measure_key(trait),
        trait.label,
        totals.trait_sum(position),
        totals.trait_count(position),
        f"{trait.unit}/plant" if is_weight else trait.unit,
        divides_by=Denominator.FIXED,
        measured_by=("weight",) if is_weight else (),
    )


def last_of(trait: Trait, position: int) -> Metric:
    """Return the last measured mean of a growth trait that the harvest does not give."""
    return Metric(
        f"{LAST}_{trait.key}",
        LAST_MEASURED,
        growth_rate.last_measured(position),
        totals.one,
        trait.unit,
        divides_by=Denominator.FIXED,
        measured_by=("weight",) if trait.unit == "g" else (),
        trait=trait.label,
    )


def _of_growth(trait: Trait, position: int, key: str) -> Metric:
    """Return the relative growth rate by a growth trait, of the treatments that one rate describes."""
    return Metric(
        key,
        "Relative growth rate",
        growth_shape.single_rate(position),
        totals.one,
        "1/d",
        divides_by=Denominator.FIXED,
        signed=True,
        trait=trait.label,
        notes=growth_shape.rested_on(position),
        withheld=growth_shape.withheld(position),
    )
