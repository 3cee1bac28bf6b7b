"""Reading a workbook: names, codes, dates, traits, and the oddities of sheets that growers keep."""

import zipfile
from datetime import date, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl.worksheet.formula import ArrayFormula

from reportgen.model.problem import Severity
from tests.pots import LETTUCE, write_pots
from tests.workbooks import TRAYS, findings, good, put, said, trial, whole, write


def test_a_good_workbook_gives_its_trial(tmp_path):
    made = trial(write(good(), tmp_path / "Coriander, spring 2026.xlsx"))
    assert (made.slug, made.about.title, made.reference) == (
        "coriander-spring-2026",
        "Nutrient strength for coriander",
        "half",
    )
    assert (made.sown_on, made.started_on, made.harvested_on) == (
        date(2026, 3, 10),
        date(2026, 4, 1),
        date(2026, 5, 6),
    )
    assert {tray.code: tray.treatment for tray in made.trays} == TRAYS
    assert [plant.fresh_weight for plant in made.plants[:4]] == [22.0, 23.0, 24.0, 25.0]
    assert [(trait.key, trait.label, trait.unit) for trait in made.traits] == [
        ("height", "Height", "cm")
    ]
    assert (made.solution[0].kind, made.solution[0].volume, made.solution[0].ph) == (
        "fill",
        5.0,
        5.9,
    )
    assert (made.meter[0].at, made.meter[0].reading, made.meter[0].treatment) == (
        datetime(2026, 4, 1, 9),
        100.0,
        "half",
    )
    assert (made.confidence_level, made.currency, made.variances) == (0.95, "USD", None)


def test_fields_of_the_trial_sheet_are_read_by_their_kind(tmp_path):
    fields = {
        "Confidence level": "90 %",
        "Currency": "eur",
        "Randomised": "Yes",
        "Keywords": "coriander, nutrient strength,",
        "Experimental unit": "Tray",
        "Variances": "Pooled",
        "Language": "de_AT",
        "Title": "Two\nlines",
    }
    sheets = good()
    sheets["Trial"] = [
        row for row in sheets["Trial"] if row[0] not in {*fields, "Electricity price (USD per kWh)"}
    ] + [list(pair) for pair in fields.items()]
    made = trial(write(sheets, tmp_path / "trial.xlsx"))
    assert (made.confidence_level, made.currency, made.variances) == (0.9, "EUR", "pooled")
    assert (made.about.randomised, made.about.keywords) == (
        True,
        ("coriander", "nutrient strength"),
    )
    assert (made.about.language, made.about.title) == ("de-AT", "Two\nlines")


def test_optional_sheets_may_be_missing_or_empty(tmp_path):
    sheets = {name: rows for name, rows in good().items() if name not in ("Solution", "Meter")}
    for rows in ([], [[]], [good()["Solution"][0]]):
        made = trial(write(sheets | {"Solution": rows}, tmp_path / "trial.xlsx"))
        assert (made.solution, made.meter, made.findings) == ((), (), ())


def test_names_are_matched_without_case_spaces_accents_and_underscores(tmp_path):
    sheets = put(
        good(),
        Plants_A1="TRAY ",
        Plants_B1=" plánt",
        Plants_C1="fresh_weight[g]",
        Trays_D1="Plants  Started",
        Trial_A5="started-on",
    )
    sheets = {
        {"Plants": "PLANTS_", "Trays": "tr ays"}.get(name, name): rows
        for name, rows in sheets.items()
    }
    assert (
        trial(write(sheets, tmp_path / "trial.xlsx")).plants
        == trial(write(good(), tmp_path / "good.xlsx")).plants
    )


def test_codes_are_matched_without_case_and_spelled_as_on_their_own_sheet(tmp_path):
    made = trial(
        write(
            put(good(), Trays_B2="HALF", Plants_A2=" a1 ", Solution_A2="a1", Trial_B7="Half"),
            tmp_path / "t.xlsx",
        )
    )
    assert (
        made.reference,
        made.trays[0].treatment,
        made.plants[0].tray,
        made.solution[0].tray,
    ) == ("half", "half", "A1", "A1")


@pytest.mark.parametrize(
    ("value", "number_format", "code"),
    [
        (1.1, "0.00", "1.10"),
        (7, "000", "007"),
        (0.05, "0%", "5%"),
        (3, "General", "3"),
        (3.0, "0", "3"),
        ("1.10", "@", "1.10"),
    ],
)
def test_codes_are_the_text_that_the_sheet_shows(tmp_path, value, number_format, code):
    def shown_as(book):
        for sheet, column in (("Trays", "A"), ("Plants", "A"), ("Solution", "A")):
            for (cell,) in book[sheet][f"{column}2:{column}5"][
                : 1 if sheet == "Trays" else 4 if sheet == "Plants" else 3
            ]:
                cell.value, cell.number_format = value, number_format

    made = trial(write(good(), tmp_path / "trial.xlsx", shown_as))
    assert (made.trays[0].code, made.plants[0].tray, made.solution[0].tray) == (code, code, code)
    assert made.findings == ()


def test_1_10_and_1_1_are_two_plants(tmp_path):
    def shown_as(book):
        book["Plants"]["B3"].number_format = "0.00"

    made = trial(
        write(put(good(), Plants_B2=1.1, Plants_B3=1.1), tmp_path / "trial.xlsx", shown_as)
    )
    assert [plant.code for plant in made.plants[:2]] == ["1.1", "1.10"]


def test_further_numeric_columns_are_traits_and_others_are_left_alone(tmp_path):
    sheets = put(
        good(),
        Plants_F1="Stem width (mm)",
        Plants_G1="Remarks",
        Plants_H1="葉長",
        Plants_I1="葉幅",
        Plants_F2="0.4 cm",
    )
    for row in range(2, 26):
        put(sheets, **{f"Plants_G{row}": "fine", f"Plants_H{row}": row, f"Plants_I{row}": -row / 2})
        put(sheets, **({f"Plants_F{row}": row / 2} if row > 2 else {}))
    made = trial(write(sheets, tmp_path / "trial.xlsx"))
    assert [(trait.label, trait.unit) for trait in made.traits] == [
        ("Height", "cm"),
        ("Stem width", "mm"),
        ("葉長", ""),
        ("葉幅", ""),
    ]
    assert [trait.key for trait in made.traits][:2] == ["height", "stem_width"]
    assert len({trait.key for trait in made.traits}) == 4
    assert made.plants[0].traits == (16.5, 4.0, 2.0, -1.0)
    assert said(tmp_path / "trial.xlsx") == [("remark", "Plants!G1:G25")]


@pytest.mark.parametrize(
    ("texts", "day"),
    [
        (("2026-04-02",), date(2026, 4, 2)),
        (("2026/04/02",), date(2026, 4, 2)),
        (("2.4.2026",), date(2026, 4, 2)),  # with full stops the day is first: common practice
        (("02/04/2026", "20/04/2026"), date(2026, 4, 2)),
        (("04/02/2026", "04/20/2026"), date(2026, 4, 2)),
        (("04/04/2026",), date(2026, 4, 4)),
        (("2026-04-02T09:30",), date(2026, 4, 2)),
    ],
)
def test_text_dates_are_read_where_the_column_decides_the_order(tmp_path, texts, day):
    cells = {f"Solution_B{row}": text for row, text in enumerate(texts, 2)}
    assert trial(write(put(good(), **cells), tmp_path / "trial.xlsx")).solution[0].on == day


def test_a_column_with_both_orders_of_day_and_month_is_asked_back(tmp_path):
    path = write(
        put(good(), Solution_B2="13/04/2026", Solution_B3="04/14/2026", Solution_B4="04/05/2026"),
        tmp_path / "trial.xlsx",
    )
    assert said(path) == [("error", "Solution!B4")]
    assert "both orders" in findings(path)[0].found


def test_rows_above_the_header_are_passed_over(tmp_path):
    sheets = good()
    sheets["Plants"] = [
        ["Harvest sheet of the coriander trial"],
        [],
        ["weighed wet", None, "in the morning"],
        *sheets["Plants"],
    ]
    sheets["Trial"] = [[], *sheets["Trial"]]
    assert (
        trial(write(sheets, tmp_path / "trial.xlsx")).plants
        == trial(write(good(), tmp_path / "good.xlsx")).plants
    )
    spoilt = write(put(sheets, Plants_C6="2O"), tmp_path / "trial.xlsx")
    assert said(spoilt) == [("remark", "Plants!A1:C3"), ("error", "Plants!C6")]


def test_a_trial_sheet_needs_no_header_row(tmp_path):
    sheets = good()
    del sheets["Trial"][0]
    made = trial(write(sheets, tmp_path / "trial.xlsx"))
    assert (made.about.title, made.findings) == ("Nutrient strength for coriander", ())


def test_blank_and_ragged_rows_and_beside_columns_do_no_harm(tmp_path):
    sheets = good()
    sheets["Plants"] = [*sheets["Plants"][:5], [], [None, "  "], *sheets["Plants"][5:], [], []]
    sheets["Solution"] = [row[: 4 + at % 4] for at, row in enumerate(sheets["Solution"], 3)]
    sheets["Trays"][1] += [None, None, None, "checked twice"]
    made = trial(write(sheets, tmp_path / "trial.xlsx"))
    assert (len(made.plants), len(made.solution)) == (24, 18)
    assert said(tmp_path / "trial.xlsx") == [("remark", "Trays!H2")]


@pytest.mark.parametrize("rows", [1, 25, 300])
def test_a_sheet_may_begin_anywhere(tmp_path, rows):
    moved = {name: [[] for _ in range(rows)] + held for name, held in whole().items()}
    made = trial(write(moved, tmp_path / "trial.xlsx"))
    plain = trial(write(whole(), tmp_path / "plain.xlsx"))
    assert made.findings == plain.findings == ()
    for part in (
        "about",
        "treatments",
        "trays",
        "plants",
        "growth",
        "solution",
        "meter",
        "light",
        "tariff",
        "costs",
    ):
        assert getattr(made, part) == getattr(plain, part)
    assert len(made.climate.at) == len(plain.climate.at) > 0


def test_hidden_rows_and_columns_are_read_and_a_caution_says_so(tmp_path):
    def hide(book):
        book["Plants"].row_dimensions[4].hidden = True
        book["Plants"].row_dimensions[400].hidden = True
        for letter in ("C", "D", "Z"):
            book["Plants"].column_dimensions[letter].hidden = True
        book["Meter"].sheet_state = "hidden"

    made = trial(write(good(), tmp_path / "trial.xlsx", hide))
    assert (len(made.plants), len(made.meter)) == (24, 6)
    assert [one.found for one in made.findings] == [
        "hidden: row 4, column C, column D",
        "hidden: the whole sheet",
    ]
    assert {str(one.severity) for one in made.findings} == {"caution"}


def test_formulas_count_by_the_value_that_was_saved(tmp_path):
    # A cell as spreadsheet programs save it (ECMA-376 part 1, 18.3.1.40 f, 18.3.1.96 v): formula
    # and last value.
    path = write(
        put(good(), Plants_C2="=11*2", Plants_E2='=""', Plants_D2=ArrayFormula("D2", "=SUM(1,2)")),
        tmp_path / "trial.xlsx",
    )
    replace_in(path, "xl/worksheets/sheet4.xml", {
        "<f>11*2</f><v></v>": "<f>11*2</f><v>22</v>",
        "<f>11*2</f><v />": "<f>11*2</f><v>22</v>",
        '<c r="E2"': '<c r="E2" t="str"',
    })  # fmt: skip
    assert said(path) == [("error", "Plants!D2")]


def replace_in(path, member, texts):
    with zipfile.ZipFile(path) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    text = members[member].decode()
    for old, new in texts.items():
        text = text.replace(old, new)
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in members.items():
            archive.writestr(name, text if name == member else content)


def test_trays_that_are_pots_are_read_as_such(tmp_path):
    made = trial(write_pots(tmp_path / "pots.xlsx", LETTUCE))
    assert (made.experimental_unit, len(made.trays)) == ("plant", 28)


@settings(
    max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(seed=st.randoms(use_true_random=False))
def test_the_order_of_rows_columns_and_sheets_changes_nothing(tmp_path, seed):
    sheets = good()
    for name, rows in sheets.items():
        order = seed.sample(range(len(rows[0])), len(rows[0])) if name != "Trial" else [0, 1]
        body = [[row[at] for at in order] for row in seed.sample(rows[1:], len(rows) - 1)]
        sheets[name] = [[rows[0][at] for at in order], *body]
    sheets = dict(seed.sample(list(sheets.items()), len(sheets)))
    plain, shuffled = (
        trial(write(good(), tmp_path / "plain.xlsx")),
        trial(write(sheets, tmp_path / "shuffled.xlsx")),
    )
    for part in ("treatments", "trays", "plants", "solution", "meter"):
        assert sorted(map(repr, getattr(plain, part))) == sorted(map(repr, getattr(shuffled, part)))
    assert (plain.about, plain.reference, shuffled.findings) == (
        shuffled.about,
        shuffled.reference,
        (),
    )


def test_a_plant_that_gave_nothing_has_a_weight_of_0_and_counts_in_the_mean(tmp_path):
    path = write(put(good(), Plants_C5=0), tmp_path / "trial.xlsx")
    assert [problem for problem in findings(path) if problem.severity is Severity.ERROR] == []
    plants = [plant for plant in trial(path).plants if plant.tray == trial(path).plants[3].tray]
    assert plants[3].fresh_weight == 0
    assert (plants[3].status, len(plants)) == ("harvested", 4)
