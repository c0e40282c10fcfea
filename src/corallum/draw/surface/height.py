"""Heights of a surface in mm, with what the light needs to know besides: tint and depth.

One function for each way in which corallites meet. Shares of the radius and of
the spacing are set by eye from the definitions of the states, which give no numbers.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from corallum.draw.surface.calice import bell, columella_height, fill_calice, rise
from corallum.draw.surface.camera import Floats32
from corallum.draw.surface.cells import Cells, part_into_cells
from corallum.draw.surface.furrows import raise_valleys
from corallum.draw.surface.landforms import raise_landforms
from corallum.draw.surface.layout import Layout
from corallum.draw.surface.parameters import SurfaceParameters
from corallum.draw.surface.pores import (
    raise_cyclosystems,
    raise_pore_rows,
    raise_pores,
    raise_tree,
)
from corallum.draw.surface.relief import Relief, share_of_radius
from corallum.draw.surface.septa import confluent_septa, outline_table, radial_septa, toothed
from corallum.draw.surface.texture import bumps, coenosteum, wander

__all__ = ["raise_surface"]

# Height of the crest over the ground, and how far out its slope reaches, in radii.
_CRESTS = {
    "immersed": (-0.12, 0.35),
    "flush": (0.06, 0.2),
    "domed": (0.5, 1.0),
    "conical": (0.95, 1.2),
    "tubular": (1.25, 0.4),
}
# How steeply a calice leans to the edge, and how high a hood stands, in radii.
_LEAN, _HOOD = 0.85, 1.0
# Reliefs that show as a leaning tube, and its length in radii.
_STANDING, _TUBE_LONG = ("conical", "tubular"), 2.6
_CREST_WIDTHS = {"sharp": 0.035, "rounded": 0.085, "flat": 0.15}


Raise = Callable[[SurfaceParameters, Layout, Floats32, Floats32, np.random.Generator], Relief]


def raise_surface(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Relief:
    """Raise the surface of an arrangement.

    Parameters
    ----------
    params : SurfaceParameters
        States and sizes.
    layout : Layout
        Where units stand.
    x, y : ndarray, shape (height, width)
        Point of the plane seen by every pixel, mm.
    rng : numpy.random.Generator
        Draws what differs from unit to unit.
    """
    relief = _RAISERS[params.arrangement](params, layout, x, y, rng)
    return raise_landforms(relief, params, layout, x, y, rng)


def _separate(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Relief:
    """Corallites with walls of their own: plocoid."""
    cells = part_into_cells(x, y, layout.centres, 4)
    radius, q = share_of_radius(cells, layout, 0.07, rng)
    mean = float(layout.radii.mean())
    septa = radial_septa(len(layout.centres), params.septa_count, params.septa_order, rng)
    inside, accent = fill_calice(params, cells, q, septa, mean)
    crest, reach = _CRESTS[params.relief]
    thick = 0.1 * radius
    beyond = np.maximum(cells.r * (1.0 - 1.0 / np.maximum(q, 1e-3)) - thick, 0.0)
    gap = beyond + cells.wall
    # A slope ends where it is long enough, or where it meets that of the neighbour.
    out = np.minimum(beyond / np.minimum(reach * radius, gap + np.float32(1e-6)), 1.0)
    slope = {"conical": 1.0 - out, "tubular": 1.0 - rise(out, 0.0, 1.0)}.get(
        params.relief, np.sqrt(np.maximum(1.0 - out**2, 0.0))
    )
    height = radius * (inside + crest * slope)
    outer = rise(q, 1.02, 1.2)
    if params.texture == "costate" or params.confluent:
        ribs = toothed(septa, cells, cells.r, mean, params.septal_teeth)
        height += outer * 0.13 * mean * ribs * (1.0 if params.confluent else 1.0 - 0.6 * out)
    height += outer * coenosteum(x, y, params.texture, 2.0 * mean, rng)
    if params.groove:
        near = 1.0 - rise(gap / mean, 0.35, 0.7)
        height -= 0.3 * mean * near * bell(cells.wall, 0.045 * params.spacing_mm)
    dark = 0.55 * bell(q, 0.2) * (q < 1.0)
    if params.tilt == "towards_edge":
        out = np.minimum(beyond / np.minimum(1.1 * radius, gap + np.float32(1e-6)), 1.0)
        height = _leaning(params, cells, layout, height, (radius, q, out))
    if params.hood:
        lip = rise(_ahead(cells, layout, np.ones_like(q)), 0.1, 0.75)
        height += _HOOD * radius * lip * bell(q, 0.26, 0.95)
        dark = np.maximum(dark, 0.75 * lip * bell(q, 0.25, 0.5))
    if params.costal_pits:
        pits = (1.0 - rise(cells.look_up(septa.height), 0.08, 0.5)) * bell(q, 0.13, 1.38)
        height -= 0.4 * radius * pits
        dark = np.maximum(dark, 0.85 * pits)
    return Relief(height, accent, bell(q, 0.12, 1.05), dark)


def _ahead(cells: Cells, layout: Layout, q: Floats32) -> Floats32:
    """Share of the radius by which points lie towards the edge, as the cosine and q give it."""
    turn = np.float32(2.0 * np.pi) * cells.theta - np.float32(layout.outward)
    return np.asarray(np.minimum(q, 1.0) * np.cos(turn))


def _leaning(
    params: SurfaceParameters,
    cells: Cells,
    layout: Layout,
    height: Floats32,
    place: tuple[Floats32, Floats32, Floats32],
) -> Floats32:
    """Lean calices to the edge; ``place`` is the radius, the share of it, and that of the slope."""
    radius, q, out = place
    height = height - _LEAN * radius * _ahead(cells, layout, q) * (1.0 - out) ** 2
    if params.relief not in _STANDING:
        return height
    back = _tube_behind(cells, layout, radius, _CRESTS[params.relief][0])
    return np.maximum(height, back * rise(q, 1.0, 1.1))


def _tube_behind(cells: Cells, layout: Layout, radius: Floats32, crest: float) -> Floats32:
    """Back of a tube that leans to the edge and ends at its calice, mm."""
    c, s = np.float32(np.cos(layout.outward)), np.float32(np.sin(layout.outward))
    behind = -(c * cells.dx + s * cells.dy) / radius
    beside = (c * cells.dy - s * cells.dx) / radius
    ramp = np.clip(1.0 - behind / np.float32(_TUBE_LONG), 0.0, 1.0) * (behind > 0.0)
    round_off = np.sqrt(np.maximum(1.0 - (beside / np.float32(1.15)) ** 2, 0.0))
    within = rise(cells.wall / radius, 0.0, 0.3)
    return np.asarray(radius * (crest + np.float32(0.8 * _LEAN)) * ramp * round_off * within)


def _apart(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Relief:
    """Tall tubes with dark gaps between: phaceloid corallites, and tubes without septa."""
    cells = part_into_cells(x, y, layout.centres, 4)
    radius, q = share_of_radius(cells, layout, 0.05 if params.arrangement == "tubes" else 0.1, rng)
    mean = float(layout.radii.mean())
    if params.arrangement == "tubes":
        inside = -1.6 * (1.0 - rise(q, 0.75, 0.98))
        accent = np.zeros_like(q)
        dark = 0.85 * (1.0 - rise(q, 0.55, 0.95))
    else:
        septa = radial_septa(len(layout.centres), params.septa_count, params.septa_order, rng)
        inside, accent = fill_calice(params, cells, q, septa, mean)
        dark = 0.4 * bell(q, 0.2)
    gap = rise(q, 1.06, 1.32)
    level = rng.normal(0.0, 0.25 * mean, len(layout.centres)).astype(np.float32)[cells.label]
    height = radius * inside + level * (1.0 - gap) - gap * 2.2 * mean
    dark = np.maximum(dark, 0.88 * gap)
    return Relief(height, accent, bell(q, 0.09, 1.02), dark)


def _shared(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Relief:
    """Polygons that share their walls: cerioid."""
    shift = np.float32(0.015 * params.spacing_mm)
    x = x + shift * wander(x, y, 0.6 * params.spacing_mm, rng)
    y = y + shift * wander(x, y, 0.6 * params.spacing_mm, rng)
    cells = part_into_cells(x, y, layout.centres, 5)
    mean = 0.5 * params.spacing_mm
    walls = max(
        _CREST_WIDTHS[params.wall_crest] * mean,
        0.5 * (params.spacing_mm - params.calice_diameter_mm),
    )
    to_crest = np.maximum(cells.wall - np.float32(walls), 0.0)
    q = cells.r / (cells.r + to_crest + 1e-6)
    if params.confluent:
        septa = confluent_septa(layout.centres, params.septa_count, params.septa_order, rng)
    else:
        septa = radial_septa(len(layout.centres), params.septa_count, params.septa_order, rng)
    inside, accent = fill_calice(params, cells, q, septa, mean)
    height = mean * 1.15 * inside
    over = np.minimum(cells.wall / np.float32(walls), 1.0)
    if params.wall_crest != "flat":
        height += 0.9 * walls * np.sqrt(1.0 - np.minimum(over, 1.0) ** 2)
    ribs = cells.look_up(septa.height) * (1.0 if params.confluent else over)
    height += 0.07 * mean * ribs * rise(q, 0.85, 1.0)
    if params.groove:
        height -= 0.3 * mean * bell(cells.wall, max(0.35 * walls, 0.02 * params.spacing_mm))
    return Relief(height, accent, rise(q, 0.82, 1.0), 0.5 * bell(q, 0.2))


def _wall_less(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Relief:
    """No walls: septa run from centre to centre."""
    many = params.arrangement == "polystomatous"
    cells = part_into_cells(x, y, layout.centres, 5)
    d = np.float32(params.spacing_mm)
    count = params.septa_count
    septa = confluent_septa(layout.centres, count, params.septa_order, rng)
    ridge = toothed(septa, cells, cells.r, 0.5 * params.spacing_mm, params.septal_teeth)
    q = cells.r / (0.5 * d)
    pit = 0.16 if many else 0.13
    # Where septa crowd towards the centre they are finer, and so lower.
    height = d * (0.085 if many else 0.06) * ridge * rise(q, 0.12, 0.45)
    hollow = {"immersed": 0.1, "flush": 0.05, "domed": 0.02}.get(params.relief, 0.06)
    height -= d * np.float32(pit) * bell(q, 0.3) + d * np.float32(hollow) * bell(q, 0.75)
    middle = columella_height(params.columella, 1.6 * cells.dx / d, 1.6 * cells.dy / d, q)
    height += 0.25 * d * middle
    if many:
        height += d * np.float32(0.1) * wander(x, y, 2.5 * params.spacing_mm, rng)
    if params.tilt == "towards_edge":
        # A swelling behind each centre turns its mouth to the edge.
        ahead = q * _ahead(cells, layout, np.ones_like(q))
        within = rise(cells.wall / d, 0.0, 0.12)
        height -= d * np.float32(0.33) * ahead * bell(q, 0.75) * within
    return Relief(height, bell(q, 0.55), 0.3 * ridge * rise(q, 0.3, 0.7), 0.5 * bell(q, 0.25))


def _hills(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Relief:
    """Cone-shaped hills with the polyps between: hydnophoroid."""
    cells = part_into_cells(x, y, layout.centres, 4)
    d = np.float32(params.spacing_mm)
    outline = cells.look_up(outline_table(len(layout.centres), 0.2, rng))
    q = cells.r / (0.5 * d * outline)
    septa = radial_septa(len(layout.centres), params.septa_count, params.septa_order, rng)
    ridge = toothed(septa, cells, cells.r, 0.5 * params.spacing_mm, params.septal_teeth)
    # Hills end before the border of the cell, so that the floor between is even.
    cone = 0.6 * np.exp(-2.6 * q**1.5) * rise(cells.wall / d, 0.0, 0.16)
    thin = np.sqrt(ridge) ** (1.0 + 2.0 * np.minimum(q, 1.2))
    ribs = 0.085 * thin * rise(q, 0.05, 0.4) * rise(cells.wall / d, 0.0, 0.05)
    pale = 0.9 * bell(q, 0.35) + 0.3 * thin
    return Relief(d * (cone + ribs), rise(q, 0.6, 1.1), pale, 0.3 * rise(q, 0.8, 1.2))


def _disc(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Relief:
    """One polyp as a disc, its mouth a slit, its septa many."""
    cells = part_into_cells(x, y, layout.centres, 1)
    radius = float(layout.radii[0])
    outline = cells.look_up(outline_table(1, 0.025, rng))
    q = cells.r / (radius * outline)
    septa = radial_septa(1, params.septa_count, params.septa_order, rng)
    ridge = toothed(septa, cells, cells.r, 0.35 * radius, params.septal_teeth)
    clear = {"indistinct": 0.015, "even": 0.035, "prominent": 0.055}[params.septa_relief]
    dome = 0.3 * np.sqrt(np.maximum(1.0 - np.minimum(q, 1.0) ** 2, 0.0))
    height = dome + clear * ridge * rise(q, 0.1, 0.3) * (1.0 - 0.5 * rise(q, 0.9, 1.0))
    slit = bell(cells.dx / radius, 0.15) * bell(cells.dy / radius, 0.035)
    height = radius * (height - 0.2 * slit)
    coral = q <= 1.0
    sand = 0.012 * radius * bumps(x, y, 0.02 * radius, rng) - 0.25 * radius
    under = 0.75 * bell(np.maximum(q - 1.0, 0.0), 0.1)
    return Relief(
        np.where(coral, height, sand),
        np.where(coral, 0.8 * bell(q, 0.25), 0.0),
        np.where(coral, rise(q, 0.93, 1.0) + 0.25 * ridge, 0.0).astype(np.float32),
        np.where(coral, 0.6 * slit, under).astype(np.float32),
        coral,
    )


def _dendroid(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Relief:
    """Calices at the ends of stems that branch like a tree."""
    ends = _apart(params, layout, x, y, rng)
    stems, light, stem = raise_tree(params, layout, x, y, rng)
    calice = ends.dark < 0.5
    behind = np.where(stem, 0.25 + 0.45 * (1.0 - light), 0.92).astype(np.float32)
    low = np.float32(-4.5 * layout.radii.mean())
    height = np.where(calice, ends.height, np.where(stem, stems, low))
    return Relief(
        height.astype(np.float32),
        np.where(calice, ends.accent, 0.0).astype(np.float32),
        ends.pale,
        np.where(calice, ends.dark, behind).astype(np.float32),
        calice | stem,
    )


_RAISERS: dict[str, Raise] = {
    "plocoid": _separate,
    "cerioid": _shared,
    "phaceloid": _apart,
    "dendroid": _dendroid,
    "meandroid": raise_valleys,
    "flabello_meandroid": raise_valleys,
    "hydnophoroid": _hills,
    "thamnasterioid": _wall_less,
    "polystomatous": _wall_less,
    "solitary": _disc,
    "pores_one_size": raise_pores,
    "pores_two_sizes": raise_pores,
    "pore_rows": raise_pore_rows,
    "cyclosystems": raise_cyclosystems,
    "tubes": _apart,
}
