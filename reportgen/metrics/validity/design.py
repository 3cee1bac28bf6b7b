"""Whether the trial could tell treatments from chance, and from the places and days that they were
given.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from itertools import pairwise

from reportgen.metrics.factor_designs import split_of
from reportgen.metrics.totals import planted, treatment_by_tray
from reportgen.metrics.validity.course import first_fills, harvests
from reportgen.metrics.validity.verdicts import (
    Finding,
    at_least,
    each,
    finding,
    lacking,
    names,
    number,
    quotes,
    together,
    units,
)
from reportgen.model.message import Count, Message, Quote, Several, Value, message
from reportgen.model.results import VerdictWord
from reportgen.model.trial import Trial

# Ours: by the noncentral t distribution 2 a side show only differences above 5.65 standard
# deviations of tray means at 80% power, 3 a side above 3.07; 1 a side show none (Hurlbert 1984,
# Ecol. Monogr. 54:187-211).
ENOUGH_REPLICATES = 3
FEWEST_REPLICATES = 2
BY_HAND = re.compile(  # in each language that a workbook may be in
    r"\b(?:by (?:hand|choice|convenience)|a mano|von hand|à la main|à mão|met de hand)\b", re.I
)

Labels = Iterable[
    tuple[str, str]
]  # a treatment's code with the place or day that one of its trays had


def replication(trial: Trial) -> Finding:
    """Judge how many times each treatment was given independently."""
    fewest = min(_trays_of(trial).values())
    verdict = at_least(fewest, ENOUGH_REPLICATES, FEWEST_REPLICATES)
    statements = [_given_to(trial)]
    if verdict == "problem":
        statements.append(message("one_unit_shows_no_chance"))
    elif verdict == "caution":
        statements.append(message("more_units_tell_better", number=number(ENOUGH_REPLICATES)))
    return together(finding(verdict, *statements), *_pretended(trial), _independent_units(trial))


def _given_to(trial: Trial) -> Message:
    trays = _trays_of(trial)
    if len(set(trays.values())) == 1:
        return message("each_treatment_given_to", trays=units(trial, trays[trial.reference]))
    counts: dict[str, Value] = {code: units(trial, count) for code, count in trays.items()}
    return message("treatments_given_to", each=each(trial, counts))


def _trays_of(trial: Trial) -> dict[str, int]:
    treatments = list(treatment_by_tray(trial).values())
    counts: dict[str, int] = {}
    for treatment in trial.treatments:
        counts[treatment.code] = treatments.count(treatment.code)
    return counts


def _pretended(trial: Trial) -> list[Finding]:
    """Find plants that are named as experimental units though they share a pot."""
    crowded = []
    for tray in planted(trial):
        if tray.plants_started > 1:
            crowded.append(tray)
    if trial.experimental_unit != "plant" or not crowded:
        return []
    most = max(tray.plants_started for tray in crowded)
    statement = message(
        "plants_share_pots",
        number=number(len(crowded)),
        pots=Count(len(planted(trial)), "pot"),
        most=number(most),
    )
    return [finding("problem", statement)]


def _independent_units(trial: Trial) -> Finding:
    """Judge how many lamps, tanks or tents each treatment had, as the grower recorded it.

    Nothing is guessed.

    Where that is blank, main plots that the trays name are what each treatment had.
    """
    if _share_main_plots(trial):
        return finding(
            "sound", message("main_plots_shared", treatments=names(trial, list(_trays_of(trial))))
        )
    counts = _recorded_units(trial)
    missing = lacking(trial, counts)
    if missing:
        return finding(
            "not recorded", message("units_not_recorded", treatments=names(trial, missing))
        )
    trays = _trays_of(trial)
    shared = []
    for code, count in counts.items():
        if count < trays[code]:
            shared.append(code)
    single = [code for code in shared if counts[code] == 1]
    if single:
        return finding("problem", message("one_unit_for_all", treatments=names(trial, single)))
    numbers: dict[str, Value] = {code: number(count) for code, count in counts.items()}
    units_each = message("units_of_treatments", each=each(trial, numbers))
    if shared and not _rests_on_main_plots(trial, counts):
        sharing = message("units_shared_by_trays", treatments=names(trial, shared))
        return finding("caution", units_each, sharing)
    verdict = at_least(min(counts.values()), ENOUGH_REPLICATES, FEWEST_REPLICATES)
    return finding(verdict, units_each)


def _recorded_units(trial: Trial) -> dict[str, int]:
    """Return the independent units of each treatment that has them recorded, by its code."""
    counts: dict[str, int] = {}
    for treatment in trial.treatments:
        code = treatment.code
        count = treatment.independent_units or _main_plots_of(trial, code)
        if count is not None:
            counts[code] = count
    return counts


def _rests_on_main_plots(trial: Trial, counts: Mapping[str, int]) -> bool:
    """Return whether what each treatment had are the main plots that the intervals rest on.

    counts: by treatment.
    """
    if split_of(trial) is None:
        return False
    return all(_main_plots_of(trial, code) == count for code, count in counts.items())


def _share_main_plots(trial: Trial) -> bool:
    """Return whether every treatment stood in every main plot."""
    if any(treatment.independent_units for treatment in trial.treatments):
        return False
    trays = planted(trial)
    if len(trial.treatments) < 2 or not all(tray.main_plot for tray in trays):
        return False
    pairs = {(tray.block, tray.main_plot, tray.treatment) for tray in trays}
    plots = {(tray.block, tray.main_plot) for tray in trays}
    return len(pairs) == len(plots) * len(trial.treatments)


def _main_plots_of(trial: Trial, code: str) -> int | None:
    """Return in how many main plots a treatment's trays stood.

    None where that is not recorded of all of them.
    """
    plots = set()
    for tray in planted(trial):
        if tray.treatment == code:
            plots.add((tray.block, tray.main_plot))
    if all(plot for _, plot in plots):
        return len(plots)
    return None


def randomisation(trial: Trial) -> Finding:
    """Judge how treatments were given their places."""
    if BY_HAND.search(trial.about.layout) and trial.about.randomised is not False:
        return finding("caution", message("places_by_hand", layout=Quote(trial.about.layout)))
    if trial.about.layout:
        return _by_layout(trial.about.randomised, Quote(trial.about.layout))
    if trial.about.randomised is None:
        return finding("not recorded", message("draw_not_recorded"))
    if trial.about.randomised:
        return finding("caution", message("places_drawn_somehow"))
    return finding("problem", message("places_not_drawn"))


def _by_layout(drawn: bool | None, layout: Quote) -> Finding:
    if drawn is None:
        return finding("caution", message("draw_not_recorded_beside_layout", layout=layout))
    if drawn:
        return finding("sound", message("places_drawn", layout=layout))
    return finding("problem", message("places_not_drawn_by_layout", layout=layout))


def confounding(trial: Trial) -> Finding:
    """Judge whether treatments can be told from the places and days that they were given."""
    findings = [*_dates(trial), *_one_place(trial), *_blocks(trial), *_positions(trial)]
    grave = [judged for judged in findings if judged[0] != "sound"]
    if findings:
        return together(*(grave or findings))
    return finding(
        "not recorded", message("no_places_recorded", number=number(len(planted(trial))))
    )


def alone(labels: Labels) -> list[str]:
    """Return the treatments that share no label with another, where there is more than one label."""
    by_label: dict[str, set[str]] = defaultdict(set)
    for treatment, label in labels:
        by_label[label].add(treatment)
    if len(by_label) < 2:
        return []
    treatments: set[str] = set()
    sharing: set[str] = set()
    for of_label in by_label.values():
        treatments.update(of_label)
        if len(of_label) > 1:
            sharing.update(of_label)
    return sorted(treatments - sharing)


def _dates(trial: Trial) -> list[Finding]:
    findings: list[Finding] = []
    filled, harvested = first_fills(trial), harvests(trial)
    if parted := _parted_by_day(trial, filled):
        statement = message(
            "own_days_of_first_fill", treatments=names(trial, parted), days=_days(filled)
        )
        findings.append(finding("problem", statement))
    if parted := _parted_by_day(trial, harvested):
        statement = message(
            "own_days_of_harvest", treatments=names(trial, parted), days=_days(harvested)
        )
        findings.append(finding("problem", statement))
    return findings


def _parted_by_day(trial: Trial, days: Mapping[str, date]) -> list[str]:
    """Return the treatments that share no day with another. days: by tray."""
    treatment_of = treatment_by_tray(trial)
    return alone((treatment_of[tray], on.isoformat()) for tray, on in days.items())


def _days(days: Mapping[str, date]) -> Count:
    return Count(len(set(days.values())), "day")


def _one_place(trial: Trial) -> list[Finding]:
    single = [code for code, count in _trays_of(trial).items() if count == 1]
    if single:
        return [finding("problem", message("one_place_only", treatments=names(trial, single)))]
    return []


def _blocks(trial: Trial) -> list[Finding]:
    trays = planted(trial)
    blocks = {tray.block for tray in trays}
    if "" in blocks or len(blocks) == 1:
        return []
    number_of_blocks = Count(len(blocks), "block")
    parted = alone((tray.treatment, tray.block) for tray in trays)
    if parted:
        own = message("own_blocks", treatments=names(trial, parted), blocks=number_of_blocks)
        return [finding("problem", own)]
    by_block: dict[str, set[str]] = defaultdict(set)
    for tray in trays:
        by_block[tray.block].add(tray.treatment)
    codes = {treatment.code for treatment in trial.treatments}
    complete = sum(of_block >= codes for of_block in by_block.values())
    having = message(
        "blocks_with_every_treatment", number=number(complete), blocks=number_of_blocks
    )
    if complete == len(blocks):
        return [finding("sound", having)]
    return [finding("caution", having)]


def _positions(trial: Trial) -> list[Finding]:
    """Find treatments that kept to themselves.

    A draw may come out so, which is a caution, a choice is a problem.
    """
    trays = planted(trial)
    positions = sorted({tray.position for tray in trays}, key=_natural)
    if not positions[0]:
        return []
    repeated = len(positions) < len(trays)
    if repeated:
        parted = alone((tray.treatment, tray.position) for tray in trays)
    else:
        parted = _in_rows(trial)
    if not parted:
        return [finding("sound", _among_one_another(positions))]
    verdict: VerdictWord = "caution" if trial.about.randomised else "problem"
    groups, places = names(trial, parted), Count(len(positions), "position")
    if repeated:
        statement = _own_positions(trial, groups, places)
    else:
        statement = _own_group(trial, groups, places)
    return [finding(verdict, statement)]


def _own_positions(trial: Trial, treatments: Several, positions: Count) -> Message:
    if trial.about.randomised:
        return message("own_positions_by_draw", treatments=treatments, positions=positions)
    return message("own_positions", treatments=treatments, positions=positions)


def _own_group(trial: Trial, treatments: Several, positions: Count) -> Message:
    if trial.about.randomised:
        return message("own_group_by_draw", treatments=treatments, positions=positions)
    return message("own_group", treatments=treatments, positions=positions)


def _among_one_another(positions: Sequence[str]) -> Message:
    if len(positions) > 2:
        first, last = Quote(positions[0]), Quote(positions[-1])
        return message("among_one_another_from_to", first=first, last=last)
    return message("among_one_another", positions=quotes(positions))


def _in_rows(trial: Trial) -> list[str]:
    """Return all treatments where each one's trays are neighbours, by row or column."""
    trays = planted(trial)
    if len(trays) == len(trial.treatments):
        return []
    for step in (1, -1):
        ordered = sorted(trays, key=lambda tray: _natural(tray.position)[::step])
        runs = 1 + sum(one.treatment != other.treatment for one, other in pairwise(ordered))
        if runs == len(trial.treatments):
            return trial.treatment_codes
    return []


def _natural(position: str) -> tuple[tuple[bool, int, str], ...]:
    """Return a key by which place 10 comes after place 9."""
    parts = re.findall(r"\d+|\D+", position)
    key: list[tuple[bool, int, str]] = []
    for part in parts:
        if part.isdecimal():
            key.append((False, int(part), part))
        else:
            key.append((True, 0, part.strip()))
    return tuple(key)
