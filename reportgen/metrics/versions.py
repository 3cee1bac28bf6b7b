"""Two workbooks of one trial: saved twice, copied, or one with a weight corrected."""

from collections import Counter
from collections.abc import Mapping
from datetime import date
from pathlib import PurePath
from typing import Final

from reportgen.model.results import TrialIdentity
from reportgen.model.trial import Trial

MOSTLY: Final = (
    0.5  # agreement of weights beyond chance, from which two workbooks hold the same plants
)
FEWEST_WEIGHTS: Final = 6  # fewer weights may agree by chance


def identity_of(trial: Trial) -> TrialIdentity:
    """Return what tells a trial from another."""
    return TrialIdentity(
        trial.about.title,
        trial.started_on.isoformat(),
        "" if trial.interim else trial.harvested_on.isoformat(),
        tuple((tray.code, tray.treatment) for tray in trial.trays),
        _values(trial),
        _last_record(trial).isoformat(),
    )


def _values(trial: Trial) -> tuple[tuple[str, str, float], ...]:
    """Return tray, plant and value of what plants are compared by; a picking goes by its plant, day
    and grade.
    """
    from reportgen.metrics.plant_measure import plant_measure  # loads statistics

    measure = plant_measure(trial)
    found: list[tuple[str, str, float | None]] = []
    if measure:
        found += [(plant.tray, plant.code, measure.value(plant)) for plant in trial.plants]
    for picking in trial.pickings:
        name = f"{picking.plant} {picking.on.isoformat()} {picking.grade}".strip()
        found.append((picking.tray, name, picking.weight))
    return tuple((tray, code, value) for tray, code, value in found if value is not None)


def _last_record(trial: Trial) -> date:
    """Return the last day on which something was recorded, that of the start where nothing was."""
    days = [trial.started_on]
    days += [event.on for event in trial.solution]
    days += [measurement.on for measurement in trial.growth]
    days += [picking.on for picking in trial.pickings]
    days += [observation.on for observation in trial.observations]
    days += [reading.at.date() for reading in trial.meter]
    days += [reading.on for reading in trial.light if reading.on]
    days += [tray.harvested_on for tray in trial.trays if tray.harvested_on]
    if any(plant.status == "harvested" for plant in trial.plants):
        days.append(trial.harvested_on)
    return max(days)


def later_versions(identities: Mapping[str, TrialIdentity]) -> Mapping[str, str]:
    """Return the workbooks that are later versions of a trial, each with the name of the earliest.

    identities: by the path of the workbook. The later version is the one with the later last
    record; of versions with the same one that whose name comes later.
    """
    ordered = sorted(
        identities, key=lambda path: (identities[path].last_record, *_name_order(path))
    )
    earliest: list[str] = []
    later: dict[str, str] = {}
    for path in ordered:
        first = next(
            (other for other in earliest if same_trial(identities[other], identities[path])), None
        )
        if first is None:
            earliest.append(path)
        else:
            later[path] = first
    return later


def _name_order(path: str) -> tuple[str, str]:
    """Return what names are ordered by: without the ending, so that `trial` comes before `trial
    (copy)`.
    """
    return PurePath(path).stem.casefold(), path


def same_trial(first: TrialIdentity, second: TrialIdentity) -> bool:
    """Tell whether two workbooks are versions of one trial.

    They are where title, dates and trays are the same, and where most of their weights are: plant
    by plant, or row by row where trays or plants were given other names.
    """
    return _same_frame(first, second) or _mostly_same_weights(first, second)


def _same_frame(first: TrialIdentity, second: TrialIdentity) -> bool:
    """Tell whether title, dates and trays are the same; a harvest that is to come may be on any
    day.
    """
    harvests = {first.harvested_on, second.harvested_on}
    return _frame(first) == _frame(second) and (len(harvests) == 1 or "" in harvests)


def _frame(identity: TrialIdentity) -> tuple[str, str, frozenset[tuple[str, str]]]:
    trays = frozenset((_folded(code), _folded(treatment)) for code, treatment in identity.trays)
    return _folded(identity.title), identity.started_on, trays


def _mostly_same_weights(first: TrialIdentity, second: TrialIdentity) -> bool:
    by_row = [(one[2], other[2]) for one, other in zip(first.weights, second.weights, strict=False)]
    of_second = _by_plant(second)
    by_plant = [
        (weight, of_second[plant])
        for plant, weight in _by_plant(first).items()
        if plant in of_second
    ]
    larger = max(len(first.weights), len(second.weights))
    enough = max(FEWEST_WEIGHTS, MOSTLY * larger)
    return any(len(pairs) >= enough and agreement(pairs) > MOSTLY for pairs in (by_row, by_plant))


def _by_plant(identity: TrialIdentity) -> dict[tuple[str, str], float]:
    return {(_folded(tray), _folded(plant)): weight for tray, plant, weight in identity.weights}


def agreement(pairs: list[tuple[float, float]]) -> float:
    """Return the share of pairs that are equal, beyond those that chance alone would make equal.

    Kappa: Cohen (1960), Educ. Psychol. Meas. 20:37-46. 0 where both sides hold one and the same
    figure throughout.
    """
    number = len(pairs)
    equal = sum(one == other for one, other in pairs) / number
    first, second = Counter(one for one, _ in pairs), Counter(other for _, other in pairs)
    by_chance = sum(count * second[value] for value, count in first.items()) / number**2
    if by_chance == 1:
        return 0.0
    return (equal - by_chance) / (1 - by_chance)


def _folded(text: str) -> str:
    return " ".join(text.casefold().split())
