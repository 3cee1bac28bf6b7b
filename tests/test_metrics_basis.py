"""Figures per gram say of which gram, and rest on the weight that a trial has."""

from dataclasses import replace

import pytest

from reportgen import language, metrics
from reportgen.metrics.basis import BASES
from reportgen.metrics.measures import METRICS
from reportgen.model.measure_names import MEASURE_NAMES, SHORT_NAMES, measure_key
from reportgen.model.trial import Trait
from reportgen.report import terms, unit_factors, units
from tests.trials import lit_trial

DRY = Trait("dry_weight", "Dry weight", "g")


def dried(of, fresh=False, undried=()):
    """Return a trial whose plants weigh a tenth of their fresh weight when dry, those of `undried`
    not weighed.
    """
    plants = []
    for plant in of.plants:
        weight = None if (plant.tray, plant.code) in undried else plant.fresh_weight / 10
        kept = plant.fresh_weight if fresh else None
        plants.append(replace(plant, fresh_weight=kept, traits=(weight,)))
    return replace(of, plants=tuple(plants), traits=(DRY,))


def figures(of):
    """Return each measure's figures by key."""
    return {one.measure.key: dict(one.estimates) for one in metrics.compute(of).measures}


def test_figures_of_a_trial_weighed_dry_are_per_dry_gram_and_none_is_per_fresh_gram():
    fresh, dry = figures(lit_trial()), figures(dried(lit_trial()))
    suffix = BASES[1].suffix
    on_dry = {key for key in dry if key.endswith(suffix)}
    assert {
        "water_per_gram_dry",
        "energy_per_kg_dry",
        "electricity_cost_per_gram_dry",
        "yield_per_mol_dry",
    } <= on_dry
    for key in on_dry:
        assert key.removesuffix(suffix) not in dry
        tenfold = 10 if "_per_gram" in key or "_per_kg" in key else 0.1
        for code, figure in dry[key].items():
            assert figure.value == pytest.approx(
                tenfold * fresh[key.removesuffix(suffix)][code].value
            )


def test_a_trial_weighed_both_ways_rests_on_fresh_weight_alone():
    both = figures(dried(lit_trial(), fresh=True))
    assert "water_per_gram" in both
    assert "dry_weight" in both
    assert not [key for key in both if key.endswith("_dry")]


def test_a_tray_with_a_plant_that_was_not_dried_has_no_dry_yield():
    known = metrics.compute(dried(lit_trial(), undried={("A1", "1")}))
    trays = {one.measure.key: dict(one.scores) for one in known.measures}
    assert "A1" not in trays["tray_yield_dry"]
    assert "A2" in trays["tray_yield_dry"]
    assert "A1" in trays["dry_weight"]


def test_the_labels_and_units_of_figures_per_gram_name_the_gram():
    for metric in METRICS:
        if "/g" in metric.unit or "/kg" in metric.unit:
            assert any(f"of {basis.weight}" in metric.label for basis in BASES), metric.key
        if metric.key.endswith("_dry"):
            assert "dry" in metric.label.casefold()
            assert "g dry" in metric.unit


def test_every_measure_can_be_named_and_a_short_name_means_the_weight_that_the_trial_has():
    labels = {metric.key: metric.label for metric in METRICS}
    for key, name in MEASURE_NAMES.items():
        assert labels[key] == name
        assert measure_key(name, ()) == key
    for key, name in SHORT_NAMES.items():
        assert measure_key(name, ()) == key
    named = replace(dried(lit_trial()), main_measure="water_per_gram")
    assert metrics.compute(named).main_measure == "water_per_gram_dry"


@pytest.mark.parametrize(
    ("unit", "english", "spanish", "customary"),
    [
        ("mL/g dry", "mL/g dry", "mL/g secos", "US gal/lb dry"),
        ("g dry/plant", "g dry/plant", "g secos/planta", "oz dry/plant"),
        ("EUR/g dry", "EUR/g dry", "EUR/g secos", "EUR/lb dry"),
        ("kWh/kg dry", "kWh/kg dry", "kWh/kg secos", "kWh/lb dry"),
        ("g dry/L", "g dry/L", "g secos/L", "oz dry/US gal"),
        ("g/plant", "g/plant", "g/planta", "oz/plant"),
    ],
)
def test_a_dry_gram_is_named_in_every_language_and_in_customary_units(
    unit, english, spanish, customary
):
    assert language.unit(unit) == english
    with language.using(language.of("es")):
        assert language.unit(unit) == spanish
    assert units.customary(unit).unit == customary
    bare = units.customary(unit.replace(" dry", ""))
    assert units.customary(unit).factor == bare.factor


def test_costs_and_water_of_a_dry_gram_are_shown_for_a_kilogram():
    assert units.metric("EUR/g dry") == unit_factors.DisplayUnit("EUR/kg dry", 1000.0)
    assert units.metric("mL/g dry") == unit_factors.DisplayUnit("L/kg dry", 1.0)
    assert units.metric("kWh/kg dry") is None


def test_every_label_is_in_the_list_for_translators():
    assert {metric.label for metric in METRICS} <= set(terms.LABELS)
