"""The options of a build, and its result for each workbook."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from reportgen.model.problem import Problem, Severity


@dataclass(frozen=True)
class BuildResult:
    """The result of building one workbook: the report's page, or the reasons that there is none.

    `remark` says what was left out. `unchanged` says that the page of an earlier build is still
    right, and was left as it is. An unfinished trial of which too little is recorded has neither a
    page nor errors: it waits.
    """

    source: Path
    page: Path | None
    problems: tuple[Problem, ...]
    remark: str = ""
    unchanged: bool = False

    @property
    def waits(self) -> bool:
        """Return whether there is nothing to build yet."""
        return self.page is None and all(map(_is_to_come, self.problems))

    @property
    def is_interim(self) -> bool:
        """Return whether the page is that of an unfinished trial."""
        return self.page is not None and any(map(_is_to_come, self.problems))


def _is_to_come(problem: Problem) -> bool:
    return problem.severity is Severity.TO_COME


@dataclass(frozen=True)
class BuildOptions:
    """Build options; `jobs` is a number of processes, None means automatic.

    `pdf` makes PDFs too; `rebuild` builds all anew, not only what changed. `cluster` is the address
    of a Dask scheduler whose workers are used in place of this computer's. `force` overwrites files
    that no build wrote; `wait` waits while another run writes into the same folder.
    """

    pdf: bool = True
    rebuild: bool = False
    jobs: int | None = None
    cluster: str = ""
    force: bool = False
    wait: bool = True


DEFAULT_OPTIONS: Final = BuildOptions()
