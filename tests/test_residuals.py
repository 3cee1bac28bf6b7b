"""What the model of the main measure leaves unexplained: the numbers, the figure, and the words
beside it.
"""

from dataclasses import replace
from math import exp

import numpy as np
import pytest

from reportgen import metrics
from reportgen.charts.residuals import residuals_against_fitted
from reportgen.metrics.residuals import residuals
from reportgen.model.results import Measure, TrayResidual
from reportgen.report import figures
from tests.test_charts import data, layers
from tests.trials import WEIGHTS, plants, trial

MAIN = "yield_per_plant_started"
MEASURE = Measure(MAIN, "Yield per plant started", "g/plant", "higher")
VALUES = {tray: sum(weights) / len(weights) for tray, weights in WEIGHTS.items()}


def in_blocks():
    return trial(trays=tuple(replace(tray, block=tray.code[1]) for tray in trial().trays))


def only(*codes):
    of = trial()
    trays = tuple(tray for tray in of.trays if tray.code in codes)
    return replace(
        of, trays=trays, plants=tuple(one for one in of.plants if one.tray in codes), solution=()
    )


def told(of):
    """Return caption and text of the figure, None where there is none."""
    found = figures.residuals(of, metrics.compute(of))
    return (
        (found[0].caption.replace("\xa0", " "), found[0].alternative.replace("\xa0", " "))
        if found
        else None
    )


def logs():
    """Return the logarithms of the trays' values, a row a treatment, a column a block."""
    return np.log([[VALUES[f"{side}{block}"] for block in "123"] for side in "AB"])


def by_hand(of):
    """Return the residuals of a balanced layout without least squares.

    Cochran and Cox (1957), Experimental Designs, 2nd ed., section 4.2: value - treatment mean, and
    in complete blocks value - treatment mean - block mean + general mean.
    """
    left = logs() - logs().mean(axis=1, keepdims=True)
    if of.trays[0].block:
        left -= logs().mean(axis=0, keepdims=True) - logs().mean()
    return left.ravel().tolist()


@pytest.mark.parametrize("of", [trial(), in_blocks()], ids=["without blocks", "in blocks"])
def test_residuals_are_what_means_of_logarithms_leave_over(of):
    found = residuals(of, MAIN)
    assert [one.tray for one in found.trays] == list(VALUES)
    assert [one.residual for one in found.trays] == pytest.approx(by_hand(of), abs=1e-12)


def test_without_blocks_a_tray_is_fitted_by_the_figure_of_its_treatment():
    figures_of = dict(metrics.compute(trial()).measures[0].estimates)
    assert all(
        one.fitted == pytest.approx(figures_of[one.treatment].value)
        for one in residuals(trial(), MAIN).trays
    )


def test_spread_is_that_of_the_logarithms_with_blocks_in_it():
    wanted = logs().std(axis=1, ddof=1).tolist()
    for of in (trial(), in_blocks()):
        assert [one.spread for one in residuals(of, MAIN).spreads] == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("of", "key"),
    [
        (only("A1", "B1"), MAIN),  # one tray a treatment leaves nothing over
        (trial(), "survival"),  # a share, on its own scale
        (trial(), "ph"),  # a zero by convention
        (
            trial(plants=plants({**WEIGHTS, "B3": (0.0, 0.0, 0.0)})),
            MAIN,
        ),  # a tray without a logarithm
        (trial(), "no_such_measure"),
    ],
)
def test_where_there_is_nothing_to_show_there_is_no_figure(of, key):
    assert residuals(of, key) is None
    assert figures.residuals(of, replace(metrics.compute(of), main_measure=key)) == ()


def test_a_treatment_with_one_tray_is_left_out():
    found = residuals(only("A1", "A2", "B1"), MAIN)
    assert [one.tray for one in found.trays] == ["A1", "A2"]
    assert [one.treatment for one in found.spreads] == ["half"]


def test_the_text_names_the_tray_that_lies_farthest_and_the_ratio_of_the_spreads():
    found = residuals(trial(), MAIN)
    farthest = max(found.trays, key=lambda one: abs(one.residual))
    spreads = [one.spread for one in found.spreads]
    caption, text = told(trial())
    assert f"{max(spreads) / min(spreads):.3g} times the smallest" in caption
    assert (
        f"tray {farthest.tray} (Full strength), {100 * (1 - exp(farthest.residual)):.1f}% less."
        in text
    )
    assert (
        f"Half strength: {spreads[0]:.3g} at 21.8 g/plant; Full strength: {spreads[1]:.3g} at 28.2"
        " g/plant" in text
    )


def test_a_treatment_without_any_spread_gives_no_ratio_of_spreads():
    caption, _ = told(
        trial(plants=plants({**WEIGHTS, **dict.fromkeys(("A1", "A2", "A3"), (20.0, 22.0, 24.0))}))
    )
    assert "times the smallest" not in caption


def test_the_figure_stands_in_the_annex():
    from reportgen.report import compose

    of = trial()
    annex = next(one for one in compose(of, metrics.compute(of)).annex if one.key == "comparisons")
    assert "residuals" in [getattr(block, "key", "") for block in annex.blocks]


ROWS = (
    TrayResidual("A1", "half", 21.8, 0.02),
    TrayResidual("A2", "half", 21.8, -0.02),
    TrayResidual("B1", "full", 28.2, 0.01),
    TrayResidual("B2", "full", 28.2, -0.04),
)


def test_the_figure_has_a_mark_for_each_tray_about_a_line_at_zero():
    chart = residuals_against_fitted(trial(), MEASURE, ROWS)
    assert [(row["tray"], row["residual"]) for row in data(chart, "trays")] == [
        (one.tray, one.residual) for one in ROWS
    ]
    assert data(chart, "zero") == [{"residual": 0}]
    low, high = layers(chart)["trays"]["encoding"]["y"]["scale"]["domain"]
    assert low == -high
    assert high > 0.04


def test_only_the_tray_that_lies_farthest_is_named():
    assert [
        row["text"]
        for row in data(residuals_against_fitted(trial(), MEASURE, ROWS), "farthest center")
    ] == ["B2"]


def test_without_residuals_nothing_is_drawn():
    assert residuals_against_fitted(trial(), MEASURE, ()) is None
    assert (
        residuals_against_fitted(trial(), MEASURE, [replace(one, residual=0.0) for one in ROWS])
        is None
    )
