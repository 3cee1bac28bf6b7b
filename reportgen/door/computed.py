"""The lists of a results file as pandas tables, made of the classes that declare their entries."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, is_dataclass
from functools import cache
from types import NoneType
from typing import Any, Final, get_args, get_origin, get_type_hints

import pandas as pd

from reportgen.report.result_parts import MessageEntry
from reportgen.report.results_model import ResultsFile

ALSO_NAMING: Final = ("within",)  # texts that may be None and still tell entries apart
NUMBERS: Final = {float: "float64", int: "Int64", bool: "boolean"}


@dataclass(frozen=True)
class Part:
    """A list of a results file: the names of the fields that lead to it, and its entries' class."""

    path: tuple[str, ...]
    entry: type


@cache
def parts() -> Mapping[str, Part]:
    """Return the lists of a results file by name, those within the entries of others too."""
    by_name: dict[str, Part] = {}
    for part in _parts(ResultsFile, ()):
        name = ".".join(part.path)
        by_name[name] = part
    return by_name


def _parts(kind: type, path: tuple[str, ...]) -> Iterator[Part]:
    for name, hint in _fields(kind).items():
        longer = (*path, name)
        entry = _entry_of(hint)
        if entry:
            yield Part(longer, entry)
            yield from _parts(entry, longer)
        elif not path and is_dataclass(hint):
            yield from _parts(hint, longer)


def _fields(kind: Any) -> Mapping[str, type]:
    """Return the type of each field, without the None that some of them may be."""
    return {name: _without_none(hint) for name, hint in get_type_hints(kind).items()}


def _without_none(hint: Any) -> Any:
    choices = get_args(hint)
    if NoneType not in choices:
        return hint
    first, *_ = choices
    return first


def _entry_of(hint: Any) -> type | None:
    """Return the class of the entries of a list; None for what is no list, and for messages."""
    if get_origin(hint) is not tuple:
        return None
    entry: type = get_args(hint)[0]
    if is_dataclass(entry) and entry is not MessageEntry:
        return entry
    return None


def frame(file: ResultsFile, name: str) -> pd.DataFrame:
    """Return a list of a results file, one row an entry; raise KeyError where there is no such
    list.
    """
    part = parts()[name]
    rows = list(_rows(file, part.path, {}))
    columns = _columns(part)
    made = pd.DataFrame(rows, columns=list(columns), dtype=object)
    for column, kind in columns.items():
        if kind in NUMBERS:
            made[column] = made[column].astype(NUMBERS[kind])
    return made


def _rows(holder: Any, path: tuple[str, ...], texts: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Yield the rows of the list that a path leads to; `texts` name the entries around it."""
    name, *further = path
    value = getattr(holder, name)
    if is_dataclass(value):
        yield from _rows(value, tuple(further), texts)
        return
    for entry in value:
        if further:
            yield from _rows(entry, tuple(further), texts | _texts(entry))
        else:
            yield texts | _row(entry)


def _texts(entry: Any) -> dict[str, Any]:
    """Return the texts of an entry, which name it for the rows of a list within it."""
    return {name: getattr(entry, name) for name in _naming(type(entry))}


def _naming(kind: Any) -> list[str]:
    """Return the names of the fields that tell entries of a class apart."""
    hints = get_type_hints(kind)
    return [name for name, hint in hints.items() if hint is str or name in ALSO_NAMING]


def _row(entry: Any) -> dict[str, Any]:
    row: dict[str, Any] = {}
    for name, hint in _fields(type(entry)).items():
        value = getattr(entry, name)
        if is_dataclass(hint):
            row |= _nested(name, value)
        elif _entry_of(hint) is None:
            row[name] = _cell(value)
    return row


def _nested(name: str, value: Any) -> dict[str, Any]:
    """Return the fields of a value within an entry, its name before theirs; no fields of None."""
    if value is None:
        return {}
    return {f"{name}_{field}": cell for field, cell in _row(value).items()}


def _cell(value: Any) -> Any:
    """Return a value; of messages their codes."""
    if not isinstance(value, tuple):
        return value
    return tuple(map(_code, value))


def _code(one: Any) -> Any:
    if isinstance(one, MessageEntry):
        return one.code
    return one


def _columns(part: Part) -> dict[str, type]:
    """Return the columns of a table with their types: texts of the entries around, then its own."""
    columns: dict[str, type] = {}
    for entry in _around(part.path):
        columns |= dict.fromkeys(_naming(entry), str)
    return columns | dict(_own_columns(part.entry))


def _around(path: tuple[str, ...]) -> Iterator[type]:
    """Yield the classes of the entries around a list."""
    for length in range(1, len(path)):
        part = parts().get(".".join(path[:length]))
        if part:
            yield part.entry


def _own_columns(entry: type) -> Iterator[tuple[str, type]]:
    for name, hint in _fields(entry).items():
        if is_dataclass(hint):
            for field, kind in _own_columns(hint):
                yield f"{name}_{field}", kind
        elif _entry_of(hint) is None:
            yield name, hint
