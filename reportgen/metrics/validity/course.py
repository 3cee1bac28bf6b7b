"""Whether the trial ran alike for all: start, age at harvest, losses, solution, meters."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import date

from reportgen.metrics.energy import ENOUGH_DAYS, covered_by_meters, is_shared
from reportgen.metrics.harvests import picking_days
from reportgen.metrics.start_weights import stand_out, start_weights
from reportgen.metrics.totals import planted, plants_of_treatments, treatment_by_tray
from reportgen.metrics.validity.verdicts import (
    ROUNDING,
    Finding,
    amounts,
    at_least,
    at_most,
    day,
    each,
    finding,
    gravity,
    lacking,
    means,
    names,
    number,
    quotes,
    together,
    units,
)
from reportgen.model.message import Amount, Count, Message, Quote, Share, Value, message
from reportgen.model.trial import SolutionEvent, Trial

SAME_DAYS, CLOSE_DAYS = 0.0, 1.0  # d between treatments' mean days; ours
SAME_WEIGHT = 0.05  # of the lighter plants, when treatments begin; ours
# The "5 and 20" rule of thumb for loss to follow-up: Sackett et al. 2000, Evidence-Based Medicine;
# Schulz & Grimes 2002, Lancet 359:781-785: 5% or less is of little concern, more than 20% a threat.
# That it holds for plants: ours.
FEW_LOST, MANY_LOST = 0.05, 0.20
UNEQUAL_LOSSES = 0.15  # between treatments: survivors are then no fair sample of either; ours
NEARLY_EMPTY = 0.1  # of the first fill left at the end; ours
MOST_NAMED = 3  # trays named one by one; ours
WHOLE = 1.0  # of the trial's days


def first_fills(trial: Trial) -> dict[str, date]:
    """Return the day on which each tray with plants was first filled, by tray.

    Without a fill there is none.
    """
    codes = set(treatment_by_tray(trial))
    first: dict[str, date] = {}
    for event in trial.solution:
        if event.kind == "fill" and event.tray in codes:
            first[event.tray] = min(event.on, first.get(event.tray, event.on))
    return first


def harvests(trial: Trial) -> dict[str, date]:
    """Return the day on which each tray with plants was harvested, by tray."""
    return {tray.code: tray.harvested_on or trial.harvested_on for tray in planted(trial)}


def _apart(trial: Trial, days: Mapping[str, date]) -> float:
    """Return how far treatments' mean days lie apart, d."""
    values = means(trial, {tray: float(on.toordinal()) for tray, on in days.items()}).values()
    if values:
        return max(values) - min(values)
    return 0.0


def same_start(trial: Trial) -> Finding:
    """Judge whether all treatments began alike.

    Sown and started on one day, with plants of one weight.
    """
    return together(_filled(trial), _sown(trial), *_start_weights(trial))


def _filled(trial: Trial) -> Finding:
    days = first_fills(trial)
    if len(set(days.values())) < 2:
        return finding("sound", message("one_start", day=day(trial.started_on)))
    apart = _apart(trial, days)
    first, last = day(min(days.values())), day(max(days.values()))
    verdict = at_most(apart, SAME_DAYS, CLOSE_DAYS)
    if verdict == "problem":
        return finding(
            verdict, message("filled_from_to", first=first, last=last, apart=Amount(apart, "d"))
        )
    return finding(
        verdict, message("filled_within_a_day", first=first, last=last, apart=Amount(apart, "d"))
    )


def _start_weights(trial: Trial) -> Iterator[Finding]:
    """Judge differences in start weight by their size and by chance between trays."""
    trays = zip(planted(trial), start_weights(trial).tolist(), strict=True)
    above_zero = {}
    for tray, weight in trays:
        if weight > 0:
            above_zero[tray.code] = weight
    weights = means(trial, above_zero)
    if len(weights) < 2:
        return
    apart = max(weights.values()) / min(weights.values()) - 1
    known = each(trial, amounts(weights, "g"))
    if at_most(apart, SAME_WEIGHT, SAME_WEIGHT) == "sound":
        yield finding("sound", message("start_weights_alike", each=known, apart=Share(apart)))
    elif stand_out(trial):
        yield finding("problem", message("start_weights_apart", each=known, apart=Share(apart)))
    else:
        yield finding("caution", message("start_weights_by_chance", each=known, apart=Share(apart)))


def _sown(trial: Trial) -> Finding:
    if trial.sown_on is None:
        return finding("not recorded", message("sowing_not_recorded"))
    return finding("sound", message("all_sown", day=day(trial.sown_on)))


def same_harvest_age(trial: Trial) -> Finding:
    """Judge whether all treatments were harvested at one age."""
    days = harvests(trial)
    first, last = min(days.values()), max(days.values())
    if first == last:
        return finding("sound", _age(trial, last))
    apart = _apart(trial, days)
    verdict = at_most(apart, SAME_DAYS, CLOSE_DAYS)
    statement = message(
        "harvested_from_to", first=day(first), last=day(last), apart=Amount(apart, "d")
    )
    if verdict == "sound":
        return finding(verdict, statement)
    return finding(verdict, statement, message("harvested_at_one_size"))


def _age(trial: Trial, harvested: date) -> Message:
    """Return the day on which all were harvested, with the days since sowing, else since the start.

    Of a crop that was picked on several days it is the day of the last picking.
    """
    since = trial.sown_on or trial.started_on
    last, age = day(harvested), Count((harvested - since).days, "day")
    is_picked = len(picking_days(trial)) > 1
    if is_picked and trial.sown_on is None:
        return message("last_picked_after_start", day=last, days=age)
    if is_picked:
        return message("last_picked_after_sowing", day=last, days=age)
    if trial.sown_on is None:
        return message("harvested_after_start", day=last, days=age)
    return message("harvested_after_sowing", day=last, days=age)


def losses(trial: Trial) -> Finding | None:
    """Judge how many plants were lost, and whether one treatment lost more than another.

    None where no plant was measured, as in a trial of water alone.
    """
    if not trial.plants and not trial.growth:
        return None
    if not trial.plants:
        return finding("not recorded", message("harvest_not_recorded"))
    if not all(tray.started_known for tray in planted(trial)):
        return finding("not recorded", message("started_not_known"))
    return _losses(trial)


def _losses(trial: Trial) -> Finding:
    started, harvested = plants_of_treatments(trial)
    lost: dict[str, float] = {}
    shares: dict[str, Value] = {}
    for code, number_started in started.items():
        lost[code] = 1 - harvested[code] / number_started
        shares[code] = _lost(lost[code], number_started, harvested[code])
    most = max(lost.values())
    if most <= 0:
        whole = Count(sum(started.values()), "plant")
        return finding("sound", message("none_lost", plants=whole, share=Share(0.0)))
    apart = most - min(lost.values())
    verdict = at_most(most, FEW_LOST, MANY_LOST)
    statement = message("plants_lost", each=each(trial, shares), points=number(100 * apart))
    if at_most(apart, UNEQUAL_LOSSES, UNEQUAL_LOSSES) != "sound":
        return finding("problem", statement, message("losses_differ"))
    return finding(verdict, statement)


def _lost(share: float, started: int, kept: int) -> Message:
    return message(
        "share_of_plants", share=Share(share), number=number(started - kept), total=number(started)
    )


def solution_ran_out(trial: Trial) -> Finding | None:
    """Judge whether a tray was without solution, as far as recorded volumes tell.

    Uptake between is not recorded.

    None where no volume is recorded.
    """
    if not trial.solution:
        return None
    events: dict[str, list[SolutionEvent]] = defaultdict(list)
    for event in trial.solution:
        events[event.tray].append(event)
    trays = list(treatment_by_tray(trial))
    known: list[str] = []
    emptied: list[Finding] = []
    for tray in trays:
        emptied.extend(_ran_out(tray, events[tray]))
        kinds = {event.kind for event in events[tray]}
        if {"fill", "remaining"} <= kinds:
            known.append(tray)
    findings = _gravest(trial.unit, emptied)
    if len(known) < len(trays):
        number_of_trays = units(trial, len(trays))
        coverage = message("solution_known_for", number=number(len(known)), trays=number_of_trays)
        findings.append(finding("not recorded", coverage))
    if findings:
        return together(*findings)
    least = min(known, key=lambda tray: _left(events[tray]))
    volume = Amount(_left(events[least]), "L")
    return finding("sound", message("least_solution_left", volume=volume, tray=Quote(least)))


def _left(events: list[SolutionEvent]) -> float:
    """Return what was left at the end, L."""
    remaining = [event for event in events if event.kind == "remaining"]
    return max(remaining, key=lambda event: event.on).volume


def _ran_out(tray: str, events: list[SolutionEvent]) -> list[Finding]:
    """Return what is worst of a tray: empty, perhaps empty, nearly empty.

    Nothing where all was well.
    """
    low = [*_emptied(tray, events), *_left_too_little(tray, events)]
    return sorted(low, key=gravity)[:1]


def _emptied(tray: str, events: list[SolutionEvent]) -> Iterator[Finding]:
    """Find days after which nothing was left of what was put in, and top-ups as large as the first
    fill.
    """
    balance = filled = 0.0
    for on, change in _changes(events):
        balance += change
        if balance <= ROUNDING * filled:
            yield finding("problem", message("emptied", tray=Quote(tray), day=day(on)))
        elif filled and change >= filled * (1 - ROUNDING):
            volume, first_fill = Amount(change, "L"), Amount(filled, "L")
            statement = message(
                "took_its_first_fill",
                tray=Quote(tray),
                day=day(on),
                volume=volume,
                first_fill=first_fill,
            )
            yield finding("caution", statement)
        filled = filled or change


def _gravest(unit: str, low: list[Finding]) -> list[Finding]:
    """Return the gravest findings, as many as are named one by one, and how many more there are."""
    named = sorted(low, key=gravity)[:MOST_NAMED]
    more = len(low) - len(named)
    if not more:
        return named
    return [*named, finding("caution", message("more_ran_low", trays=Count(more, f"more {unit}")))]


def _changes(events: list[SolutionEvent]) -> list[tuple[date, float]]:
    """Return what went in less what was poured away on each day, L: a change of solution is one
    step.
    """
    changes: dict[date, float] = defaultdict(float)
    for event in events:
        if event.kind not in ("remaining", "used"):
            changes[event.on] += event.volume if event.kind in ("fill", "top-up") else -event.volume
    return sorted(changes.items())


def _left_too_little(tray: str, events: list[SolutionEvent]) -> Iterator[Finding]:
    if not any(event.kind == "remaining" for event in events):
        return
    left = _left(events)
    filled = next((change for _, change in _changes(events) if change > 0), 0.0)
    if left <= 0:
        yield finding("problem", message("ran_out", tray=Quote(tray)))
    elif left < filled * NEARLY_EMPTY * (1 - ROUNDING):
        statement = message(
            "nearly_empty",
            tray=Quote(tray),
            volume=Amount(left, "L"),
            first_fill=Amount(filled, "L"),
        )
        yield finding("caution", statement)


def meters_span(trial: Trial) -> Finding | None:
    """Judge whether electricity was counted over the whole trial, for each treatment on its own.

    None where neither a meter nor a device is recorded.
    """
    counting = {reading.treatment for reading in trial.meter}
    covered = {}
    for code, share in covered_by_meters(trial).items():
        if counting & {code, None}:
            covered[code] = share
    if not covered:
        return _without_meter(trial)
    verdict = at_least(min(covered.values()), WHOLE, ENOUGH_DAYS)
    return together(
        finding(verdict, _counted(trial, covered)),
        *_unmetered(trial, lacking(trial, covered)),
        *_shared_meters(trial),
    )


def _counted(trial: Trial, covered: Mapping[str, float]) -> Message:
    """Return the share of the days that meters counted, once where it is the same for every
    treatment.
    """
    apart = max(covered.values()) - min(covered.values())
    if apart <= ROUNDING and len(covered) == len(trial.treatments):
        return message("metered_days_alike", share=Share(covered[trial.reference]))
    shares: dict[str, Value] = {code: Share(share) for code, share in covered.items()}
    return message("metered_days", each=each(trial, shares))


def _unmetered(trial: Trial, codes: list[str]) -> Iterator[Finding]:
    """Find treatments without a meter beside others that have one."""
    with_loads = {load.treatment for load in trial.loads}
    calculated = [code for code in codes if code in with_loads]
    unknown = [code for code in codes if code not in calculated]
    none = Share(0.0)
    if calculated:
        statement = message(
            "electricity_calculated", treatments=names(trial, calculated), share=none
        )
        yield finding("caution", statement)
    if unknown:
        yield finding(
            "problem",
            message("electricity_not_metered", treatments=names(trial, unknown), share=none),
        )


def _shared_meters(trial: Trial) -> Iterator[Finding]:
    shared = set()
    for reading in trial.meter:
        if reading.treatment is None:
            shared.add(reading.meter)
    common = sorted(shared)
    if not common:
        return
    meters = Count(len(common), "meter")
    if is_shared(trial):
        yield finding(
            "caution", message("shared_meter_counted_all", meters=meters, names=quotes(common))
        )
    else:
        yield finding(
            "caution", message("shared_meter_counted_a_part", meters=meters, names=quotes(common))
        )


def _without_meter(trial: Trial) -> Finding | None:
    if not trial.loads:
        return None
    devices = Count(len(trial.loads), "device")
    return finding("caution", message("no_meter_but_devices", devices=devices))
