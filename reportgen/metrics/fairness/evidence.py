"""What the figures rest on: single plants, instruments, and who supplied or paid."""

import re
from dataclasses import replace

import numpy as np

from reportgen.metrics.fairness.words import Finding, count, figure, listed, names, worst
from reportgen.metrics.totals import planted
from reportgen.model.outliers import LIMIT, outliers
from reportgen.model.results import VerdictWord
from reportgen.model.trial import Instrument, Measured, Plant, Trial

MOST_NAMED = 5  # plants named in a finding; ours
OWN_ACCURACY = 2.0  # %, of instruments that differ between treatments; ours
GIVEN = re.compile(
    r"\b(?:suppl(?:y|ied|ies)|len[dt]|loan(?:ed)?|borrowed|donat\w+|sponsor\w*|paid|pays|provid\w+|gave|given|gifts?|"
    r"fund(?:s|ed|ing)?|discount\w*|received|free of charge|courtesy|employ\w*)\b",
    re.I,
)
NOBODY = re.compile(r"\b(?:no|not|none|nobody|nothing|neither|never|without)\b", re.I)
GROWERS_OWN = re.compile(  # giving by the grower's own hand: `we paid`, `paid for by the grower`, `funded it ourselves`
    r"\b(?:we|I|grower|author) (?:also )?(?:paid|pays|supplied|provided|funded|gave)\b|"
    r"\b(?:paid|supplied|provided|funded)\b(?:(?!\band\b).){0,40}?"
    r"\b(?:ourselves|myself|by us|by me|by the (?:grower|author)|own (?:money|cost|expense|pocket|funds))\b",
    re.I,
)
NOTHING_GIVEN = re.compile(r"\b(?:none|nobody|nothing|no|bought|purchased|paid|own|ourselves|myself)\b", re.I)
CLAUSE = re.compile(r"[.;,:()\n]+|\bbut\b|\bwhile\b|\balthough\b", re.I)
NOT_STATED = ("", "none stated", "not stated")


def flagged(trial: Trial) -> tuple[tuple[Plant, float], ...]:
    """Return the plants whose fresh weight lies far from the rest of their treatment, with modified z-scores."""
    found: list[tuple[Plant, float]] = []
    for weighed in _weighed(trial).values():
        result = outliers([plant.fresh_weight for plant in weighed if plant.fresh_weight is not None])
        found += [(weighed[index], result.scores[index]) for index in result.indices]
    return tuple(found)


def _weighed(trial: Trial) -> dict[str, list[Plant]]:
    """Return the plants with a fresh weight of their own, by treatment."""
    treatment_of = {tray.code: tray.treatment for tray in planted(trial)}
    found: dict[str, list[Plant]] = {one.code: [] for one in trial.treatments}
    for plant in trial.plants:
        if plant.fresh_weight is not None and plant.number == 1 and plant.tray in treatment_of:
            found[treatment_of[plant.tray]].append(plant)
    return found


def without_outliers(trial: Trial) -> Trial | None:
    """Return the trial as if its flagged plants had never been started, None where none is flagged.

    For a second line beside the headline only: flagged plants are never removed from a trial's own figures.
    """
    out = {(plant.tray, plant.code) for plant, _ in flagged(trial)}
    if not out:
        return None
    gone = [tray for tray, _ in out]
    trays = tuple(replace(tray, plants_started=tray.plants_started - gone.count(tray.code)) for tray in trial.trays)
    return replace(
        trial, trays=trays, plants=tuple(plant for plant in trial.plants if (plant.tray, plant.code) not in out)
    )


def outlying(trial: Trial) -> Finding:
    """Judge whether single plants lie far from the rest of their treatment."""
    weighed = _weighed(trial)
    few = [code for code, plants in weighed.items() if len(plants) < 3]
    total = sum(len(plants) for plants in weighed.values())
    unknown = f"{names(trial, few)} had fewer than 3 plants weighed, too few to tell." if few else ""
    far = flagged(trial)
    if not far and few:
        return "not recorded", unknown
    if not far:
        return "sound", f"None of {count(total, 'plant')} lies far from the rest of its treatment in fresh weight."
    more = f" and {len(far) - MOST_NAMED} more" if len(far) > MOST_NAMED else ""
    said = (
        f"{len(far)} of {count(total, 'plant')} {'lies' if len(far) == 1 else 'lie'} more than {figure(LIMIT)} usual "
        f"spreads from the middle of the treatment: {_named(trial, far[:MOST_NAMED])}{more}. Flagged, and kept in "
        "every figure."
    )
    return "caution", f"{said} {unknown}".strip()


def _named(trial: Trial, far: tuple[tuple[Plant, float], ...]) -> str:
    treatment_of = {tray.code: tray.treatment for tray in trial.trays}
    return listed(
        [
            f"plant {plant.code} of {trial.unit} {plant.tray} ({names(trial, [treatment_of[plant.tray]])}, "
            f"{figure(plant.fresh_weight or 0.0)} g, {figure(abs(score))} spreads {'above' if score > 0 else 'below'})"
            for plant, score in far
        ]
    )


def instruments(trial: Trial) -> Finding:
    """Judge whether what was measured has an instrument of known accuracy, the same one for all treatments."""
    kinds = measured(trial)
    if not trial.instruments:
        return "not recorded", f"No instrument is recorded for {count(len(kinds), 'kind')} of measurement."
    proven = [kind for kind in kinds if any(_is_proven(one) for one in _of(trial, kind))]
    missing = [kind for kind in kinds if kind not in proven]
    said = f"Accuracy or calibration is recorded for {len(proven)} of {count(len(kinds), 'kind')} of measurement"
    said += f", not for {listed(missing)}." if missing else "."
    verdict: VerdictWord = "caution" if missing else "sound"
    for own in [one for kind in kinds for one in _of(trial, kind) if one.per_treatment]:
        accuracy, shown = _accuracy(own)
        verdict = worst(verdict, accuracy)
        said += f" Each treatment had its own {own.name} ({own.measures}, {shown}): errors do not cancel."
    return verdict, said


def measured(trial: Trial) -> tuple[Measured, ...]:
    """Return the kinds of measurement that the trial has figures of."""
    climate = trial.climate
    there: dict[Measured, bool] = {
        "weight": any(plant.fresh_weight is not None for plant in trial.plants),
        "volume": bool(trial.solution),
        "energy": bool(trial.meter),
        "light": bool(trial.light),
        "air temperature": climate is not None and bool(np.isfinite(climate.air_temperature).any()),
        "humidity": climate is not None and bool(np.isfinite(climate.relative_humidity).any()),
        "EC": any(event.ec is not None for event in trial.solution),
        "pH": any(event.ph is not None for event in trial.solution),
    }
    return tuple(kind for kind, is_there in there.items() if is_there)


def _of(trial: Trial, kind: Measured) -> list[Instrument]:
    return [one for one in trial.instruments if one.measures == kind]


def _is_proven(one: Instrument) -> bool:
    return one.accuracy is not None or one.calibrated_on is not None


def _accuracy(one: Instrument) -> tuple[VerdictWord, str]:
    if one.accuracy is None:
        return "caution", "accuracy not recorded"
    return "sound" if one.accuracy <= OWN_ACCURACY else "caution", f"accuracy ±{figure(one.accuracy)} %"


def disclosure(trial: Trial) -> Finding:
    """Judge whether it is said who supplied or paid for what, and whether something was given."""
    said = trial.about.disclosure.strip()
    if said.rstrip(".").casefold() in NOT_STATED:
        return "not recorded", "Who supplied or paid for what is not stated."
    given = [clause.strip() for clause in CLAUSE.split(said) if _tells_of_a_gift(clause)]
    if given:
        return "caution", f'Something was given, lent or paid for, in the grower\'s words: "{"; ".join(given)}".'
    if NOTHING_GIVEN.search(said):
        return "sound", f'Nothing was given, in the grower\'s words: "{said}"'
    return "caution", f'Whether something was given does not follow from the grower\'s words: "{said}"'


def _tells_of_a_gift(clause: str) -> bool:
    """Return whether a clause has a word of giving that nothing before it denies, and that is not the grower's own."""
    others = GROWERS_OWN.sub("", clause)
    return any(not NOBODY.search(others[: word.start()]) for word in GIVEN.finditer(others))
