"""Logs as grids of cells, read and laid out for tests of what follows."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import openpyxl
import pandas as pd

from reportgen.importing.cells import read_log
from reportgen.importing.ledger import against_confirmed, drift, ledger
from reportgen.importing.long_form import melt
from reportgen.importing.model.cells import Conventions, Sheet
from reportgen.importing.model.layouts import (
    Carrier,
    CarrierKind,
    Dimension,
    Layout,
    Source,
    Values,
)
from reportgen.importing.model.questions import Ledger, Summary
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found
from reportgen.importing.summaries import summary
from reportgen.importing.tables import find, find_again
from reportgen.model.problem import Problem

Grid = Sequence[Sequence[object]]
LOST = Conventions(missing=("-",), lost=("dead",))


def source(*carriers: str, lookup=None) -> Source:
    """Return a source as a settings file writes it: `column:Tray`, `over:1`, `sheet`, `treatment`."""
    return Source(tuple(_carrier(text) for text in carriers), lookup)


def _carrier(text: str) -> Carrier:
    kind, _, name = text.partition(":")
    if kind in set(Dimension):
        return Carrier(CarrierKind.DIMENSION, kind)
    return Carrier(CarrierKind(kind), name)


def layout(table: str, gives: str, values: Sequence[Values], **sources: object) -> Layout:
    """Return a layout whose dimensions are given by name: a text, or several, or a source."""
    dimensions = {}
    for name, given in sources.items():
        texts = (given,) if isinstance(given, str) else given
        dimensions[Dimension(name)] = given if isinstance(given, Source) else source(*texts)
    return Layout(table, gives, dimensions=dimensions, values=tuple(values))


@dataclass(frozen=True)
class Log:
    """A log that was read, and its settings."""

    sheets: tuple[Sheet, ...]
    found: Found
    settings: Settings

    @property
    def frame(self) -> pd.DataFrame:
        return melt(self.found, self.sheets, self.settings)

    @property
    def figures(self) -> Summary:
        return summary(self.frame, self.settings)

    @property
    def accounts(self) -> Ledger:
        return ledger(self.sheets, self.found, self.settings, self.frame)

    @property
    def problems(self) -> tuple[Problem, ...]:
        figures = self.figures
        return (
            *drift(self.sheets, self.found, self.settings, self.frame, self.accounts),
            *against_confirmed(figures, self.sheets, self.settings, self.frame),
        )

    def with_settings(self, **changes: object) -> "Log":
        return replace(self, settings=replace(self.settings, **changes))

    def with_layout(self, **changes: object) -> "Log":
        changed = replace(self.settings.layouts[0], **changes)
        return self.with_settings(layouts=(changed, *self.settings.layouts[1:]))


def read(
    folder: Path, grids: dict[str, Grid], layouts: Sequence[Layout], conventions: Conventions = LOST
) -> Log:
    """Return a workbook of some grids, read and with its layouts."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, grid in grids.items():
        sheet = book.create_sheet(name)
        for row in grid:
            sheet.append(list(row))
    path = folder / "log.xlsx"
    book.save(path)
    sheets = read_log([path], conventions)
    settings = Settings(layouts=tuple(layouts), conventions=conventions)
    is_adopted = any(layout.sheets for layout in layouts)
    found = find(sheets)
    if is_adopted:
        found = find_again(found, sheets, settings)
    return Log(sheets, found, settings)
