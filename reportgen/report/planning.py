"""What a plan says, in words, a table of plain text, a command to type, and a figure."""

from collections.abc import Sequence
from shlex import quote
from typing import Final

from reportgen.language import figure as decimal
from reportgen.language import marked, percent, plural, say
from reportgen.metrics.planning import DOUBLED, PowerTarget, TrialPlan, Variation
from reportgen.model.document import Figure
from reportgen.report.figures.drawing import drawn
from reportgen.stats.power import cv_of

NOT_KNOWN: Final = marked("not known")
TOO_MANY: Final = marked("more than 1000 trays")
LARGEST: Final = 5.0  # a difference beyond is no use as a figure
MOST_TRAYS: Final = 100  # what `reportgen new` lays out
ASSUMED: Final = marked(
    "Spread is assumed to grow with the mean, as in the report's ratios, so a"
    " decrease of the same percentage takes slightly fewer trays than an increase."
    " Plan more trays if some may be lost."
)
TYPICAL: Final = marked(
    "These are typical values, not yours. Between plants: single lettuce plants in a"
    ' plastic greenhouse, 31.88% ("Uniformity trial size in estimates of plot size in'
    ' restrict areas", Revista Ciência Agronômica 46, 2015). Between trays: common'
    " practice, no published source. They count like one earlier trial of four trays"
    " per treatment. After your first trial, name its workbook instead."
)
UNSURE: Final = marked(
    "The uncertainty of that variation is included: every power here is an average over it."
)
DOSES: Final = marked(
    "A trend along doses uses all of them at once, so it shows as much with fewer trays."
)
INTERACTION: Final = marked(
    "Whether the effect of one factor depends on the other takes far more trays: with"
    " two levels of each about four times as many."
)
WITHOUT_BLOCKS: Final = marked(
    "Not all of the earlier trials had blocks, so their gain is unknown: with blocks,"
    " fewer trays may suffice."
)


Planned = tuple[PowerTarget, TrialPlan]


def text(
    variation: Variation,
    target: PowerTarget,
    plan: TrialPlan,
    seed: int,
    others: Sequence[Planned] = (),
) -> str:
    """Return the plan as lines of plain text, the command that lays the trial out last.

    `others` are the plans for the effects of the other factors, which need no more trays.
    """
    plants = target.plants
    head = (
        say("trays a {treatment}", treatment=_treatment(target)),
        say("{plants} plants a tray", plants=plants),
        say("{plants} plants a tray", plants=DOUBLED * plants),
    )
    rows = [(str(row.trays), _percent(row.smallest), _percent(row.with_twice)) for row in plan.rows]
    lines = [*_variation(variation, target), "", _needed(target, plan), *_other_effects(others)]
    if any(factor.is_dose for factor in target.factors):
        lines.append(say(DOSES))
    lines.append("")
    lines += [say("The smallest difference that each number of trays shows:"), ""]
    for row in (head, *rows):
        lines.append(
            "  ".join(cell.rjust(len(title)) for cell, title in zip(row, head, strict=True))
        )
    lines += ["", _plants(target, plan), say(ASSUMED), "", *_next(target, plan, seed), ""]
    return "\n".join(lines)


def command(target: PowerTarget, trays: int, seed: int) -> str:
    """Return the command that lays out a trial with so many trays a treatment."""
    words = ["reportgen", "new", "trial.xlsx"]
    for factor in target.factors:
        words += ["--factor", factor.typed]
    for treatment in () if target.factors else target.treatments:
        words += ["--treatment", treatment]
    words += ["--blocks" if target.blocked else "--trays", str(trays)]
    words += ["--plants", str(target.plants), "--seed", str(seed)]
    return " ".join(quote(word) for word in words)


def _next(target: PowerTarget, plan: TrialPlan, seed: int) -> tuple[str, ...]:
    if plan.needed is None or plan.needed > MOST_TRAYS:
        return (
            (
                say(
                    "That is more than can be laid out here: plan for a larger difference, or find"
                    " what makes trays vary."
                )
            ),
        )
    return (say("To lay it out, type:"), "", f"  {command(target, plan.needed, seed)}")


def _variation(variation: Variation, target: PowerTarget) -> tuple[str, ...]:
    spread = variation.spread
    if variation.blocked:
        after = say(" after blocks")
    else:
        after = ""
    said = say(
        "Fresh weights vary by {between} between trays{after} and by {within} between plants in"
        " a tray (coefficients of variation)",
        between=_cv(spread.between),
        after=after,
        within=_cv(spread.within),
    )
    if variation.source == "typed":
        return (say("{said}, as typed and taken as known.", said=said),)
    if variation.source == "typical":
        return (f"{said}.", say(TYPICAL), say(UNSURE))
    learnt = say(
        "{said}, learnt from {trials} ({degrees} degrees of freedom between trays,"
        " {degrees_within} within).",
        said=said,
        trials=_trials(variation.trials),
        degrees=spread.degrees,
        degrees_within=spread.degrees_within,
    )
    unblocked = target.blocked and not variation.blocked
    if unblocked:
        return (learnt, say(UNSURE), say(WITHOUT_BLOCKS))
    return (learnt, say(UNSURE))


def _needed(target: PowerTarget, plan: TrialPlan) -> str:
    if target.blocked and plan.needed:
        blocks = say(", one in each of {needed} blocks", needed=plan.needed)
    else:
        blocks = ""
    said = say(
        "To show a difference of {difference}{effect} with {power} power at the"
        " {level} level, {plants} plants a tray: {trays} a {treatment}{blocks}.",
        difference=_percent(target.difference),
        effect=_of_effect(target),
        power=_percent(target.power),
        level=_percent(target.level),
        plants=target.plants,
        trays=_trays(plan.needed),
        treatment=_treatment(target),
        blocks=blocks,
    )
    if plan.chance is None:
        return said
    return say("{said} The power is then {power}.", said=said, power=_percent(plan.chance))


def _treatment(target: PowerTarget) -> str:
    if len(target.factors) > 1:
        return say("combination")
    return say("treatment")


def _of_effect(target: PowerTarget) -> str:
    """Return between which figures the difference lies, where there are factors."""
    if not target.factors:
        return ""
    names = [factor.name for factor in target.factors]
    effect = names.pop(target.effect)
    if names:
        averaged = say(", averaged over {factor},", factor=names[0])
    else:
        averaged = ""
    return say(
        " between a level of {effect} and its first{averaged}", effect=effect, averaged=averaged
    )


def _other_effects(others: Sequence[Planned]) -> list[str]:
    lines = [_needed(target, plan) for target, plan in others]
    if lines:
        return [*lines, say(INTERACTION)]
    return []


def _plants(target: PowerTarget, plan: TrialPlan) -> str:
    if plan.share_between is None:
        share = say("nothing")
    else:
        share = _percent(plan.share_between)
    return say(
        "More plants a tray help only the part that lies within trays: {share} of the"
        " variance of a tray's mean lies between trays and stays. With {doubled} plants a"
        " tray it takes {trays}, with endless plants still {fewest}.",
        share=share,
        doubled=DOUBLED * target.plants,
        trays=_trays(plan.needed_with_twice),
        fewest=_trays(plan.needed_with_endless),
    )


def _trials(number: int) -> str:
    return plural("{number} earlier trial", "{number} earlier trials", number)


def _trays(number: int | None) -> str:
    if number is None:
        return say(TOO_MANY)
    return plural("{number} tray", "{number} trays", number)


def _percent(value: float | None) -> str:
    if value is None:
        return say(NOT_KNOWN)
    if value < LARGEST:
        return percent(decimal(f"{100 * value:.3g}"))
    return f"> {percent(f'{100 * LARGEST:.0f}')}"


def _cv(variance: float) -> str:
    return _percent(cv_of(variance))


def figure(target: PowerTarget, plan: TrialPlan) -> Figure | None:
    """Return the chart of the smallest difference against the number of trays."""
    from reportgen.charts.planning import Detectable, smallest_difference

    rows = [Detectable(row.trays, target.plants, row.smallest) for row in plan.rows]
    rows += [Detectable(row.trays, DOUBLED * target.plants, row.with_twice) for row in plan.rows]
    found = drawn(
        "plan",
        lambda width: smallest_difference(
            rows, target.level, target.power, group=_treatment(target), width=width
        ),
        say("Smallest difference that a number of trays shows."),
        _needed(target, plan),
    )
    if found:
        return found[0]
    return None
