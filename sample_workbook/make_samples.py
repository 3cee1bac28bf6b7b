"""Write the sample workbooks: invented trials with simulated figures, the same ones every time.

Run `python make_samples.py [folder]`; without a folder they are written beside this file.
"""

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from io import BytesIO
from itertools import pairwise
from math import ceil
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

import numpy as np
from numpy.random import RandomState  # NumPy keeps its stream as it is for good (NEP 19)
from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.header_footer import HeaderFooter, HeaderFooterItem
from openpyxl.worksheet.properties import PageSetupProperties, WorksheetProperties
from openpyxl.worksheet.worksheet import Worksheet
from openpyxl.writer.excel import ExcelWriter

from reportgen.workbook.declaration import SHEETS, Sheet
from reportgen.workbook.headers import read_header
from reportgen.workbook.names import folded
from reportgen.workbook.vocabulary import Vocabulary, columns_by_name, sheet_names, vocabulary

Cell = str | float | date | datetime | time | None
Row = tuple[Cell, ...]
Sheets = dict[str, list[Row]]
Numbers = np.ndarray[tuple[int], np.dtype[np.float64]]

GRAMS_PER_OUNCE = 28.349523125  # exact, international avoirdupois ounce
LITRES_PER_GALLON = 3.785411784  # exact, US liquid gallon
TRAY_SPREAD = 0.045  # standard deviation of ln(tray mean), beside what its few plants add
PLANT_SPREAD = 0.13  # coefficient of variation of plants in a tray
METER_HEAD = "Read at, Meter, Treatment, Reading (kWh), Reset, Note"
NAMEPLATE = "Rated power (W), Rated efficacy (µmol/J), Equipment, Independent units"
JUG_STEP = 0.05  # the jug's marks, in litres or US gallons
SAMPLE = 0.1  # poured away with each sample, in litres or US gallons
COSTS_HEAD = "Item, Treatment, Cost, Life (h), Hours used (h)"
INSTRUMENTS_HEAD = "Instrument, Measures, Resolution, Accuracy (%), Calibrated on, Per treatment"
OBSERVATIONS_HEAD = "Date, Treatment, Tray, Observation"


# ---- what grows, drinks and draws power ----------------------------------------------------------


@dataclass(frozen=True)
class Calendar:
    """The first and last day, and the days counted from the first on which something was done."""

    started_on: date
    days: int
    top_ups: tuple[int, ...]
    samples: tuple[int, ...]
    readings: tuple[int, ...]

    def day(self, number: int) -> date:
        return self.started_on + timedelta(days=number)


@dataclass(frozen=True)
class Tank:
    """A tray's solution: its full mark and what is used by harvest, in one unit; its usual
    temperature.
    """

    tray: str
    mark: float
    used: float
    temperature: float


def stepped(value: float, step: float) -> float:
    """Return a value as an instrument with such steps shows it."""
    return round(round(value / step) * step, 4)


def tray_weights(rng: RandomState, mean: float, plants: int) -> Numbers:
    """Return the fresh weights of a tray's plants, in the unit of `mean`."""
    return mean * rng.lognormal(0, TRAY_SPREAD) * (1 + rng.normal(0, PLANT_SPREAD, plants))


def solution_log(rng: RandomState, tank: Tank, calendar: Calendar) -> list[Row]:
    """Return the rows of one tray: filled, sampled, topped up to the mark, measured at the end."""

    def row(day: int, event: str, volume: float) -> Row:
        ec = round(1.80 + 0.004 * day + rng.normal(0, 0.03), 2)
        ph = round(5.8 + 0.01 * day + rng.normal(0, 0.07), 1)
        temperature = round(tank.temperature + rng.normal(0, 0.5), 1) if day else None
        return calendar.day(day), tank.tray, event, volume, ec, ph, temperature, None

    rows = [row(0, "fill", tank.mark)]
    level = tank.mark
    for before, day in pairwise((0, *calendar.top_ups)):
        level -= used_between(tank, calendar, before, day)
        if day in calendar.samples:
            rows.append(row(day, "sample", SAMPLE))
            level -= SAMPLE
        topped_up = stepped(tank.mark - level + rng.normal(0, JUG_STEP / 2), JUG_STEP)
        rows.append(row(day, "top-up", topped_up))
        level += topped_up
    level -= used_between(tank, calendar, calendar.top_ups[-1], calendar.days)
    return [*rows, row(calendar.days, "remaining", stepped(level, JUG_STEP))]


def used_between(tank: Tank, calendar: Calendar, first: int, last: int) -> float:
    """Return what a tray used from one day to another: little at first, more as the leaves spread."""
    return tank.used * float((last / calendar.days) ** 1.8 - (first / calendar.days) ** 1.8)


def reading_hours(rng: RandomState, calendar: Calendar) -> Numbers:
    """Return when meters were read, in hours from midnight before the first day: mornings, to the
    minute.
    """
    minutes = np.sort(rng.randint(5, 55, len(calendar.readings)))
    return np.array(
        [24 * day + 8 + minute / 60 for day, minute in zip(calendar.readings, minutes, strict=True)]
    )


def hours_of(calendar: Calendar) -> Numbers:
    """Return every hour from midnight before the first day to midnight after the last."""
    return np.arange(24.0 * (calendar.days + 1))


def lit(hours: Numbers, photoperiod: float) -> Numbers:
    """Return 1 for each hour in which lamps that come on at six are on, else 0."""
    return ((hours - 6) % 24 < photoperiod).astype(float)


def meter_log(
    name: str, treatment: str, watts: Numbers, read: tuple[Calendar, Numbers, float]
) -> list[Row]:
    """Return one meter's readings. watts: by the hour; read: calendar, hours, what it first showed."""
    calendar, hours, first = read
    counter = first + np.concatenate([[0.0], np.cumsum(watts)]) / 1000
    shown = np.interp(hours, np.arange(counter.size), counter)
    midnight = datetime.combine(calendar.started_on, datetime.min.time())
    notes = ["trial started", *[None] * (hours.size - 2), "harvest"]
    return [
        (
            midnight + timedelta(minutes=round(hour * 60)),
            name,
            treatment,
            round(float(kwh), 1),
            None,
            note,
        )
        for hour, kwh, note in zip(hours, shown, notes, strict=True)
    ]


@dataclass(frozen=True)
class LitTray:
    """Where light is measured over a tray, and what share of the middle's light its corners lack."""

    along: tuple[float, ...]
    across: tuple[float, ...]
    lacking: float


def light_map(
    rng: RandomState, tray: LitTray, ppfd: float, labels: tuple[date, str, float]
) -> list[Row]:
    """Return the readings over a tray whose mean is near `ppfd`. labels: day, treatment, height of
    the sensor.
    """
    x, y = (grid.ravel() for grid in np.meshgrid(tray.along, tray.across))
    from_middle = (centred(x) ** 2 + centred(y) ** 2) / 2
    light = (1 - tray.lacking * from_middle) * rng.normal(1, 0.012, x.size)
    shown = np.round(ppfd * light / light.mean())
    day, treatment, height = labels
    return [
        (day, treatment, float(a), float(b), height, int(reading))
        for a, b, reading in zip(x, y, shown, strict=True)
    ]


def centred(places: Numbers) -> Numbers:
    """Return places along a side as -1 at its one end to 1 at its other."""
    low, high = float(places.min()), float(places.max())
    return (2 * places - low - high) / (high - low)


def lagged(course: Numbers, hours: float) -> Numbers:
    """Return what follows a course by the hour late, by a time constant, as air follows lamps and
    water follows air.
    """
    followed, level = [], float(course[:24].mean())
    for value in course:
        level += (float(value) - level) / hours
        followed.append(level)
    return np.array(followed)


def head(names: str) -> Row:
    """Return a header row."""
    return tuple(names.split(", "))


def under_heads(heads: dict[str, str], sheets: Sheets) -> Sheets:
    """Return the sheets with their header rows."""
    return {name: [head(heads[name]), *rows] for name, rows in sheets.items()}


def by_date(rows: Sequence[Row]) -> list[Row]:
    """Return rows as a log keeps them, by their first column."""
    return sorted(rows, key=lambda row: str(row[0]))


# ---- pak choi on warm and on unheated trays ------------------------------------------------------

WARMTH = Calendar(
    date(2026, 2, 16),
    36,
    (5, 10, 14, 18, 21, 24, 28, 31, 34),
    (14, 28),
    (0, 3, 7, 10, 14, 17, 21, 24, 28, 31, 35, 36),
)
WARMTH_TRIAL: list[Row] = [
    ("Field", "Value"),
    ("Title", "Warm roots for pak choi in a cold room"),
    (
        "Question",
        "Does a heat mat under the reservoir pay for itself when pak choi grows in a cold room?",
    ),
    ("Crop", "Pak choi"),
    ("Cultivar", "a green-stemmed type, own seed"),
    ("Growing system", "Deep water culture, one raft on a 15 L reservoir a tray"),
    ("Author", "The grower"),
    ("Organisation", "Hillside demonstration house (invented)"),
    ("Contact", None),
    ("Location", "Unheated north room, lamps only"),
    ("Sown on", date(2026, 2, 2)),
    ("Started on", WARMTH.started_on),
    ("Harvested on", WARMTH.day(WARMTH.days)),
    ("Reference treatment", "plain"),
    ("Experimental unit", "tray"),
    ("Layout", "randomised within blocks"),
    ("Randomised", "yes"),
    ("What was varied", "temperature"),
    ("Main measure", "Yield per plant started"),
    ("Difference that matters (%)", 10),
    ("Variances", None),
    ("Confidence level", 0.95),
    ("Currency", "EUR"),
    ("Electricity price (per kWh)", 0.31),
    ("Water price (per m3)", 2.40),
    ("Produce price (per kg)", 16.00),
    (
        "Nutrient recipe",
        "Generic two-part leafy-green feed, EC 1.8 mS/cm, pH set to 5.8 at filling",
    ),
    (
        "Disclosure",
        (
            "Invented example with simulated figures. In its story the grower bought the heat mats"
            " and all else; nobody supplied or paid for anything."
        ),
    ),
    ("Licence", "CC-BY-4.0"),
    ("Comparison", "pak choi on warm and on unheated trays"),
    (
        "Keywords",
        "invented example, pak choi, root-zone temperature, heat mat, deep water culture, winter",
    ),
    (
        "Summary",
        (
            "Our north room sits near 15 °C in late winter and pak choi is slow in it. We put a"
            " heat mat with a thermostat under **one of the two trays on each of four shelves**, a"
            " coin deciding which one, and treated both trays alike in everything else.\n\nOne"
            " plant on a plain tray damped off, and one on a warm tray was taken out after its stem"
            " snapped."
        ),
    ),
    (
        "Conclusion",
        (
            "The warm tray was the heavier one on every shelf, so we will keep the mats for early"
            " crops. The mats also used a good deal of electricity, and **whether a kilogram takes"
            " more or less of it with them we cannot tell** from four shelves. With the wear of"
            " mats and thermostat counted, a kilogram cost us more, so they pay only where an early"
            " crop fetches a better price.\n\nIt was one crop in one cold room; in a warmer room"
            " the mats would have less to do.\n\nMats and reservoirs mean mains power beside water:"
            " ours hang on a residual-current device, with drip loops in every lead, and a licensed"
            " electrician fitted the sockets to the local code."
        ),
    ),
    ("Language", "en"),
]
WARMTH_TREATMENTS: list[Row] = [
    head(
        "Treatment, Name, Description, Photoperiod (h), Lights on at, Canopy area (m2), "
        + NAMEPLATE
    ),
    (
        "plain",
        "Unheated trays",
        "Solution at room temperature, about 15 °C",
        16,
        time(6),
        0.30,
        120,
        2.5,
        "4 LED bars of 28 W, 2 air pumps of 4 W",
        4,
    ),
    (
        "warm",
        "Warm trays",
        "Heat mat under the reservoir, thermostat at 21 °C",
        16,
        time(6),
        0.30,
        200,
        2.5,
        "4 LED bars of 28 W, 2 air pumps of 4 W, 4 heat mats of 20 W",
        4,
    ),
]
WARMTH_HEADS = {
    "Trays": "Tray, Treatment, Block, Position, Plants started, Note",
    "Plants": (
        "Tray, Plant, Fresh weight (g), Dry weight (g), Leaves, Petiole length (mm), Status, Note"
    ),
    "Growth": "Date, Tray, Plant, Leaves, Petiole length (mm)",
    "Solution": "Date, Tray, Event, Volume (L), EC (mS/cm), pH, Temperature (°C), Note",
    "Meter": METER_HEAD,
    "Light": "Date, Treatment, X (cm), Y (cm), Height (cm), PPFD (µmol/m2/s)",
    "Climate": (
        "Read at, Treatment, Air temperature (°C), Relative humidity (%), Solution temperature (°C)"
    ),
    "Costs": COSTS_HEAD,
    "Instruments": INSTRUMENTS_HEAD,
    "Observations": OBSERVATIONS_HEAD,
}
WARMTH_COSTS: list[Row] = [
    ("LED bars, 8", "all", 176, 50_000, 576),
    ("Air pumps, 4", "all", 56, 20_000, 864),
    ("Heat mats, 4", "warm", 96, 15_000, 864),
    ("Thermostat with probe", "warm", 38, 30_000, 864),
    ("Nutrient feed", "all", 6.40, None, None),
    ("Plugs", "all", 3.20, None, None),
]
WARMTH_INSTRUMENTS: list[Row] = [
    ("Bench scale", "weight", "0.1 g", 0.5, date(2026, 2, 10), "no"),
    ("Measuring jug", "volume", "0.05 L", 2, date(2026, 2, 10), "no"),
    ("Plug-in meter", "energy", "0.1 kWh", 1, date(2026, 2, 12), "yes"),
    ("PPFD sensor", "light", "1 µmol/m2/s", 5, date(2025, 11, 3), "no"),
    ("Climate logger", "air temperature", "0.1 °C", 2, date(2026, 2, 12), "yes"),
    ("Climate logger", "humidity", "0.1 %", 3, date(2026, 2, 12), "yes"),
    ("EC meter", "EC", "0.01 mS/cm", 2, date(2026, 2, 15), "no"),
    ("pH meter", "pH", 0.1, 2, date(2026, 2, 15), "no"),
]
WARMTH_OBSERVATIONS: list[Row] = [
    (date(2026, 2, 16), None, None, "Transplanted with three leaves, six plugs to a raft."),
    (
        date(2026, 2, 16),
        None,
        None,
        (
            "White LED bars (4000 K by their label) hung 25 cm above the plants and were raised"
            " each week to stay so. Light was mapped at the plants' tops on the two trays of shelf"
            " 2, today and two days before harvest."
        ),
    ),
    (date(2026, 2, 16), None, None, "No CO2 was added, and none was measured."),
    (date(2026, 2, 20), "plain", "T3", "Plant 5 damped off and was taken out with its plug."),
    (
        date(2026, 3, 7),
        None,
        None,
        "Both loggers had stopped in the night, their batteries empty; new ones at noon.",
    ),
    (date(2026, 3, 9), "warm", "T6", "The stem of plant 2 snapped when the raft was lifted."),
    (
        date(2026, 3, 16),
        "warm",
        None,
        "Roots reach the bottom of the reservoirs, white, without a smell.",
    ),
    (date(2026, 3, 16), "plain", None, "Roots are white too, and about half as long."),
]
WARMTH_SEED = 118
WARMTH_SEED_BESIDE = (
    331  # of growth, light and climate, so that weights and water do not hang on them
)
WARMTH_GRAMS = {"plain": 114, "warm": 140}
SHELF_SPREAD = 0.05  # standard deviation of ln(shelf mean)
WARMTH_MEASURED = {"plants": (1, 4), "days": (0, 7, 14, 21, 28, 35)}
WARMTH_AT_FIRST = {"leaves": 3, "petiole": 14.0}  # on the first day, petioles in mm
WARMTH_LIT = LitTray((7.5, 22.5, 37.5, 52.5), (10.0, 25.0, 40.0), 0.26)
WARMTH_PPFD = {"plain": 196.0, "warm": 194.0}
WARMTH_LIGHT_DAYS = {0: 6.0, 34: 20.0}  # and the height of the plants' tops then, cm
# hours from midnight before the first day: from nine on it to eight on the last; from three on 7
# March to eleven
WARMTH_LOGGED, WARMTH_NOT_LOGGED = (9, 24 * 36 + 9), (24 * 19 + 3, 24 * 19 + 12)
WARMTH_LOST: dict[tuple[str, int], tuple[str, str]] = {
    ("T3", 5): ("dead", "damped off in the first week"),
    ("T6", 2): ("removed", "stem snapped when the raft was lifted, 9 March"),
}


def pak_choi() -> Sheets:
    """Return the sheets of the trial of warm roots: 2 treatments in 4 blocks, metric units."""
    rng = RandomState(WARMTH_SEED)
    trays = warmth_trays(rng)
    shelf = {row[2]: rng.lognormal(0, SHELF_SPREAD) for row in trays}
    plants: list[Row] = []
    solution: list[Row] = []
    for tray, treatment, block, *_ in trays:
        warm = treatment == "warm"
        weights = tray_weights(rng, WARMTH_GRAMS[str(treatment)] * shelf[block], 6)
        rows = [
            warmth_plant(rng, (str(tray), n), weight, warm) for n, weight in enumerate(weights, 1)
        ]
        plants += rows
        harvested = sum(float(row[2]) for row in rows if isinstance(row[2], float))
        used = (3.0 if warm else 2.0) + 0.0215 * harvested * rng.normal(1, 0.03)
        solution += solution_log(rng, Tank(str(tray), 15.0, used, 21.0 if warm else 15.2), WARMTH)
    beside = RandomState(WARMTH_SEED_BESIDE)
    logs = {"Trays": trays, "Plants": plants, "Growth": warmth_growth(beside, plants)}
    logs |= {"Solution": by_date(solution), "Meter": warmth_meters(rng)} | warmth_surroundings(
        beside
    )
    return {"Trial": WARMTH_TRIAL, "Treatments": WARMTH_TREATMENTS} | under_heads(
        WARMTH_HEADS, logs
    )


def warmth_trays(rng: RandomState) -> list[Row]:
    """Return both trays of each shelf, their treatments drawn for each shelf anew."""
    drawn = [rng.permutation(["plain", "warm"]) for _ in range(4)]
    return [
        (
            f"T{2 * shelf + place + 1}",
            str(drawn[shelf][place]),
            f"shelf {shelf + 1}",
            ("left", "right")[place],
            6,
            None,
        )
        for shelf in range(4)
        for place in range(2)
    ]


def warmth_plant(rng: RandomState, which: tuple[str, int], weight: float, warm: bool) -> Row:
    """Return a pak choi plant's row; weights in g."""
    dry = round(weight * (0.051 if warm else 0.054) * rng.normal(1, 0.04), 1)
    leaves = round(13 + (1 if warm else 0) + rng.normal(0, 1.1))
    petiole = round((92 if warm else 84) * rng.normal(1, 0.07))
    if lost := WARMTH_LOST.get(which):
        return *which, None, None, None, None, *lost
    return *which, round(float(weight), 1), dry, leaves, petiole, "harvested", None


def warmth_meters(rng: RandomState) -> list[Row]:
    """Return both meters' readings; thermostats keep the mats on for about a third of the time."""
    hours = hours_of(WARMTH)
    plain = 4 * 27.6 * lit(hours, 16) + 2 * 3.9
    mats = 4 * 20 * np.clip(0.40 - 0.10 * lit(hours, 16) + rng.normal(0, 0.05, hours.size), 0, 1)
    read = reading_hours(rng, WARMTH)
    return by_date(
        [
            *meter_log("plain trays", "plain", plain, (WARMTH, read, 41.7)),
            *meter_log("warm trays", "warm", plain + mats, (WARMTH, read, 3.2)),
        ]
    )


def warmth_surroundings(rng: RandomState) -> Sheets:
    """Return the sheets of light, climate, costs, instruments and of what was seen."""
    return {
        "Light": warmth_light(rng),
        "Climate": warmth_climate(rng),
        "Costs": WARMTH_COSTS,
        "Instruments": WARMTH_INSTRUMENTS,
        "Observations": WARMTH_OBSERVATIONS,
    }


def warmth_growth(rng: RandomState, plants: Sequence[Row]) -> list[Row]:
    """Return leaves and petioles of two plants of each tray week by week, on their way to what they
    had at harvest.
    """
    rows: list[Row] = []
    for tray, plant, _, _, leaves, petiole, *_ in plants:
        if (
            plant in WARMTH_MEASURED["plants"]
            and isinstance(leaves, int)
            and isinstance(petiole, int)
        ):
            measured = [
                (WARMTH.day(day), tray, plant, *measured_on(rng, day, leaves, petiole))
                for day in WARMTH_MEASURED["days"]
            ]
            rows += measured
    return by_date(rows)


def measured_on(rng: RandomState, day: int, leaves: int, petiole: int) -> tuple[int, int]:
    """Return leaves and petiole length, mm, on a day of a plant that had so much of them at
    harvest.
    """
    done = day / WARMTH.days
    first = WARMTH_AT_FIRST["leaves"]
    length = petiole * (WARMTH_AT_FIRST["petiole"] / petiole) ** ((1 - done) ** 1.5)
    return round(first + (leaves - first) * done**1.1), round(length * rng.normal(1, 0.03))


def warmth_light(rng: RandomState) -> list[Row]:
    """Return the maps of light of both treatments, at the start and near harvest."""
    rows: list[Row] = []
    for day, height in WARMTH_LIGHT_DAYS.items():
        for code, ppfd in WARMTH_PPFD.items():
            rows += light_map(
                rng, WARMTH_LIT, ppfd * rng.normal(1, 0.006), (WARMTH.day(day), code, height)
            )
    return rows


def warmth_climate(rng: RandomState) -> list[Row]:
    """Return both loggers' readings by the hour: a cold room that the lamps warm by day, its
    weather changing.
    """
    hours = hours_of(WARMTH)
    weather = lagged(rng.normal(0, 4, hours.size), 30)
    room = lagged(13.7 + 2.3 * lit(hours, 16) + weather, 3)
    water = lagged(room, 12)
    humid = 70 - 4 * (room - 15.2) + 5 * hours / hours.max()
    own = {
        "plain": (room, humid, water),
        "warm": (room + 0.2, humid + 0.5, 21 + 0.2 * (water - 15.2)),
    }
    noise = np.array([[0.15], [1.2], [0.12]])
    logs = {
        code: np.round(np.array(log) + noise * rng.normal(0, 1, (3, hours.size)), 1)
        for code, log in own.items()
    }
    midnight = datetime.combine(WARMTH.started_on, datetime.min.time())
    return [
        (midnight + timedelta(hours=hour), code, *(float(value) for value in log[:, hour]))
        for hour in range(*WARMTH_LOGGED)
        if not WARMTH_NOT_LOGGED[0] <= hour < WARMTH_NOT_LOGGED[1]
        for code, log in logs.items()
    ]


# ---- basil at three day lengths and one daily light integral -------------------------------------

DAY_LENGTH = Calendar(
    date(2026, 6, 15), 28, (7, 13, 18, 22, 25), (18,), (0, 4, 7, 11, 14, 18, 21, 25, 28)
)
DAY_LENGTH_TRIAL: list[Row] = [
    ("Field", "Value"),
    ("Title", "Basil under three day lengths, with the same light a day"),
    ("Question", "Does basil care whether its daily light comes in 12, 16 or 20 hours?"),
    ("Crop", "Basil"),
    ("Cultivar", "a large-leaved type"),
    ("Growing system", "Deep water culture, one raft on a shallow reservoir a tray"),
    ("Author", "The propagation team"),
    ("Organisation", "Example teaching greenhouse (invented)"),
    ("Contact", None),
    ("Location", "Windowless grow room, one bench"),
    ("Sown on", date(2026, 6, 1)),
    ("Started on", DAY_LENGTH.started_on),
    ("Harvested on", DAY_LENGTH.day(DAY_LENGTH.days)),
    ("Reference treatment", "h16"),
    ("Experimental unit", "tray"),
    ("Layout", "completely randomised"),
    ("Randomised", "yes"),
    ("What was varied", "light"),
    ("Main measure", "Yield per plant started"),
    ("Difference that matters (%)", 15),
    ("Variances", "separate"),
    ("Confidence level", 0.95),
    ("Currency", "USD"),
    ("Electricity price (per kWh)", None),
    ("Water price (per US gal)", 0.012),
    ("Nutrient recipe", "Generic one-part herb feed, EC 1.8 mS/cm, pH set to 5.8 at filling"),
    (
        "Disclosure",
        (
            "Invented example with simulated figures. In its story the lamps were borrowed from the"
            " teaching store and went back afterwards; nobody paid for the trial."
        ),
    ),
    ("Licence", "CC-BY-4.0"),
    (
        "Keywords",
        (
            "invented example, basil, photoperiod, day length, daily light integral, deep water"
            " culture"
        ),
    ),
    (
        "Summary",
        (
            "We gave every tray about 14.4 mol of light per square meter a day, in 12, 16 or 20"
            " hours. The shorter the day, the brighter the lamps: 333, 250 and 200 µmol/m2/s at the"
            " tops of the plants.\n\nNumbers drawn from a hat gave each tray its place on the"
            " bench; white boards between trays kept stray light out. One plant on a 12 h tray"
            " died. The meters count the lamps only.\n\nOur power costs 0.10 USD a kWh from 20:00"
            " to 8:00 and 0.24 USD from 8:00 to 20:00, which is 0.17 USD over a whole day. Lamps"
            " came on at such a time that as many of their hours as possible fell into the night."
        ),
    ),
    (
        "Conclusion",
        (
            "We saw **no difference in weight that four trays a side could settle**. That is not"
            " proof that day length does not matter: a modest effect would have slipped"
            " through.\n\nThe three used nearly the same electricity, so we will choose the day"
            " length by when power is cheap and by when people work in the room. Of the three only"
            " the 12 h day fits wholly into the cheap hours.\n\nThe lamps were switched off for"
            " handling, and every outlet near the water was on a ground-fault circuit interrupter."
        ),
    ),
    ("Language", "en"),
]
DAY_LENGTH_TREATMENTS: list[Row] = [
    head(
        "Treatment, Name, Description, Photoperiod (h), Lights on at, Canopy area (ft2), "
        + NAMEPLATE
    ),
    (
        "h12",
        "12 h day",
        "333 µmol/m2/s for 12 h",
        12,
        time(20),
        1.0,
        53,
        2.7,
        "4 LED panels of 13.3 W, one a tray",
        4,
    ),
    (
        "h16",
        "16 h day",
        "250 µmol/m2/s for 16 h",
        16,
        time(18),
        1.0,
        40,
        2.7,
        "4 LED panels of 10 W, one a tray",
        4,
    ),
    (
        "h20",
        "20 h day",
        "200 µmol/m2/s for 20 h",
        20,
        time(16),
        1.0,
        32,
        2.7,
        "4 LED panels of 8 W, one a tray",
        4,
    ),
]
DAY_LENGTH_HEADS = {
    "Trays": "Tray, Treatment, Position, Plants started, Note",
    "Plants": "Tray, Plant, Fresh weight (oz), Height (in), Side shoots, Status, Note",
    "Solution": "Date, Tray, Event, Volume (US gal), EC (mS/cm), pH, Temperature (°F), Note",
    "Meter": METER_HEAD,
    "Light": "Date, Treatment, X (in), Y (in), Height (in), PPFD (µmol/m2/s)",
    "Tariff": "From, To, Price per kWh",
    "Costs": COSTS_HEAD,
    "Instruments": INSTRUMENTS_HEAD,
    "Observations": OBSERVATIONS_HEAD,
}
DAY_LENGTH_TARIFF: list[Row] = [(time(8), time(20), 0.24), (time(20), time(8), 0.10)]
DAY_LENGTH_COSTS: list[Row] = [
    ("LED panels, price new", "h12", 132, 36_000, 336),
    ("LED panels, price new", "h16", 124, 36_000, 448),
    ("LED panels, price new", "h20", 116, 36_000, 560),
    ("Herb feed", "all", 4.20, None, None),
    ("Seed and plugs", "all", 7.80, None, None),
]
DAY_LENGTH_INSTRUMENTS: list[Row] = [
    ("Kitchen scale", "weight", "0.01 oz", 1, None, "no"),
    ("Panel meter", "energy", "0.1 kWh", None, None, "yes"),
    ("PPFD sensor", "light", "1 µmol/m2/s", 5, date(2026, 1, 20), "no"),
]
DAY_LENGTH_OBSERVATIONS: list[Row] = [
    (
        date(2026, 6, 14),
        None,
        None,
        (
            "Lamps dimmed and mapped, one empty tray of each treatment: A3 for 12 h, A4 for 16 h,"
            " A1 for 20 h."
        ),
    ),
    (
        date(2026, 6, 15),
        None,
        None,
        "The lamps are borrowed; the sheet Costs has what they cost new.",
    ),
    (
        date(2026, 6, 15),
        None,
        None,
        "Transplanted with the first true leaves open, five plugs to a raft.",
    ),
    (date(2026, 6, 25), "h12", "T03", "Plant 4 has stem rot and was taken out."),
    (
        date(2026, 7, 6),
        "h20",
        None,
        "Leaves look a little paler than on the other trays; not measured.",
    ),
    (date(2026, 7, 13), None, None, "No flower buds on any plant."),
]
DAY_LENGTH_SEED = 188
DAY_LENGTH_SEED_BESIDE = 412
DAY_LENGTH_GRAMS = {"h12": 26.8, "h16": 28.4, "h20": 29.1}
# hours a day, watts drawn by the four panels, what the meter showed at first
DAY_LENGTH_LAMPS = {"h12": (12, 53.0, 112.4), "h16": (16, 40.3, 87.9), "h20": (20, 31.9, 96.3)}

DAY_LENGTH_LIT = LitTray((1.5, 4.5, 7.5, 10.5), (1.5, 4.5, 7.5, 10.5), 0.24)
DAY_LENGTH_PPFD = {"h12": 333.0, "h16": 250.0, "h20": 200.0}


def basil() -> Sheets:
    """Return the sheets of the trial of day lengths: 3 treatments in 4 trays each, US customary
    units.
    """
    rng = RandomState(DAY_LENGTH_SEED)
    trays = day_length_trays(rng)
    lost = next(tray for tray, code, *_ in trays if code == "h12"), 4
    plants: list[Row] = []
    solution: list[Row] = []
    for tray, code, *_ in trays:
        weights = tray_weights(rng, DAY_LENGTH_GRAMS[str(code)], 5)
        plants += [
            basil_plant(rng, (str(tray), n), weight, (tray, n) == lost)
            for n, weight in enumerate(weights, 1)
        ]
        used = (1.2 + 0.044 * float(weights.sum()) * rng.normal(1, 0.03)) / LITRES_PER_GALLON
        solution += solution_log(rng, Tank(str(tray), 2.0, used, 72.0), DAY_LENGTH)
    rows = {
        "Trays": trays,
        "Plants": plants,
        "Solution": by_date(solution),
        "Meter": day_length_meters(rng),
    }
    rows |= {
        "Light": day_length_light(),
        "Tariff": DAY_LENGTH_TARIFF,
        "Costs": DAY_LENGTH_COSTS,
        "Instruments": DAY_LENGTH_INSTRUMENTS,
        "Observations": DAY_LENGTH_OBSERVATIONS,
    }
    return {"Trial": DAY_LENGTH_TRIAL, "Treatments": DAY_LENGTH_TREATMENTS} | under_heads(
        DAY_LENGTH_HEADS, rows
    )


def day_length_trays(rng: RandomState) -> list[Row]:
    """Return the trays in three rows of four, treatments drawn over all of them."""
    places = [f"{row}{column}" for row in "ABC" for column in range(1, 5)]
    drawn = rng.permutation(np.repeat(list(DAY_LENGTH_GRAMS), 4))
    pairs = enumerate(zip(drawn, places, strict=True), 1)
    return [(f"T{n:02}", str(code), place, 5, None) for n, (code, place) in pairs]


def basil_plant(rng: RandomState, which: tuple[str, int], grams: float, lost: bool) -> Row:
    """Return a basil plant's row; weight in ounces, height in inches."""
    height = round(float(rng.normal(11.5, 0.9)), 1)
    shoots = round(rng.normal(6, 1))
    if lost:
        return *which, None, None, None, "dead", "stem rot, found in the second week"
    return *which, round(float(grams) / GRAMS_PER_OUNCE, 2), height, shoots, "harvested", None


def day_length_meters(rng: RandomState) -> list[Row]:
    """Return the readings of the three lamp circuits."""
    hours = hours_of(DAY_LENGTH)
    read = reading_hours(rng, DAY_LENGTH)
    rows: list[Row] = []
    for code, (photoperiod, watts, first) in DAY_LENGTH_LAMPS.items():
        drawn = watts * lit(hours, photoperiod)
        rows += meter_log(f"circuit {photoperiod} h", code, drawn, (DAY_LENGTH, read, first))
    return by_date(rows)


def day_length_light() -> list[Row]:
    """Return a map of light of each treatment, taken the day before the start."""
    rng = RandomState(DAY_LENGTH_SEED_BESIDE)
    rows: list[Row] = []
    for code, ppfd in DAY_LENGTH_PPFD.items():
        rows += light_map(
            rng, DAY_LENGTH_LIT, ppfd * rng.normal(1, 0.008), (DAY_LENGTH.day(-1), code, 4.0)
        )
    return rows


# ---- five strengths of feed for dill in pots -----------------------------------------------------

FEED = Calendar(date(2026, 5, 4), 35, (), (), ())
FEED_TRIAL: list[Row] = [
    ("Field", "Value"),
    ("Title", "Dill in pots under five strengths of feed"),
    ("Question", "How strong should the feed be for dill in pots of peat-free mix?"),
    ("Crop", "Dill"),
    ("Cultivar", "a leafy type"),
    ("Growing system", "Pots of 1 L with peat-free mix, watered by hand"),
    ("Author", "The potting bench"),
    ("Organisation", "Example market garden (invented)"),
    ("Contact", None),
    ("Location", "Unheated tunnel, four benches"),
    ("Sown on", date(2026, 4, 13)),
    ("Started on", FEED.started_on),
    ("Harvested on", FEED.day(FEED.days)),
    ("Reference treatment", "f0"),
    ("Experimental unit", "plant"),
    ("Layout", "randomised within blocks, a bench each"),
    ("Randomised", "yes"),
    ("What was varied", "nutrient strength"),
    ("Main measure", "Fresh weight"),
    ("Difference that matters (%)", 10),
    ("Variances", None),
    ("Confidence level", 0.95),
    ("Currency", "EUR"),
    ("Nutrient recipe", "Generic dry feed dissolved in tap water, 100 mL to each pot twice a week"),
    (
        "Disclosure",
        "Invented example with simulated figures. In its story nothing was given or lent.",
    ),
    ("Licence", "CC-BY-4.0"),
    ("Keywords", "invented example, dill, feed, dose, nutrient strength, pots"),
    (
        "Summary",
        (
            "Twenty pots, one plant each: four for every strength from plain water to 3 g/L. Each"
            " of the four benches held one pot of each strength, drawn from a bag of numbered"
            " corks."
        ),
    ),
    (
        "Conclusion",
        (
            "We will mix the feed **at a good one and a half grams a litre**: weaker starves the"
            " plants, stronger costs more and gives less."
        ),
    ),
    ("Language", "en"),
]
FEED_DOSES = (0.0, 0.5, 1.0, 2.0, 3.0)  # g/L
FEED_HEADS = {
    "Treatments": "Treatment, Name, Factor: feed (g/L), Description, Independent units",
    "Trays": "Tray, Treatment, Block, Position, Plants started, Note",
    "Plants": "Tray, Plant, Fresh weight (g), Height (cm), Status, Note",
    "Instruments": INSTRUMENTS_HEAD,
    "Observations": OBSERVATIONS_HEAD,
}
FEED_INSTRUMENTS: list[Row] = [("Letter scale", "weight", "0.1 g", 0.5, date(2026, 4, 1), "no")]
FEED_OBSERVATIONS: list[Row] = [
    (date(2026, 5, 18), "f0", None, "Lowest leaves turn yellow."),
    (date(2026, 5, 29), "f30", None, "Tips of some leaves are brown."),
]
FEED_SEED = 77
FEED_GRAMS = 11.0  # a plant without feed
FEED_SLOPE, FEED_BEND = (
    0.95,
    -0.29,
)  # of the logarithm of weight, for 1 g/L; the best dose is 0.95 / 0.58 = 1.64 g/L
FEED_SPREAD = 0.15  # standard deviation of the logarithm of a pot's weight
BENCH_STEPS = (-0.06, -0.01, 0.02, 0.05)  # what the benches add to the logarithm of weight


def dill() -> Sheets:
    """Return the sheets of the trial of doses: 5 strengths of feed in 4 pots each, a pot of each on
    every bench.
    """
    rng = RandomState(FEED_SEED)
    codes = {f"f{round(10 * dose)}": dose for dose in FEED_DOSES}
    treatments: list[Row] = [
        (code, f"{dose:g} g/L of feed", dose, "Plain water" if not dose else None, 4)
        for code, dose in codes.items()
    ]
    pots: list[Row] = []
    plants: list[Row] = []
    for bench, step in enumerate(BENCH_STEPS, 1):
        for place, code in enumerate(rng.permutation(list(codes)), 1):
            pot = f"P{len(pots) + 1:02}"
            pots.append((pot, str(code), f"bench {bench}", f"{bench}-{place}", 1, None))
            plants.append((pot, 1, *dill_plant(rng, codes[str(code)], step), "harvested", None))
    rows = {"Treatments": treatments, "Trays": pots, "Plants": plants}
    rows |= {"Instruments": FEED_INSTRUMENTS, "Observations": FEED_OBSERVATIONS}
    return {"Trial": FEED_TRIAL} | under_heads(FEED_HEADS, rows)


def dill_plant(rng: RandomState, dose: float, bench: float) -> tuple[float, float]:
    """Return the weight in grams and the height in centimetres of a plant under a dose of feed."""
    response = FEED_SLOPE * dose + FEED_BEND * dose**2 + bench
    grams = FEED_GRAMS * float(np.exp(response + rng.normal(0, FEED_SPREAD)))
    height = 21 * float(np.exp(0.4 * response + rng.normal(0, 0.05)))
    return round(grams, 1), round(height, 1)


# ---- cherry tomatoes under two lights in pots of two sizes, picked five times: a workbook in Spani

DUSK = Calendar(date(2026, 4, 6), 91, (), (), ())
DUSK_PICKED = (63, 70, 77, 84, 91)  # days of picking
DUSK_TRIAL: list[Row] = [
    ("Campo", "Valor"),
    ("Título", "Luz de apoyo y tamaño de maceta para tomates cereza"),
    (
        "Pregunta",
        (
            "¿Dan más cuatro horas de luz de apoyo al anochecer que dos, en maceta pequeña y en"
            " grande?"
        ),
    ),
    ("Cultivo", "Tomate cereza"),
    ("Cultivar", "un tipo de mata baja, semilla propia"),
    (
        "Sistema de cultivo",
        "Macetas de 6 o de 12 L con corteza y compost, una planta por maceta, riego a mano",
    ),
    ("Autor", "La hortelana"),
    ("Organización", "Galería de la escuela taller (inventada)"),
    ("Contacto", None),
    ("Lugar", "Galería acristalada orientada al este"),
    ("Sembrado el", date(2026, 2, 20)),
    ("Iniciado el", DUSK.started_on),
    ("Cosechado el", DUSK.day(DUSK.days)),
    ("Tratamiento de referencia", "p2"),
    ("Unidad experimental", "planta"),
    ("Diseño", "sorteo dentro de cada repisa"),
    ("Aleatorizado", "sí"),
    ("Qué se varió", "luz"),
    ("Medida principal", "Rendimiento comercial"),
    ("Diferencia que importa (%)", 10),
    ("Varianzas", None),
    ("Nivel de confianza", 0.95),
    ("Moneda", "EUR"),
    ("Precio de la electricidad (por kWh)", 0.24),
    ("Precio de venta (por kg)", 6.50),
    ("Receta de nutrientes", "Abono orgánico para tomate, 20 g por maceta cada tres semanas"),
    (
        "Declaración de intereses",
        (
            "Ejemplo inventado con cifras simuladas. En su historia la hortelana lo compró todo; no"
            " recibió nada de nadie."
        ),
    ),
    ("Licencia", "CC-BY-4.0"),
    (
        "Palabras clave",
        (
            "ejemplo inventado, tomate cereza, luz de apoyo, tamaño de maceta, cosecha escalonada,"
            " destrío"
        ),
    ),
    (
        "Resumen",
        (
            "La galería mira al este y desde media tarde se queda en sombra. Colgamos una lámpara"
            " sobre cada maceta y la encendimos al anochecer. Cada una de las cuatro repisas llevó"
            " **dos macetas pequeñas y dos grandes; de cada tamaño, una con dos horas de luz y otra"
            " con cuatro**. Los lugares salieron de un sorteo.\n\nRecogimos cada lunes durante"
            " cinco semanas. Cada fruto fue a una de dos cajas: primera, que se vende, y destrío"
            " (rajados o mal coloreados)."
        ),
    ),
    (
        "Conclusión",
        (
            "Con cuatro horas recogimos más que con dos, y en maceta grande más que en pequeña."
            " **En las pequeñas acabó más fruto en el destrío.** Si la luz rinde igual en los dos"
            " tamaños, dieciséis macetas no bastan para saberlo; tampoco si lo recogido de más paga"
            " la electricidad y el sustrato.\n\nEl año que viene regaremos las pequeñas dos veces"
            " al día desde la primera flor.\n\nLas lámparas son de baja tensión; el transformador"
            " cuelga fuera del alcance del agua, tras un diferencial."
        ),
    ),
    ("Idioma", "es"),
]
DUSK_HEADS = {
    "Tratamientos": (
        "Tratamiento, Nombre, Factor: luz (h), Factor: maceta, Descripción, Superficie del dosel"
        " (m2), Potencia nominal (W), Eficacia nominal (µmol/J), Equipo, Unidades independientes"
    ),
    "Bandejas": "Bandeja, Tratamiento, Bloque, Posición, Plantas iniciadas, Comentario",
    "Plantas": "Bandeja, Planta, Altura (cm), Estado, Comentario",
    "Cosechas": "Fecha, Bandeja, Categoría, Peso (g), Piezas, Comentario",
    "Aparatos": "Tratamiento, Aparato, Potencia (W), Horas por día (h)",
    "Costos": "Concepto, Tratamiento, Costo, Vida útil (h), Horas de uso (h)",
    "Instrumentos": "Instrumento, Mide, Resolución, Exactitud (%), Calibrado el, Por tratamiento",
    "Observaciones": "Fecha, Tratamiento, Bandeja, Observación",
}
DUSK_LAMPS = "4 lámparas LED de 25 W"
DUSK_INSTRUMENTS: list[Row] = [("Balanza de cocina", "peso", "1 g", 1, date(2026, 4, 2), "no")]
DUSK_OBSERVATIONS: list[Row] = [
    (date(2026, 4, 6), None, None, "Trasplante a la maceta definitiva, con seis hojas verdaderas."),
    (date(2026, 5, 11), None, None, "Primeras flores en todas las macetas."),
    (
        date(2026, 6, 15),
        None,
        None,
        "Las macetas pequeñas se secan por la tarde; desde hoy las regamos dos veces al día.",
    ),
    (date(2026, 7, 6), None, None, "Última recogida; quedan frutos verdes, que no se contaron."),
]
DUSK_SEED = 103
DUSK_SHELVES = 4
DUSK_POT_SPREAD, DUSK_SHELF_SPREAD = (
    0.08,
    0.04,
)  # standard deviation of ln(pot mean), of ln(shelf mean)
DUSK_RIPE = (
    0.12,
    1.2,
    1.5,
    1.3,
    0.9,
)  # how much ripened by each day of picking, 1 an ordinary week


@dataclass(frozen=True)
class Care:
    """A combination of size of pot and hours of light, and what it does to a plant.

    fruits: of an ordinary week; cracked: share of them; height: in cm.
    """

    pot: str
    hours: int
    fruits: float
    cracked: float
    height: float


DUSK_LITRES = {"pequeña": 6, "grande": 12}  # of a pot
DUSK_CARE = {  # light does more in a large pot, though four pots of each may not show it
    "p2": Care("pequeña", 2, 13.0, 0.10, 68),
    "p4": Care("pequeña", 4, 15.5, 0.10, 72),
    "g2": Care("grande", 2, 16.0, 0.06, 75),
    "g4": Care("grande", 4, 21.5, 0.06, 80),
}
DUSK_GRAMS = {"primera": 13.0, "destrío": 11.5}  # of a fruit


def tomato() -> Sheets:
    """Return the sheets of the trial of light at dusk and size of pot: 4 combinations on 4 shelves,
    a pot a plant.
    """
    rng = RandomState(DUSK_SEED)
    pots = dusk_pots(rng)
    shelf = {row[2]: rng.lognormal(0, DUSK_SHELF_SPREAD) for row in pots}
    plants: list[Row] = []
    harvests: list[Row] = []
    for pot, treatment, block, *_ in pots:
        care = DUSK_CARE[str(treatment)]
        vigour = shelf[block] * rng.lognormal(0, DUSK_POT_SPREAD)
        plants.append((pot, 1, round(care.height * vigour**0.5 + rng.normal(0, 3)), None, None))
        harvests += dusk_pickings(rng, str(pot), care, vigour)
    rows: Sheets = {
        "Tratamientos": [dusk_treatment(code, care) for code, care in DUSK_CARE.items()],
        "Bandejas": pots,
        "Plantas": plants,
        "Cosechas": by_date(harvests),
        "Aparatos": [(code, DUSK_LAMPS, 100, care.hours) for code, care in DUSK_CARE.items()],
        "Costos": dusk_costs(),
        "Instrumentos": DUSK_INSTRUMENTS,
        "Observaciones": DUSK_OBSERVATIONS,
    }
    return {"Ensayo": DUSK_TRIAL} | under_heads(DUSK_HEADS, rows)


def dusk_treatment(code: str, care: Care) -> Row:
    """Return the row of a combination on the sheet of treatments."""
    name = f"{care.pot.capitalize()} {care.hours}\u00a0h"  # no break before the unit
    description = (
        f"Maceta de {DUSK_LITRES[care.pot]} L, luz de apoyo {care.hours} horas desde el anochecer"
    )
    return code, name, care.hours, care.pot, description, 0.16, 100, 2.4, DUSK_LAMPS, DUSK_SHELVES


def dusk_costs() -> list[Row]:
    """Return what lamps, compost and feed cost; compost by the litre."""
    rows: list[Row] = []
    for code, care in DUSK_CARE.items():
        rows.append(("Lámparas LED", code, 72, 20_000, DUSK.days * care.hours))
    for code, care in DUSK_CARE.items():
        rows.append(
            (
                "Corteza y compost",
                code,
                round(0.30 * DUSK_SHELVES * DUSK_LITRES[care.pot], 2),
                None,
                None,
            )
        )
    return [*rows, ("Abono", "todos", 12.80, None, None)]


def dusk_pots(rng: RandomState) -> list[Row]:
    """Return the pots of each shelf, a combination each, their places drawn for each shelf anew."""
    rows: list[Row] = []
    for shelf in range(1, DUSK_SHELVES + 1):
        for place, code in enumerate(rng.permutation(list(DUSK_CARE)), 1):
            rows.append(
                (f"M{len(rows) + 1:02}", str(code), f"repisa {shelf}", f"{shelf}-{place}", 1, None)
            )
    return rows


def dusk_pickings(rng: RandomState, pot: str, care: Care, vigour: float) -> list[Row]:
    """Return a pot's pickings: a row a day and grade; where nothing was ripe, one of nothing."""
    rows: list[Row] = []
    for day, ripe in zip(DUSK_PICKED, DUSK_RIPE, strict=True):
        fruits = int(rng.poisson(care.fruits * vigour * ripe))
        culls = int(rng.binomial(fruits, care.cracked))
        for grade, count in (("primera", fruits - culls), ("destrío", culls)):
            if count:
                grams = count * DUSK_GRAMS[grade] * rng.normal(1, 0.18 / count**0.5)
                rows.append((DUSK.day(day), pot, grade, round(grams), count, None))
        if not fruits:
            rows.append((DUSK.day(day), pot, None, 0, 0, "nada maduro"))
    return rows


# ---- how a sheet looks ---------------------------------------------------------------------------

DECLARED = {sheet.name: sheet for sheet in SHEETS}
HEAD_FILL = PatternFill("solid", fgColor="DCE6DA")
HEAD_FONT = Font(bold=True)
TEXT = Alignment(wrap_text=True, vertical="top", horizontal="left", indent=1)
NUMBER = Alignment(wrap_text=True, vertical="top", horizontal="right")
LINE_HEIGHT = 15  # points
CHARACTERS_SPARE = 3  # of a column's width, taken by the indent and by words that do not break
LINE = Side(style="thin", color="9AA59A")
FIELD_WIDTHS = {"A": 36, "B": 100}  # of the sheet of the trial: field, value
WIDTHS = {
    "Description": 34,
    "Equipment": 38,
    "Note": 52,
    "Read at": 18,
    "Name": 18,
    "Meter": 16,
    "Item": 44,
    "Instrument": 44,
    "Measures": 18,
    "Observation": 90,
}
FORMATS = {
    "Date": "yyyy-mm-dd",
    "Read at": "yyyy-mm-dd hh:mm",
    "Calibrated on": "yyyy-mm-dd",
    "Lights on at": "hh:mm",
    "From": "hh:mm",
    "To": "hh:mm",
    "Canopy area (m2)": "0.00",
    "Canopy area (ft2)": "0.00",
    "Rated efficacy (µmol/J)": "0.0",
    "Fresh weight (g)": "0.0",
    "Fresh weight (oz)": "0.00",
    "Dry weight (g)": "0.0",
    "Weight (g)": "0",
    "Height (in)": "0.0",
    "Factor: feed (g/L)": "0.0",
    "Volume (L)": "0.00",
    "Volume (US gal)": "0.00",
    "EC (mS/cm)": "0.00",
    "pH": "0.0",
    "Temperature (°C)": "0.0",
    "Temperature (°F)": "0.0",
    "Reading (kWh)": "0.0",
    "X (cm)": "0.0",
    "Y (cm)": "0.0",
    "X (in)": "0.0",
    "Y (in)": "0.0",
    "Air temperature (°C)": "0.0",
    "Relative humidity (%)": "0.0",
    "Solution temperature (°C)": "0.0",
    "Price per kWh": "0.00",
    "Cost": "0.00",
    "Life (h)": "#,##0",
}
FIELD_FORMATS = {
    "Sown on": "yyyy-mm-dd",
    "Started on": "yyyy-mm-dd",
    "Harvested on": "yyyy-mm-dd",
    "Confidence level": "0%",
    "Electricity price (per kWh)": "0.00",
    "Water price (per m3)": "0.00",
    "Water price (per US gal)": "0.000",
}
YES_OR_NO = ("yes", "no")
LAST_CODE = {"Treatments": 50, "Trays": 200}  # the last row of codes that a list offers
Offered = str | tuple[str, ...]  # the codes of a sheet, or words
DROPDOWNS: dict[str, dict[str, Offered]] = {
    "Trays": {"Treatment": "Treatments"},
    "Plants": {"Tray": "Trays", "Status": ("harvested", "dead", "removed")},
    "Solution": {"Tray": "Trays", "Event": ("fill", "top-up", "sample", "drain", "remaining")},
    "Meter": {"Treatment": "Treatments", "Reset": YES_OR_NO},
    "Growth": {"Tray": "Trays"},
    "Harvests": {"Tray": "Trays"},
    "Light": {"Treatment": "Treatments"},
    "Instruments": {
        "Measures": (
            "weight",
            "volume",
            "energy",
            "light",
            "air temperature",
            "humidity",
            "EC",
            "pH",
        ),
        "Per treatment": YES_OR_NO,
    },
    "Observations": {"Treatment": "Treatments", "Tray": "Trays"},
}
FIELD_DROPDOWNS: dict[str, Offered] = {
    "Reference treatment": "Treatments",
    "Experimental unit": ("tray", "plant"),
    "Randomised": YES_OR_NO,
    "Variances": ("separate", "pooled"),
}
LAST_ROW_WITH_DROPDOWN = 500
A4, LETTER = 9, 1  # paper sizes, ECMA-376 part 1, 18.3.1.63
WRITTEN_AT = datetime(2026, 9, 1, 12, 0)  # fixed, so that the same figures give the same file


@dataclass(frozen=True)
class Page:
    """A sheet that is being written: its cells, what is declared of it, and the language it is in."""

    cells: Worksheet
    declared: Sheet
    words: Vocabulary

    def in_english(self, name: str) -> str:
        """Return a header or a field as the declaration has it, with its unit; one of the grower's
        own as it is.
        """
        found = read_header(name, 1, 1)
        column = columns_by_name(self.declared).get(found.folded)
        if column is None:
            return name
        unit = found.unit.replace(f"{self.words.per} ", "per ")
        return f"{column.name} ({unit})" if unit else column.name


def write(path: Path, sheets: Sheets, paper: int, language: str = "en") -> None:
    """Write the sheets, which are in a language, to a workbook whose bytes depend on nothing but
    its content.
    """
    book = Workbook()
    book.remove(book.worksheets[0])
    words = vocabulary(language)
    for name, rows in sheets.items():
        declared = DECLARED[sheet_names()[folded(name)]]
        fill(Page(book.create_sheet(name), declared, words), rows, paper)
    book.properties.creator = "reportgen sample workbooks"
    book.properties.title = str(sheets[words.sheet_name("Trial")][1][1])
    book.properties.created = book.properties.modified = WRITTEN_AT
    buffer = BytesIO()
    ExcelWriter(book, ZipFile(buffer, "w")).save()
    with ZipFile(buffer) as source, ZipFile(path, "w") as target:
        for name in source.namelist():
            target.writestr(
                ZipInfo(name, WRITTEN_AT.timetuple()[:6]), source.read(name), ZIP_DEFLATED
            )


def fill(page: Page, rows: Sequence[Row], paper: int) -> None:
    """Put the rows, their formats, dropdowns and print settings into an empty sheet."""
    sheet = page.cells
    for row in rows:
        sheet.append(row)
    sheet.freeze_panes = "A2"
    if page.declared.vertical:
        format_fields(page)
    else:
        for number in range(1, len(rows[0]) + 1):
            format_column(page, number)
    mark_heads(sheet)
    for number in range(1, len(rows) + 1):
        set_height(sheet, number)
    rule_between_groups(sheet)
    prepare_for_print(sheet, paper)


def format_column(page: Page, number: int) -> None:
    """Set a column's width, alignment, number format and dropdown."""
    letter = get_column_letter(number)
    cells = page.cells[letter]
    said = str(cells[0].value)
    head = page.in_english(said)
    page.cells.column_dimensions[letter].width = WIDTHS.get(head, max(12, min(len(said) + 4, 24)))
    numeric = any(isinstance(cell.value, float | int) for cell in cells)
    for cell in cells:
        cell.alignment = NUMBER if numeric else TEXT
        cell.number_format = FORMATS.get(head, "General")
    if offered := DROPDOWNS.get(page.declared.name, {}).get(head):
        add_dropdown(page, offered, f"{letter}2:{letter}{LAST_ROW_WITH_DROPDOWN}")


def mark_heads(sheet: Worksheet) -> None:
    """Set the headers apart from what stands below."""
    for head in sheet[1]:
        head.font, head.fill, head.border = HEAD_FONT, HEAD_FILL, Border(bottom=LINE)


def set_height(sheet: Worksheet, row: int) -> None:
    """Give a row the height of its longest wrapped text: not every spreadsheet program does so by
    itself.
    """
    lines = [1]
    for column, cell in enumerate(sheet[row], 1):
        text = cell.value if isinstance(cell.value, str) else ""
        width = sheet.column_dimensions[get_column_letter(column)].width - CHARACTERS_SPARE
        lines.append(sum(max(1, ceil(len(part) / width)) for part in text.split("\n")))
    sheet.row_dimensions[row].height = LINE_HEIGHT * max(lines)


def format_fields(page: Page) -> None:
    """Set widths, alignment, number format and dropdown of the fields of a trial."""
    for letter, width in FIELD_WIDTHS.items():
        page.cells.column_dimensions[letter].width = width
    for name, value in page.cells.iter_rows():
        field = page.in_english(str(name.value))
        name.font = HEAD_FONT
        name.alignment = value.alignment = TEXT
        value.number_format = FIELD_FORMATS.get(field, "General")
        if offered := FIELD_DROPDOWNS.get(field):
            add_dropdown(page, offered, value.coordinate)


def add_dropdown(page: Page, offered: Offered, cells: str) -> None:
    """Let cells take one of the codes or words offered, or nothing."""
    validation = DataValidation(type="list", formula1=listed(page.words, offered), allow_blank=True)
    validation.showErrorMessage, validation.error = (
        True,
        page.words.text("Choose one from the list."),
    )
    validation.add(cells)
    page.cells.add_data_validation(validation)


def listed(words: Vocabulary, offered: Offered) -> str:
    """Return the formula of a list: the codes of a sheet, or words in the language of the workbook."""
    if isinstance(offered, str):
        return f"={words.sheet_name(offered)}!$A$2:$A${LAST_CODE[offered]}"
    flags = {"yes": words.yes[0], "no": words.no[0]}
    said = [flags.get(word) or words.word(word) for word in offered]
    return f'"{",".join(said)}"'


def rule_between_groups(sheet: Worksheet) -> None:
    """Draw a line above each row whose first cell differs in day or code from the row before."""
    for above, below in pairwise(sheet.iter_rows(min_row=2)):
        if str(above[0].value)[:10] != str(below[0].value)[:10]:
            for cell in below:
                cell.border = Border(top=LINE)


def prepare_for_print(sheet: Worksheet, paper: int) -> None:
    """Print landscape, as wide as the page, the header on every page."""
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = paper
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties = WorksheetProperties(pageSetUpPr=PageSetupProperties(fitToPage=True))
    sheet.print_title_rows = "1:1"
    footer = HeaderFooterItem()
    footer.left.text, footer.right.text = "&A", "&P / &N"
    sheet.HeaderFooter = HeaderFooter(oddFooter=footer)


def write_samples(folder: Path) -> None:
    """Write the sample workbooks into a folder."""
    write(folder / "pak-choi-root-warmth.xlsx", pak_choi(), A4)
    write(folder / "basil-day-length.xlsx", basil(), LETTER)
    write(folder / "dill-feed-strength.xlsx", dill(), A4)
    write(folder / "tomate-cereza-luz-de-apoyo.xlsx", tomato(), A4, "es")


if __name__ == "__main__":
    write_samples(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
