"""Rounding and the look of numbers: the one place where full precision ends."""

from datetime import date
from math import floor, isfinite, log10

from reportgen import language
from reportgen.language import figure, percent, say

MINUS = "−"
LEAST = 0.01  # in its unit: no instrument of a grower shows less
HALF = 1e-12  # relative: floating-point rounding of a figure
CERTAIN = 1e-9  # relative: closer than this to 0% or 100% is floating-point rounding


def not_known() -> str:
    """Return what stands in place of a number that is not known."""
    return say("not known")


def decimals_of(value: float, low: float | None = None, high: float | None = None) -> int:
    """Return how many decimals a value deserves.

    Two digits of its interval's half-width, else three of its own.
    """
    if low is not None and high is not None and high > low:
        places = 1 - floor(log10((high - low) / 2))
        if value:
            own = 1 - floor(log10(abs(value)))
        else:
            own = places
        return max(0, min(places, own + 3))
    if value:
        return max(0, 2 - floor(log10(abs(value))))
    return 0


def fixed(value: float, decimals: int) -> str:
    """Return a number with a set number of decimals, `< 0.01` where it would show as nothing."""
    if not isfinite(value):
        return not_known()
    text = numeral(abs(value), decimals)
    if value and not float(text):
        least = figure(f"{10**-decimals:.{decimals}f}")
        if value > 0:
            return f"< {least}"
        return f"> {MINUS}{least}"
    whole, _, fraction = text.partition(".")
    if len(whole) > 4:
        grouped = f"{int(whole):,}".replace(",", language.separator())
    else:
        grouped = whole
    if value < 0 and float(text):
        sign = MINUS
    else:
        sign = ""
    return sign + grouped + (f"{language.point()}{fraction}" if fraction else "")


def numeral(value: float, decimals: int) -> str:
    """Return the numeral of a number from 0 on, a half rounded up.

    What lies within floating-point rounding of a half counts as one, so that equal figures look
    equal.
    """
    return f"{value * (1 + HALF):.{decimals}f}"


def plain(value: float | None) -> str:
    """Return a number on its own, to three significant digits."""
    if value is None:
        return not_known()
    return fixed(value, decimals_of(value))


def two_digits(value: float | None) -> str:
    """Return a number that is only about right, to two significant digits.

    Whole numbers stay whole.
    """
    if value is None:
        return not_known()
    return fixed(value, decimals_for(value, 2))


def decimals_for(value: float, digits: int) -> int:
    """Return how many decimals show so many significant digits of a value; 0 for 0."""
    if value:
        return max(0, digits - 1 - floor(log10(abs(value))))
    return 0


def limits(low: float | None, high: float | None, decimals: int) -> str:
    """Return `122 to 155`; None where there is no limit, said in words."""
    lower, upper = (None if bound is None else fixed(bound, decimals) for bound in (low, high))
    return span(lower, upper)


def money(value: float | None) -> str:
    """Return an amount of money as people say it.

    Whole from 100 on, to the cent below, two digits of less than 0.1.
    """
    if value is None:
        return not_known()
    return fixed(value, decimals_of_money(value))


def decimals_of_money(value: float) -> int:
    """Return how many decimals an amount of money has."""
    if abs(value) >= 99.995:
        return 0
    if abs(value) >= 0.1:
        return 2
    return decimals_for(value, 2)


def typed(value: float) -> str:
    """Return a number as the grower typed it, converted ones to six significant digits."""
    return figure(f"{value:.6g}")


def three_digits(value: float) -> str:
    """Return a number to three significant digits, zeros at its end left out."""
    return figure(f"{value:.3g}")


def amount(value: float, unit: str = "") -> str:
    """Return a number to three significant digits with its unit, `less than 0.01` where there are
    none to speak of.
    """
    if 0 < abs(value) < LEAST:
        return say("less than {size}", size=_with_unit(f"{LEAST}", unit))
    return _with_unit(_three_plain_digits(value), unit)


def part(share: float) -> str:
    """Return a share as a percentage with one decimal at most; `100%` only where it is the whole."""
    per_cent = round(100 * share, 1)
    if not per_cent:
        return amount(100 * share, "%")
    if per_cent == 100 and share < 1 - CERTAIN:
        return say("just under {whole}", whole=percent("100"))
    return amount(per_cent, "%")


def reach(low: float, high: float, unit: str = "") -> str:
    """Return the lowest and the highest of some values with their unit, once where they look the
    same.
    """
    if amount(low) == amount(high):
        return amount(high, unit)
    return say("{low} to {high}", low=amount(low), high=amount(high, unit))


def _three_plain_digits(value: float) -> str:
    """Return a numeral to three significant digits without exponent and without zeros at its end."""
    return f"{float(f'{value:.3g}'):.12g}".replace("-", MINUS)


def _with_unit(numeral: str, unit: str) -> str:
    if unit == "%":
        return percent(figure(numeral))
    if unit:
        return f"{figure(numeral)} {language.unit(unit)}"
    return figure(numeral)


def day(value: date) -> str:
    """Return a date as readers say it."""
    return language.day(value)


def with_interval(
    value: float | None, low: float | None, high: float | None, unit: str = "", signed: bool = False
) -> str:
    """Return `138.9 (122.5 to 155.3)`; one-sided and missing intervals said in words.

    `unit` stands behind the value; where `signed`, a value above 0 has its sign.
    """
    if value is None:
        return not_known()
    decimals = decimals_of(value, low, high)
    if low is None and high is None:
        return say(
            "{value} (no interval)", value=_with_sign_and_unit(plain(value), value, unit, signed)
        )
    if low is not None and high is not None and abs(value) < CERTAIN * (high - low):
        value = 0.0
    measured = fixed(value, decimals)
    if value and measured[0] in "<>":  # beside its interval a small value is clearer than a bound
        measured = fixed(value, -floor(log10(abs(value))))
    lower, upper = (None if bound is None else fixed(bound, decimals) for bound in (low, high))
    return f"{_with_sign_and_unit(measured, value, unit, signed)} ({span(lower, upper)})"


def _with_sign_and_unit(text: str, value: float, unit: str, signed: bool) -> str:
    """Return a number's text with its sign and its unit, where it has one."""
    if signed and value > 0:
        sign = "+"
    else:
        sign = ""
    if unit == "%":
        return sign + percent(text)
    return f"{sign}{text} {unit}".rstrip()


def span(low: str | None, high: str | None) -> str:
    """Return `low to high`, held together where a line ends; None where there is no limit."""
    if low is None:
        said = say("no lower limit to {high}", high=high)
    elif high is None:
        said = say("{low} to no upper limit", low=low)
    else:
        said = say("{low} to {high}", low=low, high=high)
    return said.replace(" ", "\u00a0")


def share(value: float, low: float | None = None, high: float | None = None) -> str:
    """Return a percentage such as `95%`; 0% and 100% only where exactly true."""
    if abs(value - 100) < 100 * CERTAIN or abs(value) < CERTAIN:
        return percent(str(round(value)))
    decimals = min(1, decimals_of(value, low, high))
    if float(f"{value:.{decimals}f}") in (0, 100):
        decimals = 1
    text = f"{value:.{decimals}f}"
    if float(text) == 100:
        if value < 100:
            return f"> {percent(figure('99.9'))}"
        return f"< {percent(figure('100.1'))}"
    if float(text):
        return percent(figure(text))
    return f"< {percent(figure('0.1'))}"


def whole_percent(part: float) -> str:
    """Return a part of a whole, 0 to 1, such as `58%`; 0% and 100% only where exactly true."""
    per_cent = 100 * part
    rounded = round(per_cent)
    if rounded in (0, 100) and abs(per_cent - rounded) > 100 * CERTAIN:
        if rounded:
            return f"> {percent('99')}"
        return f"< {percent('1')}"
    return percent(str(rounded))


def p_value(value: float | None) -> str:
    """Return a p value to two digits, never as 0.000."""
    if value is None:
        return not_known()
    if value < 0.001:
        return f"< {figure('0.001')}"
    return figure(f"{value:.3f}" if value < 0.1 else f"{value:.2f}")


def percent_level(level: float) -> str:
    """Return a confidence level such as `95%`."""
    return percent(figure(f"{100 * level:g}"))


def listed(items: tuple[str, ...]) -> str:
    """Return `a`, `a and b`, `a, b and c`."""
    return language.listed(items)
