"""The readings of a table: its label sets assigned to dimensions, for each candidate of its
contents.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product

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
    known = code_columns(table, found, sheets)
    all_labels = [*labels.labels, *looked_up(table, labels, known, found, sheets)]
    names = names_elsewhere(table, found, sheets)
    elsewhere = [dimensions_elsewhere(each, known, names) for each in all_labels]
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


def _with_rivals(found: Sequence[Reading], contents: Sequence[Contents]) -> list[Reading]:
    """Return readings; that a table is no part of the trial as far from the best as its contents
    are.
    """
    best = max((reading.score for reading in found if reading.layout.gives != NOTHING), default=0.0)
    likeliest = max(
        (candidate.score for candidate in contents if candidate.gives != NOTHING), default=0.0
    )
    result = []
    for reading in found:
        is_rival = reading.layout.gives == NOTHING and APART in reading.because
        result.append(
            replace(reading, score=best + reading.score - likeliest) if is_rival else reading
        )
    return result


def _best(found: Sequence[Reading]) -> tuple[Reading, ...]:
    """Return the readings within some points of the best of their kind, best first; equal scores
    stay in order.

    Contents that a table holds together (volumes beside weights) are no rivals: each has a best
    reading.
    """
    ordered = sorted(found, key=lambda reading: -reading.score)
    bests: dict[str, float] = {}
    kept = []
    for reading in ordered:
        best = bests.setdefault(_rivals(reading), reading.score)
        if reading.score >= best - WITHIN:
            kept.append(reading)
    return tuple(kept[:MOST])


def _rivals(reading: Reading) -> str:
    """Return what readings are compared within: those of one sheet where a table holds several
    together.
    """
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
    taken = _taken(contents) | {
        table.columns[each.column].name for each in table.computed if each.column >= 0
    }
    parts = _parts_by_whole(all_labels)
    first_value = int(grid.columns.min(initial=len(table.columns)))
    sets = []
    for each, named in zip(all_labels, elsewhere, strict=True):
        if each.carrier.kind is CarrierKind.COLUMN and each.carrier.name in taken:
            continue
        if each.along == "columns" and not grid.is_wide:
            continue
        over = label_set(each, grid, contents.gives, named)
        if each.along == "columns" and _names_quantities(over, grid):
            continue
        over = replace(over, is_behind_values=indexes.get(each.carrier.name, -1) > first_value)
        if each.carrier.part:
            count, levels = parts[each.carrier.kind, each.carrier.name]
            over = replace(over, parts=count, whole_levels=levels)
        if over.levels:
            sets.append(over)
    sets.extend(_days_of_weeks(sets))
    claims = {id(labels): dimension_claims(labels) for labels in sets}
    scores = _scores([claims[id(labels)] for labels in sets])
    return Search(grid, sets, scores, contents.gives, contents.values[0].covers, claims)


def _days_of_weeks(sets: Sequence[LabelSet]) -> Iterator[LabelSet]:
    """Yield the dates of weeks joined with the names of weekdays, where both stand over the values."""
    full = [each for each in sets if not each.blank_share and not each.parts]
    weeks = [
        each
        for each in full
        if are_days(each.levels) and each.labels.carrier.kind is CarrierKind.COLUMN
    ]
    weekdays = [each for each in full if are_weekdays(each.levels)]
    for week, weekday in product(weeks, weekdays):
        codes = combined([week.codes, weekday.codes], week.cells)
        first = np.unique(codes, return_index=True)[1]
        levels = tuple(
            f"{week.levels[week.codes[at]]} {weekday.levels[weekday.codes[at]]}" for at in first
        )
        source = Source((*week.source.carriers, *weekday.source.carriers))
        yield replace(week, source=source, codes=codes, levels=levels)


def _names_quantities(over: LabelSet, grid: Grid) -> bool:
    """Tell whether header labels say which of several quantities stands below: they place no value."""
    if not grid.group.any():
        return False
    goes_with_quantity = is_function(grid.group, over.codes)  # `kg | pieces` below each day
    return goes_with_quantity or all(names_quantity(level) for level in over.levels)


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
    """Return the score of each label set by dimension: what speaks for it less what speaks for
    none.
    """
    scores: dict[Dimension, list[float]] = {dimension: [] for dimension in Dimension}
    for claims in claims_of_sets:
        nobody = sum(claim.weight for claim in claims if claim.dimension is None)
        for dimension in Dimension:
            speaks = [claim.weight for claim in claims if claim.dimension is dimension]
            scores[dimension].append(sum(speaks) - nobody)
    return scores


def _layouts(
    base: Layout, assignment: Assignment, search: Search
) -> Iterator[tuple[Layout, float]]:
    """Yield the layouts of an assignment with their scores: by its occasions and what crosses its
    treatment.
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
    """Yield layouts; values without a treatment's label are left out, or are a treatment of their
    own.
    """
    treatment = assignment.sets.get(Dimension.TREATMENT)
    if treatment is None:
        share = 0.0
    else:
        share = treatment.blank_share
    for layout, score in possible:
        if share <= _MOST_LEFT_OUT:
            yield layout, score
        if share > _FEWEST_BLANK:
            words = {Dimension.TREATMENT.value: {"": BLANK_TREATMENT}}
            yield replace(layout, words=words), score - _BLANK_IS_A_TREATMENT


def _crossing(assignment: Assignment, search: Search) -> list[LabelSet]:
    """Return the label sets that cross the treatment of an assignment, such as the crop and a
    cultivar.
    """
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
        is_spelled = (
            layout.dimensions[Dimension.TREATMENT].lookup is not None
        )  # a key spells no two labels together
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
        over = [
            each for each, labels in assignment.sets.items() if labels.labels.along == "columns"
        ]
        above = [Carrier(CarrierKind.DIMENSION, dimension.value) for dimension in over]
        dimensions[Dimension.UNIT] = Source((*above, Carrier(CarrierKind.ORDER)))
    elif assignment.unit_within:
        above = [
            Carrier(CarrierKind.DIMENSION, dimension.value) for dimension in assignment.unit_within
        ]
        unit = dimensions[Dimension.UNIT]
        dimensions[Dimension.UNIT] = Source((*above, *unit.carriers), unit.lookup)
        if _are_plots_of_blocks(assignment):
            dimensions[Dimension.BLOCK] = unit
    return dimensions


def _are_plots_of_blocks(assignment: Assignment) -> bool:
    """Tell whether a block alone tells the units: each treatment has a plot in `Block 1`, in `Pair
    1`.
    """
    named = named_dimensions(assignment.sets[Dimension.UNIT].labels.header)
    is_block = named.get(Dimension.BLOCK, 0.0) > named.get(Dimension.UNIT, 0.0)
    return is_block and assignment.unit_within == (Dimension.TREATMENT,)


def _with_role(layout: Layout, assignment: Assignment, role: Role) -> Layout:
    """Return a layout with what a label set that crosses the treatment is."""
    carrier = role.labels.labels.carrier
    if role.kind == "block":
        return replace(
            layout, dimensions={**layout.dimensions, Dimension.BLOCK: role.labels.source}
        )
    if role.kind == "place":
        plant = layout.dimensions.get(Dimension.PLANT)
        if plant:
            carriers = (carrier, *plant.carriers)
        else:
            carriers = (carrier,)
        return replace(layout, dimensions={**layout.dimensions, Dimension.PLANT: Source(carriers)})
    if role.kind == "only":
        return replace(layout, only={**layout.only, carrier.name: (role.level,)})
    if role.kind == "factor":
        return _with_factor(layout, assignment, role.labels)
    return layout


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
    """Return a layout with all that its contents and the table's place tell, yet without
    dimensions.
    """
    labels = tuple(dict.fromkeys(sheets[block.sheet].label for block in table.blocks))
    return Layout(
        table=table.key,
        gives=contents.gives,
        sheets=labels,
        header_rows=table.blocks[0].header_rows,
        values=contents.values,
        columns=contents.columns,
    )
