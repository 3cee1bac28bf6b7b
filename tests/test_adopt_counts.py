"""Logs with numbers of plants: trays that were weighed whole, means of plants, plants that were started."""

import pytest

from reportgen.metrics import compute
from tests.adopting import book, said, trial

# Fed trays held 8 plants of 30 g, plain ones 12 of 25 g: per plant fed is 1.2 times plain, per tray 0.8 times.
COUNTS = [("fed", 8, 240.0), ("plain", 12, 300.0)] * 4
TOTALS = [(f"T{at}", kind, count, total + at % 3) for at, (kind, count, total) in enumerate(COUNTS, 1)]
BY_HAND = """
[[table]]
sheet = "Log"
gives = "Plants"
columns = {{ Tray = "Tray", Treatment = "Treatment", "Plants weighed" = "Plants", "Fresh weight" = "{weight}" }}
per = "{per}"

[trial]
Title = "Feeding basil"
Crop = "basil"
"Started on" = 2026-01-05
"Harvested on" = 2026-02-16
"Reference treatment" = "plain"
"Experimental unit" = "tray"
"""


def figures(trial):
    """Return the estimates of each measure by treatment, by the measure's key."""
    return {
        one.measure.key: {code: estimate.value for code, estimate in one.estimates} for one in compute(trial).measures
    }


def ratios(trial):
    return {one.measure.key: dict(one.comparisons)["fed"].ratio for one in compute(trial).measures}


def totals_log(tmp_path, *head, lines=TOTALS):
    return book(tmp_path, Log=[head or ("Tray", "Treatment", "Plants", "Total fresh weight (g)"), *lines])


# --- weighed together


def test_a_tray_weighed_whole_gives_its_total_and_the_mean_of_its_plants(tmp_path):
    found = trial(totals_log(tmp_path), BY_HAND.format(weight="Total fresh weight (g)", per="pot"))
    assert figures(found)["fresh_weight"] == pytest.approx({"fed": 30.125, "plain": 25 + 5 / 48})
    assert figures(found)["tray_yield"]["fed"] == pytest.approx(241, abs=1)
    assert ratios(found)["fresh_weight"] > 1.19
    assert ratios(found)["tray_yield"] < 0.81


def test_means_of_plants_are_taken_times_their_number(tmp_path):
    means = [(tray, kind, count, total / count) for tray, kind, count, total in TOTALS]
    log = totals_log(tmp_path, "Tray", "Treatment", "Plants", "Mean fresh weight (g)", lines=means)
    of_means = figures(trial(log, BY_HAND.format(weight="Mean fresh weight (g)", per="plant")))
    whole = totals_log(tmp_path)
    of_totals = figures(trial(whole, BY_HAND.format(weight="Total fresh weight (g)", per="pot")))
    assert {key: pytest.approx(value) for key, value in of_means.items()} == of_totals


def test_survival_is_not_known_where_only_the_plants_weighed_are_counted(tmp_path):
    log, toml = totals_log(tmp_path), BY_HAND.format(weight="Total fresh weight (g)", per="pot")
    assert not {"survival", "yield_per_plant_started"} & figures(trial(log, toml)).keys()
    assert [line for line in said(log, toml) if "not known how many plants 8 trays were started with" in line]
    assert [(one.plants_started, one.plants_harvested) for one in compute(trial(log, toml)).counts] == [
        (None, 48),
        (None, 32),
    ]


def test_survival_is_that_of_the_plants_started_where_both_are_counted(tmp_path):
    lines = [(tray, kind, 12, count, total) for tray, kind, count, total in TOTALS]
    log = totals_log(tmp_path, "Tray", "Treatment", "Planted", "Plants", "Total fresh weight (g)", lines=lines)
    toml = BY_HAND.format(weight="Total fresh weight (g)", per="pot")
    found = figures(trial(log, toml.replace("columns = {", 'columns = { "Plants started" = "Planted",')))
    assert found["survival"] == pytest.approx({"fed": 100 * 8 / 12, "plain": 100.0})


def test_a_height_beside_a_whole_tray_is_the_mean_of_its_plants_and_a_dry_weight_their_sum(tmp_path):
    lines = [(*row, row[3] / 10, 20.0) for row in TOTALS]
    head = ("Tray", "Treatment", "Plants", "Total fresh weight (g)", "Dry (g)", "Height (cm)")
    toml = BY_HAND.format(weight="Total fresh weight (g)", per="pot")
    more = 'columns = { "Dry weight" = "Dry (g)", Height = "Height (cm)",'
    found = figures(trial(totals_log(tmp_path, *head, lines=lines), toml.replace("columns = {", more)))
    assert found["height"] == pytest.approx({"fed": 20.0, "plain": 20.0})
    assert found["dry_matter"] == pytest.approx({"fed": 10.0, "plain": 10.0})
    assert found["dry_weight"]["fed"] == pytest.approx(found["fresh_weight"]["fed"] / 10)
