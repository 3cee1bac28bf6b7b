"""What the factors of a trial do: effects, interaction, and trends along doses, measure by measure."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations
from math import exp
from typing import Final

import numpy as np

from reportgen.metrics.blocks import is_blocked
from reportgen.metrics.factor_designs import (
    FactorDesign,
    factor_design,
    split_plot,
    usable_trays,
)
from reportgen.metrics.measures import Metric, metrics_of
from reportgen.metrics.tray_analysis import TrayTotals, tray_totals
from reportgen.metrics.verdicts import by_interval, explaining, reasons_for
from reportgen.model.factor_results import (
    CurvePoint,
    DoseTrend,
    FactorAnalysis,
    Factors,
    FactorTest,
    Interaction,
    InteractionCode,
    LevelEffect,
    RatioOfEffects,
    TrendCode,
)
from reportgen.model.message import Message, Notes, note
from reportgen.model.results import Comparison, MeasureResult, Verdict
from reportgen.model.trial import Factor, Trial
from reportgen.stats.additive import fit_additive
from reportgen.stats.cell_means import CellMeans, Contrast, FTest, cells_of, contrasts
from reportgen.stats.log_scale import scores_of_units
from reportgen.stats.scores import FloatArray, IntArray
from reportgen.stats.split_plot import split_plot_cells
from reportgen.stats.trend import Curve, Trend, curve_through, trend
from reportgen.stats.two_factors import Grid, TwoFactors, two_factors

# kinds of measurement with one figure for each treatment, not for each tray
TREATMENT_LEVEL: Final = frozenset(("energy", "light"))
CURVE_POINTS: Final = 41  # of a drawn curve
NOT_ALL_POSITIVE: Final = note("factors_not_positive")
NO_SPREAD: Final = note("factors_without_spread")

Problems = Callable[[str, str], tuple[Verdict, ...]]  # of two treatments, by their codes


def factor_effects(
    trial: Trial,
    measures: tuple[MeasureResult, ...],
    of_treatments: Mapping[str, tuple[Verdict, ...]],
) -> Factors:
    """Return what the trial's factors do to each measure that its trays show.

    `of_treatments` are the problems that may explain how a treatment differs from the reference, by
    its code.
    """
    design = factor_design(trial)
    if not isinstance(design, FactorDesign):
        return Factors(notes=design)
    totals = tray_totals(trial)
    problems = _problems_of_pairs(trial, measures, of_treatments)
    analyses = []
    for metric in metrics_of(trial):
        if not _has_effects(metric):
            continue
        analysis = _Analysis(trial, design, metric, problems).made(totals)
        if analysis is not None:
            analyses.append(analysis)
    return Factors(tuple(analyses))


def _problems_of_pairs(
    trial: Trial,
    measures: tuple[MeasureResult, ...],
    of_treatments: Mapping[str, tuple[Verdict, ...]],
) -> Problems:
    """Return a function that gives the problems of two treatments, each pair judged once."""

    @cache
    def problems(code: str, reference: str) -> tuple[Verdict, ...]:
        if code == reference:
            return ()
        if reference == trial.reference:
            return of_treatments.get(code, ())
        return explaining(replace(trial, reference=reference), measures, code)

    return problems


def _has_effects(metric: Metric) -> bool:
    """Return whether a measure has ratios on the log scale that rest on trays alone."""
    is_ratio = metric.is_ratio_scale and not metric.is_proportion and not metric.signed
    return is_ratio and TREATMENT_LEVEL.isdisjoint(metric.measured_by)


@dataclass(frozen=True)
class _Cells:
    """The means of all combinations of levels, and which of them is which."""

    means: CellMeans
    grid: Grid
    methods: Notes


@dataclass(frozen=True)
class LevelPair:
    """Two compared levels of a factor, within a level of the other factor."""

    factor: str
    level: str
    reference: str
    within: str


@dataclass(frozen=True)
class _Analysis:
    """One measure of a trial with its design."""

    trial: Trial
    design: FactorDesign
    metric: Metric
    problems: Problems

    def made(self, totals: TrayTotals) -> FactorAnalysis | None:
        """Return the analysis, with notes alone where there can be none.

        None where nothing was measured.
        """
        key = self.metric.key
        numerator = totals.total(self.metric.numerator) * self.metric.factor
        denominator = totals.total(self.metric.denominator)
        design = totals.question.design
        scores = scores_of_units(numerator, denominator, design, self.metric.divides_by)
        if scores is None:
            return FactorAnalysis(key, notes=NOT_ALL_POSITIVE)
        if not np.isfinite(scores.values).any():
            return None
        cells = self._cells(scores.values)
        if cells is None:
            return FactorAnalysis(key, notes=NO_SPREAD)
        if self.design.has_two:
            return self._of_two(cells)
        return FactorAnalysis(key, trends=self._trends(cells, None), methods=cells.methods)

    def _cells(self, scores: FloatArray) -> _Cells | None:
        usable = np.isfinite(scores)
        if self.design.has_one_plot:
            split = None
        else:
            split = split_plot(self.trial, self.design, usable)
        if split is not None:
            means = split_plot_cells(scores[usable], split)
            if means is None:
                return None
            return _Cells(means, self._grid_of_split(), note("split_plot_model"))
        codes = self.trial.treatment_codes
        trays = usable_trays(self.trial, usable)
        treatment = np.array([codes.index(tray.treatment) for tray in trays])
        block = self._blocks([tray.block for tray in trays])
        fit = fit_additive(scores[usable], treatment, len(codes), block)
        found = cells_of(fit)
        if found is None:
            return None
        return _Cells(found, self.design.grid, (*self._model_name(), *fit.model))

    def _model_name(self) -> Notes:
        if self.design.has_one_plot:
            return note("one_plot_model")
        if self.design.has_two:
            return note("two_factor_model")
        return note("dose_model")

    def _blocks(self, names: Sequence[str]) -> IntArray | None:
        if self.trial.variances == "separate" or not is_blocked(self.trial):
            return None
        return np.unique(names, return_inverse=True)[1]

    def _grid_of_split(self) -> Grid:
        """Return the numbers of cells that stand main level by main level."""
        grid = self.design.grid
        numbers = np.arange(grid.cells.size)
        if self.design.main == 0:
            return Grid(numbers.reshape(grid.cells.shape), grid.references)
        return Grid(numbers.reshape(grid.cells.shape[::-1]).T, grid.references)

    # ---- two factors -----------------------------------------------------------------------------

    def _of_two(self, cells: _Cells) -> FactorAnalysis:
        found = two_factors(
            cells.means, cells.grid, self.trial.confidence_level, self.design.judged
        )
        interaction = self._interaction(found, cells.grid)
        names = [self.design.factors[place].name for place in self.design.judged]
        tests = tuple(zip(names, map(_test, found.tests), strict=True))
        effects = self._within(found, cells)
        if not interaction.matters:
            effects = self._averaged(found, cells) + effects
        trends = self._trends(cells, interaction)
        return FactorAnalysis(self.metric.key, tests, interaction, effects, trends, cells.methods)

    def _interaction(self, found: TwoFactors, grid: Grid) -> Interaction:
        first, second = self.design.factors
        references = first.levels[grid.references[0]], second.levels[grid.references[1]]
        pairs = []
        for other in grid.others(1):
            for level in grid.others(0):
                pairs.append((level, other))
        ratios = []
        for (level, other), contrast in zip(pairs, found.interaction, strict=True):
            names = first.levels[level], references[0], second.levels[other], references[1]
            ratios.append(RatioOfEffects(*names, *_ratio(contrast)))
        return Interaction(
            _test(found.interaction_test), self._interaction_code(found), tuple(ratios)
        )

    def _interaction_code(self, found: TwoFactors) -> InteractionCode:
        if found.interaction_test.p_value < 1 - self.trial.confidence_level:
            return "differs"
        margin = self.trial.margin
        if margin is None:
            return "not_shown"
        reach = np.log1p(margin)
        if any(abs(contrast.value) > reach for contrast in found.interaction):
            return "may_differ"
        for contrast in found.interaction:
            if contrast.narrow_low < -reach or contrast.narrow_high > reach:
                return "not_shown"
        return "alike"

    def _averaged(self, found: TwoFactors, cells: _Cells) -> tuple[LevelEffect, ...]:
        """Return the effects of the factors judged, each averaged over the other."""
        grid = cells.grid
        places = []
        for factor in self.design.judged:
            for level in grid.others(factor):
                places.append((factor, level))
        effects = []
        for (factor, level), contrast in zip(places, found.main, strict=True):
            levels = list(grid.references)
            levels[factor] = level
            effect = self._effect(factor, levels, contrast, "")
            means = cells.means.combined(grid.averages(factor)).means
            effects.append(_with_figures(effect, means, level, grid.references[factor]))
        return tuple(effects)

    def _within(self, found: TwoFactors, cells: _Cells) -> tuple[LevelEffect, ...]:
        """Return the effects of each factor judged within each level of the other."""
        grid = cells.grid
        simple = iter(found.simple)
        effects: list[LevelEffect] = []
        for factor in self.design.judged:
            for other, within in enumerate(self.design.factors[1 - factor].levels):
                means = cells.means.combined(grid.within(factor, other)).means
                for level in grid.others(factor):
                    if factor == 0:
                        levels = [level, other]
                    else:
                        levels = [other, level]
                    effect = self._effect(factor, levels, next(simple), within)
                    effects.append(_with_figures(effect, means, level, grid.references[factor]))
        return tuple(effects)

    def _effect(
        self, factor: int, levels: Sequence[int], contrast: Contrast, within: str
    ) -> LevelEffect:
        """Return an effect with its verdict.

        `levels` are those of the treatment whose problems may explain it, beside the one with the
        reference level.
        """
        of_factor, grid = self.design.factors[factor], self.design.grid
        beside = list(levels)
        beside[factor] = grid.references[factor]
        reasons = self._reasons(grid.cells[levels[0], levels[1]], grid.cells[beside[0], beside[1]])
        pair = of_factor.levels[levels[factor]], of_factor.levels[grid.references[factor]]
        return self._judged(LevelPair(of_factor.name, *pair, within), contrast, reasons)

    def _judged(self, pair: LevelPair, contrast: Contrast, reasons: Notes) -> LevelEffect:
        """Return the contrast of two levels with its verdict.

        `reasons` say what else may explain it.
        """
        ratio, low, high = _ratio(contrast)
        narrow = exp(contrast.narrow_low), exp(contrast.narrow_high)
        verdict = by_interval(
            self.trial, Comparison(ratio, low, high, alike_low=narrow[0], alike_high=narrow[1])
        )
        is_confounded = bool(reasons) and verdict != "unclear"
        return LevelEffect(
            factor=pair.factor,
            level=pair.level,
            reference=pair.reference,
            within=pair.within,
            ratio=ratio,
            low=low,
            high=high,
            p_value=contrast.p_value,
            p_adjusted=contrast.p_adjusted,
            degrees_of_freedom=contrast.freedom,
            code="confounded" if is_confounded else verdict,
            reasons=reasons if is_confounded else (),
            toward=verdict if is_confounded else None,
        )

    def _reasons(self, cell: int, beside: int) -> Notes:
        """Return what else may explain how the treatments of two cells differ."""
        treatments = self.trial.treatments
        problems = self.problems(treatments[cell].code, treatments[beside].code)
        return reasons_for(self.metric.key, problems)

    # ---- doses -----------------------------------------------------------------------------------

    def _trends(self, cells: _Cells, interaction: Interaction | None) -> tuple[DoseTrend, ...]:
        """Return dose trends, for each level of the other factor where the interaction matters."""
        grid = cells.grid
        found: list[DoseTrend] = []
        for place in self.design.dose_places:
            if interaction is None or not interaction.matters:
                found.append(self._trend(place, cells.means.combined(grid.averages(place)), ""))
                continue
            others = self.design.factors[1 - place].levels
            for number, other in enumerate(others):
                found.append(
                    self._trend(place, cells.means.combined(grid.within(place, number)), other)
                )
        return tuple(found)

    def _trend(self, place: int, cells: CellMeans, within: str) -> DoseTrend:
        factor, level = self.design.factors[place], self.trial.confidence_level
        doses = np.array(factor.doses)
        span = factor.doses[0], factor.doses[-1]
        found = trend(cells, doses, level)
        code = _trend_code(found, span, level)
        if code == "not_a_curve":
            return self._without_curve(place, cells, found, within)
        if found.degree:
            curve = found.curve
        else:
            curve = curve_through(cells, doses, 1)
        change, low, high = curve.change(*span, level)
        drawn = []
        for dose in np.linspace(*span, CURVE_POINTS).tolist():
            drawn.append(_point(curve, dose, level))
        points = tuple(drawn)
        turning = found.curve.turning_point(level)
        return DoseTrend(
            factor=factor.name,
            within=within,
            code=code,
            degree=found.degree,
            linear=_test(found.linear),
            quadratic=_test(found.quadratic),
            lack_of_fit=None if found.lack_of_fit is None else _test(found.lack_of_fit),
            change=exp(change),
            change_low=exp(low),
            change_high=exp(high),
            curve=points,
            optimum=None if turning is None else turning[0],
            optimum_low=None if turning is None else turning[1].low,
            optimum_high=None if turning is None else turning[1].high,
            best=self._best(found, span),
            reasons=self._reasons_along(place),
        )

    def _without_curve(self, place: int, cells: CellMeans, found: Trend, within: str) -> DoseTrend:
        """Return what is known of doses that no curve fits: each dose compared with each lower one."""
        factor, level = self.design.factors[place], self.trial.confidence_level
        reasons = self._reasons_along(place)
        identity = np.eye(cells.means.size)
        places = list(combinations(range(len(factor.levels)), 2))
        rows = np.array([identity[higher] - identity[lower] for lower, higher in places])
        pairs: list[LevelEffect] = []
        for (lower, higher), contrast in zip(places, contrasts(cells, rows, level), strict=True):
            pair = LevelPair(factor.name, factor.levels[higher], factor.levels[lower], within)
            pairs.append(self._judged(pair, contrast, reasons))
        of_ends = places.index((0, len(factor.levels) - 1))
        ends = contrasts(cells, rows[[of_ends]], level)[0]
        change, low, high = _ratio(ends)
        return DoseTrend(
            factor=factor.name,
            within=within,
            code="not_a_curve",
            degree=found.degree,
            linear=_test(found.linear),
            quadratic=_test(found.quadratic),
            lack_of_fit=None if found.lack_of_fit is None else _test(found.lack_of_fit),
            change=change,
            change_low=low,
            change_high=high,
            curve=(),
            reasons=reasons,
            pairs=tuple(pairs),
        )

    def _best(self, found: Trend, span: tuple[float, float]) -> CurvePoint | None:
        """Return the point within the doses tested at which the curve is best.

        None without a trend.
        """
        if not found.degree:
            return None
        level = self.trial.confidence_level
        doses = list(span)
        turning = found.curve.turning_point(level)
        if turning is not None and span[0] < turning[0] < span[1]:
            doses.append(turning[0])
        points = [_point(found.curve, dose, level) for dose in doses]
        if self.metric.better == "lower":
            return min(points, key=lambda point: point.value)
        return max(points, key=lambda point: point.value)

    def _reasons_along(self, place: int) -> Notes:
        """Return what else may explain how the doses of a factor differ, each reason once."""
        grid = self.design.grid
        other = grid.references[1 - place]
        if place == 0:
            cells = grid.cells[:, other]
        else:
            cells = grid.cells[other, :]
        reference = int(cells[grid.references[place]])
        reasons: list[Message] = []
        for cell in cells.tolist():
            reasons.extend(self._reasons(cell, reference))
        return tuple(dict.fromkeys(reasons))


def _point(curve: Curve, dose: float, level: float) -> CurvePoint:
    value, low, high = curve.at(dose, level)
    return CurvePoint(dose, exp(value), exp(low), exp(high))


def _trend_code(found: Trend, span: tuple[float, float], level: float) -> TrendCode:
    if found.lack_of_fit is not None and found.lack_of_fit.p_value < 1 - level:
        return "not_a_curve"
    if found.degree == 0:
        return "flat"
    if found.degree == 1:
        return _direction(found.curve)
    if not _turns_within(found.curve, span, level):
        return "bends"
    if found.curve.bends == "down":
        return "peak"
    return "trough"


def _direction(curve: Curve) -> TrendCode:
    """Return whether a straight line rises or falls."""
    if curve.coefficients[1] > 0:
        return "rises"
    return "falls"


def _turns_within(curve: Curve, span: tuple[float, float], level: float) -> bool:
    """Return whether the whole interval of the turning point lies within the doses tested."""
    turning = curve.turning_point(level)
    if turning is None:
        return False
    low, high = turning[1].low, turning[1].high
    if low is None or high is None:
        return False
    return span[0] <= low and high <= span[1]


def _test(found: FTest) -> FactorTest:
    return FactorTest(found.statistic, found.freedom, found.error_freedom, found.p_value)


def _with_figures(
    effect: LevelEffect, means: FloatArray, level: int, reference: int
) -> LevelEffect:
    """Return an effect with the figures of both levels. means: (levels,), on the log scale."""
    return replace(effect, figure=exp(means[level]), reference_figure=exp(means[reference]))


def _ratio(contrast: Contrast) -> tuple[float, float, float]:
    return exp(contrast.value), exp(contrast.low), exp(contrast.high)


def factor_named(trial: Trial, name: str) -> Factor:
    """Return a trial's factor by its name; raise StopIteration where there is none."""
    return next(factor for factor in trial.factors if factor.name == name)
