"""What the trial says of money.

The partial budget, the crop price that breaks even, other prices of electricity.
"""

from typing import Final

from reportgen.language import marked, say
from reportgen.metrics.price import Payback, costs_of_gram, paybacks
from reportgen.model.document import Bullets, Paragraph, Table
from reportgen.model.results import MoneyResult, Results
from reportgen.model.trial import Trial
from reportgen.report import figures, numbers, units, wording
from reportgen.report.money_amounts import (
    added_cost_text,
    added_crop_text,
    added_money_text,
    bound_text,
    crop_unit,
    in_shown_units,
    money_text,
    price_text,
    sale_unit,
)
from reportgen.report.money_texts import (
    ADDED,
    ASSUMED,
    AT_OWN_PRICE,
    AT_PRICE,
    BREAK_EVEN,
    CANNOT_BE_SAID,
    IF_DEARER,
    LIMITS,
    MARGIN,
    NO_PRICE,
    NO_PRICE_KNOWN,
    NOT_SAID,
    PARTIAL,
    PAYS,
    PAYS_AT,
    PAYS_IF,
    TOGETHER,
)
from reportgen.stats.intersections import intersections

NEAREST, FARTHEST = (
    0.5,
    2.0,
)  # prices of electricity shown, as multiples of the trial's own: beyond is no forecast
# Kinds of limits that leave the side of the price open, or are none.
ONE_SIDED: Final = frozenset(("at_least", "at_most", "two_parts", "any", "unknown"))


def budget(trial: Trial, results: Results) -> tuple[Paragraph, ...]:
    """Return whether the only other treatment pays, counting only what differs from the reference
    (partial budget).
    """
    return tuple(
        Paragraph(_budget(trial, budget))
        for budget in _budgets_in_units(results)
        if len(results.money) == 1
    )


def budgets(trial: Trial, results: Results) -> tuple[Table, ...]:
    """Return at which price of the crop each of several treatments pays.

    None where no price can be named.
    """
    if len(results.money) < 2 or not any(map(_is_clear, results.money)):
        return ()
    per = sale_unit(results.money[0])
    unit = wording.unit_of(trial)
    interval = say("{level} interval", level=numbers.percent_level(trial.confidence_level))
    price = _own_price(trial, results)
    head = [
        say("Treatment"),
        say("Added cost ({currency}/{unit})", currency=trial.currency, unit=unit),
        say("Added crop ({amount}/{unit})", amount=crop_unit(results.money[0]), unit=unit),
        say("Pays at a crop price ({currency}/{per})", currency=trial.currency, per=per),
        interval,
    ]
    if price:
        head.append(say("At {price}", price=price))
    rows: list[tuple[str, ...]] = []
    for budget in _budgets_in_units(results):
        row = (*_budget_row(trial, budget), _verdict_at_price(budget))
        rows.append(row[: len(head)])
    numeric = (False, True, True, True, True, False)[: len(head)]
    limits = (False, False, False, False, True, False)[: len(head)]
    title = say("Does it pay?")
    return (Table("budget", title, tuple(head), tuple(rows), numeric, limits=limits),)


def _own_price(trial: Trial, results: Results) -> str:
    """Return the grower's own price of the crop, empty if nothing is judged by one."""
    for budget in _budgets_in_units(results):
        if budget.price is not None and budget.pays in AT_OWN_PRICE:
            return price_text(trial, budget, budget.price, numbers.three_digits)
    return ""


def _verdict_at_price(budget: MoneyResult) -> str:
    """Return whether a treatment pays at the grower's own price, for a cell of the table."""
    return say(AT_OWN_PRICE.get(budget.pays, CANNOT_BE_SAID))


def _budgets_in_units(results: Results) -> tuple[MoneyResult, ...]:
    return tuple(in_shown_units(budget) for budget in results.money)


def _is_clear(budget: MoneyResult) -> bool:
    """Return whether the price at which a treatment pays has limits on the side where it pays."""
    return budget.prices == "interval" and budget.direction in ("above", "below")


def _budget_row(trial: Trial, budget: MoneyResult) -> tuple[str, ...]:
    if not _is_clear(budget):
        added = (numbers.money(budget.added_cost), numbers.two_digits(budget.added_yield))
        return (wording.name_of(trial, budget.treatment), *added, say(CANNOT_BE_SAID), "")
    return (
        wording.name_of(trial, budget.treatment),
        numbers.money(budget.added_cost),
        numbers.two_digits(budget.added_yield),
        say(PAYS_AT[budget.direction], price=bound_text(budget.break_even_price)),
        numbers.span(bound_text(budget.break_even_low), bound_text(budget.break_even_high)),
    )


def in_full(trial: Trial, results: Results) -> tuple[Bullets, ...]:
    """Return the budget of each of several treatments in words, with its margin at the crop's
    price.
    """
    if len(results.money) < 2:
        return ()
    return (
        Bullets(
            tuple(_budget(trial, budget) for budget in _budgets_in_units(results)),
            say("Does it pay?"),
        ),
    )


def break_even(trial: Trial, results: Results) -> str:
    """Return at which price of the crop the only other treatment pays.

    Empty where no price decides that.
    """
    if len(results.money) == 1:
        one = _budgets_in_units(results)[0]
    else:
        one = None
    if one is None or one.direction not in PAYS_IF or one.prices != "interval":
        return ""
    said = say(
        PAYS_IF[one.direction],
        name=wording.name_within(trial, one.treatment),
        unit=wording.unit_of(trial),
        cost=added_cost_text(trial, one),
        crop=added_crop_text(one),
        price=price_text(trial, one, one.break_even_price, numbers.two_digits),
        level=numbers.percent_level(trial.confidence_level),
        low=numbers.two_digits(one.break_even_low),
        high=numbers.two_digits(one.break_even_high),
    )
    if one.price is None or one.pays not in AT_PRICE:
        return said
    at_price = say(
        AT_PRICE[one.pays], price=price_text(trial, one, one.price, numbers.three_digits)
    )
    return f"{said} {at_price}"


def notes(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return what a reader of the budget must know."""
    if not results.money:
        return currency(trial)
    notes = [*currency(trial), say(PARTIAL)]
    if len(trial.treatments) > 2:
        notes.append(say(TOGETHER))
    if len(results.money) > 1 and not any(map(_is_clear, results.money)):
        notes.append(say(NO_PRICE_KNOWN))
    measures: dict[str, None] = {}
    for money in results.money:
        if money.yield_of == "marketable":
            measures["marketable_yield"] = None
        else:
            measures["tray_yield"] = None
    doubt = wording.doubted(trial, results, tuple(measures))
    if doubt:
        notes.append(doubt)
    return tuple(notes)


def currency(trial: Trial) -> tuple[str, ...]:
    """Return that the currency was assumed; none where it is known."""
    if trial.is_currency_assumed:
        return (say(ASSUMED, currency=trial.currency),)
    return ()


def _budget(trial: Trial, budget: MoneyResult) -> str:
    known = {
        "name": wording.name_within(trial, budget.treatment),
        "reference": wording.name_within(trial, trial.reference),
        "unit": wording.unit_of(trial),
        "level": numbers.percent_level(trial.confidence_level),
        "cost": added_cost_text(trial, budget),
        "crop": added_crop_text(budget),
    }
    parts = [say(ADDED[budget.yield_of], **known)]
    limits = say(
        LIMITS[budget.prices],
        **known,
        low=bound_text(budget.break_even_low),
        high=bound_text(budget.break_even_high),
    )
    price = price_text(trial, budget, budget.break_even_price, bound_text)
    is_said = budget.direction not in PAYS_AT or budget.prices not in ONE_SIDED
    if is_said:
        parts.append(say(BREAK_EVEN[budget.direction], **known, price=price, limits=limits))
    else:
        parts.append(say(NOT_SAID))
    if budget.margin is not None and budget.pays in PAYS:
        price = price_text(trial, budget, budget.price, numbers.three_digits)
        margin = {
            "margin": added_money_text(trial, budget.margin),
            "low": added_money_text(trial, budget.margin_low),
            "high": added_money_text(trial, budget.margin_high),
        }
        parts.append(say(MARGIN, **known, **margin, price=price, verdict=say(PAYS[budget.pays])))
    elif is_said and budget.margin is None and budget.prices != "empty":
        parts.append(say(NO_PRICE))
    return " ".join(parts)


def other_prices(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return at which prices of electricity treatments cost the same, and when dearer equipment has
    paid for itself.
    """
    said = (*_crossings(trial, results), *(_payback(trial, payback) for payback in paybacks(trial)))
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
            price=numbers.plain(crossing.x),
            currency=trial.currency,
            mass=say(units.mass().name),
            below=wording.name_within(trial, crossing.below),
            above=wording.name_within(trial, crossing.above),
        )
        for crossing in intersections(costs_of_gram(trial, figures.by_key(results)))
        if NEAREST * price <= crossing.x <= FARTHEST * price
    ]


def _payback(trial: Trial, payback: Payback) -> str:
    known = {
        "name": wording.name_of(trial, payback.treatment),
        "reference": wording.name_of(trial, trial.reference),
        "extra": money_text(trial, payback.extra),
        "saving": money_text(trial, payback.saving),
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
