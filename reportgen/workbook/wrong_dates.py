"""Dates that are probably slips: of another year than all others, or out of the order of a log."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Final

from reportgen.model.problem import Problem
from reportgen.workbook.book import Book, day_of, in_another_year, in_year, span_of_trial, trial_row
from reportgen.workbook.declaration import TRIAL, Kind, Period
from reportgen.workbook.table import Row, Table

YEAR: Final = 366  # days
LONG: Final = 2000  # rows of a log that a device keeps, whose clock does not slip
FEWEST: Final = 4  # dates of a log that tell its order
RECORDS: Final = (Period.TRIAL, Period.GROWTH, Period.PREPARATION)  # of columns whose dates are of the trial's season


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
            f"{day} is a year off the trial, from {first} to {end}",
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
        yield _of_trial(trial_row(book), "Started on", start, later, f"begin on {first}")
    elif earlier and start < earlier and last <= earlier:
        yield _of_trial(trial_row(book), "Harvested on", end, earlier, f"end on {last}")


def _recorded_days(book: Book) -> Iterator[date]:
    for table, name in _date_columns(book):
        for value in table.columns[name]:
            day = day_of(value)
            if day:
                yield day


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
        if len(table.numbers) > LONG:
            continue
        things: dict[tuple[str, ...], list[Row]] = defaultdict(list)
        codes = [column.name for column in table.sheet.columns if column.kind is Kind.CODE]
        for row in table.rows():
            if day_of(row.get(name)):
                things[tuple(row.text(code) for code in codes)].append(row)
        for rows in things.values():
            yield from _out_of_order(rows, name)


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
