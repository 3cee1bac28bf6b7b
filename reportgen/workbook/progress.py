"""How far a trial is: what of it is recorded, and what is still to come."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from reportgen.language import is_english, listed, plural, say
from reportgen.model.problem import Problem, Severity, cells_of
from reportgen.model.trial import ToCome
from reportgen.workbook.book import Book, day_of, last_record, rows_of, trial_row
from reportgen.workbook.declaration import HARVESTS, PLANTS, SHEETS, TRIAL, Column, Kind, Sheet
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
    """The blank cells of a sheet that will be filled in: those of one column, by their rows in the
    file.

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
        return f"{self._counted()}{words}"

    def _counted(self) -> str:
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
        return tuple(ToCome(one.table.sheet.name, one.column, len(one.rows)) for one in self.blanks)


def values_called(column: str, number: int) -> str:
    """Return what values of a column are called: `weights`, `reading`, `values of Leaves`."""
    word = column.rsplit(" ", 1)[-1].lower()
    if word.endswith("s") or not word.isalpha():
        return plural("value of {column}", "values of {column}", number, column=column)
    return f"{word}{'s' * (number != 1)}"


def settled(book: Book) -> tuple[Book, Progress, list[Problem]]:
    """Return a book without rows that are still to come, how far the trial is, and the notes of
    what is to come.

    Rows that a plan filled in beforehand, and in which nothing was recorded, are left out of a
    sheet that nobody uses, and of every sheet of an unfinished trial. A finished trial keeps those
    that lack a required value.
    """
    waiting = {name: awaited_rows(table) for name, table in book.items()}
    recorded = {name: without_rows(table, waiting[name]) for name, table in book.items()}
    finished = is_finished(recorded)
    left: dict[str, Table] = {}
    for name, table in book.items():
        is_used = bool(recorded[name].numbers)
        left[name] = (
            recorded[name] if not finished or not is_used else without_rows(table, _needless(table))
        )
    progress = _progress(book, recorded, waiting, finished)
    return left, progress, list(_notes(book, progress))


# ---- rows ----------------------------------------------------------------------------------------


def awaited_rows(table: Table) -> tuple[int, ...]:
    """Return the indices of the rows that a plan filled in, and in which nothing was recorded yet.

    The sheet Plants has none: its rows tell which plants there are.
    """
    if table.sheet.name == PLANTS.name or not any(column.planned for column in table.sheet.columns):
        return ()
    planned = {column.name for column in table.sheet.columns if column.planned}
    recorded = [
        values
        for name, values in table.columns.items()
        if name not in planned and not _is_absent(values)
    ]
    if any(None not in values for values in recorded):  # as in a logger's 100,000 rows
        return ()
    rows = range(len(table.numbers))
    return tuple(index for index in rows if all(values[index] is None for values in recorded))


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
    out = set(left_out)
    kept = [index for index in range(len(table.numbers)) if index not in out]
    columns = {
        name: tuple(values[index] for index in kept) for name, values in table.columns.items()
    }
    return replace(table, numbers=tuple(table.numbers[index] for index in kept), columns=columns)


# ---- how far -------------------------------------------------------------------------------------


def is_finished(book: Book) -> bool:
    """Tell whether a trial is over: it has a day of harvest, something was measured, and no tray
    waits for its harvest.

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
    if harvested_rows(book) or any(
        row.raw("Status") is not None for row in rows_of(book, PLANTS.name)
    ):
        return True
    return any(
        book[sheet.name].numbers for sheet in SHEETS if sheet.name in book and _is_log(sheet)
    )


def _is_log(sheet: Sheet) -> bool:
    """Tell whether the rows of a sheet are records with a day of their own."""
    return not sheet.required and any(column.is_day_of_record for column in sheet.columns)


def harvested_rows(book: Book) -> frozenset[int]:
    """Return the rows of Plants in which something was measured, by index."""
    if PLANTS.name not in book:
        return frozenset()
    table = book[PLANTS.name]
    found: set[int] = set()
    for name in measures_of(table):
        found |= {index for index, value in enumerate(table.columns[name]) if value is not None}
    return frozenset(found)


def measures_of(table: Table) -> tuple[str, ...]:
    """Return the columns of Plants that hold what is measured at the harvest."""
    others = {
        column.name for column in PLANTS.columns if column.planned or column.kind not in COUNTED
    }
    return tuple(
        name
        for name, values in table.columns.items()
        if name not in others and not _is_absent(values)
    )


def trays_to_harvest(book: Book) -> frozenset[str]:
    """Return the trays that have living plants and no value of the harvest at all."""
    harvested = harvested_rows(book)
    living = [row for row in rows_of(book, PLANTS.name) if row.raw("Status") not in LOST]
    begun = {row.text("Tray") for row in living if row.index in harvested}
    return frozenset(tray for row in living if (tray := row.text("Tray"))) - begun


def _waits_for_its_day(book: Book, harvest: date | None) -> bool:
    """Tell whether all records are from before the day of harvest, and nothing is known yet of some
    plant.
    """
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
    fields = tuple(
        column.name for column in TRIAL.columns if column.required and _is_blank(book, column)
    )
    return Progress(
        False, has_records(recorded), _as_of(recorded), fields, tuple(blanks), frozenset(growing)
    )


def _is_blank(book: Book, column: Column) -> bool:
    return trial_row(book).raw(column.name) is None


def harvest_column(book: Book) -> str:
    """Return the column of Plants that tells whether a plant was harvested: fresh weight, or the
    first one in use.
    """
    if PLANTS.name not in book:
        return WEIGHT
    table = book[PLANTS.name]
    measures = measures_of(table)
    used = [name for name in measures if any(value is not None for value in table.columns[name])]
    if WEIGHT in measures or not used:
        return WEIGHT
    return used[0]


def _growing(book: Book, recorded: Book, column: str) -> tuple[int, ...]:
    """Return the plants that wait for their harvest, by index; none where the yield is that of
    pickings.

    Pickings that are counted, or planned, are the yield where no plant was weighed or measured at
    its harvest.
    """
    is_picked = any(rows_of(book, HARVESTS.name)) and not harvested_rows(recorded)
    if is_picked or has_weighed_pickings(recorded):
        return ()
    rows = rows_of(recorded, PLANTS.name)
    return tuple(
        row.index for row in rows if row.raw("Status") not in LOST and row.raw(column) is None
    )


def blanks_of(table: Table, indices: Sequence[int]) -> Blanks:
    """Return the blank cells of rows that are still to come, by index: those of the first column
    that is measured.
    """
    recorded = [
        column for column in table.sheet.columns if not column.planned and column.kind in COUNTED
    ]
    column = next((one.name for one in recorded if one.name in table.columns), recorded[0].name)
    rows = [Row(table, index) for index in indices]
    choices = [one.name for one in table.sheet.columns if one.planned and one.kind is Kind.CHOICE]
    words = dict.fromkeys(row.text(name) for name in choices for row in rows)
    return Blanks(
        table, column, tuple(row.number for row in rows), tuple(word for word in words if word)
    )


def _as_of(book: Book) -> date | None:
    """Return the day of the last record; that of the harvest where some plants are harvested
    already.
    """
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
