"""Two treatments that differ from each other though neither differs clearly from the reference.

Verdicts compare each treatment with the reference alone; the letters of a measure compare all pairs.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Final

from reportgen import language
from reportgen.language import marked, say
from reportgen.metrics.verdicts import OF_ENERGY
from reportgen.model.message import Notes
from reportgen.model.results import MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import figure_texts, findings, terms, treatment_names, units, wording

NOT_TOLD_APART: Final = frozenset(("unclear", "alike"))  # verdicts beside the reference
APART: Final = marked(
    "{measure} differed between {lower} ({low}) and {higher} ({high}), though neither is clearly"
    " apart from {reference}."
)
LOWER_THAN: Final = marked("{thing} lower with {lower} than with {higher}")
UNTESTED: Final = marked("{finding} ({untested})")


def sentence(trial: Trial, results: Results, keys: Sequence[str]) -> str:
    """Return the first such pair in some measures with both figures; empty where there is none."""
    if trial.interim:
        return ""
    for key in dict.fromkeys(keys):
        result = wording.result_of(results, key)
        if result is not None:
            for pair in _pairs(trial, results, result):
                return _sentence_on(trial, result, pair)
    return ""


def in_title(trial: Trial, results: Results, keys: Sequence[str]) -> str:
    """Return the first such pair for a heading, empty where there is none.

    The reason stands with it where nothing can be tested.
    """
    if trial.interim:
        return ""
    for key in dict.fromkeys(keys):
        result = wording.result_of(results, key)
        if result is not None:
            for pair in _pairs(trial, results, result):
                return _titled(trial, results, result, pair)
    return ""


def _titled(trial: Trial, results: Results, result: MeasureResult, pair: tuple[str, str]) -> str:
    estimates = dict(result.estimates)
    lower, higher = sorted(pair, key=lambda code: estimates[code].value or 0.0)
    finding = say(
        LOWER_THAN,
        thing=findings.thing(trial, results, result.measure.key),
        lower=treatment_names.label_within(trial, lower),
        higher=treatment_names.label_within(trial, higher),
    )
    reasons = _energy_untested(results, result.measure.key, pair)
    if reasons:
        return say(UNTESTED, finding=finding, untested=findings.why_untested(reasons))
    return finding


def _energy_untested(results: Results, key: str, pair: tuple[str, str]) -> Notes:
    """Return why the energy of two treatments cannot be compared, where a measure rests on it."""
    if key not in OF_ENERGY:
        return ()
    for conclusion in results.conclusions:
        is_of_pair = conclusion.measure == "energy_use" and conclusion.treatment in pair
        if is_of_pair and conclusion.code == "untestable":
            return conclusion.reasons
    return ()


def _pairs(trial: Trial, results: Results, result: MeasureResult) -> Iterator[tuple[str, str]]:
    """Yield the treatments that share no letter and are not told apart from the reference."""
    if result.letters is None:
        return
    judged = {
        conclusion.treatment: conclusion.code
        for conclusion in results.conclusions
        if conclusion.measure == result.measure.key
    }
    letters = dict(result.letters.groups)
    others = [code for code in letters if judged.get(code) in NOT_TOLD_APART]
    for first, second in combinations(others, 2):
        if not set(letters[first]) & set(letters[second]):
            yield first, second


def _sentence_on(trial: Trial, result: MeasureResult, pair: tuple[str, str]) -> str:
    shown = units.displayed([result], units.current())[0]
    estimates = dict(shown.estimates)
    lower, higher = sorted(pair, key=lambda code: estimates[code].value or 0.0)
    unit = language.unit(shown.measure.unit)
    return say(
        APART,
        measure=terms.label(shown.measure),
        lower=wording.name_within(trial, lower),
        higher=wording.name_within(trial, higher),
        low=f"{figure_texts.value_text(shown, estimates[lower])} {unit}".strip(),
        high=f"{figure_texts.value_text(shown, estimates[higher])} {unit}".strip(),
        reference=wording.name_within(trial, trial.reference),
    )
