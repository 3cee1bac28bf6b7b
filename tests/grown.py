"""Clean workbooks of invented trials, each of a seed: crops of all sizes, as growers would record
them.
"""

import random
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from math import exp, log, sqrt

from reportgen.workbook.raw import RawSheet, Workbook
from tests.workbooks import Sheets

OUNCE = 28.349523125  # g; exact, international avoirdupois ounce
SHAPES = ("lettuce", "tomato seedling", "microgreens", "pumpkin", "basil", "strawberry")


def spread(variation: float) -> float:
    """Return the standard deviation of logarithms of a lognormal distribution of a coefficient of
    variation.
    """
    return sqrt(log(1 + variation**2))


def digits(value: float, number: int = 3) -> float:
    """Return a value as it is written down, to some significant digits."""
    return float(f"{value:.{number}g}")


@dataclass
class Grower:
    """One grower and her trial: what she draws by chance."""

    chance: random.Random

    def __post_init__(self) -> None:
        draw = self.chance
        self.variation = draw.uniform(0.05, 0.30)
        self.size = 10 ** draw.uniform(-0.5, 3.2)  # g
        self.days = draw.randrange(14, 90)
        self.start = date(2025, 1, 1) + timedelta(days=draw.randrange(500))
        self.treatments = ["plain", "warm", "cool", "dark"][: draw.choice((2, 2, 2, 3, 4))]
        self.effects = {code: exp(draw.gauss(0, 0.25)) for code in self.treatments}
        self.trays_each = draw.choice((2, 3, 3, 4, 4, 6))
        self.plants_each = draw.choice((1, 2, 4, 6, 6, 10))
        self.trays = {
            f"{code[0].upper()}{number + 1}": code
            for number in range(self.trays_each)
            for code in self.treatments
        }
        self.vigour = {tray: self.varied(0.08) for tray in self.trays}

    def varied(self, variation: float) -> float:
        """Return a factor of a lognormal distribution."""
        return exp(self.chance.gauss(0, spread(variation)))

    def on(self, day: float) -> date:
        """Return a day counted from the start."""
        return self.start + timedelta(days=int(day))

    def shared_days(self, number: int) -> list[int]:
        """Return days between start and harvest, in order."""
        number = min(number, self.days - 2)
        return sorted(self.chance.sample(range(1, self.days), number))

    def sheets(self) -> Sheets:
        """Return the rows of every sheet."""
        sheets = {
            "Trial": self.trial(),
            "Treatments": self.treated(),
            "Trays": self.started(),
            "Plants": self.plants(),
            "Growth": self.growth(),
            "Solution": self.solution(),
            "Light": self.light(),
            "Climate": self.climate(),
            "Tariff": self.tariff(),
        }
        energy = "Meter" if self.chance.random() < 0.7 else "Loads"
        return sheets | {energy: self.meter() if energy == "Meter" else self.loads()}

    def trial(self):
        return [
            ["Field", "Value"],
            ["Title", "A trial of an invented grower"],
            ["Crop", self.chance.choice(SHAPES)],
            ["Sown on", self.on(-10)],
            ["Started on", self.start],
            ["Harvested on", self.on(self.days)],
            ["Reference treatment", "plain"],
        ]

    def treated(self):
        area = self.chance.choice((0.06, 0.18, 0.3, 0.72, 1.2))
        power = 10 ** self.chance.uniform(1, 3)
        head = [
            "Treatment",
            "Name",
            "Photoperiod (h)",
            "Lights on at",
            "Canopy area (m2)",
            "Rated power (W)",
        ]
        rows = []
        for code in self.treatments:
            hours = self.chance.choice((10, 12, 14, 16, 16, 18))
            watts = round(power * self.chance.choice((1, 1, 1, 1.3, 1.6)))
            efficacy = self.chance.choice((1.8, 2.5, 2.7, 2.9))
            rows.append([code, code.title(), hours, time(6), area, watts, efficacy])
        return [[*head, "Rated efficacy (µmol/J)"], *rows]

    def started(self):
        rows = [[tray, code, self.plants_each] for tray, code in self.trays.items()]
        return [["Tray", "Treatment", "Plants started"], *rows]

    def plants(self):
        unit, gram = self.chance.choice((("g", 1.0), ("g", 1.0), ("oz", OUNCE)))
        height = 4 * self.size ** (1 / 3) * self.chance.uniform(0.7, 2)
        leaves = self.chance.choice((6, 14, 40))
        rows = []
        for tray, code in self.trays.items():
            for number in range(1, self.plants_each + 1):
                own = self.varied(self.variation) * self.vigour[tray] * self.effects[code]
                fresh = self.size * own
                row = [
                    tray,
                    number,
                    digits(fresh / gram, 4),
                    digits(fresh * 0.08 * self.varied(0.08) / gram),
                ]
                row += [
                    digits(height * own**0.4 * self.varied(0.06)),
                    round(leaves * self.varied(0.12)),
                    None,
                ]
                rows.append(row)
        if len(rows) > 12:
            rows[self.chance.randrange(len(rows))][2:] = [None, None, None, None, "dead"]
        head = [
            "Tray",
            "Plant",
            f"Fresh weight ({unit})",
            f"Dry weight ({unit})",
            "Height (cm)",
            "Leaves",
            "Status",
        ]
        return [head, *rows]

    def growth(self):
        """Heights that grow thirtyfold on some plants of each tray, and a cover that fills up."""
        days = [0, *self.shared_days(self.chance.choice((3, 5, 8))), self.days]
        unit, scale = self.chance.choice((("cm", 1.0), ("mm", 10.0)))
        last = self.chance.uniform(8, 60) * scale
        error = self.chance.uniform(0.01, 0.06)
        measured = [
            (tray, n) for tray in self.trays for n in range(1, min(self.plants_each, 3) + 1)
        ]
        own = {
            one: self.varied(self.variation) * self.effects[self.trays[one[0]]] for one in measured
        }
        rows = []
        for day in days:
            grown = 30 ** (day / self.days - 1)
            for tray, number in measured:
                height = last * grown * own[tray, number] * self.varied(error)
                cover = min(98.0, 90 * grown**0.7 * self.varied(0.1))
                rows.append([tray, number, self.on(day), digits(height, 2), round(max(cover, 1))])
        return [["Tray", "Plant", "Date", f"Height ({unit})", "Canopy cover (%)"], *rows]

    def solution(self):
        """Tanks filled, topped up by what each tray drank, on days of all trays or on days of its
        own.
        """
        unit, litre = self.chance.choice((("L", 1.0), ("L", 1.0), ("US gal", 3.785411784)))
        tank = self.chance.choice((2.0, 5.0, 15.0, 60.0))
        together = self.chance.random() < 0.7
        days = self.shared_days(self.chance.choice((3, 6, 10)))
        wild = self.chance.random() < 0.3
        rows = []
        for tray in self.trays:
            mine = days if together else self.shared_days(len(days))
            given = 0.0
            rows.append(self.poured(tray, 0, "fill", tank / litre))
            for day in mine:
                thirst = (
                    tank * 0.4 * 20 ** (day / self.days - 1) * self.varied(0.6 if wild else 0.25)
                )
                amount = max(0.01, digits(thirst / litre, 2))
                given += amount
                rows.append(self.poured(tray, day, "top-up", amount))
                if len(mine) > 6 and day == mine[3]:
                    rows.append(self.poured(tray, day, "sample", 0.1))
            left = self.chance.uniform(0.3, 0.9) * (tank / litre)
            rows.append(self.poured(tray, self.days, "remaining", max(0.01, digits(left, 2))))
        head = ["Tray", "Date", "Event", f"Volume ({unit})", "EC (mS/cm)", "pH", "Temperature (°C)"]
        return [head, *sorted(rows, key=lambda row: row[1])]

    def poured(self, tray, day, event, volume):
        ec = round(1.7 * self.varied(0.08), 2)
        acidity = round(self.chance.gauss(5.9, 0.2), 1)
        return [
            tray,
            self.on(day),
            event,
            volume,
            ec,
            acidity,
            round(self.chance.gauss(20, 1.5), 1),
        ]

    def meter(self):
        rows = []
        for code in self.treatments:
            watts, counter = (
                10 ** self.chance.uniform(1.2, 2.8),
                self.chance.choice((0, 3.2, 120, 4711, 38_250)),
            )
            days = [0, *self.shared_days(self.chance.choice((1, 3, 8, 12))), self.days]
            shown = float(counter)
            for before, day in zip([0, *days], days, strict=False):
                shown += watts * self.varied(0.1) * 16 / 1000 * (day - before)
                at = datetime.combine(self.on(day), time(8, self.chance.randrange(60)))
                rows.append([f"meter {code}", code, at, round(shown, 1)])
        return [["Meter", "Treatment", "Read at", "Reading (kWh)"], *rows]

    def loads(self):
        lamp, pump = 10 ** self.chance.uniform(1, 3), self.chance.choice((3, 4, 8))
        rows = []
        for code in self.treatments:
            hours = self.chance.choice((12, 14, 16))
            rows.append([code, "lamp", round(lamp * self.chance.choice((1, 1, 1.4))), hours, None])
            rows.append([code, "air pump", pump, 24, None])
        return [["Treatment", "Device", "Power (W)", "Hours per day (h)", "Days"], *rows]

    def light(self):
        """A map of each treatment whose edges fall to a third or less."""
        across, along = self.chance.choice(((3, 4), (3, 5), (4, 6), (5, 7)))
        step = self.chance.choice((5, 10, 12.5, 20))
        fall = self.chance.uniform(0.3, 0.75)
        rows = []
        for code in self.treatments:
            middle = 10 ** self.chance.uniform(1.9, 2.9)
            for row in range(across):
                for place in range(along):
                    off = (
                        (2 * row / (across - 1) - 1) ** 2 + (2 * place / (along - 1) - 1) ** 2
                    ) / 2
                    shown = round(middle * (1 - fall * off) * self.varied(0.02))
                    rows.append(
                        [code, self.start, step * (place + 0.5), step * (row + 0.5), 20, shown]
                    )
        return [["Treatment", "Date", "X (cm)", "Y (cm)", "Height (cm)", "PPFD (µmol/m2/s)"], *rows]

    def climate(self):
        enriched = self.chance.random() < 0.4
        places = self.chance.choice((["all"], self.treatments))
        rows = []
        for hour in range(24 * min(self.days, 12)):
            lit = 6 <= hour % 24 < 22
            for place in places:
                warmth = 19 + 4 * lit + self.chance.gauss(0, 0.5)
                damp = 68 - 8 * lit + self.chance.gauss(0, 2)
                carbon = (1000 if enriched and lit else 450) * self.varied(0.05)
                at = datetime.combine(self.start, time(0)) + timedelta(hours=hour + 9)
                rows.append(
                    [
                        place,
                        at,
                        round(warmth, 1),
                        round(damp, 1),
                        round(carbon),
                        round(warmth - 1, 1),
                    ]
                )
        head = [
            "Treatment",
            "Read at",
            "Air temperature (°C)",
            "Relative humidity (%)",
            "CO2 (ppm)",
        ]
        return [[*head, "Solution temperature (°C)"], *rows]

    def tariff(self):
        dear = self.chance.uniform(0.15, 0.45)
        cheap = dear * self.chance.uniform(0.3, 0.9)
        return [
            ["From", "To", "Price per kWh"],
            ["06:00", "22:00", round(dear, 3)],
            ["22:00", "06:00", round(cheap, 3)],
        ]


def grown(seed: int) -> Sheets:
    """Return the sheets of a clean workbook."""
    return Grower(random.Random(seed)).sheets()


def as_workbook(sheets: Sheets) -> Workbook:
    """Return sheets as a reader of files would give them, without a file."""
    raws = []
    for name, rows in sheets.items():
        width = max(map(len, rows))
        padded = [
            tuple(_as_read(value) for value in (*row, *[None] * (width - len(row)))) for row in rows
        ]
        raws.append(RawSheet(name, tuple(padded), {}, {}, ()))
    return Workbook("trial", "0" * 64, tuple(raws))


def _as_read(value: object) -> object:
    """Return a value as a spreadsheet keeps it: days are moments."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return datetime.combine(value, time(0))
    return value
