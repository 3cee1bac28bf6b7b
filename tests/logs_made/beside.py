"""What stands beside the plants of a log: water, meters, and matters that are no part of the trial."""

from dataclasses import replace
from datetime import datetime, time, timedelta

from numpy.random import Generator

from .grid import DATA, Cell, Row, Sheet, changed_cells
from .grid import Log as MadeLog
from .layouts import Style
from .trial import Trial, chance, one_of
from .words import HEADERS


def _head(text: str, of: str, unit: str = "") -> Cell:
    return Cell(text, "header", of, unit)


def _row_of(*cells: Cell, kind: str = DATA) -> Row:
    return Row(tuple(cells), kind)


def _label(text: str, what: str) -> Cell:
    return Cell(int(text) if text.isdigit() and not text.startswith("0") else text, what)


def alike(value: float, times: float) -> float:
    """Return a number times another, with as many decimals as it has, one at least."""
    decimals = max(len(str(value).partition(".")[2]), 1)
    return round(value * times, decimals)


def water_sheet(rng: Generator, trial: Trial, style: Style) -> Sheet:
    """Return what was poured and left: an event a row, or a tray a row."""
    word = HEADERS[style.language]
    name = one_of(rng, word["water_sheet"])
    treatment, unit = word["treatment"][0], word[trial.unit_word][0]
    if chance(rng, 0.6):
        heads = [
            _head(word["occasion"][0], "occasion"),
            _head(treatment, "treatment"),
            _head(unit, "unit"),
            _head(word["event"][0], "event"),
            _head(f"{word['volume'][0]} (L)", "water", "L"),
        ]
        rows = [Row(tuple(heads), "header")]
        for pour in trial.pours:
            event = word[pour.event][0]
            rows.append(
                _row_of(
                    Cell(pour.on, "occasion"),
                    _label(pour.unit.treatment, "treatment"),
                    _label(pour.unit.name, "unit"),
                    Cell(event, "event", pour.event),
                    Cell(pour.litres, "value", "water", "L"),
                )
            )
        return Sheet(name, tuple(rows), "water")
    events = ("fill", "top-up", "remaining")
    heads = [_head(treatment, "treatment"), _head(unit, "unit")]
    heads += [_head(f"{word[event][0]} (L)", event, "L") for event in events]
    rows = [Row(tuple(heads), "header")]
    for one in trial.units:
        sums = {
            event: sum(p.litres for p in trial.pours if p.unit == one and p.event == event)
            for event in events
        }
        cells = [Cell(round(sums[event], 1), "value", event, "L") for event in events]
        rows.append(_row_of(_label(one.treatment, "treatment"), _label(one.name, "unit"), *cells))
    return Sheet(name, tuple(rows), "water")


def energy_sheet(rng: Generator, trial: Trial, style: Style) -> Sheet:
    """Return meter readings: a meter a column, or a reading a row."""
    word = HEADERS[style.language]
    name, reading = one_of(rng, word["energy_sheet"]), word["reading"][0]
    if chance(rng, 0.5):
        heads = [_head(word["occasion"][0], "occasion")]
        heads += [_head(f"{reading} {one} (kWh)", "energy", "kWh") for one in trial.treatments]
        rows = [Row(tuple(heads), "header")]
        for on in dict.fromkeys(one.on for one in trial.readings):
            found = {one.treatment: one.kwh for one in trial.readings if one.on == on}
            cells = [Cell(found[one], "value", "energy", "kWh") for one in trial.treatments]
            rows.append(_row_of(Cell(on, "occasion"), *cells))
        return Sheet(name, tuple(rows), "energy")
    heads = [_head(word["occasion"][0], "occasion"), _head(word["treatment"][0], "treatment")]
    heads.append(_head(f"{reading} (kWh)", "energy", "kWh"))
    rows = [Row(tuple(heads), "header")]
    for one in trial.readings:
        label = _label(one.treatment, "treatment")
        rows.append(
            _row_of(Cell(one.on, "occasion"), label, Cell(one.kwh, "value", "energy", "kWh"))
        )
    return Sheet(name, tuple(rows), "energy")


def climate_sheet(rng: Generator, trial: Trial, style: Style) -> Sheet:
    """Return a logger's export of the whole room."""
    rows = [
        _row_of(Cell("Time", "junk"), Cell("Temp °C", "junk"), Cell("RH %", "junk"), kind="junk")
    ]
    moment = datetime.combine(trial.started, time(6))
    for at in range(int(rng.integers(8, 30))):
        temperature, humidity = (
            round(20 + float(rng.normal(0, 1.5)), 1),
            round(60 + float(rng.normal(0, 5))),
        )
        on = moment + timedelta(hours=12 * at)
        rows.append(
            _row_of(
                Cell(on, "junk"), Cell(temperature, "junk"), Cell(humidity, "junk"), kind="junk"
            )
        )
    return Sheet("Climate", tuple(rows), "junk")


def lab_sheet(rng: Generator, trial: Trial, style: Style) -> Sheet:
    """Return lab values of the treatments, some of them below what can be told."""
    rows = [
        _row_of(
            *(Cell(text, "junk") for text in ("Sample", "NO3 mg/kg", "K mg/kg", "pH")), kind="junk"
        )
    ]
    for name in trial.treatments:
        nitrate = int(rng.integers(500, 3000))
        potassium = one_of(rng, ("<0.1", "<5", int(rng.integers(90, 400))))
        ph = round(5.5 + float(rng.random()), 1)
        cells = [
            _label(name, "junk"),
            Cell(nitrate, "junk"),
            Cell(potassium, "junk"),
            Cell(ph, "junk"),
        ]
        rows.append(_row_of(*cells, kind="junk"))
    return Sheet("Lab", tuple(rows), "junk")


def means_sheet(rng: Generator, trial: Trial, style: Style) -> Sheet:
    """Return the grower's own means by treatment, rounded."""
    word = HEADERS[style.language]
    head = (Cell(word["treatment"][0], "junk"), Cell(word["mean"][0], "junk"))
    rows = [_row_of(*head, kind="junk")]
    for name in trial.treatments:
        own = [
            v for v in trial.values if v.unit.treatment == name and v.quantity == trial.measures[0]
        ]
        held = [v.amount for v in own if v.amount]
        mean = alike(held[0], sum(held) / len(held) / held[0])
        rows.append(_row_of(_label(name, "junk"), Cell(mean, "junk"), kind="junk"))
    return Sheet(word["mean"][0], tuple(rows), "junk")


def notes_sheet(rng: Generator, trial: Trial, style: Style) -> Sheet:
    """Return a sheet of remarks."""
    texts = (
        "Lamp 2 flickered for a day.",
        f"{trial.crop}, own seed",
        "Ask for better scissors",
        "wk 3: watered late",
    )
    return Sheet("Notes", tuple(_row_of(Cell(text, "note"), kind="note") for text in texts), "junk")


def dose_sheet(rng: Generator, trial: Trial, style: Style) -> Sheet:
    """Return the dose of fertiliser, g a plant, of each treatment: no weight of a crop."""
    word = HEADERS[style.language]
    rows = [
        _row_of(
            Cell(word["treatment"][0], "junk"),
            Cell(f"{word['dose'][0]} g/plant", "junk"),
            kind="junk",
        )
    ]
    for at, name in enumerate(trial.treatments):
        rows.append(
            _row_of(_label(name, "junk"), Cell(round(1.5 * (at + 1), 1), "junk"), kind="junk")
        )
    return Sheet(word["dose"][0], tuple(rows), "junk")


def last_year(rng: Generator, log: MadeLog, style: Style) -> Sheet:
    """Return a hidden copy of the log's first sheet with the weights of last year."""
    first = log.files[0].sheets[0]

    def other(cell: Cell) -> Cell:
        number = isinstance(cell.value, int | float) and cell.what == "value"
        if not number:
            return replace(cell, what="junk")
        return replace(cell, value=alike(cell.value, float(rng.uniform(0.7, 1.3))), what="junk")

    one_sheet = replace(log, files=(replace(log.files[0], sheets=(first,)),))
    copy = changed_cells(one_sheet, other).files[0].sheets[0]
    name = one_of(rng, HEADERS[style.language]["last_year"])
    return replace(copy, name=name, part="junk", hidden=True)
