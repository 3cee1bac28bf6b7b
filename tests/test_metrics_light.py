"""Light out of maps: PPFD, uniformity, daily light integral, photons and what was made of them."""

from dataclasses import replace
from datetime import date

import pytest

from reportgen import metrics
from reportgen.metrics.figures import treatment_results
from reportgen.model.message import Count, message
from reportgen.model.trial import LightReading, Load
from tests.trials import codes, light_map, lit_trial, readings, trial

# PPFD (µmol/m2/s), photoperiod (h) and daily light integral (mol/m2/d), inputs as published,
# products by hand: Palmitessa et al., PMC12995675 (the paper rounds all three to 14.4), and Pennisi
# et al. 2019, Sci. Rep. 9:14127.
PUBLISHED_DLI = ((250, 16, 14.4), (340, 12, 14.688), (170, 24, 14.688), (215, 16, 12.384))


def result(of, key):
    return next(each for each in treatment_results(of) if each.measure.key == key)


def estimate(of, key, treatment="half"):
    return dict(result(of, key).estimates)[treatment]


def comparison(of, key):
    return dict(result(of, key).comparisons)["full"]


def with_treatment(of, code, **changes):
    return replace(
        of,
        treatments=tuple(
            replace(each, **changes) if each.code == code else each for each in of.treatments
        ),
    )


def per_mol(of, treatment="half"):
    found = next(
        each for each in metrics.compute(of).measures if each.measure.key == "yield_per_mol"
    )
    return dict(found.estimates)[treatment]


@pytest.mark.parametrize(("ppfd", "hours", "expected"), PUBLISHED_DLI)
def test_the_daily_light_integral_is_that_of_published_pairs(ppfd, hours, expected):
    of = with_treatment(lit_trial(light=light_map("half", ppfd)), "half", photoperiod=float(hours))
    assert estimate(of, "dli").value == pytest.approx(expected, rel=1e-9)


def test_ppfd_is_the_mean_of_the_map_and_has_no_interval():
    found = estimate(lit_trial(), "ppfd")
    assert found.value == pytest.approx(200.0)
    assert (found.low, found.high, found.standard_error) == (None, None, None)
    assert codes(found.notes) == ["one_map"]


def test_maps_of_several_dates_count_alike_however_many_points_they_have():
    maps = light_map("half", 100.0, on=date(2026, 4, 1)) + light_map(
        "half", 200.0, 220.0, 180.0, on=date(2026, 5, 1)
    )
    found = estimate(lit_trial(light=maps), "ppfd")
    assert found.value == pytest.approx(150.0)
    assert codes(found.notes) == ["maps_of_dates"]
    assert message("mean_over_dates", dates=Count(2, "date")) in found.methods


def test_uniformity_is_minimum_over_mean_and_needs_two_points():
    assert estimate(lit_trial(), "ppfd_uniformity").value == pytest.approx(160 / 200)
    single = lit_trial(light=light_map("half", 200.0) + light_map("full", 240.0, 260.0))
    assert estimate(single, "ppfd_uniformity").value is None
    assert "one_point" in codes(estimate(single, "ppfd_uniformity").notes)
    assert comparison(single, "ppfd_uniformity").ratio is None


def test_a_dark_map_has_no_uniformity():
    dark = lit_trial(light=light_map("half", 0.0, 0.0) + light_map("full", 240.0, 260.0))
    assert estimate(dark, "ppfd_uniformity").value is None
    assert estimate(dark, "dli").value == 0
    assert per_mol(dark).value is None


def test_light_is_compared_by_figures_without_interval_or_p_value():
    found = comparison(lit_trial(), "dli")
    assert found.ratio == pytest.approx(250 / 200)
    assert (found.ratio_low, found.ratio_high, found.p_value) == (None, None, None)
    assert "one_map" in codes(found.notes)


def test_a_figure_that_needs_the_photoperiod_or_the_area_says_what_is_missing():
    dark = with_treatment(lit_trial(), "half", photoperiod=None)
    assert estimate(dark, "dli").value is None
    assert codes(estimate(dark, "dli").notes) == ["no_photoperiod"]
    assert per_mol(dark).value is None
    assert "no_photoperiod" in codes(per_mol(dark).notes)
    without_area = with_treatment(lit_trial(), "half", canopy_area=None)
    assert codes(estimate(without_area, "photons").notes) == ["no_area"]


def test_photons_are_those_of_each_trays_own_days():
    # 250 µmol/m2/s x 16 h = 14.4 mol/m2/d on 0.5 m2: 7.2 mol a day; two trays of 35 days and one of
    # 30
    early = tuple(
        replace(tray, harvested_on=date(2026, 5, 1)) if tray.code == "B1" else tray
        for tray in trial().trays
    )
    of = lit_trial(trays=early)
    found = estimate(of, "photons", "full")
    assert found.value == pytest.approx(7.2 * (35 + 35 + 30) / 3)
    assert found.low is None
    weight = sum((85, 80, 89))
    assert per_mol(of, "full").value == pytest.approx(weight / (7.2 * 100))


def test_yield_per_mol_has_the_interval_of_the_weights_and_says_so():
    found = per_mol(lit_trial())
    # R 4.2.2: half <- c(66, 67, 63); full <- c(85, 80, 89); res <- c(half / mean(half), full /
    #   mean(full)) - 1
    # mean(half) / (200 * 16 * 3600 / 1e6 * .5 * 35) * exp(c(-1, 1) * qt(.975, 4) * sqrt(sum(res^2)
    # / 4 / 3))
    assert (found.low, found.high) == pytest.approx(
        (0.302060097858918, 0.347692416944199), rel=1e-12
    )
    assert codes(found.notes) == ["light_is_one_figure"]


def test_canopy_efficacy_is_photons_on_the_canopy_over_energy():
    # Independent of mean power: photons of all trays over the trial, in µmol, over energy in J
    photons = 3 * 200 * 16 * 3600 * 0.5 * 35
    joules = 12.0 * 3.6e6
    found = estimate(lit_trial(), "canopy_efficacy")
    assert found.value == pytest.approx(photons / joules)
    assert type(found.value) is float
    assert "all_electricity" in codes(found.notes)


def test_a_shared_meter_tells_no_canopy_efficacy():
    keys = {each.measure.key for each in treatment_results(lit_trial(meter=readings(None, 20.0)))}
    assert "canopy_efficacy" not in keys
    one = lit_trial(meter=readings("half", 12.0))
    assert estimate(one, "canopy_efficacy", "full").value is None
    assert "no_energy" in codes(estimate(one, "canopy_efficacy", "full").notes)


def test_canopy_efficacy_of_calculated_energy_says_so():
    # 42.857 W for 16 h on 35 days: 24 kWh
    of = lit_trial(
        meter=readings("full", 14.0), loads=(Load("half", "lamp", 24_000 / (16 * 35), 16.0),)
    )
    found = estimate(of, "canopy_efficacy")
    assert found.value == pytest.approx(estimate(lit_trial(), "canopy_efficacy").value / 2)
    assert "calculated_electricity" in codes(found.notes)


def test_a_treatment_without_a_map_is_not_known_and_a_trial_without_maps_has_no_figure_of_light():
    half = lit_trial(light=light_map("half", 200.0, 210.0))
    assert estimate(half, "ppfd", "full").value is None
    assert codes(estimate(half, "ppfd", "full").notes) == ["no_map"]
    assert "no_map" in codes(comparison(half, "ppfd").notes)
    keys = {each.measure.key for each in treatment_results(lit_trial(light=()))}
    assert not keys & {"ppfd", "ppfd_uniformity", "dli", "photons", "canopy_efficacy"}
    assert "yield_per_mol" not in {
        each.measure.key for each in metrics.compute(lit_trial(light=())).measures
    }


def at_heights(treatment, levels, on=None):
    """Return a map of two points, mean as given, for each height in cm."""
    return tuple(
        LightReading(treatment, share * mean, on, x=10.0 * place, y=0.0, height=height)
        for height, mean in levels.items()
        for place, share in enumerate((0.9, 1.1))
    )


def test_light_of_several_heights_is_never_averaged():
    of = lit_trial(
        light=at_heights("half", {20.0: 450.0, 45.0: 200.0 / 2.25})
        + light_map("full", 240.0, 260.0)
    )
    found = estimate(of, "ppfd")
    assert found.value is None
    assert codes(found.notes) == ["light_height_not_known"]
    assert estimate(of, "dli").value is None
    assert codes(estimate(of, "ppfd_uniformity").notes) == ["light_height_not_known"]
    assert estimate(of, "ppfd", "full").value == 250


def test_light_counts_at_the_height_in_use():
    maps = at_heights("half", {20.0: 450.0, 45.0: 200.0 / 2.25}) + light_map("full", 240.0, 260.0)
    of = lit_trial(light=maps)
    measured = with_treatment(of, "half", light_height=20.0)
    assert estimate(measured, "ppfd").value == pytest.approx(450)
    assert codes(estimate(measured, "ppfd").notes) == ["one_map"]
    # An inverse square of 450 at 20 cm is 200 at 30 cm
    between = with_treatment(of, "half", light_height=30.0)
    assert estimate(between, "ppfd").value == pytest.approx(200)
    assert codes(estimate(between, "ppfd").notes) == ["one_map", "light_interpolated"]
    assert estimate(between, "dli").value == pytest.approx(200 * 16 * 0.0036)
    assert estimate(between, "ppfd_uniformity").value == pytest.approx(0.9)
    beyond = with_treatment(of, "half", light_height=50.0)
    assert estimate(beyond, "ppfd").value is None
    assert codes(estimate(beyond, "ppfd").notes) == ["light_height_not_measured"]


def test_a_map_of_one_height_counts_and_the_survey_before_it_does_not():
    survey = at_heights("half", {20.0: 450.0, 45.0: 88.9}, date(2026, 3, 20))
    of = lit_trial(light=survey + at_heights("half", {32.0: 180.0}, date(2026, 4, 1)))
    found = estimate(of, "ppfd")
    assert found.value == pytest.approx(180)
    assert codes(found.notes) == ["one_map", "light_survey_left_out"]


def test_plants_that_grew_towards_the_lamp_have_the_mean_of_their_dates():
    grown = at_heights("half", {5.0: 180.0}, date(2026, 4, 1)) + at_heights(
        "half", {20.0: 220.0}, date(2026, 5, 1)
    )
    assert estimate(lit_trial(light=grown), "ppfd").value == pytest.approx(200)
