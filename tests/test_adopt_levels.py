"""Treatments as their owner names and groups them: which columns, codes and marks are levels, and of what."""

from datetime import datetime

import openpyxl
import pytest

from reportgen import pipeline
from reportgen.adopt.adopting import log_of, understood
from reportgen.adopt.questions import (
    BLOCKS,
    COUNTED_ANEW,
    IN_HEADERS,
    NO_KEY,
    NUMBERS,
    OTHER_TRAYS,
    SAME_TRAYS,
    SHARED,
    WORDED,
    unanswered,
)
from reportgen.adopt.toml_file import read_adoption, settings_file
from reportgen.metrics import compute
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, book, fresh_weight

LEVELS = (
    (20.1, 21.3, 19.4, 20.7, 18.8, 21.1),
    (24.4, 23.2, 25.3, 24.1, 22.9, 25.8),
    (16.2, 15.1, 17.3, 16.6, 14.9, 17.0),
)


def means(log):
    return {code: (one.n, one.value) for code, one in fresh_weight(pipeline.checked(log)).estimates}


def questions(*paths):
    return unanswered(understood(log_of(paths)))


def kinds(*paths):
    return {question.kind for question in questions(*paths)}


def settled(log):
    return read_adoption(settings_file(log))


def levels(log):
    return understood(log_of((log,))).levels


def wide(tmp_path, *headers, weights=LEVELS, **beside):
    """Write a log with a column of weights for each header; `beside` are columns in front of them, by header."""
    head = (*beside, *headers)
    lines = zip(*beside.values(), *weights[: len(headers)], strict=True)
    return book(tmp_path, Log=[("fresh weights in g",), head, *lines])


# --- a column for each treatment, whatever its name may mean elsewhere


@pytest.mark.parametrize(
    ("headers", "lost"),
    [
        (("témoin", "paillé", "ombré"), "nombre, a number, is spelt nearly so"),
        (("ohne", "Netz", "Folie"), "folia, leaves, is spelt nearly so"),
        (("témoin", "nuit", "jour"), "jour heads days too"),
        (("testemunha", "rede", "estufa"), "estufa heads places too"),
        (("control", "pot", "bag"), "both head pots too"),
        (("control", "dry", "humid"), "humid heads the humidity of the air too"),
        (("control", "+P", "+N+P"), "n heads numbers of rows too"),
        (("none", "P", "N"), "n heads numbers of rows too"),
        (("mini", "midi", "Maximum"), "maximum heads the largest of a row too"),
        (("bajo", "medio", "alto"), "alto heads heights too"),
        (("control", "seedling", "transplant"), "both head plants and days too"),
    ],
)
def test_a_treatment_named_like_something_else_is_not_lost_from_a_wide_table(tmp_path, headers, lost):
    assert levels(wide(tmp_path, *headers)) == headers, lost


def test_a_treatment_named_like_something_else_counts_with_weights_in_whole_grams(tmp_path):
    whole = [[round(weight * 3.1) for weight in column] for column in LEVELS]
    assert levels(wide(tmp_path, "témoin", "paillé", "ombré", weights=whole)) == ("témoin", "paillé", "ombré")
    assert levels(wide(tmp_path, "none", "P", "N", weights=whole)) == ("none", "P", "N")


def test_all_treatments_of_a_wide_table_come_into_the_figures(tmp_path):
    log = wide(tmp_path, "témoin", "paillé", "ombré")
    adopt(log, talk=answering(independent="each row", **{"Reference treatment": "témoin"}))
    found = means(log)
    assert {code: n for code, (n, _) in found.items()} == {"témoin": 6, "paillé": 6, "ombré": 6}
    assert found["ombré"][1] == pytest.approx(sum(LEVELS[2]) / 6)


@pytest.mark.parametrize(
    ("header", "values"),
    [
        ("N", (1, 2, 3, 4, 5, 6)),
        ("Pot", (1, 2, 3, 1, 2, 3)),
        ("Tray", (21, 21, 21, 24, 24, 24)),
        ("Max", (24.4, 23.2, 25.3, 24.1, 22.9, 25.8)),
        ("Temp", (21.1, 20.4, 22.3, 21.0, 20.2, 21.7)),
    ],
)
def test_what_numbers_the_rows_or_sums_them_up_is_no_treatment_of_a_wide_table(tmp_path, header, values):
    assert levels(wide(tmp_path, "témoin", "paillé", **{header: values})) == ("témoin", "paillé")


def test_treatments_named_like_totals_are_told_apart_from_them(tmp_path):
    talk = answering(independent="each row", **{"Reference treatment": "mid"})
    weights = [(f"T{at}", ("min", "mid", "max")[at % 3], 20 + at) for at in range(12)]
    for log in (
        wide(tmp_path, "min", "mid", "max"),
        book(tmp_path, "long.xlsx", Log=[("Tray", "Treatment", "Fresh weight (g)"), *weights]),
    ):
        adopt(log, talk=talk)
        assert set(means(log)) == {"min.", "mid", "max."}


def test_words_in_brackets_behind_a_treatment_are_no_unit(tmp_path):
    log = wide(tmp_path, "Basil (warm)", "Basil (cold)", "Dill (warm)")
    adopt(log, talk=answering(independent="each row", **{"Reference treatment": "Basil (cold)"}))
    assert set(means(log)) == {"Basil (warm)", "Basil (cold)", "Dill (warm)"}


def test_a_unit_in_brackets_behind_a_treatment_is_one(tmp_path):
    log = wide(tmp_path, "warm (kg)", "cold (kg)")
    adopt(log, talk=answering(independent="each row", **{"Reference treatment": "cold"}))
    found = means(log)
    assert set(found) == {"warm", "cold"}
    assert found["warm"][1] == pytest.approx(1000 * sum(LEVELS[0]) / 6)


@pytest.mark.parametrize(
    "headers",
    [
        ("0 g", "5 g", "10 g"),
        ("18 °C", "22 °C", "26 °C"),
        ("12 h", "16 h", "20 h"),
        ("5%", "10%", "20%"),
        ("Biochar 0 g", "Biochar 5 g", "Biochar 10 g"),
        ("0,5 g/L", "1 g/L", "2 g/L"),
    ],
)
def test_doses_that_head_columns_are_treatments_and_no_units_of_what_stands_below(tmp_path, headers):
    log = wide(tmp_path, *headers)
    assert levels(log) == headers
    assert "pickings" not in kinds(log)
    adopt(log, talk=answering(independent="each row", **{"Reference treatment": headers[0]}))
    found = means(log)
    assert set(found) == set(headers)
    assert found[headers[0]][1] == pytest.approx(sum(LEVELS[0]) / 6)


# --- trays that head columns


def test_words_with_numbers_over_columns_are_asked_and_may_be_trays_of_the_word(tmp_path):
    weights = (*LEVELS, LEVELS[0])
    log = wide(tmp_path, "warm 1", "warm 2", "cold 1", "cold 2", weights=weights)
    asked = next(one for one in questions(log) if one.kind == "headers")
    assert WORDED in asked.choices
    adopt(log, talk=answering(headers=WORDED, independent=IN_HEADERS, **{"Reference treatment": "cold"}))
    warm, cold = (sum(LEVELS[0]) + sum(LEVELS[1])) / 12, (sum(LEVELS[2]) + sum(LEVELS[0])) / 12
    assert means(log) == {"cold": (2, pytest.approx(cold)), "warm": (2, pytest.approx(warm))}


def test_words_with_numbers_over_columns_stay_open_without_an_answer(tmp_path):
    log = wide(tmp_path, "warm 1", "warm 2", "cold 1", "cold 2", weights=(*LEVELS, LEVELS[0]))
    adopt(log)
    assert settled(log).tables[0].wide.names == "?"


def test_a_treatment_that_stands_over_its_trays_is_one_treatment_with_several_trays(tmp_path):
    lines = zip(*LEVELS, LEVELS[0], strict=True)
    head = [("fresh weights in g",), ("fed", None, "plain", None), ("T1", "T2", "T3", "T4")]
    log = book(tmp_path, Log=[*head, *lines])
    made = openpyxl.load_workbook(log)
    for cells in ("A2:B2", "C2:D2"):
        made["Log"].merge_cells(cells)
    made.save(log)
    assert levels(log) == ("fed", "plain")
    adopt(log, talk=answering(independent=IN_HEADERS, **{"Reference treatment": "plain"}))
    fed, plain = (sum(LEVELS[0]) + sum(LEVELS[1])) / 12, (sum(LEVELS[2]) + sum(LEVELS[0])) / 12
    assert means(log) == {"plain": (2, pytest.approx(plain)), "fed": (2, pytest.approx(fed))}


# --- days that head columns


def heights(tmp_path, *days):
    """Write a log with weights, and heights a tray in a column for each day."""
    weights = [(f"T{tray}", ("fed", "plain")[tray % 2], 20.5 + tray) for tray in range(1, 5)]
    lines = [(f"T{tray}", *(5.5 + 3.1 * at + tray / 7 for at in range(len(days)))) for tray in range(1, 5)]
    return book(tmp_path, Log=[("Tray", "Treatment", "Fresh weight (g)"), *weights], Heights=[("Tray", *days), *lines])


def test_days_that_are_kept_as_text_head_the_columns_of_a_wide_table(tmp_path):
    log = heights(tmp_path, "05/01/26", "12/01/26", "19/01/26", "02/02/26")
    adopt(log, talk=answering(independent="Tray", **{"Reference treatment": "plain"}))
    days = sorted({str(one.on)[:10] for one in pipeline.checked(log).growth})
    assert days == ["2026-01-05", "2026-01-12", "2026-01-19", "2026-02-02"]


def test_the_order_of_day_and_month_is_asked_of_days_that_head_columns(tmp_path):
    log = heights(tmp_path, "05/01/26", "12/01/26", "02/02/26")
    assert "day first" in kinds(log)
    adopt(log, talk=answering(independent="Tray", **{"Reference treatment": "plain"}))
    assert len({one.on for one in pipeline.checked(log).growth}) == 3


# --- trays that count anew under each treatment

KINDS = (("fed", 30.5), ("plain", 25.5))
BY_TRAY = [
    (tray, kind, plant, base + tray + plant / 4) for tray in (1, 2, 3) for kind, base in KINDS for plant in (1, 2, 3)
]
BY_KIND = sorted(BY_TRAY, key=lambda row: row[1])
CROSSED = ("Tray", "Treatment", "Plant", "Fresh weight (g)")


def test_trays_of_one_code_under_several_treatments_are_asked_where_treatments_alternate(tmp_path):
    log = book(tmp_path, Log=[CROSSED, *BY_TRAY])
    asked = next(one for one in questions(log) if one.kind == "crossed")
    assert asked.text == 'Is "1" of "fed" another Tray than "1" of "plain"?'
    adopt(log, talk=answering(crossed=COUNTED_ANEW, independent="Tray", **{"Reference treatment": "plain"}))
    assert means(log) == {"plain": (3, pytest.approx(28.0)), "fed": (3, pytest.approx(33.0))}
    assert {tray.block for tray in pipeline.checked(log).trays} == {""}


def test_a_tray_that_holds_several_treatments_is_a_block_of_them(tmp_path):
    log = book(tmp_path, Log=[CROSSED, *BY_TRAY])
    adopt(log, talk=answering(crossed=SHARED, independent="Tray", **{"Reference treatment": "plain"}))
    assert means(log) == {"plain": (3, pytest.approx(28.0)), "fed": (3, pytest.approx(33.0))}
    assert sorted(tray.block for tray in pipeline.checked(log).trays) == ["1", "1", "2", "2", "3", "3"]


def test_trays_of_one_code_under_several_treatments_stay_open_without_an_answer(tmp_path):
    log = book(tmp_path, Log=[CROSSED, *BY_TRAY])
    adopt(log)
    with pytest.raises(WorkbookError) as refused:
        pipeline.checked(log)
    said = next(one for one in refused.value.problems if "Tray is still" in one.found)
    assert '"Treatment + its header"' in said.advice
    settings = settings_file(log)
    text = settings.read_text().replace('Tray = "?"', 'Tray = "Treatment + Tray"')
    settings.write_text(text.replace(', Block = "?"', "").replace('Block = "?", ', ""))
    adopt(log, talk=answering(stop="crossed", independent="Tray", **{"Reference treatment": "plain"}))
    assert settled(log).tables[0].columns["Tray"].header == "Treatment + Tray"
    assert means(log)["plain"][0] == 3


def test_one_tray_under_two_treatments_is_a_slip_and_no_question(tmp_path):
    rows = [(f"T{at // 3}", ("fed", "plain")[at // 3 % 2], at % 3 + 1, 30 + at / 4) for at in range(18)]
    rows[4] = ("T1", "fed", 2, 31.0)
    assert "crossed" not in kinds(book(tmp_path, Log=[CROSSED, *rows]))


@pytest.mark.parametrize("rows", [BY_KIND, BY_TRAY])
def test_logs_name_trays_that_count_anew_by_their_treatment_too(tmp_path, rows):
    days = (datetime(2026, 1, 5), datetime(2026, 1, 19), datetime(2026, 2, 2))
    every = [(day, kind, tray) for day in days for kind, _ in KINDS for tray in (1, 2, 3)]
    heights = [(*key, 5.25 + at / 3) for at, key in enumerate(every)]
    water = [(*key, "fill" if key[0] == days[0] else "top-up", 4.0 if key[1] == "fed" else 2.0) for key in every]
    head = ("Date", "Treatment", "Tray")
    log = book(
        tmp_path,
        Log=[CROSSED, *rows],
        Heights=[(*head, "Height (cm)"), *heights],
        Water=[(*head, "Event", "Volume (L)"), *water],
    )
    adopt(log, talk=answering(crossed=COUNTED_ANEW, independent="Tray", **{"Reference treatment": "plain"}))
    trial = pipeline.checked(log)
    assert {one.tray for one in trial.growth} == {tray.code for tray in trial.trays}
    assert len(trial.trays) == 6
    assert means(log) == {"plain": (3, pytest.approx(28.0)), "fed": (3, pytest.approx(33.0))}


def test_meters_that_count_anew_under_each_treatment_are_different_meters(tmp_path):
    days = [datetime(2026, 1, 5), datetime(2026, 1, 25), datetime(2026, 2, 16)]
    meters = [
        (day, kind, meter, 100 * meter + at * (20 if kind == "fed" else 10))
        for at, day in enumerate(days)
        for kind, _ in KINDS
        for meter in (1, 2)
    ]
    log = book(tmp_path, Log=[CROSSED, *BY_KIND], Power=[("Date", "Treatment", "Meter", "Reading (kWh)"), *meters])
    adopt(log, talk=answering(independent="Tray", **{"Reference treatment": "plain"}))
    energy = next(one for one in compute(pipeline.checked(log)).measures if one.measure.key == "energy_use")
    assert {code: one.value for code, one in energy.estimates} == {
        "plain": pytest.approx(40 / 3),
        "fed": pytest.approx(80 / 3),
    }


# --- signs that repeat the label above


@pytest.mark.parametrize("sign", ['"', "''", '-"-', "〃", "idem", "id.", "dito", "ditto", "do.", "„", ",,", "– ” –"])
def test_ditto_marks_stand_for_the_label_above_them_and_it_is_said(tmp_path, sign):
    rows = [
        (f"T{tray}" if plant == 1 else sign, kind if plant == 1 and tray % 2 else sign, plant, base + tray)
        for kind, base, trays in (("fed", 30.0, (1, 2)), ("plain", 25.0, (3, 4)))
        for tray in trays
        for plant in (1, 2, 3)
    ]
    log = book(tmp_path, Log=[CROSSED, *rows])
    assert levels(log) == ("fed", "plain")
    _, shown = adopt(log, talk=answering(independent="Tray", **{"Reference treatment": "plain"}))
    assert means(log) == {"plain": (2, pytest.approx(28.5)), "fed": (2, pytest.approx(31.5))}
    assert shown.count("; ditto marks stand for what is above them") == 2


def test_ditto_marks_repeat_numbers_of_trays_but_no_weights(tmp_path):
    trays = [(tray, kind, plant) for tray, kind in enumerate("ffpp") for plant in (1, 2)]
    rows = [(tray if plant == 1 else '"', kind, plant, 20.5 + tray) for tray, kind, plant in trays]
    rows[3] = (*rows[3][:3], '"')
    log = book(tmp_path, Log=[CROSSED, *rows])
    assert [one.column for one in questions(log) if one.kind == "word"] == ['"']
    adopt(log, talk=answering(independent="Tray", **{"Reference treatment": "p"}))
    assert {tray.code for tray in pipeline.checked(log).trays} == {"0", "1", "2", "3"}


# --- keys that explain codes


def coded(tmp_path, first, second, header="Group"):
    """Write plants whose treatment is A or B, and a sheet with two keys of these codes, each under its title."""
    rows = [(f"T{tray}", "AB"[tray % 2], plant, 20.5 + tray + plant) for tray in range(4) for plant in (1, 2)]
    keys = [(first,), (), ("A", "Genovese"), ("B", "Thai"), (), (second,), (), ("A", "seaweed"), ("B", "bare")]
    return book(tmp_path, Legend=keys, Harvest=[("Tray", header, "Plant", "Fresh wt (g)"), *rows])


def test_of_two_keys_with_the_same_codes_the_one_titled_like_the_column_is_taken(tmp_path):
    assert levels(coded(tmp_path, "Varieties", "Groups")) == ("seaweed", "bare")
    assert levels(coded(tmp_path, "Groups", "Varieties")) == ("Genovese", "Thai")


def test_of_two_keys_with_the_same_codes_it_is_asked_which_is_meant_where_no_title_says(tmp_path):
    log = coded(tmp_path, "First", "Second")
    asked = next(one for one in questions(log) if one.kind == "key")
    assert asked.choices == ("Genovese, Thai", "seaweed, bare", NO_KEY)
    adopt(log, talk=answering(key="seaweed, bare", independent="Tray", **{"Reference treatment": "bare"}))
    assert set(means(log)) == {"seaweed", "bare"}


def test_codes_that_two_keys_explain_stay_open_without_an_answer(tmp_path):
    log = coded(tmp_path, "First", "Second")
    adopt(log)
    with pytest.raises(WorkbookError, match='what "A" stands for'):
        pipeline.checked(log)


# --- repetitions

REPEATED = [(kind, rep, base + rep) for rep in range(1, 7) for kind, base in KINDS]


def repeated(tmp_path, header, rows=REPEATED, title=None):
    return book(tmp_path, Log=[*([(title,)] if title else []), ("Treatment", header, "Fresh weight (g)"), *rows])


@pytest.mark.parametrize("header", ["Rep", "Replicate", "Wdh", "Répétition", "Repetición", "Ripetizione", "Herhaling"])
def test_repetitions_are_blocks_only_where_their_owner_says_so(tmp_path, header):
    log = repeated(tmp_path, header)
    asked = next(one for one in questions(log) if one.kind == "blocks")
    assert (asked.choices, asked.default) == ((BLOCKS, NUMBERS), NUMBERS)
    for answer, blocks in ((NUMBERS, {""}), (BLOCKS, set("123456"))):
        settings_file(log).unlink(missing_ok=True)
        adopt(log, talk=answering(blocks=answer, independent="each row", **{"Reference treatment": "plain"}))
        assert {tray.block for tray in pipeline.checked(log).trays} == blocks


def test_blocks_are_no_question(tmp_path):
    assert "blocks" not in kinds(repeated(tmp_path, "Block"))
    titled = repeated(tmp_path, "Rep", title="Randomised block trial")
    asked = next(one for one in questions(titled) if one.kind == "blocks")
    assert asked.default == BLOCKS


def test_repetitions_with_several_plants_each_are_units_of_their_treatment(tmp_path):
    rows = [(kind, rep, base + rep + plant) for rep in (1, 2, 3) for kind, base in KINDS for plant in (1, 2)]
    log = repeated(tmp_path, "Rep", rows)
    adopt(log, talk=answering(blocks=NUMBERS, independent="Rep", **{"Reference treatment": "plain"}))
    assert means(log) == {"plain": (3, pytest.approx(29.0)), "fed": (3, pytest.approx(34.0))}


def test_whether_repetitions_are_blocks_stays_open_without_an_answer(tmp_path):
    log = repeated(tmp_path, "Rep")
    adopt(log)
    with pytest.raises(WorkbookError, match="Block is still"):
        pipeline.checked(log)
    settings = settings_file(log)
    settings.write_text(settings.read_text().replace(', Block = "?"', "").replace('Block = "?", ', ""))
    adopt(log, talk=answering(stop="blocks", independent="each row", **{"Reference treatment": "plain"}))
    assert {tray.block for tray in pipeline.checked(log).trays} == {""}


# --- a vague header beside what was varied


@pytest.mark.parametrize("header", ["Group", "Condition", "Gruppe", "Groupe", "Grupo", "Gruppo", "Groep"])
def test_a_group_beside_a_factor_that_varies_too_is_asked_for(tmp_path, header):
    rows = [(f"T{at}", "AB"[at % 2], ("kelp", "bare")[at // 2 % 2], 20.5 + at) for at in range(8)]
    log = book(tmp_path, Log=[("Tray", header, "Feed", "Fresh weight (g)"), *rows])
    asked = next(one for one in questions(log) if one.kind == "treatment")
    assert asked.choices == (header, "Feed", f"{header} + Feed")
    adopt(log, talk=answering(treatment="Feed", independent="Tray", **{"Reference treatment": "bare"}))
    assert set(means(log)) == {"kelp", "bare"}


def test_a_group_alone_or_beside_what_follows_from_it_is_no_question(tmp_path):
    rows = [
        (f"T{at}", "AB"[at % 2], ("kelp", "bare")[at % 2], "Thai" * (at > 3) or "Genovese", 20.5 + at)
        for at in range(8)
    ]
    log = book(tmp_path, Log=[("Tray", "Group", "Feed", "Variety", "Fresh weight (g)"), *rows])
    assert "treatment" not in kinds(log)


# --- how treatments are called


@pytest.mark.parametrize(
    ("sheets", "named"),
    [
        (("Biochar 5%", "none"), ("Biochar 5%", "none")),
        (("N+P", "bare"), ("N+P", "bare")),
        (("far-red", "no light"), ("far-red", "no light")),
        (("Harvest_warm", "Harvest_cold"), ("warm", "cold")),
        (("warm - week 6", "cold - week 6"), ("warm", "cold")),
    ],
)
def test_sheets_that_are_treatments_keep_the_signs_in_their_names(tmp_path, sheets, named):
    rows = [(f"T{tray}", plant, 20.5 + tray + plant) for tray in (1, 2) for plant in (1, 2)]
    head = ("Tray", "Plant", "Fresh weight (g)")
    assert levels(book(tmp_path, **{sheet: [head, *rows] for sheet in sheets})) == named


def test_treatments_that_differ_by_capitals_and_spaces_are_one(tmp_path):
    rows = [(f"T{at}", ("fed", "Plain", "plain ", "PLAIN")[at % 4], 20.5 + at) for at in range(8)]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Fresh weight (g)"), *rows])
    assert levels(log) == ("fed", "Plain")
    adopt(log, talk=answering(independent="Tray", **{"Reference treatment": "Plain"}))
    assert means(log)["Plain"][0] == 6


def test_treatments_that_are_shares_are_called_as_the_sheet_shows_them(tmp_path):
    rows = [(f"T{at}", (0.25, 0, 0.5)[at % 3], 20.5 + at) for at in range(9)]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Fresh weight (g)"), *rows])
    made = openpyxl.load_workbook(log)
    for row in range(2, 11):
        made["Log"].cell(row, 2).number_format = "0%"
    made.save(log)
    assert levels(log) == ("25%", "0%", "50%")
    adopt(log, talk=answering(independent="Tray", **{"Reference treatment": "0%"}))
    assert {code: n for code, (n, _) in means(log).items()} == {"0%": 3, "25%": 3, "50%": 3}


# --- groups of rows


def test_groups_with_a_blank_row_between_them_need_no_header_of_their_own(tmp_path):
    top = [("Top (LED A)" if plant == 1 else None, plant, 20.5 + plant) for plant in range(1, 6)]
    bottom = [("Bottom (LED B)" if plant == 1 else None, plant, 30.5 + plant) for plant in range(1, 6)]
    log = book(tmp_path, Log=[("Shelf", "Plant", "Fresh weight (g)"), *top, (), *bottom])
    tables = understood(log_of((log,))).adoption.tables
    assert [table.gives for table in tables] == ["Plants"]
    adopt(log, talk=answering(treatment="Shelf", independent="each row", **{"Reference treatment": "Top (LED A)"}))
    assert means(log) == {"Top (LED A)": (5, pytest.approx(23.5)), "Bottom (LED B)": (5, pytest.approx(33.5))}


# --- a sheet for each bench


def benches(tmp_path, names=("Bench 1", "Bench 2", "Bench 3"), plants=(None,)):
    rows = {
        name: [("Tray", "Treatment", "Plant", "Fresh weight (g)")]
        + [(kind[0].upper(), kind, plant, base + at + (plant or 0)) for kind, base in KINDS for plant in plants]
        for at, name in enumerate(names)
    }
    return book(tmp_path, **rows)


@pytest.mark.parametrize("plants", [(1, 2), (1, 2, 3)])
def test_trays_of_one_code_on_a_sheet_for_each_bench_are_asked_and_may_be_others(tmp_path, plants):
    log = benches(tmp_path, plants=plants)
    assert "places" in kinds(log)
    adopt(log, talk=answering(places=OTHER_TRAYS, independent="Tray", **{"Reference treatment": "plain"}))
    trial = pipeline.checked(log)
    assert {tray.block for tray in trial.trays} == {"Bench 1", "Bench 2", "Bench 3"}
    assert {code: n for code, (n, _) in means(log).items()} == {"plain": 3, "fed": 3}


def test_trays_of_one_code_on_a_sheet_for_each_bench_stay_open_without_an_answer(tmp_path):
    log = benches(tmp_path, plants=(1, 2))
    adopt(log)
    with pytest.raises(WorkbookError, match='"F", "P" in Tray'):
        pipeline.checked(log)
    adopt(log, talk=answering(places=SAME_TRAYS, independent="Tray", **{"Reference treatment": "plain"}))
    assert [table.columns["Tray"].codes for table in settled(log).tables] == [{"F": "F", "P": "P"}] * 3
    assert all("Block" not in table.constants for table in settled(log).tables)


def test_sheets_that_are_no_places_are_not_asked_for_their_trays(tmp_path):
    assert "places" not in kinds(benches(tmp_path, ("Cut 1", "Cut 2", "Cut 3"), (1, 2)))


# --- answers that are given another day


@pytest.mark.parametrize(("places", "blocks"), [(OTHER_TRAYS, {"Bench 1", "Bench 2", "Bench 3"}), (SAME_TRAYS, {""})])
def test_what_sheets_of_benches_are_is_kept_where_its_owner_stops_behind_it(tmp_path, places, blocks):
    log = benches(tmp_path, plants=(1, 2))
    adopt(log)
    adopt(log, talk=answering(places=places, stop="independent"))
    adopt(log, talk=answering(stop="places", independent="Tray", **{"Reference treatment": "plain"}))
    made = settled(log)
    assert {table.constants.get("Block", "") for table in made.tables} == blocks


@pytest.mark.parametrize(("crossed", "blocks"), [(SHARED, {"1", "2", "3"}), (COUNTED_ANEW, {""})])
def test_what_trays_under_several_treatments_are_is_kept_where_its_owner_stops_behind_it(tmp_path, crossed, blocks):
    log = book(tmp_path, Log=[CROSSED, *BY_TRAY])
    adopt(log)
    adopt(log, talk=answering(crossed=crossed, stop="independent"))
    adopt(log, talk=answering(stop="crossed", independent="Tray", **{"Reference treatment": "plain"}))
    assert {tray.block for tray in pipeline.checked(log).trays} == blocks


def test_what_words_with_numbers_over_columns_are_is_kept_where_its_owner_stops_behind_it(tmp_path):
    log = wide(tmp_path, "warm 1", "warm 2", "cold 1", "cold 2", weights=(*LEVELS, LEVELS[0]))
    adopt(log)
    adopt(log, talk=answering(headers=WORDED, stop="independent"))
    adopt(log, talk=answering(stop="headers", independent=IN_HEADERS, **{"Reference treatment": "cold"}))
    assert {code: n for code, (n, _) in means(log).items()} == {"cold": 2, "warm": 2}


def test_which_key_is_meant_and_what_repetitions_are_is_kept_where_its_owner_stops_behind_it(tmp_path):
    log = coded(tmp_path, "First", "Second")
    adopt(log)
    adopt(log, talk=answering(key="seaweed, bare", stop="independent"))
    adopt(log, talk=answering(stop="key", independent="Tray", **{"Reference treatment": "bare"}))
    assert set(means(log)) == {"seaweed", "bare"}
    log = repeated(tmp_path, "Rep")
    settings_file(log).unlink()
    adopt(log)
    adopt(log, talk=answering(blocks=NUMBERS, stop="independent"))
    adopt(log, talk=answering(stop="blocks", independent="each row", **{"Reference treatment": "plain"}))
    assert {tray.block for tray in pipeline.checked(log).trays} == {""}


def test_what_was_measured_may_stand_over_the_treatments(tmp_path):
    head = [("", "Fresh weight (g)", "", "Dry weight (g)", ""), ("Plant", "fed", "plain", "fed", "plain")]
    rows = [(at, 30.5 + at, 25.5 + at, 3.05 + at / 10, 2.55 + at / 10) for at in range(1, 7)]
    log = book(tmp_path, Log=[*head, *rows])
    made = openpyxl.load_workbook(log)
    for cells in ("B1:C1", "D1:E1"):
        made["Log"].merge_cells(cells)
    made.save(log)
    assert levels(log) == ("fed", "plain")
    adopt(log, talk=answering(independent="each row", **{"Reference treatment": "plain"}))
    assert means(log) == {"plain": (6, pytest.approx(29.0)), "fed": (6, pytest.approx(34.0))}
