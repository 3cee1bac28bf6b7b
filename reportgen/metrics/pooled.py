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
    """What trials must share to be pooled, names normalised: comparison, crop, and the names of two
    treatments.
    """

    comparison: str
    crop: str
    treatments: frozenset[str]


@dataclass(frozen=True)
class TrialOfComparison:
    """A trial in a comparison, its treatments by name in its own direction; `turned`: its reference
    is the treated.
    """

    slug: str
    title: str
    crop: str
    harvested_on: date
    unit: str
    treated: str
    reference: str
    turned: bool = False


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
    """Trials of the same comparison, crop and treatments, named as in the first; `level` is that of
    all intervals.

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
    turned: bool = False


def pooled_comparisons(trials: Iterable[TrialToPool]) -> tuple[PooledComparison, ...]:
    """Return every comparison that two trials or more have in common, the one with the oldest trial
    first.

    Trials have a comparison in common where their workbooks name it, and the crop and the names of
    both treatments are the same. A trial of the same two with the other as reference is inverted.
    """
    ordered = sorted(trials, key=lambda trial: (trial.harvested_on, trial.slug))
    named = [trial for trial in ordered if normalised(trial.comparison)]
    groups: dict[Key, list[_Pair]] = defaultdict(list)
    for trial in named:
        for pair in _pairs(trial):
            groups[_key(pair)].append(pair)
    found: list[PooledComparison] = []
    for key, pairs in groups.items():
        comparison = _comparison(f"comparison-{len(found) + 1}", pairs)
        if comparison:
            found.append(replace(comparison, left_out=_left_out(key, pairs, named)))
    times = Counter(normalised(comparison.name) for comparison in found)
    return tuple(replace(one, shares_name=times[normalised(one.name)] > 1) for one in found)


def normalised(name: str) -> str:
    """Return a name without regard to case, accents, spaces and signs, so that `Full-strength ` is
    `full strength`.
    """
    letters = unicodedata.normalize("NFKD", name.casefold())
    words = "".join(
        letter if letter.isalnum() else " "
        for letter in letters
        if not unicodedata.combining(letter)
    )
    return " ".join(words.split())


def _pairs(trial: TrialToPool) -> list[_Pair]:
    """Return each treatment beside the reference; none in an unfinished trial, or where two have
    one name.
    """
    if trial.interim or _has_same_names(trial):
        return []
    reference = next(
        treatment for treatment in trial.treatments if treatment.code == trial.reference
    )
    pairs: list[_Pair] = []
    for treatment in trial.treatments:
        if treatment is not reference:
            pairs.append(_Pair(trial, treatment, reference))
    return pairs


def _has_same_names(trial: TrialToPool) -> bool:
    return len({normalised(treatment.name) for treatment in trial.treatments}) < len(
        trial.treatments
    )


def _key(pair: _Pair) -> Key:
    treatments = frozenset((normalised(pair.treated.name), normalised(pair.reference.name)))
    return Key(normalised(pair.trial.comparison), normalised(pair.trial.crop), treatments)


def _left_out(
    key: Key, pairs: Sequence[_Pair], named: Sequence[TrialToPool]
) -> tuple[LeftOut, ...]:
    """Return the trials that name the same comparison and have no part in it, with the reason."""
    members = {pair.trial.slug for pair in pairs}
    others = []
    for trial in named:
        if normalised(trial.comparison) == key.comparison and trial.slug not in members:
            others.append(trial)
    return tuple(LeftOut(trial.slug, trial.title, _reason(trial, key)) for trial in others)


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
    kept = _directed(pairs)
    levels = {pair.trial.confidence_level for pair in kept}
    if len(levels) == 1:
        level = levels.pop()
    else:
        level = USUAL_LEVEL
    found = [_pooled(measure, kept, level) for measure in _measures_of(kept)]
    measures = tuple(
        one for one in found if one and (one.measure.key == HEADLINE or one.pooled.trials > 1)
    )
    if not measures:
        return None
    first = kept[0]
    return PooledComparison(
        key,
        " ".join(first.trial.comparison.split()),
        first.trial.crop,
        first.treated.name,
        first.reference.name,
        level,
        tuple(map(_trial, kept)),
        measures,
    )


def _directed(pairs: Sequence[_Pair]) -> list[_Pair]:
    """Return the pairs with their direction told by the first."""
    first = normalised(pairs[0].treated.name)
    return [replace(pair, turned=normalised(pair.treated.name) != first) for pair in pairs]


def _measures_of(pairs: Sequence[_Pair]) -> tuple[str, ...]:
    """Return the keys of what is pooled: yield with losses too where it differs from the headline,
    or stands for it.
    """
    lost = any({pair.treated.code, pair.reference.code} & set(pair.trial.lost) for pair in pairs)
    has_headline = any(
        ratio.measure.key == HEADLINE for pair in pairs for ratio in pair.trial.ratios
    )
    return tuple(key for key in MEASURES if lost or not has_headline or key != WITH_LOSSES)


def _trial(pair: _Pair) -> TrialOfComparison:
    return TrialOfComparison(
        pair.trial.slug,
        pair.trial.title,
        pair.trial.crop,
        date.fromisoformat(pair.trial.harvested_on),
        pair.trial.unit,
        pair.treated.name,
        pair.reference.name,
        pair.turned,
    )


def _pooled(key: str, pairs: Sequence[_Pair], level: float) -> PooledMeasure | None:
    """Return a measure pooled; None unless two trials have its ratio."""
    brought = [_brought(key, pair) for pair in pairs]
    ratios = [_ratio_of(one, pair, level) for one, pair in zip(brought, pairs, strict=True)]
    if sum(one.ratio is not None for one in ratios) < 2:
        return None
    usable = [one for one in ratios if one.log_ratio is not None]
    pooled = _pool(usable, level)
    shares = iter(pooled.weights or [None] * len(usable))
    weighed = []
    for one in ratios:
        if one.log_ratio is None:
            weighed.append(one)
        else:
            weighed.append(replace(one, weight=next(shares)))
    return PooledMeasure(next(one.measure for one in brought if one), tuple(weighed), pooled)


def _brought(key: str, pair: _Pair) -> RatioToPool | None:
    """Return what a pair's trial brings to a measure, None where it has nothing of it."""
    own = (one for one in pair.trial.ratios if one.measure.key == key)
    return next((one for one in own if one.treatment == pair.treated.code), None)


def _pool(trials: Sequence[RatioOfTrial], level: float) -> PooledRatio:
    logs = np.array([one.log_ratio for one in trials], dtype=float)
    variances = np.array([one.variance for one in trials], dtype=float)
    return pool(logs, variances, level)


def _ratio_of(found: RatioToPool | None, pair: _Pair, level: float) -> RatioOfTrial:
    """Return a trial's ratio in the direction of the comparison, and what it brings to the pooled
    one.
    """
    if found is None:
        return RatioOfTrial(_trial(pair), None, reasons=(NO_DATA,))
    if pair.trial.confidence_level == level:
        compared = found.compared
    else:
        compared = found.usual
    if compared.ratio is None:
        return RatioOfTrial(_trial(pair), None, reasons=compared.notes)
    if pair.turned:
        shown = _turned(compared)
    else:
        shown = compared
    plain = RatioOfTrial(
        _trial(pair), shown.ratio, shown.ratio_low, shown.ratio_high, doubted=found.doubted
    )
    if found.log_ratio is None:
        return replace(plain, reasons=found.reasons or found.compared.notes)
    return replace(
        plain,
        log_ratio=-found.log_ratio if pair.turned else found.log_ratio,
        variance=found.variance,
    )


def _turned(comparison: Comparison) -> Comparison:
    """Return a comparison's ratio and interval turned round: that of the reference to the treated."""
    ratio, low, high = (
        1 / bound if bound else None
        for bound in (comparison.ratio, comparison.ratio_high, comparison.ratio_low)
    )
    return replace(comparison, ratio=ratio, ratio_low=low, ratio_high=high)
