"""The plan of a trial before it begins: which tray gets which treatment and place, drawn at random."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import product
from typing import Final

import numpy as np

from reportgen.language import is_spoken, say
from reportgen.workbook.declaration import ALL, TREATMENTS
from reportgen.workbook.names import folded
from reportgen.workbook.planned_factors import PlannedFactor, combinations
from reportgen.workbook.rows import TOTALS
from reportgen.workbook.vocabulary import ENGLISH, Vocabulary, words_of

MOST_PLANTS: Final = 20_000  # more rows than anybody weighs by hand
MOST_LABELS: Final = 1_000
READINGS: Final = ("first reading, at the start", "last reading, at harvest")

Entry = str | int | float | date
Entries = Mapping[str, Sequence[Mapping[str, Entry]]]


class PlanError(ValueError):
    """A trial cannot be planned so; the message says why, and what to do."""


@dataclass(frozen=True)
class Named:
    """A treatment: its code, the name that readers see, and its level of each factor."""

    code: str
    name: str
    levels: tuple[str, ...] = ()


@dataclass(frozen=True)
class Plan:
    """What is compared, and in how many trays; the first treatment is the reference.

    `trays` of each treatment stand in each block; where `blocks` is 0 there are none, and they
    stand anywhere. `plants` are started in each tray. The same `seed` gives the same places. The
    trial starts on the day `start`, if that is known; growth is measured then and after each of so
    many `weeks`, by plant or by tray. With `factors` the treatments are all combinations of their
    levels.
    """

    treatments: tuple[Named, ...]
    blocks: int
    trays: int
    plants: int
    seed: int
    factors: tuple[PlannedFactor, ...] = ()
    start: date | None = None
    weeks: int = 0
    each_plant: bool = False

    def layout(self, words: Vocabulary = ENGLISH) -> str:
        """Return how treatments were given their places, so that anybody can draw them again."""
        if self.blocks:
            return words.text(
                "randomised within blocks, seed {seed}, NumPy PCG64 permutation", seed=self.seed
            )
        return words.text(
            "completely randomised, seed {seed}, NumPy PCG64 permutation", seed=self.seed
        )

    @property
    def days(self) -> tuple[date, ...]:
        """Return the days on which growth is measured."""
        if self.start is None or not self.weeks:
            return ()
        return tuple(self.start + timedelta(weeks=week) for week in range(self.weeks + 1))


@dataclass(frozen=True)
class Place:
    """A tray in its place: `position` counts from 1 in walking order, `block` is 0 where there are
    none.
    """

    tray: str
    treatment: str
    block: int
    position: int


def planned(words: Sequence[str], *, blocks: int, trays: int, plants: int, seed: int) -> Plan:
    """Return the plan of a trial whose treatments are given by a code or a name each.

    Raises PlanError where it compares nothing, a treatment cannot be told from another, or it is
    too large.
    """
    return _checked(Plan(tuple(map(_named, words)), blocks, trays, plants, seed))


def planned_of_factors(
    factors: tuple[PlannedFactor, ...], *, blocks: int, trays: int, plants: int, seed: int
) -> Plan:
    """Return the plan of a trial whose treatments are all combinations of factor levels.

    Raises PlanError where it is too large.
    """
    treatments = tuple(_combined(factors, levels) for levels in combinations(factors))
    return _checked(Plan(treatments, blocks, trays, plants, seed, factors))


def _combined(factors: tuple[PlannedFactor, ...], levels: tuple[str, ...]) -> Named:
    """Return the treatment of a combination of levels, coded and named after them."""
    pairs = list(zip(factors, levels, strict=True))
    code = "-".join(factor.word(level) for factor, level in pairs)
    name = ", ".join(factor.phrase(level) for factor, level in pairs)
    return replace(_named(code), name=name, levels=levels)


def _checked(plan: Plan) -> Plan:
    """Return a plan that compares something and is not too large; raise PlanError for any other."""
    codes = [treatment.code.casefold() for treatment in plan.treatments]
    if len(codes) < 2:
        raise PlanError(say("A comparison needs two treatments or more. Name each of them."))
    if twice := [code for code in codes if codes.count(code) > 1]:
        raise PlanError(
            say('Two treatments are called "{twice}". Give each a name of its own.', twice=twice[0])
        )
    total = len(codes) * max(plan.blocks, 1) * plan.trays * plan.plants
    if total > MOST_PLANTS:
        raise PlanError(
            say(
                "That would be {total} plants to weigh; at most {most_plants}. Plan fewer trays"
                " or plants.",
                total=total,
                most_plants=MOST_PLANTS,
            )
        )
    return plan


def measured_weekly(plan: Plan, start: date | None, weeks: int, *, each_plant: bool) -> Plan:
    """Return a plan whose growth is measured on the day `start` and after each of so many weeks.

    Raises PlanError where the weeks have no first day, the calendar ends before them, or the rows
    are too many.
    """
    if weeks and start is None:
        raise PlanError(
            say("Weeks are counted from the day on which the trial starts. Name it with --start.")
        )
    if each_plant and not weeks:
        raise PlanError(
            say("Rows for each plant are those of the weeks. Say how many with --weeks.")
        )
    if start and (date.max - start).days < 7 * weeks:
        raise PlanError(
            say(
                "{start} is too late a day for {weeks} weeks. Name another with --start.",
                start=start,
                weeks=weeks,
            )
        )
    if each_plant:
        measured = plan.plants
    else:
        measured = 1
    rows = len(plan.treatments) * max(plan.blocks, 1) * plan.trays * measured * (weeks + 1)
    if rows > MOST_PLANTS:
        raise PlanError(
            say(
                "That would be {rows} rows of growth; at most {most_plants}. Plan fewer weeks, or"
                " by tray.",
                rows=rows,
                most_plants=MOST_PLANTS,
            )
        )
    return replace(plan, start=start, weeks=weeks, each_plant=each_plant)


def _named(word: str) -> Named:
    name = " ".join(word.split())
    if " " in name:
        code = name.casefold().replace(" ", "-")
    else:
        code = name
    if not code.isprintable() or not any(sign.isalnum() for sign in code):
        raise PlanError(
            say("{word} does not name a treatment. Use letters and digits.", word=repr(word))
        )
    if folded(code) in words_of((ALL,)):
        raise PlanError(
            say(
                '"{code}" stands for every treatment at once. Give this one another name.',
                code=code,
            )
        )
    if TOTALS.fullmatch(code):
        raise PlanError(
            say(
                '"{code}" would look like a total among the data. Give this treatment another'
                " name.",
                code=code,
            )
        )
    return Named(code, name)


def places(plan: Plan) -> tuple[Place, ...]:
    """Return the trays in walking order by block, treatments drawn at random within each block."""
    generator = np.random.Generator(np.random.PCG64(plan.seed))
    group = np.repeat(np.arange(len(plan.treatments)), plan.trays)
    trays: list[Place] = []
    for block in _blocks(plan):
        for index in generator.permutation(group):
            number = len(trays) + 1
            trays.append(Place(f"T{number}", plan.treatments[index].code, block, number))
    return tuple(trays)


def _blocks(plan: Plan) -> range:
    if plan.blocks:
        return range(1, plan.blocks + 1)
    return range(1)


@dataclass(frozen=True)
class TrayLabel:
    """What is known of a tray before the trial: its code, its treatment, its place in words."""

    tray: str
    treatment: str
    place: str


def tray_labels(plan: Plan, words: Vocabulary = ENGLISH) -> tuple[TrayLabel, ...]:
    """Return the labels of the trays in walking order. Raises PlanError where they are too many."""
    standing = places(plan)
    if len(standing) > MOST_LABELS:
        raise PlanError(
            say(
                "That would be {number} labels; at most {most_labels}. Leave out --labels.",
                number=len(standing),
                most_labels=MOST_LABELS,
            )
        )
    names = {treatment.code: treatment.name for treatment in plan.treatments}
    return tuple(
        TrayLabel(one.tray, names[one.treatment], _place_in_words(one, words)) for one in standing
    )


def _place_in_words(place: Place, words: Vocabulary) -> str:
    position = f"{words.column_name('Trays', 'Position')} {place.position}"
    if not place.block:
        return position
    return f"{words.column_name('Trays', 'Block')} {place.block} · {position}"


def entries(plan: Plan, words: Vocabulary = ENGLISH) -> Entries:
    """Return what is known of a planned trial: by sheet, the rows with their values by column.

    Sheets, columns and choices are named as in the declaration; sentences are in `words`.
    """
    trays = places(plan)
    numbers = range(1, plan.plants + 1)
    tray_names = [place.tray for place in trays]
    return {
        "Trial": (_trial(plan, words),),
        TREATMENTS.name: [_treatment(plan, treatment) for treatment in plan.treatments],
        "Trays": [_tray(place, plan.plants) for place in trays],
        "Plants": [
            {"Tray": tray, "Plant": number} for tray, number in product(tray_names, numbers)
        ],
        **_growth(plan, trays),
        "Solution": [
            {"Tray": tray, "Event": event}
            for event, tray in product(("fill", "remaining"), tray_names)
        ],
        "Meter": _meter_readings(plan, words),
    }


def _meter_readings(plan: Plan, words: Vocabulary) -> list[dict[str, Entry]]:
    """Return the planned readings of one meter for each treatment."""
    rows: list[dict[str, Entry]] = []
    for number, treatment in enumerate(plan.treatments, 1):
        for note in READINGS:
            rows.append(
                {"Meter": f"M{number}", "Treatment": treatment.code, "Note": words.text(note)}
            )
    return rows


def _trial(plan: Plan, words: Vocabulary) -> Mapping[str, Entry]:
    known: dict[str, Entry] = {
        "Reference treatment": plan.treatments[0].code,
        "Layout": plan.layout(words),
        "Randomised": "yes",
    }
    if plan.start:
        known["Started on"] = plan.start
    if words is not ENGLISH and is_spoken(words.tag):
        known["Language"] = words.tag
    return known


def _growth(plan: Plan, standing: Sequence[Place]) -> Entries:
    rows: list[Mapping[str, Entry]] = []
    for day in plan.days:
        rows += _measured_on(day, standing, plan)
    if rows:
        return {"Growth": rows}
    return {}


def _measured_on(day: date, standing: Sequence[Place], plan: Plan) -> Iterator[Mapping[str, Entry]]:
    for place in standing:
        if plan.each_plant:
            for number in range(1, plan.plants + 1):
                yield {"Tray": place.tray, "Plant": number, "Date": day}
        else:
            yield {"Tray": place.tray, "Date": day}


def _treatment(plan: Plan, treatment: Named) -> Mapping[str, Entry]:
    levels = zip(plan.factors, treatment.levels, strict=True)
    of_factors = {factor.column.name: factor.value(level) for factor, level in levels}
    return {"Treatment": treatment.code, "Name": treatment.name, **of_factors}


def _tray(place: Place, plants: int) -> Mapping[str, Entry]:
    if place.block:
        block = {"Block": place.block}
    else:
        block = {}
    return {
        "Tray": place.tray,
        "Treatment": place.treatment,
        **block,
        "Position": place.position,
        "Plants started": plants,
    }
