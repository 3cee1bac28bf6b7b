"""Labels that do not mean what they seem to: ids, treatments, dates."""

import re
from collections.abc import Iterator
from typing import Final

import numpy as np

from reportgen.importing.carriers.colours import untold
from reportgen.importing.model import long
from reportgen.importing.model.layouts import CarrierKind, Dimension, Layout
from reportgen.importing.model.tables import Table
from reportgen.importing.plausibility.evidence import (
    PLANTS_SHEETS,
    Evidence,
    Finding,
    place_in_table,
)
from reportgen.language import listed, say
from reportgen.model.problem import Problem
from reportgen.workbook.headers import nearest
from reportgen.workbook.values import shown

CELL: Final = re.compile(r"([A-Z]+)(\d+)")
LOT: Final = re.compile(r"\D*?(\d+)\s*(?:-|–|to|bis|a|à|tot|/)\s*(\d+)", re.IGNORECASE)
MOST_WORDS: Final = 0.5  # of the plants may be words: where more are, words are their names
MOST_NUMBERED: Final = 0.5  # part of the plants named by a number alone, so that others are words
MOST_SHARED: Final = (
    0.1  # part of the plants whose number stands in two trays though numbers run through
)


def ids_that_lost_a_zero(evidence: Evidence) -> Iterator[Problem]:
    """A number such as 1.1 stands again behind 1.9: it was probably typed as 1.10."""
    for _, layout, table in evidence.layouts(*PLANTS_SHEETS):
        for index in _label_columns(layout, table):
            yield from _lost_zeros(evidence, table, index)


def treatments_without_a_name(evidence: Evidence) -> Iterator[Problem]:
    """A colour, or an id that a typed key lacks, stands for a treatment that nobody named."""
    if evidence.settings.trial_workbook:  # its codes are checked by themselves
        return
    for number, layout, _ in evidence.layouts():
        rows = evidence.rows(number)
        for label in untold(layout, rows[long.TREATMENT].unique().tolist()):
            first = rows[rows[long.TREATMENT] == label].iloc[0]
            yield Finding(
                "treatment_not_told",
                say('nothing tells which treatment "{label}" is', label=label),
                say("the name of a treatment"),
                say("Run reportgen adopt on the log again, which asks for it."),
                waits=True,
            ).at(evidence, int(first[long.SHEET]), int(first[long.ROW]), int(first[long.COLUMN]))


def _label_columns(layout: Layout, table: Table) -> list[int]:
    """Return the columns whose labels name units and plants."""
    names = [column.name for column in table.columns]
    indexes: list[int] = []
    for dimension in (Dimension.UNIT, Dimension.PLANT):
        if dimension not in layout.dimensions:
            continue
        for carrier in layout.dimensions[dimension].carriers:
            if carrier.kind is CarrierKind.COLUMN and carrier.name in names:
                indexes.append(names.index(carrier.name))
    return list(dict.fromkeys(indexes))


def _lost_zeros(evidence: Evidence, table: Table, index: int) -> Iterator[Problem]:
    last = np.nan
    earlier: set[str] = set()
    texts = table.text[:, index]
    for row, value in enumerate(table.number[:, index]):
        is_repeated = texts[row] in earlier and value != last
        if is_repeated and round(value % 1, 6) == 0.1 and round(last - value, 6) == 0.8:
            yield Finding(
                "id_lost_a_zero",
                say(
                    '"{value}" stands again behind "{last}"',
                    value=f"{value:g}",
                    last=f"{last:g}",
                ),
                say('"{value}0", kept as text', value=f"{value:g}"),
                say(
                    "A spreadsheet makes 1.1 of 1.10, so that two names become one: type it as"
                    " text."
                ),
                waits=True,
            ).at(evidence, *place_in_table(table, row, index))
        earlier.add(texts[row])
        last = value


def plants_in_two_units(evidence: Evidence) -> Iterator[Problem]:
    """Plants are numbered through all trays, and one number stands in two of them."""
    for number, layout, _ in evidence.layouts("Plants", "Harvests"):
        if Dimension.PLANT not in layout.dimensions or Dimension.UNIT not in layout.dimensions:
            continue
        own = evidence.rows(number)
        pairs = own[own[long.PLANT] != ""].drop_duplicates([long.PLANT, long.UNIT])
        repeated = pairs[pairs[long.PLANT].duplicated()]
        if repeated.empty or len(repeated) > MOST_SHARED * pairs[long.PLANT].nunique():
            continue
        for index in range(len(repeated)):
            row = repeated.iloc[index]
            first = pairs[pairs[long.PLANT] == row[long.PLANT]].iloc[0]
            yield Finding(
                "plant_in_two_trays",
                say(
                    'plant "{plant}" stands in tray "{tray}" here and in "{other}" too',
                    plant=shown(row[long.PLANT]),
                    tray=shown(row[long.UNIT]),
                    other=shown(first[long.UNIT]),
                ),
                say("each number in one tray, as all others"),
                say("Look which of the two is right."),
            ).at(evidence, int(row[long.SHEET]), int(row[long.ROW]), 0)


def words_among_numbered_plants(evidence: Evidence) -> Iterator[Problem]:
    """Among numbered plants, a few rows have a word: a statistic, the roots, the rest."""
    for number, layout, _ in evidence.layouts("Plants"):
        if Dimension.PLANT not in layout.dimensions:
            continue
        own = evidence.rows(number)
        plants = own[own[long.PLANT] != ""].drop_duplicates([long.SHEET, long.ROW, long.PLANT])
        names = plants[long.PLANT].astype(str)
        is_word = ~names.str.contains(r"\d", regex=True)
        if names.str.fullmatch(r"\d+").mean() > MOST_NUMBERED:
            is_word |= names.str.contains(r"[^\W\d_]{2,}", regex=True)  # `rest (6)`, `6 plants`
        words = plants[is_word]
        if words.empty or len(words) > MOST_WORDS * len(plants):
            continue
        for (word, sheet), rows in words.groupby([long.PLANT, long.SHEET], sort=False):
            yield Finding(
                "word_for_a_plant",
                say(
                    '"{word}" stands among numbered plants, {number} times, and counts as a plant',
                    word=shown(str(word)),
                    number=len(rows),
                ),
                say("the number of a plant"),
                say("Leave the row out where it is a statistic or another part, or confirm it."),
                waits=True,
            ).in_rows(evidence, int(sheet), rows[long.ROW].tolist())


def names_of_several_plants(evidence: Evidence) -> Iterator[Problem]:
    """Names such as `1-5` and `6 to 10` are of several plants each, and count as one."""
    for number, layout, _ in evidence.layouts("Plants"):
        if Dimension.PLANT not in layout.dimensions:
            continue
        own = evidence.rows(number)
        plants = own[own[long.PLANT] != ""].drop_duplicates([long.SHEET, long.ROW, long.PLANT])
        lots = plants[[_is_lot(str(name)) for name in plants[long.PLANT]]]
        if len(lots) < len(plants) or len(lots) < 2:
            continue
        first = lots.iloc[0]
        yield Finding(
            "names_of_several_plants",
            say(
                '"{plant}" and the like name several plants, and count as one',
                plant=shown(str(first[long.PLANT])),
            ),
            say("a row a plant, or the number of plants that each weight covers"),
            say("Give the column of their number as count under values, or confirm the row."),
            waits=True,
        ).at(evidence, int(first[long.SHEET]), int(first[long.ROW]), 0, len(lots))


def _is_lot(name: str) -> bool:
    """Tell whether a name is a range of numbers that rises by more than one, such as `6 to 10`."""
    match = LOT.fullmatch(name)
    return match is not None and int(match[2]) - int(match[1]) > 1


def units_of_two_treatments(evidence: Evidence) -> Iterator[Problem]:
    """A tray stands under two treatments."""
    frame = evidence.frame
    numbers = [number for number, _, _ in evidence.layouts(*PLANTS_SHEETS)]
    named = frame[
        frame[long.LAYOUT].isin(numbers) & (frame[long.UNIT] != "") & (frame[long.TREATMENT] != "")
    ]
    pairs = named.drop_duplicates([long.UNIT, long.TREATMENT])
    for unit, own in pairs.groupby(long.UNIT, sort=False):
        if len(own) > 1:
            first, other = own.iloc[0], own.iloc[1]
            yield Finding(
                "tray_of_two_treatments",
                say(
                    'tray "{tray}" has the treatment "{treatment}" here and "{other}" before',
                    tray=shown(str(unit)),
                    treatment=shown(other[long.TREATMENT]),
                    other=shown(first[long.TREATMENT]),
                ),
                say("one treatment a tray"),
                say("Mend one of the two, or tell apart the trays that share a name."),
                waits=True,
            ).at(evidence, int(other[long.SHEET]), int(other[long.ROW]), 0)


def misspelt_treatments(evidence: Evidence) -> Iterator[Problem]:
    """A treatment that stands in one row is nearly spelt like another."""
    frame = evidence.frame
    numbers = [number for number, _, _ in evidence.layouts(*PLANTS_SHEETS)]
    named = frame[frame[long.LAYOUT].isin(numbers) & (frame[long.TREATMENT] != "")]
    rows = named.drop_duplicates([long.SHEET, long.ROW, long.TREATMENT])
    counts = rows[long.TREATMENT].value_counts()
    common = [label for label, count in counts.items() if count > 2]
    for label in counts[counts == 1].index:
        others = [other for other in common if _letters(other) != _letters(label)]
        near = nearest(label, others)
        if near:
            row = rows[rows[long.TREATMENT] == label].iloc[0]
            yield Finding(
                "treatment_misspelt",
                say('"{label}" stands in one row only', label=shown(label)),
                say('"{near}", if that was meant', near=shown(near)),
                say(
                    'Give it under words as {{ treatment = {{ "{label}" = "{near}" }} }}, or'
                    " confirm it.",
                    label=shown(label),
                    near=shown(near),
                ),
                waits=True,
            ).at(evidence, int(row[long.SHEET]), int(row[long.ROW]), 0)


def _letters(label: str) -> str:
    return re.sub(r"\d", "", label).casefold()


def mixed_date_orders(evidence: Evidence) -> Iterator[Problem]:
    """A column of dates has both orders of day and month."""
    used = {table.blocks[0].sheet for _, _, table in evidence.layouts()}
    for index in sorted(used):
        for convention in evidence.sheets[index].open:
            if convention.what != "mixed_dates":
                continue
            match = CELL.fullmatch(convention.cells[0])
            if match:
                problem = Finding(
                    "mixed_date_orders",
                    say(
                        "{texts} have both orders of day and month", texts=listed(convention.texts)
                    ),
                    say("one order in a column"),
                    say("Write year-month-day, or correct the cells."),
                    waits=True,
                ).at(evidence, index, int(match[2]), 0)
                yield problem
