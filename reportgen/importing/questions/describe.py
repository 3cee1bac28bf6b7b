"""Words for what a layout says, as choices and read-backs show them."""

from collections.abc import Mapping, Sequence
from typing import Final

from reportgen.importing.model.layouts import (
    NOTHING,
    Carrier,
    CarrierKind,
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
}
OCCASION_NAMES: Final = {
    Occasions.ONCE: "each plant once",
    Occasions.PICKINGS: "pickings, which add up",
    Occasions.RUNNING: "running totals, of which the last holds",
    Occasions.LAST: "the last weighing is the harvest",
    Occasions.SAMPLES: "each day its own plants, the last day is the harvest",
    Occasions.GROWTH: "the same plants measured again, no harvest",
}
NOT_READ: Final = "no part of the trial"
MEASURES: Final = {
    "fresh_weight": "fresh weight",
    "dry_weight": "dry weight",
    "tray_yield": "yield",
    "tray_yield_dry": "dry yield",
    "root_weight": "root weight",
}


def source_text(source: Source | None) -> str:
    """Return the carriers of a dimension in words, such as `part 1 of ID`; `none` where it has none."""
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
        return "the header row" if carrier.name in ("", "1") else f"header row {carrier.name}"
    if carrier.kind is CarrierKind.TITLE:
        return carrier.name or "the title"
    if carrier.kind is CarrierKind.FIXED:
        return f'"{carrier.name}" throughout'
    return carrier.name


def slots_of(layout: Layout) -> dict[str, str]:
    """Return what a layout says by slot, in words: what it gives, its values, each dimension, the rest."""
    if layout.gives == NOTHING:
        return {"gives": NOT_READ}
    slots = {"gives": layout.gives, "values": values_text(layout)}
    for dimension in DIMENSION_NAMES:
        slots[dimension.value] = source_text(layout.dimensions.get(dimension))
    slots["factor"] = factors_text(layout)
    slots["occasions"] = OCCASION_NAMES[layout.occasions]
    slots["covers"] = ", ".join(dict.fromkeys(values.covers.value for values in layout.values))
    slots["counts"] = ", ".join(dict.fromkeys(values.counts.value for values in layout.values))
    return slots


def values_text(layout: Layout) -> str:
    """Return the value columns by quantity: `Fresh weight: Plant 1, Plant 2`."""
    return "; ".join(f"{values.quantity}: {columns_text(values.columns)}" for values in layout.values)


def columns_text(columns: Sequence[str]) -> str:
    """Return names of columns, the first and last of many."""
    if len(columns) > 4:
        return f"{columns[0]} ... {columns[-1]}"
    return ", ".join(columns)


def factors_text(layout: Layout) -> str:
    """Return the second factors, and the rows that count alone."""
    factors = [f"with {name}" for name in layout.factors]
    rows = [f"only {column} {', '.join(labels)}" for column, labels in layout.only.items()]
    return "; ".join((*factors, *rows)) or "none"


SLOT_WORDS: Final = {
    "gives": "",
    "values": "",
    "factor": "second factor",
    "occasions": "",
    "covers": "a value is of a",
    "counts": "the numbers are",
    **{dimension.value: name for dimension, name in DIMENSION_NAMES.items()},
}


def difference(slots: Mapping[str, str], differing: Sequence[str]) -> str:
    """Return what one of several readings says in the slots in which they differ."""
    if slots["gives"] == NOT_READ:
        return NOT_READ
    parts = []
    for slot in differing:
        word = SLOT_WORDS[slot]
        text = slots.get(slot, "none")
        parts.append(f"{word}: {text}" if word else text)
    return "; ".join(parts)


def figures_text(summary: Summary | None) -> str:
    """Return a summary as one line: `fresh weight: warm 2 trays, 12 plants, mean 139 g; still ...`."""
    if summary is None:
        return ""
    parts = []
    for quantity, figures in summary.items():
        shown = [f"{name} {_figure(figure)}" for name, figure in figures.items()]
        parts.append(f"{measure_name(quantity)}: {'; '.join(shown)}")
    return " | ".join(parts)


def measure_name(quantity: str) -> str:
    """Return the name of a measure in small letters."""
    return MEASURES.get(quantity, quantity.replace("_", " "))


def _figure(figure: Figures) -> str:
    units = f"{figure.units} unit{'s' * (figure.units != 1)}"
    return f"{units}, n {figure.n}, mean {figure.mean:.4g} {figure.unit}".rstrip()
