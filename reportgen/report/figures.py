"""Figures with their captions and the texts that say what they show."""

from collections.abc import Sequence
from dataclasses import replace
from math import exp, isfinite
from typing import TYPE_CHECKING

from reportgen import language
from reportgen.language import marked, marked_plural, percent, plural, say
from reportgen.metrics.basis import bases_of
from reportgen.metrics.blocks import is_blocked
from reportgen.metrics.energy import metered
from reportgen.metrics.plant_measure import plant_measure
from reportgen.metrics.price import costs_of_gram, per_gram
from reportgen.metrics.residuals import residuals as residuals_of
from reportgen.metrics.totals import is_one_plant_each, planted, water_by_tray
from reportgen.model.document import Figure
from reportgen.model.factor_results import DoseTrend
from reportgen.model.results import (
    FactorOfRatio,
    GrowthOverTime,
    MeasureResiduals,
    MeasureResult,
    Results,
    TreatmentSpread,
)
from reportgen.model.trial import Tray, Trial
from reportgen.report import figure_titles, numbers, terms, wording

if TYPE_CHECKING:
    import altair as alt


EC_READINGS = marked_plural(
    "{number} reading of EC, from {low} to {high} mS/cm.", "{number} readings of EC, from {low} to {high} mS/cm."
)
PH_READINGS = marked_plural(
    "{number} reading of pH, from {low} to {high}.", "{number} readings of pH, from {low} to {high}."
)
UNCURVED = marked(
    "{measure} along {factor}. Small marks: {units}; large marks and lines: figure of each dose with its {level} "
    "interval. No curve is drawn, as none fits."
)
UNCURVED_BESIDE = marked("{measure} along {factor}. Marks: {units}. No curve is drawn, as none fits.")
TURNING_POINT = marked("Diamond: where the curve turns, with the interval of that dose.")


def _figure(
    key: str, chart: "alt.TopLevelMixin | None", caption: str, alternative: str, title: str = ""
) -> tuple[Figure, ...]:
    from reportgen.charts.narrow import narrow
    from reportgen.charts.theme import NARROW, spec

    if chart is None:
        return ()
    wide = spec(chart)
    return (Figure(key, caption, alternative, wide, title, narrow(wide, NARROW) or ""),)


def overview(trial: Trial, results: Results, keys: tuple[str, ...]) -> tuple[Figure, ...]:
    """Return the chart of key measures relative to the reference."""
    from reportgen.charts.overview import relative_to_reference

    reference = wording.name_of(trial, trial.reference)
    level = numbers.percent_level(trial.confidence_level)
    message = marked(
        "Each measure relative to {reference} = {whole}. Dot: what was measured; line: {level} interval. A line that "
        "crosses {whole} means that the trial does not tell more from less."
    )
    caption = say(message, reference=reference, whole=percent("100"), level=level)
    caption = f"{caption} {wording.doubted(trial, results, keys)}".strip()
    alternative = wording.relative_text(trial, results, keys)
    title = figure_titles.of_changes(trial, results, keys)
    return _figure("overview", relative_to_reference(trial, results, keys), caption, alternative, title)


def layout(trial: Trial) -> tuple[Figure, ...]:
    """Return the plan of where each tray stood."""
    from reportgen.charts.layout import layout_plan

    units = wording.unit_of(trial, 2)
    said = "; ".join(_place(trial, tray) for tray in planted(trial))
    alternative = say("Places of the {units}: {places}.", units=units, places=said)
    return _figure("layout", layout_plan(trial), say("Where the {units} stood.", units=units), alternative)


def _place(trial: Trial, tray: Tray) -> str:
    known = {"tray": tray.code, "name": wording.name_of(trial, tray.treatment)}
    if tray.block and tray.position:
        return say("{tray} ({name}) in block {block} at {position}", block=tray.block, position=tray.position, **known)
    if tray.block:
        return say("{tray} ({name}) in block {block}", block=tray.block, **known)
    return say("{tray} ({name}) at {position}", position=tray.position, **known) if tray.position else _named(known)


def _named(known: dict[str, str]) -> str:
    return f"{known['tray']} ({known['name']})"


def plants(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the chart of what plants are compared by, every plant by tray."""
    from reportgen.charts.growth import plants_by_tray

    measure = plant_measure(trial)
    result = wording.result_of(results, measure.key) if measure else None
    if measure is None or result is None:
        return ()
    message = marked(
        "{measure} of every plant measured, by {unit}, with each {unit}'s mean and each treatment's mean and "
        "{level} interval. The {units}, not the plants, carry the comparison."
    )
    together = marked(
        "{measure} of a plant, by {unit}: the mean of those that were weighed together, with each treatment's mean "
        "and {level} interval. The {units}, not the plants, carry the comparison."
    )
    alone = marked(
        "{measure} of every harvested plant, each in a {unit} of its own, with each treatment's mean and {level} "
        "interval."
    )
    if any(plant.number > 1 for plant in trial.plants):
        message = together
    if is_one_plant_each(trial):
        message = alone
    known = {"unit": wording.unit_of(trial), "units": wording.unit_of(trial, 2)}
    level = numbers.percent_level(trial.confidence_level)
    caption = say(message, measure=terms.label(result.measure), level=level, **known)
    trait = None if measure.position is None else trial.traits[measure.position].key
    chart = plants_by_tray(trial, result, trait)
    title = figure_titles.of_measure(trial, results, result)
    return _figure("plants", chart, caption, wording.values_text(trial, result), title)


def estimates(trial: Trial, result: MeasureResult) -> tuple[Figure, ...]:
    """Return the chart of one measure: each treatment's figure with interval, and its trays."""
    from reportgen.charts.growth import estimates as chart

    caption = say(
        "{measure} by treatment, with its {level} interval; small marks: the {units}.",
        measure=terms.label(result.measure),
        level=numbers.percent_level(trial.confidence_level),
        units=wording.unit_of(trial, 2),
    )
    key = result.measure.key.replace("_", "-")
    return _figure(key, chart(trial, result), caption, wording.values_text(trial, result))


def cumulative_yields(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the chart of what treatments had given by each day of picking: of what can be sold where it was graded."""
    from reportgen.charts.harvests import cumulative_yield

    if not results.harvests:
        return ()
    found = results.harvests[-1]
    last = found.days[-1]
    result = MeasureResult(found.measure, last.estimates, ())
    message = marked(
        "{measure} added up over the days of picking: a step a day. Line: mean of the {units}; band, and bar on "
        "the last day: its {level} interval, of each day by itself."
    )
    level = numbers.percent_level(trial.confidence_level)
    units = wording.unit_of(trial, 2)
    caption = say(message, measure=terms.label(found.measure), units=units, level=level)
    said = say(
        "By the last day of picking, {day}: {figures}",
        day=numbers.day(last.on),
        figures=wording.values_text(trial, result),
    )
    return _figure("cumulative-yield", cumulative_yield(trial, found), caption, said)


def water_events(trial: Trial) -> tuple[Figure, ...]:
    """Return the chart of solution put into and taken out of each tray."""
    from reportgen.charts.water import water_by_event

    used = water_by_tray(trial.solution)
    said = "; ".join(f"{tray.code} {numbers.plain(used.get(tray.code))} L" for tray in trial.trays)
    word = wording.unit_of(trial)
    message = marked(
        "Nutrient solution by {unit}: put in above the line, taken out below it. The sum is the water used."
    )
    so_far = marked("Nutrient solution by {unit} so far: put in above the line, taken out below it.")
    caption = say(so_far if trial.interim else message, unit=word)
    alternative = say("Water used by {unit}: {volumes}.", unit=word, volumes=said)
    return _figure("water-by-event", water_by_event(trial), caption, alternative)


def weight_and_water(trial: Trial) -> tuple[Figure, ...]:
    """Return the chart of the weight that each tray gave against its water use."""
    from reportgen.charts.water import weight_against_water

    used = water_by_tray(trial.solution)
    basis = bases_of(trial)[0]
    totals = zip(planted(trial), basis.total(trial), strict=True)
    weight = {tray.code: float(total) for tray, total in totals if isfinite(total)}
    both = [code for code in weight if code in used]
    if len(both) < 2:
        return ()
    word = wording.unit_of(trial)
    gram = language.unit(basis.gram)
    said = "; ".join(f"{code} {numbers.plain(used[code])} L, {numbers.plain(weight[code])} {gram}" for code in both)
    title = f"{say(basis.weight.capitalize())} (g)"
    water = {code: used[code] for code in both}
    chart = weight_against_water(trial, water, {code: weight[code] for code in both}, title)
    message = marked("{weight} harvested from each {unit} against the water it used.")
    caption = say(message, weight=say(basis.weight.capitalize()), unit=word)
    return _figure("weight-and-water", chart, caption, say("By {unit}: {figures}.", unit=word, figures=said))


def solution(trial: Trial) -> tuple[Figure, ...]:
    """Return the charts of EC and pH over time."""
    from reportgen.charts.water import solution_over_time

    ec = [event.ec for event in trial.solution if event.ec is not None]
    ph = [event.ph for event in trial.solution if event.ph is not None]
    captions = say("EC of the nutrient solution over time."), say("pH of the nutrient solution over time.")
    return (
        *_figure("ec", solution_over_time(trial, "ec"), captions[0], _range(EC_READINGS, ec)),
        *_figure("ph", solution_over_time(trial, "ph"), captions[1], _range(PH_READINGS, ph)),
    )


def _range(messages: tuple[str, str], values: Sequence[float]) -> str:
    if not values:
        return ""
    low, high = numbers.three_digits(min(values)), numbers.three_digits(max(values))
    return plural(*messages, len(values), low=low, high=high)


def energy(trial: Trial) -> tuple[Figure, ...]:
    """Return the chart of cumulative energy by meter."""
    from reportgen.charts.energy import energy_over_time

    counted = metered(trial)
    if not counted:
        return ()
    shared = say("shared by all")
    series = tuple((treatment or "", readings) for (_, treatment), readings in counted.items())
    said = "; ".join(
        f"{wording.name_of(trial, treatment) if treatment else shared} {numbers.plain(readings[-1][1])} kWh"
        for (_, treatment), readings in counted.items()
    )
    caption = say("Electricity since the first reading of each meter.")
    alternative = say("At the last reading: {figures}.", figures=said)
    return _figure("energy-over-time", energy_over_time(trial, series), caption, alternative)


def growth_curve(trial: Trial, found: GrowthOverTime) -> tuple[Figure, ...]:
    """Return the chart of a growth trait over time."""
    from reportgen.charts.curves import growth as chart

    message = marked(
        "{measure} while the plants grew. Line: mean of the {units}; band: its {level} interval, of each day by itself."
    )
    level = numbers.percent_level(trial.confidence_level)
    units = wording.unit_of(trial, 2)
    caption = say(message, measure=terms.label(found.measure), units=units, level=level)
    last = found.days[-1]
    result = MeasureResult(found.measure, last.estimates, ())
    said = say("On {day}: {figures}", day=numbers.day(last.on), figures=wording.values_text(trial, result))
    key = found.measure.key.replace("_", "-")
    return _figure(key, chart(trial, found), caption, said)


def light_map(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the map of PPFD of each treatment."""
    from reportgen.charts.light import ppfd_map

    keys = ("ppfd", "ppfd_uniformity", "dli")
    found = [result for key in keys if (result := wording.result_of(results, key)) is not None]
    said = " ".join(wording.values_text(trial, result) for result in found)
    caption = say(
        "Light (PPFD) at the canopy, each square a place. Lighter squares have more light; one scale for all."
    )
    return _figure("light-map", ppfd_map(trial), caption, said)


def climate(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the bands of temperature, humidity and vapour pressure deficit over time."""
    from reportgen.charts.climate import bands, by_day
    from reportgen.metrics.climate import deficit

    if trial.climate is None:
        return ()
    log = trial.climate
    daily = (
        *by_day(log, _quantity("Air temperature", "°C"), log.air_temperature),
        *by_day(log, _quantity("Relative humidity", "%"), log.relative_humidity),
        *by_day(log, _quantity("Vapour pressure deficit", "kPa"), deficit(log)),
    )
    keys = ("air_temperature", "relative_humidity", "vpd")
    found = [result for key in keys if (result := wording.result_of(results, key)) is not None]
    said = " ".join(wording.values_text(trial, result) for result in found)
    caption = say(
        "The air day by day: the line is the day's mean, the band reaches from its lowest to its highest reading."
    )
    return _figure("climate", bands(trial, daily), caption, said)


def _quantity(label: str, unit: str) -> str:
    return f"{say(label)} ({unit})"


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
    rows = [
        replace(one, factor=terms.factor(one.factor))
        for one in results.factors
        if (one.of, one.treatment) == (of, treatment)
    ]
    if result is None:
        return ()
    whole = dict(result.comparisons)[treatment]
    label = terms.label(result.measure)
    product = FactorOfRatio(of, treatment, label, whole.ratio, whole.ratio_low, whole.ratio_high)
    said = "; ".join(f"{one.factor} {numbers.ratio(one.ratio, one.low, one.high)}" for one in rows)
    name, reference = wording.name_of(trial, treatment), wording.name_of(trial, trial.reference)
    message = marked(
        "{measure} of {name} beside {reference}, taken apart: the factors multiply to the last row. Lines: {level} "
        "intervals."
    )
    level = numbers.percent_level(trial.confidence_level)
    caption = say(message, measure=label, name=name, reference=reference, level=level)
    alternative = say("In percent of {reference}: {factors}.", reference=reference, factors=said)
    key = f"factors-{of.replace('_', '-')}-{[one.code for one in trial.treatments].index(treatment) + 1}"
    return _figure(key, factors(trial, rows, product), caption, alternative)


def cost_against_price(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the chart of a gram's cost against the price of electricity."""
    from reportgen.charts.price import cost_against_price

    costs = costs_of_gram(trial, by_key(results))
    said = "; ".join(
        say(
            "{name} {cost} {currency}/g and {energy} kWh/g",
            name=wording.name_of(trial, one.name),
            cost=numbers.plain(one.start),
            currency=trial.currency,
            energy=numbers.plain(one.slope),
        )
        for one in costs
    )
    caption = say(
        "What a gram of fresh weight costs at other prices of electricity. Where two lines cross, both treatments cost "
        "the same; the "
        "vertical line is this trial's price."
    )
    chart = cost_against_price(trial, costs)
    alternative = say("Cost without electricity, and energy, of a gram of fresh weight: {figures}.", figures=said)
    return _figure("cost-against-price", chart, caption, alternative)


def cost_parts(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the chart of a gram's cost by component."""
    from reportgen.charts.price import CostPart, components
    from reportgen.metrics.cost import cost_components

    yields = wording.result_of(results, "tray_yield")
    if yields is None or wording.result_of(results, "running_cost_per_gram") is None:
        return ()
    grams = {code: each.value for code, each in yields.estimates}
    parts = [
        CostPart(code, terms.cost(part.name), per_gram(part.per_tray, grams[code]))
        for code, found in cost_components(trial).items()
        for part in found
    ]
    said = "; ".join(
        f"{wording.name_of(trial, part.treatment)}, {part.component} {numbers.plain(part.cost)}" for part in parts
    )
    caption = say("What a gram of fresh weight cost, by component.")
    alternative = say("In {currency}/g: {costs}.", currency=trial.currency, costs=said)
    return _figure("cost-parts", components(trial, parts), caption, alternative)


def interaction(trial: Trial, result: MeasureResult) -> tuple[Figure, ...]:
    """Return the chart of each combination of two factors' levels."""
    from reportgen.charts.factors import interaction as chart

    first, second = trial.factors
    message = marked(
        "{measure} of each combination: {second} along the axis, a line for each level of {first}. Large mark and "
        "line: figure and {level} interval; small marks: {units}. The axis is logarithmic, so lines that run side by "
        "side mean that one factor changes the figure by the same percentage at every level of the other."
    )
    caption = say(
        message,
        measure=terms.label(result.measure),
        first=first.name,
        second=second.name,
        level=numbers.percent_level(trial.confidence_level),
        units=wording.unit_of(trial, 2),
    )
    return _figure("interaction", chart(trial, result), caption, wording.values_text(trial, result))


def response(trial: Trial, result: MeasureResult, trends: Sequence[DoseTrend]) -> tuple[Figure, ...]:
    """Return the chart of a measure along the doses of a factor."""
    from reportgen.charts.factors import response as chart

    message = marked(
        "{measure} along {factor}. Marks: {units}; line: the fitted curve; band: its {level} interval at each dose."
    )
    if all(one.code == "not_a_curve" for one in trends):
        message = UNCURVED_BESIDE if len(trial.factors) > 1 else UNCURVED
    caption = say(
        message,
        measure=terms.label(result.measure),
        factor=trends[0].factor,
        units=wording.unit_of(trial, 2),
        level=numbers.percent_level(trial.confidence_level),
    )
    if any(one.code in ("peak", "trough") for one in trends):
        caption = f"{caption} {say(TURNING_POINT)}"
    place = [factor.name for factor in trial.factors].index(trends[0].factor) + 1
    return _figure(f"response-{place}", chart(trial, result, trends), caption, wording.values_text(trial, result))


def residuals(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the chart of the main measure's residuals against its fitted values."""
    from reportgen.charts.residuals import residuals_against_fitted

    main = wording.result_of(results, results.main_measure)
    found = residuals_of(trial, results.main_measure)
    if main is None or found is None:
        return ()
    message = marked(
        "{measure}: how far each {unit} lies from what the model fits, against the fitted value; 0.1 is about {tenth}. "
        "A funnel would mean that the spread goes with the mean."
    )
    known = {"measure": terms.label(main.measure), "unit": wording.unit_of(trial), "tenth": percent("10")}
    caption = f"{say(message, **known)} {_unequal_spreads(found)}".strip()
    chart = residuals_against_fitted(trial, main.measure, found.trays)
    return _figure("residuals", chart, caption, _residuals_text(trial, main, found))


def _unequal_spreads(found: MeasureResiduals) -> str:
    spreads = [one.spread for one in found.spreads]
    if len(spreads) < 2 or min(spreads) == 0:
        return ""
    ratio = numbers.three_digits(max(spreads) / min(spreads))
    return say("The largest spread of a treatment is {ratio} times the smallest.", ratio=ratio)


def _residuals_text(trial: Trial, main: MeasureResult, found: MeasureResiduals) -> str:
    """Return which tray lies farthest from the model, and each treatment's spread beside its mean."""
    farthest = max(found.trays, key=lambda one: abs(one.residual))
    message = marked("Farthest from what the model fits: {unit} {tray} ({name}), {change}.")
    lead = say(
        message,
        unit=wording.unit_of(trial),
        tray=farthest.tray,
        name=wording.name_of(trial, farthest.treatment),
        change=numbers.change(exp(farthest.residual), precise=True),
    )
    means = dict(main.estimates)
    parts = tuple(_spread_text(trial, main, one, means[one.treatment].value) for one in found.spreads)
    spreads = marked("Standard deviation of the logarithms, and mean: {each}.")
    with_blocks = marked("Standard deviation of the logarithms, blocks included, and mean: {each}.")
    said = say(with_blocks if is_blocked(trial) else spreads, each="; ".join(parts))
    return f"{lead} {said}"


def _spread_text(trial: Trial, main: MeasureResult, one: TreatmentSpread, mean: float | None) -> str:
    unit = language.unit(main.measure.unit) if main.measure.unit else ""
    at = f"{numbers.plain(mean)} {unit}".strip()
    name = wording.name_of(trial, one.treatment)
    return say("{name}: {spread} at {mean}", name=name, spread=numbers.three_digits(one.spread), mean=at)


def by_key(results: Results) -> dict[str, MeasureResult]:
    """Return the results of measures by their keys."""
    return {result.measure.key: result for result in results.measures}
