"""The plan of a trial before it begins: which tray gets which treatment and place, drawn at random."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from reportgen.workbook.declaration import ALL, TREATMENTS
from reportgen.workbook.planned_factors import PlannedFactor, combinations
from reportgen.workbook.rows import TOTALS

MOST_PLANTS: Final = 20_000  # more rows than anybody weighs by hand

Entry = str | int | float
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

    `trays` of each treatment stand in each block; where `blocks` is 0 there are none, and they stand anywhere.
    `plants` are started in each tray. The same `seed` gives the same places. With `factors` the treatments are all
    combinations of their levels.
    """

    treatments: tuple[Named, ...]
    blocks: int
    trays: int
    plants: int
    seed: int
    factors: tuple[PlannedFactor, ...] = ()

    @property
    def layout(self) -> str:
        """Return how treatments were given their places, so that anybody can draw them again."""
        how = "randomised within blocks" if self.blocks else "completely randomised"
        return f"{how}, seed {self.seed}, NumPy PCG64 permutation"


@dataclass(frozen=True)
class Place:
    """A tray in its place: `position` counts from 1 in walking order, `block` is 0 where there are none."""

    tray: str
    treatment: str
    block: int
    position: int


def planned(words: Sequence[str], *, blocks: int, trays: int, plants: int, seed: int) -> Plan:
    """Return the plan of a trial whose treatments are given by a code or a name each.

    Raises PlanError where it compares nothing, a treatment cannot be told from another, or it is too large.
    """
    return _checked(Plan(tuple(map(_named, words)), blocks, trays, plants, seed))


def planned_of_factors(factors: tuple[PlannedFactor, ...], *, blocks: int, trays: int, plants: int, seed: int) -> Plan:
    """Return the plan of a trial whose treatments are all combinations of the levels of its factors.

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
        raise PlanError("A comparison needs two treatments or more. Name each of them.")
    if twice := [code for code in codes if codes.count(code) > 1]:
        raise PlanError(f'Two treatments are called "{twice[0]}". Give each a name of its own.')
    total = len(codes) * max(plan.blocks, 1) * plan.trays * plan.plants
    if total > MOST_PLANTS:
        raise PlanError(f"That would be {total} plants to weigh; at most {MOST_PLANTS}. Plan fewer trays or plants.")
    return plan


def _named(word: str) -> Named:
    name = " ".join(word.split())
    code = name.casefold().replace(" ", "-") if " " in name else name
    if not code.isprintable() or not any(sign.isalnum() for sign in code):
        raise PlanError(f"{word!r} does not name a treatment. Use letters and digits.")
    if code.casefold() == ALL:
        raise PlanError(f'"{code}" stands for every treatment at once. Give this one another name.')
    if TOTALS.fullmatch(code):
        raise PlanError(f'"{code}" would look like a total among the data. Give this treatment another name.')
    return Named(code, name)


def places(plan: Plan) -> tuple[Place, ...]:
    """Return the trays in walking order, block by block, treatments drawn at random within each block."""
    generator = np.random.Generator(np.random.PCG64(plan.seed))
    group = np.repeat(np.arange(len(plan.treatments)), plan.trays)
    drawn = [(block, index) for block in _blocks(plan) for index in generator.permutation(group)]
    return tuple(
        Place(f"T{number}", plan.treatments[index].code, block, number)
        for number, (block, index) in enumerate(drawn, 1)
    )


def _blocks(plan: Plan) -> range:
    return range(1, plan.blocks + 1) if plan.blocks else range(1)


def entries(plan: Plan) -> Entries:
    """Return what is known of a planned trial: by sheet, the rows with their values by column."""
    standing = places(plan)
    return {
        "Trial": ({"Reference treatment": plan.treatments[0].code, "Layout": plan.layout, "Randomised": "yes"},),
        TREATMENTS.name: [_treatment(plan, one) for one in plan.treatments],
        "Trays": [_tray(place, plan.plants) for place in standing],
        "Plants": [{"Tray": place.tray, "Plant": number} for place in standing for number in range(1, plan.plants + 1)],
        "Solution": [{"Tray": place.tray, "Event": event} for event in ("fill", "remaining") for place in standing],
        "Meter": [
            {"Meter": f"M{number}", "Treatment": treatment.code, "Note": note}
            for number, treatment in enumerate(plan.treatments, 1)
            for note in ("first reading, at the start", "last reading, at harvest")
        ],
    }


def _treatment(plan: Plan, treatment: Named) -> Mapping[str, Entry]:
    levels = zip(plan.factors, treatment.levels, strict=True)
    of_factors = {factor.column.name: factor.value(level) for factor, level in levels}
    return {"Treatment": treatment.code, "Name": treatment.name, **of_factors}


def _tray(place: Place, plants: int) -> Mapping[str, Entry]:
    block = {"Block": place.block} if place.block else {}
    return {
        "Tray": place.tray,
        "Treatment": place.treatment,
        **block,
        "Position": place.position,
        "Plants started": plants,
    }
