"""The headline and what stands with it, for each kind of trial and verdict."""

import re
from dataclasses import replace

import pytest

from reportgen import metrics, report
from reportgen.model.trial import ProducePrice, Treatment
from reportgen.report import answer_texts, bar_scale, findings, ratios, safety
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
from tests.scored import FIVE, scored_trial
from tests.test_referee import dearer, half_lost, heavier, noise, of_trays, with_units
from tests.trials import fair_trial, trial
from tests.workbooks import survival_alone, write
from tests.workbooks import trial as trial_of

LED = {"main_measure": "tip_burn"}


def composed(of):
    return report.compose(of, metrics.compute(of))


def plain(text):
    return text.replace("\u00a0", " ")


def headline(of):
    return plain(composed(of).headline)


def test_more_is_said_with_its_size_and_what_it_cost():
    assert headline(heavier()) == "B: 33% heavier coriander"
    assert headline(dearer()).startswith("Full: 39% heavier coriander")


def test_a_price_of_the_crop_says_whether_it_pays():
    assert headline(dearer(produce_price=ProducePrice(12.0, "kg"))).endswith(", and it pays")
    assert headline(dearer(produce_price=ProducePrice(0.5, "kg"))).endswith(", but it does not pay")
    assert "pay" not in headline(dearer(produce_price=ProducePrice(1.61, "kg")))


def test_what_explains_a_result_stands_before_it():
    said = headline(with_units(heavier(), A=4, B=1))
    assert (
        said
        == "One lamp, mat or tank for a whole treatment, so not a fair test: 33% heavier coriander"
        " with B"
    )
    box = composed(with_units(heavier(), A=4, B=1)).box
    assert [change.word for change in box.rows[0].changes] == ["not comparable"]


def test_unequal_losses_stand_before_the_finding():
    assert headline(half_lost()).startswith(
        "B: 17 of 32 plants lost (A: 0 of 32); 44% less coriander per plant planted"
    )


def test_noise_is_no_finding():
    import numpy as np

    said = headline(of_trays(noise(np.random.default_rng(45))))
    assert said == "All other treatments: no clear difference in coriander per plant from A"


def test_alike_is_said_where_a_margin_rules_a_difference_out():
    weights = {code: [[mean] * 6 for mean in (99.0, 101.0, 100.0, 100.5)] for code in ("A", "B")}
    weights["B"] = [[one * 1.003 for one in tray] for tray in weights["A"]]
    of = of_trays(weights, margin=0.1)
    assert headline(of) == "B and A: about the same coriander per plant"
    box = composed(of).box
    assert [change.word for change in box.rows[0].changes] == ["alike"]
    assert plain(box.note).endswith("lies within the 10% that the grower said matters.")


def test_of_several_the_known_ones_are_named():
    import numpy as np

    random = np.random.default_rng(15)
    weights = {
        code: random.normal(mean, 5, (4, 6)).tolist()
        for code, mean in (("A", 100), ("B", 134), ("C", 101))
    }
    assert headline(of_trays(weights)) == "B: 33% heavier coriander than with A; C: unclear"


def test_scores_are_higher_or_lower_and_never_a_size():
    assert headline(scored_trial(**LED)) == "Tip burn: lower with moving air than with still air"
    few = {code: trays[:3] for code, trays in FIVE.items()}
    assert (
        headline(scored_trial(few, **LED))
        == "Tip burn: too few trays to compare moving air with still air"
    )


@pytest.mark.parametrize(
    ("mean", "said"),
    [
        (lambda dose: 20 * 1.3**dose, "The more feed, the more coriander per plant, up to 4 g/L"),
        (lambda dose: 60 * 0.75**dose, "The more feed, the less coriander per plant, up to 4 g/L"),
        (peaking, "Most coriander per plant at about 2.2 g/L of feed"),
    ],
)
def test_doses_are_told_by_their_curve(mean, said, tmp_path):
    assert (
        headline(trial_of(write(factor_book(DOSES, FEED, mean), tmp_path / "trial.xlsx"))) == said
    )


def test_two_factors_are_told_apart_unless_one_depends_on_the_other(tmp_path):
    apart = trial_of(
        write(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, multiplying), tmp_path / "trial.xlsx")
    )
    assert headline(apart).startswith("Light high against low: 29% heavier coriander; ")
    depends = trial_of(
        write(factor_book(TWO_BY_TWO, LIGHT_AND_FEED, together), tmp_path / "trial.xlsx")
    )
    assert (
        headline(depends) == "What light does to coriander per plant depends on nutrient strength"
    )
    rows = composed(depends).box.rows
    assert [row.measure for row in rows] == ["light", "nutrient strength"]
    names = [change.name for change in rows[0].changes]
    assert re.fullmatch(r"high \(nutrient strength weak\): [\d.]+ g against [\d.]+ g", names[0])
    assert re.fullmatch(r"high \(nutrient strength strong\): [\d.]+ g against [\d.]+ g", names[1])


def test_survival_is_counted(tmp_path):
    of = trial_of(write(survival_alone(), tmp_path / "trial.xlsx"))
    assert headline(of).startswith("Full: 11 of 12 plants survived (half: 7 of 12); ")


def test_an_unfinished_trial_has_no_finding():
    document = composed(trial(interim=True))
    assert document.headline == "Not finished: no result yet"
    assert document.title == "Interim: Nutrient strength for coriander"
    assert document.box.rows == ()
    assert "Interim" in document.trust.marks


@pytest.mark.parametrize("unit", ["per kilo", "per pound"])
def test_costs_go_by_the_weight_that_readers_know(unit):
    from reportgen.model.settings import Settings

    settings = Settings(units="us" if unit == "per pound" else "metric")
    document = report.compose(fair_trial(), metrics.compute(fair_trial()), settings)
    assert unit in next(section.title for section in document.sections if section.key == "water")


def test_names_of_varieties_and_codes_keep_their_capital():
    named = tuple(replace(one, name=f"Rosso {one.name}") for one in fair_trial().treatments)
    assert (
        "than Rosso Half strength"
        in composed(fair_trial(treatments=named, varied="variety")).answer[0]
    )
    assert "than rosso Half strength" in composed(fair_trial(treatments=named)).answer[0]


def test_each_reason_that_may_explain_a_result_has_its_few_words():
    assert set(findings.REASONS) == set(answer_texts.REASONS)


@pytest.mark.parametrize(
    ("ratio", "said"),
    [
        (1.22, "+22%"),
        (0.962, "−4%"),
        (1.0024, "+0.2%"),
        (0.9996, "< 0.1%"),
        (1.0, "0%"),
        (4.2, "× 4.2"),
    ],
)
def test_a_change_has_its_sign_and_is_nothing_only_where_that_is_exact(ratio, said):
    assert plain(ratios.signed_change(ratio)) == said


# ---- the scale of bars ---------------------------------------------------------------------------


def test_a_doubling_and_a_halving_are_equally_far_from_no_change():
    scale = bar_scale.covering([2.0, 0.5])
    zero = scale.place(1.0)
    assert scale.place(2.0) - zero == pytest.approx(zero - scale.place(0.5), abs=0.02)


@pytest.mark.parametrize("low", [0.3, 0.5, 0.72, 0.9, 0.99])
@pytest.mark.parametrize("high", [1.01, 1.1, 1.18, 1.5, 2.2, 3.9])
def test_there_is_a_tick_on_each_side_of_no_change_that_a_bar_reaches(low, high):
    scale = bar_scale.covering([low, high])
    places = [place for place, _ in scale.ticks()]
    assert places[0] < scale.place(1.0) < places[-1]
    assert 0 < scale.place(low) < scale.place(high) < 100


def test_limits_off_the_scale_are_none_and_a_change_stays_on_it():
    scale = bar_scale.covering([0.001, 50.0])
    bar = scale.bar(50.0, 1.2, 900.0)
    assert (bar.value, bar.high) == (100.0, None)
    assert bar.low is not None


def test_a_change_without_limits_has_a_bar_of_no_length():
    bar = bar_scale.covering([1.3]).bar(1.3, None, None)
    assert bar.low == bar.value == bar.high


# ---- safety --------------------------------------------------------------------------------------


def with_equipment(*equipment, **about):
    made = fair_trial()
    treatments = tuple(
        replace(one, equipment=text) for one, text in zip(made.treatments, equipment, strict=True)
    )
    return replace(made, treatments=treatments, about=replace(made.about, **about))


@pytest.mark.parametrize(
    ("words", "caution"),
    [
        ("heat mat of 20 W", "Heat mats and heaters"),
        ("2 heat mats of 20 W", "Heat mats and heaters"),
        ("manta calefactora", "Heat mats and heaters"),
        ("manta térmica de 20 W", "Heat mats and heaters"),
        ("UV-B tube, 2 h a day", "Ultraviolet light harms"),
        ("CO2 from a cylinder", "Carbon dioxide suffocates"),
        ("nitric acid to pH 5.5", "Acids, bases"),
        ("air pumps of 4 W", "Mains power near water"),
        ("LED bars", "Mains power near water"),
        ("LED bars", "Very bright light"),
    ],
)
def test_a_caution_stands_beside_the_treatment_that_needs_it(words, caution):
    plain_one, treated = safety.beside_treatments(with_equipment("", words)).values()
    assert plain_one is None
    assert any(text.startswith(caution) for text in treated.items)


def test_a_fleece_without_power_needs_no_caution():
    of = with_equipment("", "manta térmica de 17 g/m2 sobre el cultivo")
    assert set(safety.beside_treatments(of).values()) == {None}


def test_a_box_of_cautions_says_what_they_are_about_and_nothing_of_what_was_not_used():
    plain_of = with_equipment("", "", growing_system="pots", nutrient_recipe="tap water")
    assert safety.for_all(plain_of).title == "Safety: hygiene"
    heated = with_equipment("", "a heat mat", growing_system="pots", nutrient_recipe="weak feed")
    _, treated = safety.beside_treatments(heated).values()
    assert treated.title == "Safety: heat mats and mains power"
    assert safety.for_all(heated).title == "Safety: acids and hygiene"


def test_a_caution_for_all_treatments_is_said_once():
    of = with_equipment("LED bars and a heat mat", "LED bars and a heat mat")
    assert set(safety.beside_treatments(of).values()) == {None}
    said = safety.for_all(of).items
    assert len(said) == len(set(said))
    for start in ("Heat mats", "Mains power", "Very bright", "Hygiene"):
        assert sum(text.startswith(start) for text in said) == 1
    assert len(safety.for_all(of).brief) == len(said)


def test_words_that_only_contain_a_hazard_bring_no_caution():
    of = with_equipment("", "a misled uvula, placid and rapidly sieved")
    assert set(safety.beside_treatments(of).values()) == {None}


def test_a_treatment_is_shown_with_what_it_was_and_how_much_of_it_there_was():
    made = fair_trial(
        treatments=(
            Treatment("half", "Half", "weak feed"),
            Treatment("full", "Full", photoperiod=16.0),
        )
    )
    cards = composed(made).sections[0].blocks[0].cards
    assert [card.is_reference for card in cards] == [True, False]
    assert cards[0].description == "weak feed"
    assert ("Light", "16 h a day") in cards[1].facts
