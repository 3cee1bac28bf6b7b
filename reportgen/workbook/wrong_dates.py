"""Dates that are probably slips: of another year than all others, or out of the order of a log."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Final

from reportgen.model.problem import Problem
from reportgen.workbook.book import Book, day_of, span_of_trial, trial_row
from reportgen.workbook.declaration import TRIAL, Kind, Period
from reportgen.workbook.table import Row, Table

YEAR: Final = 366  # days
FEWEST: Final = 4  # dates of a log that tell its order
RECORDS: Final = (Period.TRIAL, Period.GROWTH, Period.PREPARATION)  # of columns whose dates are of the trial's season


def years_of_records(book: Book) -> Iterator[Problem]:
    """No date is a year off, so that it would lie among the others with the year before or after."""
    start, end = span_of_trial(book)
    if not start or not end or (end - start).days > YEAR:
        return
    for table, name in _date_columns(book):
        for row in table.rows():
            day = day_of(row.get(name))
            meant = _meant(day, start, end) if day else None
            if day and meant:
                yield row.caution(
                    name,
                    f"{day} is a year off the trial, which ran from {start} to {end}",
                    f"a date of the year {meant.year}",
                    f"Type {meant} if the year slipped; the row was used as it stands.",
                    code="slipped_year",
                )


def _date_columns(book: Book) -> Iterator[tuple[Table, str]]:
    """Yield the columns of dates that were recorded during the trial or just before."""
    for table in book.values():
        for column in table.sheet.columns:
            is_date = column.kind in (Kind.DATE, Kind.MOMENT)
            if is_date and table.sheet is not TRIAL and column.period in RECORDS and column.name in table.columns:
                yield table, column.name


def _meant(day: date, start: date, end: date) -> date | None:
    """Return the date with the year before or after, where it lies in the trial and the date itself does not."""
    if start <= day <= end:
        return None
    for year in (day.year + 1, day.year - 1):
        moved = in_year(day, year)
        if moved and start <= moved <= end:
            return moved
    return None


def in_year(day: date, year: int) -> date | None:
    """Return a day in another year, None where that has no such day."""
    try:
        return day.replace(year=year)
    except ValueError:
        return None


def years_of_the_trial(book: Book) -> Iterator[Problem]:
    """Start and harvest are of the years of what was recorded between them."""
    start, end = span_of_trial(book)
    if not start or not end or (end - start).days <= YEAR:
        return
    days = sorted(day for table, name in _date_columns(book) for row in table.rows() if (day := day_of(row.get(name))))
    later, earlier = in_year(start, start.year + 1), in_year(end, end.year - 1)
    if not days:
        return
    if later and later <= days[0]:
        yield _of_trial(trial_row(book), "Started on", start, later, f"begin on {days[0]}")
    elif earlier and days[-1] <= earlier and start < earlier:
        yield _of_trial(trial_row(book), "Harvested on", end, earlier, f"end on {days[-1]}")


def _of_trial(row: Row, name: str, day: date, meant: date, records: str) -> Problem:
    return row.caution(
        name,
        f"{day} is more than a year from the records, which {records}",
        f"a date of the year {meant.year}",
        f"Type {meant} if the year slipped; it was used as it stands.",
        code="slipped_year",
    )


def days_in_order(book: Book) -> Iterator[Problem]:
    """In a log that is kept in order of time, no date lies before the row above and the row below it, or after both."""
    for table, name in _date_columns(book):
        things = _things(table)
        for thing in dict.fromkeys(things):
            rows = [row for row in table.rows() if things[row.index] == thing and day_of(row.get(name))]
            yield from _out_of_order(rows, name)


def _things(table: Table) -> Sequence[tuple[str, ...]]:
    """Return what each row is of: its codes."""
    names = [column.name for column in table.sheet.columns if column.kind is Kind.CODE]
    return [tuple(row.text(name) for name in names) for row in table.rows()]


def _out_of_order(rows: Sequence[Row], name: str) -> Iterator[Problem]:
    days = [day_of(row.get(name)) or date.min for row in rows]
    wrong = [place for place in range(1, len(days) - 1) if _leaves_order(days[place - 1 : place + 2])]
    if len(days) < FEWEST or len(wrong) != 1:
        return
    (place,) = wrong
    rest = [*days[:place], *days[place + 1 :]]
    if rest != sorted(rest):
        return
    before, after = days[place - 1], days[place + 1]
    yield rows[place].caution(
        name,
        f"{days[place]} stands between {before} and {after}",
        f"a date from {before} to {after}, as the rows are in order of time",
        "Check the date; the row was used as it stands.",
        code="date_out_of_order",
    )


def _leaves_order(days: Sequence[date]) -> bool:
    before, day, after = days
    return before <= after and not before <= day <= after
