"""Find codes that a reader cannot tell apart: Cyrillic and Latin letters, unseen characters.

After Unicode Technical Standard #39, section 4: two texts are confusable where their skeletons are
the same.
"""

import unicodedata
from collections.abc import Iterator
from functools import cache
from typing import Final

from reportgen.language import say
from reportgen.model.problem import Problem
from reportgen.workbook.book import Book
from reportgen.workbook.declaration import TREATMENTS, Kind
from reportgen.workbook.table import Row, Table
from reportgen.workbook.values import shown

# Of Default_Ignorable_Code_Point, DerivedCoreProperties.txt, what is not in the category Cf.
UNSEEN: Final = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u3164\uffa0") | {
    chr(code) for code in range(0xFE00, 0xFE10)
}


def look_alikes(book: Book) -> Iterator[Problem]:
    """Yield an error for each code, block or name that looks like another of its column."""
    for table in book.values():
        for column in table.sheet.columns:
            is_name = table.sheet is TREATMENTS and column.name == "Name"
            if is_name or (column.kind is Kind.CODE and not column.refers):
                yield from _alike_in(table, column.name)


def looks_like(code: str, other: str) -> bool:
    """Tell whether two different codes look the same; letters and digits of ASCII do not."""
    if code.isascii() and other.isascii():
        return False
    return code != other and not _looks(code).isdisjoint(_looks(other))


def signs_of(code: str, other: str) -> str:
    """Return the names of non-ASCII characters that only one of two codes holds."""
    foreign = dict.fromkeys(
        sign for sign in code + other if not sign.isascii() and (sign in code) != (sign in other)
    )
    return ", ".join(unicodedata.name(sign, f"U+{ord(sign):04X}") for sign in foreign)


def _alike_in(table: Table, name: str) -> Iterator[Problem]:
    values = {value for value in table.columns.get(name, ()) if isinstance(value, str)}
    if all(value.isascii() for value in values):
        return
    seen: dict[str, Row] = {}
    for row in _first_rows(table, name):
        forms = _looks(row.text(name))
        yield from _alike(row, name, [seen[form] for form in sorted(forms) if form in seen])
        for form in forms:
            seen.setdefault(form, row)


def _first_rows(table: Table, name: str) -> list[Row]:
    """Return the first row of each text in a column."""
    rows: dict[str, Row] = {}
    for row in table.rows():
        text = row.text(name)
        if text:
            rows.setdefault(text.casefold(), row)
    return list(rows.values())


def _alike(row: Row, name: str, earlier: list[Row]) -> Iterator[Problem]:
    text = row.text(name)
    for other in earlier:
        known = other.text(name)
        if looks_like(text, known):
            place = say('"{known}" in {name}', known=shown(known), name=other.cell(name))
            found = say(
                '"{text}" looks like {place}, and is another ({signs_of})',
                text=shown(text),
                place=place,
                signs_of=signs_of(text, known),
            )
            advice = say("Type both anew if they are the same, or give one of them another name.")
            yield row.error(
                name, found, say("what readers can tell apart"), advice, code="look_alike"
            )
            return


def _looks(text: str) -> frozenset[str]:
    """Return the skeletons of a text in small and in capital letters."""
    return frozenset(_skeleton(form) for form in (text, text.casefold(), text.upper()))


def _skeleton(text: str) -> str:
    visible = (sign for sign in unicodedata.normalize("NFKC", text) if not _is_unseen(sign))
    alike = "".join(_prototype(sign) for sign in visible)
    return unicodedata.normalize("NFKC", alike)


def _is_unseen(sign: str) -> bool:
    return unicodedata.category(sign) == "Cf" or sign in UNSEEN


@cache
def _prototype(sign: str) -> str:
    """Return the character, or characters, that stand for all that look like one."""
    from confusable_homoglyphs.confusables import confusables_data

    alike = confusables_data.get(sign, ())
    if len(alike) != 1:  # many look like it, or none
        return sign
    other = str(alike[0]["c"]).strip("\N{LEFT-TO-RIGHT MARK}")
    if len(confusables_data.get(other, ())) > 1:
        return other
    return min(sign, other)
