"""What plants weighed when treatments began, by tray, and whether treatments began alike."""

from collections import defaultdict
from typing import Final

import numpy as np

from reportgen.metrics.design import design_of
from reportgen.metrics.totals import FloatArray, by_tray
from reportgen.model.trial import Trial
from reportgen.stats.covariance import CovarianceDesign, p_of_difference

DIFFERS_BELOW: Final = 0.05  # p value below which what trays began with differs between treatments


def start_weights(trial: Trial) -> FloatArray:
    """Return the mean start weight of each tray's plants, g; those that were lost later count too."""
    total: dict[str, float] = defaultdict(float)
    number: dict[str, int] = defaultdict(int)
    for plant in trial.plants:
        if plant.start_weight is not None:
            total[plant.tray] += plant.start_weight * plant.number
            number[plant.tray] += plant.number
    means: dict[str, float] = {}
    for tray, weight in total.items():
        if number[tray]:
            means[tray] = weight / number[tray]
    return by_tray(trial, means)


def stand_out(trial: Trial) -> bool:
    """Return whether start weights differ between treatments by more than chance."""
    values = start_weights(trial)
    known = values > 0
    design = design_of(trial)
    if design.block is None:
        block = None
    else:
        block = design.block[known]
    logs = np.log(values[known])
    p_value = p_of_difference(
        CovarianceDesign(design.treatment[known], design.treatments, logs, block)
    )
    return p_value is not None and p_value < DIFFERS_BELOW
