"""What is known of those items of the checklist that are more than a field of the workbook."""

import re
from collections import defaultdict
from collections.abc import Callable, Mapping
from datetime import date
from statistics import fmean, stdev

from reportgen.metrics import light
from reportgen.metrics.fairness.evidence import measured
from reportgen.metrics.fairness.surroundings import FEWEST_POINTS
from reportgen.metrics.fairness.words import count, day, figure, listed
from reportgen.metrics.reporting.known import Known, by_treatment, logged, noted, quoted, readings, span
from reportgen.metrics.totals import FloatArray, planted
from reportgen.model.results import Estimate
from reportgen.model.trial import Instrument, Measured, Plant, Trial

CO2_LEFT_ALONE = r"\bCO2\b[^.;]*\b(?:not|uncontrolled|ambient|no)\b|\b(?:no|without|ambient) CO2\b"
TRANSPLANTING = r"\btransplant\w*|\bplanted out\b|\bpricked out\b|\bpotted\b"


def ppfd(trial: Trial) -> Known:
    """Return each treatment's mean PPFD."""
    return _figures(trial, light.ppfd(trial), "µmol/m²/s")


def _figures(trial: Trial, found: Mapping[str, Estimate], unit: str) -> Known:
    """Return the figures of a metric, as the report's tables have them."""
    return by_treatment(
        trial, {code: f"{figure(one.value)} {unit}" for code, one in found.items() if one.value is not None}
    )


def light_days(trial: Trial) -> Known:
    """Return the days on which each treatment's light was measured."""
    days: dict[str, set[date]] = defaultdict(set)
    for reading in trial.light:
        if reading.on is not None:
            days[reading.treatment].add(reading.on)
    return by_treatment(trial, {code: listed([day(on) for on in sorted(found)]) for code, found in days.items()})


def dli(trial: Trial) -> Known:
    """Return each treatment's light of a day."""
    return _figures(trial, light.dli(trial), "mol/m²/d")


def uniformity(trial: Trial) -> Known:
    """Return lowest, highest, mean and coefficient of variation of each treatment's maps."""
    maps = {code: [one for one in found if one.size >= FEWEST_POINTS] for code, found in light.maps_of(trial).items()}
    return by_treatment(trial, {code: "; ".join(map(_map_text, found)) for code, found in maps.items() if found})


def _map_text(points: FloatArray) -> str:
    mean = fmean(points)
    spread = f", coefficient of variation {figure(100 * stdev(points) / mean)} %" if mean > 0 else ""
    counted = count(points.size, "point")
    return f"{span(points.tolist(), ' µmol/m²/s')}, mean {figure(mean)} µmol/m²/s{spread} ({counted})"


def power(trial: Trial) -> Known:
    """Return each treatment's rated power, else the power of its devices."""
    loads: dict[str, list[str]] = defaultdict(list)
    for load in trial.loads:
        loads[load.treatment].append(f"{load.device} {figure(load.power)} W")
    rated = {one.code: f"{figure(one.rated_power)} W rated" for one in trial.treatments if one.rated_power is not None}
    return by_treatment(trial, {code: listed(found) for code, found in loads.items()} | rated)


def co2(trial: Trial) -> Known:
    """Return the logged CO2, else the words that it was left as it was."""
    found = logged(trial, "co2", " ppm")
    return found if found.text else noted(trial, CO2_LEFT_ALONE)


def solution_temperature(trial: Trial) -> Known:
    """Return the temperature read in the trays, else the logged one."""
    found = readings(trial, lambda event: event.temperature, " °C")
    return found if found.text else logged(trial, "solution_temperature", " °C")


def volumes(trial: Trial) -> Known:
    """Return what was put into trays with plants, and the trays without a fill or a `remaining`."""
    trays = [tray.code for tray in planted(trial)]
    events = [event for event in trial.solution if event.tray in trays]
    put_in = sum(event.volume for event in events if event.kind in ("fill", "top-up"))
    kinds: dict[str, set[str]] = defaultdict(set)
    for event in events:
        kinds[event.tray].add(event.kind)
    missing = tuple(f"{trial.unit} {tray}" for tray in trays if not {"fill", "remaining"} <= kinds[tray])
    return Known(f"{figure(put_in)} L put in, {count(len(events), 'volume')} recorded" if events else "", missing)


def plants_per_container(trial: Trial) -> Known:
    """Return how many plants a tray was started with."""
    numbers = [tray.plants_started for tray in planted(trial)]
    missing = () if all(tray.started_known for tray in planted(trial)) else ("how many were started",)
    fewest = f"{min(numbers)} to " if min(numbers) < max(numbers) else ""
    return Known(f"{fewest}{count(max(numbers), 'plant')} a {trial.unit}", missing)


def spacing(trial: Trial) -> Known:
    """Return the plants on a square metre of canopy."""
    areas = {one.code: one.canopy_area for one in trial.treatments if one.canopy_area}
    densities: dict[str, list[float]] = defaultdict(list)
    for tray in planted(trial):
        if tray.treatment in areas:
            densities[tray.treatment].append(tray.plants_started / areas[tray.treatment])
    return by_treatment(trial, {code: span(found, " plants/m²") for code, found in densities.items()})


def sown_on(trial: Trial) -> Known:
    """Return the day of sowing."""
    return Known(day(trial.sown_on) if trial.sown_on else "")


def transplanted_on(trial: Trial) -> Known:
    """Return the first observation of transplanting, with its day."""
    seen = (one for one in trial.observations if re.search(TRANSPLANTING, one.text, re.IGNORECASE))
    first = min(seen, key=lambda one: one.on, default=None)
    return Known("" if first is None else f"{day(first.on)}: {quoted(first.text)}")


def harvested_on(trial: Trial) -> Known:
    """Return the day of harvest, the first and the last where trays differ."""
    days = sorted({tray.harvested_on or trial.harvested_on for tray in planted(trial)})
    return Known(day(days[0]) if len(days) == 1 else f"{day(days[0])} to {day(days[-1])}")


def instruments(trial: Trial) -> Known:
    """Return the instruments by name, and the kinds of measurement that have none."""
    return _of_instruments(trial, lambda one: f" {one.model}".rstrip())


def calibration(trial: Trial) -> Known:
    """Return when instruments were calibrated."""
    return _of_instruments(trial, lambda one: None if one.calibrated_on is None else f" {day(one.calibrated_on)}")


def accuracy(trial: Trial) -> Known:
    """Return how accurate instruments are."""
    return _of_instruments(trial, lambda one: None if one.accuracy is None else f" ±{figure(one.accuracy)} %")


def _of_instruments(trial: Trial, detail: Callable[[Instrument], str | None]) -> Known:
    """Return what is said of the instruments, and the kinds of measurement of which nothing is."""
    found = {one: said for one in trial.instruments if (said := detail(one)) is not None}
    have: set[Measured] = {one.measures for one in found}
    said = "; ".join(f"{one.name} ({one.measures}){text}" for one, text in found.items())
    return Known(said, tuple(kind for kind in measured(trial) if kind not in have))


def replicates(trial: Trial) -> Known:
    """Return the trays of each treatment."""
    treatments = [tray.treatment for tray in planted(trial)]
    return by_treatment(trial, {code: count(treatments.count(code), trial.unit) for code in set(treatments)})


def blocks(trial: Trial) -> Known:
    """Return the number of blocks; without any, the layout must say that there were none."""
    found = {tray.block for tray in planted(trial)}
    if found == {""}:
        return Known("none, by the layout" if "completely" in trial.about.layout.casefold() else "")
    missing = tuple(f"{trial.unit} {tray.code}" for tray in planted(trial) if not tray.block)
    return Known(count(len(found - {""}), "block"), missing)


def randomisation(trial: Trial) -> Known:
    """Return how treatments were given their places."""
    if trial.about.randomised is None:
        return Known("")
    drawn = "drawn at random" if trial.about.randomised else "not drawn at random"
    return Known(f"{drawn}, {trial.about.layout}" if trial.about.layout else drawn)


def exclusions(trial: Trial) -> Known:
    """Return the plants that are in no weight, with the reason; one that is not accounted for has none."""
    started = sum(tray.plants_started for tray in planted(trial))
    missing = [] if all(tray.started_known for tray in planted(trial)) else ["how many plants were started"]
    lost = [plant for plant in trial.plants if plant.status != "harvested"]
    unseen = started - sum(plant.number for plant in trial.plants)
    unexplained = [
        f"plant {one.code} of {trial.unit} {one.tray}" for one in lost if one.status == "removed" and not one.note
    ]
    missing += [*unexplained, *([count(unseen, "plant") + " without a row"] if unseen > 0 else [])]
    if not lost:
        return Known(f"none of {count(started, 'plant')}", tuple(missing))
    return Known(f"{len(lost)} of {count(started, 'plant')}: {'; '.join(map(_lost, lost))}", tuple(missing))


def _lost(plant: Plant) -> str:
    return f"{plant.tray} {plant.code} {plant.status}{f' ({plant.note})' if plant.note else ''}"
