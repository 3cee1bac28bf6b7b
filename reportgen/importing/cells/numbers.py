"""Numbers that are written as text: their decimal sign, thousands, unit, and words beside them."""

import re
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

from reportgen.importing.cells.plain import narrow

UNITS: Final = (
    "kg g mg gr gm gram grams gramme grammes gramm gramos grammi gramas gramas lb lbs pound pounds"
    " # oz ounce ounces l L ltr litre litres liter liters litros litri ml mL cl dl m3 gal gallon"
    " gallons qt fl-oz m cm mm in inch inches ft feet \" ' m2 cm2 ha kWh kwh KWh KWH Wh wh MJ W kW"
    " % ‰ °C °F ppm mS/cm µS/cm μS/cm uS/cm dS/m mS µS μS lx lux klux µmol μmol umol µmol/m2/s"
    " μmol/m2/s umol/m2/s µmol/m²/s mol/m2/d h hr hrs hour hours min mins d day days s kPa hPa mbar"
    " °Bx °Brix brix C F K g/plant kg/m2 kg/m² g/m2 g/m² kg/ha t/ha mg/l mg/L g/l g/L ml/l mL/L"
    " l/h L/h"
).replace("fl-oz", "fl_oz")
KNOWN_UNITS: Final = frozenset(unit.replace("_", " ") for unit in UNITS.split())
SMALL_UNITS: Final = frozenset(unit.casefold() for unit in KNOWN_UNITS if len(unit) > 1)
COMPOUNDS: Final = {  # first unit: second unit, how many of it make the first, the unit of the sum
    "lb": ("oz", 16.0, "oz"), "lbs": ("oz", 16.0, "oz"), "#": ("oz", 16.0, "oz"),
    "pound": ("oz", 16.0, "oz"), "pounds": ("oz", 16.0, "oz"),
    "kg": ("g", 1000.0, "g"), "l": ("ml", 1000.0, "ml"), "m": ("cm", 100.0, "cm"),
    "ft": ("in", 12.0, "in"), "feet": ("in", 12.0, "in"), "'": ("in", 12.0, "in"),
    "h": ("min", 60.0, "min"), "hr": ("min", 60.0, "min"),
}  # fmt: skip
SECOND_UNITS: Final = {
    "ounce": "oz",
    "ounces": "oz",
    '"': "in",
    "inch": "in",
    "inches": "in",
    "mins": "min",
}

NUMERAL: Final = r"[+-]?(?:\d{1,3}(?:[ '’]\d{3})+(?:[.,]\d+)?|\d[\d.,]*|[.,]\d+)(?:[eE][+-]?\d+)?"
PLAIN: Final = re.compile(r"[+-]?\d{1,15}(?:\.\d{1,15})?")
THREE_AFTER_POINT: Final = re.compile(r"[+-]?[1-9]\d{0,2}\.\d{3}")
_WHOLE: Final = re.compile(
    r"(?P<bound>[<>≤≥~≈±]=?|(?:ca|c|approx|about|circa|env|etwa|ongeveer|unos)\.? )? ?"
    rf"(?P<numeral>{NUMERAL})(?P<rest>.*)",
    re.IGNORECASE,
)
_COMPOUND: Final = re.compile(
    r"(\d+(?:[.,]\d+)?) ?([^\d\s.,]+)\.?,? ?(\d+(?:[.,]\d+)?) ?([^\d\s]+)"
)
_FRACTION: Final = re.compile(r"(?:(\d+) )?(\d{1,2})/(\d{1,2})(?P<rest>(?: .*|[^\d/].*)?)")
_GROUPS: Final = re.compile(r"[+-]?\d{1,3}(?:[.,]\d{3})+")
_OPEN: Final = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}")
BOUND_WORDS: Final = "~"
LABEL_UNITS: Final = (
    "C",
    "F",
    "K",
    "W",
    "s",
    "m",
)  # behind a whole number also the letter of a place or plot


class Sign(Enum):
    """What a numeral shows of the decimal sign: none, point, comma, or one that could part
    thousands.
    """

    NONE = "none"
    POINT = "point"
    COMMA = "comma"
    OPEN_POINT = "1.307"
    OPEN_COMMA = "1,307"


@dataclass(frozen=True)
class Numeral:
    """A number as it is written: `point` and `comma` are its values under either decimal sign, as
    plain digits.

    `unit` stands behind it, `remark` is other words, `bound` the sign of `<0.1`. `is_loose` tells
    what is a number only among numbers, such as `12 small`, and a label elsewhere; `is_apart` where
    a bracket or sign parts its words. A fraction such as `1 1/2` keeps its text.
    """

    sign: Sign
    point: str
    comma: str
    unit: str = ""
    remark: str = ""
    bound: str = ""
    is_loose: bool = False
    is_apart: bool = True
    is_fraction: bool = False


def numeral_in(text: str) -> Numeral | None:
    """Return the number that a text is, None where it is none."""
    plainer = narrow(text)
    return _compound(plainer) or _fraction(plainer) or _single(plainer)


def is_unit(text: str) -> bool:
    """Tell whether a text is a unit that may stand behind a number."""
    return text in KNOWN_UNITS or text.rstrip(".").casefold() in SMALL_UNITS


def _single(text: str) -> Numeral | None:
    match = _WHOLE.fullmatch(text)
    if not match:
        return None
    written = _signed(match["numeral"])
    if not written:
        return None
    sign, point, comma = written
    bound = _bound(match["bound"] or "")
    rest = match["rest"].strip()
    if not rest:
        return Numeral(sign, point, comma, bound=bound)
    return _with_words(Numeral(sign, point, comma, bound=bound), match["rest"])


def _bound(written: str) -> str:
    written = written.strip()
    if written[:1].isalpha():
        return BOUND_WORDS
    return written


def _with_words(number: Numeral, rest: str) -> Numeral | None:
    """Return a number with what stands behind it: a unit, a remark, or both; None where it is one
    word with it.
    """
    words = rest.strip()
    unit, _, remark = words.partition(" ")
    if not is_unit(unit):
        unit, bracket, remark = words.partition("(")
        unit, remark = unit.strip(), f"{bracket}{remark}"
    if is_unit(words):
        unit, remark = words, ""
    if is_unit(unit):
        has_loose_words = bool(remark) and remark[0] != "("
        is_letter = unit in LABEL_UNITS and number.sign is Sign.NONE
        is_label = has_loose_words or is_letter
        return replace(
            number,
            unit=unit.rstrip("."),
            remark=_bare(remark),
            is_loose=is_label,
            is_apart=not is_label,
        )
    is_apart = words[0] in "(*?!†[,;"
    if not is_apart and not rest.startswith(" "):
        return None
    return replace(number, remark=_bare(words), is_loose=True, is_apart=is_apart)


def _bare(remark: str) -> str:
    remark = remark.strip(" ,;")
    if remark.startswith("(") and remark.endswith(")"):
        return remark[1:-1].strip()
    return remark


def _signed(numeral: str) -> tuple[Sign, str, str] | None:
    """Return what a numeral shows of its decimal sign, and its digits under either sign.

    None where it is no number.
    """
    digits = re.sub(r"[ '’]", "", numeral)
    points, commas = digits.count("."), digits.count(",")
    if points + commas == 0:
        return Sign.NONE, digits, digits
    if points and commas:
        return _both(digits)
    mark = ","
    if points:
        mark = "."
    if points + commas > 1:
        return _grouped(digits, mark)
    if digits.endswith(mark):
        return None
    return _with_one_mark(digits, mark)


def _with_one_mark(digits: str, mark: str) -> tuple[Sign, str, str]:
    """Return the sign of digits with one mark, and the digits under a point and under a comma."""
    whole, decimal = digits.replace(mark, ""), digits.replace(",", ".")
    is_open = _OPEN.fullmatch(digits) is not None
    if mark == "." and is_open:
        return Sign.OPEN_POINT, decimal, whole
    if mark == ".":
        return Sign.POINT, decimal, decimal
    if is_open:
        return Sign.OPEN_COMMA, whole, decimal
    return Sign.COMMA, decimal, decimal


def _both(digits: str) -> tuple[Sign, str, str] | None:
    decimal = max(".,", key=digits.rfind)
    whole, _, part = digits.rpartition(decimal)
    if not _GROUPS.fullmatch(whole) or decimal in whole:
        return None
    value = f"{re.sub('[.,]', '', whole)}.{part}"
    return (Sign.POINT if decimal == "." else Sign.COMMA), value, value


def _grouped(digits: str, mark: str) -> tuple[Sign, str, str] | None:
    if not _GROUPS.fullmatch(digits):
        return None
    value = digits.replace(mark, "")
    return (Sign.COMMA if mark == "." else Sign.POINT), value, value


def _compound(text: str) -> Numeral | None:
    """Return `1 lb 3 oz` as a number of the smaller unit."""
    match = _COMPOUND.fullmatch(text)
    if not match:
        return None
    first, second = match[2].casefold(), match[4].rstrip(".").casefold()
    smaller, factor, unit = COMPOUNDS.get(first, ("", 0.0, ""))
    if not smaller or SECOND_UNITS.get(second, second) != smaller:
        return None
    value = float(match[1].replace(",", ".")) * factor + float(match[3].replace(",", "."))
    return Numeral(Sign.NONE, f"{value:.12g}", f"{value:.12g}", unit)


def _fraction(text: str) -> Numeral | None:
    """Return `1 1/2` as a number; 3/4 alone counts as loose, since it may be a label or a date."""
    match = _FRACTION.fullmatch(text)
    if not match or not int(match[3]):
        return None
    value = float(match[1] or 0) + int(match[2]) / int(match[3])
    digits = f"{value:.12g}"
    is_loose = not match[1]
    rest = match["rest"].strip()
    if rest and not is_unit(rest):
        return None
    return Numeral(
        Sign.NONE, digits, digits, rest, is_loose=is_loose, is_apart=False, is_fraction=True
    )
