"""Units as growers write them, converted by Pint."""

import re
from functools import cache
from typing import TYPE_CHECKING, Final

from reportgen.language import either, say

if TYPE_CHECKING:
    import pint

ONE_SPELLING: Final = str.maketrans(
    {
        "μ": "µ",
        "º": "°",
        "℃": "°C",
        "℉": "°F",
        "²": "2",
        "³": "3",
        "¹": "1",
        "⁻": "-",
        "·": " ",
        "⋅": " ",
    }
)
GALLONS: Final = ("US gal (3.785 L)", "imp gal (4.546 L)")
QUARTS: Final = ("US qt (0.946 L)", "imp qt (1.137 L)")
PINTS: Final = ("US pt (0.473 L)", "imp pt (0.568 L)")
FLUID_OUNCES: Final = ("US fl oz (29.57 mL)", "imp fl oz (28.41 mL)")
AMBIGUOUS: Final = {
    **dict.fromkeys(("gal", "gals", "gallon", "gallons"), GALLONS),
    **dict.fromkeys(("qt", "qts", "quart", "quarts"), QUARTS),
    **dict.fromkeys(("pt", "pts", "pint", "pints"), PINTS),
    **dict.fromkeys(("fl oz", "floz", "fluid ounce", "fluid ounces"), FLUID_OUNCES),
}
VOLUMES: Final = {
    **dict.fromkeys(("gal", "gallon", "gallons"), "gallon"),
    **dict.fromkeys(("qt", "quart", "quarts"), "quart"),
    **dict.fromkeys(("pt", "pint", "pints"), "pint"),
    **dict.fromkeys(("fl oz", "floz"), "fluid_ounce"),
}
SYSTEMS: Final = {"us": "", "imp": "imperial_", "imperial": "imperial_", "uk": "imperial_"}
SPELLINGS: Final = {
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
    "ml": (
        "milliliter"
    ),  # common practice: nobody measures a tray in megalitres, nor a plant in megagrams
    "mg": "milligram",
    "kwh": "kilowatt_hour",
    "wh": "watt_hour",
    "ms/cm": "mS/cm",  # common practice: nobody means milliseconds
    "us/cm": "µS/cm",
    "µs/cm": "µS/cm",
    "ds/m": "dS/m",
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
PER: Final = re.compile(
    r"(?:[A-Z]{3}|[€$£])? ?(?:per|por|par|pro|je|1? ?/) ?(.+)"
)  # per, in each language
TOWER: Final = re.compile(r"\d[\d^*]|\*\*")  # no unit has such powers, and Pint would compute them


class UnitError(ValueError):
    """A unit cannot be used where it stands; the message says what was expected there."""


@cache
def _registry() -> "pint.UnitRegistry[float]":
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    registry.define("percent = 0.01 = %")
    return registry


def plain(unit: str) -> str:
    """Return `unit` in one spelling of micro, powers and spaces, so that equals compare equal."""
    return re.sub(r"\s+", " ", re.sub(r"\.(?=\s|$)", "", unit.translate(ONE_SPELLING))).strip()


def _small(unit: str) -> str:
    return unit.casefold().translate(ONE_SPELLING)  # the micro sign folds to the Greek letter


def _spelled(unit: str, target: str) -> str:
    """Return the unit as Pint writes it, where it is one of those that growers write in other ways."""
    small = _small(unit)
    if target == "°C":
        return TEMPERATURES.get(small, "")
    if small in AMBIGUOUS or (target == "L" and small in ("oz", "ounce", "ounces")):
        raise UnitError(either(AMBIGUOUS.get(small, FLUID_OUNCES)))
    found = re.fullmatch(r"(\w+) (.+)", re.sub(r"(.+) \((\w+)\)", r"\2 \1", small))
    if found and found[1] in SYSTEMS and found[2] in VOLUMES:
        return SYSTEMS[found[1]] + VOLUMES[found[2]]
    return SPELLINGS.get(small, "")


def _candidates(unit: str, target: str) -> tuple[str, ...]:
    """Return how Pint may know the unit: by a spelling of the trade, else as it stands, else in
    small letters.
    """
    if per := PER.fullmatch(unit):
        if target.startswith("1/"):
            within = target.removeprefix("1/")
        else:
            within = ""
        return tuple(f"1/({name})" for name in _candidates(per[1], within))
    if spelled := _spelled(unit, target):
        return (spelled,)
    if TOWER.search(unit):
        return ()
    return _pint_name(unit), _pint_name(_small(unit))


def _pint_name(text: str) -> str:
    powered = re.sub(r"([A-Za-zµ°])\^?(-?\d)", r"\1**\2", text)
    return re.sub(r"(?<=[A-Za-z0-9]) (?=[A-Za-zµ])", "*", powered)


def is_imperial(unit: str) -> bool:
    """Return whether a unit is named as one of the imperial system, such as `imp gal`."""
    words = re.findall(r"\w+", plain(unit).casefold())
    return any(SYSTEMS.get(word) for word in words)


@cache
def conversion(unit: str, target: str) -> tuple[float, float]:
    """Return (factor, offset) with value in `target` = value in `unit` * factor + offset.

    Raises UnitError where `unit` is not known, is ambiguous, or measures something else than
    `target`.
    """
    if plain(unit) == plain(target):
        return 1.0, 0.0
    goal = _candidates(plain(target), target)[:1]
    for source in _candidates(plain(unit), target) if goal else ():
        try:
            return _linear(source, goal[0])
        except Exception:  # on arbitrary text Pint's parser raises errors of many kinds
            continue
    raise UnitError(say("a unit that converts to {unit}", unit=unit_in_words(target)))


def unit_in_words(unit: str) -> str:
    """Return a unit as messages say it; that of a price names its currency."""
    if unit.startswith("1/"):
        return say("currency per {unit}", unit=unit.removeprefix("1/"))
    return unit


def _linear(source: str, goal: str) -> tuple[float, float]:
    quantity = _registry().Quantity
    zero, one = (float(quantity(number, source).to(goal).magnitude) for number in (0.0, 1.0))
    return one - zero, zero


def with_unit(number: str, unit: str) -> str:
    """Return a number with its unit; the per cent sign stands close, as English has it: `22%`, `22
    g`, `22`.
    """
    if unit == "%":
        return f"{number}%"
    return f"{number} {unit}".strip()
