"""Harvests: what trays gave at their pickings, when, and how much of it can be sold."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import numpy as np

from reportgen.metrics.pickings import (
    amount_of,
    gave,
    is_graded,
    is_marketable,
    is_weighed,
    only,
    pieces_of,
    sums,
    weight_of,
)
from reportgen.metrics.totals import FloatArray, Quantity, by_tray, planted
from reportgen.model.message import Count, Notes, note
from reportgen.model.trial import Picking, Trial

DAYS_PER_WEEK = 7.0


def weight_picked(trial: Trial) -> FloatArray:
    """Return the fresh weight picked from each tray, g; NaN where no picking was weighed."""
    if not is_weighed(trial):
        return by_tray(trial, {})
    return by_tray(trial, sums(trial, weight_of))


def marketable_weight(trial: Trial) -> FloatArray:
    """Return the fresh weight of each tray that can be sold, g; NaN where nothing was graded."""
    if not is_graded(trial) or not is_weighed(trial):
        return by_tray(trial, {})
    return by_tray(trial, sums(trial, only(weight_of, is_marketable)))


def picked(trial: Trial) -> FloatArray:
    """Return what was picked from each tray: g, or pieces where nothing was weighed."""
    return by_tray(trial, sums(trial, amount_of(trial)))


def culls(trial: Trial) -> FloatArray:
    """Return how much of what was picked cannot be sold, as `picked` measures it.

    NaN where nothing was graded.
    """
    if not is_graded(trial):
        return by_tray(trial, {})
    return by_tray(trial, sums(trial, only(amount_of(trial), _is_cull)))


def _is_cull(picking: Picking) -> bool:
    return picking.is_cull


def pieces(trial: Trial) -> FloatArray:
    """Return the pieces picked from each tray; NaN where none were counted."""
    if not _is_counted(trial):
        return by_tray(trial, {})
    return by_tray(trial, sums(trial, pieces_of))


def marketable_pieces(trial: Trial) -> FloatArray:
    """Return the pieces of each tray that can be sold, all of them where nothing was graded."""
    if not _is_counted(trial):
        return by_tray(trial, {})
    return by_tray(trial, sums(trial, only(pieces_of, is_marketable)))


def _is_counted(trial: Trial) -> bool:
    return any(picking.pieces is not None for picking in trial.pickings)


def weight_of_counted(trial: Trial) -> FloatArray:
    """Return the fresh weight of each tray's pickings that were counted too, g."""
    return by_tray(trial, _of_both(trial, weight_of))


def pieces_of_weighed(trial: Trial) -> FloatArray:
    """Return the pieces of each tray's pickings that were weighed too; NaN for a tray without any."""
    found = {}
    for tray, number in _of_both(trial, pieces_of).items():
        if number:
            found[tray] = number
    return by_tray(trial, found)


def _of_both(trial: Trial, amount: Callable[[Picking], float | None]) -> dict[str, float]:
    both: list[Picking] = []
    for picking in trial.pickings:
        if picking.pieces is not None and picking.weight is not None:
            both.append(picking)
    found: dict[str, float] = {}
    for picking in both:
        found[picking.tray] = found.get(picking.tray, 0.0) + (amount(picking) or 0.0)
    return found


# ---- when it was picked --------------------------------------------------------------------------


def days_to_first_picking(trial: Trial) -> FloatArray:
    """Return the days from the start to the first picking of each tray that gave something."""
    first: dict[str, float] = {}
    for picking in trial.pickings:
        if gave(picking):
            day = float((picking.on - trial.started_on).days)
            first[picking.tray] = min(day, first.get(picking.tray, day))
    return by_tray(trial, first)


def notes_of_first_picking(trial: Trial) -> dict[str, Notes]:
    """Return how many of each treatment's trays gave nothing by the end."""
    known = np.isfinite(days_to_first_picking(trial))
    without: dict[str, int] = {}
    for tray, has_picking in zip(planted(trial), known, strict=True):
        if not has_picking:
            without[tray.treatment] = without.get(tray.treatment, 0) + 1
    notes: dict[str, Notes] = {}
    for code, number in without.items():
        notes[code] = note("never_picked", trays=Count(number, trial.unit))
    return notes


def picking_days(trial: Trial) -> list[date]:
    """Return the days on which something was recorded on the sheet Harvests, in order."""
    return sorted({picking.on for picking in trial.pickings})


def weeks_of_picking(trial: Trial) -> FloatArray:
    """Return the weeks of the picking season, the same for each tray.

    NaN where there was one day of picking.

    A picking gathers what ripened since the one before; the first is taken to have gathered as long
    as the others did on the average. Seven pickings a week apart make seven weeks.
    """
    days = picking_days(trial)
    if len(days) < 2:
        return by_tray(trial, {})
    intervals = len(days) - 1
    weeks = (days[-1] - days[0]).days * len(days) / intervals / DAYS_PER_WEEK
    return np.full(len(planted(trial)), weeks)


# ---- grades --------------------------------------------------------------------------------------


def own_grades(trial: Trial) -> tuple[str, ...]:
    """Return the grades of what can be sold where there are several, in the order of the workbook.

    Empty unless there are several.
    """
    of_pickings = []
    for picking in trial.pickings:
        if picking.grade and not picking.is_cull:
            of_pickings.append(picking.grade)
    grades = dict.fromkeys(of_pickings)
    if len(grades) > 1:
        return tuple(grades)
    return ()


def of_grade(grade: str) -> Quantity:
    """Return the quantity that sums one grade over each tray's pickings."""

    def is_of_grade(picking: Picking) -> bool:
        return picking.grade == grade

    def total(trial: Trial) -> FloatArray:
        return by_tray(trial, sums(trial, only(amount_of(trial), is_of_grade)))

    return total


# ---- up to a day ---------------------------------------------------------------------------------


def up_to(trial: Trial, quantity: Quantity, day: date) -> FloatArray:
    """Return a quantity of each tray as it was at the end of a day.

    A tray not picked by then had given 0.
    """
    pickings: list[Picking] = []
    for picking in trial.pickings:
        if picking.on <= day:
            pickings.append(picking)
        else:
            pickings.append(_emptied(picking))
    so_far = quantity(replace(trial, pickings=tuple(pickings)))
    # A tray whose whole sum is not known is left out all along, so that a curve is of the same
    # trays from end to end.
    return np.where(np.isfinite(quantity(trial)), so_far, np.nan)


def _emptied(picking: Picking) -> Picking:
    """Return a picking of nothing, measured as it was."""
    if picking.weight is None:
        weight = None
    else:
        weight = 0.0
    if picking.pieces is None:
        pieces_then = None
    else:
        pieces_then = 0
    return replace(picking, weight=weight, pieces=pieces_then)
