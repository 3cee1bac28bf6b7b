"""The reader: units, names, codes, and one message for each mistake, all at once."""

# ruff: noqa: E501 - one planted mistake a line reads best

import pytest
from openpyxl import Workbook, load_workbook

from reportgen import workbook
from reportgen.model.problem import Severity, WorkbookError
from tests.pots import LETTUCE, write_pots

SHEETS = {
    "Trial": [
        ("Field", "Value"),
        ("Title", "Nutrient strength for coriander"),
        ("Crop", "coriander"),
        ("Started on", "2026-04-01"),
        ("Harvested on", "2026-05-06"),
        ("Reference treatment", "half"),
    ],
    "Treatments": [("Treatment", "Name"), ("half", "Half strength"), ("full", "Full strength")],
    "Trays": [
        ("Tray", "Treatment", "Plants started"),
        ("A1", "half", 2),
        ("A2", "half", 2),
        ("B1", "full", 2),
        ("B2", "full", 2),
    ],
    "Plants": [
        ("Tray", "Plant", "Fresh weight (g)", "Status"),
        *((tray, plant, 20.0 + plant, None) for tray in ("A1", "A2", "B1", "B2") for plant in (1, 2)),
    ],
    "Solution": [
        ("Tray", "Date", "Event", "Volume (L)"),
        *((tray, "2026-04-01", "fill", 5.0) for tray in ("A1", "A2", "B1", "B2")),
        *((tray, "2026-05-06", "remaining", 3.0) for tray in ("A1", "A2", "B1", "B2")),
    ],
    "Meter": [
        ("Meter", "Treatment", "Read at", "Reading (kWh)", "Reset"),
        ("m1", "half", "2026-04-01", 10.0, None),
        ("m1", "half", "2026-05-06", 20.0, None),
        ("m2", "full", "2026-04-01", 10.0, None),
        ("m2", "full", "2026-05-06", 21.0, None),
    ],
}


def written(path, **cells):
    """Write the good workbook with cells altered, such as Plants_C3="12O"; a sheet given as None is left out."""
    book = Workbook()
    book.remove(book.active)
    for name, rows in SHEETS.items():
        if cells.get(name, rows) is not None:
            sheet = book.create_sheet(name)
            for row in rows:
                sheet.append(row)
    for place, value in cells.items():
        if "_" in place:
            sheet, cell = place.split("_")
            book[sheet][cell] = value
    book.save(path)
    return path


def findings(path):
    try:
        return workbook.check(workbook.read(path)).findings
    except WorkbookError as error:
        return error.problems


def test_the_good_workbook_has_no_problem(tmp_path):
    assert findings(written(tmp_path / "good.xlsx")) == ()


# Each entry plants one mistake: the cells altered, then severity, place and words of the one message it gives.
MISTAKES = {
    "a letter O in a number": ({"Plants_C3": "12O"}, "error", "Plants!C3", "is not a number", "Type 120."),
    "an unknown treatment": ({"Trays_B3": "haf"}, "error", "Trays!B3", "is not on the sheet Treatments", "Did you mean half?"),
    "an unknown tray": ({"Plants_A4": "A9"}, "error", "Plants!A4", "is not on the sheet Trays", "Type one of these"),
    "a plant twice": ({"Plants_B3": 1}, "error", "Plants!B3", "stands in row 2 too", "Delete one"),
    "a total among the data": ({"Plants_A10": "Total", "Plants_C10": 180}, "error", "Plants!A10", "total or an average", "Delete the row"),
    "a missing weight": ({"Plants_C5": None}, "error", "Plants!C5", "has no fresh weight", "Status"),
    "a dead plant with a weight": ({"Plants_D5": "dead"}, "error", "Plants!C5", "has a fresh weight", "Clear the weight"),
    "a negative weight": ({"Plants_C5": -3}, "error", "Plants!C5", "is not possible here", "Check -3"),
    "a kilogram for a gram": ({"Plants_C5": 21000}, "caution", "Plants!C5", "times the median", "Check the unit"),
    "a unit of another dimension": ({"Plants_C1": "Fresh weight (cm)"}, "error", "Plants!C1", "not in a unit", "Fresh weight (g)"),
    "a bare gallon": ({"Solution_D1": "Volume (gal)"}, "error", "Solution!D1", "not in a unit", "Volume (L)"),
    "an unknown status": ({"Plants_D5": "harvestd"}, "error", "Plants!D5", "not one of the words", "Did you mean harvested?"),
    "an error of the spreadsheet": ({"Plants_C5": "#DIV/0!"}, "error", "Plants!C5", "error of the spreadsheet", "Mend the formula"),
    "a formula never computed": ({"Plants_C5": "=1+2"}, "error", "Plants!C5", "no program has computed", "save it"),
    "more plants than started": ({"Trays_C2": 1}, "error", "Trays!C2", "has 2 plants", "Mend the number"),
    "a plant not accounted for": ({"Trays_C2": 3}, "caution", "Trays!C2", "has 2 plants", "count as lost"),
    "more water out than in": ({"Solution_D6": 9}, "error", "Trays!A2", "more solution came out", "missing fill"),
    "no remaining": ({"Solution_C6": "top-up"}, "caution", "Trays!A2", "no remaining", "left out of the water"),
    "a falling meter": ({"Meter_D3": 9}, "error", "Meter!D3", "falls from 10 kWh", "Reset"),
    "a meter read too late": ({"Meter_C2": "2026-04-15"}, "caution", "Meter!C2", "60% of the trial", "left out as not known"),
    "harvest before the start": ({"Trial_B5": "2026-03-01"}, "error", "Trial!B5", "is not after the start", "Mend one"),
    "a reference that is not there": ({"Trial_B6": "none"}, "error", "Trial!B6", "is not on the sheet Treatments", "Type one of these"),
    "an ambiguous date": ({"Solution_B2": "03/04/2026"}, "error", "Solution!B2", "could be two dates", "year-month-day"),
    "a date that is none": ({"Solution_B2": "spring"}, "error", "Solution!B2", "is not a date", "year-month-day"),
    "a missing sheet": ({"Trays": None}, "error", "Trays", "no sheet named Trays", "Add the sheet"),
    "a missing column": ({"Trays_C1": None}, "error", "Trays", "no column Plants started", "Add it"),
    "a column twice": ({"Plants_E1": "Fresh weight (g)"}, "error", "Plants!E1", "and in C1", "Rename"),
    "a treatment without trays": ({"Treatments_A4": "none", "Treatments_B4": "None"}, "error", "Treatments!A4", "no tray", "Add its trays"),
    "a pH beyond 14": ({"Solution_E1": "pH", "Solution_E2": 15}, "error", "Solution!E2", "is not possible", "Check 15"),
    "an unusual EC": ({"Solution_E1": "EC (mS/cm)", "Solution_E2": 1600}, "caution", "Solution!E2", "is unusual", "Check the value"),
    "a weight 60 times the median": ({"Plants_C5": 1300}, "caution", "Plants!C5", "times the median", "Check the unit"),
    "dry above fresh": ({"Plants_E1": "Dry weight (g)", "Plants_E2": 30}, "caution", "Plants!E2", "is above fresh weight", "Check both"),
    "a reset counter": ({"Meter_D3": 2, "Meter_E3": "yes"}, "caution", "Meter!E3", "was reset or changed", "not counted"),
    "an unknown field": ({"Trial_A7": "Moon", "Trial_B7": "full"}, "remark", "Trial!A7", "is not a field", "not used"),
    "a weight without a unit": ({"Plants_C1": "Fresh weight"}, "remark", "Plants!C1", "has no unit", "taken as g"),
}  # fmt: skip


@pytest.mark.parametrize("mistake", MISTAKES)
def test_one_mistake_gives_one_message_with_its_cell_and_its_remedy(tmp_path, mistake):
    cells, severity, place, found, advice = MISTAKES[mistake]
    problems = findings(written(tmp_path / "trial.xlsx", **cells))
    assert [(str(one.severity), f"{one.sheet}!{one.cell}".rstrip("!")) for one in problems] == [(severity, place)]
    assert found in problems[0].found
    assert advice in problems[0].advice


def test_every_problem_of_a_workbook_comes_at_once_in_sheet_and_row_order(tmp_path):
    cells = {"Meter_D3": "x", "Plants_C7": "1O", "Plants_C3": "l2", "Trays_B2": "hal"}
    found = [f"{one.sheet}!{one.cell}" for one in findings(written(tmp_path / "trial.xlsx", **cells))]
    assert found == ["Trays!B2", "Plants!C3", "Plants!C7", "Meter!D3"]


# NIST Handbook 44 (2024), Appendix C: 1 oz = 28.349523125 g, 1 lb = 453.59237 g, 1 US gal = 3.785411784 L,
# 1 imperial gal = 4.54609 L, all exact.
@pytest.mark.parametrize(
    ("place", "header", "column", "factor"),
    [
        ("Plants_C1", "Fresh weight (oz)", "fresh_weight", 28.349523125),
        ("Plants_C1", "FRESH_WEIGHT [lb]", "fresh_weight", 453.59237),
        ("Plants_C1", "Fresh weight (kg)", "fresh_weight", 1000),
        ("Solution_D1", "Volume (US gal)", "volume", 3.785411784),
        ("Solution_D1", "volume (imp gal)", "volume", 4.54609),
        ("Solution_D1", "Volume (mL)", "volume", 0.001),
    ],
)
def test_units_of_a_header_are_converted_exactly(tmp_path, place, header, column, factor):
    def values(path):
        trial = workbook.check(workbook.read(path))
        rows = trial.plants if column == "fresh_weight" else trial.solution
        return [getattr(row, column) for row in rows]

    plain = values(written(tmp_path / "plain.xlsx"))
    converted = values(written(tmp_path / "converted.xlsx", **{place: header}))
    assert converted == pytest.approx([value * factor for value in plain], rel=1e-12)


def test_a_unit_in_the_cell_wins_over_the_headers(tmp_path):
    trial = workbook.check(workbook.read(written(tmp_path / "trial.xlsx", Plants_C2="1 oz")))
    assert trial.plants[0].fresh_weight == pytest.approx(28.349523125, rel=1e-12)


def test_codes_are_text_and_1_10_is_not_1_1(tmp_path):
    path = written(tmp_path / "trial.xlsx", Plants_B2=1.1, Plants_B3=1.1)
    book = load_workbook(path)
    book["Plants"]["B3"].number_format = "0.00"
    book.save(path)
    trial = workbook.check(workbook.read(path))
    assert [plant.code for plant in trial.plants[:2]] == ["1.1", "1.10"]


def test_a_further_numeric_column_is_a_trait(tmp_path):
    cells = {"Plants_E1": "Stem width (mm)"} | {f"Plants_E{row}": row / 2 for row in range(2, 10)}
    trial = workbook.check(workbook.read(written(tmp_path / "trial.xlsx", **cells)))
    assert [(trait.key, trait.unit) for trait in trial.traits] == [("stem_width", "mm")]
    assert trial.plants[0].traits == (1.0,)


def test_hidden_rows_are_read_and_a_caution_says_so(tmp_path):
    path = written(tmp_path / "trial.xlsx")
    book = load_workbook(path)
    book["Plants"].row_dimensions[4].hidden = True
    book.save(path)
    trial = workbook.check(workbook.read(path))
    assert len(trial.plants) == 8
    assert [(one.severity, one.found) for one in trial.findings] == [(Severity.CAUTION, "hidden: row 4")]


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 broken", b"no workbook at all"])
def test_a_file_that_is_no_workbook_gets_one_clear_message(tmp_path, content):
    path = tmp_path / "trial.xlsx"
    path.write_bytes(content)
    problems = findings(path)
    assert [one.found for one in problems] == ["trial.xlsx cannot be read as a workbook"]


def test_trays_that_are_pots_are_read_as_such(tmp_path):
    trial = workbook.check(workbook.read(write_pots(tmp_path / "pots.xlsx", LETTUCE)))
    assert trial.experimental_unit == "plant"
    assert len(trial.trays) == 28
