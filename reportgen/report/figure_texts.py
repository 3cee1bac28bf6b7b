"""Figures and changes as a table or a sentence shows them."""

from collections.abc import Sequence
from dataclasses import replace

from reportgen import language
from reportgen.language import marked, say
from reportgen.model.results import Comparison, Estimate, MeasureResult
from reportgen.model.trial import Trial
from reportgen.report import numbers, ratios, terms, units
from reportgen.report.wording import MONEY, UNITLESS, interval, label_of, name_of

OF_LEVEL = marked("{limits} ({level})")


def estimate_text(result: MeasureResult, estimate: Estimate) -> str:
    """Return an estimate with its interval, as it stands in tables and figure texts."""
    if result.measure.unit == "%":
        return _share_text(estimate)
    value = value_text(result, estimate)
    if estimate.value is None:
        return value
    if estimate.low is None and estimate.high is None:
        return say("{value} (no interval)", value=value)
    return f"{value} ({numbers.limits(estimate.low, estimate.high, decimals_in(result, estimate))})"


def value_text(result: MeasureResult, estimate: Estimate) -> str:
    """Return an estimate alone, rounded as it is beside its interval and the other treatments."""
    if estimate.value is None:
        return numbers.not_known()
    if result.measure.unit == "%":
        return numbers.share(estimate.value, estimate.low, estimate.high)
    return numbers.fixed(estimate.value, decimals_in(result, estimate))


def figure_text(versions: Sequence[MeasureResult], code: str) -> str:
    """Return a treatment's figure without its unit, in each system of display: `4.6 (130)`."""
    values = [value_text(version, dict(version.estimates)[code]) for version in versions]
    return units.with_other(*values)


def unit_text(versions: Sequence[MeasureResult]) -> str:
    """Return the unit of a measure in each system of display: `oz/plant (g/plant)`."""
    return units.with_other(*(language.unit(version.measure.unit) for version in versions))


def decimals_in(result: MeasureResult, estimate: Estimate) -> int:
    """Return the decimals of an estimate.

    Those that all treatments' intervals justify, two digits of its own at least and three at most;
    money has cents at most.

    Figures that stand side by side so have their decimal marks in one line.
    """
    known = [one for _, one in result.estimates if one.value is not None]
    justified = [_justified(one) for one in known]
    if MONEY.match(result.measure.unit):
        justified += [numbers.decimals_of_money(one.value or 0.0) for one in known]
    return max(min(justified), numbers.decimals_for(estimate.value or 0.0, 2))


def _justified(estimate: Estimate) -> int:
    value = estimate.value or 0.0
    decimals = numbers.decimals_of(value, estimate.low, estimate.high)
    if value:
        return min(decimals, numbers.decimals_for(value, 3))
    return decimals


def signed_change(result: MeasureResult, comparison: Comparison) -> str:
    """Return a change with its sign.

    In percent, in the unit where a ratio has no meaning, empty where not known.
    """
    if comparison.ratio is not None:
        return ratios.signed_change(comparison.ratio, comparison.ratio_low, comparison.ratio_high)
    if comparison.difference is None:
        return ""
    limits = comparison.difference_low, comparison.difference_high
    text = numbers.fixed(comparison.difference, numbers.decimals_of(comparison.difference, *limits))
    if comparison.difference > 0:
        sign = "+"
    else:
        sign = ""
    unit = language.unit(result.measure.unit or UNITLESS.get(result.measure.key, ""))
    return f"{sign}{text} {unit}".strip()


def as_judged(comparison: Comparison, verdict: str | None) -> Comparison:
    """Return a comparison with the limits that its verdict went by.

    They are those of level 1 - 2a where it is alike, and none where nothing can be tested.
    """
    if verdict == "untestable":
        return replace(
            comparison, ratio_low=None, ratio_high=None, difference_low=None, difference_high=None
        )
    if verdict != "alike":
        return comparison
    return replace(comparison, ratio_low=comparison.alike_low, ratio_high=comparison.alike_high)


def limits_of_change(result: MeasureResult, comparison: Comparison) -> str:
    """Return the limits of a change in words: `5% to 41% more`; empty where there are none."""
    if comparison.ratio is not None:
        has_limits = comparison.ratio_low is not None or comparison.ratio_high is not None
        if has_limits:
            return interval(comparison)
        return ""
    low, high = comparison.difference_low, comparison.difference_high
    if low is None or high is None:
        return ""
    decimals = numbers.decimals_of(comparison.difference or 0.0, low, high)
    unit = language.unit(result.measure.unit or UNITLESS.get(result.measure.key, ""))
    return f"{numbers.span(numbers.fixed(low, decimals), numbers.fixed(high, decimals))} {unit}".strip()


def _share_text(estimate: Estimate) -> str:
    if estimate.value is None:
        return numbers.not_known()
    value = numbers.share(estimate.value, estimate.low, estimate.high)
    if estimate.low is None or estimate.high is None:
        return say("{value} (no interval)", value=value)
    return f"{value} ({numbers.span(numbers.share(estimate.low), numbers.share(estimate.high))})"


def label_in_units(versions: Sequence[MeasureResult]) -> str:
    """Return a measure's label with its unit in each system of display, as heads `4.6 (130)`."""
    if len(versions) == 1:
        return label_of(versions[0])
    return f"{terms.label(versions[0].measure)}, {unit_text(versions)}"


def values_text(trial: Trial, result: MeasureResult) -> str:
    """Return every treatment's figure in one sentence, for a figure's text alternative."""
    parts = tuple(
        f"{name_of(trial, code)} {estimate_text(result, estimate)}"
        for code, estimate in result.estimates
    )
    return f"{label_of(result)}: {'; '.join(parts)}."


def limits_as_judged(
    trial: Trial, result: MeasureResult, comparison: Comparison, verdict: str | None
) -> str:
    """Return the limits that a verdict went by: `3% to 10% more (90%)` if of another level."""
    limits = limits_of_change(result, as_judged(comparison, verdict))
    if verdict == "alike" and limits:
        return say(OF_LEVEL, limits=limits, level=level_of_alike(trial))
    return limits


def level_of_alike(trial: Trial) -> str:
    """Return the level of the interval by which two figures are called alike, in percent."""
    return numbers.percent_level(2 * trial.confidence_level - 1)
