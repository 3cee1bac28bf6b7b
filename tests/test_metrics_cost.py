"""Running cost, energy of devices without a meter, and what instruments leave uncertain."""

from dataclasses import replace
from datetime import datetime
from math import hypot, sqrt

import pytest

from reportgen import metrics
from reportgen.metrics.climate import vapour_pressure_deficit as deficit
from reportgen.metrics.cost import cost_components
from reportgen.metrics.energy import energy_source
from reportgen.metrics.instruments import gains_of
from reportgen.metrics.measures import METRICS, TREATMENT_METRICS, metrics_of
from reportgen.model.message import Count, Term
from reportgen.model.trial import Cost, Instrument, Load, MeterReading, Trait
from tests.trials import climate_log, codes, readings, trial

RUNNING = "running_cost_per_gram"


def metric(key):
    return next(each for each in (*METRICS, *TREATMENT_METRICS) if each.key == key)


def result(of, key=RUNNING):
    return next(each for each in metrics.compute(of).measures if each.measure.key == key)


def estimate(of, key=RUNNING, treatment="half"):
    return dict(result(of, key).estimates)[treatment]


def comparison(of, key=RUNNING):
    return dict(result(of, key).comparisons)["full"]


def counted(figure):
    """Return what the costs of a figure or of both sides of a comparison are."""
    return [one.value("costs").members for one in figure.notes if one.code == "counts_costs"]


COUNTED_WATER = (Term("electricity"), Term("water"))


def keys_of(of):
    return {each.measure.key for each in metrics.compute(of).measures}


SEED = Cost("seed", None, 3.0)
LAMP = Cost("lamp", "half", 500.0, life=50_000.0, hours_used=600.0)


def test_running_cost_is_electricity_water_and_what_else_was_paid():
    # half: 12 kWh x 0.25 + 4.85 L x 0.01 + half of the seed for 6 trays + 500 x 600 / 50000, over
    # 196 g
    of = trial(water_price=0.01, costs=(SEED, LAMP))
    water = estimate(of, "water_use").value * 3
    expected = (12 * 0.25 + water * 0.01 + 1.5 + 6.0) / 196
    assert estimate(of).value == pytest.approx(expected)
    assert result(of).measure.unit == "EUR/g"
    assert counted(estimate(of)) == [(*COUNTED_WATER, Count(2, "other cost"))]
    assert "costs_are_one_figure_but_water" in codes(estimate(of).notes)
    assert counted(estimate(of, treatment="full")) == [(*COUNTED_WATER, Count(1, "other cost"))]
    assert counted(comparison(of)) == [
        *counted(estimate(of)),
        *counted(estimate(of, treatment="full")),
    ]


def test_water_without_a_price_is_not_counted_and_the_note_says_so():
    of = trial(costs=(SEED,))
    assert estimate(of).value == pytest.approx((12 * 0.25 + 1.5) / 196)
    assert counted(estimate(of)) == [(Term("electricity"), Count(1, "other cost"))]
    assert "water_left_out" in codes(estimate(of).notes)


def test_water_with_a_price_must_be_known():
    of = trial(
        water_price=0.01,
        solution=tuple(event for event in trial().solution if event.tray.startswith("B")),
    )
    assert estimate(of).value is None
    assert "no_water_cost" in codes(estimate(of).notes)
    assert estimate(of, treatment="full").value is not None
    assert comparison(of).ratio is None


def test_there_is_no_running_cost_where_there_is_nothing_beside_electricity():
    assert RUNNING not in keys_of(trial())
    assert RUNNING not in keys_of(trial(costs=(SEED,), electricity_price=None))


def test_running_cost_is_not_known_without_the_energy():
    of = trial(costs=(SEED,), meter=readings("half", 12.0))
    assert estimate(of, treatment="full").value is None
    assert "no_electricity_cost" in codes(estimate(of, treatment="full").notes)
    assert comparison(of).ratio is None


def test_running_cost_with_a_shared_meter_compares_nothing():
    of = trial(costs=(SEED,), meter=readings(None, 30.0))
    assert estimate(of).value == pytest.approx((15 * 0.25 + 1.5) / 196)
    assert comparison(of).ratio is None
    assert codes(comparison(of).notes) == ["energy_shared"]


def test_a_shared_cost_goes_out_by_trays_and_an_own_cost_to_the_treatments_trays():
    uneven = trial(
        trays=trial().trays[:5], costs=(Cost("seed", None, 10.0), Cost("mat", "full", 8.0))
    )
    components = cost_components(uneven)
    assert dict(components["half"])["seed"] == pytest.approx(2.0)
    assert dict(components["full"]) == pytest.approx(
        {"electricity": 14 * 0.25 / 2, "seed": 2.0, "mat": 4.0}
    )


def test_the_components_of_a_tray_add_up_to_its_running_cost():
    of = trial(water_price=0.01, costs=(SEED, LAMP, replace(SEED, treatment="half")))
    parts = cost_components(of)["half"]
    assert [part.name for part in parts] == ["electricity", "water", "seed", "lamp"]
    assert sum(part.per_tray for part in parts) * 3 / 196 == pytest.approx(estimate(of).value)


def test_equipment_without_hours_of_use_makes_the_cost_unknown():
    of = trial(costs=(replace(LAMP, hours_used=None),))
    assert dict(cost_components(of)["half"])["lamp"] is None
    assert estimate(of).value is None
    assert "no_hours" in codes(estimate(of).notes)


LOADS = (Load("half", "lamp", 20.0, 16.0), Load("half", "pump", 5.0, 24.0, days=10.0))


def test_energy_without_a_meter_is_power_times_hours_and_says_so():
    # 20 W x 16 h x 35 days + 5 W x 24 h x 10 days = 11.2 + 1.2 kWh
    of = trial(meter=readings("full", 14.0), loads=LOADS)
    assert energy_source(of) == {"half": "calculated", "full": "metered"}
    assert estimate(of, "energy_use").value == pytest.approx(12.4 / 3)
    assert codes(estimate(of, "energy_use").notes) == ["energy_use_calculated"]
    assert codes(estimate(of, "energy_use", "full").notes) == ["energy_use_is_one_figure"]
    assert estimate(of, "energy_per_kg").value == pytest.approx(12.4 / 0.196)


def test_metered_and_calculated_energy_are_compared_with_a_note():
    of = trial(meter=readings("full", 14.0), loads=LOADS)
    for key in ("energy_use", "energy_per_kg", "yield_per_currency"):
        assert comparison(of, key).ratio is not None
        use = "_use" if key == "energy_use" else ""
        assert {f"energy{use}_calculated", f"energy{use}_is_one_figure"} <= set(
            codes(comparison(of, key).notes)
        )
    both = trial(meter=(), loads=(*LOADS, Load("full", "lamp", 30.0, 16.0)))
    assert comparison(both, "energy_use").ratio == pytest.approx(16.8 / 12.4)
    assert codes(comparison(both, "energy_use").notes) == ["energy_use_calculated"]


def test_a_treatment_with_a_meter_ignores_its_devices():
    of = trial(loads=LOADS)
    assert estimate(of, "energy_use") == estimate(trial(), "energy_use")
    once = trial(meter=(*readings("full", 14.0), readings("half", 12.0)[0]), loads=LOADS)
    assert estimate(once, "energy_use").value is None
    shared = trial(meter=readings(None, 30.0), loads=LOADS)
    assert energy_source(shared) == {"half": "shared", "full": "shared"}
    assert estimate(shared, "energy_use").value == pytest.approx(5.0)


def test_running_cost_of_calculated_energy_says_so():
    of = trial(meter=readings("full", 14.0), loads=LOADS, costs=(SEED,))
    assert estimate(of).value == pytest.approx((12.4 * 0.25 + 1.5) / 196)
    assert "energy_calculated_in_part" in codes(estimate(of).notes)
    assert "energy_calculated_in_part" in codes(comparison(of).notes)


SCALE = Instrument("scale", "weight", resolution=0.1, accuracy=1.0)
METER = Instrument("meter", "energy", accuracy=1.0)


def test_a_limit_of_error_of_1_percent_is_0_577_percent():
    # JCGM 100:2008, 4.3.7: u = a / sqrt 3
    found = gains_of(trial(instruments=(SCALE,)), metric("fresh_weight"))
    assert found.shared == pytest.approx(0.00577, abs=5e-6)
    assert found.own == (0.0, 0.0)


def test_the_steps_of_a_counter_at_both_ends_belong_to_its_treatment():
    # Steps of 0.1 kWh at both ends: u = 0.1 x sqrt 2 / sqrt 12 = 0.0408 kWh (JCGM 100:2008,
    # F.2.2.1)
    of = trial(instruments=(Instrument("meter", "energy", resolution=0.1),))
    found = gains_of(of, metric("energy_use"))
    assert [
        own * energy for own, energy in zip(found.own, (12.0, 14.0), strict=True)
    ] == pytest.approx([0.0408, 0.0408], abs=5e-5)
    assert found.shared == 0


def test_each_reset_of_a_counter_adds_two_readings():
    extra = MeterReading("half", "half", readings("half", 12.0)[-1].at, 0.0, reset=True)
    of = trial(instruments=(Instrument("meter", "energy", resolution=0.1),))
    with_reset = replace(of, meter=(*of.meter, extra))
    ratio = (
        gains_of(with_reset, metric("energy_use")).own[0]
        / gains_of(of, metric("energy_use")).own[0]
    )
    assert ratio == pytest.approx(sqrt(2))


def test_the_uncertainties_of_both_parts_of_a_ratio_add_in_quadrature():
    # Barbosa et al. 2015, Int. J. Environ. Res. Public Health 12:6879: (41 +- 6.1) / (3.9 +- 0.21)
    #   = 11 +- 1.7
    weight = Instrument("scale", "weight", accuracy=100 * sqrt(3) * 6.1 / 41, per_treatment=True)
    energy = Instrument("meter", "energy", accuracy=100 * sqrt(3) * 0.21 / 3.9)
    found = gains_of(trial(instruments=(weight, energy)), metric("yield_per_kwh"))
    assert found.own[0] * 41 / 3.9 == pytest.approx(1.6633874115284393, rel=1e-9)
    assert gains_of(trial(instruments=(weight, energy)), metric("energy_per_kg")) == found


def test_meters_that_count_for_one_treatment_each_do_not_cancel():
    apart = gains_of(trial(instruments=(METER, SCALE)), metric("energy_per_kg"))
    assert apart.own == pytest.approx((0.01 / sqrt(3),) * 2)
    assert apart.shared == pytest.approx(0.01 / sqrt(3))
    shared = gains_of(trial(instruments=(METER,), meter=readings(None, 30.0)), metric("energy_use"))
    assert (shared.own, shared.shared) == ((0.0, 0.0), pytest.approx(0.01 / sqrt(3)))


def test_calculated_energy_has_no_gain_of_a_meter():
    of = trial(
        instruments=(replace(METER, resolution=0.1),), meter=readings("full", 14.0), loads=LOADS
    )
    own = gains_of(of, metric("energy_use")).own
    assert own[0] == 0
    assert own[1] == pytest.approx(hypot(0.01 / sqrt(3), 0.1 * sqrt(2 / 12) / 14))


def test_one_scale_cancels_in_dry_matter_and_two_do_not():
    dry = metric("dry_matter")
    assert gains_of(trial(instruments=(SCALE,)), dry).shared == 0
    two = trial(instruments=(SCALE, Instrument("balance", "weight", accuracy=0.1)))
    assert gains_of(two, dry).shared == pytest.approx(sqrt(2) * 0.01 / sqrt(3))


def test_what_no_instrument_reads_and_what_is_not_known_adds_nothing():
    assert gains_of(trial(instruments=(SCALE, METER)), metric("survival")) == ((0.0, 0.0), 0.0)
    assert gains_of(trial(), metric("water_per_gram")) == ((0.0, 0.0), 0.0)
    unknown = trial(instruments=(Instrument("jug", "volume"),))
    assert gains_of(unknown, metric("water_use")) == ((0.0, 0.0), 0.0)


def test_a_trait_in_grams_takes_the_gain_of_the_scale_and_a_length_does_not():
    traits = (Trait("dry_weight", "Dry weight", "g"), Trait("height", "Height", "cm"))
    of = trial(instruments=(SCALE,), traits=traits, plants=())
    by_key = {each.key: each for each in metrics_of(of)}
    assert gains_of(of, by_key["dry_weight"]).shared > 0
    assert gains_of(of, by_key["height"]).shared == 0


def test_a_part_of_the_running_cost_takes_its_part_of_a_gain():
    # half: 3.00 for electricity and 3.00 for seed: half of the meter's gain
    of = trial(instruments=(METER,), costs=(Cost("seed", None, 6.0),))
    assert gains_of(of, metric(RUNNING)).own[0] == pytest.approx(0.5 * 0.01 / sqrt(3))


def test_the_deficit_follows_temperature_and_humidity_as_its_formula_does():
    at = datetime(2026, 4, 2)
    # against differences of the published formula: 1 % more of 20 °C, of 80 %
    of = trial(
        instruments=(
            Instrument("thermometer", "air temperature", accuracy=1.0),
            Instrument("hygrometer", "humidity", accuracy=2.0),
        ),
        climate=climate_log(("half", at, 20.0, 80.0), ("full", at, 20.0, 80.0)),
    )
    step = 1e-6
    base = deficit(20.0, 80.0)
    by_temperature = (deficit(20.0 * (1 + step), 80.0) / base - 1) / step
    by_humidity = (deficit(20.0, 80.0 * (1 + step)) / base - 1) / step
    expected = hypot(0.01 * by_temperature, 0.02 * by_humidity) / sqrt(3)
    assert gains_of(of, metric("vpd")).shared == pytest.approx(expected, rel=1e-4)


# ---- what meters leave untested ------------------------------------------------------------------


def verdict(of, key):
    """Return what is said of a measure, or would be if nothing else explained it."""
    found = metrics.compute(of).conclusions
    one = next(one for one in found if (one.measure, one.treatment) == (key, "full"))
    return one.toward or one.code


STEPS_ALONE = Instrument("meter", "energy", resolution=0.1)


def test_the_steps_of_a_counter_alone_do_not_tell_how_sure_its_energy_is():
    of = trial(instruments=(STEPS_ALONE,))
    assert comparison(of, "energy_use").ratio_low is None
    assert verdict(of, "energy_use") == "untestable"
    assert verdict(trial(instruments=(METER,)), "energy_use") == "more"


def test_two_uses_of_energy_within_the_errors_of_their_meters_are_alike_within_the_margin():
    # Limits of 1%: u = 0.01 x sqrt 2 / sqrt 3 = 0.816% of the ratio (JCGM 100:2008, 4.3.7); 90% is
    # 1.645 u either way
    near = (*readings("half", 12.0), *readings("full", 12.1))
    of = trial(instruments=(METER,), meter=near, margin=0.05)
    one = comparison(of, "energy_use")
    assert (one.alike_low, one.alike_high) == pytest.approx((0.99489, 1.02198), abs=2e-5)
    assert verdict(of, "energy_use") == "alike"


def test_energy_by_weight_says_nothing_where_meters_of_unknown_accuracy_counted_it():
    far = (*readings("half", 12.0), *readings("full", 40.0))
    for key in ("energy_per_kg", "electricity_cost_per_gram"):
        assert verdict(trial(meter=far), key) == "untestable"
        assert verdict(trial(meter=far, instruments=(METER,)), key) == "more"
