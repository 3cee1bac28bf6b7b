"""Stack blocks with the same headers into tables, name their columns, and take out the owner's statistics."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray
from openpyxl.utils import get_column_letter

from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.tables import Area, Block, Column, Computed, Table
from reportgen.importing.tables.drafts import Draft, names_and_units
from reportgen.importing.tables.statistics import (
    Cells,
    RowStatistic,
    column_statistics,
    row_statistics,
)

Label = tuple[str, ...]


@dataclass(frozen=True)
class Body:
    """The rows of a table, those of one block after those of another, in the columns of the table."""

    block: NDArray[np.intp]
    sheet: NDArray[np.intp]
    row: NDArray[np.intp]
    kind: NDArray[np.uint8]
    text: NDArray[np.object_]
    number: NDArray[np.float64]
    moment: NDArray[np.datetime64]
    section: NDArray[np.object_]
    struck: NDArray[np.bool_]


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
    bodies = []
    left_out: list[tuple[int, int, str]] = []
    for index, draft in enumerate(drafts):
        order = _order(draft, labels)
        blocks.append(_block(draft, order))
        bodies.append(_body(draft, order, index))
        top = draft.region.area.first_row
        left_out += [(index, top + row, reason) for row, reason in draft.left_out]
    body = _concatenated(bodies)
    measured = np.array([bool(column.unit) or column.header[:1].isdigit() for column in columns])
    cells = Cells(body.kind, body.text, body.number, body.block, body.sheet, body.section, body.struck, measured)
    statistics = row_statistics(cells)
    is_data = ~body.struck
    for row in np.flatnonzero(body.struck).tolist():
        left_out.append((int(body.block[row]), int(body.row[row]), "struck"))
    for row in sorted({statistic.row for statistic in statistics}):
        is_data[row] = False
        left_out.append((int(body.block[row]), int(body.row[row]), "statistic"))
    places = Places(tuple(blocks), body.block, body.row)
    computed = [entry for statistic in statistics for entry in _computed_row(places, body, statistic)]
    table = Table(
        key=_key(drafts[0], sheets, is_alone),
        blocks=tuple(blocks),
        columns=columns,
        block=body.block[is_data],
        row=body.row[is_data],
        kind=body.kind[is_data],
        text=body.text[is_data],
        number=body.number[is_data],
        moment=body.moment[is_data],
        section=body.section[is_data],
        left_out=tuple(left_out),
        is_key=drafts[0].is_key,
        is_fields=drafts[0].is_fields,
    )
    for array in (table.block, table.row, table.kind, table.text, table.number, table.moment, table.section):
        array.setflags(write=False)
    return replace(table, computed=(*computed, *_computed_columns(table)))


def _concatenated(bodies: list[Body]) -> Body:
    arrays = {}
    for name in (part.name for part in fields(Body)):
        arrays[name] = np.concatenate([getattr(body, name) for body in bodies])
    return Body(**arrays)


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


def _body(draft: Draft, order: list[int], index: int) -> Body:
    region = draft.region
    count = len(draft.rows)
    columns = [max(column, 0) for column in order]
    absent = np.array(order) < 0
    kind = draft.kind[:, columns]
    text = draft.text[:, columns]
    number = region.number[draft.rows][:, columns]
    moment = draft.moment[:, columns]
    kind[:, absent] = Kind.BLANK
    text[:, absent] = ""
    number[:, absent] = np.nan
    moment[:, absent] = np.datetime64("NaT")
    return Body(
        block=np.full(count, index, dtype=np.intp),
        sheet=np.full(count, region.sheet, dtype=np.intp),
        row=np.asarray(draft.rows + region.area.first_row, dtype=np.intp),
        kind=kind,
        text=text,
        number=number,
        moment=moment,
        section=draft.sections,
        struck=draft.struck,
    )


def _key(draft: Draft, sheets: tuple[Sheet, ...], is_alone: bool) -> str:
    label = sheets[draft.region.sheet].label
    if is_alone:
        return label
    area = _block(draft, list(range(len(draft.over)))).area
    first = f"{get_column_letter(area.first_column)}{area.first_row}"
    last = f"{get_column_letter(area.last_column)}{area.last_row}"
    return f"{label}!{first}:{last}"


@dataclass(frozen=True)
class Places:
    """Where the rows and columns of a table stand."""

    blocks: tuple[Block, ...]
    block: NDArray[np.intp]
    row: NDArray[np.intp]

    def of(self, rows: Iterable[int], columns: Iterable[int]) -> tuple[tuple[int, int, int], ...]:
        """Return (sheet, row, column) of the cells where some rows and columns meet."""
        wanted = [int(column) for column in columns]
        places = []
        for row in rows:
            block = self.blocks[self.block[row]]
            number = int(self.row[row])
            places += [(block.sheet, number, block.letters[column]) for column in wanted if block.letters[column]]
        return tuple(places)


def _computed_row(places: Places, body: Body, statistic: RowStatistic) -> list[Computed]:
    """Return the statistics of a row: those that agree, and those that do not."""
    results = []
    for wanted in (True, False):
        chosen = statistic.agrees == wanted
        columns = statistic.columns[chosen]
        if columns.size == 0:
            continue
        results.append(
            Computed(
                statistic=statistic.statistic,
                cells=places.of([statistic.row], columns),
                of=places.of(statistic.of, columns),
                agrees=wanted,
                label=statistic.label,
                values=tuple(body.number[statistic.row, columns].tolist()),
                expected=tuple(statistic.expected[chosen].tolist()),
            )
        )
    return results


def _computed_columns(table: Table) -> list[Computed]:
    """Return the columns that are statistics of others on each row: the cells that agree, and those that do not."""
    headers = [" ".join(label for label in column.over if label) for column in table.columns]
    places = Places(table.blocks, table.block, table.row)
    results = []
    for statistic in column_statistics(table.kind, table.text, table.number, headers):
        numbers = ~np.isnan(table.number[:, statistic.column])
        for wanted in (True, False):
            rows = np.flatnonzero(numbers & (statistic.agrees == wanted))
            if rows.size == 0:
                continue
            results.append(
                Computed(
                    statistic=statistic.statistic,
                    cells=places.of(rows, [statistic.column]),
                    of=places.of(rows, statistic.of),
                    agrees=wanted,
                    label=headers[statistic.column],
                    values=tuple(table.number[rows, statistic.column].tolist()),
                    expected=tuple(statistic.expected[rows].tolist()),
                    column=statistic.column,
                    of_columns=statistic.of,
                )
            )
    return results
