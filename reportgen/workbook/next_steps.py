"""List what to record next in an unfinished trial, by its dates, its empty rows and today."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import median_low
from typing import Final

from reportgen.language import listed, marked, plural, say
from reportgen.model.problem import Problem, Severity, shortened
from reportgen.workbook.book import Book, day_of, rows_of, trial_row
from reportgen.workbook.declaration import PLANTS, TRIAL, WEEK, Comparison, Kind
from reportgen.workbook.progress import (
    HARVEST,
    Blanks,
    Progress,
    awaited_rows,
    blanks_of,
    cells_of_fields,
)
from reportgen.workbook.table import Row, Table

MOST: Final = 6  # steps that are listed
NAMED: Final = 4  # codes that are named one by one
FEWEST_DAYS: Final = 3  # records of one thing that tell how often it is recorded


@dataclass(frozen=True)
class Step:
    """Something to record: where, what, and the day that it is due on, None where it has none."""

    sheet: str
    cells: str
    text: str
    due: date | None = None


def next_steps(tables: Book, book: Book, progress: Progress, today: date) -> tuple[Step, ...]:
    """Return what is to be recorded next, as of today; nothing in a finished trial.

    `tables` hold every row of the workbook, `book` those in which something was recorded.
    """
    if progress.is_finished:
        return ()
    harvest = day_of(trial_row(book).get(HARVEST))
    steps = [*_not_begun(tables, book, today), *_fields(book, progress)]
    if harvest is None or today < harvest:
        steps += [*_planned_days(tables, today), *_repeated_records(tables, book, today)]
    return (*steps[: MOST - 1], *_at_harvest(book, progress, today))


def not_yet(book: Book, progress: Progress) -> Problem | None:
    """Return why an unfinished trial has no interim report yet, None where it can have one."""
    if progress.is_finished:
        return None
    if not progress.has_records:
        found = say("nothing was recorded in it so far")
        advice = say(
            "A report can be built once something is measured; reportgen check lists what"
            " comes first."
        )
        return Problem(
            Severity.TO_COME,
            "",
            "",
            found,
            say("something measured"),
            advice,
            code="nothing_recorded",
        )
    fields = [name for name in progress.fields if name != HARVEST]
    if not fields:
        return None
    table = book[TRIAL.name]
    found = say("an interim report needs {listed}", listed=_listed(fields))
    return Problem(
        Severity.TO_COME,
        table.title,
        cells_of_fields(table, fields),
        found,
        say("a value in each"),
        say("Fill it in."),
        code="report_needs_fields",
        count=len(fields),
    )


def days_to_come(book: Book, progress: Progress, today: date) -> Iterator[Problem]:
    """Yield a caution for each sheet of an unfinished trial with records of days still to come."""
    if progress.is_finished:
        return
    for table in book.values():
        if table.sheet is TRIAL:
            continue
        for column in table.sheet.columns:
            if not column.is_day_of_record:
                continue
            rows = [row for row in table.rows() if _is_after(row.get(column.name), today)]
            if rows:
                yield _day_to_come(rows, column.name, today)


def _is_after(value: object, today: date) -> bool:
    day = day_of(value)
    return day is not None and day > today


def _day_to_come(rows: Sequence[Row], name: str, today: date) -> Problem:
    """Return the caution of rows of one column whose day is still to come."""
    days = str(day_of(rows[0].get(name)))
    if len(rows) > 1:
        days = say("{first} and {number} more", first=days, number=len(rows) - 1)
    return rows[0].caution(
        name,
        plural(
            "{day} is after today, {today}",
            "{day} are after today, {today}",
            len(rows),
            day=days,
            today=today,
        ),
        say("the day of a record"),
        say("Check the year and the month; it was used as it stands."),
        code="day_to_come",
    )


# ---- the rules -----------------------------------------------------------------------------------


def _fields(book: Book, progress: Progress) -> Iterator[Step]:
    fields = [name for name in progress.fields if name != HARVEST]
    if fields:
        table = book[TRIAL.name]
        cells = cells_of_fields(table, fields)
        yield Step(
            table.title,
            cells,
            say(
                "fill in {listed} ({title}!{cells})",
                listed=_listed(fields),
                title=table.title,
                cells=cells,
            ),
        )


def _planned_days(tables: Book, today: date) -> Iterator[Step]:
    """Yield the rows whose day was planned and is past, or is in the coming week."""
    in_a_week = today + timedelta(WEEK)
    for table in tables.values():
        days = _days_awaited(table)
        late = {index: day for index, day in days.items() if day < today}
        soon = {index: day for index, day in days.items() if today <= day < in_a_week}
        if late:
            yield _planned(table, late, marked("{records} were due {when}"), today)
        if soon:
            yield _planned(table, soon, marked("{records} are due {when}"), today)


def _days_awaited(table: Table) -> dict[int, date]:
    """Return the planned day of each awaited row, by index."""
    name = _planned_day(table)
    days: dict[int, date] = {}
    if not name:
        return days
    for index in awaited_rows(table):
        day = day_of(Row(table, index).get(name))
        if day:
            days[index] = day
    return days


def _planned(table: Table, days: Mapping[int, date], text: str, today: date) -> Step:
    """Return the step of planned rows, by index with their days, in the words of `text`."""
    blanks = blanks_of(table, tuple(days))
    first = min(days.values())
    records = say(text, records=_with_cells(blanks), when=_when(first, today))
    return Step(table.title, blanks.cells, records, first)


def _planned_day(table: Table) -> str:
    days = (
        column.name for column in table.sheet.columns if column.planned and column.is_day_of_record
    )
    return next(days, "")


def _not_begun(tables: Book, book: Book, today: date) -> Iterator[Step]:
    """Yield what has no first record yet, counters first: a first reading cannot be caught up.

    A sheet waits for its first records once others on it have one, and all of it while the trial
    runs: but what is measured again and again, such as growth, can begin later.
    """
    is_running = _is_running(book, today)
    for name in sorted(tables, key=lambda name: not _is_counter(tables[name])):
        table = tables[name]
        if table.sheet is PLANTS or _planned_day(table):
            continue
        begins_at_start = _is_counter(table) or not table.sheet.due_after
        if not book[name].numbers and not (is_running and begins_at_start):
            continue
        first = _first_rows(table, rows_of(book, name))
        if first:
            blanks = blanks_of(table, tuple(first.values()))
            text = say(
                "the first of {listed}: {with_cells}",
                listed=_listed(tuple(first)),
                with_cells=_with_cells(blanks),
            )
            yield Step(table.title, blanks.cells, text)


def _first_rows(table: Table, recorded: Iterable[Row]) -> dict[str, int]:
    """Return the index of the first awaited row of each code without any record."""
    column = _code_column(table)
    begun = {row.text(column).casefold() for row in recorded}
    first: dict[str, int] = {}
    for index in awaited_rows(table):
        code = Row(table, index).text(column)
        if code and code.casefold() not in begun:
            first.setdefault(code, index)
    return first


def _is_running(book: Book, today: date) -> bool:
    start, harvest = (day_of(trial_row(book).get(name)) for name in ("Started on", HARVEST))
    return start is not None and start <= today and (harvest is None or today < harvest)


def _is_counter(table: Table) -> bool:
    return any(column.compared is Comparison.COUNTER for column in table.sheet.columns)


def _code_column(table: Table) -> str:
    """Return the planned column of codes; empty where there is none."""
    for column in table.sheet.columns:
        if column.planned and column.kind is Kind.CODE:
            return column.name
    return ""


def _repeated_records(tables: Book, book: Book, today: date) -> Iterator[Step]:
    """Yield what is recorded again and again, with the day of its next record.

    That is the day of harvest at the latest. What has a planned row at the harvest is named there.
    """
    harvest = day_of(trial_row(book).get(HARVEST))
    for name, table in book.items():
        if not table.sheet.due_after:
            continue
        awaited = awaited_rows(tables[name])
        if any(_has_day(tables[name], index) for index in awaited):
            continue
        days = _days_recorded(table)
        if not days:
            continue
        due = _last_day_of_all(days) + _usual_interval(table, days)
        if harvest is not None and due >= harvest:
            if awaited:
                continue
            due = harvest
        yield _next_record(table, days, due, today)


def _last_day_of_all(days: Mapping[str, Sequence[date]]) -> date:
    """Return the last day on which every code had been recorded."""
    return min(recorded[-1] for recorded in days.values())


def _next_record(table: Table, days: Mapping[str, Sequence[date]], due: date, today: date) -> Step:
    """Return the step of the next record, for the codes that were recorded longest ago.

    days: those of each code's records, in order.
    """
    oldest = _last_day_of_all(days)
    codes = [code for code, recorded in days.items() if recorded[-1] == oldest]
    whose = ""
    if len(codes) < len(days):
        whose = say(" of {listed}", listed=_listed(codes))
    if due >= today:
        text = marked("{title}: the next record{whose} is due {when}; the last was on {oldest}")
    else:
        text = marked("{title}: the next record{whose} was due {when}; the last was on {oldest}")
    step = say(text, title=table.title, whose=whose, when=_when(due, today), oldest=oldest)
    return Step(table.title, "", step, due)


def _usual_interval(table: Table, days: Mapping[str, Sequence[date]]) -> timedelta:
    """Return the median time between records; the declared one where they are too few to tell."""
    if max(len(recorded) for recorded in days.values()) < FEWEST_DAYS:
        return timedelta(table.sheet.due_after)
    intervals: list[int] = []
    for recorded in days.values():
        intervals += [(after - before).days for before, after in pairwise(recorded)]
    return timedelta(median_low(intervals))


def _has_day(table: Table, index: int) -> bool:
    name = _planned_day(table)
    return bool(name) and Row(table, index).get(name) is not None


def _days_recorded(table: Table) -> dict[str, list[date]]:
    """Return the days on which each tray or meter was recorded, in order, each once."""
    column = _code_column(table)
    names = [day.name for day in table.sheet.columns if day.is_day_of_record]
    days: dict[str, set[date]] = defaultdict(set)
    for row in table.rows():
        code, day = row.text(column), day_of(row.get(names[0]))
        if code and day:
            days[code].add(day)
    return {code: sorted(recorded) for code, recorded in days.items()}


def _at_harvest(book: Book, progress: Progress, today: date) -> Iterator[Step]:
    """Yield what is recorded on the day of harvest."""
    head = trial_row(book)
    harvest = day_of(head.get(HARVEST))
    items: list[str] = []
    if HARVEST in progress.fields:
        items.append(f"{HARVEST} ({head.table.title}!{head.cell(HARVEST)})")
    for blanks in progress.blanks:
        if not _planned_day(blanks.table):
            items.append(_with_cells(blanks))
    if items:
        if harvest:
            when = say("at the harvest {when}", when=_when(harvest, today))
        else:
            when = say("at the harvest")
        yield Step(head.table.title, head.cell(HARVEST), f"{when}: {_listed(items)}", harvest)


def _with_cells(blanks: Blanks) -> str:
    return f"{blanks.name} ({blanks.table.title}!{shortened(blanks.cells)})"


def _when(day: date, today: date) -> str:
    """Return a day beside today: `on 2026-04-17 (in 3 days)`."""
    days = (day - today).days
    if days == 0:
        return say("today")
    if days > 0:
        return plural("on {day} (in {number} day)", "on {day} (in {number} days)", days, day=day)
    return plural("on {day} ({number} day ago)", "on {day} ({number} days ago)", -days, day=day)


def _listed(names: Sequence[str]) -> str:
    """Return names in a row, those beyond the first few by their number."""
    shown = list(names[:NAMED])
    if len(names) > NAMED:
        shown.append(say("{number} more", number=len(names) - NAMED))
    return listed(shown)
