"""What meters call treatments: the names that trays have, found by the one word that tells each
from the others.
"""

import openpyxl
import pytest

from reportgen.importing.questions.namesakes import namesakes
from reportgen.importing.session import understand


@pytest.mark.parametrize(
    ("own", "known", "meant"),
    [
        (
            ("Pump drip", "Pump mat"),
            ("drip irrigation", "mat irrigation"),
            ("drip irrigation", "mat irrigation"),
        ),
        (("Lectura 10/14", "Lectura 12/12"), ("10-14", "12-12"), ("10-14", "12-12")),
        (("capil kWh", "goteo kWh"), ("goteo", "capilaridad"), ("capilaridad", "goteo")),
    ],
)
def test_a_word_that_one_treatment_alone_has_tells_which_is_meant(own, known, meant):
    assert namesakes(own, known) == dict(zip(own, meant, strict=True))


@pytest.mark.parametrize(
    ("own", "known"),
    [
        (("Meter A", "Meter B"), ("drip irrigation", "mat irrigation")),
        (("irrigation", "mat"), ("drip irrigation", "mat irrigation")),
        (("drip 1", "drip 2"), ("drip irrigation", "mat irrigation")),
        (("fan", "still"), ("fan", "still")),
    ],
)
def test_names_without_such_a_word_for_each_are_left_as_they_are(own, known):
    assert namesakes(own, known) == {}


def taken_in(folder, headers, answers):
    book = openpyxl.Workbook()
    log = book.active
    log.title = "Log"
    log.append(["Treatment", "Tray", "Plant", "Fresh weight (g)"])
    for number in range(12):
        name = ("drip irrigation", "mat irrigation")[number % 2]
        log.append([name, f"T{number % 4}", number // 4 + 1, 30.4 + 7 * number % 5])
    meter = book.create_sheet("Meter")
    meter.append(["Date", *headers])
    for day in range(1, 7):
        meter.append([f"2025-06-{day:02d}", 4.5 * day, 2.25 * day])
    book.save(folder / "log.xlsx")
    return understand([folder / "log.xlsx"], None, answers)


def test_a_meter_whose_headers_share_a_word_with_each_treatment_counts_for_it(tmp_path):
    state = taken_in(tmp_path, ["Pump drip (kWh)", "Pump mat (kWh)"], {})
    assert set(state.summary["energy"]) == {"drip irrigation", "mat irrigation"}


def test_which_treatment_a_meter_of_another_name_is_of_is_asked(tmp_path):
    answers = {"Meter.treatment": "the header row", "Meter.counts": "counter"}
    state = taken_in(tmp_path, ["North (kWh)", "South (kWh)"], answers)
    asked = {question.key: question for question in state.questions}
    assert [choice.answer for choice in asked["Meter.means.North"].choices][:2] == [
        "drip irrigation",
        "mat irrigation",
    ]
    answers |= {"Meter.means.North": "drip irrigation", "Meter.means.South": "mat irrigation"}
    told = taken_in(tmp_path, ["North (kWh)", "South (kWh)"], answers)
    assert told.summary["energy"]["drip irrigation"].total == pytest.approx(22.5)
