"""Readings of meters and volumes of solution that stand once for the whole trial, without days."""

from datetime import datetime, timedelta

import pytest

from reportgen import pipeline
from reportgen.importing.settings import settings_file
from reportgen.metrics import compute
from tests.adopting import adopt, answering, book
from tests.test_adopt_which_column import HEAD, ROWS, TRAYS

USED = {
    "warm": pytest.approx(24.9),
    "plain": pytest.approx(15.9),
}  # kWh, half of what each meter counted
READ = [("warm", 100.4, 150.2), ("plain", 88.2, 120.0)]
POURED = {
    "warm": pytest.approx(6.2),
    "plain": pytest.approx(5.1),
}  # L a tray: 5.1 + 2 - 1 and 5.3 + 2 - 1 are 12.4
FLASKS = [
    ("T1", 5.1, 2.0, 1.0),
    ("T2", 4.2, 2.0, 1.0),
    ("T3", 5.3, 2.0, 1.0),
    ("T4", 4.0, 2.0, 1.0),
]


def log_with(tmp_path, rows):
    return book(tmp_path, Harvest=[HEAD, *ROWS], Readings=rows)


def figures(log, key, **own):
    adopt(log, talk=answering(**{**TRAYS, **own}))
    measures = {one.measure.key: one for one in compute(pipeline.checked(log)).measures}
    return {code: one.value for code, one in measures[key].estimates} if key in measures else None


@pytest.mark.parametrize(
    ("head", "rows"),
    [
        (("Treatment", "Start kWh", "End kWh"), READ),
        (("Behandlung", "Anfang (kWh)", "Ende (kWh)"), READ),
        (("Tratamiento", "Lectura inicial (kWh)", "Lectura final (kWh)"), READ),
        (
            ("Meter", "Treatment", "First reading (kWh)", "Last reading (kWh)", "Used (kWh)"),
            [(f"M{at}", *row, row[2] - row[1]) for at, row in enumerate(READ)],
        ),
        (("Treatment", "kWh"), [(kind, last - first) for kind, first, last in READ]),
    ],
)
def test_a_meter_read_at_the_start_and_the_end_or_what_it_counted(tmp_path, head, rows):
    log = log_with(tmp_path, [head, *rows])
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
    assert figures(log_with(tmp_path, [head, *FLASKS]), "water_use") == POURED


def test_what_was_used_up_is_no_volume_beside_a_budget(tmp_path):
    rows = [(*row, row[1] + row[2] - row[3]) for row in FLASKS]
    log = log_with(tmp_path, [("Tray", "Filled (L)", "Added (L)", "Left (L)", "Used (L)"), *rows])
    assert figures(log, "water_use") == POURED


def test_volumes_of_treatments_that_were_used_are_those_of_their_trays(tmp_path):
    log = log_with(
        tmp_path, [("Treatment", "Total water used (L)"), ("warm", 12.4), ("plain", 10.2)]
    )
    assert figures(log, "water_use") == POURED


def test_a_volume_of_which_nothing_tells_what_it_is_gives_no_water_use_without_a_word(tmp_path):
    log = log_with(tmp_path, [("Tray", "Filled (L)", "Extra (L)", "Left (L)"), *FLASKS])
    found = figures(log, "water_use")
    assert found in (None, POURED)


def test_a_counter_that_begins_again_each_day_counts_on(tmp_path):
    def hourly(power):
        begins = datetime(2026, 1, 5, 0, 30)
        lines = [
            (begins + timedelta(hours=at), round(power * (at % 24 + 0.5), 4))
            for at in range(42 * 24)
        ]
        return [("Timestamp", "Energy today (kWh)"), *lines]

    log = book(tmp_path, Harvest=[HEAD, *ROWS], warm=hourly(0.03), plain=hourly(0.02))
    # The half hours before midnight stand in no reading: 24 h less half an hour a day, over 42
    # days, for two trays.
    lost = 41 * 0.5 + 0.5
    wanted = {
        kind: pytest.approx(power * (42 * 24 - lost - 0.5) / 2)
        for kind, power in (("warm", 0.03), ("plain", 0.02))
    }
    assert figures(log, "energy_use", counts="the numbers are: daily counter") == wanted


@pytest.mark.parametrize("more", [("Volume (L)",), ("Filled (L)", "Left (L)")])
def test_a_list_of_trays_with_a_volume_stays_one(tmp_path, more):
    plants = [(tray, plant, weight) for tray, _, plant, weight in ROWS]
    kinds = dict.fromkeys(row[:2] for row in ROWS)
    trays = [(*kind, 5.5, 1.2)[: 2 + len(more)] for kind in kinds]
    log = book(
        tmp_path,
        Harvest=[("Tray", "Plant", "Fresh weight (g)"), *plants],
        List=[("Tray", "Treatment", *more), *trays],
    )
    adopt(log, talk=answering(**TRAYS))
    found = {tray.code: tray.treatment for tray in pipeline.checked(log).trays}
    assert found == {"T1": "warm", "T2": "plain", "T3": "warm", "T4": "plain"}


def test_heights_beside_a_volume_of_the_pot_are_still_joined(tmp_path):
    heights = [(tray, plant, 20.5 + plant, 5.5) for tray, _, plant, _ in ROWS]
    log = log_with(tmp_path, [("Tray", "Plant", "Height (cm)", "Pot volume (L)"), *heights])
    assert figures(log, "height") == {"warm": pytest.approx(23.0), "plain": pytest.approx(23.0)}
