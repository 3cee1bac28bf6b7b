"""Logs with numbers of plants: trays that were weighed whole, means of plants, plants that were
started or died.
"""

from datetime import datetime, timedelta
from statistics import fmean

import pytest

from reportgen import pipeline
from reportgen.metrics import compute
from reportgen.metrics.validity import without_outliers
from reportgen.model.problem import WorkbookError
from reportgen.report.figures import plants
from tests.adopting import adopt, answering, asked, book, said, trial

# Fed trays held 8 plants of 30 g, plain ones 12 of 25 g: per plant fed is 1.2 times plain, per tray
# 0.8 times.
COUNTS = [("fed", 8, 240.0), ("plain", 12, 300.0)] * 4
TOTALS = [
    (f"T{at}", kind, count, total + at % 3) for at, (kind, count, total) in enumerate(COUNTS, 1)
]
TRAYS = {"trial.independent": "unit", "trial.reference": "plain"}
BY_HAND = """
[[table]]
sheets = ["Log"]
header_rows = [1]
gives = "Plants"
treatment = "column:Treatment"
unit = "column:Tray"
values = {{ "Fresh weight" = {{ columns = ["{weight}"], unit = "g", covers = "{covers}", count = "Plants" }} }}

[trial]
Title = "Feeding basil"
Crop = "basil"
"Started on" = 2026-01-05
"Harvested on" = 2026-02-16
"Reference treatment" = "plain"
"""
FRESH = {"fed": pytest.approx(30.125), "plain": pytest.approx(25 + 5 / 48)}


def figures(trial):
    """Return the estimates of each measure by treatment, by the measure's key."""
    return {
        one.measure.key: {code: estimate.value for code, estimate in one.estimates}
        for one in compute(trial).measures
    }


def ratios(trial):
    return {one.measure.key: dict(one.comparisons)["fed"].ratio for one in compute(trial).measures}


def totals_log(tmp_path, *head, lines=TOTALS):
    return book(
        tmp_path, Log=[head or ("Tray", "Treatment", "Plants", "Total fresh weight (g)"), *lines]
    )


def taken(log, **own):
    """Return the trial of a log that its owner answered for."""
    adopt(log, talk=answering(**{**TRAYS, **own}))
    return pipeline.checked(log)


# --- weighed together


def test_a_tray_weighed_whole_gives_its_total_and_the_mean_of_its_plants(tmp_path):
    found = trial(totals_log(tmp_path), BY_HAND.format(weight="Total fresh weight", covers="unit"))
    assert figures(found)["fresh_weight"] == FRESH
    assert figures(found)["tray_yield"]["fed"] == pytest.approx(241, abs=1)
    assert ratios(found)["fresh_weight"] > 1.19
    assert ratios(found)["tray_yield"] < 0.81


def test_means_of_plants_are_taken_times_their_number(tmp_path):
    means = [(tray, kind, count, total / count) for tray, kind, count, total in TOTALS]
    log = totals_log(tmp_path, "Tray", "Treatment", "Plants", "Mean fresh weight (g)", lines=means)
    of_means = figures(
        trial(log, BY_HAND.format(weight="Mean fresh weight", covers="mean per plant"))
    )
    of_totals = figures(
        trial(totals_log(tmp_path), BY_HAND.format(weight="Total fresh weight", covers="unit"))
    )
    assert {key: pytest.approx(value) for key, value in of_means.items()} == of_totals


def test_survival_is_not_known_where_only_the_plants_weighed_are_counted(tmp_path):
    log, toml = totals_log(tmp_path), BY_HAND.format(weight="Total fresh weight", covers="unit")
    made = trial(log, toml)
    assert not {"survival", "yield_per_plant_started"} & figures(made).keys()
    assert [
        line
        for line in said(log, toml)
        if "not known how many plants 8 trays were started with" in line
    ]
    assert [(one.plants_started, one.plants_harvested) for one in compute(made).counts] == [
        (None, 48),
        (None, 32),
    ]


@pytest.mark.parametrize(
    ("tray", "treatment", "count", "total"),
    [
        ("Tray", "Treatment", "n", "Yield per tray, fresh weight (g)"),
        ("Bandeja", "Tratamiento", "Nº plantas", "Peso fresco total (g)"),
        ("Schale", "Behandlung", "Anzahl Pflanzen", "Frischmasse gesamt (g)"),
        ("Bak", "Behandeling", "Aantal planten", "Versgewicht totaal (g)"),
    ],
)
def test_the_plants_of_a_tray_that_was_weighed_whole_are_counted(
    tmp_path, tray, treatment, count, total
):
    log = totals_log(tmp_path, tray, treatment, count, total)
    assert not [one for one in asked(log) if one.key.startswith("Log.")]
    found = figures(taken(log))
    assert found["fresh_weight"] == FRESH
    assert "survival" not in found


@pytest.mark.parametrize(
    "mean", ["Mean fresh weight (g)", "Fresh weight (g/plant)", "Frischmasse, Mittel (g)"]
)
def test_means_with_their_number_are_read_as_means(tmp_path, mean):
    lines = [(tray, kind, count, total / count, 2.5) for tray, kind, count, total in TOTALS]
    found = figures(taken(totals_log(tmp_path, "Tray", "Treatment", "n", mean, "SD", lines=lines)))
    assert found["fresh_weight"] == FRESH
    assert found["tray_yield"] == {"fed": pytest.approx(241.0), "plain": pytest.approx(301.25)}


def test_a_weight_that_may_be_of_one_plant_or_of_the_tray_is_settled_by_its_count_or_asked(
    tmp_path,
):
    log = totals_log(tmp_path, "Tray", "Treatment", "Plants", "Fresh weight (g)")
    assert (
        figures(taken(log, truth={code: (4, mean) for code, mean in FRESH.items()}))["fresh_weight"]
        == FRESH
    )


def test_of_a_total_and_a_mean_both_tell_the_same_trial(tmp_path):
    lines = [
        (tray, kind, count, total / count, total / 1000) for tray, kind, count, total in TOTALS
    ]
    log = totals_log(
        tmp_path,
        "Bandeja",
        "Tratamiento",
        "Nº plantas",
        "Peso medio (g)",
        "Peso total (kg)",
        lines=lines,
    )
    found = taken(log)
    assert ratios(found)["fresh_weight"] > 1.19
    assert figures(found)["fresh_weight"] == FRESH


def test_a_mean_that_is_not_that_of_its_total_is_asked_about(tmp_path):
    lines = [
        (tray, kind, count, total / count, total / 1000) for tray, kind, count, total in TOTALS
    ]
    lines[2] = (*lines[2][:3], 33.0, lines[2][4])
    log = totals_log(
        tmp_path, "Tray", "Treatment", "Plants", "Mean weight (g)", "Total weight (kg)", lines=lines
    )
    assert [one.where for one in asked(log, quantity="Fresh weight")] == [("Log!D4",)]


def test_survival_is_that_of_the_plants_started_where_both_are_counted(tmp_path):
    lines = [(tray, kind, 12, count, total) for tray, kind, count, total in TOTALS]
    log = totals_log(
        tmp_path,
        "Vassoio",
        "Trattamento",
        "Piante messe",
        "Piante raccolte",
        "Peso totale fresco (g)",
        lines=lines,
    )
    found = figures(taken(log))
    assert found["fresh_weight"] == FRESH
    assert found.get("survival", {}) in (
        {},
        {"fed": pytest.approx(100 * 8 / 12), "plain": pytest.approx(100.0)},
    )


def test_means_of_an_untold_number_of_plants_are_pointed_out(tmp_path):
    lines = [(tray, kind, total / count) for tray, kind, count, total in TOTALS]
    found = taken(
        totals_log(tmp_path, "Tray", "Treatment", "Mean fresh weight (g)", lines=lines),
        covers="each value is a mean per plant",
    )
    assert figures(found)["fresh_weight"] == FRESH
    assert any("nothing tells how many plants the means" in one.found for one in found.findings)


def test_trays_weighed_whole_are_no_plants_that_stand_out(tmp_path):
    found = taken(totals_log(tmp_path))
    assert without_outliers(found) is None
    (caption,) = (one.caption for one in plants(found, compute(found)))
    assert "small marks: means of plants weighed together" in caption


# --- rows of several plants, and of none

HEAD = ("Tray", "Treatment", "Plant", "Fresh weight (g)")
CODES = [("F1", "fed"), ("P1", "plain"), ("F2", "fed"), ("P2", "plain")]
MEANS = {"fed": pytest.approx(29.5), "plain": pytest.approx(31.5)}


def with_last(*last):
    """Return four plants of four trays; `last` makes a further row of each tray's code and
    treatment.
    """
    for tray, kind in CODES:
        yield from ((tray, kind, plant, 24.0 + plant + len(kind)) for plant in range(1, 5))
        yield from (make(tray, kind) for make in last)


@pytest.mark.parametrize("name", ["rest (6)", "others", "6 plants"])
def test_the_rest_of_a_tray_in_one_row_waits(tmp_path, name):
    log = book(tmp_path, Log=[HEAD, *with_last(lambda tray, kind: (tray, kind, name, 160.0))])
    assert [one.key for one in asked(log) if one.key.startswith("row.")]


@pytest.mark.parametrize("name", ["Mean {}", "Ø {}", "Subtotal tray {}"])
def test_a_mean_that_is_named_with_its_tray_is_left_out(tmp_path, name):
    made = list(with_last(lambda tray, kind: (name.format(tray), kind, None, 26.5 + len(kind))))
    found = taken(book(tmp_path, Log=[HEAD, *made]))
    assert len(found.trays) == 4
    assert figures(found)["fresh_weight"] == MEANS


def test_a_mean_that_came_later_is_not_taken_for_a_plant(tmp_path):
    log = book(tmp_path, Log=[HEAD, *with_last()])
    taken(log)
    book(tmp_path, Log=[HEAD, *with_last(), ("F1 mean", "fed", None, 29.5)])
    with pytest.raises(WorkbookError, match="F1 mean"):
        pipeline.checked(log)


def test_a_treatment_of_two_words_of_which_one_is_a_mean_keeps_its_plants(tmp_path):
    rows = [
        (f"T{at}", ("alta", "media alta", "baja", "media baja")[at % 4], 24.0 + at * 7 % 11 / 2)
        for at in range(1, 17)
    ]
    log = book(tmp_path, Log=[("Bandeja", "Dosis", "Peso fresco (g)"), *rows])
    found = taken(log, covers="each value is of one plant", **{"trial.reference": "alta"})
    assert len(found.plants) == 16 or len(found.trays) == 16


@pytest.mark.parametrize("label", ["% of plain", "t-test"])
def test_a_share_below_the_means_of_a_wide_table_is_no_plant(tmp_path, label):
    rows = [(at, 30.5 + at * 7 % 11, 24.5 + at * 5 % 7) for at in range(1, 9)]
    fed, plain = fmean(row[1] for row in rows), fmean(row[2] for row in rows)
    below = [("Mean", fed, plain), (label, round(100 * fed / plain, 1), 100.0)]
    log = book(tmp_path, Log=[("No", "fed", "plain"), *rows, *below])
    found = figures(taken(log, tray="tray: none", **{"trial.independent": "plant"}))
    assert found["fresh_weight"] == {"fed": pytest.approx(fed), "plain": pytest.approx(plain)}


# --- dead or alive


@pytest.mark.parametrize(
    ("header", "dead", "alive", "weight"),
    [
        ("Dead?", "yes", "no", None),
        ("Alive", "N", "Y", None),
        ("Mort ?", "oui", "non", None),
        ("Dead?", "yes", "no", 0),
    ],
)
def test_a_column_that_says_which_plants_died_tells_of_survival(
    tmp_path, header, dead, alive, weight
):
    rows = [
        (*row[:3], weight if row[2] == 4 else row[3], dead if row[2] == 4 else alive)
        for row in with_last()
    ]
    log = book(tmp_path, Log=[(*HEAD, header), *rows])
    found = figures(taken(log, blank="plant lost", row="dead"))
    assert found["survival"] == {"fed": pytest.approx(75.0), "plain": pytest.approx(75.0)}
    assert found["fresh_weight"]["fed"] == pytest.approx(29.0)


# --- further measurements on a sheet of their own


def with_dry(tmp_path, head=("Tray", "Plant", "Dry weight (g)"), sheet="Dry", rows=None):
    """Return a log with a sheet of dry weights in another order, a tenth of the fresh ones."""
    plants = list(with_last())
    dry = [(tray, plant, weight / 10) for tray, _, plant, weight in reversed(plants)]
    return book(
        tmp_path, **{"Fresh": [HEAD, *plants], sheet: [head, *(dry if rows is None else rows)]}
    )


@pytest.mark.parametrize(
    "head", [("Tray", "Plant", "Dry weight (g)"), ("Schale", "Pflanze", "Trockengewicht (g)")]
)
def test_dry_weights_on_a_sheet_of_their_own_are_joined_by_tray_and_plant(tmp_path, head):
    found = taken(with_dry(tmp_path, head))
    assert len(found.plants) == 16
    assert figures(found)["dry_matter"] == {
        "fed": pytest.approx(10.0),
        "plain": pytest.approx(10.0),
    }


def test_weights_of_one_header_are_fresh_and_dry_by_the_names_of_their_sheets(tmp_path):
    plants = list(with_last())
    fresh = [("Tray", "Treatment", "Plant", "Weight (g)"), *plants]
    dry = [
        ("Tray", "Treatment", "Plant", "Weight (mg)"),
        *((*row[:3], row[3] * 80) for row in plants),
    ]
    log = book(tmp_path, **{"Fresh weights": fresh, "Dry weights": dry})
    assert not [one for one in asked(log) if ".quantity." in one.key]
    assert figures(taken(log))["dry_matter"] == {
        "fed": pytest.approx(8.0),
        "plain": pytest.approx(8.0),
    }


def test_heights_on_a_sheet_of_their_own_are_joined_where_the_tray_stands_once_a_group(tmp_path):
    rows = [
        (tray if plant == 1 else None, plant, 20.0 + plant) for tray, _, plant, _ in with_last()
    ]
    log = with_dry(tmp_path, ("Tray", "Plant", "Height (cm)"), "Heights", rows)
    assert figures(taken(log))["height"] == {
        "fed": pytest.approx(22.5),
        "plain": pytest.approx(22.5),
    }


def test_a_measurement_that_names_a_plant_twice_is_an_error(tmp_path):
    dry = [(tray, plant, weight / 10) for tray, _, plant, weight in with_last()]
    log = with_dry(tmp_path, rows=[*dry, ("F1", 1, 2.5)])
    adopt(log, talk=answering(**TRAYS))
    with pytest.raises(WorkbookError):
        pipeline.checked(log)


# --- summaries


@pytest.mark.parametrize("numbered", [True, False])
def test_a_sheet_of_what_the_trays_weighed_is_no_more_plants(tmp_path, numbered):
    plants = list(with_last())
    trays = [
        (tray, kind, fmean(row[3] for row in plants if row[0] == tray)) for tray, kind in CODES
    ]
    rows = plants if numbered else [(*row[:2], row[3]) for row in plants]
    head = HEAD if numbered else (*HEAD[:2], HEAD[3])
    log = book(
        tmp_path,
        Log=[head, *rows],
        Overview=[("Tray", "Treatment", "Mean fresh weight (g)"), *trays],
    )
    found = taken(log, covers="each value is of one plant")
    assert len(found.plants) == 16
    assert figures(found)["fresh_weight"] == MEANS


def test_a_sheet_of_means_of_treatments_is_no_more_plants(tmp_path):
    plants = list(with_last())
    means = [(kind, fmean(row[3] for row in plants if row[1] == kind)) for kind in ("fed", "plain")]
    log = book(tmp_path, Log=[HEAD, *plants], Result=[("Treatment", "Fresh weight (g)"), *means])
    found = taken(log, **{"Result.covers": "no part of the trial"})
    assert len(found.plants) == 16
    assert figures(found)["fresh_weight"] == MEANS


def test_trays_that_were_weighed_on_another_sheet_stay(tmp_path):
    more = [
        (f"N{at}", ("fed", "plain")[at % 2], plant, 25.3 + at * 7 % 5 + plant)
        for at in (2, 3)
        for plant in (1, 2, 3)
    ]
    log = book(tmp_path, Log=[HEAD, *with_last()], More=[HEAD, *more])
    found = taken(log, treatment="treatment: Treatment; second factor: not told apart")
    assert len(found.trays) == 6
    assert len(found.plants) == 22


def heights(*sheets):
    """Return a sheet of heights for each of some names, of a day each."""
    plants = list(with_last())
    return {
        sheet: [
            ("Tray", "Plant", "Height (cm)"),
            *((row[0], row[2], 5.0 + 4 * at + row[2]) for row in plants),
        ]
        for at, sheet in enumerate(sheets)
    }


def test_heights_on_a_sheet_a_day_are_growth(tmp_path):
    log = book(
        tmp_path, Log=[HEAD, *with_last()], **heights("2026-01-12", "2026-01-19", "2026-01-26")
    )
    found = taken(log, occasions="the same plants measured again")
    assert len(found.plants) == 16
    assert sorted({f"{one.on}" for one in found.growth}) == [
        "2026-01-12",
        "2026-01-19",
        "2026-01-26",
    ]
    assert {one.code for one in found.treatments} == {"fed", "plain"}


def test_a_column_of_heights_a_week_is_no_treatment(tmp_path):
    weeks = [(tray, 5.0 + at, 9.0 + at, 14.5 + at) for at, (tray, _) in enumerate(CODES)]
    log = book(tmp_path, Log=[HEAD, *with_last()], Höhe=[("Kiste", "KW 2", "KW 3", "KW 4"), *weeks])
    found = taken(
        log, **{"plant": "plant: none; the same plants measured again", "measure.KW 2": "cm"}
    )
    assert {one.code for one in found.treatments} == {"fed", "plain"}
    first = [(one.on.isocalendar().week, one.values[0]) for one in found.growth if one.tray == "F1"]
    assert first == [
        (2, 5.0),
        (3, 9.0),
        (4, 14.5),
    ]  # `KW` is the German word for the week of ISO 8601


# --- figures a gram


def test_figures_a_gram_say_that_they_rest_on_the_plants_written_down(tmp_path):
    readings = [
        (datetime(2026, 1, 5) + timedelta(at), f"M-{kind}", kind, 100.0 + 10.5 * at)
        for at in range(43)
        for kind in ("fed", "plain")
    ]
    power = [("Date", "Meter", "Treatment", "Reading (kWh)"), *readings]
    found = taken(book(tmp_path, Log=[HEAD, *with_last()], Power=power)).findings
    assert [one.code for one in found if "those written down are taken for all" in one.found] == [
        "plants_not_counted"
    ]
