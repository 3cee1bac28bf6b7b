"""Compose the report of a trial: text, tables and figures in reading order."""

from collections.abc import Iterator

from reportgen import __version__, direction, language
from reportgen.language import say
from reportgen.metrics.pooled import PooledComparison
from reportgen.model.data import Dataset
from reportgen.model.document import Facts, Report, Section, Site
from reportgen.model.results import Results
from reportgen.model.settings import DEFAULTS, Settings
from reportgen.model.trial import Trial
from reportgen.report import (
    answer,
    factor_answer,
    factors,
    fairness,
    harvests,
    interim,
    key_figures,
    methods,
    numbers,
    pooled,
    score_section,
    scores,
    sections,
    terms,
    units,
    wording,
)
from reportgen.report.results_file import results_json


def compose(trial: Trial, results: Results, settings: Settings = DEFAULTS) -> Report:
    """Return the report of a trial in its language, ready to be set as the settings of its site have it."""
    spoken = language.of(trial.about.language)
    with language.using(spoken), language.calling_units(trial.unit), units.using(settings.units):
        return _composed(trial, results, settings)


def _composed(trial: Trial, results: Results, settings: Settings) -> Report:
    about = trial.about
    said = factor_answer.sentences(trial, results) or answer.answer(trial, results)
    colophon = f"reportgen {__version__}"
    return Report(
        slug=trial.slug,
        language=language.current().tag,
        title=interim.title(trial),
        crop=f"{about.crop} ({about.cultivar})" if about.cultivar else about.crop,
        question=about.question,
        answer=said,
        byline=_byline(trial),
        facts=Facts(_facts(trial, results)),
        disclosure=about.disclosure or say("None stated"),
        description=" ".join((about.question, said[0])).strip(),
        harvested_on=trial.harvested_on.isoformat(),
        sections=_sections(trial, results, colophon),
        results=results_json(trial, results),
        colophon=say("Made with {program} from the workbook of the trial.", program=colophon),
        data=trial.data,
        dataset=_dataset(trial, results),
        address=settings.address,
        crop_name=about.crop,
        right_to_left=direction.right_to_left(_texts(trial)),
        key_figures=key_figures.key_figures(trial, results),
        interim=interim.notice(trial),
    )


def _texts(trial: Trial) -> Iterator[object]:
    """Yield every text of a trial that may stand in its report."""
    yield from (value for table in trial.data for column in table.columns for value in column.values)
    about = trial.about
    yield from (about.title, about.crop, about.author, about.licence, *about.keywords)
    yield from (text for treatment in trial.treatments for text in (treatment.code, treatment.name))
    yield from (tray.code for tray in trial.trays)
    for trait in (*trial.traits, *trial.growth_traits):
        yield trait.label
        yield from trait.scale


def _dataset(trial: Trial, results: Results) -> Dataset:
    about = trial.about
    with language.using(language.ENGLISH):
        measures = tuple((terms.label(result.measure), result.measure.unit) for result in results.measures)
        measures += tuple((score.measure.label, "") for score in results.scores)
    return Dataset(
        about.author,
        about.organisation,
        about.location,
        about.licence,
        about.keywords,
        trial.started_on.isoformat(),
        measures,
        tuple(f"{one.measures}: {one.name}" for one in trial.instruments),
        trial.source_sha256,
    )


def collect(
    title: str,
    reports: tuple[Report, ...],
    comparisons: tuple[PooledComparison, ...] = (),
    address: str = "",
    tag: str = language.ENGLISH.tag,
) -> Site:
    """Return a site of reports, latest harvest first, with the comparisons that several of them share.

    It is in the language of its reports, and in that of `tag` where they have several.
    """
    ordered = sorted(reports, key=lambda report: report.title.casefold())
    latest_first = tuple(sorted(ordered, key=lambda report: report.harvested_on, reverse=True))
    tags = {report.language for report in reports}
    with language.using(language.of(tags.pop() if len(tags) == 1 else tag)):
        together = pooled.sections(comparisons)
        own = language.current().tag
    return Site(title, latest_first, together, pooled.results_json(comparisons), address, own)


def _sections(trial: Trial, results: Results, colophon: str) -> tuple[Section, ...]:
    in_classes = score_section.section(trial, results)
    leads = scores.score_of(results, results.main_measure) is not None
    found = (
        factors.section(trial, results),
        sections.glance(trial, results),
        in_classes if leads else None,
        sections.compared(trial, results),
        harvests.section(trial, results),
        sections.growth(trial, results),
        None if leads else in_classes,
        sections.water(trial, results),
        sections.energy(trial, results),
        sections.light_and_climate(trial, results),
        fairness.factors(trial, results),
        fairness.fair(trial, results),
        fairness.reported(trial, results),
        fairness.observed(trial),
        sections.own_words(trial),
        methods.section(trial, results, colophon),
    )
    return tuple(section for section in found if section is not None)


def _byline(trial: Trial) -> str:
    return ", ".join(part for part in (trial.about.author, trial.about.organisation, trial.about.location) if part)


def _facts(trial: Trial, results: Results) -> tuple[tuple[str, str], ...]:
    days = (trial.harvested_on - trial.started_on).days
    trays = wording.units_counted(trial, sum(tray.is_planted for tray in trial.trays))
    plants = sum(tray.plants_started for tray in trial.trays)
    counted = wording.days_counted(days)
    span = say(
        "{start} to {harvest} ({days})",
        start=numbers.day(trial.started_on),
        harvest=numbers.day(trial.harvested_on),
        days=counted,
    )
    size = f"{trays}, {wording.plants_counted(plants)}" if plants else trays
    named = tuple(factor_answer.levels_of(factor) for factor in trial.factors)
    compared = (say("Treatments"), "; ".join(treatment.name for treatment in trial.treatments))
    if results.effects.analyses:
        compared = (say("Factors"), "; ".join(named))
    return (
        compared,
        (say("Dates"), interim.dates(trial, counted) if trial.interim else span),
        (say("Size"), size),
    )
