"""Nutrient solution: how much, what it gave, how strong and how acid it was."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final, Literal

import altair as alt

from reportgen.charts import theme, trays
from reportgen.language import marked, say
from reportgen.model.trial import SolutionEvent, SolutionEventKind, Trial

HEIGHT: Final = 300  # px
MOST_LABELS: Final = 30  # trays; more labels than that lie on each other
LABEL_WIDTH: Final = 60  # px
LABEL_HEIGHT: Final = 14  # px
QUANTITIES: Final = {
    "ec": marked("Electrical conductivity of the solution (mS/cm)"),
    "ph": marked("Acidity of the solution (pH)"),
}
# In steps of lightness, so that the legend's order reads without colour.
KINDS: Final[dict[SolutionEventKind, tuple[str, str]]] = {
    "fill": (marked("Fill"), "#23485c"),
    "top-up": (marked("Top-up"), "#8fb4c4"),
    "used": (marked("Used, as a meter counted"), "#e6f0f5"),
    "sample": (marked("Sample"), "#4d4436"),
    "drain": (marked("Drain"), "#a3937a"),
    "remaining": (marked("Remaining"), "#ece4d4"),
}
PUT_IN: Final = ("fill", "top-up", "used")


def water_by_event(trial: Trial) -> alt.LayerChart | None:
    """Draw each tray's solution as stacked bars (L): fill and top-ups above zero, what was taken out below.

    Small marks under the bars show the tray's treatment. None where no event is recorded.
    """
    volumes = _volumes(trial.solution)
    looks = theme.looks(trial)
    shown = trays.by_treatment(trial, looks, {tray for tray, _ in volumes})
    if not shown:
        return None
    places = {tray.code: trays.labels(tray, looks) for tray in shown}
    bars = [
        {**places[tray], "event": say(KINDS[kind][0]), "order": list(KINDS).index(kind), "volume": volume}
        for (tray, kind), volume in volumes.items()
        if tray in places
    ]
    x = trays.axis(shown, theme.capital(theme.unit_of(trial)), gap=18)  # room for the marks of the treatments
    return theme.figure(_bar_layers(alt.Chart().encode(x=x), bars, list(places.values()), list(looks.values())), HEIGHT)


def weight_against_water(
    trial: Trial, water: Mapping[str, float], weight: Mapping[str, float], title: str = ""
) -> alt.LayerChart | None:
    """Draw the weight that each tray gave against its water.

    water: L by tray code; weight: g by tray code; title: that of the weight's axis, fresh weight if empty. Neither
    axis need start at zero, for places are compared, not lengths. None where no tray has both.
    """
    looks = theme.looks(trial)
    shown = trays.by_treatment(trial, looks, water.keys() & weight.keys())
    if not shown:
        return None
    places = [(water[tray.code], weight[tray.code]) for tray in shown]
    rows = [
        {**trays.labels(tray, looks), "water": place[0], "weight": place[1], "side": side}
        for tray, place, side in zip(shown, places, label_sides(places), strict=True)
    ]
    return theme.figure(_scatter(rows, list(looks.values()), title or say("Fresh weight (g)")), HEIGHT)


def label_sides(places: Sequence[tuple[float, float]]) -> list[str]:
    """Return on which side of its dot each label stands: right, or left where a label stands there already."""
    spans = [max(axis) - min(axis) or 1.0 for axis in zip(*places, strict=True)]
    x = [theme.WIDTH * place[0] / spans[0] for place in places]
    y = [HEIGHT * place[1] / spans[1] for place in places]
    right: list[int] = []
    for number in sorted(range(len(places)), key=lambda number: y[number]):
        if all(abs(x[number] - x[a]) > LABEL_WIDTH or abs(y[number] - y[a]) > LABEL_HEIGHT for a in right):
            right.append(number)
    return ["right" if number in right else "left" for number in range(len(places))]


def solution_over_time(trial: Trial, quantity: Literal["ec", "ph"]) -> alt.LayerChart | None:
    """Draw EC (mS/cm) or pH of each tray's solution over days; None for fewer than two dates.

    The y axis need not start at zero. Beyond `MOST_MARKS` values points stand on some, evenly.
    """
    looks = theme.looks(trial)
    values = list(_values(trial, quantity, looks))
    if len({value["day"] for value in values}) < 2:
        return None
    shown = list(looks.values())
    base = alt.Chart(theme.rows("solution", values)).encode(
        x=theme.days(trial),
        y=alt.Y(
            "value:Q", scale=theme.scale((value["value"] for value in values), 12), title=say(QUANTITIES[quantity])
        ),
    )
    line = base.mark_line().encode(
        detail="tray:N", order="day:Q", stroke=theme.line_colour(shown), strokeDash=theme.dash(shown)
    )
    every = -(-len(values) // theme.MOST_MARKS)
    point = base.properties(data=theme.rows("points", values[::every])).mark_point(size=50)
    point = point.encode(
        color=theme.colour(shown),
        shape=theme.shape(shown),
        tooltip=["tray:N", "treatment:N", "date:N", "value:Q"],
    )
    return theme.figure([line, point], HEIGHT)


def _scatter(rows: Sequence[dict[str, Any]], shown: Sequence[theme.Look], title: str) -> list[alt.Chart]:
    base = alt.Chart().encode(
        x=alt.X(
            "water:Q",
            scale=theme.scale((row["water"] for row in rows), 24),
            axis=alt.Axis(tickCount=8),
            title=say("Water used (L)"),
        ),
        y=alt.Y("weight:Q", scale=theme.scale((row["weight"] for row in rows), 16), title=title),
    )
    points = base.mark_point(size=80).encode(
        color=theme.colour(shown),
        shape=theme.shape(shown),
        tooltip=["tray:N", "treatment:N", "water:Q", "weight:Q"],
    )
    layers = [points.properties(data=theme.rows("trays", rows))]
    if len(rows) <= MOST_LABELS:
        text = base.encode(text="tray:N")
        right = theme.rows("labels right", (row for row in rows if row["side"] == "right"))
        left = theme.rows("labels left", (row for row in rows if row["side"] == "left"))
        layers.append(text.mark_text(align="left", dx=8, limit=LABEL_WIDTH).properties(data=right))
        layers.append(text.mark_text(align="right", dx=-8, limit=LABEL_WIDTH).properties(data=left))
    return layers


def _volumes(events: Sequence[SolutionEvent]) -> dict[tuple[str, SolutionEventKind], float]:
    """Return the volume of each kind of event of each tray, below zero where solution was taken out."""
    volumes: dict[tuple[str, SolutionEventKind], float] = defaultdict(float)
    for event in events:
        volumes[event.tray, event.kind] += event.volume if event.kind in PUT_IN else -event.volume
    return dict(volumes)


def _bar_layers(
    base: alt.Chart,
    bars: Sequence[dict[str, Any]],
    places: Sequence[dict[str, Any]],
    shown: Sequence[theme.Look],
) -> list[alt.Chart]:
    names, fills = [say(name) for name, _ in KINDS.values()], [fill for _, fill in KINDS.values()]
    kinds = alt.Fill("event:N", scale=alt.Scale(domain=names, range=fills), title=None, legend=theme.legend(names))
    bar = base.mark_bar(stroke=theme.INK, strokeWidth=0.7, width=alt.RelativeBandSize(0.72)).encode(
        y=alt.Y("volume:Q", stack="zero", title=say("Nutrient solution (L), taken out below zero")),
        fill=kinds,
        order="order:O",
        tooltip=["tray:N", "event:N", "volume:Q"],
    )
    marks = base.mark_point(size=60).encode(
        y=alt.value(HEIGHT + 10), color=theme.colour(shown), shape=theme.shape(shown)
    )
    zero = alt.Chart(theme.rows("zero", [{"volume": 0}])).mark_rule().encode(y="volume:Q")
    return [
        bar.properties(data=theme.rows("events", bars)),
        zero,
        marks.properties(data=theme.rows("trays", places)),
    ]


def _values(trial: Trial, quantity: str, looks: Mapping[str, theme.Look]) -> Iterator[dict[str, Any]]:
    places = {tray.code: trays.labels(tray, looks) for tray in trial.trays if tray.treatment in looks}
    for event in sorted(trial.solution, key=lambda event: event.on):
        value = event.ec if quantity == "ec" else event.ph
        if value is not None and event.tray in places:
            day = (event.on - trial.started_on).days
            yield {**places[event.tray], "day": day, "date": event.on.isoformat(), "value": value}
