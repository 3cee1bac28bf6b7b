"""What a table may give: candidates of each kind of record, best first."""

from collections.abc import Callable, Iterator, Sequence
from typing import Final

from reportgen.importing.clues.quantities import OF_PLANTS, measures_of
from reportgen.importing.clues.quantities_model import Measure
from reportgen.importing.contents.covering import is_of_started
from reportgen.importing.contents.plants import plant_candidates
from reportgen.importing.contents.profiles import profiles_of
from reportgen.importing.contents.records import (
    climate_candidates,
    light_candidates,
    meter_candidates,
    solution_candidates,
)
from reportgen.importing.contents.scales import scores
from reportgen.importing.contents.situation import Candidate, Situation
from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.claims import Contents, TableLabels
from reportgen.importing.model.layouts import NOTHING
from reportgen.importing.model.tables import Found, Table
from reportgen.importing.tables.belonging import (
    are_copies,
    are_of_two_trials,
    is_aside,
    is_of_earlier_year,
)
from reportgen.importing.words import is_word, meanings

TOGETHER: Final = "together"
APART: Final = (
    "apart"  # whether the table is part of the trial is asked, however sure its labels are
)
SURE: Final = 10.0
UNLIKELY: Final = 4.5  # below the best
WITHIN: Final = 4.0  # what is further below the best is no candidate, whatever its labels would be
FEW_ROWS: Final = 12
STATISTIC_WORDS: Final = frozenset(("mean", "spread", "extreme", "difference"))
RECORDS: Final[
    tuple[tuple[str, frozenset[Measure], Callable[[Situation], list[Candidate]]], ...]
] = (
    ("Meter", frozenset((Measure.ENERGY,)), meter_candidates),
    ("Solution", frozenset((Measure.VOLUME,)), solution_candidates),
    ("Light", frozenset((Measure.PPFD,)), light_candidates),
    (
        "Climate",
        frozenset((Measure.HUMIDITY, Measure.CO2, Measure.TEMPERATURE)),
        climate_candidates,
    ),
    ("Solution", frozenset((Measure.EC, Measure.PH)), solution_candidates),
)
BESIDE: Final = (
    "Meter",
    "Solution",
)  # logs that may stand in one table with plants, or with each other


def contents(
    table: Table, labels: TableLabels, found: Found, sheets: Sequence[Sheet]
) -> tuple[Contents, ...]:
    """Return what the value columns of a table may be, best first.

    Those whose `because` has `together` in it stand side by side in one table: a layout each.
    Others are alternatives.
    """
    nothing = Contents(table.key, NOTHING, (), SURE)
    if table.is_key or table.is_fields:
        return (nothing,)
    profiles = profiles_of(table, sheets)
    situation = Situation(table, labels, profiles, measures_of(profiles), found, sheets)
    kinds = _kinds(situation)
    if not kinds:
        return (nothing,)
    candidates = [*_contents_of_kinds(situation, kinds), _no_part_of_trial(situation)]
    least = max(candidate.score for candidate in candidates) - WITHIN
    likely = []
    for candidate in candidates:
        if candidate.score >= least or candidate.gives == NOTHING:
            likely.append(candidate)
    return tuple(sorted(likely, key=lambda candidate: -candidate.score))


def _contents_of_kinds(
    situation: Situation, kinds: dict[str, list[Candidate]]
) -> Iterator[Contents]:
    """Yield the contents of each kind of record; several kinds stand together."""
    further = _further_columns(situation)
    together: tuple[str, ...] = ()
    if len(kinds) > 1:
        together = (TOGETHER,)
    for gives, options in kinds.items():
        for option in options:
            columns = {**further, **option.columns}
            because = (*option.because, *together)
            score = SURE + option.score
            yield Contents(situation.table.key, gives, option.values, score, columns, because)


def _no_part_of_trial(situation: Situation) -> Contents:
    """Return the candidate that gives nothing, as the table may be no part of the trial."""
    because: tuple[str, ...] = ()
    if any(clue(situation) for clue in OF_OTHER_TRIALS):
        because = (APART,)
    score = SURE - UNLIKELY + _doubt(situation)
    return Contents(situation.table.key, NOTHING, (), score, because=because)


def _kinds(situation: Situation) -> dict[str, list[Candidate]]:
    """Return candidates by what the table gives; several kinds only where they stand side by side."""
    has_plants = not OF_PLANTS.isdisjoint(situation.measures.values())
    kinds = _kinds_of_logs(situation, has_plants=has_plants)
    if has_plants or not kinds:
        kinds["Plants"] = plant_candidates(situation)
    return {gives: options for gives, options in kinds.items() if options}


def _kinds_of_logs(situation: Situation, *, has_plants: bool) -> dict[str, list[Candidate]]:
    """Return candidates of logs; beside plants only of those that may stand there."""
    measures = set(situation.measures.values())
    kinds: dict[str, list[Candidate]] = {}
    for gives, measures_of_kind, candidates in RECORDS:
        is_beside = gives in BESIDE and gives not in kinds
        is_first = not kinds and not has_plants
        if measures & measures_of_kind and (is_beside or is_first):
            kinds[gives] = candidates(situation)
    return kinds


def _further_columns(situation: Situation) -> dict[str, str]:
    """Return columns of remarks and states by the name of the declaration."""
    columns: dict[str, str] = {}
    for column in situation.table.columns:
        words = meanings(column.header)
        if "remark" in words:
            columns.setdefault("Note", column.name)
        elif "status" in words and not _answers_yes_or_no(situation.table, column.name):
            columns.setdefault("Status", column.name)
    columns.update(scores(situation))
    counts = situation.of(Measure.COUNT)
    started = list(filter(is_of_started, counts))
    if started and len(started) < len(counts):
        columns["Plants started"] = started[0].name
    return columns


def _answers_yes_or_no(table: Table, name: str) -> bool:
    """Tell whether a column holds nothing but yes and no: `Alive` and not the states of plants."""
    index = [column.name for column in table.columns].index(name)
    texts = {text for text in table.text[:, index].tolist() if text}
    return all(is_word(text, "yes", "no") or text.casefold() == "n" for text in texts)


def _doubt(situation: Situation) -> float:
    """Return points that speak for a table being no part of the trial."""
    return sum(weight for clue, weight in DOUBTS if clue(situation))


def _is_hidden(situation: Situation) -> bool:
    return all(situation.sheets[block.sheet].is_hidden for block in situation.table.blocks)


def _is_aside(situation: Situation) -> bool:
    """Tell whether all sheets are named like an example or what is over."""
    return all(is_aside(name) for name in _names(situation.table, situation.sheets))


def _is_of_earlier_year(situation: Situation) -> bool:
    """Tell whether another table with the same columns is of a later year by its sheets' names."""
    return _compares(situation, is_of_earlier_year)


def _is_of_several_trials(situation: Situation) -> bool:
    """Tell whether another table with the same columns is of another trial by its sheets' names."""
    return _compares(situation, are_of_two_trials)


def _is_copy(situation: Situation) -> bool:
    """Tell whether a table before this one holds the same rows."""
    for other in situation.found.tables[: _index(situation)]:
        if _has_same_columns(situation, other) and are_copies(situation.table.text, other.text):
            return True
    return False


def _compares(situation: Situation, is_such: Callable[[str, str], bool]) -> bool:
    """Tell whether the first sheet names of this table and of another like it compare so."""
    name = _names(situation.table, situation.sheets)[0]
    for other in situation.found.tables:
        if other.key == situation.table.key or not _has_same_columns(situation, other):
            continue
        if is_such(name, _names(other, situation.sheets)[0]):
            return True
    return False


def _index(situation: Situation) -> int:
    keys = [table.key for table in situation.found.tables]
    return keys.index(situation.table.key)


def _has_same_columns(situation: Situation, other: Table) -> bool:
    return situation.table.columns == other.columns


def _names(table: Table, sheets: Sequence[Sheet]) -> list[str]:
    """Return the names of a table's sheets, of files where they hold one sheet."""
    names = []
    for block in table.blocks:
        sheet = sheets[block.sheet]
        if sheet.is_single and sheet.stem:
            names.append(sheet.stem)
        else:
            names.append(sheet.name)
    return names


def _is_summary(situation: Situation) -> bool:
    """Tell whether a short table holds means or is called a summary.

    Another table must hold the values that they are of.
    """
    if situation.rows > FEW_ROWS:
        return False
    values = situation.without(Measure.LABEL, Measure.COUNT)
    statistics = [profile for profile in values if profile.said & STATISTIC_WORDS]
    is_called_so = any("summary" in profile.around for profile in values)
    is_such = is_called_so or 2 * len(statistics) > len(values)
    return is_such and _has_longer(situation)


def _is_of_a_laboratory(situation: Situation) -> bool:
    """Tell whether most columns are contents of juice, leaves or soil."""
    if situation.of(*OF_PLANTS):
        return False
    values = situation.without(Measure.LABEL)
    shares = 0
    for profile in situation.without(Measure.LABEL, Measure.HUMIDITY):
        if profile.unit_of is Measure.SHARE or "laboratory" in profile.said:
            shares += 1
    is_called_so = any("laboratory" in profile.around for profile in values)
    return is_called_so or 2 * shares > len(values)


def _is_unknown(situation: Situation) -> bool:
    """Tell whether no word or unit tells what the numbers are, while another table is longer."""
    values = [
        profile
        for profile in situation.profiles
        if situation.measures[profile.index] is not Measure.LABEL
    ]
    return len(values) == len(situation.of(Measure.UNKNOWN, Measure.FURTHER)) and _has_longer(
        situation
    )


def _has_longer(situation: Situation) -> bool:
    """Tell whether another table holds more numbers that may be of plants."""
    own = _numbers_in(situation.table)
    others = [other for other in situation.found.tables if other.key != situation.table.key]
    longer = [other for other in others if _numbers_in(other) > own and not other.is_key]
    return any(_may_be_of_plants(other, situation.sheets) for other in longer)


def _may_be_of_plants(table: Table, sheets: Sequence[Sheet]) -> bool:
    measures = set(measures_of(profiles_of(table, sheets)).values())
    return bool(measures & {*OF_PLANTS, Measure.UNKNOWN})


def _numbers_in(table: Table) -> int:
    return int((table.kind == Kind.NUMBER).sum())


OF_OTHER_TRIALS: Final[tuple[Callable[[Situation], bool], ...]] = (
    _is_of_earlier_year,
    _is_of_several_trials,
)
DOUBTS: Final[tuple[tuple[Callable[[Situation], bool], float], ...]] = (
    (_is_hidden, 9.0),
    (_is_aside, 9.0),
    (_is_copy, 9.0),
    (_is_of_earlier_year, 5.0),
    (_is_of_several_trials, 4.0),
    (_is_summary, 9.0),
    (_is_of_a_laboratory, 9.0),
    (_is_unknown, 5.5),
)
