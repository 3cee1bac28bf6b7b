"""What a crop that is picked more than once had given, day by day."""

from collections.abc import Iterator
from typing import Final

import altair as alt

from reportgen.charts import banded, theme
from reportgen.charts.banded import BandedLines, Row
from reportgen.language import say
from reportgen.model.results import CumulativeYield, Estimate
from reportgen.model.trial import Trial

LEAD: Final = 0.04  # of the season, drawn before the first picking


def cumulative_yield(trial: Trial, found: CumulativeYield) -> alt.LayerChart | None:
    """Draw what each treatment had given by the end of each day of picking: a step a picking, from zero up.

    What was picked stays picked, so a line is level until the next picking. The band is the interval of each day by
    itself. Each line ends in its treatment's name. None where no treatment has a figure.
    """
    looks = theme.looks(trial)
    lines = [line for code, look in looks.items() if (line := list(_line(trial, found, code, look.name)))]
    if not lines:
        return None
    title = [
        say("{measure}, added up", measure=theme.labelled(found.measure)),
        say("line: treatment mean; band: {level} interval", level=theme.percent(trial.confidence_level)),
    ]
    return banded.draw(trial, BandedLines(lines, title, "step-after"), list(looks.values()))


def _line(trial: Trial, found: CumulativeYield, code: str, name: str) -> Iterator[Row]:
    """Yield the row of each day of a treatment, with one of nothing before them."""
    estimates = [(day.on, dict(day.estimates)[code]) for day in found.days]
    known = [(on, estimate) for on, estimate in estimates if estimate.value is not None]
    if not known:
        return
    first, last = (theme.day(trial, found.days[place].on) for place in (0, -1))
    margin = LEAD * (last - first)
    nothing = Estimate(0.0)
    yield {"treatment": name, "day": first - margin, "is_point": False, **banded.figures(nothing)}
    for on, estimate in known:
        yield {"treatment": name, "day": theme.day(trial, on), "is_point": True, **banded.figures(estimate)}
