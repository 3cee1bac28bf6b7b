"""Write the settings file of a spreadsheet; where there is one already, what its owner wrote in it stays."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from reportgen.adopt.mapping import UNKNOWN, Adoption, Source, TableMapping, Wide
from reportgen.adopt.toml_file import parsed
from reportgen.adopt.toml_lines import OTHER, TABLE

HEADING: Final = (
    '# How reportgen reads {file}. Edit freely; "reportgen check {file}" says if something does not fit.\n'
    "# A question mark in quotes stands where you must still say something.\n"
)
TRIAL_HEADING: Final = "[trial]  # what no table of the file tells, by the fields of the sheet Trial\n"
Notes = Mapping[str, str]  # what is said of a key, behind it or above its table, by paths such as "table.0.header_row"


def written(adoption: Adoption, file: str, earlier: str = "", notes: Notes | None = None) -> str:
    """Return the text of the settings file of the spreadsheet `file`.

    `earlier` is the text of the file that is there, empty where there is none. What stands in it is kept with its
    comments and order: only open questions in it are answered, and tables, words and fields of the trial that it lacks
    are added. Raises WorkbookError where `earlier` has mistakes.
    """
    said = notes or {}
    if not earlier.strip():
        return _new(adoption, file, said)
    known = parsed(earlier, "")
    text = _answered(earlier, adoption, known)
    new = [(f"table.{index}", table) for index, table in enumerate(adoption.tables) if _same(table, known) is None]
    text = _with_tables(text, [_table_text(key, table, said) for key, table in new])
    text = _with_words(text, [line for key, line in _words(adoption, said) if key not in _top_keys(earlier)])
    return _with_trial(text, adoption, said)


def _new(adoption: Adoption, file: str, notes: Notes) -> str:
    words = "".join(line for _, line in _words(adoption, notes))
    tables = [_table_text(f"table.{index}", table, notes) for index, table in enumerate(adoption.tables)]
    parts = [HEADING.format(file=file) + words, *tables]
    if adoption.trial:
        parts.append(TRIAL_HEADING + "".join(_fields(adoption, notes, adoption.trial)))
    return "\n".join(part for part in parts if part)


# --- as text


def _words(adoption: Adoption, notes: Notes) -> Iterator[tuple[str, str]]:
    for key, words in (("missing", adoption.missing), ("lost", adoption.lost)):
        yield key, _line(key, list(words), notes.get(key, ""))


def _fields(adoption: Adoption, notes: Notes, names: Sequence[str] | Mapping[str, object]) -> Iterator[str]:
    for name in names:
        yield _line(name, adoption.trial[name], notes.get(f"trial.{name}", ""))


def _table_text(key: str, table: TableMapping, notes: Notes) -> str:
    above = "".join(f"# {line}\n" for line in notes.get(key, "").splitlines())
    lines = (_line(name, value, notes.get(f"{key}.{name}", "")) for name, value in _entries(table))
    return f"{above}[[table]]\n{''.join(lines)}"


def _entries(table: TableMapping) -> Iterator[tuple[str, Any]]:
    """Yield the keys of a table that say something else than what holds without them."""
    usual = TableMapping("", "")
    treatment = table.columns["Treatment"].codes if "Treatment" in table.columns else {}
    held: dict[str, Any] = {
        "sheet": table.sheet,
        "file": table.file,
        "header_row": int(table.header_row) if table.header_row.isdigit() else table.header_row,
        "range": table.range,
        "gives": table.gives,
        "fill_down": list(table.fill_down),
        "columns": {name: _source(name, source) for name, source in table.columns.items()},
        "treatment": {**treatment, **table.treatment},
        "constants": table.constants,
        "wide": _wide(table.wide) if table.wide else {},
        "sections": table.sections,
        "exclude_rows": list(table.exclude_rows),
        "corrected": table.corrected,
        "confirmed": list(table.confirmed),
    }
    yield from ((key, value) for key, value in held.items() if value not in ("", [], {}))
    for key in ("day_first", "cumulative", "per"):
        if (value := getattr(table, key)) != getattr(usual, key):
            yield key, value


def _source(name: str, source: Source) -> str | Mapping[str, Any]:
    codes = {} if name == "Treatment" else source.codes  # those of treatments stand in a key of their own
    more = {key: value for key, value in (("unit", source.unit), ("codes", codes)) if value}
    return {"from": source.header, **more} if more else source.header


def _wide(wide: Wide) -> Mapping[str, Any]:
    unit = {"unit": wide.unit} if wide.unit else {}
    return {"names": wide.names, "values": wide.values, "headers": list(wide.headers), **unit}


def _line(key: str, value: object, note: str) -> str:
    import tomlkit

    behind = f"  # {note}" if note else ""
    return f"{tomlkit.key(key).as_string()} = {_value(value)}{behind}\n"


def _value(value: object) -> str:
    import tomlkit

    if isinstance(value, Mapping):
        inner = (f"{tomlkit.key(str(key)).as_string()} = {_value(one)}" for key, one in value.items())
        return f"{{ {', '.join(inner)} }}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_value, value))}]"
    return tomlkit.item(value).as_string()


# --- into the file that is there


def _same(table: TableMapping, known: Adoption) -> int | None:
    """Return which table of a file is the one that is now found: its owner may have mended all but its place."""
    for index, one in enumerate(known.tables):
        places = (one.header_row == table.header_row, one.range == table.range, one.gives == table.gives)
        if (one.file, one.sheet) == (table.file, table.sheet) and any((places[1] and table.range, *places[::2])):
            return index
    return None


def _answered(text: str, adoption: Adoption, known: Adoption) -> str:
    """Return the text of a file with its question marks replaced where they are answered now."""
    import tomlkit

    document = tomlkit.parse(text)
    answers = tomlkit.parse(_new(adoption, "", {})).unwrap()
    for table, found in zip(adoption.tables, answers.get("table", ()), strict=True):
        index = _same(table, known)
        if index is not None:
            _answer(document["table"][index], found)
    for part in ({key: answers[key] for key in ("missing", "lost")}, {"trial": answers.get("trial", {})}):
        _answer(document, part)
    return tomlkit.dumps(document)


def _answer(open_ones: Any, answers: Mapping[str, Any]) -> None:
    for key, answer in answers.items():
        if key not in open_ones:
            continue
        if open_ones[key] in (UNKNOWN, [UNKNOWN]) and answer not in (UNKNOWN, [UNKNOWN]):
            open_ones[key] = answer
        elif isinstance(answer, Mapping) and isinstance(open_ones[key], Mapping):
            _answer(open_ones[key], answer)


def _top_keys(text: str) -> set[str]:
    import tomlkit

    return set(tomlkit.parse(text).unwrap())


def _with_words(text: str, added: Sequence[str]) -> str:
    """Return the text with lines in front of its tables, below what is said of the whole file."""
    if not added:
        return text
    lines = text.splitlines(keepends=True)
    heading = next((at for at, line in enumerate(lines) if not line.startswith("#")), len(lines))
    return "".join([*lines[:heading], *added, *lines[heading:]])


def _with_tables(text: str, added: Sequence[str]) -> str:
    """Return the text with tables behind its last one."""
    if not added:
        return text
    lines = (text if text.endswith("\n") else f"{text}\n").splitlines(keepends=True)
    starts = [at for at, line in enumerate(lines) if TABLE.match(line)]
    begins = [at for at, line in enumerate(lines) if OTHER.match(line) and (not starts or at > starts[-1])]
    end = begins[0] if begins else len(lines)
    while end and (not lines[end - 1].strip() or lines[end - 1].startswith("#")) and end < len(lines):
        end -= 1  # what is said above the part that follows stays with it
    return "".join([*lines[:end], "".join(f"\n{table}" for table in added), *lines[end:]])


def _with_trial(text: str, adoption: Adoption, notes: Notes) -> str:
    """Return the text with the fields of the trial that it lacks."""
    import tomlkit

    document = tomlkit.parse(text)
    if not adoption.trial:
        return text
    if "trial" not in document:
        return f"{text.rstrip()}\n\n{TRIAL_HEADING}{''.join(_fields(adoption, notes, adoption.trial))}"
    trial: Any = document["trial"]
    for name, value in adoption.trial.items():
        if name not in trial:
            trial[name] = value
    return tomlkit.dumps(document)
