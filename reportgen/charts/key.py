"""A key above a figure, for where names cannot stand at what they name."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from reportgen.charts.lettering import LINE, width, wrapped
from reportgen.charts.placed import Label

SYMBOL: Final = 16  # px, the symbol before a name
BETWEEN: Final = 18  # px from one entry to the next


@dataclass(frozen=True)
class Entry:
    """A name in lines: where its symbol begins, px from the left, and the middle of its first line
    from the top.
    """

    x: float
    y: float
    lines: tuple[str, ...]

    @property
    def labels(self) -> list[Label]:
        """Return the lines of the name, beside its symbol."""
        return [
            Label(self.x + SYMBOL, self.y + LINE * place, line)
            for place, line in enumerate(self.lines)
        ]


@dataclass(frozen=True)
class Key:
    """The entries of a key, in the order of the names, and its height in px."""

    entries: tuple[Entry, ...]
    height: float


def key(names: Sequence[str], room: float) -> Key:
    """Return a key in rows of as many entries as fit in `room` px; a longer name takes several
    lines.
    """
    found: list[Entry] = []
    x, top, bottom = 0.0, 0.0, 0.0
    for name in names:
        lines = tuple(wrapped(name, room - SYMBOL))
        needed = SYMBOL + max(map(width, lines))
        if x and x + needed > room:
            x, top = 0.0, bottom
        found.append(Entry(x, top + LINE / 2, lines))
        bottom = max(bottom, top + LINE * len(lines))
        x += needed + BETWEEN
    return Key(tuple(found), bottom)
