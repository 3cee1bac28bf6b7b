"""Which line of a TOML text sets a key, which no parser tells.

Lines are told by headers, keys and items of lists.
"""

import re
from dataclasses import dataclass, field
from typing import Final

_NAME: Final = r"""(?:"[^"\n]*"|'[^'\n]*'|[\w-]+)"""
_NAMES: Final = rf"{_NAME}(?:\s*\.\s*{_NAME})*"
_HEADER: Final = re.compile(rf"\s*(?P<brackets>\[\[?)\s*(?P<names>{_NAMES})\s*\]")
_KEY: Final = re.compile(rf"\s*(?P<names>{_NAMES})\s*=\s*(?P<list>\[\s*(?:#.*)?$)?")
Path = tuple[str, ...]


@dataclass
class _Reader:
    """Reads lines of a TOML text; `lines` gathers the line of each key by its path.

    `items` is the list whose items stand below, a line each, with the number of those read.
    """

    lines: dict[str, int] = field(default_factory=dict)
    counts: dict[Path, int] = field(default_factory=dict)
    table: Path = ()
    items: Path | None = None
    items_read: int = 0

    def read(self, number: int, line: str) -> None:
        """Note what a line sets; `number` counts from 1."""
        if self.items is not None:
            self._read_item(self.items, number, line.strip())
        elif header := _HEADER.match(line):
            self.table = _table(header, self.counts)
            self._note(self.table, number)
        elif key := _KEY.match(line):
            path = (*self.table, *_names(key))
            self._note(path, number)
            if key["list"]:
                self.items = path
                self.items_read = 0

    def _read_item(self, items: Path, number: int, text: str) -> None:
        if text.startswith("]"):
            self.items = None
        elif text and not text.startswith("#"):
            self._note((*items, str(self.items_read)), number)
            self.items_read += 1

    def _note(self, path: Path, number: int) -> None:
        self.lines.setdefault(".".join(path), number)


def lines_of(text: str) -> dict[str, int]:
    """Return the line, from 1, of each key of a valid TOML text by path: `table.0.treatment`.

    What stands within the line of another key has none of its own.
    """
    reader = _Reader()
    for number, line in enumerate(text.split("\n"), 1):
        reader.read(number, line)
    return reader.lines


def _table(header: re.Match[str], counts: dict[Path, int]) -> Path:
    """Return the path of a table, counted where it is one of several.

    A table within one is of the last of them.
    """
    path: Path = ()
    names = _names(header)
    for name in names[:-1]:
        path = _last_of((*path, name), counts)
    path = (*path, names[-1])
    if header["brackets"] == "[[":
        counts[path] = counts.get(path, -1) + 1
    return _last_of(path, counts)


def _last_of(path: Path, counts: dict[Path, int]) -> Path:
    if path in counts:
        return (*path, str(counts[path]))
    return path


def _names(match: re.Match[str]) -> list[str]:
    return [name.strip("\"'") for name in re.findall(_NAME, match["names"])]
