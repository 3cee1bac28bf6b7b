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
# Readings so near to start or harvest may stand above all others.
AT_AN_END: Final = timedelta(days=3)
# Periods of columns whose dates are of the trial's season.
RECORDS: Final = (Period.TRIAL, Period.GROWTH, Period.PREPARATION)


def years_of_records(book: Book) -> Iterator[Problem]:
    """No date is a year off the others."""
    start, end = span_of_trial(book)
    if not start or not end or (end - start).days > YEAR:
        return
    first = min(start, day_of(trial_row(book).get("Sown on")) or start)
    for row, name, day in _dates(book):
        if not first <= day <= end:
            yield from _year_slipped(row, name, day, (first, end))


def _dates(book: Book) -> Iterator[tuple[Row, str, date]]:
    """Yield each date that was recorded: its row, its column and the day."""
    for table, name in _date_columns(book):
        for index, value in enumerate(table.columns[name]):
            day = day_of(value)
            if day:
                yield Row(table, index), name, day


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
        if table.sheet is TRIAL:
            continue
        for column in table.sheet.columns:
            is_date = column.kind in (Kind.DATE, Kind.MOMENT)
            is_record = column.period in RECORDS
            if is_date and is_record and column.name in table.columns:
                yield table, column.name


def years_of_the_trial(book: Book) -> Iterator[Problem]:
    """Start and harvest are of the years of what was recorded between them."""
    start, end = span_of_trial(book)
    if not start or not end or (end - start).days <= YEAR:
        return
    recorded = [day for _, _, day in _dates(book)]
    if recorded:
        yield from _year_of_an_end(book, (start, end), (min(recorded), max(recorded)))


def _year_of_an_end(
    book: Book, span: tuple[date, date], recorded: tuple[date, date]
) -> Iterator[Problem]:
    """Yield a caution where start or harvest fits the records in another year.

    span, recorded: the first and the last day of the trial, and of its records.
    """
    start, end = span
    first, last = recorded
    later = in_year(start, start.year + 1)
    earlier = in_year(end, end.year - 1)
    if later and later <= first:
        records = say("begin on {first}", first=first)
        yield _of_trial(trial_row(book), "Started on", start, later, records)
    elif earlier and start < earlier and last <= earlier:
        records = say("end on {last}", last=last)
        yield _of_trial(trial_row(book), "Harvested on", end, earlier, records)


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
    """In a log kept in order of time, no day or month has slipped out of order."""
    days = [day_of(trial_row(book).get(name)) for name in ("Started on", "Harvested on")]
    ends = [day for day in days if day]
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
    apart = [column.name for column in table.sheet.columns if _tells_logs_apart(column)]
    names = [column_name for column_name in apart if column_name != name]
    logs: dict[tuple[str, ...], list[Row]] = defaultdict(list)
    for row in table.rows():
        if day_of(row.get(name)):
            codes = tuple(row.text(column_name) for column_name in names)
            logs[codes].append(row)
    yield from logs.values()


def _tells_logs_apart(column: Column) -> bool:
    if column.kind is Kind.CODE:
        return True
    return column.planned and column.kind in (Kind.CHOICE, Kind.TEXT)


def _out_of_order(rows: Sequence[Row], name: str, ends: Sequence[date]) -> Iterator[Problem]:
    """Yield a caution for the only date of a log that leaves its order."""
    days = [day_of(row.get(name)) or date.min for row in rows]
    place = _only_place_out_of_order(days)
    if place is None:
        return
    day = days[place]
    others = [*days[:place], *days[place + 1 :]]
    if others != sorted(others) or _fills_a_gap(day, others, place):
        return
    if any(abs(day - end) <= AT_AN_END for end in ends):
        return
    before, after = days[place - 1], days[place + 1]
    fitting = _first_within(_days_near(day), before, after)
    if fitting is None:
        return
    yield rows[place].caution(
        name,
        say("{days} stands between {before} and {after}", days=day, before=before, after=after),
        say(
            "a date from {before} to {after}, as the rows are in order of time",
            before=before,
            after=after,
        ),
        say("Type {meant} if that is meant; the row was used as it stands.", meant=fitting),
        code="date_out_of_order",
    )


def _first_within(days: Iterable[date], first: date, last: date) -> date | None:
    return next((day for day in days if first <= day <= last), None)


def _only_place_out_of_order(days: Sequence[date]) -> int | None:
    """Return the place of the one day that leaves the order; None for no such day, or several."""
    if len(days) < FEWEST:
        return None
    inner = range(1, len(days) - 1)
    places = [place for place in inner if _leaves_order(days[place - 1 : place + 2])]
    if len(places) != 1:
        return None
    return places[0]


def _leaves_order(days: Sequence[date]) -> bool:
    before, day, after = days
    return before <= after and not before <= day <= after


def _fills_a_gap(day: date, others: Sequence[date], place: int) -> bool:
    """Tell whether a late record's day is a wider gap of its log than where its row stands.

    others: (n,), the other days of the log in order. place: where its row stands among them.
    """
    place_of_day = bisect(others, day)
    return _gap(others, place_of_day) >= _gap(others, place)


def _gap(days: Sequence[date], place: int) -> timedelta:
    """Return the time between the days around a place, none before the first or after the last."""
    if not 0 < place < len(days):
        return timedelta(0)
    return days[place] - days[place - 1]


def _days_near(day: date) -> Iterator[date]:
    """Yield the days that may be meant: day and month swapped, another month or first digit."""
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
