"""Make the trial out of checked tables."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Final, cast

from reportgen.model.data import DataColumn, DataTable, Datum, DatumType
from reportgen.model.problem import Problem
from reportgen.model.settings import ASSUMED_CURRENCY, Settings
from reportgen.model.trial import (
    About,
    ClimateLog,
    Cost,
    ExperimentalUnit,
    GrowthMeasurement,
    Instrument,
    LightReading,
    LightSurvey,
    Load,
    Measured,
    MeterReading,
    Observation,
    Picking,
    Plant,
    PlantStatus,
    ProducePrice,
    SolutionEvent,
    SolutionEventKind,
    TariffPeriod,
    Trait,
    Tray,
    Treatment,
    Trial,
    Variances,
    Varied,
)
from reportgen.workbook.book import Book, trial_row
from reportgen.workbook.cells import Workbook
from reportgen.workbook.declaration import ALL, MEASURED, SHEETS, Column, Kind
from reportgen.workbook.factors import factors_of, levels_of
from reportgen.workbook.headers import folded
from reportgen.workbook.measure_called import key_of_measure
from reportgen.workbook.pickings import has_weighed_pickings, is_cull
from reportgen.workbook.progress import Progress
from reportgen.workbook.recorded import named_traits, records_of_plants
from reportgen.workbook.records import lacks_currency
from reportgen.workbook.table import Row, Table, number_weighed
from reportgen.workbook.typed_system import system_of
from reportgen.workbook.units import conversion
from reportgen.workbook.values import Amount

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FURTHER: Final = "A measurement of the grower's own."
SCORE: Final = "A score of the grower's own, in ordered classes, the lowest first: {classes}."
TYPES: Final[dict[Kind, DatumType]] = {  # whatever is not here is text
    Kind.NUMBER: "number",
    Kind.COUNT: "integer",
    Kind.LEVEL: "number",
    Kind.DATE: "date",
    Kind.MOMENT: "datetime",
    Kind.CLOCK: "time",
    Kind.FLAG: "boolean",
}


def trial_of(
    book: Book,
    workbook: Workbook,
    findings: tuple[Problem, ...],
    settings: Settings,
    progress: Progress,
) -> Trial:
    """Return the trial that tables without errors describe.

    The settings hold where the tables say nothing. An unfinished trial ends with its last record.
    """
    head = next(book["Trial"].rows())
    started = cast(date, head.get("Started on"))
    as_of = _as_of(started, progress)
    recorded = plants_recorded(book)
    return Trial(
        slug=workbook.slug,
        source_sha256=workbook.source_sha256,
        about=_about(head, settings),
        started_on=started,
        harvested_on=_end(cast(date | None, head.get("Harvested on")), as_of),
        reference=head.text("Reference treatment"),
        treatments=tuple(_treatment(row) for row in book["Treatments"].rows()),
        trays=tuple(_tray(row, recorded) for row in book["Trays"].rows()),
        plants=_plants(book, progress),
        sown_on=cast(date | None, head.get("Sown on")),
        experimental_unit=cast(ExperimentalUnit, head.text("Experimental unit") or "tray"),
        variances=cast(Variances | None, head.get("Variances")),
        confidence_level=head.number_in("Confidence level") or 0.95,
        currency=_currency(head, settings),
        electricity_price=head.number_in("Electricity price"),
        water_price=head.number_in("Water price"),
        varied=cast(Varied | None, head.get("What was varied")),
        main_measure=main_measure_of(book),
        margin=_margin(head),
        produce_price=_produce_price(head),
        traits=_traits(book, "Plants"),
        pickings=_pickings(book),
        factors=factors_of(book["Treatments"]),
        solution=tuple(map(_solution, _rows(book, "Solution"))),
        meter=tuple(map(_reading, _rows(book, "Meter"))),
        growth_traits=_traits(book, "Growth"),
        growth=tuple(map(_growth, _rows(book, "Growth"))),
        loads=tuple(map(_load, _rows(book, "Loads"))),
        light=tuple(map(_light, _rows(book, "Light"))),
        climate=_climate_log(book),
        tariff=tuple(map(_tariff, _rows(book, "Tariff"))),
        costs=tuple(map(_cost, _rows(book, "Costs"))),
        instruments=tuple(map(_instrument, _rows(book, "Instruments"))),
        observations=tuple(map(_observation, _rows(book, "Observations"))),
        findings=findings,
        data=_data_tables(book),
        interim=not progress.is_finished,
        as_of=as_of,
        to_come=progress.to_come(),
        typed_in=system_of(book),
        is_currency_assumed=lacks_currency(book, settings.currency),
    )


def _as_of(started: date, progress: Progress) -> date | None:
    """Return the day of an unfinished trial's last record; None for a finished trial."""
    if progress.is_finished:
        return None
    return max(started, progress.as_of or started)


def _currency(head: Row, settings: Settings) -> str:
    return head.text("Currency") or settings.currency or ASSUMED_CURRENCY


def _traits(book: Book, sheet: str) -> tuple[Trait, ...]:
    """Return the traits on a sheet, none where it is not there."""
    if sheet in book:
        return book[sheet].traits
    return ()


def _climate_log(book: Book) -> ClimateLog | None:
    if "Climate" in book and book["Climate"].numbers:
        return _climate(book["Climate"])
    return None


def _data_tables(book: Book) -> tuple[DataTable, ...]:
    """Return the sheets with rows as they were recorded, in the order of the declaration."""
    tables = [book[sheet.name] for sheet in SHEETS if sheet.name in book]
    return tuple(_data(table) for table in tables if table.numbers)


def _end(harvest: date | None, as_of: date | None) -> date:
    """Return the day that a trial ends on: its harvest, or its last record if that is before."""
    return min(day for day in (harvest, as_of) if day is not None)


def light_survey_of(book: Book, findings: tuple[Problem, ...]) -> LightSurvey:
    """Return what tables without errors tell of light before a trial is run."""
    return LightSurvey(
        treatments=tuple(_treatment(row) for row in book["Treatments"].rows()),
        light=tuple(map(_light, _rows(book, "Light"))),
        instruments=tuple(map(_instrument, _rows(book, "Instruments"))),
        reference=trial_row(book).text("Reference treatment"),
        findings=findings,
    )


def main_measure_of(book: Book) -> str:
    """Return the key of the measure that the sheet Trial names; empty for an unknown one."""
    name = next(book["Trial"].rows()).text("Main measure")
    return key_of_measure(name, named_traits(book))


def _margin(head: Row) -> float | None:
    percent = head.number_in("Difference that matters")
    if percent is None:
        return None
    return percent / 100


def _produce_price(head: Row) -> ProducePrice | None:
    by_weight, by_piece = head.number_in("Produce price"), head.number_in("Produce price per piece")
    if by_weight is not None:
        return ProducePrice(by_weight, "kg")
    if by_piece is None:
        return None
    return ProducePrice(by_piece, "piece")


def _rows(book: Book, sheet: str) -> Iterator[Row]:
    if sheet in book:
        return book[sheet].rows()
    return iter(())


def _shared(code: str) -> str | None:
    if code == ALL:
        return None
    return code


def _about(head: Row, settings: Settings) -> About:
    return About(
        title=head.text("Title"),
        crop=head.text("Crop"),
        question=head.text("Question"),
        cultivar=head.text("Cultivar"),
        growing_system=head.text("Growing system"),
        author=head.text("Author") or settings.author,
        organisation=head.text("Organisation"),
        contact=head.text("Contact"),
        location=head.text("Location"),
        layout=head.text("Layout"),
        randomised=cast(bool | None, head.get("Randomised")),
        nutrient_recipe=head.text("Nutrient recipe"),
        disclosure=head.text("Disclosure"),
        licence=head.text("Licence") or settings.licence,
        comparison=head.text("Comparison"),
        keywords=tuple(word.strip() for word in head.text("Keywords").split(",") if word.strip()),
        summary=head.text("Summary"),
        conclusion=head.text("Conclusion"),
        language=head.text("Language") or settings.language,
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
        lights_on_at=row.number_in("Lights on at"),
        independent_units=_whole(row.number_in("Independent units")),
        light_height=row.number_in("Light height"),
        levels=levels_of(row),
    )


def _whole(number: float | None) -> int | None:
    if number is None:
        return None
    return int(number)


def plants_recorded(book: Book) -> Counter[str]:
    """Return how many plants are written down for each tray."""
    found = Counter[str]()
    for row in records_of_plants(book):
        found[row.text("Tray")] += number_weighed(row)
    return found


def _tray(row: Row, recorded: Counter[str]) -> Tray:
    started = row.number_in("Plants started")
    return Tray(
        code=row.text("Tray"),
        treatment=row.text("Treatment"),
        plants_started=recorded[row.text("Tray")] if started is None else int(started),
        block=row.text("Block"),
        position=row.text("Position"),
        main_plot=row.text("Main plot"),
        harvested_on=cast(date | None, row.get("Harvested on")),
        note=row.text("Note"),
        started_known=started is not None,
    )


def _plants(book: Book, progress: Progress) -> tuple[Plant, ...]:
    """Return the plants.

    They have no weights where the yield is that of the pickings, so that nothing counts twice.
    """
    traits = _traits(book, "Plants")
    if progress.is_finished:
        rows = records_of_plants(book)
    else:
        rows = list(_rows(book, "Plants"))
    plants = tuple(_plant(row, traits, progress) for row in rows)
    if not has_weighed_pickings(book):
        return plants
    return tuple(replace(plant, fresh_weight=None) for plant in plants)


def _plant(row: Row, traits: tuple[Trait, ...], progress: Progress) -> Plant:
    is_growing = row.index in progress.growing
    status = cast(PlantStatus, "growing" if is_growing else row.text("Status") or "harvested")
    return Plant(
        tray=row.text("Tray"),
        code=row.text("Plant"),
        status=status,
        fresh_weight=row.number_in("Fresh weight"),
        traits=tuple(_trait_value(row, trait) for trait in traits),
        note=row.text("Note"),
        number=number_weighed(row),
        start_weight=_start_weight(row),
    )


def _start_weight(row: Row) -> float | None:
    """Return the start weight of one plant, the mean of those that are weighed together."""
    total = row.number_in("Start weight")
    if total is None:
        return None
    return total / max(number_weighed(row), 1)


def _trait_value(row: Row, trait: Trait) -> float | None:
    """Return a measurement, that of a score as the position of its class on the scale."""
    if not trait.is_score:
        return row.number_in(trait.label)
    scored = row.text(trait.label)
    if scored:
        return float(trait.scale.index(scored))
    return None


def _pickings(book: Book) -> tuple[Picking, ...]:
    """Return the pickings, each grade spelt as it stands first."""
    spellings: dict[str, str] = {}
    pickings: list[Picking] = []
    for row in _rows(book, "Harvests"):
        typed = row.text("Grade")
        grade = spellings.setdefault(folded(typed), typed)
        pickings.append(_picking(row, grade))
    return tuple(pickings)


def _picking(row: Row, grade: str) -> Picking:
    return Picking(
        tray=row.text("Tray"),
        on=cast(date, row.get("Date")),
        weight=row.number_in("Weight"),
        pieces=_whole(row.number_in("Count")),
        plant=row.text("Plant"),
        grade=grade,
        is_cull=is_cull(grade),
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
    return MeterReading(
        meter=row.text("Meter"),
        treatment=_shared(row.text("Treatment")),
        at=cast(datetime, row.get("Read at")),
        reading=cast(float, row.number_in("Reading")),
        reset=row.get("Reset") is True,
        note=row.text("Note"),
    )


def _growth(row: Row) -> GrowthMeasurement:
    values = tuple(_trait_value(row, trait) for trait in row.table.traits)
    return GrowthMeasurement(
        row.text("Tray"), row.text("Plant"), cast(date, row.get("Date")), values
    )


def _load(row: Row) -> Load:
    return Load(
        treatment=row.text("Treatment"),
        device=row.text("Device"),
        power=cast(float, row.number_in("Power")),
        hours_per_day=cast(float, row.number_in("Hours per day")),
        days=row.number_in("Days"),
    )


def _light(row: Row) -> LightReading:
    return LightReading(
        treatment=row.text("Treatment"),
        ppfd=cast(float, row.number_in("PPFD")),
        on=cast(date | None, row.get("Date")),
        x=row.number_in("X"),
        y=row.number_in("Y"),
        height=row.number_in("Height"),
        tray=row.text("Tray"),
    )


def _climate(table: Table) -> ClimateLog:
    import numpy as np

    at = np.array(table.columns["Read at"], dtype="datetime64[s]")
    at.setflags(write=False)
    return ClimateLog(
        treatments=tuple(_shared(cast(str, code)) for code in table.columns["Treatment"]),
        at=at,
        air_temperature=_numbers(table, "Air temperature"),
        relative_humidity=_numbers(table, "Relative humidity"),
        co2=_numbers(table, "CO2"),
        solution_temperature=_numbers(table, "Solution temperature"),
    )


def _numbers(table: Table, name: str) -> "NDArray[np.float64]":
    """Return a column as an array, NaN where a cell is blank."""
    import numpy as np

    column = table.columns.get(name, (None,) * len(table.numbers))
    numbers = np.array(column, dtype=np.float64)
    numbers.setflags(write=False)
    return numbers


def _tariff(row: Row) -> TariffPeriod:
    start, end, price = (
        cast(float, row.number_in(name)) for name in ("From", "To", "Price per kWh")
    )
    return TariffPeriod(start, end, price)


def _cost(row: Row) -> Cost:
    return Cost(
        item=row.text("Item"),
        treatment=_shared(row.text("Treatment")),
        cost=cast(float, row.number_in("Cost")),
        life=row.number_in("Life"),
        hours_used=row.number_in("Hours used"),
    )


def _instrument(row: Row) -> Instrument:
    measures = cast(Measured, row.text("Measures"))
    return Instrument(
        name=row.text("Instrument"),
        measures=measures,
        model=row.text("Model"),
        resolution=_step(row.get("Resolution"), MEASURED[measures]),
        accuracy=row.number_in("Accuracy"),
        calibrated_on=cast(date | None, row.get("Calibrated on")),
        per_treatment=row.get("Per treatment") is True,
    )


def _step(value: object, unit: str) -> float | None:
    """Return a resolution in the unit that is kept; a step of temperature has no zero point."""
    if not isinstance(value, Amount):
        return None
    if value.unit:
        return value.number * conversion(value.unit, unit)[0]
    return value.number


def _observation(row: Row) -> Observation:
    return Observation(
        on=cast(date, row.get("Date")),
        text=row.text("Observation"),
        treatment=row.text("Treatment"),
        tray=row.text("Tray"),
        photo=row.text("Photo"),
        photo_description=row.text("Photo description"),
    )


def _data(table: Table) -> DataTable:
    """Return a sheet as it was recorded: first the declared columns, then the further ones."""
    present = [column for column in table.sheet.columns if column.name in table.letters]
    declared = {column.name: column for column in (*present, *table.factors)}
    columns = [_declared(column, table.columns[name]) for name, column in declared.items()]
    names = {column.name for column in present}
    further = {trait.label: trait for trait in table.traits}
    for name, values in table.columns.items():
        if name in further and name not in names:
            columns.append(_further(further[name], values))
    return DataTable(table.sheet.name, tuple(columns), table.sheet.help, table.sheet.key)


def _further(trait: Trait, values: tuple[object, ...]) -> DataColumn:
    """Return a column of the grower's own; classes that are all whole numbers become numbers."""
    if not trait.is_score:
        return DataColumn(trait.label, trait.unit, _datums(values), "number", FURTHER)
    classes = ", ".join(trait.scale)
    description = SCORE.format(classes=classes)
    if not all(name.isdecimal() for name in trait.scale):
        return DataColumn(
            trait.label, "", _datums(values), "string", description, choices=trait.scale
        )
    numbers = tuple(int(value) if isinstance(value, str) else None for value in values)
    ends = sorted(map(int, trait.scale))
    return DataColumn(
        trait.label,
        "",
        numbers,
        "integer",
        description,
        at_least=float(ends[0]),
        at_most=float(ends[-1]),
    )


def _declared(column: Column, values: tuple[object, ...]) -> DataColumn:
    return DataColumn(
        name=column.name,
        unit=column.unit_shown,
        values=_clock_times(values) if column.kind is Kind.CLOCK else _datums(values),
        type=TYPES.get(column.kind, "string"),
        description=column.help,
        required=column.required,
        at_least=column.at_least,
        above=column.above,
        at_most=column.at_most,
        choices=column.choices,
        refers=column.refers,
        also=column.also,
    )


def _datums(values: tuple[object, ...]) -> tuple[Datum, ...]:
    if Amount not in set(map(type, values)):
        return cast(tuple[Datum, ...], values)
    texts: list[str | None] = []
    for value in values:
        if isinstance(value, Amount):
            texts.append(f"{value.number:g} {value.unit}".strip())
        else:
            texts.append(None)
    return tuple(texts)


def _clock_times(values: tuple[object, ...]) -> tuple[Datum, ...]:
    """Return hours since midnight as times to the second; the midnight that ends a day is 00:00."""
    times: list[time | None] = []
    for hours in values:
        if isinstance(hours, int | float):
            seconds = round(hours * 3600) % 86_400
            times.append((datetime.min + timedelta(seconds=seconds)).time())
        else:
            times.append(None)
    return tuple(times)
