"""Logs as rows of cells, read by a layout that a test states."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from openpyxl import Workbook

from reportgen import workbook
from reportgen.importing import cells, long_form, plausibility, sheets, tables
from reportgen.importing.model.given import Given
from reportgen.importing.model.layouts import (
    Carrier,
    CarrierKind,
    Dimension,
    Layout,
    Source,
    Values,
)
from reportgen.importing.model.settings import Settings
from reportgen.importing.relocation import relocated
from reportgen.metrics import compute
from reportgen.model.problem import Problem

TRIAL = {
    "Title": "Bench heating of basil",
    "Crop": "basil",
    "Started on": date(2026, 1, 5),
    "Harvested on": date(2026, 2, 16),
    "Reference treatment": "plain",
}


def column(name: str) -> Source:
    """Return the labels of a column."""
    return Source((Carrier(CarrierKind.COLUMN, name),))


def over(level: int) -> Source:
    """Return the labels of a header row."""
    return Source((Carrier(CarrierKind.OVER, str(level)),))


def layout(table: str, gives: str, values: tuple[Values, ...], **more: object) -> Layout:
    """Return a layout of a table; dimensions are named by their words, as
    `treatment=column("Treatment")`.
    """
    dimensions = {one: more.pop(one.value) for one in Dimension if one.value in more}
    return Layout(table, gives, (table,), (1,), dimensions, values, **more)


@dataclass(frozen=True)
class Read:
    """A log that was read by stated layouts."""

    given: Given
    flags: tuple[Problem, ...]

    def rows(self, sheet: str) -> list[tuple[object, ...]]:
        """Return the rows of a sheet of the declaration, its header first."""
        return [
            tuple(row)
            for raw in self.given.workbook.sheets
            if raw.name == sheet
            for row in raw.rows
        ]

    def problems(self) -> tuple[Problem, ...]:
        """Return what the usual checks find, at the owner's cells."""
        return relocated(workbook.problems_in(self.given.workbook), self.given.origins)

    def figures(self, key: str) -> dict[str, float]:
        """Return the estimates of a measure by treatment."""
        results = compute(workbook.check(self.given.workbook))
        return {
            code: estimate.value
            for one in results.measures
            if one.measure.key == key
            for code, estimate in one.estimates
        }


def written(
    folder: Path, held: dict[str, list[tuple[object, ...]]], name: str = "log.xlsx"
) -> Path:
    """Write rows to a spreadsheet, a sheet each."""
    book = Workbook()
    book.remove(book.active)
    for title, rows in held.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    book.save(folder / name)
    return folder / name


def read(
    folder: Path, held: dict[str, list[tuple[object, ...]]], *layouts: Layout, **more: object
) -> Read:
    """Return a log of some sheets as layouts read it; `more` are further settings."""
    return read_log(written(folder, held), *layouts, **more)


def read_log(path: Path, *layouts: Layout, **more: object) -> Read:
    """Return a spreadsheet as layouts read it; `more` are further settings."""
    settings = Settings(
        **{
            "layouts": layouts,
            "trial": TRIAL,
            "independent": "unit",
            "name": "log.adopt.toml",
            **more,
        }
    )
    own = cells.read_log([path], settings.conventions)
    found = tables.find_again(tables.find(own), own, settings)
    frame = long_form.melt(found, own, settings)
    return Read(
        sheets.give(frame, settings, own, found), plausibility.flags(own, found, settings, frame)
    )
