"""A trial as scripts and notebooks see it."""

from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen import pipeline
from reportgen.door.keys import unknown
from reportgen.model import trial as values
from reportgen.model.problem import Problem
from reportgen.model.settings import Settings

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, repr=False)
class Trial:
    """A checked trial.

    `model` holds everything that its workbook tells, as frozen values in grams, litres,
    kilowatt-hours, metres and hours; `settings` are those of its site.
    """

    model: values.Trial
    settings: Settings

    @property
    def title(self) -> str:
        """Return the title, as typed."""
        return self.model.about.title

    @property
    def reference(self) -> str:
        """Return the code of the treatment that others are compared with."""
        return self.model.reference

    @property
    def treatments(self) -> dict[str, str]:
        """Return the name of each treatment by its code, in the order of the workbook."""
        return {one.code: one.name for one in self.model.treatments}

    @property
    def sheets(self) -> tuple[str, ...]:
        """Return the names of the sheets that hold something."""
        return tuple(table.name for table in self.model.data)

    @property
    def problems(self) -> list[Problem]:
        """Return what was found in the workbook and does not stop a report."""
        return list(self.model.findings)

    def frame(self, sheet: str) -> "pd.DataFrame":
        """Return a sheet as it was recorded, one row a row, in the units of the trial.

        sheet: one of `sheets`. Columns are headed by name and unit, such as `Fresh weight (g)`, as
        in the files of `data/`. Raises KeyError, which names the sheets, where there is no such
        sheet.
        """
        from reportgen.door import recorded

        for table in self.model.data:
            if table.name == sheet:
                return recorded.frame(table)
        raise unknown("sheet", sheet, self.sheets)

    def summary(self) -> "pd.DataFrame":
        """Return a row for each treatment: code, name, planted trays or pots, plants started."""
        from reportgen.door import recorded

        return recorded.treatments(self.model)

    def __repr__(self) -> str:
        """Return title, crop and size in one line."""
        crop = self.model.about.crop
        size = f"{len(self.model.treatments)} treatments, {len(self.model.trays)} trays"
        return f"<Trial {self.title!r}: {crop}, {size}>"

    def _repr_html_(self) -> str:
        """Return the summary as a notebook shows it."""
        from reportgen.door import shown

        return shown.html(self.title, self.summary())


def read(path: str | PathLike[str], settings: str | PathLike[str] | None = None) -> Trial:
    """Return the trial of a workbook; raise WorkbookError where it has errors."""
    source = Path(path)
    of_site = settings_of(source, settings)
    return Trial(pipeline.checked(source, of_site), of_site)


def check(path: str | PathLike[str], settings: str | PathLike[str] | None = None) -> list[Problem]:
    """Return every problem of a workbook."""
    source = Path(path)
    found = pipeline.check(source, settings=settings_of(source, settings))
    return list(found.problems)


def settings_of(source: Path, settings: str | PathLike[str] | None) -> Settings:
    """Return the settings that are named, else those beside a workbook, else the defaults."""
    if settings is None:
        return pipeline.settings_of((source,))
    return pipeline.settings_of((source,), Path(settings))
