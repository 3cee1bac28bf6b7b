"""Recognise small tables that are no data: lists of fields, keys, notes."""

from typing import Final

import numpy as np

from reportgen.importing.model.cells import Kind
from reportgen.importing.tables.body import Body
from reportgen.importing.tables.headers import NAMES_OF_LABELS, Header, shape
from reportgen.importing.tables.regions import Region, is_value
from reportgen.importing.words import says

LONGEST_CODE: Final = 3
LONG_TEXT: Final = 20  # characters: longer ones on average are sentences


def is_key(region: Region, header: Header, body: Body) -> bool:
    """Tell whether a small table spells codes: a first column without repeats, beside it words, no
    measured numbers.
    """
    kind, text = body.of(region.kind), body.of(region.text)
    if not 2 <= kind.shape[1] <= 5 or len(kind) > 200 or len(header.rows) > 1:
        return False
    kind, text = kind[~body.struck], text[~body.struck]
    codes = [code for code in text[:, 0] if code]
    if len(codes) < max(2, 0.9 * len(text)) or len(set(codes)) < len(codes):
        return False
    numbers = region.number[body.rows[~body.struck]]
    if ((numbers != np.round(numbers)) & ~np.isnan(numbers)).any() or (kind == Kind.MOMENT).any():
        return False
    for column in range(1, kind.shape[1]):
        levels = set(text[:, column])
        if (kind[:, column] == Kind.NUMBER).any() and len(levels) > len(text) // 2:
            return False
    return bool((kind[:, 1:] != Kind.BLANK).mean(axis=0).max() >= 0.8)


def is_notes(region: Region, body: Body) -> bool:
    """Tell whether a part without a header is mostly sentences, perhaps with numbers before them."""
    kind = body.of(region.kind)
    texts = [str(text) for text in body.of(region.text)[kind == Kind.TEXT]]
    measured = (kind == Kind.NUMBER).any(axis=0).sum()
    return (
        bool(texts) and measured < 2 and float(np.mean([len(text) for text in texts])) > LONG_TEXT
    )


def header_of_texts(region: Region, header: Header) -> Header:
    """Return the header of a table whose columns are all texts: its first row, where codes of one
    shape follow.
    """
    kind = region.kind
    if is_value(kind).any() or kind.shape[1] < 2 or kind.shape[0] < 3:
        return header
    first = int(np.argmax((kind == Kind.TEXT).sum(axis=1) >= 2))
    if (kind[first] == Kind.TEXT).sum() < 2:
        return header
    shapes = [shape(str(text)) for text in region.text[first + 1 :, 0] if text]
    own = shape(str(region.text[first, 0]))
    if shapes and len(set(shapes)) == 1 and own != shapes[0]:
        return Header((first,), -1, first + 1)
    longest = max((len(str(text)) for text in region.text[first + 1 :, 0]), default=0)
    is_longer = longest <= LONGEST_CODE < len(str(region.text[first, 0]))
    if is_longer or says(str(region.text[first, 0]), "key", *NAMES_OF_LABELS):
        return Header((first,), -1, first + 1)
    return header


def is_list_of_texts(region: Region) -> bool:
    """Tell whether texts stand in two to four full columns, as in a key or a list of fields."""
    kind = region.kind
    if not 2 <= kind.shape[1] <= 4 or kind.shape[0] < 2:
        return False
    filled = (kind != Kind.BLANK).mean(axis=0)
    return bool((filled[:2] >= 0.9).all())
