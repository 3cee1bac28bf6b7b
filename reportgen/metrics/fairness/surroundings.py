"""Whether treatments had the same light, air and solution."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportgen.metrics.climate import air_temperature, shared
from reportgen.metrics.fairness.verdicts import (
    Finding,
    Values,
    amounts,
    at_least,
    at_most,
    each,
    finding,
    lacking,
    names,
    number,
    together,
)
from reportgen.metrics.light import maps_of
from reportgen.metrics.totals import FloatArray
from reportgen.model.message import Amount, Count, Share, Term, Value, message
from reportgen.model.trial import Trial, Varied

EVEN, FAIRLY_EVEN = 0.8, 0.6  # minimum / mean of a map; ours: no published limit was found
FEWEST_POINTS = 3  # Poorter et al. 2012, Funct. Plant Biol. 39:821-838, table 2: a light map of 3 to 8 points


@dataclass(frozen=True)
class Likeness:
    """How far apart treatments may lie in a quantity: shares of the lowest where `relative`, else its own unit.

    `what` and `compared` are keys of terms: the quantity, and what a trial compares that compares it. `step` is the
    unit of a difference. `varied` is the answer to What was varied by which a difference was meant.
    """

    what: str
    unit: str
    step: str
    relative: bool
    sound: float
    caution: float
    compared: str
    varied: Varied


PPFD = Likeness("mean light", "µmol/m²/s", "", True, 0.05, 0.10, "light", "light")  # ours
DLI = Likeness("light of a day", "mol/m²/d", "", True, 0.05, 0.10, "light", "light")  # ours, as for PPFD
AIR = Likeness("mean air temperature", "°C", "K", False, 1.0, 2.0, "temperature", "temperature")  # ours
EC = Likeness("mean EC", "mS/cm", "", True, 0.10, 0.20, "EC", "nutrient strength")  # ours
PH = Likeness("mean pH", "", "pH units", False, 0.3, 0.6, "pH", "nutrient strength")  # ours


def likeness(trial: Trial, rule: Likeness, values: Values) -> Finding:
    """Judge how far treatments lie apart; with a treatment of unknown value, no better than not recorded."""
    missing = lacking(trial, values)
    what = Term(rule.what)
    unknown = finding("not recorded", message("quantity_not_recorded", quantity=what, treatments=names(trial, missing)))
    if len(values) < 2:
        return unknown
    apart, shown = _apart(rule, values)
    verdict = at_most(apart, rule.sound, rule.caution)
    said = [message("quantity_apart", quantity=what, each=each(trial, amounts(values, rule.unit)), apart=shown)]
    if rule.varied in trial.varied_on_purpose:
        verdict = "sound"
        said.append(message("varied_on_purpose", compared=Term(rule.compared)))
    elif verdict == "problem" and trial.varied is None:
        verdict = "caution"
        said.append(message("say_what_was_varied", compared=Term(rule.compared)))
    known = finding(verdict, *said)
    return together(known, unknown) if missing else known


def _apart(rule: Likeness, values: Values) -> tuple[float, Value]:
    """Return how far values lie apart by the rule, and how that is said."""
    low, high = min(values.values()), max(values.values())
    if not rule.relative:
        return high - low, Amount(high - low, rule.step)
    if low <= 0:
        return (float("inf") if high > 0 else 0.0), Amount(high - low, rule.unit)
    return high / low - 1, Share(high / low - 1)


def light_matched(trial: Trial, ppfd: Values, dli: Values) -> Finding:
    """Judge whether treatments had the same light: PPFD, and where photoperiods differ the light of a day (DLI).

    ppfd: mean by treatment, µmol m-2 s-1; dli: by treatment, mol m-2 d-1.
    """
    hours = {one.photoperiod for one in trial.treatments if one.code in ppfd}
    if len(ppfd) < 2 or len(dli) < len(ppfd) or len(hours) == 1:
        return likeness(trial, PPFD, ppfd)
    verdict, said = likeness(trial, DLI, dli)
    return finding(verdict, *said, message("photoperiods_differ", each=each(trial, amounts(ppfd, PPFD.unit))))


def light_even(trial: Trial, uniformity: Values) -> Finding:
    """Judge how even the light was. uniformity: minimum / mean of the PPFD by treatment."""
    points = {code: sum(one.size for one in maps) for code, maps in maps_of(trial).items() if _of_points(maps)}
    missing = lacking(trial, points)
    no_map = message("no_map_of_light", number=number(FEWEST_POINTS), treatments=names(trial, missing))
    unknown = finding("not recorded", no_map)
    even = {code: uniformity[code] for code in points if code in uniformity}
    if not even:
        return unknown
    shares: dict[str, Value] = {
        code: message("share_over_points", share=Share(share), points=Count(points[code], "point"))
        for code, share in even.items()
    }
    verdict = at_least(min(even.values()), EVEN, FAIRLY_EVEN)
    known = finding(verdict, message("darkest_point", each=each(trial, shares)))
    return together(known, unknown) if missing else known


def _of_points(maps: Sequence[FloatArray]) -> bool:
    """Tell whether every map tells how even the light was: of several points, and not dark."""
    return all(one.size >= FEWEST_POINTS and one.max() > 0 for one in maps)


def temperature_matched(trial: Trial, air: Values) -> Finding:
    """Judge whether treatments had the same air temperature. air: mean by treatment, °C."""
    common = shared(trial, air_temperature)
    own = {code: value for code, value in air.items() if code not in common}
    if common and not own:
        mean = Amount(air[next(iter(common))], AIR.unit)
        return finding("not recorded", message("air_logged_together", mean=mean))
    return likeness(trial, AIR, own)


def ec_matched(trial: Trial, ec: Values) -> Finding:
    """Judge whether treatments had the same EC. ec: mean by treatment, mS/cm."""
    return likeness(trial, EC, ec)


def ph_matched(trial: Trial, ph: Values) -> Finding:
    """Judge whether treatments had the same pH. ph: mean by treatment."""
    return likeness(trial, PH, ph)
