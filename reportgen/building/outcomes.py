"""The way of building, and what came of a workbook."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from reportgen.model.problem import Problem, Severity


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
