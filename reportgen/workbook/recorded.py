"""What a workbook has records of: plants, weights, and whether anything was measured at all."""

from collections import Counter
from collections.abc import Iterator
from typing import Final

from reportgen import language
from reportgen.language import either, say
from reportgen.model.measure_names import LAST, LAST_MEASURED, MEASURE_NAMES
from reportgen.model.problem import Problem, Severity
from reportgen.model.trial import Trait
from reportgen.workbook.book import Book, flawed, rows_of
from reportgen.workbook.declaration import GROWTH, PLANTS, Column, Kind, Sheet
from reportgen.workbook.pickings import has_weighed_pickings
from reportgen.workbook.table import INVALID, Row, Table, number_weighed
from reportgen.workbook.vocabulary import ENGLISH

FRESH_WEIGHT: Final = "Fresh weight"
DRY_WEIGHT: Final = "Dry weight"
WEIGHTS: Final = (FRESH_WEIGHT, DRY_WEIGHT)  # the first that a workbook has stands for its harvest
SAYS_OF_A_PLANT: Final = ("Status", "Plants weighed")  # beside what was measured on it
# Sheets that are all measurements.
RECORDED_ON: Final = ("Growth", "Harvests", "Solution", "Meter", "Loads")
MEASURED_ON: Final = (*RECORDED_ON, "Light", "Climate")


def is_in_use(table: Table, name: str) -> bool:
    """Return whether a column holds anything, be it a value with a problem."""
    return any(value is not None for value in table.columns.get(name, ()))


def weight_in_use(book: Book) -> str:
    """Return the column of Plants that weighs the harvest, fresh or dry; empty for none."""
    if PLANTS.name not in book:
        return ""
    return next((name for name in WEIGHTS if is_in_use(book[PLANTS.name], name)), "")


def judged_column(book: Book) -> Column | None:
    """Return the column that compares single plants: a weight, else the first with a unit.

    Counts have no unit and are left out: most plants share a few numbers.
    """
    weight = weight_in_use(book)
    if weight:
        return PLANTS.column(weight)
    if PLANTS.name not in book:
        return None
    for trait in book[PLANTS.name].traits:
        if trait.unit and is_in_use(book[PLANTS.name], trait.label):
            return Column(trait.label, Kind.NUMBER, unit=trait.unit, trait=True)
    return None


def named_traits(book: Book) -> list[tuple[str, str]]:
    """Return the key and the label of each further measurement of plants.

    A measurement of Growth that Plants does not have is the measure of its last day, by either
    name.
    """
    of_plants = _traits(book, PLANTS)
    harvested = {trait.key for trait in of_plants}
    found = [(trait.key, trait.label) for trait in of_plants]
    for trait in _traits(book, GROWTH):
        if trait.key not in harvested and not trait.is_score:
            key = f"{LAST}_{trait.key}"
            found += [
                (key, trait.label),
                (key, language.OF_TRAITS[LAST_MEASURED].format(trait=trait.label)),
            ]
    return found


def _traits(book: Book, sheet: Sheet) -> tuple[Trait, ...]:
    if sheet.name in book:
        return book[sheet.name].traits
    return ()


def measures_at_hand(book: Book) -> list[str]:
    """Return the names of measures that a workbook has values of, those of the crop first."""
    names = _measures_of_yield(book)
    for sheet in (PLANTS, GROWTH):
        labels = [trait.label for trait in _traits(book, sheet)]
        names += [label for label in labels if is_in_use(book[sheet.name], label)]
    for sheet_name, key in (("Solution", "water_use"), ("Meter", "energy_use")):
        if sheet_name in book and book[sheet_name].numbers:
            names.append(MEASURE_NAMES[key])
    return list(dict.fromkeys(names))


def _measures_of_yield(book: Book) -> list[str]:
    weight = weight_in_use(book)
    if weight == FRESH_WEIGHT or has_weighed_pickings(book):
        return [MEASURE_NAMES["yield_per_plant_started"], MEASURE_NAMES["fresh_weight"]]
    if weight == DRY_WEIGHT:
        return [MEASURE_NAMES["yield_per_plant_started_dry"], DRY_WEIGHT]
    return []


def records_of_plants(book: Book) -> list[Row]:
    """Return the rows of Plants; none where the sheet is only a list of plants.

    A list says something where a plant has a value or a status, where it lacks plants that a tray
    was started with, and where pickings were weighed, which these plants bore.
    """
    rows = list(rows_of(book, PLANTS.name))
    if (
        not rows
        or has_weighed_pickings(book)
        or _says_something(book[PLANTS.name])
        or _lacks_plants(book, rows)
    ):
        return rows
    return []


def _says_something(table: Table) -> bool:
    measured = [FRESH_WEIGHT, *(trait.label for trait in table.traits)]
    return any(is_in_use(table, name) for name in (*SAYS_OF_A_PLANT, *measured))


def _lacks_plants(book: Book, rows: list[Row]) -> bool:
    """Return whether a tray has fewer plants on the list than it was started with."""
    if flawed(book, "Trays", "Tray", "Plants started") or flawed(book, PLANTS.name, "Tray"):
        return False
    numbers: Counter[str] = Counter()
    for row in rows:
        numbers[row.text("Tray")] += number_weighed(row)
    for row in book["Trays"].rows():
        started = row.number_in("Plants started") or 0
        if numbers[row.text("Tray")] < started:
            return True
    return False


def _has_measurements_on_sheets(book: Book) -> bool:
    tables = [book[name] for name in MEASURED_ON if name in book]
    return any(map(_has_measurements, tables))


def something_measured(book: Book) -> Iterator[Problem]:
    """A report needs one thing that was measured."""
    if any(_has_faults(table) for table in book.values()):
        return  # what it lacks may stand in these cells
    if records_of_plants(book) or _has_measurements_on_sheets(book):
        return
    title, cells = PLANTS.name, ""
    if PLANTS.name in book:
        table = book[PLANTS.name]
        title, cells = table.title, table.where(FRESH_WEIGHT)
    words = next((table.words for table in book.values()), ENGLISH)
    plants = words.sheet_name(PLANTS.name)
    others = either([words.sheet_name(name) for name in RECORDED_ON])
    yield Problem(
        Severity.ERROR,
        title,
        cells,
        say("nothing has been measured yet"),
        say(
            "one measurement at least: a weight, a height, a count, a status, a volume or a"
            " meter reading"
        ),
        say("Fill in a column of {plants}, or rows of {others}.", plants=plants, others=others),
        code="nothing_measured",
    )


def _has_measurements(table: Table) -> bool:
    """Return whether a sheet has rows; those of Growth need a value too."""
    if table.sheet is not GROWTH:
        return bool(table.numbers)
    return any(is_in_use(table, trait.label) for trait in table.traits)


def _has_faults(table: Table) -> bool:
    return any(INVALID in values for values in table.columns.values())
