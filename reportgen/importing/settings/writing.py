"""Write settings as a file that a person can read; what its owner wrote there stays."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import Item
from tomlkit.items import Table as TomlTable

from reportgen.importing.model.layouts import Layout
from reportgen.importing.model.settings import Settings
from reportgen.importing.settings import keys
from reportgen.importing.settings.forms import Key, written_keys
from reportgen.importing.settings.lines import lines_of
from reportgen.importing.settings.reading import parsed

HEAD: Final = (
    "How {log} is read. You may change it; adopting the log again keeps your changes.",
    (
        "Labels stand in: column:NAME | over:1 (a header row) | section | sheet | file | title |"
        " colour | part:NAME:1 ..."
    ),
)
TAIL_NAMES: Final = tuple(key.name for key in keys.TAIL_KEYS)
AS_TABLES: Final = ("treatments", *TAIL_NAMES)
ORDERED: Final = ("treatments",)
WIDEST: Final = 100  # letters of a line; a longer list has a line for each item
Plain = dict[str, Any]


def settings_text(settings: Settings, log_name: str, earlier: str = "") -> str:
    """Return the text of a settings file.

    `earlier` is the text of the file that is there: what says the same stays as it is, with
    comments and order. Raises WorkbookError where it cannot be read.
    """
    wanted = _written(settings)
    tables = wanted.pop(keys.TABLE_KEY)
    if not earlier.strip():
        return _with_tables(_new_text(wanted, log_name), tables)
    present = _written(parsed(earlier, settings.name or log_name))
    document = tomlkit.parse(earlier)
    pairs = _paired(present.pop(keys.TABLE_KEY), tables)
    _update_tables(document, pairs)
    _update(document, present, wanted)
    added = [after for before, after in pairs if before is None and after is not None]
    return _with_tables(tomlkit.dumps(document), added)


def _written(settings: Settings) -> Plain:
    """Return the settings as plain values in the order of the file."""
    written: Plain = {keys.EDITION_KEY: keys.EDITION}
    written |= written_keys(settings.conventions, keys.CONVENTION_KEYS)
    written |= written_keys(settings, keys.HEAD_KEYS)
    written[keys.TABLE_KEY] = [_written_table(layout) for layout in settings.layouts]
    written |= written_keys(settings, keys.TAIL_KEYS)
    return written


def _written_table(layout: Layout) -> Plain:
    written: Plain = {}
    for key in keys.TABLE_KEYS:
        if key.name in layout.dimensions:
            written[key.name] = key.form.write(layout.dimensions[key.name])  # type: ignore[index]
        elif hasattr(layout, key.field) and not _is_implied(key, layout):
            written |= written_keys(layout, (key,))
    return written


def _is_implied(key: Key, layout: Layout) -> bool:
    return key.field == "table" and layout.sheets[:1] == (layout.table,)


# --- a new file


def _new_text(wanted: Plain, log_name: str) -> str:
    document = tomlkit.document()
    for line in HEAD:
        document.add(tomlkit.comment(line.format(log=log_name)))
    for name in sorted(wanted, key=lambda name: name in AS_TABLES):
        document.add(name, _value(name, wanted[name]))
    return tomlkit.dumps(document)


def _value(name: str, value: Any) -> Item:
    """Return the value of a key at the top of the file, in a table of its own where it has one."""
    if name in AS_TABLES and isinstance(value, Mapping):
        return _table(value)
    return _item(name, value)


def _with_tables(text: str, tables: Sequence[Plain]) -> str:
    """Return a text with further tables behind its last one.

    In a new file they stand before what belongs at its end.
    """
    if not tables:
        return text
    lines = text.split("\n")
    index = _end_of_tables(text, lines)
    parts = ["\n".join(lines[:index]).rstrip("\n")]
    for table in tables:
        document = tomlkit.document()
        document.add(keys.TABLE_KEY, tomlkit.aot())
        document[keys.TABLE_KEY].append(_table(table))
        parts.append(tomlkit.dumps(document).strip("\n"))
    parts.append("\n".join(lines[index:]).strip("\n"))
    return "\n\n".join(part for part in parts if part) + "\n"


def _end_of_tables(text: str, lines: Sequence[str]) -> int:
    """Return the index of the line that follows the last table: a header, or comments above it."""
    numbers = lines_of(text)
    begin = f"{keys.TABLE_KEY}."
    last = max((number for path, number in numbers.items() if path.startswith(begin)), default=0)
    headers = [numbers[name] - 1 for name in TAIL_NAMES if numbers.get(name, 0) > last]
    index = min(headers, default=len(lines))
    while index > last and lines[index - 1].startswith("#"):
        index -= 1
    return index


def _table(values: Mapping[str, Any]) -> TomlTable:
    """Return a table of a key a line; long values have a table of their own, at the end."""
    table = tomlkit.table()
    long_values = {}
    for name, value in values.items():
        if isinstance(value, Mapping) and _is_long(name, value):
            long_values[name] = value
        else:
            table.add(name, _item(name, value))
    for name, value in long_values.items():
        table.add(name, _lines(value))
    return table


def _lines(values: Mapping[str, Any]) -> TomlTable:
    table = tomlkit.table()
    for name, value in values.items():
        table.add(name, _item(name, value))
    return table


def _is_long(name: str, value: Mapping[str, Any]) -> bool:
    return len(name) + len(repr(value)) > WIDEST


def _item(name: str, value: Any) -> Item:
    if isinstance(value, Mapping):
        return _inline(value)
    if isinstance(value, list):
        return _array(name, value)
    item: Item = tomlkit.item(value)
    return item


def _inline(value: Mapping[str, Any]) -> Item:
    table = tomlkit.inline_table()
    for name, item in value.items():
        table.add(name, _item("", item))
    return table


def _array(name: str, values: Sequence[Any]) -> Item:
    array = tomlkit.array()
    for value in values:
        array.append(_item("", value))
    if name and len(name) + len(repr(values)) > WIDEST:
        array.multiline(True)
    return array


# --- a file that is there


def _update(container: Any, before: Mapping[str, Any], after: Mapping[str, Any]) -> None:
    """Change what differs in a part of a document; `before` is what it says now."""
    for name in before:
        if name not in after and name in container:
            del container[name]
    for name, value in after.items():
        if name not in before:
            container[name] = _value(name, value)
        elif not _is_same(name, before[name], value):
            _change(container, name, before[name], value)


def _change(container: Any, name: str, before: Any, after: Any) -> None:
    """Change one value of a document, of a table only what differs in it."""
    if all(isinstance(value, Mapping) for value in (container[name], before, after)):
        _update(container[name], before, after)
    else:
        container[name] = _item(name, after)


def _is_same(name: str, before: Any, after: Any) -> bool:
    if name in ORDERED:
        return list(before.items()) == list(after.items())
    return bool(before == after)


def _paired(
    before: Sequence[Plain], after: Sequence[Plain]
) -> list[tuple[Plain | None, Plain | None]]:
    """Return tables of a file with what they become, in order.

    None stands for the table before a new one, and after one that goes.
    """
    left = list(after)
    pairs: list[tuple[Plain | None, Plain | None]] = []
    for table in before:
        match = _match(table, left)
        if match is not None:
            left.remove(match)
        pairs.append((table, match))
    return [*pairs, *((None, table) for table in left)]


def _match(table: Plain, others: Sequence[Plain]) -> Plain | None:
    """Return the table of the same name, that which gives the same sheet before others."""
    same_name = [other for other in others if _name(other) == _name(table)]
    for other in same_name:
        if other.get("gives") == table.get("gives"):
            return other
    if same_name:
        return same_name[0]
    return None


def _name(table: Plain) -> str:
    sheets = table.get("sheets", [""])
    return str(table.get("name", sheets[0]))


def _update_tables(
    document: TOMLDocument, pairs: Sequence[tuple[Plain | None, Plain | None]]
) -> None:
    present = [(before, after) for before, after in pairs if before is not None]
    if present and not any(after for _, after in present):
        del document[keys.TABLE_KEY]
        return
    for index in range(len(present) - 1, -1, -1):
        before, after = present[index]
        if after is None:
            del document[keys.TABLE_KEY][index]
        else:
            _update(document[keys.TABLE_KEY][index], before, after)
