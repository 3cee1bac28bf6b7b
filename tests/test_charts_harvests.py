"""Curves of cumulative yield: a step a picking, bands of each day, names at the ends of lines."""

from dataclasses import replace
from datetime import timedelta

import pytest

from reportgen.charts import harvests, theme
from reportgen.metrics import compute
from reportgen.model.results import CumulativeYield, Estimate, Measure, YieldByDay
from reportgen.model.trial import Picking
from tests.test_charts import HOSTILE, START, drawn, invented, words
from tests.test_charts_light import UP_TO_60, _fonts, assert_readable, records, units

assert _fonts  # the figures of this file are measured in the font too

YIELD = Measure("tray_yield", "Yield", "g/tray", "higher")


def picked(names=UP_TO_60[:2], blocks=4, days=(10, 17, 24)):
    """Return a trial whose trays give more and more, those of later treatments and blocks most."""
    trial = invented(names, blocks)
    pickings = tuple(
        Picking(tray.code, START + timedelta(days=day), 40.0 + 9 * place + day)
        for place, tray in enumerate(trial.trays)
        for day in days
    )
    plants = tuple(replace(plant, fresh_weight=None) for plant in trial.plants)
    return replace(trial, plants=plants, pickings=pickings)


def chart_of(trial):
    return harvests.cumulative_yield(trial, compute(trial).harvests[-1])


def of(*days):
    """Draw what two treatments had given by each day: pairs of the day and the estimates by code."""
    nothing = {"N0": Estimate(None), "N1": Estimate(None)}
    rows = tuple(
        YieldByDay(START + timedelta(days=n), tuple((nothing | each).items())) for n, each in days
    )
    return harvests.cumulative_yield(invented(("Half", "Full")), CumulativeYield(YIELD, rows))


@pytest.mark.parametrize("count", [1, 2, 5, 8])
def test_curves_of_up_to_eight_treatments_are_readable(count):
    names = [name[:28].rstrip() for name in UP_TO_60[:count]]
    assert_readable(chart_of(picked(names, 2)), names)


def test_each_day_of_picking_is_a_point_with_its_interval_to_read():
    chart = of((5, {"N0": Estimate(10.0, 8.0, 12.0)}), (9, {"N0": Estimate(30.0, 25.0, 36.0)}))
    points = records(chart, "points")
    assert [(one["day"], one["value"], one["reach"]) for one in points] == [
        (5, 10.0, "8 to 12"),
        (9, 30.0, "25 to 36"),
    ]


def test_a_curve_is_level_until_the_next_picking():
    marks = [
        unit["mark"]
        for unit in units(chart_of(picked()))
        if unit["mark"]["type"] in ("line", "area")
    ]
    assert {mark["interpolate"] for mark in marks} == {"step-after"}


def test_a_line_begins_at_nothing_and_shows_its_last_level():
    chart = of((5, {"N0": Estimate(10.0)}), (55, {"N0": Estimate(30.0, 25.0, 36.0)}))
    curve = [(one["day"], one["value"]) for one in records(chart, "curves")]
    assert curve == [(3.0, 0.0), (5, 10.0), (55, 30.0)]


def test_the_last_interval_stands_beside_the_last_day():
    chart = of((5, {"N0": Estimate(10.0)}), (55, {"N0": Estimate(30.0, 25.0, 36.0)}))
    (last,) = records(chart, "last interval 1")
    assert (last["day"], last["low"], last["high"]) == (55, 25.0, 36.0)


def test_the_band_reaches_from_limit_to_limit_and_has_no_width_where_there_is_none():
    chart = of((5, {"N0": Estimate(0.0)}), (9, {"N0": Estimate(30.0, 25.0, 36.0)}))
    bands = [(one["low"], one["high"]) for one in records(chart, "bands")]
    assert bands == [(0.0, 0.0), (0.0, 0.0), (25.0, 36.0)]


def test_the_axis_holds_zero_and_every_limit():
    chart = of((5, {"N0": Estimate(10.0, 8.0, 12.0)}), (9, {"N0": Estimate(30.0, 25.0, 99.0)}))
    scales = [unit["encoding"]["y"]["scale"] for unit in units(chart)]
    domains = [scale["domain"] for scale in scales if scale]
    assert domains
    assert all(domain[0] == 0 and domain[1] >= 99 for domain in domains)


def test_lines_are_told_apart_by_dash_shape_and_name_as_well_as_by_colour():
    chart = chart_of(picked(("Full strength", "Half strength, renewed often")))
    coloured = [
        unit["encoding"] for unit in units(chart) if {"stroke", "color"} & unit["encoding"].keys()
    ]
    assert all({"strokeDash", "shape"} & encoding.keys() for encoding in coloured)
    assert {one["treatment"] for one in records(chart, "symbols")} == {
        "Full strength",
        "Half strength, renewed often",
    }


def test_names_of_lines_that_end_together_are_moved_apart():
    chart = of(
        (5, {"N0": Estimate(20.0), "N1": Estimate(20.0)}),
        (9, {"N0": Estimate(30.0), "N1": Estimate(30.1)}),
    )
    low, high = sorted(one["y"] for one in records(chart, "symbols"))
    assert high - low >= 15


def test_axes_name_measure_unit_and_days():
    text = " ".join(words(drawn(chart_of(picked()))).split())
    assert "Yield (g/tray), added up" in text
    assert "Days since the start on 3 February 2026" in text


def test_a_treatment_without_figures_is_left_out_and_none_gives_no_figure():
    chart = of(
        (5, {"N0": Estimate(10.0), "N1": Estimate(None)}),
        (9, {"N0": Estimate(30.0), "N1": Estimate(None)}),
    )
    assert {one["treatment"] for one in records(chart, "curves")} == {"Half"}
    assert of((5, {"N0": Estimate(None)}), (9, {"N0": Estimate(None)})) is None


@pytest.mark.parametrize("name", HOSTILE)
def test_no_name_breaks_a_curve(name):
    svg = drawn(chart_of(picked((name, "Full"))))
    assert "Full" in words(svg)
    assert "NaN" not in svg


def test_the_same_pickings_give_the_same_text():
    assert theme.spec(chart_of(picked())) == theme.spec(chart_of(picked()))
