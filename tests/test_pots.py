"""Trials in which every plant stands in a pot of its own: what they count, and how pages call it."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from reportgen import metrics, report
from reportgen.language import NO_BREAK
from reportgen.model.document import Table
from reportgen.stats.clustered_proportion import fit_proportions, proportion
from tests.trials import codes
from tests.workbooks import trial as read

SAMPLES = Path(__file__).parent.parent / "sample_workbook"


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
    return next(one for one in page(language).sections if one.key == key)


def cell(table, label):
    """Return the second cell of the row that begins with a label."""
    return next(row[1] for row in table.rows if row[0].startswith(label))


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
    assert (found.low, found.high) == pytest.approx((0.523019438039156, 0.948632310253915), rel=1e-12)


def test_the_page_and_the_results_file_give_the_same_interval_of_survival():
    shown = cell(tables("growth")[0], "Survival")
    written = json.loads(page().results)
    lows = [one["low"] for one in written["estimates"] if one["metric"] == "survival"]
    assert lows == pytest.approx([51.01, 51.01], abs=0.01)
    assert shown.replace(NO_BREAK, " ") == "100 % (51.0 % to 100 %)"
    methods = " ".join(str(block) for block in section("methods").blocks)
    assert "Wilson interval, one plant in each pot: survival." in methods
    assert "share a pot" not in methods
