"""A trial drawn with known values, and what is true of it."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

from numpy.random import Generator

from .words import CROPS, FACTOR_LEVELS, GRAMS, SPELLED, TREATMENTS

LOST, MISSING, ZERO = "lost", "missing", "zero"
# How several days of weighing belong together.
PICKINGS, GROWTH, SAMPLES, DAYS, RUNNING = "pickings", "growth", "samples", "days", "running totals"
ONLY_LAST: Final = (GROWTH, SAMPLES, RUNNING)
WEIGHTS: Final = ("fresh_weight", "dry_weight")
DECIMALS: Final = {"g": 1, "kg": 3, "mg": 0, "oz": 2, "lb": 3, "lb+oz": 1}


@dataclass(frozen=True)
class Wants:
    """What a layout needs of a trial; a tuple lists what may be drawn.

    `plants`: "each" plant weighed, "one" plant a unit, "count" of plants beside a weight of the
    unit, "none" known. `kinds`: how days belong together, blank for one day. `names`: units
    numbered "anew" under each treatment or all "unique". `even`: as many units and plants under
    each treatment. `measures`: what is weighed.
    """

    plants: tuple[str, ...] = ("each",)
    kinds: tuple[str, ...] = ("",)
    names: tuple[str, ...] = ("anew", "unique")
    even: bool = False
    factor: bool = False
    measures: tuple[tuple[str, ...], ...] = (
        ("fresh_weight",),
        ("fresh_weight",),
        ("fresh_weight", "dry_weight"),
    )
    masses: tuple[str, ...] = ("g", "g", "g", "g", "kg", "oz", "lb")
    coded: bool = False
    short_codes: bool = False
    many_plants: bool = False


@dataclass(frozen=True)
class Unit:
    """What was treated: its name, treatment, level of the second factor, block, plants by name,
    area in m2.
    """

    name: str
    treatment: str
    factor: str = ""
    block: str = ""
    plants: tuple[str, ...] = ()
    area: float = 0.0


@dataclass(frozen=True)
class Value:
    """One number of the trial with its coordinates, in the unit of measure of its quantity; None
    where none stands.
    """

    unit: Unit
    plant: str
    occasion: int
    quantity: str
    amount: float | None
    stands: str = ""


@dataclass(frozen=True)
class Pour:
    """A volume of water, L, of a unit: "fill", "top-up" or "remaining"."""

    unit: Unit
    on: date
    event: str
    litres: float


@dataclass(frozen=True)
class Reading:
    """A meter reading of a treatment, kWh."""

    treatment: str
    on: date
    kwh: float


@dataclass(frozen=True)
class Trial:
    """A drawn trial. `spelled` names what each code stands for; `mass` is the unit of all weights."""

    crop: str
    title: str
    treatments: tuple[str, ...]
    spelled: dict[str, str]
    factors: tuple[str, ...]
    units: tuple[Unit, ...]
    plants: str
    kind: str
    names: str
    measures: tuple[str, ...]
    mass: str
    started: date
    days: tuple[date, ...]
    values: tuple[Value, ...]
    pours: tuple[Pour, ...] = ()
    readings: tuple[Reading, ...] = ()
    unit_word: str = "tray"

    @property
    def reference(self) -> str:
        """Return the treatment that the others are compared with."""
        return self.treatments[0]

    @property
    def harvested(self) -> date:
        """Return the last day."""
        return self.days[-1]


@dataclass(frozen=True)
class Figures:
    """What is true of a treatment: units, plants (None: not known), total and mean (None: not
    asked); g, L, kWh.

    Where several pickings are of the same plants, `by_plant` is their number and the mean by plant,
    which may be told in place of that by unit.
    """

    units: int | None
    n: int | None
    total: float | None
    mean: float | None
    by_plant: tuple[int, float] | None = None


Truth = dict[str, dict[str, Figures]]


# ---- drawing -------------------------------------------------------------------------------------


def drawn(rng: Generator, wants: Wants) -> Trial:
    """Return a trial that a layout can hold."""
    treatments, spelled = _treatments(rng, wants)
    plants, kind = one_of(rng, wants.plants), one_of(rng, wants.kinds)
    names = one_of(rng, wants.names)
    factors = one_of(rng, FACTOR_LEVELS) if wants.factor else ()
    units = _units(rng, wants, _levels(treatments, factors), (plants, names))
    started = date(2026, 1, 5) + timedelta(days=int(rng.integers(0, 90)))
    trial = Trial(
        crop=one_of(rng, CROPS),
        title="",
        treatments=treatments,
        spelled=spelled,
        factors=factors,
        units=units,
        plants=plants,
        kind=kind,
        names=names,
        measures=one_of(rng, wants.measures),
        mass=one_of(rng, wants.masses),
        started=started,
        days=_days(rng, kind, started),
        values=(),
        unit_word=one_of(rng, ("tray", "tray", "pot", "plot")),
    )
    trial = replace(trial, title=f"{' or '.join(treatments)} for {trial.crop}")
    return replace(trial, values=tuple(_values(rng, trial)))


def one_of(rng: Generator, things):
    """Return one of some things."""
    return things[int(rng.integers(len(things)))]


def chance(rng: Generator, share: float) -> bool:
    """Return True in a share of all draws."""
    return bool(rng.random() < share)


def _treatments(rng: Generator, wants: Wants) -> tuple[tuple[str, ...], dict[str, str]]:
    number = int(rng.integers(2, 4))
    if wants.coded:
        names = one_of(rng, SPELLED)[:number]
        codes = tuple(name[0].upper() for name in names)
        if len(set(codes)) < len(codes):
            codes = tuple("ABC"[: len(names)])
        return codes, dict(zip(codes, names, strict=True))
    sets = [
        names
        for names in TREATMENTS
        if not wants.short_codes or all(len(n) == 1 and n.isalpha() for n in names)
    ]
    return one_of(rng, sets)[:number], {}


def _levels(treatments: tuple[str, ...], factors: tuple[str, ...]) -> list[tuple[str, str]]:
    """Return each treatment with each level of the second factor, blank where there is none."""
    return [(treatment, factor) for treatment in treatments for factor in factors or ("",)]


def _units(
    rng: Generator, wants: Wants, levels: list[tuple[str, str]], drawn: tuple[str, str]
) -> tuple[Unit, ...]:
    plants, names = drawn
    number = int(rng.integers(2, 4 if wants.factor else 7))
    several = {"each": int(rng.integers(2, 9)), "one": 1, "count": 0, "none": 0}[plants]
    if wants.many_plants:
        several = int(rng.integers(10, 12))
    blocked = names == "unique" and chance(rng, 0.2)
    made: list[Unit] = []
    style = one_of(rng, ("{}", "{}", "T{}", "S{}", "{:02d}"))
    if any(treatment.startswith("T") for treatment, _ in levels):
        style = "{}"
    for treatment, factor in levels:
        here = number if wants.even else max(2, number - int(chance(rng, 0.15)))
        for at in range(here):
            serial = at + 1 if names == "anew" else len(made) + 1
            count = several if wants.even or several < 3 else several - int(chance(rng, 0.1))
            labels = tuple(str(place + 1) for place in range(count))
            block = str(at + 1) if blocked and here == number else ""
            area = round(float(rng.integers(8, 30)) / 10, 1)
            made.append(Unit(style.format(serial), treatment, factor, block, labels, area))
    if blocked and any(not unit.block for unit in made):
        made = [replace(unit, block="") for unit in made]
    return tuple(made)


def _days(rng: Generator, kind: str, started: date) -> tuple[date, ...]:
    first = started + timedelta(days=int(rng.integers(24, 45)))
    if not kind:
        return (first,)
    number = 2 if kind == DAYS else int(rng.integers(2, 6)) if kind in (PICKINGS, RUNNING) else 3
    apart = 1 if kind == DAYS else int(rng.integers(3, 8))
    return tuple(first + timedelta(days=apart * at) for at in range(number))


def _values(rng: Generator, trial: Trial) -> Iterator[Value]:
    """Yield every value; lost plants and blank pickings among them."""
    whole = trial.plants in ("none", "count")
    base = float(rng.uniform(25, 160)) * (6 if whole else 1)
    effects = {
        name: 1 + 0.17 * at + float(rng.uniform(0, 0.1)) for at, name in enumerate(trial.treatments)
    }
    of_factor = {name: 1 + 0.12 * at for at, name in enumerate(trial.factors)}
    lost_share = 0.05 if chance(rng, 0.45) else 0.0
    stands = MISSING if chance(rng, 0.2) else LOST
    for unit in trial.units:
        typical = (
            base
            * effects[unit.treatment]
            * of_factor.get(unit.factor, 1.0)
            * float(rng.normal(1, 0.05))
        )
        if whole:
            yield from _of_whole_unit(rng, trial, unit, typical)
        else:
            yield from _of_plants(rng, trial, unit, typical, (lost_share, stands))


def _of_whole_unit(rng, trial, unit, typical) -> Iterator[Value]:
    count = int(rng.integers(4, 13))
    before = 0.0
    for at in range(len(trial.days)):
        if trial.plants == "count" and at == 0:
            yield Value(unit, "", at, "count", count)
        blank = trial.kind == PICKINGS and chance(rng, 0.06)
        amount = 0.0 if blank else typical * float(rng.normal(1, 0.1)) / len(trial.days)
        if trial.kind == RUNNING:
            amount = before = before + amount
        for quantity in trial.measures:
            yield _weighed(trial, Value(unit, "", at, quantity, amount, ZERO if blank else ""))


def _of_plants(rng, trial, unit, typical, gaps) -> Iterator[Value]:
    """Yield the values of a unit's plants; `gaps` is the share of those without a weight, and what
    that stands for.
    """
    lost_share, stands = gaps
    living = len(unit.plants)
    for plant in unit.plants:
        lost = living > 1 and trial.kind in ("", DAYS) and chance(rng, lost_share)
        living -= lost
        own = typical * float(rng.normal(1, 0.12))
        for at in _occasions_of(trial, unit, plant):
            grown = 1.0 if trial.kind in ("", DAYS) else (at + 1) / len(trial.days)
            noise = float(rng.normal(1, 0.15 if trial.kind == PICKINGS else 0.03))
            amount = own * noise if trial.kind == PICKINGS else own * grown * noise
            for quantity in trial.measures:
                yield _weighed(
                    trial, Value(unit, plant, at, quantity, amount, stands if lost else "")
                )


def _occasions_of(trial: Trial, unit: Unit, plant: str) -> list[int]:
    """Return the days on which a plant is weighed: one of them where it is cut for that."""
    every = list(range(len(trial.days)))
    if trial.kind == DAYS:
        return [every[unit.plants.index(plant) % len(every)]]
    return every


def _weighed(trial: Trial, value: Value) -> Value:
    """Return a value whose amount is the grams of a crop, as it is measured and rounded."""
    grams, quantity = value.amount, value.quantity
    if value.stands in (LOST, MISSING):
        return replace(value, amount=None)
    if quantity == "area_yield":
        return replace(value, amount=round(grams / 1000 / value.unit.area, 3))
    tare = 18 + 0.5 * (int(grams) % 5)
    if quantity in ("gross", "tare"):
        grams = tare if quantity == "tare" else grams + tare
    share = {"dry_weight": 0.09, "leaf_area": 18.0, "height": 0.2}.get(quantity, 1.0)
    amount = grams * share
    if share != 1:
        amount *= 1 + 0.01 * (
            int(grams * 10) % 17 - 8
        )  # so that the quantities are no exact multiples
    if quantity in ("leaf_area", "height"):
        return replace(value, amount=round(amount, 1))
    extra = 1 if quantity == "dry_weight" else 0
    return replace(value, amount=_rounded(max(amount, 0.0), trial.mass, extra))


def _rounded(grams: float, mass: str, extra: int) -> float:
    factor = GRAMS["oz" if mass == "lb+oz" else mass]
    return round(grams / factor, DECIMALS[mass] + extra)


def with_water(rng: Generator, trial: Trial) -> Trial:
    """Return a trial whose water was noted: filled, topped up, left at the end, of each unit."""
    pours: list[Pour] = []
    for unit in trial.units:
        pours.append(Pour(unit, trial.started, "fill", round(float(rng.uniform(4, 9)), 1)))
        for at in range(int(rng.integers(1, 3))):
            on = trial.started + timedelta(days=7 * (at + 1))
            pours.append(Pour(unit, on, "top-up", round(float(rng.uniform(0.5, 3)), 1)))
        pours.append(
            Pour(unit, trial.harvested, "remaining", round(float(rng.uniform(0.3, 2.5)), 1))
        )
    return replace(trial, pours=tuple(sorted(pours, key=lambda pour: pour.on)))


def with_energy(rng: Generator, trial: Trial) -> Trial:
    """Return a trial with a meter for each treatment, read every week."""
    days = [
        trial.started + timedelta(days=at)
        for at in range(0, (trial.harvested - trial.started).days, 7)
    ]
    found: list[Reading] = []
    for treatment in trial.treatments:
        reading = float(rng.integers(80, 900))
        for on in (*days, trial.harvested):
            found.append(Reading(treatment, on, round(reading, 1)))
            reading += float(rng.uniform(2, 9))
    return replace(trial, readings=tuple(sorted(found, key=lambda one: one.on)))


# ---- truth ---------------------------------------------------------------------------------------


def treatment_name(unit: Unit) -> str:
    """Return the name of what a unit got: of two factors both levels."""
    return f"{unit.treatment} {unit.factor}".strip()


def truth_of(trial: Trial) -> Truth:
    """Return what is true by quantity and treatment, in g, L and kWh.

    A weight of plants counts plants. Where plants are not told apart, or are picked several times,
    it is the sum of each unit: "unit_yield" (or "unit_dry"), as a report has it of the sheet
    Harvests.
    """
    found: Truth = {}
    for quantity in WEIGHTS:
        if quantity in trial.measures:
            name, figures = _of_quantity(trial, quantity)
            found[name] = figures
    if trial.measures[:2] == ("gross", "tare"):
        net = replace(trial, values=tuple(_net(trial)), measures=("fresh_weight",))
        name, figures = _of_quantity(net, "fresh_weight")
        found[name] = figures
    if trial.measures == ("area_yield",):
        found["unit_yield"] = _of_areas(trial)
    if trial.pours:
        found["water"] = _water(trial)
    if trial.readings:
        found["energy"] = _energy(trial)
    return found


def _net(trial: Trial) -> Iterator[Value]:
    tares = {(v.unit, v.plant, v.occasion): v.amount for v in trial.values if v.quantity == "tare"}
    for value in trial.values:
        if value.quantity != "gross":
            continue
        tare = tares[value.unit, value.plant, value.occasion]
        known = value.amount is not None and tare is not None
        amount = round(value.amount - tare, 6) if known else None
        yield replace(value, quantity="fresh_weight", amount=amount)


def _of_quantity(trial: Trial, quantity: str) -> tuple[str, dict[str, Figures]]:
    grams = GRAMS["oz" if trial.mass == "lb+oz" else trial.mass]
    by_unit: dict[Unit, dict[tuple[str, int], float]] = {unit: {} for unit in trial.units}
    counts: dict[Unit, int] = {}
    last = len(trial.days) - 1
    for value in trial.values:
        if value.quantity == "count":
            counts[value.unit] = int(value.amount or 0)
        only_last = trial.kind in ONLY_LAST and value.occasion != last
        if value.quantity != quantity or value.amount is None or only_last:
            continue
        by_unit[value.unit][value.plant, value.occasion] = value.amount * grams
    by_plant = trial.plants in ("each", "one") and trial.kind != PICKINGS
    name = (
        quantity
        if by_plant or trial.plants == "count"
        else f"unit_{'dry' if quantity == 'dry_weight' else 'yield'}"
    )
    units = {
        unit: _of_unit(list(held.values()), by_plant, counts.get(unit))
        for unit, held in by_unit.items()
    }
    figures = _of_treatments(trial, units)
    if trial.plants in ("each", "one") and not by_plant:
        plants = {unit: (total, len(unit.plants)) for unit, (total, _) in units.items()}
        told = _of_treatments(trial, plants)
        figures = {
            code: replace(one, by_plant=(told[code].n, told[code].mean))
            for code, one in figures.items()
        }
    return name, figures


def _of_unit(held: list[float], by_plant: bool, count: int | None) -> tuple[float, int | None]:
    if by_plant:
        return sum(held), len(held)
    return sum(held), count


def _of_treatments(trial: Trial, units: dict[Unit, tuple[float, int | None]]) -> dict[str, Figures]:
    together: dict[str, list[tuple[float, int | None]]] = defaultdict(list)
    for unit in trial.units:
        together[treatment_name(unit)].append(units[unit])
    found = {}
    for treatment, held in together.items():
        means = [total / (number or 1) for total, number in held]
        known = [number for _, number in held if number is not None]
        plants = sum(known) if len(known) == len(held) else None
        found[treatment] = Figures(
            len(held), plants, sum(total for total, _ in held), sum(means) / len(means)
        )
    return found


def _of_areas(trial: Trial) -> dict[str, Figures]:
    units = {
        v.unit: ((v.amount or 0.0) * v.unit.area * 1000, None)
        for v in trial.values
        if v.quantity == "area_yield"
    }
    return _of_treatments(trial, units)


def _water(trial: Trial) -> dict[str, Figures]:
    units: dict[Unit, float] = defaultdict(float)
    for pour in trial.pours:
        units[pour.unit] += -pour.litres if pour.event == "remaining" else pour.litres
    figures = _of_treatments(trial, {unit: (litres, None) for unit, litres in units.items()})
    return {name: replace(one, n=None) for name, one in figures.items()}


def _energy(trial: Trial) -> dict[str, Figures]:
    found = {}
    for treatment in trial.treatments:
        readings = [one.kwh for one in trial.readings if one.treatment == treatment]
        found[treatment] = Figures(None, None, readings[-1] - readings[0], None)
    return found


def lost_of(trial: Trial) -> dict[str, int]:
    """Return how many plants each treatment lost."""
    lost = {(v.unit, v.plant) for v in trial.values if v.stands == LOST}
    found = {treatment_name(unit): 0 for unit in trial.units}
    for unit, _ in lost:
        found[treatment_name(unit)] += 1
    return found
