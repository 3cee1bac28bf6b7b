"""Ways to spoil the rows of a good workbook: each returns a function that takes its sheets and
gives them changed.
"""

from tests.workbooks import put


def without_sheet(name):
    return lambda sheets: {other: rows for other, rows in sheets.items() if other != name}


def without_rows(name, *numbers):
    return lambda sheets: (
        sheets | {name: [row for at, row in enumerate(sheets[name], 1) if at not in numbers]}
    )


def without_column(name, number):
    return lambda sheets: (
        sheets | {name: [row[: number - 1] + row[number:] for row in sheets[name]]}
    )


def with_rows(name, *rows):
    return lambda sheets: sheets | {name: [*sheets[name], *map(list, rows)]}


def every(name, number, change):
    """Change each cell of a column below its header."""
    return lambda sheets: (
        sheets
        | {
            name: [
                sheets[name][0],
                *(
                    [*row[: number - 1], change(row[number - 1]), *row[number:]]
                    for row in sheets[name][1:]
                ),
            ]
        }
    )


def cells(**values):
    return lambda sheets: put(sheets, **values)


def renamed(name, other):
    return lambda sheets: {other if key == name else key: rows for key, rows in sheets.items()}


def both(*changes):
    def change(sheets):
        for one in changes:
            sheets = one(sheets)
        return sheets

    return change
