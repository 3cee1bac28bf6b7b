"""The weight that a figure per gram is of.

Every such figure is made once for each weight that a trial has.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from reportgen.metrics import totals
from reportgen.metrics.harvests import marketable_weight
from reportgen.metrics.pickings import is_graded
from reportgen.metrics.totals import Quantity
from reportgen.model.trial import Trial


@dataclass(frozen=True)
class Basis:
    """A weight of the crop that figures rest on.

    `suffix` stands behind the key of each metric on this basis, `weight` and `crop` in its label,
    `gram` in its unit. `crop` is empty where the yield on this basis is a metric of its own.
    `total` is the weight that each tray gave, g.
    """

    suffix: str
    weight: str
    crop: str
    gram: str
    total: Quantity


FRESH: Final = Basis("", "fresh weight", "Yield", "g", totals.fresh_weight)
DRY: Final = Basis("_dry", "dry weight", "Dry yield", "g dry", totals.dry_yield)
MARKETABLE: Final = Basis("_marketable", "marketable weight", "", "g", marketable_weight)
WHOLE_CROP: Final = (FRESH, DRY)
BASES: Final = (*WHOLE_CROP, MARKETABLE)


def bases_of(trial: Trial) -> tuple[Basis, ...]:
    """Return the weights that a trial's figures rest on.

    Fresh weight, or dry weight where nothing was weighed fresh.

    A trial with both rests on fresh weight alone, since figures on both would double its report.
    Where pickings were graded, figures rest on what can be sold too.
    """
    if not totals.weighs_fresh(trial):
        return (DRY,)
    if is_graded(trial):
        return (FRESH, MARKETABLE)
    return (FRESH,)


def on_each_basis(*keys: str) -> tuple[str, ...]:
    """Return the keys of metrics on fresh weight, each followed by those on other weights."""
    return _with_suffixes(keys, BASES)


def on_whole_crop(*keys: str) -> tuple[str, ...]:
    """Return the keys of metrics on the weights of the whole harvest."""
    return _with_suffixes(keys, WHOLE_CROP)


def _with_suffixes(keys: Iterable[str], bases: Iterable[Basis]) -> tuple[str, ...]:
    suffixed: list[str] = []
    for key in keys:
        suffixed += [f"{key}{basis.suffix}" for basis in bases]
    return tuple(suffixed)
