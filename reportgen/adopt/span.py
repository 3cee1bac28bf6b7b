"""Readings from before the start of a trial or after its harvest, which tell nothing of it."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from typing import Final

from reportgen.adopt.derived import code_of
from reportgen.adopt.grid import one_line
from reportgen.adopt.taken import Lines, Taken
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.dates import TextDates, Undated
from reportgen.workbook.declaration import CLIMATE, METER, SOLUTION
from reportgen.workbook.values import blank, shown

# Our own limits for a reading that is reckoned between two others, in parts of the trial: all days between the two,
# or the days of them outside the trial. Beyond both the use within the trial is not known well enough.
WIDEST: Final = 1 / 4
MOST_OUTSIDE: Final = 1 / 10


@dataclass(frozen=True)
class Span:
    """The first and last day of a trial."""

    start: date
    end: date

    def holds(self, moment: datetime) -> bool:
        """Tell whether a moment is on one of its days."""
        return self.start <= moment.date() <= self.end

    @property
    def ends(self) -> tuple[datetime, datetime]:
        """Return its first moment, and the first of its last day."""
        return datetime.combine(self.start, time()), datetime.combine(self.end, time())


def moments_of(table: Taken, name: str) -> list[datetime | None]:
    """Return the moments of a column, None for what is none or could be two."""
    values = table.lines.columns.get(name, ())
    order = TextDates.of([value for value in values if isinstance(value, str)])
    return [_moment(value, order) for value in values]


def _moment(value: object, order: TextDates) -> datetime | None:
    if isinstance(value, date):
        return value if isinstance(value, datetime) else datetime.combine(value, time())
    try:
        return order.read(value) if isinstance(value, str) else None
    except Undated:
        return None


def span_of(begins: object, ends: Sequence[object]) -> Span | None:
    """Return the days from the start to the last of some days of harvest, None where one is not known."""
    first, *others = [_day(value) for value in (begins, *ends)]
    last = max((day for day in others if day), default=None)
    return Span(first, last) if first and last and first < last else None


def _day(value: object) -> date | None:
    moment = moment_of(value)
    return moment.date() if moment else None


def moment_of(value: object) -> datetime | None:
    """Return the moment of a value that stands alone, None where it is none."""
    return _moment(value, TextDates(None, mixed=False))


def within(table: Taken, span: Span | None) -> tuple[Taken, tuple[Problem, ...]]:
    """Return a table of readings without those outside the trial, and a caution that says so; others as they are."""
    cut = CUTS.get(table.mapping.gives)
    return cut(table, span) if cut and span else (table, ())


# --- climate


def _climate(table: Taken, span: Span) -> tuple[Taken, tuple[Problem, ...]]:
    moments = moments_of(table, "Read at")
    outside = [at for at, moment in enumerate(moments) if moment and not span.holds(moment)]
    return _without(table, span, outside, "Read at") if len(outside) < len(moments) else (table, ())


def _without(table: Taken, span: Span, outside: Sequence[int], name: str) -> tuple[Taken, tuple[Problem, ...]]:
    if not outside:
        return table, ()
    gone = set(outside)
    kept = [at for at in range(len(table.lines.numbers)) if at not in gone]
    rows = [table.lines.numbers[at] for at in outside]
    said = f"{len(rows)} row{'s' * (len(rows) > 1)} of {len(kept) + len(rows)} from before the trial or after it"
    caution = _caution(table, span, (name, rows), (said, ""))
    return replace(table, lines=table.lines.at(kept), left_out=_outside(table, rows)), (caution,)


def _outside(table: Taken, rows: Iterable[int]) -> Mapping[str, tuple[int, ...]]:
    return {**table.left_out, "outside": tuple(sorted(set(rows)))}


def _caution(table: Taken, span: Span, at: tuple[str, Sequence[int]], said: tuple[str, str]) -> Problem:
    """Return a caution at the column and rows `at`; `said` is what was found and what was done besides leaving out."""
    name, rows = at
    cells = list(dict.fromkeys((table.cell(name, rows[0]), table.cell(name, rows[-1]))))
    advice = f"{'They were' if len(rows) > 1 else 'It was'} left out.{said[1]}"
    wanted = f"readings from {span.start} to {span.end}"
    return Problem(Severity.CAUTION, table.place, ":".join(cells), said[0], wanted, advice, code="span_not_covered")


# --- water


def _solution(table: Taken, span: Span) -> tuple[Taken, tuple[Problem, ...]]:
    """Leave out, tray by tray, what was done up to the last remainder before the trial and after the one that ends it.

    A reservoir that was filled on the eve of the trial, or measured on the day after it, is of the trial.
    """
    trays: dict[str, list[tuple[datetime, int]]] = defaultdict(list)
    for at, moment in enumerate(moments_of(table, "Date")):
        if moment:
            trays[code_of(table, at, "Tray").casefold()].append((moment, at))
    outside = sorted(at for events in trays.values() for at in _of_other_crops(table, span, sorted(events)))
    return _without(table, span, outside, "Date")


def _of_other_crops(table: Taken, span: Span, events: Sequence[tuple[datetime, int]]) -> list[int]:
    ends = [place for place, (_, at) in enumerate(events) if _event(table, at) == "remaining"]
    before = [place for place in ends if events[place][0].date() < span.start]
    inside = [place for place, (moment, _) in enumerate(events) if moment.date() <= span.end]
    last = inside[-1] if inside else 0
    first = before[-1] + 1 if before else 0
    final = next((place for place in ends if place >= last), len(events))
    kept = {at for _, at in events[first : final + 1]}
    filled = any(_event(table, at) == "fill" for at in kept)
    return [at for _, at in events if at not in kept] if filled else []


def _event(table: Taken, at: int) -> str:
    return one_line(table.lines.value(at, "Event")).casefold()


# --- energy


@dataclass(frozen=True)
class _Reading:
    """A reading of a counter: when, how much, and in which line."""

    moment: datetime
    value: float
    at: int


def _meter(table: Taken, span: Span) -> tuple[Taken, tuple[Problem, ...]]:
    meters: dict[str, list[_Reading]] = defaultdict(list)
    for at, (moment, value) in enumerate(zip(moments_of(table, "Read at"), _readings(table), strict=True)):
        if moment is None or value is None:
            return table, ()  # the checks say what is wrong
        meters[code_of(table, at, "Meter").casefold()].append(_Reading(moment, value, at))
    made: list[_Reading] = []
    problems: list[Problem] = []
    for readings in meters.values():
        readings.sort(key=lambda one: one.moment)
        left = _cut(table, readings, span)
        made += left
        problems += _said(table, span, readings, left)
    if not problems:
        return table, ()
    every = {one for readings in meters.values() for one in readings}
    kept = {table.lines.numbers[one.at] for one in made if one in every}
    cut = _with(table, sorted(made, key=lambda one: one.at))
    return replace(cut, left_out=_outside(table, {*table.lines.numbers} - kept)), tuple(problems)


def _readings(table: Taken) -> list[float | None]:
    values = table.lines.columns.get("Reading", ())
    return [float(one) if isinstance(one, int | float) and not isinstance(one, bool) else None for one in values]


def _cut(table: Taken, readings: list[_Reading], span: Span) -> list[_Reading]:
    """Return the readings of the trial, with those that are reckoned on its first and last day where it needs them."""
    inside = [one for one in readings if span.holds(one.moment)]
    ends = [one for moment in span.ends if (one := _reckoned(table, readings, moment, span))]
    cut = sorted([*inside, *ends], key=lambda one: one.moment)
    return cut or readings


def _reckoned(table: Taken, readings: list[_Reading], moment: datetime, span: Span) -> _Reading | None:
    """Return the reading on the first or last day by a straight line between those around it, where that will do."""
    if any(one.moment.date() == moment.date() for one in readings):
        return None
    before = [one for one in readings if one.moment < moment]
    after = [one for one in readings if one.moment > moment]
    if not before or not after:
        return None
    first, last = before[-1], after[0]
    gap, length = last.moment - first.moment, span.ends[1] - span.ends[0]
    outside = last.moment - moment if moment == span.ends[1] else moment - first.moment
    if (gap > length * WIDEST and outside > length * MOST_OUTSIDE) or _is_broken(table, first, last):
        return None
    value = first.value + (last.value - first.value) * ((moment - first.moment) / gap)
    return _Reading(moment, round(value, 9), last.at)


def _is_broken(table: Taken, first: _Reading, last: _Reading) -> bool:
    """Tell whether a counter was reset between two readings, so that nothing is known of the days between."""
    return last.value < first.value or not blank(table.lines.value(last.at, "Reset"))


def _said(table: Taken, span: Span, readings: list[_Reading], cut: list[_Reading]) -> Iterator[Problem]:
    kept = {one.at for one in cut if one in readings}
    gone = [one for one in readings if one.at not in kept]
    if gone:
        meter = shown(code_of(table, readings[0].at, "Meter"))
        days = [str(one.moment.date()) for one in cut if one not in readings]
        reckoned = f" What it showed on {' and '.join(days)} was reckoned from the readings around it." if days else ""
        every, rows = ([*dict.fromkeys(table.lines.numbers[one.at] for one in some)] for some in (readings, gone))
        found = f'meter "{meter}": {len(rows)} of {len(every)} readings are from before the trial or after it'
        yield _caution(table, span, ("Read at", rows), (found, reckoned))


def _with(table: Taken, readings: Sequence[_Reading]) -> Taken:
    lines = table.lines.at([one.at for one in readings])
    columns = {
        **lines.columns,
        "Read at": tuple(one.moment for one in readings),
        "Reading": tuple(one.value for one in readings),
    }
    return replace(table, lines=Lines(lines.numbers, columns))


CUTS: Final = {METER.name: _meter, CLIMATE.name: _climate, SOLUTION.name: _solution}
