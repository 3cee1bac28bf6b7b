"""What the words of a header, and of the texts around it, say about the numbers below."""

import re
from typing import Final

import numpy as np

from reportgen.importing.clues.quantities_model import Measure, Points, Profile
from reportgen.importing.words import says, tokens

# A header's words, strongest first where several apply: what they say, and by how many points.
NAMED: Final[tuple[tuple[str, Measure, float], ...]] = (
    ("weight", Measure.MASS, 4),
    ("fresh", Measure.MASS, 3),
    ("dry", Measure.MASS, 3),
    ("gross", Measure.MASS, 2),
    ("tare", Measure.MASS, 2),
    ("net", Measure.MASS, 1),
    ("yield", Measure.MASS, 3),
    ("picking", Measure.MASS, 1),
    ("sum", Measure.UNKNOWN, 2),
    ("mean", Measure.UNKNOWN, 2),
    ("start_weight", Measure.MASS, 4),
    ("height", Measure.LENGTH, 4),
    ("leaf_area", Measure.FURTHER, 7),
    ("leaves", Measure.LEAVES, 4),
    ("plants_counted", Measure.COUNT, 4),
    ("pieces", Measure.PIECES, 4),
    ("further", Measure.FURTHER, 7),
    ("dli", Measure.FURTHER, 4),
    ("derived_climate", Measure.FURTHER, 12),
    ("dose", Measure.DOSE, 5),
    ("price", Measure.PRICE, 6),
    ("area", Measure.AREA, 3),
    ("water", Measure.VOLUME, 3),
    ("added", Measure.VOLUME, 1.5),
    ("filled", Measure.VOLUME, 1.5),
    ("used", Measure.VOLUME, 1),
    ("drained", Measure.VOLUME, 1.5),
    ("left", Measure.VOLUME, 1),
    ("energy", Measure.ENERGY, 3),
    ("meter", Measure.ENERGY, 2),
    ("reading", Measure.ENERGY, 1.6),
    ("ec", Measure.EC, 5),
    ("ph", Measure.PH, 6),
    ("temperature", Measure.TEMPERATURE, 6),
    ("humidity", Measure.HUMIDITY, 6),
    ("co2", Measure.CO2, 4),
    ("ppfd", Measure.PPFD, 6),
    ("lux", Measure.LUX, 7),
    ("place_x", Measure.PLACE, 1),
)
ALL_NAMED: Final = frozenset(measure for _, measure, _ in NAMED)
KNOWN_WORDS: Final = frozenset(word for word, measure, _ in NAMED if measure is not Measure.UNKNOWN)
ABOVE: Final = 0.8  # of its points has a word in a level of headers above
PLAINLY: Final = 4  # points of a word that leaves no doubt, whatever stands above
DENSITY: Final = re.compile(
    r"(?:plants?|pflanzen|plantas|plantes|piante|planten|heads)\s*(?:/|per|pro|por|par)\s*(?:m|ha)",
    re.IGNORECASE,
)
LABELLING: Final = (
    "treatment", "block", "unit", "plant", "number", "date", "cultivar", "crop", "person", "grade",
)  # fmt: skip
LABEL_WORDS: Final = frozenset(LABELLING)
LABEL_WEIGHT: Final = 3.0
NUMBERS_METERS: Final = 10.0  # more than the unit that the word is as well
VARIED_WEIGHT: Final = 1.5  # such words head columns of a treatment as well as columns of labels
AROUND: Final[tuple[tuple[str, Measure, float], ...]] = (
    ("weight", Measure.MASS, 3),
    ("fresh", Measure.MASS, 2),
    ("dry", Measure.MASS, 2),
    ("yield", Measure.MASS, 2),
    ("height", Measure.LENGTH, 2.5),
    ("leaves", Measure.LEAVES, 1),
    ("water", Measure.VOLUME, 2),
    ("energy", Measure.ENERGY, 3),
    ("meter", Measure.ENERGY, 1),
    ("ec", Measure.EC, 1.5),
    ("ph", Measure.PH, 1.5),
    ("ppfd", Measure.PPFD, 3),
    ("dose", Measure.DOSE, 2),
)


def named_by_header(profile: Profile) -> Points:
    """The header names a quantity, or a level of the headers above it does."""
    if DENSITY.search(profile.header):
        yield Measure.FURTHER, 8
        return
    allowed = _plainly_named(profile) or ALL_NAMED
    for word, measure, weight in NAMED:
        if word == "plants_counted" and "pieces" in profile.words:
            continue  # a number of fruits covers no plants
        if word in profile.words:
            yield measure, weight
        elif word in profile.above and measure in allowed:
            yield measure, weight * ABOVE


def _plainly_named(profile: Profile) -> set[Measure]:
    """Return the quantities that a header names plainly."""
    measures = set()
    for word, measure, weight in NAMED:
        if word in profile.words and weight >= PLAINLY:
            measures.add(measure)
    return measures


def named_around(profile: Profile) -> Points:
    """A title, a section or the sheet's name tells a quantity; it holds where the header says none."""
    is_label = not LABEL_WORDS.isdisjoint(profile.words) and not profile.is_numbered
    if is_label or not KNOWN_WORDS.isdisjoint(profile.said):
        return
    for word, measure, weight in AROUND:
        if word in profile.around:
            yield measure, weight * 0.7


def names_a_label(profile: Profile) -> Points:
    """The header is the word of a label: tray, plant, variety."""
    if profile.words & {"plants_counted", "pieces"} and not is_numbering(profile):
        return
    if counts_things(profile):
        return
    if not LABEL_WORDS.isdisjoint(profile.words):
        yield Measure.LABEL, LABEL_WEIGHT
    elif "meter" in profile.words and _numbers_few(profile):
        yield Measure.LABEL, NUMBERS_METERS
    elif "varied" in profile.words:
        yield Measure.LABEL, VARIED_WEIGHT


def _numbers_few(profile: Profile) -> bool:
    """Tell whether the numbers are 1 to k, each several times: they name things."""
    levels, counts = np.unique(profile.values, return_counts=True)
    return levels.tolist() == list(range(1, len(levels) + 1)) and bool((counts > 1).all())


def counts_things(profile: Profile) -> bool:
    """Tell whether a header is `No.` with a word behind that names no label, and numbers come in no
    order.

    `No. pulled` and `No. tubers` count; `Plot No.` and `No.` name.
    """
    is_number = "number" in profile.words and len(tokens(profile.header)) > 1
    others = set(LABELLING) - {"number"}
    repeats = len(np.unique(profile.values)) < len(profile.values)
    return (
        is_number
        and repeats
        and profile.is_whole
        and not profile.words & others
        and not is_numbering(profile)
    )


def counts_what_was_harvested(profile: Profile) -> Points:
    """A number of those pulled, cut or picked counts plants or their fruits; of another thing, that
    thing.
    """
    if not counts_things(profile) or profile.words & {"plants_counted", "pieces"}:
        return
    if profile.words & {"harvested", "picking"}:
        measure = Measure.COUNT
    else:
        measure = Measure.PIECES
    yield measure, 4


def is_label_word(header: str) -> bool:
    """Tell whether a header is the word of a label."""
    return says(header, *LABELLING)


def is_numbering(profile: Profile) -> bool:
    """Tell whether the numbers count up by one from row to row, or begin again at 1."""
    values = profile.values
    if len(values) < 2 or not profile.is_whole:
        return False
    steps = values[1:] - values[:-1]
    counting = (steps == 1) | (steps == 0) | (values[1:] == 1)
    return bool(counting.mean() > 0.8 and (steps == 1).any() and steps.any())
