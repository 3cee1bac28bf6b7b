"""A workbook's tables by sheet, and what several checks ask of them."""

from collections.abc import Iterator, Mapping
from datetime import date, datetime

from reportgen.language import say
from reportgen.workbook.declaration import TRIAL
from reportgen.workbook.table import INVALID, Row, Table

Book = Mapping[str, Table]


def rows_of(book: Book, sheet: str) -> Iterator[Row]:
    """Yield the rows of a sheet, none where it is not there."""
    if sheet in book:
        return book[sheet].rows()
    return iter(())


def trial_row(book: Book) -> Row:
    """Return the fields of the Trial sheet, all blank where it is not there."""
    return next(rows_of(book, TRIAL.name), Row(Table(TRIAL, TRIAL.name, (1,), {}, {}), 0))


def flawed(book: Book, sheet: str, *names: str) -> bool:
    """Tell whether a sheet has no rows, or faulty cells in a column that a check needs."""
    table = book.get(sheet)
    return (
        not table
        or not table.numbers
        or any(INVALID in table.columns.get(name, ()) for name in names)
    )


def day_of(value: object) -> date | None:
    """Return the day of a date or a moment."""
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    return None


def last_record(book: Book) -> date | None:
    """Return the latest day that something was recorded on, None where nothing has a day."""
    days: list[date] = []
    for table in book.values():
        names = [column.name for column in table.sheet.columns if column.is_day_of_record]
        for name in names if table.sheet is not TRIAL else ():
            days += [day for value in set(table.columns.get(name, ())) if (day := day_of(value))]
    return max(days, default=None)


def span_of_trial(book: Book) -> tuple[date | None, date | None]:
    """Return start and harvest, neither where one is not known or they are not in order.

    In a trial that is not harvested yet the day of the last record stands for the harvest.
    """
    start, end = (day_of(trial_row(book).get(name)) for name in ("Started on", "Harvested on"))
    if trial_row(book).raw("Harvested on") is None:
        end = last_record(book)
    if start and end and start < end:
        return (start, end)
    return (None, None)


def swap_hint(day: date, first: date, last: date) -> str:
    """Return a question if the date with day and month swapped lies within bounds; else empty."""
    swapped = day.day <= 12 and first <= date(day.year, day.day, day.month) <= last
    if swapped:
        return say("Are day and month swapped? ")
    return ""


def in_year(day: date, year: int) -> date | None:
    """Return a day in another year, None where that has no such day."""
    try:
        return day.replace(year=year)
    except ValueError:
        return None


def in_another_year(day: date, first: date, last: date) -> date | None:
    """Return the date with the year after or before, where that lies from `first` to `last`."""
    for year in (day.year + 1, day.year - 1):
        moved = in_year(day, year)
        if moved and first <= moved <= last:
            return moved
    return None
