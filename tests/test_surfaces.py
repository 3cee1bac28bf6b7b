"""What a site says of a trial is the same wherever it says it: list, feed, card, page, post, PDF,
citation, results.

The trials are invented: one whose difference stands, one with a single lamp a treatment, one with
unequal losses, one of six treatments that differ by chance alone, and one with a tray a treatment.
"""

import json
import re
import shutil
import subprocess
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import lxml.etree
import lxml.html
import numpy as np
import pytest
import yaml

from reportgen import metrics, pipeline, report
from reportgen.metrics.verdicts import EXPLAINING
from reportgen.model.document import Report
from reportgen.model.results import Results
from reportgen.model.settings import Settings
from reportgen.render import answer_board, boards, card
from reportgen.render.palette import palette
from reportgen.report import message_texts, ratios
from reportgen.report.answer_texts import REASONS
from tests.workbooks import HARVEST, START, good, trial, write

HIDDEN = str.maketrans("", "", "\N{FIRST STRONG ISOLATE}\N{POP DIRECTIONAL ISOLATE}")
ATOM = {"a": "http://www.w3.org/2005/Atom"}
PLAIN, RICH = 21.0, 29.0  # g a plant
NOISE, ACID = 10, 0  # seeds


def weighed(codes, trays, plants, mean_of, seed):
    """Return the weights of each tray's plants: trays of a treatment vary by 3 %, plants by 5 %."""
    drawn = np.random.default_rng(seed)
    return {
        f"{code}-{tray}": (
            (mean_of(code) * drawn.normal(1, 0.03) * drawn.normal(1, 0.05, plants))
            .round(1)
            .tolist()
        )
        for code in codes
        for tray in range(1, trays + 1)
    }


def book(title, weights, lamps):
    """Return a workbook: weights by tray, None for a plant that died; how many lamps each treatment
    had.
    """
    sheets = good()
    codes = list(dict.fromkeys(tray.split("-")[0] for tray in weights))
    typed = dict(sheets["Trial"]) | {"Title": title, "Reference treatment": codes[0]}
    sheets["Trial"] = [list(field) for field in typed.items()]
    sheets["Treatments"] = [
        ["Treatment", "Name", "Canopy area (m2)", "Independent units"],
        *([code, code.capitalize(), 0.18, lamps] for code in codes),
    ]
    sheets["Trays"] = [
        ["Tray", "Treatment", "Block", "Plants started"],
        *([tray, *tray.split("-"), len(grown)] for tray, grown in weights.items()),
    ]
    sheets["Plants"] = [
        ["Tray", "Plant", "Fresh weight (g)", "Status"],
        *(
            [tray, number, weight, "dead" if weight is None else None]
            for tray, grown in weights.items()
            for number, weight in enumerate(grown, 1)
        ),
    ]
    sheets["Solution"] = sheets["Solution"][:1]
    used = {code: 12.0 * (1.5 if code == "rich" else 1.0) for code in codes}
    sheets["Meter"] = [
        sheets["Meter"][0],
        *(
            [f"m-{code}", code, datetime(day.year, day.month, day.day, 9), reading, None]
            for code, energy in used.items()
            for day, reading in ((START, 100.0), (HARVEST, 100.0 + energy))
        ),
    ]
    return sheets


def two(seed, trays=4):
    return weighed(("plain", "rich"), trays, 8, {"plain": PLAIN, "rich": RICH}.__getitem__, seed)


def with_losses():
    """Return the weights with 17 of the 32 plants under `rich` dead."""
    weights = two(9)
    for tray in range(1, 5):
        lost = 5 if tray == 1 else 4
        weights[f"rich-{tray}"][:lost] = [None] * lost
    return weights


def noise():
    """Return six treatments of one mean, of which one by itself would seem to stand apart from the
    reference.
    """
    return weighed([f"feed{number}" for number in range(6)], 4, 6, lambda code: PLAIN, NOISE)


BOOKS = {
    "sure": lambda: book("Rich feed", two(7), 4),
    "confounded": lambda: book("Rich feed under one lamp", two(8), 1),
    "losses": lambda: book("Rich feed and losses", with_losses(), 4),
    "noise": lambda: book("Six feeds", noise(), 4),
    "single": lambda: book("Rich feed in one tray", two(10, trays=1), 1),
}


@dataclass(frozen=True)
class Built:
    """A trial as calculated, as composed, and as it lies in the site."""

    results: Results
    report: Report
    site: Path

    @property
    def folder(self):
        return self.site / self.report.slug


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """Build the site of all the workbooks, PDFs and all."""
    folder = tmp_path_factory.mktemp("surfaces")
    books = tuple(write(sheets(), folder / f"{name}.xlsx") for name, sheets in BOOKS.items())
    for built in pipeline.build(books, folder / "site", options=pipeline.BuildOptions(jobs=1)):
        assert built.page, built.problems
    return folder


@pytest.fixture(scope="module")
def known(site):
    """Give each workbook's trial by its name."""
    found = {}
    for name in BOOKS:
        of = trial(site / f"{name}.xlsx")
        results = metrics.compute(of)
        found[name] = Built(results, report.compose(of, results), site / "site")
    return found


def flat(text):
    """Return a text in one line, without the marks that set names apart."""
    return " ".join(text.translate(HIDDEN).split())


def html(path):
    return lxml.html.fromstring(path.read_bytes())


def in_list(built):
    items = html(built.site / "index.html").iter("li")
    (item,) = [one for one in items if f"{built.report.slug}/index.html" in one.xpath(".//@href")]
    return item.text_content()


def in_feed(built):
    feed = lxml.etree.parse(str(built.site / "feed.xml"))
    address = f"{built.report.slug}/index.html"
    (entry,) = [
        one
        for one in feed.iterfind("a:entry", ATOM)
        if one.find("a:link", ATOM).get("href") == address
    ]
    return " ".join(entry.findtext(f"a:{name}", namespaces=ATOM) for name in ("title", "summary"))


def in_page(built):
    return html(built.folder / "index.html").text_content()


def in_description(built):
    return html(built.folder / "index.html").xpath("string(//meta[@name='description']/@content)")


def in_post(built):
    return html(built.folder / "post.html").text_content()


def in_markdown(built):
    return re.sub(r"\\(.)", r"\1", (built.folder / "post.md").read_text("utf-8"))


def in_citation(built):
    return yaml.safe_load((built.folder / "CITATION.cff").read_text("utf-8"))["abstract"]


def in_paper(built):
    """Return the text of the PDF's first page."""
    if not shutil.which("pdftotext"):
        pytest.skip("needs pdftotext, of poppler-utils")
    words = ["pdftotext", "-l", "1", str(built.folder / "report.pdf"), "-"]
    return subprocess.run(words, capture_output=True, check=True).stdout.decode()


def on_card(built):
    board = boards.Board(card.FORMAT, palette(Settings()))
    marks = answer_board.answer(built.report, board)
    return " ".join(mark.text for mark in marks if isinstance(mark, boards.Text))


SURFACES = {
    "list": in_list,
    "feed": in_feed,
    "page": in_page,
    "description": in_description,
    "post": in_post,
    "post in Markdown": in_markdown,
    "citation": in_citation,
    "paper": in_paper,
    "card": on_card,
}


def verdict(built, key=None):
    """Return code and reasons of a measure's first treatment in the results file, of the main
    measure if not named.
    """
    found = json.loads((built.folder / "results.json").read_text("utf-8"))
    wanted = key or found["trial"]["main_measure"]
    one = next(one for one in found["verdicts"] if one["metric"] == wanted)
    return one["code"], [reason["code"] for reason in one["reasons"]]


@pytest.mark.parametrize("surface", SURFACES)
@pytest.mark.parametrize("name", BOOKS)
def test_every_surface_has_the_whole_finding(known, name, surface):
    built = known[name]
    assert flat(built.report.headline) in flat(SURFACES[surface](built))


@pytest.mark.parametrize("surface", [name for name in SURFACES if name not in ("list", "card")])
@pytest.mark.parametrize("name", BOOKS)
def test_every_surface_with_room_for_it_has_the_whole_first_sentence(known, name, surface):
    built = known[name]
    said = flat(SURFACES[surface](built))
    assert flat(built.report.lead[0]) in said or flat(built.report.answer[0]) in said


@pytest.mark.parametrize(
    ("name", "code", "words"),
    [
        ("sure", "more", "Rich gave"),
        ("confounded", "confounded", "so this cannot be attributed to rich"),
        ("losses", "less", "Rich gave"),
        ("noise", "unclear", "We cannot say whether"),
        ("single", "untestable", "We cannot say how much of that is chance"),
    ],
)
def test_sentence_and_code_agree(known, name, code, words):
    assert verdict(known[name])[0] == code
    assert words in flat(known[name].report.answer[0])


@pytest.mark.parametrize("surface", SURFACES)
def test_a_confounded_trial_says_so_wherever_it_is_spoken_of(known, surface):
    said = flat(SURFACES[surface](known["confounded"]))
    assert "all trays of a treatment shared one lamp, mat, tank or tent" in said.lower()
    assert "not a fair test" in said
    assert verdict(known["confounded"])[1] == ["one_unit_for_all"]


@pytest.mark.parametrize("surface", SURFACES)
def test_losses_that_differ_lead_wherever_the_trial_is_spoken_of(known, surface):
    said = flat(SURFACES[surface](known["losses"]))
    assert 0 <= said.find("17 of 32 plants lost") < said.find("less coriander")


def test_the_card_calls_no_change_more_or_less_that_the_trial_cannot_stand_behind(known):
    for name, words in (("confounded", "not comparable"), ("single", "not tested")):
        told = [line.word for line in answer_board.answer_lines(known[name].report.box)]
        assert told[0] == words
        assert not {"more", "less"} & set(told)
        assert words in flat(on_card(known[name]))
    assert "more" in flat(on_card(known["sure"])).split()


def changes(built):
    """Return the ratio of each measure's first treatment as it is printed."""
    for result in built.results.measures:
        for _, one in result.comparisons[:1]:
            yield result.measure.key, flat(ratios.ratio(one.ratio, one.ratio_low, one.ratio_high))


def test_tables_of_a_confounded_trial_say_that_something_else_may_explain_it(known):
    for name, doubted in (("confounded", "yield per plant planted"), ("losses", "fresh weight")):
        report = known[name].report
        (growth,) = [one for one in report.sections if one.key == "growth"]
        (comparisons,) = [one for one in report.annex if one.key == "comparisons"]
        for section in (growth, comparisons):
            table = next(one for one in section.blocks if one.kind == "table")
            (measures_named,) = re.findall(
                r"Something other than the treatment may explain the change in ([^:]+):", table.note
            )
            assert doubted in measures_named
            assert "not comparable" in str(table.rows)
    assert "Something other" not in str(known["sure"].report.all_sections)


def single_limits(built):
    """Return the limits of single comparisons that differ from those shown, as they would be
    printed.
    """
    (main,) = [
        one for one in built.results.measures if one.measure.key == built.results.main_measure
    ]
    return {
        flat(ratios.ratio(one.ratio, one.single_low, one.single_high))
        for _, one in main.comparisons
        if ratios.ratio(one.ratio, one.single_low, one.single_high)
        != ratios.ratio(one.ratio, one.ratio_low, one.ratio_high)
    }


def test_of_six_treatments_of_noise_one_by_itself_would_seem_to_stand_apart(known):
    (main,) = [
        one
        for one in known["noise"].results.measures
        if one.measure.key == known["noise"].results.main_measure
    ]
    assert any(one.single_low > 1 or one.single_high < 1 for _, one in main.comparisons)
    assert all(one.ratio_low < 1 < one.ratio_high for _, one in main.comparisons)


def with_acid(seed):
    """Return six treatments whose pH differs by chance alone, tray by tray."""
    drawn = np.random.default_rng(seed)
    weights = noise()
    sheets = book("Six feeds", weights, 4)
    for tray in weights:
        acid = round(float(6 + drawn.normal(0, 0.1)), 2)
        filled, left = (
            [tray, START, "fill", 5.0, 1.6, acid, 21.0],
            [tray, HARVEST, "remaining", 2.0, 1.6, acid, 21.0],
        )
        sheets["Solution"] += [filled, left]
    return sheets


def test_differences_of_several_treatments_are_judged_together(tmp_path):
    # A measure whose zero is a convention has differences alone; here one by itself would seem to
    # stand apart.
    results = metrics.compute(trial(write(with_acid(ACID), tmp_path / "acid.xlsx")))
    (acid,) = [one for one in results.measures if one.measure.key == "ph"]
    compared = [one for _, one in acid.comparisons]
    assert any(one.p_value < 0.05 for one in compared)
    assert all(one.p_adjusted > 0.05 for one in compared)
    assert all(one.difference_low < 0 < one.difference_high for one in compared)
    assert {one.code for one in results.conclusions if one.measure == "ph"} == {"unclear"}


def test_limits_of_single_comparisons_stand_in_the_annex_alone(known):
    built = known["noise"]
    alone = single_limits(built)
    assert len(alone) == 5
    told = {name: flat(surface(built)) for name, surface in SURFACES.items() if name != "page"}
    told["sections"] = flat(str(built.report.sections).replace("\\xa0", " "))
    assert [(name, one) for name, said in told.items() for one in alone if one in said] == []
    (annex,) = [one for one in built.report.annex if one.key == "comparisons"]
    in_annex = flat(str(annex).replace("\\xa0", " "))
    assert [one for one in alone if one not in in_annex] == []


def test_no_treatment_of_noise_is_called_better_anywhere(known):
    for name, surface in SURFACES.items():
        assert not re.search(r"Feed\d gave \d", flat(surface(known["noise"]))), name


@pytest.mark.parametrize("name", BOOKS)
def test_without_a_price_of_the_crop_nothing_is_said_to_pay_or_not(known, name):
    built = known[name]
    said = flat(" ".join(surface(built) for surface in SURFACES.values()))
    assert not re.search(
        r"\bpays? for itself\b|(?<!Whether )\bit pays\b|\bwould pay\b|\bdoes not pay\b", said
    )


def test_dearer_electricity_and_a_larger_crop_leave_the_price_of_the_crop_to_decide(known):
    assert dict(changes(known["sure"]))["energy_use"].startswith("150")
    said = flat(in_page(known["sure"]))
    assert "Whether it pays depends on the crop price, which the workbook does not give." in said


def test_pooled_trials_that_another_cause_may_explain_are_named(tmp_path):
    books = []
    for title, seed, lamps in (("First year", 21, 4), ("Second year", 22, 1)):
        sheets = book(title, two(seed), lamps)
        sheets["Trial"].append(["Comparison", "rich feed"])
        books.append(write(sheets, tmp_path / f"{seed}.xlsx"))
    for built in pipeline.build(
        tuple(books), tmp_path / "site", options=pipeline.BuildOptions(pdf=False, jobs=1)
    ):
        assert built.page, built.problems
    said = flat(html(tmp_path / "site/pooled.html").text_content())
    assert (
        "Something other than the treatment may explain the change in Second year: see there."
        in said
    )
    trials = json.loads((tmp_path / "site/pooled.json").read_text("utf-8"))["comparisons"][0][
        "measures"
    ][0]["trials"]
    assert {one["slug"]: one["doubted"] for one in trials} == {"21": False, "22": True}


def test_every_finding_that_may_explain_a_difference_has_its_part_of_a_sentence():
    codes = {code for findings in EXPLAINING.values() for code in findings}
    assert codes == set(REASONS)
    assert codes <= set(message_texts.TEXTS)
