"""A log of dry weights, heights or counts alone finds its place, and nobody is told to call dry weights fresh."""

import pytest

from reportgen import pipeline
from reportgen.metrics import compute
from reportgen.model.problem import Severity
from tests.adopting import adopt, answering, book, taken_in
from tests.test_adopt_habits import settled

TRAYS = (("F1", "fed", 12), ("P1", "plain", 10), ("F2", "fed", 13), ("P2", "plain", 11), ("F3", "fed", 12))
MEASURES = {  # a header, the column that it is, its key
    "Dry weight (g)": ("Dry weight", "dry_weight"),
    "Peso seco (g)": ("Dry weight", "dry_weight"),
    "Height (cm)": ("Height", "height"),
    "Number of leaves": ("Leaves", "leaves"),
    "Flowers": ("Flowers", "flowers"),
}


def log(folder, header):
    """Write a log with one measure of three plants in each tray."""
    rows = [(tray, fed, number, size + number) for tray, fed, size in TRAYS for number in (1, 2, 3)]
    return book(folder, Log=[("Tray", "Treatment", "Plant", header), *rows])


@pytest.mark.parametrize("header", MEASURES)
def test_a_log_of_one_measure_finds_its_place(tmp_path, header):
    path = log(tmp_path, header)
    adopt(path, talk=answering(**{"Reference treatment": "plain", "independent": "Tray"}))
    name, key = MEASURES[header]
    assert settled(path).tables[0].gives == "Plants"
    assert settled(path).tables[0].columns[name].header == header
    checked = pipeline.check(path)
    assert [str(one) for one in checked.problems if one.severity is not Severity.REMARK] == []
    made = compute(taken_trial(path))
    (found,) = [one for one in made.measures if one.measure.key == key]
    # Plants are size + 1, size + 2 and size + 3: means of trays 14, 15, 14 and 12, 13.
    assert {code: one.value for code, one in found.estimates} == pytest.approx({"fed": 43 / 3, "plain": 12.5})


def taken_trial(path):
    from reportgen.adopt.checking import check

    return check(taken_in(path, path.with_suffix(".adopt.toml").read_text("utf-8")))


@pytest.mark.parametrize("header", ["Dry weight (g)", "Height (cm)"])
def test_nothing_that_is_said_of_such_a_log_asks_for_fresh_weights(tmp_path, header):
    path = log(tmp_path, header)
    _, said = adopt(path, talk=answering(**{"Reference treatment": "plain", "independent": "Tray"}))
    told = [said, path.with_suffix(".adopt.toml").read_text("utf-8"), *map(str, pipeline.check(path).problems)]
    assert "fresh" not in " ".join(told).casefold()
