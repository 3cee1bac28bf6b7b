"""A log that was taken in is checked and built like a workbook, and says first what was read of it."""

from datetime import date, datetime, timedelta

import pytest
from click.testing import CliRunner

from reportgen import pipeline
from reportgen.cli import main
from reportgen.importing import checking
from reportgen.metrics import compute
from reportgen.model.problem import Severity, WorkbookError
from tests.log_tables import written

HEAD = ("Tray", "Treatment", "Plant", "wt (g)")
KINDS = {"T1": "warm", "T2": "plain", "T3": "warm", "T4": "plain"}
ROWS = [
    (tray, kind, plant, 20.5 + 3 * (kind == "warm") + 1.3 * plant)
    for tray, kind in KINDS.items()
    for plant in (1, 2, 3)
]
PLANTS = """
[[table]]
sheets = ["Log"]
header_rows = [1]
gives = "Plants"
treatment = "column:Treatment"
unit = "column:Tray"
plant = "column:Plant"
values = { "Fresh weight" = { columns = ["wt"], unit = "g" } }
"""
TRIAL = """
[trial]
Title = "Bench heating of basil"
Crop = "basil"
"Started on" = 2026-01-05
"Harvested on" = 2026-02-16
"Reference treatment" = "plain"
"""
WITH_FILE = f"""
files = ["air.csv"]
{PLANTS}
[[table]]
sheets = ["[air.csv]air"]
header_rows = [1]
gives = "Climate"
occasion = "column:Time"
values = {{ "Air temperature" = {{ columns = ["T"], unit = "°C" }} }}
"""
LIGHT = """
[[table]]
sheets = ["Map"]
header_rows = [1]
gives = "Light"
treatment = "column:where"
values = { PPFD = { columns = ["PPFD"], unit = "µmol/m2/s" } }
"""


def taken_in(folder, rows=ROWS, tables=PLANTS, trial=TRIAL, **sheets):
    """Write a log and its settings file as they stand once it was taken in."""
    log = written(folder, {"Log": [HEAD, *rows], **sheets})
    (folder / "log.adopt.toml").write_text(
        f'adopt = 2\nindependent = "unit"\n{tables}{trial}', "utf-8"
    )
    return log


def figures(log, key="fresh_weight"):
    measures = {one.measure.key: one for one in compute(pipeline.checked(log)).measures}
    return {code: one.value for code, one in measures[key].estimates}


def test_a_log_gives_its_figures(tmp_path):
    assert figures(taken_in(tmp_path)) == pytest.approx({"plain": 23.1, "warm": 26.1})


def test_a_check_says_first_what_was_read(tmp_path):
    shown = CliRunner().invoke(main, ["check", str(taken_in(tmp_path))])
    lines = shown.output.splitlines()
    assert lines[0] == "log.xlsx was read as:"
    assert lines[1].strip() == "24 numbers in the log: 24 read."
    assert lines[3].split()[:4] == ["Fresh", "weight", "warm", "2:"]
    assert "156.6 g" in lines[3]
    assert lines[-1] == "log.xlsx: no problems"


def test_a_report_says_what_was_read(tmp_path):
    log = taken_in(tmp_path)
    list(pipeline.build((log,), tmp_path / "site", options=pipeline.BuildOptions(pdf=False)))
    page = (tmp_path / "site" / "log" / "index.html").read_text("utf-8")
    assert "24 numbers in the log: 24 read." in page
    assert "What was read of each treatment" in page
    assert "2: T2, T4" in page


def test_a_report_is_built_anew_only_where_the_log_or_a_file_read_with_it_changed(tmp_path):
    log = taken_in(tmp_path, tables=WITH_FILE)
    (tmp_path / "air.csv").write_text(
        "Time,T\n2026-01-05 10:00,20.5\n2026-01-05 11:00,20.7\n", "utf-8"
    )
    options = pipeline.BuildOptions(pdf=False)
    list(pipeline.build((log,), tmp_path / "site", options=options))
    (again,) = pipeline.build((log,), tmp_path / "site", options=options)
    assert again.unchanged
    (tmp_path / "air.csv").write_text(
        "Time,T\n2026-01-05 10:00,20.5\n2026-01-05 11:00,20.9\n", "utf-8"
    )
    (again,) = pipeline.build((log,), tmp_path / "site", options=options)
    assert not again.unchanged


def test_a_folder_counts_a_log_and_not_the_files_that_are_read_with_it(tmp_path):
    log = taken_in(tmp_path, tables='files = ["air.csv"]\n' + PLANTS)
    (tmp_path / "air.csv").write_text("Time,T\n2026-01-05 10:00,20.5\n", "utf-8")
    assert pipeline.workbooks((tmp_path,)) == (log,)
    assert checking.files_of(log) == (tmp_path / "log.adopt.toml", tmp_path / "air.csv")


def test_every_problem_comes_at_once_at_the_cells_of_the_owner(tmp_path):
    rows = [*ROWS]
    rows[0] = (*rows[0][:3], 21800.0)
    rows[7] = (*rows[7][:3], -3.0)
    with pytest.raises(WorkbookError) as caught:
        pipeline.checked(taken_in(tmp_path, rows, trial=TRIAL.replace('Crop = "basil"\n', "")))
    found = {
        (one.code, one.sheet, one.cell)
        for one in caught.value.problems
        if one.severity is Severity.ERROR
    }
    assert {("slipped_point", "Log", "D2"), ("number_too_small", "Log", "D9")} <= found or len(
        found
    ) >= 3
    assert any("Crop" in str(one) for one in caught.value.problems)


def test_a_confirmed_cell_is_used_and_flagged_no_more(tmp_path):
    rows = [*ROWS, *((tray, kind, 4, 25.0) for tray, kind in KINDS.items())]
    rows[0] = (*rows[0][:3], 218.0)
    with pytest.raises(WorkbookError, match="Log!D2: 218 is about 10 times"):
        pipeline.checked(taken_in(tmp_path, rows))
    trial = pipeline.checked(taken_in(tmp_path, rows, PLANTS + 'confirmed = ["D2"]\n'))
    assert not any(one.cell == "D2" and one.severity is Severity.CAUTION for one in trial.findings)


def test_a_settings_file_that_settles_nothing_says_so(tmp_path):
    with pytest.raises(WorkbookError, match="settles no table of log"):
        pipeline.checked(taken_in(tmp_path, tables=""))


def test_a_file_that_is_named_and_not_there_is_told(tmp_path):
    with pytest.raises(WorkbookError, match=r"air\.csv"):
        pipeline.checked(taken_in(tmp_path, tables='files = ["air.csv"]\n' + PLANTS))


def test_a_text_file_that_was_not_taken_in_is_refused_with_advice(tmp_path):
    (tmp_path / "log.csv").write_text("Tray,wt\nT1,20.5\n", "utf-8")
    with pytest.raises(WorkbookError, match="Run reportgen adopt log"):
        pipeline.checked(tmp_path / "log.csv")


def test_a_spreadsheet_that_is_no_trial_workbook_is_offered_to_be_taken_in(tmp_path):
    log = written(tmp_path, {"Log": [HEAD, *ROWS]})
    with pytest.raises(WorkbookError, match="run reportgen adopt log"):
        pipeline.checked(log)


def test_the_light_of_a_log_can_be_matched_before_its_trial(tmp_path):
    rows = [
        ("where", "PPFD"),
        *((kind, 200 + 10 * at) for kind in ("warm", "plain") for at in range(4)),
    ]
    log = taken_in(tmp_path, tables=PLANTS + LIGHT, Map=rows)
    survey = checking.light_survey(checking.read_adopted(log))
    assert len(survey.light) == 8


def test_a_row_that_was_added_counts_and_is_said(tmp_path):
    confirmed = """
[confirmed.fresh_weight]
warm = { units = 2, values = 6, total = 156.6 }
plain = { units = 2, values = 6, total = 138.6 }
"""
    log = taken_in(tmp_path, [*ROWS, ("T1", "warm", 4, 26.0)], trial=TRIAL + confirmed)
    trial = pipeline.checked(log)
    assert len(trial.plants) == 13
    assert any(
        one.code == "more_values" and one.severity is Severity.REMARK for one in trial.findings
    )


def test_a_log_beside_a_workbook_has_a_page_of_its_own(tmp_path):
    day = datetime(2026, 1, 5) + timedelta(7)
    log = taken_in(tmp_path)
    trial = pipeline.checked(log)
    assert (trial.slug, trial.started_on, trial.harvested_on) == (
        "log",
        date(2026, 1, 5),
        date(2026, 2, 16),
    )
    assert trial.started_on < day.date()
    assert trial.read_back is not None
