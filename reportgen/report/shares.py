"""Shares of a whole, such as survival: no limit is shown that a share cannot reach.

The limits of a ratio or difference of two shares come from the reference's own uncertainty too, so
they may lie beyond 100%. Readers are shown the possible part; `results.json` has them as computed.
"""

from dataclasses import replace

from reportgen.metrics.measures import PERCENT
from reportgen.model.results import Comparison, MeasureResult, Results


def within_the_possible(results: Results) -> Results:
    """Return results whose comparisons of shares end where all or none of the whole is reached."""
    return replace(results, measures=tuple(map(_result, results.measures)))


def _result(result: MeasureResult) -> MeasureResult:
    compared = {code for code, _ in result.comparisons}
    references = [one.value for code, one in result.estimates if code not in compared]
    is_share = result.measure.key == "survival" and len(references) == 1
    if not is_share or not references[0]:
        return result
    comparisons = tuple((code, _limited(one, references[0])) for code, one in result.comparisons)
    return replace(result, comparisons=comparisons)


def _limited(comparison: Comparison, reference: float) -> Comparison:
    """Return a comparison with a reference of `reference` percent, its limits cut at 0% and 100%."""
    highest = PERCENT / reference
    return replace(
        comparison,
        ratio_high=_at_most(comparison.ratio_high, highest),
        alike_high=_at_most(comparison.alike_high, highest),
        single_high=_at_most(comparison.single_high, highest),
        difference_low=_at_least(comparison.difference_low, -reference),
        difference_high=_at_most(comparison.difference_high, PERCENT - reference),
    )


def _at_most(limit: float | None, highest: float) -> float | None:
    if limit is None:
        return None
    return min(limit, highest)


def _at_least(limit: float | None, lowest: float) -> float | None:
    if limit is None:
        return None
    return max(limit, lowest)
