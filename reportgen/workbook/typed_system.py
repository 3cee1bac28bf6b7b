"""Which system of units a workbook was typed in: metric, or that of the United States."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from math import isclose, log10
from typing import Final

from reportgen.model.trial import System
from reportgen.workbook.book import Book
from reportgen.workbook.table import INVALID, Table
from reportgen.workbook.units import UnitError, conversion, is_imperial
from reportgen.workbook.values import NUMBER

# The units that quantities with two systems are kept in. The first of them that was typed decides:
# every figure of a crop is a weight or by weight.
QUANTITIES: Final = {
    "g": "weight",
    "L": "volume",
    "cm": "length",
    "°C": "temperature",
    "m2": "area",
}


def system_of(book: Book) -> System:
    """Return the system that a workbook's weights were typed in.

    Without weights it is that of volumes, then of lengths, temperatures and areas. A quantity is of
    the system that most of its columns name, metric where both are as many.
    """
    columns: defaultdict[str, Counter[System]] = defaultdict(Counter)
    for table in book.values():
        for quantity, system in _columns(table):
            columns[quantity][system] += 1
    for quantity in QUANTITIES.values():
        if quantity in columns:
            return _most(columns[quantity])
    return "metric"


def _most(counted: Counter[System]) -> System:
    if counted["us"] > counted["metric"]:
        return "us"
    return "metric"


def _columns(table: Table) -> Iterator[tuple[str, System]]:
    """Yield quantity and system of each column with numbers."""
    for column in table.sheet.columns:
        quantity = QUANTITIES.get(column.unit)
        values = table.columns.get(column.name, ())
        if quantity is None or not _has_numbers(values):
            continue
        system = _system(_unit_typed(table, column.name) or column.unit, column.unit)
        if system is not None:
            yield quantity, system


def _has_numbers(values: tuple[object, ...]) -> bool:
    return any(value is not None and value is not INVALID for value in values)


def _unit_typed(table: Table, name: str) -> str:
    """Return the unit of the first cell of a column that names one, else that in its header."""
    for text in table.typed.get(name, {}).values():
        unit = _unit_in(text)
        if unit:
            return unit
    return table.units.get(name, "")


def _unit_in(text: str) -> str:
    found = NUMBER.fullmatch(text)
    if found is None:
        return ""
    return found[2]


def _system(unit: str, kept: str) -> System | None:
    """Return the system of a unit, None for one of neither, such as an imperial gallon.

    Metric units of a quantity differ by powers of ten, so whatever else converts is of the other.
    """
    try:
        factor, _ = conversion(unit, kept)
    except UnitError:
        return None
    if is_imperial(unit):
        return None
    power = log10(abs(factor))
    if isclose(power, round(power), abs_tol=1e-9):
        return "metric"
    return "us"
