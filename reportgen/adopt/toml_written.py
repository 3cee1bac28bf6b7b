"""Write the settings file of a spreadsheet; where there is one already, what its owner wrote in it stays."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from reportgen.adopt.mapping import NOTHING, UNKNOWN, Adoption, Source, TableMapping, Wide
from reportgen.adopt.toml_file import parsed
from reportgen.adopt.toml_lines import OTHER, TABLE

HEADING: Final = (
    '# How reportgen reads {file}. Edit freely; "reportgen check {file}" says if something does not fit.\n'
    "# A question mark in quotes stands where you must still say something.\n"
)
TRIAL_HEADING: Final = "[trial]  # what no table of the file tells, by the fields of the sheet Trial\n"
ASKED: Final = "To say: "  # begins a line above a table that holds a question
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
    places = paired(adoption.tables, known)
    text = _without_answered(_answered(earlier, adoption, known), said)
    new = [f"table.{index}" for index, place in enumerate(places) if place is None]
    text = _with_tables(text, [_table_text(key, adoption.tables[int(key[6:])], said) for key in new])
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
        "time": table.time,
        "exclude_rows": list(table.exclude_rows),
        "corrected": table.corrected,
        "confirmed": list(table.confirmed),
        "stood": table.stood,
    }
    yield from ((key, value) for key, value in held.items() if value not in ("", [], {}))
    for key in ("day_first", "cumulative", "per", "days", "marked_rows"):
        if (value := getattr(table, key)) != getattr(usual, key):
            yield key, value


def _source(name: str, source: Source) -> str | Mapping[str, Any]:
    codes = {} if name == "Treatment" else source.codes  # those of treatments stand in a key of their own
    more = {key: value for key, value in (("unit", source.unit), ("codes", codes)) if value}
    return {"from": source.header, **more} if more else source.header


def _wide(wide: Wide) -> Mapping[str, Any]:
    more = {key: said for key, said in (("unit", wide.unit), ("prefix", wide.prefix)) if said}
    return {"names": wide.names, "values": wide.values, "headers": list(wide.headers), **more}


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


def paired(tables: Sequence[TableMapping], known: Adoption) -> tuple[int | None, ...]:
    """Return which table of a file each table is that is now found: its owner may have mended all but its place.

    None where the file has no such table. Of several tables in one place each is paired with another.
    """
    free = list(range(len(known.tables)))
    places: list[int | None] = []
    for table in tables:
        alike = [(_likeness(known.tables[index], table), -index) for index in free]
        best, index = max(alike, default=(0, 0))
        places.append(-index if best else None)
        if best:
            free.remove(-index)
    return tuple(places)


def _likeness(one: TableMapping, table: TableMapping) -> int:
    """Return how far a table of a file is one that is now found, 0 where it is another."""
    places = (one.header_row == table.header_row, one.range == table.range, one.gives == table.gives)
    if (one.file, one.sheet) != (table.file, table.sheet) or not any((places[1] and table.range, *places[::2])):
        return 0
    named = sum(one.columns.get(name) == source for name, source in table.columns.items())
    return 1 + 4 * sum(places) + named + 4 * (one.constants == table.constants)


def _answered(text: str, adoption: Adoption, known: Adoption) -> str:
    """Return the text of a file with its question marks replaced where they are answered now."""
    import tomlkit

    document = tomlkit.parse(text)
    answers = tomlkit.parse(_new(adoption, "", {})).unwrap()
    placed = zip(paired(adoption.tables, known), adoption.tables, answers.get("table", ()), strict=True)
    whole = _unit_is_open(known) and not _unit_is_open(adoption)
    for index, table, found in placed:
        if index is not None:
            if table.gives == NOTHING != known.tables[index].gives:
                document["table"][index]["gives"] = NOTHING
            rows_said = known.tables[index].marked_rows == UNKNOWN != table.marked_rows
            if rows_said and table.exclude_rows != known.tables[index].exclude_rows:
                document["table"][index]["exclude_rows"] = list(table.exclude_rows)
            usual = {"per": table.per, "cumulative": table.cumulative}  # a new file leaves out what holds without it
            _answer(document["table"][index], {**usual, **found})
            _rename(document["table"][index], found, whole=whole)
            _note(document["table"][index], "corrected", table.corrected)
            _note(document["table"][index], "stood", table.stood)
            _tell_by_sheet(document["table"][index], found)
            _drop_chosen(document["table"][index], found)
            _leave_out(document["table"][index], table)
            if known.tables[index].wide and "treatment" not in document["table"][index] and "treatment" in found:
                document["table"][index]["treatment"] = _inline(found["treatment"])  # of trays that head columns
    _answer_words(document, adoption, known)
    _answer(document, {"trial": answers.get("trial", {})})
    return tomlkit.dumps(document)


def _unit_is_open(adoption: Adoption) -> bool:
    return adoption.trial.get("Experimental unit") == UNKNOWN


def _rename(table: Any, found: Mapping[str, Any], *, whole: bool) -> None:
    """Give a column its name, or the treatment its column, where a question mark stood in its place.

    With `whole` columns that the table lacks are added too: the answer may have named the column of the trays.
    """
    for part in ("columns", "constants"):
        said = found.get(part, {})
        gone = [name for name, value in table.get(part, {}).items() if _is_open(name, value) and name not in said]
        for name in gone:
            del table[part][name]
        whole = whole or bool(gone)
    if not table.get("constants", True):
        del table["constants"]
    if whole:
        for name, source in found.get("columns", {}).items():
            if name not in table["columns"]:
                table["columns"][name] = source


def _drop_chosen(table: Any, found: Mapping[str, Any]) -> None:
    """Take out a further measurement whose column has been chosen as the one that it was a rival of."""
    known = found.get("columns", {})
    read = {_header(source) for source in known.values()}
    for name in [name for name in table.get("columns", {}) if name not in known]:
        if _header(table["columns"][name]) in read:
            del table["columns"][name]


def _header(source: Any) -> str:
    return str(source["from"] if isinstance(source, Mapping) else source)


def _note(table: Any, key: str, places: Mapping[str, object]) -> None:
    """Add how cells are to be read, or what the rows and cells that a table names held, where it does not say so."""
    known = {place.upper() for place in table.get(key, {})}
    if new := {place: value for place, value in places.items() if place.upper() not in known}:
        table[key] = _inline({**table.get(key, {}), **new})


def _inline(values: Mapping[str, object]) -> Any:
    import tomlkit

    made = tomlkit.inline_table()
    made.update(values)
    return made


def _tell_by_sheet(table: Any, found: Mapping[str, Any]) -> None:
    """Take the open codes of treatments out of a table whose sheet is its treatment, as its owner has said."""
    is_open = UNKNOWN in dict(table.get("treatment", {})).values() and "Treatment" in table.get("columns", {})
    if is_open and "Treatment" not in found["columns"] and "Treatment" in found.get("constants", {}):
        del table["treatment"], table["columns"]["Treatment"]
        table["constants"] = {**table.get("constants", {}), **found["constants"]}
        table["columns"].update({name: found["columns"][name] for name in table["columns"]})


def _leave_out(table: Any, known: TableMapping) -> None:
    """Say that a table gives nothing where its owner has said so, and what was open of it no more."""
    if known.gives != NOTHING or table.get("gives") == NOTHING:
        return
    table["gives"] = NOTHING
    for name in [name for name, value in table.get("constants", {}).items() if value == UNKNOWN]:
        del table["constants"][name]


def _is_open(name: str, value: object) -> bool:
    return UNKNOWN in (name, value)


def _answer_words(document: Any, adoption: Adoption, known: Adoption) -> None:
    """Add words to the lists of those that stand for no value or a loss, where these say all that they said before."""
    for key in ("missing", "lost"):
        old, new = getattr(known, key), getattr(adoption, key)
        if key in document and old != new and set(old) - {UNKNOWN} <= set(new):
            document[key] = list(new)


def _without_answered(text: str, notes: Notes) -> str:
    """Return the text without the questions above its tables that are answered."""
    open_ones = {f"# {line}" for note in notes.values() for line in note.splitlines()}
    lines = text.splitlines(keepends=True)
    return "".join(line for line in lines if not line.startswith(f"# {ASKED}") or line.rstrip() in open_ones)


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
