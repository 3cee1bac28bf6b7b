"""The conversation at a terminal: one question at a time, back and quit, nothing lost."""

import click
import pytest

from reportgen.adopt import dialogue
from reportgen.adopt.dialogue import at_terminal, converse, table_lines
from reportgen.adopt.mapping import UNKNOWN
from reportgen.adopt.questions import unanswered
from reportgen.adopt.understand import understand
from tests.logs import PLAIN, book, text_sheet

ANSWERS = ["Tray", "basil", "2025-03-01", "2025-04-05", "none"]


def log(text=PLAIN):
    return understand({"": book(text_sheet(text))})


def talk(*typed, found=None):
    """Return what is understood after some answers, and everything that was shown; then the input ends."""
    answers, shown = iter(typed), []

    def ask(prompt, default):
        try:
            return next(answers) or default
        except StopIteration:
            raise EOFError from None

    return converse(found or log(), ask, shown.append), shown


def test_all_questions_answered_leave_nothing_open():
    done, _ = talk(*ANSWERS)
    assert unanswered(done) == ()
    assert UNKNOWN not in done.adoption.trial.values()


def test_one_question_is_shown_at_a_time_with_the_first_rows():
    _, shown = talk()
    assert len(shown) == 2  # how to answer, and the first question
    assert "Fresh weight (g)" in shown[1]
    assert "31.5" in shown[1]


def test_a_default_is_taken_with_an_empty_answer():
    done, _ = talk("", *ANSWERS[1:4], "")
    assert done.adoption.trial["Reference treatment"] == "none"


@pytest.mark.parametrize("word", ["b", "back"])
def test_back_asks_the_question_before_again(word):
    done, _ = talk("Tray", "bassil", word, *ANSWERS[1:])
    assert done.adoption.trial["Crop"] == "basil"


def test_back_at_the_first_question_stays_there():
    done, _ = talk("b", "b", *ANSWERS)
    assert unanswered(done) == ()


@pytest.mark.parametrize("word", ["q", "quit"])
def test_quitting_keeps_what_was_answered(word):
    done, _ = talk("Tray", "basil", word, "never read")
    assert done.adoption.trial["Crop"] == "basil"
    assert done.adoption.trial["Started on"] == UNKNOWN


def test_the_end_of_input_keeps_what_was_answered():
    done, _ = talk("Tray", "basil")
    assert done.adoption.trial["Crop"] == "basil"


def test_an_answer_that_does_not_fit_is_asked_for_again():
    done, shown = talk("Tray", "basil", "soon", "2025-03-01", "2025-04-05", "none")
    assert any("That does not fit: a date" in text for text in shown)
    assert unanswered(done) == ()


def test_a_treatment_called_b_can_be_the_reference():
    done, _ = talk(*ANSWERS[:4], "b", found=log(PLAIN.replace("mat", "a").replace("none", "b")))
    assert done.adoption.trial["Reference treatment"] == "b"


def test_where_nothing_is_open_nothing_is_said():
    done, _ = talk(*ANSWERS)
    assert talk(found=done) == (done, [])


def test_a_keyboard_interrupt_at_the_terminal_quits(monkeypatch):
    def interrupted(*_, **__):
        raise click.Abort

    monkeypatch.setattr(dialogue.click, "prompt", interrupted)
    found = log()
    assert at_terminal(found) is found


def test_wide_rows_are_cut_to_the_terminal():
    lines = table_lines((tuple(f"a long header {at} of it" for at in range(12)),))
    assert lines[0].endswith("...")
    assert len(lines[0]) < 180
