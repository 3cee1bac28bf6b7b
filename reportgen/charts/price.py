"""What a gram costs: by component, and as the price of electricity changes."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any, Final, Literal

import altair as alt

from reportgen.charts import theme
from reportgen.charts.line_ends import spread
from reportgen.language import figure as in_signs
from reportgen.language import marked, say
from reportgen.model.trial import Trial
from reportgen.stats.crossings import Crossing, Line, crossings

HEIGHT: Final = 340  # px
ROW: Final = 19  # px, one bar
LABEL: Final = 46  # px, room for one price
MARKS: Final = 5  # of one line
MOST_LABELS: Final = 4  # crossings; of more only those where the cheapest treatment changes carry a label
TOLERANCE: Final = 1e-9  # of a cost
REACH: Final = 4.0  # how far beyond the trial's own price a crossing is still looked for
ROOM: Final = 1.25  # of the highest cost: room above the lines for the labels
TOTAL: Final = marked("Total")

Mass = Literal["g", "kg"]


@dataclass(frozen=True)
class CostPart:
    """One component of the cost of a gram or kilogram in the trial's currency, None where it is not known."""

    treatment: str
    component: str
    cost: float | None


def crossings_within(lines: Sequence[Line], highest: float) -> tuple[Crossing, ...]:
    """Return where two lines cross at a price above 0 and up to `highest`, cheapest electricity first."""
    return tuple(one for one in crossings(lines) if one.x <= highest)


def highest_price(lines: Sequence[Line], own: float | None) -> float:
    """Return how far the axis of prices reaches: twice the trial's price, or a little beyond the last crossing.

    Crossings beyond `REACH` times the trial's price are not reached for. Without a price the axis reaches to the
    price at which electricity is half of the cost of some treatment, or 1.
    """
    reach = float("inf") if own is None or own <= 0 else REACH * own
    last = max((a.x for a in crossings_within(lines, reach) if isfinite(a.x)), default=0.0)
    half = max((a.start / a.slope for a in lines if a.slope > 0 and a.start > 0), default=1.0)
    return max(2 * own if own else (0.0 if last else half), 1.25 * last)


def cost_against_price(trial: Trial, lines: Sequence[Line], mass: Mass = "g") -> alt.LayerChart | None:
    """Draw the cost of a gram or kilogram against the price of electricity, one line a treatment, from zero.

    lines: costs of one `mass`. A vertical line marks the trial's own price, rings mark where two treatments cost
    the same, with that price above; beyond `MOST_LABELS` crossings only those where the cheapest treatment
    changes carry a label. None without any line.
    """
    looks = theme.looks(trial)
    known = [a for a in lines if a.name in looks and isfinite(a.start) and isfinite(a.slope)]
    if not known:
        return None
    highest = highest_price(known, trial.electricity_price)
    top = ROOM * max(a.at(price) for a in known for price in (0, highest)) or 1.0
    base = _price_base(trial, (highest, top), mass)
    shown = [looks[code] for code in looks if any(a.name == code for a in known)]
    points = [_place(a, looks[a.name].name, highest * n / (MARKS - 1)) for a in known for n in range(MARKS)]
    layers = [
        *_own_price(base, trial.electricity_price, top, trial.currency),
        *_cost_lines(base, points, shown),
        *_rings(base, crossings_within(known, highest), _labels(known, (highest, top))),
    ]
    return theme.figure(layers, HEIGHT)


def components(trial: Trial, parts: Sequence[CostPart], mass: Mass = "g") -> alt.LayerChart | None:
    """Draw the components of the cost of a gram or kilogram as bars from zero, with their total, by treatment.

    Every bar carries its component's name and its figure; a cost that is not known has no bar, and then no total.
    None where no cost is known.
    """
    looks = theme.looks(trial)
    known = [part for part in parts if part.treatment in looks]
    if not any(_is_known(part.cost) for part in known):
        return None
    rows = [
        row for code, look in looks.items() for row in _rows([part for part in known if part.treatment == code], look)
    ]
    rows = [{**row, "row": place} for place, row in enumerate(rows)]
    return theme.figure(_bars(trial, rows, mass), ROW * len(rows))


def _place(line: Line, name: str, price: float) -> dict[str, Any]:
    return {"treatment": name, "price": price, "cost": line.at(price)}


def _price_base(trial: Trial, ends: tuple[float, float], mass: Mass) -> alt.Chart:
    highest, top = ends
    what = say("Price of electricity ({currency}/kWh)", currency=trial.currency)
    lines = [what, say("ring: two treatments cost the same")]
    x = alt.X("price:Q", scale=alt.Scale(domain=[0, highest], nice=False), title=lines)
    title = say("Cost ({currency}/{mass}), lower is better", currency=trial.currency, mass=mass)
    return alt.Chart().encode(x=x, y=alt.Y("cost:Q", scale=alt.Scale(domain=[0, top], nice=False), title=title))


def _own_price(base: alt.Chart, own: float | None, top: float, currency: str) -> list[alt.Chart]:
    if own is None:
        return []
    at = base.properties(
        data=theme.rows("own price", [{"price": own, "cost": top, "label": _own_label(own, currency)}])
    )
    text = at.mark_text(align="left", baseline="top", dx=5, dy=-2)
    return [at.mark_rule(color=theme.INK, strokeWidth=1.5).encode(y2=alt.datum(0)), text.encode(text="label:N")]


def _own_label(own: float, currency: str) -> str:
    return say("this trial: {price} {currency}/kWh", price=in_signs(f"{own:.4g}"), currency=currency)


def _cost_lines(base: alt.Chart, points: Sequence[dict[str, Any]], shown: Sequence[theme.Look]) -> list[alt.Chart]:
    line = base.mark_line(strokeWidth=2).encode(stroke=theme.line_colour(shown), strokeDash=theme.dash(shown))
    dots = base.mark_point(size=70).encode(
        color=theme.colour(shown).legend(_names_above(shown)),
        shape=theme.shape(shown).legend(_names_above(shown)),
        tooltip=["treatment:N", "price:Q", "cost:Q"],
    )
    return [
        line.properties(data=theme.rows("lines", points)),
        dots.properties(data=theme.rows("points", points)),
    ]


def _rings(base: alt.Chart, found: Sequence[Crossing], labels: Sequence[dict[str, Any]]) -> list[alt.Chart]:
    rings = [{"price": a.x, "cost": a.y} for a in found]
    ring = base.mark_point(size=150, filled=False, shape="circle", stroke=theme.INK, strokeWidth=1.75)
    leader = base.mark_rule(color=theme.INK, strokeDash=[1, 2]).encode(x2="to:Q", y2="up:Q")
    text = base.mark_text(baseline="bottom").encode(x="to:Q", y="up:Q", text="label:N")
    return [
        leader.properties(data=theme.rows("leaders", labels)),
        ring.properties(data=theme.rows("crossings", rings)),
        text.properties(data=theme.rows("labels", labels)),
    ]


def _labels(lines: Sequence[Line], ends: tuple[float, float]) -> list[dict[str, Any]]:
    """Return the labels of crossings in a row above the lines, moved apart, and where their leaders start."""
    highest, top = ends
    chosen = {in_signs(f"{a.x:.3g}"): a for a in reversed(_labelled(lines, crossings_within(lines, highest)))}
    ordered = sorted(chosen.items(), key=lambda pair: pair[1].x)
    gap = highest * LABEL / (theme.WIDTH - 70)
    places = spread([a.x for _, a in ordered], gap, highest - gap / 2)
    return [
        {"price": a.x, "cost": a.y, "to": place, "up": 0.9 * top, "label": label}
        for (label, a), place in zip(ordered, places, strict=True)
    ]


def _labelled(lines: Sequence[Line], found: Sequence[Crossing]) -> list[Crossing]:
    if len(found) <= MOST_LABELS:
        return list(found)
    lowest = [min(line.at(a.x) for line in lines) for a in found]
    return [a for a, low in zip(found, lowest, strict=True) if a.y <= low + TOLERANCE * abs(low)]


def _is_known(cost: float | None) -> bool:
    return cost is not None and isfinite(cost)


def _rows(parts: Sequence[CostPart], look: theme.Look) -> Iterator[dict[str, Any]]:
    """Return the rows of a treatment: its name, its components, their total."""
    if not parts:
        return
    yield {"kind": "name", "label": "", "name": look.name, "treatment": look.name}
    for part in parts:
        yield _bar("part", part.component, part.cost, look)
    costs = [part.cost for part in parts if part.cost is not None and isfinite(part.cost)]
    if len(parts) > 1:
        yield _bar("total", say(TOTAL), sum(costs) if len(costs) == len(parts) else None, look)


def _bar(kind: str, label: str, cost: float | None, look: theme.Look) -> dict[str, Any]:
    known = cost if cost is not None and isfinite(cost) else None
    return {
        "kind": kind,
        "label": theme.short(label),
        "cost": known or 0.0,
        "figure": say("not known") if known is None else in_signs(theme.digits(known)),
        "fill": look.colour if kind == "total" else theme.tint(look.colour),
        "treatment": look.name,
    }


def _bars(trial: Trial, rows: Sequence[dict[str, Any]], mass: Mass) -> list[alt.Chart]:
    top = max(row.get("cost", 0.0) for row in rows) or 1.0
    low = min(0.0, *(row.get("cost", 0.0) for row in rows))
    title = say("Cost ({currency}/{mass}), lower is better", currency=trial.currency, mass=mass)
    base = alt.Chart().encode(
        x=alt.X(
            "cost:Q", scale=alt.Scale(domain=[low, 1.15 * top], nice=False), axis=alt.Axis(grid=False), title=title
        ),
        y=alt.Y("row:O", scale=alt.Scale(domain=[row["row"] for row in rows]), title=None, axis=_names(rows)),
    )
    bars = base.properties(data=theme.rows("costs", [row for row in rows if row["kind"] != "name"]))
    names = base.properties(data=theme.rows("names", [row for row in rows if row["kind"] == "name"]))
    return [
        bars.mark_bar(stroke=theme.INK, strokeWidth=0.7, height=alt.RelativeBandSize(0.8)).encode(
            fill=alt.Fill("fill:N", scale=None), tooltip=["treatment:N", "label:N", "cost:Q"]
        ),
        bars.mark_text(align="left", dx=5).encode(text="figure:N"),
        names.mark_text(align="left", fontWeight="bold", dx=2).encode(x=alt.value(0), text="name:N"),
    ]


def _names(rows: Sequence[dict[str, Any]]) -> alt.Axis:
    labels = json.dumps([row["label"] for row in rows], ensure_ascii=False)
    return alt.Axis(labelExpr=f"{labels}[datum.value]", labelOverlap=False, labelPadding=6, ticks=False, domain=False)


def _names_above(shown: Sequence[theme.Look]) -> alt.Legend:
    """Return a legend above the figure that cuts no name: as many columns as the longest name allows."""
    longest = max((len(look.name) for look in shown), default=1)
    columns = max(1, int((theme.WIDTH - 40) / (longest * theme.CHARACTER + 34)))
    return alt.Legend(
        orient="top", direction="horizontal", columns=min(columns, len(shown)), labelLimit=theme.WIDTH - 40
    )
