"""Set figures and small tables in two columns, so that fewer pages end before they are full."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby

from reportgen.model.document import Block, Columns, Figure, Report, Section, Subheading, Table
from reportgen.render import figures

# That the columns of a table may take in half the width, in type of 7.5 points.
MOST_CHARACTERS = 62
MOST_ROWS = 14  # of such a table
LONGEST_NOTE = 330  # characters

Half = Figure | Table


def in_columns(report: Report, drawn: Mapping[str, str]) -> tuple[Report, dict[str, str]]:
    """Return a report with its columns, and the SVG of each figure by its key; `drawn` holds them
    at full width.

    In the sections that a grower reads figures that follow each other go two by two. In the annex
    words come first beneath each heading, then what is half as wide as a page, small tables as well
    as figures, and last the tables that take all of it, which the end of a page may part.
    """
    sections = tuple(
        replace(one, blocks=tuple(_figures_paired(_on_paper(one)))) for one in report.sections
    )
    annex = tuple(replace(one, blocks=tuple(_packed(_on_paper(one)))) for one in report.annex)
    changed = replace(report, sections=sections, annex=annex)
    return changed, {**drawn, **_halves_drawn(changed)}


def _on_paper(section: Section) -> list[Block]:
    """Return the blocks of a section without the figures that repeat a table."""
    return [block for block in section.blocks if not isinstance(block, Figure) or block.on_paper]


def _halves_drawn(report: Report) -> dict[str, str]:
    """Return the drawings of the figures that stand in columns, by key."""
    drawings: dict[str, str] = {}
    for section in report.all_sections:
        for columns in section.blocks:
            if isinstance(columns, Columns):
                drawings |= figures.drawings(columns.blocks)
    return drawings


def _figures_paired(blocks: Sequence[Block]) -> Iterator[Block]:
    for has_half, run in groupby(
        blocks, key=lambda block: isinstance(block, Figure) and _half(block) is not None
    ):
        if has_half:
            yield from _two_by_two(tuple(run))
        else:
            yield from run


def _two_by_two(found: Sequence[Block]) -> Iterator[Block]:
    """Yield pairs of figures in half the width, and the last of an odd number whole."""
    halves = [half for block in found if (half := _half(block)) is not None]
    for place in range(0, len(halves) - 1, 2):
        yield Columns(tuple(halves[place : place + 2]))
    if len(halves) % 2:
        yield found[-1]


def _packed(blocks: Sequence[Block]) -> Iterator[Block]:
    """Yield the blocks of a section of the annex in the order of paper, heading by heading."""
    beneath: list[Block] = []
    for block in blocks:
        if isinstance(block, Subheading):
            yield from _arranged(beneath)
            yield block
            beneath = []
        else:
            beneath.append(block)
    yield from _arranged(beneath)


def _arranged(blocks: Sequence[Block]) -> Iterator[Block]:
    """Yield words, then what stands in columns, then the tables that take the whole width."""
    words: list[Block] = []
    halves: list[Half] = []
    tables: list[Block] = []
    for block in blocks:
        half = _half(block)
        if half is not None:
            halves.append(half)
        elif isinstance(block, Table):
            tables.append(block)
        else:
            words.append(block)
    yield from words
    for place in range(0, len(halves), 2):
        yield Columns(tuple(halves[place : place + 2]))
    yield from tables


def _half(block: Block) -> Half | None:
    """Return a block as it is in half the width of a page, None where it does not fit there."""
    if isinstance(block, Figure) and block.narrow_spec:
        return replace(block, spec=block.narrow_spec)
    if isinstance(block, Table) and _is_small(block):
        return block
    return None


def _is_small(table: Table) -> bool:
    if len(table.rows) > MOST_ROWS or len(table.note) > LONGEST_NOTE:
        return False
    columns = zip(*table.rows, strict=True)
    return sum(max(map(len, column)) for column in columns) <= MOST_CHARACTERS
