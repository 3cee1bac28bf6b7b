from dataclasses import replace
from math import nan

import pytest

from reportgen.charts import forest, theme
from reportgen.charts.forest import TrialRatio
from reportgen.stats.pooling import PooledRatio
from tests.test_charts import HOSTILE, drawn, words
from tests.test_charts_light import UP_TO_60, _fonts, assert_readable, axis_titles, records, squeezed, units

assert _fonts  # the figures of this file are measured in the font too

TITLE = "Fresh weight per plant: warm mat against plain mat"
TRIALS = (
    TrialRatio("Spring, north shelf", 1.2, 1.05, 1.38, 0.5),
    TrialRatio(UP_TO_60[1], 0.95, 0.7, 1.3, 0.25),
    TrialRatio("Autumn", 1.3, 1.2, 1.41, 0.25),
)
POOLED = PooledRatio(3, 1.17, 1.02, 1.35, prediction_low=0.8, prediction_high=1.7)


def of(*trials: TrialRatio, pooled: PooledRatio | None = POOLED):
    return forest.forest(TITLE, 0.95, trials or TRIALS, pooled)


def corners(chart) -> list[tuple[float, float]]:
    return [(row["percent"], row["place"]) for row in records(chart, "pooled")]


def test_each_trial_has_a_row_with_its_name_and_its_figures():
    chart = of()
    assert_readable(chart, [a.name for a in TRIALS])
    text = squeezed(words(drawn(chart)))
    assert [a for a in ("120%(105to138)", "95%(70to130)", "117%(102to135)", "80to170%") if a not in text] == []


def test_the_area_of_a_square_is_in_proportion_to_its_weight():
    # Common practice (Lewis & Clarke 2001, BMJ 322:1479-1480, from memory): area, not side, shows the weight.
    areas = [row["area"] for row in records(of(), "dots")]
    assert areas == pytest.approx([forest.LARGEST, forest.LARGEST / 2, forest.LARGEST / 2])


def test_a_trial_of_hardly_any_weight_can_still_be_seen():
    assert forest.square(1e-9, 1.0) == forest.SMALLEST
    assert forest.SMALLEST <= forest.square(None, 0.0) < forest.LARGEST


def test_the_diamond_spans_the_interval_of_the_pooled_ratio():
    found = corners(of())
    assert [place for place, _ in found] == pytest.approx([102, 117, 135, 117])
    assert found[1][1] < found[0][1] == found[2][1] < found[3][1]


def test_the_prediction_interval_is_dashed_and_has_a_row_of_its_own():
    chart = of()
    row = records(chart, "prediction interval")[0]
    assert [row["percent"], row["to"]] == pytest.approx([80, 170])
    assert row["place"] > records(chart, "pooled")[3]["place"]
    assert "dashed: prediction interval" in axis_titles(chart)
    line = next(unit for unit in units(chart) if unit["data"]["name"] == "prediction interval")
    assert line["mark"]["strokeDash"]


def test_without_a_pooled_ratio_there_is_no_diamond_and_nothing_is_said_of_it():
    for chart in (of(pooled=None), of(TRIALS[0], pooled=PooledRatio(1))):
        assert corners(chart) == records(chart, "prediction interval") == []
        assert "diamond" not in axis_titles(chart)
        assert forest.POOLED not in words(drawn(chart))


def test_a_pooled_ratio_without_interval_claims_none():
    chart = of(pooled=PooledRatio(3, 1.17))
    assert records(chart, "prediction interval") == []
    assert "117%(" not in squeezed(words(drawn(chart)))
    assert max(x for x, _ in corners(chart)) - min(x for x, _ in corners(chart)) < 4


def test_a_trial_without_interval_is_hollow_and_one_without_ratio_absent():
    chart = of(TRIALS[0], TrialRatio("Single tray", 1.1), TrialRatio("Failed", None), TrialRatio("Not one", nan))
    assert [row["row"] for row in records(chart, "hollow dots")] == ["Single tray"]
    assert "Failed" not in words(drawn(chart))
    assert "Not one" not in words(drawn(chart))
    assert forest.forest(TITLE, 0.95, [TrialRatio("Failed", None)], POOLED) is None


def test_the_axis_says_what_unit_level_and_scale():
    title = axis_titles(of())
    assert f"{TITLE}, relative to the reference (%)" in title
    assert "Mark and 95% interval; logarithmic scale" in title
    assert "size: weight; diamond: pooled" in title


def test_a_prediction_interval_beyond_the_axis_ends_in_an_arrow():
    chart = of(pooled=replace(POOLED, prediction_low=1e-6, prediction_high=1e6))
    assert [row["row"] for row in records(chart, "beyond right")] == [forest.PREDICTED]
    assert [row["row"] for row in records(chart, "beyond left")] == [forest.PREDICTED]


def test_twelve_trials_of_hostile_and_long_names_fit_a_page():
    names = (*HOSTILE, *UP_TO_60[:6], "\N{SEEDLING} grown")
    chart = of(*(TrialRatio(name, 1.1, 1.0, 1.2, 0.1) for name in names))
    assert_readable(chart, [*names[:-1], "? grown"])
    assert "<" not in theme.spec(chart)


def test_nothing_is_told_by_colour():
    assert [unit for unit in units(of()) if {"color", "fill", "stroke"} & unit["encoding"].keys()] == []
