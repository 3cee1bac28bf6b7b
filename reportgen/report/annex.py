"""The annex: every number, how it was made, and what else was measured, for those who want it."""

from collections.abc import Sequence
from typing import Final

from reportgen.language import say
from reportgen.model.document import Block, Figure, Section, Table
from reportgen.model.results import MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import (
    adjusted,
    comparison_table,
    factors,
    fairness,
    figures,
    glossary,
    growth_over_time,
    harvests,
    methods,
    money,
    numbers,
    photos,
    score_section,
    terms,
    units,
    wording,
)
from reportgen.report.factor_answer import reads_as_curve
from reportgen.report.key_measures import key_measures

MOST_OF_SEVERAL: Final = 3  # measures in the figure of changes, where each has a row a treatment
PRICE_STEPS: Final = (0.5, 0.75, 1.0, 1.5, 2.0)


def sections(trial: Trial, results: Results, colophon: str) -> tuple[Section, ...]:
    """Return the sections of the annex in reading order; one without content is not there."""
    found = (
        _comparisons(trial, results),
        factors.section(trial, results),
        score_section.section(trial, results),
        harvests.section(trial, results),
        _growth_over_time(trial, results),
        fairness.factors(trial, results),
        _prices(trial, results),
        _light_and_climate(trial, results),
        _solution(trial),
        fairness.checks(trial, results),
        fairness.reported(trial, results),
        photos.observations(trial),
        methods.section(trial, results),
        glossary.section(trial, results),
        methods.data(trial, colophon),
    )
    return tuple(section for section in found if section is not None)


def _comparisons(trial: Trial, results: Results) -> Section | None:
    blocks = (
        *_changes(trial, results),
        *comparison_table.blocks(trial, results),
        *figures.plants(trial, results),
        *(() if trial.interim else figures.residuals(trial, results)),
        *adjusted.blocks(trial, results),
    )
    if blocks:
        return Section("comparisons", say("All measures"), blocks)
    return None


def _changes(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the figure of key measures beside the reference; doses are compared by their curve."""
    if trial.interim or reads_as_curve(results):
        return ()
    keys = key_measures(results)
    return figures.changes(
        trial, results, keys if len(trial.treatments) == 2 else keys[:MOST_OF_SEVERAL]
    )


def _growth_over_time(trial: Trial, results: Results) -> Section | None:
    blocks = growth_over_time.blocks(trial, results)
    if blocks:
        return Section("growth-over-time", say("Growth over time"), blocks)
    return None


def _light_and_climate(trial: Trial, results: Results) -> Section | None:
    """Return the light and the air that plants had."""
    blocks = (*figures.light_map(trial, results), *figures.climate(trial, results))
    if blocks:
        return Section("light-and-climate", say("Light and climate"), blocks)
    return None


def _solution(trial: Trial) -> Section | None:
    """Return EC, pH and temperature of the solution over time.

    Their means stand in the table of all measures.
    """
    charts = figures.solution(trial)
    if charts:
        return Section("solution", say("Nutrient solution"), charts)
    return None


def _prices(trial: Trial, results: Results) -> Section | None:
    """Return what a gram costs by its parts and at other prices of electricity, and the budgets in
    full.
    """
    blocks: list[Block] = [*figures.energy(trial)]
    cost = wording.result_of(results, "electricity_cost_per_gram")
    if cost is not None and not trial.tariff:
        blocks += figures.cost_against_price(trial, results)
        blocks += (
            [_at_other_prices(trial, cost, trial.electricity_price)]
            if trial.electricity_price
            else []
        )
    blocks += figures.cost_parts(trial, results)
    blocks += money.in_full(trial, results)
    if blocks:
        return Section("prices", say("Electricity and money"), tuple(blocks))
    return None


def _at_other_prices(trial: Trial, cost: MeasureResult, price: float) -> Table:
    """Return the cost per kilogram or pound at a few prices: it is in proportion to the price."""
    cost = units.displayed([cost], units.current())[0]
    rows = tuple(_price_row(cost, step, price) for step in PRICE_STEPS)
    head = (
        say("Price ({currency}/kWh)", currency=trial.currency),
        *(f"{treatment.name} ({cost.measure.unit})" for treatment in trial.treatments),
    )
    caption = say("{measure} at other prices of electricity", measure=terms.label(cost.measure))
    return Table("prices", caption, head, rows, (False, *(True for _ in head[1:])))


def _price_row(cost: MeasureResult, step: float, price: float) -> tuple[str, ...]:
    own = numbers.typed(step * price)
    if step == 1:
        own = say("{price} (this trial's)", price=own)
    costs: Sequence[str] = [
        numbers.money(None if one.value is None else step * one.value) for _, one in cost.estimates
    ]
    return (own, *costs)
