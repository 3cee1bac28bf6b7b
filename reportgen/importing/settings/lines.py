"""Which line of a TOML text sets a key, which no parser tells: by its headers, its keys and the
lines of its lists.
"""

import re
from typing import Final

_NAME: Final = r"""(?:"[^"\n]*"|'[^'\n]*'|[\w-]+)"""
_NAMES: Final = rf"{_NAME}(?:\s*\.\s*{_NAME})*"
_HEADER: Final = re.compile(rf"\s*(?P<brackets>\[\[?)\s*(?P<names>{_NAMES})\s*\]")
_KEY: Final = re.compile(rf"\s*(?P<names>{_NAMES})\s*=\s*(?P<list>\[\s*(?:#.*)?$)?")
Path = tuple[str, ...]


def lines_of(text: str) -> dict[str, int]:
    """Return the line, from 1, of each key of a valid TOML text by its path, such as
    `table.0.treatment`.

    What stands within the line of another key has none of its own.
    """
    lines: dict[str, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    items: Path | None = None  # the list whose items stand below, a line each
    index = 0
    for number, line in enumerate(text.split("\n"), 1):
        if items is not None:
            if line.strip().startswith("]"):
                items = None
            elif line.strip() and not line.strip().startswith("#"):
                lines.setdefault(".".join((*items, str(index))), number)
                index += 1
        elif header := _HEADER.match(line):
            table = _table(header, counts)
            lines.setdefault(".".join(table), number)
        elif key := _KEY.match(line):
            path = (*table, *_names(key))
            lines.setdefault(".".join(path), number)
            if key["list"]:
                items = path
            else:
                items = None
            index = 0
    return lines


def _table(header: re.Match[str], counts: dict[Path, int]) -> Path:
    """Return the path of a table, counted where it is one of several; a table within one is of the
    last of them.
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
