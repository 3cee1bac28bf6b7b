"""Keys that are written as a text: `1-4 = hay; 5-8 = fleece`, or `yellow = compost, green = none`."""

import re
from collections.abc import Mapping, Sequence
from typing import Final

from reportgen.importing.carriers.lookups import code

ENTRY_END: Final = re.compile(r"[;\n]")
ENTRY_END_IN_LINE: Final = re.compile(r",(?=[^,=]*=)")
BETWEEN: Final = re.compile(r"\s*[,+&]\s*|\s+(?:and|und|et|y|en|e)\s+")
RANGE: Final = re.compile(r"(.+?)(?:\s*(?:-|–|\.{2,3})\s*|\s+(?:to|bis|à|a|tot)\s+)(.+)")
NUMBERED: Final = re.compile(r"(.*?)(\d+)")


def entries_of(text: str) -> tuple[tuple[str, str], ...]:
    """Return the ids and the name of each entry of a key, as they are written.

    Raises ValueError where a part of the text is no entry.
    """
    parts: list[str] = []
    for line in ENTRY_END.split(text):
        parts.extend(ENTRY_END_IN_LINE.split(line) if line.count("=") > 1 else [line])
    entries = []
    for part in parts:
        ids, _, name = part.partition("=")
        if ids.strip() and name.strip():
            entries.append((ids.strip(), name.strip()))
        elif part.strip():
            raise ValueError(part.strip())
    return tuple(entries)


def labels_meant(ids: str, levels: Sequence[str]) -> tuple[list[str], list[str]]:
    """Return the labels that ids such as `1-4`, `A1, A3` or `plots 5 to 8` mean, and the ids that
    are none of them.
    """
    known = {code(level): level for level in levels}
    if code(ids) in known:
        return [known[code(ids)]], []
    meant: list[str] = []
    unknown: list[str] = []
    for piece in BETWEEN.split(ids):
        found = _labels_of(piece, known) or _labels_of(piece.partition(" ")[2], known)
        meant.extend(found)
        if not found:
            unknown.append(piece)
    return meant, unknown


def _labels_of(piece: str, known: Mapping[str, str]) -> list[str]:
    """Return the label or the range of labels that a text means.

    There are none where one of them is not known.
    """
    if code(piece) in known:
        return [known[code(piece)]]
    ends = RANGE.fullmatch(piece)
    if ends is None:
        return []
    first_code, last_code = map(code, ends.groups())
    if first_code not in known or last_code not in known:
        return []
    first, last = NUMBERED.fullmatch(first_code), NUMBERED.fullmatch(last_code)
    if first is None or last is None or first[1] != last[1]:
        return []
    return _numbered_within(known, first[1], range(int(first[2]), int(last[2]) + 1))


def _numbered_within(known: Mapping[str, str], letters: str, numbers: range) -> list[str]:
    """Return the labels whose codes are some letters and a number of a range."""
    labels = []
    for text, label in known.items():
        match = NUMBERED.fullmatch(text)
        if match and match[1] == letters and int(match[2]) in numbers:
            labels.append(label)
    return labels
