"""For every pixel: its nearest centre, its distance and direction, and the wall it nears.

Candidates are found once for a block of pixels and compared pixel by pixel, so
that a picture of two million pixels costs some tens of array operations.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from corallum.draw.surface.camera import Floats32

__all__ = ["Cells", "nearest_axis", "part_into_cells"]

_BLOCK = 4
_Number = TypeVar("_Number", bound=np.generic)
_FAR = np.float32(1e9)


@dataclass(frozen=True)
class Cells:
    """Nearest centres of points, all arrays of the shape of the picture.

    Attributes
    ----------
    label : ndarray of int
        Index of the nearest centre.
    dx, dy, r : ndarray
        Place in relation to that centre, and distance from it, mm.
    wall : ndarray
        Distance to the border with the next cell, mm (exact for straight borders).
    theta : ndarray
        Direction from the centre as a share of a turn, 0 to 1.
    """

    label: NDArray[np.int32]
    dx: Floats32
    dy: Floats32
    r: Floats32
    wall: Floats32
    theta: Floats32

    def look_up(self, table: Floats32) -> Floats32:
        """Values of a table by centre and direction, shape (rows, bins).

        Centres take turns where they are more than the rows.
        """
        rows, bins = table.shape
        at = (self.theta * np.float32(bins)).astype(np.int32)
        np.minimum(at, bins - 1, out=at)
        at += (self.label % np.int32(rows)) * np.int32(bins)
        return table.ravel()[at]


def part_into_cells(
    x: Floats32, y: Floats32, centres: NDArray[np.float64], candidates: int = 5
) -> Cells:
    """Find the cell of every point.

    Parameters
    ----------
    x, y : ndarray, shape (height, width)
        Points of the plane, mm, smoothly laid out.
    centres : ndarray, shape (n, 2)
        Centres, mm.
    candidates : int
        Centres compared for each point; walls are exact where the neighbour
        across the wall is among them.

    Returns
    -------
    Cells
        Of every point.
    """
    candidates = min(candidates, len(centres))
    near = _candidates(x, y, centres, candidates)
    cx, cy = (centres[:, i].astype(np.float32)[near] for i in (0, 1))
    shape = x.shape
    fine = [_spread(near[..., k], shape) for k in range(candidates)]
    xs = [_spread(cx[..., k], shape) for k in range(candidates)]
    ys = [_spread(cy[..., k], shape) for k in range(candidates)]
    squares = [(x - xs[k]) ** 2 + (y - ys[k]) ** 2 for k in range(candidates)]
    label, own_x, own_y, best = fine[0], xs[0], ys[0], squares[0]
    for k in range(1, candidates):
        nearer = squares[k] < best
        best = np.where(nearer, squares[k], best)
        label = np.where(nearer, fine[k], label)
        own_x, own_y = np.where(nearer, xs[k], own_x), np.where(nearer, ys[k], own_y)
    wall = np.full(shape, _FAR, dtype=np.float32)
    for k in range(candidates):
        apart = np.sqrt((xs[k] - own_x) ** 2 + (ys[k] - own_y) ** 2)
        with np.errstate(divide="ignore", invalid="ignore"):
            distance = (squares[k] - best) / (2.0 * apart)
        wall = np.fmin(wall, np.where(apart > 0.0, distance, _FAR))
    dx, dy = x - own_x, y - own_y
    theta = np.arctan2(dy, dx) * np.float32(0.5 / np.pi)
    theta += theta < 0.0
    return Cells(label, dx, dy, np.sqrt(best), wall, theta)


def nearest_axis(
    x: Floats32, y: Floats32, axes: tuple[NDArray[np.float64], ...]
) -> tuple[Floats32, Floats32, Floats32]:
    """Place of every point in relation to the nearest of several lines.

    Returns
    -------
    along, across : ndarray, shape of x
        Arc length of the foot point, and signed distance from the line, mm.
    rest : ndarray, shape of x
        How far beyond the end of its line a point lies, mm.
    """
    points = np.concatenate(axes)
    steps = [np.hypot(*np.diff(axis, axis=0).T) for axis in axes]
    length = np.concatenate([np.concatenate([[0.0], np.cumsum(step)]) for step in steps])
    way = np.concatenate([np.gradient(axis, axis=0) for axis in axes])
    way /= np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-9)
    near = _candidates(x, y, points, 1, block=2)[..., 0]
    px, py, tx, ty, s = (
        _spread(column.astype(np.float32)[near], x.shape) for column in (*points.T, *way.T, length)
    )
    dx, dy = x - px, y - py
    ahead = dx * tx + dy * ty
    limit = np.float32(2.0 * np.median(np.concatenate(steps)))
    rest = np.maximum(np.abs(ahead) - limit, 0.0)
    return s + ahead, dy * tx - dx * ty, rest


def _candidates(
    x: Floats32, y: Floats32, centres: NDArray[np.float64], k: int, block: int = _BLOCK
) -> NDArray[np.int32]:
    """Nearest centres to the middle of every block of pixels, shape (rows, columns, k)."""
    half = block // 2
    middle = np.stack([x[half::block, half::block], y[half::block, half::block]], axis=-1)
    found = cKDTree(centres).query(middle, k=list(range(1, k + 1)))[1]
    return np.asarray(found, dtype=np.int32)


def _spread(blocks: NDArray[_Number], shape: tuple[int, ...]) -> NDArray[_Number]:
    """Repeat a value for each pixel of its block, cut to the picture."""
    by = -(-shape[0] // blocks.shape[0])
    by = 2 if by <= 2 else _BLOCK
    grown = np.repeat(np.repeat(blocks, by, axis=0), by, axis=1)
    pad = ((0, max(0, shape[0] - grown.shape[0])), (0, max(0, shape[1] - grown.shape[1])))
    if pad != ((0, 0), (0, 0)):
        grown = np.pad(grown, pad, mode="edge")
    return grown[: shape[0], : shape[1]]
