"""The workbook of `reportgen new` as a grower fills it in over a season, stage by stage."""

from datetime import date, datetime, timedelta

from openpyxl import load_workbook

from reportgen.workbook.blank import blank_workbook
from reportgen.workbook.plan import planned

START, HARVEST = date(2026, 3, 2), date(2026, 4, 6)
PLAN = planned(("plain", "warm"), blocks=2, trays=2, plants=3, seed=5)
STAGES = ("untouched", "begun", "week three", "harvest day", "finished")


def workbook(path, stage):
    """Write the workbook as it is at a stage: 8 trays of 3 plants, of which one dies in week two."""
    path.write_bytes(blank_workbook(PLAN))
    book = load_workbook(path)
    for step in (_begin, _grow, _harvest_half, _harvest_all)[: STAGES.index(stage)]:
        step(book)
    book.save(path)
    return path


def fields(book):
    """Return the cells of the values of the sheet Trial, by field."""
    return {row[0].value: row[1] for row in book["Trial"].iter_rows(min_row=2) if row[0].value}


def trays(book):
    """Return the codes of the trays, in the order of the sheet."""
    return [row[0].value for row in book["Trays"].iter_rows(min_row=2) if row[0].value]


def rows(book, sheet):
    """Return the rows of a sheet that hold something."""
    return [row for row in book[sheet].iter_rows(min_row=2) if row[0].value is not None]


def cell_of(book, sheet, row, name):
    """Return the cell of a row in the column of a name, whatever unit stands behind it."""
    names = [str(cell.value).split(" (")[0] for cell in book[sheet][1]]
    return row[names.index(name)]


def treatment_of(book):
    return {row[0].value: row[1].value for row in rows(book, "Trays")}


def append(book, sheet, *values):
    """Write a row below the last one that holds something."""
    page = book[sheet]
    below = max((row[0].row for row in rows(book, sheet)), default=1) + 1
    for column, value in enumerate(values, 1):
        page.cell(below, column).value = value


def _begin(book):
    for name, value in {"Title": "Warm roots", "Crop": "chard", "Started on": START}.items():
        fields(book)[name].value = value
    for row in rows(book, "Solution"):
        if row[2].value == "fill":
            row[1].value, row[3].value = START, 10.0
    for row in rows(book, "Meter"):
        if row[5].value.startswith("first"):
            row[2].value, row[3].value = datetime(2026, 3, 2, 8), 100.0


def _grow(book):
    for week in (0, 1, 2):
        day = START + timedelta(7 * week + 1)
        for number, tray in enumerate(trays(book)):
            taller = 0.4 * week if treatment_of(book)[tray] == "warm" else 0.0
            append(book, "Growth", tray, 1, day, 4.0 + 2.5 * week + taller + number / 10)
    for tray in trays(book):
        append(book, "Solution", tray, date(2026, 3, 16), "top-up", 1.5, 1.6, 5.9)
    for meter, treatment, reading in (("M1", "plain", 112.0), ("M2", "warm", 131.0)):
        append(book, "Meter", meter, treatment, datetime(2026, 3, 16, 8), reading)
    cell_of(book, "Plants", rows(book, "Plants")[4], "Status").value = "dead"


def _harvest(book, codes):
    treatment = treatment_of(book)
    for number, row in enumerate(rows(book, "Plants")):
        status = cell_of(book, "Plants", row, "Status").value
        if row[0].value in codes and status is None:
            row[2].value = (
                30.0 + (number * 7) % 5 + (6.0 if treatment[row[0].value] == "warm" else 0.0)
            )
    for row in rows(book, "Solution"):
        if row[0].value in codes and row[2].value == "remaining":
            row[1].value, row[3].value = HARVEST, 4.0 + int(row[0].value[1:]) / 10


def _harvest_half(book):
    fields(book)["Harvested on"].value = HARVEST
    _harvest(book, trays(book)[:4])


def _harvest_all(book):
    _harvest(book, trays(book)[4:])
    for row in rows(book, "Meter"):
        if (row[5].value or "").startswith("last"):
            row[2].value, row[3].value = (
                datetime(2026, 4, 6, 8),
                140.5 if row[0].value == "M1" else 171.5,
            )
