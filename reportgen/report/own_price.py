"""What a page needs to work out what a kilogram or a pound costs at the price of electricity that
its reader pays.
"""

from collections.abc import Iterator
from typing import Final

from reportgen import language
from reportgen.language import marked, say
from reportgen.metrics.cost import ELECTRICITY, cost_components
from reportgen.metrics.energy import energy_source
from reportgen.metrics.price import costs_of_gram
from reportgen.model.document import CostLine, OwnPrice, Signs
from reportgen.model.results import Results
from reportgen.model.trial import Trial
from reportgen.report import figures, numbers, terms, units, wording
from reportgen.stats.intersections import Line

MEASURED: Final = marked("From the electricity measured in this trial, without a margin of error.")
CALCULATED: Final = marked(
    "From the electricity of this trial, calculated from the power of devices and not measured,"
    " without a margin of error."
)
CALCULATED_IN_PART: Final = marked(
    "From the electricity of this trial, without a margin of error: calculated from the power of"
    " devices for {names}, measured for the rest."
)
UNCHANGED: Final = marked("Your price changes only this table.")


def block(trial: Trial, results: Results) -> tuple[OwnPrice, ...]:
    """Return the fields for a reader's own price.

    None where the trial has no price or one by the time of day, whose mean another price has no
    counterpart for, and where no energy is compared.
    """
    lines = costs_of_gram(trial, figures.by_key(results))
    if not lines or trial.tariff or trial.electricity_price is None:
        return ()
    mass = units.mass()
    costs = tuple(_line(trial, line, mass.grams) for line in lines)
    known = {line.name for line in lines}
    return (
        OwnPrice(
            price=numbers.typed(trial.electricity_price),
            currency=trial.currency,
            mass=mass.symbol,
            mass_named=say(mass.name),
            lines=costs,
            reference=wording.name_of(trial, trial.reference) if trial.reference in known else "",
            has_others=bool(_others(trial)),
            notes=tuple(_notes(trial, results, known)),
            signs=Signs(language.point(), language.separator(), language.percent_signs()),
        ),
    )


def _line(trial: Trial, line: Line, grams: float) -> CostLine:
    """Return what a mass costs a treatment from what a gram costs."""
    is_reference = line.name == trial.reference
    return CostLine(
        wording.name_of(trial, line.name), grams * line.start, grams * line.slope, is_reference
    )


def _others(trial: Trial) -> tuple[str, ...]:
    """Return the names of the costs beside electricity."""
    parts = (part.name for found in cost_components(trial).values() for part in found)
    return tuple(terms.cost(name) for name in dict.fromkeys(parts) if name != ELECTRICITY)


def _notes(trial: Trial, results: Results, known: set[str]) -> Iterator[str]:
    """Yield what is counted, what is left out, and what does not follow."""
    yield _source_of_energy(trial, known)
    if others := _others(trial):
        yield say(
            "The other costs ({items}) stay as they are, in {currency}; with another currency they"
            " are left out.",
            items="; ".join(others),
            currency=trial.currency,
        )
    else:
        yield say("Electricity is the only cost that this trial counts.")
    unknown = tuple(treatment.name for treatment in trial.treatments if treatment.code not in known)
    if unknown:
        yield say(
            "Left out, because a part of its cost is not known: {names}.",
            names=numbers.listed(unknown),
        )
    yield say(UNCHANGED)


def _source_of_energy(trial: Trial, known: set[str]) -> str:
    """Return whether the electricity of a gram was measured, calculated, or both."""
    sources = energy_source(trial)
    calculated = [code for code in sources if code in known and sources[code] == "calculated"]
    if not calculated:
        return say(MEASURED)
    if len(calculated) == len(known):
        return say(CALCULATED)
    names = tuple(wording.name_of(trial, code) for code in calculated)
    return say(CALCULATED_IN_PART, names=numbers.listed(names))
