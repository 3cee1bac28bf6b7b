import json
from math import expm1, nan

import pytest

from reportgen.charts import planning, theme
from reportgen.charts.planning import Detectable
from reportgen.metrics.planning import FactorToPlan, PowerTarget, typed_variation
from reportgen.metrics.planning import plan as plan_trial
from reportgen.report import planning as report_planning
from reportgen.stats import power
from tests.test_charts import drawn, words
from tests.test_charts_light import _fonts, assert_readable, records, squeezed, units

assert _fonts  # the figures of this file are measured in the font too


# Tray-to-tray and within-tray standard deviations of 10% and 30% of the mean, made up.
def aim(plants):
    return power.Aim(0.8, 0.05, power.TWO_TREATMENTS, plants)


ROWS = tuple(
    Detectable(
        trays, plants, power.smallest_difference(trays, power.typed_spread(0.1, 0.3), aim(plants))
    )
    for trays in (2, 3, 4, 6, 8, 12)
    for plants in (4, 12)
)


def of(*rows: Detectable, width: float = theme.WIDTH):
    return planning.smallest_difference(rows or ROWS, 0.95, 0.8, width=width)


def figures(chart) -> list[dict]:
    """Return the figures at the marks: those above the upper line, then those below the lower one."""
    return [*records(chart, "figures left"), *records(chart, "figures right")]


def test_two_lines_show_few_and_many_plants_with_their_figures():
    chart = of()
    assert_readable(chart, ["4 plants a tray", "12 plants a tray"])
    shown = [row["text"] for row in figures(chart)]
    assert len(shown) == len(ROWS)
    assert set(shown) <= set(words(drawn(chart)).split("\n"))


def test_the_figure_is_readable_on_a_phone():
    assert_readable(of(width=theme.NARROW), ["4 plants a tray", "12 plants a tray"], theme.NARROW)


def test_differences_are_in_percent_from_zero():
    # R: power.t.test(n = 4, sd = 1, power = 0.8)$delta gives 2.38076, here times 0.1, a deviation
    #   of logarithms
    chart = of(Detectable(4, 1, power.smallest_difference(4, power.Spread(0.01, 1, 0.0), aim(1))))
    assert records(chart, "points")[0]["percent"] == pytest.approx(100 * expm1(0.238076), abs=1e-3)
    assert units(chart)[0]["encoding"]["y"]["scale"]["domain"][0] == 0


def test_figures_of_the_upper_line_stand_above_and_of_the_lower_below():
    chart = of()
    few = [f"{100 * row.difference:.0f}" for row in ROWS if row.plants == 4]
    many = [f"{100 * row.difference:.0f}" for row in ROWS if row.plants == 12]
    assert [row["text"] for row in records(chart, "figures left")] == few
    assert [row["text"] for row in records(chart, "figures right")] == many


def test_axes_name_unit_direction_level_and_power():
    title = " ".join(words(drawn(of())).split())
    assert "Smallest difference detectable (%), lower is better" in title
    assert squeezed("95% level, 80% power") in squeezed(title)
    assert "Trays a treatment (number)" in title


def test_the_axis_of_a_plan_with_two_factors_has_the_words_of_its_table():
    factors = (FactorToPlan("light", 2, "light=low,high"), FactorToPlan("feed", 2, "feed=1,2"))
    target = PowerTarget(0.2, treatments=("a", "b", "c", "d"), factors=factors)
    variation = typed_variation(0.05, 0.1)
    plan = plan_trial(variation, target)
    figure = report_planning.figure(target, plan)
    assert "Trays a combination (number)" in json.dumps(figure.spec)
    assert "trays a combination" in report_planning.text(variation, target, plan, 1)


def test_lines_differ_in_shape_and_dash_beside_colour():
    coloured = [
        unit["encoding"] for unit in units(of()) if {"color", "stroke"} & unit["encoding"].keys()
    ]
    assert len(coloured) == 3  # the lines, the points, and their key
    assert all({"shape", "strokeDash"} & encoding.keys() for encoding in coloured)
    shapes = next(a["shape"]["scale"]["range"] for a in coloured if "shape" in a)
    assert len(set(shapes)) == 2


def test_what_is_not_known_is_left_out():
    chart = of(Detectable(1, 4, None), Detectable(2, 4, nan), Detectable(3, 4, 0.3))
    assert [row["trays"] for row in records(chart, "points")] == [3]
    assert planning.smallest_difference([Detectable(1, 4, None)], 0.95, 0.8) is None


def test_one_plant_is_one_plant():
    assert "1 plant a tray" in words(drawn(of(Detectable(3, 1, 0.3))))


def test_many_numbers_of_trays_carry_figures_on_some():
    chart = of(*(Detectable(trays, 4, 1 / trays) for trays in range(2, 60)))
    assert_readable(chart)
    assert len(records(chart, "points")) == 58
    assert 5 < len(figures(chart)) < 30


def test_small_differences_keep_a_decimal():
    assert figures(of(Detectable(9, 4, 0.0734)))[0]["text"] == "7.3"


def test_no_difference_at_all_still_has_an_axis():
    assert_readable(of(Detectable(2, 4, 0.0), Detectable(3, 4, 0.0)))
