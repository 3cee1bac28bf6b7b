"""Sum up a log's long form: by quantity and treatment its units, values, total and mean."""

from dataclasses import replace
from math import fsum
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.importing.long_form import harvest, occasion_ranks, occasions_in_order
from reportgen.importing.model import long
from reportgen.importing.model.layouts import Counts, Covers, Dimension, Values
from reportgen.importing.model.questions import Figures, Summary
from reportgen.importing.model.settings import Settings
from reportgen.importing.summaries import quantities
from reportgen.workbook.units import UnitError, conversion

Floats = NDArray[np.float64]

PUT_IN: Final = {"fill", "top-up"}  # the first volume of a unit is its fill
REMAINING: Final = "remaining"
TAKEN_OUT: Final = ("sample", "drain", REMAINING)  # events of volumes that are no use of water
USED: Final = {"", "used"}  # water that is not put in or taken out
READ: Final = ("value", "zero")  # states with a number
LOST: Final = "lost"
PLANT: Final = "plant"  # what may be independent, beside the unit
TREATMENT: Final = "treatment"
# Measures of a unit, not of each plant.
OF_UNITS: Final = ("tray_yield", "tray_yield_dry", quantities.WATER, quantities.ENERGY)
KEY: Final = "key"
UNIT_ID: Final = "unit_id"


def summary(frame: pd.DataFrame, settings: Settings) -> Summary:
    """Return the figures of each quantity by treatment, in the units of the report.

    Values of several occasions count as their layout says; meters and counters count what
    passed between readings. Treatments go by the names that are printed, "" where a quantity is
    of the whole trial.
    """
    if frame.empty:
        return {}
    keyed = _keyed(frame, settings)
    result: dict[str, dict[str, Figures]] = {}
    for (key, treatment), rows in keyed.groupby([KEY, long.TREATMENT], sort=False):
        name = settings.treatments.get(str(treatment), str(treatment))
        figures = _figures(rows, settings, str(key) not in OF_UNITS)
        if figures is not None:
            result.setdefault(str(key), {})[name] = figures
    return result


# ---- rows by the keys of the summary -------------------------------------------------------------


def _keyed(frame: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return the rows with their key, amount, number of plants and unit."""
    parts = []
    for (index, number), rows in frame.groupby([long.LAYOUT, long.VALUES], sort=False):
        layout = settings.layouts[int(str(index))]
        values = layout.values[int(str(number))]
        key = quantities.key_of(layout, values)
        target = quantities.unit_of(layout, values)
        part = _in_one_unit(rows, target).assign(**{KEY: key, UNIT_ID: _unit_ids(rows, settings)})
        if values.quantity in (quantities.VOLUME, quantities.READING):
            part = _used(part, values)
        elif quantities.is_growth(layout):
            part = _last_measured(part)
        parts.append(part)
        if _is_counted(values, rows) and key in OF_UNITS:
            parts.append(part.assign(**{KEY: quantities.key_of_each_plant(values)}))
    whole = pd.concat(parts, ignore_index=True)
    is_water = whole[KEY] == quantities.WATER
    return whole[~is_water | _has_budget(whole)]


def _is_counted(values: Values, rows: pd.DataFrame) -> bool:
    return values.covers is Covers.UNIT and bool(rows[long.COUNT].notna().any())


def _in_one_unit(rows: pd.DataFrame, target: str) -> pd.DataFrame:
    """Return rows with amounts in the target unit.

    As they stand, with unit "", where a unit is open or unknown.
    """
    amount = rows[long.VALUE]
    units = rows.loc[rows[long.STATE].isin(READ), long.UNIT_OF_MEASURE].unique().tolist()
    if not target and len(units) == 1:
        target = units[0]
    shown = target
    for unit in units:
        if unit == target:
            continue
        is_such = rows[long.UNIT_OF_MEASURE] == unit
        try:
            factor, offset = conversion(unit, target)
        except UnitError:
            shown = ""
            continue
        amount = amount.where(~is_such, amount * factor + offset)
    return rows.assign(**{long.VALUE: amount, long.UNIT_OF_MEASURE: shown})


def _unit_ids(rows: pd.DataFrame, settings: Settings) -> "pd.Series[str]":
    """Return what each row's independent unit is called."""
    independent = settings.independent
    unit = rows[long.UNIT].astype(str)
    if independent == TREATMENT:
        return rows[long.TREATMENT].astype(str)
    if independent == PLANT:
        return unit + "\n" + rows[long.PLANT].astype(str)
    if independent == Dimension.BLOCK.value:
        return rows[long.BLOCK].astype(str)
    return unit


# ---- water and energy ----------------------------------------------------------------------------


def _used(rows: pd.DataFrame, values: Values) -> pd.DataFrame:
    """Return one row for each volume or step of a counter, below 0 where water was taken out."""
    if values.counts in (Counts.COUNTER, Counts.DAILY):
        rows = _steps(rows, values.counts)
    is_out = rows[long.EVENT].isin(TAKEN_OUT)
    return rows.assign(**{long.VALUE: rows[long.VALUE].where(~is_out, -rows[long.VALUE])})


def _has_budget(rows: pd.DataFrame) -> "pd.Series[bool]":
    """Tell which volumes are of units whose use is known: filled and emptied, or logged as used."""
    water = rows[rows[KEY] == quantities.WATER]
    fates = []
    for _, of_unit in water.groupby([long.TREATMENT, long.UNIT], sort=False):
        events = set(of_unit[long.EVENT])
        is_emptied = REMAINING in events and events & PUT_IN
        if is_emptied or events <= USED:
            fates.extend(of_unit.index)
    return rows.index.isin(fates)


def _steps(rows: pd.DataFrame, counts: Counts) -> pd.DataFrame:
    """Return rows of a counter with what passed since the reading before; the first has none."""
    rows = rows[rows[long.STATE].isin(READ)]
    rank = occasion_ranks(rows[long.OCCASION])
    ordered = rows.assign(rank=rank).sort_values("rank", kind="stable")
    keys = [long.TREATMENT, long.BLOCK, long.UNIT, long.METER, long.EVENT]
    if counts is Counts.DAILY:
        day = ordered[long.OCCASION].str.slice(0, 10)
        last = ordered.assign(day=day).groupby([*keys, "day"], sort=False).tail(1)
        return last.drop(columns=["rank", "day"])
    steps = ordered.groupby(keys, sort=False)[long.VALUE].diff()
    ordered[long.VALUE] = steps.where(steps >= 0, 0.0)  # use across a reset counts as zero
    return ordered.drop(columns="rank")


def _last_measured(rows: pd.DataFrame) -> pd.DataFrame:
    """Return the rows of the last occasion on which something was measured."""
    read = rows[rows[long.STATE].isin(READ)]
    rank = occasion_ranks(read[long.OCCASION])
    return read[rank == rank.groupby(read[long.TREATMENT]).transform("max")]


# ---- figures -------------------------------------------------------------------------------------


def _figures(rows: pd.DataFrame, settings: Settings, per_plant: bool) -> Figures | None:
    harvested = harvest(rows, settings)
    read = harvested[harvested[long.STATE].isin(READ)]
    if read.empty:
        return None
    single = rows[rows[long.STATE].isin(READ)]
    number = len(single)
    plants = np.ones(len(read))
    plants_of_units = None
    if per_plant:
        plants = read[long.COUNT].fillna(1.0).to_numpy(dtype=float)
        plants_of_units = plants
        number = round(fsum(plants))
    amounts = read[long.VALUE].to_numpy(dtype=float)
    is_mean = (read[long.COVERS] == Covers.MEAN.value).to_numpy()
    totals = np.where(is_mean, amounts * plants, amounts)
    means = _means_of_units(read, totals, plants_of_units)
    if not means:
        return None
    figures = Figures(
        units=len(means),
        n=number,
        total=fsum(totals),
        mean=fsum(means) / len(means),
        unit=str(read[long.UNIT_OF_MEASURE].iloc[0]),
        lost=int((harvested[long.STATE] == LOST).sum()),
    )
    return _with_particulars(figures, single)


def _means_of_units(read: pd.DataFrame, totals: Floats, plants: Floats | None) -> list[float]:
    """Return the mean per plant of each unit that has any, its total where plants do not count."""
    means = []
    places_of_units = read.reset_index(drop=True).groupby(UNIT_ID, sort=False).indices
    for places in places_of_units.values():
        if plants is None:
            number = 1.0
        else:
            number = fsum(plants[places])
        if number > 0:
            means.append(fsum(totals[places]) / number)
    return means


def _with_particulars(figures: Figures, single: pd.DataFrame) -> Figures:
    """Return figures with what single values tell: names, times, extremes, first and last occasion."""
    units = tuple(pd.unique(single[UNIT_ID]).tolist())
    ordered = occasions_in_order(single[long.OCCASION])
    times = np.array([len(ordered)])
    if len(units) > 1:
        times = single.groupby(UNIT_ID)[long.OCCASION].nunique().to_numpy()
    return replace(
        figures,
        unit_names=units,
        times=(int(times.min()), int(times.max())),
        smallest=float(single[long.VALUE].min()),
        largest=float(single[long.VALUE].max()),
        first=str(ordered[0]),
        last=str(ordered[-1]),
    )
