"""What a unit of measure measures, and where a header names one."""

import re
from functools import lru_cache
from typing import Final

from reportgen.importing.clues.quantities_model import Measure
from reportgen.importing.words import is_amount
from reportgen.workbook.units import plain

SPELLINGS: Final[dict[Measure, dict[str, tuple[str, ...]]]] = {
    Measure.MASS: {
        "g": ("g", "gr", "gm", "gms", "gram", "grams", "gramm", "gramme", "grammes", "grammi", "gramo", "gramos",
              "grama", "gramas"),
        "kg": ("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramm", "kilogramos", "kilogrammes"),
        "mg": ("mg",),
        "µg": ("µg", "ug"),
        "dag": ("dag", "dkg"),
        "hg": ("hg",),
        "t": ("t", "ton", "tons", "tonne", "tonnes"),
        "oz": ("oz", "ozs", "ounce", "ounces"),
        "lb": ("lb", "lbs", "pound", "pounds"),
    },
    Measure.LENGTH: {
        "cm": ("cm", "cms", "centimeter", "centimeters", "centimetre", "centimetres", "zentimeter"),
        "mm": ("mm",),
        "m": ("m", "meter", "meters", "metre", "metres"),
        "ft": ("ft", "feet"),
        "in": ("inch", "inches"),
    },
    Measure.VOLUME: {
        "L": ("l", "liter", "liters", "litre", "litres", "litro", "litros", "litri", "ltr", "lt"),
        "mL": ("ml", "milliliter", "millilitre"),
        "cL": ("cl",),
        "dL": ("dl",),
        "hL": ("hl",),
        "m3": ("m3",),
        "US gal": ("us gal", "gal us"),
        "gal": ("gal", "gals", "gallon", "gallons"),
        "fl oz": ("fl oz", "floz"),
    },
    Measure.ENERGY: {"kWh": ("kwh",), "Wh": ("wh",), "MWh": ("mwh",), "MJ": ("mj",)},
    Measure.TEMPERATURE: {"°C": ("c", "°c", "° c", "degc", "deg c", "celsius"),
                          "°F": ("f", "°f", "° f", "degf", "deg f", "fahrenheit")},
    Measure.EC: {"mS/cm": ("ms/cm", "ms cm", "ms cm-1"), "µS/cm": ("us/cm", "us cm"), "dS/m": ("ds/m", "ds m-1")},
    Measure.PPFD: {"µmol/m2/s": ("umol", "µmol", "umol/m2/s", "umol/m2s", "umol m-2 s-1", "umol/(m2s)", "umol/(m2 s)")},
    Measure.LUX: {"lx": ("lux", "lx")},
    Measure.CO2: {"ppm": ("ppm", "µl/l", "umol/mol")},
    Measure.SHARE: {
        "%": ("%", "percent", "prozent", "pct"),
        "mg/kg": ("mg/kg", "mg/l", "g/kg", "g/l", "mg/g", "mg/100g", "mg/100 g", "mmol/l", "µmol/g", "µg/g"),
    },
    Measure.TIME: {"h": ("h", "hr", "hrs", "hours"), "d": ("d", "days", "tage", "dias", "jours", "dagen", "giorni"),
                   "min": ("min",)},
    Measure.AREA: {"m2": ("m2", "sqm", "sq m"), "cm2": ("cm2",)},
}  # fmt: skip
MEASURED_IN: Final = {
    plain(spelling).casefold(): (unit, measure)
    for measure, units in SPELLINGS.items()
    for unit, spellings in units.items()
    for spelling in spellings
}
ONLY_IN_BRACKETS: Final = frozenset(
    ("c", "f", "d", "days", "tage", "dias", "jours", "dagen", "giorni", "min", "µmol/mol")
)
PER_PLANT: Final = re.compile(
    r"(?P<mass>\w+)\s*(?:/|per|pro|je|por|par|a)\s*(?:plants?|plt|pl|heads?|pflanze|kopf|planta|cabeza|plante|pied|"
    r"pianta|cespo|krop|pe|pot|topf|maceta|vaso)\.?", re.IGNORECASE)  # fmt: skip
PER_DAY: Final = re.compile(
    r"(?P<amount>\w+)\s*(?:/|per|pro|je|por|par|al)\s*(?:day|tag|d[ií]a|jour|giorno|dag|d)\.?",
    re.IGNORECASE,
)
PER_AREA: Final = re.compile(
    r"(?P<mass>kg|g|t|lbs?)\s*(?:/|per|pro|je|por|par)?\s*(?P<area>m\s*-2|m2|sqm|ha\s*-1|ha|sq"
    r" ?ft|ft2|qm)",
    re.IGNORECASE,
)
AREAS: Final = {
    "m2": "m2",
    "m-2": "m2",
    "sqm": "m2",
    "qm": "m2",
    "ha": "ha",
    "ha-1": "ha",
    "sqft": "ft2",
    "ft2": "ft2",
}
BRACKETS: Final = re.compile(r"[(\[]\s*(?:in\s+)?([^()\[\]]*(?:\([^()]*\))?[^()\[\]]*)\s*[)\]]")


@lru_cache(maxsize=10_000)
def measured_in(text: str) -> tuple[str, Measure | None]:
    """Return a unit in its common spelling, and what it measures: `grams` is (g, mass); ("", None)
    where unknown.
    """
    spelled = plain(text).replace("μ", "µ")
    if match := MEASURED_IN.get(spelled.casefold()):
        return match
    if match := MEASURED_IN.get(spelled.casefold().replace("µ", "u")):
        return match
    if per_area := PER_AREA.fullmatch(spelled):
        area = AREAS[per_area["area"].casefold().replace(" ", "")]
        return f"{per_area['mass']}/{area}", Measure.YIELD_PER_AREA
    if per_plant := PER_PLANT.fullmatch(spelled):
        return measured_in(per_plant["mass"])
    if per_day := PER_DAY.fullmatch(spelled):
        return measured_in(per_day["amount"])
    return "", None


def unit_of_header(header: str) -> tuple[str, Measure | None]:
    """Return the unit that a header names, in brackets or as its last word: `Tare oz`, `kg`, `CO2
    ppm`.
    """
    if is_amount(header):
        return "", None
    for inside in BRACKETS.findall(header):
        unit, measure = measured_in(inside)
        if measure:
            return unit, measure
    if is_one_letter(header):
        return "", None
    outside = BRACKETS.sub(" ", header).strip()
    last = _last_word(outside)
    first = measured_in(outside.split(" ")[0])
    if last[1] is None and first[1] is Measure.ENERGY:
        return first
    return last


def without_unit(header: str) -> str:
    """Return a header in small letters without its unit: "culls" of `Culls (lb)` and `Culls oz`, ""
    of `lb`.
    """
    outside = BRACKETS.sub(" ", header).strip()
    words = re.split(r"[\s_,;:]+", outside)
    while words and measured_in(words[-1])[1] is not None:
        words.pop()
    return " ".join(words).casefold()


def is_one_letter(header: str) -> bool:
    """Tell whether a header is a letter that rather names a treatment, such as L beside K; g stands
    for grams.
    """
    return len(header.strip()) == 1 and header.strip() != "g"


def is_part_of_compound(header: str, unit: str) -> bool:
    """Tell whether a unit is only what stands behind the slash of another one, such as kg in `NO3
    mg/kg`.
    """
    return bool(unit) and re.search(rf"[^\W\d_]\s*/\s*{re.escape(unit)}\W*$", header) is not None


def _last_word(text: str) -> tuple[str, Measure | None]:
    words = re.split(r"[\s_,;:]+", text)
    for count in (3, 2, 1):
        if count > len(words):
            continue
        last = plain(" ".join(words[-count:])).casefold()
        if last in ONLY_IN_BRACKETS:
            continue
        is_spelled = last in MEASURED_IN or last.replace("µ", "u") in MEASURED_IN
        is_compound = (
            PER_AREA.fullmatch(last) or PER_PLANT.fullmatch(last) or PER_DAY.fullmatch(last)
        )
        if is_spelled or is_compound:
            return measured_in(last)
    return "", None
