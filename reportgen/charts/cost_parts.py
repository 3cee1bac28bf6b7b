"""What growing costs, part by part."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any, Final

import altair as alt

from reportgen.charts import estimates, placed, theme
from reportgen.charts.cost_lines import Mass
from reportgen.charts.lettering import LINE, cut
from reportgen.charts.lettering import width as width_of
from reportgen.charts.placed import Label, Span
from reportgen.language import marked, say
from reportgen.model.trial import Trial

ROW: Final = 20  # px, one bar
THICK: Final = 14  # px
GAP: Final = 10  # px between treatments
INDENT: Final = 18  # px, the symbol before a name
LABEL_SHARE: Final = 0.5  # of the width, the most that names of parts take
BESIDE: Final = 6  # px from a bar to its figure
PART_OPACITY: Final = 0.55  # of a bar that is no total
TOTAL: Final = marked("Total")

Row = dict[str, Any]
Printed = Callable[[float], str]


@dataclass(frozen=True)
class CostPart:
    """One component of the cost of a mass in the trial's currency, None where it is not known."""

    treatment: str
    component: str
    cost: float | None


@dataclass(frozen=True)
class _Bar:
    """A bar: its label, its cost, its figure, the middle of it px from the top."""

    look: theme.Look
    label: str
    cost: float | None
    figure: str
    is_total: bool
    y: float


def components(
    trial: Trial,
    parts: Sequence[CostPart],
    mass: Mass = "g",
    width: float = theme.WIDTH,
    printed: Printed = theme.digits,
) -> alt.LayerChart | None:
    """Draw the components of the cost of a mass as bars from zero, with their total, by treatment.

    Every bar carries its component's name and its figure, as `printed` has an amount; a cost that is
    not known has no bar, and then no total. None where no cost is known.
    """
    looks = theme.looks(trial)
    bars: list[_Bar] = []
    names: list[Label] = []
    symbols: list[Row] = []
    top = 0.0
    for code, look in looks.items():
        own = [part for part in parts if part.treatment == code]
        if own:
            lines = cut(look.name, placed.room(width) - INDENT, 2)
            names += placed.lines(INDENT, top, lines, is_bold=True)
            symbols.append({"x": 6, "y": top + LINE / 2, "treatment": look.name})
            bars += _bars(own, look, top + LINE * len(lines), printed)
            top = bars[-1].y + ROW / 2 + GAP
    if all(bar.cost is None for bar in bars):
        return None
    layers = [*_layers(trial, bars, mass, width), *placed.texts("names", names)]
    layers.append(placed.symbols("symbols", symbols, list(looks.values())))
    return placed.figure(layers, width, top)


def _bars(
    parts: Sequence[CostPart], look: theme.Look, top: float, printed: Printed
) -> Iterator[_Bar]:
    """Yield the bars of a treatment: its components, and their total where there are several."""
    costs = [_finite(part.cost) for part in parts]
    y = top + ROW / 2
    for part, cost in zip(parts, costs, strict=True):
        label = theme.capital(theme.one_line(part.component))
        yield _Bar(look, label, cost, _figure(cost, printed), False, y)
        y += ROW
    if len(parts) > 1:
        total = _total(costs)
        yield _Bar(look, say(TOTAL), total, _figure(total, printed), True, y)


def _finite(cost: float | None) -> float | None:
    if cost is not None and isfinite(cost):
        return cost
    return None


def _total(costs: Sequence[float | None]) -> float | None:
    """Return the sum of costs, None where one is not known."""
    known = estimates.numbers(*costs)
    if len(known) == len(costs):
        return sum(known)
    return None


def _figure(cost: float | None, printed: Printed) -> str:
    if cost is None:
        return say("not known")
    return printed(cost)


def _layers(trial: Trial, bars: Sequence[_Bar], mass: Mass, width: float) -> list[alt.Chart]:
    left = min(max(width_of(bar.label) for bar in bars) + 2 * BESIDE, LABEL_SHARE * width)
    figures = max(width_of(bar.figure) for bar in bars) + 2 * BESIDE
    span = Span(left, placed.room(width) - figures)
    costs = estimates.numbers(*(bar.cost for bar in bars))
    ends = min(0.0, *costs), max(*costs, 0.0) or 1.0
    base = alt.Chart().encode(x=_axis(trial, ends, span, mass), y=placed.Y)
    looks = list({bar.look.name: bar.look for bar in bars}.values())
    parts = [bar for bar in bars if not bar.is_total]
    totals = [bar for bar in bars if bar.is_total]
    zero = base.mark_rule(opacity=0.6).encode(y2=alt.Y2("bottom:Q"))
    return [
        _drawn(base, "costs", parts, looks, PART_OPACITY),
        _drawn(base, "totals", totals, looks, 1.0),
        zero.properties(data=theme.rows("zero", [_zero(bars, look) for look in looks])),
        *placed.texts("labels", _texts(bars, span, ends)),
    ]


def _drawn(
    base: alt.Chart, name: str, bars: Sequence[_Bar], looks: Sequence[theme.Look], opacity: float
) -> alt.Chart:
    """Return the layer of bars; a cost that is not known has none."""
    rows = [_place(bar) for bar in bars if bar.cost is not None]
    mark = base.mark_rect(opacity=opacity).encode(
        x2=alt.X2("to:Q"),
        y2=alt.Y2("bottom:Q"),
        fill=theme.fill(looks),
        tooltip=theme.tooltip("treatment:N", "label:N", "cost:Q"),
    )
    chart: alt.Chart = mark.properties(data=theme.rows(name, rows))
    return chart


def _zero(bars: Sequence[_Bar], look: theme.Look) -> Row:
    """Return the line at zero along the bars of a treatment."""
    own = [bar.y for bar in bars if bar.look == look]
    return {"value": 0, "y": own[0] - ROW / 2, "bottom": own[-1] + ROW / 2}


def _axis(trial: Trial, ends: tuple[float, float], span: Span, mass: Mass) -> alt.X:
    """Return the axis of costs; the bars' own figures stand in place of its ticks."""
    title = say("Cost ({currency}/{mass}), lower is better", currency=trial.currency, mass=mass)
    scale = alt.Scale(domain=list(ends), range=[span.left, span.right], nice=False)
    axis = alt.Axis(labels=False, ticks=False, domain=False, grid=False, titlePadding=0)
    return alt.X("value:Q", scale=scale, axis=axis, title=placed.title_lines(title, span))


def _place(bar: _Bar) -> Row:
    place = {"y": bar.y - THICK / 2, "bottom": bar.y + THICK / 2, "value": 0, "to": bar.cost}
    return {**place, "treatment": bar.look.name, "label": bar.label, "cost": bar.cost}


def _texts(bars: Sequence[_Bar], span: Span, ends: tuple[float, float]) -> list[Label]:
    labels: list[Label] = []
    scale = (span.right - span.left) / (ends[1] - ends[0])
    for bar in bars:
        label = cut(bar.label, span.left - BESIDE, 1)[0]
        end = span.left + (max(bar.cost or 0.0, 0.0) - ends[0]) * scale
        labels.append(Label(span.left - BESIDE, bar.y, label, "right", bar.is_total))
        labels.append(Label(end + BESIDE, bar.y, bar.figure, "left", bar.is_total))
    return labels
