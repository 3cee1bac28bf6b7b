"""The plants' own spread, where it is all that a trial can show; it never stands for the
treatment's.
"""

from collections import defaultdict
from statistics import stdev

from reportgen.metrics.totals import (
    is_one_plant_each,
    planted,
    plants_of_treatments,
    treatment_by_tray,
)
from reportgen.model.message import Amount, Count, Notes, Share, note
from reportgen.model.trial import Trial
from reportgen.stats.intervals import wilson


def plants_own_spread(trial: Trial, key: str) -> dict[str, Notes]:
    """Return a note on the plants' spread by treatment.

    Survival always, plants' values where one tray was kept.

    None where each tray had one plant: the interval of the trays is that of the plants.
    """
    if is_one_plant_each(trial):
        return {}
    if key == "survival":
        return _survival(trial)
    if key == "fresh_weight":
        values = _weights(trial)
    else:
        values = _trait(trial, key)
    trays = list(treatment_by_tray(trial).values())
    notes: dict[str, Notes] = {}
    for treatment, found in values.items():
        if trays.count(treatment) == 1 and len(found) > 1:
            notes[treatment] = note(
                "plants_own_spread",
                spread=Amount(stdev(found)),
                plants=Count(len(found), "plant"),
                lowest=Amount(min(found)),
                highest=Amount(max(found)),
            )
    return notes


def _survival(trial: Trial) -> dict[str, Notes]:
    unknown = {tray.treatment for tray in planted(trial) if not tray.started_known}
    started, harvested = plants_of_treatments(trial)
    notes: dict[str, Notes] = {}
    for treatment, number in started.items():
        if treatment not in unknown:
            notes[treatment] = _wilson_note(harvested[treatment], number, trial.confidence_level)
    return notes


def _wilson_note(harvested: int, started: int, level: float) -> Notes:
    low, high = wilson(harvested, started, level)
    return note(
        "plants_own_survival",
        low=Share(low),
        high=Share(high),
        level=Share(level),
        plants=Count(started, "plant"),
    )


def _by_treatment(trial: Trial, values: list[tuple[str, float | None]]) -> dict[str, list[float]]:
    treatment_of = treatment_by_tray(trial)
    found: dict[str, list[float]] = defaultdict(list)
    for tray, value in values:
        if tray in treatment_of and value is not None:
            found[treatment_of[tray]].append(value)
    return found


def _weights(trial: Trial) -> dict[str, list[float]]:
    alone = [plant for plant in trial.plants if plant.number == 1]
    return _by_treatment(trial, [(plant.tray, plant.fresh_weight) for plant in alone])


def _trait(trial: Trial, key: str) -> dict[str, list[float]]:
    keys = [trait.key for trait in trial.traits]
    if key not in keys:
        return {}
    position = keys.index(key)
    alone = [plant for plant in trial.plants if plant.number == 1]
    return _by_treatment(trial, [(plant.tray, plant.traits[position]) for plant in alone])
