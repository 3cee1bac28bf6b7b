"""Which line of a TOML text sets a key, which no parser tells."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

_TOKEN: Final = re.compile(
    r"(?P<skip>[ \t\r]+|#[^\n]*)"
    r"|(?P<newline>\n)"
    r'|(?P<string>"""(?:\\.|[^\\])*?"""|\'\'\'.*?\'\'\'|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\')'
    r"|(?P<sign>[\[\]{}=,.])"
    r"|(?P<bare>[^\s\[\]{}=,.#\"']+)",
    re.DOTALL,
)
Token = tuple[str, str, int]  # kind, text, line


@dataclass
class _Place:
    """An open bracket: what it is of, and the next index where it is an array."""

    path: tuple[str, ...]
    is_array: bool
    index: int = 0


@dataclass
class _Walk:
    """Where a walk over tokens stands: `keys` are those before the next equals sign."""

    lines: dict[str, int] = field(default_factory=dict)
    counts: dict[tuple[str, ...], int] = field(default_factory=dict)
    prefix: tuple[str, ...] = ()
    keys: list[tuple[str, int]] = field(default_factory=list)
    path: tuple[str, ...] = ()
    open: list[_Place] = field(default_factory=list)
    in_value: bool = False

    def note(self, path: tuple[str, ...], line: int) -> None:
        self.lines.setdefault(".".join(path), line)


def lines_of(text: str) -> dict[str, int]:
    """Return the line, from 1, of each key of a valid TOML text by its path, such as `table.0.treatment`."""
    walk = _Walk()
    tokens = _tokens(text)
    for kind, token, line in tokens:
        at_start = not walk.in_value and not walk.open and not walk.keys
        if at_start and token == "[" and kind == "sign":
            _header(walk, tokens, line)
        elif kind == "newline":
            walk.in_value = walk.in_value and bool(walk.open)
            walk.keys = walk.keys if walk.open else []
        elif kind == "sign":
            _sign(walk, token)
        elif not walk.in_value:
            walk.keys.append((_bare(token), line))
    return walk.lines


def _tokens(text: str) -> Iterator[Token]:
    line = 1
    for match in _TOKEN.finditer(text):
        if match.lastgroup != "skip":
            yield str(match.lastgroup), match[0], line
        line += match[0].count("\n")


def _bare(token: str) -> str:
    return token[1:-1] if token[:1] in "\"'" else token


def _header(walk: _Walk, tokens: Iterator[Token], line: int) -> None:
    """Take the keys of `[table.values]` or `[[table]]`; the last table of an array is the one meant."""
    names: list[str] = []
    brackets = 1
    for kind, token, _ in tokens:
        if kind == "newline":
            break
        if token == "[":
            brackets += 1
        elif kind in ("bare", "string"):
            names.append(_bare(token))
    path: tuple[str, ...] = ()
    for name in names[:-1]:
        path = _last_of(walk, (*path, name))
    path = (*path, names[-1])
    if brackets == 2:
        walk.counts[path] = walk.counts.get(path, -1) + 1
    walk.prefix = _last_of(walk, path)
    walk.note(walk.prefix, line)


def _last_of(walk: _Walk, path: tuple[str, ...]) -> tuple[str, ...]:
    return (*path, str(walk.counts[path])) if path in walk.counts else path


def _sign(walk: _Walk, sign: str) -> None:
    if sign == "=" and walk.keys:
        base = walk.open[-1].path if walk.open else walk.prefix
        for name, line in walk.keys:
            base = (*base, name)
            walk.note(base, line)
        walk.path = base
        walk.keys = []
        walk.in_value = True
    elif sign in "[{" and (walk.in_value or walk.open):
        inside = walk.open[-1] if walk.open and walk.open[-1].is_array else None
        path = (*inside.path, str(inside.index)) if inside else walk.path
        walk.open.append(_Place(path, sign == "["))
        walk.in_value = sign == "["
    elif sign in "]}" and walk.open:
        walk.open.pop()
        walk.in_value = True
    elif sign == "," and walk.open:
        walk.open[-1].index += 1
        walk.in_value = walk.open[-1].is_array
