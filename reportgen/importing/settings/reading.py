"""Read a settings file, naming each mistake in it by its line."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from reportgen.importing.model.cells import Conventions
from reportgen.importing.model.layouts import Dimension, Layout
from reportgen.importing.model.settings import Settings
from reportgen.importing.settings import keys
from reportgen.importing.settings.forms import Key, WrongValue, near
from reportgen.importing.settings.lines import lines_of
from reportgen.language import is_english, say
from reportgen.model.problem import Problem, WorkbookError, of_file
from reportgen.workbook.values import shown

LINE: Final = f"{keys.EDITION_KEY} = {keys.EDITION}"


@dataclass
class _Reader:
    """Reads one file; `problems` gathers what is wrong in it."""

    name: str
    lines: Mapping[str, int]
    problems: list[Problem] = field(default_factory=list)

    def refuse(self, path: Sequence[str], found: str, expected: str) -> None:
        """Note a mistake at the line of the innermost of some keys that has one."""
        for end in range(len(path), 0, -1):
            line = self.lines.get(".".join(path[:end]))
            if line:
                self.problems.append(
                    _problem(
                        say("{file}, line {line}: {found}", file=self.name, line=line, found=found),
                        expected,
                        say("Mend the line."),
                    )
                )
                return
        self.problems.append(_problem(f"{self.name}: {found}", expected, say("Mend it.")))

    def read(
        self, values: Mapping[str, Any], path: tuple[str, ...], known_keys: tuple[Key, ...]
    ) -> dict[str, Any]:
        """Return the values of known keys by the field that they fill."""
        read: dict[str, Any] = {}
        for key in known_keys:
            if key.name not in values:
                continue
            try:
                read[key.field] = key.form.read(values[key.name])
            except WrongValue as wrong:
                inner = (*path, key.name, *wrong.path)
                found = wrong.found or say(
                    "{key} is {value}", key=key.name, value=_shown(values[key.name], wrong.path)
                )
                self.refuse(inner, found, wrong.expected)
        return read

    def unknown(
        self, values: Mapping[str, Any], path: tuple[str, ...], names: tuple[str, ...]
    ) -> None:
        """Note keys that no settings file has."""
        for name in values:
            if name not in names:
                self.refuse(
                    (*path, name), say('"{name}" is not a key', name=name), near(name, names)
                )


def _shown(value: Any, path: tuple[str, ...]) -> str:
    """Return the value that is wrong, within the one that holds it."""
    for key in path:
        if isinstance(value, Mapping):
            value = value.get(key, "")
        elif isinstance(value, list) and key.isdecimal():
            value = value[int(key)]
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{shown(value)}"'
    return shown(value)


def _problem(found: str, expected: str, advice: str, code: str = "wrong_setting") -> Problem:
    return of_file(code, found, expected, advice)


def read_settings(path: Path) -> Settings:
    """Return what a settings file says.

    Raises WorkbookError, with every mistake and its line, where it cannot be read or a key or value
    is wrong.
    """
    try:
        text = path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        found = say("{file} cannot be read", file=path.name)
        problem = _problem(
            found, say("a text file in UTF-8"), say("Save it as plain text."), "unreadable_settings"
        )
        raise WorkbookError((problem,)) from error
    return parsed(text, path.name)


def parsed(text: str, name: str) -> Settings:
    """Return what the text of a settings file says; raises WorkbookError as `read_settings` does."""
    values = toml_in(text, name)
    _refuse_other_editions(values, name)
    reader = _Reader(name, lines_of(text))
    reader.unknown(values, (), keys.TOP_NAMES)
    conventions = Conventions(**reader.read(values, (), keys.CONVENTION_KEYS))
    _refuse_words_of_two_meanings(reader, conventions)
    further = reader.read(values, (), (*keys.HEAD_KEYS, *keys.TAIL_KEYS))
    layouts = _layouts(reader, values.get(keys.TABLE_KEY, []))
    if reader.problems:
        raise WorkbookError(tuple(reader.problems))
    return Settings(
        layouts=layouts, conventions=conventions, **further, name=name, lines=reader.lines
    )


def toml_in(text: str, name: str) -> dict[str, Any]:
    """Return the keys of a TOML text; raise WorkbookError with the line where it is none."""
    import tomlkit
    from tomlkit.exceptions import ParseError, TOMLKitError

    try:
        return dict(tomlkit.parse(text).unwrap())
    except ParseError as error:
        reason = _reason(error)
        found = say("{file}, line {line}: {found}", file=name, line=error.line, found=reason)
        problem = _problem(found, "TOML", say("Mend the line."), "unreadable_settings")
    except TOMLKitError as error:  # a key that is set twice has no line there
        problem = _problem(
            f"{name}: {_reason(error)}",
            say("each key once"),
            say("Delete one of the two."),
            "unreadable_settings",
        )
    except (ValueError, RecursionError):  # thousands of digits, or of brackets one in the other
        found = say("{name} holds a number or brackets without end", name=name)
        problem = _problem(found, "TOML", say("Mend the line."), "unreadable_settings")
    raise WorkbookError((problem,))


def _reason(error: Exception) -> str:
    """Return what the library that reads TOML says, which is in English."""
    if is_english():
        return str(error).split(" at line", maxsplit=1)[0]
    return say("this is no TOML")


def _refuse_other_editions(values: Mapping[str, Any], name: str) -> None:
    edition = values.get(keys.EDITION_KEY)
    if edition == keys.EDITION:
        return
    if edition is not None:
        found = say("{name} begins with adopt = {edition}", name=name, edition=edition)
    else:
        found = say("{name} has no line adopt = {edition}", name=name, edition=keys.EDITION)
    if edition is None and keys.TABLE_KEY in values:
        found = say("{name} was written by an earlier edition", name=name)
    advice = say("Delete it or move it away, and run reportgen adopt on the log again.")
    raise WorkbookError((_problem(found, LINE, advice, "earlier_settings"),))


def _refuse_words_of_two_meanings(reader: _Reader, conventions: Conventions) -> None:
    words = {"missing": conventions.missing, "lost": conventions.lost, "zero": conventions.zero}
    earlier: dict[str, str] = {}
    for meaning, own in words.items():
        for word in own:
            other = earlier.setdefault(word.casefold(), meaning)
            if other != meaning:
                problem = say(
                    '"{word}" is {meaning} and {other}',
                    word=shown(word),
                    meaning=meaning,
                    other=other,
                )
                reader.refuse((meaning,), problem, say("one meaning a word"))


def _layouts(reader: _Reader, tables: Any) -> tuple[Layout, ...]:
    if not isinstance(tables, list) or not all(isinstance(table, Mapping) for table in tables):
        reader.refuse(
            (keys.TABLE_KEY,),
            say("{key} is no list of tables", key=keys.TABLE_KEY),
            say("[[{key}]] above each table", key=keys.TABLE_KEY),
        )
        return ()
    layouts = []
    for index, table in enumerate(tables):
        layouts.append(_layout(reader, table, (keys.TABLE_KEY, str(index))))
    return tuple(layouts)


def _layout(reader: _Reader, values: Mapping[str, Any], path: tuple[str, ...]) -> Layout:
    reader.unknown(values, path, tuple(key.name for key in keys.TABLE_KEYS))
    read = reader.read(values, path, keys.TABLE_KEYS)
    if "gives" not in values:
        reader.refuse(
            path,
            say("the table does not say what it gives"),
            say('gives = "Plants", or another sheet, or "nothing"'),
        )
    if not values.get("sheets") and not values.get("name"):
        reader.refuse(path, say("the table does not say where it stands"), 'sheets = ["..."]')
    dimensions = {}
    for dimension in Dimension:
        if dimension.value in read:
            dimensions[dimension] = read.pop(dimension.value)
    table = read.pop("table", "")
    if not table and read.get("sheets"):
        table = read["sheets"][0]
    return Layout(table, read.pop("gives", ""), dimensions=dimensions, **read)
