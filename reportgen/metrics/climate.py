"""The air over the trial: means of the log, weighted by time."""

from collections.abc import Callable
from functools import partial
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from reportgen.metrics.totals import FloatArray
from reportgen.model.message import Amount, Count, Notes, joined, note
from reportgen.model.results import Estimate
from reportgen.model.trial import ClimateLog, Trial

# our own limit: a gap of more than this many median steps tells nothing of what was between
MOST_STEPS: Final = 6.0
HOUR: Final = np.timedelta64(1, "h")

# FAO Irrigation and Drainage Paper 56 (Allen et al. 1998), eq. 11, in kPa and °C
SATURATION_AT_0: Final = 0.6108
SATURATION_SLOPE: Final = 17.27
SATURATION_OFFSET: Final = 237.3

NOT_LOGGED: Final = note("not_logged")
SHARED_AIR: Final = note("shared_air")
ONE_READING: Final = note("one_reading")
ONE_LOG: Final = note("one_log")

Moments = NDArray[np.datetime64]
Quantity = Callable[[ClimateLog], FloatArray]


class Series(NamedTuple):
    """Readings in order of time, one a moment: at (n,), values (n,)."""

    at: Moments
    values: FloatArray


class TimeMean(NamedTuple):
    """A mean over time, and the hours of the gaps that do not count."""

    value: float
    gaps: int
    hours_left_out: float


def saturation_pressure(temperature: FloatArray) -> FloatArray:
    """Return the saturation vapour pressure, kPa, at a temperature in °C.

    FAO-56, eq. 11; shapes (n,).
    """
    exponent = SATURATION_SLOPE * temperature / (temperature + SATURATION_OFFSET)
    pressure: FloatArray = SATURATION_AT_0 * np.exp(exponent)
    return pressure


def vapour_pressure_deficit(temperature: FloatArray, humidity: FloatArray) -> FloatArray:
    """Return es(T) (1 - RH / 100), kPa, of each pair of readings in °C and %. Shapes: (n,) each."""
    return saturation_pressure(temperature) * (1 - humidity / 100)


def mean_over_time(series: Series) -> TimeMean:
    """Return the mean by the trapezoidal rule. series: one reading or more, at different moments.

    A gap longer than `MOST_STEPS` median steps does not count. One reading counts as it stands.
    """
    if series.at.size == 1:
        return TimeMean(float(series.values[0]), 0, 0.0)
    steps = np.diff(series.at) / HOUR
    counted = steps <= MOST_STEPS * np.median(steps)
    between = (series.values[1:] + series.values[:-1]) / 2
    mean = float((between * steps)[counted].sum() / steps[counted].sum())
    return TimeMean(mean, int((~counted).sum()), float(steps[~counted].sum()))


def in_order(at: Moments, values: FloatArray) -> Series:
    """Return the readings in order of time without those that are NaN.

    Those of one moment are averaged.
    """
    known = np.isfinite(values)
    moments, place = np.unique(at[known], return_inverse=True)
    return Series(moments, np.bincount(place, values[known]) / np.bincount(place))


def series_of(trial: Trial, quantity: Quantity) -> dict[str, Series]:
    """Return the readings of a quantity for each treatment that has any.

    Those for all treatments count where a treatment has none of its own.
    """
    if trial.climate is None:
        return {}
    of_log = partial(_series, trial.climate, quantity(trial.climate))
    common = of_log(None)
    found: dict[str, Series] = {}
    for code in trial.treatment_codes:
        series = of_log(code)
        if not series.at.size:
            series = common
        if series.at.size:
            found[code] = series
    return found


def _series(log: ClimateLog, values: FloatArray, code: str | None) -> Series:
    own = np.array([treatment == code for treatment in log.treatments], dtype=bool)
    return in_order(log.at[own], values[own])


def shared(trial: Trial, quantity: Quantity) -> dict[str, Notes]:
    """Return why treatments with shared readings of a quantity are not compared."""
    if trial.climate is None:
        return {}
    known = np.isfinite(quantity(trial.climate)).tolist()
    own: set[str | None] = set()
    for code, is_known in zip(trial.climate.treatments, known, strict=True):
        if is_known:
            own.add(code)
    notes: dict[str, Notes] = {}
    for treatment in trial.treatments:
        if None in own and treatment.code not in own:
            notes[treatment.code] = SHARED_AIR
    return notes


def means(trial: Trial, quantity: Quantity) -> dict[str, Estimate]:
    """Return the time-weighted mean of a quantity for each treatment."""
    found = series_of(trial, quantity)
    estimates: dict[str, Estimate] = {}
    for treatment in trial.treatments:
        if treatment.code in found:
            estimates[treatment.code] = _estimate(found[treatment.code])
        else:
            estimates[treatment.code] = Estimate(None, notes=NOT_LOGGED)
    return estimates


def _estimate(series: Series) -> Estimate:
    mean = mean_over_time(series)
    if series.at.size == 1:
        return Estimate(mean.value, methods=note("the_reading"), notes=ONE_READING)
    methods = note("time_weighted_mean", readings=Count(series.at.size, "reading"))
    notes = joined(ONE_LOG, _gaps(mean) if mean.gaps else ())
    return Estimate(mean.value, methods=methods, notes=notes)


def _gaps(mean: TimeMean) -> Notes:
    return note(
        "gaps_left_out",
        gaps=Count(mean.gaps, "gap"),
        steps=Amount(MOST_STEPS),
        hours=Amount(mean.hours_left_out, "h"),
    )


def air_temperature(log: ClimateLog) -> FloatArray:
    """Return the air temperature, °C."""
    return log.air_temperature


def relative_humidity(log: ClimateLog) -> FloatArray:
    """Return the relative humidity, %."""
    return log.relative_humidity


def deficit(log: ClimateLog) -> FloatArray:
    """Return the vapour pressure deficit of each reading, kPa.

    It is averaged, not the readings that it comes from.
    """
    return vapour_pressure_deficit(log.air_temperature, log.relative_humidity)


def co2(log: ClimateLog) -> FloatArray:
    """Return the CO2 in the air, ppm."""
    return log.co2


def solution_temperature(log: ClimateLog) -> FloatArray:
    """Return the logged temperature of the solution, °C."""
    return log.solution_temperature
