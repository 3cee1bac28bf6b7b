"""The answer of a report as a table."""

import pandas as pd

from reportgen.model.document import AnswerBox, AnswerRow, Change


def frame(box: AnswerBox) -> pd.DataFrame:
    """Return a row for each measure and treatment of an answer box, texts as printed."""
    rows: list[dict[str, str]] = []
    for row in box.rows:
        for change in row.changes:
            rows.append(_row(box, row, change))
    return pd.DataFrame(rows)


def _row(box: AnswerBox, row: AnswerRow, change: Change) -> dict[str, str]:
    return {
        "measure": row.measure,
        "unit": row.unit,
        "reference": box.reference,
        "reference figure": row.reference,
        "treatment": change.name,
        "figure": change.figure,
        "change": change.change,
        "interval": change.limits,
        "verdict": change.verdict,
    }
