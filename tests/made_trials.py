"""Ten invented trials of many kinds, by name, as workbooks: for whatever must hold on every report."""

from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from functools import partial
from io import BytesIO
from pathlib import Path

import numpy as np

from tests.factor_books import DOSES, FEED, factor_book, peaking
from tests.workbooks import Sheets, write

START = date(2026, 3, 2)
DAYS = 35
HARVEST = START + timedelta(days=DAYS)
TWO = (("plain", "Plain bench"), ("warm", "Warm bench"))
FIVE = (
    ("a", "Reference feed mixed to the label, applied to the reservoir"),
    ("b", "Reference feed with twice the calcium, applied to the reservoir"),
    ("c", "Reference feed at half strength, topped up every second day"),
    ("d", "Compost extract brewed for two days and strained"),
    ("e", "Compost extract with seaweed, sprayed on leaves once a week"),
)
THREE = (("low", "Low"), ("mid", "Middle"), ("high", "High"))
LATIN = (("solo", "Bandeja sola"), ("manta", "Bandeja con manta calefactora"))


def made(
    treatments: Sequence[tuple[str, str]] = TWO,
    *,
    trays: int = 4,
    plants: int = 4,
    effects: Sequence[float] = (1.0, 1.25),
    fields: Sequence[tuple[str, object]] = (),
    grams: float = 1.0,
    litres: float = 1.0,
    units: tuple[str, str] = ("g", "L"),
    weights_only: bool = False,
    lost: Sequence[int] = (),
    seed: int = 7,
) -> Sheets:
    """Return the rows of a trial whose treatments multiply weight by `effects`, a tray of each in
    every block.

    `units` are those of weight and volume in the headers, `grams` and `litres` what one of them is.
    `lost` holds how many plants of each treatment died. Another `seed` makes another trial.
    """
    random = np.random.default_rng(seed)
    codes = [code for code, _ in treatments]
    rows, weighed, poured = [], [], []
    to_lose = dict(zip(codes, lost, strict=False))
    for block in range(1, trays + 1):
        for code, effect in zip(codes, effects, strict=True):
            tray = f"{code.upper()}{block}"
            rows.append([tray, code, f"shelf {block}", f"place {len(rows) + 1}", plants])
            level = 100 * effect * (1 + 0.03 * block) * random.lognormal(0, 0.05)
            for number in range(1, plants + 1):
                weight = level * random.lognormal(0, 0.08) / grams
                if to_lose.get(code, 0):
                    to_lose[code] -= 1
                    weighed.append([tray, number, None, "dead"])
                else:
                    weighed.append([tray, number, round(weight, 2), None])
            taken = level * plants * 0.03 * random.lognormal(0, 0.05)
            poured += [
                [tray, START, "fill", round(8 / litres, 2)],
                [tray, START + timedelta(days=20), "top-up", round(taken / litres, 2)],
                [tray, HARVEST, "remaining", round(5 / litres, 2)],
            ]
    sheets: Sheets = {
        "Trial": _trial(
            codes[0], [("Title", f"Warmth under lettuce on a cold bench, round {seed}"), *fields]
        ),
        "Treatments": [["Treatment", "Name"], *map(list, treatments)],
        "Trays": [["Tray", "Treatment", "Block", "Position", "Plants started"], *rows],
        "Plants": [["Tray", "Plant", f"Fresh weight ({units[0]})", "Status"], *weighed],
    }
    if weights_only:
        return sheets
    sheets["Solution"] = [["Tray", "Date", "Event", f"Volume ({units[1]})"], *poured]
    sheets["Meter"] = [["Meter", "Treatment", "Read at", "Reading (kWh)"], *_readings(codes, trays)]
    return sheets


def _trial(reference: str, fields: Sequence[tuple[str, object]]) -> list[list[object]]:
    usual: dict[str, object] = {
        "Question": "Does a warm bench give heavier lettuce?",
        "Crop": "Lettuce",
        "Sown on": START - timedelta(days=14),
        "Started on": START,
        "Harvested on": HARVEST,
        "Reference treatment": reference,
        "Randomised": "yes",
        "Layout": "randomised within blocks",
        "What was varied": "temperature",
        "Electricity price (per kWh)": 0.3,
        "Author": "An invented grower",
        "Keywords": "invented example",
    }
    usual |= dict(fields)
    return [
        ["Field", "Value"],
        *([name, value] for name, value in usual.items() if value is not None),
    ]


def _readings(codes: Sequence[str], trays: int) -> list[list[object]]:
    rows: list[list[object]] = []
    for at, code in enumerate(codes):
        for day, share in ((0, 0.0), (17, 0.5), (DAYS, 1.0)):
            moment = datetime(START.year, START.month, START.day, 9) + timedelta(days=day)
            rows.append([f"meter {code}", code, moment, round(100 + share * trays * (5 + at), 1)])
    return rows


def interim() -> Sheets:
    """Return a trial of which half the trays are harvested."""
    sheets = made(weights_only=True, seed=18)
    for row in sheets["Plants"][1:]:
        if str(row[0])[-1] in "34":
            row[2] = None
    return sheets


def photographed() -> Sheets:
    """Return a trial with photos of both treatments on two days, which `write_made` puts beside the
    workbook.
    """
    sheets = made(seed=19)
    head = ["Date", "Treatment", "Tray", "Observation", "Photo", "Photo description"]
    seen: list[list[object]] = []
    for week in (1, 3):
        for code, name in TWO:
            day = START + timedelta(days=7 * week)
            photo = f"{code}-{week}.png"
            seen.append(
                [
                    day,
                    code,
                    None,
                    f"{name} in week {week}",
                    photo,
                    f"A tray of lettuce, {name}, week {week}",
                ]
            )
    seen.append(
        [START + timedelta(days=9), None, None, "Thrips on two leaves, none later", None, None]
    )
    sheets["Observations"] = [head, *seen]
    return sheets


SPANISH = (
    ("Title", "Calor bajo la lechuga en una mesa fría"),
    ("Question", "¿Da lechugas más pesadas una bandeja con manta calefactora?"),
    ("Crop", "Lechuga"),
    ("Language", "es"),
    ("Keywords", "ejemplo inventado"),
    ("Currency", "EUR"),
)
SHEETS: dict[str, Callable[[], Sheets]] = {
    "one_tray_a_side": partial(made, seed=11, trays=1, fields=[("Layout", None)]),
    "five_long_names": partial(
        made,
        FIVE,
        seed=12,
        effects=(1.0, 1.02, 0.8, 1.2, 1.05),
        fields=[("Difference that matters (%)", 10)],
    ),
    "seventy_two_trays": partial(made, THREE, seed=13, trays=24, effects=(1.0, 1.06, 1.2)),
    "weights_only": partial(made, seed=14, weights_only=True),
    "losses": partial(made, seed=15, trays=5, plants=8, lost=(0, 22), weights_only=True),
    "photos": photographed,
    "spanish": partial(made, LATIN, seed=16, fields=SPANISH),
    "us_units": partial(
        made, seed=17, grams=28.349523125, litres=3.785411784, units=("oz", "US gal")
    ),
    "interim": interim,
    "doses": partial(factor_book, DOSES, FEED, peaking),
}


def write_made(folder: Path, name: str) -> Path:
    """Write a trial's workbook into a folder, its photos beside it, and return its path."""
    sheets = SHEETS[name]()
    path = write(sheets, folder / f"{name.replace('_', '-')}.xlsx")
    if name == "photos":
        for number, row in enumerate(sheets["Observations"][1:]):
            if row[4]:
                (folder / str(row[4])).write_bytes(_picture(60 * number))
    return path


def _picture(green: int) -> bytes:
    """Return a plain picture as PNG."""
    from PIL import Image

    content = BytesIO()
    Image.new("RGB", (320, 240), (40, green, 60)).save(content, "PNG")
    return content.getvalue()
