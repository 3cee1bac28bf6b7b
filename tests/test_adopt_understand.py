"""Logs of one habit each, understood; what is asked of their owner; what the answers change."""

from datetime import date, datetime
from pathlib import Path

import pytest

from reportgen.adopt.apply import adopted
from reportgen.adopt.csv_file import read_csv
from reportgen.adopt.mapping import UNKNOWN
from reportgen.adopt.questions import AnswerError
from reportgen.adopt.toml_file import parsed
from reportgen.adopt.toml_written import written
from reportgen.adopt.understand import answered, unanswered, understand
from reportgen.workbook.cells import read
from tests.logs import PLAIN, book, climate_rows, meter_rows, sheet, text_sheet

DATA = Path(__file__).parent / "data"
USUAL = {"Height": "cm", "Reading": "kWh", "Crop": "basil", "Started on": "2025-03-01", "Harvested on": "2025-04-05"}
KINDS = {"mass": "Fresh weight", "unit": "g", "per": "plant", "word": "it was not measured"}


def understood(*sheets, name="log"):
    return understand({"": book(*sheets, name=name)})


def answer_for(question):
    usual = USUAL.get(question.column) or KINDS.get(question.kind)
    return usual or question.default or question.choices[0]


def finished(found, **chosen):
    """Return what is understood once every question has an answer: its own in `chosen` by kind, else a usual one."""
    while open_ones := unanswered(found):
        question = open_ones[0]
        found = answered(found, question.key, chosen.get(question.kind) or answer_for(question))
    return found


def kinds(found):
    return {question.kind for question in unanswered(found)}


def table_of(workbook, name):
    raw = next(one for one in workbook.sheets if one.name == name)
    return [dict(zip(raw.rows[0], row, strict=True)) for row in raw.rows[1:] if any(row)]


def weights_of(files, found):
    """Return the fresh weights by treatment that come of files."""
    made = adopted(files, found.adoption).workbook
    treatments = {row["Tray"]: row["Treatment"] for row in table_of(made, "Trays")}
    weights = {}
    for row in table_of(made, "Plants"):
        value = next(value for name, value in row.items() if name.startswith("Fresh weight"))
        weights.setdefault(treatments[row["Tray"]], []).append(value)
    return weights


TWO = "Plant | Fresh weight (g)\n1 | {}\n2 | {}\n3 | {}"
WARM, COLD = TWO.format(20.1, 21.2, 22.4), TWO.format(17.1, 16.2, 18.4)
BOTH = {"warm": [20.1, 21.2, 22.4], "cold": [17.1, 16.2, 18.4]}
PAIRS = [("warm", 20.1), ("warm", 21.2), ("warm", 22.4), ("cold", 17.1), ("cold", 16.2), ("cold", 18.4)]
FIRST = [(name if at % 3 == 0 else None, weight) for at, (name, weight) in enumerate(PAIRS)]
HABITS = {
    "a column": [sheet([["Variety of heat, treatment", "Fresh weight (g)"], *PAIRS])],
    "merged cells": [sheet([["Treatment", "Fresh weight (g)"], *FIRST], merged=("A2:A4", "A5:A7"))],
    "the first row of a group": [sheet([["Treatment", "Fresh weight (g)"], *FIRST])],
    "a section row": [
        text_sheet(
            "Pot | Fresh weight (g) | Height\nwarm\nP1 | 20.1 | 9\nP2 | 21.2 | 9.5\nP3 | 22.4 | 9\n"
            "cold\nP4 | 17.1 | 8\nP5 | 16.2 | 8\nP6 | 18.4 | 7"
        )
    ],
    "the sheet's name": [text_sheet(WARM, "Harvest warm"), text_sheet(COLD, "Harvest cold")],
    "a heading": [text_sheet(f"warm\n{WARM}\n\ncold\n{COLD}")],
    "tables side by side": [
        sheet(
            [["warm", None, None, "cold"], ["Plant", "Fresh weight (g)", None] * 2]
            + [[at + 1, BOTH["warm"][at], None, at + 1, BOTH["cold"][at], None] for at in range(3)]
        )
    ],
    "an upper header": [
        sheet(
            [[None, "warm", None, "cold", None], ["Pot", *["Fresh weight (g)", "Height (cm)"] * 2]]
            + [[f"P{at}", BOTH["warm"][at], 9.5, BOTH["cold"][at], 8.5] for at in range(3)]
        )
    ],
    "a column each": [text_sheet("Fresh weight in g\n\nwarm | cold\n20.1 | 17.1\n21.2 | 16.2\n22.4 | 18.4")],
    "a code with a key": [
        text_sheet("Treatment | Fresh weight (g)\nW | 20.1\nW | 21.2\nW | 22.4\nC | 17.1\nC | 16.2\nC | 18.4", "Log"),
        text_sheet("Code | Meaning\nW | warm\nC | cold", "Key"),
    ],
}


@pytest.mark.parametrize("habit", HABITS)
def test_the_treatment_is_found_in(habit):
    files = {"": book(*HABITS[habit])}
    assert weights_of(files, finished(understand(files), independent="each row")) == BOTH


def test_the_treatment_is_found_in_the_files_names():
    files = {
        "": book(text_sheet(WARM), name="log_warm_2025"),
        "log_cold_2025.csv": book(text_sheet(COLD), name="log_cold_2025"),
    }
    assert weights_of(files, finished(understand(files), independent="each row")) == BOTH


def test_letters_of_tray_codes_are_asked_about_and_never_taken_for_treatments():
    found = understood(text_sheet("Tray | Fresh weight (g)\nW1 | 20\nW1 | 21\nW2 | 22\nP1 | 17\nP2 | 16\nP2 | 15"))
    assert set(found.adoption.tables[0].columns["Treatment"].codes.values()) == {UNKNOWN}
    assert next(one for one in unanswered(found) if one.kind == "letters").default == ""
    done = finished(found, letters="their letters are the treatments")
    assert done.adoption.tables[0].columns["Treatment"].codes == {"W1": "W", "W2": "W", "P1": "P", "P2": "P"}


def test_decimal_commas_and_french_headers_are_read():
    raw = sheet(
        [
            ["Bac", "Traitement", "Poids frais (g)"],
            ["B1", "tiède", "20,1"],
            ["B2", "témoin", "17,25"],
            ["B3", "tiède", "19"],
        ]
    )
    files = {"": book(raw)}
    assert weights_of(files, finished(understand(files))) == {"tiède": [20.1, 19.0], "témoin": [17.25]}


def test_a_column_of_few_texts_is_offered_as_the_treatment_and_brings_its_levels():
    found = understood(
        text_sheet("Tray | Colour code | Fresh weight (g)\n1 | red | 20\n1 | red | 21\n2 | blue | 22\n2 | blue | 17")
    )
    question = next(one for one in unanswered(found) if one.kind == "treatment")
    assert question.default == "Colour code"
    done = answered(found, question.key, "")
    assert next(one for one in unanswered(done) if one.column == "Reference treatment").choices == ("red", "blue")


# --- what is asked


def test_a_weight_without_a_unit_is_asked_for_and_never_taken_as_grams():
    found = understood(
        text_sheet(
            "Tray | Treatment | Plant | Fresh weight\nT1 | a | 1 | 20\nT1 | a | 2 | 21\n"
            "T2 | b | 1 | 22\nT2 | b | 2 | 19"
        )
    )
    assert "unit" in kinds(found)
    assert found.adoption.tables[0].columns["Fresh weight"].unit == UNKNOWN


def test_a_weight_that_is_not_said_to_be_fresh_or_dry_is_asked_for():
    found = understood(text_sheet("Tray | Treatment | weight (g)\nT1 | a | 20\nT1 | a | 21\nT2 | b | 22\nT2 | b | 19"))
    assert "mass" in kinds(found)
    done = finished(found, mass="Dry weight")
    assert "Dry weight" in done.adoption.tables[0].columns


def test_plant_or_pot_is_asked_where_no_header_says_so():
    rows = "a | 20\na | 21\nb | 22\nb | 19"
    assert "per" in kinds(understood(text_sheet(f"Treatment | Fresh weight (g)\n{rows}")))
    assert "per" not in kinds(understood(text_sheet(f"Treatment | Fresh weight per pot (g)\n{rows}")))


def test_what_was_treated_independently_is_asked_without_a_default_where_no_tray_is_known():
    found = understood(text_sheet("Treatment | Fresh weight (g)\na | 20\na | 21\nb | 22\nb | 19"))
    question = next(one for one in unanswered(found) if one.kind == "independent")
    assert question.default == ""


def test_a_tent_may_be_what_was_treated():
    rows = "\n".join(f"E{at % 2} | {'ab'[at % 2]} | {at} | {20 + at / 3}" for at in range(8))
    found = understood(text_sheet(f"Tent | Treatment | Plant | Fresh weight (g)\n{rows}"))
    done = finished(found, independent="Tent")
    assert done.adoption.trial["Experimental unit"] == "tray"
    assert done.adoption.tables[0].columns["Tray"].header == "Tent"


def test_blanks_zeros_and_dashes_are_asked_for_each():
    rows = (
        "T1 | a | 1 | 20\nT1 | a | 2 | died\nT1 | a | 3 | -\nT2 | b | 1 | 0\nT2 | b | 2 | n/a\n"
        "T2 | b | 3 | 18\nT2 | b | 4 | \nT1 | a | 4 | 21\nT1 | a | 5 | 22\nT2 | b | 5 | 23"
    )
    found = understood(text_sheet(f"Tray | Treatment | Plant | Fresh weight (g)\n{rows}"))
    assert {one.column for one in unanswered(found) if one.kind == "word"} == {"-", "0", ""}
    assert found.adoption.lost == ("died",)
    done = finished(found, word="the plant was lost")
    assert done.adoption.missing == ("n/a",)
    assert set(done.adoption.lost) == {"died", "-", "0", ""}


@pytest.mark.parametrize("word", ["dead", "tot", "mort", "muerta", "morto", "dood", "failed to grow"])
def test_words_for_a_lost_plant_are_known_in_seven_languages(word):
    rows = f"T1 | a | 1 | 20\nT1 | a | 2 | {word}\nT2 | b | 1 | 22\nT2 | b | 2 | 21"
    assert understood(text_sheet(f"Tray | Treatment | Plant | Fresh weight (g)\n{rows}")).adoption.lost == (word,)


def test_a_counter_or_amounts_is_asked_of_a_meter():
    found = understood(text_sheet(PLAIN), sheet([["Meter", "Date", "Reading (kWh)"], *meter_rows()], "Power"))
    question = next(one for one in unanswered(found) if one.kind == "cumulative")
    assert question.default == question.choices[0]
    assert finished(found).adoption.tables[1].cumulative is True


def test_amounts_since_the_reading_before_get_no_default():
    rows = [["m", datetime(2025, 3, day), 3.1 + day % 3] for day in range(1, 9)]
    found = understood(text_sheet(PLAIN), sheet([["Meter", "Date", "Reading (kWh)"], *rows], "Power"))
    assert next(one for one in unanswered(found) if one.kind == "cumulative").default == ""


def test_a_meter_for_each_treatment_is_told_by_the_headers():
    rows = [[row[1], row[2], row[2] - 900] for row in meter_rows()]
    found = understood(text_sheet(PLAIN), sheet([["Date", "Meter mat (kWh)", "Meter none (kWh)"], *rows], "Power"))
    meters = [table for table in found.adoption.tables if table.gives == "Meter"]
    assert [table.constants["Treatment"] for table in meters] == ["mat", "none"]


def test_whose_climate_it_is_is_asked():
    found = understood(text_sheet(PLAIN), sheet([["Time", "Temp (°C)", "RH (%)"], *climate_rows()], "Logger"))
    assert next(one for one in unanswered(found) if one.kind == "whose").choices == ("all", "mat", "none")


def test_the_unit_of_an_ec_is_asked_and_the_values_tell_what_is_likely():
    found = understood(
        text_sheet(PLAIN),
        text_sheet(
            "Tray | Date | Event | Volume (L) | EC\nT1 | 2025-03-01 | fill | 10 | 1400\n"
            "T2 | 2025-03-02 | fill | 9 | 1500",
            "Water",
        ),
    )
    question = next(one for one in unanswered(found) if one.column == "EC")
    assert question.default == "µS/cm"


def test_events_of_other_languages_are_turned_into_ours():
    found = understood(
        text_sheet(PLAIN),
        text_sheet(
            "Bandeja | Fecha | Evento | Volumen (L)\nT1 | 2025-03-01 | llenado | 10\nT1 | 2025-03-08 | relleno | 2",
            "Agua",
        ),
    )
    assert found.adoption.tables[1].columns["Event"].codes == {"llenado": "fill", "relleno": "top-up"}


@pytest.mark.parametrize(("days", "asked"), [(("3/4/2025", "5/4/2025"), True), (("3/4/2025", "15/4/2025"), False)])
def test_day_and_month_are_asked_only_where_no_day_decides(days, asked):
    rows = "\n".join(f"T1 | {day} | fill | {at + 2}" for at, day in enumerate(days))
    found = understood(text_sheet(PLAIN), text_sheet(f"Tray | Date | Event | Volume (L)\n{rows}", "Water"))
    assert ("day first" in kinds(found)) is asked


def test_the_reference_is_always_asked_and_a_control_is_its_default():
    found = understood(text_sheet(PLAIN))
    assert next(one for one in unanswered(found) if one.column == "Reference treatment").default == "none"


def test_every_question_of_plants_shows_the_first_rows():
    for question in unanswered(understood(text_sheet(PLAIN))):
        if question.tables:
            assert question.rows[0] == ("Tray", "Treatment", "Plant no", "Fresh weight (g)", "Height (cm)")
            assert 2 <= len(question.rows) <= 6


# --- answers


def test_an_answer_leaves_what_was_understood_before_as_it_was():
    found = understood(text_sheet(PLAIN))
    done = answered(found, "trial.Crop", "basil")
    assert (found.adoption.trial["Crop"], done.adoption.trial["Crop"]) == (UNKNOWN, "basil")
    assert len(unanswered(done)) == len(unanswered(found)) - 1


@pytest.mark.parametrize(
    ("key", "answer"), [("trial.Started on", "in March"), ("trial.Reference treatment", "steam"), ("trial.Crop", "")]
)
def test_an_answer_that_does_not_fit_is_refused(key, answer):
    with pytest.raises(AnswerError):
        answered(understood(text_sheet(PLAIN)), key, answer)


def test_an_answer_to_nothing_is_an_error_of_the_caller():
    with pytest.raises(KeyError):
        answered(understood(text_sheet(PLAIN)), "trial.Weather", "fine")


def test_a_choice_may_be_given_by_its_number_or_its_beginning():
    found = understood(text_sheet(PLAIN))
    for typed in ("2", "none", "non"):
        assert answered(found, "trial.Reference treatment", typed).adoption.trial["Reference treatment"] == "none"


def test_days_are_kept_as_days():
    done = answered(understood(text_sheet(PLAIN)), "trial.Started on", "2025-03-01")
    assert done.adoption.trial["Started on"] == date(2025, 3, 1)


@pytest.mark.parametrize("habit", HABITS)
def test_what_is_understood_stands_in_the_settings_file_as_it_is(habit):
    found = understand({"": book(*HABITS[habit])})
    again = parsed(written(found.adoption, "log.xlsx", "", found.reasons), "")
    assert (again.trial, again.missing, again.lost) == (
        found.adoption.trial,
        found.adoption.missing,
        found.adoption.lost,
    )
    assert len(again.tables) == len(found.adoption.tables)


# --- real files


# Reference figures: the files' own data by R's tapply and by scipy; sources and licences in data/README.md.
def test_lettuce_on_compost_gives_the_published_means():
    files = {"": read_csv(DATA / "lettuce_compost.txt")}
    found = weights_of(files, finished(understand(files)))
    assert {name: len(values) for name, values in found.items()} == dict.fromkeys(
        ("control", "compost", "refoak", "cobc"), 7
    )
    assert sum(found["control"]) / 7 == pytest.approx(38.0)
    assert sum(found["compost"]) / 7 == pytest.approx(58.85714286)


def test_letters_that_are_no_treatments_do_no_harm_since_each_code_is_asked_for():
    files = {"": read(DATA / "salinity_raw.xlsx")}
    asked = understand(files)
    asked = answered(asked, "table.0.treatment", "I say the treatment of each code")
    for code in ("L1", "L2", "S3", "S4", "L5", "L6", "S7", "S8"):
        asked = answered(asked, f"table.0.treatment.{code}", "low" if int(code[1]) % 2 else "high")
    assert next(one for one in unanswered(asked) if one.column == "Reference treatment").choices == ("low", "high")
    found = weights_of(files, finished(asked))
    assert {name: len(values) for name, values in found.items()} == {"low": 36, "high": 37}
    assert sum(found["high"]) / 37 == pytest.approx(3.506378378)
    assert sum(found["low"]) / 36 == pytest.approx(120.7425556)  # with the slipped decimal point that the file has


def test_a_stray_last_row_of_pots_is_left_out():
    found = understand({"": read_csv(DATA / "pots_raw.csv")})
    assert found.adoption.tables[0].exclude_rows == (122,)
    assert "mass" in kinds(found)
