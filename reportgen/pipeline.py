"""The whole program: workbook in, report out.

`workbooks` finds the files, `checked` reads one of them as a trial, and `make` turns a trial into
the files of its report. `build` does that for each workbook that changed, and writes the site.
"""

import logging
from pathlib import Path

from reportgen.building.outcomes import DEFAULT_OPTIONS, BuildOptions, BuildResult
from reportgen.building.reports import BuildOutput, Job, make
from reportgen.building.shared import listed, unlisted
from reportgen.building.site import build
from reportgen.checks import Checked, check, why_no_copy
from reportgen.lock import write
from reportgen.model.settings import Settings
from reportgen.plans import (
    LabelSheet,
    LightPlanned,
    NewWorkbook,
    TrialPlanned,
    new,
    plan,
    plan_light,
)
from reportgen.sources import checked, later_versions, slug_of, workbooks

__all__ = [
    "DEFAULT_OPTIONS",
    "BuildOptions",
    "BuildOutput",
    "BuildResult",
    "Checked",
    "Job",
    "LabelSheet",
    "LightPlanned",
    "NewWorkbook",
    "TrialPlanned",
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

log = logging.getLogger(__name__)


def settings_of(sources: tuple[Path, ...], path: Path | None = None) -> Settings:
    """Return the settings in the file at `path`, else in the one beside the workbooks, else the
    defaults.

    Raises WorkbookError, with every problem of the file.
    """
    from reportgen import settings

    file = path or settings.beside(sources)
    log.info("settings: %s", file or "none")
    return settings.read_settings(file, asked=path is not None)


def settings_passed_over(sources: tuple[Path, ...]) -> Path | None:
    """Return a settings file in the current folder that does not count, as the workbooks lie
    elsewhere.
    """
    from reportgen import settings

    return settings.passed_over(sources)
