"""What was weighed, measured and counted of plants: which columns, fresh or dry, of a plant or of a
whole tray.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice, product
from typing import Final

import numpy as np

from reportgen.importing.clues.quantities_model import Measure, Profile
from reportgen.importing.clues.quantities_packing import holds_more_than_plants, is_gross, is_tare
from reportgen.importing.clues.quantities_relations import WITHIN_LARGER, two_units
from reportgen.importing.contents.covering import Cover, covers_of
from reportgen.importing.contents.series import are_alike, is_series, names_no_quantity
from reportgen.importing.contents.situation import Candidate, Situation, area_around
from reportgen.importing.model.layouts import Covers, Values
from reportgen.importing.model.tables import Statistic, Table
from reportgen.importing.words import meanings, says

FRESH: Final = "Fresh weight"
DRY: Final = "Dry weight"
WEIGHTS: Final = {"fresh": FRESH, "dry": DRY}
MASSES: Final = (Measure.MASS, Measure.YIELD_PER_AREA)
MEASURED: Final = (
    Measure.LENGTH,
    Measure.LEAVES,
    Measure.PIECES,
    Measure.FURTHER,
    Measure.SHARE,
    Measure.AREA,
    Measure.UNKNOWN,
)
DECLARED: Final = {Measure.LENGTH: ("height", "Height"), Measure.LEAVES: ("leaves", "Leaves")}
WEIGHT_WORDS: Final = frozenset(
    ("weight", "fresh", "dry", "yield", "gross", "tare", "net", "start_weight")
)
PART_WORDS: Final = frozenset(("part_of_plant", "root", "shoot"))
MOST: Final = 24


@dataclass(frozen=True)
class _Option:
    """One way to take some columns, with points against the most likely one."""

    values: tuple[Values, ...]
    score: float = 0.0
    because: str = ""


@dataclass(frozen=True)
class _Facets:
    """What a mass is of: fresh, dry or not said; root, another part or the plant; at the start or
    at the end.
    """

    state: str
    part: str
    is_start: bool


def plant_candidates(situation: Situation) -> list[Candidate]:
    """Return what the columns of a table of plants may be, best first.

    There are none where the table has no such columns.
    """
    weighed = _weighed(situation)
    measured = _measured(situation, weighed)
    if not weighed and not measured:
        return []
    if any(profile.unit_of is Measure.YIELD_PER_AREA for profile in weighed):
        measured = _without_areas(situation, measured)
    groups = _groups(weighed)
    options = [_options(situation, facets, columns, groups) for facets, columns in groups.items()]
    complete = []
    for candidate in _best_candidates(options):
        further = (*measured, *_counts_apart(situation, candidate.values))
        complete.append(replace(candidate, values=_with_measured(candidate.values, further)))
    return sorted(complete, key=lambda candidate: -candidate.score)[:MOST]


def _best_candidates(options: Sequence[Sequence[_Option]]) -> list[Candidate]:
    """Return candidates of one option a group; of those with equal values the best."""
    candidates: dict[tuple[Values, ...], Candidate] = {}
    for chosen in islice(product(*options), MOST * 4):
        candidate = _candidate_of(chosen)
        best = candidates.get(candidate.values)
        is_better = best is None or candidate.score > best.score
        if is_better and _is_of_one_kind(candidate.values):
            candidates[candidate.values] = candidate
    return list(candidates.values())


def _candidate_of(options: Sequence[_Option]) -> Candidate:
    """Return one candidate of several options, one for each group of columns."""
    values: list[Values] = []
    score = 0.0
    because = []
    for option in options:
        values += option.values
        score += option.score
        if option.because:
            because.append(option.because)
    return Candidate(tuple(values), score, because=tuple(because))


def _without_areas(situation: Situation, measured: Sequence[Values]) -> tuple[Values, ...]:
    areas = {profile.name for profile in situation.of(Measure.AREA)}
    return tuple(values for values in measured if areas.isdisjoint(values.columns))


def _counts_apart(situation: Situation, values: Sequence[Values]) -> tuple[Values, ...]:
    """Return counts that no weight covers, as measures of their own."""
    taken = {one.count for one in values}
    counts = [profile for profile in situation.of(Measure.COUNT) if profile.name not in taken]
    return tuple(
        Values(profile.name, (profile.name,)) for profile in counts if not is_constant(profile)
    )


def _is_of_one_kind(values: Sequence[Values]) -> bool:
    """Tell whether all weights of a row are of the same: fresh and dry of one plant, or of one
    tray.
    """
    told = {one.covers for one in values}
    return len(told) < 2 or told == {Covers.UNIT, Covers.MEAN}


def _weighed(situation: Situation) -> list[Profile]:
    """Return the columns of masses; of totals beside their parts only the parts."""
    columns = situation.of(*MASSES, Measure.UNKNOWN)
    masses = situation.of(*MASSES)
    parts_of = _parts_of_totals(situation, columns)
    weighed = [profile for profile in masses if profile.index not in parts_of]
    others = [profile for profile in columns if profile not in masses]
    for parts in parts_of.values():
        weighed += [profile for profile in others if profile.index in parts]
    if not weighed:
        weighed = _unnamed(situation)
    ordered = _joined(sorted(weighed, key=lambda profile: profile.index))
    return _with_parts_of_plants(ordered)


def _parts_of_totals(
    situation: Situation, columns: Sequence[Profile]
) -> dict[int, tuple[int, ...]]:
    """Return the columns that are a total of others, with those; tares are no parts."""
    tares = {profile.index for profile in columns if is_tare(profile)}
    parts_of = {}
    for index, parts in situation.computed(columns, Statistic.SUM).items():
        if tares.isdisjoint(parts):
            parts_of[index] = parts
    return parts_of


def _joined(columns: list[Profile]) -> list[Profile]:
    """Return columns, those of one weight in two units as one: pounds to which ounces are added."""
    joined = {profile.index: profile for profile in columns}
    for large, small in two_units(columns):
        numbers = np.nansum(
            [large.numbers, small.numbers / WITHIN_LARGER[large.unit, small.unit]], axis=0
        )
        numbers[np.isnan(large.numbers) & np.isnan(small.numbers)] = np.nan
        joined[large.index] = replace(large, numbers=numbers, plus=((small.name, small.unit),))
        del joined[small.index]
    return list(joined.values())


def _with_parts_of_plants(columns: list[Profile]) -> list[Profile]:
    """Return columns headed by a part of a plant alone as such, but not where others are headed by
    no quantity.

    `Grain | Straw` are parts, `bare | straw` are treatments, in whatever unit they stand.
    """
    bare = [profile for profile in columns if not meanings(profile.name) & WEIGHT_WORDS]
    if all(profile.words & PART_WORDS for profile in bare):
        return columns
    indexes = {profile.index for profile in bare}
    return [_whole(profile) if profile.index in indexes else profile for profile in columns]


def _whole(profile: Profile) -> Profile:
    """Return a column without words of parts of plants."""
    return replace(profile, words=profile.words - PART_WORDS, above=profile.above - PART_WORDS)


def _unnamed(situation: Situation) -> list[Profile]:
    """Return columns that no word names and that may be weights: those side by side of one size, or
    the only one.
    """
    unknown = situation.of(Measure.UNKNOWN)
    if situation.of(Measure.LENGTH, Measure.LEAVES) and not is_series(unknown):
        return []
    side_by_side = is_series(unknown) or names_no_quantity(unknown)
    if len(unknown) == 1 or (side_by_side and are_alike(unknown)):
        return unknown
    return []


def _measured(situation: Situation, weighed: Sequence[Profile]) -> tuple[Values, ...]:
    """Return further measures of plants, those of one name over one another."""
    by_measure: dict[tuple[Measure, str], list[Profile]] = {}
    for profile in _further_measures(situation, weighed):
        measure = situation.measures[profile.index]
        words = " ".join(sorted(profile.words))
        by_measure.setdefault((measure, words), []).append(profile)
    groups: list[tuple[Measure, list[Profile]]] = []
    for (measure, _), alike in by_measure.items():
        lie_over = is_series(alike) and len(weighed) in (0, len(alike))
        if lie_over:
            groups.append((measure, alike))
        else:
            groups += [(measure, [profile]) for profile in alike]
    return tuple(_measure(measure, columns, groups) for measure, columns in groups)


def _further_measures(situation: Situation, weighed: Sequence[Profile]) -> list[Profile]:
    """Return the columns measured beside weights, without constants and the owner's statistics."""
    weighed_indexes = {profile.index for profile in weighed}
    columns = situation.of(*MEASURED)
    others = [profile for profile in columns if profile.index not in weighed_indexes]
    sums = situation.computed([*others, *weighed], Statistic.SUM)
    computed = {*sums, *_differences(situation.table)}
    measured = []
    for profile in others:
        if profile.index not in computed and not is_constant(profile):
            measured.append(profile)
    return measured


def _differences(table: Table) -> list[int]:
    """Return the columns that their owner computed as the difference of two others, such as two
    treatments.
    """
    return [each.column for each in table.computed if each.statistic is Statistic.DIFFERENCE]


def is_constant(profile: Profile) -> bool:
    """Tell whether one number stands on all of several rows, such as the area of each plot."""
    return len(profile.values) > 1 and len(np.unique(profile.values)) == 1


def _measure(
    measure: Measure,
    columns: Sequence[Profile],
    groups: Sequence[tuple[Measure, Sequence[Profile]]],
) -> Values:
    """Return values under their declared name where no other columns contend for it, else under the
    owner's.
    """
    names = tuple(profile.name for profile in columns)
    word, declared = DECLARED.get(measure, ("", ""))
    contending = [
        others for other, others in groups if other is measure and word in _said_of(others[0])
    ]
    if contending == [columns]:
        quantity = declared
    else:
        quantity = names[0]
    return Values(quantity, names, _unit(columns[0]))


def _said_of(profile: Profile) -> frozenset[str]:
    """Return what the headers say of a column; of one below a date or a number what the title says,
    too.
    """
    is_labelled = profile.is_dated or profile.is_numbered
    if is_labelled:
        return profile.said | profile.around
    return profile.said


def _unit(profile: Profile) -> str:
    """Return the unit of a column where one stands at it, or speaks of what it measures."""
    if profile.unit_of not in (None, Measure.TIME):
        return profile.unit
    return ""


def _groups(weighed: Sequence[Profile]) -> dict[_Facets, list[Profile]]:
    """Return columns by what they are of; a fruit's weight and culls apart from the whole."""
    groups: dict[_Facets, list[Profile]] = {}
    apart = set()
    if any("pieces" not in profile.words for profile in weighed):
        apart.add("pieces")
    if any("grade" not in profile.words for profile in weighed if not is_tare(profile)):
        apart.add("culls")
    for profile in weighed:
        facets = _facets(profile)
        if apart & profile.words:
            facets = replace(facets, part=profile.name)
        groups.setdefault(facets, []).append(profile)
    return _with_common_tare(groups)


def _with_common_tare(groups: dict[_Facets, list[Profile]]) -> dict[_Facets, list[Profile]]:
    """Return groups in which a tare that stands alone goes with each gross weight.

    So fresh and dry weights in one bag have one tare.
    """
    alone = [facets for facets, columns in groups.items() if all(map(is_tare, columns))]
    gross = [facets for facets, columns in groups.items() if any(map(is_gross, columns))]
    if len(alone) != 1 or not gross:
        return groups
    others = dict(groups)
    tares = others.pop(alone[0])
    for facets in gross:
        others[facets] = [*others[facets], *tares]
    return others


def _facets(profile: Profile) -> _Facets:
    said = profile.said
    is_start = "start_weight" in said
    part = ""
    if "root" in said and "shoot" not in said:
        part = "root"
    elif "part_of_plant" in said:
        part = profile.name
    return _Facets(_state(profile), part, is_start)


def _state(profile: Profile) -> str:
    """Return "fresh" or "dry" where the header, or else the text around, says one of them alone."""
    for words in (profile.words, profile.above, profile.around):
        states = words & {"fresh", "dry"}
        if len(states) == 1:
            return str(next(iter(states)))
        if states:
            return ""
    return ""


def _options(
    situation: Situation,
    facets: _Facets,
    columns: list[Profile],
    groups: dict[_Facets, list[Profile]],
) -> list[_Option]:
    """Return the ways to take columns of equal facets, each in every quantity that it may be."""
    ways = _ways(situation, columns)
    quantities = _quantities(facets, columns, groups)
    options = []
    for way in ways:
        for quantity, score in quantities:
            values = tuple(_named(one, quantity) for one in way.values)
            options.append(_Option(values, way.score + score, way.because))
    return options


def _named(values: Values, quantity: str) -> Values:
    """Return values with their quantity, unless they are a further measure of their own."""
    if values.quantity:
        return values
    return replace(values, quantity=quantity or values.columns[0])


def _quantities(
    facets: _Facets, columns: Sequence[Profile], groups: dict[_Facets, list[Profile]]
) -> list[tuple[str, float]]:
    """Return what a mass may be called, with points; "" for a further measure under its own name."""
    if facets.is_start:
        return [("Start weight", 0.0)]
    if len(columns) == 1 and holds_more_than_plants(columns[0].header):
        return [("", 0.0), (WEIGHTS.get(facets.state, FRESH), -1.0)]
    if facets.part:
        return _quantities_of_part(facets, groups)
    return _states(facets, groups)


def _quantities_of_part(
    facets: _Facets, groups: dict[_Facets, list[Profile]]
) -> list[tuple[str, float]]:
    """Return what the mass of a part may be called: that of the plant only where it stands alone."""
    if facets.part == "root":
        name = "Root weight"
        if facets.state == "dry":
            name = ""
        return [(name, 0.0)]
    states = _states(facets, groups)
    if not _has_whole(groups):
        return [*states, ("", -1.0)]
    if facets.state and _is_the_only(facets, groups):
        return states
    return [("", 0.0)]


def _has_whole(groups: dict[_Facets, list[Profile]]) -> bool:
    """Tell whether some columns are of whole plants, other than at the start."""
    return any(not facets.part and not facets.is_start for facets in groups)


def _is_the_only(facets: _Facets, groups: dict[_Facets, list[Profile]]) -> bool:
    """Tell whether no other column is of the same state: leaves are all that was weighed fresh."""
    return all(
        other == facets or other.is_start or other.state not in ("", facets.state)
        for other in groups
    )


def _states(facets: _Facets, groups: dict[_Facets, list[Profile]]) -> list[tuple[str, float]]:
    """Return fresh or dry weight; where neither is named, what other columns leave open."""
    if facets.state:
        return [(WEIGHTS[facets.state], 0.0)]
    states = set()
    for other in groups:
        if not other.is_start and other.part == facets.part:
            states.add(other.state)
    if "fresh" in states:
        return [("", 0.0)]
    if "dry" in states:
        return [(FRESH, 0.0)]
    return [(FRESH, 0.0), (DRY, -1.0)]


def _ways(situation: Situation, columns: list[Profile]) -> list[_Option]:
    """Return the ways to take columns of equal facets: net of tare, pounds and ounces, side by
    side, one of them.
    """
    covers = covers_of(situation, columns[0])
    if tared := _tared(situation, columns, covers):
        return tared
    columns = _without_means(columns)
    covers = covers_of(situation, columns[0])
    if len(columns) == 1:
        return [
            _option(_with_area(situation, columns[0], _values(columns, cover)), cover)
            for cover in covers
        ]
    if _differ_in_units(columns):
        return _each_alone(columns, covers)
    return _ways_of_alike(situation, columns, covers)


def _ways_of_alike(
    situation: Situation, columns: list[Profile], covers: Sequence[Cover]
) -> list[_Option]:
    """Return the ways to take several columns of one unit: side by side, their total, one alone."""
    side_by_side = [_option(_values(columns, cover), cover, "side by side") for cover in covers]
    rather_apart = _each_alone(columns, covers)
    for option in side_by_side:
        rather_apart.append(replace(option, score=option.score - 1.5))
    if _repeat_one_header(situation, columns):
        return rather_apart
    if _lie_side_by_side(columns):
        return side_by_side
    total = _total_of(situation, columns)
    if total is not None:
        return [_beside(total, columns, cover, "total") for cover in covers]
    return rather_apart


def _lie_side_by_side(columns: Sequence[Profile]) -> bool:
    """Tell whether columns are grades, a series, or alike under labels only."""
    if all("grade" in profile.words for profile in columns) or is_series(columns):
        return True
    return names_no_quantity(columns) and are_alike(columns)


def _differ_in_units(columns: Sequence[Profile]) -> bool:
    """Tell whether columns are no weights of one kind: in several units, or some of them in two."""
    units = {
        profile.unit for profile in columns if profile.unit_of is not None and profile.has_near_unit
    }
    return len(units) > 1 or any(profile.plus for profile in columns)


def _repeat_one_header(situation: Situation, columns: Sequence[Profile]) -> bool:
    """Tell whether columns of equal headers are no plants side by side.

    Then each row is of one plant, or sizes differ.
    """
    headers = {situation.table.columns[profile.index].over for profile in columns}
    if len(headers) > 1:
        return False
    values = {profile.index for profile in situation.without(Measure.LABEL)}
    for index, column in enumerate(situation.table.columns):
        if index not in values and says(column.header, "plant"):
            return True
    return not are_alike(columns)


def _option(values: Values, cover: Cover, because: str = "") -> _Option:
    return _Option((values,), cover.score, because)


def _values(columns: Sequence[Profile], cover: Cover, quantity: str = "") -> Values:
    names = tuple(profile.name for profile in columns)
    units = {_unit(profile) for profile in columns} - {""}
    if len(units) == 1:
        unit = units.pop()
    else:
        unit = ""
    if len(columns) == 1:
        plus = columns[0].plus
    else:
        plus = ()
    return Values(quantity, names, unit, covers=cover.covers, count=cover.count, plus=plus)


def _without_means(columns: list[Profile]) -> list[Profile]:
    """Return columns without the owner's means, where something else is there."""
    others = [profile for profile in columns if not profile.words & {"mean", "spread", "extreme"}]
    return others or columns


def _each_alone(columns: Sequence[Profile], covers: Sequence[Cover]) -> list[_Option]:
    """Return each column as the one that counts, the others as further measures.

    The last and largest comes first.
    """
    options = []
    for place, profile in enumerate(reversed(columns)):
        others = []
        for other in columns:
            if other is not profile:
                others.append(_values([other], covers[0], other.name))
        for cover in covers:
            values = (_values([profile], cover), *others)
            options.append(_Option(values, cover.score - place, f"alone:{profile.name}"))
    return options


def _tared(situation: Situation, columns: list[Profile], covers: Sequence[Cover]) -> list[_Option]:
    """Return gross weights with their tare, or the net weights beside them.

    There are none where no weight is tared.
    """
    differences = situation.computed(columns, Statistic.DIFFERENCE)
    if differences:
        nets = [profile for profile in columns if profile.index in differences]
        return _nets(nets[0], covers)
    tares = _tares(columns)
    if not tares:
        return _net_beside_gross(columns, covers)
    return _beside_tares(columns, tares, covers)


def _beside_tares(
    columns: Sequence[Profile], tares: Sequence[Profile], covers: Sequence[Cover]
) -> list[_Option]:
    """Return the net weight beside tares, else the weights with each tare; gross ones go first."""
    weights = [profile for profile in columns if profile not in tares]
    if not weights:
        return []
    for profile in weights:
        if "net" in profile.words:
            return _nets(profile, covers)
    gross = list(filter(is_gross, weights))
    return _with_tares(gross or weights, tares, covers)


def _nets(net: Profile, covers: Sequence[Cover]) -> list[_Option]:
    """Return a net weight alone."""
    return [_option(_values([net], cover), cover, "net") for cover in covers]


def _tares(columns: Sequence[Profile]) -> list[Profile]:
    """Return the tares; without a gross weight only columns that are called so."""
    tares = list(filter(is_tare, columns))
    if any(map(is_gross, columns)):
        return tares
    return [profile for profile in tares if "tare" in profile.words]


def _with_tares(
    weighed: Sequence[Profile], tares: Sequence[Profile], covers: Sequence[Cover]
) -> list[_Option]:
    """Return weights with each tare, the first one likeliest."""
    options = []
    for cover in covers:
        values = _values(weighed, cover)
        for place, tare in enumerate(tares):
            score = cover.score - place
            options.append(_Option((replace(values, tare=tare.name),), score, "tare"))
    return options


def _net_beside_gross(columns: list[Profile], covers: Sequence[Cover]) -> list[_Option]:
    """Return the net weight beside one that is called gross, though no tare stands there."""
    nets = [profile for profile in columns if "net" in profile.words]
    gross = [profile for profile in columns if "gross" in profile.words]
    is_pair = len(nets) == 1 and len(gross) > 0
    if is_pair and len(nets) + len(gross) >= len(columns):
        return [_beside(nets[0], gross, cover, "net") for cover in covers]
    return []


def _beside(profile: Profile, others: Sequence[Profile], cover: Cover, because: str) -> _Option:
    """Return a column as the one that counts, others as further measures under their own names."""
    further = tuple(_values([other], cover, other.name) for other in others)
    return _Option((_values([profile], cover), *further), cover.score, because)


def _total_of(situation: Situation, parts: Sequence[Profile]) -> Profile | None:
    """Return the column that is the sum of some columns, None where none is."""
    indexes = {profile.index for profile in parts}
    columns = situation.of(*MASSES, Measure.UNKNOWN)
    for index, summed in situation.computed(columns, Statistic.SUM).items():
        if indexes == set(summed):
            return next(profile for profile in columns if profile.index == index)
    return None


def _with_area(situation: Situation, profile: Profile, values: Values) -> Values:
    """Return a yield per area with the column of the units' areas, else with the area that a title
    tells.
    """
    if profile.unit_of is not Measure.YIELD_PER_AREA:
        return values
    values = replace(values, covers=Covers.UNIT, count="")
    areas = situation.of(Measure.AREA)
    if len(areas) == 1:
        return replace(values, area_column=areas[0].name)
    return replace(values, per_area=area_around(situation.table))


def _with_measured(values: tuple[Values, ...], measured: tuple[Values, ...]) -> tuple[Values, ...]:
    """Return weights and further measures; of a whole tray these are means."""
    is_of_units = bool(values) and values[0].covers is not Covers.PLANT
    if is_of_units:
        measured = tuple(replace(one, covers=Covers.MEAN) for one in measured)
    return (*values, *measured)
