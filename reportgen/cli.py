"""The commands; what they need is imported inside them, so that help shows at once."""

import os
import sys
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from reportgen import console, documents, problem_document, schemas
from reportgen.console import show, tell
from reportgen.language import (
    ENGLISH,
    Language,
    marked_plural,
    of_commands,
    of_system,
    plural,
    say,
    tags,
    using,
)
from reportgen.version import __version__

if TYPE_CHECKING:
    from reportgen.building.verify import Difference
    from reportgen.metrics.light_matching import LightTarget
    from reportgen.metrics.planning import FactorToPlan, PowerTarget
    from reportgen.model.data import ReadBack
    from reportgen.model.problem import Problem, Severity
    from reportgen.model.settings import Settings
    from reportgen.pipeline import BuildResult, Checked, NewWorkbook
    from reportgen.workbook.declaration import Sheet
    from reportgen.workbook.plan import Plan

WORKBOOKS = click.argument(
    "workbooks",
    nargs=-1,
    required=True,
    type=click.Path(path_type=Path),
    metavar="WORKBOOK_OR_FOLDER...",
)


SETTINGS = click.option(
    "--settings",
    "settings_file",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    show_default="reportgen.toml beside the workbooks",
    help="The settings of the site.",
)


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, "-V", "--version", prog_name="reportgen")
@click.pass_context
def main(context: click.Context) -> None:
    """Turn the workbook of a side-by-side growing trial into an honest web page and PDF.

    Exit codes: 0 without errors, 1 where a workbook has errors, 2 for wrong usage.
    """
    context.color = console.wants_colour(os.environ)
    _speak(context, of_system(os.environ))


def _speak(context: click.Context, language: Language) -> None:
    """Say all in a language until the command has ended."""
    context.with_resource(using(language))


def _speak_as_asked(context: click.Context, option: click.Parameter, tag: str | None) -> str | None:
    """Speak the language of an option where it was typed."""
    typed = context.get_parameter_source(option.name or "")
    if tag and typed is click.core.ParameterSource.COMMANDLINE:
        _speak(context, of_commands(tag))
    return tag


def _speak_as_scripts_read(context: click.Context, _: click.Parameter, as_json: bool) -> bool:
    """Speak English to scripts, whatever the language of the system."""
    if as_json:
        _speak(context, ENGLISH)
    return as_json


SAID_IN = click.option(
    "--language",
    type=click.Choice(tags()),
    expose_value=False,
    is_eager=True,
    callback=_speak_as_asked,
    show_default="that of the system, by LC_ALL, LC_MESSAGES or LANG",
    help="The language of what is said here.",
)


AS_JSON = click.option(
    "--json",
    "as_json",
    is_flag=True,
    callback=_speak_as_scripts_read,
    help="Print one JSON document for scripts, in English, in place of lines to read.",
)


STRICT = click.option(
    "--strict", is_flag=True, help="End with exit code 1 where there is a caution, too."
)


LANGUAGE = click.option(
    "--language",
    type=click.Choice(("en", "de", "es", "fr", "it", "nl", "pt")),
    default="en",
    show_default=True,
    is_eager=True,
    callback=_speak_as_asked,
    help="The language of sheets, columns and help, and of what is said here where it has a catalogue.",
)


def _new_seed() -> int:
    import secrets

    return secrets.randbelow(1_000_000)


def _trays(context: click.Context, _: click.Parameter, trays: int | None) -> int:
    return trays or (1 if context.params["blocks"] else 4)


FACTOR = click.option(
    "--factor",
    "factors",
    multiple=True,
    metavar="NAME=LEVEL,LEVEL...",
    help=(
        'In place of treatments: what is varied, with its levels, as in light=low,high or "feed'
        ' (g/L)=0,1,2,4". Give it twice to combine two. The first level is the reference.'
    ),
)


def _planned(treatments: tuple[str, ...], factors: tuple[str, ...], **sizes: int) -> "Plan":
    """Return the plan of a trial of treatments or of factors; raise UsageError where neither or
    both are given.
    """
    from reportgen.workbook.plan import PlanError, planned, planned_of_factors
    from reportgen.workbook.planned_factors import FactorError, factors_typed

    if not treatments and not factors:
        raise click.UsageError(say("Missing option '--treatment', or '--factor' in its place."))
    if treatments and factors:
        raise click.UsageError(
            say(
                "Give --treatment or --factor, not both: with factors, treatments are combinations."
            )
        )
    try:
        if factors:
            return planned_of_factors(factors_typed(factors), **sizes)
        return planned(treatments, **sizes)
    except (PlanError, FactorError) as error:
        raise click.UsageError(str(error)) from error


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--treatment",
    "treatments",
    multiple=True,
    metavar="CODE_OR_NAME",
    help="What is compared; give it at least twice. The first is the reference.",
)
@FACTOR
@click.option(
    "--blocks",
    type=click.IntRange(0, 100),
    default=0,
    show_default=True,
    is_eager=True,
    help="Shelves, benches or runs; 0 for none.",
)
@click.option(
    "--trays",
    type=click.IntRange(1, 100),
    callback=_trays,
    show_default="1 with blocks, 4 without",
    help="Trays of each treatment, in each block where there are blocks.",
)
@click.option(
    "--plants",
    type=click.IntRange(1, 1000),
    default=6,
    show_default=True,
    help="Plants in each tray.",
)
@click.option(
    "--seed",
    type=click.IntRange(0),
    default=_new_seed,
    show_default="a new one",
    help="The same seed draws the same places.",
)
@click.option(
    "--with",
    "recorded",
    multiple=True,
    metavar="WORDS",
    help=(
        "What is recorded beside weights, commas between: growth, harvests, water, energy, devices,"
        " light, climate, costs, tariff, instruments, photos; or all. Each brings its sheet."
    ),
)
@click.option(
    "--start",
    type=click.DateTime(["%Y-%m-%d"]),
    metavar="YYYY-MM-DD",
    help="The day on which the treatments begin, if it is known.",
)
@click.option(
    "--weeks",
    type=click.IntRange(0, 520),
    default=0,
    help=(
        "Rows on the sheet Growth for every tray at the start and after each of so many weeks;"
        " needs --start."
    ),
)
@click.option(
    "--each-plant",
    is_flag=True,
    help="Make the rows of the weeks for every plant, not for every tray.",
)
@LANGUAGE
@click.option(
    "--labels",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.pdf",
    help=(
        "Also write a label for every tray, 24 on a page of A4, its code in large type and as a QR"
        " code."
    ),
)
@click.option(
    "--blind",
    is_flag=True,
    help="Leave the treatment off the labels, so that whoever measures does not know it.",
)
@AS_JSON
@console.with_volume
def new(file: Path, recorded: tuple[str, ...], language: str, as_json: bool, **given: Any) -> None:
    """Write a blank workbook, every tray given its place at random.

    With blocks the places are drawn within each block; without, all over. Seed and method stand on
    the sheet Trial. Name treatments, or factors: --factor light=low,high --factor "feed
    (g/L)=0,1,2" gives all combinations. It has the sheets for weights alone: --with brings those of
    whatever else is recorded.
    """
    from reportgen import pipeline
    from reportgen.render.pdf import PdfUnavailable
    from reportgen.workbook.plan import PlanError

    labels, blind = given.pop("labels"), given.pop("blind")
    _refuse_new(file, labels, blind=blind)
    try:
        plan = _planned_weekly(given)
        sheets = _sheets_with(recorded, growth=bool(plan.weeks))
        paper = None
        if labels:
            paper = pipeline.LabelSheet(labels, blind)
        wanted = pipeline.NewWorkbook(file, plan, sheets, language, paper)
        pipeline.new(wanted)
    except PlanError as error:
        raise click.UsageError(str(error)) from error
    except PdfUnavailable as error:
        raise click.ClickException(
            say(
                "{labels} and {file} are not written.\n{error}",
                labels=labels,
                file=file,
                error=error,
            )
        ) from error
    except OSError as error:
        raise _unwritten(error) from error
    if as_json:
        click.echo(documents.printed(documents.new(wanted)))
    else:
        _tell_new(wanted)


def _tell_new(wanted: "NewWorkbook") -> None:
    """Say what was laid out, and what to do next."""
    from reportgen.workbook.vocabulary import of_messages

    layout = wanted.plan.layout(of_messages())
    tell(f"{wanted.path}: {layout}")
    tell(_sheets_said(wanted.sheets, wanted.language))
    if wanted.labels:
        labels = wanted.labels.path
        tell(say("{labels}: print it at 100%, not fitted to the page.", labels=labels))
    tell(say("Fill it in, then run: reportgen check {file}", file=wanted.path))


def _refuse_new(file: Path, labels: Path | None, *, blind: bool) -> None:
    """Raise UsageError where a file of `new` cannot be, or is there already."""
    if file.suffix.casefold() != ".xlsx":
        raise click.UsageError(say("{file} does not end in .xlsx.", file=file))
    if labels and labels.suffix.casefold() != ".pdf":
        raise click.UsageError(say("{labels} does not end in .pdf.", labels=labels))
    if blind and not labels:
        raise click.UsageError(say("--blind is about the labels: name their file with --labels."))
    for path in filter(None, (file, labels)):
        if os.path.exists(path):  # unlike Path.exists, it is False for a name that is too long
            raise click.UsageError(
                say(
                    "{path} is there already and is not overwritten. Choose another name.",
                    path=path,
                )
            )


def _planned_weekly(given: dict[str, Any]) -> "Plan":
    """Return the plan that was typed, growth measured weekly; raise PlanError where it cannot be a
    trial.
    """
    from reportgen.workbook.plan import measured_weekly

    start, weeks, each_plant = given.pop("start"), given.pop("weeks"), given.pop("each_plant")
    plan = _planned(given.pop("treatments"), given.pop("factors"), **given)
    return measured_weekly(plan, start.date() if start else None, weeks, each_plant=each_plant)


def _sheets_with(recorded: tuple[str, ...], *, growth: bool) -> "tuple[Sheet, ...]":
    """Return the sheets of a new workbook; rows of growth bring their sheet unasked."""
    from reportgen.workbook.groups import UnknownGroup, sheets_with

    typed = ",".join((*recorded, "growth" if growth else "")).casefold()
    try:
        return sheets_with(word for part in typed.split(",") if (word := part.strip()))
    except UnknownGroup as error:
        raise click.UsageError(str(error)) from error


def _sheets_said(sheets: "tuple[Sheet, ...]", language: str) -> str:
    from reportgen.workbook.groups import groups_without
    from reportgen.workbook.vocabulary import vocabulary

    words = vocabulary(language)
    said = say(
        "Sheets: {listed}.", listed=", ".join(words.sheet_name(sheet.name) for sheet in sheets)
    )
    more = groups_without(sheets)
    if more:
        return say("{said} More with --with: {listed}.", said=said, listed=", ".join(more))
    return said


PERCENT = click.FloatRange(0, 1000, min_open=True)
PLANTS = click.IntRange(1, 1000)
LIGHT_LEVEL = click.FloatRange(0, 10_000, min_open=True)
OPTIONS_OF_TRAYS = {
    "difference": "--difference",
    "treatments": "--treatment",
    "blocked": "--blocks",
    "plants": "--plants",
    "power": "--power",
    "between": "--between",
    "within": "--within",
    "seed": "--seed",
}


@main.command()
@click.argument(
    "workbooks",
    nargs=-1,
    type=click.Path(path_type=Path),
    metavar="[EARLIER_WORKBOOK_OR_FOLDER]...",
)
@click.option("--difference", type=PERCENT, metavar="%", help="The difference that is to be shown.")
@click.option(
    "--treatment",
    "treatments",
    multiple=True,
    metavar="CODE_OR_NAME",
    help="What is compared; give it at least twice. The first is the reference.",
)
@FACTOR
@click.option(
    "--blocks/--no-blocks",
    "blocked",
    default=None,
    show_default="no blocks",
    help="Whether shelves, benches or runs each hold one tray of each treatment.",
)
@click.option("--plants", type=PLANTS, show_default="6", help="Plants in each tray.")
@click.option(
    "--power",
    type=click.FloatRange(20, 99.9),
    default=80,
    show_default=True,
    metavar="%",
    help="The chance that the trial shows it.",
)
@click.option(
    "--level",
    type=click.FloatRange(50, 99.9),
    default=95,
    show_default=True,
    metavar="%",
    help="The confidence level of the trial's intervals.",
)
@click.option(
    "--between",
    type=click.FloatRange(0, 1000),
    metavar="%",
    help="Between-tray coefficient of variation.",
)
@click.option(
    "--within", type=click.FloatRange(0, 1000), metavar="%", help="Between-plant one, in a tray."
)
@click.option(
    "--seed",
    type=click.IntRange(0),
    default=_new_seed,
    show_default="a new one",
    help="The seed of the command that lays the trial out.",
)
@click.option(
    "--figure",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.svg",
    help="Also write the table, or with --light the light over height, as a figure.",
)
@click.option(
    "--light",
    type=click.Path(path_type=Path),
    metavar="WORKBOOK",
    help="Match the light of treatments instead, by its sheet Light.",
)
@click.option(
    "--ppfd",
    type=LIGHT_LEVEL,
    metavar="N",
    help="With --light: the mean PPFD to agree in, µmol/m2/s.",
)
@click.option(
    "--dli",
    type=LIGHT_LEVEL,
    metavar="N",
    help="With --light: the light of a day to agree in, mol/m2/d.",
)
@SAID_IN
@AS_JSON
@console.with_volume
def plan(
    workbooks: tuple[Path, ...], seed: int, figure: Path | None, as_json: bool, **given: Any
) -> None:
    """Tell how many trays a trial needs, and end in the command that lays it out; or match the
    light.

    With factors the difference is one between two levels of a factor, averaged over the other
    factor.

    How much trays and plants vary is learnt from workbooks of earlier trials, or typed as
    coefficients of variation with --between and --within; without either, typical values are taken.
    At a terminal it asks for what was not given, one question at a time.

    With --light a workbook that has the sheets Treatments and Light, and need not be finished,
    tells at which height each treatment has the wanted light, or for how many hours a day: by
    readings of PPFD at several heights, never beyond them. Without --ppfd and --dli the level is
    the middle of what all treatments reach.
    """
    from reportgen import pipeline
    from reportgen.model.problem import WorkbookError

    light, ppfd, dli = given.pop("light"), given.pop("ppfd"), given.pop("dli")
    if light:
        _refuse_options_of_trays()
        wanted = _light_target(ppfd, dli)
        _plan_light(light, wanted, given["level"] / 100, figure, as_json=as_json)
        return
    if ppfd or dli:
        raise click.UsageError(say("--ppfd and --dli go with --light WORKBOOK."))
    typed = _typed_variation(workbooks, given.pop("between"), given.pop("within"))
    asks = _at_terminal() and not as_json
    target = _power_target(asks=asks, **given)
    if asks and not workbooks and not typed:
        workbooks = _ask_for_workbooks()
    try:
        planned = pipeline.plan(workbooks, target, typed=typed, seed=seed, figure=figure)
    except WorkbookError as error:
        _end_with(error.problems, as_json=as_json)
    except ValueError as error:
        raise click.UsageError(str(error)) from error
    except OSError as error:
        raise _unwritten(error) from error
    if as_json:
        click.echo(documents.printed(documents.planned(planned)))
    else:
        click.echo(planned.text, nl=False)


def _end_with(
    problems: "tuple[Problem, ...]", *, as_json: bool, also: Mapping[str, Any] | None = None
) -> NoReturn:
    """Show why a command cannot do its work, and end it; `also` completes its document."""
    if as_json:
        click.echo(documents.printed({**documents.refused(problems), **(also or {})}))
    else:
        show(problems)
    sys.exit(1)


def _refuse_options_of_trays() -> None:
    """Raise UsageError where an option of planning trays was typed beside --light."""
    context = click.get_current_context()
    for option in ("workbooks", *OPTIONS_OF_TRAYS):
        if (
            context.get_parameter_source(option) is click.core.ParameterSource.COMMANDLINE
            and context.params[option]
        ):
            if option == "workbooks":
                name = say("earlier workbooks")
            else:
                name = OPTIONS_OF_TRAYS[option]
            raise click.UsageError(say("--light WORKBOOK takes no {name}.", name=name))


def _light_target(ppfd: float | None, dli: float | None) -> "LightTarget":
    from reportgen.metrics.light_matching import LightTarget

    if ppfd and dli:
        raise click.UsageError(say("Type --ppfd or --dli, not both."))
    if ppfd:
        return LightTarget("ppfd", ppfd)
    if dli:
        return LightTarget("dli", dli)
    return LightTarget()


def _plan_light(
    source: Path, target: "LightTarget", level: float, figure: Path | None, *, as_json: bool
) -> None:
    from reportgen import pipeline
    from reportgen.model.problem import WorkbookError

    try:
        planned = pipeline.plan_light(source, target, level, figure)
    except WorkbookError as error:
        _end_with(error.problems, as_json=as_json)
    except OSError as error:
        raise _unwritten(error) from error
    if as_json:
        click.echo(documents.printed(documents.light(planned, source)))
        return
    show(planned.problems)
    click.echo(planned.text, nl=False)


def _at_terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def _typed_variation(
    workbooks: tuple[Path, ...], between: float | None, within: float | None
) -> tuple[float, float] | None:
    """Return the typed coefficients of variation as fractions; None where nothing was typed."""
    if between is None and within is None:
        return None
    if between is None or within is None or workbooks:
        raise click.UsageError(say("Name earlier workbooks, or type both --between and --within."))
    return between / 100, within / 100


def _power_target(*, asks: bool, **given: Any) -> "PowerTarget":
    """Return what the trial should show; what was not given is asked for at a terminal, else usual."""
    from reportgen.metrics.planning import PowerTarget

    difference, treatments, factors = given["difference"], given["treatments"], given["factors"]
    blocked, plants = given["blocked"], given["plants"]
    if difference is None and not asks:
        raise click.UsageError(say("Missing option '--difference'."))
    if difference is None:
        difference = click.prompt(
            say("Which difference should the trial show, in percent"), type=PERCENT, default=20.0
        )
    if not treatments and not factors and asks:
        treatments = _ask_for_treatments()
    if blocked is None and asks:
        blocked = click.confirm(
            say("Do shelves, benches or runs differ, and can each hold a tray of each treatment")
        )
    if plants is None and asks:
        plants = click.prompt(say("How many plants in each tray"), type=PLANTS, default=6)
    return PowerTarget(
        difference / 100,
        plants or 6,
        given["power"] / 100,
        given["level"] / 100,
        (
            _combinations(treatments, factors)
            if factors
            else _compared(treatments or ("reference", "treatment"))
        ),
        bool(blocked),
        _factors_to_plan(factors),
    )


def _combinations(treatments: tuple[str, ...], factors: tuple[str, ...]) -> tuple[str, ...]:
    """Return the codes of all combinations of the factors' levels."""
    laid_out = _planned(treatments, factors, blocks=0, trays=1, plants=1, seed=0)
    return tuple(treatment.code for treatment in laid_out.treatments)


def _factors_to_plan(words: tuple[str, ...]) -> "tuple[FactorToPlan, ...]":
    from reportgen.metrics.planning import FactorToPlan
    from reportgen.workbook.planned_factors import factors_typed

    factors = factors_typed(words)
    return tuple(
        FactorToPlan(one.name, len(one.levels), one.typed, bool(one.unit)) for one in factors
    )


def _compared(treatments: tuple[str, ...]) -> tuple[str, ...]:
    """Return the treatments; raise UsageError unless `reportgen new` can lay them out."""
    from reportgen.workbook.plan import PlanError, planned

    try:
        planned(treatments, blocks=0, trays=1, plants=1, seed=0)
    except PlanError as error:
        raise click.UsageError(str(error)) from error
    return treatments


def _ask_for_treatments() -> tuple[str, ...]:
    """Ask until two treatments that can be told apart are named."""
    while True:
        typed = click.prompt(say("Which treatments, the reference first, with commas between"))
        names = tuple(name.strip() for name in typed.split(",") if name.strip())
        try:
            return _compared(names)
        except click.UsageError as error:
            click.echo(error.message)


def _ask_for_workbooks() -> tuple[Path, ...]:
    """Ask until an earlier workbook or folder is there, or none is wanted."""
    while True:
        question = say("An earlier workbook or folder to learn from (Enter for none)")
        typed = click.prompt(question, default="", show_default=False)
        if not typed.strip():
            return ()
        path = Path(typed.strip()).expanduser()
        if os.path.exists(path):
            return (path,)
        click.echo(say("{path} is not there.", path=path))


@main.command()
@WORKBOOKS
@click.option(
    "--out",
    "target",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("site"),
    show_default=True,
    help="The folder that the site is written to.",
)
@SETTINGS
@click.option(
    "--title",
    show_default="of the settings, else Growing trials",
    help="What the list of trials is headed.",
)
@click.option(
    "--no-pdf", is_flag=True, help="Write the web pages only; faster, and needs no Pango."
)
@click.option(
    "--rebuild",
    is_flag=True,
    help="Build every report anew, not only those whose workbooks changed.",
)
@click.option(
    "--force",
    is_flag=True,
    help="Overwrite files in the site's folder that no build wrote, or that you changed.",
)
@click.option(
    "--no-wait",
    is_flag=True,
    help="End with a message, instead of waiting, where another run writes there.",
)
@click.option(
    "--jobs",
    type=click.IntRange(1, 256),
    metavar="N",
    show_default="one more for every 8 reports, as processors allow, 4 at most",
    help="How many reports are built at the same time.",
)
@click.option(
    "--cluster",
    default="",
    metavar="ADDRESS",
    help=(
        "Build on the Dask cluster whose scheduler is there. What is sent is not encrypted, and its"
        " workers run as they are told: use a cluster that is yours."
    ),
)
@SAID_IN
@STRICT
@AS_JSON
@console.with_volume
def build(
    workbooks: tuple[Path, ...],
    target: Path,
    title: str | None,
    strict: bool,
    as_json: bool,
    **way: Any,
) -> None:
    """Build the site of one or more workbooks, or of every workbook in a folder.

    Open site/index.html when it is done. A workbook with errors is not built: every error is named
    with its cell, and the last good report stays as it was. A report whose workbook did not change
    is not built again. A file in the site's folder that no build wrote is never overwritten without
    --force. A trial that is not harvested yet gets an interim report, which compares nothing and
    never takes the place of a final one.
    """
    from reportgen import pipeline
    from reportgen.building.executors import ClusterUnavailable
    from reportgen.lock import FolderInUse
    from reportgen.model.problem import WorkbookError

    settings_file = way.pop("settings_file")
    options = pipeline.BuildOptions(pdf=not way.pop("no_pdf"), wait=not way.pop("no_wait"), **way)
    try:
        settings = _settings_of(workbooks, settings_file)
        sources = pipeline.workbooks(workbooks)
        if title:
            settings = replace(settings, title=title)
        built = pipeline.build(sources, target, settings, options)
        results = list(console.with_progress(built, len(sources)))
    except WorkbookError as error:
        _end_with(error.problems, as_json=as_json)
    except (ClusterUnavailable, FolderInUse) as error:
        raise click.ClickException(str(error)) from error
    except OSError as error:
        raise _unwritten(error) from error
    unlisted = [target / name for name in pipeline.unlisted(sources, target)]
    if as_json:
        click.echo(documents.printed(documents.built(results, unlisted)))
    else:
        _tell_built(results, pipeline.listed(target))
        _tell_unlisted(unlisted)
    problems = [problem for one in results for problem in one.problems]
    failed = any(_has_failed(one) for one in results)
    sys.exit(int(failed or console.fails(problems, strict=strict)))


def _has_failed(one: "BuildResult") -> bool:
    return one.page is None and not one.waits


def _tell_built(results: "list[BuildResult]", listed: tuple[str, ...]) -> None:
    """Say what came of each workbook, and what became of the list of trials where some failed."""
    failed = [one.source.name for one in results if _has_failed(one)]
    for one in results:
        name = click.format_filename(one.source.name)
        if one.source.name in failed:
            click.echo(f"{name}: {_outcome(one)}")
        else:
            tell(f"{name}: {_outcome(one)}")
        if not one.waits:
            show(one.problems)
    for remark in dict.fromkeys(one.remark for one in results if one.remark):
        tell(remark, err=True)
    if failed and len(failed) < len(results):
        tell(_of_the_list(results, failed, listed), err=True)


def _settings_of(workbooks: tuple[Path, ...], file: Path | None) -> "Settings":
    from reportgen import pipeline

    _tell_passed_over(workbooks, file)
    return pipeline.settings_of(workbooks, file)


def _tell_passed_over(workbooks: tuple[Path, ...], file: Path | None) -> None:
    """Say where a settings file in the current folder does not count."""
    from reportgen import pipeline

    if file:
        here = None
    else:
        here = pipeline.settings_passed_over(workbooks)
    if here:
        note = say(
            "{here} in this folder is not used, as the workbooks lie elsewhere. To use it:"
            " --settings {here}",
            here=here,
        )
        tell(note, err=True)


def _tell_unlisted(folders: "Iterable[Path]") -> None:
    for folder in folders:
        note = say(
            "{target} is of an earlier build and was left as it is: no workbook of that name"
            " was named now. Delete the folder if the report is to go.",
            target=folder,
        )
        tell(note, err=True)


@main.command()
@click.argument("site", type=click.Path(path_type=Path, exists=True, file_okay=False))
@click.option(
    "--json",
    "as_json",
    is_flag=True,
    callback=_speak_as_scripts_read,
    help='Print {"differences": [...]} for scripts.',
)
@SAID_IN
def verify(site: Path, as_json: bool) -> None:
    """Compare a site with its notes of what was built, and change nothing.

    Names each file that differs, that is missing, or that no build wrote. Exits with 1 where there
    is one.
    """
    import json

    from reportgen.building import verify as verifying

    try:
        found = verifying.differences(site)
    except verifying.NoSite as error:
        raise click.UsageError(str(error)) from error
    except OSError as error:
        raise _unread(error) from error
    if as_json:
        listed = [{"kind": one.kind, "name": one.name} for one in found]
        click.echo(json.dumps({"differences": listed}, ensure_ascii=False, indent=1))
    else:
        for one in found:
            click.echo(str(one))
        click.echo(f"{site}: {_count(found)}")
    sys.exit(1 if found else 0)


def _count(differences: "tuple[Difference, ...]") -> str:
    if not differences:
        return say("every file is as it was built")
    return plural("{number} difference", "{number} differences", len(differences))


def _unread(error: OSError) -> click.ClickException:
    return click.ClickException(
        say(
            "{file} cannot be read: {reason}.",
            file=error.filename,
            reason=error.strerror or error,
        )
    )


@main.command()
@click.argument("source", type=click.Path(path_type=Path, exists=True), metavar="FOLDER")
@click.option(
    "--out",
    "target",
    type=click.Path(path_type=Path, file_okay=False),
    show_default="a folder that is removed at the end",
    help="The folder that the site is written to.",
)
@SETTINGS
@click.option("--pdf", is_flag=True, help="Set the PDFs too; slower.")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    show_default="8000, or one that is free",
    help="The port; 0 for any.",
)
@SAID_IN
def preview(
    source: Path, target: Path | None, settings_file: Path | None, pdf: bool, port: int | None
) -> None:
    """Show the site of a folder's workbooks in the browser, and build it anew on each save.

    A workbook with errors shows them in place of its report, and the last good report is a link
    away. Only this computer can see the preview. Ctrl-C ends it.
    """
    import contextlib
    import tempfile

    from reportgen import pipeline
    from reportgen import preview as previews
    from reportgen.model.problem import WorkbookError

    options = pipeline.BuildOptions(pdf=pdf, jobs=1)
    _tell_passed_over((source,), settings_file)
    try:
        with contextlib.ExitStack() as cleared:
            cleared.enter_context(previews.interrupted_by_signals())
            site = target or Path(
                cleared.enter_context(tempfile.TemporaryDirectory(prefix="reportgen-"))
            )
            previews.run(previews.Source(source, site, settings_file, options), port, click.echo)
    except WorkbookError as error:
        show(error.problems)
        sys.exit(1)
    except previews.PortTakenError as error:
        raise click.ClickException(str(error)) from error


def _of_the_list(results: "list[BuildResult]", failed: list[str], listed: tuple[str, ...]) -> str:
    """Return what became of the list of trials in a build of which some workbooks failed."""
    built = {one.page.parent.name for one in results if one.page}
    if set(listed) == built:
        return say(
            "The list of trials and the feed name what was built. Not in them: {listed}.",
            listed=", ".join(failed),
        )
    return say(
        "The list of trials and the feed were left as they were: they wait for every workbook."
    )


def _outcome(built: "BuildResult") -> str:
    """Return what came of a workbook: its page, or that there is none."""
    if built.page is None:
        if built.waits:
            return say("not built yet: {listed}", listed="; ".join(map(str, built.problems)))
        return say("not built")
    if built.is_interim:
        notes = ["interim"]
    else:
        notes = []
    notes += ["unchanged"] if built.unchanged else []
    page = click.format_filename(built.page)  # a name may be no text
    if notes:
        return f"{page} ({', '.join(notes)})"
    return page


@main.command()
@WORKBOOKS
@SETTINGS
@click.option(
    "--marked",
    "copy",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="COPY",
    help=(
        "Also write a copy of the one workbook, to look at: each problem is a comment and a fill on"
        " its cells, and all are listed on its first sheet. An earlier marked copy of that name is"
        " overwritten."
    ),
)
@click.option(
    "--today",
    type=click.DateTime(["%Y-%m-%d"]),
    metavar="YYYY-MM-DD",
    show_default="the day of the computer's clock",
    help="The day as of which the next records of an unfinished trial are listed.",
)
@SAID_IN
@STRICT
@AS_JSON
@console.with_volume
def check(
    workbooks: tuple[Path, ...],
    settings_file: Path | None,
    copy: Path | None,
    today: datetime | None,
    **how: bool,
) -> None:
    """Check workbooks and name every problem with its cell, without building anything.

    Errors come first, then cautions and remarks; alike ones are one line. Of a trial that is not
    harvested yet it says what is still to come, which is no error, and what to record next.
    """
    from reportgen import pipeline
    from reportgen.model.problem import WorkbookError

    if copy:
        _refuse(workbooks, copy)
    try:
        settings = _settings_of(workbooks, settings_file)
        sources = pipeline.workbooks(workbooks)
    except WorkbookError as error:
        _end_with(
            error.problems,
            as_json=how["as_json"],
            also={"format": problem_document.FORMAT, "next": []},
        )
    day = today.date() if today else date.today()
    later = pipeline.later_versions(sources, settings)
    found: list[Checked] = []
    for source in sources:
        checked = _check_one(source, copy, settings, day)
        if source in later:
            checked = replace(checked, problems=(*checked.problems, later[source]))
        _tell(checked, whole=not how["as_json"])
        found.append(checked)
    if how["as_json"]:
        click.echo(documents.printed(documents.checked(found)))
    problems = [problem for one in found for problem in one.problems]
    sys.exit(int(console.fails(problems, strict=how["strict"])))


@main.command()
@click.argument(
    "log",
    nargs=-1,
    required=True,
    type=click.Path(path_type=Path),
    metavar="LOG [FILE_OR_FOLDER]...",
)
@click.option(
    "--no-input", is_flag=True, help="Ask nothing: print what is open, and leave it open."
)
@click.option(
    "--json",
    "as_json",
    is_flag=True,
    callback=_speak_as_scripts_read,
    help="Ask nothing, and print questions and figures for scripts.",
)
@click.option(
    "--answers",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    metavar="FILE",
    help="Take answers from a JSON file: {question key: answer}.",
)
@SAID_IN
def adopt(log: tuple[Path, ...], no_input: bool, as_json: bool, answers: Path | None) -> None:
    """Take in a spreadsheet in your own layout: .xlsx, .xls, .ods, .csv. It is never changed.

    Where LOG is a trial workbook, the further files are the exports of loggers and meters whose
    rows are added to it.

    Shows what it understood, asks what only you know, and writes LOG.adopt.toml beside the file,
    which check and build then use. Run it again to go on where you stopped: what you wrote in the
    settings file stays. Ends with exit code 0 where nothing is open.
    """
    from functools import partial

    from reportgen.importing import adopting, dialogue, json_document
    from reportgen.model.problem import WorkbookError
    from reportgen.report import read_back

    asks = not no_input and not as_json and answers is None and _at_terminal()
    talk = partial(dialogue.at_terminal, lines=read_back.lines)
    try:
        answered = adopting.read_answers(answers) if answers else {}
        taken = adopting.take_in(log, answered, talk if asks else None)
    except WorkbookError as error:
        if as_json:
            _print_document(json_document.refused(error.problems))
        else:
            show(error.problems)
        sys.exit(1)
    except OSError as error:
        raise _unwritten(error) from error
    is_open = json_document.is_open(taken.state)
    if as_json:
        _print_document(json_document.document(taken.state, taken.settings.name))
        sys.exit(int(is_open))
    if not asks:
        click.echo("\n".join(dialogue.first_screen(taken.state)))
        click.echo("\n".join(dialogue.read_lines(taken.state, read_back.lines)))
    click.echo(say("\n{file} is written.", file=taken.settings))
    show(taken.state.problems)
    if is_open:
        for question in taken.state.questions:
            click.echo(say("  open: {question}", question=f"{question.key}: {question.ask}"))
        click.echo(say("Answer what is open: reportgen adopt {source}", source=taken.source))
    else:
        click.echo(say("Now run: reportgen check {source}", source=taken.source))
    sys.exit(int(is_open))


def _print_document(document: "Mapping[str, object]") -> None:
    import json

    click.echo(json.dumps(document, ensure_ascii=False, indent=1))


@main.command()
@LANGUAGE
@click.option(
    "--settings", is_flag=True, help="Print the keys of an adopted log's settings file instead."
)
@click.option(
    "--site",
    is_flag=True,
    help="Print the settings of a site, which reportgen.toml may hold, instead.",
)
@click.option(
    "--schema",
    type=click.Choice(tuple(schemas.FILES)),
    help="Print the JSON Schema of what programs read or write instead.",
)
def dictionary(language: str, settings: bool, site: bool, schema: str | None) -> None:
    """Print the data dictionary: every sheet and column that a workbook may hold, as Markdown.

    Schemas: results (results.json), package (datapackage.json), problems (check --json), adopt
    (adopt --json), answers (adopt --answers), settings (reportgen.toml).
    """
    if schema:
        click.echo(schemas.text(schema), nl=False)
        return
    _speak(click.get_current_context(), ENGLISH)
    if site:
        from reportgen.declared_settings import table

        click.echo(table(), nl=False)
        return
    if settings:
        from reportgen.importing.settings import dictionary as keys

        click.echo(keys(), nl=False)
        return
    from reportgen.workbook.dictionary import dictionary as page
    from reportgen.workbook.vocabulary import vocabulary

    click.echo(page(vocabulary(language)), nl=False)


def _refuse(workbooks: tuple[Path, ...], copy: Path) -> None:
    from reportgen import pipeline

    if len(workbooks) > 1:
        raise click.UsageError(say("A marked copy is made of one workbook: name one only."))
    if reason := pipeline.why_no_copy(workbooks[0], copy):
        raise click.UsageError(reason)


def _check_one(source: Path, copy: Path | None, settings: "Settings", today: date) -> "Checked":
    from reportgen import pipeline

    try:
        return pipeline.check(source, copy, settings, today)
    except OSError as error:
        raise _unwritten(error) from error


def _tell(checked: "Checked", *, whole: bool) -> None:
    if whole:
        _tell_checked(checked)
    if checked.remark:
        click.echo(checked.remark, err=True)


def _tell_checked(checked: "Checked") -> None:
    """Print what was read of a log, problems, what to record next, and in the last line how many
    there are.
    """
    name = click.format_filename(checked.source.name)
    _tell_read_back(name, checked.read_back)
    if checked.problems:
        tell(f"{name}:", err=True)
    show(checked.problems)
    if checked.steps:
        tell(say("  Next to record:"))
    for step in checked.steps:
        tell(f"    {step.text}")
    if console.fails(checked.problems, strict=False):
        click.echo(f"{name}: {_summary(checked.problems)}")
    else:
        tell(f"{name}: {_summary(checked.problems)}")


def _tell_read_back(name: str, read: "ReadBack | None") -> None:
    """Say what was read of a log that was taken in."""
    if read:
        from reportgen.report import read_back

        tell(say("{name} was read as:", name=name))
        for line in read_back.lines(read):
            tell(f"  {line}")


def _unwritten(error: OSError) -> Exception:
    """Return what a user is told of a file that cannot be written; the error itself where it is of
    the output.
    """
    if error.filename is None:
        return error
    return click.ClickException(
        say(
            "{file} cannot be written: {reason}.",
            file=error.filename,
            reason=error.strerror or error,
        )
    )


def _counted(severity: "Severity", number: int) -> str:
    from reportgen.model.problem import Severity

    texts = {
        Severity.ERROR: marked_plural("{number} error", "{number} errors"),
        Severity.CAUTION: marked_plural("{number} caution", "{number} cautions"),
        Severity.REMARK: marked_plural("{number} remark", "{number} remarks"),
    }
    return plural(*texts[severity], number)


def _summary(problems: "tuple[Problem, ...]") -> str:
    """Return how many problems there are, and how many values are still to come."""
    from reportgen.model.problem import Severity

    wrong = [problem for problem in problems if problem.severity is not Severity.TO_COME]
    counts = Counter(problem.severity for problem in wrong)
    said = ", ".join(
        _counted(severity, counts[severity]) for severity in Severity if severity in counts
    )
    values = sum(problem.count for problem in problems if problem.severity is Severity.TO_COME)
    said = said or say("no problems")
    if not values:
        return said
    to_come = plural("{number} value still to come", "{number} values still to come", values)
    return f"{said}; {to_come}"
