"""Errors that no reader of a spreadsheet sees and every figure shows: each a check of its own."""

import math
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING, Final

from reportgen.adopt.beyond import fields_beyond_the_header, rows_below_the_range, rows_read_twice
from reportgen.adopt.bulk import plants_in_ranges, rows_of_several_plants, words_among_numbers
from reportgen.adopt.columns import NUMBERS, WEIGHED, column_called, kind_of
from reportgen.adopt.derived import code_of
from reportgen.adopt.grid import one_line
from reportgen.adopt.moved import has_moved, moved, not_noted
from reportgen.adopt.numbers import TextNumbers, are_thousands_or_decimals, point_texts
from reportgen.adopt.several_crops import crops_read_together
from reportgen.adopt.several_days import trays_without_the_last_day
from reportgen.adopt.several_plants import weights_of_several_plants, weights_that_stand_once_a_tray
from reportgen.adopt.suspect import (
    USED,
    Check,
    Number,
    Suspect,
    measured,
    numbers_of,
    quantities,
    tables_of,
    treatments_of_rows,
)
from reportgen.adopt.taken import DATES, Taken
from reportgen.adopt.toml_lines import at_line
from reportgen.adopt.totals import totals
from reportgen.adopt.weighed_whole import counts_of_plants_left_out, pots_of_untold_plants
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.dates import DAY_OR_MONTH, TextDates
from reportgen.workbook.declaration import PLANTS, SOLUTION, TRAYS
from reportgen.workbook.headers import nearest
from reportgen.workbook.raw import Value
from reportgen.workbook.values import blank, quoted, shown

if TYPE_CHECKING:
    from reportgen.adopt.apply import Adopted

FEWEST: Final = 4  # values of a treatment that tell what is usual in it
SPREAD: Final = 0.75  # a power of ten: within a factor of 5.6 of the median plants of one treatment differ by growth
LARGER, SMALLER = 2, 4  # times the largest, parts of the smallest of the others: small plants are commoner than giants
SLACK: Final = 1.25
NEAR_POWER: Final = 0.25  # of log10: medians of two groups in two units differ by growth and by dilution too
GAP: Final = 0.6  # of log10 between two groups in two units
ROOMS: Final = re.compile(
    r"(?i)\b(?:room|tent|chamber|cabinet|greenhouse|house|shelf|rack|bay|bench|zone|date|day|run|batch|raum|zelt|kammer"
    r"|datum|tag|salle|chambre|sala|fecha|data)\b"
)


def silent_problems(adopted: "Adopted") -> tuple[tuple[Suspect, ...], tuple[Problem, ...]]:
    """Return the suspicious cells of a taken-in workbook, and an error for each table whose owner must say more."""
    runs = ((adopted, CHECKS), (replace(adopted, tables=adopted.joined), CHECKS_BESIDE))
    every = (suspect for made, checks in runs for check in checks for suspect in check(made))
    said = (one for one in every if not (one.is_slip and one.is_confirmed))
    found = tuple(one for one in said if not (one.waits and has_moved(one.table)))  # of rows that moved it says that
    return found, tuple(_waiting(adopted, found))


def _waiting(adopted: "Adopted", found: Sequence[Suspect]) -> Iterator[Problem]:
    by_table: dict[int, list[Suspect]] = defaultdict(list)
    for one in found:
        if one.waits and not one.is_confirmed:
            by_table[one.table.index].append(one)
    for index, waiting in sorted(by_table.items()):
        cells = ", ".join(dict.fromkeys(one.cell for one in waiting))
        rows = ", ".join(str(row) for row in sorted({one.row for one in waiting}))
        cell = waiting[0].cell
        yield at_line(
            adopted.adoption,
            f"table.{index}",
            f"{cells} look{'s' * (len(waiting) == 1)} wrong, and the report waits for your word",
            f'exclude_rows = [{rows}], corrected = {{ {cell} = ... }} or confirmed = ["{cell}"]',
            "Write in this table what holds: leave the rows out, give the right value, or say that it is right.",
        )


# --- sizes


def slipped_decimals(adopted: "Adopted") -> Iterator[Suspect]:
    """A value of a plant is about ten, a hundred or a thousand times what its treatment has, or that part of it."""
    for table in tables_of(adopted, PLANTS.name):
        treatments = treatments_of_rows(adopted, table)
        for name in quantities(table):
            groups: dict[str, list[Number]] = defaultdict(list)
            for one in numbers_of(table, name):
                groups[treatments[one.index]].append(one)
            for treatment, held in groups.items():
                yield from _slipped(table, name, treatment, held)


def _slipped(table: Taken, name: str, treatment: str, held: Sequence[Number]) -> Iterator[Suspect]:
    positive = [one.value for one in held if one.value > 0]
    middle = median(positive) if positive else 0.0
    usual = [value for value in positive if abs(math.log10(value / middle)) < SPREAD]
    if len(usual) < FEWEST:
        return
    low, high = min(usual), max(usual)
    for one in held:
        power = _power(one.value, low, high)
        if power:
            times = f"{10**power:,} times" if power > 0 else f"a {10**-power:,}th of"
            yield Suspect(
                table,
                name,
                one.row,
                f"{one.value:g} is about {times} what {treatment or 'the table'} has otherwise",
                f"a value near {middle:.3g}, as {one.value / 10**power:g} would be",
                f"Look for a slipped decimal point. {USED}",
                waits=name in WEIGHED,
                is_slip=True,
            )


def _power(value: float, low: float, high: float) -> int:
    """Return by which power of ten a value is off the range of the others, 0 where it is not."""
    if value <= 0 or low / SMALLER <= value <= high * LARGER:
        return 0
    power = round(math.log10(value / math.sqrt(low * high)))
    return power if low / SLACK <= value / 10.0**power <= high * SLACK else 0


def points_that_may_part_thousands(adopted: "Adopted") -> Iterator[Suspect]:
    """A text such as 1.050 is a thousand among whole numbers near it; beside decimal commas it may be one."""
    for table in adopted.tables:
        names = [name for name in table.letters if kind_of(table.mapping.gives, name) in NUMBERS]
        held = {name: [table.grid.value(row, table.letters[name]) for row in table.lines.numbers] for name in names}
        commas = any(TextNumbers.of(values).decimal_comma for values in held.values())
        for name, values in held.items():
            numbers = TextNumbers.of(values)
            waits = commas and are_thousands_or_decimals(values)
            if waits or (numbers.thousands_point and not numbers.decimal_comma):
                yield _pointed(table, name, values, waits=waits)


def _pointed(table: Taken, name: str, values: Sequence[Value], *, waits: bool) -> Suspect:
    at = next(at for at, value in enumerate(values) if point_texts([value]))
    text = one_line(values[at])
    row, whole = table.lines.numbers[at], text.replace(".", "")
    if waits:
        said = f'"{shown(text)}" is read as {float(text):g}, but may be a thousand: other columns have decimal commas'
        advice = f"Where it is {whole}, type the numbers of this column without the point; else confirm the cell."
        return Suspect(table, name, row, said, "one decimal sign in a table", advice, waits=True)
    said = f'"{shown(text)}" is read as {whole}, since the others are whole numbers of that size'
    advice = f"Where it is {float(text):g}, give the right value under corrected."
    return Suspect(table, name, row, said, "numbers without a point between their thousands", advice)


def two_units_of_ec(adopted: "Adopted") -> Iterator[Suspect]:
    """The conductivities of one column fall into two groups, one a thousand or ten times the other."""
    for table in tables_of(adopted, SOLUTION.name):
        held = sorted((one for one in numbers_of(table, "EC") if one.value > 0), key=lambda one: one.value)
        gaps = [math.log10(high.value / low.value) for low, high in pairwise(held)]
        if not gaps or max(gaps) < GAP:
            continue
        at = gaps.index(max(gaps)) + 1
        low, high = held[:at], held[at:]
        times = math.log10(median(one.value for one in high) / median(one.value for one in low))
        power = next((power for power in (1, 3) if abs(times - power) < NEAR_POWER), 0)
        if power and min(len(low), len(high)) > 1:
            few = min(low, high, key=len)
            first = min(few, key=lambda one: one.row)
            yield Suspect(
                table,
                "EC",
                first.row,
                f"{first.value:g} and {len(few) - 1} more are about {10**power:,} times off the others",
                "one unit in a column: mS/cm is 1,000 µS/cm",
                f"Give the cells the unit that they are in, as 1600 µS/cm. {USED}",
                waits=power == 3,
            )


# --- what is there and what is not


def weights_that_are_none(adopted: "Adopted") -> Iterator[Suspect]:
    """A blank or a 0 among weights: nothing says whether the plant was lost or not weighed."""
    for table in tables_of(adopted, PLANTS.name):
        if "Fresh weight" not in table.letters:
            continue
        status = table.lines.columns.get("Status", (None,) * len(table.lines.numbers))
        held = zip(table.lines.numbers, table.lines.columns["Fresh weight"], status, strict=True)
        for row, value, said in held:
            place = row, table.letters["Fresh weight"]
            none = (blank(value) and place not in table.raw.uncomputed) or value in (0, "0")
            if none and not said:
                word, what = ("", "a blank") if blank(value) else ("0", "a 0")
                yield Suspect(
                    table,
                    "Fresh weight",
                    row,
                    f"{what} stands for the fresh weight",
                    f"a weight, or a word on what {what} means",
                    f'In {adopted.adoption.name} write "{word}" in lost where such plants died, in missing where they '
                    f"were not weighed.",
                    severity=Severity.ERROR,
                )


def numbers_made_dates(adopted: "Adopted") -> Iterator[Suspect]:
    """Numbers such as 4.3 that the spreadsheet took for dates, in a measurement of the owner's own."""
    for table, name in measured(adopted):
        held = zip(table.lines.numbers, table.lines.columns[name], strict=True)
        dates = [(row, value) for row, value in held if isinstance(value, datetime)]
        if dates and column_called(table.mapping.gives, name) is None:
            more = f" and {len(dates) - 1} more" if len(dates) > 1 else ""
            yield Suspect(
                table,
                name,
                dates[0][0],
                f"{quoted(dates[0][1])}{more} is a date, not a number",
                f"numbers of {name}",
                "The spreadsheet took numbers such as 4.3 for dates: type them again, or leave the column out.",
                severity=Severity.ERROR,
            )


def zeros_among_numbers(adopted: "Adopted") -> Iterator[Suspect]:
    """A 0 among the sizes of plants: nothing there, or nothing measured."""
    for table, name in measured(adopted):
        held = numbers_of(table, name)
        zeros = [one for one in held if one.value == 0]
        if name != "Fresh weight" and zeros and len(zeros) < len(held):
            yield Suspect(
                table,
                name,
                zeros[0].row,
                f"0{f' here and in {len(zeros) - 1} more rows' if len(zeros) > 1 else ''} among the values of {name}",
                "a measured value, or a word for none",
                f'Where it means "not measured" write "0" in missing of {adopted.adoption.name}. {USED}',
            )


def labels_below_a_blank_row(adopted: "Adopted") -> Iterator[Suspect]:
    """A column that is filled down has nothing below a blank row: the label above it may not hold there."""
    for table in adopted.tables:
        named = {at for text in table.mapping.fill_down for at in table.grid.columns_named(text)}
        for name, at in table.letters.items():
            if at not in named or kind_of(table.mapping.gives, name) in DATES:
                continue
            for row, value in zip(table.lines.numbers, table.lines.columns[name], strict=True):
                if blank(one_line(table.grid.value(row, at))) and blank(value):
                    yield Suspect(
                        table,
                        name,
                        row,
                        f"{name} is blank below a blank row",
                        "its value in the first row of a group",
                        "What stands above the blank row was not carried over it. Write it here.",
                        severity=Severity.ERROR,
                    )
                    break


# --- codes


def ids_that_are_numbers(adopted: "Adopted") -> Iterator[Suspect]:
    """A number such as 1.1 stands again behind 1.9: it was probably typed as 1.10."""
    for table in tables_of(adopted, PLANTS.name, TRAYS.name):
        for name in ("Tray", "Plant"):
            at = table.mapping.columns.get(name)
            found = table.grid.columns_named(at.header) if at else ()
            yield from _decimal_ids(table, name, found[0]) if found else ()


def _decimal_ids(table: Taken, name: str, at: int) -> Iterator[Suspect]:
    last: float | None = None
    seen: set[float] = set()
    for row in table.lines.numbers:
        value = table.grid.value(row, at)
        if not isinstance(value, float) or table.raw.formats.get((row, at), "General") != "General":
            last = None
            continue
        again = value in seen and last is not None and value != last
        if again and round(value % 1, 6) == 0.1 and last is not None and round(last - value, 6) == 0.8:
            yield Suspect(
                table,
                name,
                row,
                f'"{value:g}" stands again behind "{last:g}"',
                f'"{value:g}0", kept as text',
                "A spreadsheet makes 1.1 of 1.10, so that two names become one.",
                waits=True,
            )
        seen.add(value)
        last = value


def ids_in_two_trays(adopted: "Adopted") -> Iterator[Suspect]:
    """Plants are numbered through all trays, and one number stands in two of them."""
    for table in tables_of(adopted, PLANTS.name):
        source = table.mapping.columns.get("Plant")
        columns = table.grid.columns_named(source.header) if source else ()
        if not columns or "Tray" not in table.mapping.columns:
            continue
        tray_at = table.grid.columns_named(table.mapping.columns["Tray"].header)[0]
        trays: dict[str, dict[str, int]] = defaultdict(dict)
        tray = ""
        for row in table.lines.numbers:
            tray = one_line(table.grid.value(row, tray_at)) or tray
            if plant := one_line(table.grid.value(row, columns[0])):
                trays[plant].setdefault(tray, row)
        twice = {plant: found for plant, found in trays.items() if len(found) > 1}
        if len(trays) >= 5 and len(twice) * 5 <= len(trays):
            yield from (_in_two(table, plant, found) for plant, found in twice.items())


def _in_two(table: Taken, plant: str, trays: Mapping[str, int]) -> Suspect:
    first, second = list(trays)[:2]
    return Suspect(
        table,
        "Plant" if table.letters.get("Plant") else "Tray",
        trays[second],
        f'plant "{shown(plant)}" stands in tray "{shown(first)}" and in tray "{shown(second)}"',
        "each plant in one tray, since the others are numbered through all trays",
        f"Check which of the two it is. {USED}",
    )


def trays_on_several_sheets(adopted: "Adopted") -> Iterator[Suspect]:
    """Trays, or the plants in them that have numbers, stand on several sheets: other ones, or the same cut again."""
    seen: dict[tuple[str, str], Taken] = {}
    for table in tables_of(adopted, PLANTS.name):
        for index, row in enumerate(table.lines.numbers):
            tray = code_of(table, index, "Tray").casefold()
            plant = code_of(table, index, "Plant").casefold() if "Plant" in table.mapping.columns else ""
            first = seen.setdefault((tray, plant), table)
            if tray and first.place != table.place:
                yield Suspect(
                    table,
                    "Tray",
                    row,
                    f'tray "{shown(tray)}"{f", plant {shown(plant)}," if plant else ""} stands on {first.place} too',
                    "each plant once",
                    f"Where the same plants were cut again add up their cuts, one row a plant: each counts as a plant "
                    f"here. {USED}",
                )
                break


def trays_that_count_anew(adopted: "Adopted") -> Iterator[Suspect]:
    """Trays or pots stand under several treatments in groups of rows: they are taken for different ones."""
    for table in tables_of(adopted, PLANTS.name):
        source = table.mapping.columns.get("Tray")
        if not source or source.codes or "Treatment" not in table.mapping.columns or table.grid.joined(source.header):
            continue
        at = table.grid.columns_named(source.header)[0]
        for index, row in enumerate(table.lines.numbers):
            text = one_line(table.grid.value(row, at))
            named = f"{code_of(table, index, 'Treatment')}-{text}"
            if text and code_of(table, index, "Tray").startswith(named):
                yield _anew(table, row, text, named)
                break


def _anew(table: Taken, row: int, text: str, named: str) -> Suspect:
    said = f'"{shown(text)}" and others of {table.mapping.columns["Tray"].header} count anew under each treatment'
    advice = f'They are taken for different ones, as "{shown(named)}"; give those that are shared codes of their own.'
    return Suspect(table, "Tray", row, said, "each tray or pot under one treatment", advice)


def misspelt_treatments(adopted: "Adopted") -> Iterator[Suspect]:
    """A treatment that stands in one row is nearly spelt like another."""
    places: dict[str, list[tuple[Taken, int]]] = defaultdict(list)
    for table in tables_of(adopted, PLANTS.name, TRAYS.name):
        for index, row in enumerate(table.lines.numbers if "Treatment" in table.lines.columns else ()):
            places[code_of(table, index, "Treatment")].append((table, row))
    for code, held in places.items():
        others = [other for other in places if other and other.casefold() != code.casefold() and len(places[other]) > 2]
        near = nearest(code, others) if code and len(held) == 1 else ""
        if near and re.sub(r"\d", "", near) != re.sub(r"\d", "", code):
            table, row = held[0]
            yield Suspect(
                table,
                "Treatment",
                row,
                f'"{shown(code)}" stands in one row only',
                f'"{shown(near)}", if that was meant',
                f'Give it under treatment, as {{ "{shown(code)}" = "{shown(near)}" }}, or confirm it.',
                waits=True,
            )


# --- dates


def mixed_date_orders(adopted: "Adopted") -> Iterator[Suspect]:
    """A column of dates has both orders, be it that the spreadsheet read those it could in its own."""
    for table in adopted.tables:
        for name, at in table.letters.items():
            if at and kind_of(table.mapping.gives, name) in DATES:
                values = [(row, table.grid.value(row, at)) for row in table.lines.numbers]
                yield from _mixed(table, name, values)


def _mixed(table: Taken, name: str, values: Sequence[tuple[int, Value]]) -> Iterator[Suspect]:
    texts = [value.strip() for _, value in values if isinstance(value, str) and DAY_OR_MONTH.fullmatch(value.strip())]
    order = TextDates.of(texts)
    read = [(row, value) for row, value in values if isinstance(value, datetime)]
    if order.mixed:
        row, text = next((row, value) for row, value in values if isinstance(value, str))
        said = f"{quoted(text)} and others of {name} have both orders of day and month"
        yield Suspect(table, name, row, said, "one order in a column", f"Write year-month-day. {USED}")
    elif order.day_first is not None and read and all(value.day <= 12 for _, value in read):
        row, value = read[0]
        said = f"{quoted(value)} is a date, while {quoted(texts[0])} was left as text"
        yield Suspect(
            table,
            name,
            row,
            said,
            "dates that the spreadsheet read in the order in which they were typed",
            "It may have exchanged day and month where both are 12 at most: check these rows.",
            waits=True,
        )


# --- design


def treatments_in_one_place(adopted: "Adopted") -> Iterator[Suspect]:
    """Each treatment stood in a room, or on a day, of its own: the two cannot be told apart."""
    for table in tables_of(adopted, PLANTS.name, TRAYS.name):
        treatments = treatments_of_rows(adopted, table)
        taken = {table.letters.get(name) for name in ("Treatment", "Tray", "Plant")}
        for at, text in table.grid.headers.items():
            if at in taken or not ROOMS.search(text.replace("_", " ")):
                continue
            pairs = {
                (one_line(table.grid.value(row, at)), treatment)
                for row, treatment in zip(table.lines.numbers, treatments, strict=True)
            }
            places, codes = ({pair[side] for pair in pairs} for side in (0, 1))
            if len(codes) > 1 and "" not in places | codes and len(pairs) == len(places) == len(codes):
                yield _in_one_place(table, at, text, sorted(pairs))


def _in_one_place(table: Taken, at: int, text: str, pairs: Sequence[tuple[str, str]]) -> Suspect:
    from dataclasses import replace

    known = next((name for name, stands in table.letters.items() if stands == at), text)
    named = replace(table, letters={**table.letters, known: at})
    listed = ", ".join(f'"{shown(treatment)}" in "{shown(place)}"' for place, treatment in pairs)
    return Suspect(
        named,
        known,
        table.grid.header[-1],
        f"each treatment has a {shown(text)} of its own: {listed}",
        "each treatment in several of them",
        "What the place or day did and what the treatment did cannot be told apart; say so in the report.",
    )


CHECKS_BESIDE: Final[tuple[Check, ...]] = (  # of measurements that were joined to the plants of another table
    moved,
    not_noted,
    slipped_decimals,
    points_that_may_part_thousands,
    numbers_made_dates,
)
CHECKS: Final[tuple[Check, ...]] = (
    moved,
    not_noted,
    totals,
    slipped_decimals,
    points_that_may_part_thousands,
    two_units_of_ec,
    weights_that_are_none,
    numbers_made_dates,
    zeros_among_numbers,
    counts_of_plants_left_out,
    pots_of_untold_plants,
    rows_of_several_plants,
    plants_in_ranges,
    crops_read_together,
    words_among_numbers,
    weights_of_several_plants,
    weights_that_stand_once_a_tray,
    labels_below_a_blank_row,
    rows_below_the_range,
    rows_read_twice,
    fields_beyond_the_header,
    ids_that_are_numbers,
    ids_in_two_trays,
    trays_on_several_sheets,
    trays_that_count_anew,
    trays_without_the_last_day,
    misspelt_treatments,
    mixed_date_orders,
    treatments_in_one_place,
)
