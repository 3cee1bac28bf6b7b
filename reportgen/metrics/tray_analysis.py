"""The analysis of a metric out of a trial's trays."""

from reportgen.metrics.design import question_of
from reportgen.metrics.measures import Metric
from reportgen.metrics.survival import survival_analysis
from reportgen.model.trial import Trial
from reportgen.stats.analysis import Analysis
from reportgen.stats.log_scale import InstrumentErrors, analyse_differences, analyse_ratios


def analysis_of(trial: Trial, metric: Metric, errors: InstrumentErrors) -> Analysis:
    """Return the analysis of a metric: ratios on the log scale, differences alone where zero is a convention."""
    numerator = metric.numerator(trial) * metric.factor
    denominator = metric.denominator(trial)
    question = question_of(trial)
    if metric.is_proportion:
        return survival_analysis(metric.numerator(trial), denominator, question)
    if not metric.has_ratio:
        return analyse_differences(numerator / denominator, question, errors)
    return analyse_ratios(numerator, denominator, question, metric.divides_by, errors)
