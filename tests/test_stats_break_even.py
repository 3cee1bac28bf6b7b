"""Partial budget a tray, and the price of the crop at which it breaks even."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from reportgen.stats.break_even import (
    TrayMoney,
    added_independent,
    added_paired,
    break_even,
    partial_budget,
    payback,
)

# Invented: currency and kg a tray, four trays of a treatment and four of the reference, block by
# block
TREATED = TrayMoney(np.array([3.1, 3.4, 2.9, 3.3]), np.array([1.50, 1.62, 1.41, 1.66]))
REFERENCE = TrayMoney(np.array([2.2, 2.0, 2.5, 2.3]), np.array([1.10, 1.22, 1.05, 1.19]))
PAIRED = added_paired(TREATED, REFERENCE)
POOLED = added_independent(TREATED, REFERENCE, "pooled")
SEPARATE = added_independent(TREATED, REFERENCE, "separate")


def constant(cost, crop):
    return TrayMoney(np.full(len(crop), cost), np.array(crop))


def test_the_budget_counts_what_differs_alone():
    # CIMMYT (1988), From Agronomic Data to Farmer Recommendations, ch. 2: net benefit is gross
    # benefit less the costs that vary. Net benefits at 4 a kg: 4 x 1.5475 - 3.175 = 3.015 and 4 x
    # 1.14 - 2.25 = 2.31. Own numbers.
    budget = partial_budget(POOLED, 4.0, 0.95)
    assert (budget.added_cost, budget.added_crop) == pytest.approx((0.925, 0.4075))
    assert (budget.added_revenue, budget.margin) == pytest.approx((1.63, 3.015 - 2.31))


@pytest.mark.parametrize(
    ("added", "price", "low", "high", "pays"),
    [
        # R: t.test(P * y1 - c1, P * y0 - c0, var.equal = TRUE)$conf.int, without var.equal, and
        #   with paired = TRUE
        (POOLED, 1.5, -0.7045024590619881, 0.0770024590619879, "unclear"),
        (POOLED, 4.0, 0.0236987090839375, 1.3863012909160626, "pays"),
        (SEPARATE, 1.5, -0.788332127989089, 0.160832127989089, "unclear"),
        (SEPARATE, 4.0, -0.0343436142057665, 1.4443436142057664, "unclear"),
        (PAIRED, 1.5, -0.925125428301177, 0.297625428301177, "unclear"),
        (PAIRED, 4.0, 0.125494674385635, 1.284505325614365, "pays"),
    ],
)
def test_the_margin_has_the_interval_of_a_t_test_of_the_trays_net_benefits(
    added, price, low, high, pays
):
    budget = partial_budget(added, price, 0.95)
    assert (budget.low, budget.high) == pytest.approx((low, high), rel=1e-9)
    assert budget.pays == pays


def test_the_margin_has_the_p_value_and_the_degrees_of_freedom_of_the_t_test():
    # R: t.test(4 * y1 - c1, 4 * y0 - c0, var.equal = TRUE)$p.value; t.test(4 * y1 - c1, 4 * y0 -
    #   c0)$parameter
    assert partial_budget(POOLED, 4.0, 0.95).p_value == pytest.approx(0.0445576672078126, rel=1e-9)
    assert partial_budget(SEPARATE, 4.0, 0.95).degrees_of_freedom == pytest.approx(
        4.51763143894791, rel=1e-9
    )


@pytest.mark.parametrize(
    ("added", "low", "high"),
    [
        # R: the prices between which the interval of the t test above holds 0, by uniroot
        (POOLED, 1.33604107966048, 3.91016421444964),
        (PAIRED, 0.719472266627022, 3.694339697379144),
    ],
)
def test_the_break_even_price_has_the_prices_at_which_the_margin_may_be_nought(added, low, high):
    found = break_even(added, 0.95)
    assert found.price == pytest.approx(2.26993865030675, rel=1e-12)
    assert (found.kind, found.direction) == ("interval", "above")
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-9)


@pytest.mark.parametrize(
    ("variances", "low", "high"),
    [
        # R: 1 / t.test(y1, y0, var.equal = TRUE)$conf.int[2:1], and without var.equal
        ("pooled", 1.73268977327048, 4.20410702788622),
        ("separate", 1.71686474474518, 4.30028114779452),
    ],
)
def test_with_one_cost_figure_a_treatment_the_price_is_as_sure_as_the_crop(variances, low, high):
    added = added_independent(constant(3.2, TREATED.crop), constant(2.2, REFERENCE.crop), variances)
    found = break_even(added, 0.95)
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-9)


def of(cost, crop_treated, crop_reference):
    """Return what is added at a known cost."""
    return added_independent(constant(cost, crop_treated), constant(0.0, crop_reference), "pooled")


@pytest.mark.parametrize(
    ("added", "kind", "direction"),
    [
        (of(1.0, [1.5, 1.6, 1.7], [1.0, 1.1, 1.2]), "interval", "above"),
        (
            of(1.0, [1.3, 1.6, 1.9], [1.0, 1.3, 1.6]),
            "at_least",
            "above",
        ),  # the crop may well be the same
        (of(-1.0, [1.5, 1.6, 1.7], [1.0, 1.1, 1.2]), "empty", "always"),  # dearer at no price
        (of(1.0, [1.0, 1.1, 1.2], [1.5, 1.6, 1.7]), "empty", "never"),
        (
            of(-1.0, [1.0, 1.1, 1.2], [1.5, 1.6, 1.7]),
            "interval",
            "below",
        ),  # cheaper, and less of it
        (of(0.0, [1.3, 1.6, 1.9], [1.0, 1.3, 1.6]), "any", "always"),
    ],
)
def test_the_set_of_prices_is_named_by_its_shape(added, kind, direction):
    found = break_even(added, 0.95)
    assert (found.kind, found.direction) == (kind, direction)


def test_a_cost_and_a_crop_that_are_both_unsure_may_leave_two_parts():
    # Added cost and added crop go together tray by tray, so that one price alone is shut out.
    crop = np.array([0.5, -0.4, 0.3, -0.2])
    added = added_paired(
        TrayMoney(2 * crop + [0.30, 0.32, 0.28, 0.31], crop), TrayMoney(np.zeros(4), np.zeros(4))
    )
    found = break_even(added, 0.95)
    assert (found.kind, partial_budget(added, 2.0, 0.95).pays) == ("two_parts", "loses")
    assert found.low < 2.0 < found.high


def test_units_that_show_no_spread_or_stand_alone_test_nothing():
    alone = added_independent(constant(3.0, [1.5]), constant(2.0, [1.0]), "separate")
    assert (break_even(alone, 0.95).kind, break_even(alone, 0.95).price) == ("unknown", 2.0)
    assert partial_budget(alone, 4.0, 0.95).pays == "untestable"
    alike = added_independent(constant(3.0, [1.5, 1.5]), constant(2.0, [1.0, 1.0]), "pooled")
    assert (break_even(alike, 0.95).kind, partial_budget(alike, 4.0, 0.95).pays) == (
        "unknown",
        "untestable",
    )
    same = added_independent(constant(3.0, [1.5, 1.6]), constant(2.0, [1.5, 1.6]), "pooled")
    assert (break_even(same, 0.95).price, break_even(same, 0.95).direction) == (None, "never")


def test_payback_is_said_only_where_the_saving_is_sure():
    found = payback(600.0, 3.0, 2.0, 4.0)
    assert (found.low, found.times, found.high) == (150.0, 200.0, 300.0)
    assert payback(600.0, 3.0, -0.1, 6.1) is None


def holds(found, price):
    """Tell whether a price is in the confidence set of the break-even price."""
    low, high = found.low, found.high
    return {
        "interval": lambda: low <= price <= high,
        "at_least": lambda: price >= low,
        "at_most": lambda: price <= high,
        "two_parts": lambda: price <= low or price >= high,
        "any": lambda: True,
        "empty": lambda: False,
    }[found.kind]()


values = st.lists(st.floats(0.5, 9.5), min_size=3, max_size=3).map(np.array)
money = st.builds(TrayMoney, values, values)


@given(money, money, st.floats(0.0, 20.0), st.booleans())
def test_a_price_is_in_the_set_where_the_margin_there_cannot_be_told_from_nought(
    treated, reference, price, paired
):
    added = (
        added_paired(treated, reference)
        if paired
        else added_independent(treated, reference, "pooled")
    )
    found, budget = break_even(added, 0.95), partial_budget(added, price, 0.95)
    assume(found.kind != "unknown" and budget.pays != "untestable")
    assume(abs(budget.p_value - 0.05) > 1e-6)
    assert holds(found, price) == (budget.pays == "unclear")


@pytest.mark.slow
def test_the_set_of_the_break_even_price_covers_as_often_as_it_says():
    # Added cost 1 and added crop 0.4 a tray, so 2.5 is the price; deviations of cost and crop, half
    # correlated
    generator = np.random.default_rng(2)
    print("\ntrays  variances  cost, crop  set  margin")
    for trays, kind in (
        ((4, 4), "pooled"),
        ((4, 4), "separate"),
        ((3, 3), "pooled"),
        ((2, 4), "pooled"),
    ):
        for cost, crop in ((0.2, 0.1), (0.0, 0.1), (0.3, 0.4)):
            held = np.zeros((2000, 2))
            for trial in range(len(held)):
                shared = [generator.normal(size=number) for number in trays]
                own = [generator.normal(size=number) for number in trays]
                treated = TrayMoney(3 + cost * (own[0] + 0.5 * shared[0]), 1.5 + crop * shared[0])
                reference = TrayMoney(2 + cost * (own[1] + 0.5 * shared[1]), 1.1 + crop * shared[1])
                added = added_independent(treated, reference, kind)
                budget = partial_budget(added, 4.0, 0.95)
                held[trial] = (
                    holds(break_even(added, 0.95), 2.5),
                    budget.low <= 4 * 0.4 - 1 <= budget.high,
                )
            both = held.mean(axis=0)
            print(f"{trays}  {kind}  {cost}, {crop}  {both[0]:.3f}  {both[1]:.3f}")
            assert 0.935 <= both.min() <= both.max() <= 0.98
