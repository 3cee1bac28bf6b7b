"""Amounts of money and of crop as readers see them."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from reportgen.language import say
from reportgen.metrics.cost import ELECTRICITY, cost_components
from reportgen.model.results import MoneyResult
from reportgen.model.trial import Trial
from reportgen.report import numbers, unit_factors, units
from reportgen.report.money_texts import (
    ELECTRICITY_ALONE,
    LESS,
    MONEY,
    MORE,
    PRICE,
)

# In a tenth of a kilogram, or less than a pound, crop is said in grams or ounces.
SMALL_CROP: Final[Mapping[str, float]] = {"kg": 100.0, "lb": unit_factors.G_PER_LB}  # g


Rounded = Callable[[float], str]


def added_crop_text(budget: MoneyResult) -> str:
    """Return how much more or less crop there was."""
    return say(LESS if budget.added_yield < 0 else MORE, amount=crop_text(budget))


def crop_text(budget: MoneyResult) -> str:
    """Return an amount of crop with its unit, a small one in grams or ounces."""
    if budget.yield_unit == "piece":
        return f"{numbers.two_digits(abs(budget.added_yield))} {crop_unit(budget)}"
    mass = units.mass()
    grams = abs(budget.added_yield) * mass.grams
    if 0 < grams < SMALL_CROP[mass.symbol]:
        sizes = units.amounts(grams, "g")
    else:
        sizes = units.amounts(grams / unit_factors.KILOGRAM.grams, "kg")
    return units.with_other(*(f"{numbers.two_digits(size)} {unit}" for size, unit in sizes))


def added_cost_text(trial: Trial, budget: MoneyResult) -> str:
    """Return the cost that a treatment adds, and that it is of electricity if that is all."""
    added = added_money_text(trial, budget.added_cost)
    if counts_electricity_alone(trial):
        return say(ELECTRICITY_ALONE, cost=added)
    return added


def counts_electricity_alone(trial: Trial) -> bool:
    """Return whether no cost beside electricity is counted."""
    for components in cost_components(trial).values():
        if any(component.name != ELECTRICITY for component in components):
            return False
    return True


def added_money_text(trial: Trial, amount: float | None) -> str:
    """Return how much more or less money: `EUR 3.46 more`."""
    if amount is None:
        return numbers.not_known()
    return say(LESS if amount < 0 else MORE, amount=money_text(trial, abs(amount)))


def money_text(trial: Trial, amount: float) -> str:
    """Return an amount of money with its currency, where the language has it."""
    return say(MONEY, currency=trial.currency, amount=numbers.money(amount))


def bound_text(amount: float | None) -> str:
    """Return a price that is only about right."""
    return numbers.two_digits(amount)


def price_text(trial: Trial, budget: MoneyResult, amount: float | None, rounded: Rounded) -> str:
    """Return a price of the crop with its currency and what it is for, in each system of display."""
    if amount is None or budget.yield_unit == "piece":
        said = rounded(amount or 0.0)
        return say(PRICE, currency=trial.currency, amount=said, per=sale_unit(budget))
    texts: list[str] = []
    for mass in units.masses():
        said = rounded(amount * mass.grams / units.mass().grams)
        texts.append(say(PRICE, currency=trial.currency, amount=said, per=mass.symbol))
    return units.with_other(*texts)


def sale_unit(budget: MoneyResult) -> str:
    """Return what the price of the crop is for: one piece, or a mass."""
    if budget.yield_unit == "piece":
        return say("piece")
    return units.mass().symbol


def crop_unit(budget: MoneyResult) -> str:
    """Return the unit of an amount of crop: pieces, or a mass."""
    if budget.yield_unit == "piece":
        return say("pieces")
    return units.mass().symbol


def in_shown_units(budget: MoneyResult) -> MoneyResult:
    """Return a budget with its crop and prices by the mass of display; one of pieces as it is."""
    if budget.yield_unit == "piece":
        return budget
    kilograms = units.mass().grams / unit_factors.KILOGRAM.grams
    prices = (budget.price, budget.break_even_price, budget.break_even_low, budget.break_even_high)
    price, even, low, high = (None if price is None else kilograms * price for price in prices)
    return replace(
        budget,
        added_yield=budget.added_yield / kilograms,
        price=price,
        break_even_price=even,
        break_even_low=low,
        break_even_high=high,
    )
