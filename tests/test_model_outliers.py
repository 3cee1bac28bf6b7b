import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.model.outliers import Outliers, outliers

# Measurements by a mass spectrometer for a uranium isotope: Tietjen & Moore (1972), Technometrics
# 14:583-597, as in the NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1, where Grubbs'
# test finds 245.57 to be an outlier.
URANIUM = np.array([199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57])
# Residuals of the vertical semi-diameter of Venus (1846), in the same paper and in 1.3.5.17.2 of
# the handbook
VENUS = np.array(
    [
        -1.40,
        -0.44,
        -0.30,
        -0.24,
        -0.22,
        -0.13,
        -0.05,
        0.06,
        0.10,
        0.18,
        0.20,
        0.39,
        0.48,
        0.63,
        1.01,
    ]
)
# Fresh weights of a treatment, g, the last typed without its decimal point: data of
# nineluijendijk/evolutionarybiology (MIT licence), file of the raw measurements, group S7
SLIPPED = np.array([1.698, 2.417, 3.256, 1.49, 2.045, 2.903, 4.47, 3.879, 1.622, 4248.0])


def test_the_scores_are_those_of_the_median_and_its_absolute_deviation():
    # R: (x - median(x)) / mad(x, constant = 1 / 0.6745)
    expected = [-1.396452261306528, -1.247316582914570, -0.799909547738694, -0.372839195979906]
    expected += [0.372839195979886, 0.393175879396972, 0.549090452261306, 29.962713567839053]
    found = outliers(URANIUM)
    assert found.scores == pytest.approx(expected, rel=1e-12)
    assert found.indices == (7,)


def test_a_slipped_decimal_point_is_found():
    assert outliers(SLIPPED).indices == (9,)
    assert outliers(SLIPPED[:9]).indices == ()


def test_the_limit_decides():
    # by hand: median 0.06, MAD 0.30, so -1.40 has 0.6745 x -1.46 / 0.30 = -3.2826
    assert outliers(VENUS).indices == ()
    assert outliers(VENUS, limit=3.28).indices == (0,)
    assert outliers(VENUS, limit=3.29).indices == ()


def test_where_most_values_are_alike_the_mean_deviation_is_the_measure():
    # by hand: the deviations are 0 but for one of 90, mean 11.25; 90 / (sqrt(pi / 2) x 11.25) =
    #   6.383
    found = outliers(np.array([10.0, 10, 10, 100, 10, 10, 10, 10]))
    assert found.indices == (3,)
    assert found.scores[3] == pytest.approx(6.383076486, rel=1e-9)


def test_one_value_apart_from_fewer_than_four_others_does_not_stand_out():
    # its score is n / sqrt(pi / 2), whatever its distance: 3.19 for four values, 3.99 for five
    assert outliers(np.array([1.0, 1.0, 1.0, 1e6])).indices == ()
    assert outliers(np.array([1.0, 1.0, 1.0, 1.0, 1e6])).indices == (4,)


@pytest.mark.parametrize("values", [[], [4.0], [4.0, 400.0]])
def test_fewer_than_three_values_have_no_outlier(values):
    assert outliers(np.array(values)) == Outliers()


@pytest.mark.parametrize("values", [[0.0] * 4, [0.3, 0.1 + 0.2, 3 * 0.1]])
def test_values_that_are_the_same_up_to_rounding_have_no_outlier(values):
    assert outliers(np.array(values)) == Outliers()


@given(
    st.lists(st.integers(-1000, 1000), min_size=3, max_size=30),
    st.integers(1, 50),
    st.integers(-500, 500),
)
def test_the_unit_and_the_origin_of_the_values_do_not_matter(values, factor, shift):
    values = np.array(values, float)
    plain, changed = outliers(values, 2.0001), outliers(values * factor + shift, 2.0001)
    assert changed.scores == pytest.approx(plain.scores, abs=1e-9)
