"""Several trials of the same comparison: which belong together, and what they give pooled."""

from dataclasses import replace
from datetime import date
from math import exp, log

import pytest

from reportgen import metrics
from reportgen.metrics import pooled
from reportgen.metrics.pooled import pooled_comparisons
from reportgen.metrics.to_pool import NOT_ABOVE_ZERO, to_pool
from reportgen.model.trial import Tray, Treatment
from reportgen.stats.additive import NO_RESIDUAL_SPREAD
from reportgen.stats.comparisons import NO_FIGURE, ONE_UNIT_EACH
from reportgen.stats.fieller import UNBOUNDED
from reportgen.stats.log_scale import NOT_ALL_POSITIVE
from reportgen.stats.pooling import FURTHER_BEYOND, TWO_TRIALS
from tests.trials import plants, trial

# Mean, standard deviation and number at elevated, and at ambient carbon dioxide: rows 31 to 34 of
# the data of Curtis & Wang (1998), Oecologia 113:299-313; the data set dat.curtis1998 of the R
# package metadat.
CARBON_DIOXIDE = [
    (21.33, 3.06, 4, 18.6, 2.34, 4),
    (14.68, 2.82, 4, 12.18, 2.46, 4),
    (8.36, 3.915, 10, 5.3, 6.625, 10),
    (7.91, 1.809, 10, 3.6, 3.026, 10),
]
STRENGTH = replace(trial().about, comparison="strength")
HALF, FULL, DOUBLE = (
    Treatment(name, f"{name.title()} strength") for name in ("half", "full", "double")
)


def scores(mean: float, deviation: float, number: int) -> list[float]:
    """Return scores above 0 with exactly this mean and standard deviation: all alike but one."""
    step = deviation / number**0.5
    return [mean - step] * (number - 1) + [mean + (number - 1) * step] if number > 1 else [mean]


def of_scores(place: int, weights: dict[str, list[float]], **changes: object):
    """Return a trial with one plant a tray, its treatments' codes as the keys of `weights`, the
    first the reference.
    """
    trays = {
        f"{code}{n}": (code, weight)
        for code, found in weights.items()
        for n, weight in enumerate(found, 1)
    }
    of = trial(
        slug=f"round-{place}",
        source_sha256=f"{place:064d}",
        harvested_on=date(2026, 5, place),
        reference=next(iter(weights)),
        treatments=tuple(one for one in (HALF, FULL, DOUBLE) if one.code in weights),
        trays=tuple(Tray(name, code, 1) for name, (code, _) in trays.items()),
        plants=plants({name: (weight,) for name, (_, weight) in trays.items()}),
        solution=(),
        meter=(),
        about=STRENGTH,
    )
    return replace(of, **changes)


def of_row(place: int, swapped: bool = False, **changes: object):
    """Return the trial of a row of CARBON_DIOXIDE, counted from 1."""
    m1, s1, n1, m0, s0, n0 = CARBON_DIOXIDE[place - 1]
    weights = {"half": scores(m0, s0, n0), "full": scores(m1, s1, n1)}
    return of_scores(place, dict(reversed(weights.items())) if swapped else weights, **changes)


def named(of, comparison: str, *names: str):
    """Return a trial that names its comparison, its treatments called by other codes and names."""
    codes = [one.code for one in of.treatments]
    calls = dict(zip(codes, names or codes, strict=True))
    return replace(
        of,
        about=replace(of.about, comparison=comparison),
        reference=calls[of.reference],
        treatments=tuple(
            replace(one, code=calls[one.code], name=calls[one.code] if names else one.name)
            for one in of.treatments
        ),
        trays=tuple(replace(tray, treatment=calls[tray.treatment]) for tray in of.trays),
    )


def found(*trials):
    return pooled_comparisons(to_pool(one, metrics.compute(one)) for one in trials)


def only(*trials):
    (comparison,) = found(*trials)
    return comparison


def slugs(comparison) -> list[str]:
    return [one.slug for one in comparison.trials]


def logs(one) -> list[float]:
    return [
        one.log_ratio,
        one.standard_error,
        log(one.low),
        log(one.high),
        one.tau_squared,
        one.i_squared,
    ]


def test_trials_pool_as_metafor_pools_them():
    # R 4.2.2, metafor 3.8.1; q is below 1 here, so that test = "knha" would give a standard error
    # of 0.1511: yi is the logarithm of the quotient of the means, vi = var(log(a)) / n1 +
    # var(log(b)) / n2 of the trays' weights a and b, which `scores` makes of each row's means and
    # deviations
    # r <- rma(yi, vi, method = "REML", test = "adhoc", control = list(threshold = 1e-14, maxiter =
    #   1000))
    # yi; vi; r; weights(r) / 100; predict(r)
    (measure,) = only(*map(of_row, (1, 2, 3, 4))).measures
    ratios = [0.136952951764103, 0.186690760904619, 0.455751606538534, 0.787193936317498]
    variances = [
        0.008069170760374103,
        0.016447226682286792,
        0.050942822327730439,
        0.026745858520391151,
    ]
    weights = [0.2973017998379501, 0.2689309132526455, 0.1930709414295448, 0.2406963454798597]
    assert [one.log_ratio for one in measure.trials] == pytest.approx(ratios, rel=1e-9)
    assert [one.variance for one in measure.trials] == pytest.approx(variances, rel=1e-9)
    assert [one.weight for one in measure.trials] == pytest.approx(weights, rel=1e-8)
    expected = [0.36839037126644758, 0.15365769218468872, -0.12061698350513650]
    expected += [0.85739772603803166, 0.07134738971922611, 0.78720470508537432]
    assert logs(measure.pooled) == pytest.approx(expected, rel=1e-8)
    prediction = [exp(-0.6122889964510645), exp(1.3490697389839597)]
    assert [measure.pooled.prediction_low, measure.pooled.prediction_high] == pytest.approx(
        prediction, rel=1e-8
    )


def test_each_trial_keeps_the_interval_of_its_own_report():
    one = of_row(1)
    compared = dict(metrics.compute(one).measures[0].comparisons)["full"]
    ratio = only(one, of_row(2)).measures[0].trials[0]
    assert (ratio.ratio, ratio.low, ratio.high) == (
        compared.ratio,
        compared.ratio_low,
        compared.ratio_high,
    )


def test_a_trial_with_the_other_treatment_as_reference_is_turned_round():
    straight = only(*map(of_row, (1, 2, 3))).measures[0]
    mixed = only(of_row(1), of_row(2, swapped=True), of_row(3))
    assert [one.inverted for one in mixed.trials] == [False, True, False]
    (measure,) = mixed.measures
    assert logs(measure.pooled) == pytest.approx(logs(straight.pooled))
    for turned, own in zip(measure.trials, straight.trials, strict=True):
        # The interval of a ratio turned round holds the ratios of the interval turned round.
        assert (turned.low, turned.ratio, turned.high) == pytest.approx(
            (own.low, own.ratio, own.high)
        )


def test_an_interval_that_is_turned_round_at_zero_has_no_upper_end():
    weights = {"full": [10.0, 14.0, 12.0], "half": [0.0, 12.0, 1.0]}
    own = dict(metrics.compute(of_scores(2, weights)).measures[0].comparisons)["half"]
    turned = only(of_row(1), of_scores(2, weights)).measures[0].trials[1]
    assert own.ratio_low == 0.0
    assert (turned.low, turned.high) == (pytest.approx(1 / own.ratio_high), None)


def test_two_trials_pool_with_a_caution():
    # R: the call of rma above with yi[1:2], vi[1:2]
    pooled_ratio = only(of_row(1), of_row(2)).measures[0].pooled
    expected = [
        0.15332333718228636,
        0.07357537181614184,
        -0.78154040065379005,
        1.08818707501836287,
        0.0,
        0.0,
    ]
    assert logs(pooled_ratio) == pytest.approx(expected, rel=1e-8, abs=1e-12)
    assert TWO_TRIALS in pooled_ratio.notes


def test_one_trial_is_no_comparison():
    assert found(of_row(1)) == ()
    assert found() == ()


def test_crop_comparison_and_names_match_whatever_their_case_spaces_accents_and_signs():
    shouted = (Treatment("1", "half-STRENGTH"), Treatment("2", "Full  strength "))
    other = named(of_row(2), " STRÉNGTH ", "1", "2")
    other = replace(other, treatments=shouted, about=replace(other.about, crop="Coriander"))
    assert slugs(only(of_row(1), other)) == ["round-1", "round-2"]


def test_trials_that_name_no_comparison_do_not_pool_though_their_treatments_are_alike():
    assert found(named(of_row(1), ""), named(of_row(2), "")) == ()
    assert found(of_row(1), named(of_row(2), "")) == ()


def test_trials_of_unlike_comparisons_do_not_pool_though_their_treatments_are_alike():
    assert found(named(of_row(1), "indoors"), named(of_row(2), "outdoors")) == ()


def test_nine_crops_under_two_lamps_are_nine_comparisons():
    crops = [replace(of_row(1 + place % 4), slug=str(place)) for place in range(9)]
    crops = [
        replace(one, about=replace(STRENGTH, crop=f"crop {place}"))
        for place, one in enumerate(crops)
    ]
    assert found(*crops) == ()


def left_out(comparison):
    return [(one.slug, one.reason) for one in comparison.left_out]


def test_a_trial_of_the_same_comparison_that_does_not_match_is_named_with_the_reason():
    basil = replace(of_row(3), about=replace(STRENGTH, crop="basil"))
    weak = of_scores(4, {"half": [10.0, 12.0, 11.0], "double": [9.0, 8.0, 9.5]})
    comparison = only(of_row(1), of_row(2), basil, weak)
    assert slugs(comparison) == ["round-1", "round-2"]
    assert left_out(comparison) == [
        ("round-3", pooled.OTHER_CROP),
        ("round-4", pooled.OTHER_TREATMENTS),
    ]


def test_treatments_of_one_name_cannot_be_matched():
    twice = replace(of_row(3), treatments=(HALF, replace(FULL, name="HALF strength")))
    comparison = only(of_row(1), of_row(2), twice)
    assert left_out(comparison) == [("round-3", pooled.SAME_NAMES)]


def three(place: int, **changes: object):
    return of_scores(
        place,
        {"half": [10.0, 12.0, 11.0], "full": [13.0, 15.0, 14.5], "double": [9.0, 8.0, 9.5]},
        **changes,
    )


def test_three_treatments_give_a_comparison_for_each_that_trials_share():
    both = found(three(1), three(2))
    assert [(one.treated, one.shares_name) for one in both] == [
        ("Full strength", True),
        ("Double strength", True),
    ]
    assert [one.key for one in both] == ["comparison-1", "comparison-2"]
    assert slugs(only(three(1), of_row(2))) == ["round-1", "round-2"]
    alone = only(of_row(1), of_row(2))
    assert (alone.name, alone.crop, alone.shares_name) == ("strength", "coriander", False)


def test_a_trial_with_one_tray_a_treatment_has_its_ratio_and_no_weight():
    single = of_scores(5, {"half": [20.0], "full": [25.0]})
    (measure,) = only(of_row(1), of_row(2), single).measures
    last = measure.trials[2]
    assert (last.ratio, last.low, last.variance, last.weight) == (1.25, None, None, None)
    assert last.reasons == ONE_UNIT_EACH
    assert measure.pooled == only(of_row(1), of_row(2)).measures[0].pooled


def test_one_weighable_trial_and_another_do_not_pool():
    (measure,) = only(of_row(1), of_scores(5, {"half": [20.0], "full": [25.0]})).measures
    assert (measure.pooled.trials, measure.pooled.ratio) == (1, None)
    assert [one.weight for one in measure.trials] == [None, None]


@pytest.mark.parametrize(
    ("weights", "reason"),
    [
        ({"half": [20.0, 20.0], "full": [25.0, 25.0]}, NO_RESIDUAL_SPREAD),
        ({"half": [20.0, 21.0], "full": [0.0, 22.0]}, UNBOUNDED + NOT_ALL_POSITIVE),
        ({"half": [20.0, 21.0], "full": [0.0, 0.0]}, (NOT_ABOVE_ZERO,)),
    ],
)
def test_a_trial_that_cannot_be_weighed_says_why(weights, reason):
    (measure,) = only(of_row(1), of_row(2), of_scores(5, weights)).measures
    assert (measure.trials[2].reasons, measure.trials[2].weight) == (reason, None)
    assert measure.pooled.trials == 2


def test_a_trial_without_a_figure_of_one_treatment_is_named_with_the_reason():
    dead = of_row(3)
    lost = tuple(
        replace(one, status="dead", fresh_weight=None)
        for one in dead.plants
        if one.tray.startswith("full")
    )
    dead = replace(
        dead, plants=lost + tuple(one for one in dead.plants if one.tray.startswith("half"))
    )
    comparison = only(of_row(1), of_row(2), dead)
    assert comparison.measures[0].trials[2].ratio is None
    assert NO_FIGURE[0] in comparison.measures[0].trials[2].reasons


def test_yield_per_plant_started_is_pooled_only_where_plants_were_lost():
    first = trial(about=STRENGTH)
    lost = trial(slug="lost", source_sha256="f" * 64, about=STRENGTH)
    lost = replace(
        lost, plants=(replace(lost.plants[0], status="dead", fresh_weight=None), *lost.plants[1:])
    )
    keys = [
        [one.measure.key for one in only(first, other).measures]
        for other in (lost, replace(lost, plants=trial().plants))
    ]
    assert keys == [
        ["fresh_weight", "yield_per_plant_started", "water_per_gram"],
        ["fresh_weight", "water_per_gram"],
    ]


def test_a_measure_that_only_one_trial_has_is_not_there():
    assert [one.measure.key for one in only(trial(about=STRENGTH), of_row(1)).measures] == [
        "fresh_weight"
    ]


def test_trials_of_unlike_levels_are_all_shown_at_95_percent():
    mixed = only(of_row(1, confidence_level=0.8), of_row(2, confidence_level=0.9))
    assert mixed.level == 0.95
    assert mixed.measures == only(of_row(1), of_row(2)).measures


def test_trials_of_one_level_keep_it():
    shared = only(of_row(1, confidence_level=0.8), of_row(2, confidence_level=0.8))
    usual = only(of_row(1), of_row(2))
    assert shared.level == 0.8
    assert shared.measures[0].pooled.low > usual.measures[0].pooled.low
    assert shared.measures[0].trials[0].low > usual.measures[0].trials[0].low


def test_a_range_wider_than_a_number_can_say_is_none_and_the_rest_is_kept():
    far = [
        of_scores(place, {"half": [10.0, 10.1], "full": full}, confidence_level=0.999)
        for place, full in ((1, [10.0, 10.2]), (2, [60.0, 61.0]))
    ]
    pooled_ratio = only(*far).measures[0].pooled
    assert (pooled_ratio.prediction_low, pooled_ratio.prediction_high) == (None, None)
    assert 0 < pooled_ratio.low < pooled_ratio.ratio < pooled_ratio.high
    # The middle of log(10.1 / 10.05) and log(60.5 / 10.05): both trials weigh alike, the trials
    # differ so much.
    assert pooled_ratio.ratio == pytest.approx((10.1 * 60.5) ** 0.5 / 10.05, rel=1e-3)
    assert pooled_ratio.notes == (TWO_TRIALS, FURTHER_BEYOND)
