"""Tables that run sideways: what was measured stands down the first column, one plant a column."""

import openpyxl
import pytest
from openpyxl.styles import PatternFill

from reportgen import pipeline
from reportgen.importing.memory import Memory
from reportgen.importing.session import understand
from reportgen.importing.settings import read_settings, settings_file
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, book, means, understood

HEAD = ("Pot", "Bench heat", "Tray", "Height (cm)", "Fresh weight (g)", "Remarks")
POTS = [
    (f"P{n:02}", "heated" if n < 7 else "none", (n + 2) // 3, 10.5 + n, 20.5 + n, None)
    for n in range(1, 13)
]
OF_TRAYS = {"tray": "tray: Tray; each value is of one plant"}
FIELDS = {
    "title": "Pots",
    "crop": "basil",
    "started_on": "2026-01-05",
    "harvested_on": "2026-02-16",
    "reference": "none",
}
MEANS = {"heated": (2, pytest.approx(24.0)), "none": (2, pytest.approx(30.0))}


def sideways(rows):
    """Return rows as columns."""
    return list(zip(*rows, strict=True))


def log_of(tmp_path, pots=POTS, above=()):
    return book(tmp_path, Pots=[*above, *sideways([HEAD, *pots])])


def taken_in(log, **own):
    return adopt(log, talk=answering(**OF_TRAYS, **own))


@pytest.mark.parametrize("above", [(), (("Basil on the bench",), ())])
def test_a_table_that_runs_sideways_is_turned(tmp_path, above):
    log = log_of(tmp_path, above=above)
    taken_in(log)
    assert means(log) == MEANS
    assert means(log, "height") == {
        "heated": (2, pytest.approx(14.0)),
        "none": (2, pytest.approx(20.0)),
    }
    assert read_settings(settings_file(log)).conventions.turned == {"Pots": True}


def test_it_reads_as_the_same_table_upright(tmp_path):
    upright = book(tmp_path, "upright.xlsx", Pots=[HEAD, *POTS])
    memories = [Memory((log,)) for log in (log_of(tmp_path), upright)]
    turned, straight = (understand(memory.paths, memory=memory) for memory in memories)
    choices = [
        {choice.answer: choice.gives for choice in state.questions[0].choices}
        for state in (turned, straight)
    ]
    assert choices[0] == choices[1]


def test_places_are_those_of_the_owner(tmp_path):
    question, *_ = understood((log_of(tmp_path),), {}).questions
    assert question.where == ("Pots!A1:M6",)
    state = understood((log_of(tmp_path, [(*POTS[0][:4], "?", None), *POTS[1:]]),), OF_TRAYS)
    assert [(question.key, question.where) for question in state.questions] == [
        ("word.?", ("Pots!B5",))
    ]


def test_a_weight_that_looks_wrong_is_named_by_its_own_cell_and_can_be_corrected(tmp_path):
    pots = [(*POTS[0][:4], 2150.0, None), *POTS[1:]]
    log = log_of(tmp_path, pots)
    taken_in(log, **{"row.Pots!B5": "21.5"})
    assert means(log) == MEANS
    (changed,) = read_settings(settings_file(log)).layouts[0].corrected
    assert (changed.cell, changed.held, changed.value) == ("Pots!B5", "2150", "21.5")
    where = [
        (each.column, each.rows)
        for each in pipeline.checked(log).traces
        if each.quantity == "Fresh weight"
    ]
    assert where == [("B to M", (5,))]


def test_a_pot_that_was_added_counts_and_one_whose_weight_is_text_is_named(tmp_path):
    log = log_of(tmp_path)
    taken_in(log)
    made = openpyxl.load_workbook(log)
    for row, value in enumerate(("P13", "none", 4, 23.0, 36.0, None), 1):
        made["Pots"].cell(row, 14, value)
    made.save(log)
    assert means(log)["none"] == (2, pytest.approx((28.5 + (30.5 + 31.5 + 32.5 + 36.0) / 4) / 2))
    made["Pots"]["N5"] = "lots"
    made.save(log)
    with pytest.raises(WorkbookError) as caught:
        pipeline.checked(log)
    assert ("Pots", "N5") in [(one.sheet, one.cell) for one in caught.value.problems]


def test_marks_and_merged_cells_are_turned_too(tmp_path):
    log = log_of(tmp_path)
    made = openpyxl.load_workbook(log)
    sheet = made["Pots"]
    for first in (2, 8):  # the heat is written once over its pots
        sheet.merge_cells(start_row=2, end_row=2, start_column=first, end_column=first + 5)
    for row in range(1, 6):
        sheet.cell(row, 3).fill = PatternFill("solid", fgColor="FFFF00")
    made.save(log)
    state = understood((log,), {**OF_TRAYS, **FIELDS})
    assert [question.where for question in state.questions] == [("Pots!C1:C5",)]
    adopt(log, talk=answering(**OF_TRAYS, row="keep"))
    assert means(log) == MEANS
