"""Rounding and the look of numbers: the one place where full precision ends."""

from datetime import date
from math import floor, isfinite, log10

NOT_KNOWN = "not known"
PER_CENT = "\u00a0%"  # a no-break space keeps the sign with its number
MINUS = "−"
CERTAIN = 1e-9  # relative: closer than this to 0 % or 100 % is floating-point rounding


def decimals_of(value: float, low: float | None = None, high: float | None = None) -> int:
    """Return how many decimals a value deserves: two digits of its interval's half-width, else three of its own."""
    if low is not None and high is not None and high > low:
        places = 1 - floor(log10((high - low) / 2))
        own = 1 - floor(log10(abs(value))) if value else places
        return max(0, min(places, own + 3))
    return max(0, 2 - floor(log10(abs(value)))) if value else 0


def fixed(value: float, decimals: int) -> str:
    """Return a number with a set number of decimals, `< 0.01` where it would show as nothing."""
    if not isfinite(value):
        return NOT_KNOWN
    text = f"{abs(value):.{decimals}f}"
    if value and not float(text):
        return f"< {10**-decimals:.{decimals}f}" if value > 0 else f"> {MINUS}{10**-decimals:.{decimals}f}"
    whole, _, fraction = text.partition(".")
    grouped = f"{int(whole):,}".replace(",", "\u202f") if len(whole) > 4 else whole
    sign = MINUS if value < 0 and float(text) else ""
    return sign + grouped + (f".{fraction}" if fraction else "")


def plain(value: float | None) -> str:
    """Return a number on its own, to three significant digits."""
    return NOT_KNOWN if value is None else fixed(value, decimals_of(value))


def typed(value: float) -> str:
    """Return a number as the grower typed it, converted ones to six significant digits."""
    return f"{value:.6g}"


def day(value: date) -> str:
    """Return a date as readers say it."""
    from babel.dates import format_date

    return format_date(value, "d MMMM y", locale="en")


def with_interval(value: float | None, low: float | None, high: float | None) -> str:
    """Return `138.9 (122.5 to 155.3)`; one-sided and missing intervals said in words."""
    if value is None:
        return NOT_KNOWN
    decimals = decimals_of(value, low, high)
    if low is None and high is None:
        return f"{plain(value)} (no interval)"
    lower = fixed(low, decimals) if low is not None else "no lower limit"
    upper = fixed(high, decimals) if high is not None else "no upper limit"
    if low is not None and high is not None and abs(value) < CERTAIN * (high - low):
        value = 0.0
    measured = fixed(value, decimals)
    if value and measured[0] in "<>":  # beside its interval a small value is clearer than a bound
        measured = fixed(value, -floor(log10(abs(value))))
    return f"{measured} ({span(lower, upper)})"


def span(low: str, high: str) -> str:
    """Return `low to high`, held together where a line ends."""
    return f"{low} to {high}".replace(" ", "\u00a0")


def share(value: float, low: float | None = None, high: float | None = None) -> str:
    """Return a percentage such as `95 %`; 0 % and 100 % only where exactly true."""
    if abs(value - 100) < 100 * CERTAIN or abs(value) < CERTAIN:
        return f"{round(value)}{PER_CENT}"
    decimals = min(1, decimals_of(value, low, high))
    if float(f"{value:.{decimals}f}") in (0, 100):
        decimals = 1
    text = f"{value:.{decimals}f}"
    if float(text) == 100:
        return f"{'>' if value < 100 else '<'} {'99.9' if value < 100 else '100.1'}{PER_CENT}"
    return f"{text}{PER_CENT}" if float(text) else f"< 0.1{PER_CENT}"


def p_value(value: float | None) -> str:
    """Return a p value to two digits, never as 0.000."""
    if value is None:
        return NOT_KNOWN
    if value < 0.001:
        return "< 0.001"
    return f"{value:.3f}" if value < 0.1 else f"{value:.2f}"


def change(ratio: float, precise: bool = False) -> str:
    """Return a ratio as a change in words: `20 % more`, `4 % less`, `2.4 times as much`, `no change`."""
    percent = 100 * (ratio - 1)
    if ratio >= 3:
        return f"{ratio:.1f} times as much"
    size = f"{abs(percent):.1f}" if precise else f"{abs(percent):.0f}"
    if not float(size):
        return (
            "the same"
            if abs(percent) < 100 * CERTAIN
            else f"less than {'0.1' if precise else '1'}{PER_CENT} {_way(percent)}"
        )
    return f"{size}{PER_CENT} {_way(percent)}"


def _way(percent: float) -> str:
    return "more" if percent > 0 else "less"


def is_fine(low: float | None, high: float | None) -> bool:
    """Return whether a ratio's interval is narrow enough for a decimal of a percent."""
    return low is not None and high is not None and high - low < 0.02


def ratio(value: float | None, low: float | None, high: float | None) -> str:
    """Return a ratio in percent of the reference, such as `120 % (100 % to 145 %)`."""
    if value is None:
        return NOT_KNOWN
    decimals = 1 if is_fine(low, high) else 0
    measured = _of_reference(value, decimals)
    if low is None and high is None:
        return f"{measured} (no interval)"
    lower = _of_reference(low, decimals) if low is not None else "no lower limit"
    upper = _of_reference(high, decimals) if high is not None else "no upper limit"
    return f"{measured} ({span(lower, upper)})"


def _of_reference(ratio: float, decimals: int) -> str:
    """Return a ratio as a percentage; one that is not 1 never shows as a bare 100 %."""
    percent = 100 * ratio
    text = f"{fixed(percent, decimals)}{PER_CENT}"
    if float(f"{percent:.{decimals}f}") != 100 or abs(percent - 100) < 100 * CERTAIN:
        return text
    return f"just {'over' if percent > 100 else 'under'} 100{PER_CENT}"


def percent_level(level: float) -> str:
    """Return a confidence level such as `95 %`."""
    return f"{100 * level:g}{PER_CENT}"


def count(number: int, noun: str, plural: str = "") -> str:
    """Return a number with its noun, such as `1 tray` or `4 trays`."""
    return f"{number} {noun if number == 1 else plural or noun + 's'}"


def listed(items: tuple[str, ...]) -> str:
    """Return `a`, `a and b`, `a, b and c`."""
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}" if items else ""
