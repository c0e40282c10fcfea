"""A ruler that lies in the plane of the surface, with ticks at whole millimetres."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.draw.surface.camera import Camera, Floats32

__all__ = ["Ruler", "lay_ruler"]

_STEPS = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)
_FEWEST_PX = 9.0


@dataclass(frozen=True)
class Ruler:
    """Ends of the scale in the plane, shape (2, 2), and their distance, both mm."""

    ends_mm: NDArray[np.float64]
    length_mm: float
    step_mm: float


def lay_ruler(
    light: Floats32, camera: Camera, grid_mm: tuple[Floats32, Floats32]
) -> tuple[Floats32, Ruler]:
    """Lay a ruler over linear light, near the lower border.

    Parameters
    ----------
    light : ndarray, shape (height, width, 3)
        The picture without the ruler.
    camera : Camera
        Gives the scale, and where the lower border lies.
    grid_mm : tuple of ndarray
        x and y seen by every pixel.

    Returns
    -------
    light : ndarray
        The picture with the ruler.
    ruler : Ruler
        Its scale runs from the first tick to the last; the long ones are ten
        steps apart.
    """
    x, y = grid_mm
    light = light.copy()
    step = next((s for s in _STEPS if s * camera.px_per_mm >= _FEWEST_PX), _STEPS[-1])
    wide = camera.width / camera.px_per_mm
    tall = camera.height / camera.px_per_mm
    ticks = max(int(0.55 * wide / step / 10.0) * 10, 2)
    length = ticks * step
    left = -0.5 * length
    bottom = float(camera.to_mm(np.array([[camera.width / 2.0, 0.94 * camera.height]]))[0, 1])
    top = bottom - 0.085 * tall
    edge = 0.02 * wide
    body = (x > left - edge) & (x < left + length + edge) & (y > top) & (y < bottom)
    light[body] = np.float32(0.62) * np.maximum(float(light.mean()) * 2.5, 0.25)
    at = (x - np.float32(left)) / np.float32(step)
    nearest = np.round(at)
    on_tick = np.abs(at - nearest) * step < 0.11 * step
    on_tick &= (nearest >= 0) & (nearest <= ticks) & body
    reach = np.where(nearest % 10 == 0, 0.62, np.where(nearest % 5 == 0, 0.45, 0.3))
    light[on_tick & (y < top + reach * (bottom - top))] *= np.float32(0.06)
    return light, Ruler(np.array([[left, top], [left + length, top]]), length, step)
