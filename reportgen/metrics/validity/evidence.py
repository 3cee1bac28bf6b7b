"""What the figures rest on: single plants, instruments, and who supplied or paid."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from reportgen.metrics.plant_measure import (
    PlantMeasure,
    measure_name,
    measured_alone,
    plant_measure,
)
from reportgen.metrics.totals import weighs_anything
from reportgen.metrics.validity.verdicts import Finding, finding, names, number, together
from reportgen.model.message import (
    Amount,
    Count,
    Message,
    Quote,
    Several,
    Term,
    TreatmentName,
    message,
)
from reportgen.model.outliers import LIMIT, outliers
from reportgen.model.trial import Instrument, Measured, Plant, Tray, Trial

MOST_NAMED = 5  # plants named in a finding; ours
OWN_ACCURACY = 2.0  # %, of instruments that differ between treatments; ours
GIVEN = re.compile(
    r"\b(?:suppl(?:y|ied|ies)|len[dt]|loan(?:ed)?|borrowed|donat\w+|sponsor\w*|paid|pays|provid\w+|gave|given|gifts?|"
    r"fund(?:s|ed|ing)?|discount\w*|received|free of charge|courtesy|employ\w*)\b",
    re.I,
)
NOBODY = re.compile(r"\b(?:no|not|none|nobody|nothing|neither|never|without)\b", re.I)
# giving by the grower's own hand: `we paid`, `paid for by the grower`, `funded it ourselves`
GROWERS_OWN = re.compile(
    r"\b(?:we|I|grower|author) (?:also )?(?:paid|pays|supplied|provided|funded|gave)\b|"
    r"\b(?:paid|supplied|provided|funded)\b(?:(?!\band\b).){0,40}?"
    r"\b(?:ourselves|myself|by us|by me|by the (?:grower|author)|own"
    r" (?:money|cost|expense|pocket|funds))\b",
    re.I,
)
NOTHING_GIVEN = re.compile(
    r"\b(?:none|nobody|nothing|no|bought|purchased|paid|own|ourselves|myself)\b", re.I
)
CLAUSE = re.compile(r"[.;,:()\n]+|\bbut\b|\bwhile\b|\balthough\b", re.I)
NOT_STATED = ("", "none stated", "not stated")


def flagged(trial: Trial) -> tuple[tuple[Plant, float], ...]:
    """Return the plants that lie far from the rest of their treatment in what they are compared by.

    Each comes with its modified z-score.
    """
    measure = _judged(trial)
    if measure is None:
        return ()
    plants_far: list[tuple[Plant, float]] = []
    for plants in measured_alone(trial, measure).values():
        values = []
        for plant in plants:
            value = measure.value(plant)
            if value is not None:
                values.append(value)
        result = outliers(values)
        for index in result.indices:
            plants_far.append((plants[index], result.scores[index]))
    return tuple(plants_far)


def _judged(trial: Trial) -> PlantMeasure | None:
    """Return what plants are judged by.

    Counts have no unit and are not: most plants share a few numbers.
    """
    measure = plant_measure(trial)
    if measure is not None and measure.unit:
        return measure
    return None


def without_outliers(trial: Trial) -> Trial | None:
    """Return the trial as if its flagged plants had never been started, None where none is flagged.

    For a second line beside the headline only: flagged plants are never removed from a trial's own
    figures.
    """
    out = {(plant.tray, plant.code) for plant, _ in flagged(trial)}
    if not out:
        return None
    number_out = Counter(tray for tray, _ in out)
    trays: list[Tray] = []
    for tray in trial.trays:
        started = tray.plants_started - number_out[tray.code]
        trays.append(replace(tray, plants_started=started))
    plants: list[Plant] = []
    for plant in trial.plants:
        if (plant.tray, plant.code) not in out:
            plants.append(plant)
    return replace(trial, trays=tuple(trays), plants=tuple(plants))


def outlying(trial: Trial) -> Finding | None:
    """Judge whether single plants lie far from the rest of their treatment.

    None where no plant was measured.
    """
    measure = _judged(trial)
    if measure is None:
        return None
    weighed = measured_alone(trial, measure)
    few = [code for code, of_treatment in weighed.items() if len(of_treatment) < 3]
    if few:
        unknown = [message("too_few_weighed", treatments=names(trial, few))]
    else:
        unknown = []
    plants = Count(sum(len(plants) for plants in weighed.values()), "plant")
    far = flagged(trial)
    if far:
        outlying_plants = _far_plants(trial, measure, far, plants)
        return finding("caution", outlying_plants, message("flagged_and_kept"), *unknown)
    if few:
        return finding("not recorded", *unknown)
    return finding(
        "sound", message("no_plant_far", plants=plants, measure=measure_name(trial, measure))
    )


def _far_plants(
    trial: Trial, measure: PlantMeasure, far: tuple[tuple[Plant, float], ...], plants: Count
) -> Message:
    treatment_of = {tray.code: tray.treatment for tray in trial.trays}
    named: list[Message] = []
    for plant, score in far[:MOST_NAMED]:
        value = Amount(measure.value(plant) or 0.0, measure.unit)
        named.append(_far(treatment_of[plant.tray], plant, score, value))
    more = len(far) - len(named)
    if more:
        named.append(message("more", number=number(more)))
    limit, listed = number(LIMIT), Several(tuple(named))
    if len(far) == 1:
        return message("one_plant_far", number=number(1), plants=plants, limit=limit, far=listed)
    return message("plants_far", number=number(len(far)), plants=plants, limit=limit, far=listed)


def _far(treatment: str, plant: Plant, score: float, value: Amount) -> Message:
    code, tray, name = Quote(plant.code), Quote(plant.tray), TreatmentName(treatment)
    spreads = number(abs(score))
    if score > 0:
        return message(
            "plant_above", plant=code, tray=tray, treatment=name, weight=value, spreads=spreads
        )
    return message(
        "plant_below", plant=code, tray=tray, treatment=name, weight=value, spreads=spreads
    )


def instruments(trial: Trial) -> Finding | None:
    """Judge whether each kind of measurement has one instrument of known accuracy for all.

    None where nothing was measured that the sheet Instruments has a word for, such as heights or
    counts alone.
    """
    kinds = measured(trial)
    if not kinds and not trial.instruments:
        return None
    number_of_kinds = Count(len(kinds), "kind")
    if not trial.instruments:
        return finding("not recorded", message("no_instrument", kinds=number_of_kinds))
    proven = {instrument.measures for instrument in trial.instruments if _is_proven(instrument)}
    missing = [kind for kind in kinds if kind not in proven]
    accuracy = _accuracy_known(len(kinds) - len(missing), number_of_kinds, missing)
    own: list[Finding] = []
    for kind in kinds:
        own += _own_instruments(trial, kind)
    if missing:
        return together(finding("caution", accuracy), *own)
    return together(finding("sound", accuracy), *own)


def _accuracy_known(proven: int, kinds: Count, missing: Sequence[Measured]) -> Message:
    if not missing:
        return message("accuracy_known", number=number(proven), kinds=kinds)
    lacking = Several(tuple(Term(kind) for kind in missing))
    return message("accuracy_known_but_for", number=number(proven), kinds=kinds, missing=lacking)


def _own_instruments(trial: Trial, kind: Measured) -> list[Finding]:
    """Judge the instruments of a kind that treatments have for themselves."""
    findings: list[Finding] = []
    for instrument in trial.instruments:
        if instrument.measures != kind or not instrument.per_treatment:
            continue
        accuracy = instrument.accuracy
        if accuracy is not None and accuracy <= OWN_ACCURACY:
            findings.append(finding("sound", _own_instrument(instrument)))
        else:
            findings.append(finding("caution", _own_instrument(instrument)))
    return findings


def _own_instrument(own: Instrument) -> Message:
    name, kind = Quote(own.name), Term(own.measures)
    if own.accuracy is None:
        return message("own_instrument_of_unknown_accuracy", name=name, kind=kind)
    return message("own_instrument", name=name, kind=kind, accuracy=Amount(own.accuracy, "%"))


def measured(trial: Trial) -> tuple[Measured, ...]:
    """Return the kinds of measurement that the trial has figures of."""
    climate = trial.climate
    is_measured: dict[Measured, bool] = {
        "weight": weighs_anything(trial),
        "volume": bool(trial.solution),
        "energy": bool(trial.meter),
        "light": bool(trial.light),
        "air temperature": climate is not None and bool(np.isfinite(climate.air_temperature).any()),
        "humidity": climate is not None and bool(np.isfinite(climate.relative_humidity).any()),
        "EC": any(event.ec is not None for event in trial.solution),
        "pH": any(event.ph is not None for event in trial.solution),
    }
    return tuple(kind for kind, has_figures in is_measured.items() if has_figures)


def _is_proven(instrument: Instrument) -> bool:
    return instrument.accuracy is not None or instrument.calibrated_on is not None


def disclosure(trial: Trial) -> Finding:
    """Judge whether it is said who supplied or paid for what, and whether something was given."""
    words = trial.about.disclosure.strip()
    if words.rstrip(".").casefold() in NOT_STATED:
        return finding("not recorded", message("disclosure_not_stated"))
    given = []
    for clause in CLAUSE.split(words):
        if _tells_of_a_gift(clause):
            given.append(clause.strip())
    if given:
        return finding("caution", message("something_given", words=Quote("; ".join(given))))
    if NOTHING_GIVEN.search(words):
        return finding("sound", message("nothing_given", words=Quote(words)))
    return finding("caution", message("gift_not_told", words=Quote(words)))


def _tells_of_a_gift(clause: str) -> bool:
    """Return whether a clause names a gift that is neither denied nor the grower's own."""
    others = GROWERS_OWN.sub("", clause)
    return any(not NOBODY.search(others[: word.start()]) for word in GIVEN.finditer(others))
