"""Draw figures as SVG that stands alone, on a page among others, and in the PDF."""

import os
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from types import ModuleType
from xml.dom import minidom

from markupsafe import Markup

from reportgen import direction
from reportgen.charts.ink import INK, INK_ON_LIGHT
from reportgen.model.document import Figure, Report
from reportgen.render import artwork, templates
from reportgen.second_process import Request

# XML 1.0, section 2.2: these characters cannot stand in a document, not even escaped.
NOT_IN_XML = dict.fromkeys([*range(9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF])

REFERENCE = re.compile(r"(?<=^#)[^)]+$|(?<=url\(#)[^)]+(?=\))")


def draw(report: Report) -> dict[str, str]:
    """Return the SVG of each of the report's figures by the figure's key."""
    found: dict[str, str] = {}
    for section in report.all_sections:
        found |= drawings(section.blocks)
    return found


def drawings(blocks: Iterable[object]) -> dict[str, str]:
    """Return the SVG of each figure among some blocks by the figure's key."""
    return {block.key: svg(block) for block in blocks if isinstance(block, Figure)}


def for_screens(blocks: Iterable[object], drawn: Mapping[str, str]) -> dict[str, Markup]:
    """Return each figure as a page shows it: its SVG and, where it has one, its drawing for narrow
    screens after it.
    """
    found = [block for block in blocks if isinstance(block, Figure)]
    return {block.key: Markup(drawn[block.key] + narrow_svg(block)) for block in found}


def specs(blocks: Iterable[object]) -> dict[str, tuple[Markup, ...]]:
    """Return each figure's specifications, wide and narrow if any, as JSON for an element.

    Every `<` becomes an escape, so that nothing in them ends the element.
    """
    figures = [block for block in blocks if isinstance(block, Figure)]
    return {figure.key: _inert_specs(figure) for figure in figures}


def _inert_specs(figure: Figure) -> tuple[Markup, ...]:
    return tuple(map(_inert, filter(None, (figure.spec, figure.narrow_spec))))


def _inert(spec: str) -> Markup:
    return Markup(spec.replace("<", "\\u003c"))


def narrow_svg(figure: Figure) -> str:
    """Return the SVG of a figure's drawing for narrow screens, empty where it has none."""
    if not figure.narrow_spec:
        return ""
    return svg(replace(figure, key=f"{figure.key}-narrow", spec=figure.narrow_spec))


def render(report: Report, figures: Mapping[str, str]) -> dict[str, bytes]:
    """Return each figure as a file of its own, in the ink of a light ground."""
    return {
        f"{report.slug}/figures/{key}.svg": in_ink(drawn).encode() for key, drawn in figures.items()
    }


def in_ink(drawn: str, ink: str = INK_ON_LIGHT) -> str:
    """Return an SVG whose text and axes are in `ink`, for where there is no page to take a colour
    from.
    """
    return drawn.replace(f'"{INK}"', f'"{ink}"')


def svg(figure: Figure) -> str:
    """Return a figure as SVG: one image with the figure's text as its title.

    The same figure gives the same bytes. Identifiers carry the figure's key, so that figures on one
    page do not meet. No address is fetched. Text and axes are in `currentColor`, the colour of the
    text around them.
    """
    drawn = artwork.made(converted, figure.spec)
    document = minidom.parseString(drawn.translate(NOT_IN_XML))
    _leave_out_unseen(document)
    elements = document.getElementsByTagName("*")
    for element in elements:
        _keep_presentation(element)
    _renumber(elements, figure.key)
    _set_apart(elements)
    _describe(elements[0], figure.alternative.translate(NOT_IN_XML))
    return elements[0].toxml()


def converted(spec: str) -> str:
    """Return what the converter draws of a specification in Vega-Lite."""
    drawn: str = converter().vegalite_to_svg(spec, allowed_base_urls=[])
    return drawn


def narrow_requests(report: Report) -> list[Request]:
    """Return what is to be drawn of a report's figures for narrow screens."""
    blocks = (block for section in report.all_sections for block in section.blocks)
    found = [block.narrow_spec for block in blocks if isinstance(block, Figure)]
    return [(converted, (spec,)) for spec in found if spec]


@cache
def converter() -> ModuleType:
    """Return the converter, told the time zone and the fonts before it starts."""
    os.environ["TZ"] = "UTC"  # times in charts are the trial's own, not this machine's
    import vl_convert

    vl_convert.register_font_directory(str(templates.folder() / "assets" / "fonts"))
    return vl_convert


def _leave_out_unseen(document: minidom.Document) -> None:
    """Remove labels that the converter left transparent for want of room: copied and read aloud
    they would count.
    """
    for label in document.getElementsByTagName("text"):
        parent = label.parentNode
        if parent is not None and label.getAttribute("opacity") == "0":
            parent.removeChild(label)


def _keep_presentation(element: minidom.Element) -> None:
    """Keep of an element what draws it: no inner role, no class, and attributes in place of inline
    style.
    """
    for name in list(element.attributes.keys()):
        if name in ("class", "role") or name.startswith("aria-"):
            element.removeAttribute(name)
    for declaration in element.getAttribute("style").split(";"):
        name, colon, value = declaration.partition(":")
        if colon:
            element.setAttribute(name.strip(), value.strip())
    if element.hasAttribute("style"):
        element.removeAttribute("style")


def _renumber(elements: Sequence[minidom.Element], key: str) -> None:
    """Count identifiers from 1 within the figure; the converter counts on through the process."""
    old = [element.getAttribute("id") for element in elements if element.hasAttribute("id")]
    new = {name: f"chart-{key}-{number}" for number, name in enumerate(old, 1)}
    for element in elements:
        for name, value in list(element.attributes.items()):
            if name == "id":
                element.setAttribute(name, new[value])
            else:
                element.setAttribute(
                    name, REFERENCE.sub(lambda match: new.get(match[0], match[0]), value)
                )


def _set_apart(elements: Sequence[minidom.Element]) -> None:
    """Set apart whatever runs from right to left in the figure's texts; SVG has no element for
    that.
    """
    for element in elements:
        for child in element.childNodes:
            if child.nodeType == child.TEXT_NODE:
                child.data = direction.isolated(child.data)


def _describe(root: minidom.Element, text: str) -> None:
    """Name the image by `text`, in the one way that browsers and tagged PDFs share."""
    title = minidom.Document().createElement("title")
    title.appendChild(minidom.Document().createTextNode(direction.isolated(text)))
    root.insertBefore(title, root.firstChild)
    root.setAttribute("role", "img")
