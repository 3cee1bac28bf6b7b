"""Logs as growers keep them, all invented and seeded: what each holds, and what must come of it."""

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Final

import openpyxl
import xlwt

Rows = list[tuple[Any, ...]]
SEED: Final = 20
BEGIN: Final = datetime(2026, 1, 5)


@dataclass(frozen=True)
class Example:
    """A log: the files that `write` makes in a folder, the log itself first, and what a person reads in them.

    `columns` pairs declared columns with headers, of the table of plants; `asked` are the kinds of questions beside
    those that every log leaves open, `planted` the cells of silent errors, `answers` what its owner says by kind,
    column or code, `means` the fresh weights in g by treatment.
    """

    name: str
    write: Callable[[Path, random.Random], list[Path]]
    tables: int
    columns: Mapping[str, str]
    means: Mapping[str, float]
    asked: frozenset[str] = frozenset()
    planted: tuple[str, ...] = ()
    answers: Mapping[str, str] = field(default_factory=dict)
    mended: str = ""  # what its owner then writes in the first table


def _weights(random: random.Random, mean: float, count: int) -> list[float]:
    """Return weights that vary by a tenth and have exactly this mean."""
    half = [round(mean * random.uniform(0.01, 0.15), 1) for _ in range(count // 2)]
    return [round(mean + sign * one, 1) for one in half for sign in (1, -1)]


def _book(path: Path, **sheets: Rows) -> list[Path]:
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name, rows in sheets.items():
        sheet = made.create_sheet(name.replace("_", " "))
        for row in rows:
            sheet.append(row)
    made.save(path)
    return [path]


def _shelves(random: random.Random, means: Mapping[str, float], each: int = 3, plants: int = 4) -> Rows:
    """Return a row for each plant: shelf, treatment, plant, weight."""
    rows = []
    letters = iter("ABCDEFGHIJKL")
    for kind, mean in means.items():
        for _ in range(each):
            shelf = next(letters)
            held = enumerate(_weights(random, mean, plants), 1)
            rows += [(shelf, kind, number, weight) for number, weight in held]
    return rows


def _old_workbook(folder: Path, random: random.Random) -> list[Path]:
    made = xlwt.Workbook()
    for name, mean in (("plain water", 40.0), ("seaweed feed", 46.0)):
        sheet = made.add_sheet(name)
        lines: Rows = [("Harvest of week 6",), (), ("Tub", "Plant", "Fresh wt (g)", "Height cm", "Remarks")]
        for tub in range(1, 5):
            held = enumerate(_weights(random, mean, 4), 1)
            lines += [(f"tub {tub}" if at == 1 else "", at, weight, 10 + at, "") for at, weight in held]
        for row, line in enumerate([*lines, ("Average", "", mean)]):
            for column, value in enumerate(line):
                sheet.write(row, column, value)
    made.save(str(folder / "tubs.xls"))
    return [folder / "tubs.xls"]


def _row_eleven(folder: Path, random: random.Random) -> list[Path]:
    above: Rows = [("Winter trial, back room",), ("Crop", "basil"), ("Sown", "2025-12-20"), ()]
    above += [("Start", "2026-01-05"), ("Harvest", "2026-02-16"), (), ("Scale in the shed",), (), ()]
    rows = _shelves(random, {"Y": 1.4, "N": 1.2})
    body = [(*row[:3], f"{row[3]:.2f}", str(9 + at % 6)) for at, row in enumerate(rows)]
    dead = ("F", "N", 5, "dead", None)
    total = (None, None, "total", f"{sum(row[3] for row in rows):.2f}", None)
    head = ("Shelf", "Warm?", "Plant #", "wt (oz)", "leaves")
    return _book(folder / "row eleven.xlsx", Harvest_wk_5=[*above, head, *body, dead, total])


def _file_names(folder: Path, random: random.Random) -> list[Path]:
    paths = []
    for name, mean in (("chard_blue_mulch", 210.0), ("chard_no_mulch", 190.0)):
        rows = [
            f"{bed},{number},{weight}"
            for bed in ("N1", "N2", "N3")
            for number, weight in enumerate(_weights(random, mean, 4), 1)
        ]
        paths.append(folder / f"{name}.csv")
        paths[-1].write_text("\n".join(["Bed,Plant,Fresh mass (g)", *rows]) + "\n")
    return paths


def _french(folder: Path, random: random.Random) -> list[Path]:
    lines = ["Essai de printemps;;;;", ";;;;", "Bac;Traitement;Plante n°;Masse fraîche (g);Date de récolte"]
    for bac, kind, plant, weight in _shelves(random, {"témoin": 55.0, "compost": 61.0}):
        lines.append(f"{bac};{kind};{plant};{str(weight).replace('.', ',')};14/02/2026")
    path = folder / "essai.csv"
    path.write_bytes("\r\n".join([*lines, "Moyenne;;;58,0;", ""]).encode("cp1252"))
    return [path]


def _month(folder: Path, random: random.Random) -> list[Path]:
    days = [BEGIN + timedelta(days=day) for day in range(43)]
    power = [
        ("Date", "Long day kWh", "Short day kWh"),
        *((day, 1200 + 2.2 * at, 800 + 1.6 * at) for at, day in enumerate(days)),
    ]
    times = [BEGIN + timedelta(minutes=30 * half) for half in range(42 * 48)]
    air = [(time, round(random.gauss(21, 1), 1), round(random.gauss(60, 4), 1)) for time in times]
    plants = [("Shelf", "Light", "Plant", "Fresh weight (g)"), *_shelves(random, {"long day": 30.0, "short day": 26.0})]
    logger = [("Logger 3, by the fan",), (), ("Time", "Temp (°C)", "RH (% RH)"), *air]
    return _book(folder / "month.xlsx", Plants=plants, Power=power, Logger=logger)


def _wide(folder: Path, random: random.Random) -> list[Path]:
    columns = [_weights(random, mean, 6) for mean in (20.0, 25.0, 22.0, 27.0)]
    rows = [(plant + 1, *(column[plant] for column in columns)) for plant in range(6)]
    return _book(folder / "wide.xlsx", Weights=[("Fresh weight, g",), (), ("Plant", "T1", "T2", "T3", "T4"), *rows])


def _german(folder: Path, random: random.Random) -> list[Path]:
    rows = [(*row[:3], str(row[3]).replace(".", ",")) for row in _shelves(random, {"Bach": 88.0, "Regen": 91.0})]
    plants = [("Wanne", "Variante", "Pflanze Nr.", "Frischgewicht"), (None, None, None, "g"), *rows]
    events = [("05.01.2026", "Füllung", 20), ("19.01.2026", "nachgefüllt", 5), ("16.02.2026", "Rest", 4)]
    water = [(day, tub, event, litres, 1400, 6.1) for tub in "ABCDEF" for day, event, litres in events]
    return _book(
        folder / "ernte.xlsx", Ernte=plants, Lösung=[("Datum", "Wanne", "Vorgang", "Liter", "EC (µS/cm)", "pH"), *water]
    )


def _slips(folder: Path, random: random.Random) -> list[Path]:
    """Write a log with a slipped decimal point, a sum among the rows and a treatment that is misspelt once."""
    rows = _shelves(random, {"deep": 40.0, "shallow": 36.0}, plants=6)
    rows[4] = (*rows[4][:3], round(rows[4][3] * 10, 1))
    rows[20] = (rows[20][0], "shalow", *rows[20][2:])
    rows.insert(18, (None, None, None, round(sum(row[3] for row in rows[12:18]), 1)))
    return _book(folder / "slips.xlsx", Log=[("Bed", "Treatment", "Plant", "Fresh weight (g)"), *rows])


def _side_by_side(folder: Path, random: random.Random) -> list[Path]:
    warm, cold = (_weights(random, mean, 8) for mean in (31.0, 27.0))
    rows = [(f"P{at + 1}", warm[at], None, f"P{at + 9}", cold[at]) for at in range(8)]
    head = ("Pot", "fresh wt g", None, "Pot", "fresh wt g")
    return _book(folder / "two blocks.xlsx", Sheet1=[("warm bench", None, None, "cool bench", None), head, *rows])


def _spanish(folder: Path, random: random.Random) -> list[Path]:
    rows = [
        ("", "", row[2], row[3]) if row[2] > 1 else row for row in _shelves(random, {"testigo": 70.0, "algas": 77.0})
    ]
    return _book(
        folder / "cosecha.xlsx",
        Cosecha=[("Bandeja", "Tratamiento", "Planta", "Peso fresco"), *rows],
        Notas=[("Peso fresco en gramos",), ("Cosecha de la mañana",)],
    )


def _sections(folder: Path, random: random.Random) -> list[Path]:
    rows: Rows = [("Pot", "Frischmasse [g]", "Höhe")]
    for name, mean, first in (("ohne Kalk", 18.0, 0), ("mit Kalk", 21.0, 8)):
        rows.append((name,))
        rows += [(f"P{first + at}", weight, 9.5) for at, weight in enumerate(_weights(random, mean, 8), 1)]
    return _book(folder / "kalk.xlsx", Tabelle1=rows)


OZ: Final = 28.349523125  # g, exact: international yard and pound agreement of 1959
EXAMPLES: Final = (
    Example(
        "one sheet a treatment, .xls",
        _old_workbook,
        2,
        {"Tray": "Tub", "Plant": "Plant", "Fresh weight": "Fresh wt (g)", "Height": "Height cm", "Note": "Remarks"},
        {"plain water": 40.0, "seaweed feed": 46.0},
        answers={"independent": "Tub"},
    ),
    Example(
        "headers on row 11, text numbers",
        _row_eleven,
        1,
        {"Tray": "Shelf", "Treatment": "Warm?", "Plant": "Plant #", "Fresh weight": "wt (oz)", "Leaves": "leaves"},
        {"Y": 1.4 * OZ, "N": 1.2 * OZ},
        frozenset({"mass"}),
    ),
    Example(
        "treatment in the file's name",
        _file_names,
        2,
        {"Tray": "Bed", "Plant": "Plant", "Fresh weight": "Fresh mass (g)"},
        {"blue mulch": 210.0, "no mulch": 190.0},
        answers={"independent": "Bed"},
    ),
    Example(
        "French, decimal commas",
        _french,
        1,
        {
            "Tray": "Bac",
            "Treatment": "Traitement",
            "Plant": "Plante n°",
            "Fresh weight": "Masse fraîche (g)",
            "Harvested on": "Date de récolte",
        },
        {"témoin": 55.0, "compost": 61.0},
        answers={"independent": "Bac"},
    ),
    Example(
        "a month of meter and climate",
        _month,
        4,
        {"Tray": "Shelf", "Treatment": "Light", "Plant": "Plant", "Fresh weight": "Fresh weight (g)"},
        {"long day": 30.0, "short day": 26.0},
        frozenset({"cumulative", "whose"}),
        answers={"whose": "all"},
    ),
    Example(
        "a column for each tray",
        _wide,
        1,
        {},
        {"deep": 21.0, "shallow": 26.0},
        frozenset({"headers"}),
        answers={
            "headers": "trays",
            "independent": "each column",
            "T1": "deep",
            "T2": "shallow",
            "T3": "deep",
            "T4": "shallow",
        },
    ),
    Example(
        "German, solution log",
        _german,
        2,
        {"Tray": "Wanne", "Treatment": "Variante", "Plant": "Pflanze Nr.", "Fresh weight": "Frischgewicht"},
        {"Bach": 88.0, "Regen": 91.0},
        answers={"independent": "Wanne"},
    ),
    Example(
        "slipped point, sum, misspelling",
        _slips,
        1,
        {"Tray": "Bed", "Treatment": "Treatment", "Plant": "Plant", "Fresh weight": "Fresh weight (g)"},
        {"deep": 40.0, "shallow": 36.0},
        planted=("D6", "D20", "B23"),
        answers={"independent": "Bed"},
        mended="exclude_rows = [20]\ncorrected = {{ D6 = {D6} }}\n"
        'treatment = {{ deep = "deep", shallow = "shallow", shalow = "shallow" }}',
    ),
    Example(
        "two blocks side by side",
        _side_by_side,
        2,
        {"Tray": "Pot", "Fresh weight": "fresh wt g"},
        {"warm": 31.0, "cool": 27.0},
        frozenset({"per"}),
        answers={"independent": "Pot"},
    ),
    Example(
        "Spanish, unit in a note",
        _spanish,
        1,
        {"Tray": "Bandeja", "Treatment": "Tratamiento", "Plant": "Planta", "Fresh weight": "Peso fresco"},
        {"testigo": 70.0, "algas": 77.0},
        answers={"independent": "Bandeja"},
    ),
    Example(
        "sections of rows",
        _sections,
        1,
        {"Tray": "Pot", "Fresh weight": "Frischmasse [g]", "Height": "Höhe"},
        {"ohne Kalk": 18.0, "mit Kalk": 21.0},
        frozenset({"per", "unit"}),
        answers={"independent": "each row", "per": "pot"},
    ),
)
