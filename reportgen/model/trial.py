"""A checked trial in one set of units: grams, litres, kilowatt-hours, metres, hours."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from reportgen.model.problem import Problem

ExperimentalUnit = Literal["tray", "plant"]
Variances = Literal["separate", "pooled"]
PlantStatus = Literal["harvested", "dead", "removed"]
SolutionEventKind = Literal["fill", "top-up", "sample", "drain", "remaining"]


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
    keywords: tuple[str, ...] = ()
    summary: str = ""
    conclusion: str = ""
    language: str = "en"


@dataclass(frozen=True)
class Treatment:
    """One of the things compared. Canopy area in m2 of one tray, power in W, efficacy in µmol/J."""

    code: str
    name: str
    description: str = ""
    photoperiod: float | None = None
    canopy_area: float | None = None
    rated_power: float | None = None
    rated_efficacy: float | None = None
    equipment: str = ""


@dataclass(frozen=True)
class Tray:
    """One experimental unit; `plants_started` is 0 for an evaporation control without plants."""

    code: str
    treatment: str
    plants_started: int
    block: str = ""
    position: str = ""
    harvested_on: date | None = None
    note: str = ""


@dataclass(frozen=True)
class Trait:
    """A quantity measured on plants beside fresh weight: `key` in snake_case, `unit` as printed."""

    key: str
    label: str
    unit: str


@dataclass(frozen=True)
class Plant:
    """One plant at harvest: fresh weight in g (none for a lost plant), `traits` in the order of `Trial.traits`."""

    tray: str
    code: str
    status: PlantStatus
    fresh_weight: float | None
    traits: tuple[float | None, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class SolutionEvent:
    """Nutrient solution put into or taken out of a tray: volume in L, EC in mS/cm, temperature in °C."""

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
    """A cumulative counter of electrical energy in kWh; `treatment` is None where all treatments share it."""

    meter: str
    treatment: str | None
    at: datetime
    reading: float
    reset: bool = False
    note: str = ""


@dataclass(frozen=True)
class Trial:
    """Everything a workbook tells of one trial.

    Prices are in `currency` per kWh and per L. `confidence_level` is a fraction. `variances` is None where the
    workbook leaves the choice to the design (pooled with blocks, separate without). `slug` names the trial in
    addresses; `findings` are the problems of its workbook that do not stop the report.
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
    traits: tuple[Trait, ...] = ()
    solution: tuple[SolutionEvent, ...] = ()
    meter: tuple[MeterReading, ...] = ()
    findings: tuple[Problem, ...] = ()

    @property
    def unit(self) -> str:
        """Return what a row of `trays` is: a tray, or a pot where the plant is the experimental unit."""
        return "pot" if self.experimental_unit == "plant" else "tray"
