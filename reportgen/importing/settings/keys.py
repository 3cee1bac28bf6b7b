"""Every key of a settings file, once, for the reader, the writer and the dictionary."""

from collections.abc import Mapping
from itertools import chain
from typing import Any, Final

from reportgen.importing.model.layouts import (
    NOTHING,
    Blank,
    Counts,
    Covers,
    Dimension,
    Occasions,
    Values,
)
from reportgen.importing.settings.forms import (
    CORRECTED,
    FIELD,
    FILE_NAME,
    FLAG,
    LEFT_OUT,
    NUMBER,
    SOURCE,
    TEXT,
    WHOLE,
    Form,
    Key,
    WrongValue,
    by_name,
    choice,
    for_all_or_by_sheet,
    many,
    near,
    read_keys,
    word_of,
    written_keys,
)
from reportgen.language import marked, say
from reportgen.workbook.declaration import SHEETS, TRIAL
from reportgen.workbook.scales import scale_of

EDITION: Final = 2
EDITION_KEY: Final = "adopt"
TABLE_KEY: Final = "table"
GIVES: Final = ("Plants", "Harvests", "Growth", "Solution", "Meter", "Light", "Climate", NOTHING)
ALSO_OCCASIONS: Final = {"add up": Occasions.PICKINGS, "each its own plants": Occasions.SAMPLES}
ALL_COLUMNS: Final = chain.from_iterable(sheet.columns for sheet in SHEETS)
COLUMN_NAMES: Final = tuple(dict.fromkeys(column.name for column in ALL_COLUMNS))
FIELD_NAMES: Final = tuple(column.name for column in TRIAL.columns)
TEXTS: Final = many(TEXT, marked("texts"))
NUMBERS: Final = many(WHOLE, marked("whole numbers"))
FILE_NAMES: Final = many(FILE_NAME, marked("file names"))
ALL_LEFT_OUT: Final = many(LEFT_OUT, marked("rows or cells"))


def _unknown_column(name: str, column: Any) -> str:
    """Return what was expected in place of an unknown name of a column.

    "" where it is declared, a score, or the column's own.
    """
    is_score = bool(scale_of(name.rpartition("(")[2].removesuffix(")")))
    if name in COLUMN_NAMES or name == column or is_score:
        return ""
    return near(name, COLUMN_NAMES)


def _unknown_field(name: str, _: Any) -> str:
    is_family = bool(TRIAL.family) and name.startswith(f"{TRIAL.family}:")
    if name in FIELD_NAMES or is_family:
        return ""
    return near(name, FIELD_NAMES)


# --- the value columns of a table

PLUS: Final = Form(
    lambda: "{ COLUMN = UNIT }",
    lambda value: tuple(by_name(TEXT, "COLUMN").read(value).items()),
    dict,
)
VALUES_KEYS: Final = (
    Key("columns", "columns", TEXTS, "Names of the columns that hold the values, by their lowest header."),
    Key("unit", "unit", TEXT, "The unit of measure, where no header or cell says it."),
    Key("covers", "covers", choice(Covers), "What one value is of."),
    Key("count", "count", TEXT, "The column that tells how many plants each value covers."),
    Key("tare", "tare", TEXT, "The column of empty weights, which are subtracted."),
    Key("plus", "plus", PLUS, "Columns with their units that are added to each value: ounces to pounds."),
    Key("event", "event", TEXT, "What was done with a volume: fill, top-up, drain ..., where its column says it."),
    Key("counts", "counts", choice(Counts), "What the numbers of a meter, or of logged volumes, are."),
    Key("area", "per_area", NUMBER, "The area of a unit in m2, by which a yield per area is multiplied."),
    Key("area_column", "area_column", TEXT, "The column that tells the area of each unit, where units differ."),
    Key("blank", "blank", choice(Blank), "What a blank cell among the values means."),
)  # fmt: skip


def _read_values(value: Any) -> tuple[Values, ...]:
    if not isinstance(value, Mapping):
        raise WrongValue('{ "Fresh weight" = { columns = ["weight"], unit = "g" } }')
    result: list[Values] = []
    for quantity, items in value.items():
        if isinstance(items, list):
            for index, item in enumerate(items):
                result.append(_read_quantity(quantity, item, (quantity, str(index))))
        else:
            result.append(_read_quantity(quantity, items, (quantity,)))
    return tuple(result)


def _read_quantity(quantity: str, item: Any, path: tuple[str, ...]) -> Values:
    """Return the columns of a quantity; `path` are the keys that lead to it."""
    try:
        read = read_keys(item, VALUES_KEYS)
    except WrongValue as wrong:
        raise WrongValue(wrong.expected, (*path, *wrong.path), wrong.found) from wrong
    if not read.get("columns"):
        raise WrongValue(say('columns = ["..."], the columns that hold the values'), path)
    return Values(quantity, **read)


def _write_values(values: tuple[Values, ...]) -> dict[str, Any]:
    by_quantity: dict[str, Any] = {}
    for item in values:
        by_quantity.setdefault(item.quantity, []).append(written_keys(item, VALUES_KEYS))
    for quantity, items in by_quantity.items():
        if len(items) == 1:
            by_quantity[quantity] = items[0]
    return by_quantity


VALUES: Final = Form(
    lambda: '{ "Fresh weight" = { columns = ["weight"], unit = "g" } }', _read_values, _write_values
)

# --- a table

DIMENSION_HELP: Final = {
    Dimension.TREATMENT: (
        "Where the names of the treatments stand; a table without it is of the whole trial."
    ),
    Dimension.BLOCK: "Where the blocks stand: groups of units that each hold all treatments.",
    Dimension.UNIT: (
        'Where the trays, pots or tents stand; ["treatment", "column:Tray"] if numbered anew under'
        " each."
    ),
    Dimension.PLANT: "Where the plants stand; without it the rows are counted.",
    Dimension.OCCASION: "Where the days, weeks, pickings or samples stand.",
    Dimension.EVENT: "Where the events of volumes stand: fill, top-up, drain ...",
    Dimension.METER: "Where the names of the meters stand.",
    Dimension.GRADE: "Where the grades of pickings stand.",
}
TABLE_KEYS: Final = (
    Key("name", "table", TEXT, "The table's name in questions; that of its first sheet where it is left out."),
    Key("sheets", "sheets", TEXTS, "The sheets that hold the table; of a further file `[file]sheet`."),
    Key("header_rows", "header_rows", NUMBERS, "The rows of its headers, on the first sheet."),
    Key("because", "because", TEXT, "Why it is read so."),
    Key("gives", "gives", word_of(GIVES), "What the table is: a sheet of a trial workbook, or nothing."),
    *(Key(dimension.value, dimension.value, SOURCE, DIMENSION_HELP[dimension]) for dimension in Dimension),
    Key("values", "values", VALUES, "The columns of numbers by what they measure."),
    Key("occasions", "occasions", choice(Occasions, ALSO_OCCASIONS), "What several days' values are."),
    Key("factors", "factors", by_name(SOURCE, "FACTOR"), "Where the factors of a combined treatment stand."),
    Key("only", "only", by_name(TEXTS, "COLUMN"), "Labels of a column: rows with others are no part of the trial."),
    Key("words", "words", by_name(by_name(TEXT, "LABEL"), "DIMENSION"), "What labels stand for, by dimension."),
    Key("columns", "columns", by_name(TEXT, "NAME", _unknown_column), "Further columns, by names of a trial workbook."),
    Key("left_out", "left_out", ALL_LEFT_OUT, "What is not read, what stood there, and why."),
    Key("corrected", "corrected", many(CORRECTED, marked("cells")), "Cells, what stood there, and what holds."),
    Key("confirmed", "confirmed", TEXTS, "Cells that look wrong and are right."),
)  # fmt: skip

# --- the whole file

CONVENTION_KEYS: Final = (
    Key("missing", "missing", TEXTS, "Words that stand for no value, in small letters."),
    Key("lost", "lost", TEXTS, "Words that stand for a plant that was lost."),
    Key("zero", "zero", TEXTS, "Words that stand for nothing there, a value of 0."),
    Key(
        "day_first", "day_first", for_all_or_by_sheet(FLAG), "Whether 3/4/2026 is the 3rd of April."
    ),
    Key(
        "decimal_comma",
        "decimal_comma",
        for_all_or_by_sheet(FLAG),
        "Whether 1,307 is a little more than one.",
    ),
    Key(
        "turned",
        "turned",
        for_all_or_by_sheet(FLAG),
        "Whether a sheet runs sideways: its rows are read as columns.",
    ),
    Key(
        "year", "year", for_all_or_by_sheet(WHOLE), "The year of days that are written without one."
    ),
)
FIGURES_SHOWN: Final = "{ units = 2, values = 12, total = 1668.0 }"


def _read_figures(value: Any) -> tuple[int, int, float]:
    if not isinstance(value, Mapping) or set(value) != {"units", "values", "total"}:
        raise WrongValue(FIGURES_SHOWN)
    return WHOLE.read(value["units"]), WHOLE.read(value["values"]), NUMBER.read(value["total"])


FIGURES: Final = Form(
    lambda: FIGURES_SHOWN,
    _read_figures,
    lambda figures: {"units": figures[0], "values": figures[1], "total": NUMBER.write(figures[2])},
)
HEAD_KEYS: Final = (
    Key("files", "files", FILE_NAMES, "Further files that are read with the log, in its folder."),
    Key("trial_workbook", "trial_workbook", FLAG, "Whether it is a trial workbook: its files add rows to its sheets."),
    Key("independent", "independent", TEXT, "What was treated independently: unit, plant, treatment ... or a column."),
    Key("treatments", "treatments", by_name(TEXT, "LABEL"), "Names of treatments by labels, in the report's order."),
)  # fmt: skip
TAIL_KEYS: Final = (
    Key("trial", "trial", by_name(FIELD, "FIELD", _unknown_field), "Fields of the sheet Trial, such as Crop."),
    Key("confirmed", "confirmed", by_name(by_name(FIGURES, "TREATMENT"), "QUANTITY"), "What its owner confirmed."),
    Key("answers", "answers", by_name(TEXT, "QUESTION"), "Further answers by the keys of their questions."),
)  # fmt: skip
TOP_NAMES: Final = (
    EDITION_KEY,
    *(key.name for key in (*CONVENTION_KEYS, *HEAD_KEYS, *TAIL_KEYS)),
    TABLE_KEY,
)
