from dataclasses import replace
from math import inf, log, nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.charts import chain, theme
from reportgen.model.results import FactorOfRatio
from tests.test_charts import HOSTILE, drawn, invented, words
from tests.test_charts_light import UP_TO_60, _fonts, assert_readable, axis_titles, records, squeezed, units

assert _fonts  # the figures of this file are measured in the font too


def factor(name: str, ratio: float | None, low: float | None = None, high: float | None = None) -> FactorOfRatio:
    return FactorOfRatio("yield_per_currency", "N1", name, ratio, low, high)


WEIGHT = factor("Fresh weight", 1.25, 1.1, 1.42)
ENERGY = factor("Electricity used, turned round", 0.8, 0.7, 0.9)
PRICE = factor("Price of electricity, turned round", 1.1)
WHOLE = factor("Fresh weight per unit of money", 1.1, 0.95, 1.3)


def of(*rows: FactorOfRatio, product: FactorOfRatio = WHOLE, names=UP_TO_60[:2]):
    return chain.factors(invented(names), rows, product)


def test_each_factor_has_a_row_with_its_name_and_how_many_times():
    chart = of(WEIGHT, ENERGY, PRICE)
    assert_readable(chart, [WEIGHT.factor, ENERGY.factor, PRICE.factor, WHOLE.factor, *UP_TO_60[:2]])
    text = words(drawn(chart))
    assert [a for a in ("× 1.25", "× 0.80", "× 1.10", "= 1.10") if squeezed(a) not in squeezed(text)] == []


def test_the_product_comes_last_and_is_set_apart():
    rows = {row["row"]: row["place"] for row in records(of(WEIGHT, ENERGY, PRICE), "rows")}
    assert rows == {WEIGHT.factor: 0, ENERGY.factor: 1, PRICE.factor: 2, f"= {WHOLE.factor}": 3.5}
    assert records(of(WEIGHT, ENERGY, PRICE), "parting") == [{"place": 2.75}]


def test_a_factor_without_interval_is_hollow_without_a_whisker():
    chart = of(WEIGHT, PRICE)
    assert [row["row"] for row in records(chart, "hollow dots")] == [PRICE.factor]
    assert PRICE.factor not in {row["row"] for row in records(chart, "intervals")}
    assert "hollow: no interval" in axis_titles(chart)


def test_nothing_is_told_by_colour():
    for unit in units(of(WEIGHT, ENERGY, PRICE)):
        assert not {"color", "fill", "stroke"} & unit["encoding"].keys()


def test_the_axis_is_in_percent_on_a_log_scale_with_the_trial_s_level():
    chart = chain.factors(replace(invented(), confidence_level=0.9), [WEIGHT], WHOLE)
    assert "Half strength relative to Full strength (%)" in axis_titles(chart)
    assert "Mark and 90% interval; logarithmic scale" in axis_titles(chart)
    assert units(chart)[1]["encoding"]["x"]["scale"]["type"] == "log"
    assert records(chart, "reference") == [{"percent": 100}]


def test_lengths_of_factors_add_up_to_that_of_the_product():
    dots = records(of(WEIGHT, ENERGY, replace(PRICE, low=1.0, high=1.2)), "dots")
    lengths = [log(row["percent"] / 100) for row in dots]
    assert sum(lengths[:-1]) == pytest.approx(lengths[-1])


@pytest.mark.parametrize("ratio", [None, 0.0, -1.0, inf, nan])
def test_a_chain_that_lacks_a_part_is_not_drawn(ratio):
    assert of(WEIGHT, factor("Lost", ratio)) is None
    assert of(WEIGHT, product=factor("Lost", ratio)) is None
    assert of() is None


def test_a_treatment_that_the_trial_does_not_have_is_an_error():
    with pytest.raises(KeyError):
        of(WEIGHT, product=replace(WHOLE, treatment="N9"))


def test_an_interval_far_outside_ends_in_an_arrow():
    chart = of(factor("Vague", 1.1, -2.0, 60.0), WEIGHT)
    assert [row["row"] for row in records(chart, "beyond left")] == ["Vague"]
    assert [row["row"] for row in records(chart, "beyond right")] == ["Vague"]
    assert "arrow: goes on beyond the axis" in axis_titles(chart)


def test_an_endless_bound_has_no_whisker_on_its_side():
    row = records(of(factor("One side", 1.2, 1.1, inf)), "intervals")[0]
    assert [row["percent"], row["to"]] == pytest.approx([110, 120])


@pytest.mark.parametrize(("ratio", "text"), [(1.254, "1.25"), (0.0123, "0.0123"), (250.4, "250"), (12.3, "12.30")])
def test_ratios_are_printed_with_the_sign_of_multiplication(ratio, text):
    assert chain.times(ratio) == f"×\N{NO-BREAK SPACE}{text}"


def test_hostile_and_equal_names_keep_their_rows():
    rows = [factor(name, 1.1, 1.0, 1.2) for name in (*HOSTILE, "x.y", "\N{SEEDLING} grown")]
    chart = of(*rows, names=HOSTILE[:2])
    assert_readable(chart, [*HOSTILE, "? grown"])
    assert "<" not in theme.spec(chart)
    assert words(drawn(chart)).split("\n").count("x.y") == 2


@settings(max_examples=15, deadline=None)
@given(st.lists(st.tuples(st.floats(0.001, 1000), st.floats(0, 1), st.floats(1, 1e6)), min_size=1, max_size=6))
def test_every_ratio_has_its_row_within_the_axis(ratios):
    rows = [factor(f"F{n}", a, a * low, a * high) for n, (a, low, high) in enumerate(ratios)]
    chart = of(*rows)
    low, high = units(chart)[1]["encoding"]["x"]["scale"]["domain"]
    drawn_at = [row["percent"] for name in ("dots", "intervals") for row in records(chart, name)]
    assert 0 < low <= min(drawn_at) <= max(drawn_at) <= high
    assert f"F{len(rows) - 1}" in words(drawn(chart))
