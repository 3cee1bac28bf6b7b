"""What growing cost: part by part, and as the price of electricity changes."""

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from reportgen.language import marked, say
from reportgen.metrics.basis import on_each_basis
from reportgen.metrics.price import costs_of_gram, per_gram
from reportgen.model.document import Figure
from reportgen.model.results import MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import figure_titles, numbers, terms, units, wording
from reportgen.report.figures.drawing import drawn
from reportgen.stats.intersections import Line

if TYPE_CHECKING:
    from reportgen.charts.cost_parts import CostPart

AT_OTHER_PRICES: Final = marked(
    "What a {mass} of fresh weight costs at other prices of electricity. A ring marks a price at"
    " which two treatments cost the same; the upright line is this trial's price."
)
COSTS: Final = on_each_basis("running_cost_per_gram", "electricity_cost_per_gram")
BY_PART: Final = marked("What a {mass} of fresh weight cost.")


def cost_against_price(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the chart of cost against the price of electricity."""
    from reportgen.charts.cost_lines import cost_against_price as chart

    mass, named, grams = units.mass()
    found = costs_of_gram(trial, by_key(results))
    costs = [Line(one.name, grams * one.start, grams * one.slope) for one in found]
    message = marked("{name} {cost} {currency}/{mass} and {energy} kWh/{mass}")
    said = "; ".join(_cost(trial, line, mass, message) for line in costs)
    return drawn(
        "cost-against-price",
        lambda width: chart(trial, costs, mass, width),
        say(AT_OTHER_PRICES, mass=say(named)),
        say("Cost without electricity, and energy, of fresh weight: {figures}.", figures=said),
        figure_titles.of_prices(trial, costs, is_clear=is_cost_clear(results)),
    )


def is_cost_clear(results: Results) -> bool:
    """Return whether the cost of a weight of crop is clearly more or less with some treatment."""
    return any(
        conclusion.code in ("more", "less")
        for conclusion in results.conclusions
        if conclusion.measure in COSTS
    )


def _cost(trial: Trial, line: Line, mass: str, message: str) -> str:
    figures = {"cost": numbers.plain(line.start), "energy": numbers.plain(line.slope)}
    return say(
        message,
        name=wording.name_of(trial, line.name),
        currency=trial.currency,
        mass=mass,
        **figures,
    )


def cost_parts(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the chart of cost by component."""
    from reportgen.charts.cost_parts import components

    parts = _parts(trial, results)
    if not parts:
        return ()
    mass, named, grams = units.mass()
    shown = [replace(one, cost=None if one.cost is None else grams * one.cost) for one in parts]
    said = "; ".join(
        f"{wording.name_of(trial, one.treatment)}, {one.component} {numbers.money(one.cost)}"
        for one in shown
    )
    return drawn(
        "cost-parts",
        lambda width: components(trial, shown, mass, width, numbers.money),
        say(BY_PART, mass=say(named)),
        say("In {currency}/{mass}: {costs}.", currency=trial.currency, mass=mass, costs=said),
        figure_titles.of_cost_parts(shown),
    )


def _parts(trial: Trial, results: Results) -> "list[CostPart]":
    """Return each component of the cost of a gram."""
    from reportgen.charts.cost_parts import CostPart
    from reportgen.metrics.cost import cost_components

    yields = wording.result_of(results, "tray_yield")
    if yields is None or wording.result_of(results, "running_cost_per_gram") is None:
        return []
    grams = {code: each.value for code, each in yields.estimates}
    found: list[CostPart] = []
    for code, components in cost_components(trial).items():
        for part in components:
            found.append(
                CostPart(code, terms.cost(part.name), per_gram(part.per_tray, grams[code]))
            )
    return found


def by_key(results: Results) -> dict[str, MeasureResult]:
    """Return the results of measures by their keys."""
    return {result.measure.key: result for result in results.measures}
