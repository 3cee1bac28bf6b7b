"""Taking in a log: questions by consequence, answers, the dialogue, the document for scripts."""

import importlib.util
import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from types import ModuleType

import pytest
from click.testing import CliRunner
from openpyxl import Workbook

from reportgen.cli import main
from reportgen.importing import dialogue, json_document
from reportgen.importing.model.questions import Slot
from reportgen.importing.model.settings import Settings
from reportgen.importing.session import State, understand
from reportgen.importing.settings import read_settings
from reportgen.model.problem import WorkbookError
from reportgen.report import read_back

ROOT = Path(__file__).parents[1]
SCREENSHOTS = ROOT / "sample_workbook" / "screenshots"
PLAIN = """Treatment,Tray,Plant,Fresh weight (g)
warm,1,1,12
warm,1,2,14
warm,2,1,11
warm,2,2,10
cool,3,1,9
cool,3,2,8
cool,4,1,8.5
cool,4,2,7.5
"""
FIELDS = {
    "trial.title": "Warm shelves",
    "trial.crop": "basil",
    "trial.started_on": "2025-01-10",
    "trial.harvested_on": "2025-02-20",
    "trial.reference": "cool",
}


@pytest.fixture
def plain(tmp_path: Path) -> Path:
    return log_file(tmp_path, PLAIN)


def log_file(folder: Path, text: str, name: str = "log.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def keys(state: State) -> list[str]:
    return [question.key for question in state.questions]


def means(state: State, quantity: str = "fresh_weight") -> dict[str, float]:
    return {name: figures.mean for name, figures in state.summary[quantity].items()}


def test_a_log_that_says_all_is_asked_for_the_fields_of_the_trial_alone(plain: Path) -> None:
    state = understand([plain])
    assert set(keys(state)) == set(FIELDS)
    assert means(state) == {"warm": 11.75, "cool": 8.25}


def test_the_last_question_is_whether_it_is_the_trial(plain: Path) -> None:
    state = understand([plain], None, FIELDS)
    assert keys(state) == ["confirm"]
    done = understand([plain], state.settings, {"confirm": "yes"})
    assert keys(done) == []
    assert done.settings.confirmed["fresh_weight"]["warm"] == (2, 4, 47.0)


def test_an_answer_that_does_not_fit_stays_open_and_is_told(plain: Path) -> None:
    state = understand([plain], None, {"trial.started_on": "in spring", "trial.crop": "basil"})
    assert "trial.started_on" in keys(state)
    assert "trial.crop" not in keys(state)
    assert [problem.code for problem in state.problems] == ["answer_does_not_fit"]
    assert "2025-03-31" in state.problems[0].expected


def test_a_unit_that_is_not_written_is_asked_with_the_figures_of_each(tmp_path: Path) -> None:
    log = log_file(tmp_path, PLAIN.replace(" (g)", ""))
    state = understand([log])
    question = state.questions[0]
    assert question.slot == "unit"
    kilograms = next(choice for choice in question.choices if choice.answer == "kg")
    assert kilograms.gives is not None
    assert kilograms.gives["fresh_weight"]["warm"].mean == pytest.approx(11_750)
    answered = understand([log], None, {question.key: "oz"})
    assert means(answered)["warm"] == pytest.approx(
        11.75 * 28.349523125
    )  # g an ounce, NIST Handbook 44


def test_no_further_answer_is_needed_where_the_settings_hold_it(plain: Path) -> None:
    first = understand([plain], None, {**FIELDS, "confirm": "yes"})
    again = understand([plain], first.settings, {})
    assert keys(again) == []
    assert again.summary == first.summary


def test_a_skipped_question_stays_open(plain: Path) -> None:
    state = understand([plain], None, {**FIELDS, "trial.crop": "skip"})
    assert keys(state) == ["trial.crop"]


def test_a_trial_that_is_not_confirmed_is_asked_one_question_what_is_off(plain: Path) -> None:
    state = understand([plain], None, {**FIELDS, "confirm": "no"})
    assert keys(state) == ["log.off"]
    named = understand([plain], state.settings, {"log.off": "tray"})
    assert keys(named) == ["log.unit.other"]
    other = understand([plain], named.settings, {"log.unit.other": "Tray + Plant"})
    assert keys(other) == ["log.off2"]
    right = other.questions[0].choices[0]
    assert right.gives is not None
    assert right.gives["fresh_weight"]["warm"].units == 4
    done = understand([plain], other.settings, {"log.off2": right.answer})
    assert keys(done) == ["confirm"]
    assert done.summary["fresh_weight"]["warm"].units == 4


def test_what_was_chosen_before_stays_where_something_else_is_off(tmp_path: Path) -> None:
    rows = [f"{'cold' if n < 5 else 'warm'},T{n},{90 + 7 * n}" for n in range(1, 9)]
    log = log_file(tmp_path, "\n".join(["Treatment,Tray,Fresh weight (g)", *rows]))
    fields = {**FIELDS, "trial.reference": "cold"}
    state = understand(
        [log], None, {**fields, "log.covers": "each value is of one plant", "confirm": "no"}
    )
    assert keys(state) == ["log.off"]
    done = understand([log], state.settings, {"log.off": "as it is read now"})
    assert set(done.summary) == {"fresh_weight"}


def test_a_unit_that_is_off_is_asked_anew(tmp_path: Path) -> None:
    log = log_file(tmp_path, PLAIN.replace(" (g)", ""))
    quantity = {"log.quantity.Fresh weight": "Fresh weight", "log.measure.Fresh weight": "kg"}
    state = understand([log], None, {**FIELDS, **quantity, "confirm": "no"})
    state = understand([log], state.settings, {"log.off": "the unit"})
    assert keys(state) == ["log.measure.Fresh weight"]
    state = understand([log], state.settings, {"log.measure.Fresh weight": "g"})
    state = understand([log], state.settings, {"log.off2": "as it is read now"})
    assert means(state) == {"warm": 11.75, "cool": 8.25}


def test_one_table_of_two_that_is_off_is_mended_and_the_trial_asked_of_again(
    tmp_path: Path,
) -> None:
    held = Workbook()
    rows = [line.split(",") for line in PLAIN.replace(" (g)", "").splitlines()]
    for row in rows:
        held.active.append(
            row[:3] + [float(text) if text[0].isdigit() else text for text in row[3:]]
        )
    water = held.create_sheet("Water")
    water.append(["Date", "Treatment", "Tray", "Water used (L)"])
    for treatment, tray in (("warm", "1"), ("warm", "2"), ("cool", "3"), ("cool", "4")):
        water.append([date(2025, 1, 20), treatment, tray, 2.5])
    held.save(tmp_path / "log.xlsx")
    log = tmp_path / "log.xlsx"
    quantity = {"Sheet.quantity.Fresh weight": "Fresh weight", "Sheet.measure.Fresh weight": "kg"}
    state = understand([log], None, {**FIELDS, **quantity, "confirm": "no"})
    assert keys(state) == ["confirm.table"]
    state = understand([log], state.settings, {"confirm.table": "Sheet"})
    state = understand([log], state.settings, {"Sheet.off": "the unit"})
    state = understand([log], state.settings, {"Sheet.measure.Fresh weight": "g"})
    state = understand([log], state.settings, {"Sheet.off2": "as it is read now"})
    assert keys(state) == ["confirm"]
    assert means(state) == {"warm": 11.75, "cool": 8.25}
    state = understand([log], state.settings, {"confirm": "yes"})
    assert keys(state) == []


def test_a_column_that_does_not_exist_is_told_with_those_that_do(plain: Path) -> None:
    state = understand([plain], None, {**FIELDS, "confirm": "no", "log.off": "tray"})
    refused = understand([plain], state.settings, {"log.unit.other": "Shelf"})
    assert keys(refused) == ["log.unit.other"]
    assert "Tray" in refused.problems[0].expected


def test_a_file_without_a_table_is_refused_at_once(tmp_path: Path) -> None:
    log = log_file(tmp_path, "nothing here\n")
    with pytest.raises(WorkbookError) as refused:
        understand([log])
    assert refused.value.problems[0].code == "no_table"


def test_the_document_has_the_questions_the_figures_and_the_ledger(plain: Path) -> None:
    document = json_document.document(understand([plain]), "log.adopt.toml")
    assert document["format"] == "reportgen-adopt-2"
    warm = document["read"]["fresh_weight"]["warm"]  # type: ignore[index]
    assert warm == {"units": 2, "n": 4, "total": 47.0, "mean": 11.75, "unit": "g"}
    question = document["questions"][0]  # type: ignore[index]
    assert set(question) == {"key", "slot", "ask", "where", "default", "free", "choices"}


def typing(*words: str) -> tuple[dialogue.Ask, list[str]]:
    waiting: Iterator[str] = iter(words)
    prompts: list[str] = []

    def ask(prompt: str, default: str) -> str:
        prompts.append(default)
        word = next(waiting, None)
        if word is None:
            raise EOFError
        return word or default

    return ask, prompts


def talk(log: Path, *words: str) -> tuple[State, str]:
    shown: list[str] = []
    ask, _ = typing(*words)
    state = dialogue.converse([log], None, dialogue.Terminal(ask, shown.append, read_back.lines))
    return state, "\n".join(shown)


def test_the_dialogue_ends_with_what_was_read(plain: Path) -> None:
    words = ["Warm shelves", "basil", "2025-01-10", "2025-02-20", "2", "yes"]
    state, shown = talk(plain, *words)
    assert keys(state) == []
    assert state.settings.trial["Reference treatment"] == "cool"
    assert "Fresh weight  warm       2: 1, 2  4" in shown
    assert "Fresh weight in log: each number is a plant." in shown


def test_the_first_screen_has_at_most_twenty_lines(plain: Path) -> None:
    assert len(dialogue.first_screen(understand([plain]))) <= 20


def test_an_answer_can_be_taken_back(plain: Path) -> None:
    state, _ = talk(plain, "Wrong title", "b", "Warm shelves")
    assert state.settings.trial["Title"] == "Warm shelves"


def test_the_dialogue_goes_on_after_a_skipped_question(plain: Path) -> None:
    state, _ = talk(plain, "s", "basil")
    assert state.settings.trial == {"Crop": "basil"}
    assert "trial.title" in keys(state)


CUTS = "Day,Shelf,Tray,Fresh (g)\n" + "".join(
    f"2026-0{month}-12,{shelf},{tray},{90 + 7 * (month % 2) + 5 * tray + extra}\n"
    for month in (1, 2, 3)
    for shelf, extra in (("warm", 20), ("plain", 0))
    for tray in (1, 2, 3)
)
METERS = "Day,Shelf,kWh\n" + "".join(
    f"2026-0{m}-12,{s},{100 * m}\n" for m in (1, 2, 3) for s in ("warm", "plain")
)


@pytest.fixture
def cuts(tmp_path: Path) -> list[Path]:
    return [log_file(tmp_path, CUTS, "cuts.csv"), log_file(tmp_path, METERS, "meter.csv")]


def test_an_answer_settles_its_table_though_another_is_settled_meanwhile(cuts: list[Path]) -> None:
    first = understand(cuts)
    question = first.questions[0]
    after = understand(cuts, first.settings, {question.key: question.choices[0].answer})
    assert question.choices[0].gives is not None
    assert after.summary["tray_yield"] == question.choices[0].gives["tray_yield"]
    assert question.key not in keys(after)


RUNNING = """,cold,cold,warm,warm
Day,V1,V2,V1,V2
2025-05-01,114,120,98,101
2025-05-05,215,222,190,188
2025-05-09,305,331,290,266
2025-05-13,402,421,377,350
"""


def test_each_way_of_reading_says_whether_a_value_is_of_a_plant_or_of_a_whole_tray(
    tmp_path: Path,
) -> None:
    log = log_file(tmp_path, RUNNING)
    state = understand([log])
    while (question := state.questions[0]).slot is not Slot.OCCASIONS:
        state = understand([log], state.settings, {question.key: question.choices[0].answer})
    choices = {choice.answer: choice.gives for choice in question.choices if choice.gives}
    of_trays = [gives for answer, gives in choices.items() if "whole tray" in answer]
    of_plants = [gives for answer, gives in choices.items() if "one plant" in answer]
    assert len(of_trays) + len(of_plants) == len(choices)
    assert all("fresh_weight" not in gives for gives in of_trays)
    assert of_trays[0]["tray_yield"]["cold"].mean == 411.5


def test_one_weight_a_tray_in_numbered_rows_is_asked_whether_it_is_of_a_plant(
    tmp_path: Path,
) -> None:
    rows = [f"{n},{'cold' if n < 5 else 'warm'},T{n},{90 + 7 * n}" for n in range(1, 9)]
    log = log_file(tmp_path, "\n".join(["No,Treatment,Tray,Fresh weight (g)", *rows]))
    question = understand([log]).questions[0]
    assert question.key == "log.covers"
    given = {
        name: figures["cold"].n
        for choice in question.choices[:2]
        for name, figures in choice.gives.items()
    }
    assert given == {"fresh_weight": 4, "tray_yield": 4}


def test_a_choice_names_what_tells_it_apart_and_what_a_value_is_of(cuts: list[Path]) -> None:
    question = understand(cuts).questions[0]
    assert question.choices[0].answer == "pickings, which add up; each value is of a whole tray"


def test_treatments_of_two_factors_stay_though_a_meter_knows_one(tmp_path: Path) -> None:
    rows = [
        f"{lamp},{feed},{rep},{20 + rep}"
        for lamp in ("red", "white")
        for feed in ("low", "high")
        for rep in range(4)
    ]
    yields = log_file(tmp_path, "\n".join(["Lamp,Feed,Tray,Fresh weight (g)", *rows]) + "\n")
    meter = log_file(
        tmp_path, "Week,Lamp,kWh\n1,red,30\n2,red,31\n1,white,28\n2,white,29\n", "meter.csv"
    )
    state = understand([yields, meter])
    first = state.questions[0].choices[0]
    gives = first.gives or first.leads_to[0]
    assert set(gives["tray_yield"]) == {"red low", "red high", "white low", "white high"}


def test_a_treatment_of_a_meter_that_no_plants_are_of_is_asked(tmp_path: Path) -> None:
    rows = [
        f"{kind} irrigation,{kind[0]}{n},{20 + n}" for kind in ("drip", "wick") for n in range(4)
    ]
    yields = log_file(
        tmp_path, "\n".join(["Treatment,Tray,Fresh weight per tray (g)", *rows]) + "\n"
    )
    meter = log_file(
        tmp_path, "Week,Treatment,kWh\n1,drip,30\n2,drip,31\n1,north,28\n2,north,29\n", "meter.csv"
    )
    state = understand([yields, meter])
    asked = {question.key.rpartition(".")[2]: question for question in state.questions}
    assert asked["drip"].default == "drip irrigation"
    assert asked["north"].default is None
    assert "no part of the trial" in [choice.answer for choice in asked["north"].choices]
    answers = {
        asked[name].key: f"{kind} irrigation"
        for name, kind in (("drip", "drip"), ("north", "wick"))
    }
    state = understand([yields, meter], state.settings, answers)
    assert set(state.summary["energy"]) == {"drip irrigation", "wick irrigation"}


def test_no_number_of_an_open_table_is_offered_to_be_left_out(tmp_path: Path) -> None:
    log = log_file(tmp_path, PLAIN.replace("Fresh weight (g)", "Weight (g)"))
    first = understand([log]).questions[0].key
    state = understand([log], None, {first: "skip", **FIELDS})
    assert keys(state) == [first]


def test_choices_show_figures_as_plain_numbers(tmp_path: Path) -> None:
    _, shown = talk(log_file(tmp_path, PLAIN.replace(" (g)", "").replace("12", "120")))
    assert (
        "fresh weight: warm 2 trays, 4 plants, mean 38,750 g" in shown
    )  # (120 + 14) / 2 and 10.5, in kg


def test_a_skipped_unit_leads_to_no_further_question_on_its_table(tmp_path: Path) -> None:
    log = log_file(tmp_path, PLAIN.replace(" (g)", ""))
    unit = understand([log]).questions[0].key
    state = understand([log], None, {unit: "skip", **FIELDS})
    assert keys(state) == [unit]


def test_a_skipped_question_can_be_taken_back(plain: Path) -> None:
    state, _ = talk(plain, "s", "b", "Warm shelves")
    assert state.settings.trial == {"Title": "Warm shelves"}


def test_going_back_at_the_first_question_is_told(plain: Path) -> None:
    _, shown = talk(plain, "b")
    assert "Nothing was answered yet." in shown


def test_an_empty_answer_is_asked_again_without_a_fault(plain: Path) -> None:
    state, shown = talk(plain, "Warm shelves", "", "basil")
    assert state.settings.trial["Crop"] == "basil"
    assert "does not fit" not in shown


def test_a_wrong_number_is_told_with_the_numbers_there_are(cuts: list[Path]) -> None:
    shown: list[str] = []
    ask, _ = typing("17")
    dialogue.converse(cuts, None, dialogue.Terminal(ask, shown.append))
    assert "That does not fit. Expected: a number from 1 to 6." in shown


def test_a_word_that_names_no_place_of_the_treatment_is_refused_and_asked_again(
    tmp_path: Path,
) -> None:
    rows = ["Light,Mat,Tray,Fresh weight (g)"]
    for n in range(8):
        rows.append(f"{'red' if n < 4 else 'blue'},{'jute' if n % 2 else 'hemp'},T{n},{90 + 7 * n}")
    log = log_file(tmp_path, "\n".join(rows))
    first = understand([log]).questions[0]
    state, shown = talk(log, "xyz")
    assert first.key == "log.treatment"
    assert (
        f"That does not fit. Expected: a number from 1 to {len(first.choices)}, or a column"
        " (Light, Mat" in shown
    )
    assert shown.count(first.ask) == 2
    assert first.key in keys(state)


def test_what_is_off_is_asked_with_what_is_read_now_as_the_default(plain: Path) -> None:
    state = understand([plain], None, {**FIELDS, "confirm": "no", "log.off": "tray"})
    assert [question.default for question in state.questions] == ["as it is read now"]
    assert state.questions[0].choices[0].means == "Tray"


def test_an_answer_that_names_nothing_is_told_in_plain_words(plain: Path) -> None:
    state = understand(
        [plain], None, {**FIELDS, "confirm": "no", "log.off": "what one number is of"}
    )
    refused = understand([plain], state.settings, {"log.covers.other": "sometimes"})
    assert refused.problems[0].expected.startswith("one of plant, unit, ")


def test_a_day_may_be_typed_without_zeros(plain: Path) -> None:
    state = understand([plain], None, {**FIELDS, "trial.started_on": "2025-1-5"})
    assert state.settings.trial["Started on"] == date(2025, 1, 5)


def test_the_first_screen_fits_though_there_are_thirty_tables(tmp_path: Path) -> None:
    book = Workbook()
    rows = [line.split(",") for line in PLAIN.splitlines()]
    for number in range(30):
        sheet = book.create_sheet(f"House {number}")
        sheet.append([*rows[0][:3], f"Fresh weight {number} (g)"])
        for row in rows[1:]:
            sheet.append([*row[:3], float(row[3])])
    book.save(tmp_path / "log.xlsx")
    lines = dialogue.first_screen(understand([tmp_path / "log.xlsx"]))
    assert sum(1 + len(line) // 80 for line in lines) < 20
    assert "more tables" in lines[-1]


def test_a_key_is_named_on_the_first_screen(tmp_path: Path) -> None:
    log = log_file(tmp_path, PLAIN.replace("warm", "W").replace("cool", "C"))
    key = log_file(tmp_path, "code,treatment\nW,warm\nC,cool\n", "key.csv")
    assert "[key.csv]key: a key, which spells out codes" in dialogue.first_screen(
        understand([log, key])
    )


def test_a_question_mark_says_why_the_last_question_is_asked(plain: Path) -> None:
    _, shown = talk(plain, *FIELDS.values(), "?")
    assert "The report will rest on these figures." in shown
    assert "not written" not in shown


def test_a_question_mark_shows_the_rows_and_asks_again(tmp_path: Path) -> None:
    log = log_file(tmp_path, PLAIN.replace(" (g)", ""))
    _, shown = talk(log, "?")
    assert "Treatment  Tray" in shown


def test_quitting_keeps_what_was_answered(plain: Path) -> None:
    state, _ = talk(plain, "Warm shelves", "q")
    assert state.settings.trial == {"Title": "Warm shelves"}


def settled(log: Path) -> State:
    return understand([log], None, {**FIELDS, "confirm": "yes"})


def test_a_row_that_was_added_later_is_read_and_asked_to_be_confirmed(plain: Path) -> None:
    before = settled(plain)
    log_file(plain.parent, PLAIN + "cool,4,3,9\n")
    after = understand([plain], before.settings)
    assert keys(after) == ["confirm"]
    assert after.summary["fresh_weight"]["cool"].n == 5


def test_a_treatment_that_was_renamed_is_read_under_its_new_name(plain: Path) -> None:
    before = settled(plain)
    log_file(plain.parent, PLAIN.replace("warm", "heated"))
    after = understand([plain], before.settings)
    assert keys(after) == ["confirm"]
    assert set(means(after)) == {"heated", "cool"}


def test_a_column_that_was_put_in_changes_nothing(plain: Path) -> None:
    before = settled(plain)
    rows = [f"{line.split(',', 1)[0]},note,{line.split(',', 1)[1]}" for line in PLAIN.splitlines()]
    rows[0] = rows[0].replace("note", "Remarks")
    log_file(plain.parent, "\n".join(rows) + "\n")
    after = understand([plain], before.settings)
    assert after.summary == before.summary


def test_a_value_column_under_another_name_is_asked_not_lost(plain: Path) -> None:
    before = settled(plain)
    log_file(plain.parent, PLAIN.replace("Fresh weight (g)", "Shoot mass"))
    after = understand([plain], before.settings)
    assert keys(after) or after.problems


def test_a_changed_answer_counts(tmp_path: Path) -> None:
    log = log_file(tmp_path, PLAIN.replace("Fresh weight (g)", "Weight (g)"))
    first = understand([log])
    key = first.questions[0].key
    assert first.questions[0].slot == "quantity"
    dry = understand([log], None, {key: "Dry weight"})
    assert set(dry.summary) == {"dry_weight"}
    fresh = understand([log], dry.settings, {key: "Fresh weight"})
    assert set(fresh.summary) == {"fresh_weight"}


def adopted(folder: Path, *words: str) -> tuple[int, dict[str, object]]:
    result = CliRunner().invoke(main, ["adopt", str(folder / "log.csv"), "--json", *words])
    return result.exit_code, json.loads(result.stdout)


def answers_file(folder: Path, answers: dict[str, str]) -> str:
    path = folder / "answers.json"
    path.write_text(json.dumps(answers), encoding="utf-8")
    return str(path)


def test_json_ends_with_one_while_a_question_is_open_and_keeps_what_was_answered(
    plain: Path,
) -> None:
    answers = answers_file(plain.parent, {**FIELDS, "trial.crop": "skip"})
    code, document = adopted(plain.parent, "--answers", answers)
    assert code == 1
    assert [question["key"] for question in document["questions"]] == ["trial.crop"]  # type: ignore[attr-defined]
    assert 'Title = "Warm shelves"' in (plain.parent / "log.adopt.toml").read_text(encoding="utf-8")


def test_json_ends_with_zero_once_nothing_is_open_and_asks_no_more(plain: Path) -> None:
    code, document = adopted(
        plain.parent, "--answers", answers_file(plain.parent, {**FIELDS, "confirm": "yes"})
    )
    assert (code, document["questions"], document["problems"]) == (0, [], [])
    again, same = adopted(plain.parent)
    assert (again, same) == (0, document)


def test_the_errors_of_a_check_are_told_once_nothing_is_open(plain: Path) -> None:
    answers = {**FIELDS, "trial.harvested_on": "2024-02-20", "confirm": "yes"}
    code, document = adopted(plain.parent, "--answers", answers_file(plain.parent, answers))
    assert code == 1
    assert document["questions"] == []
    assert "error" in {problem["severity"] for problem in document["problems"]}  # type: ignore[attr-defined]


def test_an_answers_file_that_is_no_object_is_one_clear_message(plain: Path) -> None:
    path = plain.parent / "answers.json"
    path.write_text("[1]", encoding="utf-8")
    code, document = adopted(plain.parent, "--answers", str(path))
    assert code == 1
    assert [problem["code"] for problem in document["problems"]] == ["answers_file"]  # type: ignore[attr-defined]


def test_the_same_answers_given_again_change_nothing(plain: Path) -> None:
    refused = understand([plain], None, {**FIELDS, "confirm": "no"})
    assert keys(refused) == ["log.off"]
    answers = {"log.off": "tray", "log.unit.other": "Tray + Plant"}
    open_again = understand([plain], refused.settings, answers)
    yes = {question.key: "as it is read now" for question in open_again.questions}
    done = understand([plain], open_again.settings, yes)
    confirmed = understand([plain], done.settings, {"confirm": "yes"})
    everything = {**FIELDS, **answers, **yes, "confirm": "yes"}
    again = understand([plain], confirmed.settings, everything)
    assert keys(again) == keys(confirmed) == []
    assert again.settings == confirmed.settings


def drawing() -> ModuleType:
    """Return the script that draws the dialogue for the README."""
    spec = importlib.util.spec_from_file_location("make_dialogue", SCREENSHOTS / "make_dialogue.py")
    assert spec is not None
    assert spec.loader is not None
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    return script


def test_the_picture_of_the_dialogue_is_of_the_dialogue(tmp_path: Path) -> None:
    script = drawing()
    drawn = script.picture(script.conversation(tmp_path))
    shown = (SCREENSHOTS / "dialogue.svg").read_text(encoding="utf-8")
    assert drawn == shown, "draw it anew: python sample_workbook/screenshots/make_dialogue.py"


def test_the_settings_file_of_the_readme_reads_the_log_of_the_picture(tmp_path: Path) -> None:
    script = drawing()
    state = understand([made_log(script, tmp_path)], settings_of_readme(tmp_path))
    assert means(state, "tray_yield") == {"warm": 340.0, "plain": pytest.approx(850 / 3)}
    checked = CliRunner().invoke(main, ["check", str(tmp_path / script.LOG)])
    assert checked.exit_code == 0, checked.output
    assert "1020 g" in checked.output


def made_log(script: ModuleType, folder: Path) -> Path:
    path = folder / str(script.LOG)
    script.write_log(path)
    return path


def settings_of_readme(folder: Path) -> Settings:
    page = (ROOT / "README.md").read_text(encoding="utf-8")
    examples = [block.split("```")[0] for block in page.split("```toml\n")[1:]]
    example = next(text for text in examples if text.startswith("adopt = 2"))
    path = folder / "winter-log.adopt.toml"
    path.write_text(example, encoding="utf-8")
    return read_settings(path)


def test_what_was_read_fits_a_terminal(tmp_path: Path) -> None:
    script = drawing()
    read = [text for _, text in script.conversation(tmp_path) if text.startswith("  ")]
    assert max(map(len, read)) <= 102
    assert any(text.split()[:3] == ["Quantity", "Treatment", "Mean"] for text in read)
