"""Maps of light; the readers of a figure's text that the other files of figures use stand here too."""

import itertools
import json
import re
from dataclasses import replace
from datetime import date
from xml.etree import ElementTree

import pytest
import vl_convert
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.charts import light, light_readings, theme
from reportgen.model.trial import LightReading, Trial
from reportgen.render import templates
from tests import svg_boxes
from tests.test_charts import HOSTILE, drawn, invented, words

EIGHT = (
    "Full strength",
    "Half strength of a solution that is renewed every second week",
    "Rain water with slow-release granules stirred into the fleece",
    "Double strength with calcium and extra iron",
    "Tap water",
    "Full strength in the day and rain water during the whole night",
    "Compost tea, strained, diluted one to ten, stirred with air",
    "Eighth of them, whose name is as long as a name may be at most",
)
UP_TO_60 = tuple(name[:60].rstrip() for name in EIGHT)
MAPPED = date(2026, 2, 10)


@pytest.fixture(scope="session", autouse=True)
def _fonts():
    vl_convert.register_font_directory(str(templates.folder() / "assets" / "fonts"))


def units(chart) -> list[dict]:
    """Return every single view of a chart, its data those of the view around it where it has none
    of its own.
    """
    return list(_units(json.loads(theme.spec(chart)), None))


def _units(view: dict, data: dict | None):
    data = view.get("data", data)
    children = view.get("layer") or view.get("concat") or view.get("vconcat")
    if not children:
        yield {**view, "data": data}
    for child in children or ():
        yield from _units(child, data)


def records(chart, name: str) -> list[dict]:
    """Return the rows of the data called `name`, none where there are none."""
    return next(
        (unit["data"]["values"] for unit in units(chart) if unit["data"]["name"] == name), []
    )


def axis_titles(chart) -> str:
    channels = (unit["encoding"].get(key) for unit in units(chart) for key in ("x", "y"))
    found = [channel["title"] for channel in channels if channel and channel.get("title")]
    return "\n".join(" ".join(a) if isinstance(a, list) else a for a in found)


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


def size(svg: str) -> tuple[float, float]:
    root = ElementTree.fromstring(svg)
    return float(root.get("width")), float(root.get("height"))


def assert_readable(chart, names=(), width=theme.WIDTH) -> None:
    """Check what holds for every figure: its width, one font of 12 px or more, no name cut, nothing
    on a label.
    """
    svg = drawn(chart)
    text = squeezed(words(svg))
    found = svg_boxes.read(svg)
    assert found.frame.right == width
    assert svg_boxes.outside(found) == []
    assert svg_boxes.texts_that_meet(found) == []
    assert svg_boxes.texts_over_lines(found) == []
    assert (
        width != theme.WIDTH or size(svg)[1] < 970
    )  # px: A4 with margins of 2 cm is 1.51 times as high as wide
    assert min(map(float, re.findall(r'font-size="([\d.]+)(?:px)?"', svg))) >= 12
    assert set(re.findall(r'font-family="([^"]+)"', svg)) == {theme.FONT}
    assert [name for name in names if squeezed(name) not in text] == []
    assert "…" not in text
    assert "NaN" not in svg


def map_of(code: str, columns=6, rows=4, step=10.0, base=200.0) -> tuple[LightReading, ...]:
    """Return a map, brightest in the middle; places in cm."""
    return tuple(
        LightReading(code, base - 3 * (x - columns / 2) ** 2, MAPPED, step * x, step * y, 25.0)
        for x in range(columns)
        for y in range(rows)
    )


def lit(names=UP_TO_60[:2], **changes) -> Trial:
    maps = (map_of(f"N{place}", base=200.0 + 10 * place, **changes) for place in range(len(names)))
    return replace(invented(names), light=tuple(itertools.chain.from_iterable(maps)))


def reading(ppfd: float, **changes) -> LightReading:
    return LightReading(
        **{"treatment": "N0", "ppfd": ppfd, "on": MAPPED, "x": 0.0, "y": 0.0, "height": 25.0}
        | changes
    )


def figures(chart) -> list[str]:
    """Return what is printed under the circles of a figure."""
    return [row["text"] for row in records(chart, "figures center")]


@pytest.mark.parametrize("width", [theme.WIDTH, theme.NARROW])
@pytest.mark.parametrize("count", [1, 2, 3, 4, 8])
def test_maps_of_up_to_eight_treatments_are_readable(count, width):
    chart = light.ppfd_map(lit(UP_TO_60[:count]), width=width)
    assert_readable(chart, UP_TO_60[:count], width)


def test_every_reading_is_printed_under_its_circle():
    chart = light.ppfd_map(lit())
    assert sorted(figures(chart)) == sorted(f"{a.ppfd:.0f}" for a in lit().light)
    assert words(drawn(chart)).split("\n").count("200") == figures(chart).count("200")


def test_both_directions_have_one_scale_and_so_have_all_panels():
    chart = light.ppfd_map(lit(UP_TO_60[:3], columns=8, rows=3))
    circles = records(chart, "circles")
    across = sorted({round(row["x"], 3) for row in circles[:24]})
    along = sorted({round(row["y"], 3) for row in circles[:24]})
    steps = {round(b - a, 2) for places in (across, along) for a, b in itertools.pairwise(places)}
    assert len(circles) == 72
    assert len(steps) == 1


def test_the_area_of_a_circle_is_in_proportion_to_its_light():
    circles = records(light.ppfd_map(lit()), "circles")
    ratios = [row["area"] / row["ppfd"] for row in circles]
    assert ratios == pytest.approx([ratios[0]] * len(ratios))


def test_a_place_without_light_can_still_be_seen():
    trial = replace(invented(), light=(reading(0.0), reading(200.0, x=20.0)))
    assert min(row["area"] for row in records(light.ppfd_map(trial), "circles")) > 10


def test_a_map_names_unit_and_size():
    text = words(drawn(light.ppfd_map(lit())))
    assert "PPFD (µmol/m²/s): the larger a circle, the more light" in text
    assert re.search(r"\d+ x \d+ cm", text)


def test_uniformity_is_minimum_over_mean():
    # EN 12464-1, 3: illuminance uniformity is the ratio of minimum to average illuminance (from
    # memory).
    assert light_readings.evenness([50.0, 100.0, 150.0]) == light_readings.Evenness(
        100.0, 50.0, 0.5
    )
    assert light_readings.evenness([0.0, 0.0]) == light_readings.Evenness(0.0, 0.0, None)


def test_a_panel_says_mean_minimum_and_uniformity_or_what_the_caller_says():
    readings = (reading(50.0), reading(150.0, x=20.0))
    trial = replace(invented(), light=readings)
    own, told = (
        words(drawn(light.ppfd_map(trial, notes))) for notes in (None, {"N0": "mean 7 of two maps"})
    )
    assert "mean 100, minimum 50" in own
    assert "minimum / mean 0.50" in own
    assert "mean 7 of two maps" in told
    assert "minimum 50" not in told


def test_without_places_there_is_no_map():
    assert light.ppfd_map(invented()) is None
    assert (
        light.ppfd_map(replace(invented(), light=(reading(100.0, x=None), reading(90.0, y=None))))
        is None
    )


def test_readings_without_a_place_or_a_number_are_left_out():
    readings = (reading(100.0), reading(1.0, x=None, y=None), reading(float("nan"), x=10.0))
    assert figures(light.ppfd_map(replace(invented(), light=readings))) == ["100"]


def test_the_latest_date_is_shown_and_named():
    readings = (
        reading(1.0, on=None),
        reading(2.0, on=date(2026, 2, 4)),
        reading(33.0),
        reading(44.0, x=10.0),
    )
    chart = light.ppfd_map(replace(invented(), light=readings))
    assert figures(chart) == ["33", "44"]
    assert "10 February 2026, 25 cm high" in words(drawn(chart))


def test_the_height_that_most_readings_have_is_shown():
    low = [reading(10.0, x=10.0 * x, height=5.0) for x in range(3)]
    other = [reading(20.0, treatment="N1", x=10.0 * x, height=25.0) for x in range(5)]
    found = light_readings.shown_readings([*low, reading(99.0, height=25.0), *other])
    assert [a.ppfd for a in found["N0"]] == [99.0]
    assert len(found["N1"]) == 5
    assert [a.ppfd for a in light_readings.shown_readings([*low, *other])["N0"]] == [10.0] * 3


def test_readings_at_one_place_are_averaged():
    readings = (reading(100.0), reading(300.0, x=0.04), reading(50.0, x=10.0))
    assert sorted(figures(light.ppfd_map(replace(invented(), light=readings)))) == ["200", "50"]


def test_a_dense_map_shows_means_of_squares_and_says_so():
    trial = lit(columns=18, rows=12, step=2.0)
    chart = light.ppfd_map(trial)
    assert_readable(chart)
    assert re.search(
        r"means of squares of [\d.]+ cm where places lie closer",
        " ".join(words(drawn(chart)).split()),
    )
    assert len(figures(chart)) < 200 < len(trial.light)
    means = [a.ppfd for a in trial.light if a.treatment == "N0"]
    shown = [row["ppfd"] for row in records(chart, "circles")]
    assert min(means) <= min(shown)  # alike where the smallest readings lie alone in their square
    assert max(shown) < 1.06 * max(means)


def test_squares_hold_the_mean_of_their_readings():
    readings = tuple(
        reading(ppfd, x=x, y=y)
        for ppfd, x, y in ((100, 0, 0), (200, 0.5, 0.5), (400, 100, 0), (1, 100, 99))
    )
    chart = light.ppfd_map(replace(invented(), light=readings))
    assert sorted(row["ppfd"] for row in records(chart, "circles")) == [1, 150, 400]


def test_more_than_2000_readings_are_aggregated():
    chart = light.ppfd_map(lit(columns=80, rows=30, step=100.0))
    assert len(figures(chart)) <= theme.MOST_MARKS / 4
    assert len(theme.spec(chart)) < 60_000


def test_no_name_breaks_a_map():
    chart = light.ppfd_map(lit(HOSTILE))
    assert "<" not in theme.spec(chart)
    assert_readable(chart, HOSTILE)
    assert "Cool ?" in words(drawn(light.ppfd_map(lit(("Cool " + "\N{SEEDLING}" * 40,)))))


@settings(max_examples=8, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.floats(0, 5000),
            st.floats(-500, 500),
            st.floats(0, 3000),
            st.sampled_from(["N0", "N1"]),
        ),
        min_size=1,
        max_size=30,
    )
)
def test_places_wherever_they_lie_make_a_map_without_figures_on_each_other(places):
    readings = tuple(reading(ppfd, x=x, y=y, treatment=code) for ppfd, x, y, code in places)
    for width in (theme.WIDTH, theme.NARROW):
        found = svg_boxes.read(
            drawn(light.ppfd_map(replace(invented(), light=readings), width=width))
        )
        assert found.frame.right == width
        assert svg_boxes.outside(found) == []
        assert svg_boxes.texts_that_meet(found) == []
        assert svg_boxes.texts_over_lines(found) == []


def test_the_map_is_that_of_the_height_in_use():
    trial = invented()
    low = map_of("N0")
    high = tuple(replace(reading, height=40.0, ppfd=reading.ppfd / 2) for reading in low)
    more = tuple(
        replace(reading, x=(reading.x or 0) + 100) for reading in low
    )  # most readings are at 25 cm
    used = tuple(
        replace(one, light_height=40.0 if one.code == "N0" else None) for one in trial.treatments
    )
    shown = light_readings.shown_readings(
        light_readings.readings_in_use(replace(trial, treatments=used, light=low + more + high))
    )
    assert {reading.height for reading in shown["N0"]} == {40.0}
    unsettled = light_readings.shown_readings(
        light_readings.readings_in_use(replace(trial, light=low + more + high))
    )
    assert {reading.height for reading in unsettled["N0"]} == {25.0}
