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
from reportgen.metrics.totals import by_tray, planted, treatment_by_tray
from reportgen.model.results import ClassCounts, Measure, RankComparison, ScoreResult
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
    treatments = treatment_by_tray(trial)
    scored: dict[tuple[date, str], Positions] = defaultdict(lambda: defaultdict(list))
    for measurement in trial.growth:
        tray, value = measurement.tray, measurement.values[index]
        if value is not None and tray in treatments:
            scored[measurement.on, treatments[tray]][tray].append(int(value))
    order = trial.treatment_codes
    days = sorted(scored, key=lambda key: (key[0], order.index(key[1])))
    trait = trial.growth_traits[index]
    by_day: list[tuple[date, ClassCounts]] = []
    for on, code in days:
        by_day.append((on, _counted(trial, trait, code, scored[on, code])))
    return tuple(by_day)


def _positions(trial: Trial, index: int) -> Positions:
    """Return the classes of each tray's plants; plants that were weighed together share theirs."""
    trays = set(treatment_by_tray(trial))
    found: Positions = defaultdict(list)
    for plant in trial.plants:
        value = plant.traits[index]
        if value is not None and plant.tray in trays:
            found[plant.tray] += [int(value)] * plant.number
    return dict(found)


def _result(trial: Trial, trait: Trait, positions: Positions) -> ScoreResult:
    medians = {tray: float(median(values)) for tray, values in positions.items()}
    compared = compare_ranks(by_tray(trial, medians), design_of(trial), trial.confidence_level)
    codes = trial.treatment_codes
    classes = tuple(_counted(trial, trait, code, positions) for code in codes)
    scores: list[tuple[str, float]] = []
    for tray in planted(trial):
        if tray.code in medians:
            scores.append((tray.code, medians[tray.code]))
    comparisons: list[tuple[str, RankComparison]] = []
    for code, comparison in zip(codes, compared, strict=True):
        if comparison is not None:
            comparisons.append((code, comparison))
    return ScoreResult(
        Measure(trait_measure_key(trait), trait.label, ""),
        trait.scale,
        _cut([of_treatment.counts for of_treatment in classes]),
        classes,
        tuple(scores),
        tuple(comparisons),
    )


def _counted(trial: Trial, trait: Trait, code: str, positions: Positions) -> ClassCounts:
    counts = [0] * len(trait.scale)
    medians: list[float] = []
    for tray in planted(trial):
        if tray.treatment != code or tray.code not in positions:
            continue
        medians.append(median(positions[tray.code]))
        for position in positions[tray.code]:
            counts[position] += 1
    if medians:
        middle = float(median(medians))
    else:
        middle = None
    return ClassCounts(code, len(medians), tuple(counts), middle)


def _cut(counts: Sequence[Sequence[int]]) -> int:
    """Return the class that splits all plants most nearly in halves.

    It is chosen without regard to treatments, so that it cannot favour one.
    """
    together = [sum(each) for each in zip(*counts, strict=True)]
    plants = sum(together)
    from_class = {position: sum(together[position:]) for position in range(1, len(together))}
    return min(from_class, key=lambda position: abs(2 * from_class[position] - plants))
