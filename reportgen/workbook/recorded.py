"""What a workbook has records of: plants, weights, and whether anything was measured at all."""

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
    """Return the column of Plants that weighs the harvest: fresh weight, else dry weight; empty for
    none.
    """
    if PLANTS.name not in book:
        return ""
    return next((name for name in WEIGHTS if is_in_use(book[PLANTS.name], name)), "")


def judged_column(book: Book) -> Column | None:
    """Return the column of Plants whose single plants are compared: a weight, else the first
    measure with a unit.

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
    found: list[str] = []
    if weight_in_use(book) == FRESH_WEIGHT or has_weighed_pickings(book):
        found += [MEASURE_NAMES["yield_per_plant_started"], MEASURE_NAMES["fresh_weight"]]
    elif weight_in_use(book) == DRY_WEIGHT:
        found += [MEASURE_NAMES["yield_per_plant_started_dry"], DRY_WEIGHT]
    for sheet in (PLANTS, GROWTH):
        found += [
            trait.label
            for trait in _traits(book, sheet)
            if is_in_use(book[sheet.name], trait.label)
        ]
    for sheet_name, key in (("Solution", "water_use"), ("Meter", "energy_use")):
        if sheet_name in book and book[sheet_name].numbers:
            found.append(MEASURE_NAMES[key])
    return list(dict.fromkeys(found))


def records_of_plants(book: Book) -> list[Row]:
    """Return the rows of Plants, none where the sheet is no more than a list of plants that nothing
    was recorded of.

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
    listed: dict[str, int] = {}
    for row in rows:
        listed[row.text("Tray")] = listed.get(row.text("Tray"), 0) + number_weighed(row)
    return any(
        listed.get(row.text("Tray"), 0) < (row.number_in("Plants started") or 0)
        for row in book["Trays"].rows()
    )


def something_measured(book: Book) -> Iterator[Problem]:
    """A report needs one thing that was measured."""
    if any(_has_faults(table) for table in book.values()):
        return  # what it lacks may stand in these cells
    if records_of_plants(book) or any(
        _has_measurements(book[name]) for name in MEASURED_ON if name in book
    ):
        return
    table = book.get(PLANTS.name)
    words = next((known.words for known in book.values()), ENGLISH)
    plants = words.sheet_name(PLANTS.name)
    others = either([words.sheet_name(name) for name in RECORDED_ON])
    yield Problem(
        Severity.ERROR,
        table.title if table else PLANTS.name,
        table.where(FRESH_WEIGHT) if table else "",
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
