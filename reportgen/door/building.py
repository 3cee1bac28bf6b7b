"""Build a site from a script."""

from collections.abc import Iterable
from os import PathLike
from pathlib import Path

from reportgen import pipeline
from reportgen.model.problem import Problem, WorkbookError

Paths = str | PathLike[str] | Iterable[str | PathLike[str]]


def build(
    paths: Paths,
    out: str | PathLike[str],
    *,
    pdf: bool,
    settings: str | PathLike[str] | None,
) -> list[Path]:
    """Build the site of workbooks; raise WorkbookError where some have errors, the others written.

    Reports are made one after the other in this process: a process that is spawned would run the
    caller's script again.
    """
    named = _named(paths)
    if settings is None:
        of_site = pipeline.settings_of(named)
    else:
        of_site = pipeline.settings_of(named, Path(settings))
    options = pipeline.BuildOptions(pdf=pdf, jobs=1)
    pages: list[Path] = []
    problems: list[Problem] = []
    not_built: list[str] = []
    for built in pipeline.build(pipeline.workbooks(named), Path(out), of_site, options):
        if built.page:
            pages.append(built.page)
        elif not built.waits:
            problems += built.problems
            not_built.append(built.source.name)
    if problems:
        error = WorkbookError(tuple(problems))
        error.add_note(f"Not built: {', '.join(not_built)}")
        raise error
    return pages


def _named(paths: Paths) -> tuple[Path, ...]:
    if isinstance(paths, str | PathLike):
        return (Path(paths),)
    return tuple(map(Path, paths))
