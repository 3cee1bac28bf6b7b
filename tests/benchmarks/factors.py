"""Print how long the numbers of 3 x 3 factors take beside those of nine treatments of the same
trays.

Run `python tests/benchmarks/factors.py`: both have 54 trays, so what is measured is what the
factors add.
"""

import sys
from dataclasses import replace
from pathlib import Path
from statistics import median
from time import perf_counter

import numpy as np

from reportgen import metrics
from reportgen.model.trial import Factor, Plant, Tray, Treatment, Trial
from reportgen.stats import studentized

sys.path.insert(0, str(Path(__file__).parent.parent))
from trials import trial

ROUNDS = 7
LEVELS = (("low", "middle", "high"), ("weak", "medium", "strong"))


def nine_by_six() -> Trial:
    """Return a trial of nine treatments, six trays of five plants each, in six blocks."""
    random = np.random.default_rng(1)
    pairs = [(light, feed) for light in LEVELS[0] for feed in LEVELS[1]]
    treatments = tuple(
        Treatment(f"t{place}", f"{light} {feed}") for place, (light, feed) in enumerate(pairs)
    )
    trays = tuple(
        Tray(f"T{block}{treatment.code}", treatment.code, 5, block=str(block))
        for block in range(6)
        for treatment in treatments
    )
    plants = tuple(
        Plant(tray.code, str(number), "harvested", float(20 * random.lognormal(0, 0.1)))
        for tray in trays
        for number in range(5)
    )
    return replace(
        trial(),
        treatments=treatments,
        trays=trays,
        plants=plants,
        reference="t0",
        solution=(),
        meter=(),
    )


def of_factors(made: Trial) -> Trial:
    """Return the same trial with its treatments named as combinations of two factors."""
    pairs = [(light, feed) for light in LEVELS[0] for feed in LEVELS[1]]
    treatments = tuple(
        replace(one, levels=levels) for one, levels in zip(made.treatments, pairs, strict=True)
    )
    factors = (Factor("light", LEVELS[0]), Factor("feed", LEVELS[1]))
    return replace(made, treatments=treatments, factors=factors)


def seconds(made: Trial) -> float:
    """Return how long the numbers of a trial take, with nothing kept from an earlier one."""
    studentized._critical_value.cache_clear()
    start = perf_counter()
    metrics.compute(made)
    return perf_counter() - start


def main() -> None:
    """Print the ratio of the medians of alternating runs."""
    plain = nine_by_six()
    factorial = of_factors(plain)
    seconds(plain)
    seconds(factorial)
    pairs = [(seconds(plain), seconds(factorial)) for _ in range(ROUNDS)]
    ratio = median(second for _, second in pairs) / median(first for first, _ in pairs)
    print(f"3 x 3 factors take {ratio:.2f} times as long as nine treatments (at most 2)")


if __name__ == "__main__":
    main()
