"""Winding valleys of known width: a field of ridges, its middle lines and its crests.

The ridges grow out of noise by the Swift-Hohenberg equation (Swift and Hohenberg
1977, Physical Review A 15:319), which prefers one wavelength; here that of the
valleys. Widths are then measured on the field itself, crest to crest at right
angles to the middle line, so that the truth is what was drawn and not what was asked.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import fft, ndimage

from corallum.draw.surface.camera import Floats32

__all__ = ["ValleyField", "grow_valleys"]

_PER_WAVE = 9
_STEPS = 90
_TIME_STEP = 0.5
_DRIVE = 0.55
# A quadratic term closes valleys into short ones; at 0 walls and valleys are alike.
_LONG, _SHORT = 0.25, 0.85
_SHORTEST = 0.8
Path = NDArray[np.float64]


@dataclass(frozen=True)
class ValleyField:
    """Ridges on a grid, about -1 in a valley and 1 on a crest.

    Attributes
    ----------
    ridges : ndarray, shape (rows, columns)
        The field.
    origin_mm : ndarray, shape (2,)
        x, y of the first grid point.
    step_mm : float
        Between grid points.
    axes : tuple of ndarray, each (m, 2)
        Middle lines of the valleys, mm, evenly and densely spaced.
    """

    ridges: Floats32
    origin_mm: NDArray[np.float64]
    step_mm: float
    axes: tuple[Path, ...]

    def scaled(self, factor: float) -> ValleyField:
        """Return the field grown about the origin of the plane."""
        axes = tuple(axis * factor for axis in self.axes)
        return replace(
            self, origin_mm=self.origin_mm * factor, step_mm=self.step_mm * factor, axes=axes
        )

    def at(self, x: Floats32, y: Floats32, order: int = 3) -> Floats32:
        """Values of the field at points of the plane, mm."""
        rows = (y - np.float32(self.origin_mm[1])) / np.float32(self.step_mm)
        columns = (x - np.float32(self.origin_mm[0])) / np.float32(self.step_mm)
        found = ndimage.map_coordinates(
            self.ridges, [rows, columns], order=order, mode="nearest", output=np.float32
        )
        return np.asarray(found)

    def widths(self, crest: float | None) -> tuple[Path, NDArray[np.float64]]:
        """Measure widths at points of the middle lines.

        Parameters
        ----------
        crest : float or None
            Value of the field that is the crest; None for the first highest point.

        Returns
        -------
        points : ndarray, shape (n, 2)
            Points with a crest at both sides, mm.
        widths : ndarray, shape (n,)
            Crest to crest at right angles to the middle line, mm.
        """
        if not self.axes:
            return np.zeros((0, 2)), np.zeros(0)
        points = np.concatenate([axis[2:-2:3] for axis in self.axes])
        along = np.concatenate([np.gradient(axis, axis=0)[2:-2:3] for axis in self.axes])
        along /= np.linalg.norm(along, axis=1, keepdims=True)
        across = np.column_stack([-along[:, 1], along[:, 0]])
        reach = np.linspace(0.0, 1.2 * _PER_WAVE * self.step_mm, 80)
        widths = np.zeros(len(points))
        for side in (-1.0, 1.0):
            line = points[:, None, :] + side * across[:, None, :] * reach[None, :, None]
            values = self.at(line[..., 0].astype(np.float32), line[..., 1].astype(np.float32))
            widths += _first_crest(values, reach, crest)
        found = np.isfinite(widths)
        return points[found], widths[found]


def _first_crest(
    values: Floats32, reach: NDArray[np.float64], crest: float | None
) -> NDArray[np.float64]:
    """Distance to the first crest along each line, NaN where there is none."""
    if crest is None:
        inner = values[:, 1:-1]
        is_crest = (inner >= values[:, :-2]) & (inner > values[:, 2:]) & (inner > 0.2)
        first = 1
    else:
        is_crest, first = values >= crest, 0
    at = is_crest.argmax(axis=1) + first
    distance = reach[at].astype(np.float64)
    if crest is not None:
        # The line passes the crest between two samples.
        here = values[np.arange(len(at)), at]
        before = values[np.arange(len(at)), np.maximum(at - 1, 0)]
        rise = np.where(here > before, here - before, 1.0)
        distance -= (reach[1] - reach[0]) * np.clip((here - crest) / rise, 0.0, 1.0)
    distance[~is_crest.any(axis=1)] = np.nan
    return np.asarray(distance)


def grow_valleys(
    box_mm: tuple[float, float, float, float],
    wave_mm: float,
    rng: np.random.Generator,
    *,
    short: bool = False,
    across: float | None = None,
) -> ValleyField:
    """Grow a field of valleys over a box.

    Parameters
    ----------
    box_mm : tuple of float
        Least and most x, then y.
    wave_mm : float
        Preferred distance from crest to crest.
    rng : numpy.random.Generator
        Draws the noise that the ridges grow from.
    short : bool
        Close the valleys into short ones.
    across : float, optional
        Direction across the ridges, radians, where they all run one way.

    Returns
    -------
    ValleyField
        With its middle lines.
    """
    x0, x1, y0, y1 = box_mm
    step = wave_mm / _PER_WAVE
    shape = (int((y1 - y0) / step) + 2, int((x1 - x0) / step) + 2)
    ridges = _swift_hohenberg(shape, rng, _SHORT if short else _LONG, across)
    skeleton = _thin(ridges < -0.1)
    paths = [_smooth(path) for path in _trace(skeleton) if len(path) > _SHORTEST * _PER_WAVE]
    origin = np.array([x0, y0])
    axes = tuple(origin + path[:, ::-1] * step for path in paths)
    return ValleyField(ridges, origin, step, axes)


def _swift_hohenberg(
    shape: tuple[int, int], rng: np.random.Generator, close: float, across: float | None
) -> Floats32:
    """Grow ridges of unit height out of noise, half implicit in time, on a torus."""
    # Sizes with small factors only, for the transform.
    rows, columns = (fft.next_fast_len(n, real=True) for n in shape)
    u = rng.normal(0.0, 0.2, (rows, columns))
    if across is not None:
        u += _stripes((rows, columns), across, rng)
    k_rows = fft.fftfreq(rows)[:, None] * _PER_WAVE
    k_columns = fft.rfftfreq(columns)[None, :] * _PER_WAVE
    growth = _DRIVE - (1.0 - (k_rows**2 + k_columns**2)) ** 2
    damping = 1.0 / (1.0 - _TIME_STEP * growth)
    spectrum = fft.rfft2(u)
    for _ in range(_STEPS):
        spectrum = (spectrum + _TIME_STEP * fft.rfft2(-close * u * u - u**3)) * damping
        u = fft.irfft2(spectrum, s=(rows, columns))
    u -= np.median(u)
    low, high = np.percentile(u, [4.0, 96.0])
    u = np.where(u > 0.0, u / high, u / -low)
    return np.ascontiguousarray(u[: shape[0], : shape[1]], dtype=np.float32)


def _stripes(
    shape: tuple[int, int], across: float, rng: np.random.Generator
) -> NDArray[np.float64]:
    """Waves of the preferred length that all run one way, a little bent, for ridges to keep to."""
    row, column = np.mgrid[: shape[0], : shape[1]].astype(np.float64)
    ahead = np.cos(across) * column + np.sin(across) * row
    beside = np.cos(across) * row - np.sin(across) * column
    length, phase = _PER_WAVE * rng.uniform(9.0, 13.0), rng.uniform(0.0, 2.0 * np.pi)
    ahead += 0.5 * _PER_WAVE * np.sin(2.0 * np.pi * beside / length + phase)
    return np.asarray(0.7 * np.cos(2.0 * np.pi * ahead / _PER_WAVE))


def _thin(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Thin regions to lines one cell wide (Zhang and Suen 1984, CACM 27:236)."""
    image = np.pad(mask, 1).astype(np.uint8)
    changed = True
    while changed:
        changed = False
        for second in (False, True):
            ring = _ring(image)
            north, east, south, west = ring[0], ring[2], ring[4], ring[6]
            count = ring.sum(axis=0)
            rises = ((ring == 0) & (np.roll(ring, -1, axis=0) == 1)).sum(axis=0)
            if second:
                open_sides = (north * east * west == 0) & (north * south * west == 0)
            else:
                open_sides = (north * east * south == 0) & (east * south * west == 0)
            inner = image[1:-1, 1:-1]
            drop = (inner == 1) & (count >= 2) & (count <= 6) & (rises == 1) & open_sides
            if drop.any():
                inner[drop] = 0
                changed = True
    return image[1:-1, 1:-1].astype(np.bool_)


def _ring(image: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Eight neighbours of every inner cell, from north clockwise, shape (8, ...)."""
    rows, columns = image.shape
    around = ((0, 1), (0, 2), (1, 2), (2, 2), (2, 1), (2, 0), (1, 0), (0, 0))
    return np.stack([image[r : r + rows - 2, c : c + columns - 2] for r, c in around])


def _trace(skeleton: NDArray[np.bool_]) -> list[Path]:
    """Walk the lines of a skeleton from ends and forks; each path is (m, 2) row, column."""
    # Forks are taken out, so that what remains are open lines and loops.
    ring = _ring(np.pad(skeleton, 1).astype(np.uint8))
    forks = skeleton & (((ring == 0) & (np.roll(ring, -1, axis=0) == 1)).sum(axis=0) > 2)
    left = {(int(r), int(c)) for r, c in np.argwhere(skeleton & ~forks)}
    ends = sorted(cell for cell in left if len(_beside(cell, left)) <= 1)
    paths = []
    for start in [*ends, *sorted(left)]:
        if start not in left:
            continue
        path = [start]
        left.discard(start)
        while near := _beside(path[-1], left):
            path.append(near[0])
            left.discard(near[0])
        paths.append(np.array(path, dtype=np.float64))
    return paths


def _beside(cell: tuple[int, int], cells: set[tuple[int, int]]) -> list[tuple[int, int]]:
    """Neighbours of a cell among cells, those that share a side first."""
    r, c = cell
    steps = ((0, 1), (1, 0), (0, -1), (-1, 0), (1, 1), (1, -1), (-1, -1), (-1, 1))
    return [(r + i, c + j) for i, j in steps if (r + i, c + j) in cells]


def _smooth(path: Path) -> Path:
    """Take the steps of the grid out of a path and space its points half a cell apart."""
    smooth = ndimage.gaussian_filter1d(path, 2.0, axis=0, mode="nearest")
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(smooth, axis=0).T))])
    even = np.arange(0.0, length[-1], 0.5)
    return np.column_stack([np.interp(even, length, smooth[:, i]) for i in (0, 1)])
