"""The whole program: workbook in, report out, each file written in one step."""

import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from reportgen.model.document import Report
from reportgen.model.problem import Problem, Severity, WorkbookError
from reportgen.model.results import Results
from reportgen.model.trial import Trial

TEMPORARY: Final = ".reportgen-"  # how the name of a folder begins whose files are not whole yet


@dataclass(frozen=True)
class Built:
    """What came of one workbook: the report's page, or why there is none; `remark` says what was left out."""

    source: Path
    page: Path | None
    problems: tuple[Problem, ...]
    remark: str = ""


@dataclass(frozen=True)
class Checked:
    """What was found in a workbook; `remark` says what its marked copy lacks, or why there is none."""

    source: Path
    problems: tuple[Problem, ...]
    remark: str = ""


def workbooks(sources: tuple[Path, ...]) -> tuple[Path, ...]:
    """Return the workbooks among files and folders, lock files of spreadsheet programs left out.

    Raises WorkbookError where a folder holds none.
    """
    found: list[Path] = []
    for source in sources:
        inside = sorted(path for path in source.glob("*") if _is_workbook(path)) if os.path.isdir(source) else [source]
        if not inside:
            raise WorkbookError((_file_problem(f"the folder {source.name} holds no workbook", "an .xlsx file in it"),))
        found += inside
    return tuple(dict.fromkeys(found))


def _is_workbook(path: Path) -> bool:
    from reportgen.workbook.cells import SUFFIXES

    return path.suffix.casefold() in SUFFIXES and not path.name.startswith(("~$", "."))


def _file_problem(found: str, expected: str, advice: str = "Check the name.") -> Problem:
    return Problem(Severity.ERROR, "", "", found, expected, advice)


def checked(source: Path) -> Trial:
    """Return the trial of a workbook; raise WorkbookError with every problem found."""
    from reportgen import workbook

    return workbook.check(workbook.read(source))


def check(source: Path, copy: Path | None = None) -> Checked:
    """Check a workbook and, where `copy` is named, write its marked copy there; raise OSError where that fails."""
    from reportgen import workbook

    try:
        problems = workbook.problems_in(workbook.read(source))
    except WorkbookError as error:
        return Checked(source, error.problems, _no_copy(source, copy) if copy else "")
    return Checked(source, problems, _mark(source, problems, copy) if copy else "")


def _mark(source: Path, problems: tuple[Problem, ...], copy: Path) -> str:
    from reportgen.workbook import marked

    if not _can_be_marked(source):
        return _no_copy(source, copy)
    content = source.read_bytes()
    try:
        write(copy.parent, {copy.name: marked.marked_copy(content, source.suffix, problems)})
    except WorkbookError as error:
        return f"{copy} was not written: {error}"
    return marked.not_kept(content)


def _can_be_marked(source: Path) -> bool:
    return source.suffix.casefold() in (".xlsx", ".xlsm")


def _no_copy(source: Path, copy: Path) -> str:
    return f"{copy} was not written: {source.name} is no .xlsx file that can be read. Save it as .xlsx first."


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
    return f"{copy} is there already and is no marked copy: it is not overwritten. Choose another name."


def plan(
    sources: tuple[Path, ...], typed: tuple[float | None, float | None], *, figure: Path | None, **wish: float
) -> str:
    """Return the plan of a trial in plain text, and write its figure where one is wanted. All amounts in percent.

    Variation is learnt from the workbooks `sources`, or `typed` as coefficients of variation between and within trays.
    Raises WorkbookError where a workbook has errors, ValueError where nothing can be planned, OSError where writing
    fails.
    """
    from reportgen import render
    from reportgen.metrics import planning
    from reportgen.report import planning as words

    aim = planning.Wish(wish["difference"] / 100, int(wish["plants"]), wish["power"] / 100, wish["level"] / 100)
    between, within = typed
    if between is not None and within is not None:
        variation: planning.Variation | None = planning.Variation((between / 100) ** 2, (within / 100) ** 2)
    else:
        known = (planning.variation_of(checked(source)) for source in workbooks(sources))
        variation = planning.pooled([one for one in known if one is not None])
    if variation is None:
        raise ValueError(
            "The workbooks do not tell how trays vary: that takes two trays of a treatment, two plants each."
        )
    made = planning.plan(variation, aim)
    drawn = words.figure(aim, made) if figure else None
    if figure and drawn:
        write(figure.parent, {figure.name: render.figures.svg(drawn).encode()})
    return words.text(variation, aim, made)


def build(sources: tuple[Path, ...], target: Path, *, title: str, pdf: bool = True) -> Iterator[Built]:
    """Build the report of each workbook under the folder `target`, then the pages that they share.

    A workbook with errors gives its problems, and what an earlier build wrote of it stays as it was. Where some
    workbooks have errors the shared list of trials is not written either, so that it names no report less.
    """
    from reportgen import metrics, render, report
    from reportgen.metrics.pooled import pooled_comparisons

    reports: list[Report] = []
    computed: list[tuple[Trial, Results]] = []
    for source in sources:
        try:
            trial = checked(source)
            _refuse_same_slug(trial, source, reports)
        except WorkbookError as error:
            yield Built(source, None, error.problems)
            continue
        results = metrics.compute(trial)
        document = report.compose(trial, results)
        files, remark = _files(document, pdf)
        write(target, files)
        reports.append(document)
        computed.append((trial, results))
        yield Built(source, target / trial.slug / "index.html", trial.findings, remark)
    if len(reports) == len(sources):
        collection = report.collect(title, tuple(reports), pooled_comparisons(computed))
        write(target, render.site_files(collection))


def _refuse_same_slug(trial: Trial, source: Path, reports: list[Report]) -> None:
    if any(trial.slug == other.slug for other in reports):
        raise WorkbookError(
            (
                _file_problem(
                    f"{source.name} would be written over another trial", "a file name of its own", "Rename it."
                ),
            )
        )


def _files(document: Report, pdf: bool) -> tuple[Mapping[str, bytes], str]:
    from reportgen import render

    try:
        return render.report_files(document, pdf=pdf), ""
    except render.PdfUnavailable as reason:
        return render.report_files(document, pdf=False), str(reason)


def write(target: Path, files: Mapping[str, bytes]) -> None:
    """Write files, each in one step, and none before all of them have found room on the disk.

    What a build that was killed left half written is removed. Raises OSError, with the file's name in `filename`,
    where writing fails; where there was no room, every old file is as it was.
    """
    path = target
    try:
        path.mkdir(parents=True, exist_ok=True)
        _remove_stale(target)
        with tempfile.TemporaryDirectory(dir=target, prefix=TEMPORARY) as waiting:
            moves: dict[Path, Path] = {}
            for number, (name, content) in enumerate(files.items()):
                path = target / name
                if not path.is_file() or path.read_bytes() != content:
                    moves[_waiting(Path(waiting) / str(number), content, path.parent)] = path
            for whole, path in moves.items():
                os.replace(whole, path)
    except OSError as error:
        raise OSError(error.errno, error.strerror or str(error), str(path)) from error


def _waiting(path: Path, content: bytes, folder: Path) -> Path:
    """Write a file where it waits for the others, and make the folder that it goes to."""
    path.write_bytes(content)
    folder.mkdir(parents=True, exist_ok=True)
    return path


def _remove_stale(folder: Path) -> None:
    for stale in folder.glob(f"{TEMPORARY}*"):
        shutil.rmtree(stale, ignore_errors=True)
