"""Scores in the report: the answer, the section, the figure, the results file, the post and the
card.
"""

import json
from dataclasses import replace

import pytest

from reportgen import language, metrics
from reportgen.charts import scores as score_charts
from reportgen.charts import theme
from reportgen.charts.scores import shade, shares_by_class
from reportgen.model.document import Figure, Paragraph, Table
from reportgen.model.trial import Trait
from reportgen.render import post
from reportgen.render.answer_board import answer_lines
from reportgen.report import compose
from reportgen.report.results_file import results_json
from reportgen.report.score_section import section
from tests.scored import BURN, FIVE, scored_trial
from tests.test_charts_light import _fonts, assert_readable, records
from tests.test_metrics_scores import SIX, first
from tests.test_schemas import validated
from tests.trials import growth

assert _fonts  # the figures of this file are measured in the font too

COLOUR = Trait("colour", "Colour", "", ("pale", "green", "dark"))
LED = {"main_measure": "tip_burn"}


def report(trial):
    return compose(trial, metrics.compute(trial))


def plain(text):
    return text.replace("\u00a0", " ")


def answer(trial):
    return [plain(one) for one in report(trial).answer]


def blocks(trial, kind):
    found = section(trial, metrics.compute(trial))
    return [one for one in found.blocks if isinstance(one, kind)]


def test_the_answer_leads_with_shares_medians_and_the_chance_of_the_higher_score():
    assert (
        answer(scored_trial(**LED))[0]
        == "Moving air scored lower in tip burn than still air: 3 or higher on 5% of plants, with"
        " still air on 85%; median of the trays 1, with still air 3. In 0% of all pairs of"
        " trays, one of each, moving air scored higher (95% interval 0% to 36%)."
    )


def test_a_higher_score_is_said_so_and_words_are_used_as_they_are():
    few = {
        code: [tuple(min(one, 2) for one in found) for found in trays]
        for code, trays in FIVE.items()
    }
    said = answer(
        scored_trial(
            {"still": few["moving"], "moving": few["still"]}, trait=COLOUR, main_measure="colour"
        )
    )
    assert said[0].startswith(
        "Moving air scored higher in colour than still air: dark on 95% of plants, with still air"
        " on 30%; median of the trays dark, with still air green."
    )


def test_few_trays_are_told_that_they_cannot_tell_and_how_many_could():
    said = answer(scored_trial(first(FIVE, 3), **LED))[0]
    assert said.endswith(
        "We cannot say how much of that is chance: even if every tray of one scored above every"
        " tray of the other, the chance of that without a difference would be 0.1, not 0.05 or"
        " less; it takes 4 trays a treatment."
    )
    assert "interval" not in said


def test_pairs_of_blocked_trays_are_those_of_one_block():
    assert (
        "of all pairs of trays in one block, one of each,"
        in answer(scored_trial(SIX, blocks=True, **LED))[0]
    )


def test_an_unclear_score_is_said_to_be():
    near = {"still": FIVE["still"], "moving": [*FIVE["still"][1:], (0, 1, 1, 2)]}
    said = answer(scored_trial(near, **LED))[0]
    assert said.startswith(
        "We cannot say whether moving air scored higher or lower in tip burn than still"
    )


def test_a_confounded_score_names_what_may_explain_it():
    made = scored_trial(**LED)
    one_fan = tuple(replace(one, independent_units=1) for one in made.treatments)
    said = answer(replace(made, treatments=one_fan))[0]
    assert "shared one lamp, mat, tank or tent" in said
    assert "so this cannot be attributed to moving air" in said


def test_of_several_treatments_what_is_known_comes_first_and_the_rest_together():
    three = {**FIVE, "strong": [(0, 0, 0, 1)] * 2 + [(4, 4, 5, 5)] * 3}
    said = answer(scored_trial(three, **LED))
    assert said[0].startswith("Moving air scored lower")
    assert said[1].startswith("We cannot say whether strong wind scored higher or lower")


def test_few_trays_on_one_side_have_a_p_value_and_say_why_no_interval():
    uneven = {"still": FIVE["still"], "moving": FIVE["moving"][:3]}
    assert (
        "(no interval: an interval takes 4 trays a treatment)"
        in answer(scored_trial(uneven, **LED))[0]
    )


def test_the_section_has_a_figure_and_tables_and_no_mean():
    shares, comparisons = blocks(scored_trial(), Table)
    assert shares.rows[0] == ("0", "0 (0%)", "5 (25%)")
    assert shares.rows[-2] == (
        "Median of each tray",
        "3 (3 trays); 4 (2 trays)",
        "between 0 and 1 (2 trays); 1 (2 trays); 2",
    )
    assert shares.rows[-1] == ("Median of these medians", "3", "1")
    assert [plain(cell) for cell in comparisons.rows[0]] == [
        "Moving air",
        "0% (0% to 36%)",
        "0.008",
    ]
    words = " ".join(plain(one.text) for one in blocks(scored_trial(), Paragraph))
    assert "it has no mean here" in words
    assert "Moving air scored lower in tip burn" in words


def test_a_main_score_leads_box_and_growth_and_any_other_stands_in_the_annex():
    led = report(scored_trial(**LED))
    assert led.headline == "Tip burn: lower with moving air than with still air"
    (row,) = led.box.rows
    (change,) = row.changes
    assert [
        plain(text) for text in (row.measure, row.unit, row.reference, change.figure, change.word)
    ] == ["Tip burn", "% of plants: 3 or higher", "85%", "5%", "less"]
    assert change.bar is None  # a score has an order and no distances
    growth = next(one for one in led.sections if one.key == "growth")
    assert [getattr(block, "key", "") for block in growth.blocks[:1]] == ["score-tip-burn"]
    assert "scores" in [one.key for one in report(scored_trial()).annex]
    methods = next(one for one in led.annex if one.key == "methods")
    said = " ".join(plain(one.text) for one in methods.blocks if isinstance(one, Paragraph))
    assert "The main measure, named in the workbook, is tip burn." in said


def test_a_trial_without_scores_has_no_such_section():
    made = scored_trial()
    without = replace(
        made, traits=(), plants=tuple(replace(plant, traits=()) for plant in made.plants)
    )
    assert section(without, metrics.compute(without)) is None


def test_scores_of_growing_plants_are_counted_by_day_and_neither_averaged_nor_compared():
    grown = (
        *growth("sti1", "1", (7, 1.0), (14, 3.0)),
        *growth("sti2", "1", (7, 2.0)),
        *growth("mov1", "", (7, 0.0)),
    )
    made = scored_trial(growth_traits=(BURN,), growth=grown)
    table = blocks(made, Table)[-1]
    assert table.head == ("Day", "Treatment", *BURN.scale)
    assert [[plain(cell) for cell in row[:5]] for row in table.rows] == [
        ["8 April 2026", "Still air", "0 (0%)", "1 (50%)", "1 (50%)"],
        ["8 April 2026", "Moving air", "1 (100%)", "0 (0%)", "0 (0%)"],
        ["15 April 2026", "Still air", "0 (0%)", "0 (0%)", "0 (0%)"],
    ]
    assert "not averaged and not compared" in table.note
    keys = {
        one.key
        for found in report(made).all_sections
        for one in found.blocks
        if isinstance(one, Figure)
    }
    assert "growth-tip-burn" not in keys


def parts_of(made, width=theme.WIDTH):
    """Return the parts of each treatment's bar, without the squares of a key."""
    rows = records(shares_by_class(made, metrics.compute(made).scores[0], width), "parts")
    return [row for row in rows if "treatment" in row]


@pytest.mark.parametrize("width", [theme.WIDTH, theme.NARROW])
def test_the_figure_parts_each_treatment_by_class_and_reads_without_colour(width):
    made = scored_trial()
    still = [one for one in parts_of(made, width) if one["treatment"] == "Still air"]
    assert [one["class"] for one in still] == ["1", "2", "3", "4", "5"]
    assert (still[0]["x"], still[-1]["to"]) == (1, pytest.approx(width - 9))
    assert still[2]["to"] - still[2]["x"] == pytest.approx(0.35 * (width - 10))
    assert still[2]["name"] == "3"
    assert_readable(
        shares_by_class(made, metrics.compute(made).scores[0], width), ["Still air"], width
    )


def test_classes_that_look_alike_in_print_stay_apart():
    made = scored_trial(trait=replace(BURN, scale=("brown", "brown", "2", "3", "4", "5")))
    chart = shares_by_class(made, metrics.compute(made).scores[0])
    assert {one["class"] for one in parts_of(made)} <= {
        "brown (1)",
        "brown (2)",
        "2",
        "3",
        "4",
        "5",
    }
    assert_readable(chart)


def luminance(colour):
    """Return the relative luminance of WCAG 2.2
    (https://www.w3.org/TR/WCAG22/#dfn-relative-luminance).
    """
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def over(colour, opacity, ground):
    """Return the colour that is seen where one lies half clear on a ground."""
    pairs = [
        (int(colour[place : place + 2], 16), int(ground[place : place + 2], 16))
        for place in (1, 3, 5)
    ]
    return "#" + "".join(f"{round(opacity * a + (1 - opacity) * b):02x}" for a, b in pairs)


@pytest.mark.parametrize("number", [2, 3, 6, 20])
@pytest.mark.parametrize(
    ("ink", "ground"),
    [(theme.INK_ON_LIGHT, theme.LIGHT_GROUND), (theme.INK_ON_DARK, theme.DARK_GROUND)],
)
def test_names_on_bars_have_the_contrast_of_text_and_classes_go_from_pale_to_strong(
    number, ink, ground
):
    opacities = [shade(place, number) for place in range(number)]
    assert opacities == sorted(opacities)
    seen = [over(score_charts.COLOUR, opacity, ground) for opacity in opacities]
    assert min(contrast(ink, colour) for colour in seen) >= 4.5


def test_the_results_file_holds_counts_medians_and_ranks_and_keeps_to_the_schema(tmp_path):
    made = scored_trial(**LED)
    text = results_json(made, metrics.compute(made))
    assert validated(tmp_path, "results", text).returncode == 0
    (score,) = json.loads(text)["scores"]
    assert (score["classes"], score["cut"]) == (list(BURN.scale), "3")
    assert score["treatments"][0]["counts"] == [0, 1, 2, 7, 8, 2]
    assert score["trays"][0] == {"tray": "sti1", "median": 4.0}
    (ranks,) = score["comparisons"]
    assert ranks["p_value"] == pytest.approx(2 / 252)
    verdict = next(one for one in json.loads(text)["verdicts"] if one["metric"] == "tip_burn")
    assert verdict["code"] == "less"


@pytest.mark.parametrize(
    "trays", [first(FIVE, 1), first(FIVE, 3), {"still": FIVE["still"], "moving": [(None,)] * 5}]
)
def test_what_cannot_be_compared_keeps_to_the_schema_too(tmp_path, trays):
    made = scored_trial(trays)
    text = results_json(made, metrics.compute(made))
    assert validated(tmp_path, "results", text).returncode == 0
    assert answer(replace(made, main_measure="tip_burn"))


def test_the_card_shows_shares_of_plants():
    (line,) = answer_lines(report(scored_trial(**LED)).box)
    assert "Tip burn" in line.label
    assert "3 or higher" in line.label
    assert plain(line.figures) == "85% → 5%"
    assert line.change == ""


def test_a_post_keeps_the_scores():
    document = report(scored_trial(**LED))
    assert post.figures(document)[0].key == "score-tip-burn"
    html, _ = post.render(document).values()
    assert "85% &#8594; 5%" in html.decode().replace("&#160;", "")


def test_the_methods_name_the_test_and_its_sources():
    methods = next(one for one in report(scored_trial()).annex if one.key == "methods")
    words = " ".join(str(one) for one in methods.blocks)
    assert "Wilcoxon-Mann-Whitney test of the trays' medians" in words
    assert "Newcombe, R. G. (2006)" in words


def test_the_answer_in_spanish():
    made = scored_trial(**LED)
    spanish = replace(made, about=replace(made.about, language="es"))
    said = answer(spanish)[0]
    assert said.startswith(
        "Moving air tuvo una puntuación más baja que still air en tip burn: 3 o más en el 5 %"
    )
    with language.using(language.of("es")):
        assert section(spanish, metrics.compute(spanish)).title == "Puntuaciones"
