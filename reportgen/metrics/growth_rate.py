"""Relative growth rate of living plants: the slope of the logarithm of a trait on days."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date
from math import nan
from statistics import fmean

import numpy as np

from reportgen.metrics.totals import FloatArray, Quantity, by_tray, planted
from reportgen.model.trial import GrowthMeasurement, Trial

Measurements = Iterable[tuple[int, float]]


def relative_growth_rate(position: int) -> Quantity:
    """Return the quantity that is each tray's relative growth rate, 1/d, by the growth trait at `position`.

    A tray's rate is the mean of those of its plants; where plants were not told apart it is that of their mean on
    each day. A plant or tray without values above 0 on two days has none.
    """
    return lambda trial: by_tray(trial, {tray: _of_tray(found) for tray, found in _measured(trial, position).items()})


def last_measured(position: int) -> Quantity:
    """Return the quantity that is each tray's mean of a growth trait on the last day that has values of all trays.

    NaN for every tray where no day has.
    """

    def means(trial: Trial) -> FloatArray:
        by_day: dict[date, dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
        for measurement in trial.growth:
            value = _value(measurement, position)
            if value is not None:
                by_day[measurement.on][measurement.tray].append(value)
        trays = {tray.code for tray in planted(trial)}
        whole = [on for on, values in by_day.items() if trays <= set(values)]
        last = by_day[max(whole)] if whole else {}
        return by_tray(trial, {tray: fmean(values) for tray, values in last.items()})

    return means


def slope(measurements: Measurements) -> float:
    """Return the least-squares slope of ln(value) on the day (Hunt 1982, Plant Growth Curves), NaN without two days.

    measurements: pairs of a day's number and a value. Values of one day count as their mean, and only means above 0
    have a logarithm and count.
    """
    by_day: dict[int, list[float]] = defaultdict(list)
    for day, value in measurements:
        by_day[day].append(value)
    means = {day: mean for day, values in by_day.items() if (mean := sum(values) / len(values)) > 0}
    if len(means) < 2:
        return nan
    days, logs = np.array(list(means), dtype=float) - min(means), np.log(list(means.values()))
    apart = days - days.mean()
    return float((apart * logs).sum() / (apart**2).sum())


def _measured(trial: Trial, position: int) -> dict[str, dict[str, list[tuple[int, float]]]]:
    """Return days and values of each plant of each tray, those of plants that were not told apart under ""."""
    found: dict[str, dict[str, list[tuple[int, float]]]] = defaultdict(lambda: defaultdict(list))
    for measurement in trial.growth:
        value = _value(measurement, position)
        if value is not None:
            found[measurement.tray][measurement.plant.casefold()].append((measurement.on.toordinal(), value))
    return found


def _value(measurement: GrowthMeasurement, position: int) -> float | None:
    return measurement.values[position] if position < len(measurement.values) else None


def _of_tray(plants: Mapping[str, Measurements]) -> float:
    rates = np.array([slope(found) for plant, found in plants.items() if plant])
    known: FloatArray = rates[np.isfinite(rates)]
    return float(known.mean()) if known.size else slope(plants.get("", ()))
