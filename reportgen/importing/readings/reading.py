"""The readings of a table: its label sets by dimension, for each candidate of its contents."""

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product
from math import inf

import numpy as np

from reportgen.importing.clues import dimension_claims
from reportgen.importing.clues.dimension_words import named_dimensions, names_quantity
from reportgen.importing.clues.dimensions_shape import are_days, are_times, are_weekdays
from reportgen.importing.clues.grid import Grid, LabelSet, combined, grid_of, is_function, label_set
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.claims import Claim, Contents, Labels, Reading, TableLabels
from reportgen.importing.model.layouts import (
    NOTHING,
    Carrier,
    CarrierKind,
    Dimension,
    Layout,
    Source,
)
from reportgen.importing.model.tables import Found, Table
from reportgen.importing.readings.factors import Role, crossing_labels, roles
from reportgen.importing.readings.occasions import occasion_meanings
from reportgen.importing.readings.other_tables import (
    code_columns,
    dimensions_elsewhere,
    looked_up,
    names_elsewhere,
)
from reportgen.importing.readings.reasons import reasons
from reportgen.importing.readings.search import CROP_SHEETS, Assignment, Search, assignments

WITHIN = 6.0  # points below the best reading
MOST = 40
# what values without a treatment's label are called until their owner names them
BLANK_TREATMENT = "blank"
_MOST_CROSSING = 2  # label sets that cross the treatment and are no block
_MOST_ROLES = 12
_FEWEST_BLANK = 0.05  # share of values without a treatment's label
_MOST_LEFT_OUT = 0.3
_BLANK_IS_A_TREATMENT = 1.0
TOGETHER = "together"  # said of contents that a table holds beside others
APART = "apart"  # said of a table that may be of another trial, however sure its labels are


def readings(
    table: Table,
    labels: TableLabels,
    contents: Sequence[Contents],
    found: Found,
    sheets: Sequence[Sheet],
) -> tuple[Reading, ...]:
    """Return the layouts of a table that keep the constraints, best first, none far below the best.

    `contents` are candidates of what the table holds; `found` are all tables, as others may spell
    out labels.
    """
    columns = code_columns(table, found, sheets)
    all_labels = [*labels.labels, *looked_up(table, labels, columns, found, sheets)]
    names = names_elsewhere(table, found, sheets)
    elsewhere = [dimensions_elsewhere(each, columns, names) for each in all_labels]
    result: list[Reading] = []
    for candidate in contents:
        base = _base(table, candidate, sheets)
        if candidate.gives == NOTHING or not candidate.values:
            result.append(Reading(base, candidate.score, candidate.because))
            continue
        search = _search(table, labels, all_labels, elsewhere, candidate)
        for assignment in assignments(search, WITHIN, MOST):
            for layout, score in _layouts(base, assignment, search):
                result.append(Reading(layout, candidate.score + score, candidate.because))
    return _best(_with_rivals(result, contents))


def _with_rivals(all_readings: Sequence[Reading], contents: Sequence[Contents]) -> list[Reading]:
    """Return readings with comparable scores.

    A reading without the trial is as far from the best reading as its contents are from the best.
    """
    best = max((_score_in_trial(reading) for reading in all_readings), default=-inf)
    best_contents = max((each.score for each in contents if each.gives != NOTHING), default=0.0)
    if best == -inf:
        best = 0.0
    result = []
    for reading in all_readings:
        score = reading.score
        if reading.layout.gives == NOTHING and APART in reading.because:
            score = best + score - best_contents
        result.append(replace(reading, score=score))
    return result


def _score_in_trial(reading: Reading) -> float:
    """Return the score of a reading, the lowest if it is no part of the trial."""
    if reading.layout.gives == NOTHING:
        return -inf
    return reading.score


def _best(all_readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Return the readings near the best of their kind, best first; equal scores stay in order.

    Contents that a table holds together (volumes beside weights) are no rivals: each has a best
    reading.
    """
    ordered = sorted(all_readings, key=lambda reading: -reading.score)
    bests: dict[str, float] = {}
    near = []
    for reading in ordered:
        best = bests.setdefault(_kind(reading), reading.score)
        if reading.score >= best - WITHIN:
            near.append(reading)
    return tuple(near[:MOST])


def _kind(reading: Reading) -> str:
    """Return what readings compete within: one sheet, if a table holds several together."""
    if TOGETHER in reading.because:
        return reading.layout.gives
    return ""


def _search(
    table: Table,
    labels: TableLabels,
    all_labels: Sequence[Labels],
    elsewhere: Sequence[frozenset[Dimension]],
    contents: Contents,
) -> Search:
    """Return the label sets over the values of a candidate, with their scores."""
    indexes = {column.name: index for index, column in enumerate(table.columns)}
    grid = grid_of(table, labels, contents.values, indexes)
    taken = _taken(contents) | _computed_columns(table)
    parts = _parts_by_whole(all_labels)
    first_value = int(grid.columns.min(initial=len(table.columns)))
    sets: list[LabelSet] = []
    for each, named in zip(all_labels, elsewhere, strict=True):
        if not _may_label(each, grid, taken):
            continue
        labels_over = label_set(each, grid, contents.gives, named)
        is_behind = indexes.get(each.carrier.name, -1) > first_value
        labels_over = replace(labels_over, is_behind_values=is_behind)
        if each.carrier.part:
            count, levels = parts[each.carrier.kind, each.carrier.name]
            labels_over = replace(labels_over, parts=count, whole_levels=levels)
        if labels_over.levels and not _names_quantities(labels_over, grid):
            sets.append(labels_over)
    sets.extend(_days_of_weeks(sets))
    return _with_claims(grid, sets, contents)


def _with_claims(grid: Grid, sets: Sequence[LabelSet], contents: Contents) -> Search:
    """Return label sets with their claims and scores."""
    claims = {id(labels): dimension_claims(labels) for labels in sets}
    scores = _scores([claims[id(labels)] for labels in sets])
    return Search(grid, sets, scores, contents.gives, contents.values[0].covers, claims)


def _computed_columns(table: Table) -> set[str]:
    """Return the names of the columns that are computed from others."""
    return {table.columns[each.column].name for each in table.computed if each.column >= 0}


def _may_label(labels: Labels, grid: Grid, taken: Container[str]) -> bool:
    """Tell whether labels may stand over values: not in a column of values or of what is theirs."""
    if labels.carrier.kind is CarrierKind.COLUMN and labels.carrier.name in taken:
        return False
    return labels.along != "columns" or grid.is_wide


def _days_of_weeks(sets: Sequence[LabelSet]) -> Iterator[LabelSet]:
    """Yield the dates of weeks joined with weekdays, where both stand over the values."""
    full = [labels for labels in sets if not labels.blank_share and not labels.parts]
    weeks = filter(_is_column_of_days, full)
    weekdays = [labels for labels in full if are_weekdays(labels.levels)]
    for week, weekday in product(weeks, weekdays):
        codes = combined([week.codes, weekday.codes], week.cells)
        levels = []
        for cell in np.unique(codes, return_index=True)[1]:
            levels.append(f"{_level_at(week, cell)} {_level_at(weekday, cell)}")
        source = Source((*week.source.carriers, *weekday.source.carriers))
        yield replace(week, source=source, codes=codes, levels=tuple(levels))


def _is_column_of_days(labels: LabelSet) -> bool:
    return are_days(labels.levels) and labels.labels.carrier.kind is CarrierKind.COLUMN


def _level_at(labels: LabelSet, cell: int) -> str:
    return labels.levels[int(labels.codes[cell])]


def _names_quantities(labels: LabelSet, grid: Grid) -> bool:
    """Tell whether labels over columns name the quantity below, one of several.

    They place no value.
    """
    if labels.labels.along != "columns" or not grid.group.any():
        return False
    goes_with_quantity = is_function(grid.group, labels.codes)  # `kg | pieces` below each day
    return goes_with_quantity or all(names_quantity(level) for level in labels.levels)


def _parts_by_whole(all_labels: Sequence[Labels]) -> dict[tuple[CarrierKind, str], tuple[int, int]]:
    """Return by carrier into how many parts its labels are split, and how many labels it has."""
    levels: dict[tuple[CarrierKind, str], int] = {}
    parts: dict[tuple[CarrierKind, str], tuple[int, int]] = {}
    for each in all_labels:
        if each.lookup is not None:
            continue
        whole = (each.carrier.kind, each.carrier.name)
        if each.carrier.part:
            parts[whole] = (each.carrier.part, levels[whole])
        else:
            levels[whole] = len(each.levels)
    return parts


def _taken(contents: Contents) -> frozenset[str]:
    """Return the columns that hold values or what belongs to them, and no labels."""
    names = set(contents.columns.values())
    for values in contents.values:
        names.update(values.columns)
        names.update((values.count, values.tare, values.area_column))
        names.update(name for name, _ in values.plus)
    return frozenset(names)


def _scores(claims_of_sets: Sequence[Sequence[Claim]]) -> Mapping[Dimension, list[float]]:
    """Return the score of each label set by dimension: its claims less those for no dimension."""
    scores: dict[Dimension, list[float]] = {dimension: [] for dimension in Dimension}
    for claims in claims_of_sets:
        for_none = _weight(claims, None)
        for dimension in Dimension:
            scores[dimension].append(_weight(claims, dimension) - for_none)
    return scores


def _weight(claims: Sequence[Claim], dimension: Dimension | None) -> float:
    """Return the sum of the weights of the claims for a dimension."""
    return sum(claim.weight for claim in claims if claim.dimension is dimension)


def _layouts(
    base: Layout, assignment: Assignment, search: Search
) -> Iterator[tuple[Layout, float]]:
    """Yield the layouts of an assignment with their scores.

    They differ in the occasions and in what crosses the treatment.
    """
    because = reasons(assignment.sets, search.claims)
    layout = replace(base, dimensions=_dimensions(assignment), because=because)
    if base.gives not in CROP_SHEETS:
        yield _with_time_of_day(layout, assignment, search), assignment.score
        return
    possible = [(layout, 0.0)]
    for labels in _crossing(assignment, search):
        possible = _with_roles(possible, assignment, labels)
    possible = list(_with_blank_treatment(possible, assignment))
    for occasions, occasions_weight in occasion_meanings(assignment, search.grid, search.covers):
        for each, weight in possible:
            yield replace(each, occasions=occasions), assignment.score + weight + occasions_weight


def _with_time_of_day(layout: Layout, assignment: Assignment, search: Search) -> Layout:
    """Return a layout whose days are joined with the times of day in a column beside them."""
    day = assignment.sets.get(Dimension.OCCASION)
    if day is None or not are_days(day.levels):
        return layout
    for labels in search.sets:
        if labels.labels.carrier.kind is CarrierKind.COLUMN and are_times(labels.levels):
            source = Source((*day.source.carriers, labels.labels.carrier))
            return replace(layout, dimensions={**layout.dimensions, Dimension.OCCASION: source})
    return layout


def _with_blank_treatment(
    possible: Sequence[tuple[Layout, float]], assignment: Assignment
) -> Iterator[tuple[Layout, float]]:
    """Yield layouts; values without a treatment are left out, or are a treatment of their own."""
    share = 0.0
    if Dimension.TREATMENT in assignment.sets:
        share = assignment.sets[Dimension.TREATMENT].blank_share
    for layout, score in possible:
        if share <= _MOST_LEFT_OUT:
            yield layout, score
        if share > _FEWEST_BLANK:
            words = {Dimension.TREATMENT.value: {"": BLANK_TREATMENT}}
            yield replace(layout, words=words), score - _BLANK_IS_A_TREATMENT


def _crossing(assignment: Assignment, search: Search) -> list[LabelSet]:
    """Return the label sets that cross the treatment, such as the crop and a cultivar."""
    crossing = crossing_labels(assignment.sets, search.sets)
    parted_by = assignment.parted_by
    if parted_by is not None:
        crossing = [parted_by, *[labels for labels in crossing if labels is not parted_by]]
    return crossing[:_MOST_CROSSING]


def _with_roles(
    possible: Sequence[tuple[Layout, float]], assignment: Assignment, labels: LabelSet
) -> list[tuple[Layout, float]]:
    """Return layouts with each role that a crossing label set may have, the best of them."""
    result = []
    for layout, score in possible:
        # a key spells no two labels together
        is_spelled = layout.dimensions[Dimension.TREATMENT].lookup is not None
        for role in roles(labels, Dimension.BLOCK in layout.dimensions):
            if is_spelled and role.kind == "factor":
                continue
            if role.kind != "ignored" or labels is not assignment.parted_by:
                result.append((_with_role(layout, assignment, role), score + role.score))
    result.sort(key=lambda pair: -pair[1])
    return result[:_MOST_ROLES]


def _dimensions(assignment: Assignment) -> dict[Dimension, Source]:
    """Return the sources of an assignment's dimensions."""
    dimensions = {dimension: labels.source for dimension, labels in assignment.sets.items()}
    if assignment.counts_units:
        above = _carriers_of(_dimensions_over(assignment))
        dimensions[Dimension.UNIT] = Source((*above, Carrier(CarrierKind.ORDER)))
    elif assignment.unit_within:
        unit = dimensions[Dimension.UNIT]
        above = _carriers_of(assignment.unit_within)
        dimensions[Dimension.UNIT] = Source((*above, *unit.carriers), unit.lookup)
        if _are_plots_of_blocks(assignment):
            dimensions[Dimension.BLOCK] = unit
    return dimensions


def _dimensions_over(assignment: Assignment) -> list[Dimension]:
    """Return the dimensions whose labels stand over columns."""
    dimensions = []
    for dimension, labels in assignment.sets.items():
        if labels.labels.along == "columns":
            dimensions.append(dimension)
    return dimensions


def _carriers_of(dimensions: Iterable[Dimension]) -> list[Carrier]:
    return [Carrier(CarrierKind.DIMENSION, dimension.value) for dimension in dimensions]


def _are_plots_of_blocks(assignment: Assignment) -> bool:
    """Tell whether blocks alone name the units: each treatment has a plot in `Block 1`, `Pair 1`."""
    named = named_dimensions(assignment.sets[Dimension.UNIT].labels.header)
    is_block = named.get(Dimension.BLOCK, 0.0) > named.get(Dimension.UNIT, 0.0)
    return is_block and assignment.unit_within == (Dimension.TREATMENT,)


def _with_role(layout: Layout, assignment: Assignment, role: Role) -> Layout:
    """Return a layout with what a label set that crosses the treatment is."""
    carrier = role.labels.labels.carrier
    if role.kind == "block":
        return _with_dimension(layout, Dimension.BLOCK, role.labels.source)
    if role.kind == "place":
        carriers = [carrier]
        if Dimension.PLANT in layout.dimensions:
            carriers.extend(layout.dimensions[Dimension.PLANT].carriers)
        return _with_dimension(layout, Dimension.PLANT, Source(tuple(carriers)))
    if role.kind == "only":
        return replace(layout, only={**layout.only, carrier.name: (role.level,)})
    if role.kind == "factor":
        return _with_factor(layout, assignment, role.labels)
    return layout


def _with_dimension(layout: Layout, dimension: Dimension, source: Source) -> Layout:
    return replace(layout, dimensions={**layout.dimensions, dimension: source})


def _with_factor(layout: Layout, assignment: Assignment, second: LabelSet) -> Layout:
    """Return a layout whose treatments combine two factors, with the factors by name."""
    first = assignment.sets[Dimension.TREATMENT]
    treatment = layout.dimensions[Dimension.TREATMENT]
    both = Source((*treatment.carriers, *second.source.carriers), treatment.lookup)
    factors = {first.labels.header or "Treatment": first.source, **layout.factors}
    factors[second.labels.header] = second.source
    dimensions = {**layout.dimensions, Dimension.TREATMENT: both}
    unit = assignment.sets.get(Dimension.UNIT)
    if unit is not None and not is_function(unit.codes, second.codes):
        source = dimensions[Dimension.UNIT]
        within = Carrier(CarrierKind.DIMENSION, Dimension.TREATMENT.value)
        if within not in source.carriers:
            dimensions[Dimension.UNIT] = Source((within, *source.carriers), source.lookup)
    return replace(layout, dimensions=dimensions, factors=factors)


def _base(table: Table, contents: Contents, sheets: Sequence[Sheet]) -> Layout:
    """Return a layout with what its contents and the table's place tell, without dimensions."""
    labels = tuple(dict.fromkeys(sheets[block.sheet].label for block in table.blocks))
    return Layout(
        table=table.key,
        gives=contents.gives,
        sheets=labels,
        header_rows=table.blocks[0].header_rows,
        values=contents.values,
        columns=contents.columns,
    )
