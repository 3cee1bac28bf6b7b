"""Read the file that says how a spreadsheet is taken in, naming each mistake in it by line and key."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any, Final

from reportgen.adopt.columns import columns_for, declared_name, is_known, sheet_called, sheets_given, trial_field
from reportgen.adopt.grid import header_rows
from reportgen.adopt.mapping import (
    DAILY,
    DAYS_EACH,
    DAYS_LAST,
    DAYS_SUM,
    ENDING,
    NOTHING,
    SEEN,
    UNKNOWN,
    Adoption,
    Source,
    TableMapping,
    Wide,
)
from reportgen.adopt.toml_lines import at_line, lines_of
from reportgen.adopt.unanswered import unanswered_keys
from reportgen.model.problem import Problem, Severity, WorkbookError
from reportgen.workbook.declaration import TRIAL
from reportgen.workbook.headers import UNIT, nearest
from reportgen.workbook.raw import bounds_of
from reportgen.workbook.values import whole_text

Check = Callable[[Any], str]  # what is expected, empty where the value is right
Mistake = tuple[str, Problem]  # the key that is left out, and what is said of it


def settings_file(source: Path) -> Path:
    """Return where the settings file of a spreadsheet stands, or would stand: winter.adopt.toml for winter.xlsx."""
    return source.with_name(source.stem + ENDING)


def read_adoption(path: Path) -> Adoption:
    """Return what a settings file says.

    Raises WorkbookError, with every mistake and every open question of the file, where it cannot be read or a key or
    value is wrong. Open questions alone raise nothing.
    """
    try:
        text = path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise _refused(f"{path.name} cannot be read", "a text file in UTF-8", "Save it as plain text.") from error
    return parsed(text, path.name)


def parsed(text: str, name: str) -> Adoption:
    """Return what the text of a settings file called `name` says; raise WorkbookError as `read_adoption` does."""
    import tomlkit
    from tomlkit.exceptions import ParseError, TOMLKitError

    try:
        found = tomlkit.parse(text).unwrap()
    except ParseError as error:
        reason = str(error).split(" at line")[0].replace(": '\\x00'", ", the end of the line or file")
        said = f"{name}, line {error.line}: {reason}"
        raise _refused(said, "TOML", "Mend the line.") from error
    except TOMLKitError as error:  # a key that is set twice in a table has no line there
        raise _refused(f"{name}: {error}", "each key once", "Delete one of the two.") from error
    except (ValueError, RecursionError) as error:  # thousands of digits, of brackets one in the other
        raise _refused(f"{name} holds a number or brackets without end", "TOML", "Mend the line.") from error
    lines = lines_of(text, found)
    mistakes = list(_mistakes(Adoption(name=name, lines=lines), found))
    made = _adoption(_without(found, {key for key, _ in mistakes}), name, lines)
    if mistakes:
        open_ones = [problem for key, problem in unanswered_keys(made) if key not in dict(mistakes)]
        raise WorkbookError((*(problem for _, problem in mistakes), *open_ones))
    return made


def _refused(found: str, expected: str, advice: str) -> WorkbookError:
    return WorkbookError((Problem(Severity.ERROR, "", "", found, expected, advice, code="unreadable_settings"),))


# --- mistakes


def _mistakes(place: Adoption, found: Mapping[str, Any]) -> Iterator[Mistake]:
    yield from _by_checks(place, "", found, TOP)
    tables = found.get("table", [])
    for index, table in enumerate(tables) if not TOP["table"](tables) else ():
        key = f"table.{index}"
        yield from _by_checks(place, f"{key}.", table, TABLE)
        yield from _of_columns(place, key, table)
    trial = found.get("trial", {})
    for name in trial if isinstance(trial, Mapping) else ():
        if not trial_field(name):
            yield _unknown(
                place, f"trial.{name}", [column.name for column in TRIAL.columns], "a field of the sheet Trial"
            )
        elif wanted := _plain_value(trial[name]):
            yield _wrong(place, f"trial.{name}", trial[name], wanted)


def _by_checks(
    place: Adoption, within: str, found: Mapping[str, Any], checks: Mapping[str, Check]
) -> Iterator[Mistake]:
    for key, value in found.items():
        if key not in checks:
            yield _unknown(place, f"{within}{key}", list(checks))
        elif wanted := checks[key](value):
            yield _wrong(place, f"{within}{key}", value, wanted)


def _of_columns(place: Adoption, key: str, table: Mapping[str, Any]) -> Iterator[Mistake]:
    gives = str(table.get("gives", ""))
    if "gives" not in table:
        said = f"one of {', '.join((*sheets_given(), NOTHING))}"
        yield key, at_line(place, key, "the table has no gives", said, 'Write what it holds, as gives = "Plants".')
    for part in ("columns", "constants"):
        entries = table.get(part, {})
        for name, value in entries.items() if isinstance(entries, Mapping) else ():
            yield from _of_column(place, f"{key}.{part}.{name}", (gives, name), value)
    wide = table.get("wide")
    if isinstance(wide, Mapping):
        yield from _by_checks(place, f"{key}.wide.", wide, WIDE)
        for name in ("names", "values", "headers"):
            if name not in wide:
                yield f"{key}.wide", at_line(place, f"{key}.wide", f"wide has no {name}", WIDE_FORM, "Add it.")


def _of_column(place: Adoption, key: str, named: tuple[str, str], value: object) -> Iterator[Mistake]:
    """Yield the mistakes of an entry; `named` is the sheet that its table gives and the column's name."""
    gives, name = named
    constant = ".constants." in key
    if not is_known(gives, _bare(name)[0]) and not name.startswith(UNKNOWN):
        yield _unknown(place, key, [column.name for column in columns_for(gives)], f"a column of {gives}")
    elif not constant and isinstance(value, Mapping):
        yield from _by_checks(place, f"{key}.", value, SOURCE)
    elif not isinstance(value, str):
        yield _wrong(place, key, value, "text in quotes" if constant else "the text of a header")


def _unknown(place: Adoption, key: str, known: Sequence[str], what: str = "") -> Mistake:
    name = key.rpartition(".")[2]
    near = nearest(name, known)
    expected = f"one of {', '.join(known)}"
    advice = f"Did you mean {near}?" if near else "Delete it."
    return key, at_line(place, key, f'"{name}" is not {what or "a key of this file"}', expected, advice)


def _wrong(place: Adoption, key: str, value: object, wanted: str) -> Mistake:
    said = f"{key.rpartition('.')[2]} is {_as_written(value)}"
    return key, at_line(place, key, said, wanted, "Mend the value, or delete it.")


def _as_written(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"' if isinstance(value, str) else str(value)


def _text(value: Any) -> str:
    return "" if isinstance(value, str) else "text in quotes"


def _file(value: Any) -> str:
    """Return what is expected where a value is no bare name: a file elsewhere is none that its owner sees beside it."""
    bare = isinstance(value, str) and not set(value) & set("/\\:\0") and not value.startswith("..")
    return "" if bare else "the name of a file beside this one"


def _texts(value: Any) -> str:
    right = isinstance(value, list) and all(isinstance(one, str | int | float) for one in value)
    return "" if right and True not in [one is True or one is False for one in value] else 'a list, as ["-", "NA"]'


def _row(value: Any) -> str:
    try:
        header_rows("1" if value == UNKNOWN else str(value))
    except ValueError:
        return 'a row\'s number, as 11, or "10-11" for two header rows'
    return "" if not isinstance(value, bool) else "a row's number"


def _rows(value: Any) -> str:
    right = isinstance(value, list) and all(type(one) is int and one > 0 for one in value)
    return "" if right else "a list of rows' numbers, as [38, 52]"


def _range(value: Any) -> str:
    try:
        known = isinstance(value, str) and None not in bounds_of(value)
    except ValueError:
        known = False
    return "" if known else 'a part of the sheet, as "A11:H52"'


def _cell(value: Any) -> bool:
    try:
        left, top, right, bottom = bounds_of(str(value))
    except ValueError:
        return False
    return None not in (left, top) and (left, top) == (right, bottom)


def _cells(value: Any) -> str:
    known = isinstance(value, list) and all(map(_cell, value))
    return "" if known else 'a list of cells, as ["I67"]'


def _corrected(value: Any) -> str:
    right = isinstance(value, Mapping) and all(map(_cell, value)) and not any(map(_plain_value, value.values()))
    return "" if right else "cells with their right values, as { I67 = 4.248 }"


def _pairs(value: Any) -> str:
    right = isinstance(value, Mapping) and all(isinstance(one, str | int | float) for one in value.values())
    return "" if right else 'what stands there and what it means, as { Y = "warm", N = "plain" }'


def _gives(value: Any) -> str:
    known = isinstance(value, str) and (value in (UNKNOWN, NOTHING) or sheet_called(value))
    return "" if known else f"one of {', '.join((*sheets_given(), NOTHING))}"


def _answer(value: Any) -> str:
    return "" if isinstance(value, bool) or value == UNKNOWN else "true or false"


def _counting(value: Any) -> str:
    return "" if isinstance(value, bool) or value in (DAILY, UNKNOWN) else 'true, false or "daily"'


def _per(value: Any) -> str:
    return "" if value in ("plant", "pot", UNKNOWN) else '"plant" or "pot"'


def _days(value: Any) -> str:
    return "" if value in (DAYS_LAST, DAYS_SUM, DAYS_EACH, UNKNOWN) else '"last", "sum" or "each"'


def _seen(value: Any) -> str:
    return "" if value in (SEEN, UNKNOWN) or not _rows(value) else f'"{SEEN}", or the rows, as [38, 52]'


def _mapping(value: Any) -> str:
    return "" if isinstance(value, Mapping) else 'names and headers, as { Tray = "Shelf" }'


def _tables(value: Any) -> str:
    right = isinstance(value, list) and all(isinstance(one, Mapping) for one in value)
    return "" if right else "tables, each headed [[table]]"


def _trial(value: Any) -> str:
    return "" if isinstance(value, Mapping) else "a table, headed [trial]"


def _plain_value(value: Any) -> str:
    """Return what is expected where a value is no text, number, truth value, date, or list of texts."""
    right = isinstance(value, str | int | float | date) or (isinstance(value, list) and not _texts(value))
    return "" if right else "text, a number or a date"


WIDE_FORM: Final = '{ names = "Treatment", values = "Fresh weight", headers = ["warm", "plain"], unit = "g" }'
TOP: Final[Mapping[str, Check]] = {"missing": _texts, "lost": _texts, "table": _tables, "trial": _trial}
SOURCE: Final[Mapping[str, Check]] = {"from": _text, "unit": _text, "codes": _pairs}
WIDE: Final[Mapping[str, Check]] = {"names": _text, "values": _text, "headers": _texts, "unit": _text, "prefix": _text}
TABLE: Final[Mapping[str, Check]] = {
    "sheet": _text,
    "file": _file,
    "header_row": _row,
    "range": _range,
    "gives": _gives,
    "fill_down": _texts,
    "columns": _mapping,
    "constants": _mapping,
    "treatment": _pairs,
    "exclude_rows": _rows,
    "wide": lambda value: "" if isinstance(value, Mapping) else WIDE_FORM,
    "sections": _text,
    "day_first": _answer,
    "cumulative": _counting,
    "per": _per,
    "corrected": _corrected,
    "confirmed": _cells,
    "marked_rows": _seen,
    "time": _text,
    "days": _days,
    "stood": _pairs,
}


# --- what the file says


def _without(found: Mapping[str, Any], keys: set[str], path: str = "") -> dict[str, Any]:
    """Return the parsed file without the keys that are wrong."""
    kept: dict[str, Any] = {}
    for key, value in found.items():
        here = f"{path}{key}"
        if here in keys:
            continue
        if key == "table" and not path and isinstance(value, list):
            kept[key] = [_without(one, keys, f"table.{index}.") for index, one in enumerate(value)]
        else:
            kept[key] = _without(value, keys, f"{here}.") if isinstance(value, Mapping) else value
    return kept


def _adoption(found: Mapping[str, Any], name: str, lines: Mapping[str, int]) -> Adoption:
    return Adoption(
        tables=tuple(_table(table) for table in found.get("table", ())),
        missing=_all_texts(found.get("missing", ())),
        lost=_all_texts(found.get("lost", ())),
        trial=found.get("trial", {}),
        name=name,
        lines=lines,
    )


def _table(found: Mapping[str, Any]) -> TableMapping:
    gives = str(found.get("gives", UNKNOWN))
    sheet = sheet_called(gives)
    as_they_are = (
        "sheet",
        "file",
        "range",
        "sections",
        "day_first",
        "cumulative",
        "per",
        "corrected",
        "time",
        "days",
    )
    marked = found.get("marked_rows", "")
    columns = dict(_source(gives, name, value) for name, value in found.get("columns", {}).items())
    treatment = _codes(found.get("treatment", {}))
    if treatment and "Treatment" in columns:
        columns["Treatment"] = replace(columns["Treatment"], codes=treatment)
        treatment = {}
    return TableMapping(
        **{"sheet": "", **{key: found[key] for key in as_they_are if key in found}},
        gives=sheet.name if sheet else gives,
        header_row=str(found.get("header_row", "1")),
        columns=columns,
        constants={declared_name(gives, name): value for name, value in found.get("constants", {}).items()},
        fill_down=_all_texts(found.get("fill_down", ())),
        exclude_rows=tuple(found.get("exclude_rows", ())),
        marked_rows=marked if isinstance(marked, str) else tuple(marked),
        wide=_wide(gives, found["wide"]) if "wide" in found else None,
        treatment=treatment,
        confirmed=tuple(cell.upper() for cell in found.get("confirmed", ())),
        stood={place.upper(): str(text) for place, text in found.get("stood", {}).items()},
    )


def _source(gives: str, name: str, value: Any) -> tuple[str, Source]:
    bare, unit = _bare(name)
    plain: Mapping[str, Any] = {"from": value} if isinstance(value, str) else value
    source = Source(plain.get("from", UNKNOWN), plain.get("unit", unit), _codes(plain.get("codes", {})))
    return declared_name(gives, bare), source


def _bare(name: str) -> tuple[str, str]:
    """Return a column's name and the unit that stands in brackets behind it."""
    found = UNIT.fullmatch(name)
    return (found[1], found[2]) if found else (name, "")


def _wide(gives: str, found: Mapping[str, Any]) -> Wide:
    names, values = (declared_name(gives, str(found.get(key, UNKNOWN))) for key in ("names", "values"))
    return Wide(names, values, _all_texts(found.get("headers", ())), found.get("unit", ""), found.get("prefix", ""))


def _codes(found: Mapping[str, Any]) -> Mapping[str, str]:
    return {text: whole_text(code) for text, code in found.items()}


def _all_texts(found: Sequence[Any]) -> tuple[str, ...]:
    return tuple(whole_text(one) for one in found)
