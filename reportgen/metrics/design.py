"""How a trial was laid out: its treatments, trays and blocks as the analysis takes them."""

from collections import Counter

import numpy as np

from reportgen.metrics.blocks import is_blocked
from reportgen.metrics.factor_designs import split_of
from reportgen.metrics.totals import harvested_in, planted
from reportgen.model.results import TreatmentCount
from reportgen.model.trial import Trial
from reportgen.stats.analysis import Design
from reportgen.stats.log_scale import Question


def counts(trial: Trial) -> tuple[TreatmentCount, ...]:
    """Return how many trays and plants each treatment had."""
    harvested = Counter[str]()
    for plant in trial.plants:
        harvested[plant.tray] += harvested_in(plant)
    found: list[TreatmentCount] = []
    for treatment in trial.treatments:
        trays = [tray for tray in planted(trial) if tray.treatment == treatment.code]
        plants_started = plants_harvested = None
        if all(tray.started_known for tray in trays):
            plants_started = sum(tray.plants_started for tray in trays)
        if trial.plants:
            plants_harvested = sum(harvested[tray.code] for tray in trays)
        count = TreatmentCount(treatment.code, len(trays), plants_started, plants_harvested)
        found.append(count)
    return tuple(found)


def question_of(trial: Trial) -> Question:
    """Return the design, confidence level and variances with which every measure is analysed."""
    return Question(design_of(trial), trial.confidence_level, trial.variances)


def design_of(trial: Trial) -> Design:
    """Return the treatment, block and main plot of each tray with plants, as numbers."""
    codes = trial.treatment_codes
    trays = planted(trial)
    blocks = sorted({tray.block for tray in trays})
    if is_blocked(trial):
        block = np.array([blocks.index(tray.block) for tray in trays])
    else:
        block = None
    treatment = np.array([codes.index(tray.treatment) for tray in trays])
    return Design(treatment, block, codes.index(trial.reference), len(codes), split_of(trial))
