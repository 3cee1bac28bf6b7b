"""Figures of two factors and of doses: what is drawn where."""

import json

import pytest

from reportgen import metrics
from reportgen.charts.interaction import interaction
from reportgen.charts.response import response
from reportgen.charts.theme import NARROW, WIDTH, spec
from tests.factor_books import (
    DOSES,
    FEED,
    LIGHT_AND_FEED,
    TWO_BY_TWO,
    factor_book,
    multiplying,
    peaking,
)
from tests.test_charts import drawn as svg
from tests.test_charts import words
from tests.workbooks import trial, write


@pytest.fixture
def made(tmp_path):
    def of(sheets):
        grown = trial(write(sheets, tmp_path / "trial.xlsx"))
        results = metrics.compute(grown)
        result = next(one for one in results.measures if one.measure.key == "fresh_weight")
        return grown, result, results.effects.of("fresh_weight")

    return of


def layers(chart):
    return {layer["data"]["name"]: layer for layer in json.loads(spec(chart))["layer"]}


def test_each_combination_stands_at_its_second_level_and_on_the_line_of_its_first(made):
    grown, result, _ = made(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying))
    drawn = layers(interaction(grown, result))
    figures = dict(result.estimates)
    low = {row["along"]: row["value"] for row in drawn["means light low"]["data"]["values"]}
    assert low == {0: figures["lw"].value, 1: figures["ls"].value}
    assert {row["treatment"] for row in drawn["means light high"]["data"]["values"]} == {
        "light high"
    }
    assert len(drawn["trays light low"]["data"]["values"]) == 2 * 4
    assert drawn["means light low"]["encoding"]["x"]["title"] == ["nutrient strength"]
    assert drawn["means light low"]["encoding"]["y"]["scale"]["type"] == "log"  # effects are ratios
    assert {"weak", "strong", "light low", "light high"} <= set(
        words(svg(interaction(grown, result))).split("\n")
    )


@pytest.mark.parametrize("width", [WIDTH, NARROW])
def test_a_logarithmic_axis_prints_two_figures_at_least(made, width):
    grown, result, _ = made(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying))
    chart = interaction(grown, result, width)
    axis = layers(chart)["means light low"]["encoding"]["y"]["axis"]
    texts = {f"{value:,g}" for value in axis["values"]}
    assert len(texts) >= 2
    assert texts <= set(words(svg(chart)).split("\n"))


def test_an_interval_reaches_as_far_as_the_table_says(made):
    grown, result, _ = made(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying))
    drawn = layers(interaction(grown, result))
    (row,) = (one for one in drawn["means light high"]["data"]["values"] if one["along"] == 1)
    figure = dict(result.estimates)["hs"]
    assert (row["low"], row["high"]) == (figure.low, figure.high)


def test_a_dose_has_its_trays_its_curve_and_its_turning_point(made):
    grown, result, analysis = made(factor_book(DOSES, FEED, peaking))
    drawn = layers(response(grown, result, analysis.trends))
    assert {row["dose"] for row in drawn["trays"]["data"]["values"]} == {0, 1, 2, 3, 4}
    assert len(drawn["trays"]["data"]["values"]) == 20
    curve = drawn["curve 0"]["data"]["values"]
    assert (curve[0]["dose"], curve[-1]["dose"]) == (0, 4)
    assert all(row["low"] < row["value"] < row["high"] for row in drawn["band 0"]["data"]["values"])
    (turning,) = (one["data"]["values"] for name, one in drawn.items() if name == "turning point 0")
    (trend,) = analysis.trends
    assert turning[0]["dose"] == trend.optimum


def test_a_flat_trend_has_no_turning_point(made):
    grown, result, analysis = made(factor_book(DOSES, FEED, lambda dose: 20))
    assert not any(
        name.startswith("turning") for name in layers(response(grown, result, analysis.trends))
    )


def test_doses_that_no_curve_fits_have_their_figures_and_no_curve(made):
    grown, result, analysis = made(factor_book(DOSES, FEED, lambda dose: 40 if dose else 20))
    drawn = layers(response(grown, result, analysis.trends))
    assert not any(name.startswith(("curve", "band", "turning")) for name in drawn)
    assert [row["value"] for row in drawn["means"]["data"]["values"]] == [
        one.value for _, one in result.estimates
    ]
    assert drawn["intervals"]["data"]["values"][0]["low"] == result.estimates[0][1].low


def test_nothing_is_drawn_without_a_trend(made):
    grown, result, _ = made(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying))
    assert response(grown, result, ()) is None
