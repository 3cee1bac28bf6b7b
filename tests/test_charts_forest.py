"""Several trials of one comparison: dots on shaded strips, over a band of what they say together."""

from dataclasses import replace
from math import nan

import pytest

from reportgen.charts import forest, theme
from reportgen.charts.forest import Together, TrialRatio
from tests.test_charts import HOSTILE, drawn, words
from tests.test_charts_light import UP_TO_60, _fonts, assert_readable, records, squeezed, units

assert _fonts  # the figures of this file are measured in the font too

TITLE = "Change from plain mat in each trial"
TRIALS = (
    TrialRatio("Spring, north shelf", ("20% more", "(5% to 38% more)"), 1.2, 1.05, 1.38, 0.5),
    TrialRatio(UP_TO_60[1], ("5% less", "(30% less to 30% more)"), 0.95, 0.7, 1.3, 0.25),
    TrialRatio("Autumn", ("30% more", "(20% to 41% more)"), 1.3, 1.2, 1.41, 0.25),
)
POOLED = TrialRatio(forest.POOLED, ("17% more", "(2% to 35% more)"), 1.17, 1.02, 1.35)
PREDICTED = TrialRatio(forest.PREDICTED, ("20% less to 70% more",), 1.17, 0.8, 1.7)
TOGETHER = Together(POOLED, PREDICTED)


def of(*trials: TrialRatio, together: Together | None = TOGETHER, width: float = theme.WIDTH):
    return forest.forest(TITLE, trials or TRIALS, together, width)


@pytest.mark.parametrize("width", [theme.WIDTH, theme.NARROW])
def test_each_trial_has_a_row_with_its_name_and_its_figures(width):
    names = [one.name for one in TRIALS]
    assert_readable(
        of(width=width),
        [*names, "20% more", "(20% to 41% more)", "17% more", forest.PREDICTED],
        width,
    )


def test_the_area_of_a_dot_is_in_proportion_to_its_weight():
    # Common practice (Lewis & Clarke 2001, BMJ 322:1479-1480, from memory): area, not side, shows
    # the weight.
    areas = [row["area"] for row in records(of(), "dots")]
    assert areas == pytest.approx([forest.LARGEST, forest.LARGEST / 2, forest.LARGEST / 2])


def test_a_trial_of_hardly_any_weight_can_still_be_seen():
    assert forest.area(1e-9, 1.0) == forest.SMALLEST
    assert forest.SMALLEST <= forest.area(None, 0.0) < forest.LARGEST


def test_a_strip_spans_the_interval_of_its_trial_around_its_dot():
    strips, dots = records(of(), "strips"), records(of(), "dots")
    ends = [end for row in strips for end in (row["value"], row["to"])]
    assert ends == pytest.approx([105, 138, 70, 130, 120, 141])
    for strip, dot in zip(strips, dots, strict=True):
        assert strip["y"] < dot["y"] < strip["bottom"]
        assert strip["value"] < dot["value"] < strip["to"]


def test_the_pooled_interval_is_a_band_behind_all_rows():
    chart = of()
    (band,) = records(chart, "pooled interval")
    assert [band["value"], band["to"]] == pytest.approx([102, 135])
    assert all(band["y"] <= row["y"] <= band["bottom"] for row in records(chart, "dots"))
    assert records(chart, "pooled ratio")[0]["value"] == pytest.approx(117)
    assert next(unit["data"]["name"] for unit in units(chart)) == "pooled interval"


def test_the_range_for_another_trial_is_dashed_and_has_a_row_of_its_own():
    chart = of()
    (row,) = records(chart, "prediction interval")
    assert [row["value"], row["to"]] == pytest.approx([80, 170])
    assert row["y"] > records(chart, "pooled ratio")[0]["y"]
    box = next(unit for unit in units(chart) if unit["data"]["name"] == "prediction interval")
    assert box["mark"]["strokeDash"]


def test_without_a_pooled_ratio_there_is_no_band():
    chart = of(together=None)
    assert records(chart, "pooled interval") == records(chart, "pooled ratio") == []
    assert records(chart, "prediction interval") == []
    assert forest.POOLED not in words(drawn(chart))


def test_a_pooled_ratio_without_interval_claims_none():
    chart = of(together=Together(replace(POOLED, low=None, high=None)))
    assert records(chart, "pooled interval") == records(chart, "prediction interval") == []
    assert len(records(chart, "pooled ratio")) == 1


def test_a_trial_without_interval_is_a_ring_and_one_without_ratio_absent():
    single = TrialRatio("Single tray", ("10% more", "(no interval)"), 1.1)
    chart = of(TRIALS[0], single, TrialRatio("Failed", (), None), TrialRatio("Not one", (), nan))
    assert [row["row"] for row in records(chart, "rings")] == ["Single tray"]
    assert len(records(chart, "strips")) == 1
    assert "Failed" not in words(drawn(chart))
    assert "Not one" not in words(drawn(chart))
    assert forest.forest(TITLE, [TrialRatio("Failed", (), None)], TOGETHER) is None


def test_the_axis_says_what_and_scale():
    text = " ".join(words(drawn(of())).split())
    assert TITLE in text
    assert "logarithmic scale" in text


def test_a_range_beyond_the_axis_ends_in_an_arrow():
    chart = of(together=Together(POOLED, replace(PREDICTED, low=1e-6, high=1e6)))
    (row,) = records(chart, "prediction interval")
    for side in ("left", "right"):
        (arrow,) = records(chart, f"beyond {side}")
        assert row["y"] < arrow["y"] < row["bottom"]


def test_twelve_trials_of_hostile_and_long_names_fit_a_page():
    names = (*HOSTILE, *UP_TO_60[:6], "\N{SEEDLING} grown")
    chart = of(
        *(TrialRatio(name, ("10% more", "(0% to 20%)"), 1.1, 1.0, 1.2, 0.1) for name in names)
    )
    assert_readable(chart, [*names[:-1], "? grown"])
    assert "<" not in theme.spec(chart)
    assert squeezed("Range for another") in squeezed(words(drawn(chart)))
