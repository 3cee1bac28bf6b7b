"""Whether the trial could tell treatments from chance, and from the places and days that they were given."""

import re
from collections import defaultdict
from collections.abc import Iterable
from itertools import pairwise

from reportgen.metrics.fairness.course import first_fills, harvests
from reportgen.metrics.fairness.words import Finding, at_least, count, each, listed, names, together
from reportgen.metrics.totals import planted
from reportgen.model.results import VerdictWord
from reportgen.model.trial import Trial

# Ours: by the noncentral t distribution 2 a side show only differences above 5.65 standard deviations of tray means
# at 80 % power, 3 a side above 3.07; 1 a side show none (Hurlbert 1984, Ecol. Monogr. 54:187-211).
ENOUGH_REPLICATES = 3
FEWEST_REPLICATES = 2
ONE_LAMP = re.compile(
    r"\b(?:1|one|single)\s+(?:[\w-]+\s+){0,2}(?:lamp|luminaire|light|fixture|panel|bar|bulb|tube)\b"
    r"(?!\s+(?:sensor|meter|heater))",
    re.I,
)
SEVERAL = re.compile(r"\b(?:(?:each|every|per)\b(?!\s+treatment)|an? (?:tray|pot)\b)", re.I)
BY_HAND = re.compile(r"\bby (?:hand|choice|convenience)\b", re.I)

Labels = Iterable[tuple[str, str]]  # a treatment's code with the place or day that one of its trays had


def replication(trial: Trial) -> Finding:
    """Judge how many times each treatment was given independently."""
    trays = _trays_of(trial)
    fewest = min(trays.values())
    verdict = at_least(fewest, ENOUGH_REPLICATES, FEWEST_REPLICATES)
    if len(set(trays.values())) == 1:
        said = f"Each treatment was given to {count(fewest, trial.unit)}."
    else:
        said = f"Treatments were given to {each(trial, {code: count(n, trial.unit) for code, n in trays.items()})}."
    if verdict == "problem":
        said += f" One {trial.unit} cannot show how much {trial.unit}s treated alike differ by chance."
    elif verdict == "caution":
        said += f" With {ENOUGH_REPLICATES} or more, chance could be told apart better."
    return together((verdict, said), *_pretended(trial), *_one_lamp(trial))


def _trays_of(trial: Trial) -> dict[str, int]:
    treatments = [tray.treatment for tray in planted(trial)]
    return {treatment.code: treatments.count(treatment.code) for treatment in trial.treatments}


def _pretended(trial: Trial) -> list[Finding]:
    """Find plants that are named as experimental units though they share a pot."""
    crowded = [tray for tray in planted(trial) if tray.plants_started > 1]
    if trial.experimental_unit != "plant" or not crowded:
        return []
    most = max(tray.plants_started for tray in crowded)
    said = (
        f"The plant is named as what was treated, yet {len(crowded)} of {count(len(planted(trial)), 'pot')} held "
        f"several plants, up to {most}; plants that share a pot share its fate, and are not replicates."
    )
    return [("problem", said)]


def _one_lamp(trial: Trial) -> list[Finding]:
    """Find treatments of several trays whose equipment is, by its own words, a single lamp."""
    trays = _trays_of(trial)
    alike = len({one.equipment for one in trial.treatments}) == 1
    unless = ", unless it lit all treatments" if alike else ""
    return [
        (
            "caution" if alike else "problem",
            f'{one.name} had one lamp over its {count(trays[one.code], trial.unit)} ("{one.equipment}"), so this lamp '
            f"and its place cannot be told from the treatment{unless}.",
        )
        for one in trial.treatments
        if trays[one.code] > 1 and ONE_LAMP.search(one.equipment) and not SEVERAL.search(one.equipment)
    ]


def randomisation(trial: Trial) -> Finding:
    """Judge how treatments were given their places."""
    layout, drawn = trial.about.layout, trial.about.randomised
    how = f" (layout: {layout})" if layout else ""
    if drawn is False:
        return "problem", f"Places were not drawn at random{how}, so a better place may have gone to one treatment."
    if BY_HAND.search(layout):
        return "caution", f"Places were given by hand{how}; a choice can favour one treatment without being meant to."
    if drawn is None and not layout:
        return "not recorded", "Whether places were drawn at random is not recorded."
    if drawn is None:
        return "caution", f"Whether places were drawn at random is not recorded, beside the layout{how}."
    if not layout:
        return "caution", "Places were drawn at random, but how is not recorded."
    return "sound", f"Places were drawn at random{how}."


def confounding(trial: Trial) -> Finding:
    """Judge whether treatments can be told from the places and days that they were given."""
    found = [*_dates(trial), *_one_place(trial), *_blocks(trial), *_positions(trial)]
    grave = [finding for finding in found if finding[0] != "sound"]
    if found:
        return together(*(grave or found))
    return "not recorded", f"Neither a block nor a position is recorded for all {len(planted(trial))} {trial.unit}s."


def alone(labels: Labels) -> list[str]:
    """Return the treatments that share no label with another, where there is more than one label."""
    held: dict[str, set[str]] = defaultdict(set)
    for treatment, label in labels:
        held[label].add(treatment)
    sharing = {treatment for found in held.values() if len(found) > 1 for treatment in found}
    return sorted({treatment for found in held.values() for treatment in found} - sharing) if len(held) > 1 else []


def _dates(trial: Trial) -> list[Finding]:
    treatment_of = {tray.code: tray.treatment for tray in planted(trial)}
    found: list[Finding] = []
    for what, days in (("first filled", first_fills(trial)), ("harvested", harvests(trial))):
        parted = alone((treatment_of[tray], on.isoformat()) for tray, on in days.items())
        if parted:
            number = count(len(set(days.values())), "day")
            said = f"{names(trial, parted)} shared no day with another treatment on which {trial.unit}s were {what}"
            found.append(("problem", f"{said} ({number} in all), so day and treatment cannot be told apart."))
    return found


def _one_place(trial: Trial) -> list[Finding]:
    single = [code for code, number in _trays_of(trial).items() if number == 1]
    if not single:
        return []
    said = f"{names(trial, single)} stood in 1 place only, so place and treatment cannot be told apart."
    return [("problem", said)]


def _blocks(trial: Trial) -> list[Finding]:
    trays = planted(trial)
    blocks = {tray.block for tray in trays}
    if "" in blocks or len(blocks) == 1:
        return []
    parted = alone((tray.treatment, tray.block) for tray in trays)
    if parted:
        said = f"{names(trial, parted)} shared no block with another treatment, of {count(len(blocks), 'block')}"
        return [("problem", f"{said}, so block and treatment cannot be told apart.")]
    pairs = {(tray.block, tray.treatment) for tray in trays}
    whole = sum(all((block, one.code) in pairs for one in trial.treatments) for block in blocks)
    said = f"{whole} of {count(len(blocks), 'block')} held every treatment."
    return [("sound" if whole == len(blocks) else "caution", said)]


def _positions(trial: Trial) -> list[Finding]:
    """Find treatments that kept to themselves; a draw may come out so, which is a caution, a choice is a problem."""
    trays = planted(trial)
    positions = sorted({tray.position for tray in trays}, key=_natural)
    if not positions[0]:
        return []
    repeated = len(positions) < len(trays)
    parted = alone((tray.treatment, tray.position) for tray in trays) if repeated else _in_rows(trial)
    if parted:
        how = "shared no position with another treatment" if repeated else f"stood each as one group of {trial.unit}s"
        drawn = ", though places were drawn at random" if trial.about.randomised else ""
        said = f"{names(trial, parted)} {how} ({count(len(positions), 'position')} in all){drawn}"
        verdict: VerdictWord = "caution" if trial.about.randomised else "problem"
        return [(verdict, f"{said}, so place and treatment cannot be told apart.")]
    shown = listed([positions[0], positions[-1]]) if len(positions) < 3 else f"{positions[0]} to {positions[-1]}"
    said = f"{trial.unit.capitalize()}s of different treatments stood among one another (positions {shown})."
    return [("sound", said)]


def _in_rows(trial: Trial) -> list[str]:
    """Return all treatments where each one's trays are neighbours, reading places by row or by column."""
    trays = planted(trial)
    if len(trays) == len(trial.treatments):
        return []
    for step in (1, -1):
        ordered = sorted(trays, key=lambda tray: _natural(tray.position)[::step])
        runs = 1 + sum(one.treatment != other.treatment for one, other in pairwise(ordered))
        if runs == len(trial.treatments):
            return [treatment.code for treatment in trial.treatments]
    return []


def _natural(position: str) -> tuple[tuple[bool, int, str], ...]:
    """Return a key by which place 10 comes after place 9."""
    parts = re.findall(r"\d+|\D+", position)
    return tuple((not part.isdecimal(), int(part) if part.isdecimal() else 0, part.strip()) for part in parts)
