from dataclasses import replace
from itertools import pairwise
from math import inf, nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from reportgen.charts import cost_lines as price
from reportgen.charts import cost_parts, theme
from reportgen.charts.cost_parts import CostPart
from reportgen.stats.intersections import Intersection, Line
from tests.test_charts import HOSTILE, drawn, invented, words
from tests.test_charts_light import (
    UP_TO_60,
    _fonts,
    assert_readable,
    axis_titles,
    records,
    squeezed,
    units,
)

assert _fonts  # the figures of this file are measured in the font too

CHEAP_START = Line("N0", 0.010, 0.100)
SAVES_POWER = Line("N1", 0.025, 0.050)
LINES = (CHEAP_START, SAVES_POWER)
EIGHT = tuple(Line(f"N{n}", 0.01 + 0.004 * n, 0.1 - 0.012 * n + 0.0011 * n * n) for n in range(8))
PARTS = ("Electricity", "Water", "Nutrient solution")


def paying(names=UP_TO_60[:2], own: float | None = 0.28):
    return replace(invented(names), currency="EUR", electricity_price=own)


def parts(count: int, costs=(0.02, 0.001, 0.008)) -> list[CostPart]:
    return [
        CostPart(f"N{n}", a, cost)
        for n in range(count)
        for a, cost in zip(PARTS, costs, strict=True)
    ]


def scale_of_costs(chart) -> list[float]:
    return next(unit for unit in units(chart) if unit["data"]["name"] == "lines")["encoding"]["y"][
        "scale"
    ]["domain"]


def told(chart) -> list[tuple[float, str]]:
    """Return the prices of crossings that are written above the lines, with their places."""
    return [(row["x"], row["text"]) for row in records(chart, "told center")]


# Crossings


def test_two_lines_cross_where_they_cost_the_same():
    assert price.crossings_within(LINES, 1.0) == (
        Intersection(pytest.approx(0.3), pytest.approx(0.04), "N0", "N1"),
    )


@given(*(st.floats(0.001, 1) for _ in range(4)))
def test_a_crossing_is_the_root_of_the_difference(fixed, other_fixed, energy, other_energy):
    # The reference is scipy's root finder on the difference of the two costs.
    def difference(at: float) -> float:
        return fixed + energy * at - other_fixed - other_energy * at

    found = price.crossings_within(
        [Line("N0", fixed, energy), Line("N1", other_fixed, other_energy)], 50.0
    )
    changes = difference(0) * difference(50) < 0
    assert bool(found) == changes
    if changes:
        assert found[0].x == pytest.approx(
            brentq(difference, 0, 50, xtol=1e-13), rel=1e-6, abs=1e-9
        )
        below = {"N0": fixed, "N1": other_fixed}
        assert below[found[0].below] < below[found[0].above]


def test_lines_that_never_cross_above_zero_have_no_crossing():
    assert (
        price.crossings_within([CHEAP_START, replace(SAVES_POWER, slope=0.1)], 9.0) == ()
    )  # parallel
    assert (
        price.crossings_within([CHEAP_START, replace(SAVES_POWER, slope=0.2)], 9.0) == ()
    )  # below zero
    assert price.crossings_within([CHEAP_START, CHEAP_START], 9.0) == ()  # the same
    assert price.crossings_within(LINES, 0.29) == ()  # beyond the range


def test_crossings_come_in_order_of_price():
    prices = [a.x for a in price.crossings_within(EIGHT, 5.0)]
    assert len(prices) > 5
    assert all(a <= b for a, b in pairwise(prices))


# Cost against price


def test_the_axis_reaches_twice_the_price_and_beyond_a_crossing():
    assert price.highest_price(LINES, 0.28) == pytest.approx(0.56)
    assert price.highest_price(LINES, 0.1) == pytest.approx(0.375)
    assert price.highest_price(LINES, 0.01) == pytest.approx(0.02)
    assert price.highest_price(LINES, None) == pytest.approx(0.375)
    assert price.highest_price(LINES[:1], None) == pytest.approx(0.1)
    assert price.highest_price([Line("N0", 0.0, 0.0)], None) == 1.0


@pytest.mark.parametrize("width", [theme.WIDTH, theme.NARROW])
@pytest.mark.parametrize("count", [1, 2, 8])
def test_lines_of_up_to_eight_treatments_are_readable(count, width):
    chart = price.cost_against_price(paying(UP_TO_60[:count]), EIGHT[:count], width=width)
    assert_readable(chart, UP_TO_60[:count], width)


def test_the_trial_s_own_price_and_the_crossing_are_marked_and_labelled():
    chart = price.cost_against_price(paying(), LINES)
    text = words(drawn(chart)).split("\n")
    assert records(chart, "own price")[0]["price"] == 0.28
    assert records(chart, "crossings") == [
        {"price": pytest.approx(0.3), "cost": pytest.approx(0.04)}
    ]
    assert "this trial: 0.28 EUR/kWh" in text
    assert [text for _, text in told(chart)] == ["0.3"]


def test_without_a_price_of_its_own_a_trial_has_no_rule():
    chart = price.cost_against_price(paying(own=None), LINES)
    assert records(chart, "own price") == []
    assert_readable(chart, UP_TO_60[:2])


def test_axes_name_currency_unit_and_direction_and_costs_start_at_zero():
    chart = price.cost_against_price(paying(), LINES, "kg")
    text = words(drawn(chart))
    assert "Cost (EUR/kg), lower is better" in text
    assert "Price of electricity (EUR/kWh)" in text
    assert scale_of_costs(chart)[0] == 0


def test_lines_differ_in_dash_and_points_in_shape_beside_colour():
    for unit in units(price.cost_against_price(paying(UP_TO_60), EIGHT)):
        if {"color", "stroke"} & unit["encoding"].keys():
            assert {"shape", "strokeDash"} & unit["encoding"].keys()


def test_of_many_crossings_those_of_the_cheapest_are_labelled_apart():
    chart = price.cost_against_price(paying(UP_TO_60), EIGHT)
    labels, rings = told(chart), records(chart, "crossings")
    assert 0 < len(labels) < len(rings)
    cheapest = {
        f"{a.x:.3g}"
        for a in price.intersections(EIGHT)
        if a.y <= min(line.at(a.x) for line in EIGHT) + 1e-9
    }
    assert {text for _, text in labels} <= cheapest
    assert all(b[0] - a[0] > 20 for a, b in pairwise(sorted(labels)))


def test_a_line_that_is_not_a_number_or_of_no_treatment_is_left_out():
    chart = price.cost_against_price(
        paying(), [CHEAP_START, Line("N1", nan, 1.0), Line("N9", 1.0, 1.0)]
    )
    assert {row["treatment"] for row in records(chart, "lines")} == {UP_TO_60[0]}
    assert price.cost_against_price(paying(), [Line("N1", inf, 1.0)]) is None
    assert price.cost_against_price(paying(), []) is None


@settings(max_examples=8, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 50), st.floats(0, 50)), min_size=1, max_size=8),
    st.one_of(st.none(), st.floats(0, 100)),
)
def test_any_costs_make_a_figure(costs, own):
    lines = [Line(f"N{n}", fixed, energy) for n, (fixed, energy) in enumerate(costs)]
    chart = price.cost_against_price(paying(UP_TO_60[: len(lines)], own), lines)
    assert_readable(chart, UP_TO_60[: len(lines)])


# Components


@pytest.mark.parametrize("width", [theme.WIDTH, theme.NARROW])
@pytest.mark.parametrize("count", [1, 2, 8])
def test_components_of_up_to_eight_treatments_are_readable(count, width):
    chart = cost_parts.components(paying(UP_TO_60[:count]), parts(count), width=width)
    assert_readable(chart, [*UP_TO_60[:count], *PARTS, cost_parts.TOTAL], width)


def test_every_bar_carries_its_name_and_figure_and_the_total_is_their_sum():
    chart = cost_parts.components(paying(), parts(1))
    rows = [*records(chart, "costs"), *records(chart, "totals")]
    assert [(row["label"], row["cost"]) for row in rows] == [
        ("Electricity", 0.02),
        ("Water", 0.001),
        ("Nutrient solution", 0.008),
        ("Total", pytest.approx(0.029)),
    ]
    assert {"0.02", "0.001", "0.008", "0.029"} <= set(words(drawn(chart)).split("\n"))


def test_bars_stand_on_zero():
    chart = cost_parts.components(paying(), parts(2))
    rows = records(chart, "costs")
    assert {row["value"] for row in rows} == {0}
    assert "Cost (EUR/g), lower is better" in axis_titles(chart)


@pytest.mark.parametrize("cost", [None, nan, inf])
def test_a_cost_that_is_not_known_has_no_bar_and_then_there_is_no_total(cost):
    chart = cost_parts.components(paying(), parts(1, (0.02, cost, 0.008)))
    drawn_bars = {row["label"] for name in ("costs", "totals") for row in records(chart, name)}
    assert drawn_bars == {"Electricity", "Nutrient solution"}
    assert words(drawn(chart)).split("\n").count("not known") == 2


def test_without_any_known_cost_there_are_no_bars():
    assert cost_parts.components(paying(), []) is None
    assert cost_parts.components(paying(), parts(2, (None, nan, None))) is None
    assert cost_parts.components(paying(), [CostPart("N9", "Water", 1.0)]) is None


def test_one_component_needs_no_total():
    chart = cost_parts.components(paying(), [CostPart("N0", "Electricity", 0.02)])
    assert [row["label"] for row in records(chart, "costs")] == ["Electricity"]
    assert records(chart, "totals") == []


def test_costs_of_nothing_still_have_an_axis():
    assert_readable(cost_parts.components(paying(), parts(2, (0.0, 0.0, 0.0))), UP_TO_60[:2])


def test_no_name_breaks_a_figure_of_costs():
    trial = paying(HOSTILE)
    lines = [replace(EIGHT[n], name=f"N{n}") for n in range(len(HOSTILE))]
    bars = cost_parts.components(
        trial, [CostPart(f"N{n}", name, 0.1) for n, name in enumerate(HOSTILE)]
    )
    for chart in (price.cost_against_price(trial, lines), bars):
        assert_readable(chart, HOSTILE)
        assert "<" not in theme.spec(chart)
    assert squeezed("Nutrients?") in squeezed(
        words(drawn(cost_parts.components(trial, [CostPart("N0", "Nutrients \N{SEEDLING}", 0.1)])))
    )
