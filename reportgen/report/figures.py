"""Figures with their captions and the texts that say what they show."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from reportgen.metrics.energy import metered
from reportgen.metrics.price import costs_of_gram, per_gram
from reportgen.metrics.totals import fresh_weight, planted, water_by_tray
from reportgen.model.document import Figure
from reportgen.model.results import FactorOfRatio, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import numbers, wording

if TYPE_CHECKING:
    import altair as alt


def _figure(key: str, chart: "alt.TopLevelMixin | None", caption: str, alternative: str) -> tuple[Figure, ...]:
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


def growth_curves(trial: Trial) -> tuple[Figure, ...]:
    """Return a chart of each growth trait over time."""
    from reportgen.charts.curves import growth as chart

    word = wording.unit_of(trial)
    return tuple(
        figure
        for place, trait in enumerate(trial.growth_traits)
        for figure in _figure(
            f"growth-{trait.key.replace('_', '-')}",
            chart(trial, trait.key),
            f"{trait.label} while the plants grew: thin lines for each {word}, strong ones for each treatment.",
            _growth_text(trial, place),
        )
    )


def _growth_text(trial: Trial, place: int) -> str:
    trait = trial.growth_traits[place]
    measured = [(one.on, value) for one in trial.growth if (value := one.values[place]) is not None]
    if not measured:
        return ""
    first, last = min(day for day, _ in measured), max(day for day, _ in measured)
    values = [value for _, value in measured]
    return (
        f"{len(measured)} measurements of {trait.label} from {numbers.day(first)} to {numbers.day(last)}, from "
        f"{min(values):.3g} to {max(values):.3g} {trait.unit}.".replace(" .", ".")
    )


def light_map(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the map of PPFD of each treatment."""
    from reportgen.charts.light import ppfd_map

    keys = ("ppfd", "ppfd_uniformity", "dli")
    found = [result for key in keys if (result := wording.result_of(results, key)) is not None]
    said = " ".join(wording.values_text(trial, result) for result in found)
    caption = "Light (PPFD) at the canopy, each square a place. Lighter squares have more light; one scale for all."
    return _figure("light-map", ppfd_map(trial), caption, said)


def climate(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the bands of temperature, humidity and vapour pressure deficit over time."""
    from reportgen.charts.climate import bands, by_day
    from reportgen.metrics.climate import deficit

    if trial.climate is None:
        return ()
    log = trial.climate
    daily = (
        *by_day(log, "Air temperature (°C)", log.air_temperature),
        *by_day(log, "Relative humidity (%)", log.relative_humidity),
        *by_day(log, "Vapour pressure deficit (kPa)", deficit(log)),
    )
    keys = ("air_temperature", "relative_humidity", "vpd")
    found = [result for key in keys if (result := wording.result_of(results, key)) is not None]
    said = " ".join(wording.values_text(trial, result) for result in found)
    caption = "The air day by day: the line is the day's mean, the band reaches from its lowest to its highest reading."
    return _figure("climate", bands(trial, daily), caption, said)


def chains(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the chain of factors of each ratio and treatment."""
    return tuple(
        figure
        for of, treatment in dict.fromkeys((one.of, one.treatment) for one in results.factors)
        for figure in _chain(trial, results, of, treatment)
    )


def _chain(trial: Trial, results: Results, of: str, treatment: str) -> tuple[Figure, ...]:
    from reportgen.charts.chain import factors

    result = wording.result_of(results, of)
    rows = [one for one in results.factors if (one.of, one.treatment) == (of, treatment)]
    if result is None:
        return ()
    whole = dict(result.comparisons)[treatment]
    product = FactorOfRatio(of, treatment, result.measure.label, whole.ratio, whole.ratio_low, whole.ratio_high)
    said = "; ".join(f"{one.factor} {numbers.ratio(one.ratio, one.low, one.high)}" for one in rows)
    name, reference = wording.name_of(trial, treatment), wording.name_of(trial, trial.reference)
    caption = (
        f"{result.measure.label} of {name} beside {reference}, taken apart: the factors multiply to the last row. "
        f"Lines: {numbers.percent_level(trial.confidence_level)} intervals."
    )
    key = f"factors-{of.replace('_', '-')}-{[one.code for one in trial.treatments].index(treatment) + 1}"
    return _figure(key, factors(trial, rows, product), caption, f"In percent of {reference}: {said}.")


def cost_against_price(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the chart of a gram's cost against the price of electricity."""
    from reportgen.charts.price import CostLine, cost_against_price

    costs = costs_of_gram(trial, by_key(results))
    lines = [CostLine(one.treatment, one.fixed, one.energy) for one in costs]
    said = "; ".join(
        f"{wording.name_of(trial, one.treatment)} {numbers.plain(one.fixed)} {trial.currency}/g and "
        f"{numbers.plain(one.energy)} kWh/g"
        for one in costs
    )
    caption = (
        "What a gram costs at other prices of electricity. Where two lines cross, both treatments cost the same; the "
        "vertical line is this trial's price."
    )
    chart = cost_against_price(trial, lines)
    return _figure("cost-against-price", chart, caption, f"Cost without electricity, and energy, of a gram: {said}.")


def cost_parts(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the chart of a gram's cost by component."""
    from reportgen.charts.price import CostPart, components
    from reportgen.metrics.cost import cost_components

    yields = wording.result_of(results, "tray_yield")
    if yields is None or wording.result_of(results, "running_cost_per_gram") is None:
        return ()
    grams = {code: each.value for code, each in yields.estimates}
    parts = [
        CostPart(code, part.name, per_gram(part.per_tray, grams[code]))
        for code, found in cost_components(trial).items()
        for part in found
    ]
    said = "; ".join(
        f"{wording.name_of(trial, part.treatment)}, {part.component} {numbers.plain(part.cost)}" for part in parts
    )
    caption = "What a gram cost, by component."
    return _figure("cost-parts", components(trial, parts), caption, f"In {trial.currency}/g: {said}.")


def by_key(results: Results) -> dict[str, MeasureResult]:
    """Return the results of measures by their keys."""
    return {result.measure.key: result for result in results.measures}
