"""Set a report for talks and videos: the answer and each figure of what a grower reads, one message
a screen.

A screen is 1920 x 1080 px, in light and in dark, as SVG and as PNG. No letter is smaller than 36
px, which reads on a phone: a figure's letters have 12 px, so it stands three times as large, or not
at all where that is too large.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from reportgen.language import marked, say
from reportgen.model.document import Figure, Report, Section
from reportgen.render import answer_board, boards, card, templates
from reportgen.render import figures as vectors
from reportgen.render.palette import Palette, palette

SECTIONS: Final = ("growth", "water", "energy", "fair")
ENLARGED: Final = 3  # px of a screen for each px of a figure
FORMAT: Final = boards.Format(
    width=1920,
    height=1080,
    margin=72,
    title_sizes=(88, 80, 72),
    title_lines=3,
    sizes=(64, 58, 52, 46, 42, 36),
    small=36,
    gap=40,
)
# Above a figure that is as wide as the screen.
OVER: Final = replace(FORMAT, has_edge=False, margin=48, title_sizes=(64, 56), gap=28)
AROUND: Final = 36  # px, the least that a figure keeps from the edge beside, above and beneath it
BESIDE: Final = boards.Format(  # the column to the left of a figure that is as high as the screen
    width=886,
    height=1080,
    margin=72,
    title_sizes=(72, 64, 56),
    title_lines=8,
    sizes=(36,),
    small=36,
    gap=40,
)
ANSWER: Final = "answer"
OF_ANSWER: Final = marked("The answer")
SIZE: Final = re.compile(r'\b(width|height)="([\d.]+)"')


@dataclass(frozen=True)
class Screen:
    """A screen: the name of its files without ground and ending, its title, and the drawing that
    stands on it.

    `form` is what the title is set in; `left` and `top` are where the drawing begins, px. The
    answer has no drawing.
    """

    name: str
    title: str
    form: boards.Format = FORMAT
    svg: str = field(default="", repr=False)
    left: float = 0.0
    top: float = 0.0


def screens(report: Report, figures: Mapping[str, str]) -> tuple[Screen, ...]:
    """Return the screens of a report, the answer first; none where the settings turn them off.

    figures: the report's figures as SVG by their keys.
    """
    if not templates.current().screens:
        return ()
    found = [
        _of_figure(report, title, figure, figures[figure.key]) for title, figure in _figures(report)
    ]
    return (Screen(ANSWER, say(OF_ANSWER)), *filter(None, found))


def render(report: Report, shown: Sequence[Screen]) -> dict[str, bytes]:
    """Return the files of a report's screens, each in light and in dark."""
    files: dict[str, bytes] = {}
    for name, drawn in drawings(report, shown).items():
        path = f"{report.slug}/screens/{name}"
        files[f"{path}.svg"] = drawn.encode()
        files[f"{path}.png"] = card.png(drawn, scale=1)
    return files


def drawings(report: Report, shown: Sequence[Screen]) -> dict[str, str]:
    """Return the screens in light and in dark as SVG, by the name of their files."""
    found: dict[str, str] = {}
    for ground in ("light", "dark"):
        colours = palette(templates.current(), dark=ground == "dark")
        for screen in shown:
            found[f"{screen.name}-{ground}"] = drawing(report, screen, colours)
    return found


def drawing(report: Report, screen: Screen, colours: Palette) -> str:
    """Return a screen as SVG."""
    whole = boards.Board(replace(FORMAT, has_edge=screen.form.has_edge), colours)
    if not screen.svg:
        return boards.svg(whole, answer_board.answer(report, whole))
    head, _ = boards.heading(report, screen.title, boards.Board(screen.form, colours))
    inner = (
        f'<g transform="translate({screen.left} {screen.top}) scale({ENLARGED})">{screen.svg}</g>'
    )
    return boards.svg(whole, head, vectors.in_ink(inner, colours.ink))


def _figures(report: Report) -> Iterator[tuple[str, Figure]]:
    """Yield each figure with its title: the section's finding for its first, what is seen for
    another.
    """
    for section in report.sections:
        if section.key in SECTIONS:
            yield from _figures_of(section)


def _figures_of(section: Section) -> Iterator[tuple[str, Figure]]:
    found = [block for block in section.blocks if isinstance(block, Figure)]
    for place, figure in enumerate(found):
        seen = figure.title or figure.caption
        yield (seen if place else section.title), figure


def _of_figure(report: Report, title: str, figure: Figure, wide: str) -> Screen | None:
    """Return a figure's narrow drawing beside its title, else its wide one beneath; None where
    neither has room.
    """
    narrow = vectors.narrow_svg(figure)
    if narrow:
        across, high = _size(narrow)
        room = FORMAT.width - BESIDE.width - AROUND
        if across <= room and high <= FORMAT.height - 2 * AROUND:
            return Screen(
                figure.key, title, BESIDE, narrow, BESIDE.width, (FORMAT.height - high) / 2
            )
    _, top = boards.heading(report, title, boards.Board(OVER, palette(templates.current())))
    across, high = _size(wide)
    if across > OVER.width or top + high > OVER.height - AROUND:
        return None
    return Screen(figure.key, title, OVER, wide, (OVER.width - across) / 2, top)


def _size(svg: str) -> tuple[float, float]:
    """Return how wide and high a drawing is on a screen, px."""
    found = dict(SIZE.findall(svg.partition(">")[0]))
    return ENLARGED * float(found["width"]), ENLARGED * float(found["height"])
