"""Electrical energy over the trial."""

from collections.abc import Sequence
from datetime import datetime, time, timedelta
from typing import Any, Final

import altair as alt

from reportgen.charts import theme
from reportgen.charts.line_ends import LABEL_GAP, LABEL_HEIGHT, spread, wrapped
from reportgen.language import marked, say
from reportgen.model.trial import Trial

HEIGHT: Final = 280  # px
SHARED: Final = marked("All treatments (shared meter)")
MOST_POINTS: Final = 60  # of a line; readings between are left out evenly, the last one stays

Reading = tuple[datetime, float]
Series = tuple[str, Sequence[Reading]]
_Line = Sequence[dict[str, Any]]


def energy_over_time(trial: Trial, series: Sequence[Series]) -> alt.LayerChart | None:
    """Draw the energy of each meter since its first reading (kWh) over days, from zero up.

    series: pairs of a treatment's code, or an empty text for a meter that all treatments share, and its
    readings: time, cumulative kWh. Each line ends in its name. None where no series has two readings.
    """
    drawn = [(code, thinned(readings)) for code, readings in series if len(readings) > 1]
    if not drawn:
        return None
    looks = theme.looks(trial)
    looks[""] = theme.look(len(looks), say(SHARED))
    lines = [
        [_point(trial, looks[code].name, number, reading) for reading in readings]
        for number, (code, readings) in enumerate(drawn)
    ]
    shown = [look for code, look in looks.items() if code in dict(drawn)]
    return theme.figure(_layers(trial, lines, shown), HEIGHT)


def thinned(readings: Sequence[Reading]) -> list[Reading]:
    """Return at most `MOST_POINTS` + 1 of the readings, evenly, the first and the last among them."""
    step = -(-len(readings) // MOST_POINTS)
    return [*readings[:-1:step], readings[-1]]


def _point(trial: Trial, treatment: str, number: int, reading: Reading) -> dict[str, Any]:
    at, energy = reading
    since = at.replace(tzinfo=None) - datetime.combine(trial.started_on, time())
    return {
        "meter": number,
        "treatment": treatment,
        "day": since / timedelta(days=1),
        "energy": energy,
    }


def _layers(trial: Trial, lines: Sequence[_Line], shown: Sequence[theme.Look]) -> list[alt.Chart]:
    top = 1.05 * max(point["energy"] for line in lines for point in line) or 1.0
    colour, shape = theme.colour(shown).legend(None), theme.shape(shown).legend(None)
    base = alt.Chart().encode(
        x=theme.days(trial),
        y=alt.Y("energy:Q", scale=alt.Scale(domain=[0, top]), title=say("Energy since the first reading (kWh)")),
    )
    readings = base.properties(data=theme.rows("readings", [point for line in lines for point in line]))
    labels = base.properties(data=theme.rows("labels", _labels(lines, top)))
    text = labels.mark_text(align="left", dx=30, lineBreak="\n", lineHeight=LABEL_HEIGHT, baseline="middle")
    return [
        readings.mark_line().encode(detail="meter:N", stroke=theme.line_colour(shown), strokeDash=theme.dash(shown)),
        readings.mark_point(size=45).encode(color=colour, shape=shape, tooltip=["treatment:N", "day:Q", "energy:Q"]),
        labels.mark_point(xOffset=20).encode(color=colour, shape=shape),
        text.encode(text="label:N"),
    ]


def _labels(lines: Sequence[_Line], top: float) -> list[dict[str, Any]]:
    """Return the label at the end of each line, as high as the line's end or as near as its neighbours allow."""
    ends = sorted((line[-1] for line in lines), key=lambda point: point["energy"])
    right = max(end["day"] for end in ends)
    places = spread([end["energy"] for end in ends], top * LABEL_GAP / HEIGHT, top)
    return [
        {**end, "day": right, "energy": place, "label": wrapped(end["treatment"])}
        for end, place in zip(ends, places, strict=True)
    ]
