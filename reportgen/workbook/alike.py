"""Find codes that stand once and are near another, where no sheet lists the codes."""

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from reportgen.language import say
from reportgen.model.problem import Problem
from reportgen.workbook.book import Book
from reportgen.workbook.declaration import Kind
from reportgen.workbook.lookalikes import looks_like
from reportgen.workbook.table import Row, Table
from reportgen.workbook.values import shown

NUMBERED: Final = re.compile(r"\d+")
SPACES: Final = re.compile(
    r"(?<![\d\s_-])[\s_-]+|[\s_-]+(?![\d\s_-])"
)  # not those that part two numbers
FEWEST_SIGNS: Final = (
    4  # of a code in which one sign may be another by mistake; in A1 and B1 it tells them apart
)


def codes_typed_otherwise(book: Book) -> Iterator[Problem]:
    """A code that groups rows is spelt the same way in all of them."""
    for table in book.values():
        for column in table.sheet.columns:
            groups = (
                column.kind is Kind.CODE
                and not column.refers
                and column.name not in table.sheet.key
            )
            if groups and column.name in table.letters:
                yield from _slips(table, column.name)


def codes_nearly_alike(table: Table, name: str) -> dict[str, str]:
    """Return the codes of a column that are probably slips, each with the code that it is nearly."""
    rows = _rows_by_code(table, name)
    found: dict[str, str] = {}
    for code in rows:
        if code in found.values():
            other = ""
        else:
            other = _nearly(code, rows)
        if other:
            found[code] = other
    return found


def _rows_by_code(table: Table, name: str) -> Mapping[str, list[Row]]:
    rows: dict[str, list[Row]] = defaultdict(list)
    for row in table.rows():
        if row.text(name):
            rows[row.text(name)].append(row)
    return rows


def _slips(table: Table, name: str) -> Iterator[Problem]:
    rows = _rows_by_code(table, name)
    for code, other in codes_nearly_alike(table, name).items():
        if looks_like(code, other):  # an error says so
            continue
        found, first = rows[code], rows[other][0]
        yield found[0].caution(
            name,
            say(
                '"{code}" {often}, and is nearly "{other}" in {name}',
                code=shown(code),
                often=_often(found),
                other=shown(other),
                name=first.cell(name),
            ),
            say("each code spelt the same way"),
            say(
                "If both are one, spell them the same. Otherwise leave them: they were used as"
                " they stand."
            ),
            code="code_nearly_alike",
        )


def _often(rows: Sequence[Row]) -> str:
    if len(rows) == 1:
        return say("stands here only")
    return say("stands in {number} cells", number=len(rows))


def _nearly(code: str, rows: Mapping[str, Sequence[Row]]) -> str:
    """Return the code that another is probably a slip of; of several the rarest, else empty.

    A slip differs in capitals or spaces, or stands once where some codes stand more often: where
    all stand as often, as blocks of one size do, none is a slip.
    """
    times = {other: len(rows_of_code) for other, rows_of_code in rows.items()}
    bare = _bare(code)
    may_be_near = times[code] == 1 and max(times.values()) > 1
    alike: list[str] = []
    near: list[str] = []
    for other in rows:
        if other == code or times[other] < times[code]:
            continue
        if _bare(other) == bare:
            alike.append(other)
        elif may_be_near and _are_near(bare, _bare(other)):
            near.append(other)
    alike += near
    return min(alike, key=lambda other: times[other], default="")


def _bare(code: str) -> str:
    """Return a code without capitals, spaces and hyphens."""
    return SPACES.sub("", code.casefold())


def _are_near(code: str, other: str) -> bool:
    """Tell whether a slip of one sign makes one code of the other.

    Numbers and single letters count on, and so are no slips.
    """
    from rapidfuzz.distance import OSA

    if NUMBERED.sub("#", code) == NUMBERED.sub("#", other):
        return False
    if OSA.distance(code, other, score_cutoff=1) > 1:
        return False
    if len(code) != len(other):
        return True
    return len(code) >= FEWEST_SIGNS and not _count_on(code, other)


def _count_on(code: str, other: str) -> bool:
    """Tell whether two codes of one length differ in one sign that stands alone in both."""
    pairs = enumerate(zip(code, other, strict=True))
    places = [place for place, (sign, other_sign) in pairs if sign != other_sign]
    if len(places) != 1:
        return False
    return _is_alone(code, places[0]) and _is_alone(other, places[0])


def _is_alone(code: str, at: int) -> bool:
    """Tell whether the sign at a place is a letter by itself, as in shelf A."""
    around = code[max(at - 1, 0) : at] + code[at + 1 : at + 2]
    return not any(sign.isalpha() for sign in around)
