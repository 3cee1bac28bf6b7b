"""The items of the checklist, as data: what is known of each in a trial."""

from collections.abc import Callable, Mapping
from functools import partial

from reportgen.metrics.reporting import subjects
from reportgen.metrics.reporting.known import (
    CULTIVAR,
    DESCRIPTION,
    GROWING_SYSTEM,
    OBSERVATIONS,
    Known,
    logged,
    noted,
    readings,
    typed,
    words,
)
from reportgen.metrics.validity.evidence import measured
from reportgen.model.trial import Trial

# Items that only make sense where a trial has what they are about.
NEEDS: Mapping[str, Callable[[Trial], bool]] = {
    "volumes": lambda trial: bool(trial.solution),
    "exclusions": lambda trial: bool(trial.plants),
    "instruments": lambda trial: bool(trial.instruments or measured(trial)),
    "calibration": lambda trial: bool(trial.instruments or measured(trial)),
    "accuracy": lambda trial: bool(trial.instruments or measured(trial)),
}
ITEMS: Mapping[str, Callable[[Trial], Known]] = {
    "ppfd": subjects.ppfd,
    "light_days": subjects.light_days,
    "uniformity": subjects.uniformity,
    "photoperiod": lambda trial: typed(trial, lambda one: one.photoperiod, "h"),
    "dli": subjects.dli,
    "lamp_type": lambda trial: typed(trial, lambda one: one.equipment),
    "spectrum": partial(noted, item="spectrum", where=(DESCRIPTION, OBSERVATIONS)),
    "lamp_distance": partial(noted, item="lamp_distance", where=(DESCRIPTION, OBSERVATIONS)),
    "power": subjects.power,
    "air_temperature": partial(logged, column="air_temperature", unit="°C"),
    "humidity": partial(logged, column="relative_humidity", unit="%"),
    "co2": subjects.co2,
    "air_speed": partial(noted, item="air_speed", where=(OBSERVATIONS,)),
    "solution_temperature": subjects.solution_temperature,
    "dissolved_oxygen": partial(noted, item="dissolved_oxygen", where=(OBSERVATIONS,)),
    "ec": partial(readings, value=lambda event: event.ec, unit="mS/cm"),
    "ph": partial(readings, value=lambda event: event.ph, unit=""),
    "solution_composition": lambda trial: words(trial.about.nutrient_recipe),
    "volumes": subjects.volumes,
    "container_type": lambda trial: words(trial.about.growing_system),
    "container_volume": partial(noted, item="container_volume", where=(GROWING_SYSTEM,)),
    "plants_per_container": subjects.plants_per_container,
    "spacing": subjects.spacing,
    "cultivar": lambda trial: words(trial.about.cultivar),
    "seed_source": partial(noted, item="seed_source", where=(CULTIVAR, OBSERVATIONS)),
    "sown_on": subjects.sown_on,
    "transplanted_on": subjects.transplanted_on,
    "harvested_on": subjects.harvested_on,
    "instruments": subjects.instruments,
    "calibration": subjects.calibration,
    "accuracy": subjects.accuracy,
    "experimental_unit": subjects.experimental_unit,
    "replicates": subjects.replicates,
    "blocks": subjects.blocks,
    "randomisation": subjects.randomisation,
    "exclusions": subjects.exclusions,
}
