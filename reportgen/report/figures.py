"""Figures with their captions and the texts that say what they show."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from reportgen.metrics.energy import metered
from reportgen.metrics.totals import fresh_weight, planted, water_by_tray
from reportgen.model.document import Figure
from reportgen.model.results import MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import numbers, wording

if TYPE_CHECKING:
    import altair as alt


def _figure(key: str, chart: "alt.LayerChart | None", caption: str, alternative: str) -> tuple[Figure, ...]:
    from reportgen.charts.theme import spec

    return () if chart is None else (Figure(key, caption, alternative, spec(chart)),)


def overview(trial: Trial, results: Results, keys: tuple[str, ...]) -> tuple[Figure, ...]:
    """Return the chart of key measures relative to the reference."""
    from reportgen.charts.overview import relative_to_reference

    reference = wording.name_of(trial, trial.reference)
    level = numbers.percent_level(trial.confidence_level)
    caption = (
        f"Each measure relative to {reference} = 100{numbers.PER_CENT}. "
        f"Dot: what was measured; line: {level} interval. "
        f"A line that crosses 100{numbers.PER_CENT} means that the trial does not tell more from less."
    )
    alternative = wording.relative_text(trial, results, keys)
    return _figure("overview", relative_to_reference(trial, results, keys), caption, alternative)


def layout(trial: Trial) -> tuple[Figure, ...]:
    """Return the plan of where each tray stood."""
    from reportgen.charts.layout import layout_plan

    trays = wording.unit_of(trial, 2)
    said = "; ".join(
        f"{tray.code} ({wording.name_of(trial, tray.treatment)})"
        + (f" in block {tray.block}" if tray.block else "")
        + (f" at {tray.position}" if tray.position else "")
        for tray in planted(trial)
    )
    return _figure("layout", layout_plan(trial), f"Where the {trays} stood.", f"Places of the {trays}: {said}.")


def plants(trial: Trial, result: MeasureResult) -> tuple[Figure, ...]:
    """Return the chart of every plant's fresh weight by tray."""
    from reportgen.charts.growth import plants_by_tray

    word = wording.unit_of(trial)
    level = numbers.percent_level(trial.confidence_level)
    caption = (
        f"Fresh weight of every harvested plant, by {word}, with each {word}'s mean and each treatment's mean "
        f"and {level} interval. The {word}s, not the plants, carry the comparison."
    )
    return _figure("plants", plants_by_tray(trial, result), caption, wording.values_text(trial, result))


def estimates(trial: Trial, result: MeasureResult) -> tuple[Figure, ...]:
    """Return the chart of one measure: each treatment's figure with interval, and its trays."""
    from reportgen.charts.growth import estimates as chart

    word = wording.unit_of(trial)
    level = numbers.percent_level(trial.confidence_level)
    caption = f"{result.measure.label} by treatment, with its {level} interval; small marks: the {word}s."
    key = result.measure.key.replace("_", "-")
    return _figure(key, chart(trial, result), caption, wording.values_text(trial, result))


def water_events(trial: Trial) -> tuple[Figure, ...]:
    """Return the chart of solution put into and taken out of each tray."""
    from reportgen.charts.water import water_by_event

    used = water_by_tray(trial.solution)
    said = "; ".join(f"{tray.code} {numbers.plain(used.get(tray.code))} L" for tray in trial.trays)
    word = wording.unit_of(trial)
    caption = f"Nutrient solution by {word}: put in above the line, taken out below it. The sum is the water used."
    return _figure("water-by-event", water_by_event(trial), caption, f"Water used by {word}: {said}.")


def weight_and_water(trial: Trial) -> tuple[Figure, ...]:
    """Return the chart of each tray's fresh weight against its water use."""
    from reportgen.charts.water import weight_against_water

    used = water_by_tray(trial.solution)
    weight = {tray.code: float(sum_) for tray, sum_ in zip(planted(trial), fresh_weight(trial), strict=True)}
    both = [code for code in weight if code in used]
    if len(both) < 2:
        return ()
    word = wording.unit_of(trial)
    said = "; ".join(f"{code} {numbers.plain(used[code])} L, {numbers.plain(weight[code])} g" for code in both)
    chart = weight_against_water(trial, {code: used[code] for code in both}, {code: weight[code] for code in both})
    caption = f"Fresh weight harvested from each {word} against the water it used."
    return _figure("weight-and-water", chart, caption, f"By {word}: {said}.")


def solution(trial: Trial) -> tuple[Figure, ...]:
    """Return the charts of EC and pH over time."""
    from reportgen.charts.water import solution_over_time

    ec = [event.ec for event in trial.solution if event.ec is not None]
    ph = [event.ph for event in trial.solution if event.ph is not None]
    return (
        *_figure(
            "ec", solution_over_time(trial, "ec"), "EC of the nutrient solution over time.", _range("EC", ec, " mS/cm")
        ),
        *_figure("ph", solution_over_time(trial, "ph"), "pH of the nutrient solution over time.", _range("pH", ph, "")),
    )


def _range(name: str, values: Sequence[float], unit: str) -> str:
    if not values:
        return ""
    return f"{len(values)} readings of {name}, from {min(values):.3g} to {max(values):.3g}{unit}."


def energy(trial: Trial) -> tuple[Figure, ...]:
    """Return the chart of cumulative energy by meter."""
    from reportgen.charts.energy import energy_over_time

    counted = metered(trial)
    if not counted:
        return ()
    series = tuple((treatment or "", readings) for (_, treatment), readings in counted.items())
    said = "; ".join(
        f"{wording.name_of(trial, treatment) if treatment else 'shared by all'} {numbers.plain(readings[-1][1])} kWh"
        for (_, treatment), readings in counted.items()
    )
    caption = "Electricity since the first reading of each meter."
    return _figure("energy-over-time", energy_over_time(trial, series), caption, f"At the last reading: {said}.")
