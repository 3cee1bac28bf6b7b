"""One finding in a few words.

What a treatment did to one measure beside the reference, by its verdict.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from reportgen import language
from reportgen.language import marked, say
from reportgen.metrics.basis import DRY, FRESH, MARKETABLE, Basis
from reportgen.metrics.verdicts import conclusion_of
from reportgen.model.message import Message, Notes
from reportgen.model.results import Comparison, Conclusion, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import numbers, ratios, terms, treatment_names, units, wording

# What there is more or less of, by the key of a measure. All other measures are higher or lower.
AMOUNTS: Final[Mapping[str, str]] = {
    "fresh_weight": marked("{crop} per plant"),
    "yield_per_plant_started": marked("{crop} per plant"),
    "yield_per_plant_started_dry": marked("dry weight per plant"),
    "tray_yield": marked("{crop} per {unit}"),
    "tray_yield_dry": marked("dry weight per {unit}"),
    "dry_weight": marked("dry weight per plant"),
    "marketable_yield": marked("marketable {crop} per {unit}"),
    "pieces": marked("pieces per {unit}"),
    "yield_per_week": marked("{crop} per {unit} and week of picking"),
    "water_use": marked("water"),
    "energy_use": marked("electricity"),
}
# What goes by the weight of the crop, by the key of the measure on fresh weight.
BY_WEIGHT: Final[Mapping[str, str]] = {
    "water_per_gram": marked("water {by_weight}"),
    "energy_per_kg": marked("electricity {by_weight}"),
    "electricity_cost_per_gram": marked("electricity cost {by_weight}"),
    "running_cost_per_gram": marked("running cost {by_weight}"),
}
KILOS: Final[Mapping[str, str]] = {
    FRESH.suffix: marked("per kilo"),
    DRY.suffix: marked("per kilo of dry weight"),
    MARKETABLE.suffix: marked("per marketable kilo"),
}
POUNDS: Final[Mapping[str, str]] = {
    FRESH.suffix: marked("per pound"),
    DRY.suffix: marked("per pound of dry weight"),
    MARKETABLE.suffix: marked("per marketable pound"),
}
OF_PLANTS: Final = frozenset(
    ("fresh_weight", "yield_per_plant_started")
)  # weights of plants harvested at once
CHANGES_OF_WEIGHT: Final[Mapping[str, str]] = {
    "more": marked("{size} heavier {crop}"),
    "less": marked("{size} lighter {crop}"),
    "times": marked("{crop} {size} times as heavy"),
    "same": marked("{crop} of the same weight"),
}
AMOUNT_WITH_LOSSES: Final = marked("{crop} per plant planted")  # where lost plants count as nothing
CHANGES_OF_AMOUNT: Final[Mapping[str, str]] = {
    "more": marked("{size} more {thing}"),
    "less": marked("{size} less {thing}"),
    "times": marked("{size} times as much {thing}"),
    "same": marked("as much {thing}"),
}
CHANGES_OF_LEVEL: Final[Mapping[str, str]] = {
    "more": marked("{thing} {size} higher"),
    "less": marked("{thing} {size} lower"),
    "times": marked("{thing} {size} times as high"),
    "same": marked("{thing} unchanged"),
}
FOUND: Final = marked("{Name}: {change}")
UNTESTABLE: Final = marked("{Name}: {change} ({untested})")
FOUND_BEHIND: Final = marked("{change} with {name}")  # where what it is about is named before
UNTESTABLE_BEHIND: Final = marked("{change} with {name} ({untested})")
ALIKE: Final = marked("{Name} and {reference}: about the same {thing}")
ALIKE_LEVEL: Final = marked("{Thing} about the same with {name} and {reference}")
UNCLEAR: Final = marked("No clear difference in {thing} between {name} and {reference}")
NOT_COMPARED: Final = marked("{Thing} cannot be compared between {name} and {reference}")
NOT_FAIR: Final = marked("{Reason}, so not a fair test: {change} with {name}")
NOT_FAIR_ALIKE: Final = marked(
    "{Reason}, so not a fair test of {thing} between {name} and {reference}"
)
NOT_TESTED: Final = marked("not tested")
ONE_METER: Final = marked("one meter for each treatment: not tested")
CALCULATED: Final = marked("electricity calculated, not metered: not tested")
# Why nothing can be tested, in a few words, by the code of the note that says it in full.
UNTESTED: Final[Mapping[str, str]] = {
    "energy_is_one_figure": ONE_METER,
    "energy_is_one_figure_by_instruments": ONE_METER,
    "energy_use_is_one_figure": ONE_METER,
    "energy_use_is_one_figure_by_meter": ONE_METER,
    "energy_calculated": CALCULATED,
    "energy_use_calculated": CALCULATED,
    "energy_shared": marked("one meter for all treatments: not tested"),
    "one_unit_each": marked("one {unit} of each: not tested"),
    "one_unit_compared": marked("one {unit} only of one of the two: not tested"),
}
# What may explain a result, in a few words, by the code of the finding: `EXPLAINING` of
# metrics.verdicts.
REASONS: Final[Mapping[str, str]] = {
    "one_unit_for_all": marked("one lamp, mat or tank for a whole treatment"),
    "plants_share_pots": marked("plants shared pots"),
    "own_days_of_first_fill": marked("different starting days"),
    "own_days_of_harvest": marked("different harvest days"),
    "filled_from_to": marked("different starting days"),
    "start_weights_apart": marked("plants of different weights at the start"),
    "harvested_from_to": marked("different harvest days"),
    "one_place_only": marked("each treatment in its own place"),
    "own_blocks": marked("each treatment in its own place"),
    "own_positions": marked("each treatment in its own place"),
    "own_group": marked("each treatment in its own place"),
    "quantity_apart": marked("another growing condition differed too"),
    "losses_differ": marked("very unequal losses"),
    "emptied": marked("a {unit} ran dry"),
    "ran_out": marked("a {unit} ran dry"),
}


@dataclass(frozen=True)
class Finding:
    """One treatment against the reference in one measure, and the verdict on it."""

    result: MeasureResult
    comparison: Comparison
    conclusion: Conclusion

    @property
    def key(self) -> str:
        """Return the key of the measure."""
        return self.result.measure.key

    @property
    def code(self) -> str:
        """Return the code of the verdict."""
        return self.conclusion.code


def finding(results: Results, key: str, treatment: str) -> Finding | None:
    """Return the finding on a treatment in a measure; None where the trial has no verdict on it."""
    result = wording.result_of(results, key)
    if result is None or treatment not in dict(result.comparisons):
        return None
    if not any(
        (conclusion.measure, conclusion.treatment) == (key, treatment)
        for conclusion in results.conclusions
    ):
        return None
    return Finding(
        result, dict(result.comparisons)[treatment], conclusion_of(results, key, treatment)
    )


def in_words(trial: Trial, results: Results, finding: Finding, *, behind: bool = False) -> str:
    """Return a finding as a title, `Warm: 22% more pak choi per plant`; the treatment's name may
    stand `behind`.
    """
    label = treatment_names.label_within(trial, finding.conclusion.treatment)
    what = thing(trial, results, finding.key)
    words = {
        "name": wording.name_within(trial, finding.conclusion.treatment),
        "Name": wording.capital(label),
        "reference": wording.name_within(trial, trial.reference),
        "thing": what,
        "Thing": wording.capital(what),
    }
    if finding.comparison.ratio is None and finding.comparison.difference is None:
        return say(NOT_COMPARED, **words)
    if finding.code == "alike":
        return say(ALIKE if finding.key in AMOUNTS else ALIKE_LEVEL, **words)
    if finding.code == "unclear":
        return say(UNCLEAR, **words)
    if finding.code == "confounded" and finding.conclusion.toward == "alike":
        return say(NOT_FAIR_ALIKE, **words, Reason=reason(finding.conclusion.reasons[0]))
    changed = change(trial, results, finding)
    if finding.code == "confounded":
        return say(NOT_FAIR, **words, Reason=reason(finding.conclusion.reasons[0]), change=changed)
    untested = why_untested(finding.conclusion.reasons)
    return say(_text(finding.code, behind), **words, change=changed, untested=untested)


def _text(code: str, behind: bool) -> str:
    if code == "untestable":
        if behind:
            return UNTESTABLE_BEHIND
        return UNTESTABLE
    if behind:
        return FOUND_BEHIND
    return FOUND


def change(trial: Trial, results: Results, finding: Finding) -> str:
    """Return how far a measure changed: `22% more pak choi per plant`, `height 3.1 cm higher`."""
    return sized(trial, results, finding.key, change_of(finding))


def sized(trial: Trial, results: Results, key: str, changed: ratios.Change) -> str:
    """Return a change of a measure with what it is a change of."""
    if key in AMOUNTS:
        text = CHANGES_OF_AMOUNT
    else:
        text = CHANGES_OF_LEVEL
    if is_weight(trial, results, key):
        text = CHANGES_OF_WEIGHT
    crop = wording.inside(trial.about.crop)
    return say(text[changed.way], size=changed.size, crop=crop, thing=thing(trial, results, key))


def is_weight(trial: Trial, results: Results, key: str) -> bool:
    """Return whether a measure says how heavy plants were.

    Not where they were picked, or died unequally.
    """
    return key in OF_PLANTS and not trial.pickings and not wording.losses_differ(results)


def change_of(finding: Finding) -> ratios.Change:
    """Return a change in percent, or in the unit of a measure whose zero is a convention, such as
    °C.
    """
    comparison = finding.comparison
    if comparison.ratio is not None:
        fine = ratios.is_fine(comparison.ratio_low, comparison.ratio_high)
        return ratios.change_of(comparison.ratio, fine)
    difference = comparison.difference or 0.0
    if difference == 0:
        return ratios.Change("same")
    in_unit = units.versions(finding.result, units.current())[0]
    difference = dict(in_unit.comparisons)[finding.conclusion.treatment].difference or 0.0
    unit = in_unit.measure.unit or wording.UNITLESS.get(finding.key, "")
    size = f"{numbers.plain(abs(difference))} {language.unit(unit)}".strip()
    return ratios.Change("more" if difference > 0 else "less", size)


def thing(trial: Trial, results: Results, key: str) -> str:
    """Return what a measure is called in a title."""
    crop = wording.inside(trial.about.crop)
    if key == "yield_per_plant_started" and any(count.lost_some for count in results.counts):
        return say(AMOUNT_WITH_LOSSES, crop=crop)
    if key in AMOUNTS:
        return say(AMOUNTS[key], crop=crop, unit=wording.unit_of(trial))
    basis = _basis_of(key)
    stem = key.removesuffix(basis.suffix)
    if stem in BY_WEIGHT:
        if units.is_us():
            weights = POUNDS
        else:
            weights = KILOS
        return say(BY_WEIGHT[stem], by_weight=say(weights[basis.suffix]))
    result = wording.result_of(results, key)
    if result:
        return wording.outcome_of(result.measure)
    return key


def _basis_of(key: str) -> Basis:
    """Return which weight a measure is of, by the end of its key."""
    for basis in (DRY, MARKETABLE):
        if key.endswith(basis.suffix):
            return basis
    return FRESH


def why_untested(reasons: Notes) -> str:
    """Return why nothing can be tested, in the words of headings, figures and tables."""
    for message in reasons:
        if message.code in UNTESTED:
            return terms.of_container(UNTESTED[message.code])
    return say(NOT_TESTED)


def reason(why: Message) -> str:
    """Return what may explain a result in a few words, with a capital."""
    return wording.capital(terms.of_container(REASONS[why.code]))
