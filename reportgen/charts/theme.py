"""The look that all figures share: font, colours, shapes, dashes, and how a chart becomes text.

Charts have no ground of their own. Text and axes are in `currentColor`, so that they take the
colour of the page around them, light or dark; the colours of treatments keep 3:1 on both grounds.
Whoever sets a chart on paper or as a picture puts an ink in its place (`render/figures.py`).
"""

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

import altair as alt
from altair.utils.schemapi import disable_debug_mode

from reportgen import language
from reportgen.charts import ink
from reportgen.charts.tooltips import titled
from reportgen.language import figure as in_signs
from reportgen.language import plural, say
from reportgen.model.results import Measure
from reportgen.model.trial import Trial

# Altair else holds each part of a chart against the schema of Vega-Lite as it is made, which takes a
# third of the time; the tests hold whole charts against it.
disable_debug_mode()

FONT: Final = "Inter"
WIDTH: Final = 640  # px, with labels
NARROW: Final = 330  # px, for a phone
# Vega cuts labels between the two halves of such a sign (an emoji, say), and the converter then
# stops.
BEYOND_PLANE_0: Final = re.compile("[\U00010000-\U0010ffff]")
MOST_MARKS: Final = 2000  # beyond this a figure aggregates before it draws
# px, the least between numbers along an axis; else every second one is left out.
LABEL_SEPARATION: Final = 8

LIGHT_GROUND: Final = "#ffffff"
DARK_GROUND: Final = "#16191d"
INK: Final = ink.INK
INK_ON_LIGHT: Final = ink.INK_ON_LIGHT
INK_ON_DARK: Final = ink.INK_ON_DARK
FAINT: Final = 0.16  # opacity of lines that lead the eye along an axis
PALE: Final = 0.2  # opacity of a treatment's colour behind text

# Found by search: the most distant colours, under simulated colour blindness, that keep 3:1 to both
# grounds. Neighbours in the order differ in lightness too.
PALETTE: Final = ("#6c6c6c", "#cc8400", "#3060cc", "#a884b4", "#a84830", "#6c9c78")
HOURGLASS: Final = "M-.9,-.9L.9,-.9L-.9,.9L.9,.9Z"
# One shape more than colours: pairs of colour and shape repeat only after 42 treatments.
SHAPES: Final = ("circle", "square", "triangle-up", "diamond", "cross", "triangle-down", HOURGLASS)
DASHES: Final = ((1, 0), (7, 3), (2, 2), (10, 3, 2, 3), (14, 4), (5, 2, 1, 2, 1, 2))

CONFIG: Final[dict[str, Any]] = {
    "aria": False,
    "background": "transparent",
    "font": FONT,
    "padding": 4,
    "view": {"stroke": None},
    "axis": {
        "domainColor": INK,
        "domainOpacity": 0.6,
        "gridColor": INK,
        "gridOpacity": FAINT,
        "labelColor": INK,
        "labelFlush": False,
        "labelFontSize": 12,
        "labelLimit": 0,
        "labelSeparation": LABEL_SEPARATION,
        "tickColor": INK,
        "tickOpacity": 0.6,
        "titleColor": INK,
        "titleFontSize": 12,
        "titleFontWeight": "normal",
        "titleLimit": 0,
        "titlePadding": 8,
    },
    "line": {"strokeWidth": 1.75},
    "point": {"filled": True, "opacity": 1, "size": 60},
    "rule": {"color": INK},
    "text": {"color": INK, "fontSize": 12},
}


@dataclass(frozen=True)
class Look:
    """How a treatment appears in every figure; its name as printed."""

    name: str
    colour: str
    shape: str
    dash: tuple[int, ...]


def looks(trial: Trial) -> dict[str, Look]:
    """Return each treatment's look by code: the reference first, then in the workbook's order."""
    ordered = sorted(trial.treatments, key=lambda treatment: treatment.code != trial.reference)
    printed = [one_line(treatment.name) or treatment.code for treatment in ordered]
    looks_by_code: dict[str, Look] = {}
    for place, treatment in enumerate(ordered):
        name = printed[place]
        if printed.count(name) > 1:
            name = f"{name} ({treatment.code})"
        looks_by_code[treatment.code] = look(place, name)
    return looks_by_code


def look(place: int, name: str) -> Look:
    """Return the look of a place, from 0 on; colours, shapes and dashes repeat."""
    return Look(
        name=name,
        colour=PALETTE[place % len(PALETTE)],
        shape=SHAPES[place % len(SHAPES)],
        dash=DASHES[place % len(DASHES)],
    )


def colour(shown: Sequence[Look]) -> alt.Color:
    """Return the colour channel of the field `treatment`."""
    return alt.Color(
        "treatment:N", scale=_scale(shown, [look.colour for look in shown]), title=None, legend=None
    )


def shape(shown: Sequence[Look]) -> alt.Shape:
    """Return the shape channel of the field `treatment`."""
    return alt.Shape(
        "treatment:N", scale=_scale(shown, [look.shape for look in shown]), title=None, legend=None
    )


def fill(shown: Sequence[Look]) -> alt.Fill:
    """Return the fill channel of the field `treatment`, for areas."""
    return alt.Fill(
        "treatment:N", scale=_scale(shown, [look.colour for look in shown]), title=None, legend=None
    )


def line_colour(shown: Sequence[Look]) -> alt.Stroke:
    """Return the colour channel of lines."""
    return alt.Stroke(
        "treatment:N", scale=_scale(shown, [look.colour for look in shown]), title=None, legend=None
    )


def dash(shown: Sequence[Look]) -> alt.StrokeDash:
    """Return the dash channel of lines."""
    scale = _scale(shown, [list(look.dash) for look in shown])
    return alt.StrokeDash("treatment:N", scale=scale, title=None, legend=None)


def tooltip(*fields: str) -> list[alt.Tooltip]:
    """Return the tooltip channel of fields, each with its type, such as `tray:N`."""
    return [alt.Tooltip(field) for field in fields]


def _scale(shown: Sequence[Look], values: Sequence[Any]) -> alt.Scale:
    return alt.Scale(domain=[look.name for look in shown], range=list(values))


def one_line(text: str) -> str:
    """Return `text` on one line, with `?` for a sign that the renderer cannot cut."""
    return " ".join(BEYOND_PLANE_0.sub("?", text).split())


def percent(fraction: float) -> str:
    """Return a level of confidence as printed: 0.95 as `95%`."""
    return language.percent(in_signs(f"{100 * fraction:.10g}"))


def day(trial: Trial, on: date) -> int:
    """Return a date as days since the trial's start."""
    return (on - trial.started_on).days


def measure_title(measure: Measure) -> str:
    """Return the title of an axis: label, unit, and which way is better where one way is."""
    what = labelled(measure)
    if measure.better:
        return f"{what}, {better(measure)}"
    return what


def labelled(measure: Measure) -> str:
    """Return a measure's label with its unit."""
    label = language.label(measure.label, measure.trait or measure.grade)
    if measure.unit:
        return f"{label} ({language.unit(measure.unit)})"
    return label


def better(measure: Measure) -> str:
    """Return which way of a measure is better, empty where neither is."""
    return {"higher": say("higher is better"), "lower": say("lower is better")}.get(
        measure.better, ""
    )


def unit_of(trial: Trial, number: int = 1) -> str:
    """Return what a tray is called in a trial."""
    if trial.unit == "pot":
        return plural("pot", "pots", number)
    return plural("tray", "trays", number)


def capital(text: str) -> str:
    """Return a text with a capital at its beginning."""
    return text[:1].upper() + text[1:]


def rows(name: str, values: Iterable[Mapping[str, Any]]) -> alt.InlineData:
    """Return records as data under a name of their own, for Altair else names data by a hash."""
    return alt.InlineData(values=[dict(value) for value in values], name=name)


def _signs() -> dict[str, Any]:
    """Return how the renderer writes numbers along an axis, nothing in English, which is its own
    way.
    """
    if language.is_english():
        return {}
    signs = {
        "decimal": language.point(),
        "thousands": language.separator(),
        "grouping": [3],
        "currency": ["", ""],
    }
    return {"locale": {"number": signs}}


def decimals(values: Sequence[float]) -> int:
    """Return how many decimals the figures along an axis have."""
    texts = [f"{value:g}" for value in values]
    fractions = [text.partition(".")[2] for text in texts if "e" not in text]
    return max(map(len, fractions), default=0)


def number_format(values: Sequence[float]) -> str:
    """Return the format of figures along an axis, all with as many decimals: of D3, which the
    renderer uses.
    """
    is_plain = all("e" not in f"{value:g}" for value in values)
    if is_plain:
        return f",.{decimals(values)}f"
    return ",~g"


def grouped(value: float, digits: int = 0) -> str:
    """Return a number along an axis as the renderer writes it, in the signs of the language."""
    if "e" not in f"{value:g}":
        text = f"{value:,.{digits}f}"
    else:
        text = f"{value:g}"
    text = text.replace("-", "\N{MINUS SIGN}")
    if language.is_english():
        return text
    return in_signs(text.replace(",", "\0")).replace("\0", language.separator())


def digits(value: float) -> str:
    """Return a number to three significant digits, in decimals however small it is."""
    from numpy import format_float_positional

    return str(
        format_float_positional(
            float(f"{value:.3g}"), precision=3, fractional=False, unique=False, trim="-"
        )
    )


def spec(chart: alt.TopLevelMixin) -> str:
    """Return a chart as Vega-Lite JSON text in this theme: the same text for the same chart.

    `<` is written as an escape, so that no name in the data can end a script element around the
    text. Raises ValueError where a number is not finite.
    """
    document = titled(chart.to_dict(validate=False)) | {"config": CONFIG | _signs()}
    text = json.dumps(document, sort_keys=True, ensure_ascii=False, allow_nan=False)
    return BEYOND_PLANE_0.sub("?", text).replace("<", "\\u003c")
