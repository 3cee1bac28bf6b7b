"""Logs that change after they were taken in, and sheets, columns and readings that are no part of the trial."""

from datetime import datetime, timedelta
from statistics import fmean

import openpyxl
import pytest
import xlwt
from odf.opendocument import OpenDocumentSpreadsheet
from odf.style import Style, TableCellProperties, TextProperties
from odf.table import Table, TableCell, TableRow
from odf.text import P
from openpyxl.styles import Font, PatternFill

from reportgen import pipeline
from reportgen.adopt.adopting import log_of, understood
from reportgen.adopt.questions import ALL_BELONG, COUNTED_TWICE, KEPT, LEFT_OUT, unanswered
from reportgen.adopt.toml_file import settings_file
from reportgen.metrics.energy import energy_of_treatments
from reportgen.metrics.totals import water_used
from reportgen.model.problem import Severity, WorkbookError
from tests.adopting import adopt, answering, book, fresh_weight
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


# --- sheets that are no part of the trial

EARLIER = [(f"Z{row[0]}", row[1], row[2], row[3] / 2) for row in ROWS]
WHICH = {"belonging": "only 2026", **TRAYS}


def asked(log, kind="belonging"):
    return [one for one in unanswered(understood(log_of((log,)))) if one.kind == kind]


@pytest.mark.parametrize("names", [("2025", "2026"), ("Trial 1", "Trial 2"), ("Log", "Old"), ("Essai", "Essai (2)")])
def test_sheets_that_name_the_same_treatments_are_asked_about(tmp_path, names):
    log = book(tmp_path, **{names[0]: [HEAD, *EARLIER], names[1]: [HEAD, *ROWS]})
    (question,) = asked(log)
    assert question.text == f"Do {names[0]} and {names[1]} belong to one trial?"
    assert question.choices == (ALL_BELONG, f"only {names[0]}", f"only {names[1]}")
    assert question.default == ""


@pytest.mark.parametrize(
    "names",
    [
        ("Bench 1", "Bench 2"),
        ("Tray A", "Tray B"),
        ("T1", "T2"),
        ("Block 1", "Block 2"),
        ("left rack", "right rack"),
        ("Fresh weights", "Dry weights"),
    ],
)
def test_sheets_that_are_named_like_places_or_measures_are_not_asked_about(tmp_path, names):
    log = book(tmp_path, **{names[0]: [HEAD, *EARLIER], names[1]: [HEAD, *ROWS]})
    assert asked(log) == []


def test_the_rows_of_a_year_that_is_no_part_of_the_trial_do_not_count(tmp_path):
    log = book(tmp_path, **{"2025": [HEAD, *EARLIER], "2026": [HEAD, *ROWS]})
    adopt(log, talk=answering(**WHICH))
    assert [table.gives for table in settled(log).tables] == ["nothing", "Plants"]
    assert means(log) == MEANS
    before = settings_file(log).read_text()
    adopt(log, talk=answering(**WHICH))
    assert settings_file(log).read_text() == before


def test_both_years_count_where_their_owner_says_so(tmp_path):
    log = book(tmp_path, **{"2025": [HEAD, *EARLIER], "2026": [HEAD, *ROWS]})
    adopt(log, talk=answering(**{**WHICH, "belonging": ALL_BELONG}))
    assert means(log)["warm"][0] == 4


def test_whether_sheets_belong_together_stays_open_until_it_is_said(tmp_path):
    log = book(tmp_path, **{"2025": [HEAD, *EARLIER], "2026": [HEAD, *ROWS]})
    adopt(log)
    found = [one for one in findings(log) if "gives is still" in one.found]
    assert ["nothing where it is no part of the trial" in one.expected for one in found] == [True, True]
    assert "# To say: Do 2025 and 2026 belong to one trial?" in settings_file(log).read_text()
    adopt(log, talk=answering(**WHICH))
    assert means(log) == MEANS
    settings = settings_file(log)
    settings.write_text(settings.read_text().replace('"nothing"', '"Plants"', 1))
    adopt(log, talk=answering(**WHICH))
    assert means(log)["warm"][0] == 4  # what their owner wrote stays


@pytest.mark.parametrize(
    "name", ["Example", "TEMPLATE", "Muster", "ejemplo", "Modèle", "Esempio", "Voorbeeld 1", "Modelo"]
)
def test_an_example_is_left_out_with_a_word(tmp_path, name):
    log = book(tmp_path, **{name: [HEAD, *EARLIER[:6]], "Log": [HEAD, *ROWS]})
    _, shown = adopt(log, talk=answering(**TRAYS))
    assert f"nothing from {name}: {name} is an example" in shown
    assert means(log) == MEANS
    assert not [one for one in findings(log) if one.sheet == name]


def test_a_sheet_that_is_named_like_an_example_and_is_a_treatment_counts(tmp_path):
    rows = {
        name: [HEAD[:1] + HEAD[2:], *((f"{name}{at % 2}", at, 30.0 + at) for at in range(8))]
        for name in ("Modelo", "Control")
    }
    log = book(tmp_path, **rows)
    adopt(log, talk=answering(independent="Tray", **{"Reference treatment": "Control"}))
    assert set(means(log)) == {"Modelo", "Control"}


@pytest.mark.parametrize("columns", [(0, 1, 2, 3), (1, 3)])
def test_a_sorted_copy_of_a_sheet_is_left_out_with_a_word(tmp_path, columns):
    ranked = sorted(ROWS, key=lambda row: -row[3])
    made = [tuple(row[at] for at in columns) for row in (HEAD, *ranked)]
    log = book(tmp_path, Data=[tuple(row[at] for at in columns) for row in (HEAD, *ROWS)], Ranking=made)
    _, shown = adopt(
        log, talk=answering(independent="each row" if len(columns) == 2 else "Tray", **{"Reference treatment": "plain"})
    )
    assert "nothing from Ranking: it has the same rows as Data" in shown
    assert sum(one.n for _, one in fresh_weight(pipeline.checked(log)).estimates) == (16 if len(columns) == 2 else 4)


def test_a_hidden_sheet_is_left_out_where_nothing_else_is_said(tmp_path):
    log = book(tmp_path, Log=[HEAD, *ROWS], Old=[HEAD, *EARLIER])
    changed(log, lambda made: setattr(made["Old"], "sheet_state", "hidden"))
    (question,) = asked(log)
    assert (question.default, question.why.endswith("Old is hidden.")) == ("only Log", True)
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == MEANS


def test_a_hidden_sheet_that_counts_is_named_rightly(tmp_path):
    log = book(tmp_path, Log=[HEAD, *ROWS], Old=[HEAD, *EARLIER])
    changed(log, lambda made: setattr(made["Old"], "sheet_state", "hidden"))
    adopt(log, talk=answering(**{"belonging": ALL_BELONG, **TRAYS}))
    assert [one.sheet for one in findings(log) if "hidden" in one.found] == ["Old"]


def test_of_two_columns_of_one_header_the_visible_one_is_taken(tmp_path):
    log = book(
        tmp_path, Log=[(*HEAD[:3], HEAD[3], HEAD[3]), *((*row[:3], 3.0 + at, row[3]) for at, row in enumerate(ROWS))]
    )
    changed(log, lambda made: setattr(made["Log"].column_dimensions["D"], "hidden", True))
    adopt(log, talk=answering(**TRAYS))
    assert settled(log).tables[0].columns["Fresh weight"].header == "column E"
    assert means(log) == MEANS


# --- what a log gains after it was taken in


def later(log):
    """Return what is said of a log beside what is known when it is taken in."""
    return [one for one in findings(log) if "fits the log as it is now" in one.expected]


def kilowatts(*rates):
    days = [datetime(2026, 1, 5) + timedelta(day) for day in range(0, 43, 7)]
    return [(day, *(100 + rate * at for rate in rates)) for at, day in enumerate(days)]


def of_one_treatment(kind):
    return [("Tray", "Plant", "Fresh weight (g)"), *((row[0], row[2], row[3]) for row in ROWS if row[1] == kind)]


def test_a_sheet_that_is_added_for_a_third_treatment_is_pointed_out(tmp_path):
    log = book(tmp_path, warm=of_one_treatment("warm"), plain=of_one_treatment("plain"))
    adopt(log, talk=answering(**TRAYS))
    assert later(log) == []

    def add(made):
        sheet = made.create_sheet("shade")
        for row in of_one_treatment("plain"):
            sheet.append((f"S{row[0]}", row[1], row[2]) if row[1] != "Plant" else row)
        made.create_sheet("Notes").append(("The lamp broke once",))

    changed(log, add)
    (found,) = later(log)
    assert (found.sheet, found.severity) == ("shade", Severity.CAUTION)
    assert "Run reportgen adopt log.xlsx again" in found.advice
    adopt(log, talk=answering(**TRAYS))
    assert later(log) == []
    assert set(means(log)) == {"warm", "plain", "shade"}


def test_a_sheet_that_its_owner_leaves_out_is_not_pointed_out(tmp_path):
    log = book(tmp_path, **{"2026": [HEAD, *ROWS]})
    adopt(log, talk=answering(**TRAYS))

    def add(made):
        sheet = made.create_sheet("2025")
        for row in (HEAD, *EARLIER):
            sheet.append(row)

    changed(log, add)
    assert [one.sheet for one in later(log)] == ["2025"]
    settings = settings_file(log)
    left_out = '[[table]]\nsheet = "2025"\ngives = "nothing"\n\n'
    settings.write_text(settings.read_text().replace("[trial]", f"{left_out}[trial]"))
    assert later(log) == []
    assert means(log) == MEANS


def test_a_file_that_is_added_beside_others_is_pointed_out(tmp_path):
    for kind in ("warm", "plain"):
        lines = [";".join(map(str, row)) for row in of_one_treatment(kind)]
        (tmp_path / f"{kind}.csv").write_text("\n".join(lines) + "\n")
    log = tmp_path / "plain.csv"
    adopt(log, tmp_path / "warm.csv", talk=answering(**TRAYS))
    (tmp_path / "other.csv").write_text("Day;Rain (mm)\n1;3.4\n2;5.5\n")
    assert later(log) == []
    (tmp_path / "shade.csv").write_text("Tray;Plant;Fresh weight (g)\nS1;1;20.5\nS1;2;21.5\nS2;1;22.5\nS2;2;23.5\n")
    (found,) = later(log)
    assert found.sheet == "shade.csv"
    assert "Run reportgen adopt plain.csv warm.csv shade.csv again" in found.advice


def test_a_column_that_is_added_to_those_of_the_treatments_is_pointed_out(tmp_path):
    log = book(tmp_path, Log=[("Pot", "warm", "plain", "Mean"), *((at, 30.5 + at, 25.5 + at, 28.0) for at in range(8))])
    adopt(log, talk=answering(independent="each row", **{"Reference treatment": "plain"}))
    assert later(log) == []

    def add(made):
        for row, value in enumerate(("shade", *(20.5 + at for at in range(8))), start=1):
            made["Log"].cell(row, 5, value)

    changed(log, add)
    assert [one.found for one in later(log)] == ['"shade" heads a column that is read by no table']


def test_a_column_that_is_added_to_those_of_meters_is_pointed_out(tmp_path):
    power = [("Date", "warm (kWh)", "plain (kWh)"), *kilowatts(14, 7)]
    shade = [row for row in ROWS if row[1] == "plain"]
    rows = [*ROWS, *((f"S{row[0]}", "shade", row[2], row[3]) for row in shade)]
    log = book(tmp_path, Log=[HEAD, *rows], Power=power)
    adopt(log, talk=answering(**TRAYS))
    assert later(log) == []

    def add(made):
        for row, value in enumerate(("shade (kWh)", *(50.5 + at for at in range(7))), start=1):
            made["Power"].cell(row, 4, value)

    changed(log, add)
    assert [(one.sheet, one.found) for one in later(log)] == [
        ("Power", '"shade (kWh)" heads a column that is read by no table')
    ]


def test_another_unit_in_the_row_of_units_or_in_a_note_is_pointed_out(tmp_path):
    rows = [("Weights in g",), (), ("Tray", "Treatment", "Plant", "Weight"), *ROWS]
    log = book(tmp_path, Log=rows)
    adopt(log, talk=answering(**TRAYS))
    assert later(log) == []
    changed(log, lambda made: made["Log"].__setitem__("A1", "Weights in kg"))
    assert [one.found for one in later(log)] == ['"Weight" is read in g, and the sheet says that it is in kg']


def test_another_unit_in_the_row_of_units_is_not_read_without_a_word(tmp_path):
    log = book(tmp_path, Log=[("Tray", "Treatment", "Plant", "Weight"), (None, None, None, "g"), *ROWS])
    adopt(log, talk=answering(**TRAYS))
    assert later(log) == []
    changed(log, lambda made: made["Log"].__setitem__("D2", "oz"))
    assert any("oz" in one.found for one in findings(log))


def test_a_key_that_was_turned_round_is_pointed_out(tmp_path):
    rows = [(row[0], "A" if row[1] == "warm" else "B", *row[2:]) for row in ROWS]
    log = book(tmp_path, Log=[HEAD, *rows], Key=[("A", "warm"), ("B", "plain")])
    adopt(log, talk=answering(**TRAYS))
    assert later(log) == []
    assert means(log) == MEANS

    def turn(made):
        made["Key"]["B1"], made["Key"]["B2"] = "plain", "warm"

    changed(log, turn)
    assert [one.found for one in later(log)] == [
        '"A" is read as warm, and the key says plain',
        '"B" is read as plain, and the key says warm',
    ]
    assert {one.severity for one in later(log)} == {Severity.ERROR}


def test_a_key_that_names_a_treatment_otherwise_is_remarked_only(tmp_path):
    rows = [(row[0], "A" if row[1] == "warm" else "B", *row[2:]) for row in ROWS]
    log = book(tmp_path, Log=[HEAD, *rows], Key=[("A", "warm"), ("B", "plain")])
    adopt(log, talk=answering(**TRAYS))
    settings = settings_file(log)
    settings.write_text(settings.read_text().replace('"warm"', '"Warm bench, 24 °C"'))
    assert [one.severity for one in later(log)] == [Severity.REMARK]
    assert set(means(log)) == {"Warm bench, 24 °C", "plain"}


def test_a_code_or_a_word_that_is_written_later_is_to_be_said_in_the_settings_file(tmp_path):
    rows = [(row[0], "A" if row[1] == "warm" else "B", *row[2:]) for row in ROWS]
    log = book(tmp_path, Log=[HEAD, *rows], Key=[("A", "warm"), ("B", "plain")])
    adopt(log, talk=answering(**TRAYS))

    def write(made):
        made["Log"].append(("T5", "C", 1, 20.5))
        made["Log"].append(("T1", "A", 5, "wilted away"))

    changed(log, write)
    advice = [one.advice for one in findings(log) if one.severity == Severity.ERROR]
    assert any('or say in log.adopt.toml what it stands for, as treatment = { "C" = "..." }' in one for one in advice)
    assert any('In log.adopt.toml write "wilted away" in lost where the plant died' in one for one in advice)


# --- rows that are marked


def coloured(*rows):
    """Return a change of a log that colours the weights of some rows."""

    def change(made):
        for row in rows:
            made["Log"].cell(row, 4).fill = PatternFill("solid", fgColor="FFFF0000")

    return change


@pytest.mark.parametrize("before", [(), (5, 9)])
def test_rows_that_are_coloured_after_a_log_was_taken_in_are_pointed_out(tmp_path, before):
    log = book(tmp_path, Log=[HEAD, *ROWS])
    changed(log, coloured(*before))
    adopt(log, talk=answering(marked=KEPT, **TRAYS))
    assert [one.found for one in findings(log) if "marked" in one.found] == []
    changed(log, coloured(12))
    (found,) = [one for one in findings(log) if "marked" in one.found]
    assert (found.severity, found.cell) == (Severity.CAUTION, "12:12")
    assert "exclude_rows = [12]" in found.advice


def test_rows_whose_colour_was_seen_are_known_after_a_row_was_inserted(tmp_path):
    log = book(tmp_path, Log=[HEAD, *ROWS])
    changed(log, coloured(5, 9))
    adopt(log, talk=answering(marked=KEPT, **TRAYS))
    assert settled(log).tables[0].marked_rows == (5, 9)
    made = openpyxl.load_workbook(log)
    rows = [[cell.value for cell in row] for row in made["Log"].iter_rows()]
    rows.insert(1, ["T1", "warm", 5, 30.0])
    for at, row in enumerate(rows, start=1):
        for column, value in enumerate(row, start=1):
            cell = made["Log"].cell(at, column, value)
            cell.fill = PatternFill("solid", fgColor="FFFF0000") if at in (6, 10) and column == 4 else PatternFill()
    made.save(log)
    assert [one.found for one in findings(log) if "marked" in one.found] == []


def test_a_settings_file_that_says_seen_of_colours_still_holds(tmp_path):
    log = book(tmp_path, Log=[HEAD, *ROWS])
    changed(log, coloured(5, 9))
    adopt(log, talk=answering(marked=KEPT, **TRAYS))
    settings = settings_file(log)
    settings.write_text(settings.read_text().replace("marked_rows = [5, 9]", 'marked_rows = "seen"'))
    assert means(log) == MEANS
    adopt(log, talk=answering(**TRAYS))
    assert settled(log).tables[0].marked_rows == "seen"


# --- readings from before the trial or after it

RATES = (("warm", 14), ("plain", 7))  # kWh a week
START, END = datetime(2026, 1, 5), datetime(2026, 2, 16)  # 42 days


def energy(log):
    """Return the energy of each treatment, kWh."""
    return {code: share.total for code, share in energy_of_treatments(pipeline.checked(log)).items()}


def days_from(first, last, step=1):
    return [START + timedelta(day) for day in range(first, last, step)]


def metered(tmp_path, rows, head=("Date", "warm (kWh)", "plain (kWh)"), **answers):
    log = book(tmp_path, Log=[HEAD, *ROWS], Power=[head, *rows])
    adopt(log, talk=answering(**TRAYS, **answers))
    return log


@pytest.mark.parametrize("first", [-28, -24, -1])
def test_what_a_counter_counted_before_and_after_the_trial_is_no_energy_of_it(tmp_path, first):
    rows = [(day, 100 + 2 * (day - START).days, 300 + (day - START).days) for day in days_from(first, 71, 7)]
    log = metered(tmp_path, rows)
    assert energy(log) == {"warm": pytest.approx(84), "plain": pytest.approx(42)}
    (found, *_) = [one for one in findings(log) if "from before the trial or after it" in one.found]
    assert found.severity == Severity.CAUTION
    assert ("reckoned from the readings around it" in found.advice) is (first % 7 != 0)


def test_a_counter_that_was_read_only_once_in_a_long_while_around_the_start_tells_no_energy(tmp_path):
    rows = [(day, 100 + 2 * (day - START).days, 300 + (day - START).days) for day in days_from(-20, 80, 40)]
    log = metered(tmp_path, rows)
    assert [one.sheet for one in findings(log) if "was read once only" in one.found] == ["Power", "Power"]


def test_a_counter_that_was_reset_between_two_readings_is_not_reckoned_there(tmp_path):
    rows = [("A", "all", day, 500 if at == 0 else at) for at, day in enumerate(days_from(-3, 45, 4))]
    rows = [(*row, "yes" if at == 1 else None) for at, row in enumerate(rows)]
    log = book(tmp_path, Log=[HEAD, *ROWS], Power=[("Meter", "Treatment", "Read at", "Reading (kWh)", "Reset"), *rows])
    adopt(log, talk=answering(**TRAYS))
    assert not any("2026-01-05 was reckoned" in one.advice for one in findings(log))


@pytest.mark.parametrize(("first", "days"), [(-20, 42), (0, 43), (1, 42)])
def test_amounts_of_days_that_begin_before_the_trial_or_on_its_first_day(tmp_path, first, days):
    rows = [(day, 2.0 + at % 2, 1.0) for at, day in enumerate(days_from(first, 43))]
    log = metered(tmp_path, rows, cumulative="what was used since the reading before")
    assert energy(log) == {"warm": pytest.approx(2.5 * days, abs=0.5), "plain": pytest.approx(days)}
    assert any("from before the trial" in one.found for one in findings(log)) is (first < 0)


def test_amounts_of_weeks_whose_first_is_of_the_week_before_the_trial(tmp_path):
    rows = [(day, 14.0, 7.0) for day in days_from(0, 43, 7)]
    log = metered(tmp_path, rows, cumulative="what was used since the reading before")
    assert energy(log) == {"warm": pytest.approx(84), "plain": pytest.approx(42)}


def test_the_air_before_and_after_the_trial_does_not_count(tmp_path):
    air = [
        ("Time", "Temp (°C)", "RH (%)"),
        *((day, 20 if START <= day <= END else 8, 60) for day in days_from(-60, 90)),
    ]
    log = book(tmp_path, Log=[HEAD, *ROWS], Air=air)
    adopt(log, talk=answering(whose="all", **TRAYS))
    assert set(pipeline.checked(log).climate.air_temperature) == {20.0}
    (found,) = [one for one in findings(log) if "from before the trial" in one.found]
    assert found.found == "107 rows of 150 from before the trial or after it"


def watered(tmp_path, events):
    """Return a log of water with the same events, by the day of the trial, in each tray."""
    rows = [(f"T{tray}", START + timedelta(day), *rest) for tray in (1, 2, 3, 4) for day, *rest in events]
    log = book(tmp_path, Log=[HEAD, *ROWS], Water=[("Tray", "Date", "Event", "Volume (L)"), *rows])
    adopt(log, talk=answering(**TRAYS))
    return log


def test_water_of_the_crop_before_does_not_count(tmp_path):
    events = [(-30, "fill", 10), (-10, "remaining", 2), (0, "fill", 10), (20, "top-up", 3), (42, "remaining", 4)]
    log = watered(tmp_path, events)
    assert set(water_used(pipeline.checked(log))) == {9.0}


def test_a_reservoir_that_was_filled_on_the_eve_and_measured_the_day_after_is_of_the_trial(tmp_path):
    events = [(-1, "fill", 10), (20, "top-up", 3), (43, "remaining", 4), (44, "fill", 10), (80, "remaining", 1)]
    log = watered(tmp_path, events)
    assert set(water_used(pipeline.checked(log))) == {9.0}


# --- whose a meter is


def test_meters_that_are_named_like_the_treatments_are_theirs(tmp_path):
    rows = [(day, kind, 100 + rate * at) for at, day in enumerate(days_from(0, 43, 7)) for kind, rate in RATES]
    log = metered(tmp_path, rows, ("Date", "Meter", "Reading (kWh)"))
    assert energy(log) == {"warm": 84, "plain": 42}


def test_meters_whose_names_hold_those_of_the_treatments_are_theirs(tmp_path):
    rows = [
        (day, f"Zähler {kind}", 100 + rate * at) for at, day in enumerate(days_from(0, 43, 7)) for kind, rate in RATES
    ]
    log = metered(tmp_path, rows, ("Datum", "Zähler", "Stand (kWh)"))
    assert energy(log) == {"warm": 84, "plain": 42}


def test_a_list_of_readings_that_names_the_treatments_has_a_meter_for_each(tmp_path):
    rows = [(day, kind, 100 + rate * at) for at, day in enumerate(days_from(0, 43, 7)) for kind, rate in RATES]
    log = metered(tmp_path, rows, ("Date", "Treatment", "Reading (kWh)"))
    assert energy(log) == {"warm": 84, "plain": 42}


@pytest.mark.parametrize(
    ("answer", "kilowatt_hours"), [("all", (147, 105)), (COUNTED_TWICE, (84, 42)), ("plain", (84, 168))]
)
@pytest.mark.parametrize("again", [False, True])
def test_a_column_of_energy_that_names_no_treatment_is_asked_about(tmp_path, answer, kilowatt_hours, again):
    rows = [(day, 100 + 14 * at, 300 + 7 * at, 500.5 + 21 * at) for at, day in enumerate(days_from(0, 43, 7))]
    log = book(tmp_path, Log=[HEAD, *ROWS], Power=[("Date", "warm (kWh)", "plain (kWh)", "Whole room (kWh)"), *rows])
    (question,) = asked(log, "whose")
    assert question.text == 'Which treatment is "Whole room (kWh)" on Power of?'
    assert question.choices == ("all", "warm", "plain", COUNTED_TWICE)
    if again:
        adopt(log)
        assert any("Treatment is still" in one.found for one in findings(log))
    adopt(log, talk=answering(whose=answer, **TRAYS))
    assert energy(log) == dict(zip(("warm", "plain"), map(pytest.approx, kilowatt_hours), strict=True))
    assert later(log) == []


# --- other marks than colours


def with_font(**look):
    """Return a change of a log that gives the weights in rows 5 and 9 another font."""

    def change(made):
        for row in (5, 9):
            made["Log"].cell(row, 4).font = Font(**look)

    return change


@pytest.mark.parametrize(("look", "default"), [({"strike": True}, LEFT_OUT), ({"color": "FFFF0000"}, "")])
def test_weights_that_are_crossed_out_or_red_are_asked_about(tmp_path, look, default):
    log = book(tmp_path, Log=[HEAD, *ROWS])
    changed(log, with_font(**look))
    (question,) = asked(log, "marked")
    assert (question.marked, question.default) == ((5, 9), default)
    assert question.text.endswith("a line crosses out?" if "strike" in look else "a colour marks?")
    adopt(log, talk=answering(marked=LEFT_OUT, **TRAYS))
    assert settled(log).tables[0].exclude_rows == (5, 9)


@pytest.mark.parametrize("look", [{"color": "FF000000"}, {"bold": True}, {"name": "Arial", "size": 14}])
def test_weights_in_another_font_are_not_asked_about(tmp_path, look):
    log = book(tmp_path, Log=[HEAD, *ROWS])
    changed(log, with_font(**look))
    assert asked(log, "marked") == []


@pytest.mark.parametrize(
    "look", ["pattern: pattern solid, fore_colour red", "font: colour red", "font: struck_out on", ""]
)
def test_marks_of_an_old_workbook_are_asked_about(tmp_path, look):
    made = xlwt.Workbook()
    sheet = made.add_sheet("Log")
    plain, marked = xlwt.easyxf(""), xlwt.easyxf(look)
    for at, row in enumerate([HEAD, *ROWS]):
        for column, value in enumerate(row):
            sheet.write(at, column, value, marked if at in (4, 8) and column == 3 else plain)
    log = tmp_path / "log.xls"
    made.save(str(log))
    assert [one.marked for one in asked(log, "marked")] == ([(5, 9)] if look else [])


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        ({"backgroundcolor": "#ff0000"}, {}),
        ({}, {"color": "#ff0000"}),
        ({}, {"textlinethroughstyle": "solid"}),
        ({}, {}),
    ],
)
def test_marks_of_a_workbook_of_open_document_are_asked_about(tmp_path, cell, text):
    made = OpenDocumentSpreadsheet()
    style = Style(name="marked", family="table-cell")
    style.addElement(TableCellProperties(**cell))
    style.addElement(TextProperties(**text))
    made.automaticstyles.addElement(style)
    sheet = Table(name="Log")
    for at, line in enumerate([HEAD, *ROWS]):
        row = TableRow()
        for column, value in enumerate(line):
            kind = {"valuetype": "string"} if isinstance(value, str) else {"valuetype": "float", "value": value}
            one = TableCell(**kind, **({"stylename": style} if at in (4, 8) and column == 3 else {}))
            one.addElement(P(text=str(value)))
            row.addElement(one)
        sheet.addElement(row)
    made.spreadsheet.addElement(sheet)
    log = tmp_path / "log.ods"
    made.save(str(log))
    assert [one.marked for one in asked(log, "marked")] == ([(5, 9)] if cell or text else [])


# --- rows below a range


def ranged(tmp_path, *below):
    """Return a log of two blocks side by side, which have ranges, once rows were written below them."""
    blocks = [("Tray", "Plant", "Fresh weight (g)", None, "Tray", "Plant", "Fresh weight (g)")]
    blocks += [(f"P{at % 2}", at, 30.0 + at, None, f"W{at % 2}", at, 36.5 + at) for at in range(1, 9)]
    log = book(tmp_path, Log=[("plain", *[None] * 3, "warm"), *blocks])
    adopt(log, talk=answering(**TRAYS))

    def write(made):
        for row in below:
            made["Log"].append(row)

    changed(log, write)
    return [one.cell for one in findings(log) if "below the range" in one.found]


@pytest.mark.parametrize("gap", [1, 2])
def test_rows_behind_a_blank_row_below_a_range_are_pointed_out(tmp_path, gap):
    found = ranged(tmp_path, *[()] * gap, ("P1", 9, 33.3, None, "W1", 9, 41.2))
    assert found == [f"C{11 + gap}", f"G{11 + gap}"]


@pytest.mark.parametrize(
    "below",
    [
        [(), (), (), ("P1", 9, 33.3, None, "W1", 9, 41.2)],
        [(), ("Mean", None, 34.5, None, "Mean", None, 41.0)],
        [(), ("Scale", "No 3", "checked", None, "by", "me", "again")],
        [(), (None, None, 33.3, None, None, None, 41.2)],
    ],
)
def test_other_things_below_a_blank_row_are_left_alone(tmp_path, below):
    assert ranged(tmp_path, *below) == []


@pytest.mark.parametrize("made", [fmean, sum])
@pytest.mark.parametrize("numbered", [False, True])
def test_means_or_sums_of_trays_that_stand_on_a_sheet_of_their_own_are_left_out(tmp_path, made, numbered):
    trays = dict.fromkeys((row[0], row[1]) for row in ROWS)
    weights = {tray: [row[3] for row in ROWS if row[0] == tray] for tray, _ in trays}
    summary = [(tray, kind, round(made(weights[tray]), 1)) for tray, kind in trays]
    rows = [HEAD, *ROWS] if numbered else [(row[0], row[1], row[3]) for row in (HEAD, *ROWS)]
    log = book(tmp_path, Log=rows, Sheet2=[(HEAD[0], HEAD[1], HEAD[3]), *summary])
    _, shown = adopt(log, talk=answering(**TRAYS))
    assert "not taken: Sheet2" in shown
    assert len(pipeline.checked(log).plants) == 16


def test_a_column_of_energy_that_is_the_total_of_the_others_is_not_asked_about(tmp_path):
    for name, more in (("Total (kWh)", 5), ("Both (kWh)", 0)):
        rows = [(day, 10 + 14 * at, 30 + 7 * at, 40 + 21 * at + more) for at, day in enumerate(days_from(0, 43, 7))]
        log = book(tmp_path, Log=[HEAD, *ROWS], Power=[("Date", "warm (kWh)", "plain (kWh)", name), *rows])
        assert asked(log, "whose") == []


def test_the_report_says_which_readings_are_from_outside_the_trial(tmp_path):
    rows = [(day, 100 + 2 * (day - START).days, 300 + (day - START).days) for day in days_from(-14, 57, 7)]
    log = metered(tmp_path, rows)
    trace = next(one for one in pipeline.checked(log).traces if one.column.startswith("B") and one.sheet == "Power")
    assert trace.rows == (4, 5, 6, 7, 8, 9, 10)
    assert ("from before the trial or after it", (2, 3, 11, 12)) in trace.left_out
