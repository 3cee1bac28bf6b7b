"""What a trial compares its single plants by: their weight, else the first thing that was measured
on them.
"""

from dataclasses import dataclass

from reportgen.metrics.measures import trait_measure_key
from reportgen.metrics.totals import DRY_WEIGHT, treatment_by_tray, weighs_plants
from reportgen.model.message import Quote, Term, Value
from reportgen.model.trial import Plant, Trial

WORDS = {DRY_WEIGHT: "dry weight", "root_weight": "root weight", "height": "height"}


@dataclass(frozen=True)
class PlantMeasure:
    """A measure of single plants: the key of its metric and its unit.

    `position` is its place among `Trial.traits`, None for fresh weight.
    """

    key: str
    unit: str
    position: int | None = None

    def value(self, plant: Plant) -> float | None:
        """Return the measure of a plant as it was recorded.

        Of plants that were weighed together their sum.
        """
        if self.position is None:
            return plant.fresh_weight
        return plant.traits[self.position]


def plant_measure(trial: Trial) -> PlantMeasure | None:
    """Return what single plants are compared by.

    Fresh weight, else dry weight, else the first measure with values.
    """
    if weighs_plants(trial):
        return PlantMeasure("fresh_weight", "g")
    quantities = []
    for position, trait in enumerate(trial.traits):
        if not trait.is_score:
            quantities.append(position)
    positions = sorted(quantities, key=lambda position: trial.traits[position].key != DRY_WEIGHT)
    for position in positions:
        if any(plant.traits[position] is not None for plant in trial.plants):
            trait = trial.traits[position]
            return PlantMeasure(trait_measure_key(trait), trait.unit, position)
    return None


def measure_name(trial: Trial, measure: PlantMeasure) -> Value:
    """Return what the measure is called within a sentence.

    The grower's own word where the program has none.
    """
    if measure.position is None:
        return Term("fresh weight")
    trait = trial.traits[measure.position]
    word = WORDS.get(trait.key)
    if word is None:
        return Quote(trait.label)
    return Term(word)


def measured_alone(trial: Trial, measure: PlantMeasure) -> dict[str, list[Plant]]:
    """Return the plants with a value of their own, by treatment; plants weighed together have none."""
    treatment_of = treatment_by_tray(trial)
    found: dict[str, list[Plant]] = {treatment.code: [] for treatment in trial.treatments}
    for plant in trial.plants:
        if measure.value(plant) is not None and plant.number == 1 and plant.tray in treatment_of:
            found[treatment_of[plant.tray]].append(plant)
    return found
