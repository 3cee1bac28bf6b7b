"""Experimental units: the code of the tray, and the number of the plant in it, of each value."""

from collections.abc import Mapping
from typing import Final

import pandas as pd

from reportgen.importing.model import long
from reportgen.importing.model.layouts import Covers, Dimension
from reportgen.importing.model.settings import Settings
from reportgen.importing.sheets.rows import GIVES, NUMBER, TRAY
from reportgen.workbook.declaration import GROWTH, HARVESTS, PLANTS

OF_PLANTS: Final = (PLANTS.name, HARVESTS.name, GROWTH.name)
PLANT_UNIT: Final = "plant"
TREATMENT_UNIT: Final = "treatment"
SEPARATOR: Final = "-"
WHOLE: Final = (Covers.TREATMENT.value, Covers.TRIAL.value)


def independent(rows: pd.DataFrame, settings: Settings) -> str:
    """Return what was treated independently: as the settings say, else the tray where one is known,
    else the plant.
    """
    said = settings.independent
    if said in ("", Dimension.UNIT.value):
        has_unit = (rows.loc[rows[GIVES].isin(OF_PLANTS), long.UNIT] != "").any()
        if has_unit:
            return Dimension.UNIT.value
        return PLANT_UNIT
    return said


def with_units(rows: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return rows with the columns `TRAY` and `NUMBER`; a tray is "" where a value is of no single
    one.
    """
    kind = independent(rows, settings)
    plants = rows[rows[GIVES].isin(OF_PLANTS)]
    number = _numbers(rows)
    if kind == PLANT_UNIT:
        tray = _pots(rows, number)
        number = pd.Series("1", rows.index)
        number[(rows[long.PLANT] == "") & ~rows.index.isin(plants.index)] = ""
    elif kind == TREATMENT_UNIT:
        tray = rows[long.TREATMENT]
        number = _anew(rows, number)
    elif kind == Dimension.BLOCK.value:
        tray = _nested(rows, long.BLOCK)
        number = _anew(rows, number)
    else:
        tray = rows[long.UNIT].where(rows[long.UNIT] != "", _whole(rows))
    return rows.assign(**{TRAY: tray.astype(object), NUMBER: number.astype(object)})


def _whole(rows: pd.DataFrame) -> "pd.Series[str]":
    """Return the treatment as the tray of plants of which no tray is known."""
    return rows[long.TREATMENT].where(rows[GIVES].isin(OF_PLANTS), "")


def _numbers(rows: pd.DataFrame) -> "pd.Series[str]":
    """Return the number of each plant in its unit, "" for the unit as a whole.

    Where units lie in several blocks plants are numbered in each, and the block goes before the
    number.
    """
    is_whole = rows[long.COVERS].isin((Covers.UNIT.value, *WHOLE))
    named = rows.loc[
        rows[long.BLOCK] != "", [long.TREATMENT, long.UNIT, long.BLOCK]
    ].drop_duplicates()
    crossed = named[named.duplicated([long.TREATMENT, long.UNIT])]
    is_crossed = rows[long.UNIT].isin(crossed[long.UNIT]) & (rows[long.BLOCK] != "")
    in_block = rows[long.BLOCK] + SEPARATOR + rows[long.PLANT]
    return rows[long.PLANT].astype(object).mask(is_crossed, in_block).mask(is_whole, "")


def _anew(rows: pd.DataFrame, number: "pd.Series[str]") -> "pd.Series[str]":
    """Return plants named with their trays, which are no units of their own."""
    named = rows[long.UNIT].where(number == "", rows[long.UNIT] + SEPARATOR + number)
    return named.where(rows[long.UNIT] != "", number)


def _nested(rows: pd.DataFrame, name: str) -> "pd.Series[str]":
    """Return the labels of a dimension, with the treatment before them where they stand under
    several.
    """
    pairs = rows.loc[rows[long.TREATMENT] != "", [name, long.TREATMENT]].drop_duplicates()
    is_crossed = pairs[name].duplicated().any()
    joined = rows[long.TREATMENT] + SEPARATOR + rows[name]
    if is_crossed:
        return joined
    return rows[name]


def _pots(rows: pd.DataFrame, number: "pd.Series[str]") -> "pd.Series[str]":
    """Return a code for each plant that is a unit of its own, "" where a value is of no single
    plant.
    """
    whole = rows[long.UNIT].where(rows[long.UNIT] != "", rows[long.TREATMENT])
    plain = rows[long.PLANT].where(rows[long.PLANT] != "", number)
    joined = (whole + SEPARATOR + plain).where(plain != "", rows[long.UNIT])
    labelled = rows[rows[long.PLANT] != ""]
    pairs = labelled[[long.PLANT, long.TREATMENT, long.UNIT]].drop_duplicates()
    if len(labelled) and not pairs[long.PLANT].duplicated().any():
        return rows[long.PLANT].where(rows[long.PLANT] != "", joined)
    return joined


def treatments_of(rows: pd.DataFrame) -> Mapping[str, str]:
    """Return the treatment of each tray of plants, the first where its rows differ."""
    known = rows[rows[GIVES].isin(OF_PLANTS) & (rows[TRAY] != "")]
    named = known[known[long.TREATMENT] != ""]
    every = pd.concat([named, known]).drop_duplicates(TRAY)
    return dict(zip(every[TRAY], every[long.TREATMENT], strict=True))
