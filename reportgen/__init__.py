"""Turn the workbook of a side-by-side growing trial into an honest web page and PDF.

The same from Python, for scripts and notebooks:

    import reportgen as rg

    trial = rg.read("trial.xlsx")
    results = rg.analyse(trial)
    results["fresh_weight"]["warm"].value
    results.frame("comparisons")
    rg.figure(trial, results, "changes")

Numbers are those of `results.json`, unrounded. What each function needs is loaded when it is
called, so that `import reportgen` loads nothing heavy.
"""

from os import PathLike
from typing import TYPE_CHECKING

from reportgen.model.problem import Problem, WorkbookError
from reportgen.version import __version__

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    import altair as alt

    from reportgen.door.results import Measure as Measure
    from reportgen.door.results import Results as Results
    from reportgen.door.trial import Trial as Trial

__all__ = [
    "Problem",
    "WorkbookError",
    "__version__",
    "analyse",
    "build",
    "check",
    "figure",
    "figures",
    "read",
]


def read(path: str | PathLike[str], settings: str | PathLike[str] | None = None) -> "Trial":
    """Return the trial of a workbook, checked.

    path: a workbook, or a log that `reportgen adopt` took in. settings: the settings file of the
    site; without it `reportgen.toml` beside the workbook counts where there is one. Raises
    `WorkbookError`, with every error in `problems`, where the workbook or the settings have any, or
    where an unfinished trial has too little recorded.
    """
    from reportgen.door import trial

    return trial.read(path, settings)


def check(
    path: str | PathLike[str], settings: str | PathLike[str] | None = None
) -> "list[Problem]":
    """Return every problem of a workbook, each by itself, as `reportgen check` finds them.

    path, settings: as for `read`. Errors are returned, not raised: a problem has a `severity`, a
    `code`, a `sheet` and a `cell`, and `str(problem)` is its one line. Raises `WorkbookError` where
    the settings have errors.
    """
    from reportgen.door import trial

    return trial.check(path, settings)


def analyse(trial: "Trial") -> "Results":
    """Return what a trial shows: an estimate of each treatment and a comparison with the reference
    in each measure.

    trial: as `read` returns it. An unfinished trial has estimates and no comparisons.
    """
    from reportgen.door import results

    return results.analyse(trial)


def figures(trial: "Trial", results: "Results") -> "dict[str, str]":
    """Return what can be drawn: the key of each figure of the report, in its order, with its title.

    Raises ValueError where the results are those of another trial.
    """
    from reportgen.door import figures as drawings

    return drawings.titles(trial, results)


def figure(trial: "Trial", results: "Results", key: str) -> "alt.TopLevelMixin":
    """Return a figure of the report as an Altair chart, 640 px wide.

    key: one of `figures`. Raises KeyError, which names the keys, where there is no such figure, and
    ValueError where the results are those of another trial.
    """
    from reportgen.door import figures as drawings

    return drawings.chart(trial, results, key)


def build(
    paths: "str | PathLike[str] | Iterable[str | PathLike[str]]",
    out: str | PathLike[str] = "site",
    *,
    pdf: bool = True,
    settings: str | PathLike[str] | None = None,
) -> "list[Path]":
    """Build the site of workbooks under the folder `out`, and return the pages of their reports.

    paths: a workbook or a folder of them, or several. pdf: whether reports have a PDF. settings: as
    for `read`. What did not change since an earlier build is left as it is; a trial of which too
    little is recorded has no page. Raises `WorkbookError`, with the problems of all workbooks that
    have errors, once every other report is written.
    """
    from reportgen.door import building

    return building.build(paths, out, pdf=pdf, settings=settings)


if not TYPE_CHECKING:  # type checkers know the classes by the imports above

    def __getattr__(name: str) -> object:
        """Return a class of the values that the functions return, loaded when it is asked for."""
        if name in ("Results", "Measure"):
            from reportgen.door import results

            return getattr(results, name)
        if name == "Trial":
            from reportgen.door import trial

            return trial.Trial
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
