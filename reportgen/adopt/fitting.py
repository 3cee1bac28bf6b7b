"""Whether a settings file fits its spreadsheets: the files, sheets, rows and headers that it names are there."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from openpyxl.utils import get_column_letter

from reportgen.adopt.columns import ASKED, NUMBERS, column_called, kind_of, sheet_called, trial_field
from reportgen.adopt.grid import Grid
from reportgen.adopt.mapping import NOTHING, UNKNOWN, Adoption, TableMapping
from reportgen.adopt.stood import heading, letters_named
from reportgen.adopt.toml_lines import at_line
from reportgen.model.problem import Problem
from reportgen.workbook.declaration import METER, PLANTS, TRAYS, TREATMENTS, TRIAL
from reportgen.workbook.headers import folded, header, nearest
from reportgen.workbook.raw import RawSheet, Workbook, bounds_of
from reportgen.workbook.values import bare_number, shown

Files = Mapping[str, Workbook]  # by name beside the settings file; the file that it is named after is ""
DERIVED: Final = {"Tray", "Plant", "Plants started", "Name", "Treatment"}  # that need not stand in a table


def misfits(files: Files, adoption: Adoption) -> Iterator[Problem]:
    """Yield an error for each thing that a settings file names and that is not there, or that it must name."""
    for word in sorted({one.casefold() for one in adoption.missing} & {one.casefold() for one in adoption.lost}):
        said = f'"{word}" stands for no value and for a plant that was lost'
        yield at_line(adoption, "lost", said, "each word in one of the lists", "Delete it from one of the two.")
    used = [(index, table) for index, table in enumerate(adoption.tables) if table.gives != NOTHING]
    for index, table in used:
        yield from _Place(files, adoption, f"table.{index}", table).problems()
    yield from _of_the_whole(adoption)


def sheet_of(files: Files, table: TableMapping) -> RawSheet | None:
    """Return the sheet that a table stands on: of a file with a single sheet it need not be named."""
    book = files.get(table.file)
    sheets = book.sheets if book else ()
    found = next((sheet for sheet in sheets if sheet.name == table.sheet), None)
    return found or (sheets[0] if len(sheets) == 1 and not table.sheet else None)


class _Place:
    """One table of a settings file, and what is said of it."""

    def __init__(self, files: Files, adoption: Adoption, key: str, table: TableMapping) -> None:
        self.files, self.adoption, self.key, self.table = files, adoption, key, table

    def error(self, key: str, found: str, expected: str, advice: str) -> Problem:
        return at_line(self.adoption, f"{self.key}.{key}" if key else self.key, found, expected, advice)

    def problems(self) -> Iterator[Problem]:
        raw = sheet_of(self.files, self.table)
        if raw is None:
            yield self._no_sheet()
            return
        if UNKNOWN in (self.table.gives, self.table.header_row):
            return
        grid = Grid.of(raw, self.table)
        if grid.header and not grid.headers:
            said = f"row {self.table.header_row} of {raw.name} holds no headers"
            yield self.error("header_row", said, "the row of the headers", "Write its number.")
            return
        yield from self._headers(grid)
        yield from self._letters(grid)
        yield from self._rows(grid)
        yield from self._units(grid)
        yield from self._required()

    def _no_sheet(self) -> Problem:
        if self.table.file not in self.files:
            said = f'"{self.table.file}" is not there'
            return self.error("file", said, "a file beside this one", "Check the name.")
        names = [sheet.name for sheet in self.files[self.table.file].sheets]
        near = nearest(self.table.sheet, names)
        advice = f"Did you mean {near}?" if near else "Check the name."
        return self.error("sheet", f'there is no sheet "{self.table.sheet}"', f"one of {', '.join(names)}", advice)

    # --- headers

    def _headers(self, grid: Grid) -> Iterator[Problem]:
        for key, text in self._named():
            found = grid.columns_named(text)
            if text == UNKNOWN or len(found) == 1:
                continue
            known = list(dict.fromkeys(grid.headers.values()))
            if found:
                said = f'"{text}" heads {len(found)} columns'
                yield self.error(key, said, "one column", 'Name one by its letter, as "column C", or give the range.')
            else:
                near = nearest(text, known)
                advice = f"Did you mean {near}?" if near else "Check the header and header_row."
                said = f'there is no header "{text}" in row {self.table.header_row}'
                yield self.error(key, said, f"one of {', '.join(known[:20])}", advice)

    def _letters(self, grid: Grid) -> Iterator[Problem]:
        """Yield an error for each column named by its letter whose header is another one by now."""
        for key, letter in letters_named(self.table, grid):
            stood, now = self.table.stood.get(letter), heading(grid, letter)
            if stood in (None, now):
                continue
            places = [name for name in map(get_column_letter, grid.headers) if heading(grid, name) == stood]
            where = f"That header stands in column {places[0]} now: write it" if places else "Write the right column"
            said = f'column {letter} was headed "{shown(stood)}" and is headed "{shown(now)}" now'
            advice = f"{where} in place of {letter}; where {letter} is still meant delete it from stood."
            yield self.error(key, said, "the column that was meant", advice)

    def _named(self) -> Iterator[tuple[str, str]]:
        yield from ((f"columns.{name}", source.header) for name, source in self.table.columns.items())
        yield from (("time", text) for text in (self.table.time,) if text)
        yield from (("fill_down", text) for text in self.table.fill_down)
        yield from (("wide.headers", text) for text in (self.table.wide.headers if self.table.wide else ()))

    # --- rows and cells

    def _rows(self, grid: Grid) -> Iterator[Problem]:
        if not grid.rows:
            yield self.error(
                "range", "there are no rows below the header", "rows of data", "Check header_row and range."
            )
            return
        place = f"a row from {grid.rows[0]} to {grid.rows[-1]}"
        for row in self.table.exclude_rows:
            if row not in grid.rows:
                yield self.error("exclude_rows", f"row {row} is not in the table", place, "Mend the number.")
        for key, cells in (("corrected", tuple(self.table.corrected)), ("confirmed", self.table.confirmed)):
            for cell in cells:
                column, row, *_ = bounds_of(cell)
                if row not in grid.rows or not grid.left <= column <= grid.right:
                    yield self.error(key, f"{cell} is not in the table", f"a cell in {place}", "Mend the address.")

    # --- what is never guessed

    def _units(self, grid: Grid) -> Iterator[Problem]:
        yield from self._units_added_up(grid)
        asked = {name: source for name, source in self.table.columns.items() if name in ASKED and not source.unit}
        for name, source in asked.items():
            found = grid.columns_named(source.header)
            column = column_called(self.table.gives, name)
            if not column or len(found) != 1 or header(grid.headers.get(found[0], ""), 1, 1).unit:
                continue
            if any(bare_number(grid.value(row, found[0])) for row in grid.rows):
                yield self._no_unit(f"columns.{name}", source.header, column.unit)
        wide = self.table.wide
        if wide and wide.values in ASKED and not wide.unit and not all(header(one, 1, 1).unit for one in wide.headers):
            column = column_called(self.table.gives, wide.values)
            yield self._no_unit("wide", ", ".join(wide.headers), column.unit if column else "")

    def _units_added_up(self, grid: Grid) -> Iterator[Problem]:
        for name, source in self.table.columns.items():
            added = () if source.header in grid.headers.values() else grid.joined(source.header)
            units = {header(grid.headers.get(at, ""), 1, 1).unit for at in added}
            if len(units) > 1 and kind_of(self.table.gives, name) in NUMBERS:
                said = f'"{source.header}" adds up columns in different units'
                advice = "Add them up in one unit, in a column of your own."
                yield self.error(f"columns.{name}", said, "columns in one unit", advice)

    def _no_unit(self, key: str, text: str, unit: str) -> Problem:
        where = (
            f'unit = "{unit}" beside names and values' if key == "wide" else f'{{ from = "{text}", unit = "{unit}" }}'
        )
        said = f'no unit is written for "{text}"'
        return self.error(key, said, f"the unit that it is in, such as {unit}", f"Write it, as {where}.")

    def _required(self) -> Iterator[Problem]:
        sheet = sheet_called(self.table.gives)
        named = names_given(self.table)
        for column in sheet.columns if sheet else ():
            needed = column.required and not {column.name, UNKNOWN} & named
            left = column.name in DERIVED and sheet in (PLANTS, TRAYS, TREATMENTS) and column.name != sheet.key[0]
            if needed and not (left or (sheet is PLANTS and column.name in DERIVED)):
                advice = f'Write "{column.name}" = "its header" under columns, or its value under constants.'
                said = f"nothing gives {column.name} of the sheet {sheet.name}" if sheet else ""
                yield self.error("columns", said, f"the column {column.header}", advice)
        if self.table.cumulative is False and "Started on" not in self.adoption.trial and sheet is METER:
            said = "amounts since the reading before need the day that they begin on"
            yield self.error("cumulative", said, "Started on under [trial]", "Write Started on there.")


def names_given(table: TableMapping) -> set[str]:
    """Return the declared columns that a table gives."""
    wide = {table.wide.names, table.wide.values} if table.wide else set()
    trays = (table.wide.names if table.wide else "") == "Tray" or table.sections == "Tray"
    told = {"Treatment"} if trays and table.treatment else set()
    return {*table.columns, *table.constants, *wide, *told, *([table.sections] if table.sections else [])}


def is_joined(table: TableMapping, adoption: Adoption) -> bool:
    """Return whether a table tells more of plants whose fresh weights stand in another one, by tray or number."""
    given = [names_given(one) for one in adoption.tables if one.gives == PLANTS.name]
    whole = any("Fresh weight" in names for names in given)
    own = names_given(table)
    told = {"Fresh weight", UNKNOWN} & own or any(name.startswith(UNKNOWN) for name in own)
    return table.gives == PLANTS.name and table.wide is None and whole and not told and bool({"Tray", "Plant"} & own)


def is_by_row(adoption: Adoption, *, whether_open: bool = False) -> bool:
    """Return whether each row of plants is an experimental unit of its own: a pot; or whether that is still open."""
    unit = next((value for name, value in adoption.trial.items() if folded(name) == "experimentalunit"), "")
    said = {unit, *(table.per for table in adoption.tables if table.gives == PLANTS.name)} - {"plant", "tray", ""}
    counted = all(_counts_plants(table) for table in adoption.tables if table.per == "pot")
    plants = [names_given(table) for table in adoption.tables if table.gives == PLANTS.name]
    # A weight of several plants whose tray is the unit; or trays that are named, and said to be it.
    in_trays = unit == "tray" and (counted or all("Tray" in names for names in plants))
    return unit == "plant" or ("pot" in said and not in_trays) or (whether_open and UNKNOWN in said)


def _counts_plants(table: TableMapping) -> bool:
    return "Plants weighed" in {**table.columns, **table.constants}


def _of_the_whole(adoption: Adoption) -> Iterator[Problem]:
    gives: dict[str, list[int]] = {}
    for index, table in enumerate(adoption.tables):
        gives.setdefault(table.gives, []).append(index)
    if PLANTS.name not in gives and UNKNOWN not in gives:
        yield at_line(adoption, "table", "no table gives Plants", "a table of plants", 'Write gives = "Plants" in one.')
    yield from _of_trays(adoption, gives)
    named = {column.name for name in adoption.trial if (column := trial_field(name))}
    for column in TRIAL.columns:
        if column.required and column.name not in named:
            key = f'"{column.name}"' if " " in column.name else column.name
            advice = f'Write {key} = "..." below [trial]. {column.help}'
            yield at_line(adoption, "trial", f"nothing says {column.name}", f"the field {column.name}", advice)


def _of_trays(adoption: Adoption, gives: Mapping[str, Sequence[int]]) -> Iterator[Problem]:
    """Yield an error where trays and their treatments are told by no table."""
    plants = {index: names_given(adoption.tables[index]) for index in gives.get(PLANTS.name, ())}
    for index, names in plants.items():
        if is_joined(adoption.tables[index], adoption):
            continue
        if "Tray" not in names and not is_by_row(adoption, whether_open=True):
            advice = (
                "Name its column under columns: that of the treatment again where all plants of one stood together. "
                'Where each plant was treated alone write "Experimental unit" = "plant".'
            )
            yield at_line(adoption, f"table.{index}", "nothing tells the trays", "the column of the trays", advice)
        if TRAYS.name not in gives and "Treatment" not in names:
            advice = "Name its column under columns, or the treatment of the whole table under constants."
            yield at_line(adoption, f"table.{index}", "nothing tells the treatments", "their column", advice)
