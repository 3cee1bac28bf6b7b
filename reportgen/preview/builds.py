"""Build the site that is shown, and publish what failed."""

import traceback
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Final

from reportgen import pipeline, settings
from reportgen.language import marked, say
from reportgen.model.grouped import grouped
from reportgen.model.problem import Severity, WorkbookError
from reportgen.paths import lies_within
from reportgen.pipeline import DEFAULT_OPTIONS, BuildOptions, BuildResult
from reportgen.preview.status import BuildStatus, Failure
from reportgen.preview.watch import await_whole

FAILED: Final = marked("reportgen itself failed; the terminal shows where. The site is not built.")


class Source:
    """What a preview shows: workbooks and, read anew for each build, the settings of their site.

    Raises WorkbookError, with every problem, where the settings are wrong at the start.
    """

    def __init__(
        self,
        workbooks: Path,
        site: Path,
        settings_file: Path | None = None,
        options: BuildOptions = DEFAULT_OPTIONS,
    ) -> None:
        self.site = site
        self._workbooks = workbooks
        self._settings_file = settings_file
        self._options = options
        self._settings = pipeline.settings_of((workbooks,), settings_file)

    @property
    def language(self) -> str:
        """Return the language of the site by the settings that were read last."""
        return self._settings.language

    def rebuild(self) -> Iterator[BuildResult]:
        """Build the site anew.

        Raises WorkbookError where the settings have become wrong, or no workbook is left.
        """
        self._settings = pipeline.settings_of((self._workbooks,), self._settings_file)
        return pipeline.build(
            pipeline.workbooks((self._workbooks,)), self.site, self._settings, self._options
        )

    def folders(self) -> frozenset[Path]:
        """Return where a file that changes may change the site: beside the workbooks, the settings,
        the templates.

        Never a folder of the site itself.
        """
        folders = [self._workbooks if self._workbooks.is_dir() else self._workbooks.parent]
        settings_file = self._settings_file or settings.beside((self._workbooks,))
        if settings_file:
            folders.append(settings_file.parent)
        if self._settings.templates:
            folders += _with_folders_in(self._settings.templates)
        return frozenset(
            folder for folder in folders if folder.is_dir() and not lies_within(folder, self.site)
        )


def _with_folders_in(folder: Path) -> list[Path]:
    return [folder, *(path for path in folder.rglob("*") if path.is_dir())]


def build_on_change(
    changed: Iterable[set[Path]],
    rebuild: Callable[[], Iterable[BuildResult]],
    status: BuildStatus,
    tell: Callable[[str], None],
) -> None:
    """Build the site for each set of changed files, and publish what failed."""
    for files in changed:
        for file in files:
            await_whole(file)
        status.publish(tuple(_failures(rebuild, tell)))


def _failures(
    rebuild: Callable[[], Iterable[BuildResult]], tell: Callable[[str], None]
) -> Iterator[Failure]:
    """Build, say what was built, and yield what failed; nothing that goes wrong ends the preview."""
    try:
        for built in rebuild():
            if not built.unchanged:
                _tell_built(built, tell)
            if built.page is None:
                yield _failure(built)
    except WorkbookError as error:
        tell(str(error))
        yield Failure("", "", tuple(map(str, error.problems)))
    except OSError as error:
        tell(f"{error.filename}: {error.strerror}")
        yield Failure(
            "",
            "",
            (
                say(
                    "{filename} cannot be read or written: {strerror}.",
                    filename=error.filename,
                    strerror=error.strerror,
                ),
            ),
        )
    except Exception:  # a mistake in the program: it is shown, and the next save may do without it
        tell(traceback.format_exc())
        yield Failure("", "", (say(FAILED),))


def _tell_built(built: BuildResult, tell: Callable[[str], None]) -> None:
    outcome = say("not built")
    if built.page:
        outcome = say("built")
    elif built.waits:
        outcome = say("not built yet")
    tell(f"{built.source.name}: {outcome}")
    for problem in grouped(built.problems):
        tell(f"  {problem.severity.said()}: {problem}")


def _failure(built: BuildResult) -> Failure:
    name, slug = built.source.name, pipeline.slug_of(built.source)
    if built.waits:
        return Failure(name, slug, tuple(map(str, built.problems)), waits=True)
    errors = [problem for problem in built.problems if problem.severity is Severity.ERROR]
    return Failure(name, slug, tuple(map(str, grouped(errors))))
