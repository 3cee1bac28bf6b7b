"""The lead: the finding in one or two sentences, with both figures, and whether it pays."""

from reportgen.model.results import Results
from reportgen.model.trial import Trial
from reportgen.report import money

MOST_SENTENCES = 2


def lead(trial: Trial, results: Results, answer: tuple[str, ...]) -> tuple[str, ...]:
    """Return the sentence on the main measure and, of two treatments, the price at which the crop pays.

    `answer` are the sentences that answer the question, the main measure first.
    """
    if trial.interim:
        return answer
    pays = money.break_even(trial, results) if len(trial.treatments) == 2 else ""
    if pays:
        return (answer[0], pays)
    return answer[:MOST_SENTENCES]
