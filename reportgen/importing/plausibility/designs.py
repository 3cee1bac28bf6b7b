"""What cannot be told apart, or is told of nobody: rooms, days, second factors, numbers of plants."""

import re
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
import pandas as pd

from reportgen.importing.carriers import labels_of
from reportgen.importing.model import long
from reportgen.importing.model.claims import Labels
from reportgen.importing.model.layouts import CarrierKind, Covers, Layout, Occasions
from reportgen.importing.model.tables import Table
from reportgen.importing.plausibility.evidence import Evidence, Finding, place_in_table
from reportgen.importing.quantity_names import quantity_text
from reportgen.importing.sheets.occasions import tell_days
from reportgen.language import marked, say
from reportgen.model.problem import Problem
from reportgen.workbook.values import shown

ROOMS: Final = re.compile(
    r"(?i)\b(?:room|tent|chamber|cabinet|greenhouse|house|shelf|rack|bay|bench|zone|date|day|run|batch|raum|zelt|kammer"
    r"|haus|regal|tisch|datum|tag|salle|chambre|serre|date|jour|sala|fecha|data|invernadero|stanza|serra|kas|kamer"
    r"|estufa)\b"
)
FACTORS: Final = re.compile(
    r"(?i)\b(?:cultivar|variety|varieties|sorte|variedad|variété|variete|varietà|varieta|ras|cv|species|soil|medium"
    r"|substrate|substrat|sustrato|boden|suelo|sol|crop|strain|genotype|kultur)\b"
)
PICKED: Final = ("Fresh weight", "Weight")  # of whole trays these are yields, and no plant's
UNTOLD: Final = {
    Covers.MEAN: (
        marked("nothing tells how many plants the means of {quantity} are of"),
        marked(
            "Means per plant hold; what trays gave, and water and energy a gram, are those of one"
            " plant a row."
        ),
    ),
    Covers.UNIT: (
        marked("nothing tells how many plants the values of {quantity} are of"),
        marked("They are of a tray each; where the report says plant, read tray."),
    ),
}
FEWEST_EACH: Final = 2  # rows of each level under each treatment that make a label a factor
MOST_LEVELS: Final = 6


def _other_labels(evidence: Evidence, layout: Layout, table: Table) -> Iterator[tuple[int, Labels]]:
    """Yield the label columns of a table that its layout does not use, with their indexes."""
    used = _used_columns(layout)
    names = [column.name for column in table.columns]
    for labels in labels_of(table, evidence.sheets).labels:
        name = labels.carrier.name
        if _is_whole_column(labels) and name not in used and name in names:
            yield names.index(name), labels


def _used_columns(layout: Layout) -> set[str]:
    """Return the columns of labels and values that a layout uses."""
    used = {*layout.columns.values(), *layout.only}
    for source in (*layout.dimensions.values(), *layout.factors.values()):
        used.update(carrier.name for carrier in source.carriers)
    for values in layout.values:
        used.update((*values.columns, values.count, values.tare))
    return used


def _is_whole_column(labels: Labels) -> bool:
    """Tell whether labels stand in a column as they are."""
    is_column = labels.carrier.kind is CarrierKind.COLUMN and not labels.carrier.part
    return is_column and not labels.lookup


def _with_treatments(evidence: Evidence, number: int, table: Table, labels: Labels) -> pd.DataFrame:
    """Return the label and the treatment of each row of a table that was read."""
    own = evidence.rows(number)
    sheets = np.array([block.sheet for block in table.blocks])
    places = pd.DataFrame(
        {long.SHEET: sheets[table.block], long.ROW: table.row, "label": labels.labels}
    )
    return own.merge(places, on=[long.SHEET, long.ROW])[["label", long.TREATMENT, long.UNIT]]


def treatments_in_one_place(evidence: Evidence) -> Iterator[Problem]:
    """Each treatment stood in a room, or on a day, of its own: the two cannot be told apart."""
    for number, layout, table in evidence.layouts("Plants", "Harvests"):
        for index, labels in _other_labels(evidence, layout, table):
            if not ROOMS.search(labels.header.replace("_", " ")):
                continue
            pairs = _with_treatments(evidence, number, table, labels).drop_duplicates(
                ["label", long.TREATMENT]
            )
            places, treatments = pairs["label"].unique(), pairs[long.TREATMENT].unique()
            is_one = len(treatments) > 1 and len(pairs) == len(places) == len(treatments)
            if is_one and "" not in places and "" not in treatments:
                yield _in_one_place(evidence, table, index, labels, pairs)


def _in_one_place(
    evidence: Evidence, table: Table, index: int, labels: Labels, pairs: pd.DataFrame
) -> Problem:
    named = []
    for place, treatment in zip(pairs["label"], pairs[long.TREATMENT], strict=True):
        named.append(
            say('"{treatment}" in "{place}"', treatment=shown(treatment), place=shown(place))
        )
    return Finding(
        "treatment_in_one_place",
        say(
            "each treatment has a {header} of its own: {named}",
            header=shown(labels.header),
            named=", ".join(named),
        ),
        say("each treatment in several of them"),
        say(
            "What the place or day did and what the treatment did cannot be told apart;"
            " say so in the report."
        ),
    ).at(evidence, *_header_cell(table, index))


def _header_cell(table: Table, index: int) -> tuple[int, int, int]:
    """Return sheet, row and column of a header, of the first row without one."""
    sheet, row, letter = place_in_table(table, 0, index)
    header_rows = table.blocks[0].header_rows
    if header_rows:
        row = header_rows[-1]
    return sheet, row, letter


def factors_that_are_pooled(evidence: Evidence) -> Iterator[Problem]:
    """A second factor, such as a cultivar, crosses the treatments, and nothing says what it is."""
    for number, layout, table in evidence.layouts("Plants", "Harvests"):
        for index, labels in _other_labels(evidence, layout, table):
            if not _may_be_factor(labels):
                continue
            rows = _with_treatments(evidence, number, table, labels)
            counts = rows[rows["label"] != ""].groupby(["label", long.TREATMENT]).size()
            table_of_counts = counts.unstack(fill_value=0)
            if _is_crossed(table_of_counts):
                levels = [shown(str(level)) for level in table_of_counts.index]
                yield _pooled(evidence, table, index, labels.header, levels)


def _may_be_factor(labels: Labels) -> bool:
    """Tell whether a label column has a few levels and a header for a factor."""
    is_few = 2 <= len(labels.levels) <= MOST_LEVELS
    return is_few and FACTORS.search(labels.header.replace("_", " ")) is not None


def _is_crossed(counts: pd.DataFrame) -> bool:
    """Tell whether each level (row) has enough values under each treatment (column)."""
    if min(counts.shape) < 2:
        return False
    return bool((counts >= FEWEST_EACH).to_numpy().all())


def _pooled(
    evidence: Evidence, table: Table, index: int, header: str, levels: Sequence[str]
) -> Problem:
    return Finding(
        "factor_pooled",
        say(
            "{header} has {number} levels under each treatment: {levels}",
            header=shown(header),
            number=len(levels),
            levels=", ".join(levels),
        ),
        say("a factor of its own, or one of its levels"),
        say("Its levels are pooled as they stand. Take the log in again to say what it is."),
    ).at(evidence, *_header_cell(table, index))


def plants_of_untold_number(evidence: Evidence) -> Iterator[Problem]:
    """Trays were weighed as a whole, or as means, and nothing tells how many plants each held."""
    for number, _, _ in evidence.layouts("Plants"):
        own = evidence.rows(number)
        for covers, (found, advice) in UNTOLD.items():
            is_open = (own[long.COVERS] == covers.value) & own[long.COUNT].isna()
            is_open &= ~own[long.QUANTITY].isin(PICKED) | (covers is Covers.MEAN)
            if is_open.any():
                first = own[is_open].iloc[0]
                yield Finding(
                    "number_of_plants_not_told",
                    say(found, quantity=quantity_text(first[long.QUANTITY])),
                    say("the number of plants of each"),
                    say(advice),
                ).at(
                    evidence,
                    int(first[long.SHEET]),
                    int(first[long.ROW]),
                    int(first[long.COLUMN]),
                    int(is_open.sum()),
                )


def occasions_without_days(evidence: Evidence) -> Iterator[Problem]:
    """Plants were picked or measured several times, and nothing tells on which days."""
    for number, layout, _ in evidence.layouts("Plants", "Harvests", "Growth"):
        if layout.occasions not in (Occasions.PICKINGS, Occasions.GROWTH):
            continue
        own = evidence.rows(number)
        labels = own[long.OCCASION].unique()
        if len(labels) < 2 or tell_days(labels.tolist(), evidence.settings):
            continue
        first = own.iloc[0]
        if layout.occasions is Occasions.GROWTH:
            used = say("Only the last time is used.")
        else:
            used = say("All are taken for the day of the harvest.")
        yield Finding(
            "days_not_told",
            say(
                "nothing tells the days of {first} to {last}",
                first=shown(str(labels[0])),
                last=shown(str(labels[-1])),
            ),
            say("a date for each time"),
            say("{used} Totals hold; what depends on days does not.", used=used),
        ).at(evidence, int(first[long.SHEET]), int(first[long.ROW]), 0)
