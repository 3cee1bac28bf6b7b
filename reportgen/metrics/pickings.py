"""Sums over a tray's pickings: what a crop that is picked more than once gave."""

from collections import defaultdict
from collections.abc import Callable
from math import nan

from reportgen.model.trial import Picking, Trial

Amount = Callable[[Picking], float | None]


def weight_of(picking: Picking) -> float | None:
    """Return the fresh weight of a picking, g; where no piece was picked it is 0."""
    if picking.weight is None and picking.pieces == 0:
        return 0.0
    return picking.weight


def pieces_of(picking: Picking) -> float | None:
    """Return the pieces of a picking; where nothing was weighed it is 0."""
    if picking.pieces is None:
        if picking.weight == 0:
            return 0.0
        return None
    return float(picking.pieces)


def is_weighed(trial: Trial) -> bool:
    """Return whether the yield is that of the pickings: one of them has a weight."""
    return any(picking.weight is not None for picking in trial.pickings)


def is_graded(trial: Trial) -> bool:
    """Return whether what was picked was graded, so that some of it may not be for sale."""
    return any(picking.grade for picking in trial.pickings)


def amount_of(trial: Trial) -> Amount:
    """Return what pickings are measured by.

    Their weight, or their pieces where nothing was weighed.
    """
    if is_weighed(trial):
        return weight_of
    return pieces_of


def only(amount: Amount, chosen: Callable[[Picking], bool]) -> Amount:
    """Return an amount that counts the chosen pickings alone, all others as 0."""

    def of_chosen(picking: Picking) -> float | None:
        if chosen(picking):
            return amount(picking)
        return 0.0

    return of_chosen


def is_marketable(picking: Picking) -> bool:
    """Return whether a picking can be sold."""
    return not picking.is_cull


def gave(picking: Picking) -> bool:
    """Return whether there was anything to pick."""
    return bool(picking.weight or picking.pieces)


def sums(trial: Trial, amount: Amount) -> dict[str, float]:
    """Return the sum of an amount over each tray's pickings.

    NaN where one of them was not measured.

    A tray whose plants were all lost before a picking gave 0. Any other tray without a picking is
    absent: what it gave is not known.
    """
    if not trial.pickings:
        return {}
    found = dict.fromkeys(_trays_that_lost_all(trial), 0.0)
    for picking in trial.pickings:
        value = amount(picking)
        found[picking.tray] = found.get(picking.tray, 0.0) + (nan if value is None else value)
    return found


def _trays_that_lost_all(trial: Trial) -> list[str]:
    lived: dict[str, bool] = defaultdict(bool)
    for plant in trial.plants:
        lived[plant.tray] |= plant.status == "harvested"
    return [tray for tray, some_lived in lived.items() if not some_lived]
