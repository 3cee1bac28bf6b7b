"""Simulated trials with a known truth, to see how often intervals hold it.

Each scenario makes trays of plants: a tray's true mean varies by chance, plants vary within it. The
truth of a ratio is the quotient of the treatments' true means; the truth of a treatment's own
interval is its mean over all shelves.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np

from reportgen.stats.analysis import Analysis, Design, analyse
from reportgen.stats.log_scale import Denominator, InstrumentErrors, Question, analyse_ratios

SEED = 20_261


@dataclass(frozen=True)
class Scenario:
    """A way in which trials turn out: trays of each treatment, true means, how trays and plants
    vary.

    `between` and `within` are coefficients of variation of trays and of plants, one for each
    treatment; `shelves` is that of blocks, which multiply or add. `dies` is the probability that a
    plant dies. With `litres` the figure is a ratio of two measured totals, water by weight.
    """

    name: str
    trays: tuple[int, ...]
    means: tuple[float, ...] = (100.0, 130.0)
    between: tuple[float, ...] = (0.12, 0.12)
    within: float = 0.25
    plants: int = 6
    skewed: bool = False
    shelves: float = 0.0
    multiply: bool = True
    dies: float = 0.0
    litres: bool = False
    tolerated: bool = False  # no method is known that keeps its level here


SCENARIOS = (
    *(Scenario(f"normal, {n} + {n} trays", (n, n)) for n in (2, 3, 4, 6)),
    *(
        Scenario(f"normal, {a} + {b} trays", (a, b))
        for a, b in ((2, 3), (3, 5), (3, 6), (4, 6), (2, 6))
    ),
    *(
        Scenario(f"lognormal, {n} + {n} trays", (n, n), between=(0.3, 0.3), within=0.5, skewed=True)
        for n in (2, 3, 4, 6)
    ),
    Scenario("one plant in twelve dies, 4 + 4", (4, 4), dies=1 / 12),
    Scenario("one plant in twelve dies, 3 + 3", (3, 3), dies=1 / 12),
    Scenario("blocks that multiply, 4 + 4", (4, 4), shelves=0.3),
    Scenario("blocks that multiply, 3 + 3", (3, 3), shelves=0.3),
    Scenario("blocks that multiply, 6 + 6", (6, 6), shelves=0.3),
    Scenario("blocks that add, 4 + 4", (4, 4), shelves=0.2, multiply=False),
    Scenario("SD 5 % and 20 %, 4 + 6", (4, 6), between=(0.05, 0.20), within=0.0),
    Scenario("SD 20 % and 5 %, 4 + 4", (4, 4), between=(0.20, 0.05), within=0.0),
    Scenario("water per gram, 3 + 3", (3, 3), litres=True),
    Scenario("water per gram, 4 + 4", (4, 4), litres=True),
    Scenario("water per gram, 6 + 6", (6, 6), litres=True),
    Scenario("two noisy trays, six calm", (2, 6), between=(0.30, 0.10), within=0.0, tolerated=True),
    Scenario("three treatments, 4 trays", (4, 4, 4), (100.0, 120.0, 140.0), (0.12, 0.12, 0.12)),
    Scenario("six treatments of noise, 4 trays", (4,) * 6, (100.0,) * 6, (0.12,) * 6),
)


@dataclass(frozen=True)
class Made:
    """A simulated trial as the analysis takes it: a pair of totals for each tray, and the design."""

    numerator: np.ndarray
    denominator: np.ndarray
    design: Design


@dataclass(frozen=True)
class Row:
    """What a method did in a scenario: shares of trials, and the median width of the ratio's
    interval.

    `covered` is the share whose intervals of all ratios hold the truth, of those that have any;
    `own` the share of treatments' own intervals that hold theirs; `none` the share of trials
    without an interval of a ratio. `differences` is the share whose intervals of all differences
    hold the truth.
    """

    scenario: Scenario
    method: str
    covered: float
    own: float
    width: float
    none: float
    differences: float


def trials(scenario: Scenario, number: int) -> Iterator[Made]:
    """Yield seeded simulated trials of a scenario."""
    random = np.random.default_rng([SEED, *scenario.name.encode()])
    treatment = np.repeat(np.arange(len(scenario.trays)), scenario.trays)
    blocks = np.concatenate([np.arange(n) for n in scenario.trays]) if scenario.shelves else None
    design = Design(treatment, blocks, 0, len(scenario.trays))
    for _ in range(number):
        yield _trial(scenario, design, random)


def _trial(scenario: Scenario, design: Design, random: np.random.Generator) -> Made:
    means = np.array(scenario.means)[design.treatment]
    spread = np.array(scenario.between)[design.treatment]
    trays = means * _around_one(random, spread, scenario.skewed)
    if design.block is not None:
        shelves = random.normal(0, scenario.shelves, design.block.max() + 1)[design.block]
        trays = trays * np.exp(shelves) if scenario.multiply else trays + 100 * shelves
    size = (trays.size, scenario.plants)
    plants = trays[:, np.newaxis] * _around_one(
        random, np.full(size, scenario.within), scenario.skewed
    )
    alive = random.random(size) >= scenario.dies
    weights = np.where(alive, plants, 0).sum(axis=1)
    if not scenario.litres:
        return Made(weights, alive.sum(axis=1).astype(float), design)
    water = weights * 0.02 * _around_one(random, np.full(trays.size, 0.10), False) + 0.5
    return Made(water, weights, design)


def _around_one(random: np.random.Generator, spread: np.ndarray, skewed: bool) -> np.ndarray:
    if not skewed:
        return np.maximum(1 + spread * random.standard_normal(spread.shape), 0.01)
    sigma = np.sqrt(np.log1p(spread**2))
    return np.exp(sigma * random.standard_normal(spread.shape) - sigma**2 / 2)


def truths(scenario: Scenario) -> np.ndarray:
    """Return the true figure of each treatment."""
    means = np.array(scenario.means)
    if scenario.shelves and scenario.multiply:
        means = means * exp(scenario.shelves**2 / 2)
    if scenario.litres:
        return 0.02 + 0.5 / (means * scenario.plants)
    return means


def first_edition(made: Made) -> Analysis:
    """Analyse as before: plants counted as random, ratios by Fieller."""
    variances = "separate" if made.design.block is None else "pooled"
    return analyse(made.numerator, made.denominator, made.design, 0.95, variances)


def second_edition(made: Made, litres: bool) -> Analysis:
    """Analyse on the log scale."""
    kind = Denominator.MEASURED if litres else Denominator.FIXED
    no_errors = InstrumentErrors(np.zeros(made.design.treatments))
    return analyse_ratios(
        made.numerator, made.denominator, Question(made.design, 0.95), kind, no_errors
    )


def row(scenario: Scenario, method: str, number: int) -> Row:
    """Return what a method did in a scenario over a number of simulated trials."""
    truth = truths(scenario)
    ratios = truth / truth[0]
    differences = truth - truth[0]
    covered, own, widths, none, apart = [], [], [], 0, []
    for made in trials(scenario, number):
        found = first_edition(made) if method == "before" else second_edition(made, scenario.litres)
        for estimate, true in zip(found.estimates, truth, strict=True):
            if estimate.low is not None and estimate.high is not None:
                own.append(estimate.low <= true <= estimate.high)
        pairs = zip(found.comparisons, differences, strict=True)
        apart.append(
            all(
                _holds(each.difference_low, each.difference_high, true)
                for each, true in pairs
                if each
            )
        )
        compared = [
            (each, ratio) for each, ratio in zip(found.comparisons, ratios, strict=True) if each
        ]
        if any(each.ratio_low is None or each.ratio_high is None for each, _ in compared):
            none += 1
            continue
        covered.append(all(each.ratio_low <= ratio <= each.ratio_high for each, ratio in compared))
        widths.append(log(compared[0][0].ratio_high / max(compared[0][0].ratio_low, 1e-3)))
    return Row(
        scenario,
        method,
        float(np.mean(covered)) if covered else float("nan"),
        float(np.mean(own)) if own else float("nan"),
        float(np.median(widths)) if widths else float("nan"),
        none / number,
        float(np.mean(apart)),
    )


def _holds(low: float | None, high: float | None, truth: float) -> bool:
    return low is not None and high is not None and low <= truth <= high


def table(number: int) -> Iterator[str]:
    """Yield the lines of the table of coverage, before and after."""
    yield (
        f"coverage of 95 % intervals in {number} simulated trials a row (standard error"
        f" {sqrt(0.0475 / number):.2%})"
    )
    yield (
        f"{'scenario':36} {'method':7} {'ratios':>7} {'own':>7} {'width':>6} {'none':>6}"
        f" {'differences':>11}"
    )
    for scenario in SCENARIOS:
        for method in ("before", "after"):
            found = row(scenario, method, number)
            yield (
                f"{scenario.name:36} {method:7} {found.covered:7.1%} {found.own:7.1%}"
                f" {found.width:6.2f} {found.none:6.1%} {found.differences:11.1%}"
            )
