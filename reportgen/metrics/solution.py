"""The nutrient solution of each tray: EC, pH, temperature, and what of its water evaporated or went
through plants.
"""

from collections import defaultdict
from collections.abc import Callable
from math import nan

import numpy as np

from reportgen.metrics.climate import Series, in_order
from reportgen.metrics.totals import FloatArray, Quantity, by_tray, planted, water_by_tray
from reportgen.model.message import Count, Notes, joined, note
from reportgen.model.results import Estimate
from reportgen.model.trial import SolutionEvent, Trial
from reportgen.stats.intervals import t_interval

TIME_WEIGHTED = note("time_weighted")
ARITHMETIC_PH = note("arithmetic_ph")
NO_CONTROL = note("no_control")


def ec(trial: Trial) -> FloatArray:
    """Return each tray's mean EC over time, mS/cm."""
    return _mean_of_readings(trial, lambda event: event.ec)


def ph(trial: Trial) -> FloatArray:
    """Return each tray's mean pH over time: the mean of pH as read, not of the acidity behind it."""
    return _mean_of_readings(trial, lambda event: event.ph)


def temperature(trial: Trial) -> FloatArray:
    """Return each tray's mean temperature of the solution over time, °C."""
    return _mean_of_readings(trial, lambda event: event.temperature)


def _mean_of_readings(trial: Trial, value: Callable[[SolutionEvent], float | None]) -> FloatArray:
    """Return each tray's mean over time; a tray with readings of one day counts with their mean.

    Each tray has one mean, so a tray that stood longer does not count more.
    """
    readings: dict[str, list[tuple[np.datetime64, float]]] = defaultdict(list)
    for event in trial.solution:
        read = value(event)
        if read is not None:
            readings[event.tray].append((np.datetime64(event.on, "s"), read))
    return by_tray(trial, {tray: _mean(found) for tray, found in readings.items()})


def _mean(readings: list[tuple[np.datetime64, float]]) -> float:
    series: Series = in_order(
        np.array([at for at, _ in readings]), np.array([read for _, read in readings])
    )
    if series.at.size == 1:
        return float(series.values[0])
    days = (series.at - series.at[0]) / np.timedelta64(1, "D")
    return float(np.trapezoid(series.values, days) / days[-1])


def evaporation(trial: Trial) -> dict[str, Estimate]:
    """Return the water that trays without plants lost, L/tray.

    With the interval between them where there are several.

    Open water evaporates more than water under leaves, so this is an upper bound of what planted
    trays lost so.
    """
    found = _controls(trial)
    estimates: dict[str, Estimate] = {}
    for treatment in trial.treatments:
        if treatment.code in found:
            estimates[treatment.code] = t_interval(
                np.array(found[treatment.code]), trial.confidence_level
            )
        else:
            estimates[treatment.code] = Estimate(None, notes=NO_CONTROL)
    return estimates


def _controls(trial: Trial) -> dict[str, list[float]]:
    """Return the water of each treatment's trays without plants, L."""
    used = water_by_tray(trial.solution)
    found: dict[str, list[float]] = defaultdict(list)
    for tray in trial.trays:
        if not tray.is_planted and tray.code in used:
            found[tray.treatment].append(used[tray.code])
    return found


def transpiration(trial: Trial) -> FloatArray:
    """Return the water of each tray with plants less the mean of its treatment's trays without, L.

    NaN without those.

    Leaves shade the water, so a planted tray evaporates less than its control, and transpires a
    little more than this.
    """
    used, evaporated = water_by_tray(trial.solution), evaporation(trial)
    losses = {tray.code: evaporated[tray.treatment].value for tray in planted(trial)}
    transpired = {}
    for tray, loss in losses.items():
        if loss is not None:
            transpired[tray] = used.get(tray, nan) - loss
    return by_tray(
        trial,
        transpired,
    )


def notes_of_transpiration(trial: Trial) -> dict[str, Notes]:
    """Return how many controls stand behind each treatment's transpiration, or that there is none."""
    controls = _controls(trial)
    found: dict[str, Notes] = {}
    for treatment in trial.treatments:
        number = len(controls.get(treatment.code, ()))
        found[treatment.code] = _controls_notes(number) if number else NO_CONTROL
    return found


def _controls_notes(number: int) -> Notes:
    taken_off = note("evaporation_taken_off", trays=Count(number, "unit"))
    return joined(taken_off, note("evaporation_not_in_interval"))


def notes_of_readings(quantity: Quantity, *notes: Notes) -> Callable[[Trial], dict[str, Notes]]:
    """Return the notes on a mean of readings, for the treatments that have any."""

    def found(trial: Trial) -> dict[str, Notes]:
        read = np.isfinite(quantity(trial)).tolist()
        known = set()
        for tray, is_read in zip(planted(trial), read, strict=True):
            if is_read:
                known.add(tray.treatment)
        return dict.fromkeys(sorted(known), joined(TIME_WEIGHTED, *notes))

    return found
