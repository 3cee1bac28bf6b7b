"""Changes with their intervals on a logarithmic axis: key measures, and the factors of a ratio."""

from math import log

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.charts import changes, theme
from reportgen.charts.changes import ChangeRow
from tests import svg_boxes
from tests.test_charts import HOSTILE, drawn, words
from tests.test_charts_light import UP_TO_60, _fonts, assert_readable, records, squeezed, units

assert _fonts  # the figures of this file are measured in the font too

WARM = theme.look(1, "Warm")
WEIGHT = ChangeRow(
    "Fresh weight, higher is better", ("25% more", "(10% to 50% more)"), 125.0, 110.0, 150.0, WARM
)
FACTORS = (
    ChangeRow("Light per kWh", ("× 0.80",), 80.0, 70.0, 90.0),
    ChangeRow("Growth per unit of light", ("× 1.50",), 150.0, 140.0, 161.0),
    ChangeRow("Yield per kWh", ("× 1.20",), 120.0, 104.0, 138.0, is_product=True),
)
WIDTHS = (theme.WIDTH, theme.NARROW)


def of(*rows: ChangeRow, width: float = theme.WIDTH):
    return changes.changes(rows, "Change from unheated trays", width)


def axis(chart) -> tuple[float, float]:
    scales = (
        unit["encoding"]["x"].get("scale") for unit in units(chart) if "x" in unit["encoding"]
    )
    low, high = next(scale["domain"] for scale in scales if scale)
    return low, high


def ticks(chart) -> list[float]:
    axes = (unit["encoding"]["x"].get("axis") for unit in units(chart) if "x" in unit["encoding"])
    return next(one["values"] for one in axes if one)


def said(chart) -> str:
    return " ".join(words(drawn(chart)).split())


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("count", [1, 2, 5, 8])
def test_changes_of_up_to_eight_treatments_are_readable(count, width):
    rows = [ChangeRow("Fresh weight per plant planted, higher is better")]
    for place, name in enumerate(UP_TO_60[:count]):
        rows.append(ChangeRow(name, WEIGHT.figure, 125.0, 110.0, 150.0, theme.look(place, name)))
    assert_readable(of(*rows, width=width), [*UP_TO_60[:count], "25% more"], width)


def test_a_change_is_a_mark_with_its_interval_around_no_change():
    chart = of(WEIGHT)
    assert records(chart, "marks of treatments")[0]["value"] == pytest.approx(125)
    assert [records(chart, "intervals")[0][end] for end in ("value", "to")] == pytest.approx(
        [110, 150]
    )
    assert records(chart, "no change")[0]["value"] == 100
    assert "25% more" in said(chart)
    assert "no change" in said(chart)


def test_rows_without_any_ratio_give_no_figure():
    assert of(ChangeRow("Fresh weight")) is None
    assert of() is None


def test_an_interval_without_one_bound_has_no_line_on_that_side():
    chart = of(ChangeRow("Water", ("20% less",), 80.0, None, 90.0, WARM))
    row = records(chart, "intervals")[0]
    assert [row["value"], row["to"]] == pytest.approx([80, 90])
    assert "line on one side only: no bound on the other" in said(chart)


def test_a_ratio_without_interval_is_hollow_and_said_so():
    chart = of(ChangeRow("Water", ("10% less",), 90.0, look=WARM))
    assert records(chart, "intervals") == records(chart, "marks of treatments") == []
    assert records(chart, "hollow marks of treatments")[0]["value"] == pytest.approx(90)
    assert "hollow: no interval" in said(chart)


def test_an_interval_far_outside_is_clipped_to_an_arrow_and_said_so():
    chart = of(ChangeRow("Water", ("10% more",), 110.0, 0.5, 4000.0, WARM))
    low, high = axis(chart)
    assert high < 300
    assert (
        records(chart, "intervals")[0]["value"] == records(chart, "beyond left")[0]["value"] == low
    )
    assert (
        records(chart, "intervals")[0]["to"] == records(chart, "beyond right")[0]["value"] == high
    )
    assert "arrow: goes on beyond the axis" in said(chart)


def test_an_interval_within_the_axis_has_no_arrow():
    chart = of(WEIGHT)
    assert records(chart, "beyond left") == records(chart, "beyond right") == []
    assert "arrow" not in said(chart)


@pytest.mark.parametrize("ratio", [0.1, 500_000.0])
def test_a_mark_beyond_any_axis_stands_at_its_edge_with_an_arrow(ratio):
    chart = of(ChangeRow("Water", (), ratio, ratio, ratio, WARM))
    low, high = axis(chart)
    assert 10 < low < records(chart, "marks of treatments")[0]["value"] < high < 1000
    assert len(records(chart, "beyond left") + records(chart, "beyond right")) == 1


@settings(max_examples=15, deadline=None)
@given(st.floats(20, 500), st.floats(0.01, 1), st.floats(1, 100), st.sampled_from(WIDTHS))
def test_every_axis_has_no_change_readable_ticks_and_all_marks(ratio, below, above, width):
    chart = of(ChangeRow("Water", ("x",), ratio, ratio * below, ratio * above, WARM), width=width)
    low, high = axis(chart)
    assert low < ratio < high
    assert 100 in ticks(chart)
    assert 2 <= len(ticks(chart)) <= 12
    found = svg_boxes.read(drawn(chart))
    assert svg_boxes.texts_that_meet(found) == svg_boxes.outside(found) == []


def test_half_lies_as_far_from_no_change_as_double():
    chart = of(ChangeRow("Water", (), 100.0, 50.0, 200.0, WARM))
    low, high = axis(chart)
    assert 100 / low == pytest.approx(high / 100)


@pytest.mark.parametrize(
    ("percent", "text"),
    [
        (100, "no change"),
        (125, "+25%"),
        (80, "\N{MINUS SIGN}20%"),
        (200, "×2"),
        (12.5, "\N{MINUS SIGN}87.5%"),
    ],
)
def test_ticks_say_how_far_they_lie_from_no_change(percent, text):
    assert squeezed(changes.tick_text(percent)) == squeezed(text)


def test_labels_stand_over_marks_where_there_is_less_room_and_beside_them_else():
    wide, narrow = (of(WEIGHT, width=width) for width in WIDTHS)
    assert (
        records(wide, "labels left")[0]["y"] == records(wide, "marks of treatments")[0]["y"] - 7.5
    )
    assert (
        records(narrow, "labels left")[-1]["y"]
        < records(narrow, "marks of treatments")[0]["y"] - 10
    )


# Factors of a ratio


@pytest.mark.parametrize("width", WIDTHS)
def test_each_factor_has_a_row_with_its_name_and_how_many_times(width):
    chart = of(*FACTORS, width=width)
    assert_readable(chart, [*(row.label for row in FACTORS), "× 0.80", "× 1.20"], width)


def test_the_product_comes_last_and_is_set_apart():
    chart = of(*FACTORS)
    (line,) = records(chart, "parting")
    places = [row["y"] for row in records(chart, "marks")]
    assert places[1] < line["y"] < places[2]


def test_lengths_of_factors_add_up_to_that_of_the_product():
    lengths = [log(row["value"] / 100) for row in records(of(*FACTORS), "marks")]
    assert sum(lengths[:-1]) == pytest.approx(lengths[-1])


def test_hostile_and_equal_names_keep_their_rows():
    rows = [ChangeRow(name, ("× 1.10",), 110.0, 100.0, 120.0) for name in (*HOSTILE, "x.y")]
    chart = of(*rows)
    assert_readable(chart, HOSTILE)
    assert "<" not in theme.spec(chart)
    assert words(drawn(chart)).split("\n").count("x.y") == 2
