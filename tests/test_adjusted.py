"""Yields adjusted for start weight and for light at each place, beside the unadjusted ones."""

import json
from dataclasses import replace
from datetime import date

import numpy as np
import openpyxl
import pytest

from reportgen import metrics, workbook
from reportgen.model.problem import WorkbookError
from reportgen.model.trial import LightReading, Tray
from reportgen.report import adjusted, annex, answer, results_file
from reportgen.stats.covariance import (
    CovarianceDesign,
    compare_adjusted,
    fit_covariance,
    p_of_difference,
)
from tests.trials import codes, plants, trial

# Leprosy scores before and after three drugs: Snedecor & Cochran (1967), Statistical Methods, 6th
# ed., ch. 14; the data and the figures below also stand in the documentation of SAS's GLM
# procedure, example of an analysis of covariance.
BEFORE = (
    11,
    8,
    5,
    14,
    19,
    6,
    10,
    6,
    11,
    3,
    6,
    6,
    7,
    8,
    18,
    8,
    19,
    8,
    5,
    15,
    16,
    13,
    11,
    9,
    21,
    16,
    12,
    12,
    7,
    12,
)
AFTER = (
    6,
    0,
    2,
    8,
    11,
    4,
    13,
    1,
    8,
    0,
    0,
    2,
    3,
    1,
    18,
    4,
    14,
    9,
    1,
    9,
    13,
    10,
    18,
    5,
    23,
    12,
    5,
    16,
    1,
    20,
)

START = {"A1": 2.0, "A2": 2.4, "A3": 1.8, "A4": 2.2, "B1": 2.1, "B2": 1.9, "B3": 2.5, "B4": 2.3}
GAVE = {
    "A1": 61.0,
    "A2": 75.0,
    "A3": 52.0,
    "A4": 69.0,
    "B1": 78.0,
    "B2": 70.0,
    "B3": 95.0,
    "B4": 88.0,
}


def started(start=START, gave=GAVE, blocks=False, **changes):
    """Return a trial of one plant a tray that began with a weight and gave one."""
    weighed = plants({tray: (weight,) for tray, weight in gave.items()})
    trays = tuple(
        Tray(code, "half" if code.startswith("A") else "full", 1, block=code[1] if blocks else "")
        for code in gave
    )
    of = trial(
        trays=trays,
        plants=tuple(replace(plant, start_weight=start.get(plant.tray)) for plant in weighed),
        solution=(),
        meter=(),
        variances="pooled",
    )
    return replace(of, **changes)


def lit(varied, **changes):
    readings = tuple(
        LightReading("half" if tray.startswith("A") else "full", 100 * weight, tray=tray)
        for tray, weight in START.items()
    )
    return started({}, varied=varied, light=readings, **changes)


def adjustment(of):
    (found,) = metrics.compute(of).adjusted
    return found


def measure(of, key="fresh_weight"):
    return next(each for each in adjustment(of).measures if each.measure.key == key)


# ---- against published figures and R -------------------------------------------------------------


def test_adjusted_means_are_those_of_the_textbook():
    # means 6.7149635, 6.8239348, 10.1611017; slope 0.987183811; R 4.2: m <- lm(after ~ drug +
    #   before);
    # emmeans(m, "drug") SE 1.28849427987, 1.27246899519, 1.31592342357, 26 df; p of the slope
    # 2.45433047039e-06; anova(lm(before ~ 1), lm(before ~ drug)) p 0.20917518078; anova(m, lm(after
    # ~ drug * before)) p 0.560584772359
    design = CovarianceDesign(np.repeat(np.arange(3), 10), 3, np.array(BEFORE, dtype=float))
    fit = fit_covariance(np.array(AFTER, dtype=float), design)
    assert fit.means == pytest.approx((6.71496346262, 6.82393479483, 10.16110174255), rel=1e-9)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(
        (1.28849427987, 1.27246899519, 1.31592342357), rel=1e-9
    )
    assert (fit.slope, fit.slope_p_value) == pytest.approx(
        (0.987183811130, 2.45433047039e-06), rel=1e-9
    )
    assert fit.degrees_of_freedom == 26
    assert (fit.p_differs, fit.p_slopes) == pytest.approx((0.20917518078, 0.560584772359), rel=1e-9)


def test_adjusted_comparisons_are_those_of_emmeans():
    # contrast(emmeans(m, "drug"), "trt.vs.ctrl", ref = "F", adjust = "none"): -3.44613827993
    #   (-7.32447144702 to
    # 0.432194887153) and -3.33716694772 (-7.14784395792 to 0.473510062473), here as logarithms
    design = CovarianceDesign(np.repeat(np.arange(3), 10), 3, np.array(BEFORE, dtype=float))
    first, second, reference = compare_adjusted(
        fit_covariance(np.array(AFTER, dtype=float), design), 2, 0.95
    )
    assert reference is None
    limits = np.log(
        [first.ratio, first.single_low, first.single_high, second.single_low, second.single_high]
    )
    expected = (-3.44613827993, -7.32447144702, 0.432194887153, -7.14784395792, 0.473510062473)
    assert limits == pytest.approx(expected, rel=1e-9)
    assert first.ratio_low < first.single_low  # both together reach further


@pytest.mark.parametrize(
    ("blocks", "ratio", "p_value", "exponent", "freedom"),
    [
        (False, (1.21983125976, 1.18278106216, 1.25804204167), 1.46574589372e-05, 1.21115207640, 5),
        (True, (1.22076477982, 1.18063635034, 1.26225712704), 0.001513103461, 1.19488696393727, 2),
    ],
)
def test_yields_are_adjusted_on_the_log_scale_as_by_lm_in_r(
    blocks, ratio, p_value, exponent, freedom
):
    # R 4.2: m <- lm(log(y) ~ t + log(x)), or t + block + log(x); contrast(emmeans(m, "t"),
    #   "trt.vs.ctrl"), exp of it
    found = measure(started(blocks=blocks))
    compared = dict(found.comparisons)["full"]
    assert (compared.ratio, compared.ratio_low, compared.ratio_high) == pytest.approx(
        ratio, rel=1e-8
    )
    assert compared.p_value == pytest.approx(p_value, rel=1e-6)
    assert (found.exponent, found.degrees_of_freedom) == (
        pytest.approx(exponent, rel=1e-8),
        freedom,
    )


def test_adjusting_uncovers_a_difference_that_start_weights_hid():
    of = started(blocks=False)
    results = metrics.compute(of)
    plain = dict(
        next(one for one in results.measures if one.measure.key == "fresh_weight").comparisons
    )["full"]
    compared = dict(measure(of).comparisons)["full"]
    assert plain.ratio_low < 1 < plain.ratio
    assert compared.ratio_low > 1


# ---- when, and when not --------------------------------------------------------------------------


def test_yields_are_adjusted_and_the_covariate_is_no_outcome():
    of = started()
    assert {each.measure.key for each in adjustment(of).measures} == {
        "fresh_weight",
        "yield_per_plant_started",
        "tray_yield",
    }
    assert "start_weight" not in {result.measure.key for result in metrics.compute(of).measures}
    assert dict(adjustment(of).averages) == pytest.approx({"half": 2.1, "full": 2.2})


def test_without_a_covariate_nothing_is_adjusted():
    assert metrics.compute(trial()).adjusted == ()


@pytest.mark.parametrize(
    ("varied", "reason"), [("light", "light_was_varied"), (None, "varied_not_recorded")]
)
def test_light_that_may_be_the_treatment_is_not_adjusted_for(varied, reason):
    found = adjustment(lit(varied))
    assert codes(found.withheld) == [reason]
    assert found.measures == ()


def test_light_at_each_place_is_adjusted_for_where_something_else_was_varied():
    # the readings are in proportion to the start weights above, so the adjusted ratio is theirs
    found = adjustment(lit("nutrient strength"))
    assert found.covariate == "light_at_place"
    compared = dict(found.measures[0].comparisons)["full"]
    assert compared.ratio == pytest.approx(1.21983125976, rel=1e-8)


def test_start_weights_that_differ_between_treatments_are_a_caution():
    apart = {tray: weight + (1.5 if tray.startswith("B") else 0) for tray, weight in START.items()}
    assert "covariate_differs" in codes(measure(started(apart)).notes)
    assert "covariate_differs" not in codes(measure(started()).notes)


def test_a_covariate_that_acts_otherwise_under_one_treatment_is_a_caution():
    gave = {
        tray: 30 * weight if tray.startswith("A") else 95 - 5 * weight
        for tray, weight in START.items()
    }
    rough = {tray: value * (1.01 if tray.endswith("2") else 0.995) for tray, value in gave.items()}
    assert "slopes_differ" in codes(measure(started(gave=rough)).notes)


def test_few_trays_beside_the_covariate_are_a_caution_and_too_few_give_none():
    few = {tray: GAVE[tray] for tray in ("A1", "A2", "B1", "B2")}
    assert "few_freedoms" in codes(measure(started(gave=few)).notes)
    least = {tray: GAVE[tray] for tray in ("A1", "B1", "B2")}
    assert codes(measure(started(gave=least)).notes) == ["cannot_adjust"]
    alike = dict.fromkeys(START, 2.0)
    assert codes(measure(started(alike)).notes) == ["cannot_adjust"]


def test_trays_without_start_weights_are_left_out_and_counted():
    known = {tray: weight for tray, weight in START.items() if tray != "A1"}
    found = measure(started(known))
    assert found.trays == 7
    assert "without_covariate" in codes(found.notes)


def test_plants_that_were_lost_later_count_among_start_weights():
    of = started()
    lost = replace(of.plants[0], code="2", status="dead", fresh_weight=None, start_weight=1.0)
    with_lost = replace(of, plants=(*of.plants, lost))
    assert dict(adjustment(with_lost).averages)["half"] == pytest.approx(
        (1.5 + 2.4 + 1.8 + 2.2) / 4
    )


def test_an_unfinished_trial_adjusts_nothing():
    assert metrics.compute(started(interim=True, as_of=date(2026, 4, 20))).adjusted == ()


# ---- what readers get ----------------------------------------------------------------------------


def test_the_report_sets_adjusted_beside_unadjusted():
    of = started()
    results = metrics.compute(of)
    made = adjusted.blocks(of, results)
    paragraph = next(block.text for block in made if block.kind == "paragraph")
    assert paragraph.startswith(
        "When treatments began, plants weighed on average 2.10 g for Half strength and 2.20 g"
    )
    assert "gave 12.2" in paragraph  # 1.1 ** 1.21115 = 1.1224
    table = next(block for block in made if block.kind == "table")
    assert table.key == "adjusted-start-weight"
    assert table.rows[0][3].startswith("122% (118")
    assert (
        table
        in next(one for one in annex.sections(of, results, "") if one.key == "comparisons").blocks
    )


def test_the_report_says_why_light_is_not_adjusted_for():
    of = lit("light")
    (paragraph,) = [
        block.text
        for block in adjusted.blocks(of, metrics.compute(of))
        if block.kind == "paragraph"
    ]
    assert "take away what it did" in paragraph


def test_cautions_stand_in_a_notice():
    apart = {tray: weight + (1.5 if tray.startswith("B") else 0) for tray, weight in START.items()}
    of = started(apart)
    (notice,) = [
        block for block in adjusted.blocks(of, metrics.compute(of)) if block.kind == "notice"
    ]
    assert "reaches beyond" in notice.items[0]


def test_the_results_file_has_adjusted_and_unadjusted_ratios():
    of = started()
    written = json.loads(results_file.results_json(of, metrics.compute(of)))["adjusted"]
    half, full = (each for each in written if each["metric"] == "fresh_weight")
    assert half["ratio"] is None
    assert full["ratio"] == pytest.approx(1.21983125976, rel=1e-8)
    assert full["unadjusted_ratio"] == pytest.approx(82.75 / 64.25)
    assert (full["covariate"], full["covariate_mean"]) == ("start_weight", pytest.approx(2.2))


# ---- whether treatments began alike --------------------------------------------------------------


def heavier(by):
    """Return start weights with those of one treatment heavier by a factor."""
    return {tray: weight * (by if tray.startswith("B") else 1) for tray, weight in START.items()}


def same_start(of):
    return next(each for each in metrics.compute(of).fairness if each.check == "same_start")


def verdict(of, key="fresh_weight"):
    (found,) = [each for each in metrics.compute(of).conclusions if each.measure == key]
    return found.code, codes(found.reasons)


def test_a_difference_of_start_weights_is_tested_as_by_an_analysis_of_variance():
    # R 4.2: anova(lm(before ~ drug)) of the textbook's data above, p 0.20917518078
    design = CovarianceDesign(np.repeat(np.arange(3), 10), 3, np.array(BEFORE, dtype=float))
    assert p_of_difference(design) == pytest.approx(0.20917518078, rel=1e-9)


def test_start_weights_without_any_variation_within_treatments_differ_or_are_alike():
    apart = CovarianceDesign(np.array([0, 0, 1, 1]), 2, np.array([1.0, 1.0, 2.0, 2.0]))
    alike = replace(apart, covariate=np.ones(4))
    single = CovarianceDesign(np.array([0, 1]), 2, np.array([1.0, 2.0]))
    assert (p_of_difference(apart), p_of_difference(alike), p_of_difference(single)) == (
        0.0,
        1.0,
        None,
    )


@pytest.mark.parametrize(
    ("by", "word", "code"),
    [
        (1.7, "problem", "start_weights_apart"),
        (1.02, "caution", "start_weights_by_chance"),  # 6.9%, p value 0.4
        (1.0, "sound", "start_weights_alike"),  # 4.8%
    ],
)
def test_start_weights_count_for_a_same_start(by, word, code):
    found = same_start(started(heavier(by), sown_on=date(2026, 3, 20)))
    assert (found.verdict, codes(found.findings)[-1]) == (word, code)


def test_start_weights_that_differ_reach_the_verdict_and_the_answer():
    gave = {tray: weight * 1.5 if tray.startswith("B") else weight for tray, weight in GAVE.items()}
    of = started(heavier(1.7), gave)
    assert verdict(of) == ("confounded", ["start_weights_apart"])
    assert verdict(started(gave=gave)) == ("more", [])
    (said,) = answer.answer(of, metrics.compute(of))
    assert (
        "But plants began at different weights (2.1 g for Half strength and 3.74 g for Full"
        " strength)" in said
    )
    assert "Adjusted" not in said  # it would reach beyond what was seen


def test_start_weights_that_differ_explain_neither_losses_nor_a_lamp():
    of = started(heavier(1.7))
    reasons = {each.measure: codes(each.reasons) for each in metrics.compute(of).conclusions}
    assert "start_weights_apart" not in reasons.get("survival", [])


def test_the_answer_names_the_adjusted_figure_beside_the_unadjusted():
    of = started()
    said = answer.answer(of, metrics.compute(of))[0]
    assert said.startswith("We cannot say whether full strength gave more or less")
    assert said.replace("\N{NO-BREAK SPACE}", " ").endswith(
        "Adjusted for start weight: 22% more (95% interval 18% to 26% more)."
    )


# ---- the workbook --------------------------------------------------------------------------------


def written(path, light):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Trial"
    for row in (
        ("Title", "Bench heat"),
        ("Crop", "spinach"),
        ("Started on", date(2026, 3, 1)),
        ("Harvested on", date(2026, 4, 5)),
        ("Reference treatment", "plain"),
        ("What was varied", "temperature"),
    ):
        sheet.append(row)
    sheets = {
        "Treatments": [("Treatment", "Name"), ("plain", "Plain"), ("warm", "Warm")],
        "Trays": [("Tray", "Treatment", "Plants started"), ("P1", "plain", 3), ("W1", "warm", 1)],
        "Plants": [
            ("Tray", "Plant", "Start weight (mg)", "Fresh weight (g)", "Plants weighed"),
            ("P1", 1, 2000, 40, 1),
            ("P1", "2-3", 3000, 70, 2),
            ("W1", 1, 1800, 44, 1),
        ],
        "Light": [("Treatment", "Tray", "PPFD (µmol/m2/s)"), *light],
    }
    for name, rows in sheets.items():
        added = book.create_sheet(name)
        for row in rows:
            added.append(row)
    book.save(path)
    return path


def test_a_workbook_gives_start_weights_and_light_at_places(tmp_path):
    path = written(
        tmp_path / "heat.xlsx", [("plain", "P1", 200), ("warm", "W1", 210), ("warm", None, 190)]
    )
    of = workbook.check(workbook.read(path))
    assert [plant.start_weight for plant in of.plants] == [2.0, 1.5, 1.8]
    assert of.traits == ()
    assert [reading.tray for reading in of.light] == ["P1", "W1", ""]


def test_start_weights_are_no_harvest(tmp_path):
    path = written(tmp_path / "heat.xlsx", [("plain", "P1", 200), ("warm", "W1", 210)])
    book = openpyxl.load_workbook(path)
    book["Trial"]["B4"] = None
    for row in book["Plants"].iter_rows(min_row=2):
        row[3].value = None
    book.save(path)
    of = workbook.check(workbook.read(path))
    assert of.interim
    assert {plant.status for plant in of.plants} == {"growing"}
    assert of.plants[0].start_weight == 2.0


def test_a_reading_at_a_tray_of_another_treatment_is_an_error_with_its_cell(tmp_path):
    path = written(tmp_path / "heat.xlsx", [("plain", "W1", 200)])
    with pytest.raises(WorkbookError) as raised:
        workbook.check(workbook.read(path))
    (problem,) = [one for one in raised.value.problems if one.code == "tray_of_other_treatment"]
    assert (problem.sheet, problem.cell) == ("Light", "B2")
    assert "warm" in problem.found
