"""Words for what a layout says, as choices and read-backs show them."""

from collections.abc import Mapping, Sequence
from typing import Final

from reportgen.importing.model.layouts import (
    NOTHING,
    Carrier,
    CarrierKind,
    Covers,
    Dimension,
    Layout,
    Occasions,
    Source,
)
from reportgen.importing.model.questions import Figures, Summary

DIMENSION_NAMES: Final = {
    Dimension.TREATMENT: "treatment",
    Dimension.BLOCK: "block",
    Dimension.UNIT: "tray",
    Dimension.PLANT: "plant",
    Dimension.OCCASION: "day",
    Dimension.EVENT: "event",
    Dimension.METER: "meter",
    Dimension.GRADE: "grade",
}
CARRIER_NAMES: Final = {
    CarrierKind.SECTION: "the headings between rows",
    CarrierKind.SHEET: "the sheets",
    CarrierKind.FILE: "the files",
    CarrierKind.ORDER: "the rows, counted",
    CarrierKind.COLOUR: "the colour of the cells",
}
OCCASION_NAMES: Final = {
    Occasions.ONCE: "each plant once",
    Occasions.PICKINGS: "pickings, which add up",
    Occasions.RUNNING: "running totals: the last holds",
    Occasions.LAST: "the last weighing is the harvest",
    Occasions.SAMPLES: "each day its own plants, harvest last",
    Occasions.GROWTH: "the same plants measured again",
}
COVER_NAMES: Final = {
    Covers.PLANT: "each value is of one plant",
    Covers.UNIT: "each value is of a whole tray",
    Covers.MEAN: "each value is a mean per plant",
    Covers.TREATMENT: "each value is of a whole treatment",
    Covers.TRIAL: "each value is of the whole trial",
}
PARTS: Final = "each value is a part of a tray: they add up"
NUMBER_NAMES: Final = {
    Covers.PLANT: "each number is a plant",
    Covers.UNIT: "each number is a whole tray",
    Covers.MEAN: "each number is a mean per plant",
}
SHEET_NAMES: Final = {
    "Plants": "plants",
    "Harvests": "pickings",
    "Growth": "growth of living plants",
    "Solution": "water and solution",
    "Meter": "electricity",
    "Light": "light",
    "Climate": "climate",
}
WEIGHTS: Final = ("Fresh weight", "Dry weight")
NOT_READ: Final = "no part of the trial"
MEASURES: Final = {
    "tray_yield": "yield",
    "tray_yield_dry": "dry yield",
    "ec": "EC",
    "ph": "pH",
    "co2": "CO2",
}
PER_TRAY: Final = ("tray_yield", "tray_yield_dry")
READINGS: Final = ("ec", "ph", "temperature", "ppfd", "air_temperature", "relative_humidity", "co2",
                   "solution_temperature")  # fmt: skip
TOTALS: Final = ("water", "energy")
MOST_COLUMNS: Final = 3  # names that are told one by one


def source_text(source: Source | None) -> str:
    """Return the carriers of a dimension in words, such as `part 1 of ID`; `none` where it has
    none.
    """
    if source is None:
        return "none"
    text = " + ".join(carrier_text(carrier) for carrier in source.carriers)
    if source.lookup:
        return f"{text}, by {source.lookup.table}"
    return text


def carrier_text(carrier: Carrier) -> str:
    """Return a carrier in words: a column by its name, a part by its number."""
    whole = _whole_text(carrier)
    if carrier.part:
        return f"part {carrier.part} of {whole}"
    return whole


def _whole_text(carrier: Carrier) -> str:
    if carrier.kind in CARRIER_NAMES:
        return CARRIER_NAMES[carrier.kind]
    if carrier.kind is CarrierKind.OVER:
        if carrier.name in ("", "1"):
            return "the header row"
        return f"header row {carrier.name}"
    if carrier.kind is CarrierKind.TITLE:
        return carrier.name or "the title"
    if carrier.kind is CarrierKind.FIXED:
        return f'"{carrier.name}" throughout'
    return carrier.name


def slots_of(layout: Layout) -> dict[str, str]:
    """Return what a layout says by slot, in words: what it gives, its values, each dimension, the
    rest.
    """
    if layout.gives == NOTHING:
        return {"gives": NOT_READ}
    slots = {"gives": layout.gives, "values": values_text(layout)}
    for dimension in DIMENSION_NAMES:
        slots[dimension.value] = source_text(layout.dimensions.get(dimension))
    slots["factor"] = factors_text(layout)
    slots["occasions"] = OCCASION_NAMES[layout.occasions]
    weighed = [values for values in layout.values if values.quantity in WEIGHTS] or layout.values
    slots["covers"] = ", ".join(dict.fromkeys(COVER_NAMES[values.covers] for values in weighed))
    if layout.occasions is Occasions.PICKINGS and Dimension.OCCASION not in layout.dimensions:
        slots["occasions"] = OCCASION_NAMES[Occasions.ONCE]
        slots["covers"] = PARTS
    slots["counts"] = ", ".join(dict.fromkeys(values.counts.value for values in layout.values))
    return slots


def values_text(layout: Layout) -> str:
    """Return the value columns by quantity: `Fresh weight: Plant 1, Plant 2`."""
    return "; ".join(
        f"{values.quantity}: {columns_text(values.columns)}" for values in layout.values
    )


def quoted(columns: Sequence[str]) -> str:
    """Return names of columns in quotes, the first and last of many."""
    names = [f'"{name}"' for name in columns]
    if len(names) > MOST_COLUMNS:
        return f"{names[0]} ... {names[-1]}"
    return ", ".join(names)


def columns_text(columns: Sequence[str]) -> str:
    """Return names of columns, the first and last of many."""
    if len(columns) > MOST_COLUMNS:
        return f"{columns[0]} ... {columns[-1]}"
    return ", ".join(columns)


def factors_text(layout: Layout) -> str:
    """Return the second factors, and the rows that count alone."""
    if layout.factors:
        factors = ["all combinations"]
    else:
        factors = []
    rows = [f"only {column} {', '.join(labels)}" for column, labels in layout.only.items()]
    return "; ".join((*factors, *rows)) or "not told apart"


SLOT_WORDS: Final = {
    "gives": "",
    "values": "",
    "factor": "second factor",
    "occasions": "",
    "covers": "",
    "counts": "the numbers are",
    **{dimension.value: name for dimension, name in DIMENSION_NAMES.items()},
}


def difference(slots: Mapping[str, str], differing: Sequence[str]) -> str:
    """Return what one of several readings says in the slots in which they differ.

    What it has not is not named, but for trays. A single slot is not named, as its question does
    so.
    """
    if slots["gives"] == NOT_READ:
        return NOT_READ
    if len(differing) == 1:
        return slots.get(differing[0], "none")
    parts = []
    for slot in differing:
        word = SLOT_WORDS[slot]
        text = slots.get(slot, "none")
        if text == "none" and slot != differing[0] and slot != Dimension.UNIT:
            continue
        parts.append(f"{word}: {text}" if word else text)
    return "; ".join(parts)


def figures_lines(summary: Summary | None) -> list[str]:
    """Return a summary as a line a quantity: `fresh weight: warm 2 trays, 12 plants, mean 139 g;
    still ...`.
    """
    lines = []
    for quantity, figures in (summary or {}).items():
        shown = [f"{name} {_figure(quantity, figure)}".strip() for name, figure in figures.items()]
        lines.append(f"{measure_name(quantity)}: {'; '.join(shown)}")
    return lines


def measure_name(quantity: str) -> str:
    """Return the name of a measure in small letters."""
    return MEASURES.get(quantity.casefold(), quantity.replace("_", " ").lower())


def _figure(quantity: str, figure: Figures) -> str:
    if quantity in TOTALS:
        return f"{number_text(figure.total)} {figure.unit}".rstrip()
    mean = f"mean {number_text(figure.mean)} {figure.unit}".rstrip()
    if figure.lost:
        mean = f"{figure.lost} lost, {mean}"
    trays = counted(figure.units, "tray")
    if quantity in PER_TRAY:
        return f"{trays}, {mean} a tray"
    if quantity in READINGS:
        return f"{counted(figure.n, 'value')}, {mean}"
    if figure.units == figure.n:
        return f"{counted(figure.n, 'unit')}, {mean}"
    return f"{trays}, {counted(figure.n, 'plant')}, {mean}"


def counted(number: int, thing: str) -> str:
    """Return a number of things: `1 tray`, `12 plants`."""
    if number == 1:
        return f"{number} {thing}"
    return f"{number} {thing}s"


def number_text(value: float) -> str:
    """Return a number with four digits at least, all those before the point, and no power of ten."""
    if abs(value) >= 1000:
        return f"{value:,.0f}"
    if value == 0 or abs(value) >= 0.001:
        return f"{value:.4g}"
    return f"{value:.6f}"
