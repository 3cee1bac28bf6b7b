"""What to record next in an unfinished trial: a short list made from its dates, its empty rows and
today's date.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
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
        steps += [*_planned_days(tables, today), *_again(tables, book, today)]
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
    """Yield a caution for each sheet of an unfinished trial with records of days that are still to
    come.
    """
    for table in book.values() if not progress.is_finished else ():
        names = [column.name for column in table.sheet.columns if column.is_day_of_record]
        for name in names if table.sheet is not TRIAL else ():
            late = [row for row in table.rows() if (day := day_of(row.get(name))) and day > today]
            for row in late[:1]:
                said = str(day_of(row.get(name)))
                if len(late) > 1:
                    said = say("{first} and {number} more", first=said, number=len(late) - 1)
                yield row.caution(
                    name,
                    plural(
                        "{day} is after today, {today}",
                        "{day} are after today, {today}",
                        len(late),
                        day=said,
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
    for table in tables.values():
        name = _planned_day(table)
        days = {
            index: day
            for index in awaited_rows(table)
            if name and (day := day_of(Row(table, index).get(name)))
        }
        late = {index: day for index, day in days.items() if day < today}
        soon = {index: day for index, day in days.items() if today <= day < today + timedelta(WEEK)}
        texts = marked("{records} were due {when}"), marked("{records} are due {when}")
        for due, text in zip((late, soon), texts, strict=True):
            if due:
                blanks, first = blanks_of(table, tuple(due)), min(due.values())
                yield Step(
                    table.title,
                    blanks.cells,
                    say(text, records=_with_cells(blanks), when=_when(first, today)),
                    first,
                )


def _planned_day(table: Table) -> str:
    days = (
        column.name for column in table.sheet.columns if column.planned and column.is_day_of_record
    )
    return next(days, "")


def _not_begun(tables: Book, book: Book, today: date) -> Iterator[Step]:
    """Yield what has no first record yet, counters first: a first reading cannot be caught up
    later.

    A sheet waits for its first records once others on it have one, and all of it while the trial
    runs: but what is measured again and again, such as growth, can begin later.
    """
    running = _is_running(book, today)
    for name in sorted(tables, key=lambda name: not _is_counter(tables[name])):
        table = tables[name]
        is_of_the_start = running and (_is_counter(table) or not table.sheet.due_after)
        if (
            not (book[name].numbers or is_of_the_start)
            or _planned_day(table)
            or table.sheet is PLANTS
        ):
            continue
        column = _code_column(table)
        begun = {row.text(column).casefold() for row in rows_of(book, name)}
        first: dict[str, int] = {}
        for index in awaited_rows(table):
            code = Row(table, index).text(column)
            if code and code.casefold() not in begun:
                first.setdefault(code, index)
        if first:
            blanks = blanks_of(table, tuple(first.values()))
            yield Step(
                table.title,
                blanks.cells,
                say(
                    "the first of {listed}: {with_cells}",
                    listed=_listed(tuple(first)),
                    with_cells=_with_cells(blanks),
                ),
            )


def _is_running(book: Book, today: date) -> bool:
    start, harvest = (day_of(trial_row(book).get(name)) for name in ("Started on", HARVEST))
    return start is not None and start <= today and (harvest is None or today < harvest)


def _is_counter(table: Table) -> bool:
    return any(column.compared is Comparison.COUNTER for column in table.sheet.columns)


def _code_column(table: Table) -> str:
    codes = (
        column.name for column in table.sheet.columns if column.planned and column.kind is Kind.CODE
    )
    return next(codes, "")


def _again(tables: Book, book: Book, today: date) -> Iterator[Step]:
    """Yield what is recorded again and again, with the day that the next record is due on: the
    harvest at the latest.

    What has a planned row at the harvest is named there.
    """
    harvest = day_of(trial_row(book).get(HARVEST))
    for name, table in book.items():
        awaited = awaited_rows(tables[name])
        if not table.sheet.due_after or any(_has_day(tables[name], index) for index in awaited):
            continue
        days = _days_recorded(table)
        if not days:
            continue
        last = {code: recorded[-1] for code, recorded in days.items()}
        oldest = min(last.values())
        due = oldest + _usual_interval(table, days)
        if harvest is not None and due >= harvest:
            if awaited:
                continue
            due = harvest
        codes = [code for code, day in last.items() if day == oldest]
        if len(codes) == len(last):
            whose = ""
        else:
            whose = say(" of {listed}", listed=_listed(codes))
        if due >= today:
            text = marked("{title}: the next record{whose} is due {when}; the last was on {oldest}")
        else:
            text = marked(
                "{title}: the next record{whose} was due {when}; the last was on {oldest}"
            )
        said = say(text, title=table.title, whose=whose, when=_when(due, today), oldest=oldest)
        yield Step(table.title, "", said, due)


def _usual_interval(table: Table, days: Mapping[str, Sequence[date]]) -> timedelta:
    """Return the median time from one record to the next, the declared one where too few were made
    to tell.
    """
    intervals = [
        after - before for recorded in days.values() for before, after in pairwise(recorded)
    ]
    if max(len(recorded) for recorded in days.values()) < FEWEST_DAYS:
        return timedelta(table.sheet.due_after)
    return timedelta(median_low([interval.days for interval in intervals]))


def _has_day(table: Table, index: int) -> bool:
    name = _planned_day(table)
    return bool(name) and Row(table, index).get(name) is not None


def _days_recorded(table: Table) -> dict[str, list[date]]:
    """Return the days on which each tray or meter was recorded, in order, each once."""
    column = _code_column(table)
    names = [one.name for one in table.sheet.columns if one.is_day_of_record]
    days: dict[str, set[date]] = defaultdict(set)
    for row in table.rows():
        code, day = row.text(column), day_of(row.get(names[0]))
        if code and day:
            days[code].add(day)
    return {code: sorted(found) for code, found in days.items()}


def _at_harvest(book: Book, progress: Progress, today: date) -> Iterator[Step]:
    """Yield what is recorded on the day of harvest."""
    head = trial_row(book)
    harvest = day_of(head.get(HARVEST))
    found = [_with_cells(one) for one in progress.blanks if not _planned_day(one.table)]
    if HARVEST in progress.fields:
        found.insert(0, f"{HARVEST} ({head.table.title}!{head.cell(HARVEST)})")
    if found:
        if harvest:
            when = say("at the harvest {when}", when=_when(harvest, today))
        else:
            when = say("at the harvest")
        yield Step(head.table.title, head.cell(HARVEST), f"{when}: {_listed(found)}", harvest)


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
