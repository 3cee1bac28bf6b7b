"""A figure in its two drawings: for a page, and for a phone."""

from collections.abc import Callable
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
    *,
    on_paper: bool = True,
) -> tuple[Figure, ...]:
    """Return the figure that `draw` makes of a width in px; none where it has nothing to show.

    title: what is seen. caption: how to read it. alternative: what it shows, for those who do not
    see it. on_paper: False where a table says the same.
    """
    from reportgen.charts.theme import NARROW, WIDTH, spec

    wide, narrow = draw(WIDTH), draw(NARROW)
    if wide is None or narrow is None:
        return ()
    return (Figure(key, caption, alternative, spec(wide), title, spec(narrow), on_paper),)
