"""Where the trays stood."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any, Final

import altair as alt

from reportgen.charts import theme
from reportgen.language import say
from reportgen.model.trial import Tray, Trial

MOST_COLUMNS: Final = 8  # more trays of a block continue on the next line, else their codes have no room
LINE: Final = 70  # px


def layout_plan(trial: Trial) -> alt.LayerChart | None:
    """Draw the plan of the trays: blocks as rows, positions as columns, in natural order (2 before 10).

    Where positions do not line up between blocks (each block counts on, or two trays share one), trays stand
    side by side in the order of their positions. Each shows its code, its treatment's shape and code, and its
    position. None where neither block nor position is recorded.
    """
    placed = [tray for tray in trial.trays if tray.block or tray.position]
    if not placed:
        return None
    looks = theme.looks(trial)
    cells = list(_cells(placed, looks))
    lines = list(dict.fromkeys(cell["line"] for cell in cells))
    columns = max(cell["column"] for cell in cells) + 1
    base = _base(lines, columns, any(tray.block for tray in placed)).properties(data=theme.rows("trays", cells))
    room = (theme.WIDTH - 60 - theme.CHARACTER * min(max(map(len, lines)), theme.LABEL_LENGTH)) / columns
    return theme.figure(_layers(base, list(looks.values()), room), LINE * len(lines))


def natural(text: str) -> list[tuple[int, int, str]]:
    """Return a key that sorts texts with their numbers by value: 2 before 10, A2 before A10."""
    parts = re.findall(r"[0-9]+|[^0-9]+", text)
    return [(0, int(part), "") if part[0] in "0123456789" else (1, 0, part.casefold()) for part in parts]


def _cells(placed: Sequence[Tray], looks: dict[str, theme.Look]) -> Iterator[dict[str, Any]]:
    columns = _columns(placed)
    ordered = sorted(placed, key=lambda tray: (natural(tray.block), tray.block, natural(tray.position)))
    for block, trays in groupby(ordered, key=lambda tray: tray.block):
        for rank, tray in enumerate(trays):
            turn, column = divmod(columns.get(tray.position, rank), MOST_COLUMNS)
            yield {
                "line": _line(block, turn),
                "column": column,
                "tray": tray.code,
                "treatment": looks[tray.treatment].name,
                "pale": theme.tint(looks[tray.treatment].colour),
                "code": tray.treatment if tray.is_planted else say("{treatment}, no plants", treatment=tray.treatment),
                "position": tray.position and say("at {position}", position=tray.position),
            }


def _line(block: str, turn: int) -> str:
    name = theme.one_line(block) or say("no block")
    return name if turn == 0 else f"{name} ({turn + 1})"


def _columns(placed: Sequence[Tray]) -> dict[str, int]:
    """Return the column of each position, or nothing where positions do not line up between blocks."""
    cells = Counter((tray.block, tray.position) for tray in placed)
    positions = {tray.position for tray in placed}
    aligned = max(cells.values()) == 1 and "" not in positions and len(positions) < len(placed)
    return {position: column for column, position in enumerate(sorted(positions, key=natural))} if aligned else {}


def _base(lines: Sequence[str], columns: int, with_blocks: bool) -> alt.Chart:
    labels = alt.Axis(ticks=False, domain=False, labelPadding=8) if with_blocks else None
    return alt.Chart().encode(
        x=alt.X("column:O", scale=alt.Scale(domain=list(range(columns)), padding=0.06), axis=None),
        y=alt.Y("line:N", scale=alt.Scale(domain=list(lines), padding=0.08), title=say("Block"), axis=labels),
    )


def _layers(base: alt.Chart, shown: Sequence[theme.Look], room: float) -> list[alt.Chart]:
    tray = base.mark_rect(cornerRadius=3, stroke=theme.INK).encode(
        fill=alt.Fill("pale:N", scale=None), tooltip=["tray:N", "treatment:N", "position:N"]
    )
    start = base.encode(x=alt.X("column:O", bandPosition=0, axis=None))
    text: dict[str, Any] = {"align": "left", "dx": 7, "limit": room - 16}
    beside_symbol: dict[str, Any] = {"align": "left", "dx": 23, "dy": 1, "limit": room - 32}
    return [
        tray,
        start.mark_point(xOffset=13, size=80).encode(color=theme.colour(shown), shape=theme.shape(shown)),
        start.mark_text(**text, dy=-18, fontWeight="bold").encode(text="tray:N"),
        start.mark_text(**beside_symbol).encode(text="code:N"),
        start.mark_text(**text, dy=19, color=theme.INK).encode(text="position:N"),
    ]
