"""Ways of knowing an item of the checklist, and of whom it is missing."""

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from reportgen.metrics.reporting.phrases import phrase
from reportgen.metrics.totals import treatment_by_tray
from reportgen.metrics.validity.verdicts import lacking, of_each
from reportgen.model.message import (
    Amount,
    Count,
    Message,
    OfTreatment,
    Quote,
    Span,
    TreatmentName,
    Value,
    message,
)
from reportgen.model.trial import SolutionEvent, Treatment, Trial

LONGEST_QUOTE = 120  # characters; ours


@dataclass(frozen=True)
class Known:
    """What is known of an item, nothing where it is not known, and of whom or what it is missing."""

    values: tuple[Value, ...] = ()
    missing: tuple[Value, ...] = ()


@dataclass(frozen=True)
class Place:
    """A column or field of the workbook that is for the grower's own words.

    The only words that an item is read from.

    The report names the same place where an item is missing.
    """

    sheet: str
    column: str
    texts: Callable[[Trial], Iterable[str]]


DESCRIPTION = Place(
    "Treatments", "Description", lambda trial: (one.description for one in trial.treatments)
)
CULTIVAR = Place("Trial", "Cultivar", lambda trial: (trial.about.cultivar,))
GROWING_SYSTEM = Place("Trial", "Growing system", lambda trial: (trial.about.growing_system,))
OBSERVATIONS = Place(
    "Observations", "Observation", lambda trial: (one.text for one in trial.observations)
)


def words(text: str) -> Known:
    """Return a field of the grower's own words, nothing known where it is blank."""
    if text:
        return Known((Quote(text),))
    return Known()


def by_treatment(trial: Trial, values: Mapping[str, Value]) -> Known:
    """Return what is known of each treatment, and the treatments of which nothing is."""
    return Known(tuple(of_each(trial, values)), _without(trial, values))


def several_by_treatment(trial: Trial, values: Mapping[str, Sequence[Value]]) -> Known:
    """Return all that is known of each treatment, and the treatments of which nothing is."""
    listed = []
    for treatment in trial.treatments:
        for value in values.get(treatment.code, ()):
            listed.append(OfTreatment(value, treatment.code))
    known = tuple(listed)
    return Known(known, _without(trial, values))


def _without(trial: Trial, known: Iterable[str]) -> tuple[Value, ...]:
    return tuple(TreatmentName(code) for code in lacking(trial, known))


def typed(trial: Trial, field: Callable[[Treatment], str | float | None], unit: str = "") -> Known:
    """Return a field of the treatments: a text as it stands, a number in its unit."""
    values: dict[str, Value] = {}
    for treatment in trial.treatments:
        value = field(treatment)
        if isinstance(value, str):
            values |= {treatment.code: Quote(value)} if value else {}
        elif value is not None:
            values[treatment.code] = Amount(value, unit)
    return by_treatment(trial, values)


def span(values: Sequence[float], unit: str) -> Span:
    """Return the lowest and the highest of some values."""
    return Span(min(values), max(values), unit)


def over_readings(values: Sequence[float], unit: str) -> tuple[Value, ...]:
    """Return the range of some readings with their number, nothing where there is none."""
    if not values:
        return ()
    return (
        message(
            "span_of_readings", span=span(values, unit), readings=Count(len(values), "reading")
        ),
    )


def tray_named(code: str) -> Message:
    """Return a tray as one of several that something is missing for."""
    return message("tray_named", tray=Quote(code))


def readings(trial: Trial, value: Callable[[SolutionEvent], float | None], unit: str) -> Known:
    """Return the range of solution readings over trays with plants, and the trays without."""
    by_tray: dict[str, list[float]] = defaultdict(list)
    for event in trial.solution:
        reading = value(event)
        if reading is not None:
            by_tray[event.tray].append(reading)
    trays = list(treatment_by_tray(trial))
    values: list[float] = []
    for tray in trays:
        values.extend(by_tray.get(tray, ()))
    missing = []
    for tray in trays:
        if tray not in by_tray:
            missing.append(tray_named(tray))
    return Known(
        over_readings(values, unit),
        tuple(missing),
    )


def logged(trial: Trial, column: str, unit: str) -> Known:
    """Return the range of a column of the climate log.

    A log of all together tells of every treatment.
    """
    if trial.climate is None:
        return Known()
    values = getattr(trial.climate, column)
    is_read = np.isfinite(values)
    whose = set(np.array(trial.climate.treatments, dtype=object)[is_read].tolist())
    missing = () if None in whose else _without(trial, whose)
    return Known(over_readings(values[is_read].tolist(), unit), missing)


def noted(trial: Trial, item: str, where: Iterable[Place]) -> Known:
    """Return the grower's first sentence about an item, from the places where it belongs."""
    wanted = phrase(item)
    texts: list[str] = []
    for place in where:
        texts.extend(place.texts(trial))
    for text in texts:
        for sentence in re.split(r"(?<=[.;])\s+|\n+", text):
            if wanted.search(sentence):
                return Known((message("quoted", words=excerpt(sentence)),))
    return Known()


def excerpt(text: str) -> Quote:
    """Return a sentence of the grower's, cut at a word where it is long."""
    sentence = text.strip().rstrip(".;")
    if len(sentence) <= LONGEST_QUOTE:
        return Quote(sentence)
    return Quote(f"{sentence[:LONGEST_QUOTE].rsplit(' ', 1)[0]} ...")
