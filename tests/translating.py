"""A workbook's rows in another language: names, choices, yes and no, and the words that stand for
all codes.
"""

from reportgen.workbook.declaration import SHEETS, Kind
from reportgen.workbook.headers import read_header
from reportgen.workbook.vocabulary import Vocabulary

DECLARED = {sheet.name: sheet for sheet in SHEETS}


def translated(sheets, words: Vocabulary):
    """Return the rows of every sheet in the language of `words`."""
    return {
        words.sheet_name(name): _rows(DECLARED[name], rows, words) for name, rows in sheets.items()
    }


def _rows(sheet, rows, words):
    if sheet.vertical:
        return [_field(sheet, row, words) for row in rows]
    columns = [_column(sheet, cell) for cell in rows[0]]
    heads = [_heading(sheet, cell, words) for cell in rows[0]]
    return [
        heads,
        *([_value(*pair, words) for pair in zip(columns, row, strict=False)] for row in rows[1:]),
    ]


def _field(sheet, row, words):
    column = _column(sheet, row[0])
    if column is None:  # the headings
        return [words.text(cell) for cell in row]
    return [_heading(sheet, row[0], words), _value(column, row[1], words)]


def _column(sheet, cell):
    name = read_header(cell, 1, 1).name
    return next((column for column in sheet.columns if column.name == name), None)


def _heading(sheet, cell, words):
    found = read_header(cell, 1, 1)
    unit = found.unit.replace("per ", f"{words.per} ")
    name = words.column_name(sheet.name, found.name)
    return f"{name} ({unit})" if unit else name


def _value(column, value, words):
    if column is None or not isinstance(value, str):
        return value
    if column.kind is Kind.FLAG:
        return {"yes": words.yes, "no": words.no}[value][0]
    is_word = value in column.choices or value in column.also
    return words.word(value) if is_word else value
