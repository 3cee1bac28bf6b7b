"""The few figures of a card: those that the trial can stand behind, the main measure first."""

from collections.abc import Sequence
from typing import Final

from reportgen.language import say
from reportgen.metrics.basis import on_whole_crop
from reportgen.metrics.measures import GROWTH_RATE
from reportgen.metrics.verdicts import conclusion_of
from reportgen.model.document import KeyFigures
from reportgen.model.measure_names import LAST
from reportgen.model.results import MeasureResult, Results, ScoreResult
from reportgen.model.trial import Trial
from reportgen.report import scores, tables, units, wording
from reportgen.report.factor_figures import factor_figures

KEY_MEASURES: Final = (
    "fresh_weight",
    *on_whole_crop("yield_per_plant_started"),
    "marketable_yield",
    *on_whole_crop("water_per_gram"),
    "energy_use",
    *on_whole_crop("energy_per_kg", "electricity_cost_per_gram"),
)
MOST: Final = 3
NONE: Final = KeyFigures("", ())
WITHHELD: Final = frozenset(("confounded", "untestable"))  # a figure in large letters would say more than the trial


def key_measures(results: Results) -> tuple[str, ...]:
    """Return the keys of the measures that are shown at a glance, the main measure first.

    A size that was measured while plants grew is followed by the rate at which they came to it.
    """
    rates = _rates(results) if results.main_measure.startswith(f"{LAST}_") else ()
    return tuple(dict.fromkeys((results.main_measure, *rates, *KEY_MEASURES)))


def _rates(results: Results) -> tuple[str, ...]:
    """Return the keys of the growth rates by the trait that the main measure is of."""
    main = wording.result_of(results, results.main_measure)
    if main is None:
        return ()
    same = [result.measure.key for result in results.measures if result.measure.trait == main.measure.trait]
    return tuple(key for key in same if key.startswith(GROWTH_RATE))


def key_figures(trial: Trial, results: Results) -> KeyFigures:
    """Return the changes beside the reference that may stand alone in large letters.

    Of two treatments these are several measures, of more the main measure of each. None where the main measure's own
    change may not stand alone.
    """
    score = scores.score_of(results, results.main_measure)
    if score is not None:
        return _of_score(trial, results, score)
    main = wording.result_of(results, results.main_measure)
    if main is None:
        return NONE
    of_factors = factor_figures(trial, results, main)
    if of_factors is not None:
        return of_factors
    others = [code for code, _ in main.comparisons if _is_shown(results, main, code)]
    if not others:
        return NONE
    if len(trial.treatments) > 2:
        return _of_treatments(trial, main, others[:MOST])
    return _of_measures(trial, results, others[0])


def _is_shown(results: Results, result: MeasureResult, code: str) -> bool:
    key = result.measure.key
    judged = any((one.measure, one.treatment) == (key, code) for one in results.conclusions)
    return judged and conclusion_of(results, key, code).code not in WITHHELD


def _of_treatments(trial: Trial, main: MeasureResult, codes: Sequence[str]) -> KeyFigures:
    shown = _displayed(main)
    compared = dict(shown.comparisons)
    found = tuple((_against_reference(trial, code), wording.beside_reference(shown, compared[code])) for code in codes)
    return KeyFigures(wording.label_of(shown), found)


def _of_measures(trial: Trial, results: Results, code: str) -> KeyFigures:
    known = tables.measures_of(results, key_measures(results))
    told = [result for result in known if _is_shown(results, result, code)]
    found: list[tuple[str, str]] = []
    for result in map(_displayed, told[:MOST]):
        compared = dict(result.comparisons)[code]
        found.append((wording.label_of(result), wording.beside_reference(result, compared)))
    return KeyFigures(_against_reference(trial, code), tuple(found))


def _of_score(trial: Trial, results: Results, score: ScoreResult) -> KeyFigures:
    """Return the share of plants from one class on, of the reference first; none where a difference may not stand."""
    judged = {code: conclusion_of(results, score.measure.key, code) for code, _ in score.comparisons}
    others = [code for code, one in judged.items() if one.code not in WITHHELD]
    if not others:
        return NONE
    counted = {one.treatment: one for one in score.treatments}
    shown = (trial.reference, *others[: MOST - 1])
    caption = say("{measure}: {class_}, % of plants", measure=score.measure.label, class_=scores.from_class(score))
    shares = [scores.share_of(counted[code].share_from(score.cut)) for code in shown]
    names = [wording.name_of(trial, code) for code in shown]
    return KeyFigures(caption, tuple(zip(names, shares, strict=True)))


def _displayed(result: MeasureResult) -> MeasureResult:
    """Return a result in the unit of display, in the metric one where both are shown."""
    return units.displayed([result], units.current())[0]


def _against_reference(trial: Trial, code: str) -> str:
    reference = wording.name_of(trial, trial.reference)
    return say("{name}, % of {reference}", name=wording.name_of(trial, code), reference=reference)
