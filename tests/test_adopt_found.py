"""What was found in logs as growers keep them: whole logs, from the first question to the figures."""

import openpyxl
import pytest

from reportgen.importing.session import understand


def book(folder, **sheets):
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
    path = folder / "log.xlsx"
    made.save(path)
    return path


def asked(log, answers):
    return {question.key: question for question in understand([log], None, answers).questions}


def squash():
    """Return pickings of two rows in pounds and ounces, with culls on some days."""
    rows = [["Date", "Row", "Row cover", "lb", "oz", "Culls lb", "Culls oz"]]
    for day in range(1, 9):
        for row in range(1, 5):
            culls = (0, day + row) if (day * row) % 3 == 0 else (None, None)
            rows.append(
                [
                    f"2025-07-{3 * day:02d}",
                    row,
                    ("on", "off")[row % 2],
                    2 + day * row % 5,
                    day * 7 % 16,
                    *culls,
                ]
            )
    return rows


def answered(log, answers, **texts):
    """Return what is understood once each question whose key holds a word of `texts` has the choice
    with that text.
    """
    given = dict(answers)
    for _ in range(9):
        state = understand([log], None, given)
        fitting = [
            (question.key, choice.answer)
            for question in state.questions
            for word, text in texts.items()
            for choice in question.choices
            if word in question.key and text in choice.answer and question.key not in given
        ]
        if not fitting:
            return state
        given.setdefault(*fitting[0])
    return state


def test_pounds_and_ounces_of_pickings_add_up_in_grams(tmp_path):
    log = book(tmp_path, Squash=squash())
    state = answered(log, {}, quantity="Fresh weight", blank="nothing there", occasions="add up")
    picked = [16 * row[3] + row[4] for row in squash()[1:] if row[2] == "on"]
    # 1 oz is 28.349523125 g: NIST Handbook 44, appendix C
    assert state.summary["tray_yield"]["on"].total == pytest.approx(sum(picked) * 28.349523125)


def weighed_twice():
    """Return plants with a height and two weights, of which the second one has gaps."""
    rows = [["Treatment", "Pot", "Height (cm)", "Weight 1 (g)", "Weight 2 (g)"]]
    for at in range(24):
        second = None if at % 3 == 0 else 50.5 + 11 * at % 7
        rows.append(
            [("on", "off")[at % 2], f"P{at + 1}", 20.5 + 3 * at % 7, 30.5 + 7 * at % 5, second]
        )
    return rows


def test_numbers_below_one_another_that_nothing_explains_are_one_question(tmp_path):
    log = book(tmp_path, Log=weighed_twice())
    questions = answered(log, {}, quantity="none of these", as_read="yes").questions
    open_rows = [question for question in questions if question.key.startswith("row.")]
    assert [question.key for question in open_rows] == ["row.Log!D2:E25"]
    assert "ask me again" in open_rows[0].choices[-1].answer


def test_a_table_of_which_nothing_was_read_can_be_asked_about_anew(tmp_path):
    log = book(tmp_path, Log=weighed_twice())
    state = answered(log, {}, quantity="none of these", as_read="yes", row="ask me again")
    assert not any(layout.table == "Log" for layout in state.settings.layouts)


def test_a_log_without_treatments_is_asked_for_them_before_anything_else(tmp_path):
    rows = [["Date", "Plot", "Weight (kg)"]]
    for at in range(24):
        rows.append([f"2025-07-{1 + 3 * (at // 4):02d}", at % 4 + 1, 1.5 + 0.37 * at % 2])
    log = book(tmp_path, Log=[["Plots 1 and 2: hay; plots 3 and 4: bare"], [], *rows])
    state = answered(log, {"Log.quantity.Weight": "Fresh weight"})
    assert [question.key for question in state.questions] == ["Log.treatment"]
    assert "1-4 = hay; 5-8 = fleece" in state.questions[0].hint
    told = answered(
        log, {"Log.quantity.Weight": "Fresh weight", "Log.treatment": "Plot"}, occasions="add up"
    )
    assert not any(question.key == "Log.treatment" for question in told.questions)
