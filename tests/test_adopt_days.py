"""The same trays on several days or several weights side by side: pickings, samples, the last
weighing, cuts.
"""

import pytest

from reportgen import pipeline
from reportgen.importing.settings import settings_file
from reportgen.model.problem import WorkbookError
from tests.adopting import HEAD as HEAD_OF_ROWS
from tests.adopting import (
    PLANTS,
    TRIAL,
    adopt,
    answering,
    asked,
    book,
    means,
    measured,
    rows,
    trial,
)

BY_DAY = ("Date", "Tray", "Treatment", "Fresh weight (g)")
DAYS = ("2026-01-20", "2026-02-02", "2026-02-16")
EVERY = ("T1", "warm"), ("T2", "plain"), ("T3", "warm"), ("T4", "plain")
TRAYS = {"trial.independent": "unit", "trial.reference": "plain"}
SUM, LAST, EACH = "pickings", "the last weighing is the harvest", "each day its own plants"


def picked(at, tray, kind):
    """Return what was picked of a tray on the day of number `at`, g."""
    return round(20.0 + 7 * at + int(tray[1]) * 1.3 + (5 if kind == "warm" else 0), 2)


def by_day(tmp_path, *, plants=(), change=lambda held: held):
    """Return a log of the same trays on three days: one row each, or one for each number of a
    plant.
    """
    head = (*BY_DAY[:3], *(["Plant"] if plants else []), BY_DAY[3])
    held = [
        (
            day,
            tray,
            kind,
            *([plant(at, n)] if plants else []),
            round(picked(at, tray, kind) + n / 7, 2),
        )
        for at, day in enumerate(DAYS)
        for tray, kind in EVERY
        for n, plant in enumerate(plants or [None])
    ]
    return book(tmp_path, Log=[head, *change(held)])


def log_questions(log, **own):
    return [one for one in asked(log, **own) if one.key.startswith("Log.")]


def as_(log, meaning, **own):
    """Take a log in by the choices that give its days a meaning, and name no plants besides."""
    own = {**TRAYS, "measure": "Fresh weight", "unit": "g", **own}
    for _ in range(4):
        choices = [
            (one.key, choice.answer) for one in log_questions(log, **own) for choice in one.choices
        ]
        wanted = [pair for pair in choices if meaning in pair[1]]
        wanted += [pair for pair in choices if pair[1].startswith("plant: none")]
        if not wanted or wanted[0][0] in own:
            break
        own[wanted[0][0]] = wanted[0][1]
    adopt(log, talk=answering(**own))
    return log


def by_tray(log, key="tray_yield"):
    return {code: value for code, (_, value) in means(log, key).items()}


def total(kind, days=(0, 1, 2)):
    trays = [tray for tray, own in EVERY if own == kind]
    return pytest.approx(sum(picked(at, tray, kind) for at in days for tray in trays) / len(trays))


# --- the same trays on several days


def test_what_the_weights_of_several_days_are_is_asked_with_what_each_would_give(tmp_path):
    (question,) = log_questions(by_day(tmp_path))
    gives = [
        choice.gives["tray_yield"]["warm"].mean
        for choice in question.choices
        if "tray_yield" in (choice.gives or {})
    ]
    assert total("warm") in gives
    assert question.default is None


def test_pickings_of_trays_on_several_days_add_up_where_their_owner_says_so(tmp_path):
    log = as_(by_day(tmp_path), SUM)
    assert by_tray(log) == {"warm": total("warm"), "plain": total("plain")}


def test_only_the_last_day_of_each_tray_counts_where_their_owner_says_so(tmp_path):
    log = as_(by_day(tmp_path), LAST)
    key = "tray_yield" if "covers" in settings_file(log).read_text() else "fresh_weight"
    assert by_tray(log, key) == {"warm": total("warm", (2,)), "plain": total("plain", (2,))}


def test_the_same_plants_on_several_days_are_no_other_plants(tmp_path):
    log = by_day(tmp_path, plants=[lambda at, n: n + 1] * 3)
    (question,) = log_questions(log)
    assert not any("sample" in choice.answer for choice in question.choices[:1])
    as_(log, LAST)
    assert means(log)["warm"][0] == 2
    assert len(pipeline.checked(log).plants) == 12


def test_new_plants_each_day_are_samples_of_which_the_last_day_is_the_harvest(tmp_path):
    log = as_(by_day(tmp_path, plants=[lambda at, n: 3 * at + n + 1] * 3), EACH)
    assert {plant.code.rpartition(" ")[2] for plant in pipeline.checked(log).plants} == {
        "7",
        "8",
        "9",
    }


def test_a_picking_that_is_missing_leaves_its_tray_out_of_the_sum(tmp_path):
    log = by_day(
        tmp_path,
        change=lambda held: [(*row[:-1], None) if at == 5 else row for at, row in enumerate(held)],
    )
    as_(log, SUM, blank="not measured")
    assert means(log, "tray_yield")["plain"][0] == 1


@pytest.mark.parametrize("blank", [0, None])
def test_a_picking_of_nothing_adds_nothing(tmp_path, blank):
    log = by_day(
        tmp_path,
        change=lambda held: [(*row[:-1], blank) if at == 5 else row for at, row in enumerate(held)],
    )
    as_(log, SUM, blank="nothing there")
    others = picked(0, "T2", "plain") + picked(2, "T2", "plain")
    whole = sum(picked(at, "T4", "plain") for at in range(3))
    assert by_tray(log)["plain"] == pytest.approx((others + whole) / 2)


@pytest.mark.parametrize("stop", ["unit", "trial.crop"])
def test_an_answer_on_days_is_kept_where_its_owner_stops_between(tmp_path, stop):
    log = by_day(tmp_path)
    (question,) = log_questions(log)
    own = {
        question.key: next(choice.answer for choice in question.choices if SUM in choice.answer),
        **TRAYS,
    }
    adopt(log, talk=answering(stop=stop, **own))
    adopt(log, talk=answering(**own))
    assert by_tray(log) == {"warm": total("warm"), "plain": total("plain")}


@pytest.mark.parametrize(
    "day",
    [lambda at, row: "2026-02-16", lambda at, row: f"2026-02-{10 + int(row[0][1])}"],
    ids=["one day", "a day a tray"],
)
def test_one_harvest_a_tray_is_not_asked_about(tmp_path, day):
    held = [(tray, kind, n, picked(n, tray, kind)) for tray, kind in EVERY for n in (1, 2, 3)]
    head = ("Date", "Tray", "Treatment", "Plant", "Fresh weight (g)")
    log = book(tmp_path, Log=[head, *((day(at, row), *row) for at, row in enumerate(held))])
    assert log_questions(log) == []


@pytest.mark.parametrize("head", ["Flowering date", "Aussaatdatum", "Germinated on"])
def test_days_of_something_else_than_weighing_are_not_asked_about(tmp_path, head):
    held = [(tray, kind, n, picked(n, tray, kind)) for tray, kind in EVERY for n in (1, 2, 3, 4)]
    lines = [(f"2026-01-{10 + at % 5}", *row) for at, row in enumerate(held)]
    log = book(tmp_path, Log=[(head, "Tray", "Treatment", "Plant", "Fresh weight (g)"), *lines])
    assert log_questions(log) == []
    adopt(log, talk=answering(**TRAYS))
    assert len(pipeline.checked(log).plants) == 16


def test_no_advice_deletes_a_plant_that_stands_in_two_rows(tmp_path):
    held = [(tray, kind, n, picked(n, tray, kind)) for tray, kind in EVERY for n in (1, 2, 3, 4)]
    again = [(*row[:3], row[3] + 0.7) for row in held]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Plant", "Fresh weight (g)"), *held, *again])
    adopt(log, talk=answering(**TRAYS))
    try:
        found = pipeline.checked(log).findings
    except WorkbookError as stopped:
        found = stopped.problems
    assert not any(
        "Delete one of the rows" in one.advice and "code of its own" not in one.advice
        for one in found
    )


# --- a sheet a cut


def cut(number, trays=("W1", "W2", "P1", "P2")):
    """Return a sheet of one cut: the same trays each time, one weight a tray."""
    return [
        ("Tray", "Treatment", "Fresh weight (g)"),
        *(
            (tray, {"W": "warm", "P": "plain"}[tray[0]], 20.3 + 3 * at + number * 1.7)
            for at, tray in enumerate(trays)
        ),
    ]


@pytest.mark.parametrize(
    "names", [("Coupe 1", "Coupe 2"), ("1. Ernte", "2. Ernte"), ("Harvest wk 5", "Harvest wk 9")]
)
def test_sheets_that_are_named_like_cuts_are_no_treatments(tmp_path, names):
    log = book(tmp_path, **{name: cut(at) for at, name in enumerate(names)})
    for question in asked(log):
        for choice in question.choices:
            for figures in (choice.gives or {}).values():
                assert set(figures) <= {"warm", "plain"}


def test_the_treatment_in_the_names_of_cuts_is_taken_without_the_cut(tmp_path):
    names = ("Cut 1 warm", "Cut 2 warm", "Cut 1 plain", "Cut 2 plain")
    sheets = {
        name: [
            ("Tray", "Fresh weight (g)"),
            *((tray, 20.3 + 2 * at + n * 1.9) for n, tray in enumerate("123")),
        ]
        for at, name in enumerate(names)
    }
    log = book(tmp_path, **sheets)
    adopt(
        log,
        talk=answering(
            truth={
                "warm": (3, pytest.approx(2 * (20.3 + 1.9) + 2)),
                "plain": (3, pytest.approx(2 * (20.3 + 1.9) + 10)),
            },
            **TRAYS,
        ),
    )
    assert by_tray(log) == {
        "warm": pytest.approx(2 * (20.3 + 1.9) + 2),
        "plain": pytest.approx(2 * (20.3 + 1.9) + 10),
    }


# --- several weights side by side

FLUSHES = ("1st flush (g)", "2nd flush (g)", "3rd flush (g)")
SACKS = [
    (
        f"S{at}",
        ("straw", "wood")[at % 2],
        300.4 + at * 7 % 11,
        220.3 + at * 5 % 7,
        90.6 + at * 3 % 11,
    )
    for at in range(1, 9)
]
STRAW = sum(sum(row[2:]) for row in SACKS if row[1] == "straw") / 4
BAGS = {"trial.independent": "unit", "trial.reference": "straw", "measure": "Fresh weight"}


def sacks(tmp_path, lines=tuple(SACKS), headers=FLUSHES):
    return book(tmp_path, Log=[("Sack", "Substrate", *headers), *lines])


def picked_sacks(log, **own):
    """Return the yields of sacks whose weights are pickings that add up."""
    return means(as_(log, SUM, **{**BAGS, **own}), "tray_yield")


@pytest.mark.parametrize(
    "headers",
    [FLUSHES, ("Cut 1", "Cut 2", "Cut 3"), ("1. Ernte [g]", "2. Ernte [g]", "3. Ernte [g]")],
)
def test_weights_that_their_owner_adds_up_are_added_up(tmp_path, headers):
    assert picked_sacks(sacks(tmp_path, headers=headers))["straw"] == (4, pytest.approx(STRAW))


def test_weights_without_a_unit_that_are_added_up_are_in_the_unit_that_is_asked(tmp_path):
    log = sacks(tmp_path, headers=("Cut 1", "Cut 2", "Cut 3"))
    found = picked_sacks(log, unit="oz")
    # the international avoirdupois ounce
    assert found["straw"] == (4, pytest.approx(STRAW * 28.349523125))


def test_columns_in_two_units_are_each_read_in_its_own(tmp_path):
    log = book(
        tmp_path, Log=[(*HEAD_OF_ROWS[:3], "a (g)", "b (oz)"), *((*row, 1.5) for row in rows()[1:])]
    )
    both = PLANTS.replace('columns = ["wt"], unit = "g"', 'columns = ["a", "b"]')
    made = trial(log, both.replace("words =", BY_HEADER) + TRIAL)
    cool = sum(20.5 + n * 0.7 for n in range(6, 12)) / 2
    ounces = 3 * 1.5 * 28.349523125  # the international avoirdupois ounce
    assert tray_yields(made)["plain"] == pytest.approx(cool + ounces)


@pytest.mark.parametrize(("meant", "units"), [("nothing there", 4), ("not measured", 3)])
def test_a_blank_among_weights_that_are_added_up_is_asked(tmp_path, meant, units):
    lines = [(*row[:4], None) if row[0] == "S2" else row for row in SACKS]
    log = sacks(tmp_path, lines)
    assert picked_sacks(log, blank=meant)["straw"][0] == units


def test_a_total_among_the_columns_is_read_once(tmp_path):
    log = sacks(tmp_path, [(*row, sum(row[2:])) for row in SACKS], (*FLUSHES, "Total (g)"))
    assert picked_sacks(log)["straw"] == (4, pytest.approx(STRAW))


def test_a_settings_file_written_by_hand_adds_up_columns(tmp_path):
    log = book(tmp_path, Log=[(*HEAD_OF_ROWS[:3], "a", "b"), *((*row, 1.5) for row in rows()[1:])])
    both = PLANTS.replace('["wt"]', '["a", "b"]').replace("words =", BY_HEADER)
    cool = sum(20.5 + n * 0.7 for n in range(6, 12)) / 2
    assert tray_yields(trial(log, both + TRIAL))["plain"] == pytest.approx(cool + 3 * 1.5)


BY_HEADER = 'occasion = "over:1"\noccasions = "pickings"\nwords ='


def tray_yields(made):
    """Return what the trays of each treatment yielded, g."""
    return {code: one.value for code, one in measured(made, "tray_yield").estimates}
