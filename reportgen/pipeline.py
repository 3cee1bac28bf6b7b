"""The whole program: workbook in, report out, each file written in one step."""

import os
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from reportgen.model.document import Report
from reportgen.model.problem import Problem, Severity, WorkbookError
from reportgen.model.trial import Trial


@dataclass(frozen=True)
class Built:
    """What came of one workbook: the report's page, or why there is none; `remark` says what was left out."""

    source: Path
    page: Path | None
    problems: tuple[Problem, ...]
    remark: str = ""


def workbooks(sources: tuple[Path, ...]) -> tuple[Path, ...]:
    """Return the workbooks among files and folders, lock files of spreadsheet programs left out.

    Raises WorkbookError where a folder holds none.
    """
    found: list[Path] = []
    for source in sources:
        inside = sorted(path for path in source.glob("*") if _is_workbook(path)) if source.is_dir() else [source]
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


def build(sources: tuple[Path, ...], target: Path, *, title: str, pdf: bool = True) -> Iterator[Built]:
    """Build the report of each workbook under the folder `target`, then the pages that they share.

    A workbook with errors gives its problems, and what an earlier build wrote of it stays as it was. Where some
    workbooks have errors the shared list of trials is not written either, so that it names no report less.
    """
    from reportgen import metrics, render, report

    reports: list[Report] = []
    for source in sources:
        try:
            trial = checked(source)
            _refuse_same_slug(trial, source, reports)
        except WorkbookError as error:
            yield Built(source, None, error.problems)
            continue
        document = report.compose(trial, metrics.compute(trial))
        files, remark = _files(document, pdf)
        write(target, files)
        reports.append(document)
        yield Built(source, target / trial.slug / "index.html", trial.findings, remark)
    if len(reports) == len(sources):
        write(target, render.site_files(report.collect(title, tuple(reports))))


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
    """Write each file in one step: the old one stays until the new one is whole."""
    for name, content in files.items():
        path = target / name
        if path.is_file() and path.read_bytes() == content:
            continue
        path.parent.mkdir(parents=True, exist_ok=True)
        _replace(path, content)


def _replace(path: Path, content: bytes) -> None:
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
