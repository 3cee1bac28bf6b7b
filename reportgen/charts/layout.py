"""Where the trays stood."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any, Final

import altair as alt

from reportgen.charts import placed, theme
from reportgen.charts.lettering import LINE, cut
from reportgen.charts.lettering import width as width_of
from reportgen.charts.placed import Label
from reportgen.language import say
from reportgen.model.trial import Tray, Trial

LEAST: Final = 72  # px, a tray; more trays of a block than have room continue on the next line
GAP: Final = 5  # px between trays
INSET: Final = 7  # px from the edge of a tray to its texts
SYMBOL: Final = 16  # px, the symbol before a code
BETWEEN: Final = 12  # px between blocks
KEY_ENTRY: Final = 34  # px

Row = dict[str, Any]


@dataclass(frozen=True)
class _Cell:
    """A tray at its place: left and top edge, px."""

    tray: Tray
    left: float
    top: float


def layout_plan(trial: Trial, width: float = theme.WIDTH) -> alt.LayerChart | None:
    """Draw the plan of the trays: blocks under their names, positions side by side, in natural order (2 before 10).

    Where positions do not line up between blocks (each block counts on, or two trays share one), trays stand
    side by side in the order of their positions. Each shows its code, its treatment's shape and code, and its
    position. None where neither block nor position is recorded.
    """
    trays = [tray for tray in trial.trays if tray.block or tray.position]
    if not trays:
        return None
    looks = theme.looks(trial)
    key, top = _key(list(looks.values()), placed.room(width))
    cells, names, bottom, side = _cells(trays, top, placed.room(width))
    shown = list(looks.values())
    layers = [
        _boxes(cells, looks, side),
        placed.symbols("symbols", [_symbol(cell, looks) for cell in cells], shown),
        placed.symbols("key", [{"x": x + 6, "y": y, "treatment": look.name} for x, y, look in key], shown),
        *placed.texts("names", [Label(x + SYMBOL, y, _key_name(look, width)) for x, y, look in key]),
        *placed.texts("blocks", names),
        *placed.texts("trays", [label for cell in cells for label in _texts(cell, side)]),
    ]
    return placed.figure(layers, width, bottom)


def natural(text: str) -> list[tuple[int, int, str]]:
    """Return a key that sorts texts with their numbers by value: 2 before 10, A2 before A10."""
    parts = re.findall(r"[0-9]+|[^0-9]+", text)
    return [(0, int(part), "") if part[0] in "0123456789" else (1, 0, part.casefold()) for part in parts]


def _key(shown: Sequence[theme.Look], room: float) -> tuple[list[tuple[float, float, theme.Look]], float]:
    """Return the entries of the key, in rows, and where it ends."""
    found: list[tuple[float, float, theme.Look]] = []
    x, y = 0.0, LINE / 2
    for look in shown:
        needed = min(width_of(look.name) + KEY_ENTRY, room)
        if x and x + needed > room:
            x, y = 0.0, y + LINE
        found.append((x, y, look))
        x += needed
    return found, y + LINE / 2 + BETWEEN


def _key_name(look: theme.Look, width: float) -> str:
    return cut(look.name, placed.room(width) - KEY_ENTRY, 1)[0]


def _cells(trays: Sequence[Tray], top: float, room: float) -> tuple[list[_Cell], list[Label], float, float]:
    """Return each tray at its place, the names of blocks, where the plan ends, and the width of a tray."""
    ordered = sorted(trays, key=lambda tray: (natural(tray.block), tray.block, natural(tray.position)))
    blocks = [list(found) for _, found in groupby(ordered, key=lambda tray: tray.block)]
    columns = _columns(trays)
    longest = max(len(columns), *map(len, blocks)) if columns else max(map(len, blocks))
    across = max(1, min(longest, int((room + GAP) / (LEAST + GAP))))
    side = min((room + GAP) / across - GAP, 3 * LEAST)
    cells: list[_Cell] = []
    names: list[Label] = []
    for block in blocks:
        if any(tray.block for tray in trays):
            names.append(Label(0, top + LINE / 2, cut(_block_name(block[0].block), room, 1)[0], is_bold=True))
            top += LINE + 3
        places = [divmod(columns.get(tray.position, rank), across) for rank, tray in enumerate(block)]
        for tray, (line, column) in zip(block, places, strict=True):
            cells.append(_Cell(tray, column * (side + GAP), top + line * (_height(tray) + GAP)))
        top = max(cell.top for cell in cells) + _height(block[0]) + BETWEEN
    return cells, names, top - BETWEEN, side


def _block_name(block: str) -> str:
    name = theme.one_line(block)
    return say("Block {block}", block=name) if name else say("no block")


def _height(tray: Tray) -> float:
    return 3 * LINE + INSET


def _columns(trays: Sequence[Tray]) -> dict[str, int]:
    """Return the column of each position, or nothing where positions do not line up between blocks."""
    cells = Counter((tray.block, tray.position) for tray in trays)
    positions = {tray.position for tray in trays}
    aligned = max(cells.values()) == 1 and "" not in positions and len(positions) < len(trays)
    return {position: column for column, position in enumerate(sorted(positions, key=natural))} if aligned else {}


def _boxes(cells: Sequence[_Cell], looks: dict[str, theme.Look], side: float) -> alt.Chart:
    rows: list[Row] = []
    for cell in cells:
        place = {"x": cell.left, "to": cell.left + side, "y": cell.top, "bottom": cell.top + _height(cell.tray)}
        tells = {"tray": cell.tray.code, "position": cell.tray.position}
        rows.append({**place, **tells, "treatment": looks[cell.tray.treatment].name})
    box = alt.Chart().mark_rect(cornerRadius=3, opacity=theme.PALE)
    place = {"x": placed.X, "x2": "to:Q", "y": placed.Y, "y2": "bottom:Q"}
    tooltip = ["tray:N", "treatment:N", "position:N"]
    made: alt.Chart = box.encode(**place, fill=theme.fill(list(looks.values())), tooltip=tooltip)
    return made.properties(data=theme.rows("boxes", rows))


def _symbol(cell: _Cell, looks: dict[str, theme.Look]) -> Row:
    name = looks[cell.tray.treatment].name
    return {"x": cell.left + INSET + 5, "y": cell.top + INSET / 2 + 1.5 * LINE, "treatment": name}


def _texts(cell: _Cell, side: float) -> list[Label]:
    """Return code, treatment and position of a tray, cut to its width."""
    tray, room = cell.tray, side - 2 * INSET
    treatment = tray.treatment if tray.is_planted else say("{treatment}, no plants", treatment=tray.treatment)
    position = say("at {position}", position=tray.position) if tray.position else ""
    lines = ((tray.code, 0.0, True), (treatment, float(SYMBOL), False), (position, 0.0, False))
    found: list[Label] = []
    for place, (text, inset, is_bold) in enumerate(lines):
        if text:
            y = cell.top + INSET / 2 + LINE * (place + 0.5)
            shown = cut(theme.one_line(text), room - inset, 1)[0]
            found.append(Label(cell.left + INSET + inset, y, shown, is_bold=is_bold))
    return found
