"""Trays block by block: those of a block in one row, joined, to show the difference within it."""

from collections.abc import Mapping
from itertools import chain
from typing import Any, Final

import altair as alt

from reportgen.charts import dots, placed, theme
from reportgen.charts.layout import natural
from reportgen.charts.lettering import LINE, cut, width
from reportgen.charts.placed import PADDING, Label, Span
from reportgen.language import say
from reportgen.model.results import MeasureResult
from reportgen.model.trial import Trial

ROW: Final = 18  # px, one block
GAP: Final = 8  # px between names and rows, and over the row of averages
MOST_BLOCKS: Final = 12
INDENT: Final = 18  # px, the symbol before a name
NAME_LINES: Final = 3
LABEL_SHARE: Final = 0.28  # of the width, the most that names of blocks take

Row = dict[str, Any]
Blocks = dict[str, dict[str, float]]


def blocks_of(trial: Trial, result: MeasureResult) -> Blocks:
    """Return each treatment's figure in each block, by block and treatment.

    Empty where the blocks do not hold one tray of each treatment, or where they are fewer than two
    or too many.
    """
    scores = dict(result.scores)
    blocks: Blocks = {}
    trays = [tray for tray in trial.trays if tray.code in scores]
    for tray in sorted(trays, key=lambda tray: natural(tray.block)):
        blocks.setdefault(theme.one_line(tray.block), {})[tray.treatment] = scores[tray.code]
    is_single = len(trays) == len(blocks) * len(trial.treatments)
    if is_single and _are_complete(blocks, trial) and 2 <= len(blocks) <= MOST_BLOCKS:
        return blocks
    return {}


def _are_complete(blocks: Blocks, trial: Trial) -> bool:
    """Return whether each block has a name and a tray of every treatment."""
    treatments = {treatment.code for treatment in trial.treatments}
    return "" not in blocks and all(set(scores) == treatments for scores in blocks.values())


def block_dots(
    trial: Trial, result: MeasureResult, printed: Mapping[str, str], total: float = theme.WIDTH
) -> alt.LayerChart | None:
    """Draw each block as a row of its trays' marks, joined by a line; averages in the last row.

    printed: each treatment's figure as text, by its code. The axis need not start at zero. None
    where blocks do not hold one tray of each treatment.
    """
    blocks = blocks_of(trial, result)
    if not blocks:
        return None
    looks = theme.looks(trial)
    names, symbols, top = _names(looks, printed, total)
    rows = {**blocks, say("Average"): _averages(result)}
    left = min(max(map(width, rows)) + 3 * PADDING, LABEL_SHARE * total)
    span = Span(left, placed.room(total) - 2)
    places = {name: top + ROW * (number + 0.5) for number, name in enumerate(rows)}
    last = list(rows)[-1]
    places[last] += GAP
    values = list(chain.from_iterable(row.values() for row in rows.values()))
    ends = dots.ends_of(values, [], trial.margin)
    ticks = placed.across_ticks(*ends, span)
    base = alt.Chart().encode(x=dots.axis(result, ends, ticks, span), y=placed.Y)
    labels: list[Label] = []
    for name in rows:
        text = cut(name, left - 2 * PADDING, 1)[0]
        labels.append(Label(left - 2 * PADDING, places[name], text, "right", name == last))
    bottom = places[last] + ROW / 2
    layers = [
        placed.grid(base, ticks, [(top, bottom)]),
        *_marks(base, rows, places, looks),
        *placed.texts("names", names),
        *placed.texts("blocks", labels),
        placed.symbols("symbols", symbols, list(looks.values())),
    ]
    return placed.figure(layers, total, bottom + placed.BELOW_AXIS)


def _averages(result: MeasureResult) -> dict[str, float]:
    averages: dict[str, float] = {}
    for code, estimate in result.estimates:
        if estimate.value is not None:
            averages[code] = estimate.value
    return averages


def _names(
    looks: Mapping[str, theme.Look], printed: Mapping[str, str], total: float
) -> tuple[list[Label], list[Row], float]:
    """Return the names of treatments with their figures, their symbols, and where the rows begin."""
    labels: list[Label] = []
    symbols: list[Row] = []
    top = 0.0
    for code, look in looks.items():
        figure = printed.get(code, "")
        lines = cut(look.name, placed.room(total) - INDENT, NAME_LINES)
        labels += placed.lines(INDENT, top, lines, is_bold=True)
        symbols.append({"x": 6, "y": top + LINE / 2, "treatment": look.name})
        has_room = INDENT + width(lines[-1]) + INDENT + width(figure) <= placed.room(total)
        top += LINE * len(lines)
        if not has_room:
            top += LINE
        labels.append(Label(placed.room(total), top - LINE / 2, figure, "right"))
        top += 3
    return labels, symbols, top + GAP


def _marks(
    base: alt.Chart, rows: Blocks, places: Mapping[str, float], looks: Mapping[str, theme.Look]
) -> list[alt.Chart]:
    """Return the lines that join the marks of a row, the marks of trays, larger ones of averages."""
    joins: list[Row] = []
    trays: list[Row] = []
    averages: list[Row] = []
    last = list(rows)[-1]
    for name, values in rows.items():
        y = places[name]
        joins.append({"y": y, "value": min(values.values()), "to": max(values.values())})
        if name == last:
            marks = averages
        else:
            marks = trays
        for code, value in values.items():
            marks.append({"y": y, "value": value, "treatment": looks[code].name, "row": name})
    shown = list(looks.values())
    join = base.mark_rule(strokeWidth=1.5, opacity=0.6).encode(x2=alt.X2("to:Q"))
    points = base.encode(
        color=theme.colour(shown),
        shape=theme.shape(shown),
        tooltip=theme.tooltip("treatment:N", "row:N", "value:Q"),
    )
    return [
        join.properties(data=theme.rows("joins", joins)),
        points.mark_point(size=75).properties(data=theme.rows("trays", trays)),
        points.mark_point(size=150).properties(data=theme.rows("averages", averages)),
    ]
