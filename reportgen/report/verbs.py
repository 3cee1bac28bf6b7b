"""How a sentence speaks of a measure: its verb, and what treatments gave or used."""

from typing import Final

from reportgen.metrics.basis import on_each_basis, on_whole_crop

BY_WEIGHTS: Final = on_each_basis(
    "energy_per_kg"
)  # its energy is one figure for the treatment, without a spread


GIVEN: Final = frozenset(
    (
        "fresh_weight",
        "dry_weight",
        *on_whole_crop("yield_per_plant_started", "tray_yield"),
        "marketable_yield",
        "pieces",
        "yield_per_week",
    )
)


USED_PER_WEIGHT: Final = (
    "energy_per_kg",
    "water_per_gram",
    "electricity_cost_per_gram",
    "running_cost_per_gram",
)


USED: Final = frozenset(("energy_use", "water_use", *on_each_basis(*USED_PER_WEIGHT)))
