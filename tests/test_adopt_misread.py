"""Logs that could be misread without a word: each is read rightly, asked about, or stopped."""

import re
from datetime import datetime, timedelta

import openpyxl
import pytest

from reportgen import pipeline
from reportgen.adopt.adopting import log_of, understood
from reportgen.adopt.numbers import TextNumbers
from reportgen.adopt.questions import unanswered
from reportgen.model.problem import Severity, WorkbookError
from tests.adopting import adopt, answering, book
from tests.test_adopt_habits import HEAD, ROWS, TRAYS, settled, text_file


def tables(log):
    return understood(log_of((log,))).adoption.tables


def asked(log):
    return [question.text for question in unanswered(understood(log_of((log,))))]


def rewritten(log, change):
    """Change the settings file of a log as its owner would."""
    settings = log.with_name(f"{log.stem}.adopt.toml")
    settings.write_text(change(settings.read_text("utf-8")), "utf-8")


@pytest.mark.parametrize("names", [("sem", "1x", "2x", "3x"), ("Testigo", "Baja", "Media", "Alta")])
def test_a_treatment_named_like_a_mean_keeps_its_plants(tmp_path, names):
    rows = [(f"V{at}", names[at % 4], 20.0 + at) for at in range(1, 17)]
    log = book(tmp_path, Log=[("Vaso", "Dose", "Massa fresca (g)"), *rows])
    (table,) = tables(log)
    assert table.exclude_rows == ()


def test_a_total_that_moved_out_of_its_range_stops_the_report(tmp_path):
    rows = [(*row, None, "weighed by Ann" if at == 2 else None) for at, row in enumerate(ROWS)]
    log = book(tmp_path, Log=[HEAD, *rows, ("Total", None, None, sum(row[3] for row in ROWS))])
    adopt(log, talk=answering(**TRAYS))
    (table,) = settled(log).tables
    assert table.range
    assert table.exclude_rows == (18,)
    changed(log, with_a_plant_above)
    with pytest.raises(WorkbookError, match=r"row 19 now: write 19 for 18 in exclude_rows, and widen range"):
        pipeline.checked(log)
    rewritten(log, lambda text: re.sub(r"(?m)^stood = .*\n", "", text))  # as in a file that was written by hand
    with pytest.raises(WorkbookError, match="row 18 is left out and no total"):
        pipeline.checked(log)


def test_a_table_that_is_named_twice_counts_no_plant_twice(tmp_path):
    log = book(tmp_path, Log=[HEAD, *ROWS])
    adopt(log, talk=answering(**TRAYS))

    def doubled(text):
        table = text[text.index("[[table]]") : text.index("[trial]")]
        return text.replace("[trial]", f"{table}\n[trial]")

    rewritten(log, doubled)
    with pytest.raises(WorkbookError, match="table 1 of the settings file reads this cell too"):
        pipeline.checked(log)


def test_a_blank_treatment_below_repeated_ones_is_not_the_one_above(tmp_path):
    rows = [
        (f"B{tray}", kind, plant, 30.0 + tray + plant / 10)
        for tray, kind in enumerate(("kelp", "kelp", "fish", "fish", None, None), start=1)
        for plant in (1, 2, 3, 4)
    ]
    log = book(tmp_path, Log=[HEAD, *rows])
    assert tables(log)[0].fill_down == ()


def test_a_label_in_the_first_row_of_a_group_holds_for_the_group(tmp_path):
    rows = [(*row[:1], row[1] if row[2] == 1 else None, *row[2:]) for row in ROWS]
    assert tables(book(tmp_path, Log=[HEAD, *rows]))[0].fill_down == ("Treatment",)


@pytest.mark.parametrize("more", ["T1,warm,5,90.0,,", "T1,warm,5,dead,,"])
def test_a_row_below_the_range_of_a_text_file_is_pointed_out(tmp_path, more):
    lines = [",".join(map(str, row)) + (",,weighed by Ann" if at == 0 else ",,") for at, row in enumerate(ROWS)]
    head = ",".join(HEAD) + ",,"
    log = text_file(tmp_path, head, *lines)
    adopt(log, talk=answering(**TRAYS))
    assert settled(log).tables[0].range
    text_file(tmp_path, head, *lines, more)
    assert [one.cell for one in pipeline.checked(log).findings if "below the range" in one.found] == ["D18"]


def test_plants_of_a_tray_are_their_number_where_each_row_is_a_tray(tmp_path):
    rows = [(f"T{at}", ("plain", "warm")[at % 2], 22 + at % 3, 110.0 + at) for at in range(1, 13)]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Plants", "Fresh weight (g)"), *rows])
    assert "Plant" not in tables(log)[0].columns
    assert tables(log)[0].columns["Plants weighed"].header == "Plants"
    assert any("or each pot or tray as a whole?" in text for text in asked(log))


def test_of_full_and_empty_trays_the_net_weight_is_taken(tmp_path):
    rows = [
        (f"T{at}", ("plain", "warm")[at % 2], 12.0 + at / 4, 5.0 + at % 3 / 8, 7.0 + at / 4 - at % 3 / 8)
        for at in range(1, 13)
    ]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Full tray (oz)", "Empty tray (oz)", "Net (oz)"), *rows])
    (table,) = tables(log)
    assert table.columns["?"].header == "Net (oz)"


def test_a_bag_whose_flushes_stand_in_rows_is_no_pot_for_each(tmp_path):
    rows = [(f"S{sack}", ("Stroh", "Holz")[sack % 2], welle, 400.0 - 90 * welle + sack) for sack in range(1, 9)
            for welle in (1, 2, 3)]  # fmt: skip
    log = book(tmp_path, Log=[("Sack", "Substrat", "Welle", "Ertrag (g)"), *rows])
    assert tables(log)[0].columns["Tray"].header == "Sack"


def test_a_word_of_a_title_is_no_unit(tmp_path):
    days = [datetime(2026, 1, 5) + timedelta(7 * week) for week in range(5)]
    heights = [(f"T{tray}", *(20.0 + 15 * week + tray for week in range(5))) for tray in range(1, 5)]
    log = book(tmp_path, **{"Log": [HEAD, *ROWS], "Heights in tent 2": [("Tray", *days), *heights]})
    assert [one.wide.unit for one in tables(log) if one.wide] == ["?"]


def test_the_letter_of_a_group_is_no_unit(tmp_path):
    rows = [tuple(round(level + at / 100, 2) for level in (0.15, 0.12, 0.09)) for at in range(8)]
    log = book(tmp_path, **{"Group G fresh weight": [("warm", "plain", "shade"), *rows]})
    assert tables(log)[0].wide.unit == "?"


def test_decimal_commas_between_commas_stop_the_report(tmp_path):
    lines = [f"{tray},{('plain', 'warm')[tray % 2]},{w}" for tray in range(1, 5) for w in ("34,5", "31,2", "36,9")]
    log = text_file(tmp_path, "Tray,Treatment,Fresh weight (g)", *lines)
    adopt(log, talk=answering(**TRAYS))
    with pytest.raises(WorkbookError, match="more fields than the header"):
        pipeline.checked(log)


def test_a_point_before_three_digits_parts_thousands_where_commas_are_decimal():
    numbers = TextNumbers(decimal_comma=True, thousands_comma=False)
    assert [numbers.read(text) for text in ("1.120", "998,5", "1.050,5")] == [1120, 998.5, 1050.5]
    assert TextNumbers(decimal_comma=False, thousands_comma=False).read("1.120") == 1.12


# --- a log that changes after it was taken in


def settings_with(log, *lines):
    """Add lines to the table of a settings file as its owner would, and take the log in again, which notes them."""
    rewritten(log, lambda text: text.replace("[[table]]", "\n".join(("[[table]]", *lines))))
    adopt(log)


def changed(log, change):
    made = openpyxl.load_workbook(log)
    change(made["Log"])
    made.save(log)


def with_a_plant_above(sheet):
    sheet.insert_rows(5)
    for column, value in enumerate(("T1", "warm", 5, 31.0), start=1):
        sheet.cell(5, column, value)


def taken_log(tmp_path):
    log = book(tmp_path, Log=[HEAD, *ROWS])
    adopt(log, talk=answering(**TRAYS))
    return log


def test_a_correction_does_not_move_to_another_plant_when_a_row_is_inserted(tmp_path):
    log = taken_log(tmp_path)
    settings_with(log, "corrected = { D10 = 44.0 }")
    assert settled(log).tables[0].stood == {"D10": str(ROWS[8][3])}
    assert pipeline.checked(log).plants[8].fresh_weight == 44.0
    changed(log, with_a_plant_above)
    with pytest.raises(WorkbookError, match="That stands in D11 now: write D11 for D10 in corrected"):
        pipeline.checked(log)


def test_a_correction_that_its_owner_made_in_the_log_too_is_no_fault(tmp_path):
    log = taken_log(tmp_path)
    settings_with(log, "corrected = { D10 = 44.0 }")
    changed(log, lambda sheet: sheet.cell(10, 4, 44.0))
    assert pipeline.checked(log).plants[8].fresh_weight == 44.0


def test_a_plant_that_is_left_out_is_the_same_one_after_a_row_was_inserted(tmp_path):
    log = taken_log(tmp_path)
    settings_with(log, "exclude_rows = [10]")
    changed(log, with_a_plant_above)
    with pytest.raises(WorkbookError, match=r"It stands in row 11 now: write 11 for 10 in exclude_rows"):
        pipeline.checked(log)


def test_a_cell_that_was_confirmed_waits_again_once_it_holds_something_else(tmp_path):
    log = taken_log(tmp_path)
    changed(log, lambda sheet: sheet.cell(10, 4, 2740))
    settings_with(log, 'confirmed = ["D10"]')
    assert "D10" in {one.cell for one in pipeline.checked(log).findings}
    changed(log, lambda sheet: sheet.cell(10, 4, 2840))
    with pytest.raises(WorkbookError, match="D10 looks wrong, and the report waits for your word"):
        pipeline.checked(log)


def test_rows_that_are_named_by_number_only_are_remarked_on(tmp_path):
    log = taken_log(tmp_path)
    rewritten(log, lambda text: text.replace("[[table]]", "[[table]]\nexclude_rows = [10]"))
    assert any("does not say what row 10 held" in one.found for one in pipeline.checked(log).findings)


def test_what_is_filled_down_is_said(tmp_path):
    rows = [(*row[:1], row[1] if row[2] == 1 else None, *row[2:]) for row in ROWS]
    _, shown = adopt(book(tmp_path, Log=[HEAD, *rows]))
    assert "blank cells below a label hold the label: Treatment" in shown


def test_trays_of_differing_numbers_of_plants_are_not_compared_as_plants(tmp_path):
    rows = [(f"T{at}", ("plain", "fed")[at % 2], (12, 8)[at % 2], (300.0, 240.0)[at % 2] + at) for at in range(1, 9)]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Plants", "Total fresh weight (g)"), *rows])
    adopt(log, talk=answering(per="pot", independent="Tray", **{"Reference treatment": "plain"}))
    rewritten(log, lambda text: text.replace('"Plants weighed" = "Plants", ', ""))
    with pytest.raises(WorkbookError, match='"Plants" tells of 8 to 12 plants'):
        pipeline.checked(log)


@pytest.mark.parametrize("note", ["Nutrient salts: weight in kg", "Fertiliser weighed in oz"])
def test_a_note_about_salts_tells_no_unit_of_plants(tmp_path, note):
    log = book(tmp_path, Log=[(*HEAD[:3], "Weight"), *ROWS], Notes=[(note,)])
    assert any(table.columns.get("?") and table.columns["?"].unit == "?" for table in tables(log))


def test_each_of_two_rows_that_moved_is_told_its_own_place(tmp_path):
    log = taken_log(tmp_path)
    settings_with(log, "exclude_rows = [10, 12]")
    changed(log, with_a_plant_above)
    with pytest.raises(WorkbookError) as caught:
        pipeline.checked(log)
    said = str(caught.value)
    assert "write 11 for 10 in exclude_rows." in said
    assert "write 13 for 12 in exclude_rows." in said


@pytest.mark.parametrize(
    ("header", "values"), [("Plants", (7, 8, 7, 8)), ("Leaves per plant", (12, 8, 12, 8)), ("No", (1, 2, 1, 2))]
)
def test_only_counts_of_plants_stop_trays_that_were_weighed_whole(tmp_path, header, values):
    rows = [(f"T{at}", ("plain", "fed")[at % 2], values[at % 4], 240.0 + at) for at in range(8)]
    log = book(tmp_path, Log=[("Tray", "Treatment", header, "Total fresh weight (g)"), *rows])
    adopt(log, talk=answering(per="pot", independent="Tray", **{"Reference treatment": "plain"}))
    if header != "Plants":
        assert len(pipeline.checked(log).trays) == 8
        return
    rewritten(log, lambda text: text.replace('"Plants weighed" = "Plants", ', ""))
    with pytest.raises(WorkbookError, match=r'or write confirmed = \["C2"\] where these are no counts'):
        pipeline.checked(log)
    rewritten(log, lambda text: text.replace("[[table]]", '[[table]]\nconfirmed = ["C2"]'))
    assert any("tells of 7 to 8 plants" in one.found for one in pipeline.checked(log).findings)


@pytest.mark.parametrize(
    ("told", "cautioned"),
    [("", True), ('columns."Plants weighed" = "Held"\n', False), ('constants."Plants weighed" = "1"\n', False)],
)
def test_pots_weighed_whole_whose_plants_nothing_counts_are_cautioned(tmp_path, told, cautioned):
    rows = [(f"T{at}", ("plain", "fed")[at % 2], 240.0 + at, (7, 8, 7, 8)[at % 4]) for at in range(8)]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Total fresh weight (g)", "Held"), *rows])
    adopt(log, talk=answering(per="pot", independent="Tray", **{"Reference treatment": "plain"}))
    rewritten(log, lambda text: re.sub(r"columns = \{ (.*) \}", _line_by_line, text))
    rewritten(log, lambda text: text.replace("per = ", told + "per = "))
    found = [one for one in pipeline.checked(log).findings if "nothing tells how many plants" in one.found]
    assert [(one.severity, one.cell) for one in found] == [(Severity.CAUTION, "C2")] * cautioned


def _line_by_line(match):
    """Return an inline table of columns as dotted keys, which more can follow."""
    return "\n".join(f"columns.{one.strip()}" for one in match[1].split(", "))
