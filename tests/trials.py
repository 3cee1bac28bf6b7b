"""Trials made up for tests of calculation and report: nutrient strength for coriander, in plain
values.
"""

from dataclasses import replace
from datetime import date, datetime, timedelta

import numpy as np

from reportgen.model.message import Notes
from reportgen.model.trial import (
    About,
    ClimateLog,
    GrowthMeasurement,
    LightReading,
    MeterReading,
    Plant,
    SolutionEvent,
    Tray,
    Treatment,
    Trial,
)

WEIGHTS = {
    "A1": (20.0, 22.0, 24.0),
    "A2": (19.0, 23.0, 25.0),
    "A3": (18.0, 20.0, 25.0),
    "B1": (26.0, 28.0, 31.0),
    "B2": (24.0, 27.0, 29.0),
    "B3": (29.0, 27.0, 33.0),
}


def codes(notes: Notes) -> list[str]:
    """Return the codes of notes, methods or findings in their order."""
    return [one.code for one in notes]


def plants(weights: dict[str, tuple[float | None, ...]]) -> tuple[Plant, ...]:
    """Return a plant for each weight; one without is dead."""
    return tuple(
        Plant(tray, str(number), "dead" if weight is None else "harvested", weight)
        for tray, found in weights.items()
        for number, weight in enumerate(found, 1)
    )


def solution(tray: str, used: float) -> tuple[SolutionEvent, ...]:
    """Return a water budget that comes to `used` litres."""
    return (
        SolutionEvent(tray, date(2026, 4, 1), "fill", 5.0, ec=1.6, ph=5.9),
        SolutionEvent(tray, date(2026, 4, 20), "top-up", used, ec=1.5, ph=6.1),
        SolutionEvent(tray, date(2026, 5, 1), "sample", 0.5),
        SolutionEvent(tray, date(2026, 5, 6), "remaining", 4.5, ec=1.7, ph=6.0),
    )


def readings(treatment: str | None, energy: float) -> tuple[MeterReading, ...]:
    """Return the readings of a meter that counts `energy` kWh over the trial."""
    name = treatment or "house"
    days = (
        (date(2026, 4, 1), 100.0),
        (date(2026, 4, 18), 100.0 + energy / 2),
        (date(2026, 5, 6), 100.0 + energy),
    )
    return tuple(
        MeterReading(name, treatment, datetime(day.year, day.month, day.day), at)
        for day, at in days
    )


def trial(**changes: object) -> Trial:
    """Return a trial of two treatments with three trays of three plants, altered as asked for."""
    trays = tuple(
        Tray(code, "half" if code.startswith("A") else "full", 3, position=str(place))
        for place, code in enumerate(WEIGHTS, 1)
    )
    made = Trial(
        slug="coriander",
        source_sha256="0" * 64,
        about=About(
            "Nutrient strength for coriander", "coriander", question="Does full strength give more?"
        ),
        started_on=date(2026, 4, 1),
        harvested_on=date(2026, 5, 6),
        reference="half",
        treatments=(Treatment("half", "Half strength"), Treatment("full", "Full strength")),
        trays=trays,
        plants=plants(WEIGHTS),
        currency="EUR",
        electricity_price=0.25,
        solution=tuple(
            event
            for place, tray in enumerate(WEIGHTS)
            for event in solution(tray, 1.5 + 0.1 * place + 0.05 * (place % 2))
        ),
        meter=readings("half", 12.0) + readings("full", 14.0),
    )
    return replace(made, **changes)  # type: ignore[arg-type]


def fair_trial(**changes: object) -> Trial:
    """Return the trial with trays that stand among one another, so that no check of a fair test
    explains its result.
    """
    places = {"A1": "1", "B1": "2", "B2": "3", "A2": "4", "A3": "5", "B3": "6"}
    trays = tuple(replace(tray, position=places[tray.code]) for tray in trial().trays)
    return trial(**{"trays": trays, **changes})


def light_map(treatment: str, *readings: float, on: date | None = None) -> tuple[LightReading, ...]:
    """Return a map of PPFD readings, µmol/m2/s, of one date."""
    return tuple(
        LightReading(treatment, reading, on, x=10.0 * place, y=0.0)
        for place, reading in enumerate(readings)
    )


def lit_trial(**changes: object) -> Trial:
    """Return the trial with light: 16 h a day at 200 and 250 µmol/m2/s on 0.5 m2 a tray."""
    of = trial()
    lit = tuple(
        replace(treatment, photoperiod=16.0, canopy_area=0.5) for treatment in of.treatments
    )
    maps = light_map("half", 160.0, 200.0, 240.0) + light_map("full", 240.0, 250.0, 260.0)
    return replace(of, **{"treatments": lit, "light": maps, **changes})  # type: ignore[arg-type]


def climate_log(
    *readings: tuple[str | None, datetime, float, float], **columns: tuple[float, ...]
) -> ClimateLog:
    """Return a log of treatment, moment, air temperature (°C) and relative humidity (%), and of
    further columns.
    """
    none = (np.nan,) * len(readings)
    return ClimateLog(
        treatments=tuple(treatment for treatment, *_ in readings),
        at=np.array([at for _, at, *_ in readings], dtype="datetime64[s]"),
        air_temperature=np.array([temperature for *_, temperature, _ in readings]),
        relative_humidity=np.array([humidity for *_, humidity in readings]),
        co2=np.array(columns.get("co2", none)),
        solution_temperature=np.array(columns.get("solution_temperature", none)),
    )


def growth(
    tray: str, plant: str, *values: tuple[int, float | None]
) -> tuple[GrowthMeasurement, ...]:
    """Return measurements of one trait of a plant: pairs of the days since the start and the value."""
    start = date(2026, 4, 1)
    return tuple(
        GrowthMeasurement(tray, plant, start + timedelta(days=day), (value,))
        for day, value in values
    )
