"""Relations of what tells of energy: the sheets Meter and Loads."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from itertools import pairwise
from typing import Final

from reportgen.language import either, say
from reportgen.model.problem import Problem, Severity, cells_of
from reportgen.workbook.book import Book, flawed, rows_of, span_of_trial, trial_row
from reportgen.workbook.counters import Counter, Leap, OddPace, leaps, odd_paces
from reportgen.workbook.declaration import ALL
from reportgen.workbook.headers import nearest
from reportgen.workbook.table import Row
from reportgen.workbook.values import HOURS_PER_DAY

SECONDS_PER_HOUR: Final = 3600.0


def meters_of_the_trial(book: Book) -> Iterator[Problem]:
    """A meter counts for one treatment or for all, falls only at a reset, and spans the trial."""
    if flawed(book, "Meter", "Meter", "Treatment", "Read at", "Reading", "Reset"):
        return
    meters = _by_meter(book)
    read_once = [name for name, rows in meters.items() if len(rows) == 1]
    slips = {name: _near_meter(name, meters) for name in read_once}
    for name, rows in meters.items():
        other = _row_of_another_treatment(rows)
        if other:
            yield _moved(rows[0], other)
        elif name in slips:
            yield _read_once(rows[0], slips[name])
        else:
            yield from _steps(rows, list(_others(meters, name)))
            if name not in slips.values():
                yield from _span(rows, book)


def _others(meters: Mapping[str, list[Row]], name: str) -> Iterator[list[Row]]:
    """Yield the readings of the other meters."""
    for other, rows in meters.items():
        if other != name:
            yield rows


def _row_of_another_treatment(rows: list[Row]) -> Row | None:
    treatment = rows[0].text("Treatment")
    return next((row for row in rows if row.text("Treatment") != treatment), None)


def _near_meter(name: str, meters: Mapping[str, list[Row]]) -> str:
    return nearest(name, [other for other, rows in meters.items() if len(rows) > 1])


def _read_once(row: Row, near: str) -> Problem:
    return row.caution(
        "Meter",
        say('meter "{meter}" was read once only', meter=row.text("Meter")),
        say("a reading at the start and one at the end"),
        _advice_on_one_reading(near),
        code="meter_read_once",
    )


def _advice_on_one_reading(near: str) -> str:
    if near:
        return say("Did you mean {near}? It tells nothing of the energy used.", near=near)
    return say("It tells nothing of the energy used.")


def _moved(first: Row, other: Row) -> Problem:
    return other.error(
        "Treatment",
        say(
            'meter "{meter}" counts for "{treatment}" here and for "{other}" in row {number}',
            meter=other.text("Meter"),
            treatment=other.text("Treatment"),
            other=first.text("Treatment"),
            number=first.named,
        ),
        say("one treatment for each meter"),
        say("Mend the code; if the meter was moved, give it another name from then on."),
        code="meter_of_two_treatments",
    )


def _steps(rows: list[Row], others: list[list[Row]]) -> Iterator[Problem]:
    """Yield an error where a counter falls, and a caution where a digit too many makes it leap."""
    rates: list[float] = []
    for readings in others:
        for part in _parts(readings):
            rates += _counter(part).rates()
    for part in _parts(rows):
        leaping = {leap.index: leap for leap in leaps(_counter(part), rates)}
        yield from _steps_of_part(part, leaping)


def _steps_of_part(part: list[Row], leaping: dict[int, Leap]) -> Iterator[Problem]:
    """Yield the problems of readings between resets; `leaping` holds those that leap, by index."""
    explained: set[int] = set()
    for index, (before, row) in enumerate(pairwise(part), 1):
        if _reading(row) < _reading(before):
            ends = index - 1, index
            explained.update(ends)
            yield _falls(before, row, part, [leaping[end] for end in ends if end in leaping])
    for leap in leaping.values():
        if leap.index not in explained and leap.times:
            yield _leaps(part[leap.index], leap)


def _reading(row: Row) -> float:
    return row.number_in("Reading") or 0.0


def _parts(rows: list[Row]) -> Iterator[list[Row]]:
    """Yield the readings between resets."""
    part: list[Row] = []
    for row in rows:
        if row.get("Reset") and part:
            yield part
            part = []
        part.append(row)
    if part:
        yield part


def _counter(rows: list[Row]) -> Counter:
    hours: list[float] = []
    for row in rows:
        moment = row.get("Read at")
        if isinstance(moment, datetime):
            hours.append(moment.timestamp() / SECONDS_PER_HOUR)
        else:
            hours.append(0.0)
    return Counter(tuple(hours), tuple(_reading(row) for row in rows))


def _falls(before: Row, row: Row, part: list[Row], leaping: list[Leap]) -> Problem:
    """Return the error of a falling counter, at the reading that is probably wrong, or at both."""
    meter = say('meter "{meter}"', meter=row.text("Meter"))
    higher = f"{_reading(before):.6g} kWh"
    lower = f"{_reading(row):.6g} kWh"
    finding = say(
        "{meter} falls from {was} in row {number} to {now}",
        meter=meter,
        was=higher,
        number=before.named,
        now=lower,
    )
    cell = row.cell("Reading")
    wrong = [part[leap.index] for leap in leaping]
    if before in wrong:
        finding = say(
            "{meter} stands at {was} here and falls to {now} in row {number}",
            meter=meter,
            was=higher,
            now=lower,
            number=row.named,
        )
        cell = cells_of(row.table.letters["Reading"], [wrong_row.number for wrong_row in wrong])
    return Problem(
        Severity.ERROR,
        row.table.title,
        cell,
        finding,
        say("a reading that is not lower"),
        say(
            "{typed}Mend the reading, or write {yes} in {reset} if the counter was reset or"
            " changed.",
            typed=_readings_to_type(part, leaping),
            yes=row.table.words.yes[0],
            reset=row.called("Reset"),
        ),
        code="meter_falls",
    )


def _readings_to_type(part: list[Row], leaping: list[Leap]) -> str:
    """Return the advice to type a mended reading; empty where none is known."""
    readings: list[str] = []
    for leap in leaping:
        if leap.meant is not None:
            number = part[leap.index].named
            readings.append(
                say("{meant} in row {number}", meant=f"{leap.meant:.6g}", number=number)
            )
    if not readings:
        return ""
    return say("Type {meant} if the point slipped. ", meant=either(readings))


def _leaps(row: Row, leap: Leap) -> Problem:
    return row.caution(
        "Reading",
        say(
            'at {value} kWh meter "{meter}" has run {times} times as fast as usual',
            value=f"{_reading(row):.6g}",
            meter=row.text("Meter"),
            times=f"{leap.times:.0f}",
        ),
        say("a reading near {meant} kWh", meant=f"{leap.meant:.6g}"),
        say(
            "Type {meant} if the point slipped or a digit is too many; it was used as it stands.",
            meant=f"{leap.meant:.6g}",
        ),
        code="counter_jump",
    )


def paces_of_meters(book: Book) -> Iterator[Problem]:
    """No meter runs many times as fast as every other, or a small part of it."""
    if flawed(book, "Meter", "Meter", "Treatment", "Read at", "Reading", "Reset"):
        return
    meters = [rows for rows in _by_meter(book).values() if _is_steady(rows)]
    odd = odd_paces([_counter(rows) for rows in meters])
    if len(meters) == 2 and odd:
        yield _two_paces(odd[0], meters)
        return
    for odd_pace in odd:
        yield _odd_pace(odd_pace, meters)


def _by_meter(book: Book) -> dict[str, list[Row]]:
    """Return the readings of each meter in order of time."""
    meters: dict[str, list[Row]] = defaultdict(list)
    for row in rows_of(book, "Meter"):
        meters[row.text("Meter").casefold()].append(row)
    for rows in meters.values():
        rows.sort(key=lambda row: str(row.get("Read at")))
    return meters


def _is_steady(rows: list[Row]) -> bool:
    """Tell whether a meter was read twice or more, was not reset, and neither falls nor leaps."""
    counter = _counter(rows)
    is_whole = len(rows) > 1 and not any(row.get("Reset") for row in rows[1:])
    return is_whole and min(counter.rates(), default=-1.0) >= 0 and not leaps(counter, ())


def _odd_pace(odd: OddPace, meters: list[list[Row]]) -> Problem:
    rows, near = meters[odd.counter], meters[odd.nearest][0]
    if odd.reading is None:
        row = rows[-1]
        advice = say("Check the readings and their unit; they were used as they stand.")
    else:
        row = rows[odd.reading]
        advice = say(
            "Type {meant} if the point slipped; it was used as it stands.", meant=f"{odd.meant:.6g}"
        )
    if odd.times > 1:
        times = say("{number} times", number=f"{odd.times:.0f}")
    else:
        times = f"1/{1 / odd.times:.0f}"
    return row.caution(
        "Reading",
        say(
            'meter "{meter}" counts {times} of what the meter nearest to it counts, "{nearest}"',
            meter=row.text("Meter"),
            times=times,
            nearest=near.text("Meter"),
        ),
        say("meters that differ less"),
        advice,
        code="counter_pace",
    )


def _two_paces(odd: OddPace, meters: list[list[Row]]) -> Problem:
    """Return the caution of two meters of which either may be wrong."""
    pair = [meters[odd.counter], meters[odd.nearest]]
    slow, fast = sorted(pair, key=lambda rows: _counter(rows).pace)
    last = [fast[-1], slow[-1]]
    times = max(odd.times, 1 / odd.times)
    return Problem(
        Severity.CAUTION,
        last[0].table.title,
        cells_of(last[0].table.letters["Reading"], [row.number for row in last]),
        say(
            'meter "{first}" counts {times} times as much a day as meter "{second}"',
            first=last[0].text("Meter"),
            times=f"{times:.0f}",
            second=last[1].text("Meter"),
        ),
        say("meters that differ less"),
        say(
            "Check the point in the readings of both, and their unit; they were used as they stand."
        ),
        code="counter_pace",
    )


def _span(rows: list[Row], book: Book) -> Iterator[Problem]:
    start, end = span_of_trial(book)
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
            say(
                'meter "{meter}" was read from {first} to {last}: {share} of the trial',
                meter=rows[0].text("Meter"),
                first=first.date(),
                last=last.date(),
                share=f"{share:.0%}",
            ),
            say("readings on {start} and on {end}", start=start, end=end),
            say("Energy figures need 95% of the trial; below that they are left out as not known."),
            code="meter_not_whole_trial",
        )


def gaps_at_resets(book: Book) -> Iterator[Problem]:
    """What was used around a reset is not known."""
    for row in rows_of(book, "Meter"):
        if row.get("Reset") is True:
            yield row.caution(
                "Reset",
                say('meter "{meter}" was reset or changed', meter=row.text("Meter")),
                say("an unbroken counter"),
                say(
                    "The energy between the reading before and this one is not known and not counted."
                ),
                code="meter_reset",
            )


def loads_beside_meters(book: Book) -> Iterator[Problem]:
    """A treatment's energy is metered or calculated, not both."""
    metered = {row.text("Treatment") for row in rows_of(book, "Meter")}
    for row in rows_of(book, "Loads"):
        code = row.text("Treatment")
        if code and (code in metered or ALL in metered):
            yield row.caution(
                "Treatment",
                say(
                    'the electricity of "{code}" is metered and stands on this sheet too', code=code
                ),
                say("a meter, or devices on the sheet {loads}", loads=row.sheet("Loads")),
                say(
                    "The meter was used. Delete the devices that it counts; if it counts none of"
                    " them, give them a meter."
                ),
                code="load_beside_meter",
            )
            return


def tariff_of_the_whole_day(book: Book) -> Iterator[Problem]:
    """The prices of a tariff hold around the clock, one at a time; the hours of light are known."""
    if flawed(book, "Tariff", "From", "To", "Price per kWh"):
        return
    rows = sorted(rows_of(book, "Tariff"), key=_begin)
    yield from _gaps_in_tariff(rows)
    trial = trial_row(book)
    if trial.raw("Electricity price") is not None:
        yield _price_beside_tariff(trial)
    for row in rows_of(book, "Treatments"):
        blank = [name for name in ("Lights on at", "Photoperiod") if row.raw(name) is None]
        if blank:
            yield _without_hours_of_light(row, blank[0])


def _begin(row: Row) -> float:
    """Return the hour that a price holds from."""
    return row.number_in("From") or 0.0


def _gaps_in_tariff(rows: Sequence[Row]) -> Iterator[Problem]:
    """Yield an error for each price, by hour, that the next does not follow at once."""
    for row, after in zip(rows, [*rows[1:], rows[0]], strict=True):
        end = row.number_in("To") or 0.0
        begin = _begin(after)
        if abs((end - begin) % HOURS_PER_DAY) > 1e-6:
            yield _gap_in_tariff(row, end, begin)


def _gap_in_tariff(row: Row, end: float, begin: float) -> Problem:
    return row.error(
        "To",
        say(
            "this price ends at {end} and the next begins at {begin}",
            end=_clock(end),
            begin=_clock(begin),
        ),
        say("prices for the whole day, one at a time"),
        say("Mend one of the two times."),
        code="tariff_gap",
    )


def _price_beside_tariff(trial: Row) -> Problem:
    tariff = trial.sheet("Tariff")
    return trial.caution(
        "Electricity price",
        say("there is a price here and a sheet {tariff}", tariff=tariff),
        say("one of the two"),
        say("The sheet {tariff} was used. Clear the price, or delete the sheet.", tariff=tariff),
        code="price_beside_tariff",
    )


def _without_hours_of_light(row: Row, name: str) -> Problem:
    return row.caution(
        name,
        say("{name} is not filled in", name=row.called(name)),
        say(
            "the hours of light, since the sheet {tariff} has prices by the time of day",
            tariff=row.sheet("Tariff"),
        ),
        say("The mean price of the whole day was used. Fill it in."),
        code="hours_of_light_missing",
    )


def _clock(hours: float) -> str:
    return f"{int(hours):02d}:{round(hours % 1 * 60):02d}"


def loads_within_the_trial(book: Book) -> Iterator[Problem]:
    """No device ran for more days than the trial."""
    start, end = span_of_trial(book)
    if not start or not end:
        return
    most = (end - start).days + 1
    for row in rows_of(book, "Loads"):
        days = row.number_in("Days")
        if days is not None and days > most:
            yield row.caution(
                "Days",
                say("{days} days are more than the trial had", days=f"{days:g}"),
                say("at most {most}", most=most),
                say("Check the number; it was used as it stands."),
                code="days_beyond_trial",
            )
