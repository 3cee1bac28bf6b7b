"""Whether one relative growth rate describes a treatment, or its growth became slower or faster."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Final

import numpy as np

from reportgen.metrics.design import question_of
from reportgen.metrics.growth_rate import TrayCourse, relative_growth_rate, tray_courses
from reportgen.metrics.totals import FloatArray, Quantity, by_tray, planted, treatment_by_tray
from reportgen.model.message import Notes, note
from reportgen.model.results import GrowthCode, GrowthShape
from reportgen.model.trial import Trial
from reportgen.stats.log_scale import is_pooled
from reportgen.stats.straightness import Course, Straightness, straightness

MOST_TRAYS: Final = 0.5  # of those measured at all: a day with fewer is no day of measuring
SAME_RATE: Final = (
    0.1  # relative: rates before and after that are nearer are not called slower or faster
)
CUBIC: Final = 3  # four values, like two lines and the day on which they meet
CLEARLY: Final = 0.5  # of the sum of squares; ours
GrowthNotes = Callable[[Trial], dict[str, Notes]]


@dataclass(frozen=True)
class GrowthRecord:
    """The courses of the trays by code, and the days of measuring as ordinal numbers."""

    courses: Mapping[str, TrayCourse]
    days: tuple[int, ...]

    @property
    def periods(self) -> tuple[tuple[int, int], ...]:
        """Return the first and the last day of each period between days of measuring."""
        return tuple(pairwise(self.days))

    def rates(self, trial: Trial, start: int, end: int) -> FloatArray:
        """Return each tray's relative growth rate between two days, 1/d."""
        return by_tray(
            trial, {tray: course.rate(start, end) for tray, course in self.courses.items()}
        )


def growth_record(trial: Trial, position: int) -> GrowthRecord:
    """Return the courses of a growth trait, and the days with at least half of the trays."""
    trays = set(treatment_by_tray(trial))
    courses = {}
    for tray, course in tray_courses(trial, position).items():
        if tray in trays:
            courses[tray] = course
    every_day: set[int] = set()
    for course in courses.values():
        every_day.update(course.logs)
    days: list[int] = []
    for day in sorted(every_day):
        measured = sum(day in course.logs for course in courses.values())
        if measured >= MOST_TRAYS * len(courses):
            days.append(day)
    return GrowthRecord(courses, tuple(days))


def single_rate(position: int) -> Quantity:
    """Return the quantity that is each tray's relative growth rate, 1/d.

    NaN where its treatment has no single one.
    """

    def rates(trial: Trial) -> FloatArray:
        single = set()
        for shape in growth_shapes(trial, position):
            if shape.has_single_rate:
                single.add(shape.treatment)
        is_single = np.array([tray.treatment in single for tray in planted(trial)])
        return np.where(is_single, relative_growth_rate(position)(trial), np.nan)

    return rates


def withheld(position: int) -> GrowthNotes:
    """Return what says, by treatment, why it has no single rate."""

    def reasons(trial: Trial) -> dict[str, Notes]:
        found: dict[str, Notes] = {}
        for shape in growth_shapes(trial, position):
            if not shape.has_single_rate:
                is_tested = shape.code != "untested"
                found[shape.treatment] = (
                    note("no_single_rate") if is_tested else note("evenness_untested")
                )
        return found

    return reasons


def rested_on(position: int) -> GrowthNotes:
    """Return what says, by treatment, that its rate rests on two days."""

    def notes(trial: Trial) -> dict[str, Notes]:
        shapes = growth_shapes(trial, position)
        notes_of_treatments: dict[str, Notes] = {}
        for shape in shapes:
            if shape.code == "two_days":
                notes_of_treatments[shape.treatment] = note("rate_of_two_days")
        return notes_of_treatments

    return notes


def growth_shapes(trial: Trial, position: int) -> tuple[GrowthShape, ...]:
    """Return whether one rate describes each treatment that has courses."""
    record = growth_record(trial, position)
    tests = _tests(trial, record)
    shapes: list[GrowthShape] = []
    for treatment in trial.treatments:
        courses = [record.courses[code] for code in _trays(trial, record, treatment.code)]
        if courses:
            shapes.append(_shape(treatment.code, courses, record, tests[treatment.code]))
    return tuple(shapes)


def _trays(trial: Trial, record: GrowthRecord, treatment: str) -> list[str]:
    own = (tray.code for tray in planted(trial) if tray.treatment == treatment)
    return [code for code in own if code in record.courses]


def _tests(trial: Trial, record: GrowthRecord) -> dict[str, Straightness]:
    """Return the test of each treatment; one variance serves all where it does for other measures."""
    codes = trial.treatment_codes
    courses: list[Course] = []
    group: list[int] = []
    for number, code in enumerate(codes):
        for tray in _trays(trial, record, code):
            logs = record.courses[tray].logs
            courses.append(Course(np.array(list(logs), dtype=float), np.array(list(logs.values()))))
            group.append(number)
    groups = np.array(group, dtype=int)
    units = np.bincount(groups, minlength=len(codes))
    pooled = is_pooled(question_of(trial), units)
    return dict(zip(codes, straightness(courses, groups, len(codes), pooled=pooled), strict=True))


def _shape(
    treatment: str, courses: Sequence[TrayCourse], record: GrowthRecord, test: Straightness
) -> GrowthShape:
    trays = len(courses)
    if max(len(course.logs) for course in courses) == 2:
        return GrowthShape(treatment, "two_days", trays)
    if test.p_value is None:
        return GrowthShape(treatment, "untested", trays)
    if test.is_straight:
        return GrowthShape(treatment, "even", trays, test.p_value)
    return _turning(treatment, courses, record, test.p_value)


def _turning(
    treatment: str, courses: Sequence[TrayCourse], record: GrowthRecord, p_value: float
) -> GrowthShape:
    """Return on which day of measuring the growth of a treatment turned.

    Where two lines fit its mean best.

    Growth that became slower, or faster, in every period has no such day, but for two lines that
    fit clearly better.
    """
    trays = len(courses)
    whole = [course for course in courses if set(record.days) <= set(course.logs)]
    if not whole or len(record.days) < 3:
        return GrowthShape(treatment, "uneven", trays, p_value)
    days = np.array(record.days, dtype=float)
    logs_of_trays = []
    for course in whole:
        logs_of_trays.append([course.logs[day] for day in record.days])
    logs = np.mean(logs_of_trays, axis=0)
    rates = np.diff(logs) / np.diff(days)
    turn = min(record.days[1:-1], key=lambda day: _misfit(days, logs, day))
    if _is_steady(rates) and not _turns_clearly(days, logs, _misfit(days, logs, turn)):
        first, last = float(rates[0]), float(rates[-1])
        return GrowthShape(treatment, _way(first, last), trays, p_value, None, first, last)
    place = record.days.index(turn)
    before = float((logs[place] - logs[0]) / (days[place] - days[0]))
    after = float((logs[-1] - logs[place]) / (days[-1] - days[place]))
    code = _way(before, after)
    return GrowthShape(treatment, code, trays, p_value, date.fromordinal(turn), before, after)


def _misfit(days: FloatArray, logs: FloatArray, turn: int) -> float:
    """Return the sum of squares around two lines that meet on the day `turn`."""
    since = days - days[0]
    model = np.column_stack([np.ones(days.size), since, np.maximum(days - turn, 0)])
    fitted = model @ np.linalg.lstsq(model, logs, rcond=None)[0]
    return float(((logs - fitted) ** 2).sum())


def _is_steady(rates: FloatArray) -> bool:
    """Return whether growth slowed, or quickened, notably in every period."""
    steps = np.diff(rates)
    is_one_way = bool((steps < 0).all() or (steps > 0).all())
    return (
        is_one_way and bool(rates.min() > 0) and _way(float(rates[0]), float(rates[-1])) != "uneven"
    )


def _turns_clearly(days: FloatArray, logs: FloatArray, misfit: float) -> bool:
    """Return whether two lines fit clearly better than a cubic with as many parameters.

    Where both go through every day they cannot be told apart, and nothing shows a turn.
    """
    if days.size <= CUBIC + 1:
        return False
    since = (days - days[0]) / (days[-1] - days[0])
    fitted = np.polyval(np.polyfit(since, logs, CUBIC), since)
    return misfit < CLEARLY * float(((logs - fitted) ** 2).sum())


def _way(before: float, after: float) -> GrowthCode:
    if abs(after - before) <= SAME_RATE * max(abs(before), abs(after)):
        return "uneven"
    if after < before:
        return "slower"
    return "faster"
