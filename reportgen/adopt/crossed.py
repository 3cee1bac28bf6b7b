"""Trays whose codes stand under several treatments: they count anew under each, or each holds several."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Final

from reportgen.adopt.grid import one_line
from reportgen.adopt.mapping import Source, TableMapping
from reportgen.adopt.matching import meanings
from reportgen.adopt.parts import Part
from reportgen.adopt.roles import Understood
from reportgen.workbook.headers import folded

WITH_TRAYS: Final = ("Plants", "Trays", "Growth", "Solution")
JOINT: Final = " + "  # between the headers of columns that are read together


@dataclass(frozen=True)
class Crossed:
    """Tables whose trays stand under several treatments: where they are, the two headers, and a tray as an example.

    `together` says that the rows of each treatment stand together, as where its trays are counted anew.
    """

    tables: tuple[int, ...]
    treatment: str
    tray: str
    example: str
    levels: tuple[str, str]
    together: bool

    @property
    def joined(self) -> str:
        """Return both headers as a settings file joins them."""
        return f"{self.treatment}{JOINT}{self.tray}"


def crossed(tables: Sequence[TableMapping], parts: Sequence[Part]) -> Iterator[Crossed]:
    """Yield the trays of plants that stand under several treatments, with other tables under the same two headers."""
    found: dict[tuple[str, str], Crossed] = {}
    for table, part in zip(tables, parts, strict=True):
        one = _in_plants(table, part.read) if table.gives == "Plants" else None
        if one and (one.treatment, one.tray) not in found:
            found[one.treatment, one.tray] = one
    for one in found.values():
        others = (at for at, part in enumerate(parts) if tables[at].gives in WITH_TRAYS and _has_both(part.read, one))
        yield replace(one, tables=tuple(at for at in others if "Tray" in tables[at].columns))


def on_places(tables: Sequence[TableMapping], parts: Sequence[Part]) -> tuple[int, ...]:
    """Return the tables of plants on sheets named after places, such as Bench 1 and Bench 2, with the same tray codes.

    Empty where there are none: sheets named otherwise may be harvests of the same trays.
    """
    found = [at for at, table in enumerate(tables) if table.gives == "Plants" and _is_of_place(table)]
    codes = [set(parts[at].read.profile("Tray").counts) for at in found]
    again = [at for at, held in zip(found, codes, strict=True) if 2 * len(held & codes[0]) > len(held)]
    named = {tables[at].sheet for at in again}
    return tuple(again) if len(again) > 1 and len(named) == len(again) else ()


def _is_of_place(table: TableMapping) -> bool:
    of_place = {"block", "tent", "tray"} & set(meanings(table.sheet))
    told = {"Tray", "Treatment"} <= set(table.columns) and not table.columns["Tray"].codes
    return bool(of_place) and told and table.columns["Tray"].header != table.columns["Treatment"].header


def apart(table: TableMapping, one: Crossed) -> TableMapping:
    """Return a table whose trays are told by their treatment too."""
    return replace(table, columns={**table.columns, "Tray": Source(one.joined)})


def of_meters(table: TableMapping, read: Understood) -> TableMapping:
    """Return a table of meters that are told by their treatment too, where one code is read under several at a time."""
    if table.gives != "Meter" or not {"Meter", "Treatment"} <= set(table.columns):
        return table
    meter, treatment = table.columns["Meter"].header, table.columns["Treatment"].header
    moments = _values(read, table.columns["Read at"].header) if "Read at" in table.columns else []
    named = list(zip(_values(read, meter), moments, strict=True)) if moments else []
    told = set(zip(_values(read, treatment), named, strict=True)) if named else set()
    if meter == treatment or len(told) == len(set(named)):
        return table
    return replace(table, columns={**table.columns, "Meter": Source(f"{treatment}{JOINT}{meter}")})


def under_several(read: Understood, treatment: str, tray: str) -> Crossed | None:
    """Return the codes of a column that stand under several treatments, None where few or none do."""
    pairs = list(zip(_values(read, treatment), _values(read, tray), strict=True))
    held = dict.fromkeys(pair for pair in pairs if all(pair))
    counted = Counter(code for _, code in held)
    shared = [code for code, count in counted.items() if count > 1]
    smallest = min(Counter(level for level, _ in held).values(), default=0)
    if tray == treatment or len(shared) < 2 or 2 * len(shared) <= smallest:
        return None
    runs = [level for level, _ in groupby(pairs, key=lambda pair: pair[0])]
    first, second, *_ = dict.fromkeys(level for level, code in pairs if code == shared[0] and level)
    return Crossed((), treatment, tray, shared[0], (first, second), len(runs) == len(set(runs)))


def _in_plants(table: TableMapping, read: Understood) -> Crossed | None:
    if not {"Tray", "Treatment"} <= set(table.columns) or table.columns["Tray"].codes:
        return None
    return under_several(read, table.columns["Treatment"].header, table.columns["Tray"].header)


def _has_both(read: Understood, one: Crossed) -> bool:
    named = list(map(folded, read.table.headers.values()))
    return all(named.count(folded(text)) == 1 for text in (one.treatment, one.tray))


def _values(read: Understood, header: str) -> list[str]:
    """Return the texts of a column, blank cells below a label with the label."""
    column = next((at for at, text in read.table.headers.items() if text == header), 0)
    held = list(map(one_line, read.table.values(column))) if column else [""] * len(read.table.rows)
    for at, text in enumerate(held):
        held[at] = text or (held[at - 1] if at else "")
    return held
