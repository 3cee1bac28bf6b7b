"""What the list of trials says of those that compare the same two treatments."""

import json
from dataclasses import replace
from datetime import date

import pytest

from reportgen import metrics
from reportgen.metrics.pooled import pooled_comparisons
from reportgen.metrics.to_pool import to_pool
from reportgen.model.document import Bullets, Figure, Links, Notice, Paragraph, Subheading, Table
from reportgen.model.results import Measure
from reportgen.report import collect, compose, pooled_sentences
from reportgen.stats.pooling import BEYOND_NUMBERS, PooledRatio
from tests.test_metrics_pooled import named, of_row, of_scores
from tests.test_report import plain


def site(*trials):
    computed = [(one, metrics.compute(one)) for one in trials]
    reports = tuple(compose(one, results) for one, results in computed)
    return collect("Trials", reports, pooled_comparisons(to_pool(*one) for one in computed))


def blocks(*trials, kind):
    return [
        block
        for section in site(*trials).sections
        for block in section.blocks
        if isinstance(block, kind)
    ]


def said(*trials) -> str:
    return plain(" ".join(paragraph.text for paragraph in blocks(*trials, kind=Paragraph)))


def four():
    return tuple(map(of_row, (1, 2, 3, 4)))


def sentences(**changes) -> str:
    """Return the sentences of the first comparison, its pooled ratio altered as asked for."""
    (comparison,) = pooled_comparisons(to_pool(one, metrics.compute(one)) for one in four())
    (measure,) = comparison.measures
    altered = replace(measure, pooled=replace(measure.pooled, **changes))
    return plain(" ".join(pooled_sentences.sentences(comparison, altered)))


def test_where_nothing_is_in_common_nothing_is_said():
    alone = site(of_row(1))
    assert (alone.sections, alone.results) == ((), "")


def test_the_sentence_says_that_the_trials_do_not_tell_where_the_interval_holds_no_difference():
    # exp(0.36839) = 1.445, exp(-0.12062) = 0.886, exp(0.85740) = 2.357, exp(-0.61229) = 0.542,
    #   exp(1.34907) = 3.854,
    # I2 = 0.787: the figures of metafor that stand in test_metrics_pooled.
    assert said(*four()).startswith(
        "Together, 4 trials do not tell whether Full strength gave more or less fresh weight per"
        " plant than Half strength: pooled, they measured 45% more, and the 95% interval reaches"
        " from 11% less to 136% more. In a further trial like these the true change may lie"
        " anywhere from 46% less to 3.9 times as much (95% prediction interval). The trials"
        " disagree more than chance explains: about 79% of the variation between them"
    )


def test_the_sentence_says_the_change_where_the_interval_leaves_no_difference_out():
    assert sentences(ratio=1.25, low=1.03, high=1.41).startswith(
        "Over 4 trials, Full strength gave 25% more fresh weight per plant than Half strength "
        "(95% interval 3% to 41% more)."
    )


@pytest.mark.parametrize(
    ("changes", "part"),
    [
        (
            {"low": 1e-6, "high": 3e4},
            "reaches from more than 99% less to more than 100 times as much",
        ),
        (
            {"tau_squared": 0.0, "i_squared": 0.0},
            "The trials disagree no more than chance explains",
        ),
        (
            {"low": None, "high": None, "notes": (BEYOND_NUMBERS,)},
            "is not known: the interval is too wide to compute.",
        ),
        ({"trials": 2}, "Two trials hardly tell what to expect of a further one."),
    ],
)
def test_what_cannot_be_said_in_figures_is_said_in_words(changes, part):
    assert part in sentences(**changes)


def records_of(spec, name):
    """Return the rows of the data called `name` of a figure."""
    layers = json.loads(spec)["layer"]
    return next(layer["data"]["values"] for layer in layers if layer["data"]["name"] == name)


def test_a_bound_of_hundreds_of_digits_is_said_to_be_far_in_table_figure_and_text():
    far = [
        of_scores(place, {"half": [10.0, 10.1], "full": full}, confidence_level=0.999)
        for place, full in ((1, [10.0, 10.2]), (2, [60.0, 61.0]))
    ]
    (table,), (figure,) = blocks(*far, kind=Table), blocks(*far, kind=Figure)
    assert [plain(row[1]) for row in table.rows][-1] == "246% (< 1% to > 10\u202f000%)"
    assert plain(figure.alternative).endswith("All trials together: 246% (< 1% to > 10\u202f000%).")
    drawn = plain(" ".join(row["text"] for row in records_of(figure.spec, "figures right")))
    assert "< 1% to > 10\u202f000%" in drawn
    assert "more than 100 times as much" in said(*far)


def test_a_share_that_is_not_all_never_shows_as_all():
    assert "100%" not in sentences(i_squared=0.9999)


def test_water_is_used_and_not_given():
    (comparison,) = pooled_comparisons(to_pool(one, metrics.compute(one)) for one in four())
    water = replace(
        comparison.measures[0], measure=Measure("water_per_gram", "Water per gram", "mL/g", "lower")
    )
    assert (
        "Full strength used more or less water per gram"
        in pooled_sentences.sentences(comparison, water)[0]
    )


def test_two_trials_get_a_caution():
    (notice,) = blocks(of_row(1), of_row(2), kind=Notice)
    assert notice.title == "Caution"
    assert any("two trials only" in item for item in notice.items)
    assert all(
        "two trials" not in item for notice in blocks(*four(), kind=Notice) for item in notice.items
    )


def test_trials_that_do_not_pool_say_why():
    single = of_scores(5, {"half": [20.0], "full": [25.0]})
    assert "only one of them has a spread between trays" in said(of_row(1), single)
    other = replace(single, slug="round-6", source_sha256="6" * 64)
    assert "none of them has a spread between trays" in said(single, other)


def test_the_table_gives_each_trials_ratio_interval_and_weight():
    (table,) = blocks(*four(), kind=Table)
    rows = [[plain(cell) for cell in row] for row in table.rows]
    # R: exp(log(21.33 / 18.6) + c(-1, 1) * qt(.975, df) * se), t.test(log(a), log(b)) of the first
    # row: df, se
    assert rows[0][1:] == ["115% (92% to 143%)", "29.7%"]
    assert rows[-2] == ["All trials together", "145% (89% to 236%)", "100%"]
    assert rows[-1] == ["Range for another trial like these", "54% to 385%", ""]
    assert "95%" in plain(table.note)


def test_trials_of_one_title_are_told_apart_by_their_harvest():
    (table,) = blocks(*four(), kind=Table)
    assert [row[0] for row in table.rows[:2]] == [
        "Nutrient strength for coriander, 1 May 2026",
        "Nutrient strength for coriander, 2 May 2026",
    ]


def test_the_figure_says_in_text_what_it_shows():
    (figure,) = blocks(*four(), kind=Figure)
    assert figure.key == "comparison-1-fresh_weight"
    text = plain(figure.alternative)
    assert text.startswith("Nutrient strength for coriander, 1 May 2026: 115% (92% to 143%).")
    assert text.endswith(
        "All trials together: 145% (89% to 236%). Range for another trial like these: 54% to 385%."
    )
    assert "its 95% interval" in plain(figure.caption)


def test_each_report_is_linked_with_its_crop_harvest_and_direction():
    links = blocks(of_row(1), of_row(2, swapped=True), kind=Links)[0]
    assert [address for _, address, _ in links.items] == [
        "round-1/index.html",
        "round-2/index.html",
    ]
    assert links.items[0][2] == "coriander, harvested 1 May 2026"
    assert links.items[1][2].endswith(
        "inverted, since its own report has Full strength as reference"
    )


def test_treatments_that_are_called_otherwise_are_named_beside_the_link():
    links = blocks(
        of_row(1), named(of_row(2), "strength", "half-strength", "FULL STRENGTH"), kind=Links
    )[0]
    assert links.items[1][2].endswith("; FULL STRENGTH against half-strength")


def test_what_is_left_out_is_named_with_the_reason():
    pot = of_scores(
        5,
        {"half": [20.0], "full": [25.0]},
        experimental_unit="plant",
        harvested_on=date(2026, 6, 5),
    )
    basil = replace(of_row(3), slug="round-9", about=replace(of_row(3).about, crop="basil"))
    left_out = blocks(of_row(1), of_row(2), pot, basil, kind=Bullets)[0]
    assert left_out.lead == "Not in the pooled figures:"
    assert left_out.items[0].startswith(
        "Nutrient strength for coriander, 5 June 2026: each of the two treatments has one pot only"
    )
    assert left_out.items[1].startswith(
        "Nutrient strength for coriander (round-9): its crop differs from that of the others."
    )


def test_the_methods_are_named_with_their_references():
    text = said(*four()) + " ".join(
        item for one in blocks(*four(), kind=Bullets) for item in one.items
    )
    for name in (
        "REML",
        "Hartung",
        "Hedges",
        "Viechtbauer",
        "prediction interval",
        "log response ratio",
    ):
        assert name in text


def test_each_comparison_has_a_heading():
    other = named(of_row(3), "small basins"), named(of_row(4), "small basins")
    headings = [one.text for one in blocks(of_row(1), of_row(2), *other, kind=Subheading)]
    assert headings == ["strength", "small basins", "How trials are pooled"]


def test_comparisons_of_one_name_are_told_apart_by_crop_and_treatments():
    basil = [
        replace(of_row(place), about=replace(of_row(place).about, crop="basil")) for place in (3, 4)
    ]
    headings = [one.text for one in blocks(of_row(1), of_row(2), *basil, kind=Subheading)]
    assert headings[:2] == [
        "strength, coriander: Full strength against Half strength",
        "strength, basil: Full strength against Half strength",
    ]


def test_the_file_holds_every_number_unrounded():
    trials = (*four(), of_scores(5, {"half": [20.0], "full": [25.0]}))
    (entry,) = json.loads(site(*trials).results)["comparisons"]
    (measure,) = entry["measures"]
    assert (entry["confidence_level"], measure["metric"]) == (0.95, "fresh_weight")
    assert set(measure["pooled"]) == set(PooledRatio.__dataclass_fields__) - {"weights"} | {
        "method",
        "note",
    }
    assert measure["pooled"]["log_ratio"] == pytest.approx(0.36839037126644758, rel=1e-9)
    assert sum(one["weight"] or 0 for one in measure["trials"]) == pytest.approx(1)
    assert measure["trials"][4]["variance"] is None
