import json
import re
from itertools import combinations
from xml.etree import ElementTree

import pytest
import vl_convert
from PIL import ImageFont

from reportgen.charts import theme, water
from reportgen.charts.narrow import HALF, WIDTH, half, narrow
from reportgen.charts.scores import shares_by_class
from reportgen.metrics import compute
from reportgen.render import templates
from tests import test_charts_chain as chains
from tests import test_charts_forest as forests
from tests.scored import scored_trial
from tests.test_charts import FIGURES, HOSTILE, NAMES, invented
from tests.test_charts_light import _fonts

assert _fonts  # the figures of this file are measured in the font too


def scored():
    made = scored_trial()
    return shares_by_class(made, compute(made).scores[0])


ROWS = {
    "overview of two": lambda: FIGURES["relative"](invented(NAMES[:2])),
    "overview of five": lambda: FIGURES["relative"](invented(NAMES)),
    "overview of hostile names": lambda: FIGURES["relative"](invented(HOSTILE)),
    "chain": lambda: chains.of(chains.WEIGHT, chains.ENERGY, chains.PRICE),
    "forest": forests.of,
    "scores": scored,
}
CURVES = {
    "solution": lambda: water.solution_over_time(invented(NAMES), "ec"),
    "solution of hostile names": lambda: water.solution_over_time(invented(HOSTILE), "ph"),
}
every_figure_of_rows = pytest.mark.parametrize("chart", ROWS.values(), ids=ROWS.keys())


def drawn(chart) -> ElementTree.Element:
    spec = narrow(theme.spec(chart))
    assert spec is not None
    return ElementTree.fromstring(vl_convert.vegalite_to_svg(spec, vl_version="6.4"))


def placed(element: ElementTree.Element, x: float = 0.0, y: float = 0.0):
    """Yield what an SVG draws with where it stands, px from its upper left corner."""
    moved = re.match(r"translate\(([-\d.]+),\s*([-\d.]+)\)", element.get("transform", ""))
    if moved:
        x, y = x + float(moved[1]), y + float(moved[2])
    yield element, x, y
    for child in element:
        yield from placed(child, x, y)


def lines(svg: ElementTree.Element):
    """Yield each line of text as (text, left, right, baseline) in px, measured in the font."""
    font = ImageFont.truetype(str(templates.folder() / "assets" / "fonts" / "Inter-Regular.ttf"), 12)
    for element, x, y in placed(svg):
        if element.tag.endswith("text"):
            for said, down in parts(element):
                width = font.getlength(said)
                left = x - {"start": 0, "middle": width / 2, "end": width}[element.get("text-anchor", "start")]
                yield said, left, left + width, y + down


def parts(text: ElementTree.Element):
    """Yield each line of a text element and how far it stands below the first one."""
    down = 0.0
    for line in list(text) or [text]:
        down += float(line.get("dy", 0))
        if line.text:
            yield line.text, down


def marks(svg: ElementTree.Element):
    """Yield where each mark of a result stands: the small shapes in the colours of treatments or ink."""
    for element, x, y in placed(svg):
        if element.tag.endswith("path") and "translate" in element.get("transform", ""):
            yield x, y


@every_figure_of_rows
def test_a_figure_of_rows_fits_a_window_of_320_px_with_text_as_large_as_ever(chart):
    svg = drawn(chart())
    assert float(svg.get("width")) <= WIDTH
    assert {element.get("font-size") for element, *_ in placed(svg) if element.get("font-size")} == {"12px"}


@every_figure_of_rows
def test_no_text_leaves_the_figure_or_is_cut(chart):
    svg = drawn(chart())
    for said, left, right, _ in lines(svg):
        assert "…" not in said
        assert (left, right) == (pytest.approx(WIDTH / 2, abs=WIDTH / 2 + 1),) * 2, said


@every_figure_of_rows
def test_no_text_lies_over_another_or_over_a_mark(chart):
    svg = drawn(chart())
    boxes = list(lines(svg))
    for (one, left, right, base), (other, start, end, below) in combinations(boxes, 2):
        assert abs(base - below) >= 10 or right <= start or end <= left, (one, other)
    # A letter of 12 px reaches some 9 px over its baseline.
    covered = [
        (said, x, y)
        for said, left, right, base in boxes
        for x, y in marks(svg)
        if left < x < right and base - 9 < y < base
    ]
    assert covered == []


@every_figure_of_rows
def test_narrow_and_wide_figures_say_the_same(chart):
    made = chart()
    wide = ElementTree.fromstring(vl_convert.vegalite_to_svg(theme.spec(made), vl_version="6.4"))
    said, kept = (" ".join(line for line, *_ in lines(svg)).split() for svg in (wide, drawn(made)))
    lost = set(said) - set(kept)
    assert [word for word in lost if not word.isdigit()] == []  # a narrow axis may have fewer figures


@every_figure_of_rows
def test_marks_and_data_stay_as_they_were(chart):
    spec = theme.spec(chart())
    wide, small = (json.loads(text) for text in (spec, narrow(spec)))
    assert [layer["mark"] for layer in small["layer"]] == [layer["mark"] for layer in wide["layer"]]
    assert [layer.get("data") for layer in small["layer"]] == [layer.get("data") for layer in wide["layer"]]
    domains = [
        [one["encoding"]["x"].get("scale", {}).get("domain") for one in of["layer"] if "x" in one["encoding"]]
        for of in (wide, small)
    ]
    assert domains[0] == domains[1]


def halved(chart) -> ElementTree.Element:
    return ElementTree.fromstring(vl_convert.vegalite_to_svg(half(theme.spec(chart)), vl_version="6.4"))


@pytest.mark.parametrize("key", [*ROWS, *CURVES])
def test_two_figures_of_half_the_width_stand_side_by_side_and_no_text_is_cut(key):
    svg = halved((ROWS | CURVES)[key]())
    assert float(svg.get("width")) <= HALF
    height = float(svg.get("height"))
    for element, x, y in placed(svg):
        if element.tag.endswith("text") and "rotate" in element.get("transform", ""):
            assert 0 <= x <= HALF  # an axis title along the figure's side, as long as the figure is high at most
            longest = max(len(said) for said, _ in parts(element))
            assert longest * theme.CHARACTER <= height
            assert 0 <= y <= height
    level = [one for one in lines(svg) if one[0] not in turned(svg)]
    for said, left, right, _ in level:
        assert "…" not in said
        assert (left, right) == (pytest.approx(HALF / 2, abs=HALF / 2 + 1),) * 2, said


def turned(svg: ElementTree.Element) -> set[str]:
    """Return the lines of text that run upwards."""
    return {
        said
        for element in svg.iter()
        if element.tag.endswith("text") and "rotate" in element.get("transform", "")
        for said, _ in parts(element)
    }


def test_curves_whose_names_have_no_room_in_half_the_width_keep_the_whole():
    assert half(theme.spec(water.solution_over_time(invented(("a" * 60, "b" * 60)), "ec"))) is None


@pytest.mark.parametrize("key", sorted(FIGURES.keys() - {"relative"}))
def test_a_figure_without_labelled_rows_has_no_narrow_form(key):
    assert narrow(theme.spec(FIGURES[key](invented()))) is None


def test_no_name_can_end_a_script_element_around_a_narrow_figure():
    assert "<" not in narrow(theme.spec(FIGURES["relative"](invented(HOSTILE))))
