"""Names at the ends of lines, moved apart where lines end close to each other."""

import textwrap
from collections.abc import Sequence
from typing import Final

from reportgen.charts import theme

LABEL_LINE: Final = 20  # characters
LABEL_HEIGHT: Final = 15  # px, one line
LABEL_GAP: Final = 32  # px between labels, for two lines each


def spread(values: Sequence[float], gap: float, top: float) -> list[float]:
    """Return ascending `values` moved apart to at least `gap`: upwards, then down from `top`."""
    places: list[float] = []
    for value in values:
        places.append(max(value, places[-1] + gap) if places else value)
    limit = top
    for number in reversed(range(len(places))):
        places[number] = min(places[number], limit)
        limit = places[number] - gap
    return places


def wrapped(name: str) -> str:
    """Return a name in two lines at most."""
    first, *more = textwrap.wrap(name, LABEL_LINE)
    return "\n".join([first, theme.short(" ".join(more), LABEL_LINE)] if more else [first])
