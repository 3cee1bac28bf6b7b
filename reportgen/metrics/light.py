"""Light out of maps of the canopy: one figure a treatment, for the trays of a treatment share its
light.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from math import isfinite, nan

import numpy as np

from reportgen.metrics.energy import days_of, energy_source
from reportgen.metrics.light_maps import LightInUse, in_use
from reportgen.metrics.totals import (
    FloatArray,
    by_tray,
    days_grown,
    energy,
    number_of_trays,
    planted,
)
from reportgen.model.message import Count, Notes, joined, note
from reportgen.model.results import Estimate
from reportgen.model.trial import Treatment, Trial

SECONDS_PER_HOUR = 3600.0  # exact
MICROMOLES_PER_MOLE = 1e6  # exact
WATTS_PER_KILOWATT = 1000.0  # exact

ONE_MAP = note("one_map")
ONE_POINT = note("one_point")
NO_PHOTOPERIOD = note("no_photoperiod")
NO_AREA = note("no_area")
NO_ENERGY = note("no_energy")
ALL_ELECTRICITY = note("all_electricity")
CALCULATED_ELECTRICITY = note("calculated_electricity")
WEIGHTS_ONLY = note("light_is_one_figure")
MEAN = note("mean_of_map")
MINIMUM_BY_MEAN = note("minimum_by_mean_of_map")
EFFICACY = note("light_by_power")

Figures = dict[str, Estimate]


def light_of(trial: Trial) -> Mapping[str, LightInUse]:
    """Return the light that the plants of each treatment had, at the height in use."""
    return in_use(trial.treatments, trial.light)


def maps_of(trial: Trial) -> dict[str, tuple[FloatArray, ...]]:
    """Return the PPFD of points of each treatment's maps at the height in use.

    µmol/m2/s, one array a date.
    """
    maps: dict[str, tuple[FloatArray, ...]] = {}
    for code, found in light_of(trial).items():
        measured = []
        for light in found.light:
            if light.points:
                measured.append(np.array(light.points))
        if measured:
            maps[code] = tuple(measured)
    return maps


def ppfd(trial: Trial) -> Figures:
    """Return the mean PPFD of each treatment, µmol/m2/s.

    Of its map, or of the means of the maps of several dates.
    """
    figures: Figures = {}
    for code, found in light_of(trial).items():
        means = [light.mean for light in found.light]
        figures[code] = _mean_of_maps(means, MEAN, found.notes)
    return figures


def uniformity(trial: Trial) -> Figures:
    """Return minimum / mean PPFD of each treatment's map.

    Over several dates the mean of it.

    A map of one point, or without light, has none.
    """
    figures: Figures = {}
    for code, found in light_of(trial).items():
        known = []
        for light in found.light:
            if light.evenness is not None:
                known.append(light.evenness)
        if found.light:
            lacking = ONE_POINT
        else:
            lacking = found.notes
        if known:
            notes = found.notes
        else:
            notes = lacking
        figures[code] = _mean_of_maps(known, MINIMUM_BY_MEAN, notes)
    return figures


def _mean_of_maps(figures: list[float], what: Notes, notes: Notes) -> Estimate:
    """Return the mean of the figures of several dates.

    notes: what they rest on, or why there are none.
    """
    if not figures:
        return Estimate(None, notes=notes)
    if len(figures) == 1:
        return Estimate(figures[0], methods=what, notes=joined(ONE_MAP, notes))
    dates = Count(len(figures), "date")
    several = note("maps_of_dates", dates=dates)
    mean = sum(figures) / len(figures)
    return Estimate(
        mean,
        methods=joined(note("mean_over_dates", dates=dates), what),
        notes=joined(several, notes),
    )


def dli(trial: Trial) -> Figures:
    """Return the daily light integral of each treatment, mol/m2/d: PPFD x photoperiod x 3600 / 1e6."""
    found = ppfd(trial)
    figures: Figures = {}
    for treatment in trial.treatments:
        figures[treatment.code] = _times(
            found[treatment.code],
            _moles_a_day(treatment),
            NO_PHOTOPERIOD,
            note("times_photoperiod"),
        )
    return figures


def _moles_a_day(treatment: Treatment) -> float | None:
    """Return what turns PPFD into the daily light integral."""
    if treatment.photoperiod is None:
        return None
    return treatment.photoperiod * SECONDS_PER_HOUR / MICROMOLES_PER_MOLE


def photons_of_treatments(trial: Trial) -> Figures:
    """Return the photons on the canopy of a tray, mol, as a mean over the treatment's trays.

    They are daily light integral x days x canopy area; a tray's days are its own, to its harvest.
    """
    found = dli(trial)
    days: dict[str, list[int]] = defaultdict(list)
    for tray in planted(trial):
        days[tray.treatment].append(days_grown(trial, tray))
    figures: Figures = {}
    for treatment in trial.treatments:
        code, area = treatment.code, treatment.canopy_area
        if days[code]:
            factor = None
            if area is not None:
                factor = area * float(np.mean(days[code]))
            figures[code] = _times(found[code], factor, NO_AREA, note("times_days_and_area"))
    return figures


def _times(figure: Estimate, factor: float | None, lacking: Notes, by: Notes) -> Estimate:
    if figure.value is None:
        return figure
    if factor is None:
        return Estimate(None, notes=lacking)
    return replace(figure, value=figure.value * factor, methods=joined(figure.methods, by))


def photons(trial: Trial) -> FloatArray:
    """Return the photons on each tray's canopy from the start to its harvest, mol.

    NaN where they are not known.
    """
    area = {treatment.code: _or_nan(treatment.canopy_area) for treatment in trial.treatments}
    a_day = {code: _or_nan(figure.value) for code, figure in dli(trial).items()}
    totals: dict[str, float] = {}
    for tray in planted(trial):
        code = tray.treatment
        totals[tray.code] = a_day[code] * area[code] * days_grown(trial, tray)
    return by_tray(trial, totals)


def _or_nan(value: float | None) -> float:
    if value is None:
        return nan
    return value


def notes_of_photons(trial: Trial) -> dict[str, Notes]:
    """Return what a figure per photon rests on, or why the treatment has none."""
    found = photons_of_treatments(trial)
    notes: dict[str, Notes] = {}
    for code, figure in found.items():
        if figure.value is not None:
            notes[code] = WEIGHTS_ONLY
        else:
            notes[code] = figure.notes
    return notes


def canopy_efficacy(trial: Trial) -> Figures:
    """Return the photons on the canopy per joule of electricity, µmol/J.

    It is the mean PPFD x canopy area of all trays with plants / mean power while lit, and that
    power is energy / (photoperiod x days of the trial). What part of a treatment's electricity is
    for light is not known, so all counts. A meter that treatments share tells no treatment's energy
    by itself.
    """
    found, lit = ppfd(trial), _power_while_lit(trial)
    figures: Figures = {}
    for treatment in trial.treatments:
        figures[treatment.code] = _efficacy(
            found[treatment.code], treatment, lit.get(treatment.code), trial
        )
    return figures


def _efficacy(
    figure: Estimate, treatment: Treatment, power: float | None, trial: Trial
) -> Estimate:
    if figure.value is None:
        return figure
    if not treatment.photoperiod:
        return Estimate(None, notes=NO_PHOTOPERIOD)
    if treatment.canopy_area is None:
        return Estimate(None, notes=NO_AREA)
    if not power:
        return Estimate(None, notes=NO_ENERGY)
    area = treatment.canopy_area * number_of_trays(trial)[treatment.code]
    notes = joined(figure.notes, ALL_ELECTRICITY)
    if energy_source(trial)[treatment.code] == "calculated":
        notes = joined(notes, CALCULATED_ELECTRICITY)
    return replace(figure, value=figure.value * area / power, methods=EFFICACY, notes=notes)


def _power_while_lit(trial: Trial) -> dict[str, float]:
    """Return the mean power while lit, W, of treatments with a photoperiod and own energy."""
    used: dict[str, float] = defaultdict(float)
    for tray, its_energy in zip(planted(trial), energy(trial).tolist(), strict=True):
        used[tray.treatment] += its_energy
    sources = energy_source(trial)
    power: dict[str, float] = {}
    for treatment in trial.treatments:
        code = treatment.code
        hours = (treatment.photoperiod or 0.0) * days_of(trial)
        is_known = code in used and isfinite(used[code]) and hours > 0
        if is_known and sources.get(code, "shared") != "shared":
            power[code] = used[code] * WATTS_PER_KILOWATT / hours
    return power
