"""The air over the trial."""

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from statistics import fmean
from typing import TYPE_CHECKING, Any, Final

import altair as alt
import numpy as np

from reportgen.charts import theme
from reportgen.language import marked, plural, say
from reportgen.model.trial import ClimateLog, Trial

if TYPE_CHECKING:
    from numpy.typing import NDArray

EPOCH: Final = date(1970, 1, 1)  # of datetime64
HEIGHT: Final = 110  # px, one panel, where all of them have room on a page
LOWEST: Final = 70  # px, one panel
MOST_HEIGHT: Final = 840  # px, all panels with their titles, a page of A4
BETWEEN: Final = 36  # px: the title of a panel and the space above it
EXTENT: Final = 44  # px for the labels of the y axis, the same in each panel so that days stand below each other
WIDTH: Final = theme.WIDTH - EXTENT - 58  # px, the panel itself
SHARED: Final = marked("All treatments (shared air)")
TITLE_LENGTH: Final = 16  # characters: a line of a title along the axis of the lowest panel

_Panel = tuple[str, str | None]  # quantity, treatment


@dataclass(frozen=True)
class DailyBand:
    """Lowest, mean and highest of a quantity (its label with its unit) on a day; treatment None: shared by all."""

    treatment: str | None
    quantity: str
    day: date
    low: float
    mean: float
    high: float


def by_day(log: ClimateLog, quantity: str, values: "NDArray[np.float64]") -> tuple[DailyBand, ...]:
    """Return the band of each treatment and day. values: (n,), in the order of the log, NaN where there is none.

    The mean is the plain mean of the day's readings. quantity: label with unit.
    """
    known = np.isfinite(values) & ~np.isnat(log.at)
    codes = list(dict.fromkeys(log.treatments))
    places = {code: place for place, code in enumerate(codes)}
    treatment = np.array([places[code] for code in log.treatments], dtype=np.int64)[known]
    day = log.at[known].astype("datetime64[D]").astype(np.int64)
    cells, inverse = np.unique(np.stack([treatment, day]), axis=1, return_inverse=True)
    low, mean, high = _summary(inverse.ravel(), cells.shape[1], values[known])
    return tuple(
        DailyBand(
            codes[place], quantity, EPOCH + timedelta(days=int(on)), float(low[n]), float(mean[n]), float(high[n])
        )
        for n, (place, on) in enumerate(cells.T)
    )


def bands(trial: Trial, daily: Sequence[DailyBand]) -> alt.VConcatChart | None:
    """Draw a panel for each quantity and treatment: daily range as a band, daily mean as a line.

    All panels of a quantity have one scale, which need not start at zero, and show the reference's mean as a
    thin line. Days without readings stay empty. Beyond `MOST_MARKS` days several days make one step of the band.
    With many treatments one quantity a figure keeps it within a page. None without any day.
    """
    looks: dict[str | None, theme.Look] = {None: theme.look(len(trial.treatments), say(SHARED))}
    looks |= dict(theme.looks(trial).items())
    known = [row for row in daily if _is_finite(row) and row.treatment in looks]
    if not known:
        return None
    step = -(-len(known) // theme.MOST_MARKS)
    quantities = list(dict.fromkeys(row.quantity for row in known))
    panels = [(quantity, code) for quantity in quantities for code in looks if _of(known, quantity, code)]
    rows = [
        row | {"treatment": looks[panel[1]].name}
        for number, panel in enumerate(panels)
        for row in _steps(trial, _of(known, *panel), number, step)
    ]
    height = min(HEIGHT, max(LOWEST, MOST_HEIGHT / len(panels) - BETWEEN))
    title = _title(trial, step, _compared(panels, looks, trial.reference))
    drawn = []
    for number, (quantity, code) in enumerate(panels):
        base = _base(rows, quantity, title if number == len(panels) - 1 else None)
        layers = _layers(base, number, _reference(panels, number, trial.reference), looks[code].colour)
        drawn.append(alt.LayerChart(layer=layers).properties(title=_name(looks[code]), width=WIDTH, height=height))
    return alt.VConcatChart(vconcat=drawn, spacing=4, data=theme.rows("days", rows))


def _reference(panels: Sequence[_Panel], number: int, reference: str) -> int:
    """Return the number of the panel of the reference for the same quantity, the panel itself where there is none."""
    panel = panels[number][0], reference
    return panels.index(panel) if panel in panels else number


def _compared(panels: Sequence[_Panel], looks: Mapping[str | None, theme.Look], reference: str) -> str:
    compared = any(_reference(panels, number, reference) != number for number in range(len(panels)))
    return say("thin dashed line: mean of {name}", name=looks[reference].name) if compared else ""


def _summary(cell: "NDArray[np.int64]", count: int, values: "NDArray[np.float64]") -> "tuple[NDArray[np.float64], ...]":
    """Return lowest, mean and highest of the values of each of `count` cells. cell, values: (n,)."""
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low, cell, values)
    np.maximum.at(high, cell, values)
    return low, np.bincount(cell, values, count) / np.bincount(cell, minlength=count), high


def _is_finite(row: DailyBand) -> bool:
    return bool(np.isfinite([row.low, row.mean, row.high]).all())


def _of(rows: Sequence[DailyBand], quantity: str, treatment: str | None) -> list[DailyBand]:
    found = (row for row in rows if row.quantity == quantity and row.treatment == treatment)
    return sorted(found, key=lambda row: row.day)


def _steps(trial: Trial, rows: Sequence[DailyBand], panel: int, step: int) -> Iterator[dict[str, Any]]:
    """Return what is drawn of a panel: `step` days as one, parts of the line that hold no gap."""
    part, before = 0, None
    for number, group in groupby(rows, key=lambda row: (row.day - trial.started_on).days // step):
        days = list(group)
        part += before is not None and number > before + 1
        before = number
        yield {
            "panel": panel,
            "quantity": days[0].quantity,
            "part": part,
            "day": number * step,
            "to": (number + 1) * step,
            "middle": (number + 0.5) * step,
            "low": min(row.low for row in days),
            "mean": fmean(row.mean for row in days),
            "high": max(row.high for row in days),
        }


def _name(look: theme.Look) -> alt.Title:
    return alt.Title(look.name, anchor="start", frame="group", fontSize=12, color=theme.INK, offset=4)


def _base(rows: Sequence[dict[str, Any]], quantity: str, title: list[str] | None) -> alt.Chart:
    """Return the axes of a panel; only the lowest one has a title and labels of its days."""
    days = alt.Scale(domain=[min(row["day"] for row in rows), max(row["to"] for row in rows)], nice=False)
    values = alt.Scale(domain=_ends([row for row in rows if row["quantity"] == quantity]), nice=False)
    below = alt.Axis(tickMinStep=1, labels=title is not None, ticks=title is not None)
    left = alt.Axis(minExtent=EXTENT, maxExtent=EXTENT, tickCount=4)
    return alt.Chart().encode(
        x=alt.X("day:Q", scale=days, axis=below, title=title),
        y=alt.Y("low:Q", scale=values, axis=left, title=_wrapped(quantity)),
    )


def _ends(rows: Sequence[dict[str, Any]]) -> list[float]:
    low, high = min(row["low"] for row in rows), max(row["high"] for row in rows)
    room = 0.06 * (high - low) or abs(high) / 10 or 1.0
    return [low - room, high + room]


def _wrapped(quantity: str) -> list[str]:
    return textwrap.wrap(theme.one_line(quantity), TITLE_LENGTH) or [""]


def _title(trial: Trial, step: int, others: str) -> list[str]:
    meaning = plural(
        "Band: lowest to highest of a day; strong line: mean",
        "Band: lowest to highest of {number} days; strong line: mean",
        step,
    )
    return [theme.days(trial)["title"], meaning, *([others] if others else [])]


def _layers(base: alt.Chart, number: int, reference: int, colour: str) -> list[alt.Chart]:
    """Return band and mean of panel `number`, and between them the mean of the panel of the reference."""
    own = f"datum.panel === {number}"
    mean = base.encode(x="middle:Q", y="mean:Q", detail="part:N")
    band = base.mark_rect(color=theme.tint(colour), stroke=theme.tint(colour), strokeWidth=0.6)
    thin = mean.mark_line(strokeWidth=1, strokeDash=[3, 2], color=theme.INK)
    tells = ["treatment:N", "quantity:N", "day:Q", "low:Q", "mean:Q", "high:Q"]
    strong = mean.encode(tooltip=tells).mark_line(
        color=colour, strokeWidth=2, point=alt.OverlayMarkDef(color=colour, size=14)
    )
    layers = [band.encode(x2="to:Q", y2="high:Q").transform_filter(own), strong.transform_filter(own)]
    return layers if reference == number else [*layers, thin.transform_filter(f"datum.panel === {reference}")]
