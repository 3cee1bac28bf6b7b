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

# The units that quantities with two systems are kept in, by quantity.
QUANTITIES: Final = {
    "g": "weight",
    "L": "volume",
    "cm": "length",
    "m2": "area",
    "°C": "temperature",
}
FIRST: Final = "weight"  # settles a tie: every figure of a crop is a weight or by weight


def system_of(book: Book) -> System:
    """Return the system that most quantities of a workbook were typed in; a tie goes by weight.

    A quantity, such as volume, is of the system that most of its columns name. Metric where
    nothing tells.
    """
    columns: defaultdict[str, Counter[System]] = defaultdict(Counter)
    for table in book.values():
        for quantity, system in _columns(table):
            columns[quantity][system] += 1
    systems = {quantity: _most(counted, "metric") for quantity, counted in columns.items()}
    return _most(Counter(systems.values()), systems.get(FIRST, "metric"))


def _most(counted: Counter[System], otherwise: System) -> System:
    """Return the system that is counted more often, `otherwise` where both are as often."""
    us, metric = counted["us"], counted["metric"]
    if us == metric:
        return otherwise
    if us > metric:
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
    """Return the unit in the header of a column, else that of its first cell that names one."""
    texts = (found for text in table.typed.get(name, {}).values() if (found := _unit_in(text)))
    return table.units.get(name) or next(texts, "")


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
