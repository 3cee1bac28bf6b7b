"""Ways of knowing an item of the checklist, and of whom it is missing."""

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from reportgen.metrics.fairness.words import count, figure, lacking
from reportgen.metrics.totals import planted
from reportgen.model.trial import SolutionEvent, Treatment, Trial

LONGEST_QUOTE = 120  # characters; ours


@dataclass(frozen=True)
class Known:
    """What is known of an item, empty where nothing is, and the names of those of which it is missing."""

    text: str
    missing: tuple[str, ...] = ()


def by_treatment(trial: Trial, texts: Mapping[str, str]) -> Known:
    """Return what is said of each treatment, once where it is the same for all."""
    name_of = {one.code: one.name for one in trial.treatments}
    missing = lacking(trial, texts)
    if len(set(texts.values())) == 1 and not missing:
        return Known(next(iter(texts.values())))
    said = "; ".join(f"{name}: {texts[code]}" for code, name in name_of.items() if code in texts)
    return Known(said, tuple(name_of[code] for code in missing))


def typed(trial: Trial, value: Callable[[Treatment], str | float | None], unit: str = "") -> Known:
    """Return a field of the treatments: a text as it stands, a number in its unit."""
    found = {one.code: value(one) for one in trial.treatments}
    shown = {code: text if isinstance(text, str) else f"{figure(text)}{unit}" for code, text in found.items() if text}
    return by_treatment(trial, shown | {code: f"0{unit}" for code, number in found.items() if number == 0})


def span(values: Sequence[float], unit: str) -> str:
    """Return the lowest and the highest of some values, once where they are the same."""
    low, high = figure(min(values)), figure(max(values))
    return f"{low}{unit}" if low == high else f"{low} to {high}{unit}"


def readings(trial: Trial, value: Callable[[SolutionEvent], float | None], unit: str) -> Known:
    """Return the range of a reading of the solution over the trays with plants, and the trays that have none."""
    found: dict[str, list[float]] = defaultdict(list)
    for event in trial.solution:
        reading = value(event)
        if reading is not None:
            found[event.tray].append(reading)
    trays = [tray.code for tray in planted(trial)]
    values = [reading for tray in trays for reading in found.get(tray, ())]
    text = f"{span(values, unit)} in {count(len(values), 'reading')}" if values else ""
    return Known(text, tuple(f"{trial.unit} {tray}" for tray in trays if tray not in found))


def logged(trial: Trial, column: str, unit: str) -> Known:
    """Return the range of a column of the climate log; a log of all together tells of every treatment."""
    if trial.climate is None:
        return Known("")
    values = getattr(trial.climate, column)
    there = np.isfinite(values)
    whose = set(np.array(trial.climate.treatments, dtype=object)[there].tolist())
    missing = tuple(one.name for one in trial.treatments if None not in whose and one.code not in whose)
    found = values[there].tolist()
    return Known(f"{span(found, unit)} in {count(len(found), 'reading')}" if found else "", missing)


def noted(trial: Trial, pattern: str, texts: Callable[[Trial], Iterable[str]] | None = None) -> Known:
    """Return the first sentence of the grower's that a pattern is found in, in quotes."""
    wanted = re.compile(pattern, re.IGNORECASE)
    for text in (texts or _words)(trial):
        for sentence in re.split(r"(?<=[.;])\s+|\n+", text):
            if wanted.search(sentence):
                return Known(quoted(sentence))
    return Known("")


def quoted(text: str) -> str:
    """Return a sentence in quotes, cut at a word where it is long."""
    sentence = text.strip().rstrip(".;")
    short = sentence if len(sentence) <= LONGEST_QUOTE else f"{sentence[:LONGEST_QUOTE].rsplit(' ', 1)[0]} ..."
    return f'"{short}"'


def _words(trial: Trial) -> Iterable[str]:
    """Yield what the grower wrote of the trial in words."""
    yield from (text for one in trial.treatments for text in (one.description, one.equipment))
    yield from (trial.about.growing_system, trial.about.cultivar, trial.about.nutrient_recipe, trial.about.layout)
    yield from (observation.text for observation in trial.observations)
    yield from (event.note for event in trial.solution)
    yield from (tray.note for tray in trial.trays)
    yield trial.about.summary
