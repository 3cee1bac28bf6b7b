"""Stack blocks with the same headers into tables, name their columns, and take out the owner's
statistics.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import chain
from typing import Any

import numpy as np
from numpy.typing import NDArray
from openpyxl.utils import get_column_letter

from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.tables import Area, Block, Column, Computed, Table
from reportgen.importing.tables.belonging import are_copies, may_be_apart, share_labels
from reportgen.importing.tables.drafts import Draft
from reportgen.importing.tables.header_labels import names_and_units
from reportgen.importing.tables.statistics import (
    Cells,
    RowStatistic,
    column_statistics,
    row_statistics,
)
from reportgen.importing.words import meanings

Label = tuple[str, ...]
QUANTITIES = frozenset(
    {"fresh", "dry", "root", "height", "leaves", "water", "energy", "start_weight"}
)


def labels_of(draft: Draft) -> list[tuple[Label, int]]:
    """Return what tells each column: its header labels in small letters, and how many equal ones
    stand before.
    """
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
    if not first.header.rows or _form(first) != _form(second):
        return False
    if not _say_the_same(first, second) or _is_apart(first, second):
        return False
    first_labels, second_labels = _named_labels(first), _named_labels(second)
    if first_labels == second_labels:
        return True
    shared = len(first_labels & second_labels)
    lacking = len(first_labels ^ second_labels)
    larger = shared + lacking
    is_part = shared == min(len(first_labels), len(second_labels))
    return is_part and shared >= 2 and lacking <= max(1, larger // 4)


def _form(draft: Draft) -> tuple[int, bool, bool]:
    """Return what blocks of one table share: header levels, hidden or not, codes or data."""
    return len(draft.header.rows), draft.region.source.is_hidden, draft.is_key


def _named_labels(draft: Draft) -> set[tuple[Label, int]]:
    """Return the labels of the columns with a header."""
    return {label for label in labels_of(draft) if any(label[0])}


def _is_apart(first: Draft, second: Draft) -> bool:
    """Tell whether a sheet is a copy of the other, or by its name of another trial that had the
    same treatments.
    """
    one, two = first.region.source, second.region.source
    if first.region.sheet == second.region.sheet or labels_of(first) != labels_of(second):
        return False
    if are_copies(first.text, second.text):
        return True
    names = _outer_name(one), _outer_name(two)
    return may_be_apart(*names) and share_labels(first.kind, first.text, second.text)


def _outer_name(sheet: Sheet) -> str:
    """Return the name of a sheet, that of its file where it is the only one."""
    if sheet.is_single and sheet.stem:
        return sheet.stem
    return sheet.name


def _say_the_same(first: Draft, second: Draft) -> bool:
    """Tell whether titles and sheet names don't name different quantities, which the headers leave
    open.
    """
    if _quantities(_headers(first)):
        return True
    one, two = _quantities(_names(first)), _quantities(_names(second))
    return not one or not two or one == two


def _headers(draft: Draft) -> str:
    return " ".join(chain.from_iterable(draft.over))


def _names(draft: Draft) -> str:
    sheet = draft.region.source.name
    if not draft.titles:
        return sheet
    title, _ = draft.titles[0]
    return f"{sheet} {title}"


def _quantities(text: str) -> frozenset[str]:
    return meanings(text) & QUANTITIES


def table_of(drafts: list[Draft], sheets: tuple[Sheet, ...], is_alone: bool) -> Table:
    """Return the table that some blocks with equal headers make."""
    whole = _stacked_table(drafts, _key(drafts[0], sheets, is_alone))
    struck = np.concatenate([draft.body.struck for draft in drafts])
    statistics = row_statistics(_cells(whole, struck))
    computed: list[Computed] = []
    reasons = dict.fromkeys(np.flatnonzero(struck).tolist(), "struck")
    for statistic in statistics:
        computed += _computed_row(whole, statistic)
        reasons[statistic.row] = "statistic"
    reasons.update(dict.fromkeys(_rows_below_statistics(whole, reasons), "below the statistics"))
    left_out = []
    for row, reason in reasons.items():
        left_out.append((int(whole.block[row]), int(whole.row[row]), reason))
    for index, draft in enumerate(drafts):
        top = draft.region.area.first_row
        left_out += [(index, top + row, reason) for row, reason in draft.body.left_out]
    table = _without_rows(whole, list(reasons))
    table = replace(table, left_out=tuple(sorted(left_out)))
    return replace(table, computed=(*computed, *_computed_columns(table)))


def _stacked_table(drafts: list[Draft], key: str) -> Table:
    """Return the rows of blocks over one another, statistics and struck ones included."""
    labels, columns = _columns(drafts)
    orders = [_order(draft, labels) for draft in drafts]
    blocks = tuple(_block(draft, order) for draft, order in zip(drafts, orders, strict=True))
    kinds = [draft.kind for draft in drafts]
    texts = [draft.text for draft in drafts]
    numbers = [draft.region.number[draft.body.rows] for draft in drafts]
    moments = [draft.body.of(draft.region.moment) for draft in drafts]
    sizes = [len(draft.body.rows) for draft in drafts]
    rows = [draft.body.rows + draft.region.area.first_row for draft in drafts]
    return Table(
        key=key,
        blocks=blocks,
        columns=columns,
        block=np.repeat(np.arange(len(drafts)), sizes),
        row=np.concatenate(rows),
        kind=_stacked(kinds, orders, np.uint8(Kind.BLANK)),
        text=_stacked(texts, orders, ""),
        number=_stacked(numbers, orders, np.nan),
        moment=_stacked(moments, orders, np.datetime64("NaT")),
        section=np.concatenate([draft.body.sections for draft in drafts]),
        is_key=drafts[0].is_key,
        is_fields=drafts[0].is_fields,
    )


def _rows_below_statistics(table: Table, reasons: Mapping[int, str]) -> list[int]:
    """Return the last rows of blocks, below a statistic, that begin with a text.

    They count only where all rows of data begin with a number.
    """
    first_statistics: dict[int, int] = {}
    for row, reason in reasons.items():
        if reason == "statistic":
            block = int(table.block[row])
            first_statistics[block] = min(row, first_statistics.get(block, row))
    rows = []
    for row in range(len(table.row) - 1, -1, -1):
        if row in reasons:
            continue
        is_below = row > first_statistics.get(int(table.block[row]), row)
        if not is_below or table.kind[row, 0] != Kind.TEXT:
            break
        rows.append(row)
    data_kinds = np.delete(table.kind[:, 0], [*reasons, *rows])
    if data_kinds.size and (data_kinds == Kind.NUMBER).all():
        return rows
    return []


def _stacked(parts: list[NDArray[Any]], orders: list[list[int]], absent: object) -> NDArray[Any]:
    """Return arrays of blocks one below the other, in the columns of the table; -1 in an order:
    none there.
    """
    ordered = []
    for values, order in zip(parts, orders, strict=True):
        columns = values[:, [max(column, 0) for column in order]]
        columns[:, np.array(order) < 0] = absent
        ordered.append(columns)
    return np.concatenate(ordered)


def with_blocks(table: Table, blocks: list[int], key: str) -> Table:
    """Return the part of a table in some of its blocks, under a key of its own."""
    numbers = {block: number for number, block in enumerate(blocks)}
    sheets = {table.blocks[block].sheet for block in blocks}
    others = np.flatnonzero(~np.isin(table.block, blocks)).tolist()
    part = _without_rows(table, others)
    block = np.array([numbers[index] for index in part.block.tolist()], dtype=np.intp)
    block.setflags(write=False)
    left_out = []
    for index, row, reason in table.left_out:
        if index in numbers:
            left_out.append((numbers[index], row, reason))
    return replace(
        part,
        key=key,
        blocks=tuple(table.blocks[index] for index in blocks),
        block=block,
        left_out=tuple(left_out),
        computed=tuple(entry for entry in table.computed if _is_within(entry, sheets)),
    )


def _is_within(computed: Computed, sheets: set[int]) -> bool:
    return all(sheet in sheets for sheet, _, _ in computed.cells)


def _without_rows(table: Table, rows: list[int]) -> Table:
    """Return the table without some rows, its arrays read-only."""
    arrays: dict[str, Any] = {}
    for name in ("block", "row", "kind", "text", "number", "moment", "section"):
        kept = np.delete(getattr(table, name), rows, axis=0)
        kept.setflags(write=False)
        arrays[name] = kept
    return replace(table, **arrays)


def _cells(table: Table, struck: NDArray[np.bool_]) -> Cells:
    sheets = np.array([block.sheet for block in table.blocks])
    measured = np.array(
        [bool(column.unit) or column.header[:1].isdigit() for column in table.columns]
    )
    return Cells(table, sheets[table.block], struck, measured)


def _columns(drafts: list[Draft]) -> tuple[list[tuple[Label, int]], tuple[Column, ...]]:
    """Return what tells each column, and the columns: those of the first block, then what others
    have besides.
    """
    labels: list[tuple[Label, int]] = []
    columns: list[Column] = []
    for draft in drafts:
        left = draft.region.area.first_column
        named = names_and_units(draft.region, draft.header, draft.over)
        for index, label in enumerate(labels_of(draft)):
            if label in labels:
                continue
            labels.append(label)
            name, unit = named[index]
            filled = [text for text in draft.over[index] if text]
            if filled:
                header = filled[-1]
            else:
                header = ""
            name = name or _nameless(draft.region.source, left + index)
            columns.append(Column(name, header, draft.over[index], unit))
    return labels, _with_unique_names(columns)


def _nameless(sheet: Sheet, column: int) -> str:
    """Return the name of a column without a header: `column D`, or `row 4` of a sheet that is
    turned.
    """
    if sheet.is_turned:
        return f"row {column}"
    return f"column {get_column_letter(column)}"


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
    if header_rows:
        first_row = header_rows[0]
    else:
        first_row = area.first_row + draft.header.body
    last_row = area.last_row
    rows_used = [*draft.body.rows, *(row for row, _ in draft.body.left_out)]
    if rows_used:
        last_row = area.first_row + int(max(rows_used))
    letters = tuple(area.first_column + column if column >= 0 else 0 for column in order)
    if draft.header.unit_row >= 0:
        unit_row = area.first_row + draft.header.unit_row
    else:
        unit_row = 0
    return Block(
        sheet=draft.region.sheet,
        area=Area(first_row, area.first_column, last_row, area.last_column),
        header_rows=header_rows,
        letters=letters,
        titles=draft.titles,
        fields=dict(draft.fields),
        unit_row=unit_row,
    )


def _key(draft: Draft, sheets: tuple[Sheet, ...], is_alone: bool) -> str:
    label = sheets[draft.region.sheet].label
    if is_alone:
        return label
    area = _block(draft, list(range(len(draft.over)))).area
    cells = sheets[draft.region.sheet].range(
        area.first_row, area.first_column, area.last_row, area.last_column
    )
    return f"{label}!{cells}"


def _places(
    table: Table, rows: Iterable[int], columns: Iterable[int]
) -> tuple[tuple[int, int, int], ...]:
    """Return (sheet, row, column) of the cells where some rows and columns of a table meet."""
    indexes = [int(column) for column in columns]
    places = []
    for row in rows:
        block = table.blocks[table.block[row]]
        number = int(table.row[row])
        for index in indexes:
            letter = block.letters[index]
            if letter:
                places.append((block.sheet, number, letter))
    return tuple(places)


def _computed_row(table: Table, statistic: RowStatistic) -> list[Computed]:
    """Return the statistics of a row: those that agree, and those that do not."""
    results = []
    for wanted in (True, False):
        columns = statistic.columns[statistic.agrees == wanted]
        if columns.size == 0:
            continue
        results.append(
            Computed(
                statistic=statistic.statistic,
                cells=_places(table, [statistic.row], columns),
                of=_places(table, statistic.of, columns),
                agrees=wanted,
                label=statistic.label,
            )
        )
    return results


def _computed_columns(table: Table) -> list[Computed]:
    """Return the columns that are statistics of others on each row.

    The cells that agree are one entry, those that do not another.
    """
    headers = []
    for column in table.columns:
        headers.append(" ".join(filter(None, column.over)))
    results = []
    for statistic in column_statistics(table, headers):
        numbers = ~np.isnan(table.number[:, statistic.column])
        for agrees in (True, False):
            rows = np.flatnonzero(numbers & (statistic.agrees == agrees))
            if rows.size == 0:
                continue
            results.append(
                Computed(
                    statistic=statistic.statistic,
                    cells=_places(table, rows, [statistic.column]),
                    of=_places(table, rows, statistic.of),
                    agrees=agrees,
                    label=headers[statistic.column],
                    column=statistic.column,
                    of_columns=statistic.of,
                )
            )
    return results
