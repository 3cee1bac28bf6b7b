"""Build a site: the report of each workbook that changed, then the pages that they share."""

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
from reportgen.building.outcomes import AS_USUAL, Built, How
from reportgen.building.reports import Job, Made
from reportgen.building.steps import Step
from reportgen.checks import check
from reportgen.language import is_english, say
from reportgen.model.problem import Problem, WorkbookError
from reportgen.model.settings import DEFAULTS, Settings
from reportgen.model.trial import Trial
from reportgen.sources import file_problem, slug_of


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
        yield from _Site(target, settings, how).build(sources)


class _Site:
    """A site that is being built: its reports so far, and whether its assets are there."""

    def __init__(self, target: Path, settings: Settings, how: How) -> None:
        self._target, self._settings, self._how = target, settings, how
        self._reports: list[Entry] = []
        self._waiting = 0
        self._assets_are_there = False

    def build(self, sources: tuple[Path, ...]) -> Iterator[Built]:
        """Build the report of each workbook, then what the reports share."""
        course = steps.course(sources, self._target, self._settings, self._how)
        workers = _workers(self._how, len(course.changed))
        for step, made in executors.in_order(reports.make, self._jobs(course), workers):
            if isinstance(made, Made) and step.trial:
                yield self._said(self._write(step, step.trial, made))
            else:
                yield self._said(self._keep(step))
        self._write_shared(len(course.known))

    def _jobs(self, course: steps.Course) -> Iterator[tuple[Step, Job | None]]:
        for step in steps.steps(course):
            yield step, steps.job(step, self._settings, self._how)

    def _write(self, step: Step, trial: Trial, made: Made) -> Built:
        """Write a report; return its page, or why it was not written."""
        if not self._assets_are_there:
            self._write_assets()
        entry = self._entry_of(step, trial, made)
        slug = made.listed.slug
        try:
            site_folder.write_report(self._target, slug, made.files, entry, self._how.force)
        except WorkbookError as error:
            return Built(step.source, None, error.problems)
        self._reports.append(entry)
        return Built(step.source, self._page_of(slug), entry.findings, made.remark)

    def _write_assets(self) -> None:
        assets = shared.asset_files(self._target, self._settings)
        site_folder.write_assets(self._target, assets, self._how.force)
        self._assets_are_there = True

    def _entry_of(self, step: Step, trial: Trial, made: Made) -> Entry:
        """Return the note of what a report was made of, and when its result changed."""
        photos = {one.name: one.sha256 for one in trial.photos}  # as they were when they were read
        pdf = f"{trial.slug}/report.pdf" in made.files
        entry = Entry(
            made_of.report(step.source, step.content, photos, self._settings, pdf),
            manifest.digests(made.files),
            made.listed,
            trial.findings,
            tuple(photos),
            made.to_pool,
            result=made.result,
        )
        earlier = manifest.noted(self._target / made.listed.slug / manifest.NAME)
        changed = result_date.changed_at(earlier, made.result, result_date.moment())
        listed = replace(made.listed, changed_at=changed)
        return replace(entry, changed_at=changed, report=listed)

    def _keep(self, step: Step) -> Built:
        """Return what came of a workbook of which nothing was made now."""
        if step.kept and step.kept.report:
            self._reports.append(step.kept)
            page = self._page_of(step.kept.report.slug)
            return Built(step.source, page, step.kept.findings, unchanged=True)
        built = Built(step.source, None, step.problems or (_lost(step.source),))
        self._waiting += built.waits
        return built

    def _said(self, built: Built) -> Built:
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
            shared.write(self._reports, self._target, self._settings, self._how)
        else:
            self._write_assets()


def _workers(how: How, changed: int) -> executors.Workers | None:
    if not changed:
        return None
    if how.cluster:
        return executors.cluster(how.cluster, made_of.program)
    jobs = how.jobs or executors.jobs_for(changed)
    return executors.processes(min(jobs, changed))


def _lost(source: Path) -> Problem:
    return file_problem(
        say("building {name} ended twice before it was done", name=source.name),
        say("a report"),
        say("Perhaps memory ran out: try again with --jobs 1."),
        code="build_ended_early",
    )
