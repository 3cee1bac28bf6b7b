"""The sections that a grower reads: growth, water, electricity and cost, each headed by what was
found.
"""

from collections.abc import Sequence
from typing import Final

from reportgen import language
from reportgen.language import marked, percent, say
from reportgen.metrics.basis import on_each_basis, on_whole_crop
from reportgen.metrics.energy import is_shared
from reportgen.metrics.measures import DECLARED, GROWTH_RATE
from reportgen.metrics.planning import variation_of
from reportgen.metrics.tariff import prices
from reportgen.model.document import Aside, Block, Figure, Paragraph, Prose, Section
from reportgen.model.results import Estimate, Measure, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import (
    figures,
    headline,
    interim,
    losses,
    messages,
    money,
    numbers,
    own_price,
    pairs_apart,
    score_section,
    scores,
    terms,
    treatment_names,
    units,
    wording,
)
from reportgen.report.short_tables import short_table
from reportgen.stats.power import cv_of

GROWTH: Final = (
    "marketable_yield",
    *on_whole_crop("yield_per_plant_started"),
    "fresh_weight",
    *on_whole_crop("tray_yield"),
    "pieces",
    "cull_share",
    "survival",
    "dry_weight",
    "dry_matter",
    "days_to_first_harvest",
)
TWINS: Final = {"fresh_weight": "yield_per_plant_started"}  # the same where no plant was lost
WATER: Final = (*on_each_basis("water_per_gram"), "water_use")
COST: Final = on_each_basis("running_cost_per_gram", "electricity_cost_per_gram")
ENERGY: Final = (
    *on_each_basis("running_cost_per_gram", "energy_per_kg"),
    "energy_use",
    *on_each_basis("electricity_cost_per_gram"),
)
NOT_OF_PLANTS: Final = frozenset((*WATER, *ENERGY))
MOST_IN_SENTENCE: Final = 3  # treatments
OF_EACH_DAY: Final = marked(
    "Growth over time is that of the plants measured on each day, which may be fewer than were"
    " harvested."
)
PLACED: Final = marked("{place}: {finding}")
PLACED_BEFORE_NAME: Final = marked("{place}. {Finding}")  # a finding that has a colon of its own
NOTES: Final = marked("Notes")
ON_AVERAGE: Final = marked("{measure}: {each}.")
OF_NAMED: Final = marked("{figure} ({name})")
SHARED_METER: Final = marked(
    "One meter served all treatments; its energy was given out in proportion to {units}."
)
VARIATION: Final = marked(
    "Treated alike, {units} differed by about {between}, plants in one {unit} by about {within}."
)
WATER_USED: Final = marked(
    "Water used is what was filled in and topped up, less what was drained or left over."
)


def growth(trial: Trial, results: Results) -> Section | None:
    """Return how the plants grew, and which were lost."""
    keys = _growth_keys(results)
    caption = say("Growth of each treatment")
    table = short_table(trial, results, keys, "growth-figures", caption)
    score = scores.score_of(results, results.main_measure)
    if score is not None:
        table = (score_section.shares(trial, score), *table)[:1]
    if not table and not trial.plants:
        return None
    over_time = (say(OF_EACH_DAY),) if results.growth else ()
    notes = (*over_time, *_variation(trial), *_plants_spread(trial, results))
    told = _told(trial, results, _losses(trial), keys)
    blocks: list[Block] = [*_growth_figures(trial, results, keys), *told, *table]
    blocks += [interim.table(trial)] if trial.interim else []
    return Section(
        "growth", _growth_title(trial, results, keys), (*blocks, *aside(notes)), say("Growth")
    )


def _growth_keys(results: Results) -> tuple[str, ...]:
    """Return the measures of plants, the main one first."""
    main = () if results.main_measure in NOT_OF_PLANTS else (results.main_measure,)
    traits = [result.measure.key for result in results.measures if _is_of_plants(result.measure)]
    keys = dict.fromkeys((*main, *GROWTH[:4], *traits, *GROWTH[4:]))
    if not any(count.lost_some for count in results.counts):
        twin = TWINS.get(results.main_measure, "fresh_weight")
        keys.pop(twin, None)
    return tuple(key for key in keys if not _says_nothing(results, key))


def _says_nothing(results: Results, key: str) -> bool:
    result = wording.result_of(results, key)
    return result is not None and wording.says_nothing(results, result)


def _is_of_plants(measure: Measure) -> bool:
    """Return whether a measure is of a trait of the plants: one that the grower chose, or how fast
    it grew.
    """
    if measure.key.startswith(GROWTH_RATE):
        return True
    return measure.key not in DECLARED and not measure.grade


def _growth_title(trial: Trial, results: Results, keys: Sequence[str]) -> str:
    if trial.interim:
        return say("Growth so far")
    if results.main_measure in keys:
        return placed(say("Growth"), headline.of_main(trial, results, behind=True))
    return title(trial, results, keys, say("Growth"))


def _growth_figures(trial: Trial, results: Results, keys: Sequence[str]) -> tuple[Figure, ...]:
    """Return the figure of the main measure, and that of growth over time where it was measured.

    An unfinished trial has none: its figures are not to be compared yet.
    """
    if trial.interim:
        return ()
    score = scores.score_of(results, results.main_measure)
    if score is not None:
        return score_section.figure(trial, score)
    over_time = [
        figure for each in results.growth[:1] for figure in figures.growth_curve(trial, each)
    ]
    return (*_main_figure(trial, results, keys), *over_time)[:2]


def _main_figure(trial: Trial, results: Results, keys: Sequence[str]) -> tuple[Figure, ...]:
    """Return the figure of factors or doses where the trial has them, else of trays or pickings."""
    main = wording.result_of(results, results.main_measure)
    analysis = results.effects.of(results.main_measure)
    if main is not None and analysis is not None:
        if analysis.interaction is not None:
            return figures.interaction(trial, main)
        return figures.response(trial, main, analysis.trends)
    known = [
        result
        for key in keys
        if (result := wording.result_of(results, key)) is not None and result.scores
    ]
    if trial.pickings or not known:
        return figures.cumulative_yields(trial, results) or figures.plants(trial, results)
    return figures.tray_dots(trial, results, known[0].measure.key)


def _told(
    trial: Trial, results: Results, said: tuple[Paragraph, ...], keys: Sequence[str]
) -> tuple[Paragraph, ...]:
    """Return a section's paragraph with two treatments that only differ from each other."""
    apart = pairs_apart.sentence(trial, results, keys)
    if not apart:
        return said
    return (Paragraph(" ".join((*(one.text for one in said), apart))),)


def _losses(trial: Trial) -> tuple[Paragraph, ...]:
    """Return how many plants were lost, where plants are recorded."""
    if trial.plants:
        return (Paragraph(losses.lost_plants(trial)),)
    return ()


def _variation(trial: Trial) -> tuple[str, ...]:
    """Return how much weights vary between trays and within them."""
    if trial.interim:
        found = None
    else:
        found = variation_of(trial, blocked=False)
    if found is None or not found.spread.degrees_within:
        return ()
    between = percent(numbers.three_digits(round(100 * cv_of(found.spread.between))))
    within = percent(numbers.three_digits(round(100 * cv_of(found.spread.within))))
    words = {"unit": wording.unit_of(trial), "units": wording.unit_of(trial, 2)}
    return (say(VARIATION, between=between, within=within, **words),)


def _plants_spread(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return the plants' own spread where it is all that a single tray can show."""
    found: list[str] = []
    for result in results.measures:
        for code, estimate in result.estimates:
            for note in estimate.notes:
                if note.code == "plants_own_spread":
                    label, name = terms.label(result.measure), wording.name_of(trial, code)
                    found.append(f"{label}, {name}: {messages.text(trial, note)}.")
    return tuple(found)


def water(trial: Trial, results: Results) -> Section | None:
    """Return the water that was used."""
    table = short_table(trial, results, WATER, "water-figures", say("Water use of each treatment"))
    if not table:
        return None
    key = _first_known(results, WATER)
    blocks: list[Block] = [
        *_dots(trial, results, key),
        *_told(trial, results, _averages(trial, results, "water_use"), WATER),
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
        *_told(trial, results, _energy_sentence(trial, results), (*COST, *ENERGY)),
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
    return Section("energy", heading, (*blocks, *aside(notes), *own), say("Electricity and cost"))


def _energy_figures(trial: Trial, results: Results) -> tuple[Figure, ...]:
    key = _first_known(results, (*COST, *ENERGY))
    return _dots(trial, results, key) or figures.energy(trial)


def _energy_sentence(trial: Trial, results: Results) -> tuple[Paragraph, ...]:
    """Return whether it pays, or else how much electricity was used."""
    said = money.budget(trial, results)
    return said or _averages(trial, results, "energy_use")


def _tariff(trial: Trial) -> tuple[str, ...]:
    """Return what each treatment paid for a kilowatt-hour, where prices go by the time of day."""
    if not trial.tariff:
        return ()
    message = marked("{currency} {price}/kWh ({name})")
    each = tuple(
        say(
            message,
            price=numbers.money(price),
            currency=trial.currency,
            name=treatment_names.label_within(trial, code),
        )
        for code, price in prices(trial).items()
    )
    mean = say(
        "Electricity is priced by the time of day; over the hours of light it cost {prices} on"
        " average.",
        prices=numbers.listed(each),
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


# ---- pieces --------------------------------------------------------------------------------------


def title(trial: Trial, results: Results, keys: Sequence[str], place: str) -> str:
    """Return a section's place and the finding on the first of some measures that is compared, if
    any.
    """
    if trial.interim:
        return place
    for key in keys:
        said = headline.of_measure(trial, results, key, behind=True)
        if said:
            return placed(place, said)
    return place


def placed(place: str, finding: str) -> str:
    """Return a finding behind the name of what it is about, unless it begins with that."""
    if finding.casefold().startswith(place.casefold()):
        return wording.capital(finding)
    if ": " in finding:
        return say(PLACED_BEFORE_NAME, place=place, Finding=wording.capital(finding))
    return say(PLACED, place=place, finding=wording.inside(finding))


def aside(notes: Sequence[str]) -> tuple[Aside, ...]:
    """Return notes that stand at the side; none where there are no notes."""
    if notes:
        return (Aside(say(NOTES), tuple(notes)),)
    return ()


def _dots(trial: Trial, results: Results, key: str) -> tuple[Figure, ...]:
    """Return the figure of a measure's trays with the average of each treatment."""
    result = wording.result_of(results, key)
    if result is not None and result.scores:
        return figures.tray_dots(trial, results, key)
    return ()


def _first_known(results: Results, keys: Sequence[str]) -> str:
    return next((key for key in keys if wording.result_of(results, key) is not None), "")


def _figure(versions: Sequence[MeasureResult], code: str) -> str:
    """Return a treatment's figure in each system of display."""
    return units.with_other(*(_alone(one, dict(one.estimates)[code]) for one in versions))


def _alone(shown: MeasureResult, estimate: Estimate) -> str:
    """Return a figure that stands without its interval: three digits and the unit."""
    if shown.measure.unit == "%":
        return wording.value_text(shown, estimate)
    return f"{numbers.plain(estimate.value)} {language.unit(shown.measure.unit)}".strip()


def _averages(trial: Trial, results: Results, key: str) -> tuple[Paragraph, ...]:
    """Return each treatment's figure of a measure in one sentence; many treatments have a column of
    the table.
    """
    result = wording.result_of(results, key)
    if result is None or len(trial.treatments) > MOST_IN_SENTENCE:
        return ()
    versions = units.versions(result, units.current())
    shown = versions[0]
    each = tuple(
        say(
            OF_NAMED,
            figure=_figure(versions, code),
            name=treatment_names.label_within(trial, code),
        )
        for code, one in shown.estimates
        if one.value is not None
    )
    said = say(ON_AVERAGE, measure=terms.label(shown.measure), each=numbers.listed(each))
    if each:
        return (Paragraph(said),)
    return ()
