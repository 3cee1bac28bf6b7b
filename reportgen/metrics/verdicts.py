"""What a trial says of each measure: more, less, alike, unclear, untestable, or confounded with
something else.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Final, TypeVar

from reportgen.metrics.basis import on_each_basis, on_whole_crop
from reportgen.metrics.measures import DECLARED
from reportgen.metrics.totals import planted
from reportgen.metrics.validity import validity
from reportgen.model.measure_names import LAST
from reportgen.model.message import Message, Notes
from reportgen.model.results import (
    Comparison,
    Conclusion,
    ConclusionCode,
    MeasureResult,
    RankComparison,
    Results,
    ScoreResult,
    Verdict,
)
from reportgen.model.trial import Picking, Plant, SolutionEvent, Trial

Record = TypeVar("Record", Plant, Picking, SolutionEvent)  # of one tray

# What leads where the grower named nothing: the first of these that was measured, then what was
# measured on plants, then how many lived, then what they took. What can be sold is measured only
# where pickings were graded.
YIELDS = (
    "marketable_yield",
    *on_whole_crop("yield_per_plant_started"),
    "fresh_weight",
    *on_whole_crop("tray_yield"),
    "dry_weight",
    "pieces",
)
OF_PLANTS = ("height", "leaves")
# The findings that may explain a difference by themselves, by the check whose problem they make.
EXPLAINING: Final[Mapping[str, tuple[str, ...]]] = {
    "losses": ("losses_differ",),
    "replication": ("one_unit_for_all", "plants_share_pots"),
    "confounding": (
        "own_days_of_first_fill",
        "own_days_of_harvest",
        "one_place_only",
        "own_blocks",
        "own_positions",
        "own_group",
    ),
    "light_matched": ("quantity_apart",),
    "temperature_matched": ("quantity_apart",),
    "same_start": ("filled_from_to", "start_weights_apart"),
    "same_harvest_age": ("harvested_from_to",),
    "solution_ran_out": ("emptied", "ran_out"),
    "ec_matched": ("quantity_apart",),
    "ph_matched": ("quantity_apart",),
}
# What plants weighed at the start does not explain these.
NOT_BY_START = frozenset(("survival", "energy_use"))
# The meters scale these as a whole. Of the running cost they scale a part, so it is none of them.
OF_ENERGY = frozenset(
    on_each_basis(
        "energy_per_kg", "yield_per_kwh", "electricity_cost_per_gram", "yield_per_currency"
    )
)
# A lost plant is counted in these.
LOSSES_COUNTED = frozenset(
    (
        *on_whole_crop("yield_per_plant_started", "tray_yield"),
        "survival",
        "marketable_yield",
        "pieces",
        "yield_per_week",
    )
)


def main_measure(
    trial: Trial, measures: Iterable[MeasureResult], scores: Iterable[ScoreResult] = ()
) -> str:
    """Return the key of the measure that the answer leads with.

    The grower's, else the first in a fixed order.

    The order is yields, other measures of plants, survival, water, energy, and the rest. Empty
    where nothing was measured.
    """
    known = [result.measure.key for result in measures]
    further = [key for key in known if key not in DECLARED]
    scored = [result.measure.key for result in scores]
    of_plants = (*YIELDS, *OF_PLANTS, *further, *scored, "survival")
    known += scored
    named = (*on_each_basis(trial.main_measure), f"{LAST}_{trial.main_measure}")
    for key in (*named, *of_plants, "water_use", "energy_use"):
        if key in known:
            return key
    if known:
        return known[0]
    return ""


def conclusions(
    trial: Trial,
    measures: tuple[MeasureResult, ...],
    problems: Mapping[str, tuple[Verdict, ...]],
    scores: tuple[ScoreResult, ...] = (),
) -> tuple[Conclusion, ...]:
    """Return the verdict on each treatment in each measure and score of trays.

    `problems` are what may explain how a treatment differs from the reference, by its code.
    """
    verdicts: list[Conclusion] = []
    untestable = _energy_untestable(trial, measures)
    for result in measures:
        key = result.measure.key
        if not result.scores and not _is_withheld(result):
            continue
        if key in OF_ENERGY:
            verdicts += _of_measure(trial, result, problems, untestable)
        else:
            verdicts += _of_measure(trial, result, problems, {})
    for score in scores:
        key = score.measure.key
        for code, ranks in score.comparisons:
            verdict = _by_ranks(trial, ranks)
            verdicts.append(_conclusion(key, code, verdict, ranks.notes, problems[code]))
    return tuple(verdicts)


def _of_measure(
    trial: Trial,
    result: MeasureResult,
    problems: Mapping[str, tuple[Verdict, ...]],
    untestable: Mapping[str, Notes],
) -> list[Conclusion]:
    """Return the verdicts on a measure; `untestable` has why treatments cannot be compared."""
    verdicts: list[Conclusion] = []
    for code, comparison in result.comparisons:
        verdict, notes = by_interval(trial, comparison), comparison.notes
        if code in untestable and verdict != "unclear":
            verdict, notes = "untestable", untestable[code]
        verdicts.append(_conclusion(result.measure.key, code, verdict, notes, problems[code]))
    return verdicts


def _energy_untestable(trial: Trial, measures: tuple[MeasureResult, ...]) -> dict[str, Notes]:
    """Return why the energy of treatments cannot be compared, by their codes.

    Nothing tells then how far their meters err, so an interval of energy by weight holds the spread
    of the weights alone: it is too narrow. One that leaves the change unclear would do so all the
    more if it were wider.
    """
    energy = next((result for result in measures if result.measure.key == "energy_use"), None)
    if energy is None:
        return {}
    reasons: dict[str, Notes] = {}
    for code, comparison in energy.comparisons:
        if by_interval(trial, comparison) == "untestable":
            reasons[code] = comparison.notes
    return reasons


def problems_of(
    trial: Trial, measures: tuple[MeasureResult, ...], checks: tuple[Verdict, ...]
) -> dict[str, tuple[Verdict, ...]]:
    """Return the problems of a fair test that may explain how each treatment differs.

    `checks` are the trial's.
    """
    others = _others(trial)
    if len(others) == 1:
        return {others[0]: _that_explain(checks)}
    return {code: explaining(trial, measures, code) for code in others}


def _is_withheld(result: MeasureResult) -> bool:
    """Return whether trays were measured and no treatment has a figure that describes it."""
    return all(estimate.value is None for _, estimate in result.estimates)


def _others(trial: Trial) -> list[str]:
    return [treatment.code for treatment in trial.treatments if treatment.code != trial.reference]


def explaining(trial: Trial, measures: tuple[MeasureResult, ...], code: str) -> tuple[Verdict, ...]:
    """Return the validity problems that may explain one treatment's difference.

    The checks look at these two treatments alone, so that what is wrong with a third is not held
    against them.
    """
    pair = only_treatments(trial, (trial.reference, code))
    of_pair = tuple(_only_codes(result, (trial.reference, code)) for result in measures)
    return _that_explain(validity(pair, of_pair))


def _that_explain(checks: tuple[Verdict, ...]) -> tuple[Verdict, ...]:
    judged = {verdict.check: verdict for verdict in checks}
    problems: list[Verdict] = []
    for check in EXPLAINING:
        if check in judged and judged[check].verdict == "problem":
            problems.append(judged[check])
    return tuple(problems)


def only_treatments(trial: Trial, codes: tuple[str, ...]) -> Trial:
    """Return a trial of some of its treatments."""
    treatments = tuple(treatment for treatment in trial.treatments if treatment.code in codes)
    trays = tuple(tray for tray in trial.trays if tray.treatment in codes)
    tray_codes = {tray.code for tray in trays}
    return replace(
        trial,
        treatments=treatments,
        trays=trays,
        plants=_in_trays(trial.plants, tray_codes),
        pickings=_in_trays(trial.pickings, tray_codes),
        solution=_in_trays(trial.solution, tray_codes),
    )


def _in_trays(records: Iterable[Record], trays: set[str]) -> tuple[Record, ...]:
    """Return the records of some trays, by their codes."""
    return tuple(record for record in records if record.tray in trays)


def _only_codes(result: MeasureResult, codes: tuple[str, ...]) -> MeasureResult:
    return replace(result, estimates=tuple(pair for pair in result.estimates if pair[0] in codes))


def _conclusion(
    key: str, code: str, verdict: ConclusionCode, notes: Notes, problems: tuple[Verdict, ...]
) -> Conclusion:
    """Return the verdict on a treatment in the measure `key`.

    `notes` say why nothing can be tested.
    """
    if verdict == "untestable":
        return Conclusion(key, code, verdict, notes)
    reasons = reasons_for(key, problems)
    if verdict != "unclear" and reasons:
        return Conclusion(key, code, "confounded", reasons, toward=verdict)
    return Conclusion(key, code, verdict)


def reasons_for(key: str, problems: tuple[Verdict, ...]) -> tuple[Message, ...]:
    """Return the findings that may explain a difference in a measure.

    Losses do not where they are counted in it, start weights do not where they have no part in it.
    """
    reasons: list[Message] = []
    for problem in problems:
        if problem.check == "losses" and key in LOSSES_COUNTED:
            continue
        for finding in problem.findings:
            is_by_start = finding.code == "start_weights_apart"
            if is_by_start and key in NOT_BY_START:
                continue
            if finding.code in EXPLAINING[problem.check]:
                reasons.append(finding)
    return tuple(reasons)


def by_interval(trial: Trial, comparison: Comparison) -> ConclusionCode:
    """Return what the interval says.

    Alike where the interval of level 1 - 2 a lies within the margin that matters.

    The margin is symmetric on the log scale: from 1 / (1 + margin) to 1 + margin.
    """
    if comparison.ratio is None:
        return _by_difference(comparison)
    low, high = comparison.ratio_low, comparison.ratio_high
    if low is None and high is None:
        return "untestable"
    if _is_within(comparison, trial.margin):
        return "alike"
    if low is not None and low > 1:
        return "more"
    if high is not None and high < 1:
        return "less"
    return "unclear"


def _is_within(comparison: Comparison, margin: float | None) -> bool:
    low, high = comparison.alike_low, comparison.alike_high
    if margin is None or low is None or high is None:
        return False
    return low >= 1 / (1 + margin) and high <= 1 + margin


def _by_difference(comparison: Comparison) -> ConclusionCode:
    """Return what the limits of the difference say, which hold for all comparisons together."""
    low, high = comparison.difference_low, comparison.difference_high
    if low is None or high is None:
        return "untestable"
    if low > 0:
        return "more"
    if high < 0:
        return "less"
    return "unclear"


def _by_ranks(trial: Trial, ranks: RankComparison) -> ConclusionCode:
    """Return what the test of ranks says.

    Ranks have no distances, so no margin makes two treatments alike.
    """
    alpha = 1 - trial.confidence_level
    if ranks.p_adjusted is None:
        p_value = ranks.p_value
    else:
        p_value = ranks.p_adjusted
    if p_value is None or ranks.smallest_p_value is None or ranks.probability_higher is None:
        return "untestable"
    if ranks.smallest_p_value > alpha:
        return "untestable"
    if p_value > alpha:
        return "unclear"
    if ranks.probability_higher > 0.5:
        return "more"
    return "less"


def conclusion_of(results: Results, key: str, code: str) -> Conclusion:
    """Return the verdict on a treatment in a measure; raise StopIteration where there is none."""
    of_measure = (verdict for verdict in results.conclusions if verdict.measure == key)
    return next(verdict for verdict in of_measure if verdict.treatment == code)


def trays_of(trial: Trial, code: str) -> int:
    """Return how many trays with plants a treatment had."""
    return sum(tray.treatment == code for tray in planted(trial))
