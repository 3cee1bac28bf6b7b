"""Growth of living plants in proportion to their size: the logarithm of a trait over days."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from math import log, nan
from statistics import fmean

import numpy as np

from reportgen.metrics.totals import FloatArray, Quantity, by_tray, treatment_by_tray
from reportgen.model.trial import GrowthMeasurement, Trial

Measurements = Iterable[tuple[int, float]]
MeansByDay = Mapping[
    int, float
]  # a plant's mean above 0 on each day, a day being its ordinal number


@dataclass(frozen=True)
class TrayCourse:
    """The logarithm of a trait of one tray by day, an ordinal number, in order.

    From one day to the next it changes by the mean change of the logarithms of those plants that
    were measured on both days, so that a plant that was lost does not look like growth or
    shrinking.
    """

    logs: Mapping[int, float]

    def rate(self, start: int, end: int) -> float:
        """Return the relative growth rate from day `start` to day `end`, 1/d.

        NaN where either was not measured.

        (ln W2 - ln W1) / (t2 - t1): Fisher (1921), Annals of Applied Biology 7:367-372, after
        Blackman (1919), Annals of Botany 33:353-360; Hunt (1982), Plant Growth Curves (all from
        memory).
        """
        if start not in self.logs or end not in self.logs:
            return nan
        return (self.logs[end] - self.logs[start]) / (end - start)


def relative_growth_rate(position: int) -> Quantity:
    """Return the quantity that gives each tray's relative growth rate, 1/d.

    position: that of the growth trait.

    A tray's rate is the mean of those of its plants; where plants were not told apart it is that of
    their mean on each day. A plant or tray without values above 0 on two days has none.
    """
    return lambda trial: by_tray(
        trial, {tray: _of_tray(found) for tray, found in _measured(trial, position).items()}
    )


def last_measured(position: int) -> Quantity:
    """Return the quantity that gives each tray's mean of a growth trait when last measured.

    That is the last day with values of all trays.

    NaN for every tray where no day has.
    """

    def means(trial: Trial) -> FloatArray:
        by_day = means_by_day(trial, position)
        trays = set(treatment_by_tray(trial))
        whole = [on for on, values in by_day.items() if trays <= set(values)]
        return by_tray(trial, by_day[max(whole)] if whole else {})

    return means


def means_by_day(trial: Trial, position: int) -> dict[date, dict[str, float]]:
    """Return the mean of a growth trait in each tray on each day, in order of days."""
    values: dict[date, dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
    for measurement in sorted(trial.growth, key=lambda each: each.on):
        value = _value(measurement, position)
        if value is not None:
            values[measurement.on][measurement.tray].append(value)
    means: dict[date, dict[str, float]] = {}
    for on, trays in values.items():
        means[on] = {tray: fmean(each) for tray, each in trays.items()}
    return means


def tray_courses(trial: Trial, position: int) -> dict[str, TrayCourse]:
    """Return the course of a growth trait in each tray with values above 0 on two days."""
    found: dict[str, TrayCourse] = {}
    for tray, plants in _measured(trial, position).items():
        course = _course(_followed(plants))
        if len(course.logs) > 1:
            found[tray] = course
    return found


def slope(measurements: Measurements) -> float:
    """Return the least-squares slope of ln(value) on the day (Hunt 1982, Plant Growth Curves).

    NaN without two days.

    measurements: pairs of a day's number and a value. Values of one day count as their mean, and
    only means above 0 have a logarithm and count.
    """
    means = _means_above_zero(measurements)
    if len(means) < 2:
        return nan
    days, logs = np.array(list(means), dtype=float) - min(means), np.log(list(means.values()))
    apart = days - days.mean()
    return float((apart * logs).sum() / (apart**2).sum())


def _means_above_zero(measurements: Measurements) -> MeansByDay:
    by_day: dict[int, list[float]] = defaultdict(list)
    for day, value in measurements:
        by_day[day].append(value)
    means = {day: fmean(values) for day, values in by_day.items()}
    return {day: mean for day, mean in means.items() if mean > 0}


def _measured(trial: Trial, position: int) -> dict[str, dict[str, list[tuple[int, float]]]]:
    """Return days and values of each tray's plants, unnamed plants under ""."""
    found: dict[str, dict[str, list[tuple[int, float]]]] = defaultdict(lambda: defaultdict(list))
    for measurement in trial.growth:
        value = _value(measurement, position)
        if value is not None:
            found[measurement.tray][measurement.plant.casefold()].append(
                (measurement.on.toordinal(), value)
            )
    return found


def _value(measurement: GrowthMeasurement, position: int) -> float | None:
    if position < len(measurement.values):
        return measurement.values[position]
    return None


def _of_tray(plants: Mapping[str, Measurements]) -> float:
    rates = np.array([slope(found) for plant, found in plants.items() if plant])
    known: FloatArray = rates[np.isfinite(rates)]
    if known.size:
        return float(known.mean())
    return slope(plants.get("", ()))


def _followed(plants: Mapping[str, Measurements]) -> list[MeansByDay]:
    """Return the means by day of the plants that were told apart, else that of all together."""
    named = []
    for plant, found in plants.items():
        if plant:
            named.append(_means_above_zero(found))
    twice = [means for means in named if len(means) > 1]
    return twice or [_means_above_zero(plants.get("", ()))]


def _course(plants: list[MeansByDay]) -> TrayCourse:
    every_day: set[int] = set()
    for means in plants:
        every_day.update(means)
    days = sorted(every_day)
    if not days:
        return TrayCourse({})
    logs = {days[0]: log(_mean_on(plants, days[0]))}
    for before, after in pairwise(days):
        logs[after] = logs[before] + _change(plants, before, after)
    return TrayCourse(logs)


def _change(plants: list[MeansByDay], before: int, after: int) -> float:
    """Return the mean log change of plants seen on both days, else of the means of all."""
    both = []
    for means in plants:
        if before in means and after in means:
            both.append(log(means[after] / means[before]))
    if both:
        return fmean(both)
    return log(_mean_on(plants, after) / _mean_on(plants, before))


def _mean_on(plants: list[MeansByDay], day: int) -> float:
    return fmean(means[day] for means in plants if day in means)
