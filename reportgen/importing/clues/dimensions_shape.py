"""What the labels themselves show, without words: dates, counts, how many there are, where they
stand.
"""

import re
from collections.abc import Iterator, Sequence

import numpy as np

from reportgen.importing.carriers.colours import is_mere_colour
from reportgen.importing.carriers.parts import has_date_behind, numbered_within
from reportgen.importing.cells.dates import weekday_of
from reportgen.importing.clues.dimension_words import named_dimensions
from reportgen.importing.clues.grid import LabelSet
from reportgen.importing.model.claims import Claim
from reportgen.importing.model.layouts import CarrierKind, Dimension

_ISO_DATE = re.compile(r"\d{4}-\d\d-\d\d")
_MONTHS = (
    "jan|feb|fév|mar|mär|apr|avr|abr|may|mai|mei|mag|jun|juin|giu|jul|juil|lug|aug|août|ago|sep|set|okt|oct|ott|nov"
    "|dec|dez|déc|dic"
)
_WRITTEN_DATE = re.compile(
    rf"\b\d{{1,2}}(?:st|nd|rd|th|\.)?[ -](?:{_MONTHS})[a-zéû]*\b|\b(?:{_MONTHS})[a-zéû]*["
    r" -]\d{1,2}\b"
    r"|^\d{1,2}[./-]\d{1,2}[./-](?:\d{2}|\d{4})?$",
    re.IGNORECASE,
)
_TIME = re.compile(r"\d\d:\d\d(?::\d\d)?")
_DECIMAL = re.compile(r"[<>~]?-?\d*[.,]\d+$")
_MOST = 0.9
_SOME = 3
_MANY = 10
_LOGS = ("Solution", "Meter", "Light", "Climate")
_CONDITIONS = ("Light", "Climate")
_FEW_DECIMALS = 4
_NAMED_COLOUR, _MERE_COLOUR, _BANDS = 3.0, -4.5, -8.0
_MIXED_COLOURS = -2.0  # those that differ within rows and columns are hardly for looks
_COUNTED = (Dimension.UNIT, Dimension.PLANT)
_NAMED_ALONE = (Dimension.TREATMENT, Dimension.UNIT)
_NEED_WORDS = (
    Dimension.BLOCK,
    Dimension.OCCASION,
    Dimension.EVENT,
    Dimension.METER,
    Dimension.GRADE,
)
_OVERALL = (CarrierKind.SECTION, CarrierKind.SHEET, CarrierKind.FILE, CarrierKind.TITLE)


def dates(labels: LabelSet) -> Iterator[Claim]:
    """Labels that are dates are occasions."""
    if not labels.levels:
        return
    found = [level for level in labels.levels if is_date(level)]
    if len(found) < 0.8 * len(labels.levels):
        return
    for dimension in Dimension:
        if dimension is Dimension.OCCASION:
            weight = 6.0
        else:
            weight = -6.0
        yield Claim("dates", dimension, weight)


def weekdays(labels: LabelSet) -> Iterator[Claim]:
    """Names of weekdays are occasions, and no plants, trays or treatments."""
    if not are_weekdays(labels.levels):
        return
    for dimension in Dimension:
        if dimension is Dimension.OCCASION:
            weight = 3.0
        else:
            weight = -9.0
        yield Claim("weekdays", dimension, weight)


def are_weekdays(levels: Sequence[str]) -> bool:
    """Tell whether several labels are names of weekdays."""
    return len(levels) > 1 and all(weekday_of(level) is not None for level in levels)


def times_of_day(labels: LabelSet) -> Iterator[Claim]:
    """Times of day belong to the days beside them, and are no labels of their own."""
    if labels.gives in _LOGS and are_times(labels.levels):
        yield Claim("times_of_day", None, 12.0)


def are_days(levels: Sequence[str]) -> bool:
    """Tell whether labels are days without a time."""
    return bool(levels) and all(_ISO_DATE.fullmatch(level) for level in levels)


def are_times(levels: Sequence[str]) -> bool:
    """Tell whether labels are times of day, as logs have them."""
    return len(levels) >= _SOME and all(_TIME.fullmatch(level) for level in levels)


def days_that_hardly_repeat(labels: LabelSet) -> Iterator[Claim]:
    """Days of a harvest hold for many values; nearly as many days as values place nothing."""
    if labels.gives in _LOGS or labels.cells < _MANY:
        return
    if len(labels.levels) > 0.5 * labels.cells:
        yield Claim("days_that_hardly_repeat", Dimension.OCCASION, -6.0)


def is_date(text: str) -> bool:
    """Tell whether a label is a date, in ISO form or as it is written by hand."""
    return bool(_ISO_DATE.match(text) or _WRITTEN_DATE.search(text) or has_date_behind(text))


def counting_numbers(labels: LabelSet) -> Iterator[Claim]:
    """Labels 1, 2, 3 ... count units or plants; numbers are rarely treatments."""
    if not labels.levels or not labels.is_number:
        return
    numbers = sorted(int(level) for level in labels.levels)
    counts = numbers == list(range(1, len(numbers) + 1))
    yield Claim("counting_numbers", Dimension.TREATMENT, -2.0 if counts else -0.5)
    for dimension in _COUNTED:
        yield Claim("counting_numbers", dimension, 0.5)


def number_of_levels(labels: LabelSet) -> Iterator[Claim]:
    """Two to four labels are treatments, many are not."""
    count = len(labels.levels)
    if 2 <= count <= 4 and not labels.is_number:
        yield Claim("few_labels", Dimension.TREATMENT, 1.0)
    if count > 6:
        is_named = named_dimensions(labels.labels.header).get(Dimension.TREATMENT, 0.0) == 1.0
        if is_named:
            against = 0.5
        else:
            against = 3.0
        yield Claim("many_labels", Dimension.TREATMENT, -against)
        yield Claim("many_labels", Dimension.BLOCK, -2.0)


def one_label(labels: LabelSet) -> Iterator[Claim]:
    """A label that never varies places nothing, unless it is a treatment's or a unit's name."""
    if len(labels.levels) != 1:
        return
    for dimension in Dimension:
        if dimension in _NAMED_ALONE:
            weight = -6.0
        else:
            weight = -12.0
        yield Claim("one_label", dimension, weight)


def numbers_behind_values(labels: LabelSet) -> Iterator[Claim]:
    """Labels stand left of the values; numbers on their right are rather measured, the more where
    they repeat oddly.
    """
    if not (labels.is_behind_values and labels.is_number):
        return
    counts = np.bincount(labels.codes[labels.codes >= 0])
    if (counts == counts[0]).all():
        against = 2.5
    else:
        against = 5.0
    for dimension in Dimension:
        yield Claim("numbers_behind_values", dimension, -against)


def nothing_speaks(labels: LabelSet) -> Iterator[Claim]:
    """Blocks, occasions, meters and grades need a word or a date; without them labels hardly are
    one.
    """
    for dimension in _NEED_WORDS:
        yield Claim("nothing_speaks", dimension, -3.0)


def colours(labels: LabelSet) -> Iterator[Claim]:
    """Colours tell treatments at most: where a legend names them, else where nothing better does."""
    if labels.labels.carrier.kind is not CarrierKind.COLOUR:
        return
    is_named = not any(is_mere_colour(level) for level in labels.levels)
    for_treatment = _MERE_COLOUR
    if is_named:
        for_treatment = _NAMED_COLOUR
    elif labels.labels.along == "cells":
        for_treatment = _MIXED_COLOURS
    elif _is_banded(labels):
        for_treatment = _BANDS
    for dimension in Dimension:
        if dimension is Dimension.TREATMENT:
            weight = for_treatment
        else:
            weight = -12.0
        yield Claim("colours", dimension, weight)


def _is_banded(labels: LabelSet) -> bool:
    """Tell whether two colours take turns from row to row, as they do for looks."""
    texts = labels.labels.labels
    is_of_rows = labels.labels.along == "rows"
    return is_of_rows and len(labels.levels) == 2 and bool((texts[1:] != texts[:-1]).all())


def label_a_value(labels: LabelSet) -> Iterator[Claim]:
    """A label for each value is a plant's or a unit's own, no treatment."""
    if labels.cells < 4 or len(labels.levels) < labels.cells:
        return
    for dimension in (Dimension.TREATMENT, Dimension.BLOCK, Dimension.OCCASION):
        yield Claim("label_a_value", dimension, -6.0)


def parts_of_ids(labels: LabelSet) -> Iterator[Claim]:
    """The last part of an id of each value numbers plants, of an id of several values units."""
    if not labels.is_last_part:
        return
    is_of_each = labels.whole_levels >= _MOST * labels.cells
    if is_of_each:
        dimension = Dimension.PLANT
    else:
        dimension = Dimension.UNIT
    yield Claim("parts_of_ids", dimension, 2.5)


def single_part(labels: LabelSet) -> Iterator[Claim]:
    """Labels without the words that all have in common are as good as the whole ones, and said less
    plainly.
    """
    if labels.parts == 1:
        for dimension in Dimension:
            yield Claim("single_part", dimension, -0.5)


def part_of_a_name(labels: LabelSet) -> Iterator[Claim]:
    """A part with a label for each whole label, and no word before it, is rather torn out of a
    name: `far-red`.
    """
    is_torn = (
        labels.parts > 1 and len(labels.levels) == labels.whole_levels and not labels.labels.header
    )
    if is_torn and not labels.is_number and labels.labels.carrier.kind in _OVERALL:
        for dimension in Dimension:
            yield Claim("part_of_a_name", dimension, -2.0)


def unknown_elsewhere(labels: LabelSet) -> Iterator[Claim]:
    """What the air or the light is logged by (a probe, an hour) is no treatment where no other
    table has it.
    """
    if labels.gives not in _CONDITIONS or Dimension.TREATMENT in labels.named:
        return
    if not named_dimensions(labels.labels.header).get(Dimension.TREATMENT, 0.0):
        yield Claim("unknown_elsewhere", Dimension.TREATMENT, -3.0)


def measured_numbers(labels: LabelSet) -> Iterator[Claim]:
    """Whole numbers far apart that hardly repeat are measured."""
    if not labels.levels or not labels.is_number or len(labels.levels) < _SOME:
        return
    numbers = [int(level) for level in labels.levels]
    spread = max(numbers) - min(numbers)
    if spread > 3 * len(numbers) and len(numbers) > 0.5 * labels.cells:
        yield Claim("measured_numbers", None, 4.0)


def labels_over_rows(labels: LabelSet) -> Iterator[Claim]:
    """A label that holds for many rows (section, sheet, title, written once) is hardly a plant's."""
    kind = labels.labels.carrier.kind
    if kind in _OVERALL:
        yield Claim("labels_over_rows", Dimension.TREATMENT, 1.0)
    if kind in _OVERALL or labels.labels.filled:
        yield Claim("labels_over_rows", Dimension.PLANT, -3.0)


def decimals(labels: LabelSet) -> Iterator[Claim]:
    """Numbers with decimals are measured: they label nothing, unless few levels of a treatment."""
    if labels.labels.carrier.part or not any(_DECIMAL.match(level) for level in labels.levels):
        return
    if numbered_within(labels.levels):
        return
    yield Claim("decimals", None, 3.0 if len(labels.levels) <= _FEW_DECIMALS else 12.0)


def mostly_blank(labels: LabelSet) -> Iterator[Claim]:
    """Labels that most values lack are remarks."""
    if labels.blank_share <= 0.5:
        return
    yield Claim("mostly_blank", None, 5.0)
