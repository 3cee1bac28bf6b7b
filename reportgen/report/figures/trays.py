"""Trays as dots, with the average of each treatment."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from reportgen.language import marked, say
from reportgen.metrics.plant_measure import PlantMeasure, plant_measure
from reportgen.model.document import Figure
from reportgen.model.results import MeasureResult, Results
from reportgen.model.trial import Plant, Trial
from reportgen.report import figure_texts, figure_titles, numbers, terms, units, wording
from reportgen.report.figures.drawing import drawn

OF_BLOCKS: Final = marked(
    "Each row is a block: a mark for each {unit}, joined. What counts is the difference within a"
    " row. Beside the names: averages and their {level} intervals, which hold the differences"
    " between blocks too."
)
ONE_SPREAD: Final = marked("One spread is taken for all treatments.")
SHARED_SPREAD: Final = frozenset(("pooled_spread", "marginal_mean"))  # codes of methods
SO_FAR: Final = marked("Marks: {units}; upright line: average of those harvested so far.")
OF_TRAYS: Final = marked(
    "Marks: {units}. Line and band: average of a treatment and its {level} interval."
)
WITH_PLANTS: Final = marked(
    "Large marks: {units}; small marks: plants. Line and band: average of a treatment and its"
    " {level} interval. We compare {units}, not single plants."
)
WEIGHED_TOGETHER: Final = marked(
    "Large marks: {units}; small marks: means of plants weighed together. Line and band: average of"
    " a treatment and its {level} interval. We compare {units}, not single plants."
)


def tray_dots(trial: Trial, results: Results, key: str) -> tuple[Figure, ...]:
    """Return the chart of one measure.

    Trays, their plants where plants are compared by it, averages and intervals.
    """
    from reportgen.charts import blocks, dots

    result = wording.result_of(results, key)
    if result is None:
        return ()
    shown = _in_shown_unit(trial, result)
    printed = {code: figure_texts.estimate_text(shown, one) for code, one in shown.estimates}
    if trial.interim:
        printed = {code: numbers.plain(one.value) for code, one in shown.estimates}
    title = figure_titles.of_trays(trial, results, shown)
    name = key.replace("_", "-")
    text = figure_texts.values_text(trial, shown)
    if blocks.blocks_of(trial, shown):
        caption = say(
            OF_BLOCKS,
            unit=wording.unit_of(trial),
            level=numbers.percent_level(trial.confidence_level),
        )
        return drawn(
            name,
            lambda width: blocks.block_dots(trial, shown, printed, width),
            _with_spread(trial, shown, caption),
            text,
            title,
        )
    plants = _plants(trial, result)
    return drawn(
        name,
        lambda width: dots.tray_dots(trial, shown, printed, plants, width),
        _with_spread(trial, shown, _caption(trial, bool(plants))),
        text,
        title,
    )


def _with_spread(trial: Trial, shown: MeasureResult, caption: str) -> str:
    """Return a caption that says so where a steady treatment has the spread of a restless one."""
    methods = [{note.code for note in one.methods} for _, one in shown.estimates]
    if trial.interim or not all(found & SHARED_SPREAD for found in methods):
        return caption
    return f"{caption} {say(ONE_SPREAD)}"


def plants(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the chart of what plants are compared by."""
    measure = plant_measure(trial)
    if measure is None:
        return ()
    return tray_dots(trial, results, measure.key)


def _in_shown_unit(trial: Trial, result: MeasureResult) -> MeasureResult:
    """Return a measure in its unit of display and under its printed label.

    While a trial runs, without intervals.
    """
    shown = units.displayed([result], units.current())[0]
    shown = replace(
        shown, measure=replace(shown.measure, label=terms.label(shown.measure), trait="", grade="")
    )
    if not trial.interim:
        return shown
    estimates = tuple((code, replace(one, low=None, high=None)) for code, one in shown.estimates)
    return replace(shown, estimates=estimates)


def _caption(trial: Trial, has_plants: bool) -> str:
    known = {
        "units": wording.unit_of(trial, 2),
        "level": numbers.percent_level(trial.confidence_level),
    }
    if trial.interim:
        return say(SO_FAR, **known)
    if not has_plants:
        return say(OF_TRAYS, **known)
    together = any(plant.number > 1 for plant in trial.plants)
    return say(WEIGHED_TOGETHER if together else WITH_PLANTS, **known)


def _plants(trial: Trial, result: MeasureResult) -> dict[str, list[float]]:
    """Return each tray's plants in the measure that plants are compared by, in the unit of display."""
    measure = plant_measure(trial)
    if (
        measure is None
        or measure.key != result.measure.key
        or all(tray.plants_started == 1 for tray in trial.trays)
    ):
        return {}
    pairs = [
        (plant.tray, value)
        for plant in trial.plants
        if (value := _value(trial, measure, plant)) is not None
    ]
    found: dict[str, list[float]] = {}
    for tray, value in _displayed(result, pairs):
        found.setdefault(tray, []).append(value)
    return found


def _value(trial: Trial, measure: PlantMeasure, plant: Plant) -> float | None:
    """Return the measure of a plant, the mean of those that were weighed together."""
    if measure.position is None:
        return plant.mean_weight
    value = measure.value(plant)
    if value is None or not trial.traits[measure.position].is_total:
        return value
    return value / plant.number


def _displayed(
    result: MeasureResult, pairs: Sequence[tuple[str, float]]
) -> tuple[tuple[str, float], ...]:
    """Return values of plants in the unit in which those of trays are shown."""
    as_scores = replace(result, scores=tuple(pairs))
    return units.displayed([as_scores], units.current())[0].scores
