"""The measures that every trial may have, by key and by the name that readers see."""

from collections.abc import Iterable
from typing import Final

MEASURE_NAMES: Final = {
    "yield_per_plant_started": "Yield per plant started",
    "yield_per_plant_started_dry": "Dry yield per plant started",
    "fresh_weight": "Fresh weight",
    "tray_yield": "Yield",
    "tray_yield_dry": "Dry yield",
    "survival": "Survival",
    "marketable_yield": "Marketable yield",
    "cull_share": "Share of culls",
    "pieces": "Pieces picked",
    "weight_per_piece": "Weight per piece",
    "days_to_first_harvest": "Days from the start to the first picking",
    "yield_per_week": "Yield per week of picking",
    "dry_matter": "Dry matter",
    "water_use": "Water use",
    "water_per_gram": "Water per gram of fresh weight",
    "water_per_gram_dry": "Water per gram of dry weight",
    "water_per_gram_marketable": "Water per gram of marketable weight",
    "yield_per_litre": "Fresh weight per litre",
    "yield_per_litre_dry": "Dry weight per litre",
    "yield_per_litre_marketable": "Marketable weight per litre",
    "energy_use": "Energy use",
    "energy_per_kg": "Energy per kilogram of fresh weight",
    "energy_per_kg_dry": "Energy per kilogram of dry weight",
    "energy_per_kg_marketable": "Energy per kilogram of marketable weight",
    "yield_per_kwh": "Fresh weight per kilowatt-hour",
    "yield_per_kwh_dry": "Dry weight per kilowatt-hour",
    "yield_per_kwh_marketable": "Marketable weight per kilowatt-hour",
    "electricity_cost_per_gram": "Electricity cost per gram of fresh weight",
    "electricity_cost_per_gram_dry": "Electricity cost per gram of dry weight",
    "electricity_cost_per_gram_marketable": "Electricity cost per gram of marketable weight",
    "yield_per_currency": "Fresh weight per unit of electricity cost",
    "yield_per_currency_dry": "Dry weight per unit of electricity cost",
    "yield_per_currency_marketable": "Marketable weight per unit of electricity cost",
    "running_cost_per_gram": "Running cost per gram of fresh weight",
    "running_cost_per_gram_dry": "Running cost per gram of dry weight",
    "running_cost_per_gram_marketable": "Running cost per gram of marketable weight",
    "yield_per_mol": "Fresh weight per mole of photons",
    "yield_per_mol_dry": "Dry weight per mole of photons",
    "yield_per_mol_marketable": "Marketable weight per mole of photons",
    "transpiration": "Transpiration",
}
# Names that leave open which weight they mean: the one that the trial has. The keys are those on
# fresh weight.
SHORT_NAMES: Final = {
    "water_per_gram": "Water per gram",
    "yield_per_litre": "Yield per litre",
    "energy_per_kg": "Energy per kilogram",
    "yield_per_kwh": "Yield per kilowatt-hour",
    "electricity_cost_per_gram": "Electricity cost per gram",
    "yield_per_currency": "Yield per unit of electricity cost",
    "running_cost_per_gram": "Running cost per gram",
    "yield_per_mol": "Yield per mole of photons",
}
# The measure of a growth trait on its last day: before the trait's key, and its label
# (`language.OF_TRAITS`).
LAST: Final = "last"
LAST_MEASURED: Final = "Last measured"


def measure_key(name: str, traits: Iterable[tuple[str, str]]) -> str:
    """Return the key of the measure that a grower named by its key or its name.

    Empty where there is none.

    The name may stand as a column's header does, with its unit in brackets.
    traits: the key and the label of each further measurement of plants.
    """
    known = [*MEASURE_NAMES.items(), *SHORT_NAMES.items(), *traits]
    without_unit = name.partition("(")[0]
    for named in (name, without_unit):
        for key, label in known:
            if _folded(named) and _folded(named) in (_folded(key), _folded(label)):
                return key
    return ""


def _folded(name: str) -> str:
    return "".join(sign for sign in name.casefold() if sign.isalnum())
