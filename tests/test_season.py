"""A season as a grower lives it: what check and build say of a workbook from the day it is new to
the last weight.
"""

import json
import re
import shutil
import subprocess
from datetime import date, datetime, time, timedelta
from types import SimpleNamespace

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook

from reportgen import metrics, pipeline, workbook
from reportgen.building import verify
from reportgen.cli import main
from reportgen.metrics.pooled import pooled_comparisons
from reportgen.metrics.to_pool import to_pool
from reportgen.model.problem import NotYetError, Severity
from tests import season
from tests.workbooks import findings, good, put, write

pytestmark = pytest.mark.usefixtures("drawn_once", "made_once", "without_screens")

DAYS = {
    "untouched": "2026-03-01",
    "begun": "2026-03-03",
    "week three": "2026-03-18",
    "harvest day": "2026-04-06",
    "finished": "2026-04-10",
}
UNFINISHED = ("begun", "week three", "harvest day")


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def at(tmp_path, stage, name="trial.xlsx"):
    return season.workbook(tmp_path / name, stage)


def changed(path, **cells):
    """Set cells of a workbook, such as `Growth_D3="12O"`."""
    book = load_workbook(path)
    for place, value in cells.items():
        sheet, cell = place.split("_")
        book[sheet][cell].value = value
    book.save(path)
    return path


def checked(tmp_path, stage, *words, **cells):
    path = changed(at(tmp_path, stage), **cells)
    done = run("check", path, "--today", DAYS[stage], *words)
    return SimpleNamespace(code=done.exit_code, lines=done.output.splitlines(), output=done.output)


def steps(tmp_path, stage, today=None, **cells):
    path = changed(at(tmp_path, stage), **cells)
    found = workbook.outlook(workbook.read(path), date.fromisoformat(today or DAYS[stage]))
    return [step.text for step in found.steps]


def built(tmp_path, stage, *words, **cells):
    path = changed(at(tmp_path, stage), **cells)
    done = run("build", path, "--out", tmp_path / "site", "--no-pdf", *words)
    return done, tmp_path / "site" / "trial"


def results(report):
    return json.loads((report / "results.json").read_text("utf-8"))


# ---- rows in any order ---------------------------------------------------------------------------


def by_day(rows):
    return sorted(rows, key=lambda row: row[-1])


def by_thing(rows):
    return rows


def one_forgotten(rows):
    """Return rows by day, those of the second week typed in after those of the fourth."""
    ordered = by_day(rows)
    week = [row for row in ordered if row[-1] == 2]
    later = [row for row in ordered if row[-1] != 2]
    place = sum(row[-1] < 5 for row in later)
    return [*later[:place], *week, *later[place:]]


def whole_season(path, order, note="", harvest=season.HARVEST):
    """Write a workbook of `new --with water,energy,growth` that is filled in rightly, weekly rows
    below the planned.
    """
    at_the_end = season.workbook(path, "finished")
    book = load_workbook(at_the_end)
    for row in season.rows(book, "Meter"):
        if (row[5].value or "").startswith("last"):
            row[2].value = datetime.combine(harvest, time(8))
            row[3].value = 200.0 if row[0].value == "M1" else 260.0
        elif row[5].value is None:
            row[0].value = row[1].value = row[2].value = row[3].value = None
    weeks = range(1, 5)
    meters = [("M1", "plain", 20.0, week) for week in weeks] + [
        ("M2", "warm", 32.0, week) for week in weeks
    ]
    for meter, treatment, used, week in order(meters):
        day = datetime.combine(season.START + timedelta(7 * week), time(8))
        season.append(book, "Meter", meter, treatment, day, 100.0 + used * week, None, note or None)
    for tray, week in order([(tray, week) for tray in season.trays(book) for week in weeks]):
        season.append(book, "Solution", tray, season.START + timedelta(7 * week - 1), "top-up", 1.5)
    book.save(path)
    return path


@pytest.mark.parametrize("harvest", [season.HARVEST, season.HARVEST - timedelta(2)])
@pytest.mark.parametrize("note", ["", "weekly reading"])
@pytest.mark.parametrize("order", [by_day, by_thing, one_forgotten])
def test_a_season_filled_in_rightly_raises_no_alarm_in_any_order_of_rows(
    tmp_path, order, note, harvest
):
    found = findings(whole_season(tmp_path / "trial.xlsx", order, note, harvest))
    assert [str(one) for one in found if one.code == "date_out_of_order"] == []
    assert {str(one) for one in found if one.code != "meter_not_whole_trial"} == set()


def test_a_day_with_the_wrong_month_is_told_among_weekly_rows_below_those_of_the_plan(tmp_path):
    path = whole_season(tmp_path / "trial.xlsx", by_thing)
    book = load_workbook(path)
    row = next(
        row for row in season.rows(book, "Meter") if row[2].value == datetime(2026, 3, 16, 8)
    )
    row[2].value = datetime(2026, 4, 16, 8)
    cell = row[2].coordinate
    book.save(path)
    found = [one for one in findings(path) if one.code == "date_out_of_order"]
    assert [(one.place, one.advice) for one in found] == [
        (f"Meter!{cell}", "Type 2026-03-16 if that is meant; the row was used as it stands.")
    ]


# ---- check, stage by stage -----------------------------------------------------------------------


def test_an_untouched_workbook_has_no_problem_and_says_what_to_begin_with(tmp_path):
    done = checked(tmp_path, "untouched")
    assert done.code == 0
    assert done.lines == [
        "trial.xlsx:",
        "  still to come: Title, Crop, Started on and Harvested on, Trial!B2:B13",
        "  still to come: 24 weights, Plants!C2:C25",
        "  Next to record:",
        "    fill in Title, Crop and Started on (Trial!B2:B12)",
        "    at the harvest: Harvested on (Trial!B13) and 24 weights (Plants!C2:C25)",
        "trial.xlsx: no problems; 28 values still to come",
    ]


def test_in_week_three_each_sheet_in_use_has_one_note_and_the_next_readings_have_days(tmp_path):
    done = checked(tmp_path, "week three")
    assert done.code == 0
    assert done.lines == [
        "trial.xlsx:",
        "  still to come: Harvested on, Trial!B13",
        "  still to come: 23 weights, Plants!C2:C5, C7:C25",
        "  still to come: 8 volumes (remaining), Solution!D10:D17",
        "  still to come: 2 readings, Meter!D3, D5",
        "  Next to record:",
        "    Growth: the next record is due on 2026-03-24 (in 6 days); the last was on 2026-03-17",
        "    Meter: the next record is due on 2026-03-23 (in 5 days); the last was on 2026-03-16",
        (
            "    at the harvest: Harvested on (Trial!B13), 23 weights (Plants!C2:C5, C7:C25), 8"
            " volumes (remaining) (Solution!D10:D17) and 2 readings (Meter!D3, D5)"
        ),
        "trial.xlsx: no problems; 34 values still to come",
    ]


def test_on_the_day_of_harvest_what_is_not_weighed_yet_is_no_error(tmp_path):
    done = checked(tmp_path, "harvest day")
    assert done.code == 0
    assert "  still to come: 12 weights, Plants!C14:C25" in done.lines
    assert done.lines[-2].startswith(
        "    at the harvest today: 12 weights (Plants!C14:C25), 4 volumes (remaining)"
    )
    assert not any("Growth" in line for line in done.lines)


def test_a_finished_workbook_has_nothing_to_come(tmp_path):
    assert checked(tmp_path, "finished").lines == ["trial.xlsx: no problems"]


@pytest.mark.parametrize("stage", season.STAGES)
def test_no_stage_has_an_error_a_caution_or_a_remark(tmp_path, stage):
    assert {one.severity for one in findings(at(tmp_path, stage))} <= {Severity.TO_COME}


def test_real_mistakes_come_before_what_is_to_come_and_exit_with_1(tmp_path):
    done = checked(tmp_path, "week three", Growth_D3="12O", Solution_F2=12.5)
    kinds = [line.split(":")[0].strip() for line in done.lines if ": " in line]
    assert done.code == 1
    assert kinds[:4] == ["error", "caution", "still to come", "still to come"]
    assert done.lines[-1] == "trial.xlsx: 1 error, 1 caution; 34 values still to come"


def test_a_row_that_was_begun_is_asked_to_be_filled_in(tmp_path):
    done = checked(tmp_path, "week three", Solution_B10=date(2026, 3, 17))
    assert (
        "  error: Solution!D10: Volume is not filled in yet; expected a number in L. Fill it in."
        in done.lines
    )


def test_a_blank_weight_is_an_error_once_every_tray_has_weights(tmp_path):
    done = checked(tmp_path, "finished", Plants_C3=None)
    assert done.code == 1
    assert done.lines[1].startswith("  error: Plants!C3: Fresh weight is not filled in yet")


def test_rows_of_a_sheet_that_nobody_uses_are_neither_error_nor_note(tmp_path):
    blank = {f"Meter_{letter}{row}": None for letter in "CD" for row in range(2, 8)}
    assert checked(tmp_path, "finished", **blank).lines == ["trial.xlsx: no problems"]
    lines = checked(tmp_path, "begun", **blank).lines
    noted = lines[: lines.index("  Next to record:")]
    assert not any("Meter" in line for line in noted)


def test_a_blank_row_of_a_sheet_in_use_stops_a_finished_trial(tmp_path):
    done = checked(tmp_path, "finished", Meter_C5=None, Meter_D5=None)
    assert done.code == 1
    assert "Meter!C5: Read at and Reading are not filled in yet" in done.output


def test_a_harvest_day_that_is_planned_leaves_the_trial_unfinished_until_then(tmp_path):
    done = checked(tmp_path, "week three", Trial_B13=date(2026, 4, 6))
    assert done.code == 0
    assert "at the harvest on 2026-04-06 (in 19 days): 23 weights" in done.output


def test_a_status_is_a_record_where_no_plant_was_weighed(tmp_path):
    sheets = put(good(), Trial_B6=None)
    for row in sheets["Plants"][1:]:
        row[2:4] = [None, None]
    sheets = {name: sheets[name] for name in ("Trial", "Treatments", "Trays", "Plants")}
    with pytest.raises(NotYetError):
        workbook.check(workbook.read(write(sheets, tmp_path / "none.xlsx")))
    sheets["Plants"][1][4] = "dead"
    assert workbook.check(workbook.read(write(sheets, tmp_path / "one.xlsx"))).interim


def test_a_column_of_ones_own_may_be_blank_until_the_harvest(tmp_path):
    own = {"Plants_J1": "Brix (%)", "Trial_B19": "Brix"}
    assert (
        checked(tmp_path, "week three", **own).lines[-1]
        == "trial.xlsx: no problems; 34 values still to come"
    )
    done = checked(tmp_path, "finished", **own)
    assert 'Trial!B19: "Brix" has no values on the sheet Plants' in done.output
    assert done.lines[-1] == "trial.xlsx: 1 error, 1 remark"


def test_hours_of_use_are_asked_for_at_the_end(tmp_path):
    pump = {
        f"Costs_{letter}2": value
        for letter, value in zip("ABCD", ("pump", "all", 40, 20_000), strict=True)
    }
    assert "Hours used" not in checked(tmp_path, "week three", **pump).output
    assert (
        "Costs!E2: Hours used is not filled in yet" in checked(tmp_path, "finished", **pump).output
    )


def test_days_lie_within_what_was_recorded_so_far(tmp_path):
    done = checked(tmp_path, "week three", Growth_C2=date(2023, 3, 3))
    assert (
        "caution: Growth!C2: 2023-03-03 outside the trial; expected a date from 2026-03-02 to"
        " 2026-03-17" in done.output
    )


def test_a_record_of_the_wrong_year_is_asked_back_without_a_clock_too(tmp_path):
    found = findings(changed(at(tmp_path, "week three"), Solution_B20=date(2028, 3, 16)))
    (remark,) = (one for one in found if one.severity is Severity.REMARK)
    assert remark.found == "the last record on 2028-03-16 is 745 days after the start on 2026-03-02"


def test_a_dead_plant_does_not_make_a_trial_finished_before_its_day(tmp_path):
    path = changed(at(tmp_path, "week three"), Trial_B13=date(2026, 4, 6))
    trial = workbook.check(workbook.read(path))
    assert [one.status for one in trial.plants].count("dead") == 1
    assert (trial.interim, trial.as_of, trial.harvested_on) == (
        True,
        date(2026, 3, 17),
        date(2026, 3, 17),
    )


# ---- what to record next -------------------------------------------------------------------------


def test_rows_with_a_planned_day_are_due_on_it(tmp_path):
    rows = [("Growth", row) for row in range(26, 42)]
    cells = {f"{sheet}_A{row}": f"T{(row - 26) % 8 + 1}" for sheet, row in rows}
    cells |= {f"{sheet}_C{row}": date(2026, 3, 17 if row < 34 else 20) for sheet, row in rows}
    found = steps(tmp_path, "week three", **cells)
    assert found[0] == "8 heights (Growth!D26:D33) were due on 2026-03-17 (1 day ago)"
    assert found[1] == "8 heights (Growth!D34:D41) are due on 2026-03-20 (in 2 days)"
    assert not any("Growth: the next" in text for text in found)


def test_a_tray_without_a_fill_and_a_meter_never_read_are_named(tmp_path):
    blank = {"Solution_B4": None, "Solution_D4": None, "Meter_C4": None, "Meter_D4": None}
    found = steps(tmp_path, "begun", **blank)
    assert found[:2] == [
        "the first of M2: 1 reading (Meter!D4)",
        "the first of T3: 1 volume (fill) (Solution!D4)",
    ]


def test_readings_of_the_start_come_first_once_the_trial_has_begun(tmp_path):
    blank = {f"Meter_{letter}{row}": None for letter in "CD" for row in range(2, 6)}
    blank |= {f"Solution_{letter}{row}": None for letter in "BD" for row in range(2, 10)}
    found = steps(tmp_path, "begun", **blank, Trial_B2=None)
    assert found[0].startswith("the first of M1 and M2: 2 readings (Meter!D2")
    assert found[1] == "the first of T1, T2, T3, T4 and 4 more: 8 volumes (fill) (Solution!D2:D9)"
    assert found[2].startswith("fill in Title")
    before = steps(tmp_path, "begun", today="2026-03-01", **blank)
    assert not any("first of" in text for text in before)


@pytest.mark.parametrize("harvest", [date(2026, 3, 20), date(2026, 3, 23)])
def test_nothing_is_due_after_the_harvest(tmp_path, harvest):
    found = steps(tmp_path, "week three", Trial_B13=harvest)
    due = min(harvest, date(2026, 3, 24))
    assert found[0].startswith(f"Growth: the next record is due on {due}")
    assert not any("Meter: the next" in text for text in found)
    assert "2 readings (Meter!D3" in found[-1]


# ---- pickings ------------------------------------------------------------------------------------


def pick(path, days, *amount):
    """Add a picking of every tray on each of some days; amount: weight and count, planned rows
    without.
    """
    book = load_workbook(path)
    for day in days:
        for tray in season.trays(book):
            season.append(book, "Harvests", tray, None, day, *amount)
    book.save(path)
    return path


@pytest.mark.parametrize("amount", [(85.0,), (None, 6)])
def test_where_pickings_are_the_yield_no_weight_of_a_plant_is_still_to_come(tmp_path, amount):
    path = pick(at(tmp_path, "week three"), [date(2026, 3, day) for day in (9, 12, 15)], *amount)
    found = workbook.outlook(workbook.read(path), date(2026, 3, 16))
    assert not any(
        "Plants!" in str(one) for one in (*found.problems, *(step.text for step in found.steps))
    )
    assert (
        "Harvests: the next record is due on 2026-03-18 (in 2 days); the last was on 2026-03-15"
        in [step.text for step in found.steps]
    )


def test_planned_pickings_are_to_come_in_place_of_weights_of_plants(tmp_path):
    path = pick(at(tmp_path, "week three"), [None])
    found = [str(one) for one in findings(path)]
    assert "8 weights, Harvests!D2:D9" in found
    assert not any("Plants!" in text for text in found)


def test_a_reading_that_is_overdue_is_said_to_be(tmp_path):
    found = steps(tmp_path, "week three", today="2026-03-25")
    assert (
        found[1]
        == "Meter: the next record was due on 2026-03-23 (2 days ago); the last was on 2026-03-16"
    )


def test_trays_that_were_left_out_last_week_are_named(tmp_path):
    assert (
        "of T8 was due on 2026-03-17"
        in steps(
            tmp_path,
            "week three",
            Growth_A25=None,
            Growth_B25=None,
            Growth_C25=None,
            Growth_D25=None,
        )[0]
    )


def test_the_list_is_short_and_ends_with_the_harvest(tmp_path):
    for stage in season.STAGES[:-1]:
        found = steps(tmp_path, stage)
        assert 1 <= len(found) <= 6
        assert found[-1].startswith("at the harvest")
    assert steps(tmp_path, "finished") == []


def test_a_record_of_a_day_that_is_still_to_come_is_asked_back(tmp_path):
    done = checked(tmp_path, "week three", Solution_B20=date(2026, 12, 16))
    assert (
        "caution: Solution!B20: 2026-12-16 is after today, 2026-03-18; expected the day of a record"
        in done.output
    )


# ---- alike problems are one line -----------------------------------------------------------------


def test_alike_problems_are_one_line_and_every_one_stays_in_json(tmp_path):
    letters = {f"Growth_D{row}": f"1O.{row}" for row in range(2, 7)}
    done = checked(tmp_path, "week three", **letters)
    errors = [line for line in done.lines if line.startswith("  error")]
    assert len(errors) == 1
    assert errors[0].startswith(
        '  error: Growth!D2:D6: "1O.2" is not a number; "1O.3" is not a number; and 3 more alike; '
    )
    assert errors[0].endswith(
        "expected a number in cm. Digits only: a letter here looks like a digit."
    )
    found = json.loads(checked(tmp_path, "week three", "--json", **letters).output)
    cells = [one["cell"] for one in found["problems"] if one["severity"] == "error"]
    assert cells == ["D2", "D3", "D4", "D5", "D6"]


def test_blanks_of_many_rows_are_one_line_with_their_number(tmp_path):
    blank = {f"Plants_C{row}": None for row in (2, 5, 8)}
    done = checked(tmp_path, "finished", **blank)
    assert done.lines[1].startswith(
        "  error: Plants!C2, C5, C8: Fresh weight is not filled in yet (3 cells); expected"
    )
    assert len(done.lines) == 3
    assert done.lines[2] == "trial.xlsx: 3 errors"


def test_json_of_a_folder_names_the_workbook_of_each_problem_and_step(tmp_path):
    at(tmp_path, "untouched", "new.xlsx")
    at(tmp_path, "week three", "grown.xlsx")
    found = json.loads(run("check", tmp_path, "--json", "--today", "2026-03-18").output)
    assert {one["workbook"] for one in found["problems"]} == {
        str(tmp_path / name) for name in ("new.xlsx", "grown.xlsx")
    }
    assert {one["workbook"] for one in found["next"]} == {
        str(tmp_path / name) for name in ("new.xlsx", "grown.xlsx")
    }
    weights = next(
        one for one in found["problems"] if one["sheet"] == "Plants" and "new" in one["workbook"]
    )
    assert (weights["severity"], weights["code"], weights["cell"], weights["count"]) == (
        "to come",
        "values_to_come",
        "C2:C25",
        24,
    )
    assert {one["due"] for one in found["next"]} == {None, "2026-03-23", "2026-03-24"}


# ---- build ---------------------------------------------------------------------------------------


def test_nothing_is_built_of_an_untouched_workbook_and_one_message_says_why(tmp_path):
    done, report = built(tmp_path, "untouched")
    assert done.exit_code == 0
    assert done.output.splitlines() == [
        "trial.xlsx: not built yet: nothing was recorded in it so far. A report can be built once"
        " something is measured; reportgen check lists what comes first."
    ]
    assert not report.exists()
    assert not (tmp_path / "site/index.html").exists()


def test_an_interim_report_needs_a_title(tmp_path):
    done, report = built(tmp_path, "begun", Trial_B2=None, Trial_B4=None)
    assert (done.exit_code, report.exists()) == (0, False)
    assert (
        done.output
        == "trial.xlsx: not built yet: an interim report needs Title and Crop, Trial!B2:B4\n"
    )


def test_an_untouched_workbook_does_not_hold_up_the_list_of_the_others(tmp_path):
    at(tmp_path, "finished")
    at(tmp_path, "untouched", "next.xlsx")
    done = run("build", tmp_path, "--out", tmp_path / "site", "--no-pdf")
    assert done.exit_code == 0
    page = (tmp_path / "site/index.html").read_text("utf-8")
    assert "trial/index.html" in page
    assert "next/index.html" not in page


TOLD = ("index.html", "feed.xml", "trial/index.html", "trial/post.html", "trial/post.md", "trial/CITATION.cff",
        "trial/data/datapackage.json")  # fmt: skip


@pytest.mark.parametrize("stage", UNFINISHED)
def test_everything_that_readers_see_of_an_unfinished_trial_says_that_it_is_interim(
    tmp_path, stage
):
    done, report = built(tmp_path, stage)
    assert done.exit_code == 0
    assert "(interim)" in done.output
    for name in TOLD:
        assert "Interim" in (tmp_path / "site" / name).read_text("utf-8"), name
    page = (report / "index.html").read_text("utf-8")
    assert re.search(r"<title>\s*Interim: Warm roots", page)
    assert 'property="og:title" content="Interim: Warm roots"' in page
    assert '"creativeWorkStatus": "Incomplete"' in page
    assert re.search(r"How to cite</dt>\s*<dd>Interim: Warm roots", page)
    mark, title, headline, notice, answer = map(
        page.index,
        (
            '<span class="mark">Interim</span>',
            "<b>Interim: Warm roots",
            "<h1>",
            "the final report takes its place once the harvest is complete.</p>",
            '<p class="standfirst">This trial is not finished',
        ),
    )
    assert (
        page.index("<main")
        < mark
        < title
        < headline
        < notice
        < answer
        < page.index('class="trust"')
    )


@pytest.mark.parametrize("stage", UNFINISHED)
def test_an_unfinished_trial_compares_and_judges_nothing(tmp_path, stage):
    _, report = built(tmp_path, stage)
    found = results(report)
    assert found["trial"]["interim"] is True
    for part in ("comparisons", "verdicts", "fragility", "money", "letters", "factors", "fairness"):
        assert found[part] == [], part
    page = (report / "index.html").read_text("utf-8")
    assert "it does not yet tell how the treatments compare" in page
    assert not re.search(
        r"p value|% of plain|cannot be attributed|The trial does not tell whether", page
    )


def test_an_interim_report_holds_what_is_known_so_far(tmp_path):
    _, report = built(tmp_path, "week three")
    found = results(report)
    assert (found["trial"]["as_of"], found["trial"]["harvested_on"], found["trial"]["days"]) == (
        "2026-03-17",
        "2026-03-17",
        15,
    )
    assert {one["metric"] for one in found["estimates"]} == {
        "last_height",
        "relative_growth_rate",
        "ec",
        "ph",
    }
    assert found["to_come"] == [
        {"sheet": "Plants", "column": "Fresh weight", "number": 23},
        {"sheet": "Solution", "column": "Volume", "number": 8},
        {"sheet": "Meter", "column": "Reading", "number": 2},
    ]
    page = (report / "index.html").read_text("utf-8")
    for figure in ("growth-height", "energy-over-time"):
        assert f'id="figure-{figure}"' in page
    assert "24 measurements of growth, 16 volumes of solution and 4 meter readings." in page


def weights_of(path, code):
    """Return the weights of each tray of a treatment, as the workbook has them."""
    book = load_workbook(path)
    treatment = season.treatment_of(book)
    found = {}
    for row in season.rows(book, "Plants"):
        if treatment[row[0].value] == code and row[2].value is not None:
            found.setdefault(row[0].value, []).append(row[2].value)
    return found


def test_figures_by_weight_are_of_the_trays_that_are_harvested_as_a_whole(tmp_path):
    path = changed(
        at(tmp_path, "harvest day"), Plants_C2=None
    )  # of the tray T1 two of three plants are weighed
    for code in ("plain", "warm"):
        trays = weights_of(path, code)
        trays.pop("T1", None)
        means = [sum(tray) / len(tray) for tray in trays.values()]
        compared = metrics.compute(workbook.check(workbook.read(path)))
        result = next(one for one in compared.measures if one.measure.key == "fresh_weight")
        figure = dict(result.estimates)[code]
        assert figure.value == pytest.approx(sum(means) / len(means))
        assert figure.n == len(trays)


def test_what_is_measured_on_plants_before_they_are_weighed_is_shown_and_their_weights_are_to_come(
    tmp_path,
):
    heights = {f"Plants_F{row}": 20.0 + row % 3 for row in range(2, 26)}
    path = changed(at(tmp_path, "week three"), **heights)
    trial = workbook.check(workbook.read(path))
    found = {one.measure.key: dict(one.estimates) for one in metrics.compute(trial).measures}
    assert found["height"]["plain"].n == 4
    assert not {"fresh_weight", "tray_yield", "survival"} & set(found)
    assert "23 weights, Plants!C2:C5, C7:C25" in [str(one) for one in trial.findings]


def test_plants_that_still_grow_are_not_counted_as_harvested(tmp_path):
    trial = workbook.check(workbook.read(at(tmp_path, "harvest day")))
    found = metrics.compute(trial)
    assert [one.plants_harvested for one in found.counts] == [5, 6]
    assert sum(plant.status == "growing" for plant in trial.plants) == 12


def test_the_final_report_takes_the_place_of_the_interim_one(tmp_path):
    built(tmp_path, "harvest day")
    done, report = built(tmp_path, "finished")
    assert "(interim)" not in done.output
    assert results(report)["trial"] | {"interim": False, "as_of": None} == results(report)["trial"]
    assert results(report)["verdicts"]
    for name in TOLD:
        assert "Interim" not in (tmp_path / "site" / name).read_text("utf-8"), name


def test_a_final_report_is_not_replaced_by_an_interim_one(tmp_path):
    _, report = built(tmp_path, "finished")
    before = {path: path.read_bytes() for path in report.rglob("*") if path.is_file()}
    lost = {f"Plants_C{row}": None for row in (23, 24, 25)}
    done, _ = built(tmp_path, "finished", **lost)
    assert done.exit_code == 1
    assert "an earlier build made a final report of trial.xlsx" in done.output
    assert "3 weights, Plants!C23:C25" in done.output
    assert {path: path.read_bytes() for path in report.rglob("*") if path.is_file()} == before
    assert built(tmp_path, "untouched")[0].exit_code == 1
    shutil.rmtree(report)
    done, _ = built(tmp_path, "finished", **lost)
    assert done.exit_code == 0
    assert results(report)["trial"]["interim"] is True


def test_an_interim_site_is_as_built_and_stays_as_it_is(tmp_path):
    built(tmp_path, "week three")
    assert verify.differences(tmp_path / "site") == ()
    path = tmp_path / "trial.xlsx"
    done = run("build", path, "--out", tmp_path / "site", "--no-pdf")
    assert "(interim, unchanged)" in done.output


def test_every_page_of_the_pdf_says_that_the_report_is_interim(tmp_path):
    if not shutil.which("pdftotext"):
        pytest.skip("needs pdftotext")
    (one,) = pipeline.build((at(tmp_path, "week three"),), tmp_path / "site")
    paper = one.page.parent / "report.pdf"
    text = subprocess.run(
        ["pdftotext", "-layout", paper, "-"], check=True, capture_output=True, text=True
    ).stdout
    pages = text.removesuffix("\f").split("\f")
    assert len(pages) > 2
    assert all("Interim: Warm roots" in page for page in pages)


def test_in_spanish_it_is_provisional(tmp_path):
    _, report = built(tmp_path, "week three", Trial_B35="es")
    page = (report / "index.html").read_text("utf-8")
    assert "Provisional: Warm roots" in page
    assert "Este ensayo no ha terminado" in page
    assert "Interim" not in re.sub(r"<script.*?</script>", "", page, flags=re.DOTALL)


# ---- among other trials --------------------------------------------------------------------------


def compared(path, name, **cells):
    sheets = put(good(), Trial_A9="Comparison", Trial_B9="nutrients", Trial_B2=name, **cells)
    return workbook.check(workbook.read(write(sheets, path / f"{name}.xlsx")))


def test_a_pooled_figure_leaves_out_a_trial_that_is_not_finished(tmp_path):
    trials = [compared(tmp_path, name) for name in ("one", "two")]
    unfinished = compared(tmp_path, "three", Trial_B6=None)
    assert unfinished.interim
    brought = [to_pool(one, metrics.compute(one)) for one in (*trials, unfinished)]
    (found,) = pooled_comparisons(brought)
    assert [one.slug for one in found.trials] == ["one", "two"]
    assert [(one.slug, one.reason.code) for one in found.left_out] == [
        ("three", "trial_not_finished")
    ]
    assert pooled_comparisons(brought[1:]) == ()


def test_an_earlier_copy_of_a_workbook_is_the_same_trial(tmp_path):
    at(tmp_path, "week three", "a.xlsx")
    at(tmp_path, "finished", "b.xlsx")
    done = run("build", tmp_path, "--out", tmp_path / "site", "--no-pdf")
    assert done.exit_code == 1
    assert "b.xlsx and a.xlsx hold one trial" in done.output


def test_the_plan_of_the_next_trial_learns_nothing_from_one_that_is_not_finished(tmp_path):
    path = at(tmp_path, "harvest day")
    done = run("plan", path, "--difference", 20, "--treatment", "a", "--treatment", "b")
    assert done.exit_code == 2
    assert "do not tell how trays vary" in done.output
