"""Forms of values in a settings file: each read, written and described in one place."""

import re
from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, fields
from datetime import date
from enum import StrEnum
from functools import partial
from typing import Any, Final

from reportgen.importing.model.layouts import Corrected, LeftOut, Lookup, Source
from reportgen.importing.settings.sources import EXPECTED, source_in, source_text
from reportgen.language import marked, say
from reportgen.workbook.headers import nearest

LOOKUP: Final = ("from", "key", "match", "gives")
_ROW: Final = re.compile(r"(\d+):\1")


class WrongValue(Exception):
    """A value is not of its form.

    `path` are the keys within it, `found` and `expected` are words for a message.
    """

    def __init__(self, expected: str, path: tuple[str, ...] = (), found: str = "") -> None:
        super().__init__(expected)
        self.expected, self.path, self.found = expected, path, found

    def within(self, key: str) -> "WrongValue":
        """Return the same mistake as one of a key that holds the value."""
        return WrongValue(self.expected, (key, *self.path), self.found)


@dataclass(frozen=True)
class Form:
    """How values of some keys are written.

    `expected` says it in words, `read` raises WrongValue; `name` is a short word.
    """

    expected: Callable[[], str]
    read: Callable[[Any], Any]
    write: Callable[[Any], Any]
    name: str = ""

    @property
    def holds(self) -> str:
        """Return what a key of the form holds, in few words."""
        if self.name:
            return say(self.name)
        return self.expected()


def _same(value: Any) -> Any:
    return value


def _checked(kind: type, expected: str) -> Callable[[Any], Any]:
    def read(value: Any) -> Any:
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            raise WrongValue(say(expected))
        return value

    return read


def _plain(kind: type, expected: str) -> Form:
    return Form(partial(say, expected), _checked(kind, expected), _same)


TEXT: Final = _plain(str, marked("a text"))
FLAG: Final = _plain(bool, marked("true or false"))
WHOLE: Final = _plain(int, marked("a whole number"))
A_FILE: Final = marked("the name of a file in the log's folder")
A_NUMBER: Final = marked("a number")
A_FIELD: Final = marked("a text, a number or a date")
A_CELL: Final = marked("a text or a number")


def _read_file_name(value: Any) -> str:
    """Return the name of a file.

    A path is refused, since the settings of a log lead to no other folder.
    """
    if not isinstance(value, str) or value in {"", ".", ".."} or set(value) & set("/\\:\0"):
        raise WrongValue(say(A_FILE))
    return value


FILE_NAME: Final = Form(partial(say, A_FILE), _read_file_name, _same)


def _read_number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise WrongValue(say(A_NUMBER))
    return float(value)


def _short(number: float) -> int | float:
    if float(number).is_integer() and abs(number) < 1e15:
        return int(number)
    return float(number)


NUMBER: Final = Form(partial(say, A_NUMBER), _read_number, _short)


def _read_field(value: Any) -> object:
    if not isinstance(value, str | int | float | date):
        raise WrongValue(say(A_FIELD))
    return value


FIELD: Final = Form(partial(say, A_FIELD), _read_field, _same)


def choice(kind: type[StrEnum], also: Mapping[str, StrEnum] | None = None) -> Form:
    """Return the form of one of some words; `also` are further words that are read for them."""
    words = {member.value: member for member in kind if member.value}
    expected = partial(_one_of, tuple(words))

    def read(value: Any) -> Any:
        choices = {**words, **(also or {})}
        if not isinstance(value, str) or value not in choices:
            raise WrongValue(expected())
        return choices[value]

    return Form(expected, read, lambda member: member.value)


def word_of(words: tuple[str, ...]) -> Form:
    """Return the form of one of some words, kept as text."""
    expected = partial(_one_of, words)

    def read(value: Any) -> Any:
        if value not in words:
            raise WrongValue(expected())
        return value

    return Form(expected, read, _same)


def _one_of(words: tuple[str, ...]) -> str:
    """Return that one of some words was expected, each in quotes."""
    quoted = [f'"{word}"' for word in words]
    return say("one of {words}", words=", ".join(quoted))


def many(form: Form, what: str) -> Form:
    """Return the form of a list; one value alone is read as a list of one."""

    def expected() -> str:
        return say("a list of {what}", what=say(what))

    def read(value: Any) -> tuple[Any, ...]:
        if isinstance(value, list):
            values = value
        else:
            values = [value]
        found: list[Any] = []
        for index, item in enumerate(values):
            try:
                found.append(form.read(item))
            except WrongValue as wrong:
                is_in_list = isinstance(value, list)
                if is_in_list:
                    raise wrong.within(str(index)) from wrong
                raise WrongValue(expected()) from wrong
        return tuple(found)

    return Form(expected, read, lambda values: [form.write(value) for value in values])


def by_name(form: Form, names: str, known: Callable[[str, Any], str] | None = None) -> Form:
    """Return the form of values by name.

    `known` returns what a name and its value should be, "" if right.
    """

    def expected() -> str:
        return f"{{ {names} = {form.holds} }}"

    def read(value: Any) -> dict[str, Any]:
        if not isinstance(value, Mapping):
            raise WrongValue(expected())
        result: dict[str, Any] = {}
        for name, item in value.items():
            if known and (wrong := known(name, item)):
                raise WrongValue(wrong, (name,), f'"{name}"')
            try:
                result[name] = form.read(item)
            except WrongValue as error:
                raise error.within(name) from error
        return result

    return Form(
        expected, read, lambda values: {name: form.write(value) for name, value in values.items()}
    )


def for_all_or_by_sheet(form: Form) -> Form:
    """Return the form of what holds for all sheets, or differs by sheet.

    A sheet called "" is all others.
    """
    by_sheet = by_name(form, "SHEET")

    def expected() -> str:
        return say("{expected}, or by sheet", expected=form.expected())

    def read(value: Any) -> dict[str, Any]:
        if isinstance(value, Mapping):
            return dict(by_sheet.read(value))
        try:
            return {"": form.read(value)}
        except WrongValue as wrong:
            raise WrongValue(expected()) from wrong

    def write(values: Mapping[str, Any]) -> Any:
        if set(values) == {""}:
            return form.write(values[""])
        return by_sheet.write(values)

    return Form(expected, read, write)


# --- objects of several keys


@dataclass(frozen=True)
class Key:
    """A key of the settings file: its name, the field that it fills, its form, its help."""

    name: str
    field: str
    form: Form
    help: str


def default_of(kind: type, name: str) -> Any:
    """Return the value of a field of a dataclass that is not set."""
    part_of_kind = next(part for part in fields(kind) if part.name == name)
    # MISSING where required
    if part_of_kind.default_factory is MISSING:
        return part_of_kind.default
    return part_of_kind.default_factory()


def written_keys(item: Any, keys: tuple[Key, ...]) -> dict[str, Any]:
    """Return the keys of an object that differ from their defaults, as they stand in the file."""
    written: dict[str, Any] = {}
    for key in keys:
        value = getattr(item, key.field)
        if value != default_of(type(item), key.field):
            written[key.name] = key.form.write(value)
    return written


def near(name: str, names: tuple[str, ...]) -> str:
    """Return what was expected in place of a name that is not known."""
    close = nearest(name, names)
    if not close:
        return say("one of {words}", words=", ".join(names))
    return say('"{name}", or another of the known names', name=close)


def read_keys(value: Any, keys: tuple[Key, ...]) -> dict[str, Any]:
    """Return the values of an object's keys by the field that they fill.

    Raises WrongValue at the first mistake.
    """
    if not isinstance(value, Mapping):
        raise WrongValue(f"{{ {keys[0].name} = ... }}")
    by_name = {key.name: key for key in keys}
    result: dict[str, Any] = {}
    for name, item in value.items():
        if name not in by_name:
            raise WrongValue(near(name, tuple(by_name)), (name,), f'"{name}"')
        try:
            result[by_name[name].field] = by_name[name].form.read(item)
        except WrongValue as wrong:
            raise wrong.within(name) from wrong
    return result


# --- sources, and cells with what stood in them


def _read_source(value: Any) -> Source:
    try:
        if not isinstance(value, Mapping):
            return source_in(value)
        _expect_keys(value, LOOKUP)
        carriers = source_in(value["from"]).carriers
    except ValueError as error:
        raise WrongValue(str(error)) from error
    texts = [TEXT.read(value[key]) for key in LOOKUP[1:]]
    return Source(carriers, Lookup(*texts))


def _expect_keys(value: Mapping[str, Any], keys: tuple[str, ...]) -> None:
    if set(value) != set(keys):
        raise WrongValue(say("the keys {keys}", keys=", ".join(keys)))


def _write_source(source: Source) -> Any:
    carriers = source_text(source.carriers)
    if not source.lookup:
        return carriers
    lookup = source.lookup
    return {"from": carriers, "key": lookup.table, "match": lookup.match, "gives": lookup.result}


SOURCE: Final = Form(
    partial(say, EXPECTED), _read_source, _write_source, marked("a place of labels")
)


def as_text(value: Any) -> str:
    """Return a text or number of the file as the text of a cell."""
    if isinstance(value, str):
        return value
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise WrongValue(say(A_CELL))
    return f"{value:.15g}"


def _as_number(text: str) -> Any:
    """Return the text of a cell as a number where it is written as one, else as it stands."""
    try:
        number = _short(float(text))
    except (ValueError, OverflowError):
        return text
    if as_text(number) == text:
        return number
    return text


CELL: Final = Form(partial(say, A_CELL), as_text, _as_number)
LEFT_OUT_KEYS: Final = (
    Key("row", "row", WHOLE, "The number of a row."),
    Key("cells", "cells", TEXT, "The cells, where they are no whole row."),
    Key("holds", "holds", TEXT, "What stood there."),
    Key("because", "because", TEXT, "Why it is not read."),
)
CORRECTED_KEYS: Final = (
    Key("cell", "cell", TEXT, "The cell."),
    Key("held", "held", CELL, "What stood there."),
    Key("is", "value", CELL, "What holds."),
)


def _read_left_out(value: Any) -> LeftOut:
    read = read_keys(value, LEFT_OUT_KEYS)
    row = read.get("row", 0)
    if row:
        cells = f"{row}:{row}"
    else:
        cells = read.get("cells", "")
    if not cells:
        raise WrongValue(say('row = 38, or cells = "B4"'), ("row",))
    return LeftOut(cells, read.get("holds", ""), read.get("because", ""))


def _write_left_out(item: LeftOut) -> dict[str, Any]:
    row = _ROW.fullmatch(item.cells)
    rest = {"holds": item.holds, "because": item.because}
    if row:
        return {"row": int(row[1]), **rest}
    return {"cells": item.cells, **rest}


LEFT_OUT: Final = Form(partial(say, marked("what is left out")), _read_left_out, _write_left_out)


def _read_corrected(value: Any) -> Corrected:
    read = read_keys(value, CORRECTED_KEYS)
    if len(read) < len(CORRECTED_KEYS):
        raise WrongValue('{ cell = "D17", held = 42, is = 4.2 }', ("cell",))
    return Corrected(**read)


def _write_corrected(item: Corrected) -> dict[str, Any]:
    return written_keys(item, CORRECTED_KEYS)


CORRECTED: Final = Form(partial(say, marked("a corrected cell")), _read_corrected, _write_corrected)
