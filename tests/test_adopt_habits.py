"""Habits: kinds of files, facts above a table, words, marks and texts among numbers, units,
statistics, other rows.
"""

import openpyxl
import pytest
from openpyxl.comments import Comment
from openpyxl.styles import PatternFill

from reportgen import pipeline
from reportgen.importing.settings import read_settings, settings_file
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, asked, book, means, measured, understood

HEAD = ("Tray", "Treatment", "Plant", "Fresh weight (g)")
WARM, PLAIN = (30.5, 31.2, 33.1, 29.8), (25.4, 26.6, 24.9, 27.0)
ROWS = [
    (f"T{tray}", kind, plant, round(held[plant - 1] + tray / 10, 2))
    for tray, kind, held in (
        (1, "warm", WARM),
        (2, "plain", PLAIN),
        (3, "warm", WARM),
        (4, "plain", PLAIN),
    )
    for plant in (1, 2, 3, 4)
]
MEANS = {"warm": (2, pytest.approx(31.35)), "plain": (2, pytest.approx(26.275))}


def keys(log, **own):
    return [question.key for question in asked(log, **own)]


def without(tray, plant):
    return [row for row in ROWS if (row[0], row[2]) != (tray, plant)]


def with_text(text):
    """Return the rows, the first weight replaced by a text."""
    return [(*ROWS[0][:3], text), *ROWS[1:]]


# --- kinds of files


def test_a_workbook_of_open_document(tmp_path):
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    made = OpenDocumentSpreadsheet()
    sheet = Table(name="Harvest")
    for line in (HEAD, *ROWS):
        row = TableRow()
        for value in line:
            is_number = isinstance(value, int | float)
            typed = {"valuetype": "float", "value": value} if is_number else {"valuetype": "string"}
            cell = TableCell(**typed)
            cell.addElement(P(text=str(value)))
            row.addElement(cell)
        sheet.addElement(row)
    made.spreadsheet.addElement(sheet)
    log = tmp_path / "log.ods"
    made.save(str(log))
    adopt(log, talk=answering())
    assert means(log) == MEANS


def test_headers_on_row_eleven_with_numbers_kept_as_text_and_facts_above(tmp_path):
    above = [
        ("Winter trial, back room",),
        ("Crop", "basil"),
        ("Sown", "2025-01-03"),
        (),
        ("Start", "2025-01-20"),
        ("Harvest", "2025-02-24"),
        (),
        ("Scale in the shed",),
        (),
        (),
    ]
    rows = [
        (tray, kind, plant, f"{weight:.2f}" if plant != 3 else "dead")
        for tray, kind, plant, weight in ROWS
    ]
    total = (None, None, "total", f"{sum(float(row[3]) for row in rows if row[2] != 3):.2f}")
    log = book(tmp_path, Log=[*above, ("Shelf", "Heat", "Plant #", "fresh wt (g)"), *rows, total])
    adopt(log, talk=answering())
    assert means(log)["warm"] == (2, pytest.approx((30.5 + 31.2 + 29.8) / 3 + 0.2))
    assert {tray.plants_started for tray in pipeline.checked(log).trays} == {4}
    assert read_settings(settings_file(log)).trial["Crop"] == "basil"


def test_french_headers_with_decimal_commas_and_days_before_months(tmp_path):
    names = {"warm": "tiède", "plain": "témoin"}
    told = [
        (tray[1], names[kind], plant, f"{weight:.2f}".replace(".", ","))
        for tray, kind, plant, weight in ROWS
    ]
    lines = [
        f"B{tray};{kind};{plant};{weight};1{tray}/04/2026" for tray, kind, plant, weight in told
    ]
    log = tmp_path / "log.csv"
    head = ("Essai;;;;", "Bac;Traitement;Plante n°;Masse fraîche (g);Date de récolte")
    log.write_text("\n".join([*head, *lines, "Moyenne;;;28,81;"]) + "\n", encoding="cp1252")
    state = understood((log,), {})
    reference = next(question for question in state.questions if question.key == "trial.reference")
    assert reference.default == "témoin"
    days = {question.key: question.default for question in state.questions}
    assert days["trial.harvested_on"] == "2026-04-14"
    adopt(log, talk=answering())
    assert means(log) == {"témoin": MEANS["plain"], "tiède": MEANS["warm"]}


# --- units


@pytest.mark.parametrize(
    ("header", "grams"),
    [
        ("Fresh weight (kg)", 1000),
        ("Fresh weight (dag)", 10),  # the prefixes deca and hecto of the SI
        ("Fresh weight (hg)", 100),
        ("Fresh weight (oz)", 28.349523125),  # the avoirdupois ounce and pound
        ("Fresh weight (lbs)", 453.59237),
        ("Fresh weight (grammi)", 1),
        ("Fresh weight (g/plant)", 1),
    ],
)
def test_a_unit_in_the_header_is_converted(tmp_path, header, grams):
    log = book(tmp_path, Log=[(*HEAD[:3], header), *((*row[:3], row[3] / grams) for row in ROWS)])
    adopt(log, talk=answering(stop="unit"))
    assert means(log) == MEANS


def test_a_unit_alone_heads_a_weight(tmp_path):
    log = book(tmp_path, Log=[(*HEAD[:3], "kg"), *((*row[:3], row[3] / 1000) for row in ROWS)])
    assert keys(log) == ["Log.quantity.kg"]
    adopt(log, talk=answering())
    assert means(log) == MEANS


def test_a_unit_in_a_row_of_its_own_is_read(tmp_path):
    rows = [(*row[:3], row[3] / 1000) for row in ROWS]
    log = book(
        tmp_path,
        Log=[("Tray", "Treatment", "Plant", "Fresh weight"), (None, None, None, "kg"), *rows],
    )
    adopt(log, talk=answering(stop="unit"))
    assert means(log) == MEANS


def test_units_behind_the_numbers_in_cells_are_read(tmp_path):
    rows = [(*row[:3], f"{row[3] / 1000:.5f} kg") for row in ROWS]
    log = book(tmp_path, Log=[(*HEAD[:3], "Fresh weight"), *rows])
    adopt(log, talk=answering(stop="unit"))
    assert means(log) == MEANS


@pytest.mark.parametrize(
    "note", ["Nutrient salts: weight in kg", "Dry weight in mg", "All weights in kg"]
)
def test_a_unit_that_stands_at_no_weight_is_asked(tmp_path, note):
    log = book(
        tmp_path,
        Log=[("Tray", "Treatment", "Plant", "Wet weight"), *ROWS],
        Notes=[(note,), ("A lamp broke",)],
    )
    assert keys(log) == ["Log.measure.Wet weight"]


# --- what a header does not say


@pytest.mark.parametrize(
    ("head", "key"),
    [
        (("Tray", "Treatment", "Plant", "Fresh weight"), "Log.measure.Fresh weight"),
        (("Tray", "Treatment", "Plant", "Weight (g)"), "Log.quantity.Weight"),
    ],
)
def test_what_a_header_does_not_say_is_asked_and_left_open_without_an_answer(tmp_path, head, key):
    log = book(tmp_path, Log=[head, *ROWS])
    assert keys(log) == [key]
    adopt(log)
    with pytest.raises(WorkbookError, match="settles no table"):
        pipeline.checked(log)


def test_whether_a_row_is_a_plant_or_a_whole_tray_is_asked(tmp_path):
    log = book(
        tmp_path,
        Log=[("Tray", "Treatment", "Fresh weight (g)"), *((*row[:2], row[3]) for row in ROWS[::4])],
    )
    (question,) = asked(log)
    answers = [choice.answer for choice in question.choices[:2]]
    assert answers == ["each value is of a whole tray", "each value is of one plant"]


def test_a_weight_of_plant_and_pot_together_is_no_fresh_weight_without_a_word(tmp_path):
    log = book(tmp_path, Log=[(*HEAD[:3], "weight with pot (g)"), *ROWS])
    assert any(key.startswith("Log.quantity") for key in keys(log))


@pytest.mark.parametrize("header", ["Vaschetta", "Cajón", "Kasten", "Caisse", "Kist", "Parzelle"])
def test_what_plants_stood_in_is_known_in_every_language(tmp_path, header):
    log = book(tmp_path, Log=[(header, *HEAD[1:]), *ROWS])
    adopt(log, talk=answering())
    assert means(log) == MEANS


def test_water_as_a_factor_is_the_treatment(tmp_path):
    log = book(tmp_path, Log=[("Tray", "Water", "Plant", "Fresh weight (g)"), *ROWS])
    adopt(log, talk=answering())
    assert means(log) == MEANS


# --- words and marks among the numbers


@pytest.mark.parametrize("word", ["NA", "n/a", "nd"])
def test_words_for_no_value_are_known(tmp_path, word):
    log = book(tmp_path, Log=[HEAD, *ROWS, ("T1", "warm", 5, word)])
    assert keys(log) == []
    adopt(log, talk=answering())
    assert means(log) == MEANS


@pytest.mark.parametrize("word", ["died", "rotted"])
def test_words_for_a_loss_are_known_and_the_plant_counts_as_started(tmp_path, word):
    log = book(tmp_path, Log=[HEAD, *ROWS, ("T1", "warm", 5, word)])
    adopt(log, talk=answering(word="plant lost"))
    assert pipeline.checked(log).trays[0].plants_started == 5
    assert means(log) == MEANS


@pytest.mark.parametrize("cell", [None, 0, "escaped"])
def test_what_a_blank_a_zero_and_a_word_mean_is_asked(tmp_path, cell):
    log = book(tmp_path, Log=[HEAD, *ROWS, ("T1", "warm", 5, cell)])
    (key,) = keys(log)
    assert key in ("Log.blank.Fresh weight", "row.Log!D18", "word.escaped")
    adopt(log, talk=answering(blank="plant lost", word="plant lost", row="dead"))
    assert pipeline.checked(log).trays[0].plants_started == 5
    assert means(log) == MEANS


@pytest.mark.parametrize(
    "text", ["30.6*", "30.6 (damaged)", "~30.6", "ca. 30.6", "30,6*", "30.6g", "30.6 gr"]
)
def test_a_number_with_a_mark_or_a_unit_counts(tmp_path, text):
    log = book(tmp_path, Log=[HEAD, *with_text(text)])
    adopt(log, talk=answering())
    assert means(log) == MEANS


@pytest.mark.parametrize("text", ["24.7+5.0", "3 of 4", "24 kg*", "(24)"])
def test_a_text_with_no_single_number_is_asked(tmp_path, text):
    log = book(tmp_path, Log=[HEAD, *with_text(text)])
    assert keys(log) == [f"word.{text}"]
    adopt(log, talk=answering())
    assert measured(pipeline.checked(log), "fresh_weight").estimates


@pytest.mark.parametrize(("answer", "plants"), [("left out", 15), ("dead", 15), ("30.6", 16)])
def test_a_limit_is_no_value_without_a_word(tmp_path, answer, plants):
    log = book(tmp_path, Log=[HEAD, *with_text("<31")])
    assert keys(log) == ["row.Log!D2"]
    adopt(log, talk=answering(row=answer))
    assert (
        sum(
            plant.number for plant in pipeline.checked(log).plants if plant.fresh_weight is not None
        )
        == plants
    )


# --- marks of the sheet


def marked(tmp_path, rows, *, colour="", comment=""):
    log = book(tmp_path, Log=[HEAD, *ROWS])
    made = openpyxl.load_workbook(log)
    for row in rows:
        for column in range(1, 5) if colour else (4,):
            cell = made["Log"].cell(row, column)
            if colour:
                cell.fill = PatternFill("solid", fgColor=colour)
            else:
                cell.comment = Comment(comment, "A. Grower")
    made.save(log)
    return log


@pytest.mark.parametrize(("answer", "numbers"), [("keep as it is", 16), ("left out", 14)])
def test_rows_in_a_colour_are_left_out_only_where_their_owner_says_so(tmp_path, answer, numbers):
    log = marked(tmp_path, [3, 9], colour="FFFF00")
    assert keys(log) == ["row.Log!A3:D3, A9:D9"]
    adopt(log, talk=answering(row=answer))
    assert sum(plant.number for plant in pipeline.checked(log).plants) == numbers


def test_a_comment_on_a_value_is_told(tmp_path):
    log = marked(tmp_path, [3], comment="fell off the scale")
    _, said = adopt(log, talk=answering(row="keep as it is"))
    assert "fell off the scale" in said or any(
        "fell off" in str(one) for one in pipeline.checked(log).findings
    )


@pytest.mark.parametrize(
    "rows", [range(2, 18, 2), range(1, 18)], ids=["every other row", "all rows"]
)
def test_a_colour_for_looks_marks_nothing(tmp_path, rows):
    assert keys(marked(tmp_path, rows, colour="DDDDDD")) == []


# --- rows that are no plants


def test_a_table_of_means_below_the_plants_is_not_taken(tmp_path):
    summary = [
        (),
        ("treatment", "mean fresh weight (g)", "n"),
        ("warm", 31.35, 8),
        ("plain", 26.275, 8),
    ]
    log = book(tmp_path, Log=[HEAD, *ROWS, *summary])
    adopt(log, talk=answering(covers="no part of the trial", row="left out"))
    assert means(log) == MEANS


def test_numbers_of_rows_are_no_measurement(tmp_path):
    log = book(
        tmp_path,
        Log=[
            ("#", *HEAD, "Number_after"),
            *((at, *row, at % 5 + 7) for at, row in enumerate(ROWS, 1)),
        ],
    )
    adopt(log, talk=answering())
    assert means(log) == MEANS
    assert "#" not in settings_file(log).read_text().replace("# How", "").replace("# Labels", "")


def test_an_ec_that_is_a_place_is_not_taken(tmp_path):
    log = book(tmp_path, Log=[(*HEAD, "EC"), *((*row, "east corner") for row in ROWS)])
    adopt(log, talk=answering())
    assert "EC" not in settings_file(log).read_text()


@pytest.mark.parametrize("word", ["Desv. est.", "s", "LSD", "roots", "leftover"])
def test_a_word_among_numbered_plants_waits(tmp_path, word):
    rows = [
        one
        for tray in (0, 4, 8, 12)
        for one in (*ROWS[tray : tray + 4], (*ROWS[tray][:2], word, 20.0))
    ]
    log = book(tmp_path, Log=[HEAD, *rows])
    assert keys(log) == ["row.Log!6:6, 11:11, 16:16, 21:21"]
    adopt(log, talk=answering(row="left out"))
    assert means(log) == MEANS
    settings_file(log).unlink()
    adopt(log, talk=answering(row="keep as it is"))
    assert sum(plant.number for plant in pipeline.checked(log).plants) == 20


def test_plants_that_are_all_named_by_words_do_not_wait(tmp_path):
    names = {1: "left", 2: "middle", 3: "right", 4: "back"}
    log = book(tmp_path, Log=[HEAD, *((*row[:2], names[row[2]], row[3]) for row in ROWS)])
    adopt(log, talk=answering())
    assert means(log) == MEANS


@pytest.mark.parametrize(
    "names", [("1-5", "6-10"), ("1 to 5", "6 to 10"), ("plants 1-5", "plants 6-10")]
)
def test_lots_of_plants_wait_for_their_number(tmp_path, names):
    lots = [(*row[:2], name, 5 * row[3]) for row in ROWS[::4] for name in names]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Plants", "Fresh weight (g)"), *lots])
    assert any("name several plants, and count as one" in question.ask for question in asked(log))


def test_plants_named_by_tray_and_number_are_no_lots(tmp_path):
    log = book(tmp_path, Log=[HEAD, *((*row[:2], f"{row[0][1]}-{row[2]}", row[3]) for row in ROWS)])
    adopt(log, talk=answering())
    assert means(log) == MEANS


def test_several_crops_in_one_table_are_asked_for(tmp_path):
    log = book(
        tmp_path, Log=[(*HEAD, "Crop"), *((*row, ("chard", "basil")[row[2] % 2]) for row in ROWS)]
    )
    (question,) = asked(log)
    assert {"chard", "basil"} <= set(" ".join(choice.answer for choice in question.choices).split())


def test_a_numbered_plant_that_weighs_the_mean_of_those_before_it_is_a_plant(tmp_path):
    # the fifth plant of each tray is the mean of the four before it, to the decimals of the scale
    held = [30.1, 33.4, 28.2, 31.5]
    weights = [*held, round(sum(held) / 4, 1), 35.0]
    rows = [
        (f"T{tray}", kind, plant, weight, round(0.06 * weight, 2))
        for tray, kind in ((1, "warm"), (2, "plain"), (3, "warm"), (4, "plain"))
        for plant, weight in enumerate(weights, start=1)
    ]
    log = book(tmp_path, Log=[(*HEAD, "Dry weight (g)"), *rows])
    adopt(log, talk=answering())
    assert sum(plant.number for plant in pipeline.checked(log).plants) == 24


def test_of_several_pickings_side_by_side_the_total_is_no_picking(tmp_path):
    picked = [
        (f"B{at}", "straw" if at % 2 else "straw and coffee", 400 + 7 * at, 150 + 3 * at)
        for at in range(1, 9)
    ]
    log = book(
        tmp_path,
        Log=[
            ("Bag", "Substrate", "Flush 1 (g)", "Flush 2 (g)", "Total (g)"),
            *((*row, row[2] + row[3]) for row in picked),
        ],
    )
    truth = {"straw": (4, pytest.approx(590.0)), "straw and coffee": (4, pytest.approx(600.0))}
    adopt(log, talk=answering(truth=truth))
    assert means(log, "tray_yield") == truth


def test_a_number_of_plants_that_were_weighed_together_tells_of_no_losses(tmp_path):
    rows = [(f"S{at}", "ab"[at % 2], 12, 800.5 + at) for at in range(8)]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Number of plants", "Fresh weight (g)"), *rows])
    truth = {"a": (4, pytest.approx(803.5 / 12)), "b": (4, pytest.approx(804.5 / 12))}
    adopt(log, talk=answering(truth=truth))
    assert means(log) == truth
    assert {tray.started_known for tray in pipeline.checked(log).trays} == {False}


def test_dead_plants_that_were_weighed_are_told(tmp_path):
    log = book(
        tmp_path, Log=[(*HEAD, "Status"), *((*row, "dead" if row[2] == 2 else "") for row in ROWS)]
    )
    adopt(log, talk=answering())
    with pytest.raises(WorkbookError) as stopped:
        pipeline.checked(log)
    dead = [one.cell for one in stopped.value.problems if "a plant that is dead" in one.found]
    assert dead == ["D3", "D7", "D11", "D15"]


# --- measures other than a fresh weight

MEASURES = {  # a header, its key
    "Dry weight (g)": "dry_weight",
    "Peso seco (g)": "dry_weight",
    "Height (cm)": "height",
    "Number of leaves": "leaves",
    "Flowers": "flowers",
}


@pytest.mark.parametrize("header", MEASURES)
def test_a_log_of_one_measure_finds_its_place_and_nobody_asks_for_fresh_weights(tmp_path, header):
    trays = (
        ("F1", "fed", 12),
        ("P1", "plain", 10),
        ("F2", "fed", 13),
        ("P2", "plain", 11),
        ("F3", "fed", 12),
    )
    rows = [(tray, fed, number, size + number) for tray, fed, size in trays for number in (1, 2, 3)]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Plant", header), *rows])
    _, said = adopt(log, talk=answering())
    # Plants are size + 1, size + 2 and size + 3: means of trays 14, 15, 14 and 12, 13.
    assert means(log, MEASURES[header]) == {
        "fed": (3, pytest.approx(43 / 3)),
        "plain": (2, pytest.approx(12.5)),
    }
    told = [said, settings_file(log).read_text("utf-8"), *map(str, pipeline.check(log).problems)]
    assert "fresh" not in " ".join(told).casefold()
