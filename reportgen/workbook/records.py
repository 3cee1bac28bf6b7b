"""Relations of dates, and of the sheets Growth, Climate, Costs, Instruments and Observations."""

import os
import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Final

from reportgen.language import either, plural, say
from reportgen.model.measure_names import MEASURE_NAMES
from reportgen.model.problem import Problem, Severity
from reportgen.model.settings import ASSUMED_CURRENCY
from reportgen.workbook.book import (
    Book,
    day_of,
    flawed,
    rows_of,
    span_of_trial,
    swap_hint,
    trial_row,
)
from reportgen.workbook.declaration import HARVESTS, MEASURED, PLANTS, TRIAL, Column, Kind, Period
from reportgen.workbook.headers import folded, nearest
from reportgen.workbook.measure_called import key_of_measure
from reportgen.workbook.photos import ENDINGS, UnusablePhoto, beside, is_shown, within
from reportgen.workbook.recorded import measures_at_hand, named_traits
from reportgen.workbook.table import INVALID, Row, Table
from reportgen.workbook.units import UnitError, conversion
from reportgen.workbook.values import Amount, shown

YEAR: Final = 366  # days
WITH_MONEY: Final = ("Trial", "Costs", "Tariff")
SYMBOLS: Final = {
    "€": ("EUR",),
    "£": ("GBP",),
    "$": ("USD", "AUD", "CAD", "NZD", "MXN", "SGD", "HKD"),
}
CURRENCY: Final = re.compile(r"\b[A-Z]{3}\b|[€£$]")


def dates_within_the_trial(book: Book) -> Iterator[Problem]:
    """Each date lies in the period of its column."""
    start, end = span_of_trial(book)
    if not start or not end:
        return
    for table in book.values():
        for column in table.sheet.columns:
            if column.kind in (Kind.DATE, Kind.MOMENT) and column.name in table.columns:
                yield from _outside(table, column, _limits(book, column.period, start, end))


def _limits(book: Book, period: Period, start: date, end: date) -> tuple[date, date]:
    """Return the first and the last day of a period of a trial from `start` to `end`."""
    sown = day_of(trial_row(book).get("Sown on"))
    first = {
        Period.TRIAL: start,
        Period.GROWTH: min(sown or start, start),
        Period.PREPARATION: _moved(start, -YEAR),
        Period.YEAR: _moved(start, -YEAR),
    }
    return first[period], _moved(end, YEAR) if period is Period.YEAR else end


def _moved(day: date, days: int) -> date:
    """Return a day some days later, the first or last of the calendar where it ends before."""
    return date.fromordinal(
        min(max(day.toordinal() + days, date.min.toordinal()), date.max.toordinal())
    )


def _outside(table: Table, column: Column, limits: tuple[date, date]) -> Iterator[Problem]:
    name, (start, end) = column.name, limits
    days = _days_of(table, name)
    outside = {index: day for index, day in days.items() if not start <= day <= end}
    if not outside:
        return
    rows = [Row(table, index) for index in outside]
    first, last = rows[0].cell(name), rows[-1].cell(name)
    cells = ":".join(dict.fromkeys((first, last)))
    day = outside[rows[0].index]
    others = set(outside.values()) - {day}
    days_said = str(day)
    if others:
        days_said = plural(
            "{day} and {number} more day", "{day} and {number} more days", len(others), day=day
        )
    if column.period is Period.YEAR:
        finding = say("{days} more than a year away from the trial", days=days_said)
    else:
        finding = say("{days} outside the trial", days=days_said)
    yield Problem(
        Severity.CAUTION,
        table.title,
        cells,
        finding,
        say("a date from {start} to {end}", start=start, end=end),
        _advice_outside(table, list(days.values()), limits),
        code="date_outside_trial",
    )


def _days_of(table: Table, name: str) -> dict[int, date]:
    """Return the days in a column, by index of their rows."""
    days: dict[int, date] = {}
    for index, value in enumerate(table.columns[name]):
        day = day_of(value)
        if day:
            days[index] = day
    return days


def _advice_outside(table: Table, days: Sequence[date], limits: tuple[date, date]) -> str:
    """Return what to do about the days of a column, of which the first outside is named."""
    start, end = limits
    first = next(day for day in days if not start <= day <= end)
    if table.sheet is TRIAL:
        said = say("Check the date; it was used as it stands.")
    else:
        said = say("Check the date; the row was used as it stands.")
    return f"{swap_hint(first, start, end)}{said}{_later_harvest(table, max(days), end)}"


def _later_harvest(table: Table, latest: date, end: date) -> str:
    """Return what to do where pickings after the harvest are right."""
    if table.sheet is not HARVESTS or latest <= end:
        return ""
    field = table.words.column_name(TRIAL.name, "Harvested on")
    return say(" If it is right, set {field} to {latest}.", field=field, latest=latest)


def trial_of_a_year_at_most(book: Book) -> Iterator[Problem]:
    """A trial of more than a year is rarer than a slip of the year in one of its dates."""
    start, end = span_of_trial(book)
    if start and end and (end - start).days > YEAR:
        is_harvested = trial_row(book).raw("Harvested on") is not None
        dates = {"end": end, "days": (end - start).days, "start": start}
        if is_harvested:
            said = say("harvest on {end} is {days} days after the start on {start}", **dates)
        else:
            said = say(
                "the last record on {end} is {days} days after the start on {start}", **dates
            )
        yield Problem(
            Severity.REMARK,
            book[TRIAL.name].title,
            trial_row(book).cell("Harvested on" if is_harvested else "Started on"),
            said,
            say("at most {year} days, as in most trials", year=YEAR),
            say("Check the years of both dates. If they are right, leave them."),
            code="long_trial",
        )


def plants_are_known(book: Book) -> Iterator[Problem]:
    """A plant that another sheet names is one of the sheet Plants."""
    if flawed(book, PLANTS.name, "Tray", "Plant"):
        return
    plants = {_plant_of(row) for row in rows_of(book, PLANTS.name)}
    trays = {tray for tray, _ in plants}
    for table in book.values():
        if table.sheet is PLANTS or "Plant" not in table.columns:
            continue
        rows = _first_rows(table)
        for plant, row in rows.items():
            if plant not in plants and plant[0] in trays:
                yield _unknown_plant(row)


def _first_rows(table: Table) -> dict[tuple[str, str], Row]:
    """Return the first row of each plant that a sheet names, by tray and plant."""
    rows: dict[tuple[str, str], Row] = {}
    for row in table.rows():
        plant = _plant_of(row)
        if all(plant):
            rows.setdefault(plant, row)
    return rows


def _plant_of(row: Row) -> tuple[str, str]:
    return row.text("Tray"), row.text("Plant").casefold()


def _unknown_plant(row: Row) -> Problem:
    return row.caution(
        "Plant",
        say(
            'plant "{plant}" of tray "{tray}" is not on the sheet {name}',
            plant=shown(row.text("Plant")),
            tray=row.text("Tray"),
            name=row.sheet(PLANTS.name),
        ),
        say("a plant of that sheet"),
        say("Mend the number, or add the plant there; the row was used as it stands."),
        code="unknown_plant",
    )


def growth_of_plants_seen_again(book: Book) -> Iterator[Problem]:
    """Without a list of plants, no plant is measured once beside others measured on several days.

    Its number is perhaps mistyped.
    """
    if "Plants" in book and book["Plants"].numbers:
        return
    records = _rows_by_plant(book)
    repeated = {tray for (tray, _), rows in records.items() if len(rows) > 1}
    for (tray, _), rows in records.items():
        if tray in repeated and len(rows) == 1:
            yield _measured_once(rows[0], tray)


def _rows_by_plant(book: Book) -> dict[tuple[str, str], list[Row]]:
    """Return the rows of the sheet Growth by tray and plant."""
    records: dict[tuple[str, str], list[Row]] = defaultdict(list)
    for row in rows_of(book, "Growth"):
        tray, plant = row.text("Tray"), row.text("Plant")
        if tray and plant:
            records[tray, plant.casefold()].append(row)
    return records


def _measured_once(row: Row, tray: str) -> Problem:
    return row.caution(
        "Plant",
        say(
            'plant "{plant}" of tray "{tray}" was measured once, others on several days',
            plant=shown(row.text("Plant")),
            tray=tray,
        ),
        say("a plant that was measured before"),
        say("Mend the number if it is a slip; the measurement was used as it stands."),
        code="plant_measured_once",
    )


def prices_in_one_currency(book: Book, currency: str) -> Iterator[Problem]:
    """Yield an error for each header that names another currency than the trial's, `currency` where
    it has none.
    """
    trial = trial_row(book)
    if trial.raw("Currency") is not None and not trial.text("Currency"):
        return
    ours = trial.text("Currency") or currency
    stated = bool(trial.text("Currency"))
    for table, column in _money(book):
        if INVALID in table.columns[column]:
            continue
        named = CURRENCY.search(table.units.get(column, ""))
        if named and ours not in SYMBOLS.get(named[0], (named[0],)):
            yield _other_currency(table, column, named[0], ours, stated=stated)


def _money(book: Book) -> Iterator[tuple[Table, str]]:
    """Yield the columns that hold amounts of money, with their tables."""
    for sheet in WITH_MONEY:
        if sheet not in book:
            continue
        table = book[sheet]
        for column in table.sheet.columns:
            values = table.columns.get(column.name, ())
            if column.money and any(one is not None for one in values):
                yield table, column.name


def lacks_currency(book: Book, currency: str) -> bool:
    """Return whether there is money whose currency neither the workbook nor the settings name."""
    if currency or trial_row(book).raw("Currency") is not None:
        return False
    units = [table.units.get(column, "") for table, column in _money(book)]
    return bool(units) and not any(map(CURRENCY.search, units))


def currency_is_named(book: Book, currency: str) -> Iterator[Problem]:
    """Money has a currency that the workbook or the settings name, `currency` being theirs."""
    if lacks_currency(book, currency):
        head = trial_row(book)
        yield Problem(
            Severity.REMARK,
            head.table.title,
            head.table.letters.get("Currency", ""),
            f"no currency is named; {ASSUMED_CURRENCY} was assumed, and the report says so",
            "the currency of every price",
            f"Fill in {head.called('Currency')}, such as EUR.",
            code="currency_assumed",
        )


def _other_currency(table: Table, column: str, named: str, ours: str, *, stated: bool) -> Problem:
    field = say(
        "{currency} on the sheet {name}",
        currency=table.words.column_name(TRIAL.name, "Currency"),
        name=table.words.sheet_name(TRIAL.name),
    )
    if stated:
        said = say("the trial's currency is {ours}", ours=ours)
    else:
        said = say("{field} is blank, which means {ours}", field=field, ours=ours)
    return Problem(
        Severity.ERROR,
        table.title,
        table.headings.get(column, ""),
        say(
            '"{column}" is in {named}, and {said}',
            column=table.called(column),
            named=named,
            said=said,
        ),
        say("one currency"),
        say(
            "Write {sign} in {field}, or give the amounts in {ours}.",
            sign=SYMBOLS.get(named, (named,))[0],
            field=field,
            ours=ours,
        ),
        code="other_currency",
    )


def main_measure_is_known(book: Book) -> Iterator[Problem]:
    """The main measure is one that the report computes, or a column of measurements on Plants."""
    head = trial_row(book)
    name = head.text("Main measure")
    if not name:
        return
    traits = named_traits(book)
    if key_of_measure(name, traits):
        return
    if PLANTS.name in book:
        unread = book[PLANTS.name].unread
    else:
        unread = ()
    if folded(name) in map(folded, unread):
        yield _measure_without_values(head, name)
        return
    known = [*MEASURE_NAMES.values(), *(label for _, label in traits)]
    near = nearest(name, known)
    advice = _for_example(book)
    if near:
        advice = say("Did you mean {near}?", near=near)
    yield head.error(
        "Main measure",
        say('"{name}" is no measure of this workbook', name=shown(name)),
        say(
            "the name of a measure, or of a column of the sheet {plants} or {growth}",
            plants=head.sheet("Plants"),
            growth=head.sheet("Growth"),
        ),
        advice,
        code="unknown_measure",
    )


def _for_example(book: Book) -> str:
    """Return measures that may be named, by what the workbook has."""
    at_hand = measures_at_hand(book)[:2]
    if at_hand:
        return say("For example {names}.", names=either(at_hand))
    return say("Leave it blank until something is measured.")


def _measure_without_values(head: Row, name: str) -> Problem:
    return head.error(
        "Main measure",
        say(
            '"{name}" has no values on the sheet {plants}',
            name=shown(name),
            plants=head.sheet("Plants"),
        ),
        say("numbers in that column"),
        say("Fill it in, or name another main measure."),
        code="measure_without_values",
    )


def one_produce_price(book: Book) -> Iterator[Problem]:
    """The crop is sold by weight or by the piece, not both."""
    head = trial_row(book)
    if head.number_in("Produce price") is None or head.number_in("Produce price per piece") is None:
        return
    yield head.error(
        "Produce price per piece",
        say("there are two prices of the crop"),
        say("one price, per kg or per piece"),
        say("Clear the one that the crop is not sold by."),
        code="two_produce_prices",
    )


def units_serve_trays(book: Book) -> Iterator[Problem]:
    """A treatment has no more lamps, tanks or tents of its own than it has trays."""
    trays = Counter(row.text("Treatment") for row in rows_of(book, "Trays"))
    for row in rows_of(book, "Treatments"):
        count, served = row.number_in("Independent units"), trays[row.text("Treatment")]
        if count is not None and served and count > served:
            yield row.error(
                "Independent units",
                say(
                    "{count} independent units serve {served} trays",
                    count=f"{count:g}",
                    served=served,
                ),
                say("at most {served}", served=served),
                say("Count the lamps, tanks or tents that served trays of this treatment."),
                code="more_units_than_trays",
            )


def equipment_with_its_use(book: Book) -> Iterator[Problem]:
    """What has a life has hours of use, fewer than its life."""
    for row in rows_of(book, "Costs"):
        life, used = row.number_in("Life"), row.number_in("Hours used")
        if life is not None and used is not None:
            if used > life:
                yield _used_beyond_life(row, used, life)
        elif life is not None and row.raw("Hours used") is None:
            yield _without_hours_of_use(row)
        elif used is not None and row.raw("Life") is None:
            yield _without_life(row)


def _without_hours_of_use(row: Row) -> Problem:
    return row.error(
        "Hours used",
        say("{name} is not filled in yet", name=row.called("Hours used")),
        say("hours, since the item has a life"),
        say(
            "Fill it in, or clear {life} so that the trial bears the whole cost.",
            life=row.called("Life"),
        ),
        code="hours_of_use_missing",
    )


def _without_life(row: Row) -> Problem:
    return row.caution(
        "Life",
        say("{name} is not filled in", name=row.called("Life")),
        say("hours that the equipment lasts"),
        say("Without it the trial bears the whole cost. Fill it in."),
        code="life_missing",
    )


def _used_beyond_life(row: Row, used: float, life: float) -> Problem:
    return row.caution(
        "Hours used",
        say(
            "{used} h of use are more than its life of {life} h", used=f"{used:g}", life=f"{life:g}"
        ),
        say("at most {life} h", life=f"{life:g}"),
        say("Check both; as they stand the trial bears more than the whole cost."),
        code="used_beyond_life",
    )


def resolutions_of_what_is_measured(book: Book) -> Iterator[Problem]:
    """A resolution is in a unit of what the instrument measures."""
    for row in rows_of(book, "Instruments"):
        amount, measures = row.get("Resolution"), row.text("Measures")
        if isinstance(amount, Amount) and amount.unit and measures:
            try:
                conversion(amount.unit, MEASURED[measures])
            except UnitError as reason:
                yield row.error(
                    "Resolution",
                    say(
                        '"{number} {unit}" is not in a unit of {measures}',
                        number=f"{amount.number:g}",
                        unit=shown(amount.unit),
                        measures=row.word(measures),
                    ),
                    str(reason),
                    say(
                        "Type the number in {unit}.", unit=MEASURED[measures] or say("units of pH")
                    ),
                    code="unknown_unit",
                )


def photos_beside_the_workbook(
    book: Book, folder: Path | None, faults: Mapping[str, UnusablePhoto]
) -> Iterator[Problem]:
    """Yield a problem for each photo that is not in the folder of the workbook, cannot be shown, or
    is not described.

    `faults` says of photos that were looked into why they cannot be shown.
    """
    for row in rows_of(book, "Observations"):
        name = row.text("Photo")
        if name and not within(folder, name):
            yield row.error(
                "Photo",
                say('"{name}" is not in the folder of the workbook', name=shown(name)),
                say("the name of a file beside the workbook"),
                say("Copy the photo beside the workbook and type its name alone."),
                code="photo_elsewhere",
            )
        elif name:
            yield from _photo(row, name, folder, faults.get(name))


def _photo(
    row: Row, name: str, folder: Path | None, fault: UnusablePhoto | None
) -> Iterator[Problem]:
    if not is_shown(name):
        advice = say("It was left out. Save a photo of another kind as JPEG.")
        yield row.caution(
            "Photo",
            say('"{name}" is no photo', name=shown(name)),
            say("a file of {endings}", endings=", ".join(ENDINGS)),
            advice,
            code="not_a_photo",
        )
    elif folder is not None and not os.path.isfile(beside(folder, name)):
        advice = say("It was left out. Check the name, capitals included.")
        yield row.caution(
            "Photo",
            say('"{name}" is not there', name=shown(name)),
            say("a file beside the workbook"),
            advice,
            code="missing_photo",
        )
    elif fault:
        yield row.caution(
            "Photo",
            f'"{shown(name)}" {fault.found}',
            fault.expected,
            say("It was left out. {advice}", advice=fault.advice),
            code="unusable_photo",
        )
    elif not row.text("Photo description"):
        yield row.caution(
            "Photo description",
            say(
                "{name} is not filled in",
                name=row.called("Photo description"),
            ),
            say("what the photo shows, for those who cannot see it"),
            say("Fill it in."),
            code="photo_not_described",
        )
