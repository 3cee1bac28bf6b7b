"""Metrics out of a trial: tray totals, ratios, energy, and what cannot be known."""

from dataclasses import replace
from datetime import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen import metrics
from reportgen.model.message import Count, Share, message
from reportgen.model.trial import MeterReading, SolutionEvent, Trait, Tray
from tests import workbooks
from tests.trials import WEIGHTS, codes, plants, readings, trial


def result(of, key):
    return next(each for each in metrics.compute(of).measures if each.measure.key == key)


def estimate(of, key, treatment="half"):
    return dict(result(of, key).estimates)[treatment]


def comparison(of, key, treatment="full"):
    return dict(result(of, key).comparisons)[treatment]


def test_fresh_weight_is_the_mean_of_harvested_plants():
    assert estimate(trial(), "fresh_weight").value == pytest.approx(sum((66, 67, 63)) / 9)


def test_weights_have_the_intervals_of_a_linear_model_of_logarithms():
    # R 4.2.2: half <- c(66, 67, 63) / 3; full <- c(85, 80, 89) / 3; g <- rep(0:1, each = 3)
    # m <- lm(log(c(half, full)) ~ g); ratio <- mean(full) / mean(half); se <- summary(m)$coef[2, 2]
    # exp(log(ratio) + c(-1, 1) * qt(.975, 4) * se); 2 * pt(-log(ratio) / se, 4)
    # mean(half) * exp(c(-1, 1) * qt(.975, 4) * summary(m)$sigma / sqrt(3))
    compared = comparison(trial(), "fresh_weight")
    limits = (compared.ratio, compared.ratio_low, compared.ratio_high, compared.p_value)
    assert limits == pytest.approx(
        (1.2959183673469, 1.1726335138129, 1.4321647770124, 0.0019727255076), rel=1e-9
    )
    own = estimate(trial(), "fresh_weight")
    assert (own.low, own.high) == pytest.approx((20.2915058871, 23.3729131577), rel=1e-10)
    assert codes(own.methods) == ["pooled_spread"]
    assert codes(compared.methods) == ["log_ratio", "pooled_variance"]


def test_lost_plants_lower_the_yield_per_plant_started_and_not_the_fresh_weight():
    lossy = trial(plants=plants(WEIGHTS | {"A1": (20.0, None, 24.0)}))
    # Counts are not random: each tray has its mean, and the treatment the mean of its trays.
    assert estimate(lossy, "fresh_weight").value == pytest.approx((44 / 2 + 67 / 3 + 63 / 3) / 3)
    assert estimate(lossy, "yield_per_plant_started").value == pytest.approx((44 + 67 + 63) / 9)
    assert estimate(lossy, "survival").value == pytest.approx(100 * 8 / 9)


def test_a_tray_whose_plants_all_died_counts_as_no_yield_and_has_no_weight_per_harvested_plant():
    dead = trial(plants=plants(WEIGHTS | {"A1": (None, None, None)}))
    assert estimate(dead, "tray_yield").value == pytest.approx((0 + 67 + 63) / 3)
    assert estimate(dead, "fresh_weight").value == pytest.approx((67 + 63) / 6)
    assert estimate(dead, "fresh_weight").n == 2
    assert estimate(dead, "fresh_weight").notes == (
        message("units_left_out", units_left_out=Count(1, "unit")),
    )


def test_water_used_is_what_went_in_less_what_came_out():
    # tray A1: 5 L fill + 1.5 L top-up - 0.5 L sample - 4.5 L remaining
    scores = dict(result(trial(), "water_use").scores)
    assert scores["A1"] == pytest.approx(1.5)


def test_a_tray_without_remaining_has_no_water_figure_and_the_note_says_so():
    events = tuple(
        event for event in trial().solution if (event.tray, event.kind) != ("A1", "remaining")
    )
    water = estimate(trial(solution=events), "water_use")
    assert water.n == 2
    assert water.notes == (message("units_left_out", units_left_out=Count(1, "unit")),)


def test_a_tray_without_plants_counts_in_no_figure_of_plants_or_water():
    control = Tray("C1", "half", 0)
    with_control = trial(
        trays=(*trial().trays, control),
        solution=(
            *trial().solution,
            *(replace(event, tray="C1") for event in trial().solution[:4]),
        ),
    )
    for key in ("fresh_weight", "water_use", "energy_use"):
        assert estimate(with_control, key) == estimate(trial(), key)


def test_energy_is_the_treatments_meters_together_and_has_no_interval():
    energy = estimate(trial(), "energy_use")
    assert energy.value == pytest.approx(12.0 / 3)
    assert (energy.low, energy.high, energy.standard_error) == (None, None, None)
    assert codes(energy.notes) == ["energy_use_is_one_figure"]
    assert comparison(trial(), "energy_use").ratio == pytest.approx(14 / 12)
    assert comparison(trial(), "energy_use").ratio_low is None


def test_energy_per_kg_and_cost_per_gram_follow_from_energy_weight_and_price():
    assert estimate(trial(), "energy_per_kg").value == pytest.approx(12.0 / 0.196)
    assert estimate(trial(), "electricity_cost_per_gram").value == pytest.approx(12.0 * 0.25 / 196)
    assert result(trial(), "electricity_cost_per_gram").measure.unit == "EUR/g"


def test_without_a_price_there_is_no_cost():
    keys = {each.measure.key for each in metrics.compute(trial(electricity_price=None)).measures}
    assert "energy_per_kg" in keys
    assert not keys & {"electricity_cost_per_gram", "yield_per_currency"}


def test_without_meter_and_solution_there_are_no_figures_of_energy_and_water():
    keys = {each.measure.key for each in metrics.compute(trial(meter=(), solution=())).measures}
    assert keys == {"fresh_weight", "yield_per_plant_started", "tray_yield", "survival"}


def test_a_shared_meter_goes_out_by_trays_and_compares_nothing():
    uneven = trial(
        trays=trial().trays[:5],
        plants=plants({tray: WEIGHTS[tray] for tray in ("A1", "A2", "A3", "B1", "B2")}),
    )
    shared = replace(uneven, meter=readings(None, 30.0))
    assert estimate(shared, "energy_use").value == pytest.approx(6.0)
    assert estimate(shared, "energy_use", "full").value == pytest.approx(6.0)
    assert estimate(shared, "energy_per_kg").value == pytest.approx(18.0 / 0.196)
    for key in (
        "energy_use",
        "energy_per_kg",
        "yield_per_kwh",
        "electricity_cost_per_gram",
        "yield_per_currency",
    ):
        compared = comparison(shared, key)
        assert (compared.ratio, compared.difference, compared.p_value) == (None, None, None), key
        assert codes(compared.notes) == ["energy_shared"]


def test_energy_metered_for_half_of_the_trial_is_not_known():
    half = tuple(
        replace(each, at=min(each.at, datetime(2026, 4, 18))) for each in readings("full", 14.0)[:2]
    )
    of = trial(meter=readings("half", 12.0) + half)
    for key in ("energy_use", "energy_per_kg", "electricity_cost_per_gram"):
        assert estimate(of, key, "full").value is None
        (metered,) = estimate(of, key, "full").notes
        assert (metered.code, metered.value("share")) == (
            "metered_in_part",
            Share(pytest.approx(17 / 35)),
        )
        assert comparison(of, key).ratio is None
        assert codes(comparison(of, key).notes)[0] == "energy_of_one_not_known"
    assert estimate(of, "energy_per_kg").value == pytest.approx(12.0 / 0.196)


def test_a_long_gap_at_a_reset_makes_the_energy_unknown():
    counter = (
        MeterReading("m", "half", datetime(2026, 4, 1), 900.0),
        MeterReading("m", "half", datetime(2026, 4, 10), 906.0),
        MeterReading("m", "half", datetime(2026, 4, 20), 2.0, reset=True),
        MeterReading("m", "half", datetime(2026, 5, 6), 7.0),
    )
    assert estimate(trial(meter=counter + readings("full", 14.0)), "energy_use").value is None


def test_a_second_meter_read_once_only_makes_the_energy_unknown_and_not_too_low():
    mat = MeterReading("mat", "full", datetime(2026, 4, 1), 50.0)
    of = trial(meter=(*readings("half", 12.0), *readings("full", 14.0), mat))
    assert estimate(of, "energy_use", "full").value is None
    assert comparison(of, "energy_per_kg").ratio is None
    assert estimate(of, "energy_use").value == pytest.approx(4.0)


def test_energy_that_is_partly_shared_is_compared_with_a_note():
    of = trial(meter=readings("half", 12.0) + readings("full", 14.0) + readings(None, 6.0))
    assert estimate(of, "energy_use").value == pytest.approx((12.0 + 3.0) / 3)
    compared = comparison(of, "energy_per_kg")
    assert compared.ratio is not None
    assert "energy_partly_shared" in codes(compared.notes)


def test_figures_of_weights_and_energy_say_what_their_interval_rests_on():
    assert codes(estimate(trial(), "energy_per_kg").notes) == ["energy_is_one_figure"]
    assert codes(comparison(trial(), "electricity_cost_per_gram").notes) == ["energy_is_one_figure"]


def test_a_dead_tray_takes_the_ratio_off_the_log_scale_and_says_so():
    dead = trial(plants=plants(WEIGHTS | {"B1": (None, None, None)}))
    compared = comparison(dead, "tray_yield")
    assert codes(compared.notes) == ["not_all_positive"]
    assert codes(compared.methods)[0] == "fieller_ratio"
    assert compared.ratio == pytest.approx((0 + 80 + 89) / 196)


def test_no_interval_of_a_weight_or_of_a_ratio_goes_below_0():
    dead = trial(plants=plants(WEIGHTS | {"B1": (None, None, None), "B2": (None, None, 20.0)}))
    own = estimate(dead, "tray_yield", "full")
    assert (own.low, codes(own.notes)) == (0, ["cut_at_possible"])
    compared = comparison(dead, "tray_yield")
    assert (compared.ratio_low, "ratio_cut_at_zero" in codes(compared.notes)) == (0, True)


def test_a_reset_counter_loses_the_step_to_its_first_reading_only():
    counter = (
        MeterReading("m", "half", datetime(2026, 4, 1), 900.0),
        MeterReading("m", "half", datetime(2026, 4, 10), 906.0),
        MeterReading("m", "half", datetime(2026, 4, 11), 2.0, reset=True),
        MeterReading("m", "half", datetime(2026, 5, 6), 7.0),
    )
    of = trial(meter=counter + readings("full", 14.0))
    assert estimate(of, "energy_use").value == pytest.approx((6.0 + 5.0) / 3)


def test_one_tray_a_treatment_gives_figures_without_interval_and_tells_the_plants_spread_apart():
    few = trial(
        trays=tuple(tray for tray in trial().trays if tray.code in ("A1", "B1")),
        plants=plants({tray: WEIGHTS[tray] for tray in ("A1", "B1")}),
        solution=(),
        meter=(),
    )
    weight, compared = estimate(few, "fresh_weight"), comparison(few, "fresh_weight")
    assert weight.value == pytest.approx(22.0)
    assert (weight.low, weight.high, compared.ratio_low, compared.p_value) == (
        None,
        None,
        None,
        None,
    )
    spread = next(one for one in weight.notes if one.code == "plants_own_spread")
    assert (spread.value("spread").value, spread.value("plants")) == (
        pytest.approx(2.0),
        Count(3, "plant"),
    )
    assert compared.ratio == pytest.approx(85 / 66)


def test_blocks_that_hold_both_treatments_are_modelled_and_blocks_of_one_treatment_are_not():
    blocked = trial(trays=tuple(replace(tray, block=tray.code[1]) for tray in trial().trays))
    # R emmeans, y and g as for the weights without blocks: pairs(emmeans(lm(log(y) ~ g +
    # factor(b)), "g")) gives SE 0.0486269037202 with 2 degrees of freedom; exp(log(ratio) + c(-1,
    # 1) * qt(.975, 2) * SE)
    compared = comparison(blocked, "fresh_weight")
    limits = (
        compared.ratio_low,
        compared.ratio_high,
        compared.p_value,
        compared.degrees_of_freedom,
    )
    assert limits == pytest.approx((1.0512657640873, 1.5975069979427, 0.0334350020772, 2), rel=1e-9)
    assert codes(compared.methods) == ["log_ratio", "additive_model"]
    confounded = trial(trays=tuple(replace(tray, block=tray.treatment) for tray in trial().trays))
    assert comparison(confounded, "fresh_weight") == comparison(trial(), "fresh_weight")


def test_the_own_interval_of_a_treatment_holds_for_other_blocks_too():
    blocked = trial(trays=tuple(replace(tray, block=tray.code[1]) for tray in trial().trays))
    with_blocks, without = estimate(blocked, "fresh_weight"), estimate(trial(), "fresh_weight")
    assert (with_blocks.value, with_blocks.standard_error) == pytest.approx(
        (without.value, without.standard_error), rel=1e-12
    )
    assert with_blocks.degrees_of_freedom <= without.degrees_of_freedom


def test_survival_counts_plants_in_trays_that_share_a_fate():
    lossy = trial(plants=plants(WEIGHTS | {"A1": (20.0, None, 24.0)}))
    survival = estimate(lossy, "survival")
    # R 4.2.2: only half lost plants, so its trays tell the spread: s <- summary(glm(cbind(c(2, 3,
    #   3), c(1, 0, 0)) ~ 1,
    # family = quasibinomial)); phi <- max(1, s$dispersion); level <- 2 * pnorm(qt(.975,
    #   s$df.residual)) - 1
    # prop.test(8 / phi, 9 / phi, conf.level = level, correct = FALSE)$conf.int
    assert (survival.low, survival.high) == pytest.approx((23.95862029, 99.51010947), rel=1e-8)
    assert codes(survival.methods) == ["clustered_plants"]
    assert "plants_own_survival" in codes(survival.notes)


def test_a_further_trait_is_averaged_over_the_plants_that_have_it():
    measured = tuple(
        replace(plant, traits=(None if place == 0 else float(place),))
        for place, plant in enumerate(trial().plants)
    )
    of = trial(traits=(Trait("stem_width", "Stem width", "mm"),), plants=measured)
    # Trays have 0, 1, 2 without the first, then 3, 4, 5 and 6, 7, 8: the mean of their means
    assert estimate(of, "stem_width").value == pytest.approx((1.5 + 4 + 7) / 3)
    assert result(of, "stem_width").measure.unit == "mm"


RECIPROCALS = (
    ("energy_per_kg", "yield_per_kwh"),
    ("electricity_cost_per_gram", "yield_per_currency"),
    ("yield_per_litre", "water_per_gram"),
)


@pytest.mark.parametrize(("one", "other"), RECIPROCALS)
def test_a_figure_turned_round_has_the_interval_turned_round(one, other):
    first, second = comparison(trial(), one), comparison(trial(), other)
    assert first.ratio * second.ratio == pytest.approx(1, rel=1e-12)
    assert first.ratio_low * second.ratio_high == pytest.approx(1, rel=1e-12)
    assert first.p_value == pytest.approx(second.p_value, rel=1e-9)


def test_energy_per_kilogram_has_the_interval_of_the_trays_relative_weights():
    # R 4.2.2: half <- c(66, 67, 63); full <- c(85, 80, 89); res <- c(half / mean(half), full /
    #   mean(full)) - 1
    # se <- sqrt(sum(res^2) / 4 * 2 / 3); r <- (14 / 254) / (12 / 196); exp(log(r) + c(-1, 1) *
    #   qt(.975, 4) * se)
    # 2 * pt(log(r) / se, 4)
    compared = comparison(trial(), "energy_per_kg")
    limits = (compared.ratio_low, compared.ratio_high, compared.p_value)
    assert limits == pytest.approx(
        (0.8150112520795778, 0.9944310679955791, 0.0427157364196289), rel=1e-10
    )


@settings(max_examples=25, deadline=None)
@given(st.permutations(range(18)), st.permutations(range(6)))
def test_the_order_of_rows_changes_no_result(plant_order, tray_order):
    of = trial()
    plants_in_order = tuple(of.plants[place] for place in plant_order)
    shuffled = replace(
        of, plants=plants_in_order, trays=tuple(of.trays[place] for place in tray_order)
    )
    for key in ("fresh_weight", "water_per_gram", "energy_per_kg"):
        was, now = comparison(of, key), comparison(shuffled, key)
        expected = pytest.approx((was.ratio, was.ratio_low, was.p_value), rel=1e-9)
        assert (now.ratio, now.ratio_low, now.p_value) == expected


@settings(max_examples=25, deadline=None)
@given(st.floats(0.01, 1000))
def test_the_unit_of_weight_scales_figures_and_changes_no_ratio(factor):
    scaled = {tray: tuple(weight * factor for weight in found) for tray, found in WEIGHTS.items()}
    was, now = trial(), trial(plants=plants(scaled))
    assert estimate(now, "tray_yield").low == pytest.approx(
        factor * estimate(was, "tray_yield").low, rel=1e-9
    )
    assert comparison(now, "tray_yield").ratio_high == pytest.approx(
        comparison(was, "tray_yield").ratio_high, rel=1e-9
    )
    assert estimate(now, "water_per_gram").high == pytest.approx(
        estimate(was, "water_per_gram").high / factor, rel=1e-9
    )


def test_a_drained_volume_counts_as_not_used():
    drained = SolutionEvent("A1", trial().started_on, "drain", 0.4)
    scores = dict(result(trial(solution=(*trial().solution, drained)), "water_use").scores)
    assert scores["A1"] == pytest.approx(1.1)


def test_every_sheet_of_a_workbook_comes_into_a_figure(tmp_path):
    sheets = workbooks.whole()
    sheets["Plants"] = [
        [*row, *more]
        for row, more in zip(
            sheets["Plants"],
            [
                ("Dry weight (g)", "Root weight (g)", "Leaves"),
                *((1.0 + n % 4 / 10, 3.0, 8) for n in range(24)),
            ],
            strict=True,
        )
    ]
    of = workbooks.trial(workbooks.write(sheets, tmp_path / "whole.xlsx"))
    found = {each.measure.key: each for each in metrics.compute(of).measures}
    assert {
        "dry_weight",
        "root_weight",
        "height",
        "leaves",
        "dry_matter",
        "ec",
        "ph",
        "solution_temperature",
    } <= set(found)
    assert {
        "relative_growth_rate",
        "relative_growth_rate_canopy_cover",
        "running_cost_per_gram",
    } <= set(found)
    assert {
        "ppfd",
        "dli",
        "photons",
        "canopy_efficacy",
        "yield_per_mol",
        "air_temperature",
        "vpd",
        "co2",
    } <= set(found)
    # the sheet's map: 210 + the mean of x and y, 25 + 15 cm; 250 µmol/m2/s for 16 h are 14.4
    # mol/m2/d
    assert dict(found["dli"].estimates)["half"].value == pytest.approx(14.4)
