"""A good workbook of an invented trial, nutrient strength for coriander, as plain rows that a test
can spoil.
"""

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
    """Return the rows of every sheet: two treatments, three trays each in three blocks, four plants
    a tray.
    """
    return {
        "Trial": [
            ["Field", "Value"],
            ["Title", "Nutrient strength for coriander"],
            ["Crop", "coriander"],
            ["Sown on", date(2026, 3, 10)],
            ["Started on", START],
            ["Harvested on", HARVEST],
            ["Reference treatment", "half"],
            ["Electricity price (USD per kWh)", 0.25],
        ],
        "Treatments": [
            ["Treatment", "Name", "Canopy area (m2)"],
            ["half", "Half", 0.18],
            ["full", "Full", 0.18],
        ],
        "Trays": [
            ["Tray", "Treatment", "Block", "Plants started"],
            *([tray, treatment, int(tray[1]), 4] for tray, treatment in TRAYS.items()),
        ],
        "Plants": [
            ["Tray", "Plant", "Fresh weight (g)", "Height (cm)", "Status"],
            *(
                [tray, n, 20.0 + n + int(tray[1]), 15.5 + n, None]
                for tray in TRAYS
                for n in range(1, 5)
            ),
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
        "Tariff": [
            ["From", "To", "Price per kWh"],
            ["06:00", "22:00", 0.31],
            ["22:00", "06:00", 0.19],
        ],
        "Growth": [
            ["Tray", "Plant", "Date", "Height (cm)", "Canopy cover (%)"],
            *(
                [tray, 1, date(2026, 4, day), 4.0 + day / 5, 10 + day]
                for tray in TRAYS
                for day in (8, 22)
            ),
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
            *(
                [code, START, x, y, 30, 210 + x + y]
                for code in ("half", "full")
                for x in (10, 40)
                for y in (10, 20)
            ),
        ],
        "Climate": [
            ["Treatment", "Read at", "Air temperature (°C)", "Relative humidity (%)", "CO2 (ppm)"],
            *(
                ["all", datetime(2026, 4, day, hour), 20.5 + hour / 10, 61.0, 430]
                for day in (2, 9)
                for hour in (0, 12)
            ),
        ],
        "Costs": [
            ["Item", "Treatment", "Cost (USD)", "Life (h)", "Hours used (h)"],
            ["nutrients", "half", 1.1, None, None],
            ["pump", "all", 24, 20000, 840],
        ],
        "Instruments": [
            [
                "Instrument",
                "Measures",
                "Model",
                "Resolution",
                "Accuracy (%)",
                "Calibrated on",
                "Per treatment",
            ],
            ["kitchen scale", "weight", None, "0.1 g", 0.5, date(2026, 3, 1), "no"],
            ["plug meter", "energy", None, 0.1, 1, None, "yes"],
        ],
        "Observations": [
            ["Date", "Treatment", "Tray", "Observation", "Photo", "Photo description"],
            [date(2026, 4, 15), "full", "B2", "tips of two leaves brown", None, None],
        ],
    }


def put(sheets: Sheets, **cells: object) -> Sheets:
    """Return the sheets with cells set, such as `Plants_C7="12O"`, rows growing where they are too
    short.
    """
    for place, value in cells.items():
        name, cell = place.split("_")
        letters, row = coordinate_from_string(cell)
        rows, column = sheets[name], column_index_from_string(letters)
        rows += [[] for _ in range(row - len(rows))]
        rows[row - 1] += [None] * (column - len(rows[row - 1]))
        rows[row - 1][column - 1] = value
    return sheets


def write(sheets: Sheets, path: Path, finish: Callable[[Workbook], object] | None = None) -> Path:
    """Write sheets to a workbook file; `finish` may still work on it as a spreadsheet program
    would.
    """
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


# ---- trials that measured one thing --------------------------------------------------------------


def _bare() -> Sheets:
    """Return the rows of Trial and Treatments, and trays of which it is not said how many plants
    they held.
    """
    sheets = least()
    trays = [row[:3] for row in sheets["Trays"]]
    return {"Trial": sheets["Trial"], "Treatments": sheets["Treatments"], "Trays": trays}


def _of_plants(header: str, value: Callable[[int, str], object]) -> Sheets:
    """Return a workbook whose plants have one column, its values made of the plant's number and its
    tray.
    """
    rows = [[tray, number, value(number, tray)] for tray in TRAYS for number in range(1, 5)]
    return {**_bare(), "Plants": [["Tray", "Plant", header], *rows]}


def _taller(tray: str) -> float:
    """Return by how much more plants of a tray measure: full strength gives more, and trays differ."""
    return (1.2 if tray.startswith("B") else 1.0) + 0.02 * int(tray[1])


def heights_alone() -> Sheets:
    """Return a workbook with the heights of plants and nothing else."""
    return _of_plants("Height (cm)", lambda number, tray: round((14.0 + number) * _taller(tray), 1))


def dry_weights_alone() -> Sheets:
    """Return a workbook with dry weights, water and electricity, and no fresh weight."""
    sheets = _of_plants(
        "Dry weight (g)", lambda number, tray: round((1.5 + number / 5) * _taller(tray), 2)
    )
    kept = good()
    return {
        **sheets,
        "Trial": kept["Trial"],
        "Trays": kept["Trays"],
        "Solution": kept["Solution"],
        "Meter": kept["Meter"],
    }


def leaves_alone() -> Sheets:
    """Return a workbook with the number of leaves of each plant and nothing else."""
    return _of_plants("Leaves", lambda number, tray: round((8 + number) * _taller(tray)))


def flowers_alone() -> Sheets:
    """Return a workbook with a count of the grower's own and nothing else."""
    return _of_plants("Flowers", lambda number, tray: round((5 + number) * _taller(tray)))


def survival_alone() -> Sheets:
    """Return a workbook that says which plants died and nothing else."""
    died = {("A1", 1), ("A1", 2), ("A2", 4), ("A3", 1), ("A3", 3), ("B2", 2)}
    sheets = _of_plants(
        "Status", lambda number, tray: "dead" if (tray, number) in died else "harvested"
    )
    return {**sheets, "Trays": good()["Trays"]}


def volumes_alone() -> Sheets:
    """Return a workbook with what was poured into trays and nothing of their plants."""
    solution = [row[:4] for row in good()["Solution"]]
    for row in solution[1:]:
        if row[2] == "top-up":
            row[3] = round(1.2 * _taller(str(row[0])), 2)
    return {**_bare(), "Solution": solution}


def energy_alone() -> Sheets:
    """Return a workbook with the readings of meters and nothing of plants."""
    return {**_bare(), "Meter": put({"Meter": good()["Meter"]}, Meter_D7=114.5)["Meter"]}


def growth_alone() -> Sheets:
    """Return a workbook with heights of living plants, day by day, and no harvest."""
    days = (date(2026, 4, 8), date(2026, 4, 22), HARVEST)
    rows = [
        [tray, number, day, round((4 + number / 2) * _taller(tray) ** (at + 1) * (at + 1), 1)]
        for tray in TRAYS
        for number in (1, 2)
        for at, day in enumerate(days)
    ]
    return {**_bare(), "Growth": [["Tray", "Plant", "Date", "Height (cm)"], *rows]}


ONE_THING = {
    "heights": heights_alone,
    "dry weights": dry_weights_alone,
    "leaves": leaves_alone,
    "flowers": flowers_alone,
    "survival": survival_alone,
    "volumes": volumes_alone,
    "energy": energy_alone,
    "growth": growth_alone,
}
