"""The readings of a table: its label sets assigned to dimensions, for each candidate of its contents."""

from collections.abc import Iterator, Mapping, Sequence

from reportgen.importing.clues import dimension_claims
from reportgen.importing.clues.grid import LabelSet, grid_of, label_set
from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.claims import Contents, Labels, Reading, TableLabels
from reportgen.importing.model.layouts import (
    NOTHING,
    Carrier,
    CarrierKind,
    Dimension,
    Layout,
    Occasions,
    Source,
)
from reportgen.importing.model.tables import Found, Table
from reportgen.importing.readings.factors import Role, crossing_labels, roles
from reportgen.importing.readings.occasions import occasion_meanings
from reportgen.importing.readings.other_tables import code_columns, dimensions_elsewhere, looked_up
from reportgen.importing.readings.search import CROP_SHEETS, Assignment, Search, assignments

WITHIN = 6.0  # points below the best reading
MOST = 40


def readings(
    table: Table, labels: TableLabels, contents: Sequence[Contents], found: Found, sheets: Sequence[Sheet]
) -> tuple[Reading, ...]:
    """Return the layouts of a table that keep the constraints, best first, none far below the best.

    `contents` are candidates of what the table holds; `found` are all tables, as others may spell out labels.
    """
    known = code_columns(table, found)
    all_labels = [*labels.labels, *looked_up(table, labels, known, found, sheets)]
    elsewhere = [dimensions_elsewhere(each, known) for each in all_labels]
    result: list[Reading] = []
    for candidate in contents:
        if candidate.gives == NOTHING or not candidate.values:
            layout = Layout(**_common(table, candidate, sheets))
            result.append(Reading(layout, candidate.score, candidate.because))
            continue
        search = _search(table, labels, all_labels, elsewhere, candidate)
        for assignment in assignments(search, WITHIN, MOST):
            result.extend(_layouts(table, assignment, search, candidate, sheets))
    return _best(result)


def _best(found: Sequence[Reading]) -> tuple[Reading, ...]:
    """Return the readings within some points of the best, best first; equal scores stay in order."""
    ordered = sorted(found, key=lambda reading: -reading.score)
    if not ordered:
        return ()
    least = ordered[0].score - WITHIN
    return tuple(reading for reading in ordered if reading.score >= least)[:MOST]


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
    taken = _taken(contents)
    sets = []
    for each, named in zip(all_labels, elsewhere, strict=True):
        if each.carrier.kind is CarrierKind.COLUMN and each.carrier.name in taken:
            continue
        if each.along == "columns" and not grid.is_wide:
            continue
        over = label_set(each, grid, contents.gives, named)
        if over.levels:
            sets.append(over)
    scores = _scores(sets)
    return Search(grid, sets, scores, contents.gives, contents.values[0].covers)


def _taken(contents: Contents) -> frozenset[str]:
    """Return the columns that hold values or what belongs to them, and no labels."""
    names = set(contents.columns.values())
    for values in contents.values:
        names.update(values.columns)
        names.update((values.count, values.tare))
        names.update(name for name, _ in values.plus)
    return frozenset(names)


def _scores(sets: Sequence[LabelSet]) -> Mapping[Dimension, list[float]]:
    """Return the score of each label set by dimension: what speaks for it less what speaks for none."""
    scores: dict[Dimension, list[float]] = {dimension: [] for dimension in Dimension}
    for labels in sets:
        claims = dimension_claims(labels)
        nobody = sum(claim.weight for claim in claims if claim.dimension is None)
        for dimension in Dimension:
            speaks = [claim.weight for claim in claims if claim.dimension is dimension]
            scores[dimension].append(sum(speaks) - nobody)
    return scores


def _layouts(
    table: Table, assignment: Assignment, search: Search, contents: Contents, sheets: Sequence[Sheet]
) -> Iterator[Reading]:
    """Yield the layouts of an assignment: by what its occasions are and what crosses its treatment."""
    meanings = occasion_meanings(assignment, search.grid, contents.gives)
    if contents.gives not in CROP_SHEETS:
        meanings = [(Occasions.ONCE, 0.0)]
    has_block = Dimension.BLOCK in assignment.sets
    crossing = crossing_labels(assignment, search) if contents.gives in CROP_SHEETS else []
    chosen: list[Role | None] = [None]
    if crossing:
        chosen = list(roles(crossing[0], has_block))
    for occasions, weight in meanings:
        for role in chosen:
            score = contents.score + assignment.score + weight
            if role is not None:
                score += role.score
            layout = _layout(table, assignment, occasions, role, contents, sheets)
            yield Reading(layout, score, contents.because)


def _layout(
    table: Table,
    assignment: Assignment,
    occasions: Occasions,
    role: Role | None,
    contents: Contents,
    sheets: Sequence[Sheet],
) -> Layout:
    """Return the layout of an assignment."""
    dimensions = {dimension: labels.source for dimension, labels in assignment.sets.items()}
    if assignment.counts_units:
        dimensions[Dimension.UNIT] = Source((Carrier(CarrierKind.ORDER),))
    elif assignment.unit_within:
        above = [Carrier(CarrierKind.DIMENSION, dimension.value) for dimension in assignment.unit_within]
        dimensions[Dimension.UNIT] = Source((*above, *dimensions[Dimension.UNIT].carriers))
    factors: dict[str, Source] = {}
    only: dict[str, tuple[str, ...]] = {}
    if role is not None and role.kind == "block":
        dimensions[Dimension.BLOCK] = role.labels.source
    elif role is not None and role.kind == "only":
        only[role.labels.labels.carrier.name] = (role.level,)
    elif role is not None and role.kind == "factor":
        dimensions, factors = _with_factor(dimensions, assignment, role.labels)
    return Layout(
        **_common(table, contents, sheets), dimensions=dimensions, factors=factors, only=only, occasions=occasions
    )


def _with_factor(
    dimensions: Mapping[Dimension, Source], assignment: Assignment, second: LabelSet
) -> tuple[dict[Dimension, Source], dict[str, Source]]:
    """Return the dimensions with treatments that combine two factors, and the factors by name."""
    first = assignment.sets[Dimension.TREATMENT]
    combined = dict(dimensions)
    combined[Dimension.TREATMENT] = Source((*first.source.carriers, *second.source.carriers), first.source.lookup)
    name = first.labels.header or "Treatment"
    factors = {name: first.source, second.labels.header: second.source}
    return combined, factors


def _common(table: Table, contents: Contents, sheets: Sequence[Sheet]) -> dict[str, object]:
    """Return the fields of a layout that its contents and the table's place tell."""
    labels = tuple(dict.fromkeys(sheets[block.sheet].label for block in table.blocks))
    return {
        "table": table.key,
        "gives": contents.gives,
        "sheets": labels,
        "header_rows": table.blocks[0].header_rows,
        "values": contents.values,
        "columns": contents.columns,
    }
