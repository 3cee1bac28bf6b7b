"""Whether treatments had the same light, air and solution."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportgen.metrics.climate import air_temperature, shared
from reportgen.metrics.fairness.words import (
    Finding,
    Values,
    at_least,
    at_most,
    count,
    each,
    figure,
    lacking,
    names,
    percent,
    worst,
)
from reportgen.metrics.light import maps_of
from reportgen.metrics.totals import FloatArray
from reportgen.model.trial import Trial

EVEN, FAIRLY_EVEN = 0.8, 0.6  # minimum / mean of a map; ours: no published limit was found
FEWEST_POINTS = 3  # Poorter et al. 2012, Funct. Plant Biol. 39:821-838, table 2: a light map of 3 to 8 points


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


def light_matched(trial: Trial, ppfd: Values, dli: Values) -> Finding:
    """Judge whether treatments had the same light: PPFD, and where photoperiods differ the light of a day (DLI).

    ppfd: mean by treatment, µmol m-2 s-1; dli: by treatment, mol m-2 d-1.
    """
    hours = {one.photoperiod for one in trial.treatments if one.code in ppfd}
    if len(ppfd) < 2 or len(dli) < len(ppfd) or len(hours) == 1:
        return likeness(trial, PPFD, ppfd)
    verdict, said = likeness(trial, DLI, dli)
    texts = {code: f"{figure(value)}{PPFD.unit}" for code, value in ppfd.items()}
    return verdict, f"{said} Photoperiods differ, and with them mean light (PPFD): {each(trial, texts)}."


def light_even(trial: Trial, uniformity: Values) -> Finding:
    """Judge how even the light was. uniformity: minimum / mean of the PPFD by treatment."""
    points = {code: sum(one.size for one in found) for code, found in maps_of(trial).items() if _of_points(found)}
    missing = lacking(trial, points)
    unknown = f"No map of {FEWEST_POINTS} points or more is recorded for {names(trial, missing)}."
    even = {code: uniformity[code] for code in points if code in uniformity}
    if not even:
        return "not recorded", unknown
    texts = {code: f"{percent(share)} ({count(points[code], 'point')})" for code, share in even.items()}
    verdict = at_least(min(even.values()), EVEN, FAIRLY_EVEN)
    said = f"The darkest point had this share of the mean light: {each(trial, texts)}."
    return (worst(verdict, "not recorded"), f"{said} {unknown}") if missing else (verdict, said)


def _of_points(maps: Sequence[FloatArray]) -> bool:
    """Tell whether every map tells how even the light was: of several points, and not dark."""
    return all(one.size >= FEWEST_POINTS and one.max() > 0 for one in maps)


def temperature_matched(trial: Trial, air: Values) -> Finding:
    """Judge whether treatments had the same air temperature. air: mean by treatment, °C."""
    common = shared(trial, air_temperature)
    own = {code: value for code, value in air.items() if code not in common}
    if common and not own:
        mean = figure(air[next(iter(common))])
        said = f"Air temperature was logged for all treatments together (mean {mean} °C), so a difference"
        return "not recorded", f"{said} between them is not known."
    return likeness(trial, AIR, own)


def ec_matched(trial: Trial, ec: Values) -> Finding:
    """Judge whether treatments had the same EC. ec: mean by treatment, mS/cm."""
    return likeness(trial, EC, ec)


def ph_matched(trial: Trial, ph: Values) -> Finding:
    """Judge whether treatments had the same pH. ph: mean by treatment."""
    return likeness(trial, PH, ph)
