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
    """Return what the columns of a table of plants may be, best first; none where it has no such
    columns.
    """
    weighed = _weighed(situation)
    measured = _measured(situation, weighed)
    if not weighed and not measured:
        return []
    if any(profile.unit_of is Measure.YIELD_PER_AREA for profile in weighed):
        areas = {profile.name for profile in situation.of(Measure.AREA)}
        measured = tuple(values for values in measured if areas.isdisjoint(values.columns))
    groups = _groups(weighed)
    options = [_options(situation, facets, columns, groups) for facets, columns in groups.items()]
    candidates: dict[tuple[Values, ...], Candidate] = {}
    for chosen in islice(product(*options), MOST * 4):
        values = tuple(one for option in chosen for one in option.values)
        score = sum(option.score for option in chosen)
        because = tuple(option.because for option in chosen if option.because)
        if _is_of_one_kind(values):
            kept = candidates.get(values)
            if kept is None or score > kept.score:
                further = (*measured, *_counts_apart(situation, values))
                candidates[values] = Candidate(
                    _with_measured(values, further), score, because=because
                )
    return sorted(candidates.values(), key=lambda candidate: -candidate.score)[:MOST]


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
    tares = {profile.index for profile in columns if is_tare(profile)}
    parts_of = {
        index: parts
        for index, parts in situation.computed(columns, Statistic.SUM).items()
        if tares.isdisjoint(parts)
    }
    weighed = [profile for profile in masses if profile.index not in parts_of]
    for parts in parts_of.values():
        weighed += [
            profile for profile in columns if profile.index in parts and profile not in masses
        ]
    if not weighed:
        weighed = _unnamed(situation)
    ordered = _joined(sorted(weighed, key=lambda profile: profile.index))
    return _with_parts_of_plants(ordered)


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
    taken = {profile.index for profile in weighed}
    columns = [profile for profile in situation.of(*MEASURED) if profile.index not in taken]
    computed = {
        *situation.computed([*columns, *weighed], Statistic.SUM),
        *_differences(situation.table),
    }
    columns = [
        profile for profile in columns if profile.index not in computed and not is_constant(profile)
    ]
    by_measure: dict[tuple[Measure, str], list[Profile]] = {}
    for profile in columns:
        measure = situation.measures[profile.index]
        by_measure.setdefault((measure, " ".join(sorted(profile.words))), []).append(profile)
    groups: list[tuple[Measure, list[Profile]]] = []
    for (measure, _), alike in by_measure.items():
        lie_over = is_series(alike) and len(weighed) in (0, len(alike))
        if lie_over:
            apart = [alike]
        else:
            apart = [[profile] for profile in alike]
        groups += [(measure, columns) for columns in apart]
    return tuple(_measure(measure, columns, groups) for measure, columns in groups)


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
    groups: dict[_Facets, list[Profile]] = {}
    some_of_plants = any("pieces" not in profile.words for profile in weighed)
    some_of_all = any("grade" not in profile.words for profile in weighed if not is_tare(profile))
    for profile in weighed:
        facets = _facets(profile)
        if some_of_plants and "pieces" in profile.words:
            facets = replace(
                facets, part=profile.name
            )  # the weight of a fruit beside that of them all
        if some_of_all and "culls" in profile.words:
            facets = replace(facets, part=profile.name)
        groups.setdefault(facets, []).append(profile)
    return _with_common_tare(groups)


def _with_common_tare(groups: dict[_Facets, list[Profile]]) -> dict[_Facets, list[Profile]]:
    """Return groups in which a tare that stands alone goes with each gross weight: fresh and dry in
    one bag.
    """
    alone = [
        facets for facets, columns in groups.items() if all(is_tare(profile) for profile in columns)
    ]
    gross = [
        facets
        for facets, columns in groups.items()
        if any(is_gross(profile) for profile in columns)
    ]
    if len(alone) != 1 or not gross:
        return groups
    tares = groups[alone[0]]
    kept = {facets: columns for facets, columns in groups.items() if facets not in alone}
    for facets in gross:
        kept[facets] = [*kept[facets], *tares]
    return kept


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
        return [("", 0.0), (DRY if facets.state == "dry" else FRESH, -1.0)]
    if facets.part == "root":
        return [("", 0.0)] if facets.state == "dry" else [("Root weight", 0.0)]
    if facets.part:
        whole = any(not other.part and not other.is_start for other in groups)
        if whole and facets.state and _is_the_only(facets, groups):
            return _states(facets, groups)
        return [("", 0.0)] if whole else [*_states(facets, groups), ("", -1.0)]
    return _states(facets, groups)


def _is_the_only(facets: _Facets, groups: dict[_Facets, list[Profile]]) -> bool:
    """Tell whether no other column is of the same state: leaves are all that was weighed fresh."""
    return all(
        other == facets or other.is_start or other.state not in ("", facets.state)
        for other in groups
    )


def _states(facets: _Facets, groups: dict[_Facets, list[Profile]]) -> list[tuple[str, float]]:
    if facets.state:
        return [(FRESH if facets.state == "fresh" else DRY, 0.0)]
    said = {other.state for other in groups if not other.is_start and other.part == facets.part}
    if "dry" in said and "fresh" not in said:
        return [(FRESH, 0.0)]
    if "fresh" in said:
        return [("", 0.0)]
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
    """Return the ways to take several columns of one unit: side by side, a total of them, one of
    them.
    """
    side_by_side = [_option(_values(columns, cover), cover, "side by side") for cover in covers]
    rather_apart = [
        *_each_alone(columns, covers),
        *[replace(one, score=one.score - 1.5) for one in side_by_side],
    ]
    if _repeat_one_header(situation, columns):
        return rather_apart
    are_grades = all("grade" in profile.words for profile in columns)
    if are_grades or is_series(columns) or (names_no_quantity(columns) and are_alike(columns)):
        return side_by_side
    if (total := _total_of(situation, columns)) is not None:
        return [_beside(total, columns, cover, "total") for cover in covers]
    return rather_apart


def _differ_in_units(columns: Sequence[Profile]) -> bool:
    """Tell whether columns are no weights of one kind: in several units, or some of them in two."""
    units = {
        profile.unit for profile in columns if profile.unit_of is not None and profile.has_near_unit
    }
    return len(units) > 1 or any(profile.plus for profile in columns)


def _repeat_one_header(situation: Situation, columns: Sequence[Profile]) -> bool:
    """Tell whether columns of equal headers are no plants side by side: each row is of one, or
    sizes differ.
    """
    headers = {situation.table.columns[profile.index].over for profile in columns}
    if len(headers) > 1:
        return False
    values = {
        profile.index
        for profile in situation.profiles
        if situation.measures[profile.index] is not Measure.LABEL
    }
    labels = [
        column.header for index, column in enumerate(situation.table.columns) if index not in values
    ]
    return any(says(header, "plant") for header in labels) or not are_alike(columns)


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
    """Return each column as the one that counts, the last and largest first, the others as further
    measures.
    """
    options = []
    for place, profile in enumerate(reversed(columns)):
        others = tuple(
            _values([other], covers[0], other.name) for other in columns if other is not profile
        )
        for cover in covers:
            options.append(
                _Option(
                    (_values([profile], cover), *others),
                    cover.score - place,
                    f"alone:{profile.name}",
                )
            )
    return options


def _tared(situation: Situation, columns: list[Profile], covers: Sequence[Cover]) -> list[_Option]:
    """Return gross weights with their tare, or the net weights where they stand beside; none where
    none is tared.
    """
    if differences := situation.computed(columns, Statistic.DIFFERENCE):
        nets = [profile for profile in columns if profile.index in differences]
        return [_option(_values(nets[:1], cover), cover, "net") for cover in covers]
    has_gross = any(is_gross(profile) for profile in columns)
    tares = [
        profile
        for profile in columns
        if is_tare(profile) and (has_gross or "tare" in profile.words)
    ]
    gross = [profile for profile in columns if profile not in tares]
    if not tares:
        return _net_beside_gross(columns, covers)
    if not gross:
        return []
    named = [profile for profile in gross if is_gross(profile)]
    plain = [profile for profile in gross if "net" in profile.words]
    if plain:
        return [_option(_values(plain[:1], cover), cover, "net") for cover in covers]
    weighed = named or gross
    return [
        _option(
            replace(_values(weighed, cover), tare=tare.name),
            replace(cover, score=cover.score - place),
            "tare",
        )
        for cover in covers
        for place, tare in enumerate(tares)
    ]


def _net_beside_gross(columns: list[Profile], covers: Sequence[Cover]) -> list[_Option]:
    """Return the net weight where another one beside it is called gross, though no tare stands
    there.
    """
    net = [profile for profile in columns if "net" in profile.words]
    gross = [profile for profile in columns if "gross" in profile.words]
    if len(net) != 1 or not gross or len(net) + len(gross) < len(columns):
        return []
    return [_beside(net[0], gross, cover, "net") for cover in covers]


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
