"""The texts on what a treatment costs and what it earns."""

from collections.abc import Mapping
from typing import Final

from reportgen.language import marked

ADDED: Final[Mapping[str, str]] = {
    "all": marked("Per {unit}, {name} cost {cost} and gave {crop} crop than {reference}."),
    "marketable": marked(
        "Per {unit}, {name} cost {cost} and gave {crop} marketable crop than {reference}."
    ),
}


MORE: Final = marked("{amount} more")


LESS: Final = marked("{amount} less")


BREAK_EVEN: Final[Mapping[str, str]] = {
    "above": marked("As measured, that pays if the crop sells above about {price} ({limits})."),
    "below": marked("As measured, that pays if the crop sells below about {price} ({limits})."),
    "always": marked(
        "As measured, it gave no less and cost no more, whatever the crop price ({limits})."
    ),
    "never": marked(
        "As measured, it gave no more and cost no less, whatever the crop price ({limits})."
    ),
    "none": marked(
        "As measured, yield and cost were the same, so no crop price decides ({limits})."
    ),
}


PAYS_AT: Final[Mapping[str, str]] = {  # in a cell of a table
    "above": marked("above {price}"),
    "below": marked("below {price}"),
}


LIMITS: Final[Mapping[str, str]] = {
    "interval": marked("{level} interval {low} to {high}"),
    "at_least": marked("{level} interval {low} or more"),
    "at_most": marked("{level} interval up to {high}"),
    "two_parts": marked("{level} interval up to {low}, or {high} and more"),
    "any": marked("the trial excludes no price"),
    "empty": marked("no price of 0 or more breaks even"),
    "unknown": marked("uncertainty unknown"),
}


MARGIN: Final = marked(
    "At {price} that leaves {margin} per {unit} ({level} interval {low} to {high}): {verdict}."
)


PAYS: Final[Mapping[str, str]] = {
    "pays": marked("it pays"),
    "loses": marked("it does not pay"),
    "unclear": marked("we cannot say whether it pays"),
}


TOGETHER: Final = marked("These limits hold for all comparisons together.")


PARTIAL: Final = marked("The added cost counts only what differs between the treatments.")


ELECTRICITY_ALONE: Final = marked("{cost} (electricity only)")


AT_OWN_PRICE: Final[Mapping[str, str]] = {  # in a cell of a table
    "pays": marked("pays"),
    "loses": marked("does not pay"),
    "unclear": marked("cannot be said"),
}


IF_DEARER: Final = marked("If electricity cost more or less (no margin of error):")


ASSUMED: Final = marked("No currency was recorded: {currency} is assumed.")


PAYS_IF: Final[Mapping[str, str]] = {
    "above": marked(
        "With {name} a {unit} cost {cost} and gave {crop} crop; that pays if the crop sells above"
        " about {price} ({level} interval {low} to {high})."
    ),
    "below": marked(
        "With {name} a {unit} cost {cost} and gave {crop} crop; that pays if the crop sells below"
        " about {price} ({level} interval {low} to {high})."
    ),
}


AT_PRICE: Final[Mapping[str, str]] = {
    "pays": marked("At {price} it pays."),
    "loses": marked("At {price} it does not pay."),
    "unclear": marked("At {price} we cannot say whether it pays."),
}


NOT_SAID: Final = marked("At which price of the crop that pays, this trial cannot say.")


CANNOT_BE_SAID: Final = marked("cannot be said")


NO_PRICE_KNOWN: Final = marked(
    "No difference in cost and crop was clear, so no price of the crop can be named."
)


MONEY: Final = marked("{currency} {amount}")


PRICE: Final = marked("{currency} {amount}/{per}")


NO_PRICE: Final = marked(
    "Whether it pays depends on the crop price, which the workbook does not give."
)
