"""Spreadsheets as growers keep them: each with one habit, all invented."""

from datetime import datetime, timedelta

from reportgen.workbook.raw import RawSheet, Workbook


def sheet(rows, name="Sheet1", merged=()):
    """Return a sheet of rows, made of one length."""
    width = max(map(len, rows))
    return RawSheet(
        name, tuple((*row, *[None] * (width - len(row))) for row in rows), {}, {}, (), merged
    )


def text_sheet(text, name="Sheet1"):
    """Return a sheet of a text with | between the cells; numbers become numbers unless they have a
    comma.
    """
    return sheet(
        [
            [_value(cell.strip()) for cell in line.split("|")]
            for line in text.strip("\n").splitlines()
        ],
        name,
    )


def _value(text):
    try:
        number = float(text)
    except ValueError:
        return text or None
    return int(number) if number.is_integer() else number


def book(*sheets, name="log"):
    """Return a workbook of sheets."""
    return Workbook(name, "0" * 64, sheets)


def weights(start=20.0, count=4):
    """Return some weights that are no series."""
    return [round(start + 3.7 * ((at * 7) % 5) - at, 1) for at in range(count)]


PLAIN = """
Tray | Treatment | Plant no | Fresh weight (g) | Height (cm)
T1 | mat | 1 | 31.5 | 14
T1 | mat | 2 | 28.9 | 13
T2 | none | 1 | 25.1 | 12
T2 | none | 2 | 26.4 | 11
T3 | mat | 1 | 33.0 | 15
T3 | mat | 2 | 30.2 | 14
"""


def climate_rows(days=30, per_day=4):
    """Return a logger's rows: time, temperature, humidity."""
    begin = datetime(2025, 3, 1)
    return [
        [begin + timedelta(hours=24 / per_day * at), 20.0 + (at * 7) % 5 / 2, 55.0 + (at * 3) % 9]
        for at in range(days * per_day)
    ]


def meter_rows(days=30, name="Zähler 1"):
    """Return the readings of a counter, once a day."""
    begin = datetime(2025, 3, 1)
    return [[name, begin + timedelta(days=at), round(1204.5 + 3.31 * at, 1)] for at in range(days)]
