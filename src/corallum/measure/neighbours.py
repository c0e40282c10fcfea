"""Which centres are adjacent, and how far apart.

Two centres are adjacent where their cells share a wall of some length, as polyps
that touch would. The diagonal of a square lattice shares a point only, so it is no
pair: the mean over pairs is then the lattice's own spacing for squares and hexagons.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import Delaunay, QhullError

__all__ = ["Pairs", "adjacent_pairs", "nearest_neighbour_ratio"]

Floats = NDArray[np.float64]
_LEAST_WALL = 0.1


@dataclass(frozen=True, slots=True)
class Pairs:
    """Adjacent pairs of centres.

    Parameters
    ----------
    ends : ndarray of int, (p, 2)
        Rows of the centres.
    lengths : ndarray, (p,)
        Distances, in the unit of the centres.
    """

    ends: NDArray[np.int64]
    lengths: Floats


def adjacent_pairs(centres: Floats, shape: tuple[int, int]) -> Pairs:
    """Find pairs of centres that share a wall within the picture.

    Parameters
    ----------
    centres : ndarray, (n, 2)
        x and y, in pixels.
    shape : tuple of int
        Height and width of the picture, in pixels. A pair whose wall reaches beyond
        it is left out: its neighbours can't be seen.

    Returns
    -------
    Pairs
        Pairs whose shared wall is at least a tenth of their distance.

    Notes
    -----
    The wall is the edge of the Voronoi diagram, between the centres of the two
    circles through the pair and the third corners of its Delaunay triangles.
    """
    none = Pairs(np.zeros((0, 2), np.int64), np.zeros(0))
    if len(centres) < 4:
        return none
    try:
        mesh = Delaunay(centres)
    except QhullError:
        return none
    middles = _circle_centres(centres, mesh.simplices)
    first = np.repeat(np.arange(len(mesh.simplices)), 3)
    second = mesh.neighbors.ravel()
    corners = mesh.simplices[:, [[1, 2], [2, 0], [0, 1]]].reshape(-1, 2)
    once = (second >= 0) & (first < second)
    first, second, corners = first[once], second[once], corners[once]
    h, w = shape
    inside = np.logical_and.reduce((middles > 0) & (middles < np.array([w, h])), axis=1)
    lengths = np.hypot(*(centres[corners[:, 0]] - centres[corners[:, 1]]).T)
    walls = np.hypot(*(middles[first] - middles[second]).T)
    kept: NDArray[np.bool_] = inside[first] & inside[second] & (walls >= _LEAST_WALL * lengths)
    return Pairs(corners[kept].astype(np.int64), lengths[kept])


def _circle_centres(points: Floats, triangles: NDArray[np.int32]) -> Floats:
    """Centres of the circles through the corners of triangles (t, 2)."""
    a, b, c = (points[triangles[:, k]] for k in range(3))
    ab, ac = b - a, c - a
    cross = 2 * (ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0])
    cross = np.where(np.abs(cross) < 1e-12, 1e-12, cross)
    bb, cc = (ab**2).sum(1), (ac**2).sum(1)
    dx = (ac[:, 1] * bb - ab[:, 1] * cc) / cross
    dy = (ab[:, 0] * cc - ac[:, 0] * bb) / cross
    result: Floats = a + np.c_[dx, dy]
    return result


def nearest_neighbour_ratio(centres: Floats, area: float) -> float:
    """Mean distance to the nearest neighbour over that of random points.

    Parameters
    ----------
    centres : ndarray, (n, 2)
        x and y; at least two.
    area : float
        Area they lie in, in the unit of the centres squared.

    Returns
    -------
    float
        1 for points thrown at random, 2.149 for a hexagonal lattice; no correction
        for the border.

    References
    ----------
    Clark & Evans 1954, Ecology 35: 445-453: the mean distance of random points is
    half of one over the root of their density.
    """
    from scipy.spatial import cKDTree  # noqa: PLC0415  only here

    distances = cKDTree(centres).query(centres, k=2)[0][:, 1]
    return float(distances.mean() / (0.5 / np.sqrt(len(centres) / area)))
