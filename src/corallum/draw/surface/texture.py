"""Fine relief of the surface between calices, one for each state of coenosteum_texture."""

from __future__ import annotations

import numpy as np

from corallum.draw.surface.camera import Floats32

__all__ = ["bumps", "coenosteum", "wander"]

# Size of the grain as a share of the calice's width, and its height as a share of
# the same: set by eye from the definitions (papillae narrower than a calice,
# tubercles as wide or wider).
_GRAINS = {
    "granular": (0.085, 0.012),
    "spinose": (0.16, 0.055),
    "papillate": (0.45, 0.14),
    "tuberculate": (1.3, 0.4),
    "reticulate": (0.2, 0.045),
    "ridged": (0.22, 0.045),
    "vesicular": (0.5, 0.1),
    "costate": (0.1, 0.01),
}


def wander(x: Floats32, y: Floats32, length_mm: float, rng: np.random.Generator) -> Floats32:
    """Smooth disorder without a pattern: a sum of plane waves, standard deviation about 1."""
    total = np.zeros_like(x)
    start = rng.uniform(0.0, np.pi)
    for i in range(4):
        # Directions are spread out, so that no grain shows.
        angle, phase = start + i * np.pi / 4.0, rng.uniform(0.0, 2.0 * np.pi)
        k = 2.0 * np.pi / (length_mm * rng.uniform(0.7, 1.5))
        a, b = np.float32(k * np.cos(angle)), np.float32(k * np.sin(angle))
        total += np.sin(a * x + b * y + np.float32(phase))
    return total * np.float32(0.7)


def bumps(x: Floats32, y: Floats32, size_mm: float, rng: np.random.Generator) -> Floats32:
    """Crowded round bumps of one size, 0 to 1, out of line with each other."""
    shift = np.float32(0.28 * size_mm)
    east, south = (shift * wander(x, y, 5.0 * size_mm, rng) for _ in range(2))
    x, y = x + east, y + south
    turn = rng.uniform(0.0, np.pi)
    total = np.zeros_like(x)
    for angle in (turn, turn + np.pi / 3.0, turn + 2.0 * np.pi / 3.0):
        k = 4.0 * np.pi / (np.sqrt(3.0) * size_mm)
        total += np.cos(np.float32(k * np.cos(angle)) * x + np.float32(k * np.sin(angle)) * y)
    return (total + np.float32(1.5)) / np.float32(4.5)


def coenosteum(
    x: Floats32, y: Floats32, texture: str, calice_mm: float, rng: np.random.Generator
) -> Floats32:
    """Height of the texture, mm, at every point.

    Parameters
    ----------
    x, y : ndarray
        Points of the plane, mm.
    texture : str
        State of coenosteum_texture.
    calice_mm : float
        Width of a calice, to which grains are in proportion.
    rng : numpy.random.Generator
        Draws the disorder.
    """
    if texture not in _GRAINS:
        return np.zeros_like(x)
    share, high = _GRAINS[texture]
    size = share * calice_mm
    relief: Floats32
    if texture == "ridged":
        across = x + np.float32(1.2 * size) * wander(x, y, 9.0 * size, rng)
        relief = 0.5 + 0.5 * np.sin(np.float32(2.0 * np.pi / size) * across)
    else:
        relief = bumps(x, y, size, rng)
    if texture == "spinose":
        relief = relief**3
    elif texture == "reticulate":
        relief = 1.0 - np.minimum(2.2 * relief, 1.0)
    elif texture in ("vesicular", "papillate", "tuberculate"):
        relief = np.sqrt(np.maximum(relief - 0.08, 0.0))
    return relief * np.float32(high * calice_mm)
