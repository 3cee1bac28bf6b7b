"""Units of display, against exact definitions."""

import json
import re
from dataclasses import fields, is_dataclass

import pytest

from reportgen import language, metrics, pipeline, report
from reportgen.model.document import Prose
from reportgen.model.results import Comparison, Estimate, Measure, MeasureResult
from reportgen.model.settings import Settings
from reportgen.report.units import (
    METRIC,
    US,
    Display,
    amounts,
    customary,
    displayed,
    shown_as,
    using,
)
from reportgen.workbook.units import conversion
from tests.made_trials import write_made
from tests.test_samples import trial_of
from tests.trials import trial

BOTH = Display("metric", has_other=True)
MEASURES = metrics.compute(trial()).measures


def of(key, display):
    found = [result for result in MEASURES if result.measure.key == key]
    return displayed(found, display)


@pytest.mark.parametrize(
    ("unit", "shown"), [("g", "oz"), ("cm", "in"), ("mm", "in"), ("°C", "°F"), ("L", "US gal")]
)
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
    assert customary("g/L").factor == pytest.approx(3.785411784 / 28.349523125, rel=1e-12)
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
    (shown,) = displayed([warm], US)
    # By definition of the scale: 20 °C = 68 °F, and 2 K = 3.6 °F.
    assert (shown.estimates[0][1].value, shown.comparisons[0][1].difference) == pytest.approx(
        (68.0, 3.6)
    )
    assert shown.estimates[0][1].standard_error == pytest.approx(0.9)


def test_metric_is_as_it_was_and_both_stand_below_one_another():
    assert of("fresh_weight", METRIC)[0].measure.unit == "g/plant"
    both = of("fresh_weight", BOTH)
    assert [result.measure.unit for result in both] == ["g/plant", "oz/plant"]
    assert [result.measure.unit for result in of("survival", BOTH)] == ["%"]
    metric, us = (dict(result.estimates)["half"] for result in both)
    assert us.value * 28.349523125 == pytest.approx(metric.value, rel=1e-12)
    assert us.low * 28.349523125 == pytest.approx(metric.low, rel=1e-12)
    one, other = (result.comparisons[0][1] for result in both)
    assert (one.ratio, one.p_value) == (other.ratio, other.p_value)
    assert other.difference * 28.349523125 == pytest.approx(one.difference, rel=1e-12)


def test_small_amounts_have_the_small_unit_and_a_difference_of_temperatures_has_none_of_zero():
    # NIST Handbook 44, appendix C: 1 lb = 16 oz = 453.59237 g; 1 US gal = 8 liquid pints = 128 fluid
    # ounces = 3.785411784 L; 1 ft2 = 0.09290304 m2. NIST Special Publication 811, appendix B.9: a
    # difference of 1 K is one of 1.8 °F.
    with using(US):
        ((weight, ounces),) = amounts(453.0, "g")
        ((volume, fluid_ounces),) = amounts(0.473, "L")
        ((step, degrees),) = amounts(1.0, "K")
        ((area, square_feet),) = amounts(0.09290304, "m2")
    assert (weight, ounces) == (pytest.approx(453.0 / 453.59237 * 16), "oz")
    assert (volume, fluid_ounces) == (pytest.approx(0.473 / 3.785411784 * 128), "US fl oz")
    assert (step, degrees, square_feet) == (pytest.approx(1.8), "°F", "ft2")
    assert area == pytest.approx(1)
    assert shown_as("g/tray", "us", 1814.0).unit == "oz/tray"
    assert shown_as("g/tray", "us", 1815.0).unit == "lb/tray"
    assert shown_as("L/tray", "us", 0.474).unit == "US gal/tray"
    assert shown_as("g/tray", "us", 1815.0).factor == pytest.approx(1 / 453.59237)


# ---- one system a page ---------------------------------------------------------------------------

# Symbols and names of units that have a counterpart, as they stand in texts and in drawings.
OF_METRIC = re.compile(
    r"(?<![\w/·])(?:kg|g|L|mL|cm|mm|°C|K)(?![\w²])|/(?:g|kg|L)\b|kilogram|kilo\b|litre"
)
OF_US = re.compile(
    r"(?<!\w)(?:oz|lb|°F|ft2)(?!\w)|US (?:gal|fl)|\d in(?=[,.;)]|$)|\(in\)|pound|gallon"
)
DRAWINGS = {"spec", "narrow_spec"}
APART = {"key", "content", "results", "data", "dataset", *DRAWINGS}


def read_texts(value, names=APART):
    """Yield each text of a part of a report, those of its drawings too; not the grower's words."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from read_texts(one)
    elif is_dataclass(value) and not isinstance(value, Prose):
        for field in fields(value):
            inside = getattr(value, field.name)
            if field.name in DRAWINGS and inside:
                yield from strings(json.loads(inside))
            elif field.name not in names:
                yield from read_texts(inside)


def strings(value):
    if isinstance(value, str):
        yield value
    elif isinstance(value, list):
        for one in value:
            yield from strings(one)
    elif isinstance(value, dict):
        for key, one in value.items():
            if key != "tooltip":
                yield from strings(one)


def page(document):
    """Return what stands on a report's page, but for the section on its data."""
    sections = [one for one in document.annex if one.key != "data"]
    parts = (document.headline, document.lead, document.box, document.trust, document.answer)
    return [
        text
        for part in (*parts, document.description, document.sections, *sections)
        for text in read_texts(part)
    ]


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("units")
    return {name: pipeline.checked(write_made(folder, name)) for name in ("us_units", "losses")}


def composed(of, units="typed"):
    return report.compose(of, metrics.compute(of), Settings(units=units))


def named(document, pattern):
    return [text for text in page(document) if pattern.search(text)]


def test_a_trial_typed_in_ounces_and_gallons_has_a_page_in_these_alone(made):
    document = composed(made["us_units"])
    assert named(document, OF_METRIC) == []
    shown = "\n".join(page(document))
    assert all(text in shown for text in ("4.63 oz", "US gal/lb", "kWh/lb"))


def test_a_sample_typed_in_ounces_gallons_and_fahrenheit_has_a_page_in_these_alone():
    document = composed(trial_of("basil-day-length.xlsx"))
    assert named(document, OF_METRIC) == []
    assert any("°F" in text for text in page(document))


@pytest.mark.parametrize("units", ["typed", "metric"])
def test_a_trial_typed_in_grams_has_a_page_in_metric_units_alone(made, units):
    document = composed(made["losses"], units)
    assert named(document, OF_US) == []
    assert named(document, OF_METRIC)


def test_a_setting_overrules_what_was_typed(made):
    assert named(composed(made["us_units"], "metric"), OF_US) == []
    assert named(composed(made["losses"], "us"), OF_METRIC) == []


def test_with_both_the_other_system_follows_in_brackets(made):
    document = composed(made["us_units"], "both")
    first = document.box.rows[0]
    assert first.unit == "oz/plant (g/plant)"
    ounces, grams = map(float, re.fullmatch(r"([\d.]+) \(([\d.]+)\)", first.reference).groups())
    assert grams / ounces == pytest.approx(28.349523125, rel=0.01)
    assert re.search(r"4\.63 oz \(131 g\)", document.lead[0])
    shown = page(document)
    assert "Fresh weight per US gallon (oz/US gal)" in shown
    assert "Fresh weight per litre (g/L)" in shown
    assert any(re.search(r"[\d.]+ US gal \([\d.]+ L\)", text) for text in shown)
    metric_first = composed(made["losses"], "both")
    assert metric_first.box.rows[0].unit == "g/plant (oz/plant)"


@pytest.mark.parametrize("units", ["typed", "metric", "us", "both"])
def test_the_results_file_is_metric_whatever_the_page_shows(made, units):
    of = made["us_units"]
    assert composed(of, units).results == composed(of, "metric").results
    with language.using(language.ENGLISH):
        assert " oz" not in composed(of, units).results
