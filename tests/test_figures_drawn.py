"""Every figure of the samples and made trials, as drawn: nothing outside, no label hidden, all of
it readable.
"""

import json
import re
from pathlib import Path

import altair
import jsonschema
import pytest

from reportgen import metrics, pipeline, report
from reportgen.charts import scores, theme
from reportgen.charts.forest import Together, TrialRatio, forest
from reportgen.model.document import Figure
from reportgen.render.figures import in_ink, narrow_svg, svg
from tests import svg_boxes
from tests.made_trials import SHEETS, write_made

SAMPLES = Path("sample_workbook")
NAMES = (*sorted(path.stem for path in SAMPLES.glob("*.xlsx")), *SHEETS)
WIDTHS = {theme.WIDTH: svg, theme.NARROW: narrow_svg}
MOST_LINES = 8
FAR = "Together they say more than one by itself could ever say of warm roots in winter"


@pytest.fixture(scope="module")
def figures_of(tmp_path_factory):
    """Return a function that gives the figures of a trial by its name, composed once."""
    folder = tmp_path_factory.mktemp("made")
    known: dict[str, list[Figure]] = {}

    def of(name):
        if name not in known:
            sample = SAMPLES / f"{name}.xlsx"
            trial = pipeline.checked(
                sample if sample.exists() else write_made(folder, name), with_photos=True
            )
            document = report.compose(trial, metrics.compute(trial))
            blocks = [block for section in document.all_sections for block in section.blocks]
            known[name] = [block for block in blocks if isinstance(block, Figure)]
        return known[name]

    return of


@pytest.fixture(scope="module")
def drawn_of(figures_of):
    """Return a function that gives the drawings of a trial's figures at a width, by their keys."""
    known: dict[tuple[str, int], dict[str, svg_boxes.Drawn]] = {}

    def of(name, width):
        if (name, width) not in known:
            drawings = {figure.key: WIDTHS[width](figure) for figure in figures_of(name)}
            known[name, width] = {key: svg_boxes.read(drawing) for key, drawing in drawings.items()}
        return known[name, width]

    return of


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_keeps_to_the_schema_of_vega_lite(figures_of, name):
    schema = jsonschema.Draft7Validator(altair.load_schema())
    for figure in figures_of(name):
        for spec in (figure.spec, figure.narrow_spec):
            wrong = [error.message for error in schema.iter_errors(json.loads(spec))]
            assert wrong == [], figure.key


every_drawing = pytest.mark.parametrize(
    ("name", "width"), [(name, width) for name in NAMES for width in WIDTHS], ids=str
)


def faults(drawings, check):
    """Return what a check finds, by the figure's key."""
    return {key: found for key, drawing in drawings.items() if (found := check(drawing))}


@every_drawing
def test_a_figure_is_as_wide_as_it_says(drawn_of, name, width):
    assert {
        key: drawing.frame.right for key, drawing in drawn_of(name, width).items()
    } == dict.fromkeys(drawn_of(name, width), width)


@every_drawing
def test_nothing_reaches_out_of_a_figure(drawn_of, name, width):
    assert faults(drawn_of(name, width), svg_boxes.outside) == {}


@every_drawing
def test_no_label_lies_on_another(drawn_of, name, width):
    assert faults(drawn_of(name, width), svg_boxes.texts_that_meet) == {}


@every_drawing
def test_no_label_lies_on_a_line_or_a_mark(drawn_of, name, width):
    assert faults(drawn_of(name, width), svg_boxes.texts_over_lines) == {}


@every_drawing
def test_no_text_is_smaller_than_12_px(drawn_of, name, width):
    assert {
        key: min(drawing.sizes)
        for key, drawing in drawn_of(name, width).items()
        if min(drawing.sizes) < 12
    } == {}


@every_drawing
def test_text_has_the_colour_of_the_page_around_it(drawn_of, name, width):
    for drawing in drawn_of(name, width).values():
        assert set(drawing.text_colours) == {theme.INK}


def channels(colour: str) -> list[float]:
    """Return linear RGB by IEC 61966-2-1, as in WCAG 2.2's definition of relative luminance."""
    values = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    return [
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4 for value in values
    ]


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of WCAG 2.2: (L1 + 0.05) / (L2 + 0.05)."""
    weights = (0.2126, 0.7152, 0.0722)
    light = sorted(
        sum(a * b for a, b in zip(weights, channels(colour), strict=True))
        for colour in (one, other)
    )
    return (light[1] + 0.05) / (light[0] + 0.05)


def over(colour: str, opacity: float, ground: str) -> str:
    """Return the colour that is seen where one lies half clear on a ground."""
    pairs = [
        (int(colour[place : place + 2], 16), int(ground[place : place + 2], 16))
        for place in (1, 3, 5)
    ]
    return "#" + "".join(f"{round(opacity * a + (1 - opacity) * b):02x}" for a, b in pairs)


@every_drawing
def test_marks_keep_their_contrast_on_light_and_dark_grounds(drawn_of, name, width):
    """WCAG 2.2, success criterion 1.4.11: 3:1 for what must be seen; areas and grids behind it are
    paler.
    """
    for drawing in drawn_of(name, width).values():
        for colour, opacity in drawing.colours:
            if opacity >= 0.6 and colour != theme.INK:
                assert contrast(colour, theme.LIGHT_GROUND) >= 3, colour
                assert contrast(colour, theme.DARK_GROUND) >= 3, colour


@pytest.mark.parametrize(
    ("ink", "ground"),
    [(theme.INK_ON_LIGHT, theme.LIGHT_GROUND), (theme.INK_ON_DARK, theme.DARK_GROUND)],
)
def test_text_keeps_its_contrast_on_areas_of_every_treatment(ink, ground):
    """WCAG 2.2, success criterion 1.4.3."""
    for colour in theme.PALETTE:
        assert contrast(ink, over(colour, theme.PALE, ground)) >= 4.5
    assert contrast(ink, over(scores.COLOUR, scores.DARKEST, ground)) >= 4.5


@every_drawing
def test_no_plane_holds_more_lines_than_can_be_told_apart(figures_of, name, width):
    for figure in figures_of(name):
        spec = figure.spec if width == theme.WIDTH else figure.narrow_spec
        curves = re.search(r'"name": "curves", "values": (\[.*?\])', spec)
        if curves and '"panel"' not in curves[1]:
            assert len(set(re.findall(r'"treatment": "([^"]*)"', curves[1]))) <= MOST_LINES


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_says_what_is_seen(figures_of, name):
    assert [figure.key for figure in figures_of(name) if not figure.title] == []


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_has_both_drawings_of_the_same_data(figures_of, name):
    for figure in figures_of(name):
        both = [
            set(re.findall(r'"treatment": "([^"]*)"', spec))
            for spec in (figure.spec, figure.narrow_spec)
        ]
        assert both[0] == both[1]


def test_a_figure_in_ink_has_no_colour_left_to_take_from_a_page(figures_of):
    drawing = svg(figures_of("weights_only")[0])
    assert theme.INK in drawing
    assert theme.INK not in in_ink(drawing)
    assert theme.INK_ON_DARK in in_ink(drawing, theme.INK_ON_DARK)


# What the checks see


def drawing_of(*marks: str) -> svg_boxes.Drawn:
    return svg_boxes.read(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="100" height="50">{"".join(marks)}</svg>'
    )


LABEL = '<text transform="translate(10,30)" font-size="12px" fill="currentColor">Warm roots</text>'


@pytest.mark.parametrize(
    ("check", "mark"),
    [
        (
            svg_boxes.texts_over_lines,
            '<line transform="translate(0,26)" x2="100" y2="0" stroke="currentColor"/>',
        ),
        (svg_boxes.texts_over_lines, '<path d="M0,50L100,0" stroke="#3060cc"/>'),
        (
            svg_boxes.texts_over_lines,
            '<path transform="translate(20,26)" d="M4,0A4,4,0,1,1,-4,0Z" fill="#3060cc"/>',
        ),
        (
            svg_boxes.texts_that_meet,
            '<text transform="translate(40,30)" font-size="12px">22%</text>',
        ),
        (svg_boxes.outside, '<text transform="translate(95,12)" font-size="12px">22%</text>'),
        (
            svg_boxes.outside,
            '<path transform="translate(0,20)" d="M4,0A4,4,0,1,1,-4,0Z" fill="#3060cc"/>',
        ),
    ],
)
def test_the_checks_see_what_must_not_be(check, mark):
    assert check(drawing_of(LABEL)) == []
    assert check(drawing_of(LABEL, mark)) != []


# Trials together


def pooled(width):
    names = (
        "Warm roots, winter",
        "Warm roots for a second winter, with the lamps of the first",
        "Spring",
    )
    limits = ((1.05, 1.41), (0.88, 1.35), (None, None))
    trials = [
        TrialRatio(name, ("12% more", "(5% to 41% more)"), 1.12, *ends, weight=0.4)
        for name, ends in zip(names, limits, strict=True)
    ]
    together = Together(
        TrialRatio("All trials together", ("20% more",), 1.2, 1.09, 1.32),
        TrialRatio(FAR, ("5% less to 45% more",), 1.2, 0.95, 1.45),
    )
    return forest("Change from unheated trays in each trial", trials, together, width)


@pytest.mark.parametrize("width", WIDTHS)
def test_trials_together_are_drawn_as_clean(width):
    from reportgen.render.figures import converter

    drawing = svg_boxes.read(converter().vegalite_to_svg(theme.spec(pooled(width))))
    assert drawing.frame.right == width
    assert svg_boxes.outside(drawing) == []
    assert svg_boxes.texts_that_meet(drawing) == []
    assert svg_boxes.texts_over_lines(drawing) == []
