"""Several trials of the same comparison: which they are, and their ratios pooled."""

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
BOTH_WAYS = message("direction_not_known")
TWICE = message("trial_would_count_twice")
NO_MATCH = message("no_treatment_matches")
COPY = message("same_workbook_as_another")

Identity = tuple[str, str]
Key = tuple[str, frozenset[Identity]]


@dataclass(frozen=True)
class TrialOfComparison:
    """A trial in a comparison, its treatments by name in its own direction; `turned`: its reference is the treated."""

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

    The log ratio and its variance rest on the spread between trays alone. `weight` is the trial's share of the pooled
    figure, 0 to 1: None where it has no part in it, and `reasons` and the `note` of its comparison say why.
    """

    trial: TrialOfComparison
    ratio: float | None
    low: float | None = None
    high: float | None = None
    log_ratio: float | None = None
    variance: float | None = None
    weight: float | None = None
    reasons: tuple[Message, ...] = ()
    note: str = ""


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
    """Trials of the same comparison; treatments are named as in the first trial, `level` is that of all intervals.

    `name` is the comparison's in the workbooks, empty where they have none; `told_by_treatments` says whether another
    comparison may have the same name, so that the treatments tell them apart.
    """

    key: str
    name: str
    told_by_treatments: bool
    treated: str
    reference: str
    level: float
    trials: tuple[TrialOfComparison, ...]
    measures: tuple[PooledMeasure, ...]
    left_out: tuple[LeftOut, ...] = ()


@dataclass(frozen=True)
class _Pair:
    """A treatment of a trial beside the trial's reference."""

    trial: TrialToPool
    treated: NamedTreatment
    reference: NamedTreatment
    turned: bool = False


def pooled_comparisons(trials: Iterable[TrialToPool]) -> tuple[PooledComparison, ...]:
    """Return every comparison that two trials or more have in common, the one with the oldest trial first.

    Trials have a comparison in common by its name in the workbook, else by codes and names of both treatments. A trial
    of the same two with the other as reference is turned round. The same workbook counts once.
    """
    ordered = sorted(trials, key=lambda one: (one.harvested_on, one.slug))
    first = {trial.source_sha256: trial.slug for trial in reversed(ordered)}
    own = [trial for trial in ordered if first[trial.source_sha256] == trial.slug]
    copies = [trial for trial in ordered if first[trial.source_sha256] != trial.slug]
    groups = _groups([pair for trial in own for pair in _pairs(trial)])
    unmatched = _unmatched(groups)
    found: list[PooledComparison] = []
    for key, pairs in groups.items():
        sources = {pair.trial.source_sha256 for pair in pairs}
        left_out = [(trial, COPY) for trial in copies if trial.source_sha256 in sources]
        left_out += [(trial, NO_MATCH) for trial in unmatched.get(key, ())]
        comparison = _comparison(f"comparison-{len(found) + 1}", key, pairs, left_out)
        if comparison:
            found.append(comparison)
    return tuple(found)


def _pairs(trial: TrialToPool) -> list[_Pair]:
    reference = next(one for one in trial.treatments if one.code == trial.reference)
    return [_Pair(trial, one, reference) for one in trial.treatments if one is not reference]


def _folded(text: str) -> str:
    return " ".join(text.casefold().split())


def _identity(treatment: NamedTreatment) -> Identity:
    return _folded(treatment.code), _folded(treatment.name)


def _both(pair: _Pair) -> frozenset[Identity]:
    return frozenset((_identity(pair.treated), _identity(pair.reference)))


def _groups(pairs: Sequence[_Pair]) -> dict[Key, list[_Pair]]:
    """Return the pairs of each comparison, known by its name, else by its treatments, or by both.

    The name alone tells where a trial has two treatments; one with more joins by codes and names.
    """
    plain: dict[str, set[frozenset[Identity]]] = defaultdict(set)
    for pair in pairs:
        if len(pair.trial.treatments) == 2:
            plain[_folded(pair.trial.comparison)].add(_both(pair))
    groups: dict[Key, list[_Pair]] = defaultdict(list)
    for pair in pairs:
        name, both = _folded(pair.trial.comparison), _both(pair)
        by_name = name and both in plain[name]
        groups[name, frozenset() if by_name else both].append(pair)
    return dict(groups)


def _unmatched(groups: dict[Key, list[_Pair]]) -> dict[Key, list[TrialToPool]]:
    """Return the trials that name a comparison of two treatments, and have no such pair among their own."""
    found: dict[Key, list[TrialToPool]] = {}
    for name in {name for name, both in groups if name and not both}:
        members = {pair.trial.slug for pair in groups[name, frozenset()]}
        others = {pair.trial.slug: pair.trial for key, pairs in groups.items() if key[0] == name for pair in pairs}
        found[name, frozenset()] = [trial for slug, trial in others.items() if slug not in members]
    return found


def _comparison(
    key: str, group: Key, pairs: Sequence[_Pair], left_out: Sequence[tuple[TrialToPool, Message]]
) -> PooledComparison | None:
    """Pool the trials of a comparison; None without two trials that have a ratio."""
    kept, refused = _directed(pairs)
    if len(kept) < 2:
        return None
    levels = {pair.trial.confidence_level for pair in kept}
    level = levels.pop() if len(levels) == 1 else USUAL_LEVEL
    found = [_pooled(key, kept, level) for key in _measures_of(kept)]
    measures = tuple(one for one in found if one and (one.measure.key == HEADLINE or one.pooled.trials > 1))
    if not measures:
        return None
    return PooledComparison(
        key,
        " ".join(kept[0].trial.comparison.split()),
        bool(group[1]),
        kept[0].treated.name,
        kept[0].reference.name,
        level,
        tuple(map(_trial, kept)),
        measures,
        tuple(LeftOut(trial.slug, trial.title, reason) for trial, reason in (*refused, *left_out)),
    )


def _directed(pairs: Sequence[_Pair]) -> tuple[list[_Pair], list[tuple[TrialToPool, Message]]]:
    """Return the pairs with their direction told by the first, and the trials that cannot be taken in with reasons."""
    times = Counter(pair.trial.slug for pair in pairs)
    twice = {pair.trial.slug: pair.trial for pair in pairs if times[pair.trial.slug] > 1}
    refused = [(trial, TWICE) for trial in twice.values()]
    kept: list[_Pair] = []
    for pair in pairs:
        if pair.trial.slug in twice:
            continue
        first = kept[0] if kept else pair
        straight = _alike(pair.treated, first.treated) or _alike(pair.reference, first.reference)
        crossed = _alike(pair.treated, first.reference) or _alike(pair.reference, first.treated)
        if straight and crossed:
            refused.append((pair.trial, BOTH_WAYS))
        else:
            kept.append(replace(pair, turned=crossed))
    return kept, refused


def _alike(one: NamedTreatment, other: NamedTreatment) -> bool:
    """Tell whether two treatments share their code or their name."""
    return any(mine == theirs for mine, theirs in zip(_identity(one), _identity(other), strict=True))


def _measures_of(pairs: Sequence[_Pair]) -> tuple[str, ...]:
    lost = any({pair.treated.code, pair.reference.code} & set(pair.trial.lost) for pair in pairs)
    return tuple(key for key in MEASURES if lost or key != WITH_LOSSES)


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
    weighed = [one if one.log_ratio is None else replace(one, weight=next(shares)) for one in ratios]
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
    """Return a trial's ratio in the direction of the comparison, and what it brings to the pooled one."""
    if found is None:
        return RatioOfTrial(_trial(pair), None, reasons=(NO_DATA,))
    compared = found.compared if pair.trial.confidence_level == level else found.usual
    if compared.ratio is None:
        return RatioOfTrial(_trial(pair), None, note=compared.note)
    shown = _turned(compared) if pair.turned else compared
    plain = RatioOfTrial(_trial(pair), shown.ratio, shown.ratio_low, shown.ratio_high)
    if found.log_ratio is None:
        note = "" if found.reasons else found.compared.note
        return replace(plain, reasons=found.reasons, note=note)
    return replace(plain, log_ratio=-found.log_ratio if pair.turned else found.log_ratio, variance=found.variance)


def _turned(comparison: Comparison) -> Comparison:
    """Return a comparison's ratio and interval turned round: that of the reference to the treated."""
    ratio, low, high = (
        1 / bound if bound else None for bound in (comparison.ratio, comparison.ratio_high, comparison.ratio_low)
    )
    return replace(comparison, ratio=ratio, ratio_low=low, ratio_high=high)
