"""Trials made up for tests of scores: tip burn of lettuce under still and moving air, in plain
values.
"""

from dataclasses import replace

from reportgen.model.trial import About, Plant, Trait, Tray, Treatment, Trial
from tests.trials import trial

BURN = Trait("tip_burn", "Tip burn", "", ("0", "1", "2", "3", "4", "5"))
NAMES = {"still": "Still air", "moving": "Moving air", "strong": "Strong wind"}
Trays = dict[str, list[tuple[int | None, ...]]]  # by treatment, the classes of each tray's plants
FIVE: Trays = {
    "still": [(3, 4, 4, 5), (2, 3, 3, 4), (4, 4, 4, 4), (1, 3, 4, 3), (3, 3, 5, 2)],
    "moving": [(0, 1, 1, 2), (1, 1, 0, 0), (2, 2, 1, 3), (0, 0, 1, 2), (2, 1, 1, 1)],
}


def scored_trial(
    trays: Trays = FIVE, *, blocks: bool = False, trait: Trait = BURN, **changes: object
) -> Trial:
    """Return a trial of plants of 20 g with a score, its trays among one another, in blocks where
    asked for.
    """
    made: list[Tray] = []
    plants: list[Plant] = []
    for place, (code, number, classes) in enumerate(_in_turn(trays), 1):
        tray = f"{code[:3]}{number}"
        block = str(number) if blocks else ""
        made.append(Tray(tray, code, len(classes), block, position=str(place)))
        for plant, position in enumerate(classes, 1):
            value = None if position is None else float(position)
            plants.append(
                Plant(tray, str(plant), "harvested", 20.0 + plant + number / 10, (value,))
            )
    known = {
        "about": About(
            "Air for lettuce", "lettuce", question="Does moving air keep tips from burning?"
        ),
        "reference": "still",
        "treatments": tuple(
            Treatment(code, NAMES[code], independent_units=len(trays[code])) for code in trays
        ),
        "trays": tuple(made),
        "plants": tuple(plants),
        "traits": (trait,),
        "solution": (),
        "meter": (),
    }
    return replace(trial(), **{**known, **changes})  # type: ignore[arg-type]


def _in_turn(trays: Trays) -> list[tuple[str, int, tuple[int | None, ...]]]:
    """Return the trays in turns of the treatments, each with its number."""
    most = max(map(len, trays.values()))
    return [
        (code, number + 1, trays[code][number])
        for number in range(most)
        for code in trays
        if number < len(trays[code])
    ]
