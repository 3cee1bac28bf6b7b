"""Logs that could be misread without a word: each is read rightly, asked about, or stopped."""

from datetime import datetime, timedelta

import openpyxl
import pytest

from reportgen import pipeline
from reportgen.adopt.adopting import log_of, understood
from reportgen.adopt.numbers import TextNumbers
from reportgen.adopt.questions import unanswered
from reportgen.model.problem import WorkbookError
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
    made = openpyxl.load_workbook(log)
    made["Log"].insert_rows(5)
    for column, value in enumerate(("T1", "warm", 5, 31.0), start=1):
        made["Log"].cell(5, column, value)
    made.save(log)
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
    assert "Was each plant weighed, or each pot or tray as a whole?" in asked(log)


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
    assert [one.wide.unit for one in tables(log) if one.wide] == [""]


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
