"""Workbooks of invented trials of factors and doses, whose truth is known."""

import numpy as np

from tests.workbooks import least

LIGHT_AND_FEED = ["Factor: light", "Factor: nutrient strength"]
TWO_BY_TWO = (
    ("lw", "Low, weak", "low", "weak"),
    ("ls", "Low, strong", "low", "strong"),
    ("hw", "High, weak", "high", "weak"),
    ("hs", "High, strong", "high", "strong"),
)
DOSES = tuple((f"d{dose}", f"{dose} g/L", dose) for dose in range(5))
FEED = ["Factor: feed (g/L)"]


def factor_book(treatments, heads, mean, *, fields=(), main_plot=None, blocks=4, spread=0.05):
    """Return the rows of a workbook of four plants a tray, a tray of each treatment in each block.

    mean: the weight in g that levels give, before blocks, trays and plants vary; main_plot: its
    name by block and treatment. The first treatment is the reference.
    """
    random = np.random.default_rng(3)
    sheets = least()
    trays, plants = [], []
    for block in range(1, blocks + 1):
        for index in random.permutation(len(treatments)):
            treatment = treatments[index]
            tray = f"T{len(trays) + 1}"
            plot = [main_plot(block, treatment)] if main_plot else []
            trays.append(
                [tray, treatment[0], f"bench {block}", f"place {len(trays) + 1}", 4, *plot]
            )
            level = mean(*treatment[2:]) * (1 + 0.05 * block) * random.lognormal(0, spread)
            weights = level * (1 + 0.08 * random.standard_normal(4))
            plants += [
                [tray, number, round(float(weight), 2)] for number, weight in enumerate(weights, 1)
            ]
    sheets["Treatments"] = [["Treatment", "Name", *heads], *map(list, treatments)]
    of_plots = ["Main plot"] if main_plot else []
    sheets["Trays"] = [
        ["Tray", "Treatment", "Block", "Position", "Plants started", *of_plots],
        *trays,
    ]
    sheets["Plants"] = [["Tray", "Plant", "Fresh weight (g)"], *plants]
    own = {"Reference treatment": treatments[0][0]}
    rows = [[name, own.get(name, value)] for name, value in sheets["Trial"]]
    drawn = [
        ["Randomised", "yes"],
        ["Layout", "randomised within blocks"],
        ["Main measure", "Fresh weight"],
    ]
    sheets["Trial"] = [*rows, *drawn, *map(list, fields)]
    return sheets


def multiplying(light, feed):
    """Return a weight on which light and feed act in proportion: light by 1.3, feed by 1.1."""
    return 20 * (1.3 if light == "high" else 1.0) * (1.1 if feed == "strong" else 1.0)


def together(light, feed):
    """Return a weight that both factors raise together alone."""
    return 30 if (light, feed) == ("high", "strong") else 20


def peaking(dose):
    """Return a weight that is highest at 0.35 / 0.16 = 2.19 g/L."""
    return 20 * np.exp(0.35 * dose - 0.08 * dose**2)
