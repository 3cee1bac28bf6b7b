"""Make the trial out of checked tables."""

from datetime import date, datetime
from typing import cast

from reportgen.model.problem import Problem
from reportgen.model.trial import (
    About,
    ExperimentalUnit,
    MeterReading,
    Plant,
    PlantStatus,
    SolutionEvent,
    SolutionEventKind,
    Tray,
    Treatment,
    Trial,
    Variances,
)
from reportgen.workbook.cells import Workbook
from reportgen.workbook.declaration import ALL
from reportgen.workbook.references import Book
from reportgen.workbook.table import Row


def trial_of(book: Book, workbook: Workbook, findings: tuple[Problem, ...]) -> Trial:
    """Return the trial that tables without errors describe."""
    head = next(book["Trial"].rows())
    traits = book["Plants"].traits
    return Trial(
        slug=workbook.slug,
        source_sha256=workbook.source_sha256,
        about=_about(head),
        started_on=cast(date, head.get("Started on")),
        harvested_on=cast(date, head.get("Harvested on")),
        reference=head.text("Reference treatment"),
        treatments=tuple(_treatment(row) for row in book["Treatments"].rows()),
        trays=tuple(_tray(row) for row in book["Trays"].rows()),
        plants=tuple(_plant(row, tuple(trait.label for trait in traits)) for row in book["Plants"].rows()),
        sown_on=cast(date | None, head.get("Sown on")),
        experimental_unit=cast(ExperimentalUnit, head.text("Experimental unit") or "tray"),
        variances=cast(Variances | None, head.get("Variances")),
        confidence_level=head.number_in("Confidence level") or 0.95,
        currency=head.text("Currency") or "USD",
        electricity_price=head.number_in("Electricity price"),
        water_price=head.number_in("Water price"),
        traits=traits,
        solution=tuple(_solution(row) for row in book["Solution"].rows()) if "Solution" in book else (),
        meter=tuple(_reading(row) for row in book["Meter"].rows()) if "Meter" in book else (),
        findings=findings,
    )


def _about(head: Row) -> About:
    return About(
        title=head.text("Title"),
        crop=head.text("Crop"),
        question=head.text("Question"),
        cultivar=head.text("Cultivar"),
        growing_system=head.text("Growing system"),
        author=head.text("Author"),
        organisation=head.text("Organisation"),
        contact=head.text("Contact"),
        location=head.text("Location"),
        layout=head.text("Layout"),
        randomised=cast(bool | None, head.get("Randomised")),
        nutrient_recipe=head.text("Nutrient recipe"),
        disclosure=head.text("Disclosure"),
        licence=head.text("Licence"),
        keywords=tuple(word.strip() for word in head.text("Keywords").split(",") if word.strip()),
        summary=head.text("Summary"),
        conclusion=head.text("Conclusion"),
        language=head.text("Language") or "en",
    )


def _treatment(row: Row) -> Treatment:
    return Treatment(
        code=row.text("Treatment"),
        name=row.text("Name"),
        description=row.text("Description"),
        photoperiod=row.number_in("Photoperiod"),
        canopy_area=row.number_in("Canopy area"),
        rated_power=row.number_in("Rated power"),
        rated_efficacy=row.number_in("Rated efficacy"),
        equipment=row.text("Equipment"),
    )


def _tray(row: Row) -> Tray:
    return Tray(
        code=row.text("Tray"),
        treatment=row.text("Treatment"),
        plants_started=cast(int, row.get("Plants started")),
        block=row.text("Block"),
        position=row.text("Position"),
        harvested_on=cast(date | None, row.get("Harvested on")),
        note=row.text("Note"),
    )


def _plant(row: Row, traits: tuple[str, ...]) -> Plant:
    status = cast(PlantStatus, row.text("Status") or "harvested")
    return Plant(
        tray=row.text("Tray"),
        code=row.text("Plant"),
        status=status,
        fresh_weight=row.number_in("Fresh weight"),
        traits=tuple(row.number_in(trait) for trait in traits),
        note=row.text("Note"),
    )


def _solution(row: Row) -> SolutionEvent:
    return SolutionEvent(
        tray=row.text("Tray"),
        on=cast(date, row.get("Date")),
        kind=cast(SolutionEventKind, row.text("Event")),
        volume=cast(float, row.number_in("Volume")),
        ec=row.number_in("EC"),
        ph=row.number_in("pH"),
        temperature=row.number_in("Temperature"),
        note=row.text("Note"),
    )


def _reading(row: Row) -> MeterReading:
    treatment = row.text("Treatment")
    return MeterReading(
        meter=row.text("Meter"),
        treatment=None if treatment == ALL else treatment,
        at=cast(datetime, row.get("Read at")),
        reading=cast(float, row.number_in("Reading")),
        reset=row.get("Reset") is True,
        note=row.text("Note"),
    )
