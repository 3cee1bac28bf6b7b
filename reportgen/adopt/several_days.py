"""Plants that stand in a table on several days: pickings that add up, samples before the harvest, or other plants."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from math import fsum
from typing import TYPE_CHECKING, Final

from reportgen.adopt.columns import WEIGHED
from reportgen.adopt.derived import code_of
from reportgen.adopt.grid import one_line
from reportgen.adopt.mapping import DAYS_EACH, DAYS_LAST, DAYS_SUM
from reportgen.adopt.matching import meanings, tokens
from reportgen.adopt.roles import Guess, Understood, day_of, profile_at
from reportgen.adopt.suspect import Suspect, tables_of
from reportgen.adopt.tables import is_date
from reportgen.adopt.taken import Lines, Taken
from reportgen.adopt.words import PICKINGS
from reportgen.model.problem import Severity
from reportgen.workbook.dates import TextDates
from reportgen.workbook.declaration import PLANTS
from reportgen.workbook.raw import Value
from reportgen.workbook.values import blank, shown

if TYPE_CHECKING:
    from reportgen.adopt.apply import Adopted

DAY: Final = "Harvested on"  # the declared column that the days are
SHORT_WORD: Final = 3  # of, on, de, la
WHEN: Final = {"date", "time", "week", "harvest", "weight", "sample", "event"}  # meanings of Date, Weighed on
_WEIGHING: Final = (
    "measured meetdatum medicion messdatum messtag mesure misura pesagem pesaje pesata pesee picked probenahme sampled "
    "sampling weegdatum wiegedatum wiegetag"
)
WEIGHING: Final = frozenset(_WEIGHING.split())
NEARLY_ALL: Final = 0.95
PLACES: Final = ("Tray", "Plant")


# --- as it is understood


def day_column(read: Understood) -> Guess | None:
    """Return the column of days where trays or plants stand on several of them, None where they do not."""
    return _dated(read) if ways_of(read) else None


def ways_of(read: Understood) -> tuple[str, ...]:
    """Return what rows of the same plants or trays on several days may be, none where there are no such rows."""
    dated, tray, plant = _dated(read), read.guess("Tray"), read.guess("Plant")
    place = tray or read.guess("Treatment")
    if read.gives != "Plants" or not (dated and place):
        return ()
    days = _labels(read, dated)
    if plant and _again(list(zip(_labels(read, place), _labels(read, plant), strict=True)), days):
        return (DAYS_LAST, DAYS_SUM)
    if not _again(_labels(read, place), days) or (plant and _is_harvest(dated)):
        return ()
    return (DAYS_LAST, DAYS_EACH) if plant or not tray else (DAYS_LAST, DAYS_SUM, DAYS_EACH)


def _dated(read: Understood) -> Guess | None:
    """Return the column of the days on which the rows were weighed, that of a harvest before another."""
    found = [one for one in read.guesses if one.name in ("", DAY) and _holds_days(read, one)]
    named = [one for one in found if _is_of_weighing(one.header)]
    return max(named, key=lambda one: (_is_harvest(one), -one.column), default=None)


def _holds_days(read: Understood, guess: Guess) -> bool:
    """Tell whether days stand in a column, and no numbers such as 4.3 of which a spreadsheet made dates at times."""
    return profile_at(read.table, guess.column).share(is_date) > NEARLY_ALL


def _is_of_weighing(header: str) -> bool:
    """Tell whether a header is of the day on which a row was weighed, and not of sowing or the first flower."""
    words = [word for word in tokens(header) if len(word) > SHORT_WORD]
    return not {"sowing", "start"} & set(meanings(header)) and all(
        word in WEIGHING | PICKINGS or set(meanings(word)) & WHEN for word in words
    )


def _is_harvest(guess: Guess) -> bool:
    """Tell whether a column is headed as the days of harvest: each plant may have one of its own."""
    return guess.name == DAY or "harvest" in meanings(guess.header)


def _labels(read: Understood, guess: Guess) -> list[str]:
    """Return what stands in a column, in the first row of a group for the whole of it."""
    last = ""
    held = []
    for value in read.table.values(guess.column):
        last = one_line(value) or last
        held.append(last)
    return held


def _again(labels: Sequence[object], days: Sequence[str]) -> bool:
    """Tell whether half of the labels or more stand on several days."""
    found: dict[object, set[str]] = defaultdict(set)
    for label, day in zip(labels, days, strict=True):
        found[label].add(day)
    return 2 * sum(len(held) > 1 for held in found.values()) >= len(found)


# --- as it is read


def on_days(table: Taken) -> Taken:
    """Return a table of plants with one row for each, as its owner said of rows on several days."""
    how = table.mapping.days
    if table.mapping.gives != PLANTS.name or DAY not in table.lines.columns or not how:
        return table
    if how == DAYS_SUM:
        return _added_up(table)
    if how == DAYS_LAST:
        last = _last_days(table)
        kept = [at for at, day in enumerate(_days(table)) if day is None or day == last[_place(table, at)]]
        return _kept(table, kept)
    columns = {name: values for name, values in table.lines.columns.items() if name != DAY}
    return replace(table, lines=Lines(table.lines.numbers, columns))


def _kept(table: Taken, kept: Sequence[int]) -> Taken:
    lines = table.lines.at(kept)
    earlier = tuple(row for row in table.lines.numbers if row not in set(lines.numbers))
    return replace(table, lines=lines, left_out={**table.left_out, "earlier": earlier})


def _days(table: Taken) -> list[date | None]:
    values = table.lines.columns[DAY]
    said = table.mapping.day_first
    texts = [value for value in values if isinstance(value, str)]
    order = TextDates.of(texts) if said is None else TextDates(said is True, mixed=False)
    return [day_of(value, order) for value in values]


def _place(table: Taken, at: int) -> str:
    name = "Tray" if "Tray" in table.lines.columns else "Treatment"
    return code_of(table, at, name).casefold()


def _last_days(table: Taken) -> dict[str, date]:
    last: dict[str, date] = {}
    for at, day in enumerate(_days(table)):
        if day is not None:
            last[_place(table, at)] = max(day, last.get(_place(table, at), day))
    return last


def _added_up(table: Taken) -> Taken:
    """Return a table with the weights of each plant, or tray, added up in its last row.

    Where one of them is not known the sum is not, and the plant is left out; one that was lost at last is lost.
    """
    unknown = {_key(table, table.dropped, at) for at in range(len(table.dropped.numbers))}
    groups: dict[tuple[str, ...], list[int]] = defaultdict(list)
    for at in range(len(table.lines.numbers)):
        groups[_key(table, table.lines, at)].append(at)
    kept = [held for key, held in groups.items() if key not in unknown]
    rows = {table.lines.numbers[at] for key, held in groups.items() if key in unknown for at in held}
    columns = {
        name: tuple(_of_group(name, values, held) for held in kept) for name, values in table.lines.columns.items()
    }
    missing = tuple(sorted({*table.left_out.get("missing", ()), *rows}))
    lines = Lines(tuple(table.lines.numbers[held[-1]] for held in kept), columns)
    return replace(table, lines=lines, left_out={**table.left_out, "missing": missing})


def _key(table: Taken, lines: Lines, at: int) -> tuple[str, ...]:
    held = replace(table, lines=lines)
    return tuple(code_of(held, at, name).casefold() for name in PLACES if name in lines.columns)


def _of_group(name: str, values: Sequence[Value], held: Sequence[int]) -> Value:
    """Return the sum of weights of one plant, the last value of anything else."""
    found = [values[at] for at in held]
    if name in WEIGHED:
        numbers = [value for value in found if isinstance(value, int | float)]
        return round(fsum(numbers), 9) if len(numbers) == len(found) else None
    return next((value for value in reversed(found) if not blank(value)), None)


# --- what is amiss


def trays_without_the_last_day(adopted: "Adopted") -> Iterator[Suspect]:
    """Where the last day of each tray is its harvest, one ends earlier than the others, or rows have no day."""
    for table in tables_of(adopted, PLANTS.name):
        if table.mapping.days != DAYS_LAST or DAY not in table.lines.columns:
            continue
        days = _days(table)
        known = [day for day in days if day is not None]
        for at, day in enumerate(days):
            if day is None or day < max(known):
                yield _early(table, at, day, max(known, default=None))
                break


def _early(table: Taken, at: int, day: date | None, last: date | None) -> Suspect:
    row = table.lines.numbers[at]
    if day is None:
        said = "no day stands in the row, while the last day of each tray counts"
        return Suspect(table, DAY, row, said, "a day in each row", "Write the day.", severity=Severity.ERROR)
    place = shown(_place(table, at))
    said = f'the last row of "{place}" is of {day}, that of others of {last}'
    advice = f"Its last rows were used as they stand. Where it was not harvested on {day} leave them out."
    return Suspect(table, DAY, row, said, "the harvest of each tray on its last day", advice)
