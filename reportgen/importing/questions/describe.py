"""Words for what a layout says, as choices and read-backs show them."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from reportgen.importing.dimension_names import DIMENSION_NAMES
from reportgen.importing.model.layouts import (
    NOTHING,
    Carrier,
    CarrierKind,
    Counts,
    Covers,
    Dimension,
    Layout,
    Occasions,
    Source,
)
from reportgen.importing.model.questions import Figures, Summary
from reportgen.importing.numerals import grouped
from reportgen.importing.quantity_names import NAMES, quantity_text
from reportgen.language import figure, marked, plural, say

CARRIER_NAMES: Final = {
    CarrierKind.SECTION: marked("the headings between rows"),
    CarrierKind.SHEET: marked("the sheets"),
    CarrierKind.FILE: marked("the files"),
    CarrierKind.ORDER: marked("the rows, counted"),
    CarrierKind.COLOUR: marked("the colour of the cells"),
}
OCCASION_NAMES: Final = {
    Occasions.ONCE: marked("each plant once"),
    Occasions.PICKINGS: marked("pickings, which add up"),
    Occasions.RUNNING: marked("running totals: the last holds"),
    Occasions.LAST: marked("the last weighing is the harvest"),
    Occasions.SAMPLES: marked("each day its own plants, harvest last"),
    Occasions.GROWTH: marked("the same plants measured again"),
}
COVER_NAMES: Final = {
    Covers.PLANT: marked("each value is of one plant"),
    Covers.UNIT: marked("each value is of a whole tray"),
    Covers.MEAN: marked("each value is a mean per plant"),
    Covers.TREATMENT: marked("each value is of a whole treatment"),
    Covers.TRIAL: marked("each value is of the whole trial"),
}
PARTS: Final = marked("each value is a part of a tray: they add up")
NUMBER_NAMES: Final = {
    Covers.PLANT: marked("each number is a plant"),
    Covers.UNIT: marked("each number is a whole tray"),
    Covers.MEAN: marked("each number is a mean per plant"),
}
SHEET_NAMES: Final = {
    "Plants": marked("plants"),
    "Harvests": marked("pickings"),
    "Growth": marked("growth of living plants"),
    "Solution": marked("water and solution"),
    "Meter": marked("electricity"),
    "Light": marked("light"),
    "Climate": marked("climate"),
}
WEIGHTS: Final = ("Fresh weight", "Dry weight")
NOT_READ: Final = marked("no part of the trial")
ABSENT: Final = marked("none")
MEASURES: Final = {
    "tray_yield": marked("yield"),
    "tray_yield_dry": marked("dry yield"),
    "ec": marked("EC"),
    "ph": marked("pH"),
    "co2": marked("CO2"),
    "water": marked("water"),
    "energy": marked("energy"),
}
COUNT_NAMES: Final = {
    Counts.EACH: marked("each"),
    Counts.BETWEEN: marked("between two readings of a row"),
    Counts.COUNTER: marked("counter"),
    Counts.DAILY: marked("daily counter"),
    Counts.SEASON: marked("whole trial"),
}
LAST: Final = "last_"  # begins the key of what was measured last
PER_TRAY: Final = ("tray_yield", "tray_yield_dry")
READINGS: Final = ("ec", "ph", "temperature", "ppfd", "air_temperature", "relative_humidity", "co2",
                   "solution_temperature")  # fmt: skip
TOTALS: Final = ("water", "energy")
MOST_COLUMNS: Final = 3  # names that are told one by one


def source_text(source: Source | None) -> str:
    """Return the carriers of a dimension in words, such as `part 1 of ID`, else `none`."""
    if source is None:
        return say(ABSENT)
    text = " + ".join(carrier_text(carrier) for carrier in source.carriers)
    if source.lookup:
        return say("{place}, by {table}", place=text, table=source.lookup.table)
    return text


def carrier_text(carrier: Carrier) -> str:
    """Return a carrier in words: a column by its name, a part by its number."""
    whole = _whole_text(carrier)
    if carrier.part:
        return say("part {part} of {whole}", part=carrier.part, whole=whole)
    return whole


def _whole_text(carrier: Carrier) -> str:
    if carrier.kind in CARRIER_NAMES:
        return say(CARRIER_NAMES[carrier.kind])
    if carrier.kind is CarrierKind.OVER:
        return _header_row_text(carrier.name)
    if carrier.kind is CarrierKind.TITLE:
        return carrier.name or say("the title")
    if carrier.kind is CarrierKind.FIXED:
        return say('"{label}" throughout', label=carrier.name)
    if carrier.kind is CarrierKind.DIMENSION:
        return say(carrier.name)
    return carrier.name


def _header_row_text(level: str) -> str:
    if level in ("", "1"):
        return say("the header row")
    return say("header row {row}", row=level)


def slots_of(layout: Layout) -> dict[str, str]:
    """Return what a layout says by slot, in words: sheet, values, each dimension, the rest."""
    if layout.gives == NOTHING:
        return {"gives": say(NOT_READ)}
    slots = {"gives": layout.gives, "values": values_text(layout)}
    for dimension in DIMENSION_NAMES:
        slots[dimension.value] = source_text(layout.dimensions.get(dimension))
    slots["factor"] = factors_text(layout)
    if layout.occasions is Occasions.PICKINGS and Dimension.OCCASION not in layout.dimensions:
        slots["occasions"] = say(OCCASION_NAMES[Occasions.ONCE])
        slots["covers"] = say(PARTS)
    else:
        slots["occasions"] = say(OCCASION_NAMES[layout.occasions])
        slots["covers"] = _covers_text(layout)
    slots["counts"] = _once(COUNT_NAMES[values.counts] for values in layout.values)
    return slots


def _covers_text(layout: Layout) -> str:
    """Return what the weights of a layout are of; without weights, what all values are of."""
    weights = [values for values in layout.values if values.quantity in WEIGHTS]
    return _once(COVER_NAMES[values.covers] for values in weights or layout.values)


def _once(messages: Iterable[str]) -> str:
    """Return messages in the language, each once."""
    return ", ".join(say(message) for message in dict.fromkeys(messages))


def values_text(layout: Layout) -> str:
    """Return the value columns by quantity: `Fresh weight: Plant 1, Plant 2`."""
    texts = []
    for values in layout.values:
        texts.append(f"{quantity_text(values.quantity)}: {columns_text(values.columns)}")
    return "; ".join(texts)


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
    factors = []
    if layout.factors:
        factors.append(say("all combinations"))
    for column, labels in layout.only.items():
        factors.append(say("only {column} {labels}", column=column, labels=", ".join(labels)))
    return "; ".join(factors) or say("not told apart")


SLOT_WORDS: Final = {
    "gives": "",
    "values": "",
    "factor": marked("second factor"),
    "occasions": "",
    "covers": "",
    "counts": marked("the numbers are"),
    **{dimension.value: name for dimension, name in DIMENSION_NAMES.items()},
}


def difference(slots: Mapping[str, str], differing: Sequence[str]) -> str:
    """Return what one of several readings says in the slots in which they differ.

    What it has not is not named, but for trays. A single slot is not named, as its question does
    so.
    """
    if slots["gives"] == say(NOT_READ):
        return say(NOT_READ)
    absent = say(ABSENT)
    if len(differing) == 1:
        return slots.get(differing[0], absent)
    parts = []
    for slot in differing:
        word = say(SLOT_WORDS[slot])
        text = slots.get(slot, absent)
        is_told = slot in (differing[0], Dimension.UNIT)
        if text == absent and not is_told:
            continue
        if word:
            text = f"{word}: {text}"
        parts.append(text)
    return "; ".join(parts)


def figures_lines(summary: Summary | None) -> list[str]:
    """Return a summary as a line a quantity: `fresh weight: warm 2 trays, 12 plants, ...`."""
    lines = []
    for quantity, by_treatment in (summary or {}).items():
        shown = []
        for name, figures in by_treatment.items():
            shown.append(f"{name} {_figure(quantity, figures)}".strip())
        lines.append(f"{measure_name(quantity)}: {'; '.join(shown)}")
    return lines


def measure_name(quantity: str) -> str:
    """Return the name of a measure in small letters."""
    special = MEASURES.get(quantity.casefold())
    if special:
        return say(special)
    if quantity.startswith(LAST):
        return say("last {measure}", measure=measure_name(quantity.removeprefix(LAST)))
    name = quantity.replace("_", " ").capitalize()
    if name in NAMES:
        return quantity_text(name).lower()
    return name.lower()


def _figure(quantity: str, figures: Figures) -> str:
    if quantity in TOTALS:
        return f"{number_text(figures.total)} {figures.unit}".rstrip()
    amount = f"{number_text(figures.mean)} {figures.unit}".rstrip()
    mean = say("mean {amount}", amount=amount)
    if figures.lost:
        mean = say("{number} lost, {mean}", number=figures.lost, mean=mean)
    trays = plural("{number} tray", "{number} trays", figures.units)
    if quantity in PER_TRAY:
        return say("{trays}, {mean} a tray", trays=trays, mean=mean)
    if quantity in READINGS:
        values = plural("{number} value", "{number} values", figures.n)
        return f"{values}, {mean}"
    if figures.units == figures.n:
        units = plural("{number} unit", "{number} units", figures.n)
        return f"{units}, {mean}"
    plants = plural("{number} plant", "{number} plants", figures.n)
    return f"{trays}, {plants}, {mean}"


def number_text(value: float) -> str:
    """Return a number with four digits at least, all those before the point, and no power of ten."""
    if abs(value) >= 1000:
        return grouped(value)
    if value == 0 or abs(value) >= 0.001:
        return figure(f"{value:.4g}")
    return figure(f"{value:.6f}")
