"""Layouts: treatments, trays and plants over columns, on sheets, in files, in codes with a key, and
in any mixture.
"""

from datetime import datetime, timedelta

import openpyxl
import pytest
import xlwt

from reportgen import pipeline
from reportgen.importing.settings import settings_file
from reportgen.metrics import compute
from tests.adopting import (
    TRIAL,
    adopt,
    answering,
    asked,
    book,
    fresh_weight,
    means,
    measured,
    trial,
)

LEVELS = (
    (20.1, 21.3, 19.4, 20.7, 18.8, 21.1),
    (24.4, 23.2, 25.3, 24.1, 22.9, 25.8),
    (16.2, 15.1, 17.3, 16.6, 14.9, 17.0),
)
EACH_ROW = "tray: treatment + the rows, counted"
CROSSED = ("Tray", "Treatment", "Plant", "Fresh weight (g)")
KINDS = (("fed", 30.5), ("plain", 25.5))
BY_TRAY = [
    (tray, kind, plant, base + tray + plant / 4)
    for tray in (1, 2, 3)
    for kind, base in KINDS
    for plant in (1, 2, 3)
]
BY_KIND = sorted(BY_TRAY, key=lambda row: row[1])
CROSSED_MEANS = {"fed": (3, pytest.approx(33.0)), "plain": (3, pytest.approx(28.0))}


def wide(tmp_path, *headers, weights=LEVELS, **beside):
    """Write a log with a column of weights for each header; `beside` are columns in front of them,
    by header.
    """
    head = (*beside, *headers)
    lines = zip(*beside.values(), *weights[: len(headers)], strict=True)
    return book(tmp_path, Log=[("fresh weights in g",), head, *lines])


def of_rows(log):
    """Return the units and means of a log whose rows are units, of a plant or of a whole tray each."""
    keys = [one.measure.key for one in compute(pipeline.checked(log)).measures]
    return means(log, "tray_yield" if "tray_yield" in keys else "fresh_weight")


def treatments(log):
    return list(of_rows(log))


def merged(log, *areas):
    made = openpyxl.load_workbook(log)
    for cells in areas:
        made["Log"].merge_cells(cells)
    made.save(log)
    return log


# --- a column for each treatment, whatever its name may mean elsewhere


@pytest.mark.parametrize(
    ("headers", "else_where"),
    [
        (("témoin", "paillé", "ombré"), "nombre, a number, is spelt nearly so"),
        (("control", "dry", "humid"), "humid heads the humidity of the air too"),
        (("control", "+P", "+N+P"), "n heads numbers of rows too"),
        (("18 °C", "22 °C", "26 °C"), "temperatures of the air"),
        (("5%", "10%", "20%"), "shares of compost"),
        (("0 g/L", "1 g/L", "2 g/L"), "doses of a feed"),
    ],
)
def test_a_treatment_named_like_something_else_is_not_lost_from_a_wide_table(
    tmp_path, headers, else_where
):
    log = wide(tmp_path, *headers)
    adopt(log, talk=answering(tray=EACH_ROW))
    found = of_rows(log)
    assert set(found) == set(headers), else_where
    assert found[headers[2]] == (6, pytest.approx(sum(LEVELS[2]) / 6))


def test_each_plant_of_a_wide_table_may_be_a_unit_or_all_plants_of_a_treatment_one(tmp_path):
    log = wide(tmp_path, "fan", "still")
    (question,) = asked(log)
    starts = [choice.answer.split(";")[0] for choice in question.choices]
    assert [start.removeprefix("tray: ") for start in starts[:2]] == [
        "none",
        "treatment + the rows, counted",
    ]
    adopt(log, talk=answering(tray="tray: none", independent="plant"))
    assert means(log)["fan"] == (6, pytest.approx(sum(LEVELS[0]) / 6))
    settings_file(log).unlink()
    adopt(log, talk=answering(tray="tray: none", independent="treatment"))
    assert means(log)["fan"] == (1, pytest.approx(sum(LEVELS[0]) / 6))
    assert all(
        one.low is None and one.high is None
        for _, one in fresh_weight(pipeline.checked(log)).estimates
    )


@pytest.mark.parametrize(
    ("header", "values", "units"),
    [("Pot", (1, 2, 3, 1, 2, 3), 3), ("Tray", (21, 21, 21, 24, 24, 24), 2)],
)
def test_trays_beside_a_wide_table_are_trays(tmp_path, header, values, units):
    log = wide(tmp_path, "témoin", "paillé", **{header: values})
    adopt(log, talk=answering())
    assert {code: n for code, (n, _) in means(log).items()} == {"témoin": units, "paillé": units}


def test_what_numbers_the_rows_is_no_treatment_of_a_wide_table(tmp_path):
    log = wide(tmp_path, "témoin", "paillé", N=(1, 2, 3, 4, 5, 6))
    adopt(log, talk=answering(tray=EACH_ROW))
    assert set(treatments(log)) == {"témoin", "paillé"}


def test_a_unit_in_brackets_behind_a_treatment_is_one_and_other_words_are_none(tmp_path):
    log = wide(tmp_path, "warm (kg)", "cold (kg)")
    adopt(log, talk=answering(tray=EACH_ROW))
    assert of_rows(log)["warm"] == (6, pytest.approx(1000 * sum(LEVELS[0]) / 6))
    settings_file(log).unlink()
    log = wide(tmp_path, "Basil (warm)", "Basil (cold)", "Dill (warm)")
    adopt(
        log, talk=answering(treatment="treatment: the header row; tray: none", independent="plant")
    )
    assert set(means(log)) == {"Basil (warm)", "Basil (cold)", "Dill (warm)"}


def test_codes_with_a_unit_may_head_the_weights_of_treatments(tmp_path):
    rows = [(30.0 + at, 28 + at * 1.1, 25 + at * 0.9) for at in range(6)]
    log = book(tmp_path, Weights=[("T1 (g)", "T2 (g)", "C (g)"), *rows])
    adopt(log, talk=answering(tray=EACH_ROW))
    found = {
        "T1": (6, pytest.approx(32.5)),
        "T2": (6, pytest.approx(30.75)),
        "C": (6, pytest.approx(27.25)),
    }
    assert of_rows(log) == found


# --- trays that head columns


def test_words_with_numbers_over_columns_are_asked_and_may_be_trays_of_the_word(tmp_path):
    warm, cold = (sum(LEVELS[0]) + sum(LEVELS[1])) / 12, (sum(LEVELS[2]) + sum(LEVELS[0])) / 12
    truth = {"warm": (2, pytest.approx(warm)), "cold": (2, pytest.approx(cold))}
    log = wide(tmp_path, "warm 1", "warm 2", "cold 1", "cold 2", weights=(*LEVELS, LEVELS[0]))
    assert [question.key for question in asked(log)] == ["Log.treatment"]
    adopt(log, talk=answering(truth=truth))
    assert means(log) == truth


def test_a_treatment_that_stands_over_its_trays_is_one_treatment_with_several_trays(tmp_path):
    head = [("fresh weights in g",), ("fed", None, "plain", None), ("T1", "T2", "T3", "T4")]
    log = merged(
        book(tmp_path, Log=[*head, *zip(*LEVELS, LEVELS[0], strict=True)]), "A2:B2", "C2:D2"
    )
    fed, plain = (sum(LEVELS[0]) + sum(LEVELS[1])) / 12, (sum(LEVELS[2]) + sum(LEVELS[0])) / 12
    truth = {"fed": (2, pytest.approx(fed)), "plain": (2, pytest.approx(plain))}
    adopt(log, talk=answering(truth=truth))
    assert means(log) == truth


def test_a_column_for_each_tray_beside_a_list_of_trays(tmp_path):
    kinds = {"T1": "warm", "T2": "plain", "T3": "warm", "T4": "plain"}
    log = book(
        tmp_path,
        Weights=[
            ("Fresh weight, g",),
            (),
            ("Plant", *kinds),
            *((at + 1, *row) for at, row in enumerate(FOUR)),
        ],
        Trays=[("Tray", "Treatment"), *kinds.items()],
    )
    adopt(log, talk=answering())
    assert means(log) == {"warm": (2, pytest.approx(25.225)), "plain": (2, pytest.approx(24.5))}


FOUR = (
    (20.5, 22.0, 30.1, 27.4),
    (19.8, 21.0, 31.0, 28.0),
    (21.2, 21.4, 29.4, 26.6),
    (20.0, 22.4, 29.8, 27.2),
)


def test_a_column_for_each_tray_without_a_list_may_be_told_in_the_settings_file(tmp_path):
    log = book(
        tmp_path,
        Weights=[
            ("Fresh weight, g",),
            (),
            ("Plant", "T1", "T2", "T3", "T4"),
            *((at, *row) for at, row in enumerate(FOUR, 1)),
        ],
    )
    told = """
        [[table]]
        sheets = ["Weights"]
        header_rows = [3]
        gives = "Plants"
        treatment = "over:1"
        unit = "over:1"
        plant = "column:Plant"
        values = { "Fresh weight" = { columns = ["T1", "T2", "T3", "T4"], unit = "g" } }
        words = { treatment = { T1 = "warm", T2 = "plain", T3 = "warm", T4 = "plain" } }
    """
    found = fresh_weight(trial(log, told + TRIAL)).estimates
    assert {code: (one.n, one.value) for code, one in found} == {
        "warm": (2, pytest.approx(25.225)),
        "plain": (2, pytest.approx(24.5)),
    }


def test_what_was_measured_may_stand_over_the_treatments(tmp_path):
    head = [
        ("", "Fresh weight (g)", "", "Dry weight (g)", ""),
        ("Plant", "fed", "plain", "fed", "plain"),
    ]
    rows = [(at, 30.5 + at, 25.5 + at, 3.05 + at / 10, 2.55 + at / 10) for at in range(1, 7)]
    log = merged(book(tmp_path, Log=[*head, *rows]), "B1:C1", "D1:E1")
    truth = {"plain": (6, pytest.approx(29.0)), "fed": (6, pytest.approx(34.0))}
    adopt(log, talk=answering(truth=truth, tray="Plant", independent="plant"))
    assert means(log) == {"plain": (6, pytest.approx(29.0)), "fed": (6, pytest.approx(34.0))}
    assert means(log, "dry_weight") == {
        "plain": (6, pytest.approx(2.9)),
        "fed": (6, pytest.approx(3.4)),
    }


# --- plants, repetitions and days that head columns


def side_by_side(*head):
    trays = (("T1", "warm"), ("T2", "plain"), ("T3", "warm"), ("T4", "plain"))
    rows = [(*tray, *row, round(sum(row) / 4, 4)) for tray, row in zip(trays, FOUR, strict=True)]
    return [("Fresh weight, g",), (), head, *rows]


def test_a_column_for_each_plant_of_a_tray_without_its_mean(tmp_path):
    log = book(
        tmp_path,
        Log=side_by_side("Tray", "Treatment", "Plant 1", "Plant 2", "Plant 3", "Plant 4", "Mean"),
    )
    adopt(log, talk=answering())
    warm, plain = (sum(FOUR[0]) + sum(FOUR[2])) / 8, (sum(FOUR[1]) + sum(FOUR[3])) / 8
    assert means(log) == {"warm": (2, pytest.approx(warm)), "plain": (2, pytest.approx(plain))}


def heights(tmp_path, *days):
    """Write a log with weights, and heights a tray in a column for each day."""
    weights = [(f"T{tray}", ("fed", "plain")[tray % 2], 20.5 + tray) for tray in range(1, 5)]
    lines = [
        (f"T{tray}", *(5.5 + 3.1 * at + tray / 7 for at in range(len(days))))
        for tray in range(1, 5)
    ]
    head = ("Tray", "Treatment", "Fresh weight (g)")
    return book(tmp_path, Log=[head, *weights], Heights=[("Height (cm)",), ("Tray", *days), *lines])


@pytest.mark.parametrize(
    "days",
    [
        ("05/01/26", "12/01/26", "19/01/26", "02/02/26"),
        tuple(datetime(2026, 1, 5) + timedelta(at) for at in (0, 7, 14, 28)),
    ],
    ids=["texts", "days"],
)
def test_a_column_for_each_day_is_growth(tmp_path, days):
    log = heights(tmp_path, *days)
    adopt(
        log,
        talk=answering(
            covers="each value is of a whole tray", occasions="the same plants measured again"
        ),
    )
    found = sorted({str(one.on)[:10] for one in pipeline.checked(log).growth})
    assert found == ["2026-01-05", "2026-01-12", "2026-01-19", "2026-02-02"]
    assert len(pipeline.checked(log).growth) == 16


def test_the_order_of_day_and_month_is_asked_of_days_that_head_columns(tmp_path):
    log = heights(tmp_path, "05/01/26", "12/01/26", "02/02/26")
    told = {
        "covers": "each value is of a whole tray",
        "occasions": "the same plants measured again",
    }
    assert [question.key for question in asked(log, **told)] == ["convention.Heights.day_first"]
    adopt(log, talk=answering(**told, order="day first"))
    assert {str(one.on)[:10] for one in pipeline.checked(log).growth} == {
        "2026-01-05",
        "2026-01-12",
        "2026-02-02",
    }


# --- trays that count anew under each treatment


@pytest.mark.parametrize(
    "rows", [BY_TRAY, BY_KIND], ids=["treatments alternate", "treatments apart"]
)
def test_trays_of_one_code_under_several_treatments_are_trays_of_their_own(tmp_path, rows):
    log = book(tmp_path, Log=[CROSSED, *rows])
    adopt(log, talk=answering())
    assert means(log) == CROSSED_MEANS
    assert {tray.block for tray in pipeline.checked(log).trays} == {""}


def test_trays_side_by_side_that_count_anew_under_each_treatment_are_different_trays(tmp_path):
    rows = [
        (at, 30.3 + 1.2 * at, 31 + 0.9 * at, None, at, 36.1 + 1.1 * at, 38.7 + 0.8 * at)
        for at in (1, 2, 3, 4)
    ]
    head = [
        ("", "plain", "", None, "", "warm", ""),
        ("Plant", "Tray 1", "Tray 2", None, "Plant", "Tray 1", "Tray 2"),
    ]
    truth = {"plain": (2, pytest.approx(33.275)), "warm": (2, pytest.approx(39.775))}
    log = book(tmp_path, Harvest=[*head, *rows])
    adopt(log, talk=answering(truth=truth))
    assert means(log) == truth


def test_one_tray_under_two_treatments_is_a_slip_that_is_caught(tmp_path):
    rows = [
        (f"T{at // 3}", ("fed", "plain")[at // 3 % 2], at % 3 + 1, 30 + at / 4) for at in range(18)
    ]
    rows[4] = ("T1", "fed", 2, 31.0)
    log = book(tmp_path, Log=[CROSSED, *rows])
    taken, _ = adopt(log)
    assert any(
        "T1" in question.ask
        for question in taken.state.questions
        if question.key.startswith("row.")
    )


def test_heights_and_water_of_trays_that_count_anew_find_their_trays(tmp_path):
    days = [datetime(2026, 1, 5), datetime(2026, 1, 25), datetime(2026, 2, 16)]
    every = [(day, kind, tray) for day in days for kind, _ in KINDS for tray in (1, 2, 3)]
    size = [(*key, 5.25 + at / 3) for at, key in enumerate(every)]
    water = [
        (*key, "fill" if key[0] == days[0] else "top-up", 4.0 if key[1] == "fed" else 2.0)
        for key in every
    ]
    head = ("Date", "Treatment", "Tray")
    log = book(
        tmp_path,
        Log=[CROSSED, *BY_KIND],
        Heights=[(*head, "Height (cm)"), *size],
        Water=[(*head, "Event", "Volume (L)"), *water],
    )
    adopt(log, talk=answering(occasions="the same plants measured again", event="event: Event"))
    made = pipeline.checked(log)
    assert len(made.trays) == 6
    assert {one.tray for one in made.growth} == {tray.code for tray in made.trays}
    assert {one.tray for one in made.solution} == {tray.code for tray in made.trays}
    assert means(log) == CROSSED_MEANS


def test_meters_that_count_anew_under_each_treatment_are_different_meters(tmp_path):
    days = [datetime(2026, 1, 5), datetime(2026, 1, 25), datetime(2026, 2, 16)]
    meters = [
        (day, kind, meter, 100 * meter + at * (20 if kind == "fed" else 10))
        for at, day in enumerate(days)
        for kind, _ in KINDS
        for meter in (1, 2)
    ]
    log = book(
        tmp_path,
        Log=[CROSSED, *BY_KIND],
        Power=[("Date", "Treatment", "Meter", "Reading (kWh)"), *meters],
    )
    adopt(log, talk=answering(meter="meter: Meter"))
    energy = {
        code: one.value for code, one in measured(pipeline.checked(log), "energy_use").estimates
    }
    assert energy == {"plain": pytest.approx(40 / 3), "fed": pytest.approx(80 / 3)}


# --- signs that repeat the label above


@pytest.mark.parametrize("sign", ['"', '-"-', "idem", ",,", "– ” –"])
def test_ditto_marks_stand_for_the_label_above_them(tmp_path, sign):
    rows = [
        (
            f"T{tray}" if plant == 1 else sign,
            kind if plant == 1 and tray % 2 else sign,
            plant,
            base + tray,
        )
        for kind, base, trays in (("fed", 30.0, (1, 2)), ("plain", 25.0, (3, 4)))
        for tray in trays
        for plant in (1, 2, 3)
    ]
    log = book(tmp_path, Log=[CROSSED, *rows])
    adopt(log, talk=answering())
    assert means(log) == {"plain": (2, pytest.approx(28.5)), "fed": (2, pytest.approx(31.5))}


def test_ditto_marks_repeat_numbers_of_trays_but_no_weights(tmp_path):
    trays = [(tray, kind, plant) for tray, kind in enumerate("ffpp") for plant in (1, 2)]
    rows = [(tray if plant == 1 else '"', kind, plant, 20.5 + tray) for tray, kind, plant in trays]
    rows[3] = (*rows[3][:3], '"')
    log = book(tmp_path, Log=[CROSSED, *rows])
    assert [question.key for question in asked(log)] == ['word."']
    adopt(log, talk=answering())
    assert {tray.code for tray in pipeline.checked(log).trays} == {"0", "1", "2", "3"}


# --- keys that explain codes


def test_of_two_keys_with_the_same_codes_it_is_asked_which_is_meant(tmp_path):
    rows = [
        (f"T{tray}", "AB"[tray % 2], plant, 20.5 + tray + plant)
        for tray in range(4)
        for plant in (1, 2)
    ]
    keys = [
        ("First",),
        (),
        ("A", "Genovese"),
        ("B", "Thai"),
        (),
        ("Second",),
        (),
        ("A", "seaweed"),
        ("B", "bare"),
    ]
    log = book(tmp_path, Legend=keys, Harvest=[("Tray", "Group", "Plant", "Fresh wt (g)"), *rows])
    (question,) = asked(log)
    assert {name for choice in question.choices[:2] for name in choice.gives["fresh_weight"]} == {
        "Genovese",
        "Thai",
        "seaweed",
        "bare",
    }
    adopt(
        log,
        talk=answering(
            truth={"seaweed": (2, pytest.approx(23.0)), "bare": (2, pytest.approx(24.0))}
        ),
    )
    assert set(means(log)) == {"seaweed", "bare"}


# --- repetitions, blocks, benches


@pytest.mark.parametrize("header", ["Rep", "Wdh", "Block"])
def test_whether_repetitions_are_units_or_blocks_is_asked(tmp_path, header):
    rows = [(kind, rep, base + rep) for rep in range(1, 7) for kind, base in KINDS]
    log = book(tmp_path, Log=[("Treatment", header, "Fresh weight (g)"), *rows])
    (question,) = asked(log)
    said = {choice.answer.split("; each value")[0] for choice in question.choices[:4]}
    assert {each.removeprefix("tray: ") for each in said} == {f"treatment + {header}", "none"}


def test_repetitions_with_several_plants_each_are_units_of_their_treatment(tmp_path):
    rows = [
        (kind, rep, base + rep + plant)
        for rep in (1, 2, 3)
        for kind, base in KINDS
        for plant in (1, 2)
    ]
    log = book(tmp_path, Log=[("Treatment", "Rep", "Fresh weight (g)"), *rows])
    truth = {"plain": (3, pytest.approx(29.0)), "fed": (3, pytest.approx(34.0))}
    adopt(log, talk=answering(truth=truth))
    assert means(log) == truth


def benches(tmp_path, names=("Bench 1", "Bench 2", "Bench 3")):
    return book(
        tmp_path,
        **{
            name: [
                CROSSED,
                *(
                    (kind[0].upper(), kind, plant, base + at + plant)
                    for kind, base in KINDS
                    for plant in (1, 2)
                ),
            ]
            for at, name in enumerate(names)
        },
    )


def test_trays_of_one_code_on_a_sheet_for_each_bench_are_asked_and_may_be_others(tmp_path):
    log = benches(tmp_path)
    assert [question.key for question in asked(log)] == ["Bench 1.treatment"]
    truth = {"plain": (3, pytest.approx(28.0)), "fed": (3, pytest.approx(33.0))}
    adopt(log, talk=answering(truth=truth))
    made = pipeline.checked(log)
    assert {tray.block for tray in made.trays} == {"Bench 1", "Bench 2", "Bench 3"}
    assert means(log) == truth


def test_the_same_trays_on_a_sheet_for_each_cut_are_asked_for_what_the_cuts_are(tmp_path):
    (question,) = asked(benches(tmp_path, ("Cut 1", "Cut 2", "Cut 3")))
    assert question.key == "Cut 1.occasions"
    assert {choice.answer for choice in question.choices} >= {
        "pickings, which add up",
        "none of these",
    }


# --- what was varied


@pytest.mark.parametrize("header", ["Group", "Groupe"])
def test_a_group_beside_a_factor_that_varies_too_is_asked_for(tmp_path, header):
    rows = [(f"T{at}", "AB"[at % 2], ("kelp", "bare")[at // 2 % 2], 20.5 + at) for at in range(8)]
    log = book(tmp_path, Log=[("Tray", header, "Feed", "Fresh weight (g)"), *rows])
    assert [question.key for question in asked(log)] == ["Log.treatment"]
    adopt(
        log,
        talk=answering(truth={"kelp": (4, pytest.approx(23.0)), "bare": (4, pytest.approx(25.0))}),
    )
    assert set(of_rows(log)) == {"kelp", "bare"}


@pytest.mark.parametrize(
    ("truth", "codes"),
    [
        ({"warm": (2, 31.35), "plain": (2, 26.275)}, {"warm", "plain"}),
        ({"N1": (2, 28.7125), "N2": (2, 28.9125)}, {"N1", "N2"}),
        (None, {"warm N1", "warm N2", "plain N1", "plain N2"}),
    ],
)
def test_two_things_that_were_varied_are_asked_about_and_may_be_taken_together(
    tmp_path, truth, codes
):
    warm, plain = (30.5, 31.2, 33.1, 29.8), (25.4, 26.6, 24.9, 27.0)
    rows = [
        (f"T{tray}", kind, "N1" if tray < 3 else "N2", plant, held[plant - 1] + tray / 10)
        for tray, kind, held in (
            (1, "warm", warm),
            (2, "plain", plain),
            (3, "warm", warm),
            (4, "plain", plain),
        )
        for plant in (1, 2, 3, 4)
    ]
    log = book(tmp_path, Log=[("Tray", "Light", "Nutrient", "Plant", "Fresh weight (g)"), *rows])
    near = (
        {code: (n, pytest.approx(value)) for code, (n, value) in truth.items()} if truth else None
    )
    adopt(log, talk=answering(truth=near, treatment="" if truth else "treatment: Light + Nutrient"))
    assert set(means(log)) == codes


def test_a_second_column_that_follows_the_treatment_is_no_second_factor(tmp_path):
    rows = [(*row[:2], {"fed": "room A", "plain": "room B"}[row[1]], *row[2:]) for row in BY_KIND]
    log = book(tmp_path, Log=[("Tray", "Light", "Place", "Plant", "Fresh weight (g)"), *rows])
    (question,) = asked(log)
    names = [set(choice.gives["fresh_weight"]) for choice in question.choices if choice.gives]
    assert names[:2] == [{"fed", "plain"}, {"room A", "room B"}]


def test_treatments_that_differ_by_capitals_and_spaces_are_one(tmp_path):
    rows = [(f"T{at}", ("fed", "Plain", "plain ", "PLAIN")[at % 4], 20.5 + at) for at in range(8)]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Fresh weight (g)"), *rows])
    adopt(log, talk=answering(covers="each value is of one plant"))
    assert {code: n for code, (n, _) in means(log).items()} == {"fed": 2, "Plain": 6}


def test_treatments_that_are_shares_are_called_as_the_sheet_shows_them(tmp_path):
    rows = [(f"T{at}", (0.25, 0, 0.5)[at % 3], 20.5 + at) for at in range(9)]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Fresh weight (g)"), *rows])
    made = openpyxl.load_workbook(log)
    for row in range(2, 11):
        made["Log"].cell(row, 2).number_format = "0%"
    made.save(log)
    adopt(log, talk=answering(covers="each value is of one plant", reference="0%"))
    assert {code: n for code, (n, _) in means(log).items()} == {"0%": 3, "25%": 3, "50%": 3}


def test_groups_with_a_blank_row_between_them_need_no_header_of_their_own(tmp_path):
    top = [("Top (LED A)" if plant == 1 else None, plant, 20.5 + plant) for plant in range(1, 6)]
    bottom = [
        ("Bottom (LED B)" if plant == 1 else None, plant, 30.5 + plant) for plant in range(1, 6)
    ]
    log = book(tmp_path, Log=[("Shelf", "Plant", "Fresh weight (g)"), *top, (), *bottom])
    adopt(log, talk=answering(treatment="treatment: Shelf; tray: none", independent="plant"))
    assert means(log) == {
        "Top (LED A)": (5, pytest.approx(23.5)),
        "Bottom (LED B)": (5, pytest.approx(33.5)),
    }


# --- sheets and files

FAN, STILL = (30.0, 31.0), (25.0, 26.0)
BY_SHEET = {"fan": (2, pytest.approx(32.45)), "still": (2, pytest.approx(27.45))}


def plants(lightest):
    """Return a sheet of four plants, their mean 1.95 g above the lightest."""
    return [("Plant", "Fresh weight (g)"), *((at + 1, lightest + at * 1.3) for at in range(4))]


def sheets(tmp_path, *names, **more):
    held = dict(zip(names, map(plants, (*FAN, *STILL)), strict=False))
    return book(tmp_path, **held, **more)


@pytest.mark.parametrize(
    "names",
    [
        ("Tray 1 fan", "Tray 2 fan", "Tray 3 still", "Tray 4 still"),
        ("fan tray 1", "fan tray 2", "still tray 1", "still tray 2"),
        ("Bench A fan", "Bench B fan", "Bench C still", "Bench D still"),
        ("fan 1", "fan 2", "still 1", "still 2"),
    ],
)
def test_a_sheet_a_tray_with_its_treatment_in_the_name(tmp_path, names):
    log = sheets(tmp_path, *names)
    adopt(log, talk=answering(truth=BY_SHEET))
    assert means(log) == BY_SHEET


def test_the_treatments_of_sheets_that_are_trays_may_be_told_in_the_settings_file(tmp_path):
    log = sheets(tmp_path, "T1", "T2", "T3", "T4")
    told = """
        [[table]]
        sheets = ["T1", "T2", "T3", "T4"]
        header_rows = [1]
        gives = "Plants"
        treatment = "sheet"
        unit = "sheet"
        plant = "column:Plant"
        values = { "Fresh weight" = { columns = ["Fresh weight"] } }
        words = { treatment = { T1 = "fan", T2 = "fan", T3 = "plain", T4 = "plain" } }
    """
    found = fresh_weight(trial(log, told + TRIAL)).estimates
    assert {code: (one.n, one.value) for code, one in found} == {
        "fan": BY_SHEET["fan"],
        "plain": BY_SHEET["still"],
    }


@pytest.mark.parametrize("codes", ["T{}", "Tray {}"])
@pytest.mark.parametrize("head", [("Tray", "Treatment"), ("Code", "Meaning")])
def test_a_key_tells_the_treatments_of_sheets(tmp_path, codes, head):
    names = tuple(codes.format(at) for at in (1, 2, 3, 4))
    log = sheets(
        tmp_path, *names, Key=[head, *zip(names, ("fan", "fan", "still", "still"), strict=True)]
    )
    adopt(log, talk=answering())
    assert means(log) == BY_SHEET


def test_trays_on_sheets_of_files_that_are_treatments(tmp_path):
    for name, lightest in (("fan", FAN), ("still", STILL)):
        held = {f"Tray {at}": plants(first) for at, first in enumerate(lightest, 1)}
        book(tmp_path, f"{name}.xlsx", **held)
    log = tmp_path / "fan.xlsx"
    adopt(log, tmp_path / "still.xlsx", talk=answering())
    assert means(log) == BY_SHEET


def test_trays_on_sheets_with_the_treatment_in_a_column(tmp_path):
    held = {}
    for at, (kind, lightest) in enumerate(
        zip(("fan", "fan", "still", "still"), (*FAN, *STILL), strict=True), 1
    ):
        head, *lines = plants(lightest)
        held[f"Tray {at}"] = [(*head, "Treatment"), *((*line, kind) for line in lines)]
    log = book(tmp_path, **held)
    adopt(log, talk=answering())
    assert means(log) == BY_SHEET


@pytest.mark.parametrize(
    "names",
    [
        ("Biochar 5%", "none"),
        ("N+P", "bare"),
        ("far-red", "no light"),
        ("25 cm", "40 cm"),
        ("EC 1.2", "EC 2.4"),
    ],
)
def test_sheets_that_are_treatments_keep_their_names(tmp_path, names):
    log = sheets(tmp_path, *names)
    adopt(log, talk=answering(treatment="treatment: the sheets", independent="treatment"))
    assert means(log) == {names[0]: (1, pytest.approx(31.95)), names[1]: (1, pytest.approx(32.95))}


@pytest.mark.parametrize("heads", [("T1", "T2", "T3"), ("A (g)", "B (g)", "C (g)")])
def test_columns_of_trays_on_sheets_of_treatments(tmp_path, heads):
    held = {
        kind: [
            heads,
            *(tuple(lightest + row * 1.1 + at * 0.3 for at in range(3)) for row in range(5)),
        ]
        for kind, lightest in (("fan", 30.0), ("still", 25.0))
    }
    truth = {"fan": (3, pytest.approx(32.5)), "still": (3, pytest.approx(27.5))}
    log = book(tmp_path, **held)
    adopt(log, talk=answering(truth=truth))
    assert means(log) == truth


def test_a_sheet_for_each_treatment_in_an_old_workbook(tmp_path):
    made = xlwt.Workbook()
    for kind in ("plain water", "seaweed feed"):
        sheet = made.add_sheet(kind)
        lines = [("Harvest of week 6",), (), ("Tub", "Plant", "Fresh wt (g)")]
        for tray in (1, 2):
            for plant in (1, 2, 3):
                name = f"tub {tray}" if plant == 1 else ""
                lines.append((name, plant, 40 + tray + plant + 5 * (kind != "plain water")))
        mean = 43.5 if kind == "plain water" else 48.5
        for at, line in enumerate([*lines, ("Average", "", mean)]):
            for column, value in enumerate(line):
                sheet.write(at, column, value)
    log = tmp_path / "tubs.xls"
    made.save(str(log))
    adopt(log, talk=answering(treatment="treatment: the sheets"))
    assert means(log) == {
        "plain water": (2, pytest.approx(43.5)),
        "seaweed feed": (2, pytest.approx(48.5)),
    }


def test_the_treatment_in_the_names_of_text_files(tmp_path):
    for name, base in (("chard_blue_mulch", 30.0), ("chard_no_mulch", 25.0)):
        lines = [f"N{at % 2},{base + at}" for at in range(4)]
        (tmp_path / f"{name}.csv").write_text("\n".join(["Bed,Fresh mass (g)", *lines]) + "\n")
    log = tmp_path / "chard_blue_mulch.csv"
    adopt(
        log,
        tmp_path / "chard_no_mulch.csv",
        talk=answering(treatment="treatment: the files", covers="each value is of one plant"),
    )
    assert [value for _, value in means(log).values()] == [pytest.approx(31.5), pytest.approx(26.5)]


def test_blank_rows_in_one_of_several_tables_side_by_side_end_none_of_them(tmp_path):
    head = ("Pot", "No", "Fresh wt (g)")
    first = [(pot, plant, 20.0 + pot + plant) for pot in range(1, 5) for plant in (1, 2, 3)]
    gaps = [row if at not in (1, 3, 7, 8) else (None, None, None) for at, row in enumerate(first)]
    third = [*first[:8], (None, None, None), *first[8:11]]
    lines = [(*a, None, *b, None, *c) for a, b, c in zip(first, gaps, third, strict=True)]
    titles = ("plain", None, None, None, "warm", None, None, None, "hot", None, None)
    log = book(tmp_path, Weights=[titles, (*head, None, *head, None, *head), *lines])
    counts = {"plain": 12, "warm": 8, "hot": 11}
    taken, said = adopt(
        log, talk=answering(**{"Weights.unit": "treatment + Pot", "Weights.plant": "No"})
    )
    read = taken.state.summary["fresh_weight"]
    assert {name: figures.n for name, figures in read.items()} == counts, said


def test_numbers_over_plants_are_no_trays_where_a_column_has_those_of_another_table(tmp_path):
    weights = [("Group", "Tub", "1", "2", "3")]
    water = [("Treatment", "Tray", "filled (L)", "topped up (L)", "left at the end (L)")]
    for tray, treatment in enumerate(("warm", "warm", "warm", "cool", "cool", "cool"), 1):
        weights.append((treatment, f"0{tray}", 20.5 + tray, 22.5 + tray, 24.0 + tray))
        water.append((treatment, f"0{tray}", 6.5, 2.25, 0.35 * tray))
    log = book(tmp_path, Log=[("Fresh wt [g]",), *weights], Water=water)
    expected = {"warm": (3, 73.0 / 3), "cool": (3, 82.0 / 3)}
    adopt(log, talk=answering(truth=expected, **{"trial.reference": "cool"}))
    assert {name: (n, round(mean, 9)) for name, (n, mean) in means(log).items()} == {
        name: (n, round(mean, 9)) for name, (n, mean) in expected.items()
    }
