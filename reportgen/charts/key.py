"""A key above a figure, for where names cannot stand at what they name."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Final

from reportgen.charts.lettering import LINE, width, wrapped
from reportgen.charts.placed import Label

SYMBOL: Final = 16  # px, the symbol before a name
BETWEEN: Final = 18  # px from one entry to the next


@dataclass(frozen=True)
class Entry:
    """A name in lines: px from the left to its symbol, from the top to its first line's middle."""

    x: float
    y: float
    lines: tuple[str, ...]

    @property
    def labels(self) -> list[Label]:
        """Return the lines of the name, beside its symbol."""
        x = self.x + SYMBOL
        labels: list[Label] = []
        for number, line in enumerate(self.lines):
            labels.append(Label(x, self.y + LINE * number, line))
        return labels


@dataclass(frozen=True)
class Key:
    """The entries of a key, in the order of the names, and its height in px."""

    entries: tuple[Entry, ...]
    height: float

    @property
    def labels(self) -> list[Label]:
        """Return the lines of all names."""
        return list(chain.from_iterable(entry.labels for entry in self.entries))


def key(names: Sequence[str], room: float) -> Key:
    """Return a key in rows that fit in `room` px; a longer name takes several lines."""
    entries: list[Entry] = []
    x, top, bottom = 0.0, 0.0, 0.0
    for name in names:
        lines = tuple(wrapped(name, room - SYMBOL))
        needed = SYMBOL + max(map(width, lines))
        if x and x + needed > room:
            x, top = 0.0, bottom
        entries.append(Entry(x, top + LINE / 2, lines))
        bottom = max(bottom, top + LINE * len(lines))
        x += needed + BETWEEN
    return Key(tuple(entries), bottom)
