"""The whole program: workbook in, report out."""

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

from reportgen import executors, files, lock, manifest, result_date, site_folder, verify
from reportgen.manifest import Entry
from reportgen.model.data import ReadBack
from reportgen.model.document import Report
from reportgen.model.problem import NotYetError, Problem, Severity, WorkbookError
from reportgen.model.results import TrialIdentity, TrialToPool
from reportgen.model.settings import DEFAULTS, Settings
from reportgen.model.trial import LightSurvey, Trial

if TYPE_CHECKING:
    from reportgen.metrics.light_matching import LightTarget
    from reportgen.metrics.planning import PowerTarget, Variation
    from reportgen.workbook.declaration import Sheet
    from reportgen.workbook.next_steps import Step
    from reportgen.workbook.plan import Plan
    from reportgen.workbook.vocabulary import Vocabulary


@dataclass(frozen=True)
class Built:
    """What came of one workbook: the report's page, or why there is none; `remark` says what was
    left out.

    `unchanged` says that the page of an earlier build is still right, and was left as it is. An
    unfinished trial of which too little is recorded has neither a page nor errors: it waits.
    """

    source: Path
    page: Path | None
    problems: tuple[Problem, ...]
    remark: str = ""
    unchanged: bool = False

    @property
    def waits(self) -> bool:
        """Tell whether there is nothing to build yet."""
        return self.page is None and all(one.severity is Severity.TO_COME for one in self.problems)

    @property
    def is_interim(self) -> bool:
        """Tell whether the page is that of an unfinished trial."""
        return self.page is not None and any(
            one.severity is Severity.TO_COME for one in self.problems
        )


@dataclass(frozen=True)
class How:
    """The way of building: with PDFs or without, all anew or what changed, in how many processes
    (None: as fits).

    `cluster` is the address of a Dask scheduler whose workers are used in place of this computer's.
    `force` overwrites files that no build wrote; `wait` waits while another run writes into the
    same folder.
    """

    pdf: bool = True
    rebuild: bool = False
    jobs: int | None = None
    cluster: str = ""
    force: bool = False
    wait: bool = True


AS_USUAL: Final = How()


@dataclass(frozen=True)
class Checked:
    """What was found in a workbook; `remark` says what its marked copy lacks, or why there is none.

    `read_back` is what was read of a log that was taken in, `steps` what to record next in an
    unfinished trial.
    """

    source: Path
    problems: tuple[Problem, ...]
    remark: str = ""
    read_back: ReadBack | None = None
    steps: "tuple[Step, ...]" = ()


def workbooks(sources: tuple[Path, ...]) -> tuple[Path, ...]:
    """Return the workbooks among files and folders, lock files of spreadsheet programs left out.

    In a folder a text file counts where it was taken in, and no file that is read with another one.
    Raises WorkbookError where a folder holds none.
    """
    found: list[Path] = []
    for source in sources:
        if os.path.isdir(source):
            inside = _workbooks_in(source)
        else:
            inside = [source]
        if not inside:
            raise WorkbookError(
                (
                    _file_problem(
                        f"the folder {source.name} holds no workbook",
                        "an .xlsx file in it",
                        code="empty_folder",
                    ),
                )
            )
        found += inside
    return tuple(dict.fromkeys(found))


def _workbooks_in(folder: Path) -> list[Path]:
    from reportgen.importing import checking

    found = sorted(path for path in folder.glob("*") if _is_workbook(path))
    read_with = {path for one in found if checking.is_adopted(one) for path in _beside(one)}
    return [path for path in found if path not in read_with]


def _is_workbook(path: Path) -> bool:
    from reportgen.importing import checking
    from reportgen.workbook.cells import SUFFIXES

    known = path.suffix.casefold() in SUFFIXES or (
        checking.is_text(path) and checking.is_adopted(path)
    )
    return known and not path.name.startswith(("~$", "."))


def _beside(source: Path) -> tuple[Path, ...]:
    """Return the files that are read with a spreadsheet which was taken in, none with any other."""
    from reportgen.importing import checking
    from reportgen.importing.settings import settings_file

    try:
        if checking.is_adopted(source):
            return checking.files_of(source)
        return ()
    except WorkbookError:  # the check says why
        return (settings_file(source),)


def _file_problem(
    found: str, expected: str, advice: str = "Check the name.", *, code: str
) -> Problem:
    return Problem(Severity.ERROR, "", "", found, expected, advice, code=code)


def settings_of(sources: tuple[Path, ...], path: Path | None = None) -> Settings:
    """Return the settings in the file at `path`, else in the one beside the workbooks, else the
    defaults.

    Raises WorkbookError, with every problem of the file.
    """
    from reportgen import settings

    return settings.read_settings(path or settings.beside(sources), asked=path is not None)


def settings_passed_over(sources: tuple[Path, ...]) -> Path | None:
    """Return a settings file in the current folder that does not count, as the workbooks lie
    elsewhere.
    """
    from reportgen import settings

    return settings.passed_over(sources)


def checked(source: Path, settings: Settings = DEFAULTS, *, with_photos: bool = False) -> Trial:
    """Return the trial of a workbook, with its photos or without; raise WorkbookError with every
    problem found.

    Raises NotYetError where nothing is wrong and too little is recorded.
    """
    from reportgen import workbook
    from reportgen.importing import checking

    if checking.is_adopted(source):
        return checking.check(checking.read_adopted(source), settings, with_photos=with_photos)
    checking.refuse_unread(source)
    try:
        return workbook.check(workbook.read(source), settings, with_photos=with_photos)
    except NotYetError:
        raise
    except WorkbookError as error:
        raise WorkbookError(checking.hint(source, error.problems)) from error


def check(
    source: Path, copy: Path | None = None, settings: Settings = DEFAULTS, today: date | None = None
) -> Checked:
    """Check a workbook and, where `copy` is named, write its marked copy there; raise OSError where
    that fails.

    What an unfinished trial needs next is told as of `today`, and not at all without it.
    """
    try:
        found = _found_in(source, settings, today)
    except WorkbookError as error:
        return Checked(source, error.problems, _no_copy(source, copy) if copy else "")
    if copy:
        return replace(found, remark=_mark(source, found.problems, copy))
    return found


def _found_in(source: Path, settings: Settings, today: date | None) -> Checked:
    """Return what is found in a workbook, or in a spreadsheet that was taken in."""
    from reportgen import workbook
    from reportgen.importing import checking

    if checking.is_adopted(source):
        made = checking.read_adopted(source)
        outlook = checking.outlook(made, today, settings)
        return Checked(source, outlook.problems, read_back=made.read_back, steps=outlook.steps)
    checking.refuse_unread(source)
    read = workbook.read(source)
    if today is None:
        return Checked(source, checking.hint(source, workbook.problems_in(read, settings)))
    outlook = workbook.outlook(read, today, settings)
    return Checked(source, checking.hint(source, outlook.problems), steps=outlook.steps)


def _mark(source: Path, problems: tuple[Problem, ...], copy: Path) -> str:
    from reportgen.workbook import marked

    if not _can_be_marked(source):
        return _no_copy(source, copy)
    content = source.read_bytes()
    try:
        write(copy, marked.marked_copy(content, source.suffix, problems))
    except WorkbookError as error:
        return f"{copy} was not written: {error}"
    return marked.not_kept(content)


def _can_be_marked(source: Path) -> bool:
    return source.suffix.casefold() in (".xlsx", ".xlsm")


def _no_copy(source: Path, copy: Path) -> str:
    return (
        f"{copy} was not written: {source.name} is no .xlsx file that can be read. Save it as .xlsx"
        " first."
    )


def why_no_copy(source: Path, copy: Path) -> str:
    """Return why `copy` cannot be the marked copy of the workbook `source`; empty where it can."""
    if os.path.isdir(source):
        return f"{source} is a folder; a marked copy is made of one workbook."
    if not os.path.exists(source) or not _can_be_marked(source):
        return ""  # the check says so
    if copy.suffix.casefold() != source.suffix.casefold():
        return f"{copy} does not end in {source.suffix}, as {source.name} does."
    if os.path.exists(copy) and copy.samefile(source):
        return f"{copy} is the workbook itself. Choose another name."
    return _why_not_over(copy)


def _why_not_over(copy: Path) -> str:
    from reportgen.workbook.marked import is_marked

    try:
        if not os.path.exists(copy) or is_marked(copy.read_bytes()):
            return ""
    except OSError as error:
        return f"{copy} is there already and cannot be opened: {error.strerror}."
    return (
        f"{copy} is there already and is no marked copy: it is not overwritten. Choose another"
        " name."
    )


@dataclass(frozen=True)
class LabelSheet:
    """Where the labels of a new trial are written, and whether they hide the treatments."""

    path: Path
    blind: bool = False


@dataclass(frozen=True)
class NewWorkbook:
    """A blank workbook to write: where, of which plan, with which sheets, in which language, with
    labels or none.
    """

    path: Path
    plan: "Plan"
    sheets: "tuple[Sheet, ...]"
    language: str = "en"
    labels: LabelSheet | None = None


def new(wanted: NewWorkbook) -> None:
    """Write a blank workbook and its labels; nothing is written where one of them cannot be made.

    Raises PlanError for too many labels, PdfUnavailable, OSError where writing fails.
    """
    from reportgen.workbook.blank import blank_workbook
    from reportgen.workbook.vocabulary import vocabulary

    words = vocabulary(wanted.language)
    made = {wanted.path: blank_workbook(wanted.plan, wanted.sheets, words)}
    if wanted.labels:
        made[wanted.labels.path] = _labels(wanted, wanted.labels, words)
    for path, content in made.items():
        write(path, content)


def _labels(wanted: NewWorkbook, sheet: LabelSheet, words: "Vocabulary") -> bytes:
    from reportgen.render import labels
    from reportgen.workbook.plan import tray_labels

    printed = [
        labels.Label(one.tray, "" if sheet.blind else one.treatment, one.place)
        for one in tray_labels(wanted.plan, words)
    ]
    return labels.render(printed, wanted.path.stem, words.tag)


def plan(
    sources: tuple[Path, ...],
    target: "PowerTarget",
    *,
    typed: tuple[float, float] | None = None,
    seed: int,
    figure: Path | None = None,
) -> str:
    """Return the plan of a trial in plain text, and write its figure where one is wanted.

    Variation is learnt from the workbooks `sources`, or `typed` as coefficients of variation
    between and within trays, as fractions; without either it is that of typical trials. Raises
    WorkbookError where a workbook has errors or two hold one trial, ValueError where nothing can be
    planned, OSError where writing fails.
    """
    from reportgen import render
    from reportgen.metrics import planning
    from reportgen.report import planning as words

    variation: planning.Variation | None = planning.typical_variation(target.plants)
    if typed:
        variation = planning.typed_variation(*typed)
    elif sources:
        variation = _learnt(sources, target)
    if variation is None:
        raise ValueError(
            "The workbooks do not tell how trays vary: that takes two trays of a treatment with"
            " weights."
        )
    others: tuple[tuple[planning.PowerTarget, planning.TrialPlan], ...] = ()
    if target.factors:
        (target, made), *more = planning.plans_of_factors(variation, target)
        others = tuple(more)
    else:
        made = planning.plan(variation, target)
    if figure:
        drawn = words.figure(target, made)
    else:
        drawn = None
    if figure and drawn:
        write(figure, render.figures.in_ink(render.figures.svg(drawn)).encode())
    return words.text(variation, target, made, seed, others)


@dataclass(frozen=True)
class LightPlanned:
    """How to match the light of treatments, in plain text, and what was found in the workbook that
    does not stop it.
    """

    text: str
    problems: tuple[Problem, ...]


def plan_light(
    source: Path, target: "LightTarget", level: float, figure: Path | None = None
) -> LightPlanned:
    """Return how to match the light of treatments before the start, and write its figure where one
    is wanted.

    level: of confidence, a fraction. The workbook need not be finished. Raises WorkbookError where
    what it tells of light has errors, OSError where writing fails.
    """
    from reportgen import render
    from reportgen.metrics.light_matching import match_light
    from reportgen.report import light_planning as words

    survey = _light_survey(source)
    match = match_light(survey, target, level)
    if figure:
        drawn = words.figure(survey, match)
    else:
        drawn = None
    if figure and drawn:
        write(figure, render.figures.in_ink(render.figures.svg(drawn)).encode())
    return LightPlanned(words.text(survey, match, level), survey.findings)


def _light_survey(source: Path) -> LightSurvey:
    """Return what a workbook, or a log that was taken in, tells of light."""
    from reportgen import workbook
    from reportgen.importing import checking

    if checking.is_adopted(source):
        return checking.light_survey(checking.read_adopted(source))
    checking.refuse_unread(source)
    return workbook.light_survey(workbook.read(source))


def _learnt(sources: tuple[Path, ...], target: "PowerTarget") -> "Variation | None":
    """Return how trays varied in earlier trials, each trial counted once."""
    from reportgen.metrics import planning
    from reportgen.metrics.versions import identity_of, later_versions

    identities: dict[str, TrialIdentity] = {}
    known: list[planning.Variation] = []
    for source in workbooks(sources):
        trial = checked(source)
        identities[str(source)] = identity_of(trial)
        if trial.interim:  # the plants that are weighed first may not be like the rest
            continue
        variation = planning.variation_of(trial, target.blocked)
        if variation:
            known.append(variation)
    versions = later_versions(identities)
    if versions:
        raise WorkbookError(
            tuple(_two_versions(Path(path), Path(first)) for path, first in versions.items())
        )
    return planning.pooled(known)


@dataclass(frozen=True)
class Job:
    """What a worker needs to make a report, be it on another computer.

    `source` is the name and the content of what the PDF has of the workbook; None where it has
    nothing. `settings` hold the site's own templates whole: the folder they name is not there on
    another computer.
    """

    trial: Trial
    settings: Settings
    pdf: bool
    source: tuple[str, bytes] | None = None


@dataclass(frozen=True)
class Made:
    """What a worker made of a trial: what the list of trials shows of it, what it brings to others,
    its files.
    """

    listed: Report
    to_pool: TrialToPool
    files: Mapping[str, bytes]
    remark: str
    result: str = ""  # a digest of what it finds


@dataclass(frozen=True)
class _Step:
    """A workbook that is to be built, or was built before (`kept`), or why it is neither."""

    source: Path
    trial: Trial | None = None
    kept: Entry | None = None
    problems: tuple[Problem, ...] = ()
    content: str = ""  # a digest of the files that were read, as they were before


def make(job: Job) -> Made:
    """Return the report of a trial as files.

    Nothing is read or written, so that any computer can do it.
    """
    from reportgen import metrics, render, report
    from reportgen.metrics.to_pool import to_pool

    results = metrics.compute(job.trial)
    document = report.compose(job.trial, results, job.settings)
    with render.templates.using(job.settings):
        content, remark = _files(document, job)
    found = result_date.digest_of(document.results)
    return Made(manifest.listed(document), to_pool(job.trial, results), content, remark, found)


def build(
    sources: tuple[Path, ...],
    target: Path,
    settings: Settings = DEFAULTS,
    how: How = AS_USUAL,
    said: Callable[[str], None] = lock.on_stderr,
) -> Iterator[Built]:
    """Build the report of each workbook under the folder `target`, then the pages that they share.

    A report whose workbook, settings and program are those of an earlier build is left as it is. A
    workbook with errors gives its problems, and what an earlier build wrote of it stays as it was.
    Where some workbooks have errors the shared list of trials is written only if it names no report
    less than the one that is there. An unfinished trial gives an interim report, and none where too
    little is recorded; a final report is never replaced by an interim one. `said` gets a line where
    another run writes into the folder. Raises ClusterUnavailable, FolderInUse, and WorkbookError
    where files that no build wrote are in the way.
    """
    with lock.locked(target, wait=how.wait, said=said):
        files.finish(target)
        site_folder.refuse_foreign(target, map(slug_of, sources), how.force)
        yield from _build(sources, target, settings, how)


def _build(
    sources: tuple[Path, ...], target: Path, settings: Settings, how: How
) -> Iterator[Built]:
    known = [None if how.rebuild else _kept(source, target, settings, how) for source in sources]
    steps = ((step, _job(step, settings, how)) for step in _steps(sources, known, settings, target))
    workers = _workers(how, known.count(None))
    if workers is None:
        _start_drawing(how, known.count(None))
    reports: list[Entry] = []
    waiting = 0
    assets_there = False
    for step, made in executors.in_order(make, steps, workers):
        entry = step.kept
        if isinstance(made, Made) and step.trial:
            if not assets_there:
                site_folder.write_assets(target, asset_files(target, settings), how.force)
                assets_there = True
            entry = _dated(_entry_of(step, step.trial, made, settings), target)
            built = _write_report(step.source, made, entry, target, how)
        else:
            built = _not_made(step, target)
        if entry and built.page:
            reports.append(entry)
        waiting += built.waits
        yield built
    is_whole = len(reports) + waiting == len(sources)
    if reports and (is_whole or set(listed(target)) <= set(_slugs(reports))):
        _write_shared(reports, target, settings, how)
    elif reports:
        site_folder.write_assets(target, asset_files(target, settings), how.force)


def _start_drawing(how: How, reports: int) -> None:
    """Start the process that draws pictures beside this one, unless all is to be done in one."""
    from reportgen.render import artwork

    if reports and how.jobs != 1:
        artwork.start()


def _not_made(step: _Step, target: Path) -> Built:
    """Return what came of a workbook of which nothing was made now."""
    if step.kept and step.kept.report:
        return Built(
            step.source, _page_of(target, step.kept.report.slug), step.kept.findings, unchanged=True
        )
    return Built(step.source, None, step.problems or (_lost(step.source),))


def listed(target: Path) -> tuple[str, ...]:
    """Return the folders of the reports that the list of trials of a site names, none where there
    is no list.
    """
    note = manifest.noted(target / manifest.NAME)
    if note:
        return note.trials
    return ()


def _slugs(reports: list[Entry]) -> tuple[str, ...]:
    return tuple(entry.report.slug for entry in reports if entry.report)


def unlisted(sources: tuple[Path, ...], target: Path) -> tuple[str, ...]:
    """Return the folders of reports that an earlier build wrote of workbooks which are not among
    `sources`.
    """
    slugs = {slug_of(source) for source in sources}
    notes = sorted(target.glob(f"*/{manifest.NAME}"))
    return tuple(note.parent.name for note in notes if note.parent.name not in slugs)


def slug_of(source: Path) -> str:
    """Return the name of the folder that the report of a workbook gets."""
    from reportgen.workbook.slugs import slug

    return slug(source.stem)


def program() -> str:
    """Return a digest of the program, to tell whether another computer runs the same."""
    from reportgen.render import templates

    return manifest.program(templates.folder())


def _page_of(target: Path, slug: str) -> Path:
    return target / slug / "index.html"


def _workers(how: How, reports: int) -> executors.Workers | None:
    if not reports:
        return None
    if how.cluster:
        return executors.cluster(how.cluster, program)
    return executors.processes(min(how.jobs or executors.jobs_for(reports), reports))


def _kept(source: Path, target: Path, settings: Settings, how: How) -> Entry | None:
    """Return the entry of a workbook whose report was built of the same before, and whose files are
    all as built.
    """
    slug = slug_of(source)
    entry = manifest.read(target / slug / manifest.NAME)
    if entry is None or entry.report is None or entry.report.slug != slug:
        return None
    photos = {name: _photo_digest(source, name) for name in entry.photos}
    same = entry.made_of == _made_of(source, _content(source), photos, settings, how.pdf)
    if same and manifest.whole(target, entry):
        return entry
    return None


def _content(source: Path) -> str:
    """Return a digest of a workbook, and of the files that are read with it where it was taken in."""
    own = files.digest(source)
    beside = [f"{path.name} {files.digest(path)}" for path in _beside(source)]
    if beside:
        return manifest.digest(own, *beside)
    return own


def _photo_digest(source: Path, name: str) -> str:
    from reportgen.workbook import photos

    return files.digest(photos.beside(source.parent, name))


def _made_of(
    source: Path, content: str, photos: Mapping[str, str], settings: Settings, pdf: bool
) -> str:
    """Return a digest of all that goes into a report: workbook, photos beside it by name, settings,
    program.
    """
    pictures = [*photos, *photos.values()]
    return manifest.digest(
        source.name, content, *pictures, _digest_of(settings), str(pdf), program()
    )


def _digest_of(settings: Settings) -> str:
    return manifest.digest(repr(replace(settings, templates=None)))


def _steps(
    sources: tuple[Path, ...], known: list[Entry | None], settings: Settings, target: Path
) -> Iterator[_Step]:
    """Yield what is to be done of each workbook; one is built from only when its turn comes."""
    taken: dict[str, Path] = {}
    ahead = _read_ahead(sources, known, settings, target)
    later = _later_versions(sources, known, ahead, settings)
    for source, kept in zip(sources, known, strict=True):
        try:
            step = ahead.get(source) or _step(source, kept, settings, target)
            slug = slug_of(source)
            _refuse_same_slug(slug, source, taken)
            taken[slug] = source
            if source in later:
                raise WorkbookError((_two_versions(source, later[source]),))
            yield step
        except WorkbookError as error:
            yield _Step(source, problems=error.problems)


def _checked_beside(target: Path, source: Path, settings: Settings) -> Trial:
    """Return the trial of a workbook; raise WorkbookError where an earlier report of it knew more."""
    slug = slug_of(source)
    try:
        trial = checked(source, settings, with_photos=True)
    except NotYetError as error:
        if site_folder.holds_report(target, slug):
            raise WorkbookError(
                (_knew_more(source, target / slug, "a report", error.problems[0].found),)
            ) from error
        raise
    if trial.interim and site_folder.holds_final_report(target, slug):
        raise WorkbookError(
            (_knew_more(source, target / slug, "a final report", _still_to_come(trial)),)
        )
    return trial


def _still_to_come(trial: Trial) -> str:
    notes = [one for one in trial.findings if one.severity is Severity.TO_COME]
    return f"the trial is unfinished: still to come: {'; '.join(map(str, notes))}"


def _knew_more(source: Path, folder: Path, report: str, found: str) -> Problem:
    return _file_problem(
        f"an earlier build made {report} of {source.name}, and now {found}",
        "the values that the report was made of",
        "The report was left as it is. Fill in the values again; if it is another trial, rename"
        f" the workbook; if the report is to go, delete {folder}.",
        code="earlier_report_knew_more",
    )


def _step(source: Path, kept: Entry | None, settings: Settings, target: Path) -> _Step:
    content = _content(
        source
    )  # before the workbook is read, so that a change in between is seen the next time
    if kept:
        trial = None
    else:
        trial = _checked_beside(target, source, settings)
    return _Step(source, trial, kept, content=content)


def _job(step: _Step, settings: Settings, how: How) -> Job | None:
    if step.trial is None:
        return None
    is_attached = how.pdf and settings.attach_workbook
    return Job(
        step.trial, settings, how.pdf, _source(step.source, step.trial) if is_attached else None
    )


def _source(path: Path, trial: Trial) -> tuple[str, bytes] | None:
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
    if read.source_sha256 == trial.source_sha256:
        content = cleaned(read)
    else:
        content = None
    if content is None:
        return None
    return (f"{path.stem}.xlsx", content)


def _refuse_same_slug(slug: str, source: Path, taken: Mapping[str, Path]) -> None:
    if slug not in taken:
        return
    found = (
        f"{source.name} would be written over another trial: {taken[slug]} has the folder"
        f" {slug} too"
    )
    problem = _file_problem(
        found, "a file name of its own", "Rename it.", code="same_name_as_another_trial"
    )
    raise WorkbookError((problem,))


def _read_ahead(
    sources: tuple[Path, ...], known: list[Entry | None], settings: Settings, target: Path
) -> Mapping[Path, _Step]:
    """Return the only workbook that has changed, as on each save, so that it is read once.

    Where more have changed each is read again when its turn comes: all together may not fit into
    memory.
    """
    if known.count(None) != 1:
        return {}
    source = sources[known.index(None)]
    try:
        return {source: _step(source, None, settings, target)}
    except WorkbookError:  # said when its turn comes
        return {}


def _later_versions(
    sources: tuple[Path, ...],
    known: list[Entry | None],
    ahead: Mapping[Path, _Step],
    settings: Settings,
) -> Mapping[Path, Path]:
    """Return the workbooks that are later versions of a trial, each with the earliest one.

    Every workbook is looked at before the first report is made, as the order of their names is not
    that of time.
    """
    if len(sources) < 2:
        return {}
    from reportgen.metrics.versions import later_versions

    identities: dict[str, TrialIdentity] = {}
    for source, kept in zip(sources, known, strict=True):
        step = ahead.get(source)
        identity = _identity(source, kept, step.trial if step else None, settings)
        if identity:
            identities[str(source)] = identity
    return {Path(path): Path(first) for path, first in later_versions(identities).items()}


def _identity(
    source: Path, kept: Entry | None, trial: Trial | None, settings: Settings
) -> TrialIdentity | None:
    """Return what tells the trial of a workbook from others; None where the workbook has errors."""
    from reportgen.metrics.versions import identity_of

    if kept:
        if kept.to_pool:
            return kept.to_pool.identity
        return None
    try:
        return identity_of(trial or checked(source, settings))
    except WorkbookError:  # said when its turn comes
        return None


def later_versions(sources: tuple[Path, ...], settings: Settings) -> Mapping[Path, Problem]:
    """Return an error for each workbook that is a later version of another one's trial."""
    later = _later_versions(sources, [None] * len(sources), {}, settings)
    return {source: _two_versions(source, first) for source, first in later.items()}


def _two_versions(source: Path, first: Path) -> Problem:
    return _file_problem(
        f"{source.name} and {first.name} hold one trial: the same title, dates and trays, or mostly"
        " the same weights",
        "one workbook for each trial, so that none counts twice",
        f"{source.name} is the later one: take one of the two away. If they are two trials, give"
        " each its own title, dates and weights.",
        code="two_versions_of_one_trial",
    )


def _lost(source: Path) -> Problem:
    return _file_problem(
        f"building {source.name} ended twice before it was done",
        "a report",
        "Perhaps memory ran out: try again with --jobs 1.",
        code="build_ended_early",
    )


def _entry_of(step: _Step, trial: Trial, made: Made, settings: Settings) -> Entry:
    """Return the note of what a report was made of."""
    photos = {one.name: one.sha256 for one in trial.photos}  # as they were when they were read
    pdf = f"{trial.slug}/report.pdf" in made.files
    made_of = _made_of(step.source, step.content, photos, settings, pdf)
    return Entry(
        made_of,
        manifest.digests(made.files),
        made.listed,
        trial.findings,
        tuple(photos),
        made.to_pool,
        result=made.result,
    )


def _dated(entry: Entry, target: Path) -> Entry:
    """Return the note of a report with the moment at which its result changed, by what an earlier
    build left.
    """
    if entry.report is None:
        return entry
    earlier = manifest.noted(target / entry.report.slug / manifest.NAME)
    changed = result_date.changed_at(earlier, entry.result, result_date.moment())
    return replace(entry, changed_at=changed, report=replace(entry.report, changed_at=changed))


def _write_report(source: Path, made: Made, entry: Entry, target: Path, how: How) -> Built:
    """Write a report; return its page, or why it was not written."""
    slug = made.listed.slug
    try:
        site_folder.write_report(target, slug, made.files, entry, how.force)
    except WorkbookError as error:
        return Built(source, None, error.problems)
    return Built(source, _page_of(target, slug), entry.findings, made.remark)


def _write_shared(reports: list[Entry], target: Path, settings: Settings, how: How) -> None:
    """Write what the reports share, unless they are those of an earlier build."""
    made_of = manifest.digest(
        _digest_of(settings), program(), *(entry.made_of for entry in reports)
    )
    old = manifest.read(target / manifest.NAME)
    if not how.rebuild and old and old.made_of == made_of and manifest.whole(target, old):
        return
    content = shared_files(reports, target, settings)
    entry = Entry(made_of, manifest.digests(content), trials=_slugs(reports))
    site_folder.write_shared(target, content, entry, how.force)


def shared_files(reports: list[Entry], target: Path, settings: Settings) -> dict[str, bytes]:
    """Return the list of the reports, what they tell together, stylesheet, scripts and fonts by
    file name.
    """
    from reportgen import render, report
    from reportgen.metrics.pooled import pooled_comparisons

    listed = tuple(entry.report for entry in reports if entry.report)
    compared = pooled_comparisons(entry.to_pool for entry in reports if entry.to_pool)
    with render.templates.using(settings):
        shared = report.collect(
            settings.title, listed, compared, settings.address, settings.language
        )
        return render.site_files(shared) | _runtime(target)


def asset_files(target: Path, settings: Settings) -> dict[str, bytes]:
    """Return stylesheet, scripts and fonts by file name."""
    from reportgen import render

    with render.templates.using(settings):
        return render.assets.files() | _runtime(target)


def _runtime(target: Path) -> dict[str, bytes]:
    """Return the script that figures are explored by; an earlier build's where that is as it was
    written.
    """
    from reportgen.render import runtime

    name = runtime.name()
    known = verify.noted_in(target).get(name)
    path = target / name
    return runtime.files(path.read_bytes() if known and files.digest(path) == known else None)


def _files(document: Report, job: Job) -> tuple[Mapping[str, bytes], str]:
    from reportgen import render

    try:
        return render.report_files(document, pdf=job.pdf, source=job.source), ""
    except render.PdfUnavailable as reason:
        return render.report_files(document, pdf=False), str(reason)


def write(path: Path, content: bytes) -> None:
    """Write one file, whole or not at all, and clear up what a run that was killed left beside it.

    Raises OSError, with the file's name in `filename`.
    """
    with lock.locked(path.parent):
        files.finish(path.parent)
        files.write(path, content)
