from math import isclose, prod

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from reportgen.model.results import Comparison
from reportgen.stats.analysis import Design, analyse
from reportgen.stats.chain import (
    NO_FACTORS,
    NOT_POSITIVE,
    NOT_THE_WHOLE,
    Chain,
    Factor,
    chain,
    factor,
)
from reportgen.stats.comparisons import NO_FIGURE, compare_points, reciprocal

DESIGN = Design(np.array([0, 0, 0, 0, 1, 1, 1, 1]), None, 0, 2)
# Invented totals of eight units, four of the reference first
YIELD = np.array([410.0, 395.0, 402.0, 420.0, 515.0, 498.0, 530.0, 507.0])
LIGHT = np.array([52.0, 51.0, 50.0, 53.0, 60.0, 61.0, 59.0, 62.0])
ENERGY = np.array([11.0, 11.0, 11.0, 11.0, 10.0, 10.0, 10.0, 10.0])
ONE = np.ones(8)


def compared(numerator, denominator, design=DESIGN, variances="separate"):
    return analyse(numerator, denominator, design, 0.95, variances).comparisons[1]


def test_yield_per_energy_is_yield_per_light_times_light_per_energy():
    whole = factor("yield per energy", compared(YIELD, ENERGY))
    factors = [factor("light better used", compared(YIELD, LIGHT)), factor("more light", compared(LIGHT, ENERGY))]
    found = chain(whole, factors)
    # by hand, from the totals 2050, 242 and 40 against 1627, 206 and 44
    by_hand = [2050 / 242 / (1627 / 206), 242 / 40 / (206 / 44)]
    assert [one.ratio for one in found.factors] == pytest.approx(by_hand, rel=1e-14)
    assert found.whole.ratio == pytest.approx(2050 / 40 / (1627 / 44), rel=1e-14)
    assert found.note == ""
    for one, measured in zip(found.factors, [(YIELD, LIGHT), (LIGHT, ENERGY)], strict=True):
        own = compared(*measured)
        assert (one.low, one.high) == (own.ratio_low, own.ratio_high)
        assert one.low < one.ratio < one.high


def test_yield_per_money_is_yield_times_turned_energy_times_turned_price():
    # the treated side pays 0.20 and the reference 0.25 for a unit of energy
    cost = ENERGY * np.array([0.25] * 4 + [0.20] * 4)
    factors = [
        factor("yield", compared(YIELD, ONE)),
        factor("energy", reciprocal(compared(ENERGY, ONE), compared(ENERGY, ONE))),
        factor("price", compare_points(1 / 0.20, 1 / 0.25)),
    ]
    found = chain(factor("yield per money", compared(YIELD, cost)), factors)
    assert [one.ratio for one in found.factors] == pytest.approx([2050 / 1627, 1.1, 1.25])
    assert prod(one.ratio for one in found.factors) == pytest.approx(found.whole.ratio, rel=1e-12)
    assert [(one.low, one.high) for one in found.factors[1:]] == [(None, None)] * 2


totals = st.lists(st.tuples(*[st.integers(1, 10_000)] * 4), min_size=4, max_size=9)


@given(totals, st.integers(2, 7))
def test_ratios_of_totals_of_the_same_units_multiply_to_the_whole(rows, references):
    assume(references < len(rows) - 1)
    treatment = (np.arange(len(rows)) >= references).astype(int)
    design = Design(treatment, None, 0, 2)
    columns = np.array(rows, float).T
    links = [
        factor(str(place), compared(columns[place], columns[place + 1], design)) for place in range(len(columns) - 1)
    ]
    found = chain(factor("whole", compared(columns[0], columns[-1], design)), links)
    assert found.factors == tuple(links)
    assert isclose(prod(one.ratio for one in found.factors), found.whole.ratio, rel_tol=1e-12)


PAIRS = {"whole": (YIELD, ENERGY), "used": (YIELD, LIGHT), "more": (LIGHT, ENERGY)}


def test_complete_blocks_keep_the_chain():
    design = Design(DESIGN.treatment, np.array([0, 1, 2, 3] * 2), 0, 2)
    links = [factor(name, compared(*pair, design, "pooled")) for name, pair in PAIRS.items()]
    assert len(chain(links[0], links[1:]).factors) == 2


def test_a_unit_that_lacks_one_quantity_breaks_the_chain_and_says_so():
    light = LIGHT.copy()
    light[2] = np.nan
    links = [factor("used", compared(YIELD, light)), factor("more", compared(light, ENERGY))]
    whole = factor("whole", compared(YIELD, ENERGY))
    assert chain(whole, links) == Chain(whole, note=NOT_THE_WHOLE)


def test_incomplete_blocks_break_the_chain_where_they_move_the_means():
    design = Design(DESIGN.treatment[:7], np.array([0, 1, 2, 3, 0, 1, 2]), 0, 2)
    links = [factor(name, compared(*(each[:7] for each in pair), design, "pooled")) for name, pair in PAIRS.items()]
    assert chain(links[0], links[1:]).note == NOT_THE_WHOLE


@pytest.mark.parametrize(
    ("factors", "note"),
    [
        ([], NO_FACTORS),
        ([Factor("a", 2.0), Factor("b", None, note="no data")], NO_FIGURE),
        ([Factor("a", -2.0), Factor("b", -1.0)], NOT_POSITIVE),
        ([Factor("a", 0.0), Factor("b", 2.0)], NOT_POSITIVE),
        ([Factor("a", 2.0), Factor("b", 1.00001)], NOT_THE_WHOLE),
    ],
)
def test_where_there_is_no_chain_the_note_says_why(factors, note):
    whole = Factor("whole", 2.0, 1.5, 2.5)
    assert chain(whole, factors) == Chain(whole, note=note)


def test_a_whole_without_a_figure_has_no_chain():
    assert chain(Factor("whole", None), [Factor("a", 2.0)]).note == NO_FIGURE


def test_a_factor_without_an_interval_says_why():
    assert factor("a", Comparison(note="one unit only")).note == "one unit only"
    assert factor("a", Comparison()).note == NO_FIGURE
