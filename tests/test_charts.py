import itertools
import json
import math
import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from xml.etree import ElementTree

import numpy as np
import pytest
import vl_convert
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen import language
from reportgen.charts import energy, growth, layout, overview, residuals, theme, water
from reportgen.model.results import Comparison, Estimate, Measure, MeasureResult, Results, TrayResidual
from reportgen.model.trial import About, Plant, SolutionEvent, Trait, Tray, Treatment, Trial
from reportgen.render import templates

FONTS = templates.folder() / "assets" / "fonts"
START = date(2026, 2, 3)
NAMES = ("Full strength", "Half strength", "Rain water + slow release", "Double strength, warm", "Tap water")
HOSTILE = (
    "Feed [a].b 'c' \"d\" <b>",
    "datum['y'] & \\ </script>",
    "µS/cm² → ≥ 3 × Łódź",
    "x.y",
    "100% – “quoted”",
)
KEYS = ("fresh_weight", "water_per_gram", "energy_per_gram", "nothing")
WEIGHT = Measure("fresh_weight", "Fresh weight", "g/plant", "higher")


# A trial of nutrient strength for coriander, made up: as many treatments as `names`, as many blocks as `blocks`.


def invented(names=NAMES[:3], blocks=4, plants=5) -> Trial:
    treatments = tuple(Treatment(f"N{number}", name) for number, name in enumerate(names))
    pairs = list(itertools.product(range(blocks), enumerate(treatments)))
    trays = tuple(
        Tray(f"T{block}-{place}", a.code, plants, f"Shelf {block + 1}", str((place + block) % len(names) + 1))
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
    weights = [20 + 3 * (number % 3) + (7 * plant + number) % 5 for plant in range(tray.plants_started)]
    return tuple(Plant(tray.code, str(plant), "harvested", float(a), (a / 2,)) for plant, a in enumerate(weights))


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


def results(trial: Trial) -> Results:
    return Results(
        (),
        (
            weighed(trial),
            weighed(trial, Comparison(0.8, None, 0.9), Measure("water_per_gram", "Water per gram", "mL/g", "lower")),
            weighed(trial, Comparison(0.9), Measure("energy_per_gram", "Energy per gram", "Wh/g", "lower")),
            weighed(trial, Comparison(), Measure("nothing", "No ratio at all", "g")),
        ),
    )


def read(trial: Trial):
    """Return readings of energy: one meter for each treatment and one that all share."""
    days = [datetime(2026, 2, 3, 9) + timedelta(days=day) for day in range(0, 30, 5)]
    codes = [*(a.code for a in trial.treatments), ""]
    return tuple((code, tuple((at, 2.0 * n + n * k) for n, at in enumerate(days))) for k, code in enumerate(codes))


def scatter(trial: Trial):
    used = {tray.code: 6.0 + place / 4 for place, tray in enumerate(trial.trays)}
    weight = {tray.code: 90.0 + place % 4 for place, tray in enumerate(trial.trays)}
    return water.weight_against_water(trial, used, weight)


def unexplained(trial: Trial):
    left = [
        TrayResidual(tray.code, tray.treatment, 20.0 + place % 5, (place % 7 - 3) / 50)
        for place, tray in enumerate(trial.trays)
    ]
    return residuals.residuals_against_fitted(trial, WEIGHT, left)


FIGURES = {
    "relative": lambda trial: overview.relative_to_reference(trial, results(trial), KEYS),
    "layout": layout.layout_plan,
    "plants": lambda trial: growth.plants_by_tray(trial, weighed(trial)),
    "estimates": lambda trial: growth.estimates(trial, weighed(trial)),
    "water": water.water_by_event,
    "scatter": scatter,
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
    return "\n".join(element.text or "" for element in ElementTree.fromstring(svg).iter() if element.text)


# Every figure


@pytest.mark.parametrize("key", FIGURES)
@pytest.mark.parametrize("count", [2, 3, 5])
def test_every_figure_is_drawn_640_px_wide_with_the_names_of_its_treatments(key, count):
    trial = invented(NAMES[:count])
    svg = drawn(FIGURES[key](trial))
    shown = NAMES[1:count] if key == "relative" else NAMES[:count]
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
    chart = FIGURES[key](invented())
    alone = [
        name
        for name, layer in layers(chart).items()
        if {"color", "stroke"} & layer["encoding"].keys() and not {"shape", "strokeDash"} & layer["encoding"].keys()
    ]
    assert alone == []


@pytest.mark.parametrize("key", FIGURES)
def test_colour_and_shape_have_one_domain_and_at_most_one_legend(key):
    document = vl_convert.vegalite_to_vega(theme.spec(FIGURES[key](invented())), vl_version="6.4")
    legends = [legend for legend in document.get("legends", []) if "shape" in legend]
    assert len(document.get("legends", [])) == {"water": 2, "estimates": 0, "energy": 0}.get(key, 1)
    assert all({"shape", "fill"} <= legend.keys() for legend in legends)


@pytest.mark.parametrize("key", FIGURES)
def test_no_text_is_smaller_than_12_px_and_all_of_it_in_the_font_that_comes_along(key):
    svg = drawn(FIGURES[key](invented()))
    assert min(map(float, re.findall(r'font-size="([\d.]+)(?:px)?"', svg))) >= 12
    assert set(re.findall(r'font-family="([^"]+)"', svg)) == {theme.FONT}


@pytest.mark.parametrize(
    ("key", "wanted"),
    [
        ("relative", ("Relative to Full strength (%), dot and 95% interval", "Logarithmic scale")),
        ("plants", ("Fresh weight (g/plant), higher is better", "treatment mean and 95% interval")),
        ("estimates", ("Fresh weight (g/plant), higher is better", "dot and 95% interval")),
        ("water", ("Nutrient solution (L), taken out below zero",)),
        ("scatter", ("Water used (L)", "Fresh weight (g)")),
        ("ec", ("Electrical conductivity of the solution (mS/cm)", "Days since the start on 2026-02-03 (d)")),
        ("ph", ("Acidity of the solution (pH)",)),
        ("residuals", ("Fitted value of each tray: Fresh weight (g/plant)", "Residual: ln(measured / fitted)")),
        ("energy", ("Energy since the first reading (kWh)", "Days since the start on 2026-02-03 (d)")),
    ],
)
def test_axes_are_titled_with_unit_direction_and_level(key, wanted):
    found = titles(FIGURES[key](invented()))
    assert [text for text in wanted if text not in found] == []


def test_the_level_is_the_trial_s_own():
    trial = replace(invented(), confidence_level=0.9)
    assert "dot and 90% interval" in titles(growth.estimates(trial, weighed(trial)))


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
    assert [name for name in HOSTILE[key == "relative" :] if name not in text] == []


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
    svg = drawn(growth.plants_by_tray(trial, weighed(trial)))
    assert len({look.name for look in looks.values()}) == len(names)
    assert len(ElementTree.fromstring(svg).findall(".//*[@stroke='#ffffff'][@stroke-width='0.5']")) >= len(names)


def test_a_long_name_of_emoji_does_not_stop_a_figure():
    trial = invented(("Cool " + "\N{SEEDLING}" * 40, "Warm " + "\N{SUN WITH FACE}" * 41), blocks=1, plants=1)
    assert "Warm ?" in words(drawn(growth.plants_by_tray(trial, weighed(trial))))


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


def test_a_long_name_is_cut_in_the_legend_but_not_in_the_data():
    long = "Double strength with calcium, extra iron and much more besides"
    trial = invented(("Plain", long))
    svg = drawn(growth.plants_by_tray(trial, weighed(trial)))
    assert "Double strength with calci" in words(svg)
    assert long not in words(svg)
    assert {row["treatment"] for row in data(growth.plants_by_tray(trial, weighed(trial)), "plants")} == {"Plain", long}


def test_a_number_that_is_not_finite_is_refused():
    trial = invented()
    with pytest.raises(ValueError, match="Out of range float"):
        theme.spec(water.weight_against_water(trial, {"T0-0": math.nan}, {"T0-0": 1.0}))


# Relative to the reference


def relative(trial: Trial, comparison: Comparison):
    return overview.relative_to_reference(trial, Results((), (weighed(trial, comparison),)), ("fresh_weight",))


def axis(chart) -> list[float]:
    return layers(chart)["dots"]["encoding"]["x"]["scale"]["domain"]


def test_a_measure_is_shown_in_percent_of_the_reference_with_its_interval():
    chart = relative(invented(NAMES[:2]), Comparison(1.25, 1.1, 1.5))
    assert data(chart, "dots")[0]["percent"] == pytest.approx(125)
    assert [data(chart, "intervals")[0][end] for end in ("percent", "to")] == pytest.approx([110, 150])
    assert data(chart, "reference") == [{"percent": 100}]


def test_measures_come_in_the_order_asked_for_without_those_that_have_no_ratio():
    trial = invented()
    chart = overview.relative_to_reference(trial, results(trial), ("energy_per_gram", "nothing", "fresh_weight"))
    domain = layers(chart)["dots"]["encoding"]["y"]["scale"]["domain"]
    assert domain == ["Energy per gram (Wh/g)\nlower is better", "Fresh weight (g/plant)\nhigher is better"]


def test_without_any_ratio_there_is_no_overview():
    assert relative(invented(), Comparison()) is None
    assert relative(invented(NAMES[:1]), Comparison(1.0)) is None


def test_an_interval_without_one_bound_has_no_whisker_on_that_side():
    chart = relative(invented(NAMES[:2]), Comparison(0.8, None, 0.9))
    row = data(chart, "intervals")[0]
    assert [row["percent"], row["to"]] == pytest.approx([80, 90])
    assert "line on one side only: no bound on the other" in titles(chart)


def test_a_ratio_without_interval_is_a_hollow_dot_and_said_so():
    chart = relative(invented(NAMES[:2]), Comparison(0.9))
    assert data(chart, "intervals") == data(chart, "dots") == []
    assert data(chart, "hollow dots")[0]["percent"] == pytest.approx(90)
    assert "hollow: no interval" in titles(chart)


def test_an_interval_far_outside_is_clipped_to_an_arrow_and_said_so():
    chart = relative(invented(NAMES[:2]), Comparison(1.1, -0.5, 40.0))
    low, high = axis(chart)
    assert high < 300
    assert data(chart, "intervals")[0]["percent"] == data(chart, "beyond left")[0]["percent"] == low
    assert data(chart, "intervals")[0]["to"] == data(chart, "beyond right")[0]["percent"] == high
    assert "arrow: goes on beyond the axis" in titles(chart)


def test_an_interval_within_the_axis_has_no_arrow():
    chart = relative(invented(NAMES[:2]), Comparison(1.1, 0.9, 1.3))
    assert data(chart, "beyond left") == data(chart, "beyond right") == []
    assert "arrow" not in titles(chart)


@pytest.mark.parametrize("ratio", [0.0, 0.001, 5000.0])
def test_a_dot_beyond_any_axis_stands_at_its_edge_with_an_arrow(ratio):
    chart = relative(invented(NAMES[:2]), Comparison(ratio, ratio, ratio))
    low, high = axis(chart)
    assert 10 < low < data(chart, "dots")[0]["percent"] < high < 1000
    assert len(data(chart, "beyond left") + data(chart, "beyond right")) == 1


@settings(max_examples=40, deadline=None)
@given(st.floats(0.2, 5), st.floats(0.01, 1), st.floats(1, 100))
def test_every_axis_has_100_percent_readable_ticks_and_all_dots(ratio, below, above):
    chart = relative(invented(NAMES[:2], blocks=1), Comparison(ratio, ratio * below, ratio * above))
    low, high = axis(chart)
    ticks = layers(chart)["dots"]["encoding"]["x"]["axis"]["values"]
    assert low < 100 * ratio < high
    assert 100 in ticks
    assert 3 <= len(ticks) <= 20


def test_half_lies_as_far_from_the_reference_as_double():
    chart = relative(invented(NAMES[:2]), Comparison(1.0, 0.5, 2.0))
    low, high = axis(chart)
    assert layers(chart)["dots"]["encoding"]["x"]["scale"]["type"] == "log"
    assert 100 / low == pytest.approx(high / 100)


# Layout


def cells(trial: Trial) -> dict[str, tuple[str, int]]:
    rows = spec_of(layout.layout_plan(trial))["data"]["values"]
    return {row["tray"]: (row["line"], row["column"]) for row in rows}


def stood(*places: tuple[str, str]) -> Trial:
    trays = tuple(Tray(f"T{n}", f"N{n % 2}", 3, block, position) for n, (block, position) in enumerate(places))
    return replace(invented(NAMES[:2]), trays=trays, plants=(), solution=())


def test_without_block_and_position_there_is_no_plan():
    assert layout.layout_plan(stood(("", ""), ("", ""))) is None


def test_positions_shared_by_blocks_make_columns_in_natural_order():
    found = cells(stood(("B", "10"), ("B", "2"), ("A", "2"), ("A", "10")))
    assert found == {"T0": ("B", 1), "T1": ("B", 0), "T2": ("A", 0), "T3": ("A", 1)}


def test_positions_that_count_on_from_block_to_block_stand_side_by_side():
    found = cells(stood(("A", "1"), ("A", "2"), ("B", "3"), ("B", "4")))
    assert found == {"T0": ("A", 0), "T1": ("A", 1), "T2": ("B", 0), "T3": ("B", 1)}


def test_no_two_trays_lie_on_each_other_even_where_they_share_a_position():
    found = cells(stood(("A", "1"), ("A", "1"), ("A", ""), ("B", "1"), ("", "1")))
    assert len(set(found.values())) == 5


def test_a_long_row_goes_on_in_the_next_line():
    found = cells(stood(*(("", str(n)) for n in range(1, 13))))
    assert {line for line, _ in found.values()} == {"no block", "no block (2)"}
    assert max(column for _, column in found.values()) == 7


def test_the_plan_tells_a_tray_without_plants():
    trial = stood(("A", "1"), ("A", "2"))
    trial = replace(trial, trays=(trial.trays[0], replace(trial.trays[1], plants_started=0)))
    assert "N1, no plants" in words(drawn(layout.layout_plan(trial)))


def test_the_plan_names_every_tray_its_treatment_and_its_position():
    trial = invented()
    text = words(drawn(layout.layout_plan(trial))).split("\n")
    assert {tray.code for tray in trial.trays} <= set(text)
    assert {tray.block for tray in trial.trays} <= set(text)
    assert text.count("N1") == text.count("at 1") == 4


@given(st.lists(st.integers(0, 10**6), max_size=20))
def test_natural_order_is_the_order_of_the_numbers(numbers):
    assert sorted((f"shelf {n}" for n in numbers), key=layout.natural) == [f"shelf {n}" for n in sorted(numbers)]


# Plants and estimates


def test_every_plant_is_a_dot_beside_its_neighbours_within_its_own_tray():
    trial = invented()
    chart = growth.plants_by_tray(trial, weighed(trial))
    dots = data(chart, "plants")
    assert sorted(row["value"] for row in dots) == sorted(plant.fresh_weight for plant in trial.plants)
    assert len({(row["tray"], row["beside"]) for row in dots}) == len(dots)
    assert 0 < min(row["beside"] for row in dots) < max(row["beside"] for row in dots) < 640 / len(trial.trays)


def test_no_mean_covers_a_plant():
    chart = growth.plants_by_tray(invented(), weighed(invented()))
    assert list(layers(chart)) == ["intervals", "treatment means", "tray means", "plants"]
    svg = drawn(chart)
    last_bar, first_dot = svg.rindex('class="mark-rect'), svg.index('class="mark-symbol role-mark')
    assert last_bar < first_dot


def test_bands_and_bars_span_their_trays():
    trial = invented()
    svg = drawn(growth.plants_by_tray(trial, weighed(trial)))
    plot = float(re.search(r'class="background" aria-hidden="true" d="M0,0h([\d.]+)v300', svg)[1])
    step = plot / 14.4  # px: 12 trays, 2 places between treatments, 0.2 of a place on both sides
    band = re.search(rf'h([\d.]+)v[-\d.]+h[-\d.]+Z" fill="{theme.BAND}"', svg)
    bar = re.search(r'h([\d.]+)v0h[-\d.]+Z"[^>]* stroke-width="4"', svg)
    assert float(band[1]) == pytest.approx(1.02 * step)
    assert float(bar[1]) == pytest.approx(0.7 * step)


def test_trays_stand_by_treatment_with_a_place_between():
    chart = growth.plants_by_tray(invented(NAMES[:2], blocks=2), weighed(invented(NAMES[:2], blocks=2)))
    domain = layers(chart)["plants"]["encoding"]["x"]["scale"]["domain"]
    assert domain == ["T0-0", "T1-0", " ", "T0-1", "T1-1"]


def test_a_lost_plant_and_a_tray_without_weights_are_left_out():
    trial = invented()
    lost = tuple(replace(p, status="dead", fresh_weight=None) if p.tray == "T0-0" else p for p in trial.plants)
    chart = growth.plants_by_tray(replace(trial, plants=lost), weighed(trial))
    assert "T0-0" not in {row["tray"] for name in ("plants", "tray means") for row in data(chart, name)}


def test_without_weights_there_is_no_chart_of_plants():
    assert growth.plants_by_tray(replace(invented(), plants=()), weighed(invented())) is None


def test_a_trait_is_drawn_from_its_own_column():
    trial = invented()
    chart = growth.plants_by_tray(trial, weighed(trial, measure=Measure("height", "Height", "cm")), "height")
    assert {row["value"] for row in data(chart, "plants")} == {plant.traits[0] for plant in trial.plants}
    assert "Height (cm)" in titles(chart)


def test_a_trait_that_the_trial_does_not_have_is_an_error():
    with pytest.raises(KeyError):
        growth.plants_by_tray(invented(), weighed(invented()), "width")


def test_more_than_2000_plants_become_boxes():
    trial = invented(plants=200)
    chart = growth.plants_by_tray(trial, weighed(trial))
    assert "plants" not in layers(chart)
    assert len(json.dumps(spec_of(chart))) < 20_000
    values = [plant.fresh_weight for plant in trial.plants if plant.tray == "T0-0"]
    box = data(chart, "quartiles")[0]
    # numpy's percentile stands beside the quantile of the figure: linear between ranks.
    assert [box["value"], box["to"]] == pytest.approx(list(np.percentile(values, (25, 75))))
    assert "box: quartiles; line: extremes; mark: median" in titles(chart)


def test_2000_plants_are_still_dots():
    trial = invented(NAMES[:2], blocks=10, plants=100)
    assert len(data(growth.plants_by_tray(trial, weighed(trial)), "plants")) == 2000


def test_a_wide_interval_does_not_flatten_the_plants():
    trial = invented(NAMES[:2])
    wide = replace(weighed(trial), estimates=(("N0", Estimate(23.0, -500.0, 900.0)), ("N1", Estimate(None))))
    low, high = layers(growth.plants_by_tray(trial, wide))["plants"]["encoding"]["y"]["scale"]["domain"]
    weights = [plant.fresh_weight for plant in trial.plants]
    assert high - low < 2.2 * (max(weights) - min(weights))
    assert low < min(weights) < max(weights) < high


def test_plants_of_one_weight_still_have_an_axis():
    trial = invented(NAMES[:2])
    same = tuple(replace(plant, fresh_weight=5.0) for plant in trial.plants)
    low, high = layers(growth.plants_by_tray(replace(trial, plants=same), weighed(trial)))["plants"]["encoding"]["y"][
        "scale"
    ]["domain"]
    assert low < 5.0 < high


def test_estimates_show_intervals_trays_and_zero():
    chart = growth.estimates(invented(), weighed(invented()))
    assert data(chart, "intervals")[0] == {"treatment": NAMES[0], "value": 21.0, "to": 25.0}
    assert len(data(chart, "trays")) == 12
    assert layers(chart)["estimates"]["encoding"]["x"]["scale"]["zero"] is True


def test_an_estimate_without_interval_is_hollow_and_one_without_value_absent():
    trial = invented()
    found = (("N0", Estimate(20.0)), ("N1", Estimate(None)), ("N2", Estimate(21.0, None, 25.0)))
    chart = growth.estimates(trial, replace(weighed(trial), estimates=found))
    assert data(chart, "hollow estimates") == [{"treatment": NAMES[0], "value": 20.0, "reach": ""}]
    assert data(chart, "intervals") == [{"treatment": NAMES[2], "value": 21.0, "to": 25.0}]
    assert growth.estimates(trial, replace(weighed(trial), estimates=(("N0", Estimate(None)),))) is None


# Water


def test_what_is_put_in_stands_above_zero_and_what_is_taken_out_below():
    bars = [row for row in data(water.water_by_event(invented()), "events") if row["tray"] == "T0-0"]
    volumes = {row["event"]: row["volume"] for row in bars}
    assert volumes == {"Fill": 8.0, "Top-up": 3.5, "Sample": -0.25, "Drain": -0.5, "Remaining": -3.0}


def test_bars_of_water_stand_on_zero():
    assert layers(water.water_by_event(invented()))["events"]["encoding"]["y"]["stack"] == "zero"


def test_kinds_of_event_go_in_steps_of_lightness():
    lightness = [lab(linear(colour))[0] for _, colour in water.KINDS.values()]
    assert all(b - a >= 20 for a, b in itertools.pairwise(lightness[:3]))
    assert all(b - a >= 20 for a, b in itertools.pairwise(lightness[3:]))


def test_marks_tell_the_treatment_of_each_tray_under_its_bars():
    chart = water.water_by_event(invented())
    assert {row["tray"]: row["treatment"] for row in data(chart, "trays")}["T2-1"] == NAMES[1]


def test_without_events_there_is_no_chart_of_water():
    trial = replace(invented(), solution=())
    assert water.water_by_event(trial) is None
    assert water.solution_over_time(trial, "ec") is None


def test_weight_against_water_takes_only_trays_that_have_both():
    chart = water.weight_against_water(invented(), {"T0-0": 1.0, "T0-1": 2.0}, {"T0-1": 3.0, "T0-2": 4.0})
    assert [row["tray"] for row in data(chart, "trays")] == ["T0-1"]
    assert water.weight_against_water(invented(), {"T0-0": 1.0}, {"T0-1": 3.0}) is None


def test_a_label_goes_left_where_another_stands_right():
    assert water.label_sides([(1.0, 10.0), (1.0, 10.1), (5.0, 20.0)]) == ["right", "left", "right"]


def test_many_trays_are_drawn_without_labels():
    trial = invented(NAMES, blocks=7)
    every = {tray.code: float(n) for n, tray in enumerate(trial.trays)}
    assert list(layers(water.weight_against_water(trial, every, every))) == ["trays"]


def test_ec_and_ph_need_two_dates():
    trial = invented()
    once = replace(trial, solution=tuple(event for event in trial.solution if event.on == START))
    assert water.solution_over_time(once, "ec") is None
    assert water.solution_over_time(trial, "ph") is not None


def test_solution_is_drawn_by_days_since_the_start_and_only_where_measured():
    rows = data(water.solution_over_time(invented(), "ec"), "points")
    assert {row["day"] for row in rows} == {0, 10, 30}


def test_many_readings_of_the_solution_have_points_on_some():
    trial = invented()
    many = tuple(
        SolutionEvent(tray.code, START + timedelta(days=day), "sample", 0.0, ec=1.5)
        for tray in trial.trays
        for day in range(200)
    )
    chart = water.solution_over_time(replace(trial, solution=many), "ec")
    assert len(data(chart, "points")) <= theme.MOST_MARKS < len(data(chart, "solution"))


# Energy


def test_energy_starts_at_zero_and_ends_in_names():
    chart = energy.energy_over_time(invented(), read(invented()))
    assert layers(chart)["readings"]["encoding"]["y"]["scale"]["domain"][0] == 0
    assert energy.SHARED in " ".join(words(drawn(chart)).split())


def test_a_reading_at_nine_o_clock_lies_nine_hours_into_its_day():
    rows = data(energy.energy_over_time(invented(), read(invented())), "readings")
    assert rows[1]["day"] == pytest.approx(5 + 9 / 24)


def test_energy_needs_two_readings_of_a_meter():
    assert energy.energy_over_time(invented(), (("N0", ((datetime(2026, 2, 3), 0.0),)),)) is None
    assert energy.energy_over_time(invented(), ()) is None


def test_energy_that_stays_zero_still_has_an_axis():
    still = (("N0", ((datetime(2026, 2, 3), 0.0), (datetime(2026, 2, 9), 0.0))),)
    chart = energy.energy_over_time(invented(), still)
    assert layers(chart)["readings"]["encoding"]["y"]["scale"]["domain"] == [0, 1.0]


@given(st.integers(2, 5000))
def test_thinned_readings_keep_first_and_last_and_stay_few(count):
    readings = [(datetime(2026, 1, 1) + timedelta(hours=n), float(n)) for n in range(count)]
    kept = energy.thinned(readings)
    assert (kept[0], kept[-1]) == (readings[0], readings[-1])
    assert len(kept) <= energy.MOST_POINTS + 1
    assert kept == sorted(set(kept))


@given(st.lists(st.floats(0, 100), min_size=1, max_size=6).map(sorted))
def test_labels_are_moved_apart_and_stay_in_order(values):
    places = energy.spread(values, 10, 100)
    assert all(b - a >= 10 - 1e-9 for a, b in itertools.pairwise(places))
    assert max(places) <= 100


def test_labels_with_room_stay_where_they_are():
    assert energy.spread([10.0, 40.0, 90.0], 10, 100) == [10.0, 40.0, 90.0]


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


# Machado, Oliveira & Fernandes 2009 (IEEE Trans. Vis. Comput. Graph. 15:1291-1298), severity 1.0, for linear RGB.
SIGHT = {
    "usual": np.eye(3),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritanopia": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
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
    """Return the colour difference of Sharma, Wu & Dalal 2005 (Color Res. Appl. 30:21-30), eq. 2 to 22."""
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


# Pairs 1, 4, 7, 9, 11, 13, 15, 16, 17, 18, 19, 20, 21, 25, 28, 29, 32 and 34 of table 1 of Sharma, Wu & Dalal 2005.
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


@pytest.mark.parametrize("colour", [theme.INK, theme.QUIET])
@pytest.mark.parametrize("ground", [theme.LIGHT_GROUND, theme.BAND, *map(theme.tint, theme.PALETTE)])
def test_text_is_readable_on_everything_it_stands_on(colour, ground):
    assert contrast(colour, ground) >= 4.5  # WCAG 2.2, success criterion 1.4.3


@pytest.mark.parametrize("sight", SIGHT)
@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(theme.PALETTE, 2)))
def test_every_two_colours_differ_to_every_kind_of_sight(one, other, sight):
    assert ciede2000(*(lab(SIGHT[sight] @ linear(colour)) for colour in (one, other))) >= 15


def test_neighbours_in_the_palette_differ_in_lightness():
    lightness = [lab(linear(colour))[0] for colour in theme.PALETTE]
    assert all(abs(b - a) >= 10 for a, b in itertools.pairwise(lightness))


def test_a_tint_is_a_fifth_of_its_colour():
    assert theme.tint("#000000") == "#cccccc"
    assert theme.tint("#ffffff") == "#ffffff"


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
    assert {"Inter-Regular.ttf", "Inter-Regular.woff2", "Inter-Bold.ttf", "Inter-Bold.woff2"} <= names
    assert "SIL Open Font License, Version 1.1" in (FONTS / "LICENSE.txt").read_text(encoding="utf-8")
    assert sum(path.stat().st_size for path in FONTS.iterdir()) < 400_000


def test_where_the_plant_is_the_unit_figures_speak_of_pots():
    of = replace(invented(), experimental_unit="plant")
    with language.calling_units(of.unit):
        chart = theme.spec(water.water_by_event(of))
    assert '"Pot"' in chart
    assert '"Tray"' not in chart
