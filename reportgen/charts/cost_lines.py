"""What growing costs as the price of electricity changes."""

from collections.abc import Sequence
from math import isfinite
from typing import Any, Final, Literal

import altair as alt

from reportgen.charts import leaders, line_ends, placed, plane, theme
from reportgen.charts.leaders import Place, Told
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
MOST_LABELS: Final = (
    4  # crossings; of more only those where the cheapest treatment changes carry a label
)
TOLERANCE: Final = 1e-9  # of a cost
REACH: Final = 4.0  # how far beyond the trial's own price a crossing is still looked for
RAISE: Final = 10  # px from the labels to the lines beneath them
BESIDE: Final = 6  # px from a label to what it must not touch

Mass = Literal["g", "kg", "lb"]
Row = dict[str, Any]


def crossings_within(lines: Sequence[Line], highest: float) -> tuple[Intersection, ...]:
    """Return where two lines cross at a price above 0 and up to `highest`, cheapest electricity
    first.
    """
    return tuple(one for one in intersections(lines) if one.x <= highest)


def highest_price(lines: Sequence[Line], own: float | None) -> float:
    """Return how far the axis of prices reaches: twice the trial's price, or a little beyond the
    last crossing.

    Crossings beyond `REACH` times the trial's price are not reached for. Without a price the axis
    reaches to the price at which electricity is half of the cost of some treatment, or 1.
    """
    if own is None or own <= 0:
        reach = float("inf")
    else:
        reach = REACH * own
    last = max((a.x for a in crossings_within(lines, reach) if isfinite(a.x)), default=0.0)
    half = max((a.start / a.slope for a in lines if a.slope > 0 and a.start > 0), default=1.0)
    return max(2 * own if own else (0.0 if last else half), 1.25 * last)


def cost_against_price(
    trial: Trial, lines: Sequence[Line], mass: Mass = "g", width: float = theme.WIDTH
) -> alt.LayerChart | None:
    """Draw the cost of a mass against the price of electricity, one line a treatment that ends in
    its name, from zero.

    lines: costs of one `mass`. A vertical line marks the trial's own price, rings mark where two
    treatments cost the same, with that price above; beyond `MOST_LABELS` crossings only those where
    the cheapest treatment changes carry a label. None without any line.
    """
    looks = theme.looks(trial)
    known = [a for a in lines if a.name in looks and isfinite(a.start) and isfinite(a.slope)]
    if not known:
        return None
    highest = highest_price(known, trial.electricity_price)
    shown = [look for code, look in looks.items() if any(a.name == code for a in known)]
    ground, names = _ground(trial, known, highest, mass, width)
    points = [
        _place(a, looks[a.name].name, highest * n / (MARKS - 1))
        for a in known
        for n in range(MARKS)
    ]
    layers = [
        *_own_price(ground, trial),
        *_cost_lines(ground, points, shown),
        _rings(ground, crossings_within(known, highest)),
        *leaders.layers(_told(ground, trial, known)),
    ]
    return ground.figure([*layers, *(line_ends.layers(names, ground.across) if names else [])])


def _ground(
    trial: Trial, lines: Sequence[Line], highest: float, mass: Mass, width: float
) -> tuple[Plane, list[line_ends.Name]]:
    """Return the plane, and the names of lines where they fit at their ends; else the plane has a
    key.
    """
    looks = theme.looks(trial)
    shown = [looks[a.name] for a in lines]
    head = LINE * (len(_own_label(trial, placed.room(width))) + 1) + RAISE
    most = max(a.at(price) for a in lines for price in (0, highest)) or 1.0
    x = Axis(say("Price of electricity ({currency}/kWh)", currency=trial.currency), (0.0, highest))
    title = say("Cost ({currency}/{mass}), lower is better", currency=trial.currency, mass=mass)
    y = Axis(title, (0.0, most * HEIGHT / (HEIGHT - head)))
    room = line_ends.room_for([look.name for look in shown], width)
    ground = plane.plane(width, HEIGHT, x, y, names=room)
    names = line_ends.names(
        [End(looks[a.name], ground.px(a.at(highest))) for a in lines], room, HEIGHT
    )
    if names:
        return (ground, names)
    return (plane.plane(width, HEIGHT, x, y).with_key(shown), [])


def _place(line: Line, name: str, price: float) -> Row:
    return {"treatment": name, "price": price, "cost": line.at(price)}


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
    is_right = x + BESIDE + max(map(width_of, texts)) <= ground.across + ground.right
    labels = placed.lines(
        x + BESIDE if is_right else x - BESIDE, 0, texts, "left" if is_right else "right"
    )
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
    look = {"color": theme.colour(shown), "shape": theme.shape(shown)}
    return [
        line.encode(stroke=theme.line_colour(shown), strokeDash=theme.dash(shown)).properties(
            data=theme.rows("lines", points)
        ),
        dots.encode(**look, tooltip=theme.tooltip("treatment:N", "price:Q", "cost:Q")).properties(
            data=theme.rows("points", points)
        ),
    ]


def _rings(ground: Plane, found: Sequence[Intersection]) -> alt.Chart:
    rings = theme.rows("crossings", [{"price": a.x, "cost": a.y} for a in found])
    ring = ground.at("price", "cost").mark_point(
        size=150, filled=False, shape="circle", stroke=theme.INK, strokeWidth=1.75
    )
    made: alt.Chart = ring.properties(data=rings)
    return made


def _told(ground: Plane, trial: Trial, lines: Sequence[Line]) -> list[Told]:
    """Return the prices of crossings above the lines, on their side of the trial's own price."""
    if trial.electricity_price is None:
        own = ground.across
    else:
        own = ground.px_across(trial.electricity_price)
    y = LINE * (len(_own_label(trial, ground.across + ground.left + ground.right)) + 0.5)
    chosen = {in_signs(f"{a.x:.3g}"): a for a in reversed(_labelled(lines, ground))}
    places = [Place(ground.px_across(a.x), ground.px(a.y), text) for text, a in chosen.items()]
    before = [one for one in places if one.x <= own]
    behind = [one for one in places if one.x > own]
    found = leaders.in_row(before, 0.0, own - BESIDE, y)
    return [*found, *leaders.in_row(behind, own + BESIDE, ground.across, y)]


def _labelled(lines: Sequence[Line], ground: Plane) -> list[Intersection]:
    found = crossings_within(lines, ground.x.ends[1])
    if len(found) <= MOST_LABELS:
        return list(found)
    lowest = [min(line.at(a.x) for line in lines) for a in found]
    return [a for a, low in zip(found, lowest, strict=True) if a.y <= low + TOLERANCE * abs(low)]
