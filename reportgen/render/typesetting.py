"""Set texts for paper: no line broken within a unit, figures at their decimal mark, notes that run
on.
"""

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

from markupsafe import Markup, escape

from reportgen import direction, language
from reportgen.model.document import Table

LONGEST: Final = (
    24  # characters of what stays in one line: longer than any unit, far shorter than a line
)
LONGEST_INTERVAL: Final = 18  # characters of two figures with a sign and four decimals each
FIRM: Final = re.compile(r"[^\s/()]+(?:/[^\s/()]+)+|\([^()\s]+\)")  # such as EUR/kg, (g/plant)
LONG_WORD: Final = re.compile(rf"\S{{{LONGEST + 1},}}")
ISOLATE_ENDS: Final = re.compile(f"([{direction.FIRST_STRONG}{direction.POP}])")
SENTENCE_ENDS: Final = (".", "!", "?", ":")


def unbroken(text: str) -> Markup:
    """Return a text whose units, such as EUR/kg, are broken at no end of a line, and whose longest
    words may be.

    What runs from right to left is set apart first: a template leaves markup, such as this, as it
    is.
    """
    pieces = ISOLATE_ENDS.split(direction.isolated(text))
    return Markup("").join(map(_units_kept, pieces))


def _units_kept(text: str) -> Markup:
    parts: list[Markup] = []
    last = 0
    for found in FIRM.finditer(text):
        parts.append(_breakable(text[last : found.start()]))
        parts.append(_firm(found.group()))
        last = found.end()
    parts.append(_breakable(text[last:]))
    return Markup("").join(parts)


def _breakable(text: str) -> Markup:
    """Return a text whose long words may be broken anywhere, so that none makes a column wider than
    the page.
    """
    marked = Markup('<span class="breakable">{}</span>')
    parts: list[Markup] = []
    last = 0
    for found in LONG_WORD.finditer(text):
        parts.append(escape(text[last : found.start()]))
        parts.append(marked.format(found.group()))
        last = found.end()
    parts.append(escape(text[last:]))
    return Markup("").join(parts)


def _firm(text: str) -> Markup:
    if len(text) > LONGEST or "/" not in text:
        return _breakable(text)
    return Markup('<span class="firm">{}</span>').format(text)


def loose(text: str) -> str:
    """Return an interval that may be broken at the end of a line where it is too long for its
    column.
    """
    if len(text) > LONGEST_INTERVAL:
        return text.replace("\u00a0", " ")
    return text


def decimal_pads(table: Table) -> tuple[tuple[str, ...], ...]:
    """Return for each cell what its fraction lacks of the longest one in its column, empty where
    nothing does.

    Rows of a table with groups are of one measure from one group to the next, and so are their
    columns.
    """
    widths = [_fraction_widths(rows) for rows in _alike(table)]
    pads: list[tuple[str, ...]] = []
    for rows, longest in zip(_alike(table), widths, strict=True):
        pads += [tuple(map(_pad, row, longest)) for row in rows]
    return tuple(pads)


def _alike(table: Table) -> Iterator[tuple[tuple[str, ...], ...]]:
    """Yield the rows of a table that belong together, which are all where it has no groups."""
    starts = [0, *(place for place in table.groups if place > 0), len(table.rows)]
    for start, end in pairwise(starts):
        yield table.rows[start:end]


def _fraction_widths(rows: Sequence[Sequence[str]]) -> list[int]:
    """Return the length of the longest fraction in each column, its mark counted."""
    columns = zip(*rows, strict=True)
    return [max(map(_fraction_length, column)) for column in columns]


def _fraction_length(cell: str) -> int:
    """Return how long the fraction of a plain number is with its mark; 0 without one and in any
    other text.
    """
    if not _is_number(cell):
        return 0
    _, mark, fraction = cell.partition(language.point())
    return len(mark) + len(fraction)


def _is_number(cell: str) -> bool:
    return bool(re.fullmatch(r"[+\-−]?\d[\d.,\s]*", cell))


def _pad(cell: str, longest: int) -> str:
    if not _is_number(cell):
        return ""
    lacking = longest - _fraction_length(cell)
    if lacking == 0:
        return ""
    if language.point() in cell:
        return "0" * lacking
    return language.point() + "0" * (lacking - 1)


def run_on(items: Sequence[str]) -> str:
    """Return notes as one paragraph: sentences one after the other, other texts as a list with
    commas.
    """
    if all(item.endswith(SENTENCE_ENDS) for item in items):
        return " ".join(items)
    return "; ".join(items) + "."
