"""How far a trial is: what of it is recorded, and what is still to come."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from reportgen.language import is_english, listed, plural, say
from reportgen.model.problem import Problem, Severity, cells_of
from reportgen.model.trial import ToCome
from reportgen.workbook.book import Book, day_of, last_record, rows_of, trial_row
from reportgen.workbook.cells import Value
from reportgen.workbook.declaration import HARVESTS, PLANTS, TRIAL, Column, Kind, Sheet
from reportgen.workbook.pickings import has_weighed_pickings
from reportgen.workbook.table import INVALID, Row, Table

COUNTED: Final = (Kind.NUMBER, Kind.COUNT, Kind.LEVEL, Kind.AMOUNT)
HARVEST: Final = "Harvested on"
WEIGHT: Final = "Fresh weight"
LOST: Final = ("dead", "removed")
# Problems that a finished trial has: until then what they ask for is still to come.
AT_THE_END: Final = frozenset(
    (
        "weight_missing",
        "nothing_measured",
        "solution_incomplete",
        "meter_not_whole_trial",
        "meter_read_once",
        "days_beyond_trial",
        "hours_of_use_missing",
        "column_without_values",
        "measure_without_values",
    )
)


@dataclass(frozen=True)
class Blanks:
    """The blank cells of one column that will be filled in, by their rows in the file.

    `words` are what the plan calls the rows, such as remaining.
    """

    table: Table
    column: str
    rows: tuple[int, ...]
    words: tuple[str, ...] = ()

    @property
    def cells(self) -> str:
        """Return the cells; those of the first column where the sheet has no such column."""
        return cells_of(self.table.letters.get(self.column, "A"), self.rows)

    @property
    def name(self) -> str:
        """Return how many values of what they are: `72 weights`, `8 volumes (remaining)`."""
        if self.words:
            words = f" ({', '.join(self.words)})"
        else:
            words = ""
        return f"{self._number_of_values()}{words}"

    def _number_of_values(self) -> str:
        number = len(self.rows)
        if is_english():
            return f"{number} {values_called(self.column, number)}"
        return plural(
            "{number} value of {column}",
            "{number} values of {column}",
            number,
            column=self.table.called(self.column),
        )

    def note(self) -> Problem:
        """Return the note that these values are still to come."""
        return Problem(
            Severity.TO_COME,
            self.table.title,
            self.cells,
            self.name,
            say("a value of {column} in each row", column=self.table.called(self.column)),
            self._advice(),
            code="values_to_come",
            count=len(self.rows),
        )

    def _advice(self) -> str:
        if self.table.sheet.required:
            return say("Fill it in once it is measured.")
        return say("Fill it in once it is measured, or delete a row of what is not.")


@dataclass(frozen=True)
class Progress:
    """How far a trial is.

    `fields` are the required fields of the sheet Trial that are blank; `blanks` the values that are
    still to come. `has_records` says whether anything was measured, `growing` which rows of Plants
    are not harvested yet, by index.
    """

    is_finished: bool
    has_records: bool
    as_of: date | None
    fields: tuple[str, ...] = ()
    blanks: tuple[Blanks, ...] = ()
    growing: frozenset[int] = frozenset()

    def to_come(self) -> tuple[ToCome, ...]:
        """Return what the trial still lacks, sheet by sheet."""
        values: list[ToCome] = []
        for blanks in self.blanks:
            values.append(ToCome(blanks.table.sheet.name, blanks.column, len(blanks.rows)))
        return tuple(values)


def values_called(column: str, number: int) -> str:
    """Return what values of a column are called: `weights`, `reading`, `values of Leaves`."""
    word = column.rsplit(" ", 1)[-1].lower()
    if word.endswith("s") or not word.isalpha():
        return plural("value of {column}", "values of {column}", number, column=column)
    return f"{word}{'s' * (number != 1)}"


def settled(book: Book) -> tuple[Book, Progress, list[Problem]]:
    """Split off the rows that are still to come; return the book, its progress and notes.

    Rows that a plan filled in beforehand, and in which nothing was recorded, are left out of a
    sheet that nobody uses, and of every sheet of an unfinished trial. A finished trial keeps those
    that lack a required value.
    """
    waiting = {name: awaited_rows(table) for name, table in book.items()}
    recorded = {name: without_rows(table, waiting[name]) for name, table in book.items()}
    finished = is_finished(recorded)
    tables = dict(recorded)
    if finished:
        for name, table in book.items():
            if recorded[name].numbers:
                tables[name] = without_rows(table, _needless(table))
    progress = _progress(book, recorded, waiting, finished)
    return tables, progress, list(_notes(book, progress))


# ---- rows ----------------------------------------------------------------------------------------


def awaited_rows(table: Table) -> tuple[int, ...]:
    """Return the indices of the rows that a plan filled in and that have no record yet.

    The sheet Plants has none: its rows tell which plants there are.
    """
    planned = {column.name for column in table.sheet.columns if column.planned}
    if table.sheet.name == PLANTS.name or not planned:
        return ()
    recorded = _columns_without(table, planned)
    if any(None not in values for values in recorded):  # as in a logger's 100,000 rows
        return ()
    return tuple(index for index in range(len(table.numbers)) if _is_blank_at(recorded, index))


def _columns_without(table: Table, names: Collection[str]) -> list[Sequence[object]]:
    """Return the columns of a table but for some."""
    return [values for name, values in _present(table).items() if name not in names]


def _is_blank_at(columns: Sequence[Sequence[object]], index: int) -> bool:
    return all(values[index] is None for values in columns)


def _present(table: Table) -> dict[str, tuple[object, ...]]:
    """Return the columns of a table that are not absent from its file."""
    columns: dict[str, tuple[object, ...]] = {}
    for name, values in table.columns.items():
        if not _is_absent(values):
            columns[name] = values
    return columns


def _is_absent(values: Sequence[object]) -> bool:
    """Tell whether a column is not there, or as a whole not readable."""
    return bool(values) and set(map(type, values)) == {type(INVALID)}


def _needless(table: Table) -> tuple[int, ...]:
    """Return the awaited rows of a finished trial that lack nothing which they need."""
    required = [column.name for column in table.sheet.columns if column.required]
    rows = [Row(table, index) for index in awaited_rows(table)]
    return tuple(row.index for row in rows if all(row.raw(name) is not None for name in required))


def without_rows(table: Table, left_out: Sequence[int]) -> Table:
    """Return a table without some rows, by index."""
    if not left_out:
        return table
    indices = sorted(set(range(len(table.numbers))).difference(left_out))
    columns: dict[str, tuple[Value, ...]] = {}
    for name, values in table.columns.items():
        columns[name] = tuple(values[index] for index in indices)
    numbers = tuple(table.numbers[index] for index in indices)
    return replace(table, numbers=numbers, columns=columns)


# ---- how far -------------------------------------------------------------------------------------


def is_finished(book: Book) -> bool:
    """Tell whether a trial is over.

    It is once it has a day of harvest, something was measured, and no tray waits for its harvest.
    A book without the sheet Trial is taken to be finished, so that all of its problems are told.
    """
    if TRIAL.name not in book or not book[TRIAL.name].numbers:
        return True
    harvest = trial_row(book).raw(HARVEST)
    if harvest is None or not has_records(book):
        return False
    if harvested_rows(book):
        return not trays_to_harvest(book)
    return not _waits_for_its_day(book, day_of(harvest))


def has_records(book: Book) -> bool:
    """Tell whether anything was measured or seen; a status of a plant counts."""
    if harvested_rows(book):
        return True
    if any(row.raw("Status") is not None for row in rows_of(book, PLANTS.name)):
        return True
    return any(_is_log(table.sheet) and table.numbers for table in book.values())


def _is_log(sheet: Sheet) -> bool:
    """Tell whether the rows of a sheet are records with a day of their own."""
    return not sheet.required and any(column.is_day_of_record for column in sheet.columns)


def harvested_rows(book: Book) -> frozenset[int]:
    """Return the rows of Plants in which something was measured, by index."""
    if PLANTS.name not in book:
        return frozenset()
    table = book[PLANTS.name]
    indices: set[int] = set()
    for name in measures_of(table):
        values = table.columns[name]
        indices.update(index for index, value in enumerate(values) if value is not None)
    return frozenset(indices)


def measures_of(table: Table) -> tuple[str, ...]:
    """Return the columns of Plants that hold what is measured at the harvest."""
    others = {column.name for column in PLANTS.columns if not _is_measured(column)}
    return tuple(name for name in _present(table) if name not in others)


def _is_measured(column: Column) -> bool:
    return not column.planned and column.kind in COUNTED


def trays_to_harvest(book: Book) -> frozenset[str]:
    """Return the trays that have living plants and no value of the harvest at all."""
    harvested = harvested_rows(book)
    living = [row for row in rows_of(book, PLANTS.name) if row.raw("Status") not in LOST]
    trays = {row.text("Tray") for row in living}
    begun = {row.text("Tray") for row in living if row.index in harvested}
    return frozenset(trays - begun - {""})


def _waits_for_its_day(book: Book, harvest: date | None) -> bool:
    """Tell whether all records are from before the harvest, and some plant has no status yet."""
    last = last_record(book)
    if harvest is None or last is None or last >= harvest:
        return False
    return any(row.raw("Status") is None for row in rows_of(book, PLANTS.name))


def _progress(
    book: Book, recorded: Book, waiting: dict[str, tuple[int, ...]], finished: bool
) -> Progress:
    if finished:
        return Progress(True, True, None)
    blanks: list[Blanks] = []
    column = harvest_column(recorded)
    growing = _growing(book, recorded, column)
    if growing:
        plants = book[PLANTS.name]
        blanks.append(Blanks(plants, column, tuple(plants.numbers[index] for index in growing)))
    for name, table in book.items():
        is_used = bool(recorded[name].numbers) or table.sheet is HARVESTS
        if waiting[name] and is_used:
            blanks.append(blanks_of(table, waiting[name]))
    return Progress(
        is_finished=False,
        has_records=has_records(recorded),
        as_of=_as_of(recorded),
        fields=_blank_fields(book),
        blanks=tuple(blanks),
        growing=frozenset(growing),
    )


def _blank_fields(book: Book) -> tuple[str, ...]:
    """Return the required fields of the sheet Trial that are blank."""
    required = [column.name for column in TRIAL.columns if column.required]
    return tuple(name for name in required if trial_row(book).raw(name) is None)


def harvest_column(book: Book) -> str:
    """Return the column of Plants that tells a harvested plant: fresh weight, or the first used."""
    if PLANTS.name not in book:
        return WEIGHT
    table = book[PLANTS.name]
    measures = measures_of(table)
    if WEIGHT in measures:
        return WEIGHT
    for name in measures:
        if any(value is not None for value in table.columns[name]):
            return name
    return WEIGHT


def _growing(book: Book, recorded: Book, column: str) -> tuple[int, ...]:
    """Return the plants that wait for their harvest, by index; none where pickings are the yield.

    Pickings that are counted, or planned, are the yield where no plant was weighed or measured at
    its harvest.
    """
    is_picked = any(rows_of(book, HARVESTS.name)) and not harvested_rows(recorded)
    if is_picked or has_weighed_pickings(recorded):
        return ()
    living = [row for row in rows_of(recorded, PLANTS.name) if row.raw("Status") not in LOST]
    return tuple(row.index for row in living if row.raw(column) is None)


def blanks_of(table: Table, indices: Sequence[int]) -> Blanks:
    """Return the blank cells of the first measured column in rows, by index, still to come."""
    measured = [column.name for column in table.sheet.columns if _is_measured(column)]
    column = next((name for name in measured if name in table.columns), measured[0])
    rows = [Row(table, index) for index in indices]
    return Blanks(table, column, tuple(row.number for row in rows), _words_of(rows))


def _words_of(rows: Sequence[Row]) -> tuple[str, ...]:
    """Return the words by which a plan tells apart the rows of a sheet, each once."""
    words: dict[str, None] = {}
    for column in rows[0].table.sheet.columns:
        if column.planned and column.kind is Kind.CHOICE:
            words |= dict.fromkeys(row.text(column.name) for row in rows)
    return tuple(word for word in words if word)


def _as_of(book: Book) -> date | None:
    """Return the day of the last record, or of the harvest where it began."""
    last = last_record(book)
    harvest = day_of(trial_row(book).get(HARVEST))
    if harvest and harvested_rows(book):
        return max(harvest, last or harvest)
    return last


# ---- notes ---------------------------------------------------------------------------------------


def _notes(book: Book, progress: Progress) -> Iterator[Problem]:
    if progress.fields:
        yield _fields_to_come(book[TRIAL.name], progress.fields)
    for blanks in progress.blanks:
        yield blanks.note()


def _fields_to_come(table: Table, fields: Sequence[str]) -> Problem:
    return Problem(
        Severity.TO_COME,
        table.title,
        cells_of_fields(table, fields),
        listed([table.called(field) for field in fields]),
        say("a value in each"),
        say("Fill it in once it is known."),
        code="fields_to_come",
        count=len(fields),
    )


def cells_of_fields(table: Table, fields: Sequence[str]) -> str:
    """Return the range of some fields of the sheet Trial."""
    places = [table.letters[name] for name in fields if name in table.letters]
    if places:
        return ":".join(dict.fromkeys((places[0], places[-1])))
    return ""
