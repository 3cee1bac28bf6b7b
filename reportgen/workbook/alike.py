"""Codes that no sheet lists, so that a slip makes a new one: those that stand once and are near another."""

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from reportgen.model.problem import Problem
from reportgen.workbook.book import Book
from reportgen.workbook.declaration import Kind
from reportgen.workbook.table import Row, Table
from reportgen.workbook.values import shown

NUMBERED: Final = re.compile(r"\d+")
FEWEST_SIGNS: Final = 4  # of a code in which one sign may be another by mistake; in A1 and B1 it tells them apart


def codes_typed_otherwise(book: Book) -> Iterator[Problem]:
    """A code that groups rows is spelt the same way in all of them."""
    for table in book.values():
        for column in table.sheet.columns:
            groups = column.kind is Kind.CODE and not column.refers and column.name not in table.sheet.key
            if groups and column.name in table.letters:
                yield from _slips(table, column.name)


def _slips(table: Table, name: str) -> Iterator[Problem]:
    rows: dict[str, list[Row]] = defaultdict(list)
    for row in table.rows():
        if row.text(name):
            rows[row.text(name)].append(row)
    for code, found in rows.items():
        meant = _meant(code, rows)
        if meant:
            first = rows[meant][0]
            yield found[0].caution(
                name,
                f'"{shown(code)}" {_often(found)}, and is nearly "{shown(meant)}" in {first.cell(name)}',
                "each code spelt the same way",
                f"If {shown(meant)} was meant, type that. Otherwise leave it: it was used as it stands.",
            )


def _often(rows: Sequence[Row]) -> str:
    return "stands here only" if len(rows) == 1 else f"stands in {len(rows)} cells"


def _meant(code: str, rows: Mapping[str, Sequence[Row]]) -> str:
    """Return the code that was probably meant, empty where none was: a commoner one, or one that differs in capitals.

    A code that stands as often as all others is no slip.
    """
    commoner = [other for other in rows if len(rows[other]) > len(rows[code])]
    for other in commoner:
        if other.casefold() == code.casefold():
            return other
    near = [other for other in commoner if len(rows[code]) == 1 and _are_near(code.casefold(), other.casefold())]
    return max(near, key=lambda other: len(rows[other]), default="")


def _are_near(code: str, other: str) -> bool:
    """Tell whether a slip of one sign makes one of the codes of the other; numbers and single letters count on."""
    from rapidfuzz.distance import OSA

    if NUMBERED.sub("", code) == NUMBERED.sub("", other) or OSA.distance(code, other, score_cutoff=1) > 1:
        return False
    if len(code) != len(other):
        return True
    places = [at for at, (sign, meant) in enumerate(zip(code, other, strict=True)) if sign != meant]
    is_series = len(places) == 1 and _is_alone(code, places[0]) and _is_alone(other, places[0])
    return len(code) >= FEWEST_SIGNS and not is_series


def _is_alone(code: str, at: int) -> bool:
    """Tell whether the sign at a place is a letter by itself, as in shelf A."""
    around = code[max(at - 1, 0) : at] + code[at + 1 : at + 2]
    return not any(sign.isalpha() for sign in around)
