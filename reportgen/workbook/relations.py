"""The third pass: relations between cells, rows and sheets, for values that passed alone."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime
from itertools import pairwise
from statistics import median
from typing import Final

from reportgen.model.problem import Problem, Severity
from reportgen.workbook.declaration import TRIAL
from reportgen.workbook.headers import nearest
from reportgen.workbook.references import Book, codes
from reportgen.workbook.table import INVALID, Row, Table

Check = Callable[[Book], Iterator[Problem]]

TIMES_MEDIAN: Final = 50


def problems_of(book: Book) -> Iterator[Problem]:
    """Yield every problem in the relations of a workbook whose codes are resolved."""
    for check in CHECKS:
        yield from check(book)


def _rows(book: Book, sheet: str) -> Iterator[Row]:
    return book[sheet].rows() if sheet in book else iter(())


def _trial(book: Book) -> Row:
    return next(_rows(book, "Trial"), Row(Table(TRIAL, TRIAL.name, (1,), {}, {}), 0))


def _flawed(book: Book, sheet: str, *names: str) -> bool:
    """Return whether a sheet has no rows, or a column that a check counts on has cells with problems of their own."""
    table = book.get(sheet)
    return not table or not table.numbers or any(INVALID in table.columns.get(name, ()) for name in names)


def dates_in_order(book: Book) -> Iterator[Problem]:
    """Sowing, start and harvest follow one another."""
    trial = _trial(book)
    sown, start, harvest = (trial.get(name) for name in ("Sown on", "Started on", "Harvested on"))
    if isinstance(start, date) and isinstance(harvest, date) and harvest <= start:
        yield trial.error(
            "Harvested on",
            f"harvest on {harvest} is not after the start on {start}",
            "a later date",
            f"{_swap_hint(harvest, start, date.max)}Mend one of the two.",
        )
    if isinstance(sown, date) and isinstance(start, date) and sown > start:
        yield trial.error(
            "Sown on",
            f"sowing on {sown} is after the start on {start}",
            "an earlier date",
            f"{_swap_hint(sown, date.min, start)}Mend one of the two.",
        )


def _swap_hint(day: date, first: date, last: date) -> str:
    """Return a question where the date with day and month swapped lies from `first` to `last`, else nothing."""
    swapped = day.day <= 12 and first <= date(day.year, day.day, day.month) <= last
    return "Are day and month swapped? " if swapped else ""


def two_treatments(book: Book) -> Iterator[Problem]:
    """A comparison needs two treatments."""
    if _flawed(book, "Treatments", "Treatment") or _flawed(book, "Trays", "Treatment"):
        return
    found = set(codes(book["Treatments"]))
    if len(found) < 2:
        yield Problem(
            Severity.ERROR,
            book["Treatments"].title,
            book["Treatments"].where("Treatment"),
            f"{len(found)} treatment{'s' * (len(found) != 1)}",
            "two treatments or more",
            "Add a row for each treatment that was compared.",
        )


def trays_for_each_treatment(book: Book) -> Iterator[Problem]:
    """Each treatment was given to a tray with plants."""
    if _flawed(book, "Trays", "Treatment", "Plants started", "Tray"):
        return
    grown = {row.text("Treatment") for row in _rows(book, "Trays") if row.get("Plants started") != 0}
    for row in _rows(book, "Treatments"):
        code = row.text("Treatment")
        if code and code not in grown:
            yield row.error(
                "Treatment",
                f'no tray with plants has the treatment "{code}"',
                "a tray at least",
                "Add its trays to the sheet Trays, or delete the treatment.",
            )


def pots_where_plants_are_units(book: Book) -> Iterator[Problem]:
    """With the plant as experimental unit a row of Trays is one pot, so several plants in it count as one."""
    if _trial(book).get("Experimental unit") != "plant":
        return
    for row in _rows(book, "Trays"):
        started = row.number_in("Plants started") or 0
        if started > 1:
            yield row.caution(
                "Plants started",
                f"{started:g} plants share one pot",
                "one plant a row where the plant is the experimental unit",
                "They count as one unit; give each plant that was treated on its own a row of its own.",
            )


def status_and_weight_agree(book: Book) -> Iterator[Problem]:
    """A harvested plant has a weight, a lost one has none."""
    for row in _rows(book, "Plants"):
        status = row.raw("Status") or "harvested"
        weight = row.raw("Fresh weight")
        if status == "harvested" and weight is None:
            yield row.error(
                "Fresh weight",
                "Fresh weight is not filled in yet",
                "a weight, or the status dead or removed",
                "Type the weight, or write in Status what became of the plant.",
            )
        if status in ("dead", "removed") and isinstance(weight, float):
            yield row.error(
                "Fresh weight",
                f"a plant that is {status} has a fresh weight of {weight:g} g",
                "no weight",
                "Clear the weight, or change the status to harvested.",
            )


def weights_of_one_size(book: Book) -> Iterator[Problem]:
    """No weight is many times the others, nor a small part of them."""
    for name in ("Fresh weight", "Dry weight", "Root weight"):
        weights = [weight for row in _rows(book, "Plants") if (weight := row.number_in(name)) is not None]
        middle = median(weights) if weights else 0.0
        for row in _rows(book, "Plants") if middle > 0 else ():
            weight = row.number_in(name)
            if weight and not middle / TIMES_MEDIAN <= weight <= middle * TIMES_MEDIAN:
                yield _of_another_size(row, name, weight, middle)


def _of_another_size(row: Row, name: str, weight: float, middle: float) -> Problem:
    times = f"{weight / middle:.0f} times" if weight > middle else f"1/{middle / weight:.0f} of"
    return row.caution(
        name,
        f"{weight:g} g is {times} the median of the column",
        f"a weight near {middle:.3g} g",
        "Check the unit and the decimal point; it was used as it stands.",
    )


def dry_below_fresh(book: Book) -> Iterator[Problem]:
    """No plant is heavier dry than fresh."""
    for row in _rows(book, "Plants"):
        fresh, dry = row.number_in("Fresh weight"), row.number_in("Dry weight")
        if fresh is not None and dry is not None and dry > fresh:
            yield row.caution(
                "Dry weight",
                f"dry weight {dry:g} g is above fresh weight {fresh:g} g",
                "less than the fresh weight",
                "Check both weights and their units; they were used as they stand.",
            )


def blocks_that_hold_treatments(book: Book) -> Iterator[Problem]:
    """Blocks are given for every tray, and hold more than one treatment."""
    if _flawed(book, "Trays", "Block", "Treatment", "Plants started") or "Block" not in book["Trays"].letters:
        return
    held: dict[str, set[str]] = defaultdict(set)
    for row in _rows(book, "Trays"):
        if row.get("Plants started") != 0:
            held[row.text("Block")].add(row.text("Treatment"))
    if set(held) == {""}:
        return
    found = ""
    if "" in held:
        found = "some trays have a block and some have none"
    elif len(set().union(*held.values())) > 1 and all(len(treatments) == 1 for treatments in held.values()):
        found = "no block holds more than one treatment, so places and treatments cannot be told apart"
    if found:
        table = book["Trays"]
        expected = "a block for every tray, each block with a tray of every treatment"
        advice = "The blocks were not used. Fill them in, or leave the column blank."
        yield Problem(Severity.CAUTION, table.title, table.where("Block"), found, expected, advice)


def plants_of_each_tray(book: Book) -> Iterator[Problem]:
    """The plants on the sheet Plants are those that each tray was started with."""
    if _flawed(book, "Plants", "Tray", "Plant"):
        return
    seen: dict[str, int] = defaultdict(int)
    for row in _rows(book, "Plants"):
        seen[row.text("Tray")] += 1
    for row in _rows(book, "Trays"):
        started = row.number_in("Plants started")
        if started is not None and row.text("Tray"):
            yield from _plants_of_tray(row, int(started), seen[row.text("Tray")])


def _plants_of_tray(row: Row, started: int, seen: int) -> Iterator[Problem]:
    tray = row.text("Tray")
    if started and not seen:
        yield row.error(
            "Tray",
            f'no plant of tray "{tray}" is on the sheet Plants',
            _plants(started),
            "Add them, lost ones with the status dead or removed.",
        )
    elif seen > started:
        yield row.error(
            "Plants started",
            f'tray "{tray}" has {_plants(seen)} on the sheet Plants, {started} started',
            f"{_plants(started)} at most",
            "Mend the number started, or delete the rows that are not of this tray.",
        )
    elif seen < started:
        yield row.caution(
            "Plants started",
            f'tray "{tray}" has {_plants(seen)} on the sheet Plants, {started} started',
            "a row for every plant",
            "The others count as lost; give each a row with the status dead or removed.",
        )


def _plants(number: int) -> str:
    return f"{number} plant{'s' * (number != 1)}"


def solution_of_each_tray(book: Book) -> Iterator[Problem]:
    """Each tray's water budget has a beginning and an end, and no more came out than went in."""
    if _flawed(book, "Solution", "Tray", "Event", "Volume"):
        return
    volumes: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for row in _rows(book, "Solution"):
        volumes[row.text("Tray")][row.text("Event")] += row.number_in("Volume") or 0.0
    for row in _rows(book, "Trays"):
        if row.text("Tray") and row.get("Plants started") is not None:
            yield from _solution_of_tray(row, volumes[row.text("Tray")])


def _solution_of_tray(row: Row, volumes: Mapping[str, float]) -> Iterator[Problem]:
    tray = row.text("Tray")
    lacking = [event for event in ("fill", "remaining") if event not in volumes]
    given = volumes.get("fill", 0) + volumes.get("top-up", 0)
    taken = volumes.get("sample", 0) + volumes.get("drain", 0) + volumes.get("remaining", 0)
    if lacking:
        yield row.caution(
            "Tray",
            f'tray "{tray}" has no {" and no ".join(lacking)} on the sheet Solution',
            "what went in and what was left",
            "Its water use is not known, and it is left out of the water figures. Add the missing rows.",
        )
    elif taken > given * (1 + 1e-9):
        yield row.error(
            "Tray",
            f'more solution came out of tray "{tray}" than went in: {taken:.6g} L of {given:.6g} L',
            "less than went in",
            "Look for a missing fill or top-up on the sheet Solution, or a volume in another unit.",
        )


def dates_within_the_trial(book: Book) -> Iterator[Problem]:
    """Dates lie between start and harvest."""
    start, end = _span_of_trial(book)
    if not start or not end:
        return
    for sheet, name in (("Trays", "Harvested on"), ("Solution", "Date"), ("Meter", "Read at")):
        outside = [row for row in _rows(book, sheet) if (day := _day(row.get(name))) and not start <= day <= end]
        if outside:
            yield _outside(outside, name, start, end)


def _span_of_trial(book: Book) -> tuple[date | None, date | None]:
    """Return start and harvest, neither where one is not known or they are not in order."""
    start, end = _day(_trial(book).get("Started on")), _day(_trial(book).get("Harvested on"))
    return (start, end) if start and end and start < end else (None, None)


def _outside(rows: list[Row], name: str, start: date, end: date) -> Problem:
    first, last = rows[0], rows[-1]
    day = _day(first.get(name))
    hint = _swap_hint(day, start, end) if day else ""
    more = f" and {len(rows) - 1} more" if len(rows) > 1 else ""
    where = first.cell(name) if first is last else f"{first.cell(name)}:{last.cell(name)}"
    return Problem(
        Severity.CAUTION,
        first.table.title,
        where,
        f"{day}{more} outside the trial",
        f"a date from {start} to {end}",
        f"{hint}Check the date; the row was used as it stands.",
    )


def _day(value: object) -> date | None:
    if isinstance(value, datetime):
        return value.date()
    return value if isinstance(value, date) else None


def meters_of_the_trial(book: Book) -> Iterator[Problem]:
    """A meter counts for one treatment or for all, never falls without a reset, and spans the trial."""
    if _flawed(book, "Meter", "Meter", "Treatment", "Read at", "Reading", "Reset"):
        return
    meters: dict[str, list[Row]] = defaultdict(list)
    for row in _rows(book, "Meter"):
        meters[row.text("Meter").casefold()].append(row)
    slips = {name: _near_meter(name, meters) for name, rows in meters.items() if len(rows) == 1}
    for name, rows in meters.items():
        rows.sort(key=lambda row: str(row.get("Read at")))
        other = next((row for row in rows if row.text("Treatment") != rows[0].text("Treatment")), None)
        if other:
            yield _moved(rows[0], other)
        elif name in slips:
            yield _read_once(rows[0], slips[name])
        else:
            yield from _falling(rows)
            yield from _span(rows, book) if name not in slips.values() else ()


def _near_meter(name: str, meters: Mapping[str, list[Row]]) -> str:
    return nearest(name, [other for other, rows in meters.items() if len(rows) > 1])


def _read_once(row: Row, near: str) -> Problem:
    return row.caution(
        "Meter",
        f'meter "{row.text("Meter")}" was read once only',
        "a reading at the start and one at the end",
        f"{f'Did you mean {near}? ' if near else ''}It tells nothing of the energy used.",
    )


def _moved(first: Row, other: Row) -> Problem:
    return other.error(
        "Treatment",
        f'meter "{other.text("Meter")}" counts for "{other.text("Treatment")}" here and for '
        f'"{first.text("Treatment")}" in row {first.number}',
        "one treatment for each meter",
        "Mend the code; if the meter was moved, give it another name from then on.",
    )


def _falling(rows: list[Row]) -> Iterator[Problem]:
    for before, row in pairwise(rows):
        was, now = before.number_in("Reading") or 0.0, row.number_in("Reading") or 0.0
        if now < was and not row.get("Reset"):
            yield row.error(
                "Reading",
                f'meter "{row.text("Meter")}" falls from {was:g} kWh in row {before.number} to {now:g} kWh',
                "a reading that is not lower",
                "Mend the reading, or write yes in Reset if the counter was reset or changed.",
            )


def _span(rows: list[Row], book: Book) -> Iterator[Problem]:
    start, end = _span_of_trial(book)
    if not start or not end:
        return
    first, last = (row.get("Read at") for row in (rows[0], rows[-1]))
    if not isinstance(first, datetime) or not isinstance(last, datetime):
        return
    days = (min(last.date(), end) - max(first.date(), start)).days
    share = max(0.0, days / (end - start).days)
    if share < 1:
        yield rows[0].caution(
            "Read at",
            f'meter "{rows[0].text("Meter")}" was read from {first.date()} to {last.date()}: {share:.0%} of the trial',
            f"readings on {start} and on {end}",
            "Energy figures need 95 % of the trial; below that they are left out as not known.",
        )


def gaps_at_resets(book: Book) -> Iterator[Problem]:
    """What was used around a reset is not known."""
    for row in _rows(book, "Meter"):
        if row.get("Reset") is True:
            yield row.caution(
                "Reset",
                f'meter "{row.text("Meter")}" was reset or changed',
                "an unbroken counter",
                "The energy between the reading before and this one is not known and not counted.",
            )


CHECKS: Final[tuple[Check, ...]] = (
    dates_in_order,
    two_treatments,
    trays_for_each_treatment,
    pots_where_plants_are_units,
    status_and_weight_agree,
    weights_of_one_size,
    dry_below_fresh,
    blocks_that_hold_treatments,
    plants_of_each_tray,
    solution_of_each_tray,
    dates_within_the_trial,
    meters_of_the_trial,
    gaps_at_resets,
)
