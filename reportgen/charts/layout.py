"""Where the trays stood."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any, Final

import altair as alt

from reportgen.charts import placed, theme
from reportgen.charts.key import key
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
SYMBOL: Final = 16  # px, the symbol before a code
BETWEEN: Final = 12  # px between blocks
DECIMALS: Final = (
    2  # of a px; a sum of fractions a hair beyond the edge would make the figure a px wider
)

Row = dict[str, Any]


@dataclass(frozen=True)
class _Cell:
    """A tray at its place: left and top edge, px."""

    tray: Tray
    left: float
    top: float


def layout_plan(trial: Trial, width: float = theme.WIDTH) -> alt.LayerChart | None:
    """Draw the plan of the trays: blocks under their names, positions side by side, in natural
    order (2 before 10).

    Where positions do not line up between blocks (each block counts on, or two trays share one),
    trays stand side by side in the order of their positions. Each shows its code, its treatment's
    shape and code, and its position. None where neither block nor position is recorded.
    """
    trays = [tray for tray in trial.trays if tray.block or tray.position]
    if not trays:
        return None
    looks = theme.looks(trial)
    shown = list(looks.values())
    plan = _plan(trays, looks, placed.room(width))
    called = _called(trial, looks, plan)
    names_of = key([called.key[code] for code in looks], placed.room(width))
    entries = list(zip(names_of.entries, shown, strict=True))
    cells, names, bottom = _cells(trays, plan, names_of.height + BETWEEN)
    layers = [
        _boxes(cells, looks, plan),
        placed.symbols("symbols", [_symbol(cell, looks, plan) for cell in cells], shown),
        placed.symbols(
            "key",
            [{"x": one.x + 6, "y": one.y, "treatment": look.name} for one, look in entries],
            shown,
        ),
        *placed.texts("key", [label for one, _ in entries for label in one.labels]),
        *placed.texts("blocks", names),
        *placed.texts("trays", [label for cell in cells for label in _texts(cell, plan, called)]),
    ]
    return placed.figure(layers, width, bottom)


def natural(text: str) -> list[tuple[int, int, str]]:
    """Return a key that sorts texts with their numbers by value: 2 before 10, A2 before A10."""
    parts = re.findall(r"[0-9]+|[^0-9]+", text)
    return [
        (0, int(part), "") if part[0] in "0123456789" else (1, 0, part.casefold()) for part in parts
    ]


@dataclass(frozen=True)
class _Plan:
    """How a plan is laid out: trays side by side in a block, blocks side by side, the width of a
    tray, px.

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
        return LINE * (1 if self.dense else 3) + INSET


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
class _Called:
    """What treatments are called in boxes and in the key, by their codes, and positions in boxes."""

    box: Mapping[str, str]
    key: Mapping[str, str]
    positions: Mapping[str, str]


def _called(trial: Trial, looks: Mapping[str, theme.Look], plan: _Plan) -> _Called:
    """Return names in boxes where all fit; else codes, which the key explains."""
    room = plan.side - 2 * INSET
    positions = _positions(trial.trays, room)
    names = {code: look.name for code, look in looks.items()}
    if plan.dense or all(width_of(name) <= room - SYMBOL for name in names.values()):
        return _Called(names, names, positions)
    codes = {code: code for code in looks}
    explained = {code: f"{name} ({code})" for code, name in names.items()}
    return _Called(codes, explained, positions)


def _positions(trays: Sequence[Tray], room: float) -> Mapping[str, str]:
    """Return what boxes call each position: with "at" where all fit so, else alone, else nothing
    rather than a part.
    """
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
    return [list(found) for _, found in groupby(ordered, key=lambda tray: tray.block)]


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
        first = top + (LINE + 3 if has_names else 0)
        cells += _block(block, columns, plan, left, first)
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
    """Return the column of each position, or nothing where positions do not line up between blocks."""
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
        tells = {"tray": cell.tray.code, "position": cell.tray.position}
        rows.append({**place, **tells, "treatment": looks[cell.tray.treatment].name})
    box = alt.Chart().mark_rect(cornerRadius=3, opacity=theme.PALE)
    box = box.encode(
        x=placed.X,
        x2=alt.X2("to:Q"),
        y=placed.Y,
        y2=alt.Y2("bottom:Q"),
        fill=theme.fill(list(looks.values())),
    )
    made: alt.Chart = box.encode(tooltip=theme.tooltip("tray:N", "treatment:N", "position:N"))
    return made.properties(data=theme.rows("boxes", rows))


def _symbol(cell: _Cell, looks: Mapping[str, theme.Look], plan: _Plan) -> Row:
    """Return the symbol of a tray's treatment, before the treatment's code or before the tray's
    that stands alone.
    """
    if plan.dense:
        line = 0.5
    else:
        line = 1.5
    place = {"x": cell.left + INSET + 5, "y": cell.top + INSET / 2 + LINE * line}
    return {**place, "treatment": looks[cell.tray.treatment].name}


def _texts(cell: _Cell, plan: _Plan, called: _Called) -> list[Label]:
    """Return code, treatment and position of a tray, cut to its width."""
    tray, room = cell.tray, plan.side - 2 * INSET
    if plan.dense:
        return _lines(cell, room, [(tray.code, float(SYMBOL), True)])
    treatment = called.box[tray.treatment]
    if not tray.is_planted:
        treatment = say("{treatment}, no plants", treatment=treatment)
    position = called.positions.get(tray.position, "")
    return _lines(
        cell,
        room,
        [(tray.code, 0.0, True), (treatment, float(SYMBOL), False), (position, 0.0, False)],
    )


def _lines(cell: _Cell, room: float, lines: Sequence[tuple[str, float, bool]]) -> list[Label]:
    """Return lines of text from the top of a tray on; each is a text, the px before it, and whether
    it is bold.
    """
    found: list[Label] = []
    for place, (text, inset, is_bold) in enumerate(lines):
        if text:
            y = cell.top + INSET / 2 + LINE * (place + 0.5)
            shown = cut(theme.one_line(text), room - inset, 1)[0]
            found.append(Label(cell.left + INSET + inset, y, shown, is_bold=is_bold))
    return found
