"""Three treatments and more, instruments, and chains, through the whole calculation of a trial."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.metrics import compute
from reportgen.metrics.verdicts import only_treatments
from reportgen.model.trial import Instrument, LightReading, Plant, TariffPeriod, Tray, Treatment
from tests.trials import codes, readings, trial

# Dunnett (1955), J. Am. Stat. Assoc. 50:1096-1121, blood counts; as in the documentation of
# scipy.stats.dunnett.
BLOOD = {
    "control": [7.40, 8.50, 7.20, 8.24, 9.84, 8.32],
    "A": [9.76, 8.80, 7.68, 9.36],
    "B": [12.80, 9.68, 12.16, 9.20, 10.55],
}


def of_weights(groups, **changes):
    """Return a trial with a tray of one plant for each weight."""
    trays = [
        Tray(f"{name}{n}", name, 1) for name, weights in groups.items() for n in range(len(weights))
    ]
    weights = [weight for found in groups.values() for weight in found]
    found = tuple(
        Plant(tray.code, "1", "harvested", weight)
        for tray, weight in zip(trays, weights, strict=True)
    )
    treatments = tuple(Treatment(name, name) for name in groups)
    first = next(iter(groups))
    plain = trial(
        trays=tuple(trays),
        plants=found,
        treatments=treatments,
        reference=first,
        solution=(),
        meter=(),
    )
    return replace(plain, **changes)


def measure(made, key):
    return next(result for result in compute(made).measures if result.measure.key == key)


def test_adjusted_p_values_are_those_of_dunnett():
    # R 4.2.2, multcomp: a <- aov(log(y) ~ g); k <- glht(a, mcp(g = "Dunnett")); se <-
    #   summary(k)$test$sigma
    # r <- means[-1] / means[1]; 1 - mvtnorm::pmvt(-z, z, df = 12, corr = cov2cor(vcov(k))) with z =
    #   |log(r)| / se:
    # the quotient of the means is tested, by the standard error of the logarithms. Their own p
    # values, by
    # summary(k)$test$pvalues, are 0.53891 and 0.005466.
    comparisons = dict(measure(of_weights(BLOOD, variances="pooled"), "fresh_weight").comparisons)
    assert comparisons["A"].p_adjusted == pytest.approx(0.54869345975115, abs=1e-9)
    assert comparisons["B"].p_adjusted == pytest.approx(0.00509033905856, abs=1e-9)


def test_intervals_shown_are_those_of_dunnett():
    # R as above: exp(log(r) + c(-1, 1) * q * se) with q = 2.5134829036, at which the two hold with
    #   95 %; multcomp's
    # attr(confint(k)$confint, "calpha") is 2.5136, by simulation.
    comparisons = dict(measure(of_weights(BLOOD, variances="pooled"), "fresh_weight").comparisons)
    shown = [(one.ratio, one.ratio_low, one.ratio_high) for one in comparisons.values()]
    assert shown[0] == pytest.approx((1.07878787879, 0.88622786888, 1.31318741859), rel=1e-8)
    assert shown[1] == pytest.approx((1.31854545455, 1.09645691551, 1.58561826836), rel=1e-8)


def test_intervals_that_hold_together_are_wider_than_single_ones():
    for variances in ("pooled", "separate"):
        result = measure(of_weights(BLOOD, variances=variances), "fresh_weight")
        for _, one in result.comparisons:
            assert one.ratio_low < one.single_low < one.ratio < one.single_high < one.ratio_high
            assert one.p_adjusted > one.p_value


def test_limits_of_differences_hold_together_as_those_of_ratios_do():
    # Ten plants a tray, of which as many die in each tray of a treatment, so that trays show no
    # spread of their own.
    died = {"control": 2, "A": 3, "B": 6}
    trays = tuple(Tray(f"{code}{n}", code, 10) for code in died for n in range(4))
    found = tuple(
        Plant(
            tray.code,
            str(n),
            *(("dead", None) if n < died[tray.treatment] else ("harvested", 20.0 + n + len(trays))),
        )
        for tray in trays
        for n in range(10)
    )
    weighed = of_weights(BLOOD, variances="separate")
    lossy = replace(of_weights(BLOOD), trays=trays, plants=found)
    for made, key in ((weighed, "fresh_weight"), (lossy, "survival")):
        together = dict(measure(made, key).comparisons)["B"]
        alone = dict(measure(only_treatments(made, ("control", "B")), key).comparisons)["B"]
        assert together.difference == pytest.approx(alone.difference, rel=1e-12)
        assert (
            together.difference_low
            < alone.difference_low
            < alone.difference_high
            < together.difference_high
        )
        assert (together.difference_low > 0, together.difference_high < 0) == (
            together.ratio_low > 1,
            together.ratio_high < 1,
        )


def test_two_treatments_have_no_family_and_no_letters():
    result = measure(trial(), "fresh_weight")
    assert result.letters is None
    assert result.comparisons[0][1].p_adjusted is None


def test_letters_agree_with_tukey():
    # R: TukeyHSD(aov(log(y) ~ g)) on these data: B - control p = 0.0075, A - control p = 0.600, B -
    #   A p = 0.0772.
    letters = measure(of_weights(BLOOD, variances="pooled"), "fresh_weight").letters
    assert dict(letters.groups) == {"control": "b", "A": "ab", "B": "a"}
    assert codes(letters.methods) == ["tukey_kramer", "pooled_variance"]
    separate = measure(of_weights(BLOOD, variances="separate"), "fresh_weight").letters
    assert codes(separate.methods) == ["games_howell"]


def test_a_reciprocal_turns_intervals_that_hold_together_round():
    made = of_weights(
        BLOOD, meter=readings("control", 6.0) + readings("A", 4.0) + readings("B", 5.0)
    )
    own = dict(measure(made, "energy_per_kg").comparisons)["B"]
    partner = dict(measure(made, "yield_per_kwh").comparisons)["B"]
    assert own.ratio_low == pytest.approx(1 / partner.ratio_high, rel=1e-12)
    assert own.ratio_high == pytest.approx(1 / partner.ratio_low, rel=1e-12)
    assert own.p_adjusted == pytest.approx(partner.p_adjusted, rel=1e-9)


def interval(result):
    one = result.comparisons[0][1]
    return one.ratio_low, one.ratio_high


def test_a_shared_scale_widens_figures_and_leaves_ratios_as_they_are():
    # JCGM 100:2008: a gain that both sides share cancels in a ratio.
    plain = measure(trial(), "fresh_weight")
    weighed = measure(
        trial(instruments=(Instrument("scale", "weight", accuracy=20.0),)), "fresh_weight"
    )
    assert interval(weighed) == interval(plain)
    before, after = plain.estimates[0][1], weighed.estimates[0][1]
    assert after.high - after.low > before.high - before.low
    assert after.standard_error == pytest.approx(
        np.hypot(before.standard_error, before.value * 0.2 / np.sqrt(3)), rel=1e-12
    )


def test_a_scale_for_each_treatment_widens_the_ratio():
    scales = (Instrument("scales", "weight", accuracy=5.0, per_treatment=True),)
    low, high = interval(measure(trial(instruments=scales), "fresh_weight"))
    plain_low, plain_high = interval(measure(trial(), "fresh_weight"))
    assert low < plain_low
    assert high > plain_high


def test_meters_alone_give_energy_an_interval_that_is_marked_as_theirs():
    meters = (Instrument("meters", "energy", accuracy=1.0, per_treatment=True),)
    result = measure(trial(instruments=meters), "energy_use")
    for _, estimate in result.estimates:
        assert codes(estimate.methods) == ["instruments_alone"]
        assert estimate.low < estimate.value < estimate.high
    comparison = result.comparisons[0][1]
    assert comparison.p_value is None
    assert comparison.ratio_low < comparison.ratio < comparison.ratio_high
    assert measure(trial(), "energy_use").estimates[0][1].low is None


def test_meters_give_energy_its_interval_in_blocks_too():
    meters = (Instrument("meters", "energy", accuracy=1.0, per_treatment=True),)
    blocked = tuple(replace(tray, block=tray.code[1]) for tray in trial().trays)
    comparison = measure(trial(trays=blocked, instruments=meters), "energy_use").comparisons[0][1]
    assert comparison.ratio_low < comparison.ratio < comparison.ratio_high
    assert "energy_use_is_one_figure_by_meter" in codes(comparison.notes)


def test_a_light_sensor_gives_light_the_interval_of_its_accuracy():
    # JCGM 100:2008, 4.3.7: limits of +-5 % are a standard uncertainty of 5 % / sqrt 3; shared, it
    # cancels in the ratio.
    sensor = (Instrument("sensor", "light", accuracy=5.0),)
    result = measure(trial(light=LIGHT, treatments=LIT, instruments=sensor), "ppfd")
    half = dict(result.estimates)["half"]
    assert half.high - half.value == pytest.approx(
        200 * 0.05 / np.sqrt(3) * 1.959963984540054, rel=1e-9
    )
    assert result.comparisons[0][1].ratio_low is None


def test_one_tray_gets_no_interval_from_its_scale():
    one = of_weights(
        {"x": [20.0], "y": [24.0]}, instruments=(Instrument("scale", "weight", accuracy=1.0),)
    )
    for _, estimate in measure(one, "fresh_weight").estimates:
        assert (estimate.low, estimate.high) == (None, None)


def test_intervals_for_all_together_hold_what_instruments_leave_uncertain():
    scales = (Instrument("scales", "weight", accuracy=3.0, per_treatment=True),)
    plain = measure(of_weights(BLOOD), "fresh_weight").comparisons
    weighed = measure(of_weights(BLOOD, instruments=scales), "fresh_weight").comparisons
    for (_, without), (_, held) in zip(plain, weighed, strict=True):
        assert held.ratio == pytest.approx(without.ratio, rel=1e-12)
        assert held.ratio_low < without.ratio_low < without.ratio_high < held.ratio_high
        assert held.single_low < without.single_low < without.single_high < held.single_high
        assert held.p_value >= without.p_value
        assert held.p_adjusted > without.p_adjusted


LIGHT = (LightReading("half", 200.0), LightReading("full", 230.0))
LIT = tuple(
    Treatment(code, name, photoperiod=hours, canopy_area=0.2)
    for code, name, hours in (("half", "Half strength", 16.0), ("full", "Full strength", 14.0))
)


@given(
    st.lists(st.floats(5.0, 80.0), min_size=6, max_size=6),
    st.floats(2.0, 40.0),
    st.floats(0.05, 0.9),
    st.sampled_from(("separate", "pooled")),
)
def test_the_factors_of_a_chain_multiply_to_the_ratio(weights, energy, price, variances):
    found = tuple(
        Plant(f"{'AB'[n // 3]}{n % 3 + 1}", str(k), "harvested", weight + k)
        for n, weight in enumerate(weights)
        for k in range(3)
    )
    made = trial(
        plants=found,
        light=LIGHT,
        treatments=LIT,
        variances=variances,
        electricity_price=price,
        meter=readings("half", 12.0) + readings("full", energy),
    )
    results = compute(made)
    for of in ("yield_per_kwh", "yield_per_currency"):
        whole = next(result for result in results.measures if result.measure.key == of).comparisons[
            0
        ][1]
        factors = [one.ratio for one in results.factors if one.of == of]
        assert np.prod(factors) == pytest.approx(whole.ratio, rel=1e-12)


def test_what_made_the_difference_names_light_and_electricity_apart():
    results = compute(trial(light=LIGHT, treatments=LIT))
    by_name = {one.factor: one for one in results.factors}
    assert list(by_name) == [
        "light_better_used",
        "more_light_from_electricity",
        "more_grown",
        "less_electricity",
    ]  # both paid one price, which is no factor
    # By definition of DLI: photons go with PPFD x hours; the meters counted 14 and 12 kWh.
    assert by_name["more_light_from_electricity"].ratio == pytest.approx(
        (230 * 14 / 14) / (200 * 16 / 12), rel=1e-12
    )
    assert by_name["less_electricity"].ratio == pytest.approx(12 / 14, rel=1e-12)
    assert (
        by_name["light_better_used"].low
        < by_name["light_better_used"].ratio
        < by_name["light_better_used"].high
    )


def test_a_tariff_makes_cheaper_electricity_a_factor_of_its_own():
    night = (TariffPeriod(6.0, 22.0, 0.40), TariffPeriod(22.0, 6.0, 0.10))
    lamps = tuple(
        replace(one, lights_on_at=start) for one, start in zip(LIT, (6.0, 22.0), strict=True)
    )
    results = compute(trial(treatments=lamps, tariff=night, electricity_price=None))
    price = next(one for one in results.factors if one.factor == "cheaper_electricity")
    # Half: 16 h at 0.40; full: 14 h from 22:00, 8 h at 0.10 and 6 h at 0.40.
    assert price.ratio == pytest.approx(0.40 / ((8 * 0.10 + 6 * 0.40) / 14), rel=1e-12)
    cost = dict(
        measure(
            replace(trial(), treatments=lamps, tariff=night), "electricity_cost_per_gram"
        ).estimates
    )
    grams = 3 * np.mean([20 + 22 + 24, 19 + 23 + 25, 18 + 20 + 25]) / 3
    assert cost["half"].value == pytest.approx(12.0 * 0.40 / 3 / grams, rel=1e-12)


def test_a_shared_meter_has_no_chain():
    assert compute(trial(meter=readings(None, 20.0), light=LIGHT, treatments=LIT)).factors == ()


def test_fresh_weight_is_computed_again_without_plants_that_stand_out():
    assert compute(trial()).without_outliers is None
    found = tuple(
        replace(one, fresh_weight=300.0) if (one.tray, one.code) == ("A1", "1") else one
        for one in trial().plants
    )
    results = compute(trial(plants=found))
    again = results.without_outliers.comparisons[0][1]
    kept = next(
        result for result in results.measures if result.measure.key == "fresh_weight"
    ).comparisons[0][1]
    assert again.ratio > 1 > kept.ratio
