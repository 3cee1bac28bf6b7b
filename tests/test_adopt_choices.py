"""What is asked about a log in few words, in turn, and by what follows: factors, parts of a tray,
scores, the cup.
"""

from datetime import date

import pytest

from reportgen import pipeline
from reportgen.importing.model.questions import Slot
from reportgen.importing.session import understand
from reportgen.model.problem import Problem, Severity
from tests.adopting import adopt, answering, asked, book, means, measured, understood

HIGH = {"low": 0.0, "high": 12.0}
CULTIVAR = {"Astro": 40.0, "Major": 46.0}


def crossed(tmp_path):
    """Write a log of two factors, two trays of each combination."""
    rows, tray = [], 0
    for cultivar, base in CULTIVAR.items():
        for light, more in HIGH.items():
            for _ in "ab":
                tray += 1
                rows += [
                    (cultivar, light, tray, plant, base + more + plant * 1.5 + tray * 0.25)
                    for plant in (1, 2, 3)
                ]
    return book(tmp_path, Log=[("Cultivar", "Light", "Tray", "Plant", "Fresh weight (g)"), *rows])


def test_of_two_factors_the_treatment_is_asked_first_in_few_short_choices(tmp_path):
    (question,) = asked(crossed(tmp_path))
    answers = [choice.answer for choice in question.choices]
    assert {"Light", "Cultivar"} <= set(answers)
    assert len(answers) <= 6
    assert max(map(len, answers)) <= 60
    light = next(choice for choice in question.choices if choice.answer == "Light")
    assert light.gives is None
    assert len(light.leads_to) > 1


def test_what_the_other_factor_is_follows_the_treatment(tmp_path):
    log = crossed(tmp_path)
    (question,) = asked(log, treatment="Light")
    assert question.key != "Log.treatment"
    assert all(choice.gives for choice in question.choices[:-2])
    adopt(
        log,
        talk=answering(
            truth={"low": (4, pytest.approx(46.875)), "high": (4, pytest.approx(59.375))}
        ),
    )
    assert means(log) == {"low": (4, pytest.approx(46.875)), "high": (4, pytest.approx(59.375))}


@pytest.fixture
def sacks(tmp_path):
    rows = []
    for sack in range(1, 7):
        kind = ("straw", "bare")[sack % 2]
        rows += [(f"S{sack}", kind, 400.0 + 10 * sack + part) for part in (0, 35, 80)]
    return book(tmp_path, Log=[("Sack", "Treatment", "Fresh weight (g)"), *rows])


def test_several_weights_of_a_sack_are_plants_or_parts_of_it_by_its_owners_word(sacks):
    (question,) = asked(sacks)
    assert [choice.answer for choice in question.choices[:2]] == [
        "each value is of one plant",
        "each value is a part of a tray: they add up",
    ]
    adopt(sacks, talk=answering(covers="each value is a part"))
    assert means(sacks, "tray_yield")["straw"] == (3, pytest.approx(3 * 440 + 115))


def test_several_weights_of_a_sack_may_be_of_a_plant_each(sacks):
    adopt(sacks, talk=answering(covers="each value is of one plant"))
    assert means(sacks)["straw"] == (3, pytest.approx(440 + 115 / 3))


def test_words_of_an_ordered_scale_are_a_score(tmp_path):
    rows = []
    for at in range(24):
        look = ("poor", "fair", "good")[(at * 7 + at // 5) % 3]
        rows.append(("warm" if at < 12 else "cool", at // 4 + 1, at % 4 + 1, 30.5 + at % 7, look))
    log = book(tmp_path, Log=[("Treatment", "Tray", "Plant", "Fresh weight (g)", "Colour"), *rows])
    assert asked(log) == []
    adopt(log, talk=answering())
    (trait,) = pipeline.checked(log).traits
    assert (trait.label, trait.scale) == ("Colour", ("poor", "fair", "good"))


def test_words_of_a_scale_that_say_what_a_tray_was_given_are_no_score(tmp_path):
    rows = [
        (("poor", "good")[at // 4 % 2], at // 4 + 1, at % 4 + 1, 30.5 + at % 7 + at // 4)
        for at in range(24)
    ]
    log = book(tmp_path, Log=[("Soil", "Tray", "Plant", "Fresh weight (g)"), *rows])
    adopt(log, talk=answering())
    assert set(means(log)) == {"poor", "good"}


def test_where_each_dry_plant_is_heavier_than_its_fresh_one_the_cup_can_be_named(tmp_path):
    rows = []
    for at in range(12):
        fresh = 2.5 + at % 5 * 0.25
        rows.append(
            (("fed", "plain")[at // 6], at // 3 + 1, at % 3 + 1, fresh, fresh * 0.1 + 7.25, 7.0)
        )
    header = ("Treatment", "Tray", "Plant", "Fresh weight (g)", "Dry weight (g)", "Dish (g)")
    log = book(tmp_path, Log=[header, *rows])
    row = next(each for each in asked(log) if each.slot is Slot.ROW)
    offered = [choice.answer for choice in row.choices]
    assert "the two columns are exchanged" in offered
    cup = next(choice for choice in row.choices if "Dish" in choice.answer)
    assert cup.gives["dry_weight"]["fed"].total == pytest.approx(
        sum(each[4] - 7 for each in rows[:6])
    )
    assert row.why


def test_energy_from_after_the_trial_is_named_with_its_sum_before_it_is_confirmed(tmp_path):
    rows = [(kind, tray, plant, 20.5 + tray + plant) for tray in (1, 2, 3, 4) for plant in (1, 2, 3)
            for kind in (("warm", "plain")[tray % 2],)]  # fmt: skip
    meter = [("Date", "warm kWh", "plain kWh")]
    meter += [
        (date(2026, 1, 5 + 7 * week) if week < 4 else date(2026, 2, 7 * week - 26), 2.0, 1.5)
        for week in range(8)
    ]
    log = book(
        tmp_path, Log=[("Treatment", "Tray", "Plant", "Fresh weight (g)"), *rows], Meter=meter
    )
    answers = {"trial.title": "T", "trial.crop": "basil", "trial.started_on": "2026-01-05"}
    answers |= {"trial.harvested_on": "2026-02-09", "trial.reference": "plain", "counts": "each"}
    state = understood((log,), answers)
    (question,) = state.questions
    assert question.key == "confirm"
    assert "2 of 8 readings" in question.hint
    assert "4 kWh" in question.hint
    assert "3 kWh" in question.hint


def test_days_after_sowing_are_days_of_samples(tmp_path):
    rows = []
    for day in (14, 21, 28):
        for tray in range(1, 5):
            rows += [
                (day, ("full", "half")[tray % 2], tray, plant, day * 0.5 + tray + plant)
                for plant in (1, 2, 3)
            ]
    log = book(
        tmp_path, Log=[("Day after sowing", "Nutrient", "Tub", "Plant", "Leaf FW (g)"), *rows]
    )
    (question,) = asked(log, quantity="Fresh weight")
    assert question.key == "Log.occasions"
    adopt(log, talk=answering(quantity="Fresh weight", occasions="each day its own plants"))
    assert means(log)["full"] == (2, pytest.approx(14 + 3 + 2))


def test_a_count_of_each_bag_beside_its_yield_is_no_plant(tmp_path):
    rows = [
        (("peat", "coir")[bag % 2], bag, 1500.5 + bag * 20, 9.25 + bag % 3) for bag in range(1, 9)
    ]
    log = book(tmp_path, Log=[("Treatment", "Bag", "Total weight of bag (g)", "Moisture"), *rows])
    adopt(log, talk=answering(quantity="Fresh weight", covers="each value is of a whole tray"))
    trial = pipeline.checked(log)
    assert any(each.code == "measure_of_whole_trays" for each in trial.findings)
    assert measured(trial, "tray_yield").estimates


@pytest.mark.parametrize("word", ["Eindtotaal", "Alles bij elkaar"])
def test_a_last_row_that_sums_up_all_sections_is_no_tray(tmp_path, word):
    rows, numbers = [], []
    for kind, base in (("LED laag", 30), ("LED hoog", 35)):
        rows.append((kind, None, None, None))
        numbers += [(base + bak, base + bak * 2 + 1, base + (bak * 7) % 5) for bak in range(1, 5)]
        rows += [(f"bak {at}", *values) for at, values in enumerate(numbers[-4:], 1)]
    rows.append((word, *map(sum, zip(*numbers, strict=True))))
    log = book(tmp_path, Log=[("Bak", "Plant 1", "Plant 2", "Plant 3"), *rows])
    gives = asked(log)[0].choices[0].gives
    assert {name: (each.units, each.n) for name, each in gives["fresh_weight"].items()} == {
        "LED laag": (4, 12),
        "LED hoog": (4, 12),
    }


@pytest.mark.parametrize(
    ("cells", "place"),
    [
        ("2:2", "Log, row 2"),
        ("7:9", "Log, rows 7 to 9"),
        ("6:6, 11:11", "Log, rows 6, 11"),
        ("C7", "Log!C7"),
    ],
)
def test_whole_rows_are_named_in_words(cells, place):
    assert Problem(Severity.ERROR, "Log", cells, "a", "b", "c", code="x").place == place


@pytest.mark.parametrize("typed", ["1", "2026", "?!"])
def test_a_title_without_letters_is_the_number_of_a_choice_that_is_not_there(tmp_path, typed):
    state = understand(
        [crossed(tmp_path)], None, {"Log.treatment": "Light + Cultivar", "trial.title": typed}
    )
    assert "trial.title" in [each.key for each in state.questions]
    assert [each.code for each in state.problems] == ["answer_does_not_fit"]


def test_a_day_may_be_typed_with_dots(tmp_path):
    log = crossed(tmp_path)
    state = understand(
        [log], None, {"Log.treatment": "Light + Cultivar", "trial.started_on": "3.4.2026"}
    )
    assert state.settings.trial["Started on"] == date(2026, 4, 3)


def test_a_number_may_be_typed_for_a_word_such_as_a_range(tmp_path):
    rows = [(("fed", "plain")[at // 6], at // 3 + 1, at % 3 + 1, 150.5 + at) for at in range(12)]
    rows[4] = (*rows[4][:3], "150-160")
    log = book(tmp_path, Log=[("Treatment", "Tray", "Plant", "Fresh weight (g)"), *rows])
    state = understood((log,), {"word.150-160": "155"})
    assert state.summary["fresh_weight"]["fed"].total == pytest.approx(
        sum(each[3] for at, each in enumerate(rows[:6]) if at != 4) + 155
    )
    adopt(log, talk=answering(**{"word.150-160": "155"}))
    assert means(log)["fed"][0] == 2


def test_a_sign_among_the_weights_is_asked(tmp_path):
    rows = [(("fed", "plain")[at // 6], at // 3 + 1, at % 3 + 1, 150.5 + at) for at in range(12)]
    rows[4] = (*rows[4][:3], "--")
    log = book(tmp_path, Log=[("Treatment", "Tray", "Plant", "Fresh weight (g)"), *rows])
    (question,) = asked(log)
    assert question.key == "word.--"
    assert [choice.gives["fresh_weight"]["fed"].lost for choice in question.choices] == [0, 1, 0]


@pytest.mark.parametrize("typed", ["fersh weight", "Dry wieght"])
def test_a_misspelt_weight_is_asked_back(tmp_path, typed):
    log = book(
        tmp_path,
        Log=[("Treatment", "Tray", "g"), *((("a", "b")[n % 2], n, 20.5 + n) for n in range(8))],
    )
    state = understand([log], None, {"Log.quantity.g": typed})
    assert "Log.quantity.g" in [each.key for each in state.questions]
    assert [each.code for each in state.problems] == ["answer_does_not_fit"]
