"""Bands over time: growth, pickings, electricity, the solution and the air."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from reportgen.language import marked, marked_plural, plural, say
from reportgen.metrics.energy import metered
from reportgen.model.document import Figure
from reportgen.model.results import GrowthOverTime, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import figure_texts, figure_titles, numbers, terms, units, wording
from reportgen.report.figures.drawing import drawn

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

EC_READINGS: Final = marked_plural(
    "{number} reading of EC, from {low} to {high} mS/cm.",
    "{number} readings of EC, from {low} to {high} mS/cm.",
)
PH_READINGS: Final = marked_plural(
    "{number} reading of pH, from {low} to {high}.",
    "{number} readings of pH, from {low} to {high}.",
)
EC_RANGE: Final = marked("EC lay between {low} and {high} mS/cm")
PH_RANGE: Final = marked("pH lay between {low} and {high}")
INTERVALS: Final = marked("Line: mean of the {units}; band: its {level} interval, day by day.")
STEPS: Final = marked(
    "A step a day of picking. Line: mean of the {units}; band and bar: its {level} interval."
)
RANGES: Final = marked(
    "Line: median of a treatment's {units}; band: from the lowest to the highest."
)
METERS: Final = marked(
    "A line for each treatment; where it has several meters, their median and range."
)
MOST_METERS: Final = 2  # that a title names one by one
AIR: Final = marked("Line: mean of each day; band: from its lowest to its highest reading.")


def cumulative_yields(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the chart of what treatments had given by each day of picking.

    Of what can be sold where it was graded.
    """
    from reportgen.charts.harvests import cumulative_yield

    if not results.harvests:
        return ()
    found = units.over_days(results.harvests[-1])
    last = found.days[-1]
    result = MeasureResult(found.measure, last.estimates, ())
    said = say(
        "By the last day of picking, {day}: {figures}",
        day=numbers.day(last.on),
        figures=figure_texts.values_text(trial, result),
    )
    return drawn(
        "cumulative-yield",
        lambda width: cumulative_yield(trial, found, width),
        say(STEPS, **_known(trial)),
        said,
        figure_titles.over_time(terms.label(found.measure)),
    )


def growth_curve(trial: Trial, found: GrowthOverTime) -> tuple[Figure, ...]:
    """Return the chart of a growth trait over time."""
    from reportgen.charts.curves import growth

    found = units.over_days(found)
    last = found.days[-1]
    result = MeasureResult(found.measure, last.estimates, ())
    said = say(
        "On {day}: {figures}",
        day=numbers.day(last.on),
        figures=figure_texts.values_text(trial, result),
    )
    return drawn(
        found.measure.key.replace("_", "-"),
        lambda width: growth(trial, found, width),
        say(INTERVALS, **_known(trial)),
        said,
        figure_titles.over_time(terms.label(found.measure)),
    )


def _known(trial: Trial) -> dict[str, str]:
    return {
        "units": wording.unit_of(trial, 2),
        "level": numbers.percent_level(trial.confidence_level),
    }


def energy(trial: Trial) -> tuple[Figure, ...]:
    """Return the chart of cumulative energy of each treatment's meters."""
    from reportgen.charts.energy import energy_over_time

    counted = metered(trial)
    if not counted:
        return ()
    shared = say("shared by all")
    series = tuple((treatment or "", readings) for (_, treatment), readings in counted.items())
    totals = [
        (wording.name_of(trial, treatment) if treatment else shared, readings[-1][1])
        for (_, treatment), readings in counted.items()
    ]
    said = "; ".join(_used(total) for total in totals)
    return drawn(
        "energy-over-time",
        lambda width: energy_over_time(trial, series, width),
        say(METERS),
        say("At the last reading: {figures}.", figures=said),
        _energy_title(totals),
    )


def _used(total: tuple[str, float]) -> str:
    return f"{total[0]} {numbers.plain(total[1])} kWh"


def _energy_title(totals: Sequence[tuple[str, float]]) -> str:
    """Return what each of two meters counted, or the least and the most of several."""
    ordered = sorted(totals, key=lambda total: total[1])
    if len(ordered) > MOST_METERS:
        low, high = numbers.plain(ordered[0][1]), numbers.plain(ordered[-1][1])
        return say("Electricity by the last reading: from {low} to {high} kWh", low=low, high=high)
    return say(
        "Electricity by the last reading: {figures}",
        figures=numbers.listed(tuple(map(_used, totals))),
    )


def solution(trial: Trial) -> tuple[Figure, ...]:
    """Return the charts of EC and pH over time."""
    from reportgen.charts.water import solution_over_time

    ec = [event.ec for event in trial.solution if event.ec is not None]
    ph = [event.ph for event in trial.solution if event.ph is not None]
    caption = say(RANGES, units=wording.unit_of(trial, 2))
    strength = drawn(
        "ec",
        lambda width: solution_over_time(trial, "ec", width),
        caption,
        _readings(EC_READINGS, ec),
        _between(EC_RANGE, ec),
    )
    acidity = drawn(
        "ph",
        lambda width: solution_over_time(trial, "ph", width),
        caption,
        _readings(PH_READINGS, ph),
        _between(PH_RANGE, ph),
    )
    return (*strength, *acidity)


def _readings(messages: tuple[str, str], values: Sequence[float]) -> str:
    if not values:
        return ""
    low, high = numbers.three_digits(min(values)), numbers.three_digits(max(values))
    return plural(*messages, len(values), low=low, high=high)


def _between(message: str, values: Sequence[float]) -> str:
    if not values:
        return ""
    return say(
        message, low=numbers.three_digits(min(values)), high=numbers.three_digits(max(values))
    )


def climate(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the bands of temperature, humidity and vapour pressure deficit over time, a figure
    each.
    """
    from reportgen.metrics.climate import deficit

    if trial.climate is None:
        return ()
    log = trial.climate
    quantities = (
        ("air_temperature", say("Air temperature"), "°C", log.air_temperature),
        ("relative_humidity", say("Relative humidity"), "%", log.relative_humidity),
        ("vpd", say("Vapour pressure deficit"), "kPa", deficit(log)),
    )
    found: list[Figure] = []
    for key, label, unit, values in quantities:
        shown = units.shown_as(unit, units.current().system, 0.0)
        in_unit = values * shown.factor + shown.offset
        found += _air(trial, results, key, f"{label} ({shown.unit})", in_unit)
    return tuple(found)


def _air(
    trial: Trial, results: Results, key: str, quantity: str, values: "NDArray[np.float64]"
) -> tuple[Figure, ...]:
    from reportgen.charts.climate import bands, by_day

    log = trial.climate
    if log is None:
        return ()
    result = wording.result_of(results, key)
    if result is not None:
        said = figure_texts.values_text(trial, units.versions(result, units.current())[0])
    else:
        said = quantity
    title = figure_titles.over_time(terms.label(result.measure) if result is not None else quantity)
    daily = by_day(log, quantity, values)
    return drawn(
        f"climate-{key.replace('_', '-')}",
        lambda width: bands(trial, daily, width),
        say(AIR),
        said,
        title,
    )
