"""A checked trial in one set of units: grams, litres, kilowatt-hours, metres, hours."""

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING, Literal

from reportgen.model.data import DataTable, ReadBack, Traced
from reportgen.model.problem import Problem

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

ExperimentalUnit = Literal["tray", "plant"]
Variances = Literal["separate", "pooled"]
System = Literal["metric", "us"]
PlantStatus = Literal["growing", "harvested", "dead", "removed"]
Measured = Literal["weight", "volume", "energy", "light", "air temperature", "humidity", "EC", "pH"]
SolutionEventKind = Literal["fill", "top-up", "sample", "drain", "remaining", "used"]


Varied = Literal[
    "light",
    "nutrient strength",
    "temperature",
    "water",
    "growing medium",
    "variety",
    "spacing",
    "other",
]


@dataclass(frozen=True)
class ProducePrice:
    """What the crop sells for, in the trial's currency, by the kilogram or by the piece."""

    amount: float
    per: Literal["kg", "piece"]


@dataclass(frozen=True)
class About:
    """What a trial says of itself. Texts that were not given are empty."""

    title: str
    crop: str
    question: str = ""
    cultivar: str = ""
    growing_system: str = ""
    author: str = ""
    organisation: str = ""
    contact: str = ""
    location: str = ""
    layout: str = ""
    randomised: bool | None = None
    nutrient_recipe: str = ""
    disclosure: str = ""
    licence: str = ""
    comparison: str = ""
    keywords: tuple[str, ...] = ()
    summary: str = ""
    conclusion: str = ""
    language: str = "en"


@dataclass(frozen=True)
class Treatment:
    """One of the things compared. Canopy area in m2 of one tray, power in W, efficacy in µmol/J.

    `lights_on_at` is when the photoperiod begins, in hours since midnight. `independent_units` is
    how many lamps, tanks or tents the treatment had, None where that is not recorded.
    `light_height` is the height in use, in cm, of those at which light was read. `levels` are those
    of the trial's factors, in their order.
    """

    code: str
    name: str
    description: str = ""
    photoperiod: float | None = None
    canopy_area: float | None = None
    rated_power: float | None = None
    rated_efficacy: float | None = None
    equipment: str = ""
    lights_on_at: float | None = None
    independent_units: int | None = None
    light_height: float | None = None
    levels: tuple[str, ...] = ()


@dataclass(frozen=True)
class Factor:
    """One of the things varied: its levels as readers see them, without the unit.

    `varied` is its name as a word of What was varied, None where it is another.

    `doses` are the levels as numbers in `unit`, smallest first; empty where levels are words.
    Levels that are words stand in the order of the workbook.
    """

    name: str
    levels: tuple[str, ...]
    unit: str = ""
    doses: tuple[float, ...] = ()
    varied: Varied | None = None


@dataclass(frozen=True)
class Tray:
    """One experimental unit; `plants_started` is 0 for an evaporation control without plants.

    Where it is not known how many were started (`started_known`), `plants_started` counts those
    written down. `main_plot` is the tent, bench or bed that was given one factor as a whole, empty
    where there is none.
    """

    code: str
    treatment: str
    plants_started: int
    block: str = ""
    position: str = ""
    main_plot: str = ""
    harvested_on: date | None = None
    note: str = ""
    started_known: bool = True

    @property
    def is_planted(self) -> bool:
        """Return whether plants stand in it: a control without plants was started with none."""
        return self.plants_started > 0 or not self.started_known


WEIGHTS = ("dry_weight", "root_weight")  # keys of the traits that are weights


@dataclass(frozen=True)
class Trait:
    """What was measured on plants beside fresh weight: `key` in snake_case, `unit` as printed.

    `scale` names the classes of a score, lowest first. Values of a score are positions on it, from
    0 on; they have an order and no distances, so no mean is made of them. It is empty for a
    quantity.
    """

    key: str
    label: str
    unit: str
    scale: tuple[str, ...] = ()

    @property
    def is_score(self) -> bool:
        """Return whether values are classes of a scale."""
        return bool(self.scale)

    @property
    def is_total(self) -> bool:
        """Return whether plants that were weighed together have the sum of their values.

        Else it is their mean.
        """
        return self.key in WEIGHTS


@dataclass(frozen=True)
class Plant:
    """One plant at harvest, fresh weight in g.

    The weight is None for a lost plant; `traits` stand in the order of `Trial.traits`.

    `number` plants were weighed together where it is above 1: their weights are totals, other
    traits means. In an unfinished trial a plant that is not harvested yet is `growing`.
    `start_weight` is that of one plant when treatments began, g.
    """

    tray: str
    code: str
    status: PlantStatus
    fresh_weight: float | None
    traits: tuple[float | None, ...] = ()
    note: str = ""
    number: int = 1
    start_weight: float | None = None

    @property
    def mean_weight(self) -> float | None:
        """Return the fresh weight of one plant, the mean of those that were weighed together, g."""
        if self.fresh_weight is None:
            return None
        return self.fresh_weight / self.number


@dataclass(frozen=True)
class Picking:
    """What was picked from a tray on one day: fresh weight in g and pieces.

    None where not measured.

    `plant` is empty where the picking is the whole tray's. `grade` is the grower's word for it,
    empty where none was given; `is_cull` says that it cannot be sold.
    """

    tray: str
    on: date
    weight: float | None
    pieces: int | None = None
    plant: str = ""
    grade: str = ""
    is_cull: bool = False
    note: str = ""


@dataclass(frozen=True)
class SolutionEvent:
    """Nutrient solution put into or taken out of a tray.

    Volume in L, EC in mS/cm, temperature in °C.
    """

    tray: str
    on: date
    kind: SolutionEventKind
    volume: float
    ec: float | None = None
    ph: float | None = None
    temperature: float | None = None
    note: str = ""


@dataclass(frozen=True)
class MeterReading:
    """A cumulative counter of electrical energy in kWh.

    `treatment` is None where all treatments share it.
    """

    meter: str
    treatment: str | None
    at: datetime
    reading: float
    reset: bool = False
    note: str = ""


@dataclass(frozen=True)
class GrowthMeasurement:
    """A living plant measured on a day, a whole tray where `plant` is empty.

    `values` stand in the order of `Trial.growth_traits`.
    """

    tray: str
    plant: str
    on: date
    values: tuple[float | None, ...]


@dataclass(frozen=True)
class Load:
    """Devices of a treatment without a meter.

    Power in W, hours on a day, days in use (None: those of the trial).
    """

    treatment: str
    device: str
    power: float
    hours_per_day: float
    days: float | None = None


@dataclass(frozen=True)
class LightReading:
    """PPFD in µmol/m2/s at a point of the canopy, its place and height in cm.

    `tray` where it is one tray's place.
    """

    treatment: str
    ppfd: float
    on: date | None = None
    x: float | None = None
    y: float | None = None
    height: float | None = None
    tray: str = ""


@dataclass(frozen=True, eq=False)
class ClimateLog:
    """Readings of the climate as read-only arrays (n,) in file order, NaN where there is none.

    `treatments` are their codes, None where all share the air; `at` is datetime64[s]. Temperatures
    in °C, relative humidity in %, CO2 in ppm.
    """

    treatments: tuple[str | None, ...]
    at: "NDArray[np.datetime64]"
    air_temperature: "NDArray[np.float64]"
    relative_humidity: "NDArray[np.float64]"
    co2: "NDArray[np.float64]"
    solution_temperature: "NDArray[np.float64]"


@dataclass(frozen=True)
class TariffPeriod:
    """A price per kWh that holds from `start` to `end`, hours since midnight.

    Over midnight where `end` is smaller.
    """

    start: float
    end: float
    price: float


@dataclass(frozen=True)
class Cost:
    """What was paid, in the trial's currency, for one treatment or (None) for all.

    Life and use in h.
    """

    item: str
    treatment: str | None
    cost: float
    life: float | None = None
    hours_used: float | None = None


@dataclass(frozen=True)
class Instrument:
    """What was measured with what.

    Resolution in the unit that the quantity is kept in, accuracy +- in %.
    """

    name: str
    measures: Measured
    model: str = ""
    resolution: float | None = None
    accuracy: float | None = None
    calibrated_on: date | None = None
    per_treatment: bool = False


@dataclass(frozen=True)
class LightSurvey:
    """What a workbook tells of light before a trial is run.

    Treatments in the workbook's order, readings, sensors.

    `reference` is the code of the reference treatment, empty where none is named yet; `findings`
    are the problems of the sheets that were read.
    """

    treatments: tuple[Treatment, ...]
    light: tuple[LightReading, ...]
    instruments: tuple[Instrument, ...] = ()
    reference: str = ""
    findings: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class Observation:
    """What was seen on a day; `photo` is a file name beside the workbook, `photo_description` its
    text alternative.
    """

    on: date
    text: str
    treatment: str = ""
    tray: str = ""
    photo: str = ""
    photo_description: str = ""


@dataclass(frozen=True)
class PhotoFile:
    """A photo beside the workbook, and what the web may show of it.

    `name` is what the workbook calls it, `sha256` that of the file, empty where there was none to
    read. `content` is a JPEG of `width` x `height` px, upright, in sRGB, without metadata; `key`
    names it by its content. Both are empty where the file cannot be shown.
    """

    name: str
    sha256: str
    key: str = ""
    content: bytes = field(default=b"", repr=False)
    width: int = 0
    height: int = 0


@dataclass(frozen=True)
class ToCome:
    """What an unfinished trial still lacks on a sheet of its workbook: how many values of a column."""

    sheet: str
    column: str
    number: int


@dataclass(frozen=True)
class Trial:
    """Everything a workbook tells of one trial.

    Prices are in `currency` per kWh and per L. `confidence_level` is a fraction. `variances` is
    None where the workbook leaves the choice to the design (pooled with blocks, separate without).
    `slug` names the trial in addresses; `varied` says what treatments were meant to differ in;
    `main_measure` is the key of the measure that the trial was run for, empty where none was named;
    `margin` is the relative difference that matters, 0.1 for a tenth; `findings` are the problems
    of its workbook that do not stop the report; `data` holds what was recorded, sheet by sheet;
    `photos` are those that observations name, each once; `traces` tell where each quantity stood in
    a spreadsheet of its owner's own layout. Where any of `pickings` has a weight, plants have none.

    An `interim` trial is unfinished: `as_of` is the day of its last record, which `harvested_on` is
    not after, and `to_come` says what it lacks. A finished trial has neither. `typed_in` is the
    system of units that the workbook was typed in; every value here is metric. The currency
    `is_currency_assumed` where there is money and nothing names one.
    """

    slug: str
    source_sha256: str
    about: About
    started_on: date
    harvested_on: date
    reference: str
    treatments: tuple[Treatment, ...]
    trays: tuple[Tray, ...]
    plants: tuple[Plant, ...]
    sown_on: date | None = None
    experimental_unit: ExperimentalUnit = "tray"
    variances: Variances | None = None
    confidence_level: float = 0.95
    currency: str = "USD"
    electricity_price: float | None = None
    water_price: float | None = None
    varied: Varied | None = None
    main_measure: str = ""
    margin: float | None = None
    produce_price: ProducePrice | None = None
    traits: tuple[Trait, ...] = ()
    pickings: tuple[Picking, ...] = ()
    factors: tuple[Factor, ...] = ()
    solution: tuple[SolutionEvent, ...] = ()
    meter: tuple[MeterReading, ...] = ()
    growth_traits: tuple[Trait, ...] = ()
    growth: tuple[GrowthMeasurement, ...] = ()
    loads: tuple[Load, ...] = ()
    light: tuple[LightReading, ...] = ()
    climate: ClimateLog | None = None
    tariff: tuple[TariffPeriod, ...] = ()
    costs: tuple[Cost, ...] = ()
    instruments: tuple[Instrument, ...] = ()
    observations: tuple[Observation, ...] = ()
    photos: tuple[PhotoFile, ...] = ()
    findings: tuple[Problem, ...] = ()
    data: tuple[DataTable, ...] = ()
    traces: tuple[Traced, ...] = ()
    read_back: ReadBack | None = None
    interim: bool = False
    as_of: date | None = None
    to_come: tuple[ToCome, ...] = ()
    typed_in: System = "metric"
    is_currency_assumed: bool = False

    @property
    def treatment_codes(self) -> list[str]:
        """Return the codes of the treatments, in their order."""
        return [treatment.code for treatment in self.treatments]

    @property
    def varied_on_purpose(self) -> frozenset[str]:
        """Return what treatments were meant to differ in, and the names of the factors."""
        named = {factor.varied for factor in self.factors} | {self.varied}
        return frozenset(word for word in named if word)

    @property
    def unit(self) -> str:
        """Return what a row of `trays` is.

        A tray, or a pot where the plant is the experimental unit.
        """
        if self.experimental_unit == "plant":
            return "pot"
        return "tray"
