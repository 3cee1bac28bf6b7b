"""The items of the checklist, as data, and the sheet and column where each goes."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from reportgen.metrics.fairness.surroundings import FEWEST_POINTS
from reportgen.metrics.reporting import subjects
from reportgen.metrics.reporting.known import Known, logged, noted, readings, typed
from reportgen.model.trial import Trial

# What has no column of its own is looked for in the grower's words, sentence by sentence.
SPECTRUM = r"\bspectr\w+|\bR:FR\b|\bfar[- ]red\b|\b\d{3} ?nm\b|\b\d{4} ?K\b"
LAMP_DISTANCE = r"\b\d+(?:[.,]\d+)? ?(?:mm|cm|m|in|inch|inches)\b[^.;]*\b(?:above|over|from|below|away)\b"
AIR_SPEED = r"\b\d+(?:[.,]\d+)? ?m(?:/s\b| s-1\b)|\bair (?:speed|velocity)\b"
DISSOLVED_OXYGEN = r"\bdissolved oxygen\b|\boxygen\b[^.;]*\d|\b\d+(?:[.,]\d+)? ?mg/L\b[^.;]*\boxygen\b"
CONTAINER_VOLUME = r"\b\d+(?:[.,]\d+)? ?(?:L|litres?|liters?|mL|gal|gallons?)\b"
SEED_SOURCE = r"\bseeds?\b"


@dataclass(frozen=True)
class Item:
    """An item of the checklist, and the sheet and column where it goes."""

    key: str
    label: str
    where: str
    known: Callable[[Trial], Known]


OBSERVATION = "Observations, column Observation"
DESCRIPTION = "Treatments, column Description"
ITEMS = (
    Item("ppfd", "Light at the canopy (PPFD, 400 to 700 nm)", "Light, column PPFD", subjects.ppfd),
    Item("light_days", "Days on which light was measured", "Light, column Date", subjects.light_days),
    Item(
        "uniformity",
        "Evenness of light: lowest, mean, highest, coefficient of variation",
        f"Light, column PPFD, {FEWEST_POINTS} points or more on a day",
        subjects.uniformity,
    ),
    Item(
        "photoperiod",
        "Hours of light a day",
        "Treatments, column Photoperiod",
        lambda trial: typed(trial, lambda one: one.photoperiod, " h"),
    ),
    Item("dli", "Light of a day (DLI)", "Light, column PPFD, and Treatments, column Photoperiod", subjects.dli),
    Item(
        "lamp_type",
        "Lamps and other equipment",
        "Treatments, column Equipment",
        lambda trial: typed(trial, lambda one: one.equipment),
    ),
    Item("spectrum", "Spectrum, or red to far-red ratio", DESCRIPTION, partial(noted, pattern=SPECTRUM)),
    Item("lamp_distance", "Distance of lamps to the canopy", DESCRIPTION, partial(noted, pattern=LAMP_DISTANCE)),
    Item("power", "Power of the equipment", "Treatments, column Rated power, or Loads, column Power", subjects.power),
    Item(
        "air_temperature",
        "Air temperature",
        "Climate, column Air temperature",
        partial(logged, column="air_temperature", unit=" °C"),
    ),
    Item(
        "humidity",
        "Relative humidity",
        "Climate, column Relative humidity",
        partial(logged, column="relative_humidity", unit=" %"),
    ),
    Item("co2", "CO2, or that it was not controlled", f"Climate, column CO2, or {OBSERVATION}", subjects.co2),
    Item("air_speed", "Air speed", OBSERVATION, partial(noted, pattern=AIR_SPEED)),
    Item(
        "solution_temperature",
        "Temperature of the solution",
        "Solution, column Temperature",
        subjects.solution_temperature,
    ),
    Item("dissolved_oxygen", "Dissolved oxygen", OBSERVATION, partial(noted, pattern=DISSOLVED_OXYGEN)),
    Item("ec", "EC", "Solution, column EC", partial(readings, value=lambda event: event.ec, unit=" mS/cm")),
    Item("ph", "pH", "Solution, column pH", partial(readings, value=lambda event: event.ph, unit="")),
    Item(
        "solution_composition",
        "Composition of the solution",
        "Trial, field Nutrient recipe",
        lambda trial: Known(trial.about.nutrient_recipe),
    ),
    Item(
        "volumes", "Volumes put in and taken out", "Solution, column Volume, from fill to remaining", subjects.volumes
    ),
    Item(
        "container_type",
        "Kind of container or growing system",
        "Trial, field Growing system",
        lambda trial: Known(trial.about.growing_system),
    ),
    Item(
        "container_volume",
        "Volume of a container",
        "Trial, field Growing system",
        partial(noted, pattern=CONTAINER_VOLUME, texts=lambda trial: [trial.about.growing_system]),
    ),
    Item(
        "plants_per_container", "Plants in a container", "Trays, column Plants started", subjects.plants_per_container
    ),
    Item("spacing", "Spacing", "Treatments, column Canopy area", subjects.spacing),
    Item("cultivar", "Cultivar", "Trial, field Cultivar", lambda trial: Known(trial.about.cultivar)),
    Item(
        "seed_source",
        "Source of seed",
        f"Trial, field Cultivar, or {OBSERVATION}",
        partial(noted, pattern=SEED_SOURCE),
    ),
    Item("sown_on", "Day of sowing", "Trial, field Sown on", subjects.sown_on),
    Item("transplanted_on", "Day of transplanting", OBSERVATION, subjects.transplanted_on),
    Item("harvested_on", "Day of harvest", "Trial, field Harvested on", subjects.harvested_on),
    Item(
        "instruments",
        "Instruments: what was measured with what",
        "Instruments, column Instrument",
        subjects.instruments,
    ),
    Item(
        "calibration",
        "Instruments: day of calibration",
        "Instruments, column Calibrated on",
        subjects.calibration,
    ),
    Item("accuracy", "Instruments: accuracy", "Instruments, column Accuracy", subjects.accuracy),
    Item(
        "experimental_unit",
        "Experimental unit: what the treatment was given to",
        "Trial, field Experimental unit",
        lambda trial: Known(trial.experimental_unit),
    ),
    Item("replicates", "Replicates of each treatment", "Trays, a row each", subjects.replicates),
    Item("blocks", "Blocks", "Trays, column Block, or Trial, field Layout", subjects.blocks),
    Item("randomisation", "Randomisation", "Trial, field Randomised", subjects.randomisation),
    Item(
        "exclusions",
        "Plants left out, and why",
        "Plants, a row for each lost plant, columns Status and Note",
        subjects.exclusions,
    ),
)
