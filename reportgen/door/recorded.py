"""What was recorded, as pandas tables."""

from typing import Any, Final

import pandas as pd

from reportgen.model.data import DataColumn, DataTable
from reportgen.model.trial import Trial

# The kinds of pandas that keep a blank beside numbers, days and truth values.
KINDS: Final = {
    "number": "float64",
    "integer": "Int64",
    "boolean": "boolean",
    "date": "datetime64[s]",
    "datetime": "datetime64[s]",
}


def frame(table: DataTable) -> pd.DataFrame:
    """Return a sheet; blanks are missing values, times of day are kept as they are."""
    columns = {column.heading: _series(column) for column in table.columns}
    return pd.DataFrame(columns)


def _series(column: DataColumn) -> "pd.Series[Any]":
    kind = KINDS.get(column.type, "object")
    return pd.Series(column.values, dtype=kind)


def treatments(trial: Trial) -> pd.DataFrame:
    """Return how much of each treatment there was, in the order of the workbook."""
    rows: list[dict[str, object]] = []
    for treatment in trial.treatments:
        trays = [one for one in trial.trays if one.treatment == treatment.code and one.is_planted]
        plants = sum(tray.plants_started for tray in trays)
        row = {"treatment": treatment.code, "name": treatment.name}
        rows.append({**row, f"{trial.unit}s": len(trays), "plants started": plants})
    return pd.DataFrame(rows)
