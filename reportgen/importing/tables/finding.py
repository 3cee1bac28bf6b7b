"""Find the tables of sheets: regions, drafts, stacks; and the numbers that stand in none."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.layouts import Layout
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found, Loose, Table
from reportgen.importing.tables.drafts import Draft, drafts_of
from reportgen.importing.tables.joining import joined
from reportgen.importing.tables.regions import Region, regions_of
from reportgen.importing.tables.stacking import stacked, table_of, with_blocks
from reportgen.importing.tables.titles import texts_above


def find(sheets: tuple[Sheet, ...]) -> Found:
    """Return the tables of all sheets, stacked where their headers are equal, and the numbers in
    none.
    """
    drafts: list[Draft] = []
    for index, sheet in enumerate(sheets):
        drafts += _drafts(index, sheet)
    of_sheet = Counter(draft.region.sheet for draft in drafts)
    tables = []
    for group in stacked(drafts):
        on_sheet = sum(draft.region.sheet == group[0].region.sheet for draft in group)
        is_alone = of_sheet[group[0].region.sheet] == on_sheet
        tables.append(table_of(group, sheets, is_alone))
    return Found(tuple(tables), _loose(sheets, tables))


def _drafts(index: int, sheet: Sheet) -> list[Draft]:
    """Return the tables of a sheet, with the texts around them as titles and fields."""
    drafts: list[Draft] = []
    texts: list[Region] = []
    for region in joined(regions_of(index, sheet)):
        own = drafts_of(region)
        drafts += own
        if not own:
            texts.append(region)
    return [_with_outer_titles(draft, drafts, texts) for draft in drafts]


def _with_outer_titles(draft: Draft, drafts: list[Draft], texts: list[Region]) -> Draft:
    """Return the draft with texts that stand above it, with no other table between, after its own
    titles.
    """
    titles = list(draft.titles)
    fields = dict(draft.fields)
    for region in sorted(texts, key=lambda text: -text.area.last_row):
        if region.area.last_row >= draft.region.area.first_row or not _heads(region, draft, drafts):
            continue
        own_titles, own_fields = texts_above(region, region.kind.shape[0])
        titles += own_titles
        fields = own_fields | fields
    for other in drafts:
        if other.is_fields and other is not draft:
            for label, value in zip(other.text[:, 0], other.text[:, 1], strict=True):
                fields.setdefault(str(label).rstrip(": "), str(value))
    return replace(draft, titles=tuple(titles), fields=fields)


def _heads(text: Region, draft: Draft, drafts: list[Draft]) -> bool:
    """Tell whether a text above belongs to a table: over its columns or at the left edge, nothing
    between.
    """
    area = draft.region.area
    over = text.area.first_column <= area.last_column and text.area.last_column >= area.first_column
    if not over and text.area.first_column > area.first_column:
        return False
    for other in drafts:
        between = text.area.last_row < other.region.area.last_row < area.first_row
        same_columns = (
            other.region.area.first_column <= area.last_column
            and other.region.area.last_column >= area.first_column
        )
        if between and same_columns:
            return False
    return True


def _loose(sheets: tuple[Sheet, ...], tables: list[Table]) -> tuple[Loose, ...]:
    """Return the numbers that stand in no table, by sheet."""
    loose = []
    for index, sheet in enumerate(sheets):
        free = sheet.kind == Kind.NUMBER
        for table in tables:
            for block in table.blocks:
                if block.sheet != index:
                    continue
                area = block.area
                free[
                    area.first_row - 1 : area.last_row, area.first_column - 1 : area.last_column
                ] = False
        places = tuple((int(row) + 1, int(column) + 1) for row, column in np.argwhere(free))
        if places:
            loose.append(Loose(index, places, _label(sheet, places)))
    return tuple(loose)


def _label(sheet: Sheet, places: tuple[tuple[int, int], ...]) -> str:
    """Return the first text in the row of the first of some cells."""
    row = places[0][0] - 1
    texts = sheet.text[row][sheet.kind[row] == Kind.TEXT]
    if len(texts):
        return str(texts[0])
    return ""


def find_again(found: Found, sheets: tuple[Sheet, ...], settings: Settings) -> Found:
    """Return the tables that were found in sheets, under the keys by which a settings file's
    layouts know them.
    """
    layouts: dict[str, list[Layout]] = {}
    for layout in settings.layouts:
        layouts.setdefault(layout.table, []).append(layout)
    found = replace(found, tables=_parted(found.tables, sheets, layouts))
    keys = _matches(found, sheets, layouts)
    taken = set(keys.values())
    tables = []
    for index, table in enumerate(found.tables):
        key = keys.get(index, table.key)
        if index not in keys and key in taken:
            key = f"{key} (new)"
        tables.append(replace(table, key=key))
    return replace(found, tables=tuple(tables))


def _parted(
    tables: tuple[Table, ...], sheets: tuple[Sheet, ...], layouts: Mapping[str, list[Layout]]
) -> tuple[Table, ...]:
    """Split tables whose stacked blocks belong to layouts of different keys."""
    parted: list[Table] = []
    for table in tables:
        labels = [sheets[block.sheet].label for block in table.blocks]
        blocks_of = _blocks_by_key([_key_of_sheet(label, layouts) for label in labels])
        if len(blocks_of) < 2:
            parted.append(table)
            continue
        for key, blocks in blocks_of.items():
            parted.append(with_blocks(table, blocks, key))
    return tuple(parted)


def _blocks_by_key(keys: list[str]) -> dict[str, list[int]]:
    """Return the indexes of blocks by key; those without a key go with the first one."""
    distinct = [key for key in dict.fromkeys(keys) if key]
    blocks_of: dict[str, list[int]] = {key: [] for key in distinct}
    for index, key in enumerate(keys):
        if distinct:
            blocks_of[key or distinct[0]].append(index)
    return blocks_of


def _key_of_sheet(label: str, layouts: Mapping[str, list[Layout]]) -> str:
    """Return the only key whose layouts name a sheet, "" where there is none or several."""
    keys = [key for key, same in layouts.items() if any(label in layout.sheets for layout in same)]
    if len(keys) == 1:
        return keys[0]
    return ""


def _matches(
    found: Found, sheets: tuple[Sheet, ...], layouts: Mapping[str, list[Layout]]
) -> dict[int, str]:
    """Return by index of a table the key of the layouts that fit it best; no key twice."""
    scored = []
    for key, same in layouts.items():
        for index, table in enumerate(found.tables):
            score = _similarity(table, sheets, key, same)
            if score > 0:
                scored.append((-score, index, key))
    keys: dict[int, str] = {}
    for _, index, key in sorted(scored):
        if index not in keys and key not in keys.values():
            keys[index] = key
    return keys


def _similarity(table: Table, sheets: tuple[Sheet, ...], key: str, layouts: list[Layout]) -> float:
    """Return how well a table fits layouts: shared sheets, columns of values, header rows."""
    labels = {sheets[block.sheet].label for block in table.blocks}
    expected = set[str]().union(*(layout.sheets for layout in layouts))
    if not expected:
        expected = {key.rpartition("!")[0] or key}
    shared = len(labels & expected)
    if not shared:
        return 0.0
    score = shared / len(labels | expected) + 2 * _shared_columns(table, layouts)
    header_rows = [layout.header_rows for layout in layouts]
    if table.blocks[0].header_rows in header_rows:
        score += 1
    if table.key == key:
        score += 0.5
    return score


def _shared_columns(table: Table, layouts: list[Layout]) -> float:
    """Return the share of the layouts' columns of values that a table has, 0 where they name none."""
    expected: set[str] = set()
    for layout in layouts:
        for values in layout.values:
            expected.update(values.columns)
    if not expected:
        return 0.0
    names = {column.name for column in table.columns}
    return len(expected & names) / len(expected)
