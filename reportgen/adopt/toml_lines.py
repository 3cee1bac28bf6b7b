"""Which line of a settings file sets a key: what a message must tell, and what a parser of TOML does not."""

import re
from collections.abc import Iterator, Mapping
from typing import Any, Final

from reportgen.adopt.mapping import Adoption
from reportgen.model.problem import Problem, Severity

TABLE: Final = re.compile(r"\s*\[\[\s*table\s*\]\]")
OTHER: Final = re.compile(r"\s*\[\s*(?!table\s*\.)[\"'\w]")


def lines_of(text: str, found: Mapping[str, Any]) -> Mapping[str, int]:
    """Return the number of the line of each key of a parsed file, by paths such as "table.0.columns.Tray"."""
    lines = text.splitlines()
    starts = [number for number, line in enumerate(lines) if TABLE.match(line)]
    known: dict[str, int] = {}
    for key, value in found.items():
        if key == "table" and isinstance(value, list) and len(value) == len(starts):
            for index, start in enumerate(starts):
                known[f"table.{index}"] = start + 1
                known.update(_within(lines, (start + 1, _end(lines, start)), f"table.{index}", value[index]))
        else:
            known.update(_within(lines, (0, len(lines)), "", {key: value}))
    return known


def _end(lines: list[str], start: int) -> int:
    """Return the index of the line that begins something else than the table that begins at `start`."""
    others = (at for at in range(start + 1, len(lines)) if TABLE.match(lines[at]) or OTHER.match(lines[at]))
    return next(others, len(lines))


def _within(lines: list[str], block: tuple[int, int], path: str, value: object) -> Iterator[tuple[str, int]]:
    """Yield the lines of the keys in `value`, looked for in the lines of `block`."""
    if not isinstance(value, Mapping):
        return
    for key, inner in value.items():
        at = _line_of(lines, block, str(key))
        if at is not None:
            inside = f"{path}.{key}" if path else str(key)
            yield inside, at + 1
            yield from _within(lines, (at, block[1]), inside, inner)


def _line_of(lines: list[str], block: tuple[int, int], key: str) -> int | None:
    name = rf"""(?:"{re.escape(key)}"|'{re.escape(key)}'|{re.escape(key)})\s*[=.\]]"""
    at_begin, anywhere = re.compile(rf"\s*\[?\s*(?:table\.)?{name}"), re.compile(rf"(?:^|[\s{{,.\[]){name}")
    written = [at for at in range(*block) if not lines[at].lstrip().startswith("#")]
    for pattern in (at_begin.match, anywhere.search):
        found = next((at for at in written if pattern(lines[at])), None)
        if found is not None:
            return found
    return None


def at_line(adoption: Adoption, key: str, found: str, expected: str, advice: str) -> Problem:
    """Return an error at the line of the settings file that sets `key`."""
    line = adoption.line(key)
    place = f"{adoption.name}, line {line}:" if line else f"{adoption.name}:"
    return Problem(Severity.ERROR, "", "", f"{place} {found}", expected, advice, code="wrong_setting")
