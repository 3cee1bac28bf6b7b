"""Logs that could be misread without a word: each is read rightly, asked about, or stopped."""

from datetime import datetime, timedelta

import pytest

from reportgen import pipeline
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, asked, book, means
from tests.test_adopt_changes import HEAD, MEANS, ROWS


def slots(log):
    """Return what the open questions of a log are about: the key of its table, and what is asked."""
    return {question.key for question in asked(log)}


def units_asked(log):
    return {key for key in slots(log) if ".measure." in key}


@pytest.mark.parametrize("names", [("sem", "1x", "2x", "3x"), ("Testigo", "Baja", "Media", "Alta")])
def test_a_treatment_named_like_a_mean_keeps_its_plants(tmp_path, names):
    rows = [(f"V{at}", names[at % 4], 20.0 + at) for at in range(1, 17)]
    log = book(tmp_path, Log=[("Vaso", "Dose", "Massa fresca (g)"), *rows])
    truth = {names[at % 4]: (4, pytest.approx(26.0 + at)) for at in range(1, 5)}
    adopt(log, talk=answering(truth=truth))
    assert means(log, "tray_yield") == truth


def test_a_blank_treatment_below_repeated_ones_is_not_the_one_above(tmp_path):
    rows = [
        (f"B{tray}", kind, plant, 30.0 + tray + plant / 10)
        for tray, kind in enumerate(("kelp", "kelp", "fish", "fish", None, None), start=1)
        for plant in (1, 2, 3, 4)
    ]
    log = book(tmp_path, Log=[HEAD, *rows])
    adopt(log, talk=answering())
    found = means(log)
    assert (found["kelp"][0], found["fish"][0]) == (2, 2)
    assert sorted(value for _, value in found.values()) == pytest.approx([31.75, 33.75, 35.75])


def test_a_label_in_the_first_row_of_a_group_holds_for_the_group(tmp_path):
    rows = [(*row[:1], row[1] if row[2] == 1 else None, *row[2:]) for row in ROWS]
    log = book(tmp_path, Log=[HEAD, *rows])
    adopt(log, talk=answering())
    assert means(log) == MEANS


def test_the_number_of_plants_of_a_tray_is_no_plant(tmp_path):
    rows = [(f"T{at}", ("plain", "warm")[at % 2], 22 + at % 3, 110.0 + at) for at in range(1, 13)]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Plants", "Fresh weight (g)"), *rows])
    assert "Log.covers" in slots(log)


def test_totals_of_trays_are_compared_a_plant_where_a_column_counts_them(tmp_path):
    rows = [
        (f"T{at}", ("plain", "fed")[at % 2], (12, 8)[at % 2], (300.0, 240.0)[at % 2] + at)
        for at in range(1, 9)
    ]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Plants", "Total fresh weight (g)"), *rows])
    truth = {"fed": (4, pytest.approx(244.0 / 8)), "plain": (4, pytest.approx(305.0 / 12))}
    adopt(log, talk=answering(truth=truth))
    assert means(log) == truth


def test_pots_weighed_whole_whose_plants_nothing_counts_give_no_weight_a_plant(tmp_path):
    rows = [(f"T{at}", ("plain", "fed")[at % 2], 240.0 + at) for at in range(8)]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Total fresh weight (g)"), *rows])
    adopt(
        log,
        talk=answering(
            truth={"fed": (4, pytest.approx(244.0)), "plain": (4, pytest.approx(243.0))}
        ),
    )
    assert means(log, "tray_yield") == {
        "fed": (4, pytest.approx(244.0)),
        "plain": (4, pytest.approx(243.0)),
    }


def test_of_full_and_empty_trays_the_net_weight_is_taken(tmp_path):
    rows = [
        (
            f"T{at}",
            ("plain", "warm")[at % 2],
            12.0 + at / 4,
            5.0 + at % 3 / 8,
            7.0 + at / 4 - at % 3 / 8,
        )
        for at in range(1, 13)
    ]
    log = book(
        tmp_path,
        Log=[("Tray", "Treatment", "Full tray (oz)", "Empty tray (oz)", "Net (oz)"), *rows],
    )
    assert {key for key in slots(log) if ".quantity." in key} == {"Log.quantity.Net"}


def test_a_bag_whose_flushes_stand_in_rows_is_one_bag(tmp_path):
    rows = [
        (f"S{bag}", ("Stroh", "Holz")[bag % 2], flush, 400.0 - 90 * flush + bag)
        for bag in range(1, 9)
        for flush in (1, 2, 3)
    ]
    log = book(tmp_path, Log=[("Sack", "Substrat", "Welle", "Ertrag (g)"), *rows])
    truth = {"Stroh": (4, pytest.approx(3 * 225.0)), "Holz": (4, pytest.approx(3 * 224.0))}
    adopt(log, talk=answering(truth=truth))
    assert means(log, "tray_yield") == truth


def test_a_word_of_a_title_is_no_unit(tmp_path):
    days = [datetime(2026, 1, 5) + timedelta(7 * week) for week in range(5)]
    heights = [
        (f"T{tray}", *(20.0 + 15 * week + tray for week in range(5))) for tray in range(1, 5)
    ]
    log = book(tmp_path, **{"Log": [HEAD, *ROWS], "Heights in tent 2": [("Tray", *days), *heights]})
    assert len(units_asked(log)) == 1


def test_the_letter_of_a_group_is_no_unit(tmp_path):
    rows = [tuple(round(level + at / 100, 2) for level in (0.15, 0.12, 0.09)) for at in range(8)]
    log = book(tmp_path, **{"Group G fresh weight": [("warm", "plain", "shade"), *rows]})
    assert len(units_asked(log)) == 1


@pytest.mark.parametrize("note", ["Nutrient salts: weight in kg", "Fertiliser weighed in oz"])
def test_a_note_about_salts_tells_no_unit_of_plants(tmp_path, note):
    log = book(tmp_path, Log=[(*HEAD[:3], "Weight"), *ROWS], Notes=[(note,)])
    assert units_asked(log) == {"Log.measure.Weight"}


@pytest.mark.parametrize("decimals", ["34,5 31,2 36,9", "34,5 31,25 36,9"])
def test_decimal_commas_between_commas_are_refused(tmp_path, decimals):
    lines = [
        f"{tray},{('plain', 'warm')[tray % 2]},{weight}"
        for tray in range(1, 5)
        for weight in decimals.split()
    ]
    log = tmp_path / "log.csv"
    log.write_text("\n".join(["Tray,Treatment,Fresh weight (g)", *lines]), "utf-8")
    with pytest.raises(WorkbookError, match="has 4 fields in row 2, and 3 headers"):
        adopt(log, talk=answering())


@pytest.mark.parametrize("last", ["T1,warm,5,90.0,,", "T1,warm,5,dead,,"])
def test_a_row_that_is_written_below_in_a_text_file_counts(tmp_path, last):
    lines = [
        ",".join(map(str, row)) + (",,weighed by Ann" if at == 0 else ",,")
        for at, row in enumerate(ROWS)
    ]
    log = tmp_path / "log.csv"
    log.write_text("\n".join([",".join(HEAD) + ",,", *lines]), "utf-8")
    adopt(log, talk=answering())
    log.write_text("\n".join([",".join(HEAD) + ",,", *lines, last]), "utf-8")
    assert len(pipeline.checked(log).plants) == 17
