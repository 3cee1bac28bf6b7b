"""Matching the light before the start: heights and hours, beside lamps whose field is known in
closed form.
"""

from dataclasses import replace
from datetime import date
from itertools import product
from math import exp, log, sqrt

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import ttest_rel

from reportgen.metrics.light_maps import MOST_BEND, Axis, curve_of, maps_by_treatment
from reportgen.metrics.light_matching import LightTarget, match_light
from reportgen.model.trial import Instrument, LightReading, LightSurvey, Treatment
from reportgen.stats.interpolation import meeting_places, reach_of_meeting
from tests.lamps import Panel, disc, grid, mean_of, readings, small_lamp

NINE = grid(30, 3)
MIDDLE = [(0.0, 0.0)]
COOL, WARM = (
    Treatment("cool", "Cool", photoperiod=16.0),
    Treatment("warm", "Warm", photoperiod=16.0),
)
SENSOR = Instrument("sensor", "light", accuracy=5.0)


def survey(*maps, treatments=(COOL, WARM), instruments=()):
    return LightSurvey(
        treatments, tuple(reading for one in maps for reading in one), tuple(instruments), "cool"
    )


def matched(made, value=None, quantity="ppfd", level=0.95):
    found = match_light(made, LightTarget(quantity, value), level)
    return {light.code: light for light in found.treatments}, found


def holds(interval, value):
    low = -np.inf if interval.low is None else interval.low
    high = np.inf if interval.high is None else interval.high
    return low <= value <= high


def test_an_inverse_square_is_recovered_exactly():
    # 180,000 / height2 gives 450 at 20 cm, 200 at 30 cm and 88.9 at 45 cm (by hand)
    made = survey(readings("cool", small_lamp(180_000), (20, 45), MIDDLE, 2), treatments=(COOL,))
    found, _ = matched(made, 200)
    assert found["cool"].levels[0].light_map.mean == pytest.approx(450)
    assert found["cool"].matched.height == pytest.approx(30)
    assert found["cool"].axis is Axis.LOG_HEIGHT


def test_a_disc_is_recovered_within_the_interval_by_its_bend_alone():
    # 900 x 20^2 / (20^2 + height2) is 225 where height2 = 3 x 20^2, at 34.641 cm (by hand); one
    #   point, no spread
    made = survey(readings("cool", disc(20, 900), (20, 30, 40, 50), MIDDLE, 2), treatments=(COOL,))
    found, _ = matched(made, 225)
    assert found["cool"].matched.height == pytest.approx(20 * sqrt(3), rel=0.01)
    assert holds(found["cool"].matched.between, 34.641)
    assert found["cool"].matched.height < found["cool"].matched.between.high < 36


PANELS = [(5, 5), (20, 20), (40, 20), (60, 60), (110, 6)]


@pytest.mark.parametrize(("width", "length"), PANELS)
@pytest.mark.parametrize("true", [24.0, 33.0, 41.0, 52.0])
def test_the_height_beneath_a_panel_lies_in_its_interval(width, length, true):
    panel = Panel(width, length, 800.0)
    wanted = mean_of(panel, NINE, true)
    found, _ = matched(
        survey(readings("cool", panel, (20, 30, 45, 60), NINE), treatments=(COOL,)), wanted
    )
    assert found["cool"].matched.height == pytest.approx(true, rel=0.06)
    assert holds(found["cool"].matched.between, true)


def test_a_panel_of_known_field():
    # scipy.integrate.dblquad(lambda y, x: 500 / pi * 25**2 / ((x - a)**2 + (y - b)**2 + 25**2)**2,
    # -20, 20, -10, 10) gives 135.724933713 for a = b = 0, and 116.276451229 for a = 10, b = 5
    panel = Panel(40, 20, 500.0)
    assert panel(0, 0, 25) == pytest.approx(135.724933713, rel=1e-9)
    assert panel(10, 5, 25) == pytest.approx(116.276451229, rel=1e-9)


def test_two_lamps_are_matched_at_heights_of_equal_light():
    cool, warm = Panel(40, 20, 900.0), Panel(60, 60, 500.0)
    made = survey(
        readings("cool", cool, (15, 25, 40, 60), NINE),
        readings("warm", warm, (15, 25, 40, 60), NINE),
    )
    found, plan = matched(made)
    assert plan.quantity == "ppfd"
    for code, lamp in (("cool", cool), ("warm", warm)):
        true = brentq(lambda height, lamp=lamp: mean_of(lamp, NINE, height) - plan.level, 10, 70)
        assert holds(found[code].matched.between, true)
        assert mean_of(lamp, NINE, found[code].matched.height) == pytest.approx(
            plan.level, rel=0.04
        )


def test_light_bends_between_heights_no_more_than_is_allowed_for():
    steps = np.linspace(log(10), log(150), 300)
    for (width, length), side, points in product(PANELS, (0, 20, 40), (1, 3, 5)):
        panel, places = Panel(width, length, 1.0), grid(side, points)
        logs = np.log([mean_of(panel, places, exp(step)) for step in steps])
        bends = np.abs(np.diff(logs, 2)) / (steps[1] - steps[0]) ** 2
        assert bends[np.exp(steps[1:-1]) >= side / 4].max() < MOST_BEND


@pytest.mark.slow
def test_intervals_hold_the_true_height_as_often_as_they_say():
    # Nine places drawn at random under a small lamp, whose light differs from place to place by 10
    # % (one standard deviation of the logarithm): the mean that was meant is at 30 cm.
    generator = np.random.default_rng(11)
    held = 0
    for _ in range(1000):
        points = exp(-(0.1**2) / 2) * np.exp(generator.normal(0, 0.1, 9))
        made = [
            LightReading("cool", 180_000 / h**2 * point, height=h)
            for h in (20, 30, 45)
            for point in points
        ]
        curve = curve_of(maps_by_treatment(made)["cool"])
        (place,) = meeting_places(curve.mean, 200)
        held += holds(reach_of_meeting(curve.mean, place, 0.0, 0.95), log(30))
    assert 0.93 < held / 1000 < 0.985


def test_a_shared_sensor_cancels_between_treatments_and_not_against_a_target():
    made = survey(readings("cool", Panel(40, 20, 900.0), (20, 30, 45), NINE), treatments=(COOL,))
    bare, _ = matched(made, 150)
    shared, plan = matched(replace(made, instruments=(SENSOR,)), 150)
    own, of_each = matched(replace(made, instruments=(replace(SENSOR, per_treatment=True),)), 150)
    assert shared["cool"].matched.between == bare["cool"].matched.between
    assert (
        shared["cool"].matched.absolute
        == own["cool"].matched.between
        == own["cool"].matched.absolute
    )
    assert own["cool"].matched.between.low < bare["cool"].matched.between.low
    assert (plan.own_meters, of_each.own_meters, plan.accuracy_known) == (False, True, True)


def test_an_accuracy_widens_the_height_as_the_guide_says():
    # JCGM 100:2008, 4.3.7: limits of 5 % are a standard uncertainty of 5 / sqrt(3) %; with an
    # inverse square the height follows half of that, and at a measured height nothing bends: 30 x
    # exp(+-1.96 x 0.05 / sqrt(3) / 2)
    made = survey(
        readings("cool", small_lamp(180_000), (20, 30, 45), MIDDLE, 2), treatments=(COOL,)
    )
    found, _ = matched(replace(made, instruments=(SENSOR,)), 200)
    low, high = 30 * exp(-1.95996 * 0.05 / sqrt(3) / 2), 30 * exp(1.95996 * 0.05 / sqrt(3) / 2)
    assert found["cool"].matched.absolute.low == pytest.approx(low, abs=0.2)
    assert found["cool"].matched.absolute.high == pytest.approx(high, abs=0.2)


def test_beyond_what_was_measured_nothing_is_given_but_where_to_measure():
    made = survey(readings("cool", small_lamp(180_000), (20, 30), NINE), treatments=(COOL,))
    dark, _ = matched(made, 100)
    bright, _ = matched(made, 600)
    assert (dark["cool"].matched, dark["cool"].why_none) == (None, "beyond")
    assert (bright["cool"].matched, bright["cool"].why_none) == (None, "beyond")
    mean = brentq(lambda height: mean_of(small_lamp(180_000), NINE, height) - 100, 10, 90)
    assert dark["cool"].advised.low < mean < dark["cool"].advised.high
    assert dark["cool"].advised.low > 30
    assert bright["cool"].advised.high < 20


def test_an_interval_that_does_not_end_within_the_heights_is_open():
    made = survey(readings("cool", Panel(40, 20, 900.0), (20, 30, 45), NINE), treatments=(COOL,))
    lowest = mean_of(Panel(40, 20, 900.0), NINE, 45)
    found, _ = matched(made, lowest * 1.001)
    assert found["cool"].matched.between.high is None
    assert found["cool"].matched.between.low < found["cool"].matched.height


def test_treatments_without_a_common_level_are_told_where_readings_lack():
    made = survey(
        readings("cool", small_lamp(180_000), (20, 30), NINE),
        readings("warm", small_lamp(40_000), (20, 30), NINE),
    )
    found, plan = matched(made)
    assert plan.reached is None
    assert {light.why_none for light in found.values()} == {"beyond"}
    assert found["cool"].advised.low >= 30
    assert found["warm"].advised.high <= 20


def test_the_level_in_common_is_the_middle_of_what_all_reach():
    # 450 to 112.5 and 200 to 50 have 200 to 112.5 in common; the root of their product is 150
    made = survey(
        readings("cool", small_lamp(180_000), (20, 40), MIDDLE),
        readings("warm", small_lamp(80_000), (20, 40), MIDDLE),
    )
    found, plan = matched(made)
    assert (plan.reached.low, plan.reached.high) == pytest.approx((112.5, 200))
    assert plan.level == pytest.approx(150)
    assert found["cool"].matched.height == pytest.approx(sqrt(180_000 / 150))
    assert found["warm"].matched.height == pytest.approx(sqrt(80_000 / 150))


def test_days_of_unlike_length_are_matched_by_the_light_of_a_day():
    # 200 for 16 h and 266.7 for 12 h are 11.52 mol a day (200 x 16 x 3600 / 1e6)
    treatments = (COOL, replace(WARM, photoperiod=12.0))
    lamp = small_lamp(180_000)
    made = survey(
        readings("cool", lamp, (20, 40), MIDDLE),
        readings("warm", lamp, (20, 40), MIDDLE),
        treatments=treatments,
    )
    found, plan = matched(made, 11.52, "dli")
    assert match_light(made, LightTarget(), 0.95).quantity == "dli"
    assert found["cool"].matched.height == pytest.approx(30)
    assert found["warm"].matched.height == pytest.approx(30 * sqrt(3) / 2)
    assert plan.quantity == "dli"


def test_hours_a_day_are_those_of_the_height_in_use_else_of_each_height():
    # At 30 cm 200 give 0.72 mol an hour, so 11.52 mol take 16 h; at 40 cm 28.4 h, which no day has
    lamp = small_lamp(180_000)
    made = survey(
        readings("cool", lamp, (20, 30, 40), MIDDLE, 2),
        treatments=(replace(COOL, photoperiod=None),),
    )
    found, _ = matched(made, 11.52, "dli")
    assert [hours.height for hours in found["cool"].hours] == [20, 30, 40]
    assert [hours.hours for hours in found["cool"].hours] == pytest.approx(
        [16 * (2 / 3) ** 2, 16, 16 * (4 / 3) ** 2]
    )
    assert found["cool"].why_none == "no_photoperiod"
    in_use = replace(made, treatments=(replace(COOL, light_height=25.0),))
    (hours,) = matched(in_use, 11.52, "dli")[0]["cool"].hours
    assert (hours.height, hours.hours) == pytest.approx((25, 16 * (25 / 30) ** 2))


def test_readings_without_a_height_still_give_hours():
    made = survey((LightReading("cool", 190.0), LightReading("cool", 210.0)), treatments=(COOL,))
    found, _ = matched(made, 11.52, "dli")
    assert found["cool"].why_none == "no_height"
    assert found["cool"].hours[0].hours == pytest.approx(16)
    assert found["cool"].hours[0].between.low < 16 < found["cool"].hours[0].between.high


def test_a_sensor_that_was_moved_towards_the_lamp_is_read_the_other_way():
    lamp = small_lamp(400_000)
    made = [
        replace(one, height=80 - one.height)
        for one in readings("cool", lamp, (40, 50, 60, 70), NINE)
    ]
    found, _ = matched(survey(made, treatments=(COOL,)), mean_of(lamp, NINE, 54))
    assert found["cool"].axis is Axis.HEIGHT
    assert holds(found["cool"].matched.between, 80 - 54)


def test_heights_that_rise_in_one_treatment_and_fall_in_another_are_pointed_out():
    lamp = small_lamp(180_000)
    moved = [replace(one, height=80 - one.height) for one in readings("warm", lamp, (40, 50), NINE)]
    assert matched(survey(readings("cool", lamp, (20, 30), NINE), moved))[1].directions_differ
    assert not matched(
        survey(readings("cool", lamp, (20, 30), NINE), readings("warm", lamp, (20, 30), NINE))
    )[1].directions_differ


def test_light_that_wavers_over_height_gives_no_height_where_it_meets_the_target_twice():
    wavering = [
        LightReading("cool", ppfd, height=h)
        for h, ppfd in ((20, 300), (30, 200), (40, 260), (50, 150))
    ]
    found, _ = matched(survey(wavering, treatments=(COOL,)), 230)
    assert (found["cool"].matched, found["cool"].why_none) == (None, "several_heights")
    assert "not_steady" in found["cool"].findings
    assert matched(survey(wavering, treatments=(COOL,)), 280)[0]["cool"].matched is not None


def test_matched_treatments_may_still_differ_by_both_their_spreads():
    # Three points at 98, 100 and 102 % of an inverse square: standard errors of 0.02 / sqrt(3)
    # each. By JCGM 100:2008, G.4.1, both together have sqrt(2) of that and 4 degrees of freedom:
    # exp(2.776445 x 0.0163299) - 1 (R: qt(.975, 4))
    made = [
        LightReading(code, strength / height**2 * share, x=x, y=y, height=height)
        for code, strength, heights, y in (
            ("cool", 180_000, (20, 30, 45), 0.0),
            ("warm", 125_000, (15, 25, 40), 5.0),
        )
        for height in heights
        for x, share in ((0.0, 0.98), (10.0, 1.0), (20.0, 1.02))
    ]
    assert matched(survey(made), 200)[1].may_differ == pytest.approx(
        exp(2.776445 * 0.0163299) - 1, rel=1e-5
    )
    single = [one for one in made if one.x == 10 or one.treatment == "cool"]
    assert matched(survey(single), 200)[1].may_differ is None


def four_points(code, far, shift=0.0):
    """Return readings of four points, `far` at 40 cm, by the inverse square of the height."""
    return tuple(
        LightReading(code, ppfd * factor, x=10.0 * place + shift, y=0.0, height=height)
        for height, factor in ((20.0, 4.0), (40.0, 1.0), (80.0, 0.25))
        for place, ppfd in enumerate(far)
    )


def test_maps_of_the_same_points_are_compared_point_by_point():
    # the interval of a paired t test by scipy; at a measured height nothing bends
    one, other = (100.0, 200.0, 150.0, 150.0), (110.0, 190.0, 140.0, 160.0)
    found, match = matched(survey(four_points("cool", one), four_points("warm", other)), 150)
    limits = ttest_rel(np.log(one), np.log(other)).confidence_interval(0.95)
    assert found["warm"].matched.height == pytest.approx(40)
    assert match.may_differ == pytest.approx(exp((limits.high - limits.low) / 2) - 1, rel=1e-6)
    assert found["warm"].matched.is_paired


def test_a_pattern_that_two_lamps_share_is_no_difference_between_them():
    far = (100.0, 200.0, 150.0, 150.0)
    found, match = matched(survey(four_points("cool", far), four_points("warm", far)), 150)
    between = found["warm"].matched.between
    assert match.may_differ == pytest.approx(0, abs=1e-9)
    assert (between.low, between.high) == (pytest.approx(40), pytest.approx(40))
    assert found["warm"].matched.absolute.low < 39


def test_maps_of_other_points_are_compared_by_their_spreads():
    far = (100.0, 200.0, 150.0, 150.0)
    found, match = matched(
        survey(four_points("cool", far), four_points("warm", far, shift=3.0)), 150
    )
    assert not found["warm"].matched.is_paired
    assert match.may_differ > 0.2


def test_a_third_lamp_with_other_points_leaves_pairs_of_the_others():
    far = (100.0, 200.0, 150.0, 150.0)
    made = survey(
        four_points("cool", far),
        four_points("warm", far),
        four_points("blue", far, shift=3.0),
        treatments=(COOL, WARM, Treatment("blue", "Blue", photoperiod=16.0)),
    )
    found, match = matched(made, 150)
    assert not any(light.matched.is_paired for light in found.values())
    assert match.may_differ > 0.2


def test_evenness_is_interpolated_between_maps_like_the_mean():
    # At 20 cm 0.5 and at 45 cm 0.9; ln(30/20) / ln(45/20) = 1/2, so at 30 cm it is the root of
    #   their product
    made = [LightReading("cool", p, x=x, y=0.0, height=20) for x, p in ((0, 450), (10, 150))]
    made += [LightReading("cool", p, x=x, y=0.0, height=45) for x, p in ((0, 110), (10, 90))]
    found, _ = matched(survey(made, treatments=(COOL,)), sqrt(300 * 100))
    assert found["cool"].matched.height == pytest.approx(30)
    assert found["cool"].matched.evenness == pytest.approx(sqrt(0.5 * 0.9))
    dark = [*made, LightReading("cool", 0.0, x=20, y=0.0, height=45)]
    assert matched(survey(dark, treatments=(COOL,)), 173)[0]["cool"].matched.evenness is None


def test_repeated_readings_of_a_place_count_as_one_point():
    made = [LightReading("cool", p, x=0.0, y=0.0, height=20) for p in (90.0, 110.0)]
    made += [LightReading("cool", 200.0, x=10.0, y=0.0, height=20)]
    (light_map,) = maps_by_treatment(made)["cool"]
    assert sorted(light_map.points) == [100, 200]
    assert light_map.mean == 150


def test_of_several_dates_at_one_height_the_latest_counts():
    early = [
        replace(one, on=date(2026, 3, 1))
        for one in readings("cool", small_lamp(90_000), (20, 40), NINE)
    ]
    late = [
        replace(one, on=date(2026, 3, 9))
        for one in readings("cool", small_lamp(180_000), (20, 40), MIDDLE)
    ]
    found, _ = matched(survey(early, late, treatments=(COOL,)), 200)
    assert found["cool"].matched.height == pytest.approx(30)
    assert "earlier_left_out" in found["cool"].findings


def test_maps_of_other_points_are_named():
    lamp = small_lamp(180_000)
    made = survey(readings("cool", lamp, (20, 40), NINE), readings("warm", lamp, (20,), NINE[:4]))
    found, plan = matched(
        replace(made, light=(*made.light, *readings("warm", lamp, (40,), NINE[2:6])))
    )
    assert plan.same_places == (("cool",), ("warm",))
    assert "places_differ" in found["warm"].findings
    assert "places_differ" not in found["cool"].findings


def test_one_height_or_none_is_said():
    made = survey(readings("cool", small_lamp(180_000), (20,), NINE))
    found, plan = matched(made, 200)
    assert (found["cool"].why_none, found["warm"].why_none) == ("one_height", "no_readings")
    assert match_light(made, LightTarget(), 0.95).level is None
    single = survey(readings("cool", small_lamp(180_000), (20, 40), MIDDLE), treatments=(COOL,))
    assert "spread_not_known" in matched(single, 200)[0]["cool"].findings
    assert plan.is_given
