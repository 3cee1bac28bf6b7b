"""What is to be done of each workbook: build it, keep what is there, or say why it is neither."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from reportgen import language, sources
from reportgen.building import made_of, site_folder
from reportgen.building.manifest import Entry
from reportgen.building.outcomes import BuildOptions
from reportgen.building.reports import Job
from reportgen.language import say
from reportgen.model.problem import NotYetError, Problem, Severity, WorkbookError
from reportgen.model.results import TrialIdentity
from reportgen.model.settings import Settings
from reportgen.model.trial import Trial
from reportgen.sources import file_problem, slug_of


@dataclass(frozen=True)
class BuildTask:
    """A workbook that is to be built, or was built before (`kept`), or why it is neither."""

    source: Path
    trial: Trial | None = None
    kept: Entry | None = None
    problems: tuple[Problem, ...] = ()
    content: str = ""  # a digest of the files that were read, as they were before


@dataclass(frozen=True)
class Course:
    """The workbooks of a build in their order, each with the entry that is kept of it, or None."""

    known: Mapping[Path, Entry | None]
    settings: Settings
    target: Path

    @property
    def changed(self) -> tuple[Path, ...]:
        """Return the workbooks that are to be built."""
        return tuple(source for source, entry in self.known.items() if entry is None)


def course(
    workbooks: tuple[Path, ...], target: Path, settings: Settings, options: BuildOptions
) -> Course:
    """Return the course of a build: which workbooks changed, and what is kept of the others."""
    known: dict[Path, Entry | None] = {}
    for source in workbooks:
        known[source] = None
        if not options.rebuild:
            known[source] = made_of.kept(source, target, settings, options)
    return Course(known, settings, target)


def steps(planned: Course) -> Iterator[BuildTask]:
    """Yield what is to be done of each workbook; one is built from only when its turn comes."""
    taken: dict[str, Path] = {}
    ahead = _read_ahead(planned)
    later = later_versions(planned, ahead)
    for source in planned.known:
        try:
            task = ahead.get(source) or _task(source, planned)
            _refuse_same_slug(source, taken)
            taken[slug_of(source)] = source
            if source in later:
                raise WorkbookError((later[source],))
            yield task
        except WorkbookError as error:
            yield BuildTask(source, problems=error.problems)


def _read_ahead(planned: Course) -> Mapping[Path, BuildTask]:
    """Return the only workbook that has changed, as on each save, so that it is read once.

    Where more have changed each is read again when its turn comes: all together may not fit into
    memory.
    """
    if len(planned.changed) != 1:
        return {}
    (source,) = planned.changed
    try:
        return {source: _task(source, planned)}
    except WorkbookError:  # said when its turn comes
        return {}


def later_versions(planned: Course, ahead: Mapping[Path, BuildTask]) -> Mapping[Path, Problem]:
    """Return an error for each workbook that is a later version of another one's trial.

    Every workbook is looked at before the first report is made, as the order of their names is not
    that of time.
    """
    if len(planned.known) < 2:
        return {}
    identities: dict[Path, TrialIdentity] = {}
    for source in planned.known:
        identity = _identity(source, planned, ahead.get(source))
        if identity:
            identities[source] = identity
    return sources.versions_among(identities)


def _identity(source: Path, planned: Course, task: BuildTask | None) -> TrialIdentity | None:
    """Return what tells the trial of a workbook from others; None where the workbook has errors."""
    from reportgen.metrics.versions import identity_of

    kept = planned.known[source]
    if kept and kept.to_pool:
        return kept.to_pool.identity
    if kept:
        return None
    if task and task.trial:
        return identity_of(task.trial)
    return sources.identity_in(source, planned.settings)


def _task(source: Path, planned: Course) -> BuildTask:
    # before the workbook is read, so that a change in between is seen the next time
    content = made_of.content_of(source)
    kept = planned.known[source]
    if kept:
        return BuildTask(source, kept=kept, content=content)
    trial = _checked_beside(planned.target, source, planned.settings)
    return BuildTask(source, trial, content=content)


def _checked(source: Path, settings: Settings) -> Trial:
    """Return the trial of a workbook, its findings in English: results hold them, and do not depend
    on who builds. What stops a report is said in the current language.
    """
    try:
        with language.using(language.ENGLISH):
            return sources.checked(source, settings, with_photos=True)
    except WorkbookError:
        if language.is_english():
            raise
        return sources.checked(source, settings, with_photos=True)


def _checked_beside(target: Path, source: Path, settings: Settings) -> Trial:
    """Return the trial of a workbook; raise WorkbookError where an earlier report of it knew more."""
    slug = slug_of(source)
    try:
        trial = _checked(source, settings)
    except NotYetError as error:
        if site_folder.holds_report(target, slug):
            found = error.problems[0].found
            problem = _knew_more(source, target / slug, say("a report"), found)
            raise WorkbookError((problem,)) from error
        raise
    if trial.interim and site_folder.holds_final_report(target, slug):
        problem = _knew_more(source, target / slug, say("a final report"), _still_to_come(trial))
        raise WorkbookError((problem,))
    return trial


def _still_to_come(trial: Trial) -> str:
    notes = [str(one) for one in trial.findings if one.severity is Severity.TO_COME]
    return say("the trial is unfinished: still to come: {listed}", listed="; ".join(notes))


def _knew_more(source: Path, folder: Path, report: str, found: str) -> Problem:
    return file_problem(
        say(
            "an earlier build made {report} of {name}, and now {found}",
            report=report,
            name=source.name,
            found=found,
        ),
        say("the values that the report was made of"),
        say(
            "The report was left as it is. Fill in the values again; if it is another trial,"
            " rename the workbook; if the report is to go, delete {folder}.",
            folder=folder,
        ),
        code="earlier_report_knew_more",
    )


def _refuse_same_slug(source: Path, taken: Mapping[str, Path]) -> None:
    slug = slug_of(source)
    if slug not in taken:
        return
    found = say(
        "{name} would be written over another trial: {taken} has the folder {slug} too",
        name=source.name,
        taken=taken[slug],
        slug=slug,
    )
    problem = file_problem(
        found, say("a file name of its own"), say("Rename it."), code="same_name_as_another_trial"
    )
    raise WorkbookError((problem,))


def job(task: BuildTask, settings: Settings, options: BuildOptions) -> Job | None:
    """Return what a worker needs to make the report of a step; None where there is none to make."""
    if task.trial is None:
        return None
    attached = None
    if options.pdf and settings.attach_workbook:
        attached = _cleaned(task.source, task.trial)
    return Job(task.trial, settings, options.pdf, attached)


def _cleaned(path: Path, trial: Trial) -> tuple[str, bytes] | None:
    """Return the name and the content of a cleaned copy of a workbook.

    None where the workbook has changed since its trial was read, or where it is a log in its
    owner's own layout.
    """
    from reportgen import workbook
    from reportgen.workbook.cleaned import cleaned

    try:
        read = workbook.read(path)
    except WorkbookError:
        return None
    if read.source_sha256 != trial.source_sha256:
        return None
    content = cleaned(read)
    if content is None:
        return None
    return (f"{path.stem}.xlsx", content)
