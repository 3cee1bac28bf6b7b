"""The measures that are shown first, the main one before the others."""

from typing import Final

from reportgen.metrics.basis import on_whole_crop
from reportgen.metrics.measures import GROWTH_RATE
from reportgen.model.measure_names import LAST
from reportgen.model.results import Results
from reportgen.report import wording

KEY_MEASURES: Final = (
    "fresh_weight",
    *on_whole_crop("yield_per_plant_started"),
    "marketable_yield",
    *on_whole_crop("water_per_gram"),
    "energy_use",
    *on_whole_crop("energy_per_kg", "electricity_cost_per_gram"),
)


def key_measures(results: Results) -> tuple[str, ...]:
    """Return the keys of the measures that are shown at a glance, the main measure first.

    A size that was measured while plants grew is followed by the rate at which they came to it.
    """
    if results.main_measure.startswith(f"{LAST}_"):
        rates = _rates(results)
    else:
        rates = ()
    return tuple(dict.fromkeys((results.main_measure, *rates, *KEY_MEASURES)))


def _rates(results: Results) -> tuple[str, ...]:
    """Return the keys of the growth rates by the trait that the main measure is of."""
    main = wording.result_of(results, results.main_measure)
    if main is None:
        return ()
    keys: list[str] = []
    for result in results.measures:
        measure = result.measure
        if measure.trait == main.measure.trait and measure.key.startswith(GROWTH_RATE):
            keys.append(measure.key)
    return tuple(keys)
