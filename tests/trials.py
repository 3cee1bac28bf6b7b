"""Trials made up for tests of calculation and report: nutrient strength for coriander, in plain values."""

from dataclasses import replace
from datetime import date, datetime

from reportgen.model.trial import About, MeterReading, Plant, SolutionEvent, Tray, Treatment, Trial

WEIGHTS = {
    "A1": (20.0, 22.0, 24.0),
    "A2": (19.0, 23.0, 25.0),
    "A3": (18.0, 20.0, 25.0),
    "B1": (26.0, 28.0, 31.0),
    "B2": (24.0, 27.0, 29.0),
    "B3": (29.0, 27.0, 33.0),
}


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
    days = ((date(2026, 4, 1), 100.0), (date(2026, 4, 18), 100.0 + energy / 2), (date(2026, 5, 6), 100.0 + energy))
    return tuple(MeterReading(name, treatment, datetime(day.year, day.month, day.day), at) for day, at in days)


def trial(**changes: object) -> Trial:
    """Return a trial of two treatments with three trays of three plants, altered as asked for."""
    trays = tuple(
        Tray(code, "half" if code.startswith("A") else "full", 3, position=str(place))
        for place, code in enumerate(WEIGHTS, 1)
    )
    made = Trial(
        slug="coriander",
        source_sha256="0" * 64,
        about=About("Nutrient strength for coriander", "coriander", question="Does full strength give more?"),
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
