"""Units that stand in rows, such as the pores along the branches of some hydrocorals.

Neighbours in a row are units apart; what lies across is another row at any distance. The
mean over all adjacent pairs would mix the two, so only pairs along the row count.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from corallum.measure.bands import Band
from corallum.measure.detect import peaks

__all__ = ["Rows", "find_rows", "search_rows"]

Floats = NDArray[np.float64]
# The two neighbours in a row stand on opposite sides: the cosine between them.
_OPPOSITE = -0.8
_EVEN = 1.5
# Anything else is further away than this, in lengths of the row's own step.
_ALONE = 1.35
_LEAST_CENTRES = 12
_LEAST_PAIRS = 8
_LEAST_SHARE, _LEAST_CLEAR = 0.5, 0.1
_SPREAD = 0.06
# Small pores beside the large ones are left out by one of these parts of the strongest.
_CUTS = (0.3, 0.45, 0.6)


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of units.

    Parameters
    ----------
    centres : ndarray, (n, 2)
        x and y.
    lengths : ndarray, (p,)
        Distances of neighbours in a row, in the unit of the centres.
    share : float
        Share of the centres that stand in a row, 0 to 1.
    """

    centres: Floats
    lengths: Floats
    share: float

    @property
    def clearness(self) -> float:
        """How clearly they stand in even rows, 0 to 1."""
        spread = float(self.lengths.std() / self.lengths.mean())
        return self.share * math.exp(-spread / _SPREAD)


def search_rows(
    scales: list[Band], shape: tuple[int, int], mask: NDArray[np.bool_] | None = None
) -> Rows | None:
    """Look for rows at several scales, of both polarities.

    Parameters
    ----------
    scales : list of Band
        The picture at several scales.
    shape : tuple of int
        Height and width of the picture, in pixels.
    mask : ndarray of bool, (h, w), or None
        Where to look; None means everywhere.

    Returns
    -------
    Rows or None
        The clearest; None where no surface of rows is seen.
    """
    best, most = None, _LEAST_CLEAR
    for band in scales:
        for bright in (True, False):
            centres, strength = peaks(band, shape, bright=bright, mask=mask)
            if len(centres) < _LEAST_CENTRES:
                continue
            top = float(np.sort(strength)[-max(8, len(strength) // 20) :].mean())
            for cut in _CUTS:
                rows = find_rows(centres[strength >= cut * top])
                if rows and rows.share >= _LEAST_SHARE and rows.clearness >= most:
                    best, most = rows, rows.clearness
    return best


def find_rows(centres: Floats) -> Rows | None:
    """Find units that stand in rows.

    Parameters
    ----------
    centres : ndarray, (n, 2)
        x and y.

    Returns
    -------
    Rows or None
        None where there are fewer than 12 centres or hardly any stands in a row.

    Notes
    -----
    A centre stands in a row where its two nearest neighbours are on opposite sides, at
    like distances, and the third is clearly further away. In a lattice the third is as near.
    """
    if len(centres) < _LEAST_CENTRES:
        return None
    distance, near = cKDTree(centres).query(centres, k=4)
    first, second, third = distance[:, 1], distance[:, 2], distance[:, 3]
    a, b = (centres[near[:, k]] - centres for k in (1, 2))
    cosine = (a * b).sum(1) / np.maximum(first * second, 1e-12)
    alone = third > _ALONE * (first + second) / 2
    in_row = (cosine < _OPPOSITE) & (second < _EVEN * first) & alone
    here = np.arange(len(centres))
    ends = np.r_[np.c_[here, near[:, 1]][in_row], np.c_[here, near[:, 2]][in_row]]
    pairs = np.unique(np.sort(ends, axis=1), axis=0)
    if len(pairs) < _LEAST_PAIRS:
        return None
    lengths: Floats = np.hypot(*(centres[pairs[:, 0]] - centres[pairs[:, 1]]).T)
    return Rows(centres[np.unique(pairs)], lengths, float(in_row.mean()))
