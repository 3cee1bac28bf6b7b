"""The labels that carriers hold: columns, headers, sections, sheets, titles, parts of labels and
keys.
"""

from pathlib import Path

import openpyxl
import pytest

from reportgen.importing import carriers, cells, tables
from reportgen.importing.model.cells import Conventions
from reportgen.importing.model.layouts import Carrier, CarrierKind, Dimension, Lookup, Source

COLUMN, OVER, SHEET, TITLE = (
    CarrierKind.COLUMN,
    CarrierKind.OVER,
    CarrierKind.SHEET,
    CarrierKind.TITLE,
)


class Log:
    """A small log: sheets by name, each a list of rows."""

    def __init__(
        self,
        folder: Path,
        sheets: dict[str, list[list[object]]],
        merged: dict[str, str] | None = None,
    ):
        book = openpyxl.Workbook()
        book.remove(book.active)
        for name, rows in sheets.items():
            sheet = book.create_sheet(name)
            for row in rows:
                sheet.append(row)
            if merged and name in merged:
                sheet.merge_cells(merged[name])
        path = folder / "log.xlsx"
        book.save(path)
        self.sheets = cells.read_log([path], Conventions())
        self.found = tables.find(self.sheets)
        self.table = self.found.tables[0]

    def labels(
        self, *sources: Carrier, lookup: Lookup | None = None, **dimensions: Source
    ) -> list[str]:
        """Return the labels that some carriers give, in the order of rows or columns."""
        known = {Dimension(name): source for name, source in dimensions.items()}
        found = carriers.resolve(
            Source(sources, lookup), self.table, self.sheets, self.found, known
        )
        return found.ravel().tolist()

    def parts(self, kind: CarrierKind, name: str = "") -> list[tuple[str, ...]]:
        """Return the levels of each part of the labels of a carrier."""
        offered = carriers.labels_of(self.table, self.sheets).labels
        wanted = [one for one in offered if one.carrier.kind is kind and one.carrier.name == name]
        return [one.levels for one in wanted if one.carrier.part]


def plants(*rows: tuple[object, ...]) -> list[list[object]]:
    return [["Treatment", "Tray", "Plant", "Weight (g)"], *[list(row) for row in rows]]


def test_a_label_written_once_holds_for_the_blank_rows_below_it(tmp_path):
    rows = plants(
        ("fan", 1, 1, 20.5), (None, None, 2, 21.5), ("still", 1, 1, 30.5), (None, None, 2, 31.5)
    )
    assert Log(tmp_path, {"Log": rows}).labels(Carrier(COLUMN, "Treatment")) == [
        "fan",
        "fan",
        "still",
        "still",
    ]


def test_ditto_marks_repeat_the_label_above(tmp_path):
    rows = plants(
        ("fan", 1, 1, 20.5), ('"', '"', 2, 21.5), ("still", 1, 1, 30.5), ("ditto", "idem", 2, 31.5)
    )
    assert Log(tmp_path, {"Log": rows}).labels(Carrier(COLUMN, "Treatment")) == [
        "fan",
        "fan",
        "still",
        "still",
    ]


def test_a_blank_among_repeated_labels_stays_blank(tmp_path):
    rows = plants(("fan", 1, 1, 20.5), ("fan", 1, 2, 21.5), (None, 2, 1, 30.5), (None, 2, 2, 31.5))
    assert Log(tmp_path, {"Log": rows}).labels(Carrier(COLUMN, "Treatment")) == [
        "fan",
        "fan",
        "",
        "",
    ]


def test_a_merged_label_holds_for_its_rows_alone(tmp_path):
    rows = plants(
        ("fan", 1, 1, 20.5), (None, 1, 2, 21.5), ("still", 2, 1, 30.5), (None, 2, 2, 31.5)
    )
    log = Log(tmp_path, {"Log": rows}, {"Log": "A2:A3"})
    assert log.labels(Carrier(COLUMN, "Treatment")) == ["fan", "fan", "still", ""]


def test_labels_in_other_capitals_are_one_label(tmp_path):
    rows = plants(
        ("fan", 1, 1, 20.5), ("Fan ", 1, 2, 21.5), ("still", 2, 1, 30.5), ("STILL", 2, 2, 31.5)
    )
    assert Log(tmp_path, {"Log": rows}).labels(Carrier(COLUMN, "Treatment")) == [
        "fan",
        "fan",
        "still",
        "still",
    ]


def test_ids_1_1_and_1_10_stay_two_plants(tmp_path):
    ids = [f"{tray}.{plant}" for tray in (1, 2) for plant in range(1, 11)]
    rows = [["ID", "Weight (g)"], *[[name, 20.5 + index] for index, name in enumerate(ids)]]
    log = Log(tmp_path, {"Log": rows})
    assert log.labels(Carrier(COLUMN, "ID")) == ids
    assert log.labels(Carrier(COLUMN, "ID", 1)) == ["1"] * 10 + ["2"] * 10
    assert log.labels(Carrier(COLUMN, "ID", 2))[-1] == "10"


@pytest.mark.parametrize(
    ("labels", "parts"),
    [
        (["K2-3", "K2-4", "F1-3", "F1-4"], [("K", "F"), ("2", "1"), ("3", "4")]),
        (
            ["warm tray 1", "warm tray 2", "cold tray 1", "cold tray 2"],
            [("warm", "cold"), ("1", "2")],
        ),
        (["GH1_T2_P04", "GH1_T1_P01", "GH1_T2_P01", "GH1_T1_P04"], [("T2", "T1"), ("P04", "P01")]),
        (["very hot 1", "cold 1", "very hot 2", "cold 2"], [("very hot", "cold"), ("1", "2")]),
        (
            ["10 h tray 1", "10 h tray 2", "14 h tray 1", "14 h tray 2"],
            [("10 h", "14 h"), ("1", "2")],
        ),
        (
            ["half strength Bak T1", "full strength Bak T2"] * 2,
            [("half strength", "full strength"), ("T1", "T2")],
        ),
        (["PS1", "PS2", "CS1", "CS2"], [("P", "C"), ("S1", "S2")]),
        (
            ["+light-T1", "+light-T2", "-light-T1", "-light-T2"],
            [("+light", "-light"), ("T1", "T2")],
        ),
        (["10-14-T1", "12-12-T1", "10-14-T2", "12-12-T2"], [("10-14", "12-12"), ("T1", "T2")]),
    ],
)
def test_labels_of_one_pattern_have_parts(tmp_path, labels, parts):
    rows = [["ID", "Weight (g)"], *[[label, 20.5 + index] for index, label in enumerate(labels)]]
    assert Log(tmp_path, {"Log": rows}).parts(COLUMN, "ID") == parts


@pytest.mark.parametrize(
    "labels", [["fan", "still"] * 2, ["2026-03-01", "2026-03-02"] * 2, ["0.5", "1.5"] * 2]
)
def test_names_dates_and_measures_have_no_parts(tmp_path, labels):
    rows = [["Label", "Weight (g)"], *[[label, 20.5 + index] for index, label in enumerate(labels)]]
    assert Log(tmp_path, {"Log": rows}).parts(COLUMN, "Label") == []


def test_header_labels_stand_along_columns_and_leave_out_words_that_all_share(tmp_path):
    rows = [["Date", "Meter reading fan (kWh)", "Meter reading still (kWh)"]]
    rows += [[f"2026-03-0{day}", 100.5 + day, 200.5 + day] for day in range(1, 6)]
    log = Log(tmp_path, {"Power": rows})
    assert log.labels(Carrier(OVER, "1", 1))[1:] == ["fan", "still"]


def test_sheets_of_equal_headers_label_their_rows(tmp_path):
    rows = [["Plant", "Weight (g)"], [1, 20.5], [2, 21.5], [3, 22.5]]
    log = Log(tmp_path, {"fan Tray 1": rows, "still air Tray 2": rows})
    assert log.labels(Carrier(SHEET, "", 1)) == ["fan"] * 3 + ["still air"] * 3
    assert log.labels(Carrier(SHEET, "", 2)) == ["1"] * 3 + ["2"] * 3


def test_a_key_table_spells_a_part_of_a_label(tmp_path):
    ids = [f"{code}{tray}-{plant}" for code in "KF" for tray in (1, 2) for plant in (1, 2, 3)]
    rows = [["ID", "Weight (g)"], *[[name, 20.5 + index] for index, name in enumerate(ids)]]
    log = Log(tmp_path, {"Log": rows, "Key": [["Code", "Meaning"], ["K", "control"], ["F", "fan"]]})
    key = Lookup("Key", "Code", "Meaning")
    assert log.labels(Carrier(COLUMN, "ID", 1), lookup=key) == ["control"] * 6 + ["fan"] * 6


def test_trays_numbered_anew_are_named_by_treatment_and_tray(tmp_path):
    rows = plants(
        ("fan", 1, 1, 20.5), ("fan", 2, 1, 21.5), ("still", 1, 1, 30.5), ("still", 2, 1, 31.5)
    )
    log = Log(tmp_path, {"Log": rows})
    treatment = Source((Carrier(COLUMN, "Treatment"),))
    labels = log.labels(
        Carrier(CarrierKind.DIMENSION, "treatment"), Carrier(COLUMN, "Tray"), treatment=treatment
    )
    assert labels == ["fan 1", "fan 2", "still 1", "still 2"]


def test_a_column_that_vanished_is_told_by_its_name(tmp_path):
    log = Log(
        tmp_path, {"Log": plants(("fan", 1, 1, 20.5), ("still", 1, 1, 30.5), ("still", 1, 2, 31.5))}
    )
    with pytest.raises(ValueError, match="Shelf"):
        log.labels(Carrier(COLUMN, "Shelf"))


def test_a_day_is_named_in_iso_form_and_a_treatment_such_as_10_14_as_it_is_written(tmp_path):
    rows = [["Treatment", "Date", "Tray", "Weight (g)"]]
    for index, treatment in enumerate(["10/14", "10/14", "16/8", "16/8"]):
        rows.append([treatment, "2026-03-05", index + 1, 20.5 + index])
    log = Log(tmp_path, {"Log": rows})
    assert log.labels(Carrier(COLUMN, "Date")) == ["2026-03-05"] * 4
    assert log.labels(Carrier(COLUMN, "Treatment")) == ["10/14", "10/14", "16/8", "16/8"]


def test_days_have_no_parts(tmp_path):
    days = [f"2025-07-{day:02d}" for day in (4, 11, 18)]
    log = Log(
        tmp_path,
        {
            "Log": [
                ["Treatment", "Plot", *days],
                ["straw", "1A", 1.5, 2.5, 3.5],
                ["bare", "1B", 1.2, 2.2, 3.2],
            ]
        },
    )
    assert log.parts(OVER, "1") == []
