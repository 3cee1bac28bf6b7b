"""The glossary: the words of the annex that a grower need not know, each in a sentence."""

from typing import Final

from reportgen.language import marked, say
from reportgen.model.document import Facts, Section
from reportgen.model.results import Results
from reportgen.model.trial import Trial
from reportgen.report import terms

INTERVAL: Final = (
    marked("Interval"),
    marked(
        "The range in which the true value probably lies. Of many trials analysed like this one, 95"
        " in 100 have the true value within a 95% interval."
    ),
)
ALWAYS: Final = (
    (
        marked("Replicate"),
        marked("A {unit} that got its treatment independently of the other {units}."),
    ),
    (
        marked("Standard error"),
        marked(
            "How far an average would typically lie from the true value, if the trial were run"
            " again."
        ),
    ),
)
COMPARED: Final = (
    (
        marked("p value"),
        marked(
            "How often chance alone would give a difference as large as the one measured, or"
            " larger."
        ),
    ),
    (
        marked("Degrees of freedom"),
        marked(
            "How much independent information is left to judge chance by: more {units}, more of"
            " them."
        ),
    ),
    (
        marked("Fieller's method"),
        marked(
            "Limits for a ratio of two averages that stay right where the average below the line is"
            " uncertain."
        ),
    ),
    (
        marked("Log scale"),
        marked("The scale on which a doubling and a halving are the same distance apart."),
    ),
    (
        marked("Confounded"),
        marked(
            "Said of a treatment whose effect cannot be told from that of something else that went"
            " with it."
        ),
    ),
    (
        marked("Block"),
        marked(
            "A group of places that are alike, such as a shelf, in which every treatment stands."
        ),
    ),
)
SEVERAL: Final = (
    (
        marked("Dunnett's comparisons"),
        marked(
            "Comparisons of several treatments with one reference, with limits that hold for all of"
            " them together."
        ),
    ),
)
FACTORS: Final = (
    (marked("Interaction"), marked("The effect of one factor depends on the level of another.")),
    (
        marked("Estimated marginal mean"),
        marked(
            "The average of a factor's level as it would be with all levels of the other factor"
            " equally often."
        ),
    ),
    (
        marked("Lack of fit"),
        marked(
            "How far averages lie from a fitted curve, beyond what chance between {units} explains."
        ),
    ),
)
MEASURED: Final = (
    (marked("Coefficient of variation"), marked("The standard deviation as a share of the mean.")),
    (
        marked("Type B"),
        marked(
            "Uncertainty known from an instrument's data sheet rather than from repeated readings."
        ),
    ),
)


def section(trial: Trial, results: Results) -> Section:
    """Return the words that the annex of this trial may use, each explained."""
    known = [INTERVAL, *ALWAYS]
    if not trial.interim:
        known += COMPARED
    if len(trial.treatments) > 2:
        known += SEVERAL
    if results.effects.analyses:
        known += FACTORS
    known += MEASURED
    items = tuple((say(word), terms.of_container(meaning)) for word, meaning in known)
    return Section("glossary", say("Words used in this annex"), (Facts(items),))
