"""Small lists of trays beside a log or on a sheet of their own: their treatment, numbers of plants,
day of planting.
"""

from datetime import date

import openpyxl
import pytest

from reportgen import pipeline
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, asked, book, means, understood

WEIGHTS = {tray: 200.5 + tray for tray in range(1, 7)}
KIND = {tray: "warm" if tray % 2 else "cold" for tray in WEIGHTS}
PLANTS = dict(zip(WEIGHTS, (8, 9, 7, 8, 10, 6), strict=True))
PLANTED = {tray: date(2026, 1, 5) for tray in WEIGHTS}
TOTALS = {"warm": (3, pytest.approx(203.5)), "cold": (3, pytest.approx(204.5))}
LOG = [("Tray", "Fresh weight (g)"), *WEIGHTS.items()]
NAMED = [
    ("Tray", "Treatment", "Fresh weight (g)"),
    *((tray, KIND[tray], weight) for tray, weight in WEIGHTS.items()),
]
WHOLE = "each value is of a whole tray"


def listed(header, values):
    return [("Tray", header), *values.items()]


def test_the_treatment_of_trays_stands_in_a_list_of_its_own(tmp_path):
    rows = [
        (tray, plant, weight + plant) for tray, weight in WEIGHTS.items() for plant in (1, 2, 3)
    ]
    log = book(
        tmp_path,
        Log=[("Tray", "Plant", "Fresh weight (g)"), *rows],
        Trays=listed("Treatment", KIND),
    )
    assert asked(log) == []
    adopt(log, talk=answering())
    assert means(log) == {"warm": (3, pytest.approx(205.5)), "cold": (3, pytest.approx(206.5))}


@pytest.mark.parametrize("is_one_list", [True, False])
def test_numbers_of_plants_in_a_list_count_for_the_weights_of_trays(tmp_path, is_one_list):
    sheets = {
        "A": listed("Treatment", KIND),
        "B": listed("Planted", PLANTED),
        "C": listed("plants", PLANTS),
    }
    if is_one_list:
        rows = [(tray, KIND[tray], PLANTED[tray], PLANTS[tray]) for tray in WEIGHTS]
        sheets = {"Trays": [("Tray", "Treatment", "Planted", "plants"), *rows]}
    log = book(tmp_path, Log=LOG, **sheets)
    adopt(log, talk=answering(covers=WHOLE))
    assert means(log, "tray_yield") == TOTALS
    mean = sum(WEIGHTS[tray] / PLANTS[tray] for tray in (1, 3, 5)) / 3
    assert means(log)["warm"] == (3, pytest.approx(mean))
    state = understood((log,), {})
    assert {
        question.default for question in state.questions if question.key == "trial.started_on"
    } <= {"2026-01-05"}


def test_a_list_at_the_side_of_the_log_is_joined_by_tray_in_any_order(tmp_path):
    rows = [("Tray", "Treatment", "Fresh weight (g)", None, "Tray", "plants")]
    for (tray, weight), other in zip(WEIGHTS.items(), reversed(WEIGHTS), strict=True):
        rows.append((tray, KIND[tray], weight, None, other, PLANTS[other]))
    log = book(tmp_path, Log=rows)
    taken, _ = adopt(log, talk=answering(covers=WHOLE))
    assert means(log, "tray_yield") == TOTALS
    assert means(log)["warm"][1] == pytest.approx(
        sum(WEIGHTS[tray] / PLANTS[tray] for tray in (1, 3, 5)) / 3
    )
    fates = {fated.fate.value: len(fated.cells) for fated in taken.state.ledger.entries}
    assert fates == {"read": 6, "label": 6, "key": 12}


def test_the_days_of_planting_are_offered_as_the_start_and_not_as_the_harvest(tmp_path):
    log = book(tmp_path, Log=NAMED, Planting=listed("Planted", PLANTED))
    state = understood((log,), {"covers": WHOLE})
    days = {question.key: question.default for question in state.questions}
    assert (days["trial.started_on"], days["trial.harvested_on"]) == ("2026-01-05", None)


def test_a_number_that_is_mended_in_the_list_is_told_and_a_list_that_is_gone_stops_the_report(
    tmp_path,
):
    log = book(tmp_path, Log=LOG, A=listed("Treatment", KIND), C=listed("plants", PLANTS))
    adopt(log, talk=answering(covers=WHOLE))
    made = openpyxl.load_workbook(log)
    made["C"]["B2"] = 4
    made.save(log)
    with pytest.raises(WorkbookError, match="21 values"):
        pipeline.checked(log)
    adopt(log, talk=answering())
    assert means(log)["warm"][1] == pytest.approx((201.5 / 4 + 203.5 / 7 + 205.5 / 10) / 3)
    del made["C"]
    made.save(log)
    with pytest.raises(WorkbookError, match="plants"):
        pipeline.checked(log)


def test_heights_of_trays_are_no_list_of_them(tmp_path):
    heights = {tray: 10.5 + tray for tray in WEIGHTS}
    log = book(tmp_path, Log=NAMED, Heights=listed("Height (cm)", heights))
    taken, _ = adopt(log, talk=answering(covers=WHOLE))
    assert taken.state.summary["height"]["warm"].mean == pytest.approx(13.5)
