"""The sections that a grower reads.

Growth, water, electricity and cost, each headed by what was found.
"""

from typing import Final

from reportgen.language import marked, say
from reportgen.metrics.basis import on_each_basis
from reportgen.metrics.energy import is_shared
from reportgen.metrics.tariff import prices
from reportgen.model.document import Block, Figure, Paragraph, Prose, Section
from reportgen.model.results import Results
from reportgen.model.trial import Trial
from reportgen.report import (
    figures,
    money,
    numbers,
    own_price,
    pairs_apart,
    terms,
    treatment_names,
)
from reportgen.report.section_parts import (
    AND_APART,
    aside,
    averages,
    first_known,
    title,
    tray_dots,
    with_pairs_apart,
)
from reportgen.report.short_tables import short_table

WATER: Final = (*on_each_basis("water_per_gram"), "water_use")
COST: Final = on_each_basis("running_cost_per_gram", "electricity_cost_per_gram")
ENERGY: Final = (
    *on_each_basis("running_cost_per_gram", "energy_per_kg"),
    "energy_use",
    *on_each_basis("electricity_cost_per_gram"),
)
NOT_OF_PLANTS: Final = frozenset((*WATER, *ENERGY))
SHARED_METER: Final = marked(
    "One meter served all treatments; its energy was given out in proportion to {units}."
)
WATER_USED: Final = marked(
    "Water used is what was filled in and topped up, less what was drained or left over."
)


def water(trial: Trial, results: Results) -> Section | None:
    """Return the water that was used."""
    table = short_table(trial, results, WATER, "water-figures", say("Water use of each treatment"))
    if not table:
        return None
    key = first_known(results, WATER)
    blocks: list[Block] = [
        *tray_dots(trial, results, key),
        *with_pairs_apart(trial, results, averages(trial, results, "water_use"), WATER),
        *table,
    ]
    notes = (say(WATER_USED),)
    heading = title(trial, results, WATER, say("Water"))
    return Section("water", heading, (*blocks, *aside(notes)), say("Water"))


def energy(trial: Trial, results: Results) -> Section | None:
    """Return the electricity that was used, what it cost, and whether it pays."""
    table = short_table(
        trial, results, ENERGY, "energy-figures", say("Electricity and cost of each treatment")
    )
    if not table:
        return None
    blocks: list[Block] = [
        *_energy_figures(trial, results),
        *with_pairs_apart(trial, results, _energy_sentence(trial, results), (*COST, *ENERGY)),
        *table,
    ]
    notes = (
        *((terms.of_container(SHARED_METER),) if is_shared(trial) else ()),
        *_tariff(trial),
        *money.other_prices(trial, results),
        *money.notes(trial, results),
    )
    own = () if trial.interim else own_price.block(trial, results)
    blocks += money.budgets(trial, results)
    heading = title(trial, results, (*COST, *ENERGY), say("Electricity and cost"))
    apart = pairs_apart.in_title(trial, results, (*COST, *ENERGY))
    if apart:
        heading = say(AND_APART, heading=heading, apart=apart)
    return Section("energy", heading, (*blocks, *aside(notes), *own), say("Electricity and cost"))


def _energy_figures(trial: Trial, results: Results) -> tuple[Figure, ...]:
    key = first_known(results, (*COST, *ENERGY))
    return tray_dots(trial, results, key) or figures.energy(trial)


def _energy_sentence(trial: Trial, results: Results) -> tuple[Paragraph, ...]:
    """Return whether it pays, or else how much electricity was used."""
    said = money.budget(trial, results)
    return said or averages(trial, results, "energy_use")


def _tariff(trial: Trial) -> tuple[str, ...]:
    """Return what each treatment paid for a kilowatt-hour, where prices go by the time of day."""
    if not trial.tariff:
        return ()
    message = marked("{currency} {price}/kWh ({name})")
    texts: list[str] = []
    for code, price in prices(trial).items():
        name = treatment_names.label_within(trial, code)
        amount = numbers.money(price)
        texts.append(say(message, price=amount, currency=trial.currency, name=name))
    mean = say(
        "Electricity is priced by the time of day; over the hours of light it cost {prices} on"
        " average.",
        prices=numbers.listed(tuple(texts)),
    )
    return (mean,)


def own_words(trial: Trial) -> Section | None:
    """Return what the grower says of the trial."""
    by = trial.about.author or say("the grower")
    blocks = tuple(
        Prose(text, by) for text in (trial.about.summary, trial.about.conclusion) if text
    )
    if blocks:
        return Section("own-words", say("In the grower's words"), blocks)
    return None
