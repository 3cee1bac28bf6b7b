"""How a trial's factors were combined: what can be analysed, and what is missing where they cannot."""

from collections import Counter, defaultdict
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from reportgen.metrics.blocks import is_blocked
from reportgen.metrics.totals import planted
from reportgen.model.message import (
    Message,
    Notes,
    Quote,
    Several,
    TreatmentName,
    Value,
    message,
    note,
)
from reportgen.model.trial import Factor, Tray, Treatment, Trial
from reportgen.stats.scores import BoolArray
from reportgen.stats.split_plot import SplitPlot
from reportgen.stats.trend import FEWEST_DOSES
from reportgen.stats.two_factors import Grid

MOST_FACTORS = 2


@dataclass(frozen=True)
class FactorDesign:
    """One or two factors analysed together, with the treatment of each combination.

    `main` is the place of the factor that main plots were given, None where trays were given both.
    `has_one_plot` where each of its levels had one main plot alone.
    """

    factors: tuple[Factor, ...]
    grid: Grid
    main: int | None = None
    has_one_plot: bool = False

    @property
    def judged(self) -> tuple[int, ...]:
        """Return the places of the factors whose own effects can be told from those of main plots."""
        places = range(len(self.factors))
        return tuple(place for place in places if not self.has_one_plot or place != self.main)

    @property
    def has_two(self) -> bool:
        """Return whether there are two factors."""
        return len(self.factors) == MOST_FACTORS

    @property
    def dose_places(self) -> list[int]:
        """Return the places of the factors judged whose doses are enough for a curve."""
        return [place for place in self.judged if is_dose(self.factors[place])]


def is_dose(factor: Factor) -> bool:
    """Return whether a factor has doses enough for a curve."""
    return len(factor.doses) >= FEWEST_DOSES


def has_doses(trial: Trial) -> bool:
    """Return whether the treatments are doses, along which letters would say nothing."""
    return any(is_dose(factor) for factor in trial.factors)


def factor_design(trial: Trial) -> FactorDesign | Notes:
    """Return the design of a trial's factors, or why they cannot be analysed.

    The notes are empty where there is nothing to analyse: no factor, or one whose levels are the
    treatments.
    """
    factors = trial.factors
    if not factors:
        return ()
    levels_are_treatments = len(factors) == 1 and not is_dose(factors[0])
    if levels_are_treatments:
        return ()
    if len(factors) > MOST_FACTORS:
        names = _listed([Quote(factor.name) for factor in factors])
        return note("too_many_factors", factors=names)
    repeated = _repeated(trial)
    if repeated:
        names = _listed([TreatmentName(treatment.code) for treatment in repeated])
        return note("levels_repeated", treatments=names)
    missing = _missing(trial)
    if missing:
        return _why_incomplete(trial, _listed(missing))
    design = FactorDesign(factors, _grid(trial))
    return _with_main_plots(trial, design)


def _why_incomplete(trial: Trial, missing: Several) -> Notes:
    """Return why two factors without all their combinations cannot be analysed."""
    first, second = (Quote(factor.name) for factor in trial.factors)
    if _are_confounded(trial):
        return note("factors_confounded", first=first, second=second, missing=missing)
    return note("combinations_missing", missing=missing)


def _listed(values: list[Value]) -> Several:
    return Several(tuple(values))


def _repeated(trial: Trial) -> list[Treatment]:
    numbers = Counter(treatment.levels for treatment in trial.treatments)
    return [treatment for treatment in trial.treatments if numbers[treatment.levels] > 1]


def _missing(trial: Trial) -> list[Value]:
    """Return the combinations of two factors' levels that no treatment has."""
    if len(trial.factors) != MOST_FACTORS:
        return []
    present = {treatment.levels for treatment in trial.treatments}
    first, second = trial.factors
    missing: list[Value] = []
    for levels in product(first.levels, second.levels):
        if levels not in present:
            missing.append(combination(trial.factors, levels))
    return missing


def combination(factors: tuple[Factor, ...], levels: tuple[str, ...]) -> Message:
    """Return two factors' levels together, as a part of a message."""
    first, second = factors
    return message(
        "levels_together",
        first=Quote(first.name),
        level=Quote(f"{levels[0]} {first.unit}".strip()),
        second=Quote(second.name),
        other=Quote(f"{levels[1]} {second.unit}".strip()),
    )


def _are_confounded(trial: Trial) -> bool:
    """Return whether two factors changed together, so that their averages are confounded."""
    first, second = trial.factors
    rows = []
    for treatment in trial.treatments:
        of_first = [float(treatment.levels[0] == level) for level in first.levels]
        of_second = [float(treatment.levels[1] == level) for level in second.levels[1:]]
        rows.append(of_first + of_second)
    rank = int(np.linalg.matrix_rank(np.array(rows)))
    return rank < len(first.levels) + len(second.levels) - 1


def _grid(trial: Trial) -> Grid:
    """Return the number of the treatment with each combination.

    One factor has one level of a second.
    """
    places = {treatment.levels: place for place, treatment in enumerate(trial.treatments)}
    reference = next(
        treatment for treatment in trial.treatments if treatment.code == trial.reference
    )
    first = trial.factors[0]
    if len(trial.factors) == 1:
        cells = [[places[(level,)]] for level in first.levels]
        return Grid(np.array(cells), (first.levels.index(reference.levels[0]), 0))
    second = trial.factors[1]
    rows: list[list[int]] = []
    for level in first.levels:
        rows.append([places[level, other] for other in second.levels])
    return Grid(
        np.array(rows),
        (first.levels.index(reference.levels[0]), second.levels.index(reference.levels[1])),
    )


# ---- main plots ----------------------------------------------------------------------------------


def _with_main_plots(trial: Trial, design: FactorDesign) -> FactorDesign | Notes:
    """Return the design with the factor of the main plots, or why it is confounded."""
    trays = planted(trial)
    if not any(tray.main_plot for tray in trays):
        return design
    without = [tray.code for tray in trays if not tray.main_plot]
    if without:
        return note("main_plots_incomplete", missing=_listed([Quote(code) for code in without]))
    constant = _constant_factors(trial, trays)
    if len(constant) == len(design.factors):
        return note("main_plots_of_treatments")
    if not constant:
        return design
    return _with_split(trial, replace(design, main=constant[0]))


def _with_split(trial: Trial, design: FactorDesign) -> FactorDesign | Notes:
    """Return the design with main plots of one factor, or why plots and trays are confounded."""
    assert design.main is not None
    split = split_of(trial)
    if split is not None and split.has_one_plot_a_level:
        return replace(design, has_one_plot=True)
    if split is not None and split.is_balanced:
        return design
    main, sub = design.factors[design.main], design.factors[1 - design.main]
    return note("split_plot_unbalanced", main=Quote(main.name), sub=Quote(sub.name))


def split_of(trial: Trial) -> SplitPlot | None:
    """Return the split-plot of a trial, balanced or not.

    None where no main plot was given one of two factors.
    """
    trays = planted(trial)
    if len(trial.factors) != MOST_FACTORS or not all(tray.main_plot for tray in trays):
        return None
    if _repeated(trial) or _missing(trial):
        return None
    constant = _constant_factors(trial, trays)
    if len(constant) != 1:
        return None
    everything: BoolArray = np.ones(len(trays), dtype=bool)
    return split_plot(trial, FactorDesign(trial.factors, _grid(trial), constant[0]), everything)


def _constant_factors(trial: Trial, trays: tuple[Tray, ...]) -> list[int]:
    """Return the places of the factors that have one level in each main plot."""
    places = range(len(trial.factors))
    return [place for place in places if _is_constant(trial, trays, place)]


def _is_constant(trial: Trial, trays: tuple[Tray, ...], place: int) -> bool:
    """Return whether all trays of a main plot have one level of a factor."""
    levels = {treatment.code: treatment.levels[place] for treatment in trial.treatments}
    by_plot: dict[tuple[str, str], set[str]] = defaultdict(set)
    for tray in trays:
        by_plot[_plot_of(trial, tray)].add(levels[tray.treatment])
    return all(len(of_plot) == 1 for of_plot in by_plot.values())


def _plot_of(trial: Trial, tray: Tray) -> tuple[str, str]:
    """Return a main plot; with blocks, plots of one name in two blocks are two."""
    if is_blocked(trial):
        return (tray.block, tray.main_plot)
    return ("", tray.main_plot)


def split_plot(trial: Trial, design: FactorDesign, usable: BoolArray) -> SplitPlot | None:
    """Return the split-plot of the trays that carry a figure. usable: (n,).

    None where trays are given both factors.

    A block that holds one main plot alone is no block: it is that main plot.
    """
    if design.main is None:
        return None
    trays = usable_trays(trial, usable)
    levels = {treatment.code: treatment.levels for treatment in trial.treatments}
    main, sub = design.factors[design.main], design.factors[1 - design.main]
    main_levels: list[int] = []
    sub_levels: list[int] = []
    for tray in trays:
        of_tray = levels[tray.treatment]
        main_levels.append(main.levels.index(of_tray[design.main]))
        sub_levels.append(sub.levels.index(of_tray[1 - design.main]))
    plots = [_plot_of(trial, tray) for tray in trays]
    labels = [f"{block}\n{plot}" for block, plot in plots]
    plot_numbers = np.unique(labels, return_inverse=True)[1]
    blocks = [tray.block for tray in trays]
    block_numbers = None
    if is_blocked(trial) and len(set(blocks)) < len(set(plots)):
        block_numbers = np.unique(blocks, return_inverse=True)[1]
    return SplitPlot(np.array(main_levels), np.array(sub_levels), plot_numbers, block_numbers)


def usable_trays(trial: Trial, usable: BoolArray) -> list[Tray]:
    """Return the trays with plants that carry a figure. usable: (n,)."""
    trays: list[Tray] = []
    for tray, is_usable in zip(planted(trial), usable.tolist(), strict=True):
        if is_usable:
            trays.append(tray)
    return trays
