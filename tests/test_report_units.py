"""Units of display, against exact definitions."""

import pytest

from reportgen import metrics
from reportgen.model.results import Comparison, Estimate, Measure, MeasureResult
from reportgen.report.units import customary, displayed
from reportgen.workbook.units import conversion
from tests.trials import trial

MEASURES = metrics.compute(trial()).measures


def of(key, units):
    found = [result for result in MEASURES if result.measure.key == key]
    return displayed(found, units)


@pytest.mark.parametrize(("unit", "shown"), [("g", "oz"), ("cm", "in"), ("mm", "in"), ("°C", "°F")])
def test_simple_units_convert_as_pint_does(unit, shown):
    # Pint's registry: units of NIST Special Publication 811.
    found = customary(unit)
    assert found.unit == shown
    back, offset = conversion(shown, unit)
    assert found.factor * back == pytest.approx(1, rel=1e-12)
    assert found.offset * back + offset == pytest.approx(0, abs=1e-9)


def test_ratios_of_units_convert_by_their_parts():
    # Exact units: lb 453.59237 g; US gal 3.785411784 L; oz 28.349523125 g.
    assert customary("mL/g").factor == pytest.approx(453.59237 / 3785.411784, rel=1e-12)
    assert customary("g/L").factor == pytest.approx(3.785411784 / 453.59237, rel=1e-12)
    assert customary("kWh/kg").factor == pytest.approx(0.45359237, rel=1e-12)
    assert customary("L/tray").factor == pytest.approx(1 / 3.785411784, rel=1e-12)
    assert customary("EUR/g") == ("EUR/lb", pytest.approx(453.59237), 0.0)
    assert customary("g/EUR").unit == "oz/EUR"
    assert customary("%") is customary("µmol/m2/s") is customary("mol/tray") is None


def test_a_difference_of_temperatures_has_no_zero_point():
    measure = Measure("air_temperature", "Air temperature", "°C")
    warm = MeasureResult(
        measure, (("x", Estimate(20.0, 19.0, 21.0, 0.5)),), (("x", Comparison(difference=2.0)),)
    )
    (shown,) = displayed([warm], "us")
    # By definition of the scale: 20 °C = 68 °F, and 2 K = 3.6 °F.
    assert (shown.estimates[0][1].value, shown.comparisons[0][1].difference) == pytest.approx(
        (68.0, 3.6)
    )
    assert shown.estimates[0][1].standard_error == pytest.approx(0.9)


def test_metric_is_as_it_was_and_both_stand_below_one_another():
    assert of("fresh_weight", "metric")[0].measure.unit == "g/plant"
    both = of("fresh_weight", "both")
    assert [result.measure.unit for result in both] == ["g/plant", "oz/plant"]
    assert [result.measure.unit for result in of("survival", "both")] == ["%"]
    metric, us = (dict(result.estimates)["half"] for result in both)
    assert us.value * 28.349523125 == pytest.approx(metric.value, rel=1e-12)
    assert us.low * 28.349523125 == pytest.approx(metric.low, rel=1e-12)
    one, other = (result.comparisons[0][1] for result in both)
    assert (one.ratio, one.p_value) == (other.ratio, other.p_value)
    assert other.difference * 28.349523125 == pytest.approx(one.difference, rel=1e-12)
