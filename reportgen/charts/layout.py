"""Where the trays stood."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any, Final

import altair as alt

from reportgen.charts import placed, theme
from reportgen.charts.key import Key, key
from reportgen.charts.lettering import LINE, cut
from reportgen.charts.lettering import width as width_of
from reportgen.charts.placed import Label
from reportgen.language import say
from reportgen.model.trial import Tray, Trial

LEAST: Final = 52  # px, a tray; more trays of a block than have room continue on the next line
ENOUGH: Final = 72  # px, a tray; a longer code of a treatment is cut
USUAL: Final = 96  # px, a tray where blocks stand side by side
MOST: Final = 200  # px, a tray
SHORT: Final = 3  # letters of a block's name that is a number or a letter
GAP: Final = 5  # px between trays
INSET: Final = 7  # px from the edge of a tray to its texts
MOST_TOLD: Final = 16  # trays; more show their codes alone
SYMBOL: Final = 16.0  # px, the symbol before a code
BETWEEN: Final = 12  # px between blocks
# Of a px: a sum of fractions a hair beyond the edge would make the figure a px wider.
DECIMALS: Final = 2

DIGITS: Final = "0123456789"

Row = dict[str, Any]


@dataclass(frozen=True)
class _Cell:
    """A tray at its place: left and top edge, px."""

    tray: Tray
    left: float
    top: float


def layout_plan(trial: Trial, width: float = theme.WIDTH) -> alt.LayerChart | None:
    """Draw the plan of the trays: blocks under their names, positions side by side.

    Positions are in natural order (2 before 10). Where they do not line up between blocks (each
    block counts on, or two trays share one), trays stand side by side in the order of their
    positions. Each shows its code, its treatment's shape and code, and its position. None where
    neither block nor position is recorded.
    """
    trays = [tray for tray in trial.trays if tray.block or tray.position]
    if not trays:
        return None
    looks = theme.looks(trial)
    shown = list(looks.values())
    plan = _plan(trays, looks, placed.room(width))
    names = _names(trial, looks, plan)
    legend = key([names.key[code] for code in looks], placed.room(width))
    cells, block_names, bottom = _cells(trays, plan, legend.height + BETWEEN)
    layers = [
        _boxes(cells, looks, plan),
        placed.symbols("symbols", [_symbol(cell, looks, plan) for cell in cells], shown),
        placed.symbols("key", _key_symbols(legend, shown), shown),
        *placed.texts("key", legend.labels),
        *placed.texts("blocks", block_names),
        *placed.texts("trays", _tray_texts(cells, plan, names)),
    ]
    return placed.figure(layers, width, bottom)


def _key_symbols(legend: Key, shown: Sequence[theme.Look]) -> list[Row]:
    rows: list[Row] = []
    for entry, look in zip(legend.entries, shown, strict=True):
        rows.append({"x": entry.x + 6, "y": entry.y, "treatment": look.name})
    return rows


def _tray_texts(cells: Sequence[_Cell], plan: "_Plan", names: "_Names") -> list[Label]:
    labels: list[Label] = []
    for cell in cells:
        labels += _texts(cell, plan, names)
    return labels


def natural(text: str) -> list[tuple[int, int, str]]:
    """Return a key that sorts texts with their numbers by value: 2 before 10, A2 before A10."""
    return [_sort_key(part) for part in re.findall(r"[0-9]+|[^0-9]+", text)]


def _sort_key(part: str) -> tuple[int, int, str]:
    """Return the key of a number or of the text between two."""
    if part[0] in DIGITS:
        return 0, int(part), ""
    return 1, 0, part.casefold()


@dataclass(frozen=True)
class _Plan:
    """Layout of a plan: trays and blocks side by side, the width of a tray in px.

    Trays of a `dense` plan show their codes alone.
    """

    across: int
    beside: int
    side: float
    dense: bool

    @property
    def block(self) -> float:
        """Return the width of a block, px."""
        return self.across * (self.side + GAP) - GAP

    @property
    def height(self) -> float:
        """Return the height of a tray, px."""
        if self.dense:
            return LINE + INSET
        return 3 * LINE + INSET


def _plan(trays: Sequence[Tray], looks: Mapping[str, theme.Look], room: float) -> _Plan:
    blocks = _blocks(trays)
    longest = max(len(_columns(trays)), *map(len, blocks), 1)
    beside_text = SYMBOL + 2 * INSET + 1
    longest_code = max(width_of(code) for code in looks)
    least = min(max(LEAST, longest_code + beside_text), ENOUGH)
    across = max(1, min(longest, int((room + GAP) / (least + GAP))))
    longest_name = max(width_of(look.name) for look in looks.values())
    wanted = min(max(USUAL, longest_name + beside_text), MOST)
    usual = across * (wanted + GAP) - GAP
    beside = max(1, min(len(blocks), int((room + BETWEEN) / (usual + BETWEEN))))
    width = (room + BETWEEN) / beside - BETWEEN
    return _Plan(across, beside, min((width + GAP) / across - GAP, MOST), len(trays) > MOST_TOLD)


@dataclass(frozen=True)
class _Names:
    """Names of treatments by code, in boxes and in the key, and of positions in boxes."""

    box: Mapping[str, str]
    key: Mapping[str, str]
    positions: Mapping[str, str]


def _names(trial: Trial, looks: Mapping[str, theme.Look], plan: _Plan) -> _Names:
    """Return names in boxes where all fit; else codes, which the key explains."""
    room = plan.side - 2 * INSET
    positions = _positions(trial.trays, room)
    names = {code: look.name for code, look in looks.items()}
    if plan.dense or all(width_of(name) <= room - SYMBOL for name in names.values()):
        return _Names(names, names, positions)
    codes = {code: code for code in looks}
    explained = {code: f"{name} ({code})" for code, name in names.items()}
    return _Names(codes, explained, positions)


def _positions(trays: Sequence[Tray], room: float) -> Mapping[str, str]:
    """Return what boxes call each position: with "at", else alone, else nothing, as all fit."""
    bare = {tray.position: tray.position for tray in trays if tray.position}
    full = {position: say("at {position}", position=position) for position in bare}
    for shown in (full, bare):
        if all(width_of(theme.one_line(text)) <= room for text in shown.values()):
            return shown
    return {}


def _blocks(trays: Sequence[Tray]) -> list[list[Tray]]:
    ordered = sorted(
        trays, key=lambda tray: (natural(tray.block), tray.block, natural(tray.position))
    )
    return [list(block) for _, block in groupby(ordered, key=lambda tray: tray.block)]


def _cells(
    trays: Sequence[Tray], plan: _Plan, top: float
) -> tuple[list[_Cell], list[Label], float]:
    """Return each tray at its place, the names of blocks, and where the plan ends."""
    columns = _columns(trays)
    has_names = any(tray.block for tray in trays)
    cells: list[_Cell] = []
    names: list[Label] = []
    bottom = top
    for number, block in enumerate(_blocks(trays)):
        column = number % plan.beside
        if column == 0 and number:
            top = bottom + BETWEEN
        left = column * (plan.block + BETWEEN)
        if has_names:
            name = cut(_block_name(block[0].block), plan.block, 1)[0]
            names.append(Label(left, top + LINE / 2, name, is_bold=True))
            cells += _block(block, columns, plan, left, top + LINE + 3)
        else:
            cells += _block(block, columns, plan, left, top)
        bottom = max(bottom, max(cell.top for cell in cells) + plan.height)
    return cells, names, bottom


def _block(
    trays: Sequence[Tray], columns: Mapping[str, int], plan: _Plan, left: float, top: float
) -> Iterator[_Cell]:
    """Yield the trays of a block in lines of as many as stand side by side."""
    for rank, tray in enumerate(trays):
        line, column = divmod(columns.get(tray.position, rank), plan.across)
        yield _Cell(tray, left + column * (plan.side + GAP), top + line * (plan.height + GAP))


def _block_name(block: str) -> str:
    """Return the name of a block; one that is a number or a letter is called a block."""
    name = theme.one_line(block)
    if not name:
        return say("no block")
    if len(name) <= SHORT:
        return say("Block {block}", block=name)
    return name


def _columns(trays: Sequence[Tray]) -> dict[str, int]:
    """Return the column of each position; empty where blocks do not share their positions."""
    cells = Counter((tray.block, tray.position) for tray in trays)
    positions = {tray.position for tray in trays}
    aligned = max(cells.values()) == 1 and "" not in positions and len(positions) < len(trays)
    if aligned:
        return {position: column for column, position in enumerate(sorted(positions, key=natural))}
    return {}


def _boxes(cells: Sequence[_Cell], looks: Mapping[str, theme.Look], plan: _Plan) -> alt.Chart:
    rows: list[Row] = []
    for cell in cells:
        right = round(cell.left + plan.side, DECIMALS)
        place = {"x": cell.left, "to": right, "y": cell.top, "bottom": cell.top + plan.height}
        texts = {"tray": cell.tray.code, "position": cell.tray.position}
        rows.append({**place, **texts, "treatment": looks[cell.tray.treatment].name})
    box = alt.Chart().mark_rect(cornerRadius=3, opacity=theme.PALE)
    box = box.encode(
        x=placed.X,
        x2=alt.X2("to:Q"),
        y=placed.Y,
        y2=alt.Y2("bottom:Q"),
        fill=theme.fill(list(looks.values())),
    )
    box = box.encode(tooltip=theme.tooltip("tray:N", "treatment:N", "position:N"))
    chart: alt.Chart = box.properties(data=theme.rows("boxes", rows))
    return chart


def _symbol(cell: _Cell, looks: Mapping[str, theme.Look], plan: _Plan) -> Row:
    """Return the symbol of a tray's treatment, before its code; before the tray's if dense."""
    if plan.dense:
        line = 0.5
    else:
        line = 1.5
    place = {"x": cell.left + INSET + 5, "y": cell.top + INSET / 2 + LINE * line}
    return {**place, "treatment": looks[cell.tray.treatment].name}


def _texts(cell: _Cell, plan: _Plan, names: _Names) -> list[Label]:
    """Return code, treatment and position of a tray, cut to its width."""
    tray, room = cell.tray, plan.side - 2 * INSET
    if plan.dense:
        return _lines(cell, room, [_Line(tray.code, SYMBOL, is_bold=True)])
    treatment = names.box[tray.treatment]
    if not tray.is_planted:
        treatment = say("{treatment}, no plants", treatment=treatment)
    position = names.positions.get(tray.position, "")
    lines = [_Line(tray.code, is_bold=True), _Line(treatment, SYMBOL), _Line(position)]
    return _lines(cell, room, lines)


@dataclass(frozen=True)
class _Line:
    """A line of text in a tray, the px before it, whether it is bold."""

    text: str
    inset: float = 0.0
    is_bold: bool = False


def _lines(cell: _Cell, room: float, lines: Sequence[_Line]) -> list[Label]:
    """Return lines of text from the top of a tray on."""
    labels: list[Label] = []
    y = cell.top + INSET / 2 + LINE / 2
    for line in lines:
        if line.text:
            text = cut(theme.one_line(line.text), room - line.inset, 1)[0]
            labels.append(Label(cell.left + INSET + line.inset, y, text, is_bold=line.is_bold))
        y += LINE
    return labels
