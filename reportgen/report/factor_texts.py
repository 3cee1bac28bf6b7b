"""The texts on what factors and doses did."""

from collections.abc import Mapping
from typing import Final

from reportgen.language import marked, marked_plural

LIMITS: Final = marked("{level} interval {interval}")


AVERAGED: Final[Mapping[str, str]] = {
    "more": marked(
        "With {factor} {treated} instead of {reference}, {outcome} was {size} higher ({limits}),"
        " averaged over {other}."
    ),
    "less": marked(
        "With {factor} {treated} instead of {reference}, {outcome} was {size} lower ({limits}),"
        " averaged over {other}."
    ),
    "times": marked(
        "With {factor} {treated} instead of {reference}, {outcome} was {size} times as high"
        " ({limits}), averaged over {other}."
    ),
    "same": marked(
        "With {factor} {treated} instead of {reference}, {outcome} was the same ({limits}),"
        " averaged over {other}."
    ),
}


AVERAGED_UNCLEAR: Final = marked(
    "The trial does not tell whether {outcome} was higher or lower with {factor} {treated} than"
    " with {reference}: it measured {measured} ({limits}), averaged over {other}."
)


AVERAGED_ALIKE: Final = marked(
    "With {factor} {treated} and {reference}, {outcome} was about the same: the trial measured"
    " {measured} ({limits}), averaged over {other}, and only a difference of {margin} or more"
    " matters."
)


NOT_ATTRIBUTED: Final = marked("This cannot be attributed to {factor}: {reasons}.")


MORE_EFFECTS: Final = marked_plural(
    "{number} more effect stands in the report's table of effects.",
    "{number} more effects stand in the report's table of effects.",
)


DEPENDED: Final = marked(
    "The effect of {factor} on {outcome} depended on {other}: {treated} instead of {reference} gave"
    " {each}."
)


OF_THE_OTHER: Final = marked(
    "The table of effects has the effect of {other} at each level of {factor} too."
)


ONE_PLOT: Final = marked(
    "Each level of {main} had one main plot alone, so the trial cannot tell what {main} did to"
    " {outcome} from what the main plots did, nor whether it is {main} that changes what {sub}"
    " does."
)


FURTHER_LEVEL: Final = marked("{Treated} instead of {reference} gave {each}.")


WITHIN: Final = marked("{change} ({limits}) with {other} {level}")


ABOUT_THE_SAME: Final = marked(
    "The effect of {factor} was about the same at every level of {other}."
)


NOT_SHOWN: Final = marked("The trial does not show that the effect of {factor} depends on {other}.")


DEPENDED_ALONE: Final = marked("The effect of {factor} depended on {other}.")


MAY_DEPEND_ALONE: Final = marked(
    "The effect of {factor} may depend on {other} by as much as matters, though the trial does not"
    " tell this from chance."
)


ONE_RATIO: Final = marked(
    "Effect with {other} {at} divided by that with {base}: {ratio}, {level} interval {limits}."
)


ASKED: Final = marked("{Factor} {treated} against {reference}: {each}.")
TEST_ONLY: Final = marked("Test of the interaction: p {p_value}.")


HIGHEST_AT: Final = marked("{Outcome} was highest at {dose} of {factor} ({limits}), at {value}.")


LOWEST_AT: Final = marked("{Outcome} was lowest at {dose} of {factor} ({limits}), at {value}.")


ROSE: Final = marked(
    "{Outcome} rose with {factor} over all doses tested: {change} at {highest}, compared with"
    " {lowest} ({limits}), so no optimum lies within them."
)


FELL: Final = marked(
    "{Outcome} fell with {factor} over all doses tested: {change} at {highest}, compared with"
    " {lowest} ({limits}), so no optimum lies within them."
)


BEST_AT_END: Final = marked(
    "{Outcome} followed a curve along {factor} and was best at {dose}, an end of the doses tested,"
    " so no optimum is shown within them."
)


BEST_NEAR: Final = marked(
    "{Outcome} followed a curve along {factor} and was best near {dose}, but the trial cannot place"
    " the optimum within the doses tested ({limits})."
)


NO_TREND: Final = marked(
    "The trial shows no trend of {outcome} along {factor}: {change} at {highest}, compared with"
    " {lowest} ({limits})."
)


NOT_A_CURVE: Final = marked(
    "Neither a straight line nor a curve describes {outcome} along {factor}, so doses are compared"
    " with each other. Compared with the dose below it was {steps}."
)


STEP: Final = marked("{change} at {dose} ({limits})")


NO_FURTHER_RISE: Final = marked("Above {dose} it rose no further by as much as matters.")


NO_RISE_SHOWN: Final = marked("The trial does not show that it rises further above {dose}.")


AT_LEVEL: Final = marked("With {other} {level}: {sentence}")
