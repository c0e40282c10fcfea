"""What is larger than a corallite and lifts corallites or parts them: mounds, cones, ridges."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import Delaunay, cKDTree

from corallum.draw.surface.calice import bell, rise
from corallum.draw.surface.camera import Floats32
from corallum.draw.surface.cells import part_into_cells
from corallum.draw.surface.layout import Layout, lattice
from corallum.draw.surface.parameters import SurfaceParameters
from corallum.draw.surface.relief import Relief
from corallum.draw.surface.septa import radial_septa
from corallum.draw.surface.texture import wander

__all__ = ["bounds", "raise_landforms", "raise_uprights"]

Points = NDArray[np.float64]
# In spacings, set by eye from the definitions, which give no numbers but that a
# mound is wider than a corallite and bears some.
_MOUNDS_APART, _MOUND_WIDE, _MOUND_HIGH = 4.4, 2.0, 1.7
_CONES_APART, _CONE_WIDE, _CONE_HIGH = 1.3, 0.6, 0.62
_RIDGE_HIGH = 0.42
_UPRIGHTS_APART, _UPRIGHT_WIDE, _UPRIGHT_HIGH = 6.0, 1.6, 3.2


def raise_landforms(
    relief: Relief,
    params: SurfaceParameters,
    layout: Layout,
    x: Floats32,
    y: Floats32,
    rng: np.random.Generator,
) -> Relief:
    """Add mounds, cones and ridges where the parameters have them.

    Parameters
    ----------
    relief : Relief
        The surface without.
    params : SurfaceParameters
        ``verrucae``, ``monticules`` and ``concentric_ridges``.
    layout : Layout
        Where units stand.
    x, y : ndarray
        Points of the plane, mm.
    rng : numpy.random.Generator
        Draws places; nothing where nothing is added.

    Returns
    -------
    Relief
        The same surface, raised.
    """
    if params.verrucae:
        relief = _add_mounds(relief, params.spacing_mm, x, y, rng)
    if params.monticules and params.arrangement != "hydnophoroid":
        relief = _add_cones(relief, params, layout, (x, y), rng)
    if params.concentric_ridges and layout.lines is not None:
        off = np.abs(layout.lines.across(x, y) % 1.0 - np.float32(0.5))
        ridge = (1.0 - rise(off, 0.02, 0.42)).astype(np.float32)
        height = relief.height + np.float32(_RIDGE_HIGH * layout.lines.apart_mm) * ridge
        pale = np.maximum(relief.pale, 0.9 * bell(off, 0.12))
        relief = replace(relief, height=height, pale=pale)
    return relief


def _add_mounds(
    relief: Relief, d: float, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Relief:
    """Verrucae: mounds that carry the corallites which are there."""
    apart = _MOUNDS_APART * d
    centres = lattice(bounds(x, y, apart), apart, rng.uniform(0.0, np.pi))
    centres += rng.normal(0.0, 0.11 * apart, centres.shape)
    shift = np.float32(0.3 * d)
    cells = part_into_cells(
        x + shift * wander(x, y, 3.0 * d, rng), y + shift * wander(x, y, 3.0 * d, rng), centres, 3
    )
    grow = np.exp(rng.normal(0.0, 0.15, len(centres))).astype(np.float32)[cells.label]
    to_wall = cells.r / (cells.r + np.maximum(cells.wall, 0.0) + np.float32(1e-6))
    q = np.maximum(cells.r / (np.float32(_MOUND_WIDE * d) * grow), to_wall)
    high = np.float32(_MOUND_HIGH * d) * grow * np.sqrt(np.maximum(1.0 - rise(q, 0.25, 1.0), 0.0))
    dark = np.maximum(relief.dark, 0.35 * rise(q, 0.75, 1.0))
    return replace(relief, height=relief.height + high, dark=dark)


def _add_cones(
    relief: Relief,
    params: SurfaceParameters,
    layout: Layout,
    grid: tuple[Floats32, Floats32],
    rng: np.random.Generator,
) -> Relief:
    """Monticules: ribbed cones of wall between the centres."""
    x, y = grid
    d = params.valley_width_mm if layout.field is not None else params.spacing_mm
    d = d or params.spacing_mm
    apart = _CONES_APART * d
    peaks = _thinned(_peaks(layout, grid, d), apart, rng)
    if len(peaks) == 0:
        return relief
    cells = part_into_cells(x, y, peaks, 2)
    septa = radial_septa(len(peaks), 14, "alternating", rng)
    grow = np.exp(rng.normal(0.0, 0.12, len(peaks))).astype(np.float32)[cells.label]
    q = cells.r / (np.float32(_CONE_WIDE * d) * grow)
    cone = np.maximum(1.0 - q, 0.0) ** 1.25
    ribs = 0.12 * cells.look_up(septa.height) * bell(q, 0.35, 0.6)
    height = relief.height + np.float32(_CONE_HIGH * d) * grow * cone + np.float32(d) * ribs
    pale = np.maximum(relief.pale, bell(q, 0.5))
    return replace(relief, height=height, pale=pale, dark=relief.dark * rise(q, 0.3, 1.0))


def _peaks(layout: Layout, grid: tuple[Floats32, Floats32], d: float) -> Points:
    """Places between centres: crests of valleys, else corners where three cells meet."""
    if layout.field is not None:
        places = lattice(bounds(*grid, d), 0.2 * d)
        high = layout.field.at(places[:, 0].astype(np.float32), places[:, 1].astype(np.float32))
        return np.asarray(places[high > 0.85])
    if len(layout.centres) < 4:
        return np.zeros((0, 2))
    triangles = layout.centres[Delaunay(layout.centres).simplices]
    middles, reach = _circumcentres(triangles)
    return np.asarray(middles[(reach > 0.5 * d) & (reach < 1.2 * d)])


def _circumcentres(triangles: NDArray[np.float64]) -> tuple[Points, NDArray[np.float64]]:
    """Centres and radii of the circles through three points, triangles of shape (n, 3, 2)."""
    a = triangles[:, 0]
    b, c = triangles[:, 1] - a, triangles[:, 2] - a
    twice = 2.0 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    twice = np.where(np.abs(twice) < 1e-12, np.nan, twice)
    bb, cc = (b**2).sum(axis=1), (c**2).sum(axis=1)
    u = np.column_stack([c[:, 1] * bb - b[:, 1] * cc, b[:, 0] * cc - c[:, 0] * bb])
    u /= twice[:, None]
    flat = ~np.isfinite(u).all(axis=1)
    u[flat] = 1e9
    return a + u, np.hypot(*u.T)


def _thinned(places: Points, apart: float, rng: np.random.Generator) -> Points:
    """Take places in any order and leave out those too near to one that was taken."""
    places = places[rng.permutation(len(places))]
    near = cKDTree(places).query_ball_point(places, apart) if len(places) else []
    free = np.ones(len(places), dtype=np.bool_)
    kept = []
    for i in range(len(places)):
        if free[i]:
            kept.append(i)
            free[near[i]] = False
    return np.asarray(places[kept])


def raise_uprights(
    d: float, inward: Floats32, grid: tuple[Floats32, Floats32], rng: np.random.Generator
) -> Floats32:
    """Raise columns from a plate, away from its margin.

    Parameters
    ----------
    d : float
        Spacing, mm.
    inward : ndarray
        Distance from the margin, mm.
    grid : tuple of ndarray
        Points of the plane, mm.
    rng : numpy.random.Generator
        Draws where they stand.

    Returns
    -------
    ndarray
        Height, mm, seen from above.
    """
    x, y = grid
    apart = _UPRIGHTS_APART * d
    centres = lattice(bounds(x, y, apart), apart, rng.uniform(0.0, np.pi))
    centres += rng.normal(0.0, 0.13 * apart, centres.shape)
    shift = np.float32(0.25 * d)
    cells = part_into_cells(
        x + shift * wander(x, y, 4.0 * d, rng), y + shift * wander(x, y, 4.0 * d, rng), centres, 2
    )
    grow = np.exp(rng.normal(0.0, 0.2, len(centres))).astype(np.float32)[cells.label]
    q = cells.r / (np.float32(_UPRIGHT_WIDE * d) * grow)
    column = np.sqrt(np.maximum(1.0 - np.minimum(q, 1.0) ** 4, 0.0))
    free = rise(inward, 3.0 * d, 5.0 * d)
    return np.asarray(np.float32(_UPRIGHT_HIGH * d) * grow * column * free, np.float32)


def bounds(x: Floats32, y: Floats32, margin: float) -> tuple[float, float, float, float]:
    """Least and most x, then y, of some points, with a margin."""
    return (
        float(x.min()) - margin, float(x.max()) + margin,
        float(y.min()) - margin, float(y.max()) + margin,
    )  # fmt: skip
