"""Units as growers write them, converted by Pint."""

import re
from functools import cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import pint

ONE_SPELLING: Final = str.maketrans("μ¹²³⁻·⋅", "µ123-  ")
AMBIGUOUS: Final = {
    "gal": "US gal (3.785 L) or imp gal (4.546 L)",
    "gallon": "US gal (3.785 L) or imp gal (4.546 L)",
    "gallons": "US gal (3.785 L) or imp gal (4.546 L)",
    "fl oz": "US fl oz (29.57 mL) or imp fl oz (28.41 mL)",
}
SPELLINGS: Final = {
    "us gal": "gallon",
    "us gallon": "gallon",
    "us gallons": "gallon",
    "imp gal": "imperial_gallon",
    "imp gallon": "imperial_gallon",
    "imperial gal": "imperial_gallon",
    "imperial gallon": "imperial_gallon",
    "us fl oz": "fluid_ounce",
    "imp fl oz": "imperial_fluid_ounce",
    "us qt": "quart",
    "us pt": "pint",
    "lbs": "pound",
    "hrs": "hour",
    "sq ft": "foot**2",
    "sqft": "foot**2",
    "sq m": "m**2",
    "sqm": "m**2",
    "sq in": "inch**2",
    "%": "percent",
    '"': "inch",
    "ltr": "liter",
    "litres": "liter",
    "litre": "liter",
    "gr": "gram",  # common practice among growers; never the grain
    "gm": "gram",
}
TEMPERATURES: Final = {
    "°c": "degC",
    "c": "degC",
    "deg c": "degC",
    "celsius": "degC",
    "°f": "degF",
    "f": "degF",
    "deg f": "degF",
    "fahrenheit": "degF",
    "k": "kelvin",
}


class UnitError(ValueError):
    """A unit cannot be used where it stands; the message says what was expected there."""


@cache
def _registry() -> "pint.UnitRegistry[float]":
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def plain(unit: str) -> str:
    """Return `unit` with one spelling of micro, powers and spaces, so that equal units compare equal."""
    return re.sub(r"\s+", " ", unit.translate(ONE_SPELLING)).strip().rstrip(".")


def _pint_name(unit: str, target: str) -> str:
    text = plain(unit)
    if target == "°C":
        return TEMPERATURES.get(text.casefold(), text)
    if text.casefold() in SPELLINGS:
        return SPELLINGS[text.casefold()]
    if match := re.fullmatch(r"(?:[A-Z]{3}|[€$£])? ?(?:per|1? ?/) ?(.+)", text):
        return f"1/({_pint_name(match[1], '')})"
    if text == text.upper() and text.isalpha() and text.casefold() in {"g", "kg", "mg", "cm", "mm", "ml", "oz", "lb"}:
        text = text.casefold()
    powered = re.sub(r"([A-Za-zµ°])\^?(-?\d)", r"\1**\2", text)
    return re.sub(r"(?<=[A-Za-z0-9]) (?=[A-Za-zµ])", "*", powered)


@cache
def conversion(unit: str, target: str) -> tuple[float, float]:
    """Return (factor, offset) with value in `target` = value in `unit` * factor + offset.

    Raises UnitError where `unit` is not known, is ambiguous, or measures something else than `target`.
    """
    if plain(unit) == plain(target):
        return 1.0, 0.0
    name = plain(unit).removeprefix("per ").casefold()
    if target == "L" and name == "oz":
        name = "fl oz"
    if name in AMBIGUOUS:
        raise UnitError(AMBIGUOUS[name])
    registry = _registry()
    try:
        source, goal = _pint_name(unit, target), _pint_name(target, target)
        zero = registry.Quantity(0.0, source).to(goal).magnitude
        one = registry.Quantity(1.0, source).to(goal).magnitude
    except Exception as error:  # on arbitrary text Pint's parser raises errors of many kinds, tokenizer's among them
        raise UnitError(f"a unit that converts to {target}") from error
    return float(one - zero), float(zero)
