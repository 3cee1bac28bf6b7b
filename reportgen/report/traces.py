"""Where each figure came from.

The file, sheet, column and rows of a spreadsheet in a layout of its owner's own.
"""

from collections.abc import Sequence
from itertools import groupby
from typing import Final

from reportgen.language import marked, plural, say
from reportgen.model.data import Traced
from reportgen.model.document import Block, Paragraph, Subheading, Table
from reportgen.model.trial import Trial
from reportgen.report import read_back

LEAD: Final = marked(
    "The data were read from a spreadsheet in a layout of its owner's own. Each quantity, with the"
    " rows that were read and those that were left out:"
)
REASONS: Final = (
    marked("excluded in the settings file"),
    marked("totals and means"),
    marked("no value"),
    marked("plants that were lost"),
    marked("earlier days"),
    marked("from before the trial or after it"),
)
QUANTITIES: Final = (  # of the declaration, beside those that are measures
    marked("Photoperiod"),
    marked("Canopy area"),
    marked("Rated power"),
    marked("Rated efficacy"),
    marked("Root weight"),
    marked("Volume"),
    marked("Temperature"),
    marked("Reading"),
    marked("Power"),
    marked("Hours per day"),
    marked("Days"),
    marked("Solution temperature"),
    marked("Price per kWh"),
    marked("Life"),
    marked("Hours used"),
    marked("Resolution"),
    marked("Accuracy"),
)


def blocks(trial: Trial) -> tuple[Block, ...]:
    """Return the way of each quantity into the report, nothing where the trial came in a workbook
    of its own.
    """
    if not trial.traces:
        return ()
    head = (say("Quantity"), say("Where it stands"), say("Unit"), say("Rows read"), say("Left out"))
    rows = tuple(map(_row, trial.traces))
    table = Table(
        "traces",
        say("Quantities and the cells that they were read from"),
        head,
        rows,
        (False,) * len(head),
    )
    return (
        Subheading(say("Where the figures come from")),
        *read_back.blocks(trial.read_back),
        Paragraph(say(LEAD)),
        table,
    )


def _row(trace: Traced) -> tuple[str, ...]:
    where = say(
        "{file}, sheet {sheet}, column {column}",
        file=trace.file,
        sheet=trace.sheet,
        column=trace.column,
    )
    read = plural(
        "{number} row: {rows}", "{number} rows: {rows}", len(trace.rows), rows=ranges(trace.rows)
    )
    said = [f"{say(reason)}: {ranges(rows)}" for reason, rows in trace.left_out]
    message = marked("{cell} read as {value} in place of {stood}")
    corrected = [
        say(message, cell=cell, value=value, stood=stood) for cell, value, stood in trace.corrected
    ]
    confirmed = [say("{cell} confirmed", cell=cell) for cell in trace.confirmed]
    return (
        say(trace.quantity),
        where,
        trace.unit,
        read if trace.rows else "0",
        "; ".join((*said, *corrected, *confirmed)),
    )


def ranges(rows: Sequence[int]) -> str:
    """Return numbers in rising order with those that follow each other as a range, such as 2-26,
    29.
    """
    runs = (list(run) for _, run in groupby(enumerate(rows), key=lambda one: one[1] - one[0]))
    ends = [(run[0][1], run[-1][1]) for run in runs]
    return ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in ends)
