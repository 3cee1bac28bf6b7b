"""What the trial says of money: the partial budget, the crop price that breaks even, other prices
of electricity.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from reportgen.language import marked, say
from reportgen.metrics.price import Payback, costs_of_gram, paybacks
from reportgen.model.document import Bullets, Paragraph, Table
from reportgen.model.results import MoneyResult, Results
from reportgen.model.trial import Trial
from reportgen.report import figures, numbers, units, wording
from reportgen.stats.intersections import intersections

# In a tenth of a kilogram, or less than a pound, crop is said in grams or ounces.
SMALL_CROP: Final[Mapping[str, float]] = {"kg": 100.0, "lb": units.G_PER_LB}  # g
Rounded = Callable[[float], str]
NEAREST, FARTHEST = (
    0.5,
    2.0,
)  # prices of electricity shown, as multiples of the trial's own: beyond is no forecast
ADDED: Final[Mapping[str, str]] = {
    "all": marked("Per {unit}, {name} cost {cost} and gave {crop} crop than {reference}."),
    "marketable": marked(
        "Per {unit}, {name} cost {cost} and gave {crop} marketable crop than {reference}."
    ),
}
MORE: Final = marked("{amount} more")
LESS: Final = marked("{amount} less")
BREAK_EVEN: Final[Mapping[str, str]] = {
    "above": marked("As measured, that pays if the crop sells above about {price} ({limits})."),
    "below": marked("As measured, that pays if the crop sells below about {price} ({limits})."),
    "always": marked(
        "As measured, it gave no less and cost no more, whatever the crop price ({limits})."
    ),
    "never": marked(
        "As measured, it gave no more and cost no less, whatever the crop price ({limits})."
    ),
    "none": marked(
        "As measured, yield and cost were the same, so no crop price decides ({limits})."
    ),
}
PAYS_AT: Final[Mapping[str, str]] = {  # in a cell of a table
    "above": marked("above {price}"),
    "below": marked("below {price}"),
}
LIMITS: Final[Mapping[str, str]] = {
    "interval": marked("{level} interval {low} to {high}"),
    "at_least": marked("{level} interval {low} or more"),
    "at_most": marked("{level} interval up to {high}"),
    "two_parts": marked("{level} interval up to {low}, or {high} and more"),
    "any": marked("the trial excludes no price"),
    "empty": marked("no price of 0 or more breaks even"),
    "unknown": marked("uncertainty unknown"),
}
MARGIN: Final = marked(
    "At {price} that leaves {margin} per {unit} ({level} interval {low} to {high}): {verdict}."
)
PAYS: Final[Mapping[str, str]] = {
    "pays": marked("it pays"),
    "loses": marked("it does not pay"),
    "unclear": marked("we cannot say whether it pays"),
}
TOGETHER: Final = marked("These limits hold for all comparisons together.")
PARTIAL: Final = marked("Only what differs between the treatments is counted.")
IF_DEARER: Final = marked("If electricity cost more or less (no margin of error):")
ASSUMED: Final = marked("No currency was recorded: {currency} is assumed.")
PAYS_IF: Final[Mapping[str, str]] = {
    "above": marked(
        "With {name} a {unit} cost {cost} and gave {crop} crop; that pays if the crop sells above"
        " about {price}, somewhere between {low} and {high}."
    ),
    "below": marked(
        "With {name} a {unit} cost {cost} and gave {crop} crop; that pays if the crop sells below"
        " about {price}, somewhere between {low} and {high}."
    ),
}
AT_PRICE: Final[Mapping[str, str]] = {
    "pays": marked("At {price} it pays."),
    "loses": marked("At {price} it does not pay."),
    "unclear": marked("At {price} we cannot say whether it pays."),
}
ONE_SIDED: Final = frozenset(("at_least", "at_most", "two_parts", "any"))  # kinds of limits
NOT_SAID: Final = marked("At which price of the crop that pays, this trial cannot say.")
CANNOT_BE_SAID: Final = marked("cannot be said")
NO_PRICE_KNOWN: Final = marked(
    "No difference in cost and crop was clear, so no price of the crop can be named."
)
MONEY: Final = marked("{currency} {amount}")
PRICE: Final = marked("{currency} {amount}/{per}")
NO_PRICE: Final = marked(
    "Whether it pays depends on the crop price, which the workbook does not give."
)


def budget(trial: Trial, results: Results) -> tuple[Paragraph, ...]:
    """Return whether the only other treatment pays, counting only what differs from the reference
    (partial budget).
    """
    return tuple(
        Paragraph(_budget(trial, one)) for one in _shown(results) if len(results.money) == 1
    )


def budgets(trial: Trial, results: Results) -> tuple[Table, ...]:
    """Return at which price of the crop each of several treatments pays; none where no price can be
    named.
    """
    if len(results.money) < 2 or not any(map(_is_clear, results.money)):
        return ()
    per = _per(results.money[0])
    unit = wording.unit_of(trial)
    interval = say("{level} interval", level=numbers.percent_level(trial.confidence_level))
    head = (
        say("Treatment"),
        say("Added cost ({currency}/{unit})", currency=trial.currency, unit=unit),
        say("Added crop ({amount}/{unit})", amount=_crop_unit(results.money[0]), unit=unit),
        say("Pays at a crop price ({currency}/{per})", currency=trial.currency, per=per),
        interval,
    )
    rows = tuple(_budget_row(trial, one) for one in _shown(results))
    numeric, limits = (False, True, True, True, True), (False, False, False, False, True)
    return (Table("budget", say("Does it pay?"), head, rows, numeric, limits=limits),)


def _shown(results: Results) -> tuple[MoneyResult, ...]:
    return tuple(_in_units(one) for one in results.money)


def _is_clear(one: MoneyResult) -> bool:
    """Return whether the price at which a treatment pays has limits on the side where it pays."""
    return one.prices == "interval" and one.direction in ("above", "below")


def _budget_row(trial: Trial, one: MoneyResult) -> tuple[str, ...]:
    if not _is_clear(one):
        added = (numbers.money(one.added_cost), numbers.two_digits(one.added_yield))
        return (wording.name_of(trial, one.treatment), *added, say(CANNOT_BE_SAID), "")
    return (
        wording.name_of(trial, one.treatment),
        numbers.money(one.added_cost),
        numbers.two_digits(one.added_yield),
        say(PAYS_AT[one.direction], price=_bound(one.break_even_price)),
        numbers.span(_bound(one.break_even_low), _bound(one.break_even_high)),
    )


def in_full(trial: Trial, results: Results) -> tuple[Bullets, ...]:
    """Return the budget of each of several treatments in words, with its margin at the crop's
    price.
    """
    if len(results.money) < 2:
        return ()
    return (Bullets(tuple(_budget(trial, one) for one in _shown(results)), say("Does it pay?")),)


def break_even(trial: Trial, results: Results) -> str:
    """Return at which price of the crop the only other treatment pays; empty where no price decides
    that.
    """
    if len(results.money) == 1:
        one = _shown(results)[0]
    else:
        one = None
    if one is None or one.direction not in PAYS_IF or one.prices != "interval":
        return ""
    said = say(
        PAYS_IF[one.direction],
        name=wording.name_within(trial, one.treatment),
        unit=wording.unit_of(trial),
        cost=_added_cost(trial, one),
        crop=_added_crop(one),
        price=_price(trial, one, one.break_even_price, numbers.two_digits),
        low=numbers.two_digits(one.break_even_low),
        high=numbers.two_digits(one.break_even_high),
    )
    if one.price is None or one.pays not in AT_PRICE:
        return said
    at_price = say(AT_PRICE[one.pays], price=_price(trial, one, one.price, numbers.three_digits))
    return f"{said} {at_price}"


def notes(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return what a reader of the budget must know."""
    if not results.money:
        return currency(trial)
    counted = dict.fromkeys(
        "marketable_yield" if one.yield_of == "marketable" else "tray_yield"
        for one in results.money
    )
    if len(trial.treatments) > 2:
        together = say(TOGETHER)
    else:
        together = ""
    is_unknown = len(results.money) > 1 and not any(map(_is_clear, results.money))
    if is_unknown:
        unknown = say(NO_PRICE_KNOWN)
    else:
        unknown = ""
    said = (
        *currency(trial),
        say(PARTIAL),
        together,
        unknown,
        wording.doubted(trial, results, tuple(counted)),
    )
    return tuple(text for text in said if text)


def currency(trial: Trial) -> tuple[str, ...]:
    """Return that the currency was assumed; none where it is known."""
    if trial.is_currency_assumed:
        return (say(ASSUMED, currency=trial.currency),)
    return ()


def _budget(trial: Trial, one: MoneyResult) -> str:
    known = {
        "name": wording.name_within(trial, one.treatment),
        "reference": wording.name_within(trial, trial.reference),
        "unit": wording.unit_of(trial),
        "level": numbers.percent_level(trial.confidence_level),
        "cost": _added_cost(trial, one),
        "crop": _added_crop(one),
    }
    parts = [say(ADDED[one.yield_of], **known)]
    limits = say(
        LIMITS[one.prices],
        **known,
        low=_bound(one.break_even_low),
        high=_bound(one.break_even_high),
    )
    price = _price(trial, one, one.break_even_price, _bound)
    is_said = one.direction not in PAYS_AT or one.prices not in ONE_SIDED
    if is_said:
        parts.append(say(BREAK_EVEN[one.direction], **known, price=price, limits=limits))
    else:
        parts.append(say(NOT_SAID))
    if one.margin is not None and one.pays in PAYS:
        price = _price(trial, one, one.price, numbers.three_digits)
        margin = {
            "margin": _added_money(trial, one.margin),
            "low": _added_money(trial, one.margin_low),
            "high": _added_money(trial, one.margin_high),
        }
        parts.append(say(MARGIN, **known, **margin, price=price, verdict=say(PAYS[one.pays])))
    elif is_said and one.margin is None and one.prices != "empty":
        parts.append(say(NO_PRICE))
    return " ".join(parts)


def _added_crop(one: MoneyResult) -> str:
    """Return how much more or less crop there was."""
    return say(LESS if one.added_yield < 0 else MORE, amount=_crop(one))


def _crop(one: MoneyResult) -> str:
    """Return an amount of crop with its unit, a small one in grams or ounces."""
    if one.yield_unit == "piece":
        return f"{numbers.two_digits(abs(one.added_yield))} {_crop_unit(one)}"
    mass = units.mass()
    grams = abs(one.added_yield) * mass.grams
    if 0 < grams < SMALL_CROP[mass.symbol]:
        sizes = units.amounts(grams, "g")
    else:
        sizes = units.amounts(grams / units.KILOGRAM.grams, "kg")
    return units.with_other(*(f"{numbers.two_digits(size)} {unit}" for size, unit in sizes))


def _added_cost(trial: Trial, one: MoneyResult) -> str:
    return _added_money(trial, one.added_cost)


def _added_money(trial: Trial, amount: float | None) -> str:
    """Return how much more or less money: `EUR 3.46 more`."""
    if amount is None:
        return numbers.not_known()
    return say(LESS if amount < 0 else MORE, amount=_money(trial, abs(amount)))


def _money(trial: Trial, amount: float) -> str:
    """Return an amount of money with its currency, where the language has it."""
    return say(MONEY, currency=trial.currency, amount=numbers.money(amount))


def _bound(amount: float | None) -> str:
    """Return a price that is only about right."""
    return numbers.two_digits(amount)


def _price(trial: Trial, one: MoneyResult, amount: float | None, rounded: Rounded) -> str:
    """Return a price of the crop with its currency and what it is for, in each system of display."""
    if amount is None or one.yield_unit == "piece":
        said = rounded(amount or 0.0)
        return say(PRICE, currency=trial.currency, amount=said, per=_per(one))
    texts: list[str] = []
    for mass in units.masses():
        said = rounded(amount * mass.grams / units.mass().grams)
        texts.append(say(PRICE, currency=trial.currency, amount=said, per=mass.symbol))
    return units.with_other(*texts)


def _per(one: MoneyResult) -> str:
    if one.yield_unit == "piece":
        return say("piece")
    return units.mass().symbol


def _crop_unit(one: MoneyResult) -> str:
    if one.yield_unit == "piece":
        return say("pieces")
    return units.mass().symbol


def _in_units(one: MoneyResult) -> MoneyResult:
    """Return a budget with its crop and prices by the mass of display; one of pieces as it is."""
    if one.yield_unit == "piece":
        return one
    kilograms = units.mass().grams / units.KILOGRAM.grams
    prices = (one.price, one.break_even_price, one.break_even_low, one.break_even_high)
    price, even, low, high = (None if price is None else kilograms * price for price in prices)
    return replace(
        one,
        added_yield=one.added_yield / kilograms,
        price=price,
        break_even_price=even,
        break_even_low=low,
        break_even_high=high,
    )


def other_prices(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return at which prices of electricity treatments cost the same, and when dearer equipment has
    paid for itself.
    """
    said = (*_crossings(trial, results), *(_payback(trial, one) for one in paybacks(trial)))
    if said:
        return (say(IF_DEARER), *said)
    return ()


def _crossings(trial: Trial, results: Results) -> list[str]:
    """Return the prices at which two treatments cost the same, from half to double the trial's own
    price.
    """
    price = trial.electricity_price
    if price is None or trial.tariff or not figures.is_cost_clear(results):
        return []
    message = marked(
        "At {price} {currency}/kWh a {mass} of fresh weight costs as much with {below} as with"
        " {above}; cheaper electricity favours {below}."
    )
    return [
        say(
            message,
            price=numbers.plain(one.x),
            currency=trial.currency,
            mass=say(units.mass().name),
            below=wording.name_within(trial, one.below),
            above=wording.name_within(trial, one.above),
        )
        for one in intersections(costs_of_gram(trial, figures.by_key(results)))
        if NEAREST * price <= one.x <= FARTHEST * price
    ]


def _payback(trial: Trial, payback: Payback) -> str:
    known = {
        "name": wording.name_of(trial, payback.treatment),
        "reference": wording.name_of(trial, trial.reference),
        "extra": _money(trial, payback.extra),
        "saving": _money(trial, payback.saving),
        "unit": wording.unit_of(trial),
        "level": numbers.percent_level(trial.confidence_level),
        "days": numbers.with_interval(payback.days, payback.days_low, payback.days_high),
    }
    paid_back = marked(
        "The equipment of {name} cost {extra} more per {unit} than that of {reference}. For the"
        " same harvest it cost {saving} less per {unit} and day to run, which pays for it in {days}"
        " days of growing ({level} interval; simple payback, without interest)."
    )
    said = say(paid_back, **known)
    if payback.days > payback.lasts:
        lasts = say(
            "That is longer than the {lasts} days the equipment lasts.",
            lasts=numbers.plain(payback.lasts),
        )
        return f"{said} {lasts}"
    return said
