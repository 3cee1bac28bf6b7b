"""What was compared: the treatments side by side, how places were given, how plants were grown."""

from collections.abc import Iterator, Sequence
from typing import Final

from reportgen.language import marked, say
from reportgen.metrics.totals import is_harvested
from reportgen.model.document import (
    Block,
    Facts,
    Paragraph,
    Safety,
    Section,
    Table,
    TreatmentCard,
    TreatmentCards,
)
from reportgen.model.results import Results, TreatmentCount
from reportgen.model.trial import Treatment, Trial
from reportgen.report import numbers, safety, wording

WE_COMPARE_UNITS: Final = marked(
    "We compare {units}, not single plants: plants in one {unit} share solution and place."
)
EACH_POT: Final = marked("Every plant stood in a pot of its own, so we compare plants.")
PLANTS: Final = marked("{started} planted, {kept} harvested")
PLANTS_AT_END: Final = marked("{started} planted, {kept} at the end")
KEPT: Final = marked("{kept} harvested")
KEPT_AT_END: Final = marked("{kept} at the end")
PHOTOPERIOD: Final = marked("{number} h a day")
RATED_POWER: Final = marked("{number} W")


def section(trial: Trial, results: Results) -> Section:
    """Return the treatments with the cautions that concern them, and what they had in common."""
    cautions = safety.beside_treatments(trial)
    counts = {count.treatment: count for count in results.counts}
    reference_first = sorted(trial.treatments, key=lambda one: one.code != trial.reference)
    cards = tuple(
        _card(trial, treatment, counts[treatment.code], cautions[treatment.code])
        for treatment in reference_first
    )
    blocks: list[Block] = [TreatmentCards(cards), safety.for_all(trial), Paragraph(_unit(trial))]
    facts = tuple(_growing_facts(trial))
    blocks += [Facts(facts)] if facts else []
    return Section("compared", say("What was compared"), tuple(blocks))


def _unit(trial: Trial) -> str:
    if trial.experimental_unit == "plant":
        return say(EACH_POT)
    return say(WE_COMPARE_UNITS, unit=wording.unit_of(trial), units=wording.unit_of(trial, 2))


def _card(
    trial: Trial, treatment: Treatment, count: TreatmentCount, cautions: Safety | None
) -> TreatmentCard:
    return TreatmentCard(
        treatment.name,
        treatment.code == trial.reference,
        treatment.description,
        tuple(_facts(trial, treatment, count)),
        cautions,
    )


def _facts(trial: Trial, treatment: Treatment, count: TreatmentCount) -> Iterator[tuple[str, str]]:
    """Yield how much of a treatment there was, and what it had."""
    yield wording.capital(wording.unit_of(trial, 2)), str(count.trays)
    plants = _plants(trial, count)
    if plants:
        yield say("Plants"), plants
    if treatment.equipment:
        yield say("Equipment"), treatment.equipment
    typed = (
        (marked("Light"), PHOTOPERIOD, treatment.photoperiod),
        (marked("Rated power"), RATED_POWER, treatment.rated_power),
    )
    for label, message, value in typed:
        if value is not None:
            yield say(label), say(message, number=numbers.typed(value))


def in_the_data(trial: Trial) -> Table:
    """Return what the data call each treatment, and what else was typed of it."""
    unit = wording.unit_of(trial)
    areas = [treatment.canopy_area for treatment in trial.treatments]
    efficacies = [treatment.rated_efficacy for treatment in trial.treatments]
    head = [say("Treatment"), say("Code")]
    columns: list[list[str]] = []
    if any(areas):
        head.append(say("Lit area (m²/{unit})", unit=unit))
        columns.append(_typed_cells(areas))
    if any(efficacies):
        head.append(say("Rated efficacy (µmol/J)"))
        columns.append(_typed_cells(efficacies))
    names = [treatment.name for treatment in trial.treatments]
    codes = [treatment.code for treatment in trial.treatments]
    rows = tuple(zip(names, codes, *columns, strict=True))
    numeric = (False, False, *(True for _ in columns))
    return Table("treatments", say("Treatments in the data"), tuple(head), rows, numeric)


def _typed_cells(values: Sequence[float | None]) -> list[str]:
    """Return values as they were typed."""
    cells: list[str] = []
    for value in values:
        if value is None:
            cells.append(numbers.not_known())
        else:
            cells.append(numbers.typed(value))
    return cells


def _plants(trial: Trial, count: TreatmentCount) -> str:
    """Return how many plants were started and kept; empty where neither is known."""
    if count.plants_started is None:
        kept = count.plants_harvested
        if is_harvested(trial):
            text = KEPT
        else:
            text = KEPT_AT_END
        if kept is None:
            return ""
        return say(text, kept=kept)
    if count.plants_harvested is None:
        return wording.plants_counted(count.plants_started)
    if trial.experimental_unit == "plant" and not count.lost_some:
        return ""  # as many as there were pots
    if is_harvested(trial):
        text = PLANTS
    else:
        text = PLANTS_AT_END
    return say(text, started=count.plants_started, kept=count.plants_harvested)


def _growing_facts(trial: Trial) -> Iterator[tuple[str, str]]:
    """Yield what all treatments had in common."""
    about = trial.about
    known = (
        (say("Growing system"), about.growing_system),
        (say("Nutrient recipe"), about.nutrient_recipe),
        (say("Layout"), about.layout),
        (say("Sown on"), numbers.day(trial.sown_on) if trial.sown_on else ""),
    )
    yield from ((term, text) for term, text in known if text)
