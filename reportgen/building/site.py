"""Build a site: the report of each workbook that changed, then the pages that they share."""

import logging
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

from reportgen import files, lock
from reportgen.building import (
    executors,
    made_of,
    manifest,
    reports,
    result_date,
    shared,
    site_folder,
    steps,
)
from reportgen.building.manifest import Entry
from reportgen.building.outcomes import DEFAULT_OPTIONS, BuildOptions, BuildResult
from reportgen.building.reports import BuildOutput, Job
from reportgen.building.steps import BuildTask
from reportgen.checks import check
from reportgen.language import is_english, say
from reportgen.model.problem import Problem, WorkbookError
from reportgen.model.settings import DEFAULTS, Settings
from reportgen.model.trial import Trial
from reportgen.sources import file_problem, slug_of

log = logging.getLogger(__name__)


def build(
    sources: tuple[Path, ...],
    target: Path,
    settings: Settings = DEFAULTS,
    options: BuildOptions = DEFAULT_OPTIONS,
    said: Callable[[str], None] = lock.on_stderr,
) -> Iterator[BuildResult]:
    """Build the report of each workbook under the folder `target`, then the pages that they share.

    A report whose workbook, settings and program are those of an earlier build is left as it is. A
    workbook with errors gives its problems, and what an earlier build wrote of it stays as it was.
    Where some workbooks have errors the shared list of trials is written only if it names no report
    less than the one that is there. An unfinished trial gives an interim report, and none where too
    little is recorded; a final report is never replaced by an interim one. `said` gets a line where
    another run writes into the folder. Raises ClusterUnavailable, FolderInUse, and WorkbookError
    where files that no build wrote are in the way.
    """
    with lock.locked(target, wait=options.wait, said=said):
        files.finish(target)
        site_folder.refuse_foreign(target, map(slug_of, sources), options.force)
        yield from _Site(target, settings, options).build(sources)


class _Site:
    """A site that is being built: its reports so far, and whether its assets are there."""

    def __init__(self, target: Path, settings: Settings, options: BuildOptions) -> None:
        self._target, self._settings, self._options = target, settings, options
        self._reports: list[Entry] = []
        self._waiting = 0
        self._assets_are_there = False

    def build(self, sources: tuple[Path, ...]) -> Iterator[BuildResult]:
        """Build the report of each workbook, then what the reports share."""
        course = steps.course(sources, self._target, self._settings, self._options)
        workers = _workers(self._options, len(course.changed))
        if course.changed and workers is None:
            _start_drawing(self._options)
        for task, output in executors.in_order(reports.make, self._jobs(course), workers):
            if isinstance(output, BuildOutput) and task.trial:
                yield self._said(self._write(task, task.trial, output))
            else:
                yield self._said(self._keep(task))
        self._write_shared(len(course.known))

    def _jobs(self, course: steps.Course) -> Iterator[tuple[BuildTask, Job | None]]:
        for task in steps.steps(course):
            yield task, steps.job(task, self._settings, self._options)

    def _write(self, task: BuildTask, trial: Trial, output: BuildOutput) -> BuildResult:
        """Write a report; return its page, or why it was not written."""
        if not self._assets_are_there:
            self._write_assets()
        entry = self._entry_of(task, trial, output)
        slug = output.listed.slug
        try:
            site_folder.write_report(self._target, slug, output.files, entry, self._options.force)
        except WorkbookError as error:
            return BuildResult(task.source, None, error.problems)
        log.info("%s: %d files of its report are written", task.source, len(output.files))
        self._reports.append(entry)
        return BuildResult(task.source, self._page_of(slug), entry.findings, output.remark)

    def _write_assets(self) -> None:
        assets = shared.asset_files(self._settings)
        site_folder.write_assets(self._target, assets, self._options.force)
        self._assets_are_there = True

    def _entry_of(self, task: BuildTask, trial: Trial, output: BuildOutput) -> Entry:
        """Return the note of what a report was made of, and when its result changed."""
        photos = {one.name: one.sha256 for one in trial.photos}  # as they were when they were read
        pdf = f"{trial.slug}/report.pdf" in output.files
        entry = Entry(
            made_of.report(task.source, task.content, photos, self._settings, pdf),
            manifest.digests(output.files),
            output.listed,
            trial.findings,
            tuple(photos),
            output.to_pool,
            result=output.result,
        )
        earlier = manifest.noted(self._target / output.listed.slug / manifest.NAME)
        changed = result_date.changed_at(earlier, output.result, result_date.moment())
        listed = replace(output.listed, changed_at=changed)
        return replace(entry, changed_at=changed, report=listed)

    def _keep(self, task: BuildTask) -> BuildResult:
        """Return what came of a workbook of which nothing was made now."""
        if task.kept and task.kept.report:
            log.info("%s: kept, made of the same as before", task.source)
            self._reports.append(task.kept)
            page = self._page_of(task.kept.report.slug)
            return BuildResult(task.source, page, task.kept.findings, unchanged=True)
        built = BuildResult(task.source, None, task.problems or (_lost(task.source),))
        self._waiting += built.waits
        return built

    def _said(self, built: BuildResult) -> BuildResult:
        """Return what came of a workbook, what was found in it in the current language: the notes
        of a build hold it in English.
        """
        if is_english() or built.page is None or not built.problems:
            return built
        return replace(built, problems=check(built.source, settings=self._settings).problems)

    def _page_of(self, slug: str) -> Path:
        return self._target / slug / "index.html"

    def _write_shared(self, wanted: int) -> None:
        """Write what the reports share, unless the list would lose a report by an error."""
        if not self._reports:
            return
        is_whole = len(self._reports) + self._waiting == wanted
        before = set(shared.listed(self._target))
        if is_whole or before <= set(shared.slugs_of(self._reports)):
            shared.write(self._reports, self._target, self._settings, self._options)
        else:
            self._write_assets()


def _workers(options: BuildOptions, changed: int) -> executors.Workers | None:
    if not changed:
        return None
    if options.cluster:
        return executors.cluster(options.cluster, made_of.program)
    jobs = options.jobs or executors.jobs_for(changed)
    return executors.processes(min(jobs, changed))


def _start_drawing(options: BuildOptions) -> None:
    """Start the process that draws pictures beside this one, unless all is to be done in one."""
    from reportgen.render import artwork

    if options.jobs != 1:
        artwork.start()


def _lost(source: Path) -> Problem:
    return file_problem(
        say("building {name} ended twice before it was done", name=source.name),
        say("a report"),
        say("Perhaps memory ran out: try again with --jobs 1."),
        code="build_ended_early",
    )
