"""What the makers of questions look at."""

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace

from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.layouts import NOTHING, Layout
from reportgen.importing.model.questions import Summary
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Area, Found, Table
from reportgen.importing.model.trial_book import TrialBook


@dataclass(frozen=True)
class Candidate:
    """A layout that a table may have, its score, and the figures of the log if it is read so."""

    layout: Layout
    score: float
    gives: Summary


@dataclass(frozen=True)
class Part:
    """A table, or its columns for one sheet, with the candidates that are left, best first.

    `key` begins the keys of its questions. `options` have different figures; `layout` is set
    once it is settled.
    """

    key: str
    table: Table
    options: tuple[Candidate, ...] = ()
    layout: Layout | None = None


@dataclass(frozen=True)
class Situation:
    """All that is known at one step, and how to compute the figures of other settings.

    `settings` hold what is settled, `guess` also the best candidate of what is open. `book` is
    the trial workbook that the files are read beside.
    """

    sheets: tuple[Sheet, ...]
    found: Found
    settings: Settings
    guess: Settings
    parts: tuple[Part, ...]
    figures: Callable[[Settings], Summary]
    book: TrialBook | None = None

    def table(self, key: str) -> Table:
        """Return the table of a key; raise KeyError where there is none."""
        for table in self.found.tables:
            if table.key == key:
                return table
        raise KeyError(key)

    def text_at(self, place: str) -> str:
        """Return what stands in a cell, such as `Log!C7`; "" where there is no such sheet."""
        label, _, cell = place.rpartition("!")
        for sheet in self.sheets:
            if sheet.label == label:
                row, column, *_ = sheet.area(cell)
                return str(sheet.text[row - 1, column - 1])
        return ""

    def where(self, table: Table) -> tuple[str, ...]:
        """Return the places of a table, such as `Log!A1:C9`."""
        return tuple(range_of(block.area, self.sheets[block.sheet]) for block in table.blocks)

    def where_columns(self, table: Table, names: Collection[str]) -> tuple[str, ...]:
        """Return the places of some columns of a table, those side by side as one: `Log!D3:F9`."""
        places = []
        for block in table.blocks:
            pairs = zip(table.columns, block.letters, strict=True)
            letters = sorted(letter for column, letter in pairs if column.name in names and letter)
            if letters:
                area = Area(block.area.first_row, letters[0], block.area.last_row, letters[-1])
                places.append(range_of(area, self.sheets[block.sheet]))
        return tuple(places)


def layout_of(part: Part) -> Layout | None:
    """Return the settled layout of a table, else its best candidate."""
    if part.layout is not None:
        return part.layout
    if part.options:
        return part.options[0].layout
    return None


def quantities_of(part: Part, columns: tuple[str, ...]) -> tuple[str, ...]:
    """Return the quantities that the candidates of a table give the same columns, best first."""
    names: list[str] = []
    for option in part.options:
        for values in option.layout.values:
            if values.columns == columns:
                names.append(values.quantity)
    return tuple(dict.fromkeys(names))


def has_open_quantity(part: Part) -> bool:
    """Tell whether candidates of a table call the same columns differently."""
    if part.layout is not None or not part.options:
        return False
    values = part.options[0].layout.values
    return any(len(quantities_of(part, each.columns)) > 1 for each in values)


def is_to_explain(part: Part) -> bool:
    """Tell whether words and blanks of a table can be explained: once it is settled."""
    return part.layout is not None and part.layout.gives != NOTHING


def range_of(area: Area, sheet: Sheet) -> str:
    """Return the place of an area, such as `Log!A1:C9`; of a single cell `Log!A1`."""
    cells = sheet.range(area.first_row, area.first_column, area.last_row, area.last_column)
    return f"{sheet.label}!{cells}"


def value_columns(layout: Layout) -> set[str]:
    """Return the value columns of all quantities."""
    columns: set[str] = set()
    for values in layout.values:
        columns.update(values.columns)
    return columns


def with_layout(settings: Settings, layout: Layout, changed: Layout) -> Settings:
    """Return settings in which a layout is changed."""
    layouts = list(settings.layouts)
    for index, each in enumerate(layouts):
        if each == layout:
            layouts[index] = changed
    return replace(settings, layouts=tuple(layouts))
