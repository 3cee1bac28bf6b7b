"""Relations of what tells of energy: the sheets Meter and Loads."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import datetime
from itertools import pairwise

from reportgen.model.problem import Problem
from reportgen.workbook.book import Book, flawed, rows_of, span_of_trial, trial_row
from reportgen.workbook.declaration import ALL
from reportgen.workbook.headers import nearest
from reportgen.workbook.table import Row
from reportgen.workbook.values import HOURS_PER_DAY


def meters_of_the_trial(book: Book) -> Iterator[Problem]:
    """A meter counts for one treatment or for all, never falls without a reset, and spans the trial."""
    if flawed(book, "Meter", "Meter", "Treatment", "Read at", "Reading", "Reset"):
        return
    meters: dict[str, list[Row]] = defaultdict(list)
    for row in rows_of(book, "Meter"):
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
        code="meter_read_once",
    )


def _moved(first: Row, other: Row) -> Problem:
    return other.error(
        "Treatment",
        f'meter "{other.text("Meter")}" counts for "{other.text("Treatment")}" here and for '
        f'"{first.text("Treatment")}" in row {first.number}',
        "one treatment for each meter",
        "Mend the code; if the meter was moved, give it another name from then on.",
        code="meter_of_two_treatments",
    )


def _falling(rows: list[Row]) -> Iterator[Problem]:
    for before, row in pairwise(rows):
        was, now = before.number_in("Reading") or 0.0, row.number_in("Reading") or 0.0
        if now < was and not row.get("Reset"):
            yield row.error(
                "Reading",
                f'meter "{row.text("Meter")}" falls from {was:g} kWh in row {before.number} to {now:g} kWh',
                "a reading that is not lower",
                f"Mend the reading, or write {row.table.words.yes[0]} in {row.called('Reset')} if the counter was "
                "reset or changed.",
                code="meter_falls",
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
            f'meter "{rows[0].text("Meter")}" was read from {first.date()} to {last.date()}: {share:.0%} of the trial',
            f"readings on {start} and on {end}",
            "Energy figures need 95 % of the trial; below that they are left out as not known.",
            code="meter_not_whole_trial",
        )


def gaps_at_resets(book: Book) -> Iterator[Problem]:
    """What was used around a reset is not known."""
    for row in rows_of(book, "Meter"):
        if row.get("Reset") is True:
            yield row.caution(
                "Reset",
                f'meter "{row.text("Meter")}" was reset or changed',
                "an unbroken counter",
                "The energy between the reading before and this one is not known and not counted.",
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
                f'the electricity of "{code}" is metered and stands on this sheet too',
                "a meter, or devices on the sheet Loads",
                "The meter was used. Delete the devices that it counts; if it counts none of them, give them a meter.",
                code="load_beside_meter",
            )
            return


def tariff_of_the_whole_day(book: Book) -> Iterator[Problem]:
    """The prices of a tariff hold around the clock, one at a time; the hours of light are known."""
    if flawed(book, "Tariff", "From", "To", "Price per kWh"):
        return
    rows = sorted(rows_of(book, "Tariff"), key=lambda row: row.number_in("From") or 0.0)
    for row, after in zip(rows, [*rows[1:], rows[0]], strict=True):
        end, begin = row.number_in("To") or 0.0, after.number_in("From") or 0.0
        if abs((end - begin) % HOURS_PER_DAY) > 1e-6:
            yield row.error(
                "To",
                f"this price ends at {_clock(end)} and the next begins at {_clock(begin)}",
                "prices for the whole day, one at a time",
                "Mend one of the two times.",
                code="tariff_gap",
            )
    trial = trial_row(book)
    if trial.raw("Electricity price") is not None:
        yield trial.caution(
            "Electricity price",
            "there is a price here and a sheet Tariff",
            "one of the two",
            "The sheet Tariff was used. Clear the price, or delete the sheet.",
            code="price_beside_tariff",
        )
    for row in rows_of(book, "Treatments"):
        if row.raw("Lights on at") is None or row.raw("Photoperiod") is None:
            name = "Lights on at" if row.raw("Lights on at") is None else "Photoperiod"
            yield row.caution(
                name,
                f"{row.called(name)} is not filled in",
                "the hours of light, since the sheet Tariff has prices by the time of day",
                "The mean price of the whole day was used. Fill it in.",
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
                f"{days:g} days are more than the trial had",
                f"at most {most}",
                "Check the number; it was used as it stands.",
                code="days_beyond_trial",
            )
