"""Words of closed lists, by the keys that the calculation has for them, marked for the catalogues."""

from typing import Final

from reportgen import language
from reportgen.language import marked, marked_plural, plural, say
from reportgen.metrics.cost import ELECTRICITY, WATER
from reportgen.model.results import Measure
from reportgen.report import units

UNIT_WORDS: Final = {"tray": marked_plural("tray", "trays"), "pot": marked_plural("pot", "pots")}
COUNTED: Final = {  # nouns that stand behind a number
    "tray": marked_plural("{number} tray", "{number} trays"),
    "pot": marked_plural("{number} pot", "{number} pots"),
    "plant": marked_plural("{number} plant", "{number} plants"),
    "day": marked_plural("{number} day", "{number} days"),
    "block": marked_plural("{number} block", "{number} blocks"),
    "position": marked_plural("{number} position", "{number} positions"),
    "point": marked_plural("{number} point", "{number} points"),
    "reading": marked_plural("{number} reading", "{number} readings"),
    "device": marked_plural("{number} device", "{number} devices"),
    "volume": marked_plural("{number} volume", "{number} volumes"),
    "kind": marked_plural("{number} kind", "{number} kinds"),
    "meter": marked_plural("{number} meter", "{number} meters"),
    "date": marked_plural("{number} date", "{number} dates"),
    "comparison": marked_plural("{number} comparison", "{number} comparisons"),
    "gap": marked_plural("{number} gap", "{number} gaps"),
    "other cost": marked_plural("{number} other cost", "{number} other costs"),
    "more tray": marked_plural("{number} more tray", "{number} more trays"),
    "more pot": marked_plural("{number} more pot", "{number} more pots"),
    "plant without a row": marked_plural(
        "{number} plant without a row", "{number} plants without a row"
    ),
}
TERMS: Final = {
    "weight": marked("weight"),
    "fresh weight": marked("fresh weight"),
    "dry weight": marked("dry weight"),
    "root weight": marked("root weight"),
    "height": marked("height"),
    "volume": marked("volume"),
    "energy": marked("energy"),
    "light": marked("light"),
    "temperature": marked("temperature"),
    "air temperature": marked("air temperature"),
    "humidity": marked("humidity"),
    "EC": marked("EC"),
    "pH": marked("pH"),
    "mean light": marked("Mean light (PPFD)"),
    "light of a day": marked("Light of a day (DLI)"),
    "mean air temperature": marked("Mean air temperature"),
    "mean EC": marked("Mean EC"),
    "mean pH": marked("Mean pH"),
    "yield_per_litre": marked("fresh weight per litre"),
    "energy_per_kg": marked("energy per kilogram of fresh weight"),
    "yield_per_mol": marked("fresh weight per mole of photons"),
    "plant": marked("plant"),
    ELECTRICITY: marked("electricity"),
    WATER: marked("water"),
}
TERMS_IN_US: Final = {  # where US customary units are shown
    "yield_per_litre": marked("fresh weight per US gallon"),
    "energy_per_kg": marked("energy per pound of fresh weight"),
}
COSTS: Final = (ELECTRICITY, WATER)  # all others are the grower's own items
LABELS: Final = (  # of measures, and of traits that the workbook declares
    marked("Fresh weight"),
    marked("Yield per plant started"),
    marked("Dry yield per plant started"),
    marked("Yield"),
    marked("Dry yield"),
    marked("Survival"),
    marked("Marketable yield"),
    marked("Share of culls"),
    marked("Pieces picked"),
    marked("Weight per piece"),
    marked("Days from the start to the first picking"),
    marked("Yield per week of picking"),
    marked("Dry matter"),
    marked("Water use"),
    marked("Water per gram of fresh weight"),
    marked("Water per gram of dry weight"),
    marked("Water per gram of marketable weight"),
    marked("Fresh weight per litre"),
    marked("Dry weight per litre"),
    marked("Marketable weight per litre"),
    marked("Energy use"),
    marked("Energy per kilogram of fresh weight"),
    marked("Energy per kilogram of dry weight"),
    marked("Energy per kilogram of marketable weight"),
    marked("Fresh weight per kilowatt-hour"),
    marked("Dry weight per kilowatt-hour"),
    marked("Marketable weight per kilowatt-hour"),
    marked("Electricity cost per gram of fresh weight"),
    marked("Electricity cost per gram of dry weight"),
    marked("Electricity cost per gram of marketable weight"),
    marked("Fresh weight per unit of electricity cost"),
    marked("Dry weight per unit of electricity cost"),
    marked("Marketable weight per unit of electricity cost"),
    marked("Running cost per gram of fresh weight"),
    marked("Running cost per gram of dry weight"),
    marked("Running cost per gram of marketable weight"),
    marked("Fresh weight per mole of photons"),
    marked("Dry weight per mole of photons"),
    marked("Marketable weight per mole of photons"),
    marked("Transpiration"),
    marked("EC of the solution"),
    marked("pH of the solution"),
    marked("Temperature of the solution"),
    marked("PPFD"),
    marked("Uniformity of PPFD"),
    marked("Daily light integral"),
    marked("Photons on the canopy"),
    marked("Canopy efficacy"),
    marked("Evaporation"),
    marked("Air temperature"),
    marked("Relative humidity"),
    marked("Vapour pressure deficit"),
    marked("CO2 in the air"),
    marked("Logged temperature of the solution"),
    marked("Dry weight"),
    marked("Root weight"),
    marked("Height"),
    marked("Leaves"),
    marked("Canopy cover"),
)
UNITS: Final = (
    marked("g/plant"),
    marked("g/tray"),
    marked("g/pot"),
    marked("L/tray"),
    marked("L/pot"),
    marked("kWh/tray"),
    marked("kWh/pot"),
    marked("mol/tray"),
    marked("mol/pot"),
    marked("pieces/tray"),
    marked("pieces/pot"),
    marked("g/piece"),
    marked("g/tray/week"),
    marked("g/pot/week"),
    marked("lb/tray/week"),
    marked("lb/pot/week"),
    marked("lb/piece"),
    marked("lb/plant"),
    marked("lb/tray"),
    marked("lb/pot"),
    marked("US fl oz/tray"),
    marked("US fl oz/pot"),
    marked("oz/piece"),
    marked("oz/tray/week"),
    marked("oz/pot/week"),
    marked("oz/plant"),
    marked("oz/tray"),
    marked("oz/pot"),
    marked("US gal/tray"),
    marked("US gal/pot"),
    marked("pH units"),
    marked("plants/m²"),
)
FACTORS: Final = {  # of a ratio: what each is called, and what it is made of
    "light_better_used": (
        marked("Growth per unit of light"),
        marked("fresh weight per mole of photons"),
    ),
    "more_light_from_electricity": (
        marked("Light per kWh"),
        marked("photons from the electricity"),
    ),
    "more_grown": (marked("Growth"), marked("fresh weight of a {unit}")),
    "less_electricity": (marked("Electricity"), marked("1 / energy use")),
    "cheaper_electricity": (marked("Price paid"), marked("1 / price of electricity")),
}
CHECKS: Final = {  # of a fair test
    "replication": marked("Independent repeats"),
    "randomisation": marked("Places drawn at random"),
    "confounding": marked("Treatments spread over places and days"),
    "light_matched": marked("Light matched"),
    "light_even": marked("Light even"),
    "temperature_matched": marked("Temperature matched"),
    "same_start": marked("Same start"),
    "same_harvest_age": marked("Same age at harvest"),
    "losses": marked("Losses"),
    "solution_ran_out": marked("Supply of solution"),
    "ec_matched": marked("EC matched"),
    "ph_matched": marked("pH matched"),
    "meters_span": marked("Meters ran throughout"),
    "usual_ranges": marked("Figures in usual ranges"),
    "outliers": marked("Unusual plants"),
    "instruments": marked("Instruments"),
    "disclosure": marked("Disclosure"),
}
ITEMS: Final = {  # of the reporting checklist; units of plant light are named after ANSI/ASABE S640
    "ppfd": marked("Light at the canopy (PPFD, 400 to 700 nm)"),
    "light_days": marked("Days on which light was measured"),
    "uniformity": marked("Evenness of light: lowest, mean, highest, coefficient of variation"),
    "photoperiod": marked("Hours of light a day"),
    "dli": marked("Light of a day (DLI)"),
    "lamp_type": marked("Lamps and other equipment"),
    "spectrum": marked("Spectrum, or red to far-red ratio"),
    "lamp_distance": marked("Distance of lamps to the canopy"),
    "power": marked("Power of the equipment"),
    "air_temperature": marked("Air temperature"),
    "humidity": marked("Relative humidity"),
    "co2": marked("CO2, or that it was not controlled"),
    "air_speed": marked("Air speed"),
    "solution_temperature": marked("Temperature of the solution"),
    "dissolved_oxygen": marked("Dissolved oxygen"),
    "ec": marked("EC"),
    "ph": marked("pH"),
    "solution_composition": marked("Composition of the solution"),
    "volumes": marked("Volumes put in and taken out"),
    "container_type": marked("Kind of container or growing system"),
    "container_volume": marked("Volume of a container"),
    "plants_per_container": marked("Plants in a container"),
    "spacing": marked("Spacing"),
    "cultivar": marked("Cultivar"),
    "seed_source": marked("Source of seed"),
    "sown_on": marked("Day of sowing"),
    "transplanted_on": marked("Day of transplanting"),
    "harvested_on": marked("Day of harvest"),
    "instruments": marked("Instruments: what was measured with what"),
    "calibration": marked("Instruments: day of calibration"),
    "accuracy": marked("Instruments: accuracy"),
    "experimental_unit": marked("Experimental unit: what the treatment was given to"),
    "replicates": marked("Replicates of each treatment"),
    "blocks": marked("Blocks"),
    "randomisation": marked("Randomisation"),
    "exclusions": marked("Plants left out, and why"),
}
# where an item goes in the workbook, named as in a workbook of the language of the report
PLACES: Final = {
    "ppfd": marked("Light, column PPFD"),
    "light_days": marked("Light, column Date"),
    "uniformity": marked("Light, column PPFD, 3 points or more on a day"),
    "photoperiod": marked("Treatments, column Photoperiod"),
    "dli": marked("Light, column PPFD, and Treatments, column Photoperiod"),
    "lamp_type": marked("Treatments, column Equipment"),
    "spectrum": marked("Treatments, column Description, or Observations, column Observation"),
    "lamp_distance": marked("Treatments, column Description, or Observations, column Observation"),
    "power": marked("Treatments, column Rated power, or Loads, column Power"),
    "air_temperature": marked("Climate, column Air temperature"),
    "humidity": marked("Climate, column Relative humidity"),
    "co2": marked("Climate, column CO2, or Observations, column Observation"),
    "air_speed": marked("Observations, column Observation"),
    "solution_temperature": marked("Solution, column Temperature"),
    "dissolved_oxygen": marked("Observations, column Observation"),
    "ec": marked("Solution, column EC"),
    "ph": marked("Solution, column pH"),
    "solution_composition": marked("Trial, field Nutrient recipe"),
    "volumes": marked("Solution, column Volume, from fill to remaining"),
    "container_type": marked("Trial, field Growing system"),
    "container_volume": marked("Trial, field Growing system"),
    "plants_per_container": marked("Trays, column Plants started"),
    "spacing": marked("Treatments, column Canopy area"),
    "cultivar": marked("Trial, field Cultivar"),
    "seed_source": marked("Trial, field Cultivar, or Observations, column Observation"),
    "sown_on": marked("Trial, field Sown on"),
    "transplanted_on": marked("Observations, column Observation"),
    "harvested_on": marked("Trial, field Harvested on"),
    "instruments": marked("Instruments, column Instrument"),
    "calibration": marked("Instruments, column Calibrated on"),
    "accuracy": marked("Instruments, column Accuracy"),
    "experimental_unit": marked("Trial, field Experimental unit"),
    "replicates": marked("Trays, a row each"),
    "blocks": marked("Trays, column Block, or Trial, field Layout"),
    "randomisation": marked("Trial, field Randomised"),
    "exclusions": marked("Plants, a row for each lost plant, columns Status and Note"),
}


def term(key: str) -> str:
    """Return a word of a closed list in the current language.

    Raise KeyError for one that is in none.
    """
    if key in UNIT_WORDS:
        return plural(*UNIT_WORDS[key], 1)
    if units.is_us() and key in TERMS_IN_US:
        return say(TERMS_IN_US[key])
    return say(TERMS[key])


def counted(noun: str, number: int) -> str:
    """Return a number with its noun, such as `1 tray` or `4 trays`."""
    return plural(*COUNTED[noun], number)


def unit_word(unit: str, number: int = 1) -> str:
    """Return a trial's word for its experimental unit, in the form that goes with a number."""
    return plural(*UNIT_WORDS[unit], number)


def of_container(message: str) -> str:
    """Return a message in the current language, `{unit}` and `{units}` in it as experimental units
    are called now.
    """
    return say(
        message, unit=unit_word(language.container()), units=unit_word(language.container(), 2)
    )


def factor(key: str) -> str:
    """Return the name of a factor of a ratio."""
    name, _ = FACTORS[key]
    return say(name)


def factor_in_full(key: str) -> str:
    """Return the name of a factor of a ratio with what it is made of."""
    name, made_of = FACTORS[key]
    return say("{factor}: {made_of}", factor=say(name), made_of=of_container(made_of))


def label(measure: Measure) -> str:
    """Return what a measure is called in the units of display.

    One out of growth names its trait, a share its grade.
    """
    return language.label(
        units.called(measure.label, units.current().system), measure.trait or measure.grade
    )


def cost(name: str) -> str:
    """Return the name of a part of the running cost; the grower's own items stay as they are."""
    if name in COSTS:
        return say(TERMS[name])
    return name
