"""A figure in its two drawings: for a page, and for a phone."""

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.model.document import Figure

if TYPE_CHECKING:
    import altair as alt


def drawn(
    key: str,
    draw: "Callable[[float], alt.TopLevelMixin | None]",
    caption: str,
    alternative: str,
    title: str = "",
) -> tuple[Figure, ...]:
    """Return the figure that `draw` makes of a width in px; none where it has nothing to show.

    title: what is seen. caption: how to read it. alternative: what it shows, for those who do not
    see it.
    """
    from reportgen.charts.theme import NARROW, WIDTH, spec

    wide, narrow = draw(WIDTH), draw(NARROW)
    if wide is None or narrow is None:
        return ()
    return (Figure(key, caption, alternative, spec(wide), title, spec(narrow)),)


def for_screens(figures: tuple[Figure, ...]) -> tuple[Figure, ...]:
    """Return figures that paper leaves out, as a table of the same section says the same."""
    return tuple(replace(figure, on_paper=False) for figure in figures)
