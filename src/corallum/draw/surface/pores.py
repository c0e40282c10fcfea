"""Surfaces without calices: pores of one and two sizes, pores in rows, cyclosystems, stems."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from corallum.draw.surface.calice import bell, rise
from corallum.draw.surface.camera import Floats32
from corallum.draw.surface.cells import nearest_axis, part_into_cells
from corallum.draw.surface.layout import Layout
from corallum.draw.surface.parameters import SurfaceParameters
from corallum.draw.surface.relief import Relief, share_of_radius
from corallum.draw.surface.septa import radial_septa
from corallum.draw.surface.texture import bumps, coenosteum, wander

__all__ = ["raise_cyclosystems", "raise_pore_rows", "raise_pores", "raise_tree"]

# Small pores around a large one, and their width as a share of its.
_SATELLITES, _SMALL = 6, 0.5


def raise_pores(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Relief:
    """Pores of one size, or large ones among small ones, in an even surface."""
    d = params.spacing_mm
    cells = part_into_cells(x, y, layout.centres, 3)
    radius, q = share_of_radius(cells, layout, 0.05, rng)
    hole = 1.0 - rise(q, 0.75, 1.1)
    height = 0.12 * d * wander(x, y, 4.0 * d, rng)
    height += coenosteum(x, y, params.texture, 0.8 * d, rng)
    height += 0.012 * d * bumps(x, y, 0.16 * d, rng)
    height -= 1.5 * radius * hole
    pale = 0.5 * bell(q, 0.2, 1.3)
    if params.arrangement == "pores_two_sizes":
        small = part_into_cells(x, y, _satellites(layout.centres, d, rng), 2)
        tiny = 1.0 - rise(small.r / (_SMALL * float(layout.radii.mean())), 0.65, 1.15)
        height -= 0.7 * float(layout.radii.mean()) * tiny
        hole = np.maximum(hole, 0.8 * tiny)
    return Relief(height, np.zeros_like(height), pale, 0.93 * hole)


def _satellites(
    centres: NDArray[np.float64], d: float, rng: np.random.Generator
) -> NDArray[np.float64]:
    """Places of small pores, loosely around each centre."""
    turn = np.arange(_SATELLITES) / _SATELLITES + rng.uniform(0.0, 1.0, (len(centres), 1))
    turn = 2.0 * np.pi * (turn + rng.normal(0.0, 0.03, turn.shape))
    away = d * rng.uniform(0.3, 0.44, turn.shape)
    places = centres[:, None, :] + np.stack([away * np.cos(turn), away * np.sin(turn)], axis=-1)
    return np.asarray(places.reshape(-1, 2))


def raise_cyclosystems(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Relief:
    """A pore in a ring of slits, like a tiny flower, on a low mound."""
    cells = part_into_cells(x, y, layout.centres, 3)
    radius, q = share_of_radius(cells, layout, 0.04, rng)
    mean = float(layout.radii.mean())
    petals = radial_septa(len(layout.centres), 11, "equal", rng)
    slits = 1.0 - rise(cells.look_up(petals.height), 0.15, 0.6)
    slits *= rise(q, 0.48, 0.58) * (1.0 - rise(q, 0.88, 0.98))
    pit = 1.0 - rise(q, 0.28, 0.42)
    out = np.minimum(np.maximum(q - 1.0, 0.0) / 0.9, 1.0)
    height = 0.55 * radius * np.sqrt(1.0 - out**2) - radius * (0.9 * pit + 0.45 * slits)
    height += rise(q, 1.1, 1.3) * coenosteum(x, y, params.texture, 2.0 * mean, rng)
    height += 0.25 * mean * wander(x, y, 5.0 * params.spacing_mm, rng)
    dark = np.maximum(0.85 * pit, 0.7 * slits)
    return Relief(height, np.zeros_like(height), 0.6 * bell(q, 0.2, 1.0), dark)


def raise_pore_rows(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Relief:
    """Branches side by side, each with a row of pores between two rows of small ones."""
    d = np.float32(params.spacing_mm)
    rows = np.zeros(len(layout.centres), dtype=np.int64) if layout.rows is None else layout.rows
    axes = tuple(_finer(layout.centres[rows == row]) for row in np.unique(rows))
    along, across, _ = nearest_axis(x, y, axes)
    cells = part_into_cells(x, y, layout.centres, 2)
    q = cells.r / layout.radii.astype(np.float32)[cells.label]
    across_share = np.abs(across) / (1.95 * d)
    round_off = np.sqrt(np.maximum(1.0 - np.minimum(across_share, 1.0) ** 2, 0.0))
    hole = 1.0 - rise(q, 0.7, 1.05)
    step = np.abs((along / (0.5 * d)) % 1.0 - 0.5) * 0.5 * d
    tiny = 1.0 - rise(
        np.hypot(step, np.abs(np.abs(across) - 0.62 * d)) / np.float32(0.13 * d), 0.5, 1.1
    )
    height = 1.5 * d * round_off - 0.7 * d * hole - 0.25 * d * tiny
    height += coenosteum(x, y, params.texture, 1.5 * params.spacing_mm, rng)
    coral = across_share < 1.0
    dark = np.where(coral, np.maximum(0.85 * hole, 0.7 * tiny), 0.6)
    blank = np.zeros_like(height)
    pale = np.where(coral, 0.5 * bell(across, 1.1 * float(d)), 0.0)
    return Relief(height - np.where(coral, 0.0, 0.6 * d), blank, pale, dark, coral)


def _finer(path: NDArray[np.float64]) -> NDArray[np.float64]:
    """Put five points for every one along a path."""
    at = np.linspace(0.0, len(path) - 1.0, 5 * len(path))
    return np.column_stack([np.interp(at, np.arange(len(path)), path[:, i]) for i in (0, 1)])


def raise_tree(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> tuple[Floats32, Floats32, NDArray[np.bool_]]:
    """Stems that join the centres of a dendroid colony like a tree.

    Returns
    -------
    height : ndarray
        Of the stems, mm, 0 at the level of the calices' crests.
    light : ndarray
        0 to 1, falling with depth.
    coral : ndarray of bool
        Where there is a stem.
    """
    parents = _parents(layout.centres, rng.uniform(0.0, 2.0 * np.pi))
    radius = np.float32(0.75 * layout.radii.mean())
    starts, ends = layout.centres, layout.centres[parents]
    parts = np.linspace(0.0, 1.0, 7)
    # A stem is a chain of points; pixels find the nearest point, then the nearest stem.
    axes = tuple(
        np.column_stack([start[0] + parts * (end[0] - start[0]),
                         start[1] + parts * (end[1] - start[1])])
        for start, end in zip(starts, ends, strict=True)
        if np.any(start != end)
    )  # fmt: skip
    _, across, rest = nearest_axis(x, y, axes)
    share = np.hypot(across, rest) / radius
    round_off = np.sqrt(np.maximum(1.0 - np.minimum(share, 1.0) ** 2, 0.0))
    height = radius * (round_off - 2.2)
    height += coenosteum(x, y, params.texture, 2.0 * float(radius), rng)
    return height.astype(np.float32), round_off.astype(np.float32), share < 1.0


def _parents(centres: NDArray[np.float64], angle: float) -> NDArray[np.int64]:
    """For each centre, the neighbour that its stem comes from: the nearest one down the tree."""
    way = np.array([np.cos(angle), np.sin(angle)])
    near = cKDTree(centres).query(centres, k=min(7, len(centres)))[1]
    arms = centres[near] - centres[:, None, :]
    down = arms @ way
    length = np.maximum(np.hypot(arms[..., 0], arms[..., 1]), 1e-9)
    cost = np.where(down > 0.3 * length, length, np.inf)
    best = cost.argmin(axis=1)
    none = ~np.isfinite(cost.min(axis=1))
    best[none] = 0
    return np.asarray(near[np.arange(len(centres)), best], dtype=np.int64)
