"""Compose the report of a trial: text, tables and figures in reading order."""

from collections.abc import Iterator
from dataclasses import replace

from reportgen import direction, language
from reportgen.language import say
from reportgen.metrics.pooled import PooledComparison
from reportgen.model.data import Dataset
from reportgen.model.document import Facts, Figure, Report, Section, Site
from reportgen.model.results import Results
from reportgen.model.settings import DEFAULTS, Settings
from reportgen.model.trial import Trial
from reportgen.report import (
    annex,
    answer,
    answer_box,
    compared,
    factor_answer,
    fairness,
    growth_section,
    headline,
    interim,
    lead,
    levels,
    numbers,
    photos,
    pooled,
    pooled_entries,
    sections,
    shares,
    terms,
    trust,
    units,
    wording,
)
from reportgen.report.results_file import results_json
from reportgen.version import __version__


def compose(trial: Trial, results: Results, settings: Settings = DEFAULTS) -> Report:
    """Return the report of a trial in its language, ready to be set as the settings of its site
    have it.
    """
    spoken = language.of(trial.about.language)
    display = units.display_of(settings.units, trial.typed_in)
    with language.using(spoken), language.calling_units(trial.unit), units.using(display):
        return _composed(trial, results, settings)


def _composed(trial: Trial, computed: Results, settings: Settings) -> Report:
    results = shares.within_the_possible(computed)
    about = trial.about
    sentences = factor_answer.sentences(trial, results) or answer.answer(trial, results)
    colophon = f"reportgen {__version__}"
    finding = headline.headline(trial, results)
    read = _sections(trial, results)
    return Report(
        slug=trial.slug,
        language=language.current().tag,
        title=interim.title(trial),
        crop=f"{about.crop} ({about.cultivar})" if about.cultivar else about.crop,
        question=about.question,
        answer=sentences,
        byline=_byline(trial),
        facts=Facts(_facts(trial, results)),
        disclosure=trust.disclosure(trial),
        description=f"{finding}. {sentences[0]}",
        harvested_on=trial.harvested_on.isoformat(),
        harvest_day=numbers.day(trial.harvested_on),
        sections=read,
        results=_results_json(trial, computed),
        colophon=say("Made with {program} from the workbook of the trial.", program=colophon),
        data=trial.data,
        dataset=_dataset(trial, results),
        address=settings.address,
        crop_name=about.crop,
        right_to_left=direction.right_to_left(_texts(trial)),
        interim=interim.notice(trial),
        headline=finding,
        lead=lead.lead(trial, results, sentences),
        box=answer_box.answer_box(trial, results),
        trust=trust.trust(trial, results),
        annex=_annex(trial, results, read, colophon),
    )


def _results_json(trial: Trial, results: Results) -> str:
    """Return the results file, which is metric whatever the page shows."""
    with units.using(units.METRIC):
        return results_json(trial, results)


def _texts(trial: Trial) -> Iterator[object]:
    """Yield every text of a trial that may stand in its report."""
    for table in trial.data:
        for column in table.columns:
            yield from column.values
    about = trial.about
    yield from (about.title, about.crop, about.author, about.licence, *about.keywords)
    for treatment in trial.treatments:
        yield from (treatment.code, treatment.name)
    for tray in trial.trays:
        yield tray.code
    for trait in (*trial.traits, *trial.growth_traits):
        yield trait.label
        yield from trait.scale


def _dataset(trial: Trial, results: Results) -> Dataset:
    about = trial.about
    with language.using(language.ENGLISH):
        found = units.displayed(results.measures, units.METRIC)
        measures = tuple((terms.label(result.measure), result.measure.unit) for result in found)
        measures += tuple((score.measure.label, "") for score in results.scores)
    return Dataset(
        about.author,
        about.organisation,
        about.location,
        about.licence,
        about.keywords,
        trial.started_on.isoformat(),
        measures,
        tuple(f"{instrument.measures}: {instrument.name}" for instrument in trial.instruments),
        trial.source_sha256,
    )


def collect(
    title: str,
    reports: tuple[Report, ...],
    comparisons: tuple[PooledComparison, ...] = (),
    address: str = "",
    tag: str = language.ENGLISH.tag,
) -> Site:
    """Return a site of reports, latest harvest first, with the comparisons that several of them
    share.

    It is in the language of its reports, and in that of `tag` where they have several.
    """
    ordered = sorted(reports, key=lambda report: report.title.casefold())
    latest_first = tuple(sorted(ordered, key=lambda report: report.harvested_on, reverse=True))
    tags = {report.language for report in reports}
    with language.using(language.of(tags.pop() if len(tags) == 1 else tag)):
        together = pooled.sections(comparisons)
        own = language.current().tag
    return Site(
        title, latest_first, together, pooled_entries.results_json(comparisons), address, own
    )


def _sections(trial: Trial, results: Results) -> tuple[Section, ...]:
    """Return what a grower reads: what was compared, four sections, the grower's words, photos."""
    found = (
        compared.section(trial, results),
        growth_section.growth(trial, results),
        sections.water(trial, results),
        sections.energy(trial, results),
        fairness.fair(trial, results),
        sections.own_words(trial),
        photos.section(trial),
    )
    return tuple(section for section in found if section is not None)


def _annex(
    trial: Trial, results: Results, shown: tuple[Section, ...], colophon: str
) -> tuple[Section, ...]:
    """Return the annex without figures that the sections before it show."""
    keys = {figure.key for section in shown for figure in _figures(section)}
    kept: list[Section] = []
    for section in annex.sections(trial, results, colophon):
        repeated = [figure for figure in _figures(section) if figure.key in keys]
        blocks = tuple(block for block in section.blocks if block not in repeated)
        if blocks:
            kept.append(replace(section, blocks=blocks))
    return tuple(kept)


def _figures(section: Section) -> list[Figure]:
    return [block for block in section.blocks if isinstance(block, Figure)]


def _byline(trial: Trial) -> str:
    about = trial.about
    parts = (about.author, about.organisation, about.location)
    return ", ".join(filter(None, parts))


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
    if plants:
        size = f"{trays}, {wording.plants_counted(plants)}"
    else:
        size = trays
    named = tuple(levels.levels_of(factor) for factor in trial.factors)
    compared = (say("Treatments"), "; ".join(treatment.name for treatment in trial.treatments))
    if results.effects.analyses:
        compared = (say("Factors"), "; ".join(named))
    return (
        compared,
        (say("Dates"), interim.dates(trial, counted) if trial.interim else span),
        (say("Size"), size),
    )
