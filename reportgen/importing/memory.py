"""The chain from cells to figures, each step computed once for the same input."""

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar, cast

from reportgen.importing.carriers import labels_of, with_lists
from reportgen.importing.cells import Opened, open_log, typed_log
from reportgen.importing.contents import contents
from reportgen.importing.ledger import ledger
from reportgen.importing.long_form import melt_layout, together
from reportgen.importing.model.cells import Conventions, Sheet
from reportgen.importing.model.claims import Contents, Reading
from reportgen.importing.model.layouts import Layout
from reportgen.importing.model.questions import Figures, Ledger, Summary
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found, Table
from reportgen.importing.model.trial_book import TrialBook
from reportgen.importing.plausibility import flags
from reportgen.importing.read_back import read_back
from reportgen.importing.readings import readings
from reportgen.importing.sheets import outside_trial
from reportgen.importing.summaries import summary
from reportgen.importing.tables import find, find_again
from reportgen.importing.trial_book import trial_book_of
from reportgen.model.data import ReadBack
from reportgen.model.problem import Problem
from reportgen.workbook.raw import Workbook

if TYPE_CHECKING:
    import pandas as pd

T = TypeVar("T")
CONDITIONS: Final = ("Climate", "Light")
TOGETHER: Final = "together"  # why a candidate of the contents stands beside others of its table


def _groups(candidates: Sequence[Contents]) -> list[tuple[Contents, ...]]:
    """Return candidates by what they give, if they share a table; else all as alternatives."""
    alone = [each for each in candidates if TOGETHER not in each.because]
    shared = [each.gives for each in candidates if TOGETHER in each.because]
    if not shared:
        return [tuple(candidates)]
    groups = []
    for gives in dict.fromkeys(shared):
        own = [each for each in candidates if each.gives == gives]
        groups.append((*own, *alone))
    return groups


@dataclass
class Memory:
    """The files of a log and what was computed of them so far, by input."""

    paths: tuple[Path, ...]
    kept: dict[Hashable, object] = field(default_factory=dict)

    def once(self, key: Hashable, compute: Callable[[], T]) -> T:
        """Return what was computed for a key; compute it the first time."""
        if key not in self.kept:
            self.kept[key] = compute()
        return cast("T", self.kept[key])

    def _opened(self) -> tuple[Opened, ...]:
        return self.once("opened", partial(open_log, self.paths))

    def workbook(self) -> Workbook:
        """Return the first file as it stands."""
        return self._opened()[0].book

    def trial_book(self) -> TrialBook | None:
        """Return what the first file says, where it is a trial workbook."""
        return self.once("book", lambda: trial_book_of(self.workbook()))

    def book(self) -> TrialBook | None:
        """Return what the first file says, where it is a trial workbook with others beside it."""
        if len(self.paths) == 1:
            return None
        return self.trial_book()

    def is_lone_book(self) -> bool:
        """Tell whether the only file is a trial workbook already."""
        return len(self.paths) == 1 and self.trial_book() is not None

    def sheets(self, conventions: Conventions) -> tuple[Sheet, ...]:
        """Return the cells of all files but a trial workbook, typed by conventions."""
        opened = self._opened()
        if self.trial_book() is not None:
            opened = opened[1:]
        return self.once(("sheets", repr(conventions)), partial(typed_log, opened, conventions))

    def found(self, settings: Settings) -> Found:
        """Return the tables; with layouts, matched to those that they were made for."""
        sheets = self.sheets(settings.conventions)
        conventions = repr(settings.conventions)
        found = self.once(("found", conventions), partial(find, sheets))
        tables = tuple(
            (layout.table, layout.sheets, layout.header_rows) for layout in settings.layouts
        )
        if not tables:
            return self.once(("joined", conventions), lambda: with_lists(found, sheets))
        key = ("joined", conventions, tables)
        return self.once(key, lambda: with_lists(find_again(found, sheets, settings), sheets))

    def readings(self, table: Table, settings: Settings) -> tuple[tuple[Reading, ...], ...]:
        """Return the layouts that a table may have, best first.

        One group for each set of columns that is read apart.
        """
        key = ("readings", table.key, repr(settings.conventions))
        return self.once(key, partial(self._readings, table, settings))

    def _readings(self, table: Table, settings: Settings) -> tuple[tuple[Reading, ...], ...]:
        sheets = self.sheets(settings.conventions)
        found = self.found(settings)
        labels = labels_of(table, sheets)
        groups = _groups(contents(table, labels, found, sheets))
        all_readings = [readings(table, labels, group, found, sheets) for group in groups]
        return tuple(found_readings for found_readings in all_readings if found_readings)

    def frame(self, settings: Settings) -> "pd.DataFrame":
        """Return the long form of all layouts."""
        key = ("together", repr(settings.layouts), repr(settings.conventions))
        return self.once(key, partial(self._together, settings))

    def _together(self, settings: Settings) -> "pd.DataFrame":
        frames = [self._frame_of(layout, settings) for layout in settings.layouts]
        return together(frames, settings)

    def ledger(self, settings: Settings) -> Ledger:
        """Return the fate of each number, which follows from the layouts."""
        sheets, found = self.sheets(settings.conventions), self.found(settings)
        key = ("ledger", repr(settings.layouts), repr(settings.conventions))
        return self.once(key, lambda: ledger(sheets, found, settings, self.frame(settings)))

    def _frame_of(self, layout: Layout, settings: Settings) -> "pd.DataFrame":
        key = ("frame", repr(layout), repr(settings.conventions))
        return self.once(key, partial(self._melted, layout, settings))

    def _melted(self, layout: Layout, settings: Settings) -> "pd.DataFrame":
        sheets = self.sheets(settings.conventions)
        return melt_layout(self.found(settings), sheets, layout, settings.conventions)

    def figures(self, settings: Settings) -> Summary:
        """Return the figures by quantity and treatment.

        Long logs of conditions are computed apart, as nothing depends on them.
        """
        result: dict[str, Mapping[str, Figures]] = {}
        conditions = [layout for layout in settings.layouts if layout.gives in CONDITIONS]
        others = [layout for layout in settings.layouts if layout.gives not in CONDITIONS]
        for layouts in (others, conditions):
            result.update(self._figures_of(replace(settings, layouts=tuple(layouts))))
        return result

    def _figures_of(self, settings: Settings) -> Summary:
        key = (
            "figures",
            repr(settings.layouts),
            repr(settings.conventions),
            settings.independent,
            repr(settings.treatments),
        )
        return self.once(key, lambda: summary(self.frame(settings), settings))

    def outside_trial(self, settings: Settings) -> tuple[Problem, ...]:
        """Return which rows of water and energy a report does not count."""
        sheets, found = self.sheets(settings.conventions), self.found(settings)
        return self.once(
            ("outside", repr(settings)),
            lambda: outside_trial(self.frame(settings), settings, sheets, found),
        )

    def flags(self, settings: Settings) -> tuple[Problem, ...]:
        """Return the cells that do not look like their neighbours and are not confirmed."""
        sheets = self.sheets(settings.conventions)
        key = ("flags", repr(replace(settings, lines={})))
        return self.once(
            key, lambda: flags(sheets, self.found(settings), settings, self.frame(settings))
        )

    def read_back(self, settings: Settings) -> ReadBack:
        """Return what was read, for its owner."""
        sheets = self.sheets(settings.conventions)
        figures, frame, accounts = (
            self.figures(settings),
            self.frame(settings),
            self.ledger(settings),
        )
        key = ("read back", repr(replace(settings, lines={})))
        return self.once(key, lambda: read_back(figures, frame, accounts, sheets))
