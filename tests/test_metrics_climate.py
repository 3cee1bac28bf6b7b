"""The air over time and the solution of each tray."""

from dataclasses import replace
from datetime import date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import trapezoid

from reportgen import metrics
from reportgen.metrics import climate
from reportgen.metrics.figures import differences_only, treatment_results
from reportgen.model.message import Amount, Count, message
from reportgen.model.trial import SolutionEvent, Tray
from tests.trials import climate_log, codes, solution, trial

NOON = datetime(2026, 4, 2, 12)


def estimate(of, key, treatment="half"):
    return dict(result(of, key).estimates)[treatment]


def comparison(of, key):
    return dict(result(of, key).comparisons)["full"]


def result(of, key):
    return next(each for each in treatment_results(of) if each.measure.key == key)


def tray_result(of, key):
    return next(each for each in metrics.compute(of).measures if each.measure.key == key)


def hours(*steps):
    return [NOON + timedelta(hours=step) for step in steps]


def logged(treatment, temperatures, moments=None):
    moments = moments or hours(*range(len(temperatures)))
    return [(treatment, at, value, 60.0) for at, value in zip(moments, temperatures, strict=True)]


# FAO Irrigation and Drainage Paper 56, example 3: 1.705 kPa at 15 °C and 3.075 kPa at 24.5 °C;
# further digits by the function satvpr_temp_fao56 of the NCAR Command Language, whose documentation
# prints 1.70535 and 3.07465.
@pytest.mark.parametrize(("temperature", "expected"), [(15.0, 1.70535), (24.5, 3.07465)])
def test_the_saturation_pressure_is_that_of_published_tables(temperature, expected):
    assert climate.saturation_pressure(np.array([temperature]))[0] == pytest.approx(
        expected, abs=5e-6
    )


def test_the_deficit_is_that_of_a_worked_example():
    # FAO-56, example 5 (from memory): 18 °C at 82 % and 25 °C at 54 % give es = 2.62, ea = 1.70, es
    #   - ea = 0.91 kPa.
    readings = ((None, NOON, 18.0, 82.0), (None, NOON + timedelta(hours=1), 25.0, 54.0))
    assert estimate(trial(climate=climate_log(*readings)), "vpd").value == pytest.approx(
        0.91, abs=0.005
    )


def test_the_deficit_is_averaged_and_not_the_temperature_and_humidity():
    of = trial(
        climate=climate_log(
            ("half", NOON, 10.0, 90.0), ("half", NOON + timedelta(hours=1), 30.0, 50.0)
        )
    )
    of_means = climate.vapour_pressure_deficit(np.array([20.0]), np.array([70.0]))[0]
    assert estimate(of, "vpd").value > 1.4 * of_means


@given(st.lists(st.tuples(st.integers(1, 5), st.floats(5, 40)), min_size=2, max_size=20))
def test_a_mean_over_time_is_the_trapezoidal_rule(steps):
    # against scipy.integrate.trapezoid; steps of 1 to 5 h hold no gap of more than 6 times the
    # median
    at = np.cumsum([step for step, _ in steps])
    values = np.array([value for _, value in steps])
    found = climate.mean_over_time(
        climate.Series(np.datetime64("2026-04-01T00", "s") + at * climate.HOUR, values)
    )
    assert found.value == pytest.approx(trapezoid(values, at) / (at[-1] - at[0]))
    assert found.gaps == 0


def test_readings_count_by_the_time_between_them_and_not_by_their_number():
    moments = hours(0, 1, 2, 6)
    of = trial(climate=climate_log(*logged("half", (20.0, 20.0, 20.0, 30.0), moments)))
    assert estimate(of, "air_temperature").value == pytest.approx((20 * 2 + 25 * 4) / 6)


def test_a_long_gap_does_not_count_and_the_note_names_the_limit():
    moments = hours(0, 1, 2, 3, 40, 41, 42)
    of = trial(
        climate=climate_log(*logged("half", (20.0, 20.0, 20.0, 20.0, 30.0, 30.0, 30.0), moments))
    )
    found = estimate(of, "air_temperature")
    assert found.value == pytest.approx((3 * 20 + 2 * 30) / 5)
    left_out = next(one for one in found.notes if one.code == "gaps_left_out")
    assert dict(left_out.values) == {
        "gaps": Count(1, "gap"),
        "steps": Amount(6.0),
        "hours": Amount(37.0, "h"),
    }


def test_the_order_of_rows_and_two_sensors_at_one_moment_change_no_mean():
    one = logged("half", (20.0, 24.0, 22.0))
    two = [*logged("half", (21.0, 25.0, 23.0)), *logged("half", (19.0, 23.0, 21.0))]
    expected = estimate(trial(climate=climate_log(*one)), "air_temperature").value
    found = estimate(trial(climate=climate_log(*reversed(two))), "air_temperature")
    assert found.value == pytest.approx(expected)
    assert found.methods == (message("time_weighted_mean", readings=Count(3, "reading")),)


def test_a_blank_reading_is_left_out_of_its_own_quantity_only():
    rows = [
        ("half", at, value, 60.0)
        for at, value in zip(hours(0, 1, 2), (20.0, float("nan"), 24.0), strict=True)
    ]
    of = trial(climate=climate_log(*rows))
    assert estimate(of, "air_temperature").value == pytest.approx(22.0)
    assert estimate(of, "vpd").methods[0].value("readings") == Count(2, "reading")
    assert estimate(of, "relative_humidity").methods[0].value("readings") == Count(3, "reading")


def test_readings_for_all_count_for_each_treatment_and_compare_nothing():
    of = trial(climate=climate_log(*logged(None, (20.0, 22.0))))
    assert (
        estimate(of, "air_temperature").value
        == estimate(of, "air_temperature", "full").value
        == 21.0
    )
    for key in ("air_temperature", "relative_humidity", "vpd"):
        compared = comparison(of, key)
        assert (compared.ratio, compared.difference) == (None, None)
        assert codes(compared.notes) == ["shared_air"]


def test_readings_of_a_treatment_come_before_those_for_all():
    of = trial(climate=climate_log(*logged(None, (20.0, 22.0)), *logged("full", (26.0, 26.0))))
    assert estimate(of, "air_temperature", "full").value == pytest.approx(26.0)
    assert estimate(of, "air_temperature").value == pytest.approx(21.0)
    assert comparison(of, "air_temperature").difference is None


def test_temperatures_are_compared_by_their_difference_alone():
    of = trial(climate=climate_log(*logged("half", (20.0, 22.0)), *logged("full", (23.0, 25.0))))
    compared = comparison(of, "air_temperature")
    assert (compared.ratio, compared.difference) == (None, pytest.approx(3.0))
    assert codes(compared.notes)[0] == "no_ratio"
    assert codes(compared.methods) == ["difference_of_figures"]
    assert comparison(of, "vpd").ratio > 1


def test_one_reading_says_that_it_is_one():
    of = trial(climate=climate_log(*logged("half", (20.0,))))
    assert estimate(of, "air_temperature").value == 20.0
    assert codes(estimate(of, "air_temperature").notes) == ["one_reading"]
    assert codes(estimate(of, "air_temperature", "full").notes) == ["not_logged"]


def test_what_was_not_logged_has_no_figure():
    keys = {
        each.measure.key
        for each in treatment_results(trial(climate=climate_log(*logged("half", (20.0, 21.0)))))
    }
    assert keys == {"air_temperature", "relative_humidity", "vpd"}
    log = climate_log(
        *logged("half", (20.0, 21.0)), co2=(800.0, 900.0), solution_temperature=(18.0, 20.0)
    )
    of = trial(climate=log)
    assert estimate(of, "co2").value == pytest.approx(850.0)
    assert estimate(of, "solution_temperature_logged").value == pytest.approx(19.0)


def events(tray, *readings):
    start = date(2026, 4, 1)
    return tuple(
        SolutionEvent(
            tray, start + timedelta(days=day), "sample", 0.0, ec=ec, ph=ph, temperature=temperature
        )
        for day, ec, ph, temperature in readings
    )


def test_the_solution_of_each_tray_is_averaged_over_time():
    # A1: 2 mS/cm falling to 1 over 10 days, then 1 for 20 days
    readings = events("A1", (0, 2.0, 6.0, 20.0), (10, 1.0, 5.0, 22.0), (30, 1.0, 5.0, 22.0))
    of = trial(solution=(*readings, *events("A2", (3, 1.4, 5.5, 21.0))))
    scores = dict(tray_result(of, "ec").scores)
    assert scores["A1"] == pytest.approx((1.5 * 10 + 1.0 * 20) / 30)
    assert scores["A2"] == pytest.approx(1.4)
    assert dict(tray_result(of, "solution_temperature").scores)["A1"] == pytest.approx(
        (21 * 10 + 22 * 20) / 30
    )


def test_trays_tell_how_sure_the_mean_ec_is():
    of = trial(solution=events("A1", (0, 1.4, 6.0, 20.0)) + events("A2", (0, 1.6, 6.0, 20.0)))
    found = dict(tray_result(of, "ec").estimates)["half"]
    assert (found.value, found.n) == (pytest.approx(1.5), 2)
    # R: 1.5 * exp(c(-1, 1) * qt(.975, 1) * sd(log(c(1.4, 1.6))) / sqrt(2))
    assert (found.low, found.high) == pytest.approx((0.642188439694, 3.503644508259), rel=1e-10)
    assert "units_left_out" in codes(found.notes)


def test_readings_of_one_day_count_as_their_mean():
    of = trial(
        solution=events("A1", (0, 2.0, 6.0, 20.0), (0, 1.0, 6.0, 20.0), (10, 1.5, 6.0, 20.0))
    )
    assert dict(tray_result(of, "ec").scores)["A1"] == pytest.approx(1.5)


def test_ph_is_averaged_as_read_and_compared_by_its_difference():
    found = tray_result(trial(), "ph")
    assert "arithmetic_ph" in codes(dict(found.estimates)["half"].notes)
    compared = dict(found.comparisons)["full"]
    assert (compared.ratio, compared.ratio_low) == (None, None)


def test_a_difference_without_a_ratio_keeps_its_interval_and_its_method():
    weights = next(
        each for each in metrics.compute(trial()).measures if each.measure.key == "tray_yield"
    )
    was = dict(weights.comparisons)["full"]
    now = dict(differences_only(weights).comparisons)["full"]
    assert (now.ratio, now.ratio_low, now.degrees_of_freedom) == (None, None, None)
    assert (now.difference_low, now.p_value) == (was.difference_low, was.p_value)
    assert "log_ratio" not in codes(now.methods)
    blocked = trial(trays=tuple(replace(tray, block=tray.code[1]) for tray in trial().trays))
    modelled = next(
        each for each in metrics.compute(blocked).measures if each.measure.key == "tray_yield"
    )
    assert codes(dict(differences_only(modelled).comparisons)["full"].methods) == ["additive_model"]


def controlled(*losses):
    trays = tuple(Tray(f"C{number}", "half", 0) for number in range(len(losses)))
    water = tuple(
        event
        for tray, loss in zip(trays, losses, strict=True)
        for event in solution(tray.code, loss)
    )
    return trial(trays=(*trial().trays, *trays), solution=(*trial().solution, *water))


def test_transpiration_is_water_less_what_a_tray_without_plants_lost():
    of = controlled(0.3)
    evaporated = estimate(of, "evaporation")
    assert (evaporated.value, evaporated.low) == (pytest.approx(0.3), None)
    transpired = tray_result(of, "transpiration")
    water = next(each for each in metrics.compute(of).measures if each.measure.key == "water_use")
    assert dict(transpired.estimates)["half"].value == pytest.approx(
        dict(water.estimates)["half"].value - 0.3
    )
    half = dict(transpired.estimates)["half"]
    assert message("evaporation_taken_off", trays=Count(1, "unit")) in half.notes
    assert dict(transpired.estimates)["full"].value is None
    assert "no_control" in codes(dict(transpired.estimates)["full"].notes)


def test_several_trays_without_plants_tell_how_sure_the_evaporation_is():
    found = estimate(controlled(0.2, 0.4), "evaporation")
    # 0.3 +- 12.7062 x 0.1, t of 1 degree of freedom as in any table of Student's t
    assert (found.value, found.high) == (
        pytest.approx(0.3),
        pytest.approx(0.3 + 12.7062 * 0.1, abs=1e-5),
    )
    transpired = tray_result(controlled(0.2, 0.4), "transpiration")
    assert "evaporation_not_in_interval" in codes(dict(transpired.estimates)["half"].notes)


def test_without_a_control_water_is_not_split():
    assert "evaporation" not in {each.measure.key for each in treatment_results(trial())}
    assert "transpiration" not in {each.measure.key for each in metrics.compute(trial()).measures}
