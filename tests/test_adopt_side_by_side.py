"""Treatments that stand side by side in a header: pairs of strips, pickings over pieces, totals in
another unit.
"""

import pytest

from reportgen import pipeline
from reportgen.importing.model.questions import Fate
from reportgen.importing.settings import read_settings
from tests.adopting import adopt, answering, asked, book, means, measured, settings_file

PAIRS = [
    ("Strip pair", "Ridged kg", "Flat kg", "Diff", "Diff %", "Roots ridged", "Roots flat"),
    (1, 3.86, 3.59, 0.27, 7.5, 42, 38),
    (2, 3.96, 3.60, 0.36, 10.0, 49, 40),
    (3, 4.04, 3.83, 0.21, 5.5, 50, 38),
    (4, 4.53, 3.97, 0.56, 14.1, 52, 47),
    (5, 4.13, 3.68, 0.45, 12.2, 44, 45),
    (6, 4.25, 3.49, 0.76, 21.8, 50, 51),
]
LIGHTS = {"v1": "sole", "v2": "LED", "v3": "sole", "v4": "LED"}
PICKINGS = [
    ("Bloc", "Plant", "1ère récolte (12/07)", None, "2e récolte (26/07)", None, "Total kg"),
    (None, None, "kg", "fruits", "kg", "fruits", None),
    (1, "greffé", 5.57, 19, 6.93, 24, 12.5),
    (1, "franc", 5.39, 18, 4.19, 14, 9.58),
    (2, "greffé", 6.03, 21, 6.92, 24, 12.95),
    (2, "franc", 4.94, 17, 3.85, 13, 8.79),
    (3, "greffé", 6.43, 22, 6.38, 22, 12.81),
    (3, "franc", 4.44, 15, 5.15, 18, 9.59),
]


def yields(log):
    """Return the number of units and the mean yield of a tray by treatment."""
    found = measured(pipeline.checked(log), "tray_yield")
    return {code: (one.n, one.value) for code, one in found.estimates}


def test_a_difference_of_two_treatments_is_neither_weight_nor_tare_and_a_pair_is_a_block(tmp_path):
    log = book(tmp_path, strips=PAIRS)
    talk = answering(
        covers="each value is of a whole tray",
        tray="tray: treatment + Strip pair; each value is of a whole",
    )
    adopt(log, talk=talk)
    assert yields(log) == {
        "Ridged": (6, pytest.approx(4128.33, abs=0.01)),
        "Flat": (6, pytest.approx(3693.33, abs=0.01)),
    }
    layout = read_settings(settings_file(log)).layouts[0]
    assert not any(values.tare for values in layout.values)
    blocks = {tray.block for tray in pipeline.checked(log).trays}
    assert blocks == {"1", "2", "3", "4", "5", "6"}


def test_units_below_the_days_of_pickings_are_no_treatments_and_their_total_agrees(tmp_path):
    log = book(tmp_path, Plots=PICKINGS)
    (question,) = asked(log, quantity="Fresh weight")
    assert question.key == "Plots.treatment"
    talk = answering(
        treatment="Plant",
        tray="tray: treatment + Bloc; pickings, which add up",
        occasions="pickings",
    )
    taken, _ = adopt(log, talk=talk)
    assert yields(log) == {
        "greffé": (3, pytest.approx(12753.33, abs=0.01)),
        "franc": (3, pytest.approx(9320)),
    }
    assert taken.state.ledger.count(Fate.AGREES) == 6


def test_a_total_in_kilograms_of_weights_in_grams_is_not_asked(tmp_path):
    rows = [
        (at, ("yes", "no")[at % 2], 700 + 13 * at, 790 - 11 * at, round(1.49 + 0.002 * at, 2))
        for at in range(1, 9)
    ]
    log = book(tmp_path, Bags=[("Bag", "Chitted?", "A (g)", "B (g)", "Total (kg)"), *rows])
    assert not [
        question.key
        for question in asked(log, quantity="Fresh weight")
        if question.key.startswith("row.")
    ]
    taken, _ = adopt(log, talk=answering(treatment="Chitted?", tray="tray: Bag; plant"))
    assert taken.state.ledger.count(Fate.AGREES) == 8


def plate(treatment, *rows):
    """Return a sheet of one plate: what was done, the day, and a weight a place in a grid of
    letters and numbers.
    """
    above = [
        ("Treatment:", treatment),
        ("Weighed:", "2025-02-24"),
        ("fresh weight in mg",),
        (None, 1, 2, 3),
    ]
    return [*above, *(("ABC"[at], *row) for at, row in enumerate(rows))]


def test_a_label_and_what_it_is_above_a_grid_are_a_field_and_no_header(tmp_path):
    warm = plate("warm mat", (852, 889, 782), (802, 826, 755), (838, 817, 764))
    none = plate("no mat", (563, 674, 766), (684, 595, 537), (714, 687, 490))
    again = plate("warm mat", (872, 783, 804), (839, 700, 695), (759, 928, 747))
    twice = plate("no mat", (758, 575, 671), (560, 759, 528), (675, 670, 568))
    log = book(tmp_path, **{"plate 1": warm, "plate 2": none, "plate 3": again, "plate 4": twice})
    adopt(
        log,
        talk=answering(
            treatment="Treatment", tray="the sheets", plant="plant: column A + the header row"
        ),
    )
    found = measured(pipeline.checked(log), "fresh_weight")
    assert {code: (one.n, one.value) for code, one in found.estimates} == {
        "warm mat": (2, pytest.approx(0.8029, abs=0.0001)),
        "no mat": (2, pytest.approx(0.6374, abs=0.0001)),
    }


def test_the_name_of_a_sheet_tells_quantity_and_unit_of_columns_that_trays_head(tmp_path):
    plants = [
        (tray, plant, light, 40 + 3 * plant + len(light))
        for tray, light in LIGHTS.items()
        for plant in (1, 2, 3)
    ]
    litres = [(f"2026-01-{day}", *(300 + 10 * day + at for at in range(4))) for day in (12, 19, 26)]
    log = book(
        tmp_path,
        piante=[("vaschetta", "pianta", "luce", "peso finale g"), *plants],
        **{"acqua ml": [("giorno", *LIGHTS), *litres]},
    )
    taken, _ = adopt(log, talk=answering(quantity="Fresh weight"))
    water = taken.state.summary["water"]
    assert {name: each.total for name, each in water.items()} == pytest.approx(
        {"sole": 2.946, "LED": 2.946 + 0.006}
    )
    assert means(log)["LED"][0] == 2


def test_a_level_that_a_list_of_trays_tells_in_numbers_is_asked_about(tmp_path):
    weights = [(tray, 300 + 7 * tray + 20 * (tray % 2)) for tray in range(1, 9)]
    layout = [(tray, "on" if tray < 5 else "off", (20, 30)[tray % 2]) for tray in range(1, 9)]
    log = book(
        tmp_path,
        Trays=[("tray", "weight g"), *weights],
        layout=[("tray", "Fan", "Seed g"), *layout],
    )
    questions = asked(log, quantity="Fresh weight")
    (question,) = [one for one in questions if one.key.endswith(".factor")]
    assert [choice.answer for choice in question.choices[:3]] == [
        "only Seed 30",
        "only Seed 20",
        "not told apart",
    ]
