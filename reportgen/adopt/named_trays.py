"""Names of sheets, files and headings that tell a tray, and often its treatment too: Tray 1 fan, still 2."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from reportgen.adopt.matching import dimension, place_of, unit_of

PLACED: Final = re.compile(r"(?P<word>[^\W\d_]{2,})(?:[\s._#-]*(?P<number>\d+)|[\s._#-]+(?P<letter>[A-Z]))(?![^\W_])")
CODE: Final = re.compile(r"(?<![^\W_])(?:[^\W\d_]{1,3}[._#-]?)?\d+(?![^\W_])|(?<![^\W_])[A-Z](?![^\W_])")
GLUED: Final = re.compile(r"(?<=[^\W\d_]{2})(?=\d+$)")  # between the word and the number of fan2
TRAYS: Final = ("Tray", "Block")


@dataclass(frozen=True)
class Named:
    """What a name tells: the code of a tray, and the words beside it, empty where there are none."""

    tray: str
    treatment: str


def placed(names: Sequence[str]) -> tuple[Named, ...]:
    """Return the tray that each name numbers by a word such as tub or bench, none where not all of them do.

    None too where the number is of what stands behind it, as in "Shelf 30 cm". Where two names have one tray, each
    name is a tray.
    """
    found = [_placed(name) for name in names]
    known = [one for one in found if one]
    if len(known) < len(names) or any(_begins_with_unit(one.treatment) for one in known):
        return ()
    return tuple(_told_apart(names, known))


def _placed(name: str) -> Named | None:
    for match in PLACED.finditer(name):
        if place_of(f"{match['word']} 1") in TRAYS:
            return Named(match[0], _bare(name[: match.start()], name[match.end() :]))
    return None


def numbered(names: Sequence[str]) -> tuple[Named, ...]:
    """Return the code and the words of each name such as "fan 1" or "T3 still", where some words come again.

    None where not all have both, or no two have the same words: only their owner knows what the codes are.
    """
    found = [_numbered(name) for name in names]
    known = [one for one in found if one]
    words = Counter(one.treatment.casefold() for one in known)
    if len(known) < len(names) or not 1 < len(words) < len(set(names)):
        return ()
    return tuple(_told_apart(names, known))


def _numbered(name: str) -> Named | None:
    apart = GLUED.sub(" ", name.strip())
    codes = list(CODE.finditer(apart))
    rest = _bare(apart[: codes[0].start()], apart[codes[0].end() :]) if len(codes) == 1 else ""
    return None if not rest or _begins_with_unit(rest) else Named(codes[0][0], rest)


def _told_apart(names: Sequence[str], known: Sequence[Named]) -> Iterator[Named]:
    """Yield what names tell with trays that differ where the names do."""
    trays = {(one.tray.casefold(), name.casefold()) for one, name in zip(known, names, strict=True)}
    shared = len({tray for tray, _ in trays}) < len(trays)
    for one, name in zip(known, names, strict=True):
        yield Named(" ".join(name.split()), one.treatment) if shared else one


def _bare(*parts: str) -> str:
    return " ".join(" ".join(part.replace("_", " ").strip(" -–,;:./()[]#") for part in parts).split())


def _begins_with_unit(text: str) -> bool:
    return bool(text) and bool(dimension(unit_of(text.split(maxsplit=1)[0])))
