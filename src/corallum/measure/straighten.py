"""Bring a picture to the plane of a rectangle, as if seen from straight above.

What stands up from the plane is still seen from the side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

from corallum.measure.plane import project, stretch
from corallum.measure.scale import MeasureError

__all__ = ["Straight", "straighten"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Straight:
    """A picture brought to the plane of a rectangle.

    Parameters
    ----------
    image : ndarray of float32, (h, w)
        As seen from straight above.
    inside : ndarray of bool, (h, w)
        Where the picture, or the region asked for, covers it.
    mm_per_pixel : float
        Of ``image``.
    to_picture : ndarray, (3, 3)
        Takes x, y of ``image`` to x, y of the picture.
    """

    image: NDArray[np.float32]
    inside: NDArray[np.bool_]
    mm_per_pixel: float
    to_picture: Floats


# What lies so far towards the horizon that lengths shrink to a third holds no detail.
_FARTHEST = 1 / 3


def straighten(
    image: NDArray[np.float32],
    homography: Floats,
    box: tuple[float, float, float, float],
    anchor: Floats,
    most: int = 2560,
) -> Straight:
    """Bring a picture, or a part of it, to the plane of a rectangle.

    Parameters
    ----------
    image : ndarray of float32, (h, w)
        Grey picture.
    homography : ndarray, (3, 3)
        From pixels of ``image`` to millimetres of the plane.
    box : tuple of float
        Left, top, right and bottom of the part, in pixels of ``image``.
    anchor : ndarray, (2,)
        A point of ``image`` that is in the plane, such as the rectangle's middle.
    most : int
        Longest side of the result, in pixels.

    Returns
    -------
    Straight
        A pixel has the size that it has at the middle of the part.

    Raises
    ------
    MeasureError
        Where the plane is not seen in the part.
    """
    x0, y0, x1, y1 = box
    least = _FARTHEST * float(homography[2] @ [*anchor, 1.0])
    grid = np.stack(np.meshgrid(np.linspace(x0, x1, 65), np.linspace(y0, y1, 65)), -1).reshape(
        -1, 2
    )
    depth = grid @ homography[2, :2] + homography[2, 2]
    seen = grid[depth * np.sign(least) > abs(least)]
    if not len(seen):
        raise MeasureError(
            "expected a region in the rectangle's plane, found one beyond its horizon. "
            "Choose a region nearer to the rectangle."
        )
    there = project(homography, seen)
    low, high = there.min(0), there.max(0)
    mm = math.sqrt(abs(np.linalg.det(stretch(homography, seen.mean(0)))))
    mm = max(mm, float((high - low).max()) / most)
    to_plane = np.array([[mm, 0, low[0] + mm / 2], [0, mm, low[1] + mm / 2], [0, 0, 1]])
    to_picture = np.linalg.inv(homography) @ to_plane
    shape = tuple(int(n) for n in np.maximum((high - low)[::-1] / mm, 1))
    return Straight(*_sample(image, homography, to_picture, (box, least, shape)), mm, to_picture)


def _sample(
    image: NDArray[np.float32],
    homography: Floats,
    to_picture: Floats,
    limits: tuple[tuple[float, float, float, float], float, tuple[int, ...]],
) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """Read the picture where each pixel of the plane is seen, and whether it is."""
    (x0, y0, x1, y1), least, shape = limits
    rows, columns = np.indices(shape, dtype=np.float64)
    x, y, w = (row[0] * columns + row[1] * rows + row[2] for row in to_picture)
    x, y = x / w, y / w
    depth = homography[2, 0] * x + homography[2, 1] * y + homography[2, 2]
    inside = (x >= x0) & (x <= x1) & (y >= y0) & (y <= y1) & (depth * np.sign(least) > abs(least))
    values = map_coordinates(image, [y, x], order=1, mode="nearest")
    return values.astype(np.float32), inside
