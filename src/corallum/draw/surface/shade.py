"""Light on a relief: shading, cast shadow, colour of tissue and water, faults of the sensor."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from corallum.draw.surface.camera import Camera, Floats32
from corallum.draw.surface.relief import Relief
from corallum.draw.surface.view import ViewOptions

__all__ = ["finish_picture", "light_relief", "smooth_tissue"]

Colour = tuple[float, float, float]
# Tissue and oral disc as red, green, blue in linear light: common practice, no source.
_COLOURS: dict[str, tuple[tuple[Colour, Colour], ...]] = {
    "brown_or_green": (
        ((0.42, 0.23, 0.09), (0.22, 0.36, 0.13)),
        ((0.28, 0.28, 0.12), (0.4, 0.37, 0.19)),
        ((0.45, 0.3, 0.14), (0.26, 0.17, 0.08)),
    ),
    "cream_or_yellow": (((0.58, 0.47, 0.26), (0.48, 0.38, 0.2)),),
    "bright_orange_or_yellow": (
        ((0.75, 0.27, 0.04), (0.85, 0.5, 0.06)),
        ((0.8, 0.52, 0.05), (0.75, 0.4, 0.04)),
    ),
    "pink_or_red": (((0.55, 0.2, 0.2), (0.5, 0.3, 0.26)),),
    "blue_or_purple": (((0.27, 0.2, 0.42), (0.34, 0.32, 0.46)),),
    "grey_or_white": (((0.62, 0.6, 0.54), (0.5, 0.49, 0.43)),),
    "very_dark": (((0.09, 0.09, 0.06), (0.12, 0.15, 0.08)),),
}
_BEHIND: Colour = (0.2, 0.18, 0.14)
_LOST_IN_WATER = np.array([0.9, 0.22, 0.2], dtype=np.float32)
_HAZE = np.array([0.05, 0.2, 0.27], dtype=np.float32)
_SMOOTHING = {"thin": 0.0, "moderate": 0.012, "fleshy": 0.04}
_GAMMA = 1.0 / 2.2
_SHADOW_STEPS = 9
_DARKEST = 0.29


def smooth_tissue(relief: Relief, tissue: str, unit_px: float) -> Floats32:
    """Cover a skeleton with tissue, which rounds what is finer than it is thick.

    Parameters
    ----------
    relief : Relief
        The skeleton, and what lies behind it, which stays as it is.
    tissue : str
        State of tissue.
    unit_px : float
        Width of a unit in the picture.
    """
    sigma = _SMOOTHING[tissue] * unit_px
    if sigma < 0.3:
        return relief.height
    if relief.coral is None:
        return np.asarray(ndimage.gaussian_filter(relief.height, sigma, truncate=3.0))
    inside = relief.coral.astype(np.float32)
    total = ndimage.gaussian_filter(relief.height * inside, sigma, truncate=3.0)
    share = ndimage.gaussian_filter(inside, sigma, truncate=3.0)
    smooth = total / np.maximum(share, np.float32(1e-3))
    return np.where(relief.coral, smooth, relief.height)


def light_relief(
    relief: Relief,
    camera: Camera,
    grid_mm: tuple[Floats32, Floats32],
    colour: str,
    rng: np.random.Generator,
) -> Floats32:
    """Light a relief from one side, with sky light from all round.

    Parameters
    ----------
    relief : Relief
        The surface.
    camera : Camera
        Gives slopes in the plane.
    grid_mm : tuple of ndarray
        x and y seen by every pixel.
    colour : str
        State of living_colour.
    rng : numpy.random.Generator
        Draws the direction of the light and the shade of the colour.

    Returns
    -------
    ndarray, shape (height, width, 3)
        Linear light, 0 to about 1.
    """
    azimuth = np.deg2rad(rng.uniform(200.0, 260.0))
    elevation = np.deg2rad(rng.uniform(40.0, 52.0))
    slope_x, slope_y = camera.slopes(relief.height, *grid_mm)
    # Light comes from (cos azimuth, sin azimuth) of the plane, y down: from upper left.
    ahead = np.float32(np.cos(azimuth)) * slope_x + np.float32(np.sin(azimuth)) * slope_y
    upright = 1.0 / np.sqrt(1.0 + slope_x**2 + slope_y**2)
    facing = (np.float32(np.sin(elevation)) - np.float32(np.cos(elevation)) * ahead) * upright
    direct = np.maximum(facing, 0.0) * (
        1.0 - 0.75 * _cast_shadow(relief.height, camera.px_per_mm, azimuth, elevation)
    )
    lit = 0.9 * direct + 0.34 * upright * _openness(relief.height)
    lit *= 1.0 - relief.dark
    shine = np.maximum(facing, 0.0) ** 24 * np.float32(0.06)
    return np.asarray(_paint(relief, colour, rng) * lit[..., None] + shine[..., None])


def _cast_shadow(height: Floats32, px_per_mm: float, azimuth: float, elevation: float) -> Floats32:
    """How far each point lies in shadow, 0 to 1, marched towards the light on a half picture."""
    small = np.ascontiguousarray(height[::2, ::2])
    low, high = np.percentile(small[::8, ::8], [1.0, 99.0])
    fall = np.float32(np.tan(elevation) / (px_per_mm / 2.0))
    longest = min((high - low) / float(fall), 160.0)
    shadow = np.zeros_like(small)
    if longest < 1.0:
        return _double(shadow, height.shape)
    for away in np.unique(
        np.ceil(longest * (np.arange(1, _SHADOW_STEPS + 1) / _SHADOW_STEPS) ** 1.5)
    ):
        columns, rows = round(away * np.cos(azimuth)), round(away * np.sin(azimuth))
        np.maximum(
            shadow, _moved(small, rows, columns) - np.float32(away) * fall - small, out=shadow
        )
    soft = np.float32(max((high - low) * 0.12, 1e-6))
    shade = ndimage.uniform_filter(np.minimum(shadow / soft, 1.0), 3)
    return _double(shade, height.shape)


def _moved(image: Floats32, rows: int, columns: int) -> Floats32:
    """Value of the point some rows and columns further on; the border repeats."""
    n_rows, n_columns = image.shape
    r = np.clip(np.arange(n_rows) + rows, 0, n_rows - 1)
    c = np.clip(np.arange(n_columns) + columns, 0, n_columns - 1)
    return np.take(np.take(image, r, axis=0), c, axis=1)


def _double(small: Floats32, shape: tuple[int, ...]) -> Floats32:
    """Enlarge a half picture to the whole."""
    whole = np.repeat(np.repeat(small, 2, axis=0), 2, axis=1)
    return np.asarray(whole[: shape[0], : shape[1]])


def _openness(height: Floats32) -> Floats32:
    """Share of the sky seen, 0.25 to 1.15, from the height over the surroundings."""
    small = np.ascontiguousarray(height[::4, ::4])
    spread = np.float32(max(float(small.std()), 1e-6))
    around = ndimage.gaussian_filter(small, 6.0, truncate=2.5)
    around = np.asarray(ndimage.zoom(around, 4, order=1, grid_mode=True, mode="nearest"))
    around = around[: height.shape[0], : height.shape[1]]
    return np.asarray(np.clip(1.0 + 0.28 * (height - around) / spread, 0.25, 1.3))


def _paint(relief: Relief, colour: str, rng: np.random.Generator) -> Floats32:
    """Colour of every point, shape (height, width, 3), without light."""
    choices = _COLOURS[colour]
    tissue, disc = choices[int(rng.integers(len(choices)))]
    vary = np.exp(rng.normal(0.0, 0.08, 3))
    base = (np.array(tissue) * vary).astype(np.float32)
    oral = (np.array(disc) * vary).astype(np.float32)
    # What is pale on a very dark coral is not white.
    palest = np.float32(0.65 * 0.75 * min(1.0, float(base.max()) / 0.2))
    white = np.float32(0.35) * base + palest
    accent = (0.65 * relief.accent)[..., None]
    painted = base + (oral - base) * accent
    painted += (white - painted) * (0.34 * np.clip(relief.pale, 0.0, 1.0))[..., None]
    painted *= (1.0 + 0.07 * _mottle(relief.height.shape, rng))[..., None]
    if relief.coral is not None:
        painted = np.where(relief.coral[..., None], painted, np.array(_BEHIND, dtype=np.float32))
    return np.asarray(painted)


def _mottle(shape: tuple[int, ...], rng: np.random.Generator) -> Floats32:
    """Blotches of several sizes, standard deviation about 1."""
    total = np.zeros(shape, dtype=np.float32)
    for cells in (5, 14, 40):
        coarse = rng.normal(size=(cells * 3 // 4 + 2, cells + 2)).astype(np.float32)
        factors = (shape[0] / coarse.shape[0], shape[1] / coarse.shape[1])
        grown = ndimage.zoom(coarse, factors, order=1, mode="nearest")
        total[: grown.shape[0], : grown.shape[1]] += 0.7 * grown[: shape[0], : shape[1]]
    return total


def finish_picture(
    light: Floats32, options: ViewOptions, rng: np.random.Generator
) -> NDArray[np.uint8]:
    """Put water, contrast, blur and noise over linear light.

    Parameters
    ----------
    light : ndarray, shape (height, width, 3)
        Linear light.
    options : ViewOptions
        How much of each.
    rng : numpy.random.Generator
        Draws the noise.

    Returns
    -------
    ndarray of uint8, shape (height, width, 3)
        The picture.
    """
    seen = light * np.exp(-np.float32(options.water) * _LOST_IN_WATER)
    veil = np.float32(0.22 * options.water)
    seen = seen * (1.0 - veil) + veil * _HAZE
    # Exposure: the brightest hundredth comes near full scale,
    # but a dark colony stays dark.
    top = np.float32(max(float(np.percentile(seen[::8, ::8].max(axis=-1), 99.0)), _DARKEST))
    seen = np.clip(seen * (np.float32(0.62) / top), 0.0, 1.0) ** np.float32(_GAMMA)
    if options.contrast != 1.0:
        middle = seen.mean(axis=(0, 1), keepdims=True)
        seen = middle + (seen - middle) * np.float32(options.contrast)
    if options.blur_px > 0.0:
        for channel in range(3):
            seen[..., channel] = ndimage.gaussian_filter(
                seen[..., channel], options.blur_px, truncate=3.0
            )
    if options.noise > 0.0:
        seen += np.float32(options.noise) * rng.standard_normal(seen.shape, dtype=np.float32)
    return np.asarray(np.clip(seen * 255.0 + 0.5, 0.0, 255.0), dtype=np.uint8)
