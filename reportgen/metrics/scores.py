"""Scores in ordered classes: how many plants are in each class, and how the trays' medians are
ranked.

Classes have an order and no distances: no mean is made of them.
"""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from statistics import median

from reportgen.metrics.design import design_of
from reportgen.metrics.measures import trait_measure_key
from reportgen.metrics.totals import by_tray, planted
from reportgen.model.results import ClassCounts, Measure, ScoreResult
from reportgen.model.trial import Trait, Trial
from reportgen.stats.ranks import compare_ranks

Positions = dict[str, list[int]]  # of plants on a scale, by tray


def scores(trial: Trial) -> tuple[ScoreResult, ...]:
    """Return what each score of plants shows; one without any value is left out."""
    found: list[ScoreResult] = []
    for index, trait in enumerate(trial.traits):
        if trait.is_score:
            positions = _positions(trial, index)
        else:
            positions = {}
        if positions:
            found.append(_result(trial, trait, positions))
    return tuple(found)


def classes_by_day(trial: Trial, index: int) -> tuple[tuple[date, ClassCounts], ...]:
    """Return how many were in each class on each day, by treatment, of the growth trait at `index`.

    A plant counts once a day, and so does a tray that was scored as a whole.
    """
    treatments = {tray.code: tray.treatment for tray in planted(trial)}
    found: dict[tuple[date, str], Positions] = defaultdict(lambda: defaultdict(list))
    for one in trial.growth:
        value = one.values[index]
        if value is not None and one.tray in treatments:
            found[one.on, treatments[one.tray]][one.tray].append(int(value))
    counted: list[tuple[date, ClassCounts]] = []
    for on in sorted({day for day, _ in found}):
        for treatment in trial.treatments:
            positions = found.get((on, treatment.code))
            if positions:
                counted.append(
                    (on, _counted(trial, trial.growth_traits[index], treatment.code, positions))
                )
    return tuple(counted)


def _positions(trial: Trial, index: int) -> Positions:
    """Return the classes of each tray's plants; plants that were weighed together share theirs."""
    trays = {tray.code for tray in planted(trial)}
    found: Positions = defaultdict(list)
    for plant in trial.plants:
        value = plant.traits[index]
        if value is not None and plant.tray in trays:
            found[plant.tray] += [int(value)] * plant.number
    return dict(found)


def _result(trial: Trial, trait: Trait, positions: Positions) -> ScoreResult:
    medians = {tray: float(median(values)) for tray, values in positions.items()}
    compared = compare_ranks(by_tray(trial, medians), design_of(trial), trial.confidence_level)
    codes = [treatment.code for treatment in trial.treatments]
    counted = tuple(_counted(trial, trait, code, positions) for code in codes)
    pairs = zip(codes, compared, strict=True)
    return ScoreResult(
        Measure(trait_measure_key(trait), trait.label, ""),
        trait.scale,
        _cut([one.counts for one in counted]),
        counted,
        tuple((tray.code, medians[tray.code]) for tray in planted(trial) if tray.code in medians),
        tuple((code, one) for code, one in pairs if one is not None),
    )


def _counted(trial: Trial, trait: Trait, code: str, positions: Positions) -> ClassCounts:
    trays = [
        tray.code for tray in planted(trial) if tray.treatment == code and tray.code in positions
    ]
    counts = [0] * len(trait.scale)
    for tray in trays:
        for position in positions[tray]:
            counts[position] += 1
    if trays:
        middle = float(median(median(positions[tray]) for tray in trays))
    else:
        middle = None
    return ClassCounts(code, len(trays), tuple(counts), middle)


def _cut(counts: Sequence[Sequence[int]]) -> int:
    """Return the position of the class that parts all plants most nearly in halves, whatever their
    treatment.

    It is chosen without regard to treatments, so that it cannot favour one.
    """
    together = [sum(each) for each in zip(*counts, strict=True)]
    plants = sum(together)
    from_class = {position: sum(together[position:]) for position in range(1, len(together))}
    return min(from_class, key=lambda position: abs(2 * from_class[position] - plants))
