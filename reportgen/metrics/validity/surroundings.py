"""Whether treatments had the same light, air and solution."""

from dataclasses import dataclass

from reportgen.metrics.climate import air_temperature, shared
from reportgen.metrics.light import light_of
from reportgen.metrics.light_maps import HEIGHT_NOT_KNOWN, HEIGHT_NOT_MEASURED
from reportgen.metrics.validity.verdicts import (
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
from reportgen.model.message import Amount, Count, Notes, Share, Term, Value, message, note
from reportgen.model.trial import Trial, Varied

EVEN, FAIRLY_EVEN = 0.8, 0.6  # minimum / mean of a map; ours: no published limit was found
FEWEST_POINTS = (
    3  # Poorter et al. 2012, Funct. Plant Biol. 39:821-838, table 2: a light map of 3 to 8 points
)


@dataclass(frozen=True)
class Likeness:
    """How far apart treatments may lie in a quantity.

    Shares of the lowest where `relative`, else its own unit.

    `what` and `compared` are keys of terms: the quantity, and what a trial compares that compares
    it. `step` is the unit of a difference. `varied` is the answer to What was varied by which a
    difference was meant.
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
DLI = Likeness(
    "light of a day", "mol/m²/d", "", True, 0.05, 0.10, "light", "light"
)  # ours, as for PPFD
AIR = Likeness(
    "mean air temperature", "°C", "K", False, 1.0, 2.0, "temperature", "temperature"
)  # ours
EC = Likeness("mean EC", "mS/cm", "", True, 0.10, 0.20, "EC", "nutrient strength")  # ours
PH = Likeness("mean pH", "", "pH units", False, 0.3, 0.6, "pH", "nutrient strength")  # ours


@dataclass(frozen=True)
class Unsettled:
    """Treatments, by code, that were measured and yet have no value, and why."""

    codes: tuple[str, ...] = ()
    said: Notes = ()


def likeness(
    trial: Trial, rule: Likeness, values: Values, unsettled: Unsettled = Unsettled()
) -> Finding | None:
    """Judge how far treatments lie apart.

    With a treatment of unknown value, no better than not recorded.

    None where treatments were meant to differ and it is not known of all how far: nothing was to be
    alike.
    """
    missing = lacking(trial, values)
    if missing and rule.varied in trial.varied_on_purpose:
        return None
    what = Term(rule.what)
    unread = [code for code in missing if code not in unsettled.codes]
    reasons = unsettled.said
    if len(unread) == len(trial.treatments):
        reasons = note("quantity_never_recorded", quantity=what) + reasons
    elif unread:
        reasons = (
            note("quantity_not_recorded", quantity=what, treatments=names(trial, unread)) + reasons
        )
    unknown = finding("not recorded", *reasons)
    if len(values) < 2:
        return unknown
    apart, shown = _apart(rule, values)
    verdict = at_most(apart, rule.sound, rule.caution)
    said = [
        message(
            "quantity_apart",
            quantity=what,
            each=each(trial, amounts(values, rule.unit)),
            apart=shown,
        )
    ]
    if rule.varied in trial.varied_on_purpose:
        verdict = "sound"
        said.append(message("varied_on_purpose", compared=Term(rule.compared)))
    elif verdict == "problem" and trial.varied is None:
        verdict = "caution"
        said.append(message("say_what_was_varied", compared=Term(rule.compared)))
    known = finding(verdict, *said)
    if missing:
        return together(known, unknown)
    return known


def _apart(rule: Likeness, values: Values) -> tuple[float, Value]:
    """Return how far values lie apart by the rule, and how that is said."""
    low, high = min(values.values()), max(values.values())
    if not rule.relative:
        return high - low, Amount(high - low, rule.step)
    if low <= 0:
        return (float("inf") if high > 0 else 0.0), Amount(high - low, rule.unit)
    return high / low - 1, Share(high / low - 1)


def light_matched(trial: Trial, ppfd: Values, dli: Values) -> Finding | None:
    """Judge whether treatments had the same light: PPFD, and where photoperiods differ the light of
    a day (DLI).

    ppfd: mean by treatment, µmol m-2 s-1; dli: by treatment, mol m-2 d-1.
    """
    unsettled = _heights_not_settled(trial)
    hours = set()
    for treatment in trial.treatments:
        if treatment.code in ppfd:
            hours.add(treatment.photoperiod)
    if len(ppfd) < 2 or len(dli) < len(ppfd) or len(hours) == 1:
        return likeness(trial, PPFD, ppfd, unsettled)
    judged = likeness(trial, DLI, dli, unsettled)
    if judged is None:
        return None
    verdict, said = judged
    return finding(
        verdict, *said, message("photoperiods_differ", each=each(trial, amounts(ppfd, PPFD.unit)))
    )


def _heights_not_settled(trial: Trial) -> Unsettled:
    """Return the treatments whose light was read, and yet is not known at the height in use."""
    not_recorded: list[str] = []
    not_measured: list[str] = []
    for code, found in light_of(trial).items():
        if found.notes == HEIGHT_NOT_KNOWN:
            not_recorded.append(code)
        elif found.notes == HEIGHT_NOT_MEASURED:
            not_measured.append(code)
    said: Notes = ()
    if not_recorded:
        said += note("height_in_use_not_recorded", treatments=names(trial, not_recorded))
    if not_measured:
        said += note("height_in_use_not_measured", treatments=names(trial, not_measured))
    return Unsettled((*not_recorded, *not_measured), said)


def light_even(trial: Trial, uniformity: Values) -> Finding:
    """Judge how even the light was. uniformity: minimum / mean of the PPFD by treatment."""
    points = _points_of_maps(trial)
    missing = lacking(trial, points)
    unsettled = _heights_not_settled(trial)
    without_map = [code for code in missing if code not in unsettled.codes]
    reasons = unsettled.said
    if without_map:
        too_few = note(
            "no_map_of_light", number=number(FEWEST_POINTS), treatments=names(trial, without_map)
        )
        reasons = too_few + reasons
    unknown = finding("not recorded", *reasons)
    even = {}
    for code in points:
        if code in uniformity:
            even[code] = uniformity[code]
    if not even:
        return unknown
    shares: dict[str, Value] = {}
    for code, share in even.items():
        shares[code] = message(
            "share_over_points", share=Share(share), points=Count(points[code], "point")
        )
    verdict = at_least(min(even.values()), EVEN, FAIRLY_EVEN)
    known = finding(verdict, message("darkest_point", each=each(trial, shares)))
    if missing:
        return together(known, unknown)
    return known


def _points_of_maps(trial: Trial) -> dict[str, int]:
    """Return how many points tell how even a treatment's light was.

    Where every map has several, and light.
    """
    points: dict[str, int] = {}
    for code, found in light_of(trial).items():
        enough = []
        for light in found.light:
            if light.count >= FEWEST_POINTS and light.mean > 0:
                enough.append(light)
        if enough and len(enough) == len(found.light):
            points[code] = sum(light.count for light in enough)
    return points


def temperature_matched(trial: Trial, air: Values) -> Finding | None:
    """Judge whether treatments had the same air temperature. air: mean by treatment, °C."""
    common = shared(trial, air_temperature)
    own = {}
    for code, value in air.items():
        if code not in common:
            own[code] = value
    if common and not own:
        mean = Amount(air[next(iter(common))], AIR.unit)
        return finding("not recorded", message("air_logged_together", mean=mean))
    return likeness(trial, AIR, own)


def ec_matched(trial: Trial, ec: Values) -> Finding | None:
    """Judge whether treatments had the same EC. ec: mean by treatment, mS/cm."""
    return likeness(trial, EC, ec)


def ph_matched(trial: Trial, ph: Values) -> Finding | None:
    """Judge whether treatments had the same pH. ph: mean by treatment."""
    return likeness(trial, PH, ph)
