"""A log that changes after it was taken in: read rightly, told, or asked anew; never silently
other.
"""

import tempfile
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path

import openpyxl
import pytest

from reportgen import pipeline
from reportgen.importing import checking
from reportgen.importing.settings import settings_file
from reportgen.model.problem import Severity, WorkbookError
from tests.adopting import adopt, answering, book, means

WARM, PLAIN = (30.5, 31.2, 33.1, 29.8), (25.4, 26.6, 24.9, 27.0)
ROWS = [
    (f"T{tray}", kind, plant, held[plant - 1] + tray / 10)
    for tray, kind, held in (
        (1, "warm", WARM),
        (2, "plain", PLAIN),
        (3, "warm", WARM),
        (4, "plain", PLAIN),
    )
    for plant in (1, 2, 3, 4)
]
HEAD = ("Tray", "Treatment", "Plant", "Fresh weight (g)")
CODED = [(row[0], "A" if row[1] == "warm" else "B", *row[2:]) for row in ROWS]
KEY = [("A", "warm"), ("B", "plain")]
MEANS = {"warm": (2, pytest.approx(31.15 + 0.2)), "plain": (2, pytest.approx(25.975 + 0.3))}
TOTAL = sum(row[3] for row in ROWS)


def changed(log, change):
    """Change a log as its owner does, and keep it."""
    made = openpyxl.load_workbook(log)
    change(made)
    made.save(log)


@cache
def plain_log():
    """Return the contents of a log and of its settings file, once for all tests."""
    with tempfile.TemporaryDirectory() as folder:
        log = book(Path(folder), Log=[HEAD, *ROWS])
        adopt(log, talk=answering())
        assert told(log) == [], "a log that did not change has nothing to say"
        return log.read_bytes(), settings_file(log).read_bytes()


def taken(tmp_path, change=None):
    """Return a log that was taken in, and then changed."""
    log = tmp_path / "log.xlsx"
    content, settings = plain_log()
    log.write_bytes(content)
    settings_file(log).write_bytes(settings)
    if change:
        changed(log, change)
    return log


def taken_with_total(tmp_path, change):
    log = book(tmp_path, Log=[HEAD, *ROWS, ("Total", None, None, TOTAL)])
    adopt(log, talk=answering())
    changed(log, change)
    return log


def told(log):
    """Return the code and place of each error or caution about a log."""
    try:
        found = checking.problems_in(checking.read_adopted(log))
    except WorkbookError as error:
        found = error.problems
    return [
        (one.code, f"{one.sheet}!{one.cell}")
        for one in found
        if one.severity is not Severity.REMARK
    ]


def codes(log):
    return {code for code, _ in told(log)}


def rewritten(log, old, new):
    """Change the settings file of a log as its owner would."""
    settings = settings_file(log)
    text = settings.read_text("utf-8")
    assert old in text
    settings.write_text(text.replace(old, new, 1), "utf-8")


def with_line(log, line):
    """Add a line to the table of the settings file, and take the log in again, which confirms the
    figures.
    """
    rewritten(log, 'gives = "Plants"\n', f'gives = "Plants"\n{line}\n')
    adopt(log, talk=answering())


def with_a_plant_above(made):
    made["Log"].insert_rows(5)
    for column, value in enumerate(("T1", "warm", 5, 31.0), start=1):
        made["Log"].cell(5, column, value)


def with_column(at, header, value=8, rows=16):
    def change(made):
        made["Log"].insert_cols(at)
        for row in range(1, rows + 2):
            made["Log"].cell(row, at, header if row == 1 else value)

    return change


def with_sheet(name, rows):
    def change(made):
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)

    return change


def with_cell(sheet, cell, value):
    return lambda made: made[sheet].__setitem__(cell, value)


# --- rows and columns


def test_a_plant_that_is_put_in_above_counts(tmp_path):
    log = taken(tmp_path, with_a_plant_above)
    assert told(log) == []
    assert means(log)["warm"] == (
        2,
        pytest.approx((sum(WARM) + 0.4 + 31.0) / 10 + (sum(WARM) + 1.2) / 8),
    )
    assert len(pipeline.checked(log).plants) == 17


@pytest.mark.parametrize(("at", "header"), [(1, "Bench"), (4, "Leaves"), (4, "")])
def test_a_column_that_is_put_in_changes_no_figure(tmp_path, at, header):
    log = taken(tmp_path, with_column(at, header))
    assert told(log) == []
    assert means(log) == MEANS


TWICE = [(*row, 3.0 + at / 10) for at, row in enumerate(ROWS)]
TWO_HEADS = (*HEAD, "Fresh weight (g)")
FIRST_HOLDS = {
    "Fresh weight (2 of 2)": "Fresh weight (2 of 2)",
    "Fresh weight (1 of 2)": "Fresh weight",
}


def test_of_two_columns_of_one_header_the_one_that_was_said_holds(tmp_path):
    log = book(tmp_path, Log=[TWO_HEADS, *TWICE])
    adopt(log, talk=answering(**FIRST_HOLDS))
    assert means(log) == MEANS
    changed(log, with_column(4, "Leaves"))
    assert told(log) == []
    assert means(log) == MEANS
    changed(log, lambda made: made["Log"].delete_cols(5))
    assert "column_gone" in codes(log)


def test_a_total_that_was_not_mended_after_a_plant_was_put_in_stops_the_report(tmp_path):
    log = taken_with_total(tmp_path, with_a_plant_above)
    assert told(log) == [("statistic_disagrees", "Log!D19")]


def test_a_total_that_moved_with_its_rows_is_no_plant(tmp_path):
    def change(made):
        with_a_plant_above(made)
        made["Log"]["D19"] = TOTAL + 31.0

    log = taken_with_total(tmp_path, change)
    assert told(log) == []
    assert len(pipeline.checked(log).plants) == 17


@pytest.mark.parametrize("gap", [0, 1, 2])
def test_rows_below_a_table_count_or_are_told(tmp_path, gap):
    blocks = [("Tray", "Plant", "Fresh weight (g)", None, "Tray", "Plant", "Fresh weight (g)")]
    blocks += [
        (f"P{at % 2}", at, 30.0 + at, None, f"W{at % 2}", at, 36.5 + at) for at in range(1, 9)
    ]
    log = book(tmp_path, Log=[("plain", *[None] * 3, "warm"), *blocks])
    adopt(
        log,
        talk=answering(truth={"plain": (2, pytest.approx(34.5)), "warm": (2, pytest.approx(41.0))}),
    )

    def write(made):
        for column, value in enumerate(("P1", 9, 33.3, None, "W1", 9, 41.2), start=1):
            made["Log"].cell(11 + gap, column, value)

    changed(log, write)
    assert told(log) == []
    assert len(pipeline.checked(log).plants) == 18


# --- sheets and files


def of_one(kind, tray=""):
    rows = [(f"{tray}{row[0]}", row[2], row[3]) for row in ROWS if row[1] == kind]
    return [("Tray", "Plant", "Fresh weight (g)"), *rows]


def test_a_sheet_that_is_added_for_a_third_treatment_is_told_and_taken_in(tmp_path):
    log = book(tmp_path, warm=of_one("warm"), plain=of_one("plain"))
    adopt(log, talk=answering())
    changed(log, with_sheet("shade", of_one("plain", "S")))
    changed(log, with_sheet("Notes", [("The lamp broke once",)]))
    assert [place.partition("!")[0] for _, place in told(log)] == ["shade"]
    adopt(log, talk=answering())
    assert told(log) == []
    assert set(means(log)) == {"warm", "plain", "shade"}


EARLIER = [(f"Z{row[0]}", row[1], row[2], row[3] / 2) for row in ROWS]


def test_a_sheet_of_another_year_that_is_added_is_told_until_its_owner_leaves_it_out(tmp_path):
    log = book(tmp_path, **{"2026": [HEAD, *ROWS]})
    adopt(log, talk=answering())
    changed(log, with_sheet("2025", [HEAD, *EARLIER]))
    assert {place.partition("!")[0] for _, place in told(log)} == {"2025"}
    adopt(log, talk=answering(gives="no part of the trial"))
    assert told(log) == []
    assert means(log) == MEANS


def test_a_file_of_another_name_beside_those_that_were_taken_in_changes_nothing(tmp_path):
    for kind in ("warm", "plain"):
        lines = [";".join(map(str, row)) for row in of_one(kind)]
        (tmp_path / f"{kind}.csv").write_text("\n".join(lines) + "\n", "utf-8")
    log = tmp_path / "plain.csv"
    adopt(log, tmp_path / "warm.csv", talk=answering())
    (tmp_path / "other.csv").write_text("Day;Rain (mm)\n1;3.4\n2;5.5\n", "utf-8")
    assert told(log) == []
    assert means(log) == MEANS


def test_a_sheet_that_is_renamed_or_deleted_stops_the_report(tmp_path):
    for number, change in enumerate(
        (
            lambda made: setattr(made["plain"], "title", "Control"),
            lambda made: made.remove(made["plain"]),
        )
    ):
        log = book(tmp_path, f"log{number}.xlsx", warm=of_one("warm"), plain=of_one("plain"))
        adopt(log, talk=answering())
        changed(log, change)
        assert told(log)
        with pytest.raises(WorkbookError):
            pipeline.checked(log)


# --- columns of treatments and meters


def test_a_column_that_is_added_to_those_of_the_treatments_is_told(tmp_path):
    rows = [(at, 30.5 + at, 25.5 + at) for at in range(8)]
    log = book(tmp_path, Log=[("Pot", "warm", "plain"), *rows])
    adopt(
        log,
        talk=answering(truth={"warm": (8, pytest.approx(34.0)), "plain": (8, pytest.approx(29.0))}),
    )

    def add(made):
        for row, value in enumerate(("shade", *(20.5 + at for at in range(8))), start=1):
            made["Log"].cell(row, 4, value)

    changed(log, add)
    assert told(log) == [("number_not_explained", "Log!D2:D9")]


def kilowatts(*rates):
    days = [datetime(2026, 1, 5) + timedelta(day) for day in range(0, 43, 7)]
    return [(day, *(100 + rate * at for rate in rates)) for at, day in enumerate(days)]


def test_a_column_that_is_added_to_those_of_meters_is_told(tmp_path):
    power = [("Date", "warm (kWh)", "plain (kWh)"), *kilowatts(14, 7)]
    log = book(tmp_path, Log=[HEAD, *ROWS], Power=power)
    adopt(
        log, talk=answering(truth={"warm": (1, pytest.approx(84)), "plain": (1, pytest.approx(42))})
    )

    def add(made):
        for row, value in enumerate(("shade (kWh)", *(50.5 + at for at in range(7))), start=1):
            made["Power"].cell(row, 4, value)

    changed(log, add)
    assert ("number_not_explained", "Power!D2:D8") in told(log)


# --- units, keys, names


@pytest.mark.parametrize(
    ("above", "below", "cell", "text"),
    [
        ([("Weights in g",), ()], [], "A1", "Weights in kg"),
        ([], [(None, None, None, "g")], "D2", "oz"),
    ],
)
def test_another_unit_in_a_note_or_in_the_row_of_units_stops_the_report(
    tmp_path, above, below, cell, text
):
    log = book(tmp_path, Log=[*above, ("Tray", "Treatment", "Plant", "Weight"), *below, *ROWS])
    adopt(log, talk=answering())
    assert means(log) == MEANS
    changed(log, with_cell("Log", cell, text))
    assert codes(log) == {"unit_changed"}


def test_another_unit_in_the_header_stops_the_report(tmp_path):
    assert "unit_changed" in codes(taken(tmp_path, with_cell("Log", "D1", "Fresh weight (oz)")))


def test_a_key_that_was_turned_round_stops_the_report(tmp_path):
    log = book(tmp_path, Log=[HEAD, *CODED], Key=KEY)
    adopt(log, talk=answering(truth=MEANS))
    assert means(log) == MEANS
    changed(log, with_cell("Key", "B1", "plain"))
    changed(log, with_cell("Key", "B2", "warm"))
    assert codes(log) == {"figures_changed"}


def test_treatments_keep_the_names_that_their_owner_gives_them(tmp_path):
    log = taken(tmp_path)
    rewritten(log, "adopt = 2\n", 'adopt = 2\ntreatments = { warm = "Warm bench, 24 °C" }\n')
    adopt(log, talk=answering())
    assert told(log) == []
    assert {one.name for one in pipeline.checked(log).treatments} == {"Warm bench, 24 °C", "plain"}


def test_a_code_or_a_word_that_is_written_later_stops_the_report(tmp_path):
    log = book(tmp_path, Log=[HEAD, *CODED], Key=KEY)
    adopt(log, talk=answering(truth=MEANS))
    changed(log, lambda made: made["Log"].append(("T5", "C", 1, 20.5)))
    assert told(log) == [("number_not_explained", "Log!D18")]
    changed(log, lambda made: made["Log"].append(("T1", "A", 5, "wilted away")))
    assert ("word_among_numbers", "Log!D19") in told(log)


def test_a_treatment_that_is_written_later_stops_the_report(tmp_path):
    log = taken(tmp_path, lambda made: made["Log"].append(("T9", "shade", 1, 33.0)))
    assert told(log) == [("treatment_new", "Log!D18")]


# --- cells that are corrected, confirmed or left out


def test_a_correction_does_not_move_to_another_plant_when_a_row_is_inserted(tmp_path):
    log = taken(tmp_path)
    with_line(log, f'corrected = [{{ cell = "D10", held = {ROWS[8][3]}, is = 44.0 }}]')
    assert pipeline.checked(log).plants[8].fresh_weight == 44.0
    changed(log, with_a_plant_above)
    assert told(log) == []
    assert [plant.fresh_weight for plant in pipeline.checked(log).plants[8:10]] == [
        ROWS[7][3],
        44.0,
    ]


def test_a_correction_that_its_owner_made_in_the_log_too_is_no_fault(tmp_path):
    log = taken(tmp_path)
    with_line(log, f'corrected = [{{ cell = "D10", held = {ROWS[8][3]}, is = 44.0 }}]')
    changed(log, with_cell("Log", "D10", 44.0))
    assert pipeline.checked(log).plants[8].fresh_weight == 44.0


def test_plants_that_are_left_out_are_told_once_a_row_was_inserted(tmp_path):
    log = taken(tmp_path)
    texts = [" | ".join(map(str, (*row[:3], f"{row[3]:.15g}"))) for row in (ROWS[8], ROWS[10])]
    left_out = [
        f'{{ row = {row}, holds = "{text}", because = "eaten" }}'
        for row, text in zip((10, 12), texts, strict=True)
    ]
    with_line(log, f"left_out = [{', '.join(left_out)}]")
    assert len(pipeline.checked(log).plants) == 14
    changed(log, with_a_plant_above)
    assert told(log) == []
    weights = [plant.fresh_weight for plant in pipeline.checked(log).plants]
    assert len(weights) == 15
    assert ROWS[8][3] not in weights
    changed(log, with_cell("Log", "D11", 30.9))
    assert "left_out_changed" in codes(log)


def test_a_cell_that_was_confirmed_waits_again_once_it_holds_something_else(tmp_path):
    log = book(tmp_path, Log=[HEAD, *ROWS[:8], (*ROWS[8][:3], 2740), *ROWS[9:]])
    adopt(log, talk=answering(row="keep"))
    assert pipeline.checked(log).plants[8].fresh_weight == 2740
    changed(log, with_cell("Log", "D10", 2840))
    with pytest.raises(WorkbookError):
        pipeline.checked(log)
    assert "figures_changed" in codes(log)


def test_a_table_that_is_named_twice_counts_no_plant_twice(tmp_path):
    log = taken(tmp_path)
    text = settings_file(log).read_text("utf-8")
    table = text[text.index("[[table]]") : text.index("[trial]")]
    rewritten(log, "[trial]", f"{table}\n[trial]")
    assert "read_twice" in codes(log)
    with pytest.raises(WorkbookError):
        pipeline.checked(log)
