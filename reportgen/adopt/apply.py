"""Turn the tables of a spreadsheet in its owner's layout into a workbook as the declaration has it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from reportgen.adopt.amounts import counted
from reportgen.adopt.beside import joined
from reportgen.adopt.columns import NOT_KNOWN, kind_of, trial_field
from reportgen.adopt.csv_file import SUFFIXES
from reportgen.adopt.derived import (
    TRAYS_HEAD,
    code_of,
    in_pots_too,
    of_all_plants,
    started_in,
    trays_of,
    treatments_of,
    trial_sheet,
    with_codes,
)
from reportgen.adopt.fitting import Files, is_by_row, misfits, sheet_of
from reportgen.adopt.layout import hidden_parts, laid, listed
from reportgen.adopt.mapping import NOTHING, Adoption, TableMapping
from reportgen.adopt.origins import Origins
from reportgen.adopt.several_days import on_days
from reportgen.adopt.span import moments_of, span_of, within
from reportgen.adopt.taken import DATES, Taken, taken
from reportgen.adopt.trace import traced
from reportgen.adopt.unanswered import unanswered
from reportgen.model.data import Traced
from reportgen.model.problem import Problem, Severity, WorkbookError
from reportgen.workbook.declaration import GROWTH, METER, PLANTS, SHEETS, SOLUTION, TRAYS, TREATMENTS
from reportgen.workbook.raw import RawSheet, Value, Workbook


@dataclass(frozen=True)
class Adopted:
    """A workbook made of its owner's tables, where its cells came from, and what was found while it was made.

    `joined` are the tables as they stand whose measurements were joined to the plants of others.
    """

    workbook: Workbook
    origins: Origins
    traces: tuple[Traced, ...]
    tables: tuple[Taken, ...]
    adoption: Adoption
    problems: tuple[Problem, ...] = ()
    joined: tuple[Taken, ...] = ()


def adopted(files: Files, adoption: Adoption, name: str = "") -> Adopted:
    """Return the workbook that a settings file makes of some files by their names, its own, called `name`, by "".

    Raises WorkbookError, with everything that is open or does not fit, before any table is read.
    """
    problems = (*unanswered(adoption), *misfits(files, adoption))
    if problems:
        raise WorkbookError(problems)
    used = [index for index, table in enumerate(adoption.tables) if table.gives != NOTHING]
    tables = [one for index in used for one in _taken(files, index, adoption, name)]
    by_sheet = {sheet.name: [one for one in tables if one.mapping.gives == sheet.name] for sheet in SHEETS}
    ready, amiss = _ready(by_sheet, adoption)
    ready, cut = _within_the_trial(ready, adoption)
    made, origins, found = _sheets(ready, adoption)
    known = tuple(one for group in ready.values() for one in group)
    problems = (*amiss, *found, *cut, *hidden_parts(known))
    kept = {table.index for table in known}
    beside = tuple(table for table in by_sheet[PLANTS.name] if table.index not in kept)
    traces = traced(_outside_noted(tables, known))
    return Adopted(replace(files[""], sheets=made), origins, traces, known, adoption, problems, beside)


def _outside_noted(tables: Sequence[Taken], known: Sequence[Taken]) -> tuple[Taken, ...]:
    """Return tables as they stand, with the rows that are from before the trial or after it."""
    outside = {table.index: table.left_out["outside"] for table in known if "outside" in table.left_out}
    return tuple(
        replace(table, left_out={**table.left_out, "outside": outside.get(table.index, ())}) for table in tables
    )


def _taken(files: Files, index: int, adoption: Adoption, main: str) -> Iterator[Taken]:
    table = adoption.tables[index]
    raw = sheet_of(files, table)
    file = table.file or main or files[""].name
    if raw:
        other = f"[{table.file}]{raw.name}" if table.file else raw.name
        place = file if file.casefold().endswith(SUFFIXES) else other  # a text file is one sheet
        for one in taken(raw, _on_days_of_trial(table, adoption), adoption, (file, place)):
            yield on_days(replace(one, index=index))


def _on_days_of_trial(table: TableMapping, adoption: Adoption) -> TableMapping:
    """Return a table with the days of the trial where its constants name their fields."""
    days = {"Started on": _field(adoption, "Started on"), "Harvested on": _field(adoption, "Harvested on")}
    told = {
        name: str(days[value])[:10] if days.get(value) and kind_of(table.gives, name) in DATES else value
        for name, value in table.constants.items()
    }
    return replace(table, constants=told)


Tables = dict[str, list[Taken]]  # by the sheet that they give


def _ready(tables: Tables, adoption: Adoption) -> tuple[Tables, tuple[Problem, ...]]:
    """Return tables with the codes, counts and readings that the declaration wants, and what is amiss with them."""
    together, found = joined(tables[PLANTS.name])
    summed = [of_all_plants(table) for table in together]
    plants = with_codes(summed, adoption, trays_given=bool(tables[TRAYS.name]))
    pots = set(started_in(plants)) if is_by_row(adoption) else set()
    begins = _field(adoption, "Started on")
    ready = {
        **tables,
        PLANTS.name: list(plants),
        GROWTH.name: [in_pots_too(table, pots) if pots else table for table in tables[GROWTH.name]],
        METER.name: [counted(table, begins) for table in tables[METER.name]],
        TRAYS.name: [_with_started(table, plants) for table in tables[TRAYS.name]],
    }
    return ready, (*found, *_said_of_trays(ready, adoption))


def _said_of_trays(tables: Tables, adoption: Adoption) -> Iterator[Problem]:
    """Yield a remark where figures a gram take the plants written down for all of a tray, as nothing counts them."""
    told = [*tables[PLANTS.name], *tables[TRAYS.name]]
    counted = any({"Plants started", "Plants weighed"} & {*one.mapping.columns, *one.mapping.constants} for one in told)
    if told and not counted and not is_by_row(adoption) and (tables[METER.name] or tables[SOLUTION.name]):
        said = "no column counts the plants of a tray, so those written down are taken for all of them"
        advice = (
            "Where only some were weighed, tray yield, water and energy a gram are wrong: add the number in a column, "
            'and name it as "Plants started" in the settings file.'
        )
        yield Problem(
            Severity.REMARK,
            told[0].place,
            "",
            said,
            "every plant of a tray, or their number",
            advice,
            code="number_of_plants_not_told",
        )


def _within_the_trial(tables: Tables, adoption: Adoption) -> tuple[Tables, tuple[Problem, ...]]:
    """Return tables without the readings from before the trial or after it, and what is said of them."""
    harvests = [
        moment for table in (*tables[PLANTS.name], *tables[TRAYS.name]) for moment in moments_of(table, "Harvested on")
    ]
    span = span_of(_field(adoption, "Started on"), [_field(adoption, "Harvested on"), *harvests])
    cut = {name: [within(table, span) for table in group] for name, group in tables.items()}
    problems = tuple(one for group in cut.values() for _, found in group for one in found)
    return {name: [table for table, _ in group] for name, group in cut.items()}, problems


def _sheets(tables: Tables, adoption: Adoption) -> tuple[tuple[RawSheet, ...], Origins, tuple[Problem, ...]]:
    """Return the sheets of the declaration: those that tables give, and those that follow from them."""
    head, fields = trial_sheet(adoption)
    made = {name: laid(name, group) for name, group in tables.items() if group}
    found: tuple[Problem, ...] = ()
    if TRAYS.name not in made:
        rows, found = trays_of(tables[PLANTS.name])
        made[TRAYS.name] = listed(TRAYS.name, TRAYS_HEAD, rows)
    if TREATMENTS.name not in made:
        named = treatments_of([*tables[TRAYS.name], *tables[PLANTS.name]], str(_field(adoption, "Reference treatment")))
        made[TREATMENTS.name] = listed(TREATMENTS.name, ("Treatment", "Name"), named)
    origins = Origins({name: rows for name, (_, rows) in made.items()}, fields)
    return (head, *(sheet for sheet, _ in made.values())), origins, found


def _field(adoption: Adoption, wanted: str) -> object:
    return next((value for name, value in adoption.trial.items() if _is_field(name, wanted)), None)


def _is_field(name: str, wanted: str) -> bool:
    field = trial_field(name)
    return field is not None and field.name == wanted


def _with_started(table: Taken, plants: Sequence[Taken]) -> Taken:
    """Return a table of trays with the plants that each was started with: where it does not say, those written down."""
    if told := table.lines.columns.get("Plants started"):
        known = tuple(None if value == NOT_KNOWN else value for value in told)
        return replace(table, lines=replace(table.lines, columns={**table.lines.columns, "Plants started": known}))
    counts = started_in(plants)
    trays = [code_of(table, index, "Tray").casefold() for index in range(len(table.lines.numbers))]
    started: tuple[Value, ...] = tuple(counts.get(tray) for tray in trays)
    return replace(table, lines=replace(table.lines, columns={**table.lines.columns, "Plants started": started}))
