"""Survival: plants harvested of plants started, with trays as clusters of plants that share a fate."""

from dataclasses import replace

import numpy as np

from reportgen.model.message import Notes, joined, note
from reportgen.model.results import Comparison, Estimate
from reportgen.stats.analysis import Analysis
from reportgen.stats.clustered_proportion import (
    ProportionFit,
    compare_proportions,
    fit_proportions,
    proportion,
)
from reportgen.stats.log_scale import Question
from reportgen.stats.scores import FloatArray, IntArray
from reportgen.stats.simultaneous import simultaneous_for

PERCENT = 100.0
CLUSTERED = note("clustered_plants")
INDEPENDENT = note("independent_plants")  # one plant a tray


def survival_analysis(harvested: FloatArray, started: FloatArray, question: Question) -> Analysis:
    """Return each treatment's share of plants, %, and its comparison with the reference.

    Shapes: (n,) each.

    With several comparisons their limits hold together by Sidak's inequality (1967, J. Am. Stat.
    Assoc. 62:626-633).
    """
    design = question.design
    counted = np.isfinite(harvested) & np.isfinite(started) & (started > 0)
    fit = fit_proportions(
        harvested[counted], started[counted], design.treatment[counted], design.treatments
    )
    trays = np.bincount(design.treatment[counted], minlength=design.treatments)
    others = []
    for k in range(design.treatments):
        if k != design.reference and trays[k]:
            others.append(k)
    comparisons: list[Comparison | None] = []
    for k in range(design.treatments):
        if k == design.reference:
            comparisons.append(None)
        else:
            comparisons.append(_comparison(fit, k, question, len(others)))
    scores = np.full(harvested.shape, np.nan)
    scores[counted] = PERCENT * harvested[counted] / started[counted]
    return Analysis(_estimates(fit, trays, question.level), tuple(comparisons), scores)


def _estimates(fit: ProportionFit, trays: IntArray, level: float) -> tuple[Estimate, ...]:
    found: list[Estimate] = []
    for treatment, number in enumerate(trays.tolist()):
        one = proportion(fit, treatment, level)
        if one.value is None or one.low is None or one.high is None:
            found.append(Estimate(None, n=number, notes=one.notes))
            continue
        limits = PERCENT * one.low, PERCENT * one.high
        if fit.degrees_of_freedom:
            freedom = float(fit.degrees_of_freedom)
        else:
            freedom = None
        found.append(
            Estimate(PERCENT * one.value, *limits, None, freedom, number, _method(fit), one.notes)
        )
    return tuple(found)


def _method(fit: ProportionFit) -> Notes:
    if fit.is_clustered:
        return CLUSTERED
    return INDEPENDENT


def _comparison(
    fit: ProportionFit, treatment: int, question: Question, comparisons: int
) -> Comparison:
    reference, level = question.design.reference, question.level
    single = compare_proportions(fit, treatment, reference, level)
    if single.difference is None:
        return Comparison(notes=single.notes)
    shown = compare_proportions(fit, treatment, reference, _sidak(level, comparisons))
    narrow = compare_proportions(
        fit, treatment, reference, _sidak(1 - 2 * (1 - level), comparisons)
    )
    plain = Comparison(
        single.ratio,
        shown.ratio_low,
        shown.ratio_high,
        PERCENT * single.difference,
        _percent(shown.difference_low),
        _percent(shown.difference_high),
        single.p_value,
        single_low=single.ratio_low,
        single_high=single.ratio_high,
        alike_low=narrow.ratio_low,
        alike_high=narrow.ratio_high,
        degrees_of_freedom=float(fit.degrees_of_freedom) if fit.degrees_of_freedom else None,
        methods=_method(fit),
        notes=single.notes,
    )
    if comparisons < 2 or single.p_value is None:
        return plain
    adjusted = 1 - (1 - single.p_value) ** comparisons
    return replace(
        plain, p_adjusted=adjusted, methods=joined(_method(fit), simultaneous_for(comparisons))
    )


def _percent(share: float | None) -> float | None:
    if share is None:
        return None
    return PERCENT * share


def _sidak(level: float, comparisons: int) -> float:
    """Return the level of each of several comparisons that gives `level` to all of them."""
    return float(level ** (1 / max(comparisons, 1)))
