"""Whether the trial ran alike for all: start, age at harvest, losses, solution, meters."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import date

from reportgen.metrics.energy import ENOUGH_DAYS, covered_by_meters, is_shared
from reportgen.metrics.fairness.words import (
    ROUNDING,
    Finding,
    at_least,
    at_most,
    count,
    day,
    each,
    figure,
    gravity,
    lacking,
    listed,
    means,
    names,
    percent,
    together,
)
from reportgen.metrics.totals import harvested_in, planted
from reportgen.model.trial import SolutionEvent, Trial

SAME_DAYS, CLOSE_DAYS = 0.0, 1.0  # d between treatments' mean days; ours
# The "5 and 20" rule of thumb for loss to follow-up: Sackett et al. 2000, Evidence-Based Medicine; Schulz & Grimes
# 2002, Lancet 359:781-785: 5 % or less is of little concern, more than 20 % a threat. That it holds for plants: ours.
FEW_LOST, MANY_LOST = 0.05, 0.20
NEARLY_EMPTY = 0.1  # of the first fill left at the end; ours
MOST_NAMED = 3  # trays named one by one; ours
WHOLE = 1.0  # of the trial's days


def first_fills(trial: Trial) -> dict[str, date]:
    """Return the day on which each tray with plants was first filled, by tray; without a fill there is none."""
    codes = {tray.code for tray in planted(trial)}
    fills = sorted((event.on, event.tray) for event in trial.solution if event.kind == "fill" and event.tray in codes)
    return {tray: on for on, tray in reversed(fills)}


def harvests(trial: Trial) -> dict[str, date]:
    """Return the day on which each tray with plants was harvested, by tray."""
    return {tray.code: tray.harvested_on or trial.harvested_on for tray in planted(trial)}


def _apart(trial: Trial, days: Mapping[str, date]) -> float:
    """Return how far treatments' mean days lie apart, d."""
    found = means(trial, {tray: float(on.toordinal()) for tray, on in days.items()}).values()
    return max(found) - min(found) if found else 0.0


def same_start(trial: Trial) -> Finding:
    """Judge whether all treatments were sown and started on one day; the workbook has one date for all."""
    fills = first_fills(trial)
    started: Finding = ("sound", f"The trial has one start for all, {day(trial.started_on)}.")
    if len(set(fills.values())) > 1:
        apart = _apart(trial, fills)
        said = (
            f"{trial.unit.capitalize()}s were first filled from {day(min(fills.values()))} to "
            f"{day(max(fills.values()))}; treatments lie {figure(apart)} d apart on average."
        )
        started = at_most(apart, SAME_DAYS, CLOSE_DAYS), said
    if trial.sown_on is None:
        return together(started, ("not recorded", "The day of sowing is not recorded."))
    return together(started, ("sound", f"All were sown on {day(trial.sown_on)}."))


def same_harvest_age(trial: Trial) -> Finding:
    """Judge whether all treatments were harvested at one age."""
    days = harvests(trial)
    first, last = min(days.values()), max(days.values())
    origin, since = (trial.sown_on, "sowing") if trial.sown_on else (trial.started_on, "the start")
    if first == last:
        age = count((last - origin).days, "day")
        return "sound", f"All {trial.unit}s were harvested on {day(last)}, {age} after {since}."
    apart = _apart(trial, days)
    said = (
        f"{trial.unit.capitalize()}s were harvested from {day(first)} to {day(last)}; treatments lie "
        f"{figure(apart)} d apart on average."
    )
    verdict = at_most(apart, SAME_DAYS, CLOSE_DAYS)
    remark = "" if verdict == "sound" else " If each was harvested at one size, this difference is part of the result."
    return verdict, said + remark


def losses(trial: Trial) -> Finding:
    """Judge how many plants were lost, and whether one treatment lost more than another."""
    started: dict[str, int] = defaultdict(int)
    kept: dict[str, int] = defaultdict(int)
    treatment_of = {tray.code: tray.treatment for tray in planted(trial)}
    for tray in planted(trial):
        started[tray.treatment] += tray.plants_started
    for plant in trial.plants:
        if plant.tray in treatment_of:
            kept[treatment_of[plant.tray]] += harvested_in(plant)
    if not all(tray.started_known for tray in planted(trial)):
        return "not recorded", "How many plants were started is not known, so nothing tells how many were lost."
    lost = {code: 1 - kept[code] / number for code, number in started.items()}
    if max(lost.values()) <= 0:
        return "sound", f"None of {count(sum(started.values()), 'plant')} was lost (0 %)."
    shown = {code: f"{percent(lost[code])} ({started[code] - kept[code]} of {started[code]})" for code in lost}
    apart = figure(100 * (max(lost.values()) - min(lost.values())))
    verdict = at_most(max(lost.values()), FEW_LOST, MANY_LOST)
    return verdict, f"Plants lost: {each(trial, shown)}, {apart} percentage points apart."


def solution_ran_out(trial: Trial) -> Finding:
    """Judge whether a tray was without solution, as far as recorded volumes tell; uptake between is not recorded."""
    events: dict[str, list[SolutionEvent]] = defaultdict(list)
    for event in trial.solution:
        events[event.tray].append(event)
    trays = [tray.code for tray in planted(trial)]
    known = [tray for tray in trays if {"fill", "remaining"} <= {event.kind for event in events[tray]}]
    found = _gravest(trial.unit, [finding for tray in trays for finding in _ran_out(trial.unit, tray, events[tray])])
    if len(known) < len(trays):
        said = f"What was filled in and what was left is known for {len(known)} of {count(len(trays), trial.unit)}."
        found.append(("not recorded", said))
    if found:
        return together(*found)
    least = min(known, key=lambda tray: _left(events[tray]))
    said = f"At the end every {trial.unit} held {figure(_left(events[least]))} L or more, the least in {least}."
    return "sound", said


def _left(events: list[SolutionEvent]) -> float:
    """Return what was left at the end, L."""
    return max((event for event in events if event.kind == "remaining"), key=lambda event: event.on).volume


def _ran_out(unit: str, tray: str, events: list[SolutionEvent]) -> list[Finding]:
    """Return what is worst of a tray: empty, perhaps empty, nearly empty; nothing where all was well."""
    found = [*_emptied(unit, tray, events), *_left_too_little(unit, tray, events)]
    return sorted(found, key=gravity)[:1]


def _emptied(unit: str, tray: str, events: list[SolutionEvent]) -> Iterator[Finding]:
    """Find days after which nothing was left of what was put in, and top-ups as large as the first fill."""
    balance = filled = 0.0
    for on, change in _changes(events):
        balance += change
        if balance <= ROUNDING * filled:
            yield "problem", f"{unit.capitalize()} {tray} was emptied on {day(on)} (0 L left of what was put in)."
        elif filled and change >= filled * (1 - ROUNDING):
            said = f"{unit.capitalize()} {tray} took {figure(change)} L on {day(on)}, as much as its first fill"
            yield "caution", f"{said} of {figure(filled)} L or more, so it may have been empty."
        filled = filled or change


def _gravest(unit: str, found: list[Finding]) -> list[Finding]:
    """Return the gravest findings, as many as are named one by one, and how many more there are."""
    named = sorted(found, key=gravity)[:MOST_NAMED]
    more = len(found) - len(named)
    return [*named, ("caution", f"{count(more, f'more {unit}')} ran low or empty too.")] if more else named


def _changes(events: list[SolutionEvent]) -> list[tuple[date, float]]:
    """Return what went in less what was poured away on each day, L: a change of solution is one step."""
    changes: dict[date, float] = defaultdict(float)
    for event in events:
        if event.kind != "remaining":
            changes[event.on] += event.volume if event.kind in ("fill", "top-up") else -event.volume
    return sorted(changes.items())


def _left_too_little(unit: str, tray: str, events: list[SolutionEvent]) -> Iterator[Finding]:
    if not any(event.kind == "remaining" for event in events):
        return
    left = _left(events)
    filled = next((change for _, change in _changes(events) if change > 0), 0.0)
    if left <= 0:
        yield "problem", f"{unit.capitalize()} {tray} ran out or was emptied (0 L left at the end)."
    elif left < filled * NEARLY_EMPTY * (1 - ROUNDING):
        said = f"{unit.capitalize()} {tray} was nearly empty at the end ({figure(left)} L left of {figure(filled)} L)."
        yield "caution", said


def meters_span(trial: Trial) -> Finding:
    """Judge whether electricity was counted over the whole trial, for each treatment on its own."""
    counting = {reading.treatment for reading in trial.meter}
    covered = {code: share for code, share in covered_by_meters(trial).items() if counting & {code, None}}
    if not covered:
        return _without_meter(trial)
    shares = {code: percent(share) for code, share in covered.items()}
    alike = len(set(shares.values())) == 1 and len(shares) == len(trial.treatments)
    shown = f"{shares[trial.reference]} for each treatment" if alike else each(trial, shares)
    counted = at_least(min(covered.values()), WHOLE, ENOUGH_DAYS)
    said = f"Meters counted this share of the trial's days: {shown}."
    return together((counted, said), *_unmetered(trial, lacking(trial, covered)), *_shared_meters(trial))


def _unmetered(trial: Trial, codes: list[str]) -> Iterator[Finding]:
    """Find treatments without a meter beside others that have one."""
    calculated = [code for code in codes if any(load.treatment == code for load in trial.loads)]
    unknown = [code for code in codes if code not in calculated]
    if calculated:
        said = f"Electricity of {names(trial, calculated)} is calculated from power in W and hours, not counted (0 %)."
        yield "caution", said
    if unknown:
        yield "problem", f"No meter counted the electricity of {names(trial, unknown)} (0 %)."


def _shared_meters(trial: Trial) -> Iterator[Finding]:
    common = sorted({reading.meter for reading in trial.meter if reading.treatment is None})
    if common:
        counted = "all" if is_shared(trial) else "a part"
        yield (
            "caution",
            f"{count(len(common), 'meter')} shared by all treatments ({listed(common)}) counted {counted} of the "
            f"electricity, which was given out by {trial.unit}s and cannot be compared.",
        )


def _without_meter(trial: Trial) -> Finding:
    if trial.loads:
        said = f"No meter was read: electricity is calculated from {count(len(trial.loads), 'device')}"
        return "caution", f"{said}, power in W by hours of use."
    return "not recorded", "No electricity meter was read (0 % of the trial's days)."
