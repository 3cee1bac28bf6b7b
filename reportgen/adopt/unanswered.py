"""What the owner of a spreadsheet must still say: each question mark in the settings file, and what to put there."""

from collections.abc import Iterator, Mapping
from typing import Final

from reportgen.adopt.columns import NOT_KNOWN, column_called, columns_for, sheets_given, trial_field
from reportgen.adopt.mapping import NOTHING, SEEN, UNKNOWN, Adoption, TableMapping
from reportgen.adopt.toml_lines import at_line
from reportgen.model.problem import Problem
from reportgen.workbook.values import expected

UNITS: Final[Mapping[str, str]] = {  # examples for each unit that is kept
    "g": "g, kg, oz or lb",
    "cm": "cm, mm or in",
    "L": "L, mL or US gal",
    "mS/cm": "mS/cm or µS/cm",
    "kWh": "kWh or Wh",
    "°C": "°C or °F",
}

Question = tuple[str, str, str, str]  # key, what is open, what is expected there, what to write


def unanswered(adoption: Adoption) -> Iterator[Problem]:
    """Yield an error for each question mark that still stands in a settings file, by its line."""
    found = sorted(unanswered_keys(adoption), key=lambda one: adoption.line(one[0]))
    yield from (problem for _, problem in found)


def unanswered_keys(adoption: Adoption) -> Iterator[tuple[str, Problem]]:
    """Yield each open question with the key that it stands at."""
    for key, found, wanted, advice in _questions(adoption):
        yield key, at_line(adoption, key, f'{found} is still "{UNKNOWN}"', wanted, advice)


def _questions(adoption: Adoption) -> Iterator[Question]:
    for name, words in (("missing", adoption.missing), ("lost", adoption.lost)):
        if UNKNOWN in words:
            what = "no value" if name == "missing" else "a plant that died"
            advice = f'Write them as {name} = ["-"], a blank cell as "", or {name} = [] where there are none.'
            yield name, name, f"the words that stand for {what}", advice
    used = [(index, table) for index, table in enumerate(adoption.tables) if table.gives != NOTHING]
    for index, table in used:
        yield from _of_table(f"table.{index}", table)
    for name, value in adoption.trial.items():
        field = trial_field(name)
        if value == UNKNOWN and field:
            yield f"trial.{name}", f"{name} of the trial", expected(field), field.help


def _of_table(key: str, table: TableMapping) -> Iterator[Question]:
    if table.gives == UNKNOWN:
        known = f"one of {', '.join(sheets_given())}, or {NOTHING} where it is no part of the trial"
        yield f"{key}.gives", "gives", known, "Write what the table holds."
    for field, answers in _ANSWERS.items():
        if getattr(table, field) == UNKNOWN:
            yield f"{key}.{field}", field, *answers
    yield from _of_columns(key, table)
    for name, value in table.constants.items():
        if value == UNKNOWN:
            yield (
                f"{key}.constants.{name}",
                name,
                *_CONSTANTS.get(name, (f"what {name} is in every row", f"Write {name} of this table.")),
            )
    for text, code in table.treatment.items():
        if code == UNKNOWN:
            yield f"{key}.treatment.{text}", f'treatment "{text}"', "the treatment's code", _stands_for(text)
    yield from _of_wide(f"{key}.wide", table)


def _of_columns(key: str, table: TableMapping) -> Iterator[Question]:
    for name, source in table.columns.items():
        here = f"{key}.columns.{name}"
        if name.startswith(UNKNOWN):
            known = ", ".join(column.name for column in columns_for(table.gives))
            yield here, f'the column for "{source.header}"', f"one of {known}", "Write its name, or delete the entry."
        if source.header == UNKNOWN and name == "Tray" and "Treatment" in table.columns:
            both = f'"{table.columns["Treatment"].header} + its header"'
            advice = f"Write {both} where trays count anew under each treatment; where they do not, name Block too."
            yield here, name, "the header that it stands under", advice
        elif source.header == UNKNOWN and name == "Block":
            advice = "Write its header where those of one number stood together; delete the entry where they did not."
            yield here, name, "the header that it stands under", advice
        elif source.header == UNKNOWN:
            advice = f'Write the header of {name}; several that are to be added up as "1st cut + 2nd cut".'
            yield here, name, "the header that it stands under", advice
        if source.unit == UNKNOWN:
            yield here, f'the unit of "{source.header}"', *_unit(table.gives, name)
        if open_ones := [text for text, code in source.codes.items() if code == UNKNOWN]:
            inside = f"{key}.treatment" if name == "Treatment" else f"{here}.codes"
            where = f"{inside}.{open_ones[0]}" if len(open_ones) == 1 else inside
            said = ", ".join(f'"{text}"' if text else "a blank cell" for text in open_ones)
            yield where, f"{said} in {name}", f"what it means in {name}", _stands_for(open_ones[0])


def _of_wide(key: str, table: TableMapping) -> Iterator[Question]:
    if not table.wide:
        return
    if table.wide.unit == UNKNOWN:
        yield f"{key}.unit", f"the unit of {table.wide.values}", *_unit(table.gives, table.wide.values)
    for field, name in (("names", table.wide.names), ("values", table.wide.values)):
        if name == UNKNOWN:
            what = "what the headers are" if field == "names" else "what the cells are"
            yield f"{key}.{field}", field, f"the column that tells {what}", "Write its name, such as Treatment."


def _unit(gives: str, name: str) -> tuple[str, str]:
    column = column_called(gives, name)
    declared = column.unit if column else "g"  # what is not named yet is most often a weight
    examples = UNITS.get(declared, column.unit_shown if column else declared)
    return f"a unit such as {examples}", f'Write it in place of the question mark: unit = "{examples.split(",")[0]}".'


def _stands_for(text: str) -> str:
    if not text:
        return 'Write "0" where nothing was picked; "", and missing = [""] above, where it was not weighed.'
    return f'Write what "{text}" stands for.'


_CONSTANTS: Final[Mapping[str, tuple[str, str]]] = {
    "Treatment": (
        "the treatment of the whole table",
        'Write Treatment of this table. Where it is one tray, write Tray = "its code" beside it.',
    ),
    **dict.fromkeys(
        ("Read at", "Date"),
        (
            'a day, or "Started on" or "Harvested on" for that of the trial',
            "Write it where the numbers are of the whole trial, as Started on for what stood there first.",
        ),
    ),
    "Plants started": (
        f'the column that tells it, or "{NOT_KNOWN}"',
        f'Write "Plants started" = "its header" under columns and delete it here, or write "{NOT_KNOWN}" here.',
    ),
    "Plants weighed": ("the number of plants that each mean is of", 'Write it, as "Plants weighed" = "12".'),
}
_ANSWERS: Final[Mapping[str, tuple[str, str]]] = {
    "day_first": ("true where 3/4/2026 is the 3rd of April, false where it is March 4th", "Write true or false."),
    "cumulative": (
        'true where the meter counts on, "daily" where it begins again each day, false where each reading is what was '
        "used since the one before",
        'Write true, false or "daily".',
    ),
    "per": (
        '"plant" or "pot"',
        "Write plant where each row is one plant or a mean of several, pot where a pot was weighed as a whole.",
    ),
    "days": (
        '"last", "sum" or "each"',
        "Write last where the earlier days are no harvest, sum where they are pickings of the same plants, each where "
        "they are other plants.",
    ),
    "marked_rows": (
        "a word on the rows with a colour or a comment, which the line above the table names",
        f'Write those that are to be left out as exclude_rows = [12], then marked_rows = "{SEEN}".',
    ),
    "sections": ("the column whose value stands alone above its rows", "Write its name, or delete the line."),
    "header_row": ("a row's number", "Write the number of the row that holds the headers."),
    "sheet": ("a sheet of the file", "Write the name of the sheet."),
}
