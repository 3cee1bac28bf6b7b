"""What one weight is of: a plant, the plants of a tray together, their mean."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reportgen.importing.clues.quantities_model import Measure, Profile
from reportgen.importing.clues.quantities_relations import goes_with_count
from reportgen.importing.clues.quantities_shape import counts_under_n
from reportgen.importing.contents.situation import Situation, codes
from reportgen.importing.model.layouts import Covers
from reportgen.importing.words import says


@dataclass(frozen=True)
class Cover:
    """What a value is of, the column that tells how many plants, and points against the most
    likely.
    """

    covers: Covers
    count: str = ""
    score: float = 0.0


def covers_of(situation: Situation, profile: Profile) -> list[Cover]:
    """Return what the weights of a column may be of, likeliest first; one alone where it is
    written.
    """
    counts = situation.of(Measure.COUNT)
    if counts:
        count = _of_weighed(counts)
        told = _with_count(profile, count)
        if "plants_counted" in count.said or counts_under_n(count):
            return told
        return [*told, Cover(Covers.UNIT, "", -1.0)]  # what is counted may be fruits
    if situation.labelled("plant") or (
        situation.labelled("unit") and _has_numbered_rows(situation)
    ):
        return [Cover(Covers.PLANT)]
    return _without_count(situation, profile)


def _of_weighed(counts: Sequence[Profile]) -> Profile:
    """Return the number of plants that were weighed: of those harvested, else the first that is not
    of those started.

    Where all are of those started, the first of them.
    """
    harvested = [count for count in counts if "harvested" in count.words]
    weighed = [count for count in counts if not is_of_started(count)]
    return (harvested or weighed or counts)[0]


def is_of_started(count: Profile) -> bool:
    """Tell whether a number of plants is that of those planted or sown, not of those weighed."""
    return bool(count.words & {"started", "sown"})


def _with_count(profile: Profile, count: Profile) -> list[Cover]:
    if (count.values == 1).all():
        return [Cover(Covers.PLANT)]
    if profile.said & {"per_plant", "mean"}:
        return [Cover(Covers.MEAN, count.name)]
    if profile.said & {"per_unit", "sum"}:
        return [Cover(Covers.UNIT, count.name)]
    together = Cover(Covers.UNIT, count.name)
    mean = Cover(Covers.MEAN, count.name)
    if goes_with_count(profile, count):
        return [together, Cover(Covers.MEAN, count.name, -2.0)]
    return [mean, Cover(Covers.UNIT, count.name, -0.5)]


def _without_count(situation: Situation, profile: Profile) -> list[Cover]:
    if "per_unit" in profile.said:
        return [Cover(Covers.UNIT)]
    units = situation.labelled("unit")
    several = _rows_a_unit(situation) > 1
    if profile.said & {"per_plant", "mean"}:
        if several:
            return [Cover(Covers.PLANT)]
        return [Cover(Covers.MEAN), Cover(Covers.PLANT, "", -1.0)]
    if not units:
        return [Cover(Covers.PLANT), Cover(Covers.UNIT, "", -1.0)]
    if several and not situation.labelled("date"):
        return [Cover(Covers.PLANT), Cover(Covers.UNIT, "", -2.0)]
    return [Cover(Covers.UNIT), Cover(Covers.PLANT, "", -1.0)]


def _has_numbered_rows(situation: Situation) -> bool:
    """Tell whether a column is headed `No` and nothing else: beside trays it numbers plants."""
    numbered = situation.labelled("number")
    return any(not says(labels.header, "unit", "date", "block", "treatment") for labels in numbered)


def _rows_a_unit(situation: Situation) -> int:
    """Return how many rows most units have; all labels down the rows tell units apart."""
    labels = situation.labels_of_rows()
    if not labels or not situation.rows:
        return 1
    joint = np.stack([codes(one) for one in labels])
    counts = np.unique(joint, axis=1, return_counts=True)[1]
    return int(np.median(counts))
