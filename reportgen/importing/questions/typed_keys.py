"""A key that the owner types, where nothing in the log names the treatments.

Such as `1-4 = hay; 5-8 = fleece`.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from reportgen.importing.carriers import labels_of
from reportgen.importing.carriers.written_keys import entries_of, labels_meant
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.claims import Labels
from reportgen.importing.model.layouts import Carrier, Dimension, Layout, Source
from reportgen.importing.model.tables import Table
from reportgen.importing.questions.describe import carrier_text
from reportgen.language import marked, say

SIGN: Final = "="
TWICE: Final = marked("each label of {place} once, not {twice} twice")
MOST_SHOWN: Final = 12  # labels in a message
EXAMPLE: Final = "1-4 = hay; 5-8 = fleece"


@dataclass(frozen=True)
class _Spelled:
    """What a key says of the labels of one source: their names, and what is wrong."""

    source: Source
    words: dict[str, str]
    wrong: str


def is_key(text: str) -> bool:
    """Tell whether a text spells out labels."""
    return SIGN in text


def with_key(layout: Layout, text: str, table: Table, sheets: Sequence[Sheet]) -> Layout:
    """Return a layout whose treatments a typed key spells for the labels of trays, or of others.

    Raises ValueError, saying what is wrong, where the key names labels that the table lacks, or
    lacks some of it.
    """
    key = _fitting_key(list(_spelled(layout, text, table, sheets)))
    dimensions = dict(layout.dimensions)
    is_of_units = len(set(key.words.values())) < len(key.words)
    if is_of_units and Dimension.UNIT not in dimensions:
        dimensions[Dimension.UNIT] = key.source
    for dimension, source in layout.dimensions.items():
        if dimension is not Dimension.UNIT and source.carriers == key.source.carriers:
            dimensions.pop(dimension)
    dimensions[Dimension.TREATMENT] = key.source
    words = {**layout.words, Dimension.TREATMENT.value: key.words}
    return replace(layout, dimensions=dimensions, words=words)


def _fitting_key(keys: Sequence[_Spelled]) -> _Spelled:
    """Return the first key that fits its labels.

    Raises ValueError with what is wrong with the one that names the most labels.
    """
    fitting = [key for key in keys if not key.wrong]
    if fitting and fitting[0].words:
        return fitting[0]
    if not keys:
        raise ValueError(EXAMPLE)
    longest = max(keys, key=lambda key: len(key.words))
    raise ValueError(longest.wrong)


def key_above(layout: Layout, table: Table, sheets: Sequence[Sheet]) -> str | None:
    """Return the key in the lines above a table, such as `Plots 1 to 4: hay`, None without one."""
    titles: dict[str, None] = {}
    for block in table.blocks:
        titles.update(dict.fromkeys(text for text, _ in block.titles))
    lines = [text.replace(":", SIGN) for text in reversed(titles)]
    text = "; ".join(line for line in lines if is_key(line))
    try:
        with_key(layout, text, table, sheets)
    except ValueError:
        return None
    return text


def _spelled(
    layout: Layout, text: str, table: Table, sheets: Sequence[Sheet]
) -> Iterator[_Spelled]:
    """Yield what a key says of each set of labels, those of the trays first."""
    try:
        entries = entries_of(text)
    except ValueError as error:
        raise ValueError(
            say('"{error}" to be written as {example}', error=error, example=EXAMPLE)
        ) from error
    carriers: tuple[Carrier, ...] = ()
    if Dimension.UNIT in layout.dimensions:
        carriers = layout.dimensions[Dimension.UNIT].carriers
    sets = sorted(labels_of(table, sheets).labels, key=lambda each: each.carrier not in carriers)
    for labels in sets:
        yield _spelled_by(labels, entries)


def _spelled_by(labels: Labels, entries: Sequence[tuple[str, str]]) -> _Spelled:
    """Return what the entries of a key say of a set of labels."""
    words: dict[str, str] = {}
    unknown: list[str] = []
    repeated: list[str] = []
    for ids, name in entries:
        own_labels, own_unknown = labels_meant(ids, labels.levels)
        unknown.extend(own_unknown)
        repeated.extend(label for label in own_labels if label in words)
        words.update(dict.fromkeys(own_labels, name))
    missing = [level for level in labels.levels if level not in words]
    wrong = _problem(labels, unknown, repeated, missing)
    return _Spelled(Source((labels.carrier,), labels.lookup), words, wrong)


def _problem(
    labels: Labels, unknown: Sequence[str], repeated: Sequence[str], missing: Sequence[str]
) -> str:
    """Return what is wrong with a key for a set of labels, "" where nothing is."""
    place = f"{carrier_text(labels.carrier)} ({_label_list(labels.levels)})"
    if unknown:
        return say("labels of {place}, not {strange}", place=place, strange=_label_list(unknown))
    if repeated:
        return say(TWICE, place=place, twice=_label_list(repeated))
    if missing:
        return say(
            "all labels of {place}, {missing} too", place=place, missing=_label_list(missing)
        )
    return ""


def _label_list(labels: Sequence[str]) -> str:
    shown = ", ".join(labels[:MOST_SHOWN])
    if len(labels) <= MOST_SHOWN:
        return shown
    return f"{shown}, ..."
