"""What the plants weighed and measured: every plant, every tray, every treatment."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

import altair as alt
import numpy as np

from reportgen.charts import theme, trays
from reportgen.charts.tooltips import reach
from reportgen.language import say
from reportgen.model.results import Estimate, MeasureResult
from reportgen.model.trial import Plant, Tray, Trial

HEIGHT: Final = 300  # px
ROW: Final = 58  # px, one treatment
GOLDEN: Final = 0.6180339887  # steps of the golden ratio never fall on each other: neighbours in value lie apart

_Drawn = tuple[Mapping[str, Any], Sequence[float]]  # a tray's place in the figure, its plants' values


def plants_by_tray(trial: Trial, result: MeasureResult, trait: str | None = None) -> alt.LayerChart | None:
    """Draw every plant as a dot by tray, over the tray means, over each treatment's mean and interval.

    trait: key of the trait drawn, None for fresh weight. The dots lie beside each other by their rank within
    the tray, so the figure is the same each time. The axis need not start at zero, for dots show values by
    place, not by length; an interval reaches at most half the plants' range beyond the plants. More than
    `MOST_MARKS` plants are drawn as boxes: extremes, quartiles, median. None where no plant has a value;
    raises KeyError for a trait that the trial does not have.
    """
    values = _values(trial, trait)
    if not values:
        return None
    looks = theme.looks(trial)
    shown = trays.by_treatment(trial, looks, values)
    many = sum(map(len, values.values())) > theme.MOST_MARKS
    base = alt.Chart().encode(x=trays.axis(shown, _title(trial, many)), y=_value_axis(values, result))
    places = [trays.labels(tray, looks) for tray in shown]
    draw = _boxes if many else _dots
    layers = [*_treatments(base, shown, places, result), _means(base, places, result)]
    layers += draw(base, [(place, values[place["tray"]]) for place in places], list(looks.values()))
    return theme.figure(layers, HEIGHT)


def estimates(trial: Trial, result: MeasureResult) -> alt.LayerChart | None:
    """Draw each treatment's estimate and interval, its trays' scores as small marks below; zero included.

    An interval without one bound has no whisker on that side; without both, the dot is hollow. None where no
    treatment has an estimate.
    """
    looks = theme.looks(trial)
    known = [(looks[code].name, a) for code, a in result.estimates if a.value is not None and code in looks]
    if not known:
        return None
    shown = list(looks.values())
    title = [
        theme.measure_title(result.measure),
        say(
            "dot and {level} interval; small marks: {units}",
            level=theme.percent(trial.confidence_level),
            units=theme.unit_of(trial, 2),
        ),
    ]
    rows = alt.Axis(ticks=False, domain=False, labelPadding=8)
    base = alt.Chart().encode(
        x=alt.X("value:Q", scale=alt.Scale(zero=True), title=title),
        y=alt.Y("treatment:N", scale=alt.Scale(domain=[a.name for a in shown]), title=None, axis=rows),
    )
    return theme.figure(_estimate_layers(base, trial, result, known), ROW * len(shown))


def _values(trial: Trial, trait: str | None) -> dict[str, list[float]]:
    """Return the known values of each tray's plants, ascending; trays without any are absent."""
    column = None if trait is None else {a.key: place for place, a in enumerate(trial.traits)}[trait]
    is_total = column is not None and trial.traits[column].is_total
    values: dict[str, list[float]] = {}
    for plant in trial.plants:
        value = _value(plant, column)
        if value is not None:
            values.setdefault(plant.tray, []).append(value / plant.number if is_total else value)
    return {tray: sorted(found) for tray, found in values.items()}


def _value(plant: Plant, column: int | None) -> float | None:
    if column is None:
        return plant.mean_weight
    return plant.traits[column] if column < len(plant.traits) else None


def _title(trial: Trial, many: bool) -> list[str]:
    plants = say("box: quartiles; line: extremes; mark: median") if many else say("small marks: plants")
    unit, level = theme.unit_of(trial), theme.percent(trial.confidence_level)
    capital = theme.capital(unit)
    return [
        say("{Unit} ({plants}; short bar: {unit} mean;", Unit=capital, plants=plants, unit=unit),
        say("long line and band: treatment mean and {level} interval)", level=level),
    ]


def _value_axis(values: Mapping[str, Sequence[float]], result: MeasureResult) -> alt.Y:
    lowest, highest = min(a[0] for a in values.values()), max(a[-1] for a in values.values())
    room = (highest - lowest) / 2 or abs(highest) / 2 or 1.0
    bounds = [a for _, e in result.estimates for a in (e.low, e.value, e.high) if a is not None]
    low = max(min([lowest, *bounds]), lowest - room)
    high = min(max([highest, *bounds]), highest + room)
    margin = room / 10
    floor = 0.0 if lowest >= 0 else low - margin
    scale = alt.Scale(domain=[max(low - margin, floor), high + margin], nice=True)
    return alt.Y("value:Q", scale=scale, title=theme.measure_title(result.measure))


def _treatments(
    base: alt.Chart, shown: Sequence[Tray], places: Sequence[Mapping[str, Any]], result: MeasureResult
) -> list[alt.Chart]:
    found = dict(result.estimates)
    pairs = [(place, found.get(tray.treatment, Estimate(None))) for place, tray in zip(places, shown, strict=True)]
    bands = [{**place, "value": e.low, "to": e.high} for place, e in pairs if e.low is not None and e.high is not None]
    means = [{**place, "value": e.value} for place, e in pairs if e.value is not None]
    return [
        base.mark_bar(color=theme.INK, opacity=theme.SHADE, width=alt.RelativeBandSize(1.02), clip=True)
        .encode(y2="to:Q")
        .properties(data=theme.rows("intervals", bands)),
        _bar(base, 1.0, 1.5).properties(data=theme.rows("treatment means", means)),
    ]


def _means(base: alt.Chart, places: Sequence[Mapping[str, Any]], result: MeasureResult) -> alt.Chart:
    scores = dict(result.scores)
    means = [{**place, "value": scores[place["tray"]]} for place in places if place["tray"] in scores]
    return _bar(base, 0.7, 4).properties(data=theme.rows("tray means", means))


def _bar(base: alt.Chart, share: float, thickness: float) -> alt.Chart:
    """Return a level bar over `share` of a tray's width: a rectangle without height, whose outline shows."""
    width = alt.RelativeBandSize(share)
    bar: alt.Chart = base.mark_bar(stroke=theme.INK, strokeWidth=thickness, width=width, clip=True)
    return bar.encode(y2="value:Q")


def _dots(base: alt.Chart, drawn: Sequence[_Drawn], shown: Sequence[theme.Look]) -> list[alt.Chart]:
    step = trays.step([place["treatment"] for place, _ in drawn])
    plants = [
        {**place, "value": value, "beside": (0.2 + 0.6 * (rank * GOLDEN % 1)) * step}
        for place, values in drawn
        for rank, value in enumerate(values)
    ]
    beside = alt.XOffset("beside:Q", scale=None)  # px: with a scale of offsets Vega-Lite narrows all bars
    dots = base.mark_point(size=32).encode(
        xOffset=beside, color=theme.colour(shown), shape=theme.shape(shown), tooltip=["tray:N", "value:Q"]
    )
    return [dots.properties(data=theme.rows("plants", plants))]


def _boxes(base: alt.Chart, drawn: Sequence[_Drawn], shown: Sequence[theme.Look]) -> list[alt.Chart]:
    cuts = [(place, np.quantile(values, (0, 0.25, 0.5, 0.75, 1)).tolist()) for place, values in drawn]
    extremes = [{**place, "value": cut[0], "to": cut[4]} for place, cut in cuts]
    quartiles = [{**place, "value": cut[1], "to": cut[3]} for place, cut in cuts]
    medians = [{**place, "value": cut[2]} for place, cut in cuts]
    box = base.mark_bar(fillOpacity=0, stroke=theme.INK, width=alt.RelativeBandSize(0.4))
    median = base.mark_point(size=50).encode(color=theme.colour(shown), shape=theme.shape(shown))
    return [
        base.mark_rule(color=theme.INK).encode(y2="to:Q").properties(data=theme.rows("extremes", extremes)),
        box.encode(y2="to:Q").properties(data=theme.rows("quartiles", quartiles)),
        median.properties(data=theme.rows("medians", medians)),
    ]


def _estimate_layers(
    base: alt.Chart, trial: Trial, result: MeasureResult, known: Sequence[tuple[str, Estimate]]
) -> list[alt.Chart]:
    looks = theme.looks(trial)
    shown = list(looks.values())
    dots = base.encode(color=theme.colour(shown).legend(None), shape=theme.shape(shown).legend(None))
    whole = dots.encode(tooltip=["treatment:N", "value:Q", "reach:N"])
    bounded = [(name, e) for name, e in known if e.low is not None or e.high is not None]
    hollow = [(name, e) for name, e in known if e.low is None and e.high is None]
    return [
        base.mark_rule(strokeWidth=1.5).encode(x2="to:Q").properties(data=theme.rows("intervals", map(_span, bounded))),
        whole.mark_point(size=110).properties(data=theme.rows("estimates", map(_dot, bounded))),
        whole.mark_point(size=90, filled=False, strokeWidth=2).properties(
            data=theme.rows("hollow estimates", map(_dot, hollow))
        ),
        dots.mark_point(size=28, yOffset=15)
        .encode(tooltip=["treatment:N", "tray:N", "value:Q"])
        .properties(data=theme.rows("trays", _scores(trial, result, looks))),
    ]


def _span(known: tuple[str, Estimate]) -> dict[str, Any]:
    name, e = known
    low, high = (e.value if bound is None else bound for bound in (e.low, e.high))
    return {"treatment": name, "value": low, "to": high}


def _dot(known: tuple[str, Estimate]) -> dict[str, Any]:
    name, e = known
    return {"treatment": name, "value": e.value, "reach": reach(e.low, e.high)}


def _scores(trial: Trial, result: MeasureResult, looks: Mapping[str, theme.Look]) -> list[dict[str, Any]]:
    scores = dict(result.scores)
    drawn = trays.by_treatment(trial, looks, scores)
    return [{**trays.labels(tray, looks), "value": scores[tray.code]} for tray in drawn]
