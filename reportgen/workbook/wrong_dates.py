"""Dates that are probably slips: of another year than all others, or out of the order of a log."""

from bisect import bisect
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from typing import Final

from reportgen.language import say
from reportgen.model.problem import Problem
from reportgen.workbook.book import Book, day_of, in_another_year, in_year, span_of_trial, trial_row
from reportgen.workbook.declaration import TRIAL, Column, Kind, Period
from reportgen.workbook.table import Row, Table

YEAR: Final = 366  # days
LONG: Final = 2000  # rows of a log that a device keeps, whose clock does not slip
FEWEST: Final = 4  # dates of a log that tell its order
AT_AN_END: Final = timedelta(
    3
)  # from start or harvest: readings of these days may stand above all others
RECORDS: Final = (
    Period.TRIAL,
    Period.GROWTH,
    Period.PREPARATION,
)  # of columns whose dates are of the trial's season


def years_of_records(book: Book) -> Iterator[Problem]:
    """No date is a year off, so that it would lie among the others with the year before or after."""
    start, end = span_of_trial(book)
    if not start or not end or (end - start).days > YEAR:
        return
    first = min(start, day_of(trial_row(book).get("Sown on")) or start)
    for table, name in _date_columns(book):
        for index, value in enumerate(table.columns[name]):
            day = day_of(value)
            if day and not first <= day <= end:
                yield from _year_slipped(Row(table, index), name, day, (first, end))


def _year_slipped(row: Row, name: str, day: date, season: tuple[date, date]) -> Iterator[Problem]:
    first, end = season
    meant = in_another_year(day, first, end)
    if meant:
        yield row.caution(
            name,
            say(
                "{day} is a year off the trial, from {first} to {end}",
                day=day,
                first=first,
                end=end,
            ),
            say("a date of the year {year}", year=meant.year),
            say("Type {meant} if the year slipped; the row was used as it stands.", meant=meant),
            code="slipped_year",
        )


def _date_columns(book: Book) -> Iterator[tuple[Table, str]]:
    """Yield the columns of dates that were recorded during the trial or just before."""
    for table in book.values():
        for column in table.sheet.columns:
            is_date = column.kind in (Kind.DATE, Kind.MOMENT)
            if (
                is_date
                and table.sheet is not TRIAL
                and column.period in RECORDS
                and column.name in table.columns
            ):
                yield table, column.name


def years_of_the_trial(book: Book) -> Iterator[Problem]:
    """Start and harvest are of the years of what was recorded between them."""
    start, end = span_of_trial(book)
    if not start or not end or (end - start).days <= YEAR:
        return
    recorded = list(_recorded_days(book))
    later, earlier = in_year(start, start.year + 1), in_year(end, end.year - 1)
    if not recorded:
        return
    first, last = min(recorded), max(recorded)
    if later and later <= first:
        yield _of_trial(
            trial_row(book), "Started on", start, later, say("begin on {first}", first=first)
        )
    elif earlier and start < earlier and last <= earlier:
        yield _of_trial(
            trial_row(book), "Harvested on", end, earlier, say("end on {last}", last=last)
        )


def _recorded_days(book: Book) -> Iterator[date]:
    for table, name in _date_columns(book):
        for value in table.columns[name]:
            day = day_of(value)
            if day:
                yield day


def _of_trial(row: Row, name: str, day: date, meant: date, records: str) -> Problem:
    return row.caution(
        name,
        say(
            "{day} is more than a year from the records, which {records}", day=day, records=records
        ),
        say("a date of the year {year}", year=meant.year),
        say("Type {meant} if the year slipped; it was used as it stands.", meant=meant),
        code="slipped_year",
    )


def days_in_order(book: Book) -> Iterator[Problem]:
    """In a log that is kept in order of time, no date is out of order by a slip of the day or the
    month.
    """
    ends = [
        day for name in ("Started on", "Harvested on") if (day := day_of(trial_row(book).get(name)))
    ]
    for table, name in _date_columns(book):
        if len(table.numbers) > LONG:
            continue
        for rows in _like_rows(table, name):
            yield from _out_of_order(rows, name, ends)


def _like_rows(table: Table, name: str) -> Iterator[list[Row]]:
    """Yield the rows of each log on a sheet, those with a date.

    A plan may write rows of several kinds on one sheet, such as first and last readings above the
    weekly ones. So one log is what has the same codes and the same planned words.
    """
    names = [
        column.name
        for column in table.sheet.columns
        if _tells_logs_apart(column) and column.name != name
    ]
    logs: dict[tuple[str, ...], list[Row]] = defaultdict(list)
    for row in table.rows():
        if day_of(row.get(name)):
            logs[tuple(row.text(one) for one in names)].append(row)
    yield from logs.values()


def _tells_logs_apart(column: Column) -> bool:
    return column.kind is Kind.CODE or (column.planned and column.kind in (Kind.CHOICE, Kind.TEXT))


def _out_of_order(rows: Sequence[Row], name: str, ends: Sequence[date]) -> Iterator[Problem]:
    days = [day_of(row.get(name)) or date.min for row in rows]
    wrong = [
        place for place in range(1, len(days) - 1) if _leaves_order(days[place - 1 : place + 2])
    ]
    if len(days) < FEWEST or len(wrong) != 1:
        return
    (place,) = wrong
    rest = [*days[:place], *days[place + 1 :]]
    is_of_the_ends = any(abs(days[place] - end) <= AT_AN_END for end in ends)
    if rest != sorted(rest) or is_of_the_ends or _fills_a_gap(days[place], rest, place):
        return
    before, after = days[place - 1], days[place + 1]
    meant = [day for day in _days_near(days[place]) if before <= day <= after]
    if not meant:
        return
    yield rows[place].caution(
        name,
        say(
            "{days} stands between {before} and {after}",
            days=days[place],
            before=before,
            after=after,
        ),
        say(
            "a date from {before} to {after}, as the rows are in order of time",
            before=before,
            after=after,
        ),
        say("Type {meant} if that is meant; the row was used as it stands.", meant=meant[0]),
        code="date_out_of_order",
    )


def _leaves_order(days: Sequence[date]) -> bool:
    before, day, after = days
    return before <= after and not before <= day <= after


def _fills_a_gap(day: date, rest: Sequence[date], place: int) -> bool:
    """Return whether a record is more wanted on its day than where its row stands: a record that
    was typed late.

    rest: (n,), the other days of the log in order. place: where its row stands among them.
    """
    there = bisect(rest, day)
    return _gap(rest, there) >= _gap(rest, place)


def _gap(days: Sequence[date], place: int) -> timedelta:
    """Return the time between the days before and after a place; before the first and after the
    last there is none.
    """
    if not 0 < place < len(days):
        return timedelta(0)
    return days[place] - days[place - 1]


def _days_near(day: date) -> Iterator[date]:
    """Yield the days that one may be a slip of: day and month swapped, another month, another first
    digit.
    """
    parts = [(day.day, day.month)]
    parts += [(month, day.day) for month in _nearest_first(day.month, range(1, 13))]
    tens = [day.day % 10 + 10 * ten for ten in range(4)]
    parts += [(day.month, other) for other in _nearest_first(day.day, tens)]
    for month, number in parts:
        try:
            meant = date(day.year, month, number)
        except ValueError:  # no day of the calendar
            continue
        if meant != day:
            yield meant


def _nearest_first(number: int, others: Iterable[int]) -> list[int]:
    return sorted(others, key=lambda other: abs(other - number))
