"""Levels of factors and doses as readers see them."""

from reportgen.model.trial import Factor, Trial
from reportgen.report import numbers


def p_text(value: float) -> str:
    """Return a p value as it stands behind the letter: `= 0.03`, `< 0.001`."""
    text = numbers.p_value(value)
    if text.startswith("<"):
        return text
    return f"= {text}"


def dose_text(factor: Factor, dose: float) -> str:
    """Return a dose with its unit: one that was tested as typed, any other to three digits."""
    if dose in factor.doses:
        number = numbers.typed(dose)
    else:
        number = numbers.three_digits(dose)
    return f"{number} {factor.unit}".strip()


def level_text(factor: Factor, level: str) -> str:
    """Return a level of a factor with its unit."""
    if factor.doses:
        return dose_text(factor, factor.doses[factor.levels.index(level)])
    return level


def other_factor(trial: Trial, factor: Factor) -> Factor:
    """Return the factor beside one of two."""
    return next(one for one in trial.factors if one.name != factor.name)


def levels_of(factor: Factor) -> str:
    """Return a factor with its levels, such as `light: low, high`."""
    return f"{factor.name}: {', '.join(level_text(factor, level) for level in factor.levels)}"
