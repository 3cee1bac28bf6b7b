"""The texts of headlines, by the code of each verdict."""

from collections.abc import Mapping
from typing import Final

from reportgen.language import marked

NOTHING_COMPARED: Final = marked("Nothing was measured that compares the treatments")


SECOND: Final = marked("{finding}, {second}")


SECOND_WITH: Final = marked("{finding}; {second} with {name}")


PAYS: Final[Mapping[str, str]] = {
    "pays": marked("and it pays"),
    "loses": marked("but it does not pay"),
}


DEARER: Final[
    Mapping[bool, Mapping[str, str]]
] = {  # by whether weights are shown in US units alone
    False: {"more": marked("dearer by the kilo"), "less": marked("cheaper by the kilo")},
    True: {"more": marked("dearer by the pound"), "less": marked("cheaper by the pound")},
}


LED_BY: Final = marked("{each}: {finding}")


# Losses in front of a finding, the treatment's before those of the reference.
LOST: Final = marked("{Name}: {number} of {started} plants lost ({reference}: {own} of {total})")


SURVIVED: Final = marked(
    "{Name}: {number} of {started} plants survived ({reference}: {own} of {total})"
)


LOST_AND: Final = marked("{losses}; {finding}")


# A finding whose treatment is named before.
UNNAMED: Final[Mapping[str, str]] = {
    "more": marked("{change}"),
    "less": marked("{change}"),
    "alike": marked("about the same {thing}"),
    "unclear": marked("no clear difference in {thing}"),
    "untestable": marked("{change} ({untested})"),
    "confounded": marked("not a fair test of {thing}"),
}


UNEQUAL_LOSSES: Final = marked("Very unequal losses: {finding}")


# What is found of several treatments, in a headline: their names before the finding.
SEVERAL: Final[Mapping[str, str]] = {
    "more": marked("{Names}: more {thing} than with {reference}"),
    "less": marked("{Names}: less {thing} than with {reference}"),
    "alike": marked("{Names} and {reference}: about the same {thing}"),
    "confounded": marked("{Names}: no fair test against {reference}"),
    "untestable": marked("{Names} and {reference}: {thing} ({untested})"),
    "unclear": marked("{Names}: no clear difference in {thing} from {reference}"),
}


SEVERAL_LEVELS: Final[Mapping[str, str]] = {
    **SEVERAL,
    "more": marked("{Names}: {thing} higher than with {reference}"),
    "less": marked("{Names}: {thing} lower than with {reference}"),
    "alike": marked("{Names} and {reference}: {thing} about the same"),
}


CHANGED: Final = marked("{Names}: {change} than with {reference}")


CHANGED_ALONE: Final = marked("{Names}: {change}")  # where the reference's name has no room


FURTHER: Final[Mapping[str, str]] = {  # the measure is named already
    "more": marked("{names}: more"),
    "less": marked("{names}: less"),
    "alike": marked("{names}: about the same"),
    "confounded": marked("{names}: no fair test"),
    "untestable": marked("{names}: not tested"),
    "unclear": marked("{names}: unclear"),
}


FURTHER_ONE: Final = marked("{names}: {change}")


OF_ALL: Final = marked("{number} of {total} treatments")


THE_REFERENCE: Final = marked("the reference")


ALL_OTHERS: Final = marked("all other treatments")


TRENDS: Final[Mapping[str, str]] = {
    "peak": marked("Most {thing} at {dose} of {factor}"),
    "trough": marked("Least {thing} at {dose} of {factor}"),
    "rises": marked("The more {factor}, the more {thing}, up to {dose}"),
    "falls": marked("The more {factor}, the less {thing}, up to {dose}"),
    "bends": marked(
        "Most {thing} near {dose} of {factor}, though the trial cannot place the best dose"
    ),
    "flat": marked("No trend in {thing} from {lowest} to {dose} of {factor}"),
    "not_a_curve": marked("{Thing} changed with {factor}, but not along a curve"),
}


TRENDS_OF_LEVELS: Final[Mapping[str, str]] = {
    **TRENDS,
    "peak": marked("{Thing} highest at {dose} of {factor}"),
    "trough": marked("{Thing} lowest at {dose} of {factor}"),
    "rises": marked("The more {factor}, the higher {thing}, up to {dose}"),
    "falls": marked("The more {factor}, the lower {thing}, up to {dose}"),
    "bends": marked(
        "{Thing} best near {dose} of {factor}, though the trial cannot place the best dose"
    ),
}


ABOUT: Final = marked("about {dose}")


NOT_FAIR: Final = marked("{Reason}, so not a fair test: {finding}")


DEPENDS: Final = marked("What {factor} does to {thing} depends on {other}")


FURTHER_CHANGES: Final[Mapping[str, str]] = {
    "more": marked("{size} more"),
    "less": marked("{size} less"),
    "times": marked("{size} times as much"),
    "same": marked("as much"),
}


EFFECTS: Final[Mapping[str, str]] = {
    "more": marked("{factor} {level} against {reference}: {change}"),
    "less": marked("{factor} {level} against {reference}: {change}"),
    "alike": marked("{factor} {level} and {reference}: about the same {thing}"),
    "unclear": marked("no clear effect of {factor} on {thing}"),
}


HIGHER_SCORE: Final[Mapping[str, str]] = {
    "more": marked("{Outcome}: higher with {name} than with {reference}"),
    "less": marked("{Outcome}: lower with {name} than with {reference}"),
    "unclear": marked("No clear difference in {outcome} between {name} and {reference}"),
    "untestable": marked("{Outcome}: too few {units} to compare {name} with {reference}"),
}
