"""Height fields and pictures of a surface, and measures on them that share no code with drawing.

A measure takes a field and returns one number. It looks at heights, tints or pixels
around the true centres, and knows nothing of how they were drawn.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import ndimage
from scipy.spatial import Delaunay

from corallum.draw.surface import SurfaceParameters, ViewOptions, render_colony
from corallum.draw.surface.camera import aim_camera
from corallum.draw.surface.height import raise_surface
from corallum.draw.surface.layout import Layout, lay_out
from corallum.draw.surface.polyps import spread_polyps
from corallum.draw.surface.relief import Relief
from corallum.draw.surface.scene import Scene, raise_scene

WIDTH, HEIGHT = 640, 480


@dataclass(frozen=True)
class Field:
    """A relief seen from above at a known scale, with where its units stand."""

    params: SurfaceParameters
    relief: Relief
    layout: Layout
    px_per_mm: float

    def px(self, points_mm: np.ndarray) -> np.ndarray:
        """Rows and columns of points x, y in mm."""
        return points_mm[..., ::-1] * self.px_per_mm + np.array(
            [(HEIGHT - 1) / 2.0, (WIDTH - 1) / 2.0]
        )

    def at(self, points_mm: np.ndarray, what: str = "height") -> np.ndarray:
        """Values at points x, y in mm, shape (..., 2)."""
        rows_columns = np.moveaxis(self.px(points_mm), -1, 0)
        return ndimage.map_coordinates(getattr(self.relief, what), rows_columns, order=1)

    def inner(self, margin_mm: float) -> np.ndarray:
        """Which centres are in view by a margin."""
        half = np.array([WIDTH, HEIGHT]) / 2.0 / self.px_per_mm - margin_mm
        return (np.abs(self.layout.centres) < half).all(axis=1)

    def rings(self, share: float, n: int = 720, what: str = "height") -> np.ndarray:
        """Values on circles about the centres in view, shape (centres, n)."""
        keep = self.inner(1.1 * share * float(self.layout.radii.max()))
        centres, radii = self.layout.centres[keep], self.layout.radii[keep]
        turn = 2.0 * np.pi * np.arange(n) / n
        circle = np.stack([np.cos(turn), np.sin(turn)], axis=-1)
        return self.at(centres[:, None, :] + share * radii[:, None, None] * circle, what)

    def profile(self, shares: np.ndarray, what: str = "height") -> np.ndarray:
        """Mean over all directions and centres at each share of the radius, in radii."""
        radius = float(self.layout.radii.mean())
        values = np.array([self.rings(share, 180, what).mean() for share in shares])
        return values / radius if what == "height" else values

    def corners(self) -> np.ndarray:
        """Middles of triangles of adjacent centres in view, mm, shape (n, 2)."""
        triangles = Delaunay(self.layout.centres).simplices
        keep = self.inner(0.0)[triangles].all(axis=1)
        return self.layout.centres[triangles[keep]].mean(axis=1)

    def between(self, n: int = 41) -> np.ndarray:
        """Heights from each centre to each adjacent one, shape (pairs, n), in spacings."""
        centres = self.layout.centres
        triangles = Delaunay(centres).simplices
        pairs = np.unique(np.sort(triangles[:, [[0, 1], [1, 2], [0, 2]]].reshape(-1, 2)), axis=0)
        keep = self.inner(0.0)
        near = np.hypot(*(centres[pairs[:, 0]] - centres[pairs[:, 1]]).T)
        pairs = pairs[keep[pairs].all(axis=1) & (near < 1.3 * self.params.spacing_mm)]
        way = np.linspace(0.0, 1.0, n)[None, :, None]
        points = centres[pairs[:, 0]][:, None] * (1.0 - way) + centres[pairs[:, 1]][:, None] * way
        return self.at(points) / self.params.spacing_mm


def field_of(params: SurfaceParameters, seed: int = 1, units: float = 9.0) -> Field:
    """Raise a surface, polyps and all, with some units across the picture."""
    rng = np.random.default_rng(seed)
    scale = WIDTH / (units * params.spacing_mm)
    camera = aim_camera(scale, ViewOptions(width=WIDTH, height=HEIGHT), rng)
    grid = camera.grid_mm()
    if params.scene == "close_up":
        layout = lay_out(params, camera, rng)
        scene = Scene(raise_surface(params, layout, *grid, rng), layout, layout.centres, grid)
    else:
        scene = raise_scene(params, camera, grid, rng)
    return Field(params, spread_polyps(scene.relief, params, scene, rng), scene.layout, scale)


def picture_of(params: SurfaceParameters, seed: int = 1) -> np.ndarray:
    """A clean picture, 0 to 1, shape (480, 640, 3)."""
    options = ViewOptions(width=WIDTH, height=HEIGHT, noise=0.0, blur_px=0.0, water=0.0)
    image = render_colony(params, options, np.random.default_rng(seed)).image
    return image.astype(float) / 255.0


def waves_round(values: np.ndarray) -> np.ndarray:
    """Power of each whole number of waves round a circle, summed over circles (n, samples)."""
    power = np.abs(np.fft.rfft(values - values.mean(axis=1, keepdims=True), axis=1)) ** 2
    return power.sum(axis=0)


def share_of_waves(values: np.ndarray, low: float, high: float) -> float:
    """Share of the power round a circle that lies between two numbers of waves."""
    power = waves_round(values)
    counts = np.arange(len(power))
    return float(power[(counts >= low) & (counts <= high)].sum() / power[1:].sum())


def peaks(values: np.ndarray, window_px: int) -> np.ndarray:
    """Rows and columns of points that are highest within a window."""
    highest = ndimage.maximum_filter(values, size=window_px)
    return np.argwhere((values == highest) & (values > ndimage.minimum_filter(values, window_px)))


def coherence(values: np.ndarray) -> float:
    """How far slopes share one direction, 0 to 1 (structure tensor; Bigun & Granlund 1987)."""
    down, along = np.gradient(values)
    xx, yy, xy = (along * along).mean(), (down * down).mean(), (along * down).mean()
    return float(np.hypot(xx - yy, 2.0 * xy) / (xx + yy))
