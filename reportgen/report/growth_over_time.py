"""Growth over time: the curve of each trait, whether one rate holds, and the rates by period."""

from collections.abc import Mapping, Sequence
from math import exp, expm1
from typing import Final

from reportgen import language
from reportgen.language import marked, percent, say
from reportgen.model.document import Block, Bullets, Paragraph, Subheading, Table
from reportgen.model.results import (
    Comparison,
    Estimate,
    GrowthOverTime,
    GrowthPeriod,
    GrowthShape,
    Results,
)
from reportgen.model.trial import Trial
from reportgen.report import figures, numbers, ratios, terms, units, wording
from reportgen.stats.straightness import ALPHA

EVEN: Final = marked(
    "{name} grew by {rate} a day, evenly: a straight line fits the logarithms of its {units} (p"
    " value of a bend {p_value})."
)
TWO_DAYS: Final = marked(
    "{name} grew by {rate} a day between its two days of measuring; two days cannot show whether it"
    " grew evenly."
)
UNTESTED: Final = marked(
    "Whether {name} grew evenly cannot be tested with {counted}: only its rates by period are"
    " given."
)
UNEVEN: Final = marked(
    "{name} grew unevenly: no single rate holds (p value of a straight line {p_value})."
)
SLOWER: Final = marked(
    "{name} grew by {before} a day until {day}, then slower, by {after} a day: no single rate holds"
    " (p value of a straight line {p_value})."
)
FASTER: Final = marked(
    "{name} grew by {before} a day until {day}, then faster, by {after} a day: no single rate holds"
    " (p value of a straight line {p_value})."
)
SLOWED: Final = marked(
    "{name} slowed from {before} to {after} a day: no single rate holds (p value of a straight line"
    " {p_value})."
)
QUICKENED: Final = marked(
    "{name} quickened from {before} to {after} a day: no single rate holds (p value of a straight"
    " line {p_value})."
)
CHANGED: Final = marked(
    "{name} changed by {before} a day until {day}, then by {after} a day: no single rate holds (p"
    " value of a straight line {p_value})."
)
CHANGED_EVENLY: Final = marked(
    "{name} changed by {rate} a day, evenly: a straight line fits the logarithms of its {units} (p"
    " value of a bend {p_value})."
)
RULE: Final = marked(
    "One rate holds where a straight line fits the logarithm over time. A polynomial is fitted to"
    " each {unit}; the line does not fit where the mean of the {units}' bends or S shapes differs"
    " from none (Student's t, p below {alpha}, Bonferroni for the two)."
)
RATES_NOTE: Final = marked(
    "In brackets: {level} intervals, of each day or period by itself. Rates are relative growth"
    " rates, the change of the logarithm by day (Blackman, Fisher), as percent a day. Plants are"
    " followed one by one where they were told apart."
)
COMPARED_NOTE: Final = marked(
    "How large plants would be at the end of a period if all had begun it alike. Each period is"
    " compared by itself."
)
TOGETHER: Final = marked(
    "Intervals and p values of one period hold for all its treatments together."
)
DAYS_NOTE: Final = marked("In brackets: {level} intervals, of each day by itself.")


def blocks(trial: Trial, results: Results) -> tuple[Block, ...]:
    """Return what is said and shown of every growth trait.

    Sizes by day stand in a table where no curve shows them.

    An unfinished trial is not judged: each look at a test while data come in finds more by chance.
    """
    found: list[Block] = []
    for growth in results.growth:
        found.append(Subheading(say("{trait} over time", trait=terms.label(growth.measure))))
        curve = figures.growth_curve(trial, growth)
        found += curve
        if not trial.interim:
            found.append(_sentences(trial, results, growth))
        found += (
            _tables(trial, growth) if curve else [_sizes(trial, growth), *_tables(trial, growth)]
        )
    found += [Paragraph(_on_rates(trial, results))] if found else []
    return tuple(found)


def _on_rates(trial: Trial, results: Results) -> str:
    """Return how the rates of all traits came about, and by which rule one rate holds."""
    level = numbers.percent_level(trial.confidence_level)
    said = say(RATES_NOTE, level=level)
    is_tested = any(
        shape.p_value is not None for growth in results.growth for shape in growth.shapes
    )
    if is_tested and not trial.interim:
        return f"{said} {_rule(trial)}"
    return said


def _sentences(trial: Trial, results: Results, growth: GrowthOverTime) -> Block:
    """Return in a sentence for each treatment whether one rate holds."""
    rates = wording.result_of(results, growth.rate_key)
    if rates:
        estimates = dict(rates.estimates)
    else:
        estimates = {}
    return Bullets(
        tuple(sentence(trial, shape, estimates.get(shape.treatment)) for shape in growth.shapes)
    )


def sentence(trial: Trial, shape: GrowthShape, estimate: Estimate | None) -> str:
    """Return whether one rate describes a treatment, and which; else when its growth turned."""
    values = {
        "name": wording.name_of(trial, shape.treatment),
        "units": wording.unit_of(trial, 2),
        "counted": wording.units_counted(trial, shape.trays),
        "p_value": numbers.p_value(shape.p_value),
    }
    if shape.has_single_rate and estimate is not None and estimate.value is not None:
        return say(_single(shape, estimate.value), rate=_with_limits(estimate), **values)
    if shape.rate_before is None or shape.rate_after is None:
        if shape.code == "untested":
            unexplained = UNTESTED
        else:
            unexplained = UNEVEN
        return say(unexplained, **values)
    before, after = per_day(shape.rate_before), per_day(shape.rate_after)
    if shape.turn_on is None:
        if shape.code == "slower":
            steadily = SLOWED
        else:
            steadily = QUICKENED
        return say(steadily, before=before, after=after, **values)
    message = _turned(shape, min(shape.rate_before, shape.rate_after))
    return say(message, before=before, after=after, day=numbers.day(shape.turn_on), **values)


def _single(shape: GrowthShape, rate: float) -> str:
    if shape.code == "two_days":
        return TWO_DAYS
    if rate > 0:
        return EVEN
    return CHANGED_EVENLY


def _turned(shape: GrowthShape, lower: float) -> str:
    """Return the message for a treatment whose growth turned; what shrank did not grow slower."""
    by_code: Mapping[str, str] = {"slower": SLOWER, "faster": FASTER}
    if lower <= 0:
        return CHANGED
    return by_code.get(shape.code, CHANGED)


def per_day(rate: float) -> str:
    """Return a relative growth rate, 1/d, as percent a day."""
    return percent(numbers.plain(100 * expm1(rate)))


def _with_limits(estimate: Estimate) -> str:
    """Return a rate as percent a day with its interval."""
    return numbers.with_interval(*_in_percent(estimate), unit="%")


def _in_percent(estimate: Estimate) -> tuple[float | None, float | None, float | None]:
    value, low, high = (
        None if rate is None else 100 * expm1(rate)
        for rate in (estimate.value, estimate.low, estimate.high)
    )
    return value, low, high


def _tables(trial: Trial, growth: GrowthOverTime) -> list[Table]:
    """Return rates by period, and how treatments differ in each period."""
    tables = [_rates(trial, growth)]
    rows = [row for period in growth.periods for row in _compared(trial, period)]
    if rows:
        return [*tables, _comparisons(trial, growth, rows)]
    return tables


def _sizes(trial: Trial, found: GrowthOverTime) -> Table:
    found = units.over_days(found)
    rows: list[tuple[str, ...]] = []
    for day in found.days:
        sizes = (
            numbers.with_interval(each.value, each.low, each.high) for _, each in day.estimates
        )
        rows.append((language.short_day(day.on), *sizes))
    label, unit = terms.label(found.measure), language.unit(found.measure.unit)
    caption = say(
        "{measure} on each day of measuring", measure=f"{label} ({unit})" if unit else label
    )
    note = say(DAYS_NOTE, level=numbers.percent_level(trial.confidence_level))
    head = _head(trial, say("Date"))
    return Table(_key(found, "sizes"), caption, head, tuple(rows), _numeric(head), note)


def _rates(trial: Trial, growth: GrowthOverTime) -> Table:
    rows: list[tuple[str, ...]] = []
    for period in growth.periods:
        rates = (numbers.with_interval(*_in_percent(each)) for _, each in period.estimates)
        rows.append((_period_text(period), *rates))
    label = terms.label(growth.measure)
    caption = say(
        "{measure}: growth from one day of measuring to the next (% a day)", measure=label
    )
    head = _head(trial, say("Period"))
    return Table(_key(growth, "rates"), caption, head, tuple(rows), _numeric(head))


def _rule(trial: Trial) -> str:
    """Return by which rule one rate holds."""
    alpha = language.figure(f"{ALPHA:g}")
    return say(RULE, unit=wording.unit_of(trial), units=wording.unit_of(trial, 2), alpha=alpha)


def _head(trial: Trial, first: str) -> tuple[str, ...]:
    return (first, *(treatment.name for treatment in trial.treatments))


def _numeric(head: Sequence[str]) -> tuple[bool, ...]:
    """Return that all columns but the first are numbers."""
    return (False, *(True for _ in head[1:]))


def _key(growth: GrowthOverTime, kind: str) -> str:
    return f"{growth.measure.key.replace('_', '-')}-{kind}"


def _compared(trial: Trial, period: GrowthPeriod) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for code, each in period.comparisons:
        if each.p_adjusted is None:
            p_value = each.p_value
        else:
            p_value = each.p_adjusted
        ratio = ratios.ratio(*_over_period(period, each))
        rows.append(
            (_period_text(period), wording.name_of(trial, code), ratio, numbers.p_value(p_value))
        )
    return rows


def _over_period(
    period: GrowthPeriod, comparison: Comparison
) -> tuple[float | None, float | None, float | None]:
    """Return how large plants are to the reference's at the end of a period that all begin alike,
    with limits.
    """
    days = (period.end - period.start).days
    rates = (comparison.difference, comparison.difference_low, comparison.difference_high)
    ratio, low, high = (None if rate is None else exp(rate * days) for rate in rates)
    return ratio, low, high


def _comparisons(trial: Trial, growth: GrowthOverTime, rows: Sequence[tuple[str, ...]]) -> Table:
    reference = wording.name_of(trial, trial.reference)
    level = numbers.percent_level(trial.confidence_level)
    head = (
        say("Period"),
        say("Treatment"),
        say("% of {reference} ({level} interval)", reference=reference, level=level),
        say("p value"),
    )
    caption = say(
        "{measure}: growth by period, compared with the reference",
        measure=terms.label(growth.measure),
    )
    key, note = _key(growth, "compared"), say(COMPARED_NOTE)
    if len(trial.treatments) == 2:
        of_one = tuple((when, *figures) for when, _, *figures in rows)
        return Table(key, caption, (head[0], *head[2:]), of_one, (False, True, True), note)
    return Table(
        key, caption, head, tuple(rows), (False, False, True, True), f"{note} {say(TOGETHER)}"
    )


def _period_text(period: GrowthPeriod) -> str:
    return language.period(period.start, period.end)
