"""Volumes of solution whose header or whose words do not say what was done with them."""

import pytest

from reportgen import pipeline
from reportgen.metrics import compute
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, book
from tests.test_adopt_habits import questions
from tests.test_adopt_texts import HEAD, TRAYS, rows

TOPPED = "poured in later, for what was used"
DAYS = ("2026-01-05", "2026-01-19", "2026-02-02", "2026-02-16")


def water(header, *, event=None):
    """Return four lines a tray: 2, 3, 4 and 5 litres, 14 in all."""
    head = ("Tray", "Date", header) if event is None else ("Tray", "Date", "What", header)
    lines = [(tray, day, at + 2) for tray in ("F1", "F2", "P1", "P2") for at, day in enumerate(DAYS)]
    return [head, *((tray, day, event[day], used) if event else (tray, day, used) for tray, day, used in lines)]


def events(log):
    return [one for one in questions(log) if one.kind == "event"]


def volumes(log):
    """Return what was done with the litres of tray F1, in the order of the days."""
    return [(one.kind, one.volume) for one in pipeline.checked(log).solution if one.tray == "F1"]


@pytest.mark.parametrize("header", ["Water (L)", "Irrigation (L)", "Agua (L)", "Wasser (L)", "Eau (L)"])
def test_what_was_done_with_the_water_of_a_column_is_asked(tmp_path, header):
    log = book(tmp_path, Log=[HEAD, *rows()], Water=water(header))
    (asked,) = events(log)
    assert f'"{header}"' in asked.text
    adopt(log, talk=answering(event=TOPPED, **TRAYS))
    assert volumes(log) == [("top-up", 2), ("top-up", 3), ("top-up", 4), ("top-up", 5)]


def test_a_word_that_tells_no_event_is_asked_alone(tmp_path):
    said = dict(zip(DAYS, ("fill", "top-up", "eingegossen", "drain"), strict=True))
    log = book(tmp_path, Log=[HEAD, *rows()], Water=water("Volume (L)", event=said))
    (asked,) = events(log)
    assert '"eingegossen"' in asked.text
    adopt(log, talk=answering(event=TOPPED, **TRAYS))
    assert volumes(log) == [("fill", 2), ("top-up", 3), ("top-up", 4), ("drain", 5)]


def test_an_event_that_is_not_answered_waits_and_is_asked_again(tmp_path):
    log = book(tmp_path, Log=[HEAD, *rows()], Water=water("Water (L)"))
    adopt(log)
    with pytest.raises(WorkbookError, match="Event"):
        pipeline.checked(log)
    adopt(log, talk=answering(event=TOPPED, **TRAYS))
    assert volumes(log) == [("top-up", 2), ("top-up", 3), ("top-up", 4), ("top-up", 5)]


def water_used(log):
    measures = compute(pipeline.checked(log)).measures
    found = [one for one in measures if one.measure.key == "water_use"]
    return {code: one.value for code, one in found[0].estimates} if found else None


def test_litres_that_were_used_up_are_left_out_and_water_use_is_not_known(tmp_path):
    log = book(tmp_path, Log=[HEAD, *rows()], Water=water("Water used (L)"))
    (asked,) = events(log)
    adopt(log, talk=answering(event=asked.choices[-1], **TRAYS))
    assert not pipeline.checked(log).solution
    assert water_used(log) is None


def test_a_column_that_is_left_out_another_day_gives_nothing(tmp_path):
    log = book(tmp_path, Log=[HEAD, *rows()], Water=water("Water used (L)"))
    adopt(log, talk=answering(stop="event", **TRAYS))
    adopt(log, talk=answering(event="something else, as what was used up: leave it out", **TRAYS))
    assert 'gives = "nothing"' in log.with_suffix(".adopt.toml").read_text()
    assert not pipeline.checked(log).solution


def test_litres_used_up_that_are_worked_out_from_the_columns_beside_them_are_not_taken(tmp_path):
    head = ("Tray", "Date", "Filled (L)", "Topped up (L)", "Left over (L)", "Used (L)")
    held = [head, *((tray, DAYS[3], 4.0, 12.0, 2.0, 14.0) for tray in ("F1", "F2", "P1", "P2"))]
    log = book(tmp_path, Log=[HEAD, *rows()], Water=held)
    assert not events(log)
    adopt(log, talk=answering(**TRAYS))
    assert water_used(log) == {"fed": pytest.approx(14), "plain": pytest.approx(14)}
