"""Units of headers and cells: converted by exact factors, asked back where they could be two."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reportgen.workbook.units import UnitError, conversion
from tests.workbooks import findings, good, put, said, trial, write

# NIST Handbook 44, Appendix C, general tables of units of measurement, exact by definition: 1 oz =
# 28.349523125 g, 1 lb = 453.59237 g, 1 in = 2.54 cm, 1 ft = 30.48 cm, 1 ft2 = 0.09290304 m2, 1 US
# gal = 231 in3 = 3.785411784 L, 1 US fl oz = 29.5735295625 mL. The imperial gallon is 4.54609 L (UK
# Units of Measurement Regulations 1995).
OZ, LB, INCH, FT2, US_GAL, IMP_GAL, US_FL_OZ = (
    28.349523125,
    453.59237,
    2.54,
    0.09290304,
    3.785411784,
    4.54609,
    0.0295735295625,
)

HEADERS = [
    ("Plants_C1", "Fresh weight (oz)", OZ),
    ("Plants_C1", "FRESH_WEIGHT [Lb]", LB),
    ("Plants_C1", "fresh weight (Kg)", 1000),
    ("Plants_C1", "Fresh  weight (GRAMS)", 1),
    ("Plants_D1", "Height (in)", INCH),
    ("Plants_D1", "Height (mm)", 0.1),
    ("Solution_D1", "Volume (US gal)", US_GAL),
    ("Solution_D1", "Volume (gal (US))", US_GAL),
    ("Solution_D1", "volume (imp gal)", IMP_GAL),
    ("Solution_D1", "Volume (US fl. oz.)", US_FL_OZ),
    ("Solution_D1", "Volume (mL)", 0.001),
    ("Solution_D1", "Volume (ml)", 0.001),
    ("Solution_D1", "Volume (Ml)", 0.001),
    ("Solution_E1", "EC (µS/cm)", 0.001),
    ("Solution_E1", "EC (μS/cm)", 0.001),  # the Greek letter
    ("Solution_E1", "EC (uS/cm)", 0.001),
    ("Solution_E1", "EC (dS/m)", 1),
    ("Solution_E1", "EC (ms/cm)", 1),
    ("Treatments_C1", "Canopy area (ft²)", FT2),
    ("Treatments_C1", "Canopy area (sq. ft.)", FT2),
    ("Treatments_C1", "Canopy area (cm2)", 1e-4),
    ("Meter_D1", "Reading (Wh)", 0.001),
    ("Meter_D1", "Reading (KWH)", 1),
    ("Trial_A8", "Electricity price (EUR/MWh)", 0.001),
]


def numbers(path):
    """Return every number of a trial by what it is."""
    made = trial(path)
    return {
        "Fresh weight": [plant.fresh_weight for plant in made.plants],
        "Height": [plant.traits[0] for plant in made.plants],
        "Volume": [event.volume for event in made.solution],
        "EC": [event.ec for event in made.solution],
        "Temperature": [event.temperature for event in made.solution],
        "Canopy area": [treatment.canopy_area for treatment in made.treatments],
        "Reading": [reading.reading for reading in made.meter],
        "Electricity price": [made.electricity_price],
    }


PLACES = {
    "Plants_C1": "Fresh weight",
    "Plants_D1": "Height",
    "Solution_D1": "Volume",
    "Solution_E1": "EC",
    "Treatments_C1": "Canopy area",
    "Meter_D1": "Reading",
    "Trial_A8": "Electricity price",
}


@pytest.mark.parametrize(("place", "header", "factor"), HEADERS)
def test_a_unit_in_the_header_is_converted_exactly(tmp_path, place, header, factor):
    plain = numbers(write(good(), tmp_path / "plain.xlsx"))
    euros = {"Trial_A8": "Electricity price (EUR per kWh)", "Trial_A9": "Currency"}
    spoken = put(good(), **{**euros, "Trial_B9": "EUR", place: header})
    converted = numbers(write(spoken, tmp_path / "converted.xlsx"))
    name = PLACES[place]
    assert converted.pop(name) == pytest.approx(
        [value * factor for value in plain.pop(name)], rel=1e-12
    )
    assert converted == plain


def test_a_temperature_in_fahrenheit_is_converted(tmp_path):
    # By definition of the scale: 32 °F = 0 °C, 68 °F = 20 °C, 212 °F = 100 °C.
    sheets = put(
        good(),
        Solution_G1="Temperature (°F)",
        Solution_G2=68,
        Solution_G3="20 °C",
        Solution_G4="68 F",
    )
    for row in sheets["Solution"][4:]:
        row[6] = 68
    assert numbers(write(sheets, tmp_path / "trial.xlsx"))["Temperature"] == pytest.approx(
        [20.0] * 18, abs=1e-9
    )
    assert conversion("°F", "°C")[0] * 212 + conversion("°F", "°C")[1] == pytest.approx(
        100, abs=1e-9
    )


def test_a_price_per_gallon_is_one_per_litre(tmp_path):
    path = write(
        put(good(), Trial_A9="Water price (per US gal)", Trial_B9=US_GAL), tmp_path / "trial.xlsx"
    )
    assert trial(path).water_price == pytest.approx(1, rel=1e-12)


@pytest.mark.parametrize(
    ("cell", "grams"), [("1 oz", OZ), ("0.05lb", 0.05 * LB), ("0.03 kg", 30), ("22,5 g", 22.5)]
)
def test_a_unit_in_the_cell_wins_over_the_headers(tmp_path, cell, grams):
    sheets = put(good(), Plants_C1="Fresh weight (kg)")
    for index, row in enumerate(sheets["Plants"][1:]):
        row[2] = 0.022 + 0.004 * (index % 3)
    path = write(put(sheets, Plants_C2=cell), tmp_path / "trial.xlsx")
    assert [plant.fresh_weight for plant in trial(path).plants[:2]] == pytest.approx(
        [grams, 26], rel=1e-12
    )
    assert findings(path) == ()


@pytest.mark.parametrize(
    ("unit", "asked"),
    [
        ("gal", ("US gal (3.785 L)", "imp gal (4.546 L)")),
        ("Gallons", ("US gal", "imp gal")),
        ("oz", ("US fl oz (29.57 mL)", "imp fl oz (28.41 mL)")),
        ("fl. oz.", ("US fl oz", "imp fl oz")),
        ("qt", ("US qt", "imp qt")),
        ("pints", ("US pt", "imp pt")),
    ],
)
def test_a_unit_that_could_be_two_is_asked_back(tmp_path, unit, asked):
    in_header = write(put(good(), Solution_D1=f"Volume ({unit})"), tmp_path / "header.xlsx")
    in_cell = write(put(good(), Solution_D2=f"5 {unit}"), tmp_path / "cell.xlsx")
    assert said(in_header) == [("error", "Solution!D1")]
    assert said(in_cell) == [("error", "Solution!D2")]
    for path in (in_header, in_cell):
        assert all(word in findings(path)[0].expected for word in asked)


def test_a_price_per_bare_gallon_is_asked_back(tmp_path):
    for header in ("Water price (per gal)", "Water price (EUR/gal)"):
        path = write(put(good(), Trial_A9=header, Trial_B9=0.002), tmp_path / "trial.xlsx")
        assert said(path) == [("error", "Trial!A9")]
        assert "US gal" in findings(path)[0].expected


def test_a_missing_unit_is_remarked_once_a_column(tmp_path):
    path = write(
        put(good(), Plants_C1="Fresh weight", Solution_D1="Volume", Solution_E1="EC"),
        tmp_path / "trial.xlsx",
    )
    assert said(path) == [
        ("remark", "Plants!C1"),
        ("remark", "Solution!D1"),
        ("remark", "Solution!E1"),
    ]


def test_a_column_whose_cells_all_have_units_needs_none_in_its_header(tmp_path):
    sheets = put(good(), Solution_D1="Volume")
    for row in sheets["Solution"][1:]:
        row[3] = f"{row[3]} L"
    assert findings(write(sheets, tmp_path / "trial.xlsx")) == ()


@pytest.mark.parametrize(
    "unit",
    [
        "m^9^9^9",
        "m**9**9",
        "9" * 400,
        "(",
        "g)",
        "'",
        "g;g",
        "\u0000",
        "lambda",
        "µ",
        "°",
        "g" * 3000,
        "1/0",
        "",
    ],
)
def test_no_text_for_a_unit_does_harm(unit):
    with pytest.raises(UnitError):
        conversion(unit, "g")


@settings(
    max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(choice=st.tuples(*(st.booleans() for _ in range(4))))
def test_units_change_nothing(tmp_path, choice):
    changes = (
        ("Plants", 2, "Fresh weight (oz)", OZ),
        ("Solution", 3, "Volume (US gal)", US_GAL),
        ("Treatments", 2, "Canopy area (ft2)", FT2),
        ("Meter", 3, "Reading (MWh)", 1000),
    )
    sheets = good()
    for (name, number, header, factor), chosen in zip(changes, choice, strict=True):
        for at, row in enumerate(sheets[name] if chosen else ()):
            row[number] = row[number] / factor if at else header
    plain, converted = (
        numbers(write(good(), tmp_path / "plain.xlsx")),
        numbers(write(sheets, tmp_path / "units.xlsx")),
    )
    for name, values in plain.items():
        assert converted[name] == pytest.approx(values, rel=1e-9)


# ---- the system that a workbook was typed in -----------------------------------------------------

SYSTEMS = {
    "grams": ({}, "metric"),
    "kilograms": ({"Plants_C1": "Fresh weight (kg)"}, "metric"),
    "ounces": ({"Plants_C1": "Fresh weight (oz)"}, "us"),
    "pounds, the rest metric": ({"Plants_C1": "Fresh weight (lb)"}, "us"),
    "grams, the rest not": (
        {"Solution_D1": "Volume (US gal)", "Plants_D1": "Height (in)"},
        "metric",
    ),
    "ounces in cells": ({f"Plants_C{row}": f"{row} oz" for row in range(2, 26)}, "us"),
}


@pytest.mark.parametrize("case", SYSTEMS)
def test_a_trial_has_the_system_that_its_weights_were_typed_in(tmp_path, case):
    cells, system = SYSTEMS[case]
    assert trial(write(put(good(), **cells), tmp_path / "t.xlsx")).typed_in == system


@pytest.mark.parametrize(
    ("unit", "system"), [("L", "metric"), ("mL", "metric"), ("US gal", "us"), ("imp gal", "metric")]
)
def test_without_weights_volumes_tell_the_system(tmp_path, unit, system):
    # An imperial gallon is of neither system: heights in centimetres tell then.
    sheets = put(good(), Solution_D1=f"Volume ({unit})")
    sheets["Plants"] = [
        [tray, number, None, height, None] for tray, number, _, height, _ in sheets["Plants"]
    ]
    sheets["Plants"][0] = ["Tray", "Plant", "Fresh weight (oz)", "Height (cm)", "Status"]
    assert trial(write(sheets, tmp_path / "t.xlsx")).typed_in == system
