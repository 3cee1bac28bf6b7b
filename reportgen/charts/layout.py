"""Where the trays stood."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
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
INSET: Final = 6  # px from the edge of a tray to its texts
EDGE: Final = 3  # px at the right of a tray that shows its code alone
BOLDER: Final = 1.1  # of a text's width, what bold letters take at most
MOST_TOLD: Final = 16  # trays; more show their codes alone
SYMBOL: Final = 16  # px, the symbol before a code
BETWEEN: Final = 9  # px between blocks
GRID_PLACE: Final = re.compile("([A-Za-z])([0-9]{1,3})")  # such as B4
LEAST_ROWS: Final = 2  # of a grid
MOST_EMPTY: Final = 2  # places of a grid for each tray; more is no grid
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
    order (2 before 10). Positions such as A1 to C4, without blocks, make a grid: letters are its
    rows, numbers its columns.

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

    `lines` is how many lines of text a tray has: its code alone, with its treatment beneath, or
    with its position beneath that, where this has no room beside the code.
    """

    across: int
    beside: int
    side: float
    lines: int

    @property
    def block(self) -> float:
        """Return the width of a block, px."""
        return self.across * (self.side + GAP) - GAP

    @property
    def room(self) -> float:
        """Return what texts have of the width of a tray, px."""
        if self.lines == 1:
            return self.side - INSET - EDGE
        return self.side - 2 * INSET

    @property
    def height(self) -> float:
        """Return the height of a tray, px."""
        return LINE * self.lines + INSET


def _plan(trays: Sequence[Tray], looks: Mapping[str, theme.Look], room: float) -> _Plan:
    blocks = _blocks(trays)
    longest = max(len(_columns(trays)), *map(len, blocks), 1)
    beside_text = SYMBOL + 2 * INSET + 1
    dense = len(trays) > MOST_TOLD
    longest_code = max(width_of(code) for code in looks)
    least = min(max(LEAST, longest_code + beside_text), ENOUGH)
    grid = _grid(trays)
    if grid:
        longest = 1 + max(column for _, column in grid.values())
    across = max(1, min(longest, int((room + GAP) / (least + GAP))))
    wanted = _wanted([look.name for look in looks.values()], beside_text)
    if dense:
        wanted = _wanted_dense(trays)
    usual = across * (wanted + GAP) - GAP
    beside = max(1, min(len(blocks), int((room + BETWEEN) / (usual + BETWEEN))))
    width = (room + BETWEEN) / beside - BETWEEN
    side = min((width + GAP) / across - GAP, MOST)
    if dense:
        return _Plan(across, beside, side, 1)
    return _Plan(across, beside, side, _lines_of(trays, side - 2 * INSET))


def _wanted(names: Sequence[str], beside_text: float) -> float:
    """Return the width of a tray that shows the name of its treatment, px."""
    longest = max(map(width_of, names))
    return min(max(USUAL, longest + beside_text), MOST)


def _wanted_dense(trays: Sequence[Tray]) -> float:
    """Return the width of a tray that shows its code alone, px."""
    longest = max(width_of(theme.one_line(tray.code)) for tray in trays)
    return min(longest * BOLDER + SYMBOL + INSET + EDGE, MOST)


def _lines_of(trays: Sequence[Tray], room: float) -> int:
    """Return how many lines of text each of few trays has in boxes of some room, px."""
    if _positions(trays, room, beside=True) or not _positions(trays, room, beside=False):
        return 2
    return 3


@dataclass(frozen=True)
class _Called:
    """What treatments are called in boxes and in the key, by their codes, and positions in boxes."""

    box: Mapping[str, str]
    key: Mapping[str, str]
    positions: Mapping[str, str]


def _called(trial: Trial, looks: Mapping[str, theme.Look], plan: _Plan) -> _Called:
    """Return names in boxes where all fit; else codes, which the key explains."""
    room = plan.room
    positions = _positions(trial.trays, room, beside=plan.lines < 3)
    names = {code: look.name for code, look in looks.items()}
    if plan.lines == 1 or all(width_of(name) <= room - SYMBOL for name in names.values()):
        return _Called(names, names, positions)
    codes = {code: code for code in looks}
    explained = {code: f"{name} ({code})" for code, name in names.items()}
    return _Called(codes, explained, positions)


def _positions(trays: Sequence[Tray], room: float, *, beside: bool) -> Mapping[str, str]:
    """Return what boxes call each position: with "at" where all fit so, else alone, else nothing
    rather than a part.

    beside: whether it stands behind the tray's code, not on a line of its own.
    """
    placed_trays = [tray for tray in trays if tray.position]
    bare = {tray.position: tray.position for tray in placed_trays}
    full = {position: say("at {position}", position=position) for position in bare}
    taken = {tray: _before_position(tray) if beside else 0.0 for tray in placed_trays}
    for shown in (full, bare):
        if all(
            before + width_of(theme.one_line(shown[tray.position])) <= room
            for tray, before in taken.items()
        ):
            return shown
    return {}


def _before_position(tray: Tray) -> float:
    """Return what a tray's code takes of the line that its position shares, px."""
    return width_of(theme.one_line(tray.code)) * BOLDER + INSET


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
    """Yield the trays of a block at their places of a grid, else in lines of as many as stand side
    by side.
    """
    grid = _grid(trays)
    if grid and 1 + max(column for _, column in grid.values()) <= plan.across:
        for tray in trays:
            line, column = grid[tray.position]
            yield _Cell(tray, left + column * (plan.side + GAP), top + line * (plan.height + GAP))
        return
    for rank, tray in enumerate(trays):
        line, column = divmod(columns.get(tray.position, rank), plan.across)
        yield _Cell(tray, left + column * (plan.side + GAP), top + line * (plan.height + GAP))


def _grid(trays: Sequence[Tray]) -> dict[str, tuple[int, int]]:
    """Return the row and column of each position of trays without blocks, from 0 on, where a letter
    names the row and a number the column; nothing where one is named otherwise or taken twice.
    """
    positions = {tray.position for tray in trays}
    parts = {position: GRID_PLACE.fullmatch(position) for position in positions}
    found = {position: part for position, part in parts.items() if part}
    if len(found) < len(trays) or any(tray.block for tray in trays):
        return {}
    letters = sorted({part[1].upper() for part in found.values()})
    numbers = sorted({int(part[2]) for part in found.values()})
    if len(letters) < LEAST_ROWS or len(letters) * len(numbers) > len(trays) * MOST_EMPTY:
        return {}
    return {
        position: (letters.index(part[1].upper()), numbers.index(int(part[2])))
        for position, part in found.items()
    }


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
    if plan.lines == 1:
        line = 0.5
    else:
        line = 1.5
    place = {"x": cell.left + INSET + 5, "y": cell.top + INSET / 2 + LINE * line}
    return {**place, "treatment": looks[cell.tray.treatment].name}


def _texts(cell: _Cell, plan: _Plan, called: _Called) -> list[Label]:
    """Return code, treatment and position of a tray, cut to its width."""
    tray = cell.tray
    lines = [_Line(tray.code, 0, is_bold=True)]
    if plan.lines == 1:
        return _labels(cell, plan, [replace(lines[0], inset=float(SYMBOL))])
    treatment = called.box[tray.treatment]
    if not tray.is_planted:
        treatment = say("{treatment}, no plants", treatment=treatment)
    lines.append(_Line(treatment, 1, float(SYMBOL)))
    position = called.positions.get(tray.position, "")
    if plan.lines == 3:
        lines.append(_Line(position, 2))
    else:
        lines.append(_Line(position, 0, _before_position(tray)))
    return _labels(cell, plan, lines)


@dataclass(frozen=True)
class _Line:
    """A text in the box of a tray: its line from the top, and the px before it."""

    text: str
    place: int
    inset: float = 0.0
    is_bold: bool = False


def _labels(cell: _Cell, plan: _Plan, lines: Sequence[_Line]) -> list[Label]:
    found: list[Label] = []
    for line in lines:
        if line.text:
            y = cell.top + INSET / 2 + LINE * (line.place + 0.5)
            shown = cut(theme.one_line(line.text), plan.room - line.inset, 1)[0]
            left = cell.left + INSET + line.inset
            found.append(Label(left, y, shown, is_bold=line.is_bold))
    return found
