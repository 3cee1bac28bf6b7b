"""Heights at which light was read: which are one, and whether they reach around another.

Checks and report share it.
"""

from collections.abc import Iterable
from typing import Final

TOLERANCE: Final = 0.05  # cm; no ruler beside a lamp is read closer


def are_same(height: float | None, other: float | None) -> bool:
    """Tell whether two heights in cm are one.

    A height that was not recorded (None) is the same as no other.
    """
    return height is not None and other is not None and abs(height - other) <= TOLERANCE


def are_around(heights: Iterable[float], height: float) -> bool:
    """Tell whether a height in cm lies within others, of which there is at least one."""
    ordered = sorted(heights)
    return ordered[0] - TOLERANCE <= height <= ordered[-1] + TOLERANCE
