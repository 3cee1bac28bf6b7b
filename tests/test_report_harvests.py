"""The section on harvests, and what results file, post, PDF and money say of a picked crop."""

import json
from dataclasses import replace

import pytest

from reportgen import metrics, report, workbook
from reportgen.model.document import Figure, Paragraph, Table
from reportgen.model.settings import Settings
from reportgen.model.trial import ProducePrice
from reportgen.render import post
from tests.test_metrics_harvests import graded, picked, picking, week_by_week
from tests.test_workbook_harvests import picked as picked_workbook
from tests.trials import WEIGHTS, fair_trial, trial
from tests.workbooks import write


def composed(of, settings=None):
    return report.compose(of, metrics.compute(of), *([settings] if settings else []))


def section_of(of, settings=None):
    return next(one for one in composed(of, settings).annex if one.key == "harvests")


def blocks(section, kind):
    return [block for block in section.blocks if isinstance(block, kind)]


def table(section, key):
    return next(block for block in blocks(section, Table) if block.key == key)


def labels(found):
    return [row[0] for row in found.rows]


def test_a_crop_harvested_at_once_has_no_section_on_harvests():
    assert "harvests" not in [section.key for section in composed(trial()).all_sections]


def test_the_section_tells_days_and_what_counts_as_marketable():
    said = blocks(section_of(graded()), Paragraph)[0].text
    assert (
        said == "There were 3 days of picking, from 15 April 2026 to 29 April 2026. Counted as"
        " marketable: good. Counted as culls: culls."
    )


def test_pickings_without_a_grade_are_told_of():
    first, *others = graded().pickings
    said = blocks(section_of(graded(pickings=(replace(first, grade=""), *others))), Paragraph)[
        0
    ].text
    assert said.endswith("1 picking without a grade counts as marketable.")


def test_where_culls_alone_are_marked_all_else_counts_as_marketable():
    marked = tuple(one if one.is_cull else replace(one, grade="") for one in graded().pickings)
    said = blocks(section_of(graded(pickings=marked)), Paragraph)[0].text
    assert said.endswith("Culls are what was graded culls; everything else counts as marketable.")


def measures(of):
    """Return the measures of the annex's table of comparisons, and its rows by measure and
    treatment.
    """
    found = next(one for one in composed(of).annex if one.key == "comparisons")
    whole = table(found, "comparisons")
    rows, measure = {}, ""
    for place, row in enumerate(whole.rows):
        name = row[0].split("\xa0[")[0]  # without the numbers of its notes
        if place in whole.groups:
            measure = name
        else:
            rows[measure, name] = row
    return list(dict.fromkeys(measure for measure, _ in rows)), rows


def test_the_annex_has_yields_culls_pieces_and_days():
    labels = [label.split("\xa0[")[0] for label in measures(graded())[0]]  # without notes' numbers
    assert labels[:8] == [
        "Yield per plant planted (g/plant)",
        "Yield (g/tray)",
        "Marketable yield (g/tray)",
        "Share of culls (%)",
        "Pieces picked (pieces/tray)",
        "Weight per piece (g/piece)",
        "Days from the start to the first picking (d)",
        "Yield per week of picking (g/tray/week)",
    ]


def test_days_are_compared_by_their_difference():
    late = tuple(
        one for one in picked().pickings if one.tray != "B1" or one.on > picked().pickings[0].on
    )
    _, rows = measures(picked(pickings=late))
    days = rows["Days from the start to the first picking (d)", "Full strength"]
    assert days[3] == ""  # no ratio: the zero of a day count is a convention
    assert days[5] == "2.3"


def test_with_one_plant_in_each_pot_its_yield_stands_once():
    pots = tuple(replace(tray, plants_started=1) for tray in picked().trays)
    plants = tuple(plant for plant in picked().plants if plant.code == "1")
    found, _ = measures(picked(trays=pots, plants=plants, experimental_unit="plant"))
    assert "Yield (g/pot)" in found


def test_own_grades_are_rows_named_as_the_grower_names_them():
    ranks = ("class I", "class II", "culls")
    pickings = tuple(
        picking(tray, 14 + 7 * n, weight, grade=grade)
        for tray, weights in WEIGHTS.items()
        for n, (grade, weight) in enumerate(zip(ranks, weights, strict=True))
    )
    made = picked(pickings=pickings)
    section = section_of(made)
    assert {"Share of grade class I (%)", "Share of grade class II (%)"} <= set(measures(made)[0])
    assert "Counted as marketable: class I and class II." in blocks(section, Paragraph)[0].text


def test_the_yield_up_to_each_day_is_a_row_of_a_table():
    section = section_of(graded())
    total, sold = (
        table(section, "cumulative-tray-yield"),
        table(section, "cumulative-marketable-yield"),
    )
    assert labels(total) == labels(sold) == ["15 April 2026", "22 April 2026", "29 April 2026"]
    _, rows = measures(graded())
    for column, name in ((1, "Half strength"), (2, "Full strength")):
        assert total.rows[-1][column].split(" ")[0] == rows["Yield (g/tray)", name][1]
        assert sold.rows[-1][column].split(" ")[0] == rows["Marketable yield (g/tray)", name][1]
    assert "of each day by itself" in total.note


def test_limits_that_were_cut_at_0_are_told_of_with_the_treatment_that_had_given_nothing_yet():
    late = tuple(
        one
        for one in picked().pickings
        if one.tray not in ("A1", "A2") or one.on > picked().pickings[0].on
    )
    cut = table(section_of(picked(pickings=late)), "cumulative-tray-yield")
    assert "(0" in cut.rows[0][1]
    assert cut.note.endswith(
        "On 15 April 2026 a tray of Half strength still stood at 0, so the limits are those of the "
        "linear scale, cut at 0."
    )
    assert "linear scale" not in table(section_of(picked()), "cumulative-tray-yield").note


@pytest.mark.parametrize(
    ("units", "wanted"), [("us", ["(oz/tray)"]), ("both", ["(g/tray)", "(oz/tray)"])]
)
def test_tables_by_day_are_in_the_units_of_display(units, wanted):
    section = section_of(picked(), Settings(units=units))
    captions = [one.caption for one in blocks(section, Table) if one.key.startswith("cumulative-")]
    assert [caption.rpartition(" ")[2] for caption in captions] == wanted


def test_the_figure_is_of_what_can_be_sold_and_its_text_has_the_last_day():
    growth = next(one for one in composed(graded()).sections if one.key == "growth")
    figure = blocks(growth, Figure)[0]
    assert figure.key == "cumulative-yield"
    assert figure.alternative.startswith(
        "By the last day of picking, 29 April 2026: Marketable yield (g/tray): Half"
    )


def test_growth_leads_with_what_can_be_sold():
    growth = next(one for one in composed(graded(main_measure="")).sections if one.key == "growth")
    assert labels(table(growth, "growth-figures"))[0] == "Marketable yield (g/tray)"


def test_what_a_lost_plant_gave_is_said_to_count():
    dead = tuple(replace(one, status="dead") if one.code == "3" else one for one in picked().plants)
    growth = next(one for one in composed(picked(plants=dead)).sections if one.key == "growth")
    assert any(
        "What a lost plant gave before counts in the yields." in one.text
        for one in blocks(growth, Paragraph)
    )


def test_what_can_be_sold_leads_where_pickings_were_graded_and_no_main_measure_is_named():
    results = metrics.compute(graded(main_measure=""))
    assert results.main_measure == "marketable_yield"
    assert "marketable yield per tray" in composed(graded(main_measure="")).answer[0]
    assert metrics.compute(graded(main_measure="tray_yield")).main_measure == "tray_yield"


def test_what_was_picked_is_called_yield_and_not_the_weight_of_a_plant():
    first = composed(picked(main_measure="")).answer[0]
    assert "yield per plant" in first
    assert "fresh weight" not in first


def test_an_answer_in_days_speaks_of_their_difference():
    late = {"A1": 14, "A2": 15, "A3": 14, "B1": 21, "B2": 22, "B3": 23}
    pickings = tuple(
        picking(tray, day + 7 * n, 40.0 + n) for tray, day in late.items() for n in range(3)
    )
    made = composed(
        picked(trays=fair_trial().trays, pickings=pickings, main_measure="days_to_first_harvest")
    )
    # R 4.2.2: t.test(c(21, 22, 23), c(14, 15, 14), var.equal = TRUE): 95 % 5.815703 to 9.517630,
    #   means 22 and 14.333
    assert (
        made.answer[0]
        == "With full strength, time to the first picking was 7.67 d higher than with half"
        " strength: 22.0 against 14.3 d (95% interval 5.8\u00a0to\u00a09.5 d)."
    )


def test_an_answer_in_days_that_is_not_clear_says_what_was_measured():
    days = {"A1": 14, "A2": 21, "A3": 14, "B1": 21, "B2": 14, "B3": 21}
    pickings = tuple(
        picking(tray, day + 7 * n, 40.0 + n) for tray, day in days.items() for n in range(3)
    )
    said = composed(picked(pickings=pickings, main_measure="days_to_first_harvest")).answer[0]
    assert said.startswith("We cannot say whether time to the first picking was higher or lower")
    assert "Here it was 2.33 d more (" in said


def test_money_says_that_the_crop_is_what_can_be_sold():
    energy = next(
        one
        for one in composed(graded(produce_price=ProducePrice(9.0, "kg"))).sections
        if one.key == "energy"
    )
    assert any(
        "marketable crop than half strength" in block.text for block in blocks(energy, Paragraph)
    )
    plain = next(one for one in composed(picked()).sections if one.key == "energy")
    assert not any("marketable" in block.text for block in blocks(plain, Paragraph))


def test_the_results_file_has_the_curves_of_each_treatment():
    content = json.loads(composed(graded()).results)
    found = {(one["metric"], one["treatment"]): one for one in content["harvests"]}
    assert set(found) == {
        (key, code) for key in ("tray_yield", "marketable_yield") for code in ("half", "full")
    }
    days = found["tray_yield", "half"]["days"]
    assert [(one["date"], one["day"], one["n"]) for one in days] == [
        ("2026-04-15", 14, 3),
        ("2026-04-22", 21, 3),
        ("2026-04-29", 28, 3),
    ]
    last = next(
        one
        for one in content["estimates"]
        if (one["metric"], one["treatment"]) == ("tray_yield", "half")
    )
    assert (days[-1]["value"], days[-1]["low"]) == pytest.approx((last["value"], last["low"]))
    assert found["tray_yield", "half"]["unit"] == "g/tray"


def test_a_crop_harvested_at_once_has_an_empty_list_of_curves():
    assert json.loads(composed(trial()).results)["harvests"] == []


def test_the_post_keeps_the_curve_of_harvests():
    assert post.figures(composed(graded()))[0].key == "cumulative-yield"


def test_a_picked_crop_of_one_tray_a_treatment_is_reported_without_intervals():
    one_each = tuple(tray for tray in picked().trays if tray.code in ("A1", "B1"))
    pickings = week_by_week("A1", 20.0, 30.0) + week_by_week("B1", 25.0, 40.0)
    section = section_of(picked(trays=one_each, pickings=pickings, solution=(), meter=()))
    assert "no interval" in table(section, "cumulative-tray-yield").rows[-1][1]


def test_pickings_that_were_only_counted_are_reported_by_the_piece():
    counted = tuple(replace(one, weight=None) for one in picked().pickings)
    section = section_of(replace(trial(), pickings=counted))
    assert [one.key for one in blocks(section, Table) if one.key.startswith("cumulative")] == [
        "cumulative-pieces"
    ]
    assert "Fresh weight (g/plant)" in measures(replace(trial(), pickings=counted))[0]


def test_a_workbook_of_pickings_gives_a_report(tmp_path):
    made = workbook.check(workbook.read(write(picked_workbook(), tmp_path / "picked.xlsx")))
    assert "harvests" in [section.key for section in composed(made).annex]
    assert "Harvests" in [one.name for one in composed(made).data]
