"""Reports of factors and doses: what the answer, the section and the annex say."""

import json
import re
from dataclasses import replace

import pytest

from reportgen import metrics, report
from reportgen.model.document import Figure, Paragraph, Table
from reportgen.render.answer_board import answer_lines
from tests.factor_books import (
    DOSES,
    FEED,
    LIGHT_AND_FEED,
    TWO_BY_TWO,
    factor_book,
    multiplying,
    peaking,
    together,
)
from tests.test_schemas import validated
from tests.workbooks import put, trial, write


@pytest.fixture
def reported(tmp_path):
    def of(sheets, **changes):
        grown = replace(trial(write(sheets, tmp_path / "trial.xlsx")), **changes)
        return report.compose(grown, metrics.compute(grown))

    return of


def section(of, key):
    return next((one for one in of.all_sections if one.key == key), None)


def tables(of, key):
    return [block for block in section(of, key).blocks if isinstance(block, Table)]


def test_effects_that_do_not_depend_on_each_other_lead_the_answer(reported):
    of = reported(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying))
    first, *others = of.answer
    assert first.startswith("With light high instead of low, fresh weight per plant was ")
    assert first.endswith(", averaged over nutrient strength.")
    assert any(
        text.startswith("The trial does not show that the effect of light depends on")
        for text in others
    )
    assert of.description.endswith(first)
    lines = [(line.label, line.figures) for line in answer_lines(of.box)]
    assert [label for label, _ in lines] == ["light", "nutrient strength"]
    assert re.fullmatch(r"low: \d\d\.\d g → high: \d\d\.\d g", lines[0][1])
    assert re.fullmatch(r"weak: \d\d\.\d g → strong: \d\d\.\d g", lines[1][1])


def test_an_interaction_leads_the_answer_and_no_average_is_shown(reported):
    of = reported(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, together))
    assert of.answer[0].startswith(
        "The effect of light on fresh weight per plant depended on nutrient strength: high"
        " instead of"
    )
    assert "with nutrient strength weak and" in of.answer[0]
    effects = next(table for table in tables(of, "effects") if table.key == "effects")
    levels = ["nutrient strength weak", "nutrient strength strong", "light low", "light high"]
    assert [row[2] for row in effects.rows] == levels
    assert (
        of.answer[1]
        == "The table of effects has the effect of nutrient strength at each level of light too."
    )
    said = " ".join(
        block.text for block in section(of, "effects").blocks if isinstance(block, Paragraph)
    )
    assert "Averages over one factor would hide this" in said


def test_growth_shows_every_combination_under_the_finding_and_the_annex_the_test(reported):
    of = reported(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying))
    assert [block.key for block in section(of, "growth").blocks if isinstance(block, Figure)] == [
        "interaction"
    ]
    assert section(of, "growth").title == f"Growth. {of.headline}"
    assert [row.measure for row in of.box.rows] == ["light", "nutrient strength"]
    said = " ".join(
        block.text for block in section(of, "effects").blocks if isinstance(block, Paragraph)
    )
    assert "Effect with nutrient strength strong divided by that with weak: " in said
    assert ("Factors", "light: low, high; nutrient strength: weak, strong") in of.facts.items


def test_what_the_fair_test_found_stands_in_the_answer(reported):
    sheets = factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying)
    put(
        sheets,
        Treatments_E1="Independent units",
        Treatments_E2=1,
        Treatments_E3=1,
        Treatments_E4=1,
        Treatments_E5=1,
    )
    of = reported(sheets)
    assert (
        "This cannot be attributed to light: all trays of a treatment shared one lamp"
        in of.answer[0]
    )


def test_main_plots_are_explained(reported):
    def tent(block, treatment):
        return f"tent {treatment[2]} {block}"

    of = reported(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying, main_plot=tent))
    said = [block.text for block in section(of, "effects").blocks if isinstance(block, Paragraph)]
    assert any(
        text.startswith("light was given to whole main plots and nutrient strength within")
        for text in said
    )


def test_one_main_plot_a_level_says_which_factor_cannot_be_told(reported):
    sheets = factor_book(
        TWO_BY_TWO, LIGHT_AND_FEED, multiplying, main_plot=lambda block, one: f"tent {one[2]}"
    )
    for row in sheets["Trays"][1:]:
        row[2] = None
    of = reported(sheets)
    assert "light" not in of.answer[0].removesuffix("averaged over light.")
    assert of.answer[-1].startswith(
        "Each level of light had one main plot alone, so the trial cannot tell what light"
    )
    effects = next(table for table in tables(of, "effects") if table.key == "effects")
    assert {row[0] for row in effects.rows} == {"nutrient strength"}


def test_an_interaction_that_no_test_shows_hides_no_average(reported):
    of = reported(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying), margin=0.0001)
    assert of.answer[0].startswith("With light high instead of low, fresh weight per plant was ")
    assert any(
        "may depend on nutrient strength by as much as matters" in text for text in of.answer
    )
    effects = next(table for table in tables(of, "effects") if table.key == "effects")
    assert [row[0] for row in effects.rows] == ["light", "nutrient strength"]


def test_a_dose_trial_reads_as_a_curve(reported):
    of = reported(factor_book(DOSES, FEED, peaking))
    (answer,) = of.answer
    assert answer.startswith("Fresh weight per plant was highest at 2.")
    assert "g/L of feed (95" in answer
    assert of.headline.startswith("Most coriander per plant at about 2.")
    assert section(of, "effects").title == "Dose"
    assert [block.key for block in section(of, "growth").blocks if isinstance(block, Figure)] == [
        "response-1"
    ]
    terms = [row[0] for row in tables(of, "effects")[0].rows]
    assert terms == ["straight line", "what a parabola adds", "what is left (lack of fit)"]


def test_doses_have_no_letters_and_their_pairs_stand_in_the_annex(reported):
    of = reported(factor_book(DOSES, FEED, peaking))
    everything = [table for one in of.all_sections for table in tables(of, one.key)]
    assert not any("share a letter" in table.note for table in everything)
    whole, pairs, *_ = tables(of, "comparisons")
    assert len(whole.head) == 3  # no column compares doses one by one
    assert pairs.key == "pairs-of-doses"


def levelling_off(dose):
    """Return a weight that doubles from 0 to 1 g/L and stays there."""
    return 40 if dose else 20


def test_doses_that_no_curve_fits_are_compared_with_each_other(reported):
    of = reported(factor_book(DOSES, FEED, levelling_off))
    (answer,) = of.answer
    assert answer.startswith(
        "Neither a straight line nor a curve describes fresh weight per plant along feed"
    )
    assert [f" at {dose} g/L" in answer for dose in range(1, 5)] == [True] * 4
    assert answer.endswith("The trial does not show that it rises further above 1 g/L.")
    pairs = next(table for table in tables(of, "effects") if table.key == "all-doses-1")
    assert len(pairs.rows) == 10
    (drawn,) = (block for block in section(of, "growth").blocks if isinstance(block, Figure))
    assert drawn.caption.endswith("No curve is drawn, as none fits.")


def test_nothing_more_is_gained_only_where_the_margin_says_so(reported):
    sheets = factor_book(
        DOSES, FEED, levelling_off, spread=0.01, fields=[("Difference that matters (%)", 40)]
    )
    (answer,) = reported(sheets).answer
    assert answer.endswith("Above 1 g/L it rose no further by as much as matters.")


def test_a_design_that_cannot_be_analysed_says_what_is_missing_and_what_still_holds(reported):
    of = reported(factor_book(TWO_BY_TWO[:3], LIGHT_AND_FEED, multiplying))
    (said,) = (block.text for block in section(of, "effects").blocks)
    assert "What is missing: light high with nutrient strength strong." in said
    assert said.endswith("each treatment is compared with the reference as it is.")
    assert of.answer[0].startswith("“High, weak” gave ")


def test_a_main_measure_without_effects_leaves_the_others_theirs(reported):
    of = reported(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying), main_measure="survival")
    said, table = section(of, "effects").blocks
    assert said.text.startswith(
        "Effects of factors are ratios that rest on the variation between trays. For survival"
    )
    assert table.rows[0][0] == "Fresh weight (g/plant)"


def test_one_tray_of_each_combination_says_what_is_missing(reported):
    of = reported(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying, blocks=1))
    (said,) = section(of, "effects").blocks
    assert said.text.endswith("leave a combination of levels empty, or no variation to test by.")


def test_of_several_treatments_the_largest_differences_lead(reported):
    sheets = factor_book(DOSES, FEED, lambda dose: 20 * 1.3**dose)
    of = reported(put(sheets, Treatments_C1="Remarks"))
    assert [text.split(" gave ")[0] for text in of.answer] == [
        "“4\u00a0g/L”",
        "“3\u00a0g/L”",
        of.answer[2],
    ]


def test_the_largest_effect_leads_whichever_factor_has_it(reported):
    of = reported(
        factor_book(
            TWO_BY_TWO, LIGHT_AND_FEED, lambda light, feed: 20 * (1.5 if feed == "strong" else 1)
        )
    )
    assert of.answer[0].startswith("With nutrient strength strong instead of weak")


def test_single_treatments_do_not_stand_for_what_rests_on_one_tray_of_a_factor_trial(reported):
    of = reported(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying))
    said = [block.text for block in section(of, "checks").blocks if isinstance(block, Paragraph)]
    assert any(
        text.startswith("How much the result rests on any single tray was not computed")
        for text in said
    )
    assert not any(isinstance(block, Paragraph) for block in section(of, "fair").blocks)
    assert json.loads(of.results)["fragility"] == []


def test_a_trial_without_factors_has_no_such_section(reported):
    sheets = factor_book(DOSES[:2], FEED, peaking)
    of = reported(put(sheets, Treatments_C1="Remarks"))
    assert section(of, "effects") is None


def test_results_of_factors_keep_to_the_schema_and_hold_what_the_page_says(reported, tmp_path):
    of = reported(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying))
    checked = validated(tmp_path, "results", of.results)
    assert checked.returncode == 0, checked.stdout
    held = json.loads(of.results)
    assert held["trial"]["factors"][0] == {"name": "light", "unit": "", "levels": ["low", "high"]}
    effects = [one for one in held["effects"]["levels"] if one["metric"] == "fresh_weight"]
    light = next(one for one in effects if one["factor"] == "light" and one["within"] is None)
    assert f"{100 * (light['ratio'] - 1):.0f}% higher" in of.answer[0]
    (interaction,) = (
        one for one in held["effects"]["interactions"] if one["metric"] == "fresh_weight"
    )
    assert interaction["code"] == "not_shown"


def test_it_reads_in_spanish_too(reported):
    of = reported(factor_book(DOSES, ["Factor: abono (g/L)"], peaking, fields=[("Language", "es")]))
    assert of.answer[0].startswith("Peso fresco por planta: el máximo se alcanzó con 2,")
    assert section(of, "effects").title == "Dosis"
