"""Trays block by block: those of one block in one row, joined, so that the difference within each
block is seen.
"""

from collections.abc import Mapping
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
    found: Blocks = {}
    trays = [tray for tray in trial.trays if tray.code in scores]
    for tray in sorted(trays, key=lambda tray: natural(tray.block)):
        found.setdefault(theme.one_line(tray.block), {})[tray.treatment] = scores[tray.code]
    treatments = {treatment.code for treatment in trial.treatments}
    is_complete = all(name and set(values) == treatments for name, values in found.items())
    is_single = len(trays) == len(found) * len(treatments)
    if is_complete and is_single and 2 <= len(found) <= MOST_BLOCKS:
        return found
    return {}


def block_dots(
    trial: Trial, result: MeasureResult, printed: Mapping[str, str], total: float = theme.WIDTH
) -> alt.LayerChart | None:
    """Draw each block as a row: the mark of each treatment's tray, joined by a line; the averages
    in the last row.

    printed: each treatment's figure as text, by its code. The axis need not start at zero. None
    where blocks do not hold one tray of each treatment.
    """
    blocks = blocks_of(trial, result)
    if not blocks:
        return None
    looks = theme.looks(trial)
    names, symbols, top = _names(looks, printed, total)
    rows = {
        **blocks,
        say("Average"): {
            code: one.value for code, one in result.estimates if one.value is not None
        },
    }
    left = min(max(map(width, rows)) + 3 * PADDING, LABEL_SHARE * total)
    span = Span(left, placed.room(total) - 2)
    places = {name: top + ROW * (number + 0.5) for number, name in enumerate(rows)}
    last = list(rows)[-1]
    places[last] += GAP
    values = [value for found in rows.values() for value in found.values()]
    ends = dots.ends_of(values, [], trial.margin)
    ticks = placed.across_ticks(*ends, span)
    base = alt.Chart().encode(x=dots.axis(result, ends, ticks, span), y=placed.Y)
    labels = [
        Label(
            left - 2 * PADDING,
            places[name],
            cut(name, left - 2 * PADDING, 1)[0],
            "right",
            name == last,
        )
        for name in rows
    ]
    bottom = places[last] + ROW / 2
    layers = [
        placed.grid(base, ticks, [(top, bottom)]),
        *_marks(base, rows, places, looks),
        *placed.texts("names", names),
        *placed.texts("blocks", labels),
        placed.symbols("symbols", symbols, list(looks.values())),
    ]
    return placed.figure(layers, total, bottom + placed.BELOW_AXIS)


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
        is_beside = INDENT + width(lines[-1]) + INDENT + width(figure) <= placed.room(total)
        top += LINE * len(lines)
        if is_beside:
            y = top - LINE / 2
        else:
            y = top + LINE / 2
        labels.append(Label(placed.room(total), y, figure, "right"))
        top += (0 if is_beside else LINE) + 3
    return labels, symbols, top + GAP


def _marks(
    base: alt.Chart, rows: Blocks, places: Mapping[str, float], looks: Mapping[str, theme.Look]
) -> list[alt.Chart]:
    """Return the lines that join the marks of each row, the marks of trays, and the larger ones of
    averages.
    """
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
        marks += [
            {"y": y, "value": value, "treatment": looks[code].name, "row": name}
            for code, value in values.items()
        ]
    shown = list(looks.values())
    join = base.mark_rule(strokeWidth=1.5, opacity=0.6).encode(x2=alt.X2("to:Q"))
    marks_of = {"color": theme.colour(shown), "shape": theme.shape(shown)}
    tells = theme.tooltip("treatment:N", "row:N", "value:Q")
    return [
        join.properties(data=theme.rows("joins", joins)),
        base.mark_point(size=75)
        .encode(**marks_of, tooltip=tells)
        .properties(data=theme.rows("trays", trays)),
        base.mark_point(size=150)
        .encode(**marks_of, tooltip=tells)
        .properties(data=theme.rows("averages", averages)),
    ]
