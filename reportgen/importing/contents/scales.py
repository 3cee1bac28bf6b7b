"""Words of an ordered scale, such as `poor`, `fair`, `good`: a score of each plant."""

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.contents.situation import Situation, codes
from reportgen.importing.model.claims import Labels
from reportgen.importing.words import says, small

FEWEST: Final = 2  # classes that must stand in a column
SCALES: Final = (  # lowest first
    "very poor < poor < fair < good < very good < excellent",
    "bad < medium < good",
    "none < slight < moderate < severe",
    "sehr schlecht < schlecht < mittel < gut < sehr gut",
    "keine < leicht < mittel < stark",
    "muy malo < malo < regular < bueno < muy bueno",
    "mauvais < moyen < bon < très bon",
    "scarso < discreto < buono < ottimo",
    "slecht < matig < goed < zeer goed",
    "ruim < regular < bom < muito bom",
)


def scores(situation: Situation) -> Iterator[tuple[str, str]]:
    """Yield scores by their name with its scale, such as `Colour (poor < fair < good)`, and their
    column.
    """
    for labels in situation.label_columns():
        scale = _scale_of(labels.levels)
        if scale and not says(labels.header, "treatment") and not _is_of_others(situation, labels):
            yield f"{labels.header} ({scale})", labels.carrier.name


def _scale_of(levels: tuple[str, ...]) -> str:
    """Return the scale that all labels are of, from the lowest of them to the highest; "" where
    none is.
    """
    found = {small(level) for level in levels}
    for scale in SCALES:
        classes = scale.split(" < ")
        places = [place for place, each in enumerate(classes) if small(each) in found]
        if len(places) == len(found) >= FEWEST:
            return " < ".join(classes[places[0] : places[-1] + 1])
    return ""


def _is_of_others(situation: Situation, labels: Labels) -> bool:
    """Tell whether labels are the same for all plants of a tray or treatment: then they say what
    was done to it.
    """
    own = codes(labels)
    others = [
        each for each in situation.labels_of_rows() if each is not labels and len(each.levels) > 1
    ]
    return any(
        _depends(own, codes(each)) for each in others if len(each.levels) * 2 <= situation.rows
    )


def _depends(own: NDArray[np.intp], other: NDArray[np.intp]) -> bool:
    """Tell whether each label of one set goes with one label of the other."""
    pairs = np.unique(np.stack([other, own]), axis=1).shape[1]
    return bool(pairs == len(np.unique(other)))
