"""What was logged beside plants: water, energy, light, the air and the solution."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.clues.quantities_model import Measure, Profile
from reportgen.importing.clues.quantities_relations import begins_again_daily, rises
from reportgen.importing.contents.situation import Candidate, Situation, codes
from reportgen.importing.model.cells import Kind
from reportgen.importing.model.claims import Labels
from reportgen.importing.model.layouts import Counts, Covers, Values
from reportgen.importing.model.tables import Statistic
from reportgen.importing.words import event_of, says

METER_WORDS: Final = frozenset(("running", "reading", "meter"))
USED: Final = frozenset(("added", "used", "difference", "net"))
MOST_LEVELS: Final = 12
MOST_A_DAY: Final = 100.0  # kWh that lamps or heaters of a trial may use in a day
FEWEST_ROWS: Final = 3
FLOWS: Final = {"outflow": "drain", "inflow": "top-up"}
BOTH_LIKELY: Final = -1.0
HARDLY: Final = -4.0


def solution_candidates(situation: Situation) -> list[Candidate]:
    """Return what was given to and taken from trays, with what was measured of the solution."""
    volumes = situation.of(Measure.VOLUME)
    others = _solution_values(situation)
    if not volumes:
        if others:
            return [Candidate(others)]
        return []
    parts_of = situation.computed(volumes, Statistic.SUM)
    volumes = [profile for profile in volumes if profile.index not in parts_of]
    groups = _by_event(volumes)
    candidates = []
    for counts, score in _counts(situation, volumes, Measure.VOLUME):
        values = []
        for event, columns in groups.items():
            values += _volumes(situation, columns, event, counts)
        candidates.append(Candidate((*values, *others), score))
    return candidates


def _by_event(volumes: Sequence[Profile]) -> dict[str, list[Profile]]:
    groups: dict[str, list[Profile]] = {}
    for profile in volumes:
        groups.setdefault(_event(profile), []).append(profile)
    if {"fill", "remaining", "used"} <= groups.keys():
        groups.pop("used")  # it follows from the others
    return groups


def _event(profile: Profile) -> str:
    return event_of(profile.header) or _flow(profile)


def _volumes(
    situation: Situation, columns: list[Profile], event: str, counts: Counts
) -> list[Values]:
    covers = _covers(situation)
    names = tuple(profile.name for profile in columns)
    return [
        Values("Volume", names, _unit(columns, Measure.VOLUME), covers, event=event, counts=counts)
    ]


def _solution_values(situation: Situation) -> tuple[Values, ...]:
    """Return EC, pH and temperature of a solution, where the table is about one."""
    columns = situation.of(Measure.EC, Measure.PH)
    if not columns:
        return ()
    names = {Measure.EC: "EC", Measure.PH: "pH", Measure.TEMPERATURE: "Temperature"}
    if not situation.of(Measure.HUMIDITY, Measure.CO2):
        columns = [*columns, *situation.of(Measure.TEMPERATURE)]
    return _one_each(situation, columns, names)


def _one_each(
    situation: Situation,
    columns: Sequence[Profile],
    names: dict[Measure, str],
    covers: Covers = Covers.UNIT,
) -> tuple[Values, ...]:
    """Return values by measure and by what flowed in or out; other columns of a measure lie over
    one another.
    """
    groups: dict[tuple[Measure, str], list[Profile]] = {}
    for profile in columns:
        measure = situation.measures[profile.index]
        groups.setdefault((measure, _flow(profile)), []).append(profile)
    values = []
    for (measure, event), alike in groups.items():
        unit = _unit(alike, measure)
        values.append(
            Values(
                names[measure], tuple(profile.name for profile in alike), unit, covers, event=event
            )
        )
    return tuple(values)


def _flow(profile: Profile) -> str:
    """Return the event of a reading in what was given, or in what ran out."""
    for word, event in FLOWS.items():
        if word in profile.words:
            return event
    return ""


def meter_candidates(situation: Situation) -> list[Candidate]:
    """Return what energy meters showed or what was used."""
    columns = situation.of(Measure.ENERGY)
    if not columns:
        return []
    if pair := _start_and_end(columns):
        return [_between_readings(situation, *pair)]
    columns = _meter_columns(situation, columns)
    names = tuple(profile.name for profile in columns)
    covers = _covers(situation, Covers.TREATMENT)
    unit = _unit(columns, Measure.ENERGY)
    candidates = []
    for counts, score in _counts(situation, columns, Measure.ENERGY):
        values = Values("Reading", names, unit, covers, counts=counts)
        candidates.append(Candidate((values,), score))
    return candidates


def _meter_columns(situation: Situation, columns: list[Profile]) -> list[Profile]:
    """Return columns without sums of others, and without what was used beside readings."""
    parts_of = situation.computed(columns, Statistic.SUM)
    parts = [profile for profile in columns if profile.index not in parts_of]
    readings = [profile for profile in parts if not profile.words & USED]
    return readings or parts


def _between_readings(situation: Situation, start: Profile, end: Profile) -> Candidate:
    """Return what was used between a reading at the start and one at the end of each row."""
    values = Values(
        "Reading",
        (end.name,),
        _unit([end, start], Measure.ENERGY),
        _covers(situation, Covers.TREATMENT),
        tare=start.name,
        counts=Counts.BETWEEN,
    )
    return Candidate((values,), because=("start and end",))


def _start_and_end(columns: Sequence[Profile]) -> tuple[Profile, Profile] | None:
    starts = [profile for profile in columns if "meter_start" in profile.words]
    ends = [
        profile for profile in columns if "meter_end" in profile.words and profile not in starts
    ]
    if len(starts) == 1 and len(ends) == 1:
        return starts[0], ends[0]
    return None


def _counts(
    situation: Situation, columns: Sequence[Profile], measure: Measure
) -> list[tuple[Counts, float]]:
    """Return what numbers of a counter or volume may be, likeliest first."""
    header_words = frozenset[str]().union(*(profile.said for profile in columns))
    words = header_words.union(*(profile.around for profile in columns))
    if not _has_time(situation):
        return [(Counts.SEASON, 0.0)]
    fewest = FEWEST_ROWS
    if header_words & METER_WORDS:
        fewest = 1
    if not _all_rise(situation, columns, fewest):
        return _not_rising(situation, columns)
    is_metered = bool(words & METER_WORDS)
    is_used = bool(header_words & USED) and "running" not in words
    if is_used or (measure is Measure.VOLUME and not is_metered):
        return [(Counts.EACH, 0.0), (Counts.COUNTER, BOTH_LIKELY)]
    return _rising(situation, columns, is_metered=is_metered)


def _not_rising(situation: Situation, columns: Sequence[Profile]) -> list[tuple[Counts, float]]:
    """Return what numbers that do not rise may be: amounts, perhaps counted anew each day."""
    if all(_begins_again_daily(situation, profile) for profile in columns):
        return [(Counts.DAILY, 0.0), (Counts.EACH, BOTH_LIKELY)]
    return [(Counts.EACH, 0.0)]


def _all_rise(situation: Situation, columns: Sequence[Profile], fewest: int) -> bool:
    """Tell whether each column rises down its groups of rows, `fewest` rows or more."""
    return all(
        rises(profile.numbers, _groups(situation, profile, fewest), fewest) for profile in columns
    )


def _rising(
    situation: Situation, columns: Sequence[Profile], *, is_metered: bool
) -> list[tuple[Counts, float]]:
    """Return what numbers that rise may be: a counter, and something else where they are few or
    small.
    """
    highest = max(float(profile.values.max(initial=0)) for profile in columns)
    is_short = situation.rows <= FEWEST_ROWS
    if is_short or (not is_metered and (situation.rows < MOST_LEVELS or highest < MOST_A_DAY)):
        return [(Counts.COUNTER, 0.0), (Counts.EACH, BOTH_LIKELY)]
    return [(Counts.COUNTER, 0.0), (Counts.EACH, HARDLY - 1.0)]


def _has_time(situation: Situation) -> bool:
    """Tell whether rows, sheets or headers are of several days."""
    moments = situation.table.moment
    distinct = np.unique(moments[situation.table.kind == Kind.MOMENT])
    dated = any(profile.is_dated for profile in situation.profiles)
    return len(distinct) > 1 or dated or bool(situation.labelled("date"))


def _begins_again_daily(situation: Situation, profile: Profile) -> bool:
    """Tell whether a counter begins again each day, by the column that tells the time of each row."""
    table = situation.table
    if situation.rows:
        timed = np.flatnonzero((table.kind == Kind.MOMENT).all(axis=0))
    else:
        timed = np.empty(0, np.intp)
    if len(timed) == 0:
        return False
    days = table.moment[:, timed[0]].astype("datetime64[D]")
    return begins_again_daily(profile.numbers, days, table.block)


def _groups(situation: Situation, profile: Profile, fewest: int = FEWEST_ROWS) -> NDArray[np.intp]:
    """Return groups of rows in which a counter rises: all rows, else those of one label.

    Else those of equal labels in all columns that may tell places apart.
    """
    whole = np.zeros(situation.rows, dtype=np.intp)
    if rises(profile.numbers, whole, fewest):
        return whole
    few = list(filter(_has_few_levels, situation.labels_of_rows()))
    for labels in few:
        if rises(profile.numbers, codes(labels), fewest):
            return codes(labels)
    places = [codes(labels) for labels in few if not _is_no_place(labels.header)]
    if places:
        groups = np.unique(np.stack(places), axis=1, return_inverse=True)[1]
        together: NDArray[np.intp] = groups.astype(np.intp).ravel()
        if rises(profile.numbers, together, fewest):
            return together
    return whole


def _has_few_levels(labels: Labels) -> bool:
    return 1 < len(labels.levels) <= MOST_LEVELS


def light_candidates(situation: Situation) -> list[Candidate]:
    """Return light at points of a map; lux is never taken for photons."""
    columns = situation.of(Measure.PPFD)
    if not columns:
        return []
    values = _one_each(situation, columns, {Measure.PPFD: "PPFD"}, Covers.TREATMENT)
    places = {
        profile.name.strip().upper(): profile.name
        for profile in situation.profiles
        if profile.name.strip().upper() in ("X", "Y")
    }
    return [Candidate(values, columns=places)]


def climate_candidates(situation: Situation) -> list[Candidate]:
    """Return readings of the air and of the root zone."""
    temperatures = situation.of(Measure.TEMPERATURE)
    air = [profile for profile in temperatures if not _is_of_solution(profile)]
    solution = [profile for profile in temperatures if _is_of_solution(profile)]
    values = [
        *_readings("Air temperature", air, Measure.TEMPERATURE),
        *_readings("Relative humidity", situation.of(Measure.HUMIDITY), Measure.HUMIDITY),
        *_readings("CO2", situation.of(Measure.CO2), Measure.CO2),
        *_readings("Solution temperature", solution, Measure.TEMPERATURE),
    ]
    if values:
        return [Candidate(tuple(values))]
    return []


def _readings(quantity: str, columns: Sequence[Profile], measure: Measure) -> list[Values]:
    """Return the values of columns that were measured inside, none where there are none."""
    inside = _inside(columns)
    if not inside:
        return []
    names = tuple(profile.name for profile in inside)
    return [Values(quantity, names, _unit(inside, measure), Covers.TREATMENT)]


def _is_of_solution(profile: Profile) -> bool:
    return "solution" in profile.said and "air" not in profile.said


def _inside(columns: Sequence[Profile]) -> list[Profile]:
    """Return the columns of the air itself: none of the weather outside, of what is wanted or of a
    leaf.

    Of the extremes of a day both together stand for it, where nothing else does.
    """
    air = [profile for profile in columns if not profile.said & {"outside", "not_measured_in_air"}]
    inside = [profile for profile in air if "extreme" not in profile.said]
    if not inside and len(air) > 1:
        return air
    return inside


# Nobody writes these in others, or they are so by definition.
COMMON_UNITS: Final = {Measure.HUMIDITY: "%", Measure.CO2: "ppm", Measure.PPFD: "µmol/m2/s"}


def _unit(columns: Sequence[Profile], measure: Measure) -> str:
    units = {profile.unit for profile in columns if profile.unit_of is not None}
    if len(units) == 1:
        return units.pop()
    return COMMON_UNITS.get(measure, "")


def _covers(situation: Situation, several: Covers = Covers.UNIT) -> Covers:
    """Return what a volume or reading is of.

    That is the whole trial where no label tells trays or treatments apart.
    """
    for labels in situation.labels_of_rows():
        if len(labels.levels) > 1 and not _is_no_place(labels.header):
            return several
    for labels in situation.labels_of_columns():
        if len(labels.levels) > 1:
            return several
    return Covers.TRIAL


def _is_no_place(header: str) -> bool:
    return says(header, "date", "remark", "person")
