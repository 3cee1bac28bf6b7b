"""Changes with their intervals: key measures beside the reference, and the factors of a ratio."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from reportgen.language import marked, say
from reportgen.model.document import Figure
from reportgen.model.results import Comparison, FactorOfRatio, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import figure_titles, numbers, ratios, terms, wording
from reportgen.report.figures.drawing import drawn, for_screens

if TYPE_CHECKING:
    from reportgen.charts.changes import ChangeRow
    from reportgen.charts.theme import Look

WHOLE: Final = 100.0
CHANGES: Final = marked(
    "Mark: measured change; line: its {level} interval. If a line crosses no change, we cannot say"
    " which is higher."
)
WITH_MARGIN: Final = marked(
    "Mark: measured change; line: its {level} interval. A change of less than {margin} does not"
    " matter here."
)


def changes(trial: Trial, results: Results, keys: Sequence[str]) -> tuple[Figure, ...]:
    """Return the chart of measures beside the reference: each treatment's change with its interval."""
    from reportgen.charts import changes as chart

    found = [result for key in keys if (result := wording.result_of(results, key)) is not None]
    rows = [row for result in found for row in _rows(trial, result)]
    reference = wording.name_of(trial, trial.reference)
    level = numbers.percent_level(trial.confidence_level)
    caption = say(CHANGES, level=level)
    if trial.margin is not None:
        caption = say(WITH_MARGIN, level=level, margin=ratios.margin(trial.margin))
    figures = drawn(
        "changes",
        lambda width: chart.changes(
            rows, say("Change from {reference}", reference=reference), width
        ),
        f"{caption} {wording.doubted(trial, results, keys)}".strip(),
        wording.relative_text(trial, results, tuple(keys)),
        figure_titles.of_changes(trial, results, keys),
    )
    return for_screens(figures)


def _rows(trial: Trial, result: MeasureResult) -> Iterator["ChangeRow"]:
    """Yield the rows of a measure: one with its name for two treatments.

    Else a heading and one a treatment.
    """
    from reportgen.charts import theme
    from reportgen.charts.changes import ChangeRow

    looks = theme.looks(trial)
    known = [
        (code, one) for code, one in result.comparisons if one.ratio is not None and one.ratio > 0
    ]
    label = _with_direction(result)
    if len(trial.treatments) > 2 and known:
        yield ChangeRow(label)
    for code, comparison in known:
        yield _row(
            looks[code].name if len(trial.treatments) > 2 else label, comparison, looks[code]
        )


def _with_direction(result: MeasureResult) -> str:
    from reportgen.charts import theme

    better = theme.better(result.measure)
    label = terms.label(result.measure)
    if better:
        return f"{label}, {better}"
    return label


def _row(label: str, comparison: Comparison, look: "Look") -> "ChangeRow":
    from reportgen.charts.changes import ChangeRow

    ratio = comparison.ratio or 1.0
    precise = ratios.is_fine(comparison.ratio_low, comparison.ratio_high)
    limits = _percent(comparison.ratio_low), _percent(comparison.ratio_high)
    return ChangeRow(
        label,
        (ratios.change(ratio, precise), _limits(comparison)),
        WHOLE * ratio,
        *limits,
        look=look,
    )


def _limits(comparison: Comparison) -> str:
    if comparison.ratio_low is None and comparison.ratio_high is None:
        return say("(no interval)")
    return f"({wording.interval(comparison)})"


def _percent(limit: float | None) -> float | None:
    """Return a limit in percent, None where there is none above 0."""
    if limit is not None and 0 < limit < float("inf"):
        return WHOLE * limit
    return None


# ---- factors of a ratio --------------------------------------------------------------------------


def chains(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the chain of factors of each ratio and treatment."""
    pairs = dict.fromkeys((factor.of, factor.treatment) for factor in results.factors)
    found: list[Figure] = []
    for of, treatment in pairs:
        found += _chain(trial, results, of, treatment)
    return tuple(found)


def _chain(trial: Trial, results: Results, of: str, treatment: str) -> tuple[Figure, ...]:
    from reportgen.charts import changes as chart

    result = wording.result_of(results, of)
    own = [factor for factor in results.factors if (factor.of, factor.treatment) == (of, treatment)]
    if result is None or not all(_is_positive(one.ratio) for one in own):
        return ()
    whole = dict(result.comparisons)[treatment]
    if not _is_positive(whole.ratio):
        return ()
    label = terms.label(result.measure)
    product = FactorOfRatio(of, treatment, label, whole.ratio, whole.ratio_low, whole.ratio_high)
    rows = [_factor_row(terms.factor_in_full(one.factor), one) for one in own]
    rows.append(_factor_row(label, product, is_product=True))
    names = {
        "name": wording.name_of(trial, treatment),
        "reference": wording.name_of(trial, trial.reference),
    }
    level = numbers.percent_level(trial.confidence_level)
    place = [one.code for one in trial.treatments].index(treatment) + 1
    said = "; ".join(
        f"{terms.factor_in_full(one.factor)} {ratios.ratio(one.ratio, one.low, one.high)}"
        for one in own
    )
    figures = drawn(
        f"factors-{of.replace('_', '-')}-{place}",
        lambda width: chart.changes(rows, say("{name} beside {reference}", **names), width),
        say("The factors multiply to the last row. Lines: {level} intervals.", level=level),
        say("In percent of {reference}: {factors}.", reference=names["reference"], factors=said),
        figure_titles.of_factors(label, own, is_clear=_is_clear(results, of, treatment)),
    )
    return for_screens(figures)


def _is_clear(results: Results, key: str, treatment: str) -> bool:
    """Return whether a measure is more or less with a treatment, so that something made it so."""
    return any(
        conclusion.code in ("more", "less")
        for conclusion in results.conclusions
        if (conclusion.measure, conclusion.treatment) == (key, treatment)
    )


def _is_positive(ratio: float | None) -> bool:
    return ratio is not None and 0 < ratio < float("inf")


def _factor_row(label: str, factor: FactorOfRatio, *, is_product: bool = False) -> "ChangeRow":
    from reportgen.charts.changes import ChangeRow

    ratio = factor.ratio or 1.0
    figure = (f"× {numbers.three_digits(ratio)}",)
    limits = _percent(factor.low), _percent(factor.high)
    return ChangeRow(label, figure, WHOLE * ratio, *limits, is_product=is_product)
