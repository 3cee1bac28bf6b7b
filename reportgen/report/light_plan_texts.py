"""The texts that match the light of treatments before the start."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from reportgen.language import marked
from reportgen.metrics.light_maps import Axis
from reportgen.metrics.light_matching import (
    Finding,
    Quantity,
    WhyNoHeight,
)

if TYPE_CHECKING:
    pass

PPFD_UNIT: Final = "µmol/m²/s"


DLI_UNIT: Final = "mol/m²/d"


CALLED: Final[Mapping[Quantity, str]] = {
    "ppfd": marked("mean light (PPFD)"),
    "dli": marked("light of a day (DLI)"),
}


UNITS: Final[Mapping[Quantity, str]] = {"ppfd": PPFD_UNIT, "dli": DLI_UNIT}


AXES: Final[Mapping[Axis, str]] = {
    Axis.LOG_HEIGHT: (
        marked(
            "where light falls with height, height is the distance from the lamp, and the"
            " logarithm of light runs straight over the logarithm of height, as by the"
            " inverse-square law and more flatly beneath a wide lamp"
        )
    ),
    Axis.HEIGHT: (
        marked(
            "where light rises with height, or height begins at 0, the lamp's own height is"
            " not recorded, and the logarithm of light runs straight over height"
        )
    ),
}


FINDINGS: Final[Mapping[Finding, str]] = {
    "not_steady": (
        marked(
            "Mean light neither rises nor falls all the way with height under {name}: read"
            " its heights again."
        )
    ),
    "spread_not_known": (
        marked(
            "A height with a single reading has no spread, so the intervals of {name} are too"
            " narrow: read several points."
        )
    ),
    "earlier_left_out": (
        marked("Some heights were read on several dates under {name}: the latest date counts.")
    ),
    "places_differ": (
        marked(
            "The maps of {name} do not have the same points (X, Y) at all heights, so part of"
            " what changes with height may be the change of points."
        )
    ),
    "dark_point": marked("A point under {name} has no light, so its evenness is not interpolated."),
}


WITHOUT_CURVE: Final[Mapping[WhyNoHeight | None, str]] = {
    "no_readings": marked("No light was read under {name}: read it at three heights or more."),
    "no_height": (
        marked(
            "No height can be given for {name}, for Height is blank on the sheet Light: fill it in."
        )
    ),
    "dark": marked("No reading under {name} has light."),
    "no_photoperiod": (
        marked(
            "The light of a day is not known for {name}, for Photoperiod on the sheet"
            " Treatments is blank or 0: fill it in."
        )
    ),
}


BEYOND: Final = marked(
    "Nothing is given beyond the heights that were read: light is never carried over distance."
)


EVENNESS: Final = marked("Minimum / mean of a map is interpolated in the same way.")


PAIRED: Final = marked(
    "Heights beside the others and what two treatments may still differ by rest on"
    " differences point by point, for all maps have the same points (X, Y): a pattern"
    " that all lamps share cancels."
)


NOT_PAIRED: Final = marked(
    "Maps of the same points (X, Y) under all treatments would be compared point by"
    " point, which narrows the heights beside the others."
)


HUNG: Final = marked(
    "When the lamps hang, map the light once more at that height, and type the height"
    " into Light height on the sheet Treatments: the report counts that map."
)


HOURS_HEADING: Final = marked(
    "Or hours of light a day, at the height in use where Light height has it, else at"
    " each that was read:"
)


HOURS_CHANGE_MORE: Final = marked(
    "Other hours of light can change more than its sum: flowering, for instance."
)
