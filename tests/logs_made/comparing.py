"""Whether figures that were read are the true ones, by quantity and treatment."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import isclose
from typing import Final

from .trial import Figures, Trial, Truth

SAME: Final = 1e-6  # relative


@dataclass(frozen=True)
class Names:
    """How a quantity may be named: keys of what was read, keys of a report's measures, the fittest
    first.
    """

    read: tuple[str, ...]
    measures: tuple[str, ...]


# A report of a workbook with the sheet Harvests has `tray_yield` alone, one with weights of plants
# has `fresh_weight` and `tray_yield`; so the sum of a unit is looked for under `tray_yield` first.
NAMES: Final = {
    "fresh_weight": Names(
        ("fresh_weight", "last_fresh_weight"), ("fresh_weight", "last_fresh_weight")
    ),
    "unit_yield": Names(("tray_yield", "yield", "fresh_weight"), ("tray_yield", "fresh_weight")),
    "dry_weight": Names(("dry_weight", "last_dry_weight"), ("dry_weight", "last_dry_weight")),
    "unit_dry": Names(("tray_yield_dry", "dry_weight"), ("tray_yield_dry", "dry_weight")),
    "water": Names(("water_use", "water"), ("water_use",)),
    "energy": Names(("energy_use", "energy"), ("energy_use",)),
}
WEIGHTS_READ: Final = ("fresh_weight", "tray_yield", "yield", "dry_weight", "tray_yield_dry")
# How well some figures fit: all equal; equal but for one factor, as in another unit; the same
# units; less.
EQUAL, PROPORTIONAL, SAME_UNITS, OTHER = 3, 2, 1, 0


def name_key(text: object) -> tuple[str, ...]:
    """Return what tells a treatment's name from others, however its words are joined."""
    said = str(text).casefold().strip()
    sign = said[:1] if said[:1] in "+-" else ""
    return (sign, *sorted(re.findall(r"[^\W_]+", said)))


def aliases(trial: Trial, name: str) -> set[tuple[str, ...]]:
    """Return the keys of all names that a treatment may go by: its code, and what that stands for."""
    found = {name_key(name)}
    if name in trial.spelled:
        found |= {name_key(trial.spelled[name]), name_key(f"{name} {trial.spelled[name]}")}
    return found


def by_true_name(
    read: Mapping[str, object], trial: Trial, names: list[str]
) -> dict[str, object] | None:
    """Return figures by the true names of treatments; None where the treatments are others."""
    found: dict[str, object] = {}
    for said, figures in read.items():
        meant = [name for name in names if name_key(said) in aliases(trial, name)]
        if len(meant) != 1 or meant[0] in found:
            return None
        found[meant[0]] = figures
    return found if len(found) == len(names) else None


def read_of(read: Mapping[str, object], quantity: str) -> Mapping[str, object] | None:
    """Return what was read of a quantity."""
    for key in NAMES[quantity].read:
        if read.get(key):
            return read[key]
    return None


def fit(read: Mapping[str, object] | None, truth: Truth, trial: Trial) -> int:
    """Return how well figures fit the truth, by the quantities that they have; OTHER where they
    have none of them.
    """
    fits = []
    for quantity, figures in truth.items():
        held = read_of(read or {}, quantity)
        if held is not None:
            fits.append(_fit_of(held, figures, trial))
    return min(fits, default=OTHER)


def _fit_of(held: Mapping[str, object], figures: dict[str, Figures], trial: Trial) -> int:
    named = by_true_name(held, trial, list(figures))
    if named is None:
        return OTHER
    if all(is_equal(named[name], one) for name, one in figures.items()):
        return EQUAL
    units = all(one.units in (None, named[name].get("units")) for name, one in figures.items())
    counts = all(one.n in (None, named[name].get("n")) for name, one in figures.items())
    totals = [(named[name].get("total"), one.total) for name, one in figures.items()]
    known = all(read and true for read, true in totals)
    if units and counts and known:
        factors = [read / true for read, true in totals]
        if all(isclose(factor, factors[0], rel_tol=SAME) for factor in factors):
            return PROPORTIONAL
    return SAME_UNITS if units else OTHER


def is_equal(read: Mapping[str, object], true: Figures) -> bool:
    """Return whether figures that were read of one treatment are the true ones, as far as these are
    known.
    """
    told = {"units": true.units, "n": true.n, "total": true.total, "mean": true.mean}
    if _is(read, told):
        return True
    return true.by_plant is not None and _is(
        read, {**told, "n": true.by_plant[0], "mean": true.by_plant[1]}
    )


def _is(read: Mapping[str, object], told: Mapping[str, float | None]) -> bool:
    for key, value in told.items():
        found = read.get(key)
        if value is None:
            continue
        if not isinstance(found, int | float) or not isclose(found, value, rel_tol=SAME):
            return False
    return True


def differences(read: Mapping[str, object], truth: Truth, trial: Trial) -> list[str]:
    """Return what of the figures is not true: a quantity whose figures differ, or one that the log
    does not hold.
    """
    found = []
    for quantity, figures in truth.items():
        held = read_of(read, quantity)
        if (
            held is not None
            and fit({NAMES[quantity].read[0]: held}, {quantity: figures}, trial) != EQUAL
        ):
            found.append(quantity)
    known = {key for quantity in truth for key in NAMES[quantity].read}
    if "fresh_weight" in truth:
        known |= {"tray_yield", "yield"}
    if "dry_weight" in truth:
        known |= {"tray_yield_dry"}
    others = (*WEIGHTS_READ, *NAMES["water"].read, *NAMES["energy"].read)
    return found + [
        f"{key} (there is none)" for key in others if read.get(key) and key not in known
    ]


def missed(read: Mapping[str, object], truth: Truth) -> list[str]:
    """Return the quantities of the truth that were not read at all."""
    return [quantity for quantity in truth if read_of(read, quantity) is None]
