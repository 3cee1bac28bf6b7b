"""How the plants grew, and which were lost."""

from collections.abc import Sequence
from typing import Final

from reportgen.language import marked, percent, say
from reportgen.metrics.basis import on_whole_crop
from reportgen.metrics.measures import DECLARED, GROWTH_RATE
from reportgen.metrics.planning import variation_of
from reportgen.model.document import Block, Figure, Paragraph, Section
from reportgen.model.results import Measure, Results
from reportgen.model.trial import Trial
from reportgen.report import (
    figures,
    headline,
    interim,
    losses,
    messages,
    numbers,
    score_section,
    scores,
    terms,
    wording,
)
from reportgen.report.section_parts import (
    aside,
    placed,
    title,
    with_pairs_apart,
)
from reportgen.report.sections import NOT_OF_PLANTS
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


OF_EACH_DAY: Final = marked(
    "Growth over time is that of the plants measured on each day, which may be fewer than were"
    " harvested."
)


VARIATION: Final = marked(
    "Treated alike, {units} differed by about {between}, plants in one {unit} by about {within}."
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
    told = with_pairs_apart(trial, results, _losses(trial), keys)
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
    """Return whether a measure is of a trait of the plants.

    One that the grower chose, or how fast it grew.
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
    main = _main_figure(trial, results, keys)
    if not results.growth:
        return main[:2]
    return (*main, *figures.growth_curve(trial, results.growth[0]))[:2]


def _main_figure(trial: Trial, results: Results, keys: Sequence[str]) -> tuple[Figure, ...]:
    """Return the figure of factors or doses where the trial has them, else of trays or pickings."""
    main = wording.result_of(results, results.main_measure)
    analysis = results.effects.of(results.main_measure)
    if main is not None and analysis is not None:
        if analysis.interaction is not None:
            return figures.interaction(trial, main)
        return figures.response(trial, main, analysis.trends)
    key = _first_with_trays(results, keys)
    if trial.pickings or not key:
        return figures.cumulative_yields(trial, results) or figures.plants(trial, results)
    return figures.tray_dots(trial, results, key)


def _first_with_trays(results: Results, keys: Sequence[str]) -> str:
    """Return the first of some measures that has a figure for each tray; empty without any."""
    for key in keys:
        result = wording.result_of(results, key)
        if result is not None and result.scores:
            return key
    return ""


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
