"""A good workbook of an invented trial, nutrient strength for coriander, as plain rows that a test can spoil."""

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

from openpyxl import Workbook
from openpyxl.utils.cell import column_index_from_string, coordinate_from_string

from reportgen import workbook
from reportgen.model.problem import NotYetError, Problem, WorkbookError
from reportgen.model.trial import Trial

Sheets = dict[str, list[list[object]]]
START, HARVEST = date(2026, 4, 1), date(2026, 5, 6)
TRAYS = {"A1": "half", "A2": "half", "A3": "half", "B1": "full", "B2": "full", "B3": "full"}


def good() -> Sheets:
    """Return the rows of every sheet: two treatments, three trays each in three blocks, four plants a tray."""
    return {
        "Trial": [
            ["Field", "Value"],
            ["Title", "Nutrient strength for coriander"],
            ["Crop", "coriander"],
            ["Sown on", date(2026, 3, 10)],
            ["Started on", START],
            ["Harvested on", HARVEST],
            ["Reference treatment", "half"],
            ["Electricity price (per kWh)", 0.25],
        ],
        "Treatments": [["Treatment", "Name", "Canopy area (m2)"], ["half", "Half", 0.18], ["full", "Full", 0.18]],
        "Trays": [
            ["Tray", "Treatment", "Block", "Plants started"],
            *([tray, treatment, int(tray[1]), 4] for tray, treatment in TRAYS.items()),
        ],
        "Plants": [
            ["Tray", "Plant", "Fresh weight (g)", "Height (cm)", "Status"],
            *([tray, n, 20.0 + n + int(tray[1]), 15.5 + n, None] for tray in TRAYS for n in range(1, 5)),
        ],
        "Solution": [
            ["Tray", "Date", "Event", "Volume (L)", "EC (mS/cm)", "pH", "Temperature (°C)"],
            *(
                [tray, day, event, volume, 1.6, 5.9, 21.0]
                for tray in TRAYS
                for day, event, volume in (
                    (START, "fill", 5.0),
                    (date(2026, 4, 20), "top-up", 1.5),
                    (HARVEST, "remaining", 4.0),
                )
            ),
        ],
        "Meter": [
            ["Meter", "Treatment", "Read at", "Reading (kWh)", "Reset"],
            *(
                [f"m-{treatment}", treatment, datetime(2026, month, day, 9), reading, None]
                for treatment in ("half", "full")
                for month, day, reading in ((4, 1, 100.0), (4, 20, 106.5), (5, 6, 112.0))
            ),
        ],
    }


def least() -> Sheets:
    """Return the rows of a workbook with no more than a report needs."""
    sheets = good()
    return {
        "Trial": [row for row in sheets["Trial"] if "price" not in str(row[0])],
        "Treatments": [row[:2] for row in sheets["Treatments"]],
        "Trays": sheets["Trays"],
        "Plants": [row[:3] for row in sheets["Plants"]],
    }


def whole() -> Sheets:
    """Return the rows of a workbook that has every sheet."""
    sheets = put(good(), Treatments_D1="Photoperiod (h)", Treatments_E1="Lights on at")
    put(sheets, Trial_A8="Water price (per L)", Trial_B8=0.003)
    put(sheets, Treatments_D2=16, Treatments_E2="05:00", Treatments_D3=16, Treatments_E3="05:00")
    return sheets | {
        "Tariff": [["From", "To", "Price per kWh"], ["06:00", "22:00", 0.31], ["22:00", "06:00", 0.19]],
        "Growth": [
            ["Tray", "Plant", "Date", "Height (cm)", "Canopy cover (%)"],
            *([tray, 1, date(2026, 4, day), 4.0 + day / 5, 10 + day] for tray in TRAYS for day in (8, 22)),
        ],
        "Harvests": [
            ["Tray", "Plant", "Date", "Count", "Grade", "Note"],
            *(
                [tray, None, date(2026, 4, day), day + int(tray[1]), "bunched", None]
                for tray in TRAYS
                for day in (20, 29)
            ),
        ],
        "Loads": [["Treatment", "Device", "Power (W)", "Hours per day (h)", "Days"]],
        "Light": [
            ["Treatment", "Date", "X (cm)", "Y (cm)", "Height (cm)", "PPFD (µmol/m2/s)"],
            *([code, START, x, y, 30, 210 + x + y] for code in ("half", "full") for x in (10, 40) for y in (10, 20)),
        ],
        "Climate": [
            ["Treatment", "Read at", "Air temperature (°C)", "Relative humidity (%)", "CO2 (ppm)"],
            *(["all", datetime(2026, 4, day, hour), 20.5 + hour / 10, 61.0, 430] for day in (2, 9) for hour in (0, 12)),
        ],
        "Costs": [
            ["Item", "Treatment", "Cost (USD)", "Life (h)", "Hours used (h)"],
            ["nutrients", "half", 1.1, None, None],
            ["pump", "all", 24, 20000, 840],
        ],
        "Instruments": [
            ["Instrument", "Measures", "Model", "Resolution", "Accuracy (%)", "Calibrated on", "Per treatment"],
            ["kitchen scale", "weight", None, "0.1 g", 0.5, date(2026, 3, 1), "no"],
            ["plug meter", "energy", None, 0.1, 1, None, "yes"],
        ],
        "Observations": [
            ["Date", "Treatment", "Tray", "Observation", "Photo", "Photo description"],
            [date(2026, 4, 15), "full", "B2", "tips of two leaves brown", None, None],
        ],
    }


def put(sheets: Sheets, **cells: object) -> Sheets:
    """Return the sheets with cells set, such as `Plants_C7="12O"`, rows growing where they are too short."""
    for place, value in cells.items():
        name, cell = place.split("_")
        letters, row = coordinate_from_string(cell)
        rows, column = sheets[name], column_index_from_string(letters)
        rows += [[] for _ in range(row - len(rows))]
        rows[row - 1] += [None] * (column - len(rows[row - 1]))
        rows[row - 1][column - 1] = value
    return sheets


def write(sheets: Sheets, path: Path, finish: Callable[[Workbook], object] | None = None) -> Path:
    """Write sheets to a workbook file; `finish` may still work on it as a spreadsheet program would."""
    book = Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    if finish:
        finish(book)
    book.save(path)
    return path


def trial(path: Path) -> Trial:
    """Return the trial of a workbook file."""
    return workbook.check(workbook.read(path))


def findings(path: Path) -> tuple[Problem, ...]:
    """Return everything that is said of a workbook file, be it good or not."""
    try:
        return trial(path).findings
    except NotYetError:
        return workbook.problems_in(workbook.read(path))
    except WorkbookError as error:
        return error.problems


def said(path: Path) -> list[tuple[str, str]]:
    """Return severity and place of everything that is said of a workbook file."""
    return [(str(one.severity), f"{one.sheet}!{one.cell}".strip("!")) for one in findings(path)]
