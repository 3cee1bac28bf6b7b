"""What a model leaves unexplained, as a chart."""

from collections.abc import Sequence
from dataclasses import replace
from math import exp

from reportgen import language
from reportgen.language import marked, percent, say
from reportgen.metrics.blocks import is_blocked
from reportgen.metrics.residuals import residuals as residuals_of
from reportgen.model.document import Figure
from reportgen.model.results import (
    MeasureResiduals,
    MeasureResult,
    Results,
    TrayResidual,
    TreatmentSpread,
)
from reportgen.model.trial import Trial
from reportgen.report import numbers, ratios, terms, units, wording
from reportgen.report.figures.drawing import drawn


def residuals(trial: Trial, results: Results) -> tuple[Figure, ...]:
    """Return the chart of the main measure's residuals against its fitted values."""
    from reportgen.charts.residuals import residuals_against_fitted

    main = wording.result_of(results, results.main_measure)
    found = residuals_of(trial, results.main_measure)
    if main is None or found is None:
        return ()
    shown = units.versions(main, units.current())[0]
    fitted = _in_units(main, found.trays)
    message = marked(
        "{measure}: how far each {unit} lies from what the model fits, against the fitted value;"
        " 0.1 is about {tenth}. A funnel would mean that the spread goes with the mean."
    )
    known = {
        "measure": terms.label(main.measure),
        "unit": wording.unit_of(trial),
        "tenth": percent("10"),
    }
    caption = f"{say(message, **known)} {_unequal_spreads(found)}".strip()
    return drawn(
        "residuals",
        lambda width: residuals_against_fitted(trial, shown.measure, fitted, width),
        caption,
        _residuals_text(trial, shown, found),
        say("How far each {unit} lies from what the model fits", unit=wording.unit_of(trial)),
    )


def _in_units(main: MeasureResult, trays: Sequence[TrayResidual]) -> list[TrayResidual]:
    """Return the residuals of trays with their fitted values in the unit of display."""
    values = tuple((tray.tray, tray.fitted) for tray in trays)
    shown = dict(units.versions(replace(main, scores=values), units.current())[0].scores)
    return [replace(tray, fitted=shown[tray.tray]) for tray in trays]


def _unequal_spreads(residuals: MeasureResiduals) -> str:
    spreads = [spread.spread for spread in residuals.spreads]
    if len(spreads) < 2 or min(spreads) == 0:
        return ""
    ratio = numbers.three_digits(max(spreads) / min(spreads))
    return say("The largest spread of a treatment is {ratio} times the smallest.", ratio=ratio)


def _residuals_text(trial: Trial, main: MeasureResult, residuals: MeasureResiduals) -> str:
    """Return which tray lies farthest from the model, and each treatment's spread beside its mean."""
    farthest = max(residuals.trays, key=lambda one: abs(one.residual))
    message = marked("Farthest from what the model fits: {unit} {tray} ({name}), {change}.")
    lead = say(
        message,
        unit=wording.unit_of(trial),
        tray=farthest.tray,
        name=wording.name_of(trial, farthest.treatment),
        change=ratios.change(exp(farthest.residual), precise=True),
    )
    means = dict(main.estimates)
    parts = tuple(
        _spread_text(trial, main, spread, means[spread.treatment].value)
        for spread in residuals.spreads
    )
    spreads = marked("Standard deviation of the logarithms, and mean: {each}.")
    with_blocks = marked("Standard deviation of the logarithms, blocks included, and mean: {each}.")
    said = say(with_blocks if is_blocked(trial) else spreads, each="; ".join(parts))
    return f"{lead} {said}"


def _spread_text(
    trial: Trial, main: MeasureResult, spread: TreatmentSpread, mean: float | None
) -> str:
    if main.measure.unit:
        unit = language.unit(main.measure.unit)
    else:
        unit = ""
    at = f"{numbers.plain(mean)} {unit}".strip()
    name = wording.name_of(trial, spread.treatment)
    return say(
        "{name}: {spread} at {mean}", name=name, spread=numbers.three_digits(spread.spread), mean=at
    )
