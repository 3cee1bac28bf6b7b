"""Readings of meters and volumes of solution that stand once for the whole trial, without days."""

from datetime import date, datetime, timedelta

import pytest

from reportgen import pipeline
from reportgen.adopt.adopting import log_of, understood
from reportgen.adopt.questions import OTHER_DAYS, SINCE_MIDNIGHT, unanswered
from reportgen.adopt.toml_file import settings_file
from reportgen.metrics import compute
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, book
from tests.test_adopt_habits import HEAD, ROWS, TRAYS

USED = {"warm": pytest.approx(24.9), "plain": pytest.approx(15.9)}  # kWh, half of what each meter counted
READ = [("warm", 100.4, 150.2), ("plain", 88.2, 120.0)]
POURED = {"warm": pytest.approx(6.2), "plain": pytest.approx(5.1)}  # L a tray: 5.1 + 2 - 1 and 5.3 + 2 - 1 are 12.4
FLASKS = [("T1", 5.1, 2.0, 1.0), ("T2", 4.2, 2.0, 1.0), ("T3", 5.3, 2.0, 1.0), ("T4", 4.0, 2.0, 1.0)]


def log_with(tmp_path, rows):
    return book(tmp_path, Harvest=[HEAD, *ROWS], Readings=rows)


def figures(log, key):
    measures = {one.measure.key: one for one in compute(pipeline.checked(log)).measures}
    return {code: one.value for code, one in measures[key].estimates} if key in measures else None


@pytest.mark.parametrize(
    ("head", "rows"),
    [
        (("Treatment", "Start kWh", "End kWh"), READ),
        (("Behandlung", "Anfang (kWh)", "Ende (kWh)"), READ),
        (("Tratamiento", "Lectura inicial (kWh)", "Lectura final (kWh)"), READ),
        (("Modalité", "Premier relevé (kWh)", "Dernier relevé (kWh)"), READ),
        (
            ("Meter", "Treatment", "First reading (kWh)", "Last reading (kWh)", "Used (kWh)"),
            [(f"M{at}", *row, row[2] - row[1]) for at, row in enumerate(READ)],
        ),
        (("Treatment", "kWh"), [(kind, last - first) for kind, first, last in READ]),
    ],
)
def test_a_meter_read_at_the_start_and_the_end_or_what_it_counted(tmp_path, head, rows):
    log = log_with(tmp_path, [head, *rows])
    adopt(log, talk=answering(**TRAYS))
    assert figures(log, "energy_use") == USED
    before = settings_file(log).read_text()
    adopt(log)
    assert settings_file(log).read_text() == before


@pytest.mark.parametrize(
    "head",
    [
        ("Tray", "Filled (L)", "Added (L)", "Left (L)"),
        ("Tray", "Start volume (L)", "Top-ups total (L)", "End volume (L)"),
        ("Bandeja", "Inicial (L)", "Añadida (L)", "Restante (L)"),
        ("Schale", "Erstfüllung (L)", "Nachgefüllt (L)", "Rest (L)"),
    ],
)
def test_what_went_into_each_tray_and_was_left_at_the_end(tmp_path, head):
    log = log_with(tmp_path, [head, *FLASKS])
    adopt(log, talk=answering(**TRAYS))
    assert figures(log, "water_use") == POURED
    events = {(one.kind, one.on) for one in pipeline.checked(log).solution}
    assert {("fill", date(2026, 1, 5)), ("remaining", date(2026, 2, 16))} <= events


def test_what_was_used_up_is_no_volume_beside_a_budget(tmp_path):
    rows = [(*row, row[1] + row[2] - row[3]) for row in FLASKS]
    log = log_with(tmp_path, [("Tray", "Filled (L)", "Added (L)", "Left (L)", "Used (L)"), *rows])
    adopt(log, talk=answering(**TRAYS))
    assert figures(log, "water_use") == POURED


@pytest.mark.parametrize(
    ("head", "rows"),
    [
        (("Tray", "Water (L)"), [row[:2] for row in FLASKS]),
        (("Treatment", "Total water used (L)"), [("warm", 10.4), ("plain", 8.2)]),
        (("Tray", "Filled (L)", "Extra (L)", "Left (L)"), FLASKS),
    ],
)
def test_volumes_that_are_no_whole_budget_are_left_out_with_a_word(tmp_path, head, rows):
    log = log_with(tmp_path, [head, *rows])
    _, shown = adopt(log, talk=answering(**TRAYS))
    assert "volumes of the whole trial; water use is known where each header says what it is" in shown
    assert figures(log, "water_use") is None
    assert {tray.treatment for tray in pipeline.checked(log).trays} == {"warm", "plain"}


def test_readings_of_other_days_are_left_out(tmp_path):
    log = log_with(tmp_path, [("Treatment", "Start kWh", "End kWh"), *READ])
    adopt(log, talk=answering(whole=OTHER_DAYS, **TRAYS))
    assert figures(log, "energy_use") is None


def test_it_stays_open_which_days_they_are_of(tmp_path):
    log = log_with(tmp_path, [("Treatment", "Start kWh", "End kWh"), *READ])
    (asked,) = (one for one in unanswered(understood(log_of((log,)))) if one.kind == "whole")
    assert asked.text == 'Are "Start kWh" and "End kWh" of the whole trial, from its start to the last harvest?'
    adopt(log, talk=answering(stop="whole", **TRAYS))
    with pytest.raises(WorkbookError, match='or "Started on" or "Harvested on" for that of the trial'):
        pipeline.checked(log)
    adopt(log, talk=answering(**TRAYS))
    assert figures(log, "energy_use") == USED


def test_a_counter_that_begins_again_each_day_is_asked_and_counts_on(tmp_path):
    def hourly(power):
        begins = datetime(2026, 1, 5, 0, 30)
        lines = [(begins + timedelta(hours=at), round(power * (at % 24 + 0.5), 4)) for at in range(42 * 24)]
        return [("Timestamp", "Energy today (kWh)"), *lines]

    log = book(tmp_path, Harvest=[HEAD, *ROWS], warm=hourly(0.03), plain=hourly(0.02))
    (asked,) = (one for one in unanswered(understood(log_of((log,)))) if one.kind == "cumulative")
    assert asked.choices[-1] == SINCE_MIDNIGHT
    adopt(log, talk=answering(cumulative=SINCE_MIDNIGHT, **TRAYS))
    assert 'cumulative = "daily"' in settings_file(log).read_text()
    # The half hours before midnight stand in no reading: 24 h less half an hour a day, over 42 days, for two trays.
    lost = 41 * 0.5 + 0.5
    wanted = {
        kind: pytest.approx(power * (42 * 24 - lost - 0.5) / 2) for kind, power in (("warm", 0.03), ("plain", 0.02))
    }
    assert figures(log, "energy_use") == wanted


def test_a_counter_that_was_reset_within_a_day_does_not_begin_daily(tmp_path):
    begins = datetime(2026, 1, 5)
    lines = [(begins + timedelta(hours=at), at % 30 + 1.0) for at in range(200)]
    log = book(tmp_path, Harvest=[HEAD, *ROWS], warm=[("Timestamp", "Energy (kWh)"), *lines])
    (asked,) = (one for one in unanswered(understood(log_of((log,)))) if one.kind == "cumulative")
    assert SINCE_MIDNIGHT not in asked.choices


@pytest.mark.parametrize("more", [("Volume (L)",), ("Filled (L)", "Left (L)")])
def test_a_list_of_trays_with_a_volume_stays_one(tmp_path, more):
    plants = [(tray, plant, weight) for tray, _, plant, weight in ROWS]
    kinds = dict.fromkeys(row[:2] for row in ROWS)
    trays = [(*kind, 5.5, 1.2)[: 2 + len(more)] for kind in kinds]
    log = book(
        tmp_path, Harvest=[("Tray", "Plant", "Fresh weight (g)"), *plants], List=[("Tray", "Treatment", *more), *trays]
    )
    adopt(log, talk=answering(**TRAYS))
    found = {tray.code: tray.treatment for tray in pipeline.checked(log).trays}
    assert found == {"T1": "warm", "T2": "plain", "T3": "warm", "T4": "plain"}


def test_heights_beside_a_volume_of_the_pot_are_still_joined(tmp_path):
    heights = [(tray, plant, 20.5 + plant, 5.5) for tray, _, plant, _ in ROWS]
    log = log_with(tmp_path, [("Tray", "Plant", "Height (cm)", "Pot volume (L)"), *heights])
    adopt(log, talk=answering(**TRAYS))
    assert figures(log, "height") == pytest.approx({"warm": 23.0, "plain": 23.0})
