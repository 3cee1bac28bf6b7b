"""What is known of those items of the checklist that are more than a field of the workbook."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from statistics import fmean, stdev

from reportgen.metrics import light
from reportgen.metrics.harvests import picking_days
from reportgen.metrics.reporting.known import (
    OBSERVATIONS,
    Known,
    by_treatment,
    excerpt,
    logged,
    noted,
    readings,
    several_by_treatment,
    span,
    tray_named,
)
from reportgen.metrics.reporting.phrases import phrase
from reportgen.metrics.totals import (
    GIVEN,
    FloatArray,
    is_water_use_known,
    planted,
    treatment_by_tray,
)
from reportgen.metrics.validity.evidence import measured
from reportgen.metrics.validity.surroundings import FEWEST_POINTS
from reportgen.metrics.validity.verdicts import amounts, day, number, units
from reportgen.model.message import Amount, Count, Message, Quote, Several, Term, Value, message
from reportgen.model.results import Estimate
from reportgen.model.trial import Instrument, Plant, Trial


def ppfd(trial: Trial) -> Known:
    """Return each treatment's mean PPFD."""
    return _figures(trial, light.ppfd(trial), "µmol/m²/s")


def _figures(trial: Trial, estimates: Mapping[str, Estimate], unit: str) -> Known:
    """Return the figures of a metric, as the report's tables have them."""
    known = {}
    for code, estimate in estimates.items():
        if estimate.value is not None:
            known[code] = estimate.value
    return by_treatment(trial, amounts(known, unit))


def light_days(trial: Trial) -> Known:
    """Return the days on which each treatment's light was measured."""
    days: dict[str, set[date]] = defaultdict(set)
    for reading in trial.light:
        if reading.on is not None:
            days[reading.treatment].add(reading.on)
    days_by_treatment = {}
    for code, own in days.items():
        days_by_treatment[code] = Several(tuple(day(on) for on in sorted(own)))
    return by_treatment(trial, days_by_treatment)


def dli(trial: Trial) -> Known:
    """Return each treatment's light of a day."""
    return _figures(trial, light.dli(trial), "mol/m²/d")


def uniformity(trial: Trial) -> Known:
    """Return lowest, highest, mean and coefficient of variation of each treatment's maps."""
    maps: dict[str, list[Message]] = {}
    for code, own in light.maps_of(trial).items():
        large = [_map(points) for points in own if points.size >= FEWEST_POINTS]
        maps |= {code: large} if large else {}
    return several_by_treatment(trial, maps)


def _map(points: FloatArray) -> Message:
    reach, counted = span(points.tolist(), "µmol/m²/s"), Count(points.size, "point")
    mean = fmean(points)
    amount = Amount(mean, "µmol/m²/s")
    if mean <= 0:
        return message("dark_map", span=reach, mean=amount, points=counted)
    variation = Amount(100 * stdev(points) / mean, "%")
    return message("map_of_light", span=reach, mean=amount, variation=variation, points=counted)


def power(trial: Trial) -> Known:
    """Return each treatment's rated power, else the power of its devices."""
    devices: dict[str, list[Value]] = defaultdict(list)
    for load in trial.loads:
        devices[load.treatment].append(
            message("device_of_power", device=Quote(load.device), power=Amount(load.power, "W"))
        )
    known: dict[str, Value] = {code: Several(tuple(own)) for code, own in devices.items()}
    for treatment in trial.treatments:
        if treatment.rated_power is not None:
            known[treatment.code] = message("rated_power", power=Amount(treatment.rated_power, "W"))
    return by_treatment(trial, known)


def co2(trial: Trial) -> Known:
    """Return the logged CO2, else the words that it was left as it was."""
    known = logged(trial, "co2", "ppm")
    if known.values:
        return known
    return noted(trial, "co2", (OBSERVATIONS,))


def solution_temperature(trial: Trial) -> Known:
    """Return the temperature read in the trays, else the logged one."""
    known = readings(trial, lambda event: event.temperature, "°C")
    if known.values:
        return known
    return logged(trial, "solution_temperature", "°C")


def volumes(trial: Trial) -> Known:
    """Return what was put into trays with plants, and the trays without a fill or a `remaining`."""
    trays = list(treatment_by_tray(trial))
    events = [event for event in trial.solution if event.tray in trays]
    kinds: dict[str, set[str]] = defaultdict(set)
    for event in events:
        kinds[event.tray].add(event.kind)
    without = []
    for tray in trays:
        if not is_water_use_known(kinds[tray]):
            without.append(tray_named(tray))
    missing = tuple(without)
    if not events:
        return Known((), missing)
    put_in = sum(event.volume for event in events if event.kind in GIVEN)
    counted = Count(len(events), "volume")
    return Known((message("volumes_put_in", volume=Amount(put_in, "L"), volumes=counted),), missing)


def plants_per_container(trial: Trial) -> Known:
    """Return how many plants a tray was started with."""
    numbers = [tray.plants_started for tray in planted(trial)]
    is_known = all(tray.started_known for tray in planted(trial))
    missing = () if is_known else (message("number_started"),)
    if not max(numbers):
        return Known((), missing)
    most = Count(max(numbers), "plant")
    if min(numbers) == max(numbers):
        return Known((message("plants_a_container", plants=most),), missing)
    return Known(
        (message("plants_a_container_from_to", fewest=number(min(numbers)), plants=most),), missing
    )


def spacing(trial: Trial) -> Known:
    """Return the plants on a square metre of canopy."""
    areas = {}
    for treatment in trial.treatments:
        if treatment.canopy_area:
            areas[treatment.code] = treatment.canopy_area
    densities: dict[str, list[float]] = defaultdict(list)
    for tray in planted(trial):
        if tray.treatment in areas and tray.plants_started:
            densities[tray.treatment].append(tray.plants_started / areas[tray.treatment])
    return by_treatment(trial, {code: span(own, "plants/m²") for code, own in densities.items()})


def sown_on(trial: Trial) -> Known:
    """Return the day of sowing."""
    if trial.sown_on:
        return Known((day(trial.sown_on),))
    return Known()


def transplanted_on(trial: Trial) -> Known:
    """Return the first observation of transplanting, with its day."""
    seen = (
        observation
        for observation in trial.observations
        if phrase("transplanted_on").search(observation.text)
    )
    first = min(seen, key=lambda one: one.on, default=None)
    if first is None:
        return Known()
    return Known((message("seen_on_day", day=day(first.on), words=excerpt(first.text)),))


def harvested_on(trial: Trial) -> Known:
    """Return the day of harvest or picking, the first and the last of several.

    None while a harvest is to come.
    """
    if trial.interim:
        return Known()
    of_trays = {tray.harvested_on or trial.harvested_on for tray in planted(trial)}
    days = sorted({*of_trays, *picking_days(trial)})
    if len(days) == 1:
        return Known((day(days[0]),))
    return Known((message("from_day_to_day", first=day(days[0]), last=day(days[-1])),))


def instruments(trial: Trial) -> Known:
    """Return the instruments by name, and the kinds of measurement that have none."""
    return _of_instruments(trial, _instrument)


def _instrument(one: Instrument) -> Message:
    if not one.model:
        return message("instrument", name=Quote(one.name), kind=Term(one.measures))
    return message(
        "instrument_of_model", name=Quote(one.name), kind=Term(one.measures), model=Quote(one.model)
    )


def calibration(trial: Trial) -> Known:
    """Return when instruments were calibrated."""
    return _of_instruments(trial, _calibrated)


def _calibrated(one: Instrument) -> Message | None:
    if one.calibrated_on is None:
        return None
    on = day(one.calibrated_on)
    return message("instrument_calibrated", name=Quote(one.name), kind=Term(one.measures), day=on)


def accuracy(trial: Trial) -> Known:
    """Return how accurate instruments are."""
    return _of_instruments(trial, _accurate)


def _accurate(one: Instrument) -> Message | None:
    if one.accuracy is None:
        return None
    within = Amount(one.accuracy, "%")
    return message(
        "instrument_accuracy", name=Quote(one.name), kind=Term(one.measures), accuracy=within
    )


def _of_instruments(trial: Trial, detail: Callable[[Instrument], Message | None]) -> Known:
    """Return what is known of the instruments, and the kinds of measurement of which nothing is."""
    known = {}
    for instrument in trial.instruments:
        if (said := detail(instrument)) is not None:
            known[instrument] = said
    have = {one.measures for one in known}
    missing = []
    for kind in measured(trial):
        if kind not in have:
            missing.append(Term(kind))
    return Known(tuple(known.values()), tuple(missing))


def experimental_unit(trial: Trial) -> Known:
    """Return what the treatment was given to."""
    return Known((Term(trial.experimental_unit),))


def replicates(trial: Trial) -> Known:
    """Return the trays of each treatment."""
    treatments = list(treatment_by_tray(trial).values())
    return by_treatment(
        trial, {code: units(trial, treatments.count(code)) for code in set(treatments)}
    )


def blocks(trial: Trial) -> Known:
    """Return the number of blocks; without any, the layout must say that there were none."""
    names = {tray.block for tray in planted(trial)}
    if names == {""}:
        is_without = phrase("without_blocks").search(trial.about.layout) is not None
        if is_without:
            return Known((message("no_blocks_by_layout"),))
        return Known()
    without = []
    for tray in planted(trial):
        if not tray.block:
            without.append(tray_named(tray.code))
    missing = tuple(without)
    return Known((Count(len(names - {""}), "block"),), missing)


def randomisation(trial: Trial) -> Known:
    """Return how treatments were given their places."""
    if trial.about.randomised is None:
        return Known()
    if not trial.about.layout:
        return Known((message("drawn") if trial.about.randomised else message("not_drawn"),))
    layout = Quote(trial.about.layout)
    if trial.about.randomised:
        return Known((message("drawn_by_layout", layout=layout),))
    return Known((message("not_drawn_by_layout", layout=layout),))


def exclusions(trial: Trial) -> Known:
    """Return the plants that are in no weight, with the reason.

    One that is not accounted for has none.
    """
    started = sum(tray.plants_started for tray in planted(trial))
    lost_plants = []
    for plant in trial.plants:
        if plant.status in ("dead", "removed"):
            lost_plants.append(_lost(plant))
    lost = tuple(lost_plants)
    plants = Count(started, "plant")
    missing = tuple(_unaccounted(trial, started))
    if not lost:
        return Known((message("no_plant_left_out", plants=plants),), missing)
    return Known(
        (message("plants_left_out", number=number(len(lost)), plants=plants, lost=Several(lost)),),
        missing,
    )


def _unaccounted(trial: Trial, started: int) -> Iterator[Value]:
    """Yield the plants without a reason or a row."""
    if not all(tray.started_known for tray in planted(trial)):
        yield message("number_of_plants_started")
    for plant in trial.plants:
        if plant.status == "removed" and not plant.note:
            yield message("plant_of_tray", plant=Quote(plant.code), tray=Quote(plant.tray))
    unseen = started - sum(plant.number for plant in trial.plants)
    if unseen > 0:
        yield Count(unseen, "plant without a row")


def _lost(plant: Plant) -> Message:
    which = Quote(f"{plant.tray} {plant.code}")
    if plant.note:
        return _lost_why(plant, which, Quote(plant.note))
    if plant.status == "dead":
        return message("plant_died", plant=which)
    return message("plant_removed", plant=which)


def _lost_why(plant: Plant, which: Quote, note: Quote) -> Message:
    if plant.status == "dead":
        return message("plant_died_why", plant=which, note=note)
    return message("plant_removed_why", plant=which, note=note)
