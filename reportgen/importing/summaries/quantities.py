"""What each quantity is called in a summary, and the unit that it is summed in."""

from typing import Final

from reportgen.importing.model.layouts import Covers, Layout, Occasions, Values
from reportgen.model.measure_names import LAST
from reportgen.workbook.declaration import SHEETS
from reportgen.workbook.slugs import slug

FRESH: Final = ("Fresh weight", "Weight")
DRY: Final = ("Dry weight",)
VOLUME: Final = "Volume"
READING: Final = "Reading"
OF_PLANTS: Final = (Covers.PLANT, Covers.MEAN)
PICKED: Final = (Occasions.PICKINGS, Occasions.RUNNING)
WATER: Final = "water"
ENERGY: Final = "energy"
GROWTH: Final = "Growth"
HARVESTS: Final = "Harvests"


def key_of(layout: Layout, values: Values) -> str:
    """Return the key of a quantity: that of the report's measure."""
    name = values.quantity
    if name == VOLUME:
        return WATER
    if name == READING:
        return ENERGY
    if name in (*FRESH, *DRY):
        return _key_of_weight(layout, values)
    measure = slug(name).replace("-", "_") or "unknown"
    if is_growth(layout):
        return f"{LAST}_{measure}"
    return measure


def key_of_each_plant(values: Values) -> str:
    """Return the key of the weight of a plant, where values cover counted plants."""
    if values.quantity in DRY:
        return "dry_weight"
    return "fresh_weight"


def is_growth(layout: Layout) -> bool:
    """Tell whether a layout holds what was measured as plants grew."""
    return layout.gives == GROWTH or layout.occasions is Occasions.GROWTH


def is_weight(values: Values) -> bool:
    """Tell whether values are what was harvested."""
    return values.quantity in (*FRESH, *DRY)


def is_per_plant(layout: Layout, values: Values) -> bool:
    """Tell whether a figure of each plant is meant, not of each unit."""
    return (
        values.covers in OF_PLANTS and layout.gives != HARVESTS and layout.occasions not in PICKED
    )


def unit_of(layout: Layout, values: Values) -> str:
    """Return the unit of a quantity's figures; "" where the declaration does not have it."""
    for sheet in SHEETS:
        for column in sheet.columns:
            if sheet.name == layout.gives and column.name == values.quantity:
                return column.unit
    if is_weight(values):
        return "g"
    return ""


def _key_of_weight(layout: Layout, values: Values) -> str:
    if is_growth(layout):
        return f"{LAST}_{key_of_each_plant(values)}"
    if is_per_plant(layout, values):
        return key_of_each_plant(values)
    if values.quantity in DRY:
        return "tray_yield_dry"
    return "tray_yield"
