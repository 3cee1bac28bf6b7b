"""Give the PDF its figures: as they are drawn, or as pictures where the layout would spell a text
backwards.
"""

from xml.dom import minidom

from reportgen import direction
from reportgen.render import card, figures


def files(name: str, svg: str) -> dict[str, bytes]:
    """Return a figure's files; `name` is its address without an ending.

    WeasyPrint sets the letters of an SVG text one by one from left to right.
    """
    if not direction.runs_right_to_left(svg):
        return {f"{name}.svg": figures.in_ink(svg).encode()}
    return {
        f"{name}.svg": _framed(svg, f"{name.rpartition('/')[2]}.png"),
        f"{name}.png": card.png(svg),
    }


def _framed(svg: str, picture: str) -> bytes:
    """Return a drawing of the same size that shows a picture."""
    root = minidom.parseString(svg).getElementsByTagName("svg")[0]
    for child in list(root.childNodes):
        root.removeChild(child)
    image = minidom.Document().createElement("image")
    image.setAttribute("href", picture)
    for name in ("width", "height"):
        image.setAttribute(name, root.getAttribute(name))
    root.appendChild(image)
    return str(root.toxml()).encode()
