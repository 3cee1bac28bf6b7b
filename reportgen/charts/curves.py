"""How plants grew, measured while they stood."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from math import isfinite
from statistics import fmean
from typing import Any, Final

import altair as alt

from reportgen import language
from reportgen.charts import theme
from reportgen.language import say
from reportgen.model.trial import Trait, Trial

HEIGHT: Final = 320  # px
Means = dict[tuple[str, date], float]


def growth(trial: Trial, trait: str) -> alt.LayerChart | None:
    """Draw a growth trait over days: the mean of each tray as a thin line, that of each treatment as a strong one.

    trait: its key among `Trial.growth_traits`. A treatment's mean is that of its trays, each tray counting once.
    Zero included. Beyond `MOST_MARKS` tray means only some dates are drawn, evenly, the last one among them.
    None where nothing was measured; raises KeyError for a trait that the trial does not have.
    """
    column = {a.key: place for place, a in enumerate(trial.growth_traits)}[trait]
    looks = theme.looks(trial)
    names = {tray.code: looks[tray.treatment].name for tray in trial.trays if tray.treatment in looks}
    means = _thinned(tray_means(trial, column, names))
    if not means:
        return None
    shown = list(looks.values())
    base = _base(trial, trial.growth_traits[column])
    return theme.figure(_layers(trial, base, (means, names), shown), HEIGHT)


def tray_means(trial: Trial, column: int, trays: Iterable[str]) -> Means:
    """Return the mean of each tray on each date over its plants' known values in `column`."""
    wanted = set(trays)
    found: dict[tuple[str, date], list[float]] = defaultdict(list)
    for row in sorted(trial.growth, key=lambda row: row.on):
        value = row.values[column] if column < len(row.values) else None
        if value is not None and isfinite(value) and row.tray in wanted:
            found[row.tray, row.on].append(value)
    return {place: fmean(values) for place, values in found.items()}


def names_above(shown: Sequence[theme.Look]) -> alt.Legend:
    """Return a legend above the figure that cuts no name: as many columns as the longest name allows."""
    longest = max((len(a.name) for a in shown), default=1)
    columns = max(1, int((theme.WIDTH - 40) / (longest * theme.CHARACTER + 34)))
    return alt.Legend(
        orient="top", direction="horizontal", columns=min(columns, len(shown)), labelLimit=theme.WIDTH - 40
    )


def _thinned(means: Means) -> Means:
    every = -(-len(means) // theme.MOST_MARKS)
    dates = sorted({on for _, on in means})
    kept = {*dates[:-1:every], *dates[-1:]} if every > 1 else set(dates)
    return {place: mean for place, mean in means.items() if place[1] in kept}


def _base(trial: Trial, trait: Trait) -> alt.Chart:
    unit = f" ({language.unit(trait.unit)})" if trait.unit else ""
    meaning = say("strong: treatment mean; thin: {unit} means", unit=theme.unit_of(trial))
    title = [f"{say(trait.label)}{unit}", meaning]
    return alt.Chart().encode(x=theme.days(trial), y=alt.Y("value:Q", scale=alt.Scale(zero=True), title=title))


def _layers(
    trial: Trial, base: alt.Chart, found: tuple[Means, Mapping[str, str]], shown: Sequence[theme.Look]
) -> list[alt.Chart]:
    means, names = found
    thin = [_point(trial, on, mean) | {"tray": tray, "treatment": names[tray]} for (tray, on), mean in means.items()]
    strong = _treatment_means(trial, means, names)
    line = base.encode(stroke=theme.line_colour(shown), strokeDash=theme.dash(shown))
    points = base.mark_point(size=80, stroke=theme.LIGHT_GROUND, strokeWidth=0.7).encode(
        color=theme.colour(shown).legend(names_above(shown)),
        shape=theme.shape(shown).legend(names_above(shown)),
        tooltip=["treatment:N", "day:Q", "value:Q"],
    )
    return [
        line.mark_line(strokeWidth=0.8, strokeOpacity=0.55)
        .encode(detail="tray:N")
        .properties(data=theme.rows("trays", thin)),
        line.mark_line(strokeWidth=2.5).properties(data=theme.rows("treatments", strong)),
        points.properties(data=theme.rows("points", strong)),
    ]


def _treatment_means(trial: Trial, means: Means, names: Mapping[str, str]) -> list[dict[str, Any]]:
    found: dict[tuple[str, date], list[float]] = defaultdict(list)
    for (tray, on), mean in means.items():
        found[names[tray], on].append(mean)
    return [_point(trial, on, fmean(values)) | {"treatment": name} for (name, on), values in found.items()]


def _point(trial: Trial, on: date, value: float) -> dict[str, Any]:
    return {"day": (on - trial.started_on).days, "value": value}
