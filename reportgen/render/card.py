"""Draw pictures of pixels: a report's figures, and its card for link previews."""

import io
from collections.abc import Mapping
from typing import Final

from reportgen.model.document import Report
from reportgen.render import answer_board, artwork, boards, templates
from reportgen.render import figures as vectors
from reportgen.render.linked import CARD_SIZE
from reportgen.render.palette import palette
from reportgen.second_process import Request

NAME: Final = "card.png"
SCALE: Final = (
    2  # pixels of a figure for each px of its drawing, for screens of twice the usual density
)
COLOURS: Final = 256
NEARLY_WHITE: Final = 252  # of 255; the few colours are means of some, and white would be 254
FORMAT: Final = boards.Format(
    width=CARD_SIZE[0],
    height=CARD_SIZE[1],
    margin=64,
    title_sizes=(60, 54, 48),
    title_lines=3,
    sizes=(34, 30, 26, 22),
    small=22,
    gap=28,
)


def png(svg: str, scale: float = SCALE) -> bytes:
    """Return a drawing as PNG on white, in at most 256 colours: the same drawing gives the same
    bytes.
    """
    return artwork.made(pixels, _on_white(vectors.in_ink(svg)), scale)


def request(svg: str, scale: float = SCALE) -> Request:
    """Return what is to be drawn for `png`."""
    return pixels, (_on_white(vectors.in_ink(svg)), scale)


def pixels(svg: str, scale: float) -> bytes:
    """Return an SVG that stands alone as PNG in few colours, `scale` pixels for each px."""
    from PIL import Image

    drawn = vectors.converter().svg_to_png(svg, scale=scale)
    with Image.open(io.BytesIO(drawn)) as picture:
        flat = picture.convert("RGB")
    out = io.BytesIO()
    few = flat.quantize(
        COLOURS, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE
    )  # a fifth of median cut's time
    few.putpalette([255 if level >= NEARLY_WHITE else level for level in few.getpalette() or ()])
    few.save(out, "PNG")
    return out.getvalue()


def _on_white(svg: str) -> str:
    """Return a drawing on white: the converter gives wrong colours to what is half clear on
    nothing.
    """
    opening, end, rest = svg.partition(">")
    return f'{opening}{end}<rect width="100%" height="100%" fill="white"/>{rest}'


def pictures(figures: Mapping[str, str]) -> dict[str, bytes]:
    """Return each figure as PNG by the figure's key."""
    return {key: png(drawn) for key, drawn in figures.items()}


def render(report: Report) -> dict[str, bytes]:
    """Return the picture that link previews show, in the theme's colours: the finding and each
    change with its bar.
    """
    return {f"{report.slug}/{NAME}": png(drawing(report), scale=1)}


def drawing(report: Report) -> str:
    """Return the card as SVG."""
    board = boards.Board(FORMAT, palette(templates.current()))
    return boards.svg(board, answer_board.answer(report, board))
