"""Ratios as readers see them: as a change, or in percent of the reference."""

from typing import Literal, NamedTuple

from reportgen.language import figure, percent, say, say_as
from reportgen.report.numbers import CERTAIN, MINUS, fixed, not_known, numeral, span

# a bound of a ratio beyond says no more than that it is far, and may have hundreds of digits
FAR = 100.0


class Change(NamedTuple):
    """A ratio as a change: which way it goes, and how far, in the language's own signs."""

    way: Literal["more", "less", "times", "same"]
    size: str = ""


def change_of(ratio: float, precise: bool = False) -> Change:
    """Return a ratio as a change in percent, as a multiple from 3 on."""
    if ratio >= 3:
        return Change("times", figure(f"{ratio:.1f}"))
    far = 100 * (ratio - 1)
    size = numeral(abs(far), 1 if precise else 0)
    way: Literal["more", "less"] = "more" if far > 0 else "less"
    if float(size):
        return Change(way, say_as("size of a change", "{percent}", percent=percent(figure(size))))
    if abs(far) < 100 * CERTAIN:
        return Change("same")
    return Change(way, say("less than {size}", size=percent(figure("0.1" if precise else "1"))))


def end_of(ratio: float, precise: bool = False) -> Change:
    """Return the end of an interval as a change in percent.

    With a decimal where it has no whole percent.
    """
    return change_of(ratio, precise or not round(100 * (ratio - 1)))


def change(ratio: float, precise: bool = False) -> str:
    """Return a ratio as a change in words: `20% more`, `4% less`, `2.4 times as much`, `the same`."""
    return in_words(change_of(ratio, precise))


def in_words(change: Change) -> str:
    """Return a change in words."""
    way, size = change
    if way == "more":
        return say("{size} more", size=size)
    if way == "less":
        return say("{size} less", size=size)
    if way == "times":
        return say("{number} times as much", number=size)
    return say("the same")


def signed_change(ratio: float, low: float | None = None, high: float | None = None) -> str:
    """Return a ratio as a change with its sign.

    `+22%`, `−0.4%`, `× 2.4`; `0%` only where exactly true.
    """
    far = 100 * (ratio - 1)
    is_precise = is_fine(low, high) or not round(far)
    way, size = change_of(ratio, is_precise)
    if way == "times":
        return f"\u00d7\u00a0{size}"
    if way == "same":
        return percent("0")
    if not round(abs(far), 1):
        return f"< {percent(figure('0.1'))}"
    if is_precise:
        size = f"{abs(far):.1f}"
    else:
        size = f"{abs(far):.0f}"
    return f"{'+' if way == 'more' else MINUS}{percent(figure(size))}"


def signed_percent(ratio: float) -> str:
    """Return a ratio as a change in whole percent with its sign, as stands at a tick: `+25%`, `0%`."""
    change_in_percent = round(100 * (ratio - 1))
    if not change_in_percent:
        return percent("0")
    return f"{'+' if change_in_percent > 0 else MINUS}{percent(str(abs(change_in_percent)))}"


def is_fine(low: float | None, high: float | None) -> bool:
    """Return whether a ratio's interval is narrow enough for a decimal of a percent."""
    return low is not None and high is not None and high - low < 0.02


def ratio(value: float | None, low: float | None, high: float | None) -> str:
    """Return a ratio in percent of the reference, such as `120% (100% to 145%)`."""
    if value is None:
        return not_known()
    if is_fine(low, high):
        decimals = 1
    else:
        decimals = 0
    measured = _of_reference(value, decimals)
    if low is None and high is None:
        return say("{value} (no interval)", value=measured)
    return f"{measured} ({ratio_reach(low, high)})"


def ratio_reach(low: float | None, high: float | None) -> str:
    """Return the limits of a ratio in percent of the reference, such as `100% to 145%`; None where
    there is none.
    """
    if is_fine(low, high):
        decimals = 1
    else:
        decimals = 0
    lower, upper = (None if bound is None else _bound(bound, decimals) for bound in (low, high))
    return span(lower, upper)


def ratio_value(value: float, low: float | None, high: float | None) -> str:
    """Return a ratio in percent of the reference, rounded as it is beside its limits."""
    return _of_reference(value, 1 if is_fine(low, high) else 0)


def ratio_alone(value: float) -> str:
    """Return a ratio in percent of the reference, without its interval."""
    return _of_reference(value, 0)


def _bound(ratio: float, decimals: int) -> str:
    if ratio > FAR:
        return f"> {_of_reference(FAR, 0)}"
    return _of_reference(ratio, decimals)


def _of_reference(ratio: float, decimals: int) -> str:
    """Return a ratio as a percentage; one that is not 1 never shows as a bare 100%."""
    per_cent = 100 * ratio
    if float(f"{per_cent:.{decimals}f}") != 100 or abs(per_cent - 100) < 100 * CERTAIN:
        return percent(fixed(per_cent, decimals))
    whole = percent("100")
    if per_cent > 100:
        return say("just over {whole}", whole=whole)
    return say("just under {whole}", whole=whole)


def margin(share: float) -> str:
    """Return the difference that matters, such as `10%`."""
    return percent(figure(f"{100 * share:.3g}"))
