"""Whether treatments had the same light, air and solution."""

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from statistics import fmean

import numpy as np

from reportgen.metrics.fairness.words import (
    Finding,
    Values,
    at_least,
    at_most,
    count,
    each,
    figure,
    lacking,
    means,
    names,
    percent,
    worst,
)
from reportgen.model.trial import SolutionEvent, Trial

EVEN, FAIRLY_EVEN = 0.8, 0.6  # minimum / mean of a map; ours: no published limit was found
FEWEST_POINTS = 3  # Poorter et al. 2012, Funct. Plant Biol. 39:821-838, table 2: a light map of 3 to 8 points
MOL_PER_UMOL_HOURS = 3600 / 1e6  # exact: s in an hour, mol in µmol


@dataclass(frozen=True)
class Likeness:
    """How far apart treatments may lie in a quantity: shares of the lowest where `relative`, else its own unit."""

    what: str
    unit: str
    step: str
    relative: bool
    sound: float
    caution: float
    compared: str


PPFD = Likeness("Mean light (PPFD)", " µmol/m²/s", "", True, 0.05, 0.10, "light")  # ours
DLI = Likeness("Light of a day (DLI)", " mol/m²/d", "", True, 0.05, 0.10, "light")  # ours, as for PPFD
AIR = Likeness("Mean air temperature", " °C", " K", False, 1.0, 2.0, "temperature")  # ours
EC = Likeness("Mean EC", " mS/cm", "", True, 0.10, 0.20, "EC")  # ours
PH = Likeness("Mean pH", "", " pH units", False, 0.3, 0.6, "pH")  # ours


def likeness(trial: Trial, rule: Likeness, values: Values) -> Finding:
    """Judge how far treatments lie apart; with a treatment of unknown value, no better than not recorded."""
    missing = lacking(trial, values)
    unknown = f"{rule.what} is not recorded for {names(trial, missing)}."
    if len(values) < 2:
        return "not recorded", unknown
    apart, shown = _apart(rule, values)
    verdict = at_most(apart, rule.sound, rule.caution)
    texts = {code: f"{figure(value)}{rule.unit}" for code, value in values.items()}
    said = f"{rule.what} was {each(trial, texts)}, {shown} apart."
    if verdict != "sound":
        said += f" If {rule.compared} is what was compared, this difference is the treatment."
    return (worst(verdict, "not recorded"), f"{said} {unknown}") if missing else (verdict, said)


def _apart(rule: Likeness, values: Values) -> tuple[float, str]:
    low, high = min(values.values()), max(values.values())
    if not rule.relative:
        return high - low, f"{figure(high - low)}{rule.step}"
    if low <= 0:
        return (float("inf") if high > 0 else 0.0), f"{figure(high - low)}{rule.unit}"
    return high / low - 1, percent(high / low - 1)


def light_matched(trial: Trial, known: Values) -> Finding:
    """Judge whether treatments had the same light: PPFD, and where photoperiods differ the light of a day (DLI).

    known: mean PPFD by treatment, µmol m-2 s-1, if computed.
    """
    ppfd = known or mean_ppfd(trial)
    found = likeness(trial, PPFD, ppfd)
    hours = {one.code: one.photoperiod for one in trial.treatments if one.photoperiod is not None and one.code in ppfd}
    if len(ppfd) < 2 or len(hours) < len(ppfd) or len(set(hours.values())) == 1:
        return found
    daily = {code: value * hours[code] * MOL_PER_UMOL_HOURS for code, value in ppfd.items()}
    verdict, said = likeness(trial, DLI, daily)  # days of unlike length are matched by the light of a day
    texts = {code: f"{figure(value)}{PPFD.unit}" for code, value in ppfd.items()}
    return verdict, f"{said} Photoperiods differ, and with them mean light (PPFD): {each(trial, texts)}."


def light_maps(trial: Trial) -> dict[str, list[list[float]]]:
    """Return the PPFD readings of each treatment, µmol m-2 s-1, one list a day of measuring."""
    maps: dict[str, dict[date | None, list[float]]] = defaultdict(lambda: defaultdict(list))
    for reading in trial.light:
        maps[reading.treatment][reading.on].append(reading.ppfd)
    return {code: list(dated.values()) for code, dated in maps.items()}


def mean_ppfd(trial: Trial) -> dict[str, float]:
    """Return each treatment's mean PPFD, µmol m-2 s-1: the mean of its maps' means."""
    return {code: fmean(fmean(points) for points in maps) for code, maps in light_maps(trial).items()}


def light_even(trial: Trial, known: Values) -> Finding:
    """Judge how even the light was. known: minimum / mean of the PPFD by treatment, if computed."""
    maps = {code: kept for code, found in light_maps(trial).items() if (kept := _of_points(found))}
    missing = lacking(trial, maps)
    unknown = f"No map of {FEWEST_POINTS} points or more is recorded for {names(trial, missing)}."
    if not maps:
        return "not recorded", unknown
    even = {code: known.get(code, fmean(min(one) / fmean(one) for one in kept)) for code, kept in maps.items()}
    texts = {code: f"{percent(even[code])} ({count(sum(map(len, kept)), 'point')})" for code, kept in maps.items()}
    verdict = at_least(min(even.values()), EVEN, FAIRLY_EVEN)
    said = f"The darkest point had this share of the mean light: {each(trial, texts)}."
    return (worst(verdict, "not recorded"), f"{said} {unknown}") if missing else (verdict, said)


def _of_points(maps: list[list[float]]) -> list[list[float]]:
    """Return the maps that tell how even the light was: of several points, and not dark."""
    return [points for points in maps if len(points) >= FEWEST_POINTS and max(points) > 0]


def temperature_matched(trial: Trial, known: Values) -> Finding:
    """Judge whether treatments had the same air temperature. known: mean by treatment, °C, if computed."""
    own = _air(trial)
    common = own.pop(None, None)
    if not own and common is not None:
        said = f"Air temperature was logged for all treatments together (mean {figure(common)} °C), so a difference"
        return "not recorded", f"{said} between them is not known."
    return likeness(trial, AIR, {code: known.get(code, mean) for code, mean in own.items() if code is not None})


def _air(trial: Trial) -> dict[str | None, float]:
    """Return the plain mean of the air temperature by treatment, °C; None stands for a log of all together."""
    if trial.climate is None:
        return {}
    whose = np.array(trial.climate.treatments, dtype=object)
    measured = np.isfinite(trial.climate.air_temperature)
    codes = dict.fromkeys(whose[measured].tolist())
    return {code: float(trial.climate.air_temperature[measured & (whose == code)].mean()) for code in codes}


def ec_matched(trial: Trial, known: Values) -> Finding:
    """Judge whether treatments had the same EC. known: mean by treatment, mS/cm, if computed."""
    return likeness(trial, EC, known or _solution(trial, lambda event: event.ec))


def ph_matched(trial: Trial, known: Values) -> Finding:
    """Judge whether treatments had the same pH. known: mean by treatment, if computed."""
    return likeness(trial, PH, known or _solution(trial, lambda event: event.ph))


def _solution(trial: Trial, value: Callable[[SolutionEvent], float | None]) -> Mapping[str, float]:
    """Return each treatment's mean of its trays' plain means."""
    found: dict[str, list[float]] = defaultdict(list)
    for event in trial.solution:
        measured = value(event)
        if measured is not None:
            found[event.tray].append(measured)
    return means(trial, {tray: fmean(values) for tray, values in found.items()})
