"""Logs that change after they were taken in, and sheets, columns and readings that are no part of the trial."""

import openpyxl
import pytest

from reportgen import pipeline
from reportgen.adopt.toml_file import settings_file
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, book
from tests.test_adopt_habits import HEAD, MEANS, ROWS, TRAYS, means, settled


def changed(log, change):
    """Change a log as its owner does, and keep it."""
    made = openpyxl.load_workbook(log)
    change(made)
    made.save(log)


def findings(log):
    """Return what is said of a log, be it a stop or not."""
    try:
        return pipeline.checked(log).findings
    except WorkbookError as error:
        return error.problems


# --- columns that are named by their letters

TWICE = [(*HEAD, "Fresh weight (g)"), *((*row, 3.0 + at / 10) for at, row in enumerate(ROWS))]


def test_a_column_named_by_its_letter_is_noted_with_its_header(tmp_path):
    log = book(tmp_path, Log=TWICE)
    adopt(log, talk=answering(**TRAYS))
    table = settled(log).tables[0]
    assert table.columns["Fresh weight"].header == "column D"
    assert table.stood["D"] == "Fresh weight (g) (1 of 2)"
    assert means(log) == MEANS


@pytest.mark.parametrize(("at", "header"), [(1, "Bench"), (4, "Leaves"), (4, "")])
def test_a_column_inserted_before_one_that_is_named_by_its_letter_stops_the_report(tmp_path, at, header):
    log = book(tmp_path, Log=TWICE)
    adopt(log, talk=answering(**TRAYS))

    def insert(made):
        made["Log"].insert_cols(at)
        for row in range(1, 18):
            made["Log"].cell(row, at, header if row == 1 else 8)

    changed(log, insert)
    with pytest.raises(WorkbookError, match=r"column D was headed .* That header stands in column E now: write it"):
        pipeline.checked(log)


def test_a_column_deleted_before_two_of_one_header_stops_the_report(tmp_path):
    log = book(tmp_path, Log=[("Note", *TWICE[0]), *(("", *row) for row in TWICE[1:])])
    adopt(log, talk=answering(**TRAYS))
    changed(log, lambda made: made["Log"].delete_cols(1))
    with pytest.raises(WorkbookError, match=r'column E was headed "Fresh weight \(g\) \(1 of 2\)"'):
        pipeline.checked(log)


def test_a_settings_file_that_has_no_note_of_a_column_says_so_and_adopting_again_writes_it(tmp_path):
    log = book(tmp_path, Log=TWICE)
    adopt(log, talk=answering(**TRAYS))
    settings = settings_file(log)
    lines = settings.read_text().splitlines(keepends=True)
    settings.write_text("".join(line for line in lines if not line.startswith("stood")))
    assert means(log) == MEANS
    assert any("does not say what column D" in one.found for one in findings(log))
    adopt(log, talk=answering(**TRAYS))
    assert settled(log).tables[0].stood["D"] == "Fresh weight (g) (1 of 2)"
