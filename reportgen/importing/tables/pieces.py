"""Cells that touch one another: what `scipy.ndimage.label` gives, without what its import costs a
small log.
"""

from dataclasses import dataclass
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


@dataclass(frozen=True)
class _Piece:
    """Cells that touch: the columns they fill (columns,) in their lowest row, and their bounds."""

    filled: NDArray[np.bool_]
    area: Area


def pieces_of(filled: NDArray[np.bool_]) -> list[Area]:
    """Return the bounds of cells that touch, also at their corners; rows and columns count from 1.

    Rows that are filled like the one above are looked at together with it.
    """
    changes = (filled[1:] != filled[:-1]).any(axis=1)
    starts = [0, *(np.flatnonzero(changes) + 1).tolist(), len(filled)]
    ended: list[_Piece] = []
    above: list[_Piece] = []
    for first, after in pairwise(starts):
        pieces = _pieces_of_rows(filled[first], first, after)
        for piece in above:
            touching = [other for other in pieces if _touch(piece.filled, other.filled)]
            if touching:
                pieces = [other for other in pieces if not _touch(piece.filled, other.filled)]
                pieces.append(_united(piece, touching))
            else:
                ended.append(piece)
        above = pieces
    return [piece.area for piece in ended + above]


def _pieces_of_rows(filled: NDArray[np.bool_], first: int, after: int) -> list[_Piece]:
    """Return the pieces of rows `first` to before `after`, from 0, that are filled alike."""
    pieces = []
    for columns in runs_of(filled):
        is_filled = np.zeros(len(filled), np.bool_)
        is_filled[columns] = True
        area = Area(first + 1, int(columns[0]) + 1, after, int(columns[-1]) + 1)
        pieces.append(_Piece(is_filled, area))
    return pieces


def _united(above: _Piece, touching: list[_Piece]) -> _Piece:
    """Return one piece of those that touch a piece above them."""
    filled = np.any([piece.filled for piece in touching], axis=0)
    areas = [above.area]
    for piece in touching:
        areas.append(piece.area)
    return _Piece(filled, _around(areas))


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
