"""Scenes that show the form of a colony: a branch tip, a plate's margin, a young stalked disc."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from corallum.draw.surface.calice import bell, rise
from corallum.draw.surface.camera import Camera, Floats32
from corallum.draw.surface.cells import nearest_axis, part_into_cells
from corallum.draw.surface.height import raise_surface
from corallum.draw.surface.landforms import raise_uprights
from corallum.draw.surface.layout import Layout, lay_out
from corallum.draw.surface.parameters import SurfaceParameters
from corallum.draw.surface.relief import Relief
from corallum.draw.surface.septa import radial_septa, toothed
from corallum.draw.surface.texture import bumps, wander

__all__ = ["Scene", "raise_scene"]

Points = NDArray[np.float64]
Grid = tuple[Floats32, Floats32]
# Radius of a branch in spacings, and how much wider the axial corallite is: common
# practice, no source.
_BRANCH, _AXIAL = 2.3, 1.7
_STANDING = ("conical", "tubular")
# A young stalked disc is seen from the side: its height in the picture over its width.
_SQUASH = 0.55


@dataclass(frozen=True)
class Scene:
    """A relief, the layout on it, and where the plane of the picture shows each centre.

    Attributes
    ----------
    relief : Relief
        Of every pixel.
    layout : Layout
        Units in the surface's own mm.
    shown_mm : ndarray, shape (n, 2)
        Centres in the plane of the picture; NaN where they are out of sight.
    at_mm : tuple of ndarray
        Point of the surface, in its own mm, that every pixel shows.
    ground_mm : ndarray or float
        Height of the form of the colony, without its corallites.
    free : ndarray or float
        0 to 1: how far polyps may spread over a point.
    """

    relief: Relief
    layout: Layout
    shown_mm: Points
    at_mm: Grid
    ground_mm: Floats32 | float = 0.0
    free: Floats32 | float = 1.0


def raise_scene(
    params: SurfaceParameters, camera: Camera, grid: Grid, rng: np.random.Generator
) -> Scene:
    """Raise the scene that the parameters ask for.

    Parameters
    ----------
    params : SurfaceParameters
        With a scene other than ``close_up``.
    camera : Camera
        Bounds the layout.
    grid : tuple of ndarray
        x and y seen by every pixel, mm.
    rng : numpy.random.Generator
        Draws the disorder.
    """
    if params.scene == "branch_tip":
        return _branch_tip(params, camera, grid, rng)
    if params.scene == "plate_margin":
        return _plate_margin(params, camera, grid, rng)
    return _stalked_young(params, grid, rng)


def _branch_tip(
    params: SurfaceParameters, camera: Camera, grid: Grid, rng: np.random.Generator
) -> Scene:
    """A branch from the side, rounded, with a larger corallite at its end."""
    d = params.spacing_mm
    angle = rng.uniform(-0.5, 0.5) - np.pi / 2.0
    way = np.array([np.cos(angle), np.sin(angle)])
    s = np.float32(way[0]) * grid[0] + np.float32(way[1]) * grid[1]
    t = np.float32(-way[1]) * grid[0] + np.float32(way[0]) * grid[1]
    tip = 0.3 * camera.height / camera.px_per_mm
    radius = _branch_radius(s, tip, params)
    share = t / radius
    branch = (np.abs(share) < 1.0) & (s < tip)
    turn = np.arcsin(np.clip(share, -0.999, 0.999))
    unrolled = (np.float32(_BRANCH * d) * turn).astype(np.float32)
    if params.relief in _STANDING:
        # Tubes and cones on a branch point to its end.
        params = replace(params, tilt="towards_edge")
    layout = lay_out(replace(params, scene="close_up"), camera, rng, outward=0.0)
    sides = raise_surface(params, layout, s.astype(np.float32), unrolled, rng)
    round_off = (np.sqrt(np.maximum(1.0 - share**2, 0.0)) * radius).astype(np.float32)
    lit = Relief(
        np.where(branch, sides.height + round_off, -1.5 * d).astype(np.float32),
        sides.accent, sides.pale + 0.9 * rise(s, tip - 2.5 * d, tip),
        np.where(branch, sides.dark, 0.75).astype(np.float32), branch,
    )  # fmt: skip
    if params.relief in _STANDING:
        lit = _add_outline(lit, params, layout, (s, t), tip)
    relief = _add_axial(lit, params, s - np.float32(tip), t, rng)
    free = branch * (1.0 - rise(s, tip - 1.2 * d, tip - 0.4 * d))
    return Scene(
        relief, layout, _on_branch(layout, way, tip, params),
        (s.astype(np.float32), unrolled), round_off, free.astype(np.float32),
    )  # fmt: skip


def _add_outline(
    relief: Relief, params: SurfaceParameters, layout: Layout, at: Grid, tip: float
) -> Relief:
    """Let tubes stand out where they are seen from the side."""
    s, t = at
    turn = layout.centres[:, 1] / (_BRANCH * params.spacing_mm)
    beside = (np.abs(turn) > 1.25) & (np.abs(turn) < 1.75)
    beside &= layout.centres[:, 0] < tip - params.spacing_mm
    if relief.coral is None or not beside.any():
        return relief
    foot, side = layout.centres[beside, 0], np.sign(turn[beside])
    outer = 1.15 * float(layout.radii.mean())
    edge = _branch_radius(foot, tip, params)
    parts = np.linspace(0.0, 1.0, 6)
    tubes = tuple(
        np.column_stack([f + 1.5 * outer * parts, b * (e - 0.9 * outer + 1.1 * outer * parts)])
        for f, b, e in zip(foot, side, edge, strict=True)
    )
    along, across, _ = nearest_axis(s.astype(np.float32), t.astype(np.float32), tubes)
    side_on = across / np.float32(outer)
    # The end is a ring seen aslant, with the dark mouth in it.
    beyond = (along - np.float32(np.hypot(1.5, 1.1) * outer)) / np.float32(0.4 * outer)
    ring = np.hypot(beyond, side_on)
    share = np.where(beyond > 0.0, ring, np.abs(side_on))
    tube = (share < 1.0) & (along > -outer) & ~relief.coral
    round_off = outer * np.sqrt(np.maximum(1.0 - side_on**2, 0.0))
    mouth = 1.0 - rise(ring, 0.5, 0.75)
    return Relief(
        np.where(tube, round_off, relief.height).astype(np.float32),
        np.where(tube, 0.0, relief.accent).astype(np.float32),
        np.where(tube, 0.8 * bell(ring, 0.2, 0.9), relief.pale).astype(np.float32),
        np.where(tube, np.maximum(0.8 * mouth, 0.15), relief.dark).astype(np.float32),
        relief.coral | tube,
    )


def _branch_radius(s: NDArray[Any], tip: float, params: SurfaceParameters) -> NDArray[Any]:
    """Radius of a branch along its axis: as wide as the axial corallite at the end."""
    d = params.spacing_mm
    end = 1.45 * _AXIAL * params.calice_diameter_mm / 2.0
    back = np.clip((tip - s) / (5.0 * d), 0.0, 1.0)
    return np.asarray(end + (_BRANCH * d - end) * np.sqrt(back * (2.0 - back)) + 0.04 * (tip - s))


def _on_branch(layout: Layout, way: Points, tip: float, params: SurfaceParameters) -> Points:
    """Where a branch shows its centres; NaN behind it, past its end and near its outline."""
    d = params.spacing_mm
    s, unrolled = layout.centres.T
    turn = unrolled / (_BRANCH * d)
    t = _branch_radius(s, tip, params) * np.sin(turn)
    shown = np.column_stack([s * way[0] - t * way[1], s * way[1] + t * way[0]])
    hidden = (np.abs(turn) > 1.2) | (s > tip - 0.5 * d)
    shown[hidden] = np.nan
    return shown


def _add_axial(
    relief: Relief, params: SurfaceParameters, s: Floats32, t: Floats32, rng: np.random.Generator
) -> Relief:
    """Set a tube on the end of a branch, its mouth turned a little to the camera."""
    radius = _AXIAL * params.calice_diameter_mm / 2.0
    outer = 1.45 * radius
    tube = (np.abs(t) < outer) & (s < 0.9 * radius) & (s > -1.2 * radius)
    squeezed = ((s - np.float32(0.9 * radius)) / np.float32(0.6)).astype(np.float32)
    cells = part_into_cells(squeezed, t.astype(np.float32), np.zeros((1, 2)), 1)
    q = cells.r / np.float32(radius)
    end = q < 1.45
    septa = toothed(radial_septa(1, 12, "alternating", rng), cells, cells.r, radius, "none")
    shaft = np.sqrt(np.maximum(outer**2 - t**2, 0.0)) + 0.25 * _BRANCH * params.spacing_mm
    inside = -0.9 * radius * (1.0 - rise(q, 0.55, 1.0)) + 0.3 * radius * septa * rise(q, 0.3, 0.6)
    height = np.where(tube, np.maximum(relief.height, shaft), relief.height)
    top = 0.25 * _BRANCH * params.spacing_mm + outer
    height = np.where(end, top + inside - outer * 0.5 * (q > 1.15) * (q - 1.15), height)
    coral = tube | end if relief.coral is None else relief.coral | tube | end
    return Relief(
        height.astype(np.float32),
        relief.accent,
        np.where(tube | end, 0.8 + 0.3 * bell(q, 0.15, 1.05), relief.pale).astype(np.float32),
        np.where(end, 0.75 * (1.0 - rise(q, 0.5, 1.0)) * (1.0 - 0.5 * septa),
                 np.where(tube, 0.0, relief.dark)).astype(np.float32),
        coral,
    )  # fmt: skip


def _plate_margin(
    params: SurfaceParameters, camera: Camera, grid: Grid, rng: np.random.Generator
) -> Scene:
    """The growing edge of a plate: smaller relief, a pale rim, the dark beyond."""
    d = params.spacing_mm
    angle = rng.uniform(-0.6, 0.6)
    layout = lay_out(replace(params, scene="close_up"), camera, rng, outward=angle)
    wide = camera.width / camera.px_per_mm
    state = rng.bit_generator.state
    inward = _from_edge(*grid, angle, wide, d, rng)
    rng.bit_generator.state = state
    at = layout.centres.astype(np.float32)
    of_centre = _from_edge(at[:, 0], at[:, 1], angle, wide, d, rng)
    plate = inward > 0.0
    near = 1.0 - rise(inward, 0.3 * d, 2.2 * d)
    relief = raise_surface(params, layout, *grid, rng)
    ridges = 0.07 * d * np.cos(np.float32(2.0 * np.pi / (2.4 * d)) * inward) * (1.0 - near)
    rim = -0.9 * d * (1.0 - np.sqrt(np.clip(inward / np.float32(0.5 * d), 0.0, 1.0)))
    risen = raise_uprights(d, inward, grid, rng) if params.uprights else np.zeros_like(near)
    height = relief.height * (1.0 - 0.85 * near) + ridges + rim + risen
    lit = Relief(
        np.where(plate, height, -3.0 * d).astype(np.float32),
        relief.accent * (1.0 - near),
        np.where(plate, np.maximum(relief.pale, 1.4 * near), 0.0).astype(np.float32),
        np.where(plate, relief.dark * (1.0 - near), 0.8).astype(np.float32),
        plate,
    )
    shown = layout.centres.copy()
    shown[of_centre < 1.2 * d] = np.nan
    free = (plate * (1.0 - near)).astype(np.float32)
    return Scene(lit, layout, shown, grid, risen, free)


def _from_edge(
    x: Floats32, y: Floats32, angle: float, wide: float, d: float, rng: np.random.Generator
) -> Floats32:
    """Distance inwards from a wavy edge across the right of the picture, mm."""
    c, s = np.float32(np.cos(angle)), np.float32(np.sin(angle))
    return (
        np.float32(0.24 * wide)
        - (c * x + s * y)
        + np.float32(0.25 * d) * wander(x, y, 7.0 * d, rng)
    )


def _stalked_young(params: SurfaceParameters, grid: Grid, rng: np.random.Generator) -> Scene:
    """A small disc on a stalk, seen from the side and above, on rough ground."""
    x, y = grid
    radius = params.calice_diameter_mm / 2.0
    layout = Layout("calice", np.array([[0.0, -0.35 * radius]]), np.array([radius]))
    squeezed = ((y + np.float32(0.35 * radius)) / np.float32(_SQUASH)).astype(np.float32)
    cells = part_into_cells(x, squeezed, np.zeros((1, 2)), 1)
    q = cells.r / np.float32(radius)
    septa = radial_septa(1, params.septa_count, params.septa_order, rng)
    ridge = toothed(septa, cells, cells.r, 0.6 * radius, params.septal_teeth)
    disc = q <= 1.0
    mouth = bell(cells.dx / radius, 0.2) * bell(cells.dy / radius, 0.08)
    top = radius * (1.6 + 0.16 * q**2 + 0.07 * ridge * rise(q, 0.15, 0.35) - 0.2 * mouth)
    neck = radius * (
        0.3 + 0.55 * np.clip(1.0 - (y + 0.2 * radius) / (0.75 * radius), 0.0, 1.0) ** 2
    )
    neck += radius * 0.25 * np.clip((y - 0.75 * radius) / (0.4 * radius), 0.0, 1.0) ** 2
    stalk = (np.abs(x) < neck) & (y > -0.35 * radius) & (y < 1.15 * radius) & ~disc
    share = np.clip(x / neck, -1.0, 1.0)
    ribs = 0.03 * radius * np.sin(np.float32(params.septa_count / 2.2) * np.arcsin(share))
    side = radius * (0.5 + 0.5 * np.sqrt(1.0 - share**2)) + ribs
    ground = 0.03 * radius * bumps(x, y, 0.08 * radius, rng)
    ground += 0.07 * radius * wander(x, y, 1.4 * radius, rng)
    under = 0.8 * bell(np.hypot(x, (y - 1.0 * radius) / 0.4) / radius, 0.9)
    blank = np.zeros_like(q)
    relief = Relief(
        np.where(disc, top, np.where(stalk, side, ground)).astype(np.float32),
        np.where(disc, bell(q, 0.3), blank),
        np.where(disc, rise(q, 0.9, 1.0) + 0.2 * ridge, 0.5 * stalk).astype(np.float32),
        np.where(disc, 0.6 * mouth,
                 np.where(stalk, 0.55 * bell((y + 0.2 * radius) / radius, 0.5), under)
                 ).astype(np.float32),
        disc | stalk,
    )  # fmt: skip
    free = disc * (1.0 - rise(q, 0.9, 1.0))
    top_mm = (1.75 * radius * disc).astype(np.float32)
    return Scene(relief, layout, layout.centres, grid, top_mm, free.astype(np.float32))
