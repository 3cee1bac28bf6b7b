from dataclasses import replace
from datetime import timedelta

import pytest

from reportgen.charts import curves, theme
from reportgen.metrics import compute
from reportgen.model.results import Estimate, GrowthOnDay, GrowthOverTime, Measure
from reportgen.model.trial import GrowthMeasurement, Trait, Trial
from tests.test_charts import HOSTILE, START, drawn, invented, words
from tests.test_charts_light import UP_TO_60, _fonts, assert_readable, records, units

assert _fonts  # the figures of this file are measured in the font too

SHORT = "Half strength, renewed often"
TRAITS = (Trait("height", "Plant height", "cm"), Trait("leaves", "Leaves", ""))


def row(tray: str, number: int, *values: float | None, plant: str = "1") -> GrowthMeasurement:
    return GrowthMeasurement(tray, plant, START + timedelta(days=number), values)


def measured(names=UP_TO_60[:2], blocks=4, days=range(0, 30, 6)) -> Trial:
    """Return a trial whose plants grow straight, those of later treatments and trays faster."""
    trial = invented(names, blocks)
    rows = tuple(
        row(tray.code, n, 1.0 + n * (1 + place / 10), float(n), plant=plant)
        for place, tray in enumerate(trial.trays)
        for n in days
        for plant in ("1", "2")
    )
    return replace(trial, growth=rows, growth_traits=TRAITS)


def of(*days):
    """Draw two treatments: pairs of the day and the estimates by code."""
    nothing = {"N0": Estimate(None), "N1": Estimate(None)}
    rows = tuple(
        GrowthOnDay(START + timedelta(days=n), tuple((nothing | each).items())) for n, each in days
    )
    found = GrowthOverTime(
        Measure("growth_height", "Plant height", "cm"), "relative_growth_rate", rows, (), ()
    )
    return curves.growth(invented(("Half", "Full")), found)


def chart_of(trial, position=0):
    return curves.growth(trial, compute(trial).growth[position])


@pytest.mark.parametrize("count", [1, 2, 5, 8])
def test_curves_of_up_to_eight_treatments_are_readable(count):
    names = [name[:28].rstrip() for name in UP_TO_60[:count]]
    assert_readable(chart_of(measured(names)), names)


def test_a_line_is_the_mean_of_trays_with_the_band_of_its_interval():
    chart = of((3, {"N0": Estimate(4.0, 3.0, 5.0)}), (9, {"N0": Estimate(8.0, 6.0, 11.0)}))
    assert [(a["day"], a["low"], a["high"]) for a in records(chart, "bands")] == [
        (3, 3.0, 5.0),
        (9, 6.0, 11.0),
    ]
    assert [(a["value"], a["reach"]) for a in records(chart, "points")] == [
        (4.0, "3 to 5"),
        (8.0, "6 to 11"),
    ]


def test_a_line_goes_straight_from_day_to_day():
    marks = [
        unit["mark"]
        for unit in units(chart_of(measured()))
        if unit["mark"]["type"] in ("line", "area")
    ]
    assert {mark["interpolate"] for mark in marks} == {"linear"}


def test_each_trait_is_drawn_from_its_own_column():
    assert max(a["value"] for a in records(chart_of(measured(), 1), "points")) == pytest.approx(
        24.0
    )


def test_what_was_not_measured_is_left_out():
    assert of((3, {}), (9, {})) is None
    chart = of((3, {"N0": Estimate(4.0)}), (9, {"N0": Estimate(8.0)}))
    assert {one["treatment"] for one in records(chart, "curves")} == {"Half"}


def test_axes_name_trait_unit_and_days():
    text = " ".join(words(drawn(chart_of(measured()))).split())
    assert "Plant height (cm)" in text
    assert "Days since the start on 3 February 2026" in text


def test_the_axis_holds_zero_and_every_limit():
    chart = of((3, {"N0": Estimate(4.0, 3.0, 5.0)}), (9, {"N0": Estimate(8.0, -1.0, 99.0)}))
    scales = [unit["encoding"]["y"]["scale"] for unit in units(chart)]
    domains = [scale["domain"] for scale in scales if scale]
    assert domains
    assert all(low <= -1 and high >= 99 for low, high in domains)


def test_lines_are_told_apart_by_dash_shape_and_name_as_well_as_by_colour():
    chart = chart_of(measured(("Full strength", SHORT)))
    coloured = [
        unit["encoding"] for unit in units(chart) if {"stroke", "color"} & unit["encoding"].keys()
    ]
    assert all({"strokeDash", "shape"} & encoding.keys() for encoding in coloured)
    assert {one["treatment"] for one in records(chart, "symbols")} == {"Full strength", SHORT}
    assert SHORT in " ".join(words(drawn(chart)).split())


def test_more_than_2000_points_are_thinned_but_the_last_day_stays():
    estimates = {"N0": Estimate(4.0), "N1": Estimate(5.0)}
    chart = of(*((day, estimates) for day in range(2400)))
    assert len(records(chart, "points")) <= 1.1 * theme.MOST_MARKS
    assert max(a["day"] for a in records(chart, "points")) == 2399


@pytest.mark.parametrize("name", HOSTILE)
def test_no_name_breaks_the_curves(name):
    svg = drawn(chart_of(measured((name, "Full"))))
    assert "Full" in words(svg)
    assert "NaN" not in svg
