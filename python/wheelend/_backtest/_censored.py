"""Where values lie that are known only to lie within intervals: the self-consistent estimate on cells.

B. W. Turnbull, The empirical distribution function with arbitrarily grouped, censored and truncated data, J. R. Stat.
Soc. B 38 (1976) 290-295. Where every interval ends on edges of cells it is his estimate, and Kaplan and Meier's where
each is one cell or open to the right. Within a cell a value lies anywhere alike: with cells that are wide beside the
intervals this is the most likely histogram, which does not break up into single points as his estimate does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]

_MOST_STEPS = 5000
_SMALL = 1e-7  # change of a share in one step; shares are reported to two places
_MIXED = 0.1  # of a start without zeros, which the steps could not leave
_POINT = 1e-9  # of the whole range: width of an interval that is a point


def shares(low: Numbers, high: Numbers, edges: Numbers, weight: Numbers | None = None) -> Numbers:
    """Share of each cell.

    Parameters
    ----------
    low, high : float array, shape (n,)
        The value lies above ``low``, at most at ``high``, both within the edges. Alike: it is known.
    edges : float array, shape (cells + 1,)
        Rising.
    weight : float array, shape (n,) or (sets, n), optional
        How often each interval counts, not negative; several sets of weights are worked out together.

    Returns
    -------
    float array, shape (cells,) or (sets, cells)
        Sums to 1. Cells that no interval tells apart have alike for their width. NaN where nothing has weight.
    """
    given = np.ones(len(low)) if weight is None else weight
    w = np.atleast_2d(given).astype(np.float64)
    width = np.diff(edges)
    least = _POINT * (edges[-1] - edges[0])
    below = np.maximum(np.minimum(low, high - least), edges[0])
    above = np.maximum(high, below + least)
    inside = np.minimum(above[:, None], edges[1:]) - np.maximum(below[:, None], edges[:-1])
    covers = np.maximum(inside, 0.0) / width
    covers /= np.maximum(covers.max(axis=1, keepdims=True), 1e-300)  # a factor of a row changes nothing
    p = np.tile(width / width.sum(), (len(w), 1))
    if len(w) > 1:  # sets differ little: from what they say together it is not far
        p = _MIXED * p + (1 - _MIXED) * _most_likely(covers, w.sum(axis=0, keepdims=True), p[:1])
    p = _most_likely(covers, w, p)
    return p if np.ndim(given) == 2 else p[0]


def _most_likely(covers: Numbers, w: Numbers, p: Numbers) -> Numbers:
    """Shares by set of weights, by expectation and maximization from `p`."""
    with np.errstate(invalid="ignore", divide="ignore"):
        total = w.sum(axis=1, keepdims=True)
        for _ in range(_MOST_STEPS):
            chance = p @ covers.T
            after = p * (np.where(w > 0, w / chance, 0.0) @ covers) / total
            moved = np.abs(after - p)
            p = after
            if not (moved > _SMALL).any():
                break
    return p
