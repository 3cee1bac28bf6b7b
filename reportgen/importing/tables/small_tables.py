"""Recognise small tables that are no data: lists of fields, keys, notes."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.cells import Kind
from reportgen.importing.tables.body import Body
from reportgen.importing.tables.headers import NAMES_OF_LABELS, Header, shape
from reportgen.importing.tables.regions import Region, is_value
from reportgen.importing.words import says

LONGEST_CODE: Final = 3
LONG_TEXT: Final = 20  # characters: longer ones on average are sentences


def is_key(region: Region, header: Header, body: Body) -> bool:
    """Tell whether a small table spells codes.

    Its first column has no repeats; beside it stand words, no measured numbers.
    """
    kind, text = body.of(region.kind), body.of(region.text)
    if not 2 <= kind.shape[1] <= 5 or len(kind) > 200 or len(header.rows) > 1:
        return False
    kind, text = kind[~body.struck], text[~body.struck]
    if not _are_unique(text[:, 0]):
        return False
    if (kind == Kind.MOMENT).any() or _has_decimals(region.number[body.rows[~body.struck]]):
        return False
    for column in range(1, kind.shape[1]):
        has_numbers = (kind[:, column] == Kind.NUMBER).any()
        levels = set(text[:, column])
        if has_numbers and len(levels) > len(text) // 2:
            return False
    return bool((kind[:, 1:] != Kind.BLANK).mean(axis=0).max() >= 0.8)


def _are_unique(texts: NDArray[np.object_]) -> bool:
    """Tell whether nearly all cells have a text, at least two, and none repeats."""
    codes = [text for text in texts if text]
    return len(codes) >= max(2, 0.9 * len(texts)) and len(set(codes)) == len(codes)


def _has_decimals(numbers: NDArray[np.float64]) -> bool:
    return bool(((numbers != np.round(numbers)) & ~np.isnan(numbers)).any())


def is_notes(region: Region, body: Body) -> bool:
    """Tell whether a part without a header is mostly sentences, perhaps with numbers before them."""
    kind = body.of(region.kind)
    texts = [str(text) for text in body.of(region.text)[kind == Kind.TEXT]]
    measured = (kind == Kind.NUMBER).any(axis=0).sum()
    return (
        bool(texts) and measured < 2 and float(np.mean([len(text) for text in texts])) > LONG_TEXT
    )


def header_of_texts(region: Region, header: Header) -> Header:
    """Return the header of a table whose columns are all texts.

    It is the first row, where codes of one shape follow, or where its first text names labels.
    """
    kind = region.kind
    if is_value(kind).any() or kind.shape[1] < 2 or kind.shape[0] < 3:
        return header
    texts_in_rows = (kind == Kind.TEXT).sum(axis=1)
    first = int(np.argmax(texts_in_rows >= 2))
    if texts_in_rows[first] < 2:
        return header
    name = str(region.text[first, 0])
    below = [str(text) for text in region.text[first + 1 :, 0]]
    if _is_unlike(name, below) or says(name, "key", *NAMES_OF_LABELS):
        return Header((first,), -1, first + 1)
    return header


def _is_unlike(name: str, below: list[str]) -> bool:
    """Tell whether a text has another shape than the texts below, or is longer than a code."""
    shapes = {shape(text) for text in below if text}
    if len(shapes) == 1 and shape(name) not in shapes:
        return True
    longest = max((len(text) for text in below), default=0)
    return longest <= LONGEST_CODE < len(name)


def is_list_of_texts(region: Region) -> bool:
    """Tell whether texts stand in two to four full columns, as in a key or a list of fields."""
    kind = region.kind
    if not 2 <= kind.shape[1] <= 4 or kind.shape[0] < 2:
        return False
    filled = (kind != Kind.BLANK).mean(axis=0)
    return bool((filled[:2] >= 0.9).all())
