import itertools
import json
import math
import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from statistics import median
from xml.etree import ElementTree

import numpy as np
import pytest
import vl_convert
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen import language
from reportgen.charts import (
    changes,
    dots,
    energy,
    layout,
    line_ends,
    placed,
    residuals,
    theme,
    water,
)
from reportgen.charts.changes import ChangeRow
from reportgen.charts.placed import Label
from reportgen.model.results import Comparison, Estimate, Measure, MeasureResult, TrayResidual
from reportgen.model.trial import About, Plant, SolutionEvent, Trait, Tray, Treatment, Trial
from reportgen.render import templates

FONTS = templates.folder() / "assets" / "fonts"
START = date(2026, 2, 3)
NAMES = (
    "Full strength",
    "Half strength",
    "Rain water + slow release",
    "Double strength, warm",
    "Tap water",
)
HOSTILE = (
    "Feed [a].b 'c' \"d\" <b>",
    "datum['y'] & \\ </script>",
    "µS/cm² → ≥ 3 × Łódź",
    "x.y",
    "100% – “quoted”",
)
WEIGHT = Measure("fresh_weight", "Fresh weight", "g/plant", "higher")


# A trial of nutrient strength for coriander, made up: as many treatments as `names`, as many blocks
# as `blocks`.


def invented(names=NAMES[:3], blocks=4, plants=5) -> Trial:
    treatments = tuple(Treatment(f"N{number}", name) for number, name in enumerate(names))
    pairs = list(itertools.product(range(blocks), enumerate(treatments)))
    trays = tuple(
        Tray(
            f"T{block}-{place}",
            a.code,
            plants,
            f"Shelf {block + 1}",
            str((place + block) % len(names) + 1),
        )
        for block, (place, a) in pairs
    )
    return Trial(
        slug="coriander",
        source_sha256="0" * 64,
        about=About("Nutrient strength for coriander", "coriander"),
        started_on=START,
        harvested_on=START + timedelta(days=30),
        reference="N0",
        treatments=treatments,
        trays=trays,
        plants=tuple(itertools.chain.from_iterable(map(grown, range(len(trays)), trays))),
        traits=(Trait("height", "Height", "cm"),),
        solution=tuple(itertools.chain.from_iterable(map(watered, range(len(trays)), trays))),
    )


def grown(number: int, tray: Tray) -> tuple[Plant, ...]:
    weights = [
        20 + 3 * (number % 3) + (7 * plant + number) % 5 for plant in range(tray.plants_started)
    ]
    return tuple(
        Plant(tray.code, str(plant), "harvested", float(a), (a / 2,))
        for plant, a in enumerate(weights)
    )


def watered(number: int, tray: Tray) -> tuple[SolutionEvent, ...]:
    return (
        SolutionEvent(tray.code, START, "fill", 8.0, ec=1.2 + number % 3 / 5, ph=5.8),
        SolutionEvent(tray.code, START + timedelta(days=10), "top-up", 2.0, ec=1.3, ph=6.0),
        SolutionEvent(tray.code, START + timedelta(days=12), "top-up", 1.5),
        SolutionEvent(tray.code, START + timedelta(days=20), "sample", 0.25),
        SolutionEvent(tray.code, START + timedelta(days=30), "drain", 0.5),
        SolutionEvent(tray.code, START + timedelta(days=30), "remaining", 3.0, ec=1.6, ph=6.2),
    )


def weighed(trial: Trial, comparison=None, measure=WEIGHT) -> MeasureResult:
    comparison = comparison or Comparison(1.2, 1.1, 1.3)
    others = [a.code for a in trial.treatments if a.code != trial.reference]
    return MeasureResult(
        measure,
        tuple((a.code, Estimate(23.0, 21.0, 25.0, n=4)) for a in trial.treatments),
        tuple((code, comparison) for code in others),
        tuple((tray.code, 23.0 + place % 3) for place, tray in enumerate(trial.trays)),
    )


def plants_of(trial: Trial) -> dict[str, list[float]]:
    """Return the weights of each tray's plants."""
    found: dict[str, list[float]] = {}
    for plant in trial.plants:
        if plant.fresh_weight is not None:
            found.setdefault(plant.tray, []).append(plant.fresh_weight)
    return found


def dots_of(trial: Trial, width: float = theme.WIDTH):
    printed = {treatment.code: "23 (21 to 25)" for treatment in trial.treatments}
    return dots.tray_dots(trial, weighed(trial), printed, plants_of(trial), width)


def changes_of(trial: Trial, width: float = theme.WIDTH):
    rows = [ChangeRow("Fresh weight, higher is better")]
    for code, look in theme.looks(trial).items():
        if code != trial.reference:
            rows.append(
                ChangeRow(look.name, ("20% more", "(10% to 30% more)"), 120.0, 110.0, 130.0, look)
            )
    return changes.changes(rows, "Change from the reference", width)


def read(trial: Trial):
    """Return readings of energy: one meter for each treatment and one that all share."""
    days = [datetime(2026, 2, 3, 9) + timedelta(days=day) for day in range(0, 30, 5)]
    codes = [*(a.code for a in trial.treatments), ""]
    return tuple(
        (code, tuple((at, 2.0 * n + n * k) for n, at in enumerate(days)))
        for k, code in enumerate(codes)
    )


def unexplained(trial: Trial):
    left = [
        TrayResidual(tray.code, tray.treatment, 20.0 + place % 5, (place % 7 - 3) / 50)
        for place, tray in enumerate(trial.trays)
    ]
    return residuals.residuals_against_fitted(trial, WEIGHT, left)


FIGURES = {
    "changes": changes_of,
    "layout": layout.layout_plan,
    "dots": dots_of,
    "ec": lambda trial: water.solution_over_time(trial, "ec"),
    "ph": lambda trial: water.solution_over_time(trial, "ph"),
    "energy": lambda trial: energy.energy_over_time(trial, read(trial)),
    "residuals": unexplained,
}


def spec_of(chart) -> dict:
    return json.loads(theme.spec(chart))


def layers(chart) -> dict[str, dict]:
    """Return the layers of a chart by the name of their data."""
    document = spec_of(chart)
    return {layer.get("data", document.get("data"))["name"]: layer for layer in document["layer"]}


def data(chart, name: str) -> list[dict]:
    return layers(chart)[name]["data"]["values"]


def titles(chart) -> str:
    """Return every title of an axis as one text."""
    found = [
        channel["title"]
        for layer in spec_of(chart)["layer"]
        for key, channel in layer["encoding"].items()
        if key in {"x", "y"} and channel.get("title")
    ]
    return "\n".join(" ".join(a) if isinstance(a, list) else a for a in found)


@pytest.fixture(scope="session", autouse=True)
def _fonts():
    vl_convert.register_font_directory(str(FONTS))


def drawn(chart) -> str:
    return vl_convert.vegalite_to_svg(theme.spec(chart), vl_version="6.4")


def words(svg: str) -> str:
    return "\n".join(
        element.text or "" for element in ElementTree.fromstring(svg).iter() if element.text
    )


# Every figure


@pytest.mark.parametrize("key", FIGURES)
@pytest.mark.parametrize("count", [2, 3, 5])
def test_every_figure_is_drawn_640_px_wide_with_the_names_of_its_treatments(key, count):
    trial = invented(NAMES[:count])
    svg = drawn(FIGURES[key](trial))
    shown = NAMES[1:count] if key == "changes" else NAMES[:count]
    text = " ".join(words(svg).split())
    assert 'width="640"' in svg
    assert [name for name in shown if name not in text] == []


@pytest.mark.parametrize("key", FIGURES)
def test_every_figure_is_the_same_text_each_time(key):
    first, second = (theme.spec(FIGURES[key](invented())) for _ in range(2))
    assert first == second
    assert not re.search(r"view_\d|data-[0-9a-f]{8}|param_\d", first)


@pytest.mark.parametrize("key", FIGURES)
def test_colour_never_stands_alone(key):
    """Marks differ in shape and lines in dash; areas lie along the marks or lines of their
    treatment.
    """
    chart = FIGURES[key](invented())
    alone = [
        name
        for name, layer in layers(chart).items()
        if {"color", "stroke"} & layer["encoding"].keys()
        and not {"shape", "strokeDash"} & layer["encoding"].keys()
    ]
    assert alone == []


@pytest.mark.parametrize("key", FIGURES)
def test_names_stand_at_what_they_name_and_not_in_a_legend(key):
    document = vl_convert.vegalite_to_vega(theme.spec(FIGURES[key](invented())), vl_version="6.4")
    assert document.get("legends", []) == []


@pytest.mark.parametrize("key", FIGURES)
def test_no_text_is_smaller_than_12_px_and_all_of_it_in_the_font_that_comes_along(key):
    svg = drawn(FIGURES[key](invented()))
    assert min(map(float, re.findall(r'font-size="([\d.]+)(?:px)?"', svg))) >= 12
    assert set(re.findall(r'font-family="([^"]+)"', svg)) == {theme.FONT}


@pytest.mark.parametrize(
    ("key", "wanted"),
    [
        ("changes", ("Change from the reference", "logarithmic scale")),
        ("dots", ("Fresh weight (g/plant), higher is better",)),
        (
            "ec",
            (
                "Electrical conductivity of the solution (mS/cm)",
                "Days since the start on 3 February 2026",
            ),
        ),
        ("ph", ("Acidity of the solution (pH)",)),
        (
            "residuals",
            (
                "Fitted value of each tray: Fresh weight (g/plant)",
                "Residual: ln(measured / fitted)",
            ),
        ),
        (
            "energy",
            ("Energy since the first reading (kWh)", "Days since the start on 3 February 2026"),
        ),
    ],
)
def test_axes_are_titled_with_unit_and_direction(key, wanted):
    found = " ".join(words(drawn(FIGURES[key](invented()))).split())
    assert [text for text in wanted if text not in found] == []


@pytest.mark.parametrize("key", FIGURES)
def test_no_name_can_break_a_figure(key):
    trial = invented(HOSTILE)
    trays = tuple(replace(tray, code=f"{tray.code}.['<\"\\&") for tray in trial.trays)
    codes = {old.code: new.code for old, new in zip(trial.trays, trays, strict=True)}
    plants = tuple(replace(plant, tray=codes[plant.tray]) for plant in trial.plants)
    solution = tuple(replace(event, tray=codes[event.tray]) for event in trial.solution)
    chart = FIGURES[key](replace(trial, trays=trays, plants=plants, solution=solution))
    text = " ".join(words(drawn(chart)).split())
    assert "<" not in theme.spec(chart)
    assert [name for name in HOSTILE[key == "changes" :] if name not in text] == []


@settings(max_examples=15, deadline=None)
@given(
    st.lists(
        st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cn", "Cs")), max_size=40),
        min_size=2,
        max_size=4,
    )
)
def test_a_name_of_any_characters_keeps_its_treatment_apart(names):
    trial = invented(tuple(names), blocks=1, plants=1)
    looks = theme.looks(trial)
    chart = dots_of(trial)
    assert len({look.name for look in looks.values()}) == len(names)
    assert [row["treatment"] for row in data(chart, "symbols")] == [
        look.name for look in looks.values()
    ]
    assert "NaN" not in drawn(chart)


def test_a_long_name_of_emoji_does_not_stop_a_figure():
    trial = invented(
        ("Cool " + "\N{SEEDLING}" * 40, "Warm " + "\N{SUN WITH FACE}" * 41), blocks=1, plants=1
    )
    assert "Warm ?" in words(drawn(dots_of(trial)))


def test_two_treatments_of_one_name_are_told_apart_by_their_codes():
    looks = theme.looks(invented(("Warm", "Cool", " Warm ")))
    assert [look.name for look in looks.values()] == ["Warm (N0)", "Cool", "Warm (N2)"]


def test_the_reference_comes_first_then_the_order_of_the_workbook():
    looks = theme.looks(replace(invented(), reference="N2"))
    assert list(looks) == ["N2", "N0", "N1"]
    assert looks["N2"].colour == theme.PALETTE[0]


def test_42_treatments_differ_in_the_pair_of_colour_and_shape():
    looks = [theme.look(place, "") for place in range(42)]
    assert len({(look.colour, look.shape) for look in looks}) == 42


def test_a_long_name_goes_on_in_the_next_line():
    long = (
        "Double strength with calcium, extra iron and much more besides, sprayed on leaves from"
        " above each week"
    )
    for width in (theme.WIDTH, theme.NARROW):
        text = words(drawn(dots_of(invented(("Plain", long)), width)))
        assert " ".join(long.split()) in " ".join(text.split())


def test_a_number_that_is_not_finite_is_refused():
    (text,) = placed.texts("names", [Label(math.nan, 0.0, "Plain")])
    with pytest.raises(ValueError, match="Out of range float"):
        theme.spec(text)


# Layout


def cells(trial: Trial, width: float = theme.WIDTH) -> dict[str, tuple[float, float]]:
    """Return where each tray's box begins, px from the left and from the top."""
    return {
        row["tray"]: (row["x"], row["y"]) for row in data(layout.layout_plan(trial, width), "boxes")
    }


def stood(*places: tuple[str, str]) -> Trial:
    trays = tuple(
        Tray(f"T{n}", f"N{n % 2}", 3, block, position) for n, (block, position) in enumerate(places)
    )
    return replace(invented(NAMES[:2]), trays=trays, plants=(), solution=())


def test_without_block_and_position_there_is_no_plan():
    assert layout.layout_plan(stood(("", ""), ("", ""))) is None


def test_positions_shared_by_blocks_make_columns_in_natural_order():
    found = cells(stood(("B", "10"), ("B", "2"), ("A", "2"), ("A", "10")), theme.NARROW)
    assert found["T2"][0] == found["T1"][0] < found["T3"][0] == found["T0"][0]
    assert found["T2"][1] == found["T3"][1] < found["T0"][1] == found["T1"][1]


def test_positions_that_count_on_from_block_to_block_stand_side_by_side():
    found = cells(stood(("A", "1"), ("A", "2"), ("B", "3"), ("B", "4")), theme.NARROW)
    assert found["T0"][0] == found["T2"][0] < found["T1"][0] == found["T3"][0]
    assert found["T0"][1] == found["T1"][1] < found["T2"][1] == found["T3"][1]


def test_no_two_trays_lie_on_each_other_even_where_they_share_a_position():
    found = cells(stood(("A", "1"), ("A", "1"), ("A", ""), ("B", "1"), ("", "1")))
    assert len(set(found.values())) == 5


@pytest.mark.parametrize("width", [theme.NARROW, theme.WIDTH])
def test_positions_by_letter_and_number_stand_in_rows_and_columns(width):
    places = [f"{letter}{number}" for letter in "ABC" for number in range(1, 5)]
    trial = stood(*(("", place) for place in reversed(places)))
    found = cells(trial, width)
    at = {tray.position: found[tray.code] for tray in trial.trays}
    for letter in "ABC":
        assert len({at[f"{letter}{number}"][1] for number in range(1, 5)}) == 1
    for number in range(1, 5):
        assert len({at[f"{letter}{number}"][0] for letter in "ABC"}) == 1
    assert at["A1"][0] < at["A2"][0] < at["A4"][0]
    assert at["A1"][1] < at["B1"][1] < at["C1"][1]


def test_a_place_of_the_grid_without_a_tray_stays_free():
    found = cells(stood(("", "A1"), ("", "A3"), ("", "B2"), ("", "B3")))
    assert found["T1"][0] == found["T3"][0] > found["T2"][0] > found["T0"][0]


def test_a_long_row_goes_on_in_the_next_line():
    trial = stood(*(("", str(n)) for n in range(1, 13)))
    assert len({y for _, y in cells(trial).values()}) == 2
    assert len({y for _, y in cells(trial, theme.NARROW).values()}) == 3


def test_five_places_of_a_block_stay_side_by_side_on_a_phone():
    trial = stood(*((block, f"place {n}") for block in "AB" for n in range(1, 6)))
    found = cells(trial, theme.NARROW)
    assert len({x for x, _ in found.values()}) == 5
    assert len({y for _, y in found.values()}) == 2


@pytest.mark.parametrize(("name", "shown"), [("place", "place 1"), ("middle of the place", None)])
def test_a_position_is_shown_whole_or_not_at_all(name, shown):
    trial = stood(*((block, f"{name} {n}") for block in "AB" for n in range(1, 6)))
    text = words(drawn(layout.layout_plan(trial, theme.NARROW))).split("\n")
    assert [line for line in text if "pla" in line and "plants" not in line][:1] == (
        [shown] if shown else []
    )


def test_a_plan_of_many_trays_shows_their_codes_alone():
    trial = stood(*((f"shelf {n}", side) for n in range(18) for side in ("left", "right")))
    text = words(drawn(layout.layout_plan(trial))).split("\n")
    assert {tray.code for tray in trial.trays} <= set(text)
    assert "at left" not in text


def test_the_plan_tells_a_tray_without_plants():
    trial = stood(("A", "1"), ("A", "2"))
    trial = replace(trial, trays=(trial.trays[0], replace(trial.trays[1], plants_started=0)))
    assert f"{NAMES[1]}, no plants" in words(drawn(layout.layout_plan(trial)))


def test_boxes_too_small_for_names_carry_codes_that_the_key_explains():
    long = "Double strength with calcium, extra iron and much more besides"
    text = words(drawn(layout.layout_plan(invented((NAMES[0], long))))).split("\n")
    assert text.count("N1") == 4
    assert f"{long} (N1)" in " ".join(text)


def test_the_plan_names_every_tray_its_treatment_and_its_position():
    trial = invented()
    text = words(drawn(layout.layout_plan(trial))).split("\n")
    assert {tray.code for tray in trial.trays} <= set(text)
    assert {tray.block for tray in trial.trays} <= set(text)
    assert text.count(NAMES[1]) == 1 + text.count("at 1") == 5  # once in the key
    assert "Block B" in words(drawn(layout.layout_plan(stood(("A", "1"), ("B", "1"))))).split("\n")


@given(st.lists(st.integers(0, 10**6), max_size=20))
def test_natural_order_is_the_order_of_the_numbers(numbers):
    assert sorted((f"shelf {n}" for n in numbers), key=layout.natural) == [
        f"shelf {n}" for n in sorted(numbers)
    ]


@given(st.floats(-1e4, 1e4), st.floats(0.01, 1e4), st.floats(60, 640))
def test_an_axis_has_two_figures_at_least_and_all_within_its_ends(low, length, px):
    high = low + length
    found = placed.ticks(low, high, placed.Span(0, px))
    assert len(found) >= 2
    assert low - length / 1e6 <= found[0]
    assert found[-1] <= high + length / 1e6
    assert found == sorted(set(found))


# Trays and plants


def test_every_tray_is_a_mark_over_its_plants():
    trial = invented()
    chart = dots_of(trial)
    trays, plants = data(chart, "trays"), data(chart, "plants")
    assert {row["tray"]: row["value"] for row in trays} == dict(weighed(trial).scores)
    assert sorted(row["value"] for row in plants) == sorted(
        plant.fresh_weight for plant in trial.plants
    )
    place = {row["tray"]: row["y"] for row in trays}
    assert all(row["y"] == place[row["tray"]] for row in plants)
    assert list(layers(chart)).index("plants") < list(layers(chart)).index("trays")


def test_averages_and_intervals_span_the_trays_of_their_treatment():
    chart = dots_of(invented())
    band, line = data(chart, "intervals")[0], data(chart, "averages")[0]
    assert (band["value"], band["to"], line["value"]) == (21.0, 25.0, 23.0)
    inside = [row["y"] for row in data(chart, "trays") if row["treatment"] == band["treatment"]]
    assert band["y"] < min(inside) < max(inside) < band["bottom"]


def test_trays_carry_the_names_of_blocks_where_each_has_its_own_and_else_their_codes():
    text = words(drawn(dots_of(invented()))).split("\n")
    assert text.count("Shelf 1") == 3
    apart = replace(invented(), trays=tuple(replace(tray, block="") for tray in invented().trays))
    assert "T0-0" in words(drawn(dots_of(apart))).split("\n")


def test_many_trays_stand_close_and_without_names():
    trial = invented(NAMES[:2], blocks=36)
    assert "Shelf 1" not in words(drawn(dots_of(trial)))
    assert float(ElementTree.fromstring(drawn(dots_of(trial))).get("height")) < 500


def test_a_lost_plant_and_a_tray_without_weights_are_left_out():
    trial = invented()
    kept = replace(trial, plants=tuple(plant for plant in trial.plants if plant.tray != "T0-0"))
    without = replace(weighed(trial), scores=weighed(trial).scores[1:])
    chart = dots.tray_dots(kept, without, {}, plants_of(kept))
    assert "T0-0" not in {row["tray"] for name in ("plants", "trays") for row in data(chart, name)}


def test_more_than_2000_plants_leave_the_trays_alone():
    assert len(data(dots_of(invented(NAMES[:2], blocks=10, plants=100)), "plants")) == 2000
    many = dots_of(invented(NAMES[:2], blocks=10, plants=101))
    assert data(many, "plants") == []
    assert len(data(many, "trays")) == 20


def test_a_wide_interval_does_not_flatten_the_trays():
    trial = invented(NAMES[:2])
    wide = replace(
        weighed(trial), estimates=(("N0", Estimate(23.0, -500.0, 900.0)), ("N1", Estimate(None)))
    )
    chart = dots.tray_dots(trial, wide, {}, plants_of(trial))
    low, high = layers(chart)["trays"]["encoding"]["x"]["scale"]["domain"]
    weights = [plant.fresh_weight for plant in trial.plants]
    assert high - low < 2.3 * (max(weights) - min(weights))
    assert low <= min(weights) < max(weights) <= high
    assert data(chart, "intervals")[0]["to"] == data(chart, "beyond right")[0]["value"] == high


def test_trays_of_one_weight_still_have_an_axis():
    trial = invented(NAMES[:2])
    same = replace(
        weighed(trial),
        scores=(("T0-0", 5.0),),
        estimates=(("N0", Estimate(5.0)), ("N1", Estimate(5.0))),
    )
    low, high = layers(dots.tray_dots(trial, same, {}))["trays"]["encoding"]["x"]["scale"]["domain"]
    assert low < 5.0 < high


def test_an_estimate_without_interval_has_no_band_and_one_without_value_no_line():
    trial = invented()
    found = (("N0", Estimate(20.0)), ("N1", Estimate(None)), ("N2", Estimate(21.0, None, 25.0)))
    chart = dots.tray_dots(trial, replace(weighed(trial), estimates=found), {})
    assert data(chart, "intervals") == []
    assert [row["treatment"] for row in data(chart, "averages")] == [NAMES[0], NAMES[2]]
    assert (
        dots.tray_dots(trial, replace(weighed(trial), estimates=(("N0", Estimate(None)),)), {})
        is None
    )


# Water


def test_ec_and_ph_need_two_dates():
    trial = invented()
    once = replace(trial, solution=tuple(event for event in trial.solution if event.on == START))
    assert water.solution_over_time(once, "ec") is None
    assert water.solution_over_time(replace(trial, solution=()), "ec") is None
    assert water.solution_over_time(trial, "ph") is not None


def test_solution_is_drawn_by_days_since_the_start_and_only_where_measured():
    rows = data(water.solution_over_time(invented(), "ec"), "points")
    assert {row["day"] for row in rows} == {0, 10, 30}


def test_many_trays_are_one_line_in_the_band_of_their_range():
    trial = invented(NAMES[:2], blocks=12)
    chart = water.solution_over_time(trial, "ec")
    rows = [row for row in data(chart, "curves") if row["treatment"] == NAMES[0]]
    first = [
        event.ec for event in trial.solution if event.on == START and event.tray.endswith("-0")
    ]
    assert len(first) == 12
    assert [row["day"] for row in rows] == [0, 10, 30]
    assert (rows[0]["low"], rows[0]["value"], rows[0]["high"]) == (
        min(first),
        median(first),
        max(first),
    )


# Energy


def test_energy_starts_at_zero_and_ends_in_names():
    chart = energy.energy_over_time(invented(), read(invented()))
    assert layers(chart)["curves"]["encoding"]["y"]["scale"]["domain"][0] == 0
    assert energy.SHARED in " ".join(words(drawn(chart)).split())


def test_a_reading_at_nine_o_clock_lies_nine_hours_into_its_day():
    rows = data(energy.energy_over_time(invented(), read(invented())), "points")
    assert rows[1]["day"] == pytest.approx(5 + 9 / 24)


def test_energy_needs_two_readings_of_a_meter():
    assert energy.energy_over_time(invented(), (("N0", ((datetime(2026, 2, 3), 0.0),)),)) is None
    assert energy.energy_over_time(invented(), ()) is None


def test_energy_that_stays_zero_still_has_an_axis():
    still = (("N0", ((datetime(2026, 2, 3), 0.0), (datetime(2026, 2, 9), 0.0))),)
    chart = energy.energy_over_time(invented(), still)
    assert layers(chart)["curves"]["encoding"]["y"]["scale"]["domain"] == [0, 1.0]


def test_several_meters_of_a_treatment_are_their_median_in_the_band_of_their_range():
    days = [datetime(2026, 2, 3) + timedelta(days=day) for day in (0, 10)]
    meters = [("N0", tuple((at, n * use) for n, at in enumerate(days))) for use in (2.0, 3.0, 7.0)]
    rows = data(energy.energy_over_time(invented(), meters), "curves")
    assert [(row["day"], row["low"], row["value"], row["high"]) for row in rows] == [
        (0, 0, 0, 0),
        (10, 2, 3, 7),
    ]


@given(st.integers(2, 5000))
def test_thinned_readings_keep_first_and_last_and_stay_few(count):
    readings = [(datetime(2026, 1, 1) + timedelta(hours=n), float(n)) for n in range(count)]
    kept = energy.thinned(readings)
    assert (kept[0], kept[-1]) == (readings[0], readings[-1])
    assert len(kept) <= energy.MOST_POINTS + 1
    assert kept == sorted(set(kept))


@given(st.lists(st.floats(0, 100), min_size=1, max_size=6).map(sorted))
def test_labels_are_moved_apart_and_stay_in_order(values):
    places = line_ends.spread(values, [10.0] * len(values), 100)
    assert all(b - a >= 10 - 1e-9 for a, b in itertools.pairwise(places))
    assert min(places) >= 5 - 1e-9
    assert max(places) <= 95 + 1e-9


def test_labels_with_room_stay_where_they_are():
    assert line_ends.spread([10.0, 40.0, 90.0], [10.0] * 3, 100) == [10.0, 40.0, 90.0]


# Palette and font


def channels(colour: str) -> np.ndarray:
    return np.array([int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)])


def linear(colour: str) -> np.ndarray:
    """Return linear RGB by IEC 61966-2-1, as in WCAG 2.2's definition of relative luminance."""
    value = channels(colour)
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of WCAG 2.2: (L1 + 0.05) / (L2 + 0.05)."""
    light = sorted(float(linear(colour) @ (0.2126, 0.7152, 0.0722)) for colour in (one, other))
    return (light[1] + 0.05) / (light[0] + 0.05)


# Machado, Oliveira & Fernandes 2009 (IEEE Trans. Vis. Comput. Graph. 15:1291-1298), severity 1.0,
# for linear RGB.
SIGHT = {
    "usual": np.eye(3),
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritanopia": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
# sRGB to XYZ at D65, and its white (IEC 61966-2-1).
XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
WHITE = XYZ.sum(axis=1)


def lab(rgb: np.ndarray) -> tuple[float, float, float]:
    """Return CIELAB (CIE 15) of linear RGB."""
    ratio = XYZ @ np.clip(rgb, 0, 1) / WHITE
    x, y, z = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def ciede2000(one: tuple[float, float, float], other: tuple[float, float, float]) -> float:
    """Return the colour difference of Sharma, Wu & Dalal 2005 (Color Res.

    Appl. 30:21-30), eq. 2 to 22.
    """
    (l1, a1, b1), (l2, a2, b2) = one, other
    mean = (math.hypot(a1, b1) + math.hypot(a2, b2)) / 2
    g = 0.5 * (1 - math.sqrt(mean**7 / (mean**7 + 25**7)))
    c1, c2 = math.hypot((1 + g) * a1, b1), math.hypot((1 + g) * a2, b2)
    h1, h2 = (math.degrees(math.atan2(b, (1 + g) * a)) % 360 for a, b in ((a1, b1), (a2, b2)))
    turn = 0.0 if c1 * c2 == 0 else (h2 - h1 + 180) % 360 - 180
    if turn == -180 and h2 > h1:
        turn = 180.0
    hue = h1 + h2 if c1 * c2 == 0 else (h1 + turn / 2) % 360
    light, chroma = (l1 + l2) / 2, (c1 + c2) / 2
    t = (
        1
        - 0.17 * math.cos(math.radians(hue - 30))
        + 0.24 * math.cos(math.radians(2 * hue))
        + 0.32 * math.cos(math.radians(3 * hue + 6))
        - 0.20 * math.cos(math.radians(4 * hue - 63))
    )
    in_light = (l2 - l1) / (1 + 0.015 * (light - 50) ** 2 / math.sqrt(20 + (light - 50) ** 2))
    in_chroma = (c2 - c1) / (1 + 0.045 * chroma)
    in_hue = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(turn / 2)) / (1 + 0.015 * chroma * t)
    rotation = (
        -2
        * math.sqrt(chroma**7 / (chroma**7 + 25**7))
        * math.sin(math.radians(60 * math.exp(-(((hue - 275) / 25) ** 2))))
    )
    return math.sqrt(in_light**2 + in_chroma**2 + in_hue**2 + rotation * in_chroma * in_hue)


# Pairs 1, 4, 7, 9, 11, 13, 15, 16, 17, 18, 19, 20, 21, 25, 28, 29, 32 and 34 of table 1 of Sharma,
# Wu & Dalal 2005.
SHARMA = [
    ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
    ((50, -1.3802, -84.2814), (50, 0, -82.7485), 1.0000),
    ((50, 0, 0), (50, -1, 2), 2.3669),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0009), 7.1792),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0011), 7.2195),
    ((50, -0.0010, 2.4900), (50, 0.0009, -2.4900), 4.8045),
    ((50, -0.0010, 2.4900), (50, 0.0011, -2.4900), 4.7461),
    ((50, 2.5, 0), (50, 0, -2.5), 4.3065),
    ((50, 2.5, 0), (73, 25, -18), 27.1492),
    ((50, 2.5, 0), (61, -5, 29), 22.8977),
    ((50, 2.5, 0), (56, -27, -3), 31.9030),
    ((50, 2.5, 0), (58, 24, 15), 19.4535),
    ((50, 2.5, 0), (50, 3.1736, 0.5854), 1.0000),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((35.0831, -44.1164, 3.7933), (35.0232, -40.0716, 1.5901), 1.8645),
    ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
    ((90.9257, -0.5406, -0.9208), (88.6381, -0.8985, -0.7239), 1.5381),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
]


@pytest.mark.parametrize(("one", "other", "difference"), SHARMA)
def test_the_colour_difference_is_that_of_the_published_pairs(one, other, difference):
    assert ciede2000(one, other) == pytest.approx(difference, abs=5e-5)


def test_contrast_is_that_of_the_guidelines():
    # WCAG 2.2, definition of contrast ratio: 1:1 to 21:1.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    # WebAIM's contrast checker shows 4.48:1 for #777777 on white (from memory).
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("ground", [theme.LIGHT_GROUND, theme.DARK_GROUND])
@pytest.mark.parametrize("colour", theme.PALETTE)
def test_every_treatment_colour_stands_out_from_both_grounds(colour, ground):
    assert contrast(colour, ground) >= 3  # WCAG 2.2, success criterion 1.4.11


@pytest.mark.parametrize(
    ("ink", "ground"),
    [(theme.INK_ON_LIGHT, theme.LIGHT_GROUND), (theme.INK_ON_DARK, theme.DARK_GROUND)],
)
def test_ink_is_readable_on_its_ground(ink, ground):
    assert contrast(ink, ground) >= 4.5  # WCAG 2.2, success criterion 1.4.3


@pytest.mark.parametrize("sight", SIGHT)
@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(theme.PALETTE, 2)))
def test_every_two_colours_differ_to_every_kind_of_sight(one, other, sight):
    assert ciede2000(*(lab(SIGHT[sight] @ linear(colour)) for colour in (one, other))) >= 15


def test_neighbours_in_the_palette_differ_in_lightness():
    lightness = [lab(linear(colour))[0] for colour in theme.PALETTE]
    assert all(abs(b - a) >= 10 for a, b in itertools.pairwise(lightness))


@pytest.mark.parametrize("path", sorted(FONTS.glob("Inter-*")), ids=lambda path: path.name)
def test_every_font_file_has_the_family_and_the_signs_that_reports_need(path):
    ttlib = pytest.importorskip("fontTools.ttLib")
    font = ttlib.TTFont(path)
    latin = {chr(code) for code in (*range(0x20, 0x7F), *range(0xA0, 0x180))} - set(
        "\N{SOFT HYPHEN}ŉ"
    )  # Unicode deprecates ŉ
    signs = set("µμΔ²³⁻−≥≤±×·–—’‘“”…€£→≈")
    assert font["name"].getDebugName(1) == theme.FONT
    assert (latin | signs) - {chr(code) for code in font.getBestCmap()} == set()


def test_fonts_come_as_ttf_and_woff2_with_their_licence_and_stay_small():
    names = {path.name for path in FONTS.iterdir()}
    assert {
        "Inter-Regular.ttf",
        "Inter-Regular.woff2",
        "Inter-Bold.ttf",
        "Inter-Bold.woff2",
    } <= names
    assert "SIL Open Font License, Version 1.1" in (FONTS / "LICENSE.txt").read_text(
        encoding="utf-8"
    )
    assert sum(path.stat().st_size for path in FONTS.iterdir()) < 400_000


def test_where_the_plant_is_the_unit_figures_speak_of_pots():
    of = replace(invented(), experimental_unit="plant")
    with language.calling_units(of.unit):
        chart = theme.spec(dots_of(of))
    assert '"Pot"' in chart
    assert '"Tray"' not in chart
