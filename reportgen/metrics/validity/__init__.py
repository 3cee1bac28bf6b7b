"""How fair a trial was: every check with its verdict and the figure behind it.

Limits are named constants beside their source; those without a published one are our own, and say
so.
"""

from reportgen.metrics.validity.course import (
    losses,
    meters_span,
    same_harvest_age,
    same_start,
    solution_ran_out,
)
from reportgen.metrics.validity.design import confounding, randomisation, replication
from reportgen.metrics.validity.evidence import disclosure, instruments, outlying, without_outliers
from reportgen.metrics.validity.ranges import RANGES, in_usual_ranges
from reportgen.metrics.validity.surroundings import (
    ec_matched,
    light_even,
    light_matched,
    ph_matched,
    temperature_matched,
)
from reportgen.metrics.validity.verdicts import Finding, Values
from reportgen.model.results import MeasureResult, Verdict
from reportgen.model.trial import Trial

__all__ = ["validity", "without_outliers"]


def validity(trial: Trial, measures: tuple[MeasureResult, ...]) -> tuple[Verdict, ...]:
    """Return the verdict of every check, in the order of the report."""
    findings: dict[str, Finding | None] = {
        "replication": replication(trial),
        "randomisation": randomisation(trial),
        "confounding": confounding(trial),
        "light_matched": light_matched(trial, _known(measures, "ppfd"), _known(measures, "dli")),
        "light_even": light_even(trial, _known(measures, "ppfd_uniformity")),
        "temperature_matched": temperature_matched(trial, _known(measures, "air_temperature")),
        "same_start": same_start(trial),
        "same_harvest_age": same_harvest_age(trial),
        "losses": losses(trial) if _measured_beside_survival(trial, measures) else None,
        "solution_ran_out": solution_ran_out(trial),
        "ec_matched": ec_matched(trial, _known(measures, "ec")),
        "ph_matched": ph_matched(trial, _known(measures, "ph")),
        "meters_span": meters_span(trial),
        "usual_ranges": in_usual_ranges(trial, {key: _known(measures, key) for key in RANGES}),
        "outliers": outlying(trial),
        "instruments": instruments(trial),
        "disclosure": disclosure(trial),
    }
    verdicts: list[Verdict] = []
    for check, judged in findings.items():
        if judged is not None:
            verdicts.append(Verdict(check, *judged))
    return tuple(verdicts)


def _measured_beside_survival(trial: Trial, measures: tuple[MeasureResult, ...]) -> bool:
    """Return whether anything was measured that lost plants may distort.

    Where survival alone was, they answer it.
    """
    of_units = {result.measure.key for result in measures if result.scores}
    has_scores = any(trait.is_score for trait in trial.traits)
    return has_scores or of_units != {"survival"}


def _known(measures: tuple[MeasureResult, ...], key: str) -> Values:
    """Return the values of a measure by treatment, empty where it was not computed."""
    values: dict[str, float] = {}
    for result in measures:
        if result.measure.key == key:
            for code, estimate in result.estimates:
                if estimate.value is not None:
                    values[code] = estimate.value
    return values
