"""Trials in which every plant stands in a pot of its own: what they count, and how pages call it."""

import json
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from reportgen import metrics, report
from reportgen.model.document import Figure, Table
from reportgen.model.settings import Settings
from reportgen.stats.clustered_proportion import fit_proportions, proportion
from tests.trials import codes, fair_trial
from tests.workbooks import trial as read

SAMPLES = Path(__file__).parent.parent / "sample_workbook"

NO_BREAK = "\N{NO-BREAK SPACE}"


@cache
def potted(language="en"):
    """Return the sample of tomatoes in pots, written in a language."""
    sample = read(SAMPLES / "tomate-cereza-luz-de-apoyo.xlsx")
    return replace(sample, about=replace(sample.about, language=language))


@cache
def results():
    return metrics.compute(potted())


@cache
def page(language="en"):
    return report.compose(potted(language), results())


def section(key, language="en"):
    return next(one for one in page(language).all_sections if one.key == key)


def tables(key):
    return [block for block in section(key).blocks if isinstance(block, Table)]


def test_one_plant_a_pot_shares_nothing_so_survival_has_the_plain_interval_of_wilson():
    survival = next(one for one in results().measures if one.measure.key == "survival")
    for _, one in survival.estimates:
        # R 4.2.2: prop.test(4, 4, correct = FALSE)$conf.int
        assert (one.low, one.high) == pytest.approx((51.0109163545403, 100), rel=1e-12)
        assert codes(one.methods) == ["independent_plants"]
        assert codes(one.notes) == []


def test_lost_plants_in_pots_of_their_own_count_one_by_one():
    ones = np.ones(11)
    alive = np.array([1.0] * 9 + [0.0] * 2)
    found = proportion(fit_proportions(alive, ones, np.zeros(11, dtype=int), 1), 0, 0.95)
    # R 4.2.2: prop.test(9, 11, correct = FALSE)$conf.int
    assert (found.low, found.high) == pytest.approx(
        (0.523019438039156, 0.948632310253915), rel=1e-12
    )


def test_the_page_and_the_results_file_give_the_same_interval_of_survival():
    first, *others = potted().plants
    lost = replace(potted(), plants=(replace(first, status="dead"), *others))
    made = report.compose(lost, metrics.compute(lost))
    (annex,) = [one for one in made.annex if one.key == "comparisons"]
    (whole,) = [one for one in annex.blocks if getattr(one, "key", "") == "comparisons"]
    place = next(place for place, row in enumerate(whole.rows) if row[0].startswith("Survival"))
    rows = whole.rows[place + 1 : place + 5]
    printed = sorted(tuple(text.replace(NO_BREAK, " ") for text in row[1:3]) for row in rows)
    # R 4.2.2: prop.test(3, 4, correct = FALSE)$conf.int is 0.3006 to 0.9544, prop.test(4, 4, ...)
    #   0.5101 to 1
    assert printed == [*[("100%", "51.0% to 100%")] * 3, ("75%", "30.1% to 95.4%")]
    written = json.loads(made.results)
    lows = [one["low"] for one in written["estimates"] if one["metric"] == "survival"]
    assert sorted(lows) == pytest.approx([30.06, *[51.01] * 3], abs=0.01)


def test_survival_of_plants_that_all_lived_stands_in_the_results_file_alone():
    assert not [row for row in tables("comparisons")[0].rows if row[0].startswith("Survival")]
    written = json.loads(page().results)
    assert [one["value"] for one in written["estimates"] if one["metric"] == "survival"] == [
        100
    ] * 4


def test_the_methods_name_the_interval_of_survival_of_single_plants():
    (methods,) = tables("methods")
    (number,) = re.findall(r"(\d+)\sWilson interval, one plant in each pot", methods.note)
    (row,) = [row for row in methods.rows if "survival" in row[0].casefold()]
    assert number in row[1].split(", ")
    assert "share a pot" not in methods.note


def words_of(report):
    """Return everything that a report says; its files of data keep the terms of the workbook."""
    return str(replace(report, results="", dataset=None, data=())).replace("data/trays.csv", "")


def test_pots_are_never_called_trays_on_a_page():
    assert re.findall(r".{30}[ /(]trays?\b.{20}", words_of(page("en"))) == []
    assert re.findall(r".{30}[ /(]bandejas?\b.{20}", words_of(page("es"))) == []


@pytest.mark.parametrize(
    ("language", "amount", "unit"),
    [
        ("en", "marketable yield per pot", "g/pot"),
        ("es", "rendimiento comercial por maceta", "g/maceta"),
    ],
)
def test_yields_are_given_for_a_pot_in_the_answer_tables_and_axes(language, amount, unit):
    assert amount in page(language).answer[0]
    whole = next(one for one in section("comparisons", language).blocks if isinstance(one, Table))
    assert any(unit in row[0] for row in whole.rows)
    specs = [
        block.spec
        for part in page(language).all_sections
        for block in part.blocks
        if isinstance(block, Figure)
    ]
    assert any(unit in spec for spec in specs)


def test_pots_are_called_pots_in_customary_units():
    shown = str(report.compose(potted(), results(), Settings(units="us")).all_sections)
    assert "oz/pot" in shown
    assert "kWh/pot" in shown
    assert not re.search(r"/tray\b", shown)


def test_the_results_file_keeps_its_units():
    written = json.loads(page().results)
    units = {one["unit"] for one in written["estimates"]}
    assert "g/tray" in units
    assert not any("pot" in unit for unit in units)


def test_trays_are_called_trays():
    shown = words_of(report.compose(fair_trial(), metrics.compute(fair_trial())))
    assert "per tray" in shown
    assert not re.search(r"\bpots?\b", shown)


def test_plants_in_pots_of_their_own_are_not_set_against_their_pots():
    (drawn,) = [
        block for block in section("comparisons").blocks if getattr(block, "key", "") == "height"
    ]
    assert drawn.caption.startswith("Each row is a block: a mark for each pot, joined.")
    assert "plant" not in drawn.caption


def test_a_crop_that_was_picked_on_several_days_has_a_last_picking_and_not_one_harvest():
    assert "All pots were picked last on 6 July 2026, 136 days after sowing." in str(
        section("checks").blocks
    )
    items = {one["item"]: one["value"] for one in json.loads(page().results)["reporting"]}
    assert items["harvested_on"] == "8 June 2026 to 6 July 2026"
