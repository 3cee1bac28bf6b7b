"""Shares of a whole, such as survival: no interval of a ratio is shown that no share can reach.

The limits of a ratio of two shares come from the reference's own uncertainty too, so they may lie
beyond 100%. To cut one of them would say that a treatment can only be worse, so neither is shown;
the difference has both of its limits. `results.json` has all as computed.
"""

from dataclasses import replace

from reportgen.metrics.measures import PERCENT
from reportgen.model.results import Comparison, MeasureResult, Results


def within_the_possible(results: Results) -> Results:
    """Return results without intervals of ratios of shares that reach beyond the whole."""
    return replace(results, measures=tuple(map(_result, results.measures)))


def _result(result: MeasureResult) -> MeasureResult:
    compared = {code for code, _ in result.comparisons}
    references = [one.value for code, one in result.estimates if code not in compared]
    is_share = result.measure.key == "survival" and len(references) == 1
    if not is_share or not references[0]:
        return result
    highest = PERCENT / references[0]
    comparisons = tuple((code, _possible(one, highest)) for code, one in result.comparisons)
    return replace(result, comparisons=comparisons)


def _possible(comparison: Comparison, highest: float) -> Comparison:
    """Return a comparison; without limits of its ratio where one lies above `highest`."""
    if comparison.ratio_high is None or comparison.ratio_high <= highest:
        return comparison
    return replace(
        comparison,
        ratio_low=None,
        ratio_high=None,
        alike_low=None,
        alike_high=None,
        single_low=None,
        single_high=None,
    )
