"""How far the answer can be trusted.

Replicates, places, checks of a fair test, single trays, who had an interest.
"""

from collections.abc import Sequence
from typing import Final

from reportgen.language import marked, marked_plural, plural, say
from reportgen.metrics.blocks import is_blocked
from reportgen.metrics.verdicts import conclusion_of
from reportgen.model.document import Trust
from reportgen.model.results import Fragile, Results, Verdict
from reportgen.model.trial import Trial
from reportgen.report import messages, numbers, ratios, terms, wording

UNITS_OF_EACH: Final = marked("{units} of each treatment")
UNITS_FROM_TO: Final = marked("{fewest} to {units} of a treatment")
PLACES: Final = {
    True: marked("{units}, places drawn at random."),
    False: marked("{units}, places not drawn at random."),
    None: marked("{units}; whether places were drawn at random is not recorded."),
}
PLACES_IN_BLOCKS: Final = {
    True: marked("{units}, places drawn at random within {blocks}."),
    False: marked("{units} in {blocks}, places not drawn at random."),
    None: marked("{units} in {blocks}; whether places were drawn at random is not recorded."),
}
PASSED: Final = marked_plural(
    "{number} check of a fair test passed", "{number} checks of a fair test passed"
)
CAUTIONS: Final = marked_plural("{number} caution ({names})", "{number} cautions ({names})")
PROBLEMS: Final = marked_plural("{number} problem ({names})", "{number} problems ({names})")
NOT_RECORDED: Final = marked_plural("{number} not recorded", "{number} not recorded")
CHECKED: Final = marked("{each}.")
STEADY: Final = marked(
    "Leave out any one {unit}, and the change stays between {lowest} and {highest}."
)
TURNING: Final = {  # by the verdict that does not hold without them
    "more": marked(
        "Leave out any one {unit}, and the change stays between {lowest} and {highest}, but without"
        " some {units} we could not say that it is more."
    ),
    "less": marked(
        "Leave out any one {unit}, and the change stays between {lowest} and {highest}, but without"
        " some {units} we could not say that it is less."
    ),
    "alike": marked(
        "Leave out any one {unit}, and the change stays between {lowest} and {highest}, but without"
        " some {units} we could not say that both are about the same."
    ),
    "unclear": marked(
        "Leave out any one {unit}, and the change stays between {lowest} and {highest}, but without"
        " some {units} it would not be unclear."
    ),
}
PROBLEM: Final = marked("{check}: {finding}")
NOT_STATED: Final = marked("Who supplied or paid for what is not stated.")
INTERIM: Final = marked("Interim")
INVENTED: Final = marked("Invented example")
KEYWORDS_OF_INVENTED: Final = frozenset(
    ("invented example", "ejemplo inventado")
)  # what a sheet Trial says of itself


def trust(trial: Trial, results: Results) -> Trust:
    """Return how far the answer can be trusted, problems apart from the rest."""
    sentences = [_replicates(trial, results)]
    if results.fairness:
        sentences.append(_checked(results.fairness))
    if len(results.fragility) == 1 and not trial.interim:
        one = results.fragility[0]
        sentences.insert(0 if one.turning else len(sentences), fragile(trial, results, one))
    return Trust(tuple(sentences), problems(trial, results), disclosure(trial), marks(trial))


def marks(trial: Trial) -> tuple[str, ...]:
    """Return the words that stand wherever the answer does."""
    found: list[str] = []
    if trial.interim:
        found.append(say(INTERIM))
    if KEYWORDS_OF_INVENTED.intersection(word.casefold() for word in trial.about.keywords):
        found.append(say(INVENTED))
    return tuple(found)


def disclosure(trial: Trial) -> str:
    """Return who supplied or paid for what, in the grower's words, or that this is not stated."""
    return trial.about.disclosure or say(NOT_STATED)


def problems(trial: Trial, results: Results) -> tuple[str, ...]:
    """Return each problem of a fair test in words."""
    return tuple(
        in_words(trial, verdict) for verdict in results.fairness if verdict.verdict == "problem"
    )


def in_words(trial: Trial, verdict: Verdict) -> str:
    """Return a check with what it found."""
    return say(
        PROBLEM,
        check=say(terms.CHECKS[verdict.check]),
        finding=messages.published(trial, verdict.findings),
    )


def _replicates(trial: Trial, results: Results) -> str:
    """Return how many trays each treatment had, and how places were given."""
    trays = [count.trays for count in results.counts]
    counted = wording.units_counted(trial, max(trays))
    units = say(UNITS_OF_EACH, units=counted)
    if min(trays) != max(trays):
        units = say(UNITS_FROM_TO, fewest=min(trays), units=counted)
    drawn = trial.about.randomised
    if not is_blocked(trial):
        return say(PLACES[drawn], units=units)
    blocks = terms.counted("block", len({tray.block for tray in trial.trays if tray.block}))
    return say(PLACES_IN_BLOCKS[drawn], units=units, blocks=blocks)


def _checked(checks: Sequence[Verdict]) -> str:
    """Return how many checks passed, and the names of those that did not."""
    names: dict[str, list[str]] = {}
    for check in checks:
        name = wording.inside(say(terms.CHECKS[check.check]))
        names.setdefault(check.verdict, []).append(name)
    parts: list[str] = []
    if "sound" in names:
        parts.append(plural(*PASSED, len(names["sound"])))
    for verdict, words in (("problem", PROBLEMS), ("caution", CAUTIONS)):
        if verdict in names:
            own = names[verdict]
            parts.append(plural(*words, len(own), names=numbers.listed(tuple(own))))
    if "not recorded" in names:
        parts.append(plural(*NOT_RECORDED, len(names["not recorded"])))
    return say(CHECKED, each="; ".join(parts))


def fragile(trial: Trial, results: Results, fragility: Fragile) -> str:
    """Return how the main result changes where any one tray is left out."""
    conclusion = conclusion_of(results, fragility.measure, fragility.treatment)
    text = STEADY
    if fragility.turning:
        text = TURNING.get(conclusion.toward or conclusion.code, TURNING["unclear"])
    return say(
        text,
        unit=wording.unit_of(trial),
        units=wording.unit_of(trial, 2),
        lowest=ratios.change(fragility.ratio_lowest),
        highest=ratios.change(fragility.ratio_highest),
    )
