"""Stack blocks with the same headers into tables, name their columns, and take out the owner's statistics."""

from collections import Counter
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from openpyxl.utils import get_column_letter

from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.tables import Area, Block, Column, Computed, Table
from reportgen.importing.tables.drafts import Draft, names_and_units
from reportgen.importing.tables.statistics import (
    Cells,
    ColumnStatistic,
    RowStatistic,
    column_statistics,
    row_statistics,
)

Label = tuple[str, ...]


@dataclass(frozen=True)
class Piece:
    """The rows that one block gives to its table, in the columns of the table."""

    block: NDArray[np.intp]
    row: NDArray[np.intp]
    kind: NDArray[np.uint8]
    text: NDArray[np.object_]
    number: NDArray[np.float64]
    moment: NDArray[np.datetime64]
    section: NDArray[np.object_]


def labels_of(draft: Draft) -> list[tuple[Label, int]]:
    """Return what tells each column: its header labels in small letters, and how many equal ones stand before."""
    counts: Counter[Label] = Counter()
    labels = []
    for over in draft.over:
        label = tuple(_plain(text) for text in over)
        labels.append((label, counts[label]))
        counts[label] += 1
    return labels


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace("_", " ").split())


def stacked(drafts: list[Draft]) -> list[list[Draft]]:
    """Return the drafts in groups of equal headers, each group one table."""
    groups: list[list[Draft]] = []
    for draft in drafts:
        for group in groups:
            if _fit(group[0], draft):
                group.append(draft)
                break
        else:
            groups.append([draft])
    return groups


def _fit(first: Draft, second: Draft) -> bool:
    """Tell whether two blocks have the same headers, apart from a few that one of them lacks."""
    if not first.header.rows or not second.header.rows:
        return False
    if first.region.source.is_hidden != second.region.source.is_hidden:
        return False
    if len(first.header.rows) != len(second.header.rows) or first.is_key != second.is_key:
        return False
    one = {label for label in labels_of(first) if any(label[0])}
    two = {label for label in labels_of(second) if any(label[0])}
    shared = one & two
    if one == two:
        return True
    smaller, larger = min(len(one), len(two)), max(len(one), len(two))
    return len(shared) == smaller and smaller >= 2 and larger - smaller <= max(1, larger // 4)


def table_of(drafts: list[Draft], sheets: tuple[Sheet, ...], is_alone: bool) -> Table:
    """Return the table that some blocks with equal headers make."""
    labels, columns = _columns(drafts)
    blocks = []
    pieces: list[Piece] = []
    computed: list[Computed] = []
    left_out: list[tuple[int, int, str]] = []
    for index, draft in enumerate(drafts):
        order = _order(draft, labels)
        block = _block(draft, order)
        blocks.append(block)
        cells = _cells(draft)
        is_data = np.ones(len(draft.rows), dtype=bool)
        for statistic in row_statistics(cells):
            is_data[statistic.row] = False
            row = draft.region.area.first_row + int(draft.rows[statistic.row])
            left_out.append((index, row, "statistic"))
            computed += _computed_row(draft, statistic)
        pieces.append(_piece(draft, order, is_data, index))
        top = draft.region.area.first_row
        left_out += [(index, top + row, reason) for row, reason in draft.left_out]
    table = Table(
        key=_key(drafts[0], sheets, is_alone),
        blocks=tuple(blocks),
        columns=columns,
        block=np.concatenate([piece.block for piece in pieces]),
        row=np.concatenate([piece.row for piece in pieces]),
        kind=np.concatenate([piece.kind for piece in pieces]),
        text=np.concatenate([piece.text for piece in pieces]),
        number=np.concatenate([piece.number for piece in pieces]),
        moment=np.concatenate([piece.moment for piece in pieces]),
        section=np.concatenate([piece.section for piece in pieces]),
        computed=tuple(computed),
        left_out=tuple(left_out),
        is_key=drafts[0].is_key,
        is_fields=drafts[0].is_fields,
    )
    for array in (table.block, table.row, table.kind, table.text, table.number, table.moment, table.section):
        array.setflags(write=False)
    return replace(table, computed=(*table.computed, *_computed_columns(table)))


def _columns(drafts: list[Draft]) -> tuple[list[tuple[Label, int]], tuple[Column, ...]]:
    """Return what tells each column, and the columns: those of the first block, then what others have besides."""
    labels: list[tuple[Label, int]] = []
    columns: list[Column] = []
    for draft in drafts:
        left = draft.region.area.first_column
        named = names_and_units(draft)
        for index, label in enumerate(labels_of(draft)):
            if label in labels:
                continue
            labels.append(label)
            name, unit = named[index]
            filled = [text for text in draft.over[index] if text]
            header = filled[-1] if filled else ""
            name = name or f"column {get_column_letter(left + index)}"
            columns.append(Column(name, header, draft.over[index], unit))
    return labels, _with_unique_names(columns)


def _with_unique_names(columns: list[Column]) -> tuple[Column, ...]:
    counts = Counter(column.name for column in columns)
    seen: Counter[str] = Counter()
    unique = []
    for column in columns:
        name = column.name
        seen[name] += 1
        if counts[name] > 1:
            numbered = f"{name} ({seen[name]} of {counts[name]})"
            unique.append(replace(column, name=numbered))
        else:
            unique.append(column)
    return tuple(unique)


def _order(draft: Draft, labels: list[tuple[Label, int]]) -> list[int]:
    """Return for each column of the table the block's column, -1 where it has none."""
    if not draft.header.rows:
        return list(range(len(draft.over)))
    own = labels_of(draft)
    order = []
    for label in labels:
        order.append(own.index(label) if label in own else -1)
    return order


def _block(draft: Draft, order: list[int]) -> Block:
    area = draft.region.area
    header_rows = tuple(area.first_row + row for row in draft.header.rows)
    first_row = header_rows[0] if header_rows else area.first_row + draft.header.body
    last_row = area.last_row
    rows_used = [*draft.rows, *(row for row, _ in draft.left_out)]
    if rows_used:
        last_row = area.first_row + int(max(rows_used))
    letters = tuple(area.first_column + column if column >= 0 else 0 for column in order)
    unit_row = area.first_row + draft.header.unit_row if draft.header.unit_row >= 0 else 0
    return Block(
        sheet=draft.region.sheet,
        area=Area(first_row, area.first_column, last_row, area.last_column),
        header_rows=header_rows,
        letters=letters,
        titles=draft.titles,
        fields=dict(draft.fields),
        unit_row=unit_row,
    )


def _piece(draft: Draft, order: list[int], is_data: NDArray[np.bool_], index: int) -> Piece:
    rows = draft.rows[is_data]
    region = draft.region
    area = region.area
    moment = region.moment[rows]
    kind = draft.kind[is_data]
    text = draft.text[is_data]
    number = region.number[rows]
    columns = [max(column, 0) for column in order]
    absent = np.array(order) < 0
    kind, text, number, moment = kind[:, columns], text[:, columns], number[:, columns], moment[:, columns]
    kind[:, absent] = Kind.BLANK
    text[:, absent] = ""
    number[:, absent] = np.nan
    moment[:, absent] = np.datetime64("NaT")
    return Piece(
        block=np.full(len(rows), index, dtype=np.intp),
        row=np.asarray(rows + area.first_row, dtype=np.intp),
        kind=kind,
        text=text,
        number=number,
        moment=moment,
        section=draft.sections[is_data],
    )


def _key(draft: Draft, sheets: tuple[Sheet, ...], is_alone: bool) -> str:
    label = sheets[draft.region.sheet].label
    if is_alone:
        return label
    area = _block(draft, list(range(len(draft.over)))).area
    first = f"{get_column_letter(area.first_column)}{area.first_row}"
    last = f"{get_column_letter(area.last_column)}{area.last_row}"
    return f"{label}!{first}:{last}"


def _cells(draft: Draft) -> Cells:
    start = np.zeros(len(draft.rows), dtype=bool)
    start[1:] = draft.sections[1:] != draft.sections[:-1]
    units = np.array([bool(unit) for _, unit in names_and_units(draft)])
    return Cells(draft.kind, draft.text, draft.region.number[draft.rows], start, units)


def _computed_row(draft: Draft, statistic: RowStatistic) -> list[Computed]:
    """Return the statistics of a row: those that agree, and those that do not."""
    area = draft.region.area
    sheet = draft.region.sheet
    row = area.first_row + int(draft.rows[statistic.row])
    source_rows = [area.first_row + int(index) for index in draft.rows[statistic.of]]
    values = draft.region.number[draft.rows[statistic.row]]
    results = []
    for wanted in (True, False):
        chosen = statistic.agrees == wanted
        columns = [int(column) for column in statistic.columns[chosen]]
        if not columns:
            continue
        letters = [area.first_column + column for column in columns]
        results.append(
            Computed(
                statistic=statistic.statistic,
                cells=tuple((sheet, row, letter) for letter in letters),
                of=tuple((sheet, source, letter) for source in source_rows for letter in letters),
                agrees=wanted,
                label=statistic.label,
                values=tuple(float(values[column]) for column in columns),
                expected=tuple(statistic.expected[chosen].tolist()),
            )
        )
    return results


def _computed_columns(table: Table) -> list[Computed]:
    start = np.zeros(len(table.row), dtype=bool)
    units = np.array([bool(column.unit) for column in table.columns])
    cells = Cells(table.kind, table.text, table.number, start, units)
    headers = [" ".join(label for label in column.over if label) for column in table.columns]
    results: list[Computed] = []
    for statistic in column_statistics(cells, headers):
        results += _computed_column(table, statistic, headers[statistic.column])
    return results


def _computed_column(table: Table, statistic: ColumnStatistic, label: str) -> list[Computed]:
    numbers = ~np.isnan(table.number[:, statistic.column])
    results = []
    for wanted in (True, False):
        rows = np.flatnonzero(numbers & (statistic.agrees == wanted))
        if rows.size == 0:
            continue
        cells = _places(table, rows, (statistic.column,))
        of = _places(table, rows, statistic.of)
        values = tuple(float(value) for value in table.number[rows, statistic.column])
        expected = tuple(float(value) for value in statistic.expected[rows])
        results.append(
            Computed(statistic.statistic, cells, of, wanted, label, values, expected, statistic.column, statistic.of)
        )
    return results


def _places(table: Table, rows: NDArray[np.intp], columns: tuple[int, ...]) -> tuple[tuple[int, int, int], ...]:
    places = []
    for row in rows:
        block = table.blocks[table.block[row]]
        for column in columns:
            if block.letters[column]:
                places.append((block.sheet, int(table.row[row]), block.letters[column]))
    return tuple(places)
