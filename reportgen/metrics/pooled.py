"""Several trials of the same comparison: which they are, and their ratios pooled."""

import unicodedata
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from reportgen.metrics.to_pool import HEADLINE, MEASURES, USUAL_LEVEL, WITH_LOSSES
from reportgen.model.message import Message, message
from reportgen.model.results import Comparison, Measure, NamedTreatment, RatioToPool, TrialToPool
from reportgen.stats.pooling import PooledRatio, pool

NO_DATA = message("nothing_recorded_to_pool")
OTHER_CROP = message("other_crop")
OTHER_TREATMENTS = message("other_treatments")
NOT_FINISHED = message("trial_not_finished")
SAME_NAMES = message("two_treatments_of_one_name")


@dataclass(frozen=True)
class Key:
    """What trials must share to be pooled, names normalised.

    Comparison, crop, and the names of two treatments.
    """

    comparison: str
    crop: str
    treatments: frozenset[str]


@dataclass(frozen=True)
class TrialOfComparison:
    """A trial in a comparison, its treatments by name in its own direction.

    `inverted` where its reference is the comparison's treated.
    """

    slug: str
    title: str
    crop: str
    harvested_on: date
    unit: str
    treated: str
    reference: str
    inverted: bool = False


@dataclass(frozen=True)
class RatioOfTrial:
    """One trial's ratio of treated to reference, with the interval of its report.

    The log ratio and its variance rest on the spread between trays alone. `weight` is the trial's
    share of the pooled figure, 0 to 1: None where it has no part in it, and `reasons` say why.
    `doubted`: something other than the treatment may explain it.
    """

    trial: TrialOfComparison
    ratio: float | None
    low: float | None = None
    high: float | None = None
    log_ratio: float | None = None
    variance: float | None = None
    weight: float | None = None
    reasons: tuple[Message, ...] = ()
    doubted: bool = False


@dataclass(frozen=True)
class PooledMeasure:
    """A measure in all trials of a comparison, oldest harvest first, and pooled."""

    measure: Measure
    trials: tuple[RatioOfTrial, ...]
    pooled: PooledRatio


@dataclass(frozen=True)
class LeftOut:
    """A trial that has no part in a comparison, and why."""

    slug: str
    title: str
    reason: Message


@dataclass(frozen=True)
class PooledComparison:
    """Trials of the same comparison, crop and treatments, named as in the first.

    `level` is that of all intervals.

    `shares_name`: another comparison here has the same name, with another crop or other treatments.
    """

    key: str
    name: str
    crop: str
    treated: str
    reference: str
    level: float
    trials: tuple[TrialOfComparison, ...]
    measures: tuple[PooledMeasure, ...]
    left_out: tuple[LeftOut, ...] = ()
    shares_name: bool = False


@dataclass(frozen=True)
class _Pair:
    """A treatment of a trial beside the trial's reference."""

    trial: TrialToPool
    treated: NamedTreatment
    reference: NamedTreatment
    inverted: bool = False


def pooled_comparisons(trials: Iterable[TrialToPool]) -> tuple[PooledComparison, ...]:
    """Return every comparison that two or more trials share, the oldest first.

    Trials have a comparison in common where their workbooks name it, and the crop and the names of
    both treatments are the same. A trial of the same two with the other as reference is inverted.
    """
    ordered = sorted(trials, key=lambda trial: (trial.harvested_on, trial.slug))
    named = [trial for trial in ordered if normalised(trial.comparison)]
    groups: dict[Key, list[_Pair]] = defaultdict(list)
    for trial in named:
        for pair in _pairs(trial):
            groups[_key(pair)].append(pair)
    comparisons: list[PooledComparison] = []
    for key, pairs in groups.items():
        pooled = _comparison(f"comparison-{len(comparisons) + 1}", pairs)
        if pooled:
            comparisons.append(replace(pooled, left_out=_left_out(key, pairs, named)))
    times = Counter(normalised(comparison.name) for comparison in comparisons)
    named_apart: list[PooledComparison] = []
    for comparison in comparisons:
        shares_name = times[normalised(comparison.name)] > 1
        named_apart.append(replace(comparison, shares_name=shares_name))
    return tuple(named_apart)


def normalised(name: str) -> str:
    """Return a name without regard to case, accents, spaces and signs, so that `Full-strength ` is
    `full strength`.
    """
    letters = unicodedata.normalize("NFKD", name.casefold())
    words = ""
    for letter in letters:
        if letter.isalnum():
            words += letter
        elif not unicodedata.combining(letter):
            words += " "
    return " ".join(words.split())


def _pairs(trial: TrialToPool) -> list[_Pair]:
    """Return each treatment beside the reference.

    None in an unfinished trial, or where two have one name.
    """
    if trial.interim or _has_same_names(trial):
        return []
    by_code = {treatment.code: treatment for treatment in trial.treatments}
    reference = by_code[trial.reference]
    pairs: list[_Pair] = []
    for treatment in trial.treatments:
        if treatment is not reference:
            pairs.append(_Pair(trial, treatment, reference))
    return pairs


def _has_same_names(trial: TrialToPool) -> bool:
    names = {normalised(treatment.name) for treatment in trial.treatments}
    return len(names) < len(trial.treatments)


def _key(pair: _Pair) -> Key:
    treatments = frozenset((normalised(pair.treated.name), normalised(pair.reference.name)))
    return Key(normalised(pair.trial.comparison), normalised(pair.trial.crop), treatments)


def _left_out(
    key: Key, pairs: Sequence[_Pair], named: Sequence[TrialToPool]
) -> tuple[LeftOut, ...]:
    """Return the trials that name the same comparison and have no part in it, with the reason."""
    members = {pair.trial.slug for pair in pairs}
    left_out: list[LeftOut] = []
    for trial in named:
        if normalised(trial.comparison) == key.comparison and trial.slug not in members:
            left_out.append(LeftOut(trial.slug, trial.title, _reason(trial, key)))
    return tuple(left_out)


def _reason(trial: TrialToPool, key: Key) -> Message:
    if normalised(trial.crop) != key.crop:
        return OTHER_CROP
    if trial.interim:
        return NOT_FINISHED
    if _has_same_names(trial):
        return SAME_NAMES
    return OTHER_TREATMENTS


def _comparison(key: str, pairs: Sequence[_Pair]) -> PooledComparison | None:
    """Pool the trials of a comparison; None without two trials that have a ratio."""
    if len(pairs) < 2:
        return None
    directed = _directed(pairs)
    levels = {pair.trial.confidence_level for pair in directed}
    if len(levels) == 1:
        level = levels.pop()
    else:
        level = USUAL_LEVEL
    measures: list[PooledMeasure] = []
    for measure_key in _measures_of(directed):
        measure = _pooled(measure_key, directed, level)
        if measure and (measure_key == HEADLINE or measure.pooled.trials > 1):
            measures.append(measure)
    if not measures:
        return None
    first = directed[0]
    return PooledComparison(
        key,
        " ".join(first.trial.comparison.split()),
        first.trial.crop,
        first.treated.name,
        first.reference.name,
        level,
        tuple(map(_trial, directed)),
        tuple(measures),
    )


def _directed(pairs: Sequence[_Pair]) -> list[_Pair]:
    """Return the pairs with their direction told by the first."""
    first = normalised(pairs[0].treated.name)
    directed: list[_Pair] = []
    for pair in pairs:
        inverted = normalised(pair.treated.name) != first
        directed.append(replace(pair, inverted=inverted))
    return directed


def _measures_of(pairs: Sequence[_Pair]) -> tuple[str, ...]:
    """Return the keys of what is pooled.

    Yield with losses too where it differs from the headline, or stands for it.
    """
    has_headline = has_losses = False
    for pair in pairs:
        codes = {pair.treated.code, pair.reference.code}
        if codes & set(pair.trial.lost):
            has_losses = True
        if any(ratio.measure.key == HEADLINE for ratio in pair.trial.ratios):
            has_headline = True
    if has_losses or not has_headline:
        return tuple(MEASURES)
    return tuple(key for key in MEASURES if key != WITH_LOSSES)


def _trial(pair: _Pair) -> TrialOfComparison:
    return TrialOfComparison(
        pair.trial.slug,
        pair.trial.title,
        pair.trial.crop,
        date.fromisoformat(pair.trial.harvested_on),
        pair.trial.unit,
        pair.treated.name,
        pair.reference.name,
        pair.inverted,
    )


def _pooled(key: str, pairs: Sequence[_Pair], level: float) -> PooledMeasure | None:
    """Return a measure pooled; None unless two trials have its ratio."""
    measures: list[Measure] = []
    ratios: list[RatioOfTrial] = []
    for pair in pairs:
        own = _own_ratio(key, pair)
        ratios.append(_ratio_of(own, pair, level))
        if own is not None:
            measures.append(own.measure)
    if sum(ratio.ratio is not None for ratio in ratios) < 2:
        return None
    usable = [ratio for ratio in ratios if ratio.log_ratio is not None]
    pooled = _pool(usable, level)
    return PooledMeasure(measures[0], _weighted(ratios, pooled), pooled)


def _weighted(ratios: Sequence[RatioOfTrial], pooled: PooledRatio) -> tuple[RatioOfTrial, ...]:
    """Return the ratios with their shares of the pooled one; unusable ratios have none."""
    if not pooled.weights:
        return tuple(ratios)
    weights = iter(pooled.weights)
    weighted: list[RatioOfTrial] = []
    for ratio in ratios:
        if ratio.log_ratio is None:
            weighted.append(ratio)
        else:
            weighted.append(replace(ratio, weight=next(weights)))
    return tuple(weighted)


def _own_ratio(key: str, pair: _Pair) -> RatioToPool | None:
    """Return the ratio of a measure in a pair's trial, None where it has none."""
    for ratio in pair.trial.ratios:
        if ratio.measure.key == key and ratio.treatment == pair.treated.code:
            return ratio
    return None


def _pool(trials: Sequence[RatioOfTrial], level: float) -> PooledRatio:
    logs = np.array([trial.log_ratio for trial in trials], dtype=float)
    variances = np.array([trial.variance for trial in trials], dtype=float)
    return pool(logs, variances, level)


def _ratio_of(found: RatioToPool | None, pair: _Pair, level: float) -> RatioOfTrial:
    """Return a trial's ratio in the comparison's direction, with its part in the pooled one."""
    if found is None:
        return RatioOfTrial(_trial(pair), None, reasons=(NO_DATA,))
    if pair.trial.confidence_level == level:
        compared = found.compared
    else:
        compared = found.usual
    if compared.ratio is None:
        return RatioOfTrial(_trial(pair), None, reasons=compared.notes)
    shown = compared
    log_ratio = found.log_ratio
    if pair.inverted:
        shown = _reciprocal(compared)
        if log_ratio is not None:
            log_ratio = -log_ratio
    plain = RatioOfTrial(
        _trial(pair), shown.ratio, shown.ratio_low, shown.ratio_high, doubted=found.doubted
    )
    if log_ratio is None:
        return replace(plain, reasons=found.reasons or found.compared.notes)
    return replace(plain, log_ratio=log_ratio, variance=found.variance)


def _reciprocal(comparison: Comparison) -> Comparison:
    """Return a comparison with the reciprocal ratio and interval: reference to treated."""
    return replace(
        comparison,
        ratio=_inverse(comparison.ratio),
        ratio_low=_inverse(comparison.ratio_high),
        ratio_high=_inverse(comparison.ratio_low),
    )


def _inverse(ratio: float | None) -> float | None:
    if not ratio:
        return None
    return 1 / ratio
