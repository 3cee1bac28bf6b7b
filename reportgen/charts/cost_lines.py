"""What growing costs as the price of electricity changes."""

from collections.abc import Sequence
from math import isfinite
from typing import Any, Final, Literal

import altair as alt

from reportgen.charts import leaders, line_ends, placed, plane, theme
from reportgen.charts.leaders import Place, PlacedText
from reportgen.charts.lettering import LINE, wrapped
from reportgen.charts.lettering import width as width_of
from reportgen.charts.line_ends import End
from reportgen.charts.plane import Axis, Plane
from reportgen.language import figure as in_signs
from reportgen.language import say
from reportgen.model.trial import Trial
from reportgen.stats.intersections import Intersection, Line, intersections

HEIGHT: Final = 180  # px
MARKS: Final = 5  # of one line
# Crossings; of more only those where the cheapest treatment changes carry a label.
MOST_LABELS: Final = 4
TOLERANCE: Final = 1e-9  # of a cost
BEYOND_CROSSING: Final = 1.25  # of the price of a crossing, the least that the axis reaches
REACH: Final = 4.0  # how far beyond the trial's own price a crossing is still looked for
RAISE: Final = 10  # px from the labels to the lines beneath them
BESIDE: Final = 6  # px from a label to what it must not touch

Mass = Literal["g", "kg", "lb"]
Row = dict[str, Any]


def crossings_within(lines: Sequence[Line], highest: float) -> tuple[Intersection, ...]:
    """Return where lines cross at prices above 0 and up to `highest`, cheapest electricity first."""
    return tuple(crossing for crossing in intersections(lines) if crossing.x <= highest)


def highest_price(lines: Sequence[Line], own: float | None) -> float:
    """Return where the axis of prices ends: at twice the trial's price or past the last crossing.

    Crossings beyond `REACH` times the trial's price are not reached for. Without a price the axis
    reaches to the price at which electricity is half of the cost of some treatment, or 1.
    """
    reach = float("inf")
    if own is not None and own > 0:
        reach = REACH * own
    prices = [crossing.x for crossing in crossings_within(lines, reach)]
    last = max(filter(isfinite, prices), default=0.0)
    if own:
        return max(2 * own, BEYOND_CROSSING * last)
    if last:
        return BEYOND_CROSSING * last
    return _price_of_half(lines)


def _price_of_half(lines: Sequence[Line]) -> float:
    """Return the highest price at which electricity is half of a cost, 1 where it is of none."""
    prices = [line.start / line.slope for line in lines if line.slope > 0 and line.start > 0]
    return max(prices, default=1.0)


def cost_against_price(
    trial: Trial, lines: Sequence[Line], mass: Mass = "g", width: float = theme.WIDTH
) -> alt.LayerChart | None:
    """Draw the cost of a mass against the price of electricity, from zero.

    lines: costs of one `mass`, each ends in its treatment's name. A vertical line marks the trial's
    own price, rings mark where two treatments cost the same, with that price above; beyond
    `MOST_LABELS` crossings only those where the cheapest treatment changes carry a label. None
    without any line.
    """
    looks = theme.looks(trial)
    shown = [line for line in lines if line.name in looks and _is_finite(line)]
    if not shown:
        return None
    highest = highest_price(shown, trial.electricity_price)
    codes = {line.name for line in shown}
    ground, names = _ground(trial, shown, highest, mass, width)
    points: list[Row] = []
    for line in shown:
        points += _points(line, looks[line.name].name, highest)
    layers = [
        *_own_price(ground, trial),
        *_cost_lines(ground, points, [look for code, look in looks.items() if code in codes]),
        _rings(ground, crossings_within(shown, highest)),
        *leaders.layers(_crossing_figures(ground, trial, shown)),
    ]
    if names:
        layers += line_ends.layers(names, ground.across)
    return ground.figure(layers)


def _is_finite(line: Line) -> bool:
    return isfinite(line.start) and isfinite(line.slope)


def _ground(
    trial: Trial, lines: Sequence[Line], highest: float, mass: Mass, width: float
) -> tuple[Plane, list[line_ends.Name]]:
    """Return the plane, and the names of lines if they fit at their ends; else a key has them."""
    looks = theme.looks(trial)
    shown = [looks[line.name] for line in lines]
    head = LINE * (len(_own_label(trial, placed.room(width))) + 1) + RAISE
    most = max(max(line.at(0), line.at(highest)) for line in lines) or 1.0
    x = Axis(say("Price of electricity ({currency}/kWh)", currency=trial.currency), (0.0, highest))
    title = say("Cost ({currency}/{mass}), lower is better", currency=trial.currency, mass=mass)
    y = Axis(title, (0.0, most * HEIGHT / (HEIGHT - head)))
    room = line_ends.room_for([look.name for look in shown], width)
    ground = plane.plane(width, HEIGHT, x, y, names=room)
    ends = [End(looks[line.name], ground.px(line.at(highest))) for line in lines]
    names = line_ends.names(ends, room, HEIGHT)
    if names:
        return (ground, names)
    return (plane.plane(width, HEIGHT, x, y).with_key(shown), [])


def _points(line: Line, name: str, highest: float) -> list[Row]:
    """Return the marks of a line, evenly from 0 to the highest price."""
    points: list[Row] = []
    for number in range(MARKS):
        price = highest * number / (MARKS - 1)
        points.append({"treatment": name, "price": price, "cost": line.at(price)})
    return points


def _own_label(trial: Trial, room: float) -> list[str]:
    own = trial.electricity_price
    if own is None:
        return []
    text = say(
        "this trial: {price} {currency}/kWh", price=in_signs(f"{own:.4g}"), currency=trial.currency
    )
    return wrapped(text, room / 3)


def _own_price(ground: Plane, trial: Trial) -> list[alt.Chart]:
    """Return the line at the trial's own price, its label in the rows above all other lines."""
    own = trial.electricity_price
    if own is None:
        return []
    texts = _own_label(trial, ground.across + ground.left + ground.right)
    x = ground.px_across(own)
    if x + BESIDE + max(map(width_of, texts)) <= ground.across + ground.right:
        labels = placed.lines(x + BESIDE, 0, texts, "left")
    else:
        labels = placed.lines(x - BESIDE, 0, texts, "right")
    rule = alt.Chart().mark_rule(strokeWidth=1.5, opacity=0.6)
    rule = rule.encode(x=ground.across_channel("price"), y=alt.value(0), y2=alt.value(HEIGHT))
    return [
        rule.properties(data=theme.rows("own price", [{"price": own}])),
        *placed.texts("own price", labels),
    ]


def _cost_lines(
    ground: Plane, points: Sequence[Row], shown: Sequence[theme.Look]
) -> list[alt.Chart]:
    line = ground.at("price", "cost").mark_line(strokeWidth=2)
    dots = ground.at("price", "cost").mark_point(size=60)
    line = line.encode(stroke=theme.line_colour(shown), strokeDash=theme.dash(shown))
    dots = dots.encode(
        color=theme.colour(shown),
        shape=theme.shape(shown),
        tooltip=theme.tooltip("treatment:N", "price:Q", "cost:Q"),
    )
    return [
        line.properties(data=theme.rows("lines", points)),
        dots.properties(data=theme.rows("points", points)),
    ]


def _rings(ground: Plane, crossed: Sequence[Intersection]) -> alt.Chart:
    rows = [{"price": crossing.x, "cost": crossing.y} for crossing in crossed]
    ring = ground.at("price", "cost").mark_point(
        size=150, filled=False, shape="circle", stroke=theme.INK, strokeWidth=1.75
    )
    chart: alt.Chart = ring.properties(data=theme.rows("crossings", rows))
    return chart


def _crossing_figures(ground: Plane, trial: Trial, lines: Sequence[Line]) -> list[PlacedText]:
    """Return the prices of crossings above the lines, on their side of the trial's own price."""
    if trial.electricity_price is None:
        own = ground.across
    else:
        own = ground.px_across(trial.electricity_price)
    y = LINE * (len(_own_label(trial, ground.across + ground.left + ground.right)) + 0.5)
    places: dict[str, Place] = {}
    for crossing in reversed(_labelled(lines, ground)):
        text = in_signs(f"{crossing.x:.3g}")
        places[text] = Place(ground.px_across(crossing.x), ground.px(crossing.y), text)
    left = [place for place in places.values() if place.x <= own]
    right = [place for place in places.values() if place.x > own]
    return [
        *leaders.in_row(left, 0.0, own - BESIDE, y),
        *leaders.in_row(right, own + BESIDE, ground.across, y),
    ]


def _labelled(lines: Sequence[Line], ground: Plane) -> list[Intersection]:
    """Return the crossings that carry a label: all if they are few, else those of the cheapest."""
    shown = crossings_within(lines, ground.x.ends[1])
    if len(shown) <= MOST_LABELS:
        return list(shown)
    labelled: list[Intersection] = []
    for crossing in shown:
        lowest = min(line.at(crossing.x) for line in lines)
        if crossing.y <= lowest + TOLERANCE * abs(lowest):
            labelled.append(crossing)
    return labelled
