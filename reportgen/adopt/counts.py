"""Columns that count plants: those that were weighed together in a row, those that a tray was started with."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from math import isclose
from typing import Final

from reportgen.adopt.columns import WEIGHED
from reportgen.adopt.matching import meanings, split_unit, tokens, unit_of
from reportgen.adopt.roles import Guess, Understood, profile_at
from reportgen.workbook.headers import folded

STARTED: Final = (  # words for the plants at the start, folded, in seven languages
    "started start initial begin planted transplanted potted stuck set "
    "gestartet gepflanzt gesetzt pikiert anfang beginn "
    "plantees repiquees mises initiaux initiales debut depart "
    "plantadas plantados trasplantadas trasplantados iniciales inicio "
    "messe piantate trapiantate iniziali inizio avviate "
    "transplantadas transplantados iniciais "
    "geplant uitgeplant gezet begonnen"
)
SOWN: Final = (  # of seeds, which are not plants yet, and of seedlings
    "sown seeded seeds germinated emerged gesat gesaet ausgesat samen gekeimt aufgelaufen semees semes graines germees "
    "levees sembradas sembrados semillas germinadas germinados seminate seminati semi germinate semeadas sementes "
    "gezaaid zaden gekiemd opgekomen"
)
MEANS: Final = (
    "mean average avg ave mittel mittleres mittlere mittelwert durchschnitt durchschnittliches moyen moyenne moy "
    "medio media promedio prom medie gemiddeld gemiddelde gem"
)
OF_PLANTS: Final = {"plant", "shoot", "number", "harvest", "yield", "total", "sowing", "start", "weight", "fresh"}
FEWEST: Final = 3  # rows that tell a count from a number of something else


def counted(read: Understood) -> Understood:
    """Return a table with its numbers of plants: those weighed together where a row is a tray, those started."""
    if read.gives not in ("Plants", "Trays"):
        return read
    found = [one for one in read.guesses if _counts_plants(read, one)]
    started = [one for one in found if _is_worded(one, f"{STARTED} {SOWN}")]
    if read.gives == "Plants" and _is_row_a_tray(read):
        return _of_trays(read, [one for one in found if one not in started], started)
    return _with_started(read, found if read.gives == "Trays" else started)


def _counts_plants(read: Understood, guess: Guess) -> bool:
    """Tell whether a column holds numbers of plants: whole ones under a header that says so, that number no rows."""
    if split_unit(guess.header)[1] or guess.name in ("Leaves", "Block", "Tray", "Treatment", "Status"):
        return False
    profile = profile_at(read.table, guess.column)
    numbers = [int(number) for number in profile.numbers]
    if not profile.numeric or not profile.whole or min(numbers) < 0 or max(numbers) < 1 or _number_rows(numbers):
        return False
    known = set(meanings(guess.header))
    return _is_worded(guess, f"{STARTED} {SOWN}") or (bool(known & {"plant", "number"}) and known <= OF_PLANTS)


def _number_rows(numbers: Sequence[int]) -> bool:
    """Tell whether numbers count the rows: 1, 2, 3 and on, be it anew for each treatment."""
    ascending = len(numbers) > 1 and all(after - before == 1 for before, after in pairwise(numbers))
    several = len(set(numbers)) > 1 and len(numbers) > FEWEST
    return ascending or (several and set(numbers) == set(range(1, max(numbers) + 1)))


def _is_worded(guess: Guess, words: str) -> bool:
    return has_word(guess.header, words)


def has_word(header: str, words: str) -> bool:
    """Tell whether one of some words, folded and parted by spaces, stands in a header."""
    return bool(set(words.split()) & set(map(folded, tokens(header))))


def _is_row_a_tray(read: Understood) -> bool:
    """Tell whether each row is a tray of its own, or a treatment where none are named."""
    for name in ("Tray", "Treatment"):
        if counts := read.profile(name).counts:
            return max(counts.values()) == 1 and len(counts) == len(read.table.rows)
    return False


# --- trays weighed whole


def _of_trays(read: Understood, others: list[Guess], started: list[Guess]) -> Understood:
    weighed, more = _weighed(read, others)
    plain = _renamed(read, {one.column: "" for one in (*others, *started)}, "a number of plants")
    if not weighed:
        return _with_started(replace(plain, uncounted=tuple(started[:1])), started)
    reason = "it tells how many plants were weighed together in a row"
    if per_of(read) == "plant":
        reason = "it tells how many plants the means of a row are of, so that a tray yields that many times its mean"
    named = _renamed(plain, {weighed.column: "Plants weighed"}, reason)
    return _with_started(_of_one_weight(named), [*started, *more])


def _weighed(read: Understood, found: list[Guess]) -> tuple[Guess | None, list[Guess]]:
    """Return which count is that of the plants weighed, None where none can be, and those of the plants started.

    Of several it is the one of the harvest, else the smaller of two that are not alike.
    """
    harvested = [one for one in found if "harvest" in meanings(one.header) or "weight" in meanings(one.header)]
    ordered = sorted(found, key=lambda one: sum(profile_at(read.table, one.column).numbers))
    if len(found) > 2 and len(harvested) != 1:
        return None, []
    weighed = harvested[0] if len(harvested) == 1 else next(iter(ordered), None)
    return weighed, [one for one in ordered if weighed and one is not weighed and _is_never_below(read, one, weighed)]


def _is_never_below(read: Understood, more: Guess, fewer: Guess) -> bool:
    pairs = zip(profile_at(read.table, more.column).numbers, profile_at(read.table, fewer.column).numbers, strict=False)
    return all(first >= second for first, second in pairs)


def _of_one_weight(read: Understood) -> Understood:
    """Return trays with the total as their fresh weight where another column is that total by the plants weighed."""
    fresh, count = (read.guess("Fresh weight") or read.guess("Weight")), read.guess("Plants weighed")
    others = [one for one in read.guesses if one.name and profile_at(read.table, one.column).numeric]
    for other in others if fresh and count else ():
        if fresh and count and other not in (fresh, count) and _is_times(read, other, fresh, count):
            return _swapped(read, fresh, other)
        if fresh and count and other not in (fresh, count) and _is_times(read, fresh, other, count):
            return _renamed(read, {other.column: ""}, f"{fresh.header} by the plants weighed")
    return read


def _swapped(read: Understood, mean: Guess, total: Guess) -> Understood:
    reason = f"it is {mean.header} times the plants weighed"
    told = replace(total, name=mean.name, unit=total.unit or mean.unit, reason=reason)
    guesses = (told if one is total else replace(one, name="") if one is mean else one for one in read.guesses)
    return replace(read, guesses=tuple(guesses))


def _is_times(read: Understood, total: Guess, mean: Guess, count: Guess) -> bool:
    """Tell whether a column is another one times the plants of each row, up to the unit and to rounding."""
    columns = [read.table.values(one.column) for one in (total, mean, count)]
    rows = [row for row in zip(*columns, strict=True) if all(isinstance(value, int | float) and value for value in row)]
    shares = [float(first) / (float(second) * float(third)) for first, second, third in rows]
    alike = all(isclose(share, shares[0], rel_tol=0.01) for share in shares)
    return len(rows) >= FEWEST and alike and any(isclose(shares[0], one, rel_tol=0.01) for one in (1, 1e-3, 1e3))


def per_of(read: Understood) -> str:
    """Return whether weights beside the plants weighed are of one plant, their mean, or of all; empty if not said."""
    headers = [one.header for one in read.guesses if one.name in (*WEIGHED, "Weight")]
    said = {_per(header) for header in headers} - {""}
    return said.pop() if len(said) == 1 else ""


def _per(header: str) -> str:
    name, unit = split_unit(header)
    whole_unit = unit if unit != unit_of(unit) else ""
    if is_mean(header) or "plant" in meanings(whole_unit) or "plant" in meanings(name):
        return "plant"
    return "pot" if {"total", "yield", "tray", "pot"} & {*meanings(name), *meanings(whole_unit)} else ""


def is_mean(header: str) -> bool:
    """Tell whether a header says that what stands below are means."""
    return has_word(header, MEANS)


# --- plants started


def _with_started(read: Understood, found: list[Guess]) -> Understood:
    """Return a table with the plants started: taken where one column tells them, open where several may."""
    if not found or (read.guess("Plants started") and read.guess("Plants started") not in found):
        return read
    planted = [one for one in found if not _is_worded(one, SOWN)]
    if len(found) == 1 and planted:
        return _renamed(read, {found[0].column: "Plants started"}, "it tells how many plants were started")
    return replace(_renamed(read, {one.column: "" for one in found}, "a number of plants"), started=tuple(found))


def _renamed(read: Understood, names: Mapping[int, str], reason: str) -> Understood:
    guesses = (
        replace(one, name=names[one.column], unit="", reason=reason) if one.column in names else one
        for one in read.guesses
    )
    return replace(read, guesses=tuple(guesses))
