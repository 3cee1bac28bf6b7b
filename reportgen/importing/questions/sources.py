"""Free answers that say where labels stand: `Tent + Side`, `sheet`, `part:ID:1`, `fixed: warm`."""

from collections.abc import Mapping

from reportgen.importing.model.layouts import Carrier, CarrierKind, Source
from reportgen.importing.model.tables import Table
from reportgen.language import marked, say, say_as
from reportgen.workbook.headers import folded

NAMELESS = {
    "sheet": CarrierKind.SHEET,
    "sheets": CarrierKind.SHEET,
    "the sheets": CarrierKind.SHEET,
    "file": CarrierKind.FILE,
    "files": CarrierKind.FILE,
    "section": CarrierKind.SECTION,
    "title": CarrierKind.TITLE,
    "order": CarrierKind.ORDER,
    "colour": CarrierKind.COLOUR,
    "color": CarrierKind.COLOUR,
    "colours": CarrierKind.COLOUR,
    "colors": CarrierKind.COLOUR,
}
NAMED = {
    kind.value: kind
    for kind in (CarrierKind.COLUMN, CarrierKind.OVER, CarrierKind.TITLE, CarrierKind.FIXED)
}
NONE = ("none", "-", "nothing")
PART = "part"
SPOKEN = (
    marked("sheet"),
    marked("sheets"),
    marked("the sheets"),
    marked("file"),
    marked("files"),
    marked("section"),
    marked("title"),
    marked("order"),
    marked("colour"),
    marked("colours"),
    marked("column"),
    marked("over"),
    marked("fixed"),
    marked("part"),
    marked("none"),
    marked("nothing"),
)


def coded(text: str, table: Table) -> str:
    """Return a place of labels with the words of the settings file for those of the language.

    Such as `sheet` or `part:ID:1`; names of columns stay as they are.
    """
    words = {folded(say(word)): word for word in SPOKEN}
    words[folded(say_as("column", "none"))] = "none"
    if _column(text, table) is not None:
        return text
    return "+".join(_coded_part(part, words, table) for part in text.split("+"))


def _coded_part(text: str, words: Mapping[str, str], table: Table) -> str:
    word, colon, rest = text.partition(":")
    if _column(text, table) is not None or folded(word) not in words:
        return text
    before, after = text[: len(text) - len(text.lstrip())], word[len(word.rstrip()) :]
    return f"{before}{words[folded(word)]}{after}{colon}{rest}"


def source_of(text: str, table: Table) -> Source | None:
    """Return the carriers that a text names, joined where a plus sign stands; None for `none`.

    Raises ValueError, saying what can be named, where a part of it is neither a column nor a known
    carrier.
    """
    if folded(text) in NONE:
        return None
    whole = _column(text, table)
    if whole is not None:
        return Source((whole,))
    return Source(tuple(_carrier(part.strip(), table) for part in text.split("+")))


def _carrier(text: str, table: Table) -> Carrier:
    column = _column(text, table)
    if column is not None:
        return column
    if folded(text) in NAMELESS:
        return Carrier(NAMELESS[folded(text)])
    word, _, rest = text.partition(":")
    kind = folded(word)
    rest = rest.strip()
    if kind == PART:
        return _part(rest, table)
    if kind == "column":
        other = _column(rest, table)
        if other is not None:
            return other
    elif kind in NAMED and rest:
        return Carrier(NAMED[kind], rest)
    raise ValueError(expected(table))


def _part(text: str, table: Table) -> Carrier:
    name, _, number = text.rpartition(":")
    if not name or not number.isdigit():
        raise ValueError(say("a part is written as part:ID:1, the first part of each label of ID"))
    whole = _whole(name.strip(), table)
    return Carrier(whole.kind, whole.name, int(number))


def _whole(name: str, table: Table) -> Carrier:
    column = _column(name, table)
    if column is not None:
        return column
    if folded(name) in NAMELESS:
        return Carrier(NAMELESS[folded(name)])
    word, _, level = name.replace(":", " ").partition(" ")
    if folded(word) == "over":
        return Carrier(CarrierKind.OVER, level or "1")
    raise ValueError(expected(table))


def _column(text: str, table: Table) -> Carrier | None:
    for column in table.columns:
        if folded(text) in (folded(column.name), folded(column.header)):
            return Carrier(CarrierKind.COLUMN, column.name)
    return None


def column_of(text: str, table: Table) -> str:
    """Return the name of the column that a text names; raise ValueError where there is none."""
    carrier = _column(text, table)
    if carrier is None:
        raise ValueError(
            say("a column: {columns}", columns=", ".join(column.name for column in table.columns))
        )
    return carrier.name


def expected(table: Table) -> str:
    """Return what can be named as the place of labels, in words."""
    columns = ", ".join(column.name for column in table.columns)
    return say(
        "a column ({columns}), several joined as Tent + Side, sheet, file, title, section"
        " (headings between rows), colour (of the cells), over:1 (the first header row), part:ID:1"
        " (the first part of ID), fixed: warm (all the same), or none",
        columns=columns,
    )
