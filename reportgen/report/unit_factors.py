"""Units of measure and how one is converted into another."""

import re
from collections.abc import Mapping
from typing import Final, Literal, NamedTuple

from reportgen.language import marked

# Exact: international yard and pound agreement of 1959; US gallon of 231 cubic inches (NIST
# Handbook 44, appendix C).
G_PER_OZ: Final = 28.349523125


OZ_PER_LB: Final = 16.0


L_PER_GAL: Final = 3.785411784


CM_PER_IN: Final = 2.54


G_PER_LB: Final = G_PER_OZ * OZ_PER_LB


FL_OZ_PER_GAL: Final = 128.0


IN2_PER_FT2: Final = 144.0


PINT: Final = 1 / 8  # US gal


G_PER_KG: Final = 1000.0


class DisplayUnit(NamedTuple):
    """A unit of display: a value in it is the value in the kept unit x `factor` + `offset`."""

    unit: str
    factor: float
    offset: float = 0.0


class Mass(NamedTuple):
    """A mass of crop: its symbol, its name in a sentence, and how many grams it is."""

    symbol: Literal["kg", "lb"]
    name: str
    grams: float


KILOGRAM: Final = Mass("kg", marked("kilogram"), G_PER_KG)


POUND: Final = Mass("lb", marked("pound"), G_PER_LB)


CUSTOMARY: Final = {
    "g": DisplayUnit("oz", 1 / G_PER_OZ),
    "kg": DisplayUnit("lb", 1000 / G_PER_LB),
    "L": DisplayUnit("US gal", 1 / L_PER_GAL),
    "g/plant": DisplayUnit("oz/plant", 1 / G_PER_OZ),
    "g/tray": DisplayUnit("oz/tray", 1 / G_PER_OZ),
    "g/piece": DisplayUnit("oz/piece", 1 / G_PER_OZ),
    "g/tray/week": DisplayUnit("oz/tray/week", 1 / G_PER_OZ),
    "L/tray": DisplayUnit("US gal/tray", 1 / L_PER_GAL),
    "mL/g": DisplayUnit("US gal/lb", G_PER_LB / L_PER_GAL / 1000),
    "g/L": DisplayUnit("oz/US gal", L_PER_GAL / G_PER_OZ),
    "kWh/kg": DisplayUnit("kWh/lb", G_PER_LB / 1000),
    "g/kWh": DisplayUnit("oz/kWh", 1 / G_PER_OZ),
    "g/mol": DisplayUnit("oz/mol", 1 / G_PER_OZ),
    "cm": DisplayUnit("in", 1 / CM_PER_IN),
    "mm": DisplayUnit("in", 1 / CM_PER_IN / 10),
    "°C": DisplayUnit("°F", 1.8, 32.0),
    "K": DisplayUnit("°F", 1.8),  # a difference of temperatures
    "m2": DisplayUnit("ft2", 1e4 / CM_PER_IN**2 / IN2_PER_FT2),
}


# Weights below four pounds are in ounces, volumes below a pint in fluid ounces: a rule of display,
# so that plants and small trays of one page have one unit.
FOUR_POUNDS: Final = 4 * OZ_PER_LB


OUNCES: Final = re.compile(r"oz(?=$|/(?:plant|tray|piece)\b)")


GALLONS: Final = re.compile(r"US gal(?=$|/tray\b)")


BY_KILOGRAM: Final = {"mL/g": DisplayUnit("L/kg", 1.0)}


# What measures are called where they are shown, by their labels; the others are called by their
# labels.
CALLED: Final[Mapping[str, str]] = {
    "Yield per plant started": marked("Yield per plant planted"),
    "Dry yield per plant started": marked("Dry yield per plant planted"),
}


CALLED_BY_KILOGRAM: Final[Mapping[str, str]] = {
    "Water per gram of fresh weight": marked("Water per kilogram of fresh weight"),
    "Water per gram of dry weight": marked("Water per kilogram of dry weight"),
    "Water per gram of marketable weight": marked("Water per kilogram of marketable weight"),
    "Electricity cost per gram of fresh weight": marked(
        "Electricity cost per kilogram of fresh weight"
    ),
    "Electricity cost per gram of dry weight": marked(
        "Electricity cost per kilogram of dry weight"
    ),
    "Electricity cost per gram of marketable weight": marked(
        "Electricity cost per kilogram of marketable weight"
    ),
    "Running cost per gram of fresh weight": marked("Running cost per kilogram of fresh weight"),
    "Running cost per gram of dry weight": marked("Running cost per kilogram of dry weight"),
    "Running cost per gram of marketable weight": marked(
        "Running cost per kilogram of marketable weight"
    ),
}


CALLED_BY_POUND: Final[Mapping[str, str]] = {
    "Water per gram of fresh weight": marked("Water per pound of fresh weight"),
    "Water per gram of dry weight": marked("Water per pound of dry weight"),
    "Water per gram of marketable weight": marked("Water per pound of marketable weight"),
    "Fresh weight per litre": marked("Fresh weight per US gallon"),
    "Dry weight per litre": marked("Dry weight per US gallon"),
    "Marketable weight per litre": marked("Marketable weight per US gallon"),
    "Energy per kilogram of fresh weight": marked("Energy per pound of fresh weight"),
    "Energy per kilogram of dry weight": marked("Energy per pound of dry weight"),
    "Energy per kilogram of marketable weight": marked("Energy per pound of marketable weight"),
    "Electricity cost per gram of fresh weight": marked(
        "Electricity cost per pound of fresh weight"
    ),
    "Electricity cost per gram of dry weight": marked("Electricity cost per pound of dry weight"),
    "Electricity cost per gram of marketable weight": marked(
        "Electricity cost per pound of marketable weight"
    ),
    "Running cost per gram of fresh weight": marked("Running cost per pound of fresh weight"),
    "Running cost per gram of dry weight": marked("Running cost per pound of dry weight"),
    "Running cost per gram of marketable weight": marked(
        "Running cost per pound of marketable weight"
    ),
}
