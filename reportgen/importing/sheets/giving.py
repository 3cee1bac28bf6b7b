"""Give a workbook of the declaration, with the owner's cell behind each of its own."""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
from openpyxl.utils import get_column_letter

from reportgen.importing.model import long
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.given import Given, Origins, SheetOrigins
from reportgen.importing.model.layouts import Dimension
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found
from reportgen.importing.model.trial_book import TrialBook
from reportgen.importing.quantity_names import quantity_text
from reportgen.importing.sheets import (
    energy,
    further,
    lists,
    plants,
    readings,
    span,
    traces,
    units,
    water,
)
from reportgen.importing.sheets.laying import Draft, firsts
from reportgen.importing.sheets.rows import GIVES, NUMBER, TRAY, prepared
from reportgen.importing.trial_book import codes_of
from reportgen.language import say
from reportgen.model.problem import Problem, Severity, cells_of
from reportgen.workbook.declaration import ALL, METER, SOLUTION
from reportgen.workbook.raw import RawSheet, Workbook


def give(frame: pd.DataFrame, settings: Settings, sheets: Sequence[Sheet], found: Found) -> Given:
    """Return the workbook that the long form of some sheets makes, named after nothing yet.

    `found` are the tables that `frame` was made of: their further columns, such as Note, are looked
    up there.
    """
    rows = units.with_units(prepared(frame, settings, found), settings)
    is_of_trays = plants.of_whole_trays(rows)
    tray_problems = tuple(_measures_of_trays(rows[is_of_trays], sheets))
    rows = rows[~is_of_trays]
    columns = further.further_columns(settings, found)
    of_plants, of_harvests, of_growth = plants.parted(rows, settings)
    made_plants = plants.plants(of_plants, settings, columns)
    tray_codes = units.treatments_of(rows)
    of_water, water_problems = span.water_within(rows, settings, sheets)
    made_water, is_shared = water.solution(of_water, settings, tray_codes, columns)
    every_meter = energy.meters(rows, settings)
    meters, meter_problems = span.meters_within(every_meter, settings, sheets)
    climate, climate_problems = span.climate_within(rows, settings, sheets)
    drafts = [
        lists.treatments(rows, settings, found, sheets),
        lists.trays(rows, pd.concat([of_plants, of_harvests, of_growth]), columns),
        made_plants,
        plants.growth(of_growth, settings, columns),
        plants.harvests(of_harvests, settings, columns),
        made_water,
        energy.meter(meters, columns),
        readings.light(rows, settings, columns),
        readings.climate(climate, settings, columns),
    ]
    head, lines = lists.trial(rows, settings)
    problems = (
        *meter_problems,
        *climate_problems,
        *water_problems,
        *tray_problems,
        *_shared(is_shared, made_water, sheets),
    )
    outside = rows.index.difference(of_water.index).union(rows.index.difference(climate.index))
    outside = outside.union(_read(every_meter).difference(_read(meters)))
    made = [draft.finished() for draft in drafts if draft is not None and draft.columns]
    origins = _origins(made, sheets, lines)
    book = Workbook("", _digest(frame), (head, *(raw for raw, _ in made)))
    return Given(book, origins, traces.traced(rows, settings, sheets, outside), problems)


def outside_trial(
    frame: pd.DataFrame, settings: Settings, sheets: Sequence[Sheet], found: Found
) -> tuple[Problem, ...]:
    """Return which rows of water and energy a report does not count, as they are from before or
    after the trial.
    """
    wanted = [
        index
        for index, layout in enumerate(settings.layouts)
        if layout.gives in (SOLUTION.name, METER.name)
    ]
    own = frame[frame[long.LAYOUT].isin(wanted)]
    if own.empty:
        return ()
    rows = units.with_units(prepared(own, settings, found), settings)
    of_energy = span.meters_within(energy.meters(rows, settings), settings, sheets)[1]
    return (*of_energy, *span.water_within(rows, settings, sheets)[1])


def _origins(
    made: Sequence[tuple[RawSheet, SheetOrigins]],
    sheets: Sequence[Sheet],
    fields: Mapping[int, str],
) -> Origins:
    """Return where the cells of derived sheets stand in their owner's files."""
    turned = [index for index, sheet in enumerate(sheets) if sheet.is_turned]
    own: dict[str, SheetOrigins] = {}
    for raw, origin in made:
        is_turned = np.isin(origin.sheet, turned)
        row = np.where(is_turned, origin.column, origin.row)
        column = np.where(is_turned, origin.row, origin.column)
        own[raw.name] = replace(origin, row=row, column=column)
    return Origins(tuple(sheet.label for sheet in sheets), own, fields)


def _read(meters: dict[str, energy.Series]) -> pd.Index:
    """Return the rows whose readings meters have."""
    return pd.Index([index for series in meters.values() for index in series.rows.index])


def give_beside(
    frame: pd.DataFrame, settings: Settings, sheets: Sequence[Sheet], found: Found, book: TrialBook
) -> Given:
    """Return what the long form of files beside a trial workbook adds to its sheets, as sheets of
    the same names.
    """
    settings = replace(settings, trial=book.fields)
    rows = _of_workbook(prepared(frame, settings, found), book)
    columns = further.further_columns(settings, found)
    made_water, is_shared = water.solution(rows, settings, book.trays, columns)
    meters, meter_problems = span.meters_within(energy.meters(rows, settings), settings, sheets)
    climate, climate_problems = span.climate_within(rows, settings, sheets)
    drafts = [
        made_water,
        energy.meter(meters, columns),
        readings.light(rows, settings, columns),
        readings.climate(climate, settings, columns),
    ]
    made = [draft.finished() for draft in drafts if draft is not None and draft.columns]
    origins = _origins(made, sheets, {})
    problems = (*meter_problems, *climate_problems, *_shared(is_shared, made_water, sheets))
    added = Workbook("", "", tuple(raw for raw, _ in made))
    return Given(added, origins, traces.traced(rows, settings, sheets, rows.index[:0]), problems)


def _of_workbook(rows: pd.DataFrame, book: TrialBook) -> pd.DataFrame:
    """Return rows with the codes of the workbook; a treatment is "" where all of them are meant."""
    names = [GIVES, long.TREATMENT, long.METER, long.UNIT]
    group = rows.groupby(names, sort=False).ngroup().to_numpy()
    different = _coded(rows.iloc[firsts(group, int(group.max(initial=-1)) + 1)], book)
    changed = {
        name: different[name].to_numpy()[group] for name in (long.METER, TRAY, long.TREATMENT)
    }
    return rows.assign(**changed, **{NUMBER: ""})


def _coded(rows: pd.DataFrame, book: TrialBook) -> pd.DataFrame:
    """Return treatments, trays and meters by the codes of the workbook, for the rows that differ in
    them.

    Meters and trays of the workbook count for their treatments; readings without a meter are of the
    only one of theirs.
    """
    treatment = _spelled(rows[long.TREATMENT], codes_of(book, Dimension.TREATMENT))
    meter = _spelled(rows[long.METER], codes_of(book, Dimension.METER))
    tray = _spelled(rows[long.UNIT], codes_of(book, Dimension.UNIT))
    is_open = (rows[GIVES] != SOLUTION.name) & (treatment == "")
    of_meter = _spelled(meter, book.meters, "")
    own = of_meter.where(of_meter != "", _spelled(tray, book.trays, ""))
    treatment = treatment.mask(is_open, own)
    only = _spelled(treatment.where(treatment != "", ALL), _only_meters(book), "")
    meter = meter.where(meter != "", only)
    return pd.DataFrame(
        {long.METER: meter, TRAY: tray, long.TREATMENT: treatment.where(treatment != ALL, "")}
    )


def _only_meters(book: TrialBook) -> Mapping[str, str]:
    """Return the meter of each treatment that has one alone."""
    treatments = list(book.meters.values())
    return {
        treatment: meter
        for meter, treatment in book.meters.items()
        if treatments.count(treatment) == 1
    }


def _spelled(
    labels: "pd.Series[str]", codes: Mapping[str, str], otherwise: str | None = None
) -> "pd.Series[str]":
    """Return what labels stand for; those that are not known as they are, or `otherwise`."""
    known = {name.casefold(): code for name, code in codes.items()}
    spelled = [
        known.get(label.casefold(), label if otherwise is None else otherwise) for label in labels
    ]
    return pd.Series(spelled, index=labels.index, dtype=object)


def _digest(frame: pd.DataFrame) -> str:
    """Return a digest of the values; the file's own replaces it where there is a file."""
    return hashlib.sha256(
        pd.util.hash_pandas_object(frame, index=False).to_numpy().tobytes()
    ).hexdigest()


def _measures_of_trays(rows: pd.DataFrame, sheets: Sequence[Sheet]) -> Iterator[Problem]:
    for quantity, own in rows.groupby(long.QUANTITY, sort=False):
        letter = get_column_letter(int(own[long.COLUMN].iloc[0]))
        first = own[own[long.SHEET] == own[long.SHEET].iloc[0]]
        yield Problem(
            Severity.CAUTION,
            sheets[int(first[long.SHEET].iloc[0])].label,
            cells_of(letter, first[long.ROW].astype(int)),
            say(
                "{quantity} is of whole trays, and left out", quantity=quantity_text(str(quantity))
            ),
            say("a value of each plant"),
            say("A report has no place for it."),
            code="measure_of_whole_trays",
            count=len(own),
        )


def _shared(is_shared: bool, made: Draft | None, sheets: Sequence[Sheet]) -> tuple[Problem, ...]:
    if not is_shared or made is None:
        return ()
    place = sheets[int(made.columns["Tray"].sheet[0])].label
    return (
        Problem(
            Severity.CAUTION,
            place,
            "",
            say("volumes of a treatment as a whole were divided evenly among its trays"),
            say("volumes of each tray"),
            say("Totals and means of water hold; how much trays differed in it is not known."),
            code="volumes_divided",
        ),
    )
