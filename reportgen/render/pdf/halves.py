"""Set what takes half the width of a page side by side, so that fewer pages end before they are full."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby

from reportgen.model.document import Block, Figure, Pair, Report, Subheading, Table
from reportgen.render import figures

MOST_CHARACTERS = 62  # that the columns of a table may take in half the width, in type of 7.5 points
MOST_ROWS = 14  # of such a table: a pair is never cut by the end of a page
LONGEST_NOTE = 330  # characters

Half = Figure | Table


def side_by_side(report: Report, drawn: Mapping[str, str]) -> tuple[Report, dict[str, str]]:
    """Return a report with its pairs, and the SVG of each figure by its key; `drawn` holds them at full width.

    In the sections that a grower reads figures that follow each other go two by two. In the annex words come first
    beneath each heading, and then what is half as wide as a page, small tables as well as figures.
    """
    sections = tuple(replace(one, blocks=tuple(_figures_paired(one.blocks))) for one in report.sections)
    annex = tuple(replace(one, blocks=tuple(_packed(one.blocks))) for one in report.annex)
    changed = replace(report, sections=sections, annex=annex)
    return changed, {**drawn, **_halves_drawn(changed)}


def _halves_drawn(report: Report) -> dict[str, str]:
    """Return the drawings of the figures that go in pairs, by key."""
    pairs = [block for section in report.all_sections for block in section.blocks if isinstance(block, Pair)]
    paired = [block for pair in pairs for block in pair.blocks]
    return {block.key: figures.svg(block) for block in paired if isinstance(block, Figure)}


def _figures_paired(blocks: Sequence[Block]) -> Iterator[Block]:
    for is_figure, run in groupby(blocks, key=lambda block: isinstance(block, Figure)):
        found = tuple(run)
        if is_figure:
            yield from _two_by_two(found)
        else:
            yield from found


def _packed(blocks: Sequence[Block]) -> Iterator[Block]:
    """Yield the blocks of a section of the annex, those of half the width last beneath their heading."""
    beneath: list[Block] = []
    for block in blocks:
        if isinstance(block, Subheading):
            yield from _halves_last(beneath)
            yield block
            beneath = []
        else:
            beneath.append(block)
    yield from _halves_last(beneath)


def _halves_last(blocks: Sequence[Block]) -> Iterator[Block]:
    halves = [half for block in blocks if (half := _half(block)) is not None]
    yield from (block for block in blocks if _half(block) is None)
    yield from (Pair(tuple(halves[place : place + 2])) for place in range(0, len(halves), 2))


def _two_by_two(figures: Sequence[Block]) -> Iterator[Block]:
    """Yield pairs of figures in half the width; those without such a form, and the last of an odd number, whole."""
    halves = [half for figure in figures if (half := _half(figure)) is not None]
    yield from (Pair((one, other)) for one, other in zip(halves[::2], halves[1::2], strict=False))
    whole = [figure for figure in figures if _half(figure) is not None][len(halves) - len(halves) % 2 :]
    yield from (figure for figure in figures if figure in whole or _half(figure) is None)


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
