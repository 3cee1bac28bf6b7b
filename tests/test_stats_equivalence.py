"""Two one-sided tests of a ratio within its margin."""

from math import log, log1p, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.stats.equivalence import equivalence

# Logarithms of the data set ASAT of the R package mratios (Hauschke, Kieser & Hothorn 1999, Biom.
# J. 41), as tests/test_stats_fieller.py has it. R: mean(log(t)) - mean(log(c)); t.test(log(t),
# log(c), var.equal = TRUE)$stderr
ASAT = (0.1162761821858533, 0.0846976105689139, 32)


@pytest.mark.parametrize(
    ("margin", "p_value", "alike"),
    [
        # R: d <- log(1 + margin); t.test(log(t), log(c), mu = d, alternative = "less", var.equal =
        #   TRUE)$p.value; the
        # other test, mu = -d and "greater", has 0.000171498293224799 and 3.41750154945626e-07
        (0.25, 0.108078985302300465, False),
        (0.5, 0.000876992126012621, True),
    ],
)
def test_the_p_value_is_the_larger_one_of_two_one_sided_t_tests(margin, p_value, alike):
    found = equivalence(*ASAT, margin, 0.95)
    assert (found.p_value, found.alike) == (pytest.approx(p_value, rel=1e-9), alike)
    # R: exp(t.test(log(t), log(c), var.equal = TRUE, conf.level = 0.9)$conf.int)
    assert (found.low, found.high) == pytest.approx(
        (0.973174230687347, 1.29659877858362), rel=1e-12
    )


def test_the_interval_is_that_of_a_published_example_of_bioequivalence():
    # Reference manual of the R package PowerTOST, CI.BE(pe = 0.95, CV = 0.3, n = 24): 0.8213465 to
    #   1.0988055, for a
    # two-period crossover: standard error sqrt(log(1 + CV^2) * 2 / 24), 22 degrees of freedom.
    found = equivalence(log(0.95), sqrt(log1p(0.3**2) * 2 / 24), 22, 0.25, 0.95)
    assert (found.low, found.high) == pytest.approx((0.8213465, 1.0988055), abs=5e-8)
    assert found.alike  # inside 0.80 to 1.25


@given(st.floats(-0.3, 0.3), st.floats(0.01, 0.3), st.integers(2, 30), st.floats(0.02, 0.5))
def test_alike_is_an_interval_inside_the_margin_whichever_treatment_is_the_reference(
    ratio, error, freedom, margin
):
    found = equivalence(ratio, error, freedom, margin, 0.95)
    if abs(found.p_value - 0.05) > 1e-9:
        assert found.alike == (found.low > 1 / (1 + margin) and found.high < 1 + margin)
    inverted = equivalence(-ratio, error, freedom, margin, 0.95)
    assert (inverted.alike, inverted.p_value) == (found.alike, pytest.approx(found.p_value))
    assert (inverted.low, inverted.high) == pytest.approx((1 / found.high, 1 / found.low))


@pytest.mark.parametrize(
    ("error", "margin", "level"), [(0.0, 0.1, 0.95), (0.1, 0.0, 0.95), (0.1, 0.1, 0.5)]
)
def test_what_has_no_answer_is_refused(error, margin, level):
    with pytest.raises(ValueError, match=r"must be above 0|not between"):
        equivalence(0.0, error, 6, margin, level)
