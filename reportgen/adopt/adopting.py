"""Take in a spreadsheet with the files beside it: what is understood, as it is shown, and its settings file."""

import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from reportgen.adopt.again import still_open
from reportgen.adopt.beside import KEYS
from reportgen.adopt.checking import read_any
from reportgen.adopt.csv_file import SUFFIXES as TEXTS
from reportgen.adopt.fitting import is_joined, sheet_of
from reportgen.adopt.mapping import ENDING, NOTHING, UNKNOWN, TableMapping
from reportgen.adopt.marks import Marks, marks_of
from reportgen.adopt.questions import Question, Understanding, unanswered
from reportgen.adopt.stood import with_stood
from reportgen.adopt.toml_file import parsed, settings_file
from reportgen.adopt.toml_written import ASKED, written
from reportgen.adopt.understand import understand
from reportgen.model.problem import Problem, Severity, WorkbookError
from reportgen.workbook.cells import SUFFIXES
from reportgen.workbook.declaration import PLANTS, TRIAL
from reportgen.workbook.headers import folded
from reportgen.workbook.raw import Workbook
from reportgen.workbook.vocabulary import sheet_names

OWN: Final = {TRIAL.name, PLANTS.name}  # sheets that tell a trial workbook from a log


@dataclass(frozen=True)
class Log:
    """A spreadsheet that is taken in: its path, its cells and those of the files beside it, its settings so far.

    The cells are by file name, those of the spreadsheet itself by the empty name. `earlier` is the text of the settings
    file, empty where there is none yet; `marks` are the colours and comments of the cells.
    """

    path: Path
    files: Mapping[str, Workbook]
    earlier: str = ""
    marks: Mapping[str, Marks] = field(default_factory=dict)

    @property
    def settings(self) -> Path:
        """Return where its settings file stands."""
        return settings_file(self.path)


def log_of(sources: Sequence[Path]) -> Log:
    """Return the log that files and folders make: the first file, and the others beside it.

    Raises WorkbookError where one cannot be read, stands elsewhere, or is a trial workbook already.
    """
    first, *others = _paths(sources)
    for other in others:
        if other.parent.resolve() != first.parent.resolve():
            raise _refused(f"{other} is not beside {first}", "files in one folder", "Move or copy it there.")
    files = {"": read_any(first), **{other.name: read_any(other) for other in others}}
    if {sheet_names().get(folded(sheet.name)) for sheet in files[""].sheets} >= OWN:
        said = f"{first.name} is a trial workbook already"
        raise _refused(said, "a log in a layout of its owner's own", f"Run reportgen check {first.name}.")
    marks = {"": marks_of(first), **{other.name: marks_of(other) for other in others}}
    return Log(first, files, _text(settings_file(first)), marks)


def _paths(sources: Sequence[Path]) -> list[Path]:
    found = [path for source in sources for path in (_inside(source) if os.path.isdir(source) else [source])]
    if not found:
        raise _refused("the folder holds no spreadsheet", "a file that can be read", "Name the file.")
    return list(dict.fromkeys(found))


def _inside(folder: Path) -> list[Path]:
    return sorted(
        path
        for path in folder.glob("*")
        if path.suffix.casefold() in (*SUFFIXES, *TEXTS) and not path.name.startswith(("~$", "."))
    )


def _refused(found: str, expected: str, advice: str) -> WorkbookError:
    return WorkbookError((Problem(Severity.ERROR, "", "", found, expected, advice, code="not_taken_in"),))


def _text(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8-sig") if os.path.isfile(path) else ""
    except (OSError, UnicodeDecodeError) as error:
        raise _refused(f"{path.name} cannot be read", "a text file in UTF-8", "Save it as plain text.") from error


def understood(log: Log) -> Understanding:
    """Return what is understood of a log, with the questions that its settings file leaves open.

    Raises WorkbookError where nothing in it can be used, or its settings file has mistakes.
    """
    found = understand(log.files, log.marks)
    if log.earlier.strip():
        return still_open(found, parsed(log.earlier, log.settings.name))
    if not any(table.gives in (PLANTS.name, UNKNOWN) for table in found.adoption.tables):
        said = "; ".join(found.left_out) or "no table with a header above numbers"
        advice = f"Give the columns headers, or write {log.settings.name} by hand."
        raise _refused(
            f"{log.path.name}: no table of plants was found ({said})",
            "a weight, a height or a count for each plant",
            advice,
        )
    return found


def settings_text(understanding: Understanding, log: Log) -> str:
    """Return the text of the settings file of what is understood; what its owner wrote in it stays."""
    tables = (with_stood(table, sheet_of(log.files, table)) for table in understanding.adoption.tables)
    adoption = replace(understanding.adoption, tables=tuple(tables))
    text = written(adoption, log.path.name, log.earlier.replace("\r\n", "\n"), _notes(understanding))
    return text.replace("\n", "\r\n") if "\r\n" in log.earlier else text


def _notes(understanding: Understanding) -> Mapping[str, str]:
    """Return what stands above each table: why it is read so, and what must be said of it."""
    notes = dict(understanding.reasons)
    for at, table in enumerate(understanding.adoption.tables):
        if table.gives == NOTHING and (reason := notes.get(f"table.{at}")):
            notes[f"table.{at}"] = f"left out: {reason.splitlines()[0]}"
    for question in unanswered(understanding):
        if question.column == "Reference treatment" and question.choices:
            notes[question.key] = f"one of {', '.join(question.choices)}"
        for at in question.tables[:1]:
            key = f"table.{at}"
            notes[key] = "\n".join(filter(None, (notes.get(key, ""), _asked(question))))
    return notes


def _asked(question: Question) -> str:
    choices = f" ({', '.join(question.choices)})" if question.choices else ""
    return f"{ASKED}{question.text}{choices}"


# --- as it is shown


def summary(understanding: Understanding, log: Log) -> Iterator[str]:
    """Yield, line by line, what was understood of each table and why, and what is left out."""
    tables = understanding.adoption.tables
    yield f"{log.path.name}: {len(tables)} table{'s' * (len(tables) != 1)} understood"
    for at, table in enumerate(tables):
        said = understanding.reasons.get(f"table.{at}", "")
        if table.gives == NOTHING:
            yield f"  nothing from {table.place}{f', {table.range}' if table.range else ''}: {said or 'it is left out'}"
            continue
        reasons = dict(_split(line) for line in said.splitlines())
        yield from _table_lines(table, reasons)
        if is_joined(table, understanding.adoption):
            by = " and ".join(name for name in KEYS if name in table.columns)
            yield f"    joined to the fresh weights of the same plants, by {by}"
    yield from (f"  not taken: {text}" for text in understanding.left_out)


def _split(line: str) -> tuple[str, str]:
    name, _, reason = line.partition(": ")
    return name, reason


def _table_lines(table: TableMapping, reasons: Mapping[str, str]) -> Iterator[str]:
    place = f"{table.file}, {table.sheet}" if table.file else table.sheet
    where = f", {table.range}" if table.range else ""
    gives = "Plants, if it is of the trial," if table.gives == UNKNOWN else table.gives
    yield f"  {gives} from {place}, header in row {table.header_row}{where}"
    for name, source in table.columns.items():
        unit = f" ({source.unit})" if source.unit not in ("", UNKNOWN) else ""
        why = f": {reasons[name]}" if reasons.get(name) else ""
        yield f'    {"?" if name == UNKNOWN else name} from "{source.header}"{unit}{why}'
    if table.wide:
        yield f"    {table.wide.names} from the headers {', '.join(table.wide.headers)}"
    yield from (f"    {name} is {value}" for name, value in table.constants.items() if value != UNKNOWN)
    if table.time:
        yield f'    times of day from "{table.time}"'
    if table.sections:
        yield f"    {table.sections} from the texts that stand alone above their rows"
    if table.fill_down:
        yield f"    blank cells below a label hold the label: {', '.join(table.fill_down)}"
    if table.exclude_rows:
        yield f"    left out: row{'s' * (len(table.exclude_rows) > 1)} {', '.join(map(str, table.exclude_rows))}"


def is_settings_file(path: Path) -> bool:
    """Return whether a file is the settings file of a spreadsheet by its name."""
    return path.name.casefold().endswith(ENDING)
