"""Set figures of a kind side by side on paper, so that fewer pages end before they are full."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain, groupby

from reportgen.model.document import Block, Figure, Pair, Report, Section
from reportgen.render import figures


def pair(report: Report, drawn: Mapping[str, str]) -> tuple[Report, dict[str, str]]:
    """Return a report with its pairs, and the SVG of each figure by its key; `drawn` holds them at full width.

    Figures that follow each other and have a form of half the width go two by two.
    """
    changed = replace(report, sections=_with_pairs(report.sections), annex=_with_pairs(report.annex))
    found = [block for section in changed.all_sections for block in section.blocks if isinstance(block, Pair)]
    halves = {figure.key: figures.svg(figure) for figure in chain.from_iterable(block.figures for block in found)}
    return changed, {**drawn, **halves}


def _with_pairs(sections: Sequence[Section]) -> tuple[Section, ...]:
    return tuple(replace(section, blocks=tuple(_paired(section.blocks))) for section in sections)


def _paired(blocks: Sequence[Block]) -> Iterator[Block]:
    with_halves = [(block, _half(block)) for block in blocks]
    for _, run in groupby(with_halves, key=lambda one: one[1] is not None):
        yield from _two_by_two(list(run))


def _half(block: Block) -> Figure | None:
    if not isinstance(block, Figure) or not block.narrow_spec:
        return None
    return replace(block, spec=block.narrow_spec)


def _two_by_two(run: Sequence[tuple[Block, Figure | None]]) -> Iterator[Block]:
    """Yield pairs of the figures' halves; blocks without, and the last of an odd number, as they are."""
    halves = [small for _, small in run if small]
    yield from (Pair((one, other)) for one, other in zip(halves[::2], halves[1::2], strict=False))
    yield from (block for block, _ in run[len(halves) - len(halves) % 2 :])
