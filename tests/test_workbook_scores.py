"""Scores in a workbook: the scale in the header, classes checked against it, columns that look like
scores.
"""

import pytest

from reportgen import metrics, report
from reportgen.model.document import Paragraph
from reportgen.model.problem import Severity
from reportgen.workbook.scales import class_in, scale_of
from tests import adopting
from tests.workbooks import findings, least, put, said, trial, whole, write

ZERO_TO_FIVE = ("0", "1", "2", "3", "4", "5")


@pytest.mark.parametrize(
    ("bracket", "scale"),
    [
        ("0-5", ZERO_TO_FIVE),
        ("0 – 5", ZERO_TO_FIVE),
        ("0..5", ZERO_TO_FIVE),
        ("0 to 5", ZERO_TO_FIVE),
        ("score 0-5", ZERO_TO_FIVE),
        ("Rating: 0-5", ZERO_TO_FIVE),
        ("0-5 scale", ZERO_TO_FIVE),
        ("escala 0 a 5", ZERO_TO_FIVE),
        ("note de 0", ()),
        ("échelle 0 à 5", ZERO_TO_FIVE),
        ("Note 1 bis 3", ("1", "2", "3")),
        ("0 tot 2", ("0", "1", "2")),
        ("1 to 9", tuple(map(str, range(1, 10)))),
        ("pale < green < dark", ("pale", "green", "dark")),
        ("dark > green > pale", ("pale", "green", "dark")),
        ("0 < 1 < 3 < 5 < 7 < 9", ("0", "1", "3", "5", "7", "9")),
        ("- < + < ++", ("-", "+", "++")),
        ("very  pale<pale", ("very pale", "pale")),
    ],
)
def test_a_scale_is_a_range_of_whole_numbers_or_words_in_order(bracket, scale):
    assert scale_of(bracket) == scale


@pytest.mark.parametrize(
    "bracket",
    [
        "g",
        "%",
        "mS/cm",
        "µmol/m2/s",
        "",
        "0-100",
        "5-0",
        "3-3",
        "< 5",
        "a < a",
        "a <",
        "a <= b",
        "0.5-1.5",
    ],
)
def test_a_unit_a_long_range_and_half_a_scale_are_none(bracket):
    assert scale_of(bracket) == ()


def test_a_cell_names_a_class_without_regard_to_case_accents_and_spaces():
    scale = ("very pale", "verde pálido", "dark")
    assert [class_in(text, scale) for text in ("Very-Pale", "VERDE PALIDO", "drak")] == [
        "very pale",
        "verde pálido",
        "",
    ]
    assert [class_in(text, ("-", "+", "++")) for text in ("+", "++", "-", "+++")] == [
        "+",
        "++",
        "-",
        "",
    ]
    assert class_in("03", ZERO_TO_FIVE) == "3"
    assert class_in("1.2", scale_of("0-12")) == class_in("-1", scale_of("0-12")) == ""


def scored(**cells):
    """Return the least workbook with a score of numbers in column D and one of words in column E."""
    sheets = least()
    put(sheets, Plants_D1="Tip burn (0-5)", Plants_E1="Colour (pale < green < dark)")
    for row in range(2, len(sheets["Plants"]) + 1):
        put(
            sheets,
            **{f"Plants_D{row}": row % 6, f"Plants_E{row}": ("pale", "Green", "DARK")[row % 3]},
        )
    return put(sheets, **cells)


def test_a_score_comes_into_the_trial_as_positions_on_its_scale(tmp_path):
    made = trial(write(scored(Plants_D3=None), tmp_path / "trial.xlsx"))
    assert [(trait.key, trait.label, trait.scale) for trait in made.traits] == [
        ("tip_burn", "Tip burn", ZERO_TO_FIVE),
        ("colour", "Colour", ("pale", "green", "dark")),
    ]
    assert [plant.traits for plant in made.plants[:3]] == [(2.0, 2.0), (None, 0.0), (4.0, 1.0)]
    assert made.findings == ()


def test_a_scale_that_begins_above_0_has_its_first_class_at_position_0(tmp_path):
    sheets = put(
        least(), Plants_D1="Vigour (score 1 to 9)", Plants_D2=1, Plants_D3="9", Plants_D4=5.0
    )
    made = trial(write(sheets, tmp_path / "trial.xlsx"))
    assert [plant.traits for plant in made.plants[:4]] == [(0.0,), (8.0,), (4.0,), (None,)]


@pytest.mark.parametrize("value", [6, -1, 2.5, "3-4", "bad", True])
def test_a_value_that_is_no_class_is_an_error_with_the_list(tmp_path, value):
    found = findings(write(scored(Plants_D4=value), tmp_path / "trial.xlsx"))
    assert [(one.severity, one.cell, one.code, one.expected) for one in found] == [
        (Severity.ERROR, "D4", "not_a_class", "one of 0, 1, 2, 3, 4, 5")
    ]


def test_a_slip_of_a_word_names_the_class_that_was_meant(tmp_path):
    (found,) = findings(write(scored(Plants_E4="drak"), tmp_path / "trial.xlsx"))
    assert found.advice == "Did you mean dark?"
    assert str(found).startswith(
        'Plants!E4: "drak" is not a class of Colour; expected one of pale, green, dark.'
    )


def test_many_alike_mistakes_are_one_message(tmp_path):
    spoilt = {f"Plants_D{row}": 7 for row in range(2, 12)}
    (found,) = findings(write(scored(**spoilt), tmp_path / "trial.xlsx"))
    assert (found.cell, found.code) == ("D2:D11", "not_a_class")


def test_a_declared_quantity_with_a_scale_is_asked_for_another_name(tmp_path):
    sheets = put(least(), Plants_D1="Leaves (1-5)", Plants_D2=3)
    (found,) = findings(write(sheets, tmp_path / "trial.xlsx"))
    assert (found.cell, found.code) == ("D1", "scale_of_quantity")
    assert "Leaves score (1-5)" in found.advice


def test_a_bracket_behind_a_declared_column_that_is_no_measurement_is_read_as_before(tmp_path):
    sheets = whole()
    sheets["Solution"][0][5] = "pH (0-14)"
    assert [one.code for one in findings(write(sheets, tmp_path / "trial.xlsx"))] == []


def test_one_class_for_several_rows_is_asked_back(tmp_path):
    path = write(
        scored(), tmp_path / "trial.xlsx", lambda book: book["Plants"].merge_cells("D2:D4")
    )
    (found,) = findings(path)
    assert (found.code, found.cell) == ("merged_numbers", "D2:D4")
    assert found.found == "D2:D4 is merged, one class for 3 rows"


@pytest.mark.parametrize(
    ("header", "proposed"),
    [
        ("Tip burn", "Tip burn (0-5)"),
        ("Tipburn", "Tipburn (0-5)"),
        ("Puntuación de daño", "Puntuación de daño (0-5)"),
        ("Mehltaubefall Note", "Mehltaubefall Note (0-5)"),
        ("Farbe", "Farbe (0-5)"),
        ("Dégâts", "Dégâts (0-5)"),
        ("Gravità", "Gravità (0-5)"),
        ("Ziekte cijfer", "Ziekte cijfer (0-5)"),
        ("Browning (0 = none, 5 = dead)", "Browning (0-5)"),
    ],
)
def test_a_column_that_looks_like_a_score_is_told_how_to_write_its_header(
    tmp_path, header, proposed
):
    sheets = put(least(), Plants_D1=header, Plants_D2=0, Plants_D3=3, Plants_D4=4)
    (found,) = findings(write(sheets, tmp_path / "trial.xlsx"))
    assert (found.severity, found.cell, found.code) == (Severity.CAUTION, "D1", "looks_like_score")
    assert proposed in found.advice


@pytest.mark.parametrize(
    ("tag", "counted"),
    [
        ("en", "The check of the workbook left 1 caution open."),
        ("es", "La revisión del libro de cálculo dejó 1 precaución sin resolver."),
    ],
)
def test_the_check_warns_of_the_mean_of_a_rating_and_the_report_counts_what_was_left_open(
    tmp_path, tag, counted
):
    sheets = put(least(), Plants_D1="Damage", Plants_D2=0, Plants_D3=3, Plants_D4=4)
    put(sheets, Trial_A9="Language", Trial_B9=tag)
    of = trial(write(sheets, tmp_path / "trial.xlsx"))
    assert any("the mean of a rating has no meaning" in str(finding) for finding in of.findings)
    sections = report.compose(of, metrics.compute(of)).all_sections
    paragraphs = [
        block.text for one in sections for block in one.blocks if isinstance(block, Paragraph)
    ]
    assert counted in paragraphs


@pytest.mark.parametrize(
    ("header", "values"),
    [
        ("Side shoots", (0, 3, 4)),
        ("Damage (%)", (0, 3, 4)),
        ("Damage", (0, 3.5, 4)),
        ("Damage", (0, 3, 14)),
        ("Damage", (0, 3)),
    ],
)
def test_counts_shares_and_sizes_are_not_taken_for_scores(tmp_path, header, values):
    cells = {f"Plants_D{row}": value for row, value in enumerate(values, 2)}
    assert said(write(put(least(), Plants_D1=header, **cells), tmp_path / "trial.xlsx")) == []


def test_a_score_is_looked_at_by_no_rule_for_sizes(tmp_path):
    sheets = scored()
    for row in range(2, len(sheets["Plants"]) + 1):
        put(sheets, **{f"Plants_D{row}": 5 if row == 2 else 0})
    assert trial(write(sheets, tmp_path / "trial.xlsx")).findings == ()


def test_scores_of_growing_plants_are_read_too(tmp_path):
    sheets = whole()
    column = ["Colour (pale<dark)", *["pale", "dark"] * 6]
    sheets["Growth"] = [[*row, cell] for row, cell in zip(sheets["Growth"], column, strict=True)]
    made = trial(write(sheets, tmp_path / "trial.xlsx"))
    assert [trait.is_score for trait in made.growth_traits] == [False, False, True]
    assert {one.values[2] for one in made.growth} == {0.0, 1.0}


def test_recorded_data_keep_the_classes_and_say_their_order(tmp_path):
    made = trial(write(scored(), tmp_path / "trial.xlsx"))
    plants = next(table for table in made.data if table.name == "Plants")
    burn, colour = plants.columns[-2:]
    assert (burn.type, burn.values[:3], burn.at_least, burn.at_most) == ("integer", (2, 3, 4), 0, 5)
    assert (colour.type, colour.values[:3]) == ("string", ("dark", "pale", "green"))
    assert colour.choices == ("pale", "green", "dark")
    assert colour.description.endswith("the lowest first: pale, green, dark.")


def test_a_score_can_be_the_main_measure(tmp_path):
    sheets = scored(Trial_A8="Main measure", Trial_B8="Colour (pale < green < dark)")
    assert trial(write(sheets, tmp_path / "trial.xlsx")).main_measure == "colour"


def test_a_score_that_stands_twice_is_an_error(tmp_path):
    sheets = scored(Plants_F1="Tip burn (1-9)", Plants_F2=3)
    (found,) = findings(write(sheets, tmp_path / "trial.xlsx"))
    assert (found.cell, found.code) == ("F1", "repeated_name")


MAPPING = adopting.PLANTS.replace(
    '"g" } }', '"g" }, "Tip burn (0-5)" = { columns = ["Tip burn (0-5)"] } }'
)


def log(tmp_path):
    held = adopting.rows()
    further = ["Tip burn (0-5)", *(n % 4 for n in range(12))]
    return adopting.book(
        tmp_path, Log=[(*row, more) for row, more in zip(held, further, strict=True)]
    )


def test_the_scores_of_a_log_are_read_by_their_scale_and_a_0_among_them_is_no_question(tmp_path):
    toml = MAPPING + adopting.TRIAL
    made = adopting.trial(log(tmp_path), toml)
    assert [trait.scale for trait in made.traits] == [ZERO_TO_FIVE]
    assert [plant.traits for plant in made.plants[:3]] == [(0.0,), (1.0,), (2.0,)]
    assert adopting.said(log(tmp_path), toml) == []
