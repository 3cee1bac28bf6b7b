"""The whole program: workbook in, report out.

`workbooks` finds the files, `checked` reads one of them as a trial, and `make` turns a trial into
the files of its report. `build` does that for each workbook that changed, and writes the site.
"""

from pathlib import Path

from reportgen.building.outcomes import AS_USUAL, Built, How
from reportgen.building.reports import Job, Made, make
from reportgen.building.shared import listed, unlisted
from reportgen.building.site import build
from reportgen.checks import Checked, check, why_no_copy
from reportgen.lock import write
from reportgen.model.settings import Settings
from reportgen.plans import LabelSheet, LightPlanned, NewWorkbook, new, plan, plan_light
from reportgen.sources import checked, later_versions, slug_of, workbooks

__all__ = [
    "AS_USUAL",
    "Built",
    "Checked",
    "How",
    "Job",
    "LabelSheet",
    "LightPlanned",
    "Made",
    "NewWorkbook",
    "build",
    "check",
    "checked",
    "later_versions",
    "listed",
    "make",
    "new",
    "plan",
    "plan_light",
    "settings_of",
    "settings_passed_over",
    "slug_of",
    "unlisted",
    "why_no_copy",
    "workbooks",
    "write",
]


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
