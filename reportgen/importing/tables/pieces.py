"""Cells that touch one another: what `scipy.ndimage.label` gives, without what its import costs a
small log.
"""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from reportgen.importing.model.tables import Area


def runs_of(present: NDArray[np.bool_]) -> list[NDArray[np.intp]]:
    """Return the indexes, from 0, of each run of true values."""
    indexes = np.flatnonzero(present)
    if not indexes.size:
        return []
    return np.split(indexes, np.flatnonzero(np.diff(indexes) > 1) + 1)


def pieces_of(filled: NDArray[np.bool_]) -> list[Area]:
    """Return the bounds of cells that touch, also at their corners; rows and columns count from 1.

    Rows that are filled like the one above are looked at together with it.
    """
    changes = (filled[1:] != filled[:-1]).any(axis=1)
    starts = [0, *(np.flatnonzero(changes) + 1).tolist(), len(filled)]
    done: list[Area] = []
    above: list[
        tuple[NDArray[np.bool_], Area]
    ] = []  # the columns that a piece fills in the row above, its bounds
    for first, after in pairwise(starts):
        here: list[tuple[NDArray[np.bool_], Area]] = []
        for columns in runs_of(filled[first]):
            is_filled = np.zeros(filled.shape[1], np.bool_)
            is_filled[columns] = True
            here.append(
                (is_filled, Area(first + 1, int(columns[0]) + 1, after, int(columns[-1]) + 1))
            )
        for held, area in above:
            touching = [piece for piece in here if _touch(held, piece[0])]
            if not touching:
                done.append(area)
                continue
            here = [piece for piece in here if not any(piece is other for other in touching)]
            here.append(
                (
                    np.any([own for own, _ in touching], axis=0),
                    _around([area, *(own for _, own in touching)]),
                )
            )
        above = here
    return done + [area for _, area in above]


def _touch(first: NDArray[np.bool_], second: NDArray[np.bool_]) -> bool:
    """Tell whether columns of two rows touch, also at their corners."""
    is_same = (first & second).any()
    return bool(is_same or (first[1:] & second[:-1]).any() or (first[:-1] & second[1:]).any())


def _around(areas: list[Area]) -> Area:
    return Area(
        min(area.first_row for area in areas),
        min(area.first_column for area in areas),
        max(area.last_row for area in areas),
        max(area.last_column for area in areas),
    )
