"""Logs with numbers of plants: trays that were weighed whole, means of plants, plants that were started."""

from datetime import datetime, timedelta
from math import fsum
from statistics import fmean

import pytest

from reportgen import pipeline
from reportgen.adopt.adopting import log_of, understood
from reportgen.adopt.questions import answered, unanswered
from reportgen.adopt.unanswered import unanswered as still_open
from reportgen.metrics import compute
from reportgen.metrics.fairness import without_outliers
from reportgen.model.problem import WorkbookError
from reportgen.report.figures import plants
from tests.adopting import adopt, answering, book, said, trial
from tests.test_adopt_habits import TRAYS, settled

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


# --- as a log has them


def taken(log, **own):
    """Return the trial of a log that its owner answered for."""
    adopt(log, talk=answering(**{**TRAYS, **own}))
    return pipeline.checked(log)


def questions(log):
    return {one.kind: one for one in unanswered(understood(log_of((log,))))}


@pytest.mark.parametrize(
    ("tray", "treatment", "count", "total"),
    [
        ("Tray", "Treatment", "Plants", "Total fresh weight (g)"),
        ("Tray", "Treatment", "n", "Yield per tray, fresh weight (g)"),
        ("Bandeja", "Tratamiento", "Nº plantas", "Peso fresco total (g)"),
        ("Bac", "Modalité", "Nombre de plants", "Poids frais total (g)"),
        ("Schale", "Behandlung", "Anzahl Pflanzen", "Frischmasse gesamt (g)"),
        ("Vassoio", "Trattamento", "Piante raccolte", "Peso fresco totale (g)"),
        ("Bak", "Behandeling", "Aantal planten", "Versgewicht totaal (g)"),
        ("Tabuleiro", "Tratamento", "N.º de plantas", "Peso fresco total (g)"),
    ],
)
def test_the_plants_of_a_tray_that_was_weighed_whole_are_counted(tmp_path, tray, treatment, count, total):
    log = totals_log(tmp_path, tray, treatment, count, total)
    assert not {"per", "started", "all weighed"} & questions(log).keys()
    found = taken(log, independent=tray)
    assert figures(found)["fresh_weight"] == pytest.approx({"fed": 30.125, "plain": 25 + 5 / 48})
    assert "survival" not in figures(found)
    assert found.experimental_unit == "tray"


@pytest.mark.parametrize("mean", ["Mean fresh weight (g)", "Fresh weight (g/plant)", "Frischmasse, Mittel (g)"])
def test_means_with_their_number_are_read_as_means_and_it_is_said(tmp_path, mean):
    lines = [(tray, kind, count, total / count, 2.5) for tray, kind, count, total in TOTALS]
    log = totals_log(tmp_path, "Tray", "Treatment", "n", mean, "SD", lines=lines)
    _, shown = adopt(log, talk=answering(**TRAYS))
    assert "a tray yields that many times its mean" in shown
    found = figures(pipeline.checked(log))
    assert found["fresh_weight"] == pytest.approx({"fed": 30.125, "plain": 25 + 5 / 48})
    assert found["tray_yield"] == pytest.approx({"fed": 241.0, "plain": 301.25})


def test_a_weight_that_may_be_of_one_plant_or_of_the_tray_is_asked(tmp_path):
    log = totals_log(tmp_path, "Tray", "Treatment", "Plants", "Fresh weight (g)")
    assert 'be it as the mean of those under "Plants"' in questions(log)["per"].text
    assert figures(taken(log, per="pot"))["tray_yield"]["fed"] == pytest.approx(241.0)
    adopt(log)
    assert settled(log).tables[0].per == "pot"


def test_of_a_total_and_a_mean_the_total_is_the_yield(tmp_path):
    lines = [(tray, kind, count, round(total / count, 1), total / 1000) for tray, kind, count, total in TOTALS]
    log = totals_log(tmp_path, "Bandeja", "Tratamiento", "Nº plantas", "Peso medio (g)", "Peso total (kg)", lines=lines)
    (table,) = understood(log_of((log,))).adoption.tables
    assert [source.header for source in table.columns.values()][-1] == "Peso total (kg)"
    assert ratios(taken(log, independent="Bandeja"))["fresh_weight"] > 1.19


def test_plants_planted_and_harvested_tell_of_survival(tmp_path):
    lines = [(tray, kind, 12, count, total) for tray, kind, count, total in TOTALS]
    log = totals_log(
        tmp_path, "Vassoio", "Trattamento", "Piante messe", "Piante raccolte", "Peso totale fresco (g)", lines=lines
    )
    found = taken(log, independent="Vassoio")
    assert figures(found)["survival"] == pytest.approx({"fed": 100 * 8 / 12, "plain": 100.0})
    assert figures(found)["yield_per_plant_started"] == pytest.approx({"fed": 241 / 12, "plain": 301.25 / 12})


def test_where_only_the_plants_started_are_counted_it_is_asked_whether_all_were_weighed(tmp_path):
    other = tmp_path / "other"
    other.mkdir()
    log = totals_log(tmp_path, "Tray", "Treatment", "Planted", "Total fresh weight (g)")
    asked = questions(log)["all weighed"]
    assert figures(taken(log, **{"all weighed": asked.choices[0]}))["survival"] == {"fed": 100.0, "plain": 100.0}
    log = totals_log(other, "Tray", "Treatment", "Planted", "Total fresh weight (g)")
    adopt(log, talk=answering(**TRAYS, **{"all weighed": asked.choices[1]}))
    with pytest.raises(WorkbookError, match='Plants weighed is still "\\?"'):
        pipeline.checked(log)


def test_of_how_many_plants_a_mean_is_is_asked_where_nothing_counts_them(tmp_path):
    lines = [(tray, kind, total / count) for tray, kind, count, total in TOTALS]
    log = totals_log(tmp_path, "Tray", "Treatment", "Mean fresh weight (g)", lines=lines)
    adopt(log)
    with pytest.raises(WorkbookError, match='Write it, as "Plants weighed" = "12"'):
        pipeline.checked(log)
    found = figures(taken(log, number="10"))
    assert found["tray_yield"]["fed"] == pytest.approx(10 * found["fresh_weight"]["fed"])


def test_the_number_of_plants_of_a_mean_must_be_one(tmp_path):
    lines = [(tray, kind, total / count) for tray, kind, count, total in TOTALS]
    found = understood(log_of((totals_log(tmp_path, "Tray", "Treatment", "Mean fresh weight (g)", lines=lines),)))
    with pytest.raises(ValueError, match="a whole number"):
        answered(found, "table.0.constants.Plants weighed", "ten")


# --- plants started


def grown(tmp_path, *head, counts=(24, 22, 20)):
    """Write plants of four trays of ten, and a sheet of the trays with numbers of plants."""
    grown = [(f"T{at}", plant, 24.0 + at + plant / 10) for at in range(1, 5) for plant in range(1, 11)]
    trays = [(f"T{at}", ("plain", "fed")[at % 2], *counts[: len(head)]) for at in range(1, 5)]
    sheets = {"Trays": [("Tray", "Treatment", *head), *trays], "Log": [("Tray", "Plant", "Fresh weight (g)"), *grown]}
    return book(tmp_path, **sheets)


@pytest.mark.parametrize(
    "head", [("Sown", "Germinated", "Planted"), ("semées", "levées", "repiquées"), ("gesät", "gekeimt", "pikiert")]
)
def test_which_number_tells_the_plants_started_is_asked(tmp_path, head):
    log = grown(tmp_path, *head)
    asked = questions(log)["started"]
    assert asked.choices == (*head, "not known")
    assert figures(taken(log, started=head[2]))["survival"] == {"fed": 50.0, "plain": 50.0}


def test_survival_is_not_known_where_its_owner_does_not_know_it(tmp_path):
    log = grown(tmp_path, "Sown", "Germinated")
    adopt(log)
    with pytest.raises(WorkbookError, match='"Plants started" = "its header" under columns'):
        pipeline.checked(log)
    (open_one,) = (one for one in still_open(settled(log)) if "Plants started" in one.found)
    assert "not known" in open_one.expected
    assert "survival" not in figures(taken(log, started="not known"))
    before = settled(log)
    adopt(log)
    assert settled(log) == before


@pytest.mark.parametrize("head", ["Planted", "No. of plants", "plantadas", "Anzahl Pflanzen"])
def test_one_number_of_plants_of_each_tray_is_that_of_those_started(tmp_path, head):
    log = grown(tmp_path, head, counts=(20,))
    assert "started" not in questions(log)
    assert figures(taken(log))["survival"] == {"fed": 50.0, "plain": 50.0}


def test_trays_weighed_whole_are_no_plants_that_stand_out(tmp_path):
    found = taken(totals_log(tmp_path))
    assert without_outliers(found) is None
    (caption,) = (one.caption for one in plants(found, compute(found)))
    assert "the mean of those that were weighed together" in caption


# --- rows of several plants, and of none

HEAD = ("Tray", "Treatment", "Plant", "Fresh weight (g)")
CODES = [("F1", "fed"), ("P1", "plain"), ("F2", "fed"), ("P2", "plain")]


def with_last(*last):
    """Return four plants of four trays; `last` makes a further row of each tray's code and treatment."""
    for tray, kind in CODES:
        yield from ((tray, kind, plant, 24.0 + plant + len(kind)) for plant in range(1, 5))
        yield from (make(tray, kind) for make in last)


@pytest.mark.parametrize("name", ["rest (6)", "others", "übrige", "resto", "autres", "6 plants", "altre", "overige"])
def test_the_rest_of_a_tray_in_one_row_waits(tmp_path, name):
    rows = list(with_last(lambda tray, kind: (tray, kind, name, 160.0)))
    log = book(tmp_path, Log=[HEAD, *rows])
    with pytest.raises(WorkbookError, match="is the name of several plants"):
        taken(log)


@pytest.mark.parametrize("name", ["Mean {}", "{} mean", "Ø {}", "{} avg", "Subtotal tray {}", "Summe {}", "Moyenne {}"])
def test_a_mean_that_is_named_with_its_tray_is_left_out(tmp_path, name):
    rows = list(with_last(lambda tray, kind: (name.format(tray), kind, None, 27.5 + len(kind))))
    log = book(tmp_path, Log=[HEAD, *rows])
    (table,) = understood(log_of((log,))).adoption.tables
    assert table.exclude_rows == (6, 11, 16, 21)
    assert len(taken(log).trays) == 4


def test_a_mean_that_is_named_with_its_tray_waits_where_it_came_later(tmp_path):
    log = book(tmp_path, Log=[HEAD, *with_last()])
    taken(log)
    book(tmp_path, Log=[HEAD, *with_last(), ("F1 mean", "fed", 1, 27.2)])
    with pytest.raises(WorkbookError, match='"F1 mean" looks like a total or an average'):
        pipeline.checked(log)


def test_a_treatment_of_two_words_of_which_one_is_a_mean_keeps_its_plants(tmp_path):
    rows = [(f"T{at}", ("alta", "media alta", "baja", "media baja")[at % 4], 24.0 + at) for at in range(1, 17)]
    log = book(tmp_path, Log=[("Bandeja", "Dosis", "Peso fresco (g)"), *rows])
    (table,) = understood(log_of((log,))).adoption.tables
    assert table.exclude_rows == ()


@pytest.mark.parametrize("label", ["% of plain", "Ratio", "Differenz", "CV %", "t-test", "p-value", "% du témoin"])
def test_a_share_below_the_means_of_a_wide_table_is_no_plant(tmp_path, label):
    rows = [(at, 30.0 + at, 24.0 + at) for at in range(1, 9)]
    below = [("Mean", 34.5, 28.5), ("SD", 2.4, 2.4), (label, 121.1, 100.0)]
    log = book(tmp_path, Log=[("No", "fed", "plain"), *rows, *below])
    (table,) = understood(log_of((log,))).adoption.tables
    assert table.exclude_rows == (10, 11, 12)


# --- dead or alive


@pytest.mark.parametrize(
    ("header", "dead", "alive"),
    [
        ("Dead?", "yes", "no"),
        ("Alive", "N", "Y"),
        ("Tot", "ja", "nein"),
        ("Mort ?", "oui", "non"),
        ("Viva", "no", "sí"),
        ("Dood", "ja", "nee"),
        ("Morta", "sim", "não"),
        ("Survived", 0, 1),
    ],
)
@pytest.mark.parametrize("weight", [None, 0])
def test_a_column_that_says_which_plants_died_tells_of_survival(tmp_path, header, dead, alive, weight):
    rows = [(*row[:3], weight if row[2] == 4 else row[3], dead if row[2] == 4 else alive) for row in with_last()]
    log = book(tmp_path, Log=[(*HEAD, header), *rows])
    found = figures(taken(log))
    assert found["survival"] == pytest.approx({"fed": 75.0, "plain": 75.0})
    assert found["fresh_weight"]["fed"] == pytest.approx(29.0)


def test_a_plant_that_is_dead_and_was_weighed_is_pointed_out(tmp_path):
    rows = [(*row, "yes" if row[2] == 4 else "no") for row in with_last()]
    log = book(tmp_path, Log=[(*HEAD, "Dead?"), *rows])
    with pytest.raises(WorkbookError, match="a plant that is dead has a fresh weight"):
        taken(log)


# --- further measurements on a sheet of their own


def with_dry(tmp_path, head=("Tray", "Plant", "Dry weight (g)"), sheet="Dry", rows=None):
    """Return a log with a sheet of dry weights in another order, a tenth of the fresh ones."""
    plants = list(with_last())
    dry = [(tray, plant, weight / 10) for tray, _, plant, weight in reversed(plants)]
    return book(tmp_path, **{"Fresh": [HEAD, *plants], sheet: [head, *(dry if rows is None else rows)]})


@pytest.mark.parametrize("head", [("Tray", "Plant", "Dry weight (g)"), ("Schale", "Pflanze", "Trockengewicht (g)")])
def test_dry_weights_on_a_sheet_of_their_own_are_joined_by_tray_and_plant(tmp_path, head):
    log = with_dry(tmp_path, head)
    _, shown = adopt(log, talk=answering(**TRAYS))
    assert "joined to the fresh weights of the same plants" in shown
    found = pipeline.checked(log)
    assert len(found.plants) == 16
    assert figures(found)["dry_matter"] == pytest.approx({"fed": 10.0, "plain": 10.0})


def test_weights_of_one_header_are_fresh_and_dry_by_the_names_of_their_sheets(tmp_path):
    plants = list(with_last())
    fresh = [("Tray", "Treatment", "Plant", "Weight (g)"), *plants]
    dry = [("Tray", "Treatment", "Plant", "Weight (mg)"), *((*row[:3], row[3] * 80) for row in plants)]
    log = book(tmp_path, **{"Fresh weights": fresh, "Dry weights": dry})
    assert "mass" not in questions(log)
    found = taken(log)
    assert {one.code for one in found.treatments} == {"fed", "plain"}
    assert figures(found)["dry_matter"] == pytest.approx({"fed": 8.0, "plain": 8.0})


def test_heights_on_a_sheet_of_their_own_are_joined_where_the_tray_stands_once_a_group(tmp_path):
    rows = [(tray if plant == 1 else None, plant, 20.0 + plant) for tray, _, plant, _ in with_last()]
    log = with_dry(tmp_path, ("Tray", "Plant", "Height (cm)"), "Heights", rows)
    assert figures(taken(log))["height"] == pytest.approx({"fed": 22.5, "plain": 22.5})


def test_measurements_of_plants_that_have_no_weight_are_pointed_out(tmp_path):
    dry = [(tray, plant, weight / 10) for tray, _, plant, weight in with_last()]
    log = with_dry(tmp_path, rows=[*dry, ("F9", 1, 2.5)])
    assert [one.cell for one in taken(log).findings if "name no plant with a fresh weight" in one.found] == ["18:18"]
    with_dry(tmp_path, rows=[*dry, ("F1", 1, 2.5)])
    with pytest.raises(WorkbookError, match="Tray and Plant of row 2 name several plants"):
        pipeline.checked(log)


def test_dry_weights_that_name_no_plant_are_left_out_with_a_word(tmp_path):
    log = with_dry(tmp_path, ("Sample", "Dry weight (g)"), rows=[(f"S{at}", 2.0 + at / 10) for at in range(6)])
    _, shown = adopt(log, talk=answering(**TRAYS))
    assert "Dry: measurements without fresh weights" in shown
    assert "dry_weight" not in figures(pipeline.checked(log))


# --- summaries


@pytest.mark.parametrize("numbered", [True, False])
@pytest.mark.parametrize("of", [fmean, fsum])
def test_a_sheet_of_what_the_trays_weighed_is_no_more_plants(tmp_path, numbered, of):
    plants = list(with_last())
    trays = [(tray, kind, round(of(row[3] for row in plants if row[0] == tray), 1)) for tray, kind in CODES]
    rows = plants if numbered else [(*row[:2], row[3]) for row in plants]
    head = HEAD if numbered else (*HEAD[:2], HEAD[3])
    log = book(tmp_path, Log=[head, *rows], Overview=[("Tray", "Treatment", "Fresh weight (g)"), *trays])
    _, shown = adopt(log, talk=answering(**TRAYS))
    assert "Overview, A1:C5: means or totals of what stands in another table" in shown
    assert len(pipeline.checked(log).plants) == 16


def test_a_sheet_of_means_of_treatments_is_no_more_plants(tmp_path):
    plants = list(with_last())
    means = [(kind, fmean(row[3] for row in plants if row[1] == kind)) for kind in ("fed", "plain")]
    log = book(tmp_path, Log=[HEAD, *plants], Result=[("Treatment", "Fresh weight (g)"), *means])
    assert len(taken(log).plants) == 16


def test_trays_that_were_weighed_on_another_sheet_stay(tmp_path):
    more = [(f"N{at}", ("fed", "plain")[at % 2], at // 2, 25.0 + at) for at in range(2, 10)]
    log = book(tmp_path, Log=[HEAD, *with_last()], More=[HEAD, *more])
    assert len(understood(log_of((log,))).adoption.tables) == 2


def heights(*sheets):
    """Return a sheet of heights for each of some names, of a day each."""
    plants = list(with_last())
    return {
        sheet: [("Tray", "Plant", "Height (cm)"), *((row[0], row[2], 5.0 + 4 * at + row[2]) for row in plants)]
        for at, sheet in enumerate(sheets)
    }


def test_heights_on_a_sheet_a_day_are_growth(tmp_path):
    log = book(tmp_path, Log=[HEAD, *with_last()], **heights("2026-01-12", "2026-01-19", "2026-01-26"))
    found = taken(log)
    assert len(found.plants) == 16
    assert sorted({f"{one.on}" for one in found.growth}) == ["2026-01-12", "2026-01-19", "2026-01-26"]
    assert {one.code for one in found.treatments} == {"fed", "plain"}


def test_heights_on_sheets_without_days_are_left_out_with_a_word(tmp_path):
    log = book(tmp_path, Log=[HEAD, *with_last()], **heights("12 janv", "19 janv"))
    _, shown = adopt(log, talk=answering(**TRAYS))
    assert "19 janv: measurements of several weeks or days without their dates" in shown
    assert "height" not in figures(pipeline.checked(log))


def test_a_column_of_heights_a_week_is_no_treatment(tmp_path):
    weeks = [(tray, 5.0 + at, 9.0 + at, 14.5 + at) for at, (tray, _) in enumerate(CODES)]
    log = book(tmp_path, Log=[HEAD, *with_last()], Höhe=[("Kiste", "KW 2", "KW 3", "KW 4"), *weeks])
    _, shown = adopt(log, talk=answering(**TRAYS))
    assert "Höhe: measurements of several weeks or days without their dates" in shown
    assert {one.code for one in pipeline.checked(log).treatments} == {"fed", "plain"}


def test_a_height_that_stands_on_both_sheets_is_pointed_out(tmp_path):
    plants = [(*row, 30.0) for row in with_last()]
    log = book(tmp_path, Log=[(*HEAD, "Height (cm)"), *plants], **heights("Late"))
    found = taken(log)
    assert figures(found)["height"] == pytest.approx({"fed": 30.0, "plain": 30.0})
    assert any("Height stands twice" in one.found for one in found.findings)


def test_the_rest_of_a_tray_counts_as_its_plants_once_their_number_stands_beside(tmp_path):
    rows = list(with_last(lambda tray, kind: (tray, kind, "rest", 160.0)))
    log = book(tmp_path, Log=[(*HEAD, "Of"), *((*row, 6 if row[2] == "rest" else 1) for row in rows)])
    with pytest.raises(WorkbookError, match="is the name of several plants"):
        taken(log)
    settings = log.with_suffix(".adopt.toml")
    text = settings.read_text("utf-8").replace("columns = {", 'per = "pot"\ncolumns = { "Plants weighed" = "Of",')
    settings.write_text(text, "utf-8")
    found = pipeline.checked(log)
    assert [one.code for one in found.trays] == [tray for tray, _ in CODES]
    assert figures(found)["fresh_weight"]["fed"] == pytest.approx((25 + 26 + 27 + 28 + 4 * 3 + 160) / 10)


def test_dry_weights_in_a_wide_table_of_their_own_are_left_out_with_a_word(tmp_path):
    fresh = [("Fresh weight (g)",), ("fed", "plain"), *((29.5 + at, 24.5 + at) for at in range(8))]
    dry = [("Dry weight (g)",), ("fed", "plain"), *((2.9 + at / 10, 2.4 + at / 10) for at in range(8))]
    log = book(tmp_path, Fresh=fresh, Dry=dry)
    _, shown = adopt(log, talk=answering(independent="each row", **{"Reference treatment": "plain"}))
    assert "Dry: no fresh weights, and nothing says which plant" in shown
    assert figures(pipeline.checked(log))["fresh_weight"] == pytest.approx({"fed": 33.0, "plain": 28.0})


@pytest.mark.parametrize("counted", [True, False])
def test_figures_a_gram_say_that_they_rest_on_the_plants_written_down(tmp_path, counted):
    readings = [
        (datetime(2026, 1, 5) + timedelta(at), f"M-{kind}", kind, 100.0 + 10.5 * at)
        for at in range(43)
        for kind in ("fed", "plain")
    ]
    trays = [(tray, kind, 4) for tray, kind in CODES]
    sheets = {"Log": [HEAD, *with_last()], "Meter": [("Date", "Meter", "Treatment", "Reading (kWh)"), *readings]}
    if counted:
        sheets["Trays"] = [("Tray", "Treatment", "Planted"), *trays]
    log = book(tmp_path, **sheets)
    said = [one for one in taken(log).findings if "those written down are taken for all" in one.found]
    assert bool(said) is not counted


@pytest.mark.parametrize(("count", "stops"), [(12, True), (1, False)])
def test_a_number_of_plants_in_each_pot_that_is_not_read_stops_the_report(tmp_path, count, stops):
    lines = [(tray, kind, count, total) for tray, kind, _, total in TOTALS]
    log = totals_log(tmp_path, lines=lines)
    toml = BY_HAND.format(weight="Total fresh weight (g)", per="pot").replace('"Plants weighed" = "Plants", ', "")
    lines_said = [line for line in said(log, toml) if 'Write "Plants weighed" = "Plants" under columns' in line]
    assert bool(lines_said) is stops
    assert all('"Plants" tells of 12 plants' in line for line in lines_said)
