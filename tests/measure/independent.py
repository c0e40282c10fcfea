"""Pictures of known truth that share no code with the program: neither its drawings nor its sums.

Surfaces with a repeating unit, and pictures without one. All are invented.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage, spatial

__all__ = ["KINDS", "NOTHING", "Picture", "harden", "make_nothing", "make_surface"]

Floats = NDArray[np.float64]
KINDS = ("discs", "rings", "cones", "cells", "cells_septa", "stars", "square", "valleys")
NOTHING = ("smooth", "pink", "white", "stripes", "gradient", "blobs", "brown", "branches")


@dataclass(frozen=True)
class Picture:
    """A grey picture in 0 to 1 with what is known of it, in pixels."""

    kind: str
    image: NDArray[np.float32]
    spacing: float | None = None
    diameter: float | None = None
    valley: float | None = None
    centres: Floats | None = None


def _points(rng: np.random.Generator, shape: tuple[int, int], d: float, square: bool) -> Floats:
    """Centres on a turned lattice, moved at random, some of them relaxed (n, 2) as x, y."""
    h, w = shape
    reach = int(np.hypot(h, w) / d) + 3
    i, j = np.mgrid[-reach:reach, -reach:reach].reshape(2, -1).astype(float)
    grid = np.c_[i, j] if square else np.c_[i + j / 2, j * np.sqrt(3) / 2]
    grid = grid * d + rng.normal(0, d * rng.uniform(0.01, 0.05 if square else 0.14), grid.shape)
    turn = rng.uniform(0, np.pi)
    c, s = np.cos(turn), np.sin(turn)
    grid = grid @ np.array([[c, -s], [s, c]]) + [w / 2, h / 2]
    m = 2 * d
    inside = (grid > -m).all(1) & (grid[:, 0] < w + m) & (grid[:, 1] < h + m)
    return grid[inside]


def _hard_core(rng: np.random.Generator, shape: tuple[int, int], d: float) -> Floats:
    """Centres thrown at random with a least distance, then pushed apart by Lloyd's step."""
    h, w = shape
    n = int(1.1547 / d**2 * (h + 4 * d) * (w + 4 * d))
    points = rng.uniform([-2 * d, -2 * d], [w + 2 * d, h + 2 * d], (n, 2))
    probe = rng.uniform([-2 * d, -2 * d], [w + 2 * d, h + 2 * d], (60 * n, 2))
    for _ in range(int(rng.integers(6, 15))):
        near = spatial.cKDTree(points).query(probe)[1]
        count = np.maximum(np.bincount(near, minlength=n), 1)
        points = np.c_[
            np.bincount(near, probe[:, 0], n) / count, np.bincount(near, probe[:, 1], n) / count
        ]
    return points


def _true_spacing(points: Floats, shape: tuple[int, int]) -> float:
    """Mean distance of pairs in view that share a wall of at least a tenth of their distance."""
    h, w = shape
    diagram = spatial.Voronoi(points)
    total, count = 0.0, 0
    for (a, b), (u, v) in zip(diagram.ridge_points, diagram.ridge_vertices, strict=True):
        pa, pb = points[a], points[b]
        middle = (pa + pb) / 2
        if u < 0 or v < 0 or not (0 < middle[0] < w and 0 < middle[1] < h):
            continue
        length = float(np.hypot(*(pa - pb)))
        if np.hypot(*(diagram.vertices[u] - diagram.vertices[v])) >= 0.1 * length:
            total, count = total + length, count + 1
    return total / count


def _noise(rng: np.random.Generator, shape: tuple[int, int], power: float) -> Floats:
    """Noise whose spectrum falls as frequency to minus ``power``, sd 1."""
    fy, fx = np.fft.fftfreq(shape[0])[:, None], np.fft.rfftfreq(shape[1])[None]
    f = np.hypot(fy, fx)
    f[0, 0] = np.inf
    field = np.fft.irfft2(np.fft.rfft2(rng.normal(size=shape)) * f ** (-power / 2), s=shape)
    return (field - field.mean()) / field.std()


def _valleys(rng: np.random.Generator, shape: tuple[int, int], period: float) -> Floats:
    """Meandering ridges and valleys: noise of one wavelength, its flanks steepened."""
    fy, fx = np.fft.fftfreq(shape[0])[:, None], np.fft.rfftfreq(shape[1])[None]
    f = np.hypot(fy, fx) * period
    ring = np.exp(-0.5 * ((f - 1) / rng.uniform(0.04, 0.12)) ** 2)
    field = np.fft.irfft2(np.fft.rfft2(rng.normal(size=shape)) * ring, s=shape)
    field = np.tanh(rng.uniform(0.7, 3) * (field / field.std() + rng.uniform(-0.3, 0.3)))
    return 0.5 + 0.5 * field


def _unit(kind: str, rng: np.random.Generator, offset: Floats, d: float, r: float) -> Floats:
    """Brightness of discs, rings, cones or stars by offset from the nearest centre."""
    distance = np.hypot(offset[..., 0], offset[..., 1])
    soft = max(1.0, 0.06 * d)
    inside = 1 / (1 + np.exp((distance - r) / soft * 2))
    if kind == "rings":
        return np.exp(-0.5 * ((distance - r) / (rng.uniform(0.14, 0.3) * r + 0.5)) ** 2)
    if kind == "cones":
        lean = rng.uniform(-0.4, 0.4)
        return np.clip(1 - distance / (1.1 * r), 0, 1) + lean * offset[..., 0] / d * inside
    if kind == "stars":
        angle = np.arctan2(offset[..., 1], offset[..., 0])
        return inside * (0.65 + 0.35 * np.cos(rng.integers(6, 13) * angle))
    return inside


def _lattice_field(
    kind: str, rng: np.random.Generator, shape: tuple[int, int], points: Floats, d: float
) -> tuple[Floats, float]:
    """The brightness of a surface of separate or walled units, and the true diameter."""
    y, x = np.mgrid[: shape[0], : shape[1]]
    pixels = np.stack([x, y], -1).astype(float)
    distance, near = spatial.cKDTree(points).query(pixels, k=2)
    if kind.startswith("cells"):
        to_wall = (distance[..., 1] - distance[..., 0]) / 2
        field = 1 - np.exp(-to_wall / (rng.uniform(0.08, 0.2) * d))
        if kind == "cells_septa":
            offset = pixels - points[near[..., 0]]
            angle = np.arctan2(offset[..., 1], offset[..., 0])
            field = field + 0.25 * np.cos(rng.integers(12, 25) * angle) * np.clip(
                distance[..., 0] / d * 4, 0, 1
            )
        return field, d
    r = rng.uniform(0.27, 0.42) * d
    size = np.clip(1 + rng.normal(0, 0.08, len(points)), 0.8, 1.25)
    offset = (pixels - points[near[..., 0]]) / size[near[..., 0], None]
    light = 1 + rng.normal(0, 0.12, len(points))[near[..., 0]]
    return _unit("discs" if kind == "square" else kind, rng, offset, d, r) * light, 2 * r


def _photograph(rng: np.random.Generator, field: Floats, contrast: float = 1.0) -> Floats:
    """Light that falls off, blotches, grain and a little blur; brightness 0 to 1."""
    shape = field.shape
    field = (field - field.mean()) / field.std()
    if rng.random() < 0.6:
        field = -field
    y, x = np.mgrid[-1 : 1 : shape[0] * 1j, -1 : 1 : shape[1] * 1j]
    a, b, c = rng.normal(0, [0.5, 0.5, 0.3])
    image = contrast * field + a * x + b * y - abs(c) * (x**2 + y**2)
    image = image + rng.uniform(0, 0.5) * _noise(rng, shape, rng.uniform(1.8, 2.6))
    image = ndimage.gaussian_filter(image, rng.uniform(0.3, 1.2))
    return image + rng.uniform(0.02, 0.35) * rng.normal(size=shape)


def _to_grey(image: Floats, top: tuple[int, int]) -> NDArray[np.float32]:
    """Enlarge to the wanted shape and stretch to 0 to 1 in 8 bits."""
    if image.shape != top:
        image = ndimage.zoom(image, np.array(top) / image.shape, order=1)
    low, high = np.percentile(image, [0.5, 99.5])
    return (np.round(np.clip((image - low) / (high - low), 0, 1) * 255) / 255).astype(np.float32)


def make_surface(
    kind: str, rng: np.random.Generator, shape: tuple[int, int] = (720, 960), contrast: float = 1.0
) -> Picture:
    """Make a surface with a repeating unit; drawn at half size where the unit is large."""
    least = min(shape)
    d = float(np.exp(rng.uniform(np.log(14.0), np.log(least / 6))))
    half = 2 if d > 40 else 1
    small, e = (shape[0] // half, shape[1] // half), d / half
    if kind == "valleys":
        field = _valleys(rng, small, e)
        return Picture(kind, _to_grey(_photograph(rng, field, contrast), shape), valley=d)
    packed = kind != "square" and rng.random() < 0.4
    points = _hard_core(rng, small, e) if packed else _points(rng, small, e, kind == "square")
    field, diameter = _lattice_field(kind, rng, small, points, e)
    image = _to_grey(_photograph(rng, field, contrast), shape)
    spacing = _true_spacing(points, small) * half
    wide = None if kind.startswith("cells") else diameter * half
    return Picture(kind, image, spacing, wide, None, points * half)


def make_nothing(
    kind: str, rng: np.random.Generator, shape: tuple[int, int] = (720, 960)
) -> Picture:
    """Make a picture without a repeating unit."""
    if kind == "smooth":
        field = ndimage.gaussian_filter(rng.normal(size=shape), np.exp(rng.uniform(1, 4)))
    elif kind in ("pink", "brown"):
        field = _noise(rng, shape, rng.uniform(0.6, 1.6) if kind == "pink" else rng.uniform(2, 3.5))
    elif kind == "white":
        field = ndimage.gaussian_filter(rng.normal(size=shape), rng.uniform(0.2, 0.8))
    else:
        shapes = {"stripes": _stripes, "gradient": _gradient, "blobs": _blobs}
        field = shapes.get(kind, _branches)(rng, shape)
    field = field + 1e-9 * rng.normal(size=shape)
    return Picture(kind, _to_grey(_photograph(rng, field), shape))


def _stripes(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    """Straight stripes of random width and brightness."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    turn = rng.uniform(0, np.pi)
    along = x * np.cos(turn) + y * np.sin(turn)
    edges = np.cumsum(rng.exponential(rng.uniform(15, 60), 400)) - 1200
    field: Floats = rng.normal(size=401)[np.searchsorted(edges, along)]
    return field


def _gradient(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    """A slope of light, and less than a wave of it."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    field: Floats = np.sin(rng.uniform(0.2, 1) * x / 300) + rng.normal() * y / 400
    return field


def _blobs(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    """A few large discs of different size."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    field = np.zeros(shape)
    for _ in range(int(rng.integers(3, 8))):
        cx, cy = rng.uniform(0, shape[1]), rng.uniform(0, shape[0])
        radius = rng.uniform(30, 120)
        field += rng.uniform(0.5, 1.5) / (1 + np.exp((np.hypot(x - cx, y - cy) - radius) / 5))
    return field


def _branches(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    """Straight branches thrown at random."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    field = np.zeros(shape)
    for _ in range(int(rng.integers(8, 20))):
        cx, cy, turn = rng.uniform(0, shape[1]), rng.uniform(0, shape[0]), rng.uniform(0, 3.2)
        across = np.abs((x - cx) * np.cos(turn) + (y - cy) * np.sin(turn))
        along = np.abs((y - cy) * np.cos(turn) - (x - cx) * np.sin(turn))
        one = np.clip(1 - across / rng.uniform(8, 50), 0, 1) * (along < rng.uniform(80, 400))
        field = np.maximum(field, one)
    return field


def harden(picture: Picture, how: str, rng: np.random.Generator) -> Picture:
    """Return the picture made hard: seen ``oblique`` by 30 degrees, ``blurred`` or ``faint``."""
    image = picture.image.astype(float)
    unit = picture.spacing or picture.valley or 40.0
    if how == "blurred":
        image = ndimage.gaussian_filter(image, 0.16 * unit)
    elif how == "faint":
        image = 0.5 + 0.12 * (image - 0.5) + rng.normal(0, 0.03, image.shape)
        image = np.round(np.clip(image, 0, 1) * 255) / 255
    else:
        h, w = image.shape
        y, x = np.mgrid[:h, :w].astype(float)
        u, v = (x - w / 2) / w, (y - h / 2) / w
        # A camera two frame widths away, turned by 30 degrees about the level axis.
        depth = 1 / (1 - v * np.tan(np.pi / 6) / 2)
        rows = v * depth / np.cos(np.pi / 6) * w + h / 2
        image = ndimage.map_coordinates(
            image, [rows, u * depth * w + w / 2], order=1, mode="mirror"
        )
    return Picture(
        picture.kind, image.astype(np.float32), picture.spacing, picture.diameter, picture.valley
    )
