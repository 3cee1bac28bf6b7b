"""Columns that a log got after it was taken in: read with those of their kind once their owner says
so.
"""

import csv

import pytest

from reportgen.importing.adopting import take_in

FIRST = (("Treatment", "Tray", "Plant 1 (g)", "Plant 2 (g)"), ("warm", 1, 20.5, 22.5), ("warm", 2, 21.5, 24.5),
         ("plain", 3, 15.5, 17.5), ("plain", 4, 16.5, 19.5))  # fmt: skip
NEW = ("Plant 3 (g)", 24.5, 26.0, 18.0, 21.0)
HEIGHTS = ("Height (cm)", 8.5, 9.5, 7.0, 6.5)
ANSWERS = {
    "trial.title": "Bench heating",
    "trial.crop": "basil",
    "trial.started_on": "2026-01-05",
    "trial.harvested_on": "2026-02-16",
    "trial.reference": "plain",
}


def written(path, rows):
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)


def with_column(column):
    return [(*row, cell) for row, cell in zip(FIRST, column, strict=True)]


def taken_in(log, **own):
    """Return the state of a log whose owner answers what he knows, and else the first choice that
    is offered.
    """
    answers = {**ANSWERS, **own}
    for _ in range(12):
        state = take_in([log], answers).state
        if not state.questions:
            return state
        question = state.questions[0]
        choice = (
            own.get(question.key[:4]) or answers.get(question.key) or question.choices[0].answer
        )
        answers[question.key] = choice
    raise AssertionError(state.questions)


@pytest.fixture
def log(tmp_path):
    path = tmp_path / "log.csv"
    written(path, FIRST)
    assert {name: each.n for name, each in taken_in(path).summary["fresh_weight"].items()} == {
        "warm": 4,
        "plain": 4,
    }
    return path


def test_a_further_plant_in_a_column_of_its_own_counts_once_its_owner_says_so(log):
    written(log, with_column(NEW))
    question, *_ = take_in([log], ANSWERS).state.questions
    *readings, again = question.choices
    offered = {choice.answer: choice.gives["fresh_weight"]["warm"].total for choice in readings}
    assert offered == {"more of Fresh weight": 139.5, "a further measure": 89.0, "left out": 89.0}
    assert again.answer.startswith("it is part of the trial: ask me again")
    found = taken_in(log, **{question.key: "more of Fresh weight"}).summary["fresh_weight"]
    assert {name: (each.n, each.total) for name, each in found.items()} == {
        "warm": (6, 139.5),
        "plain": (6, 108.0),
    }


def test_another_measure_in_a_new_column_is_read_under_its_own_name(log):
    written(log, with_column(HEIGHTS))
    question, *_ = take_in([log], ANSWERS).state.questions
    state = taken_in(log, **{question.key: "a further measure"})
    found = state.summary
    assert [problem.code for problem in state.problems] == [
        "measure_of_whole_trays"
    ]  # each row is a tray of two
    assert {name: each.total for name, each in found["fresh_weight"].items()} == {
        "warm": 89.0,
        "plain": 69.0,
    }
    assert {name: each.total for name, each in found["height"].items()} == {
        "warm": 18.0,
        "plain": 13.5,
    }


def test_a_column_whose_header_changed_takes_the_place_of_the_one_that_is_gone(log):
    renamed = [("Treatment", "Tray", "Plant 1 (g)", "Plant B (g)"), *FIRST[1:]]
    written(log, renamed)
    state = taken_in(log, row="more of Fresh weight")
    assert {name: each.total for name, each in state.summary["fresh_weight"].items()} == {
        "warm": 89.0,
        "plain": 69.0,
    }
    assert [problem.code for problem in state.problems] == []


def test_a_new_column_where_headers_are_treatments_is_no_further_measure(tmp_path):
    path = tmp_path / "log.csv"
    rows = [("Tray", "Plant", "warm (g)", "plain (g)"), (1, 1, 20.5, 15.5), (1, 2, 22.5, 17.5), (2, 1, 21.5, 16.5),
            (2, 2, 24.5, 19.5)]  # fmt: skip
    written(path, rows)
    taken_in(path)
    heights = ("Height (cm)", 8.5, 9.5, 7.0, 6.5)
    written(path, [(*row[:2], cell, *row[2:]) for row, cell in zip(rows, heights, strict=True)])
    question, *_ = take_in([path], ANSWERS).state.questions
    assert [choice.answer for choice in question.choices[:-1]] == [
        "more of Fresh weight",
        "left out",
    ]
