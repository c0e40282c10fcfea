"""A ruler that lies in the plane of the surface, with ticks and numerals of millimetres."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.draw.surface.camera import Camera, Floats32
from corallum.draw.surface.strokes import cover_of_text, width_of_text

__all__ = ["Ruler", "lay_ruler", "numerals"]

_STEPS = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)
_FEWEST_PX = 9.0
# Least distance of numerals in pixels, and their height as a share of the ruler's.
_ROOM_PX, _CAPITAL = 44.0, 0.3
_INK = 0.06


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
    edge = 0.025 * wide
    right = left + length + edge + width_of_text(" mm") * _CAPITAL * (bottom - top)
    body = (x > left - edge) & (x < right) & (y > top) & (y < bottom)
    light[body] = np.float32(0.62) * np.maximum(float(light.mean()) * 2.5, 0.25)
    at = (x - np.float32(left)) / np.float32(step)
    nearest = np.round(at)
    on_tick = np.abs(at - nearest) * step < 0.11 * step
    on_tick &= (nearest >= 0) & (nearest <= ticks) & body
    reach = np.where(nearest % 10 == 0, 0.5, np.where(nearest % 5 == 0, 0.36, 0.24))
    light[on_tick & (y < top + reach * (bottom - top))] *= np.float32(_INK)
    scale = Ruler(np.array([[left, top], [left + length, top]]), length, step)
    _number(light, camera, (x, y), scale, bottom - top)
    return light, scale


def numerals(ruler: Ruler, px_per_mm: float) -> list[tuple[float, str]]:
    """Places on the scale that bear a number, mm from its start, and the number.

    Parameters
    ----------
    ruler : Ruler
        The scale.
    px_per_mm : float
        Every fifth step has a number where there is room for it, else every tenth.

    Returns
    -------
    list of (float, str)
        The last one says the unit.
    """
    step = ruler.step_mm
    every = 5.0 * step if 5.0 * step * px_per_mm >= _ROOM_PX else 10.0 * step
    places = [i * every for i in range(int(ruler.length_mm / every + 1e-6) + 1)]
    if len(places) == 1:
        places.append(ruler.length_mm)
    return [(place, f"{place:g}" + " mm" * (place == places[-1])) for place in places]


def _number(
    light: Floats32, camera: Camera, grid: tuple[Floats32, Floats32], ruler: Ruler, tall: float
) -> None:
    """Write numerals into the light, upright in the plane under their ticks."""
    capital = _CAPITAL * tall
    y0 = ruler.ends_mm[0, 1] + (0.94 - _CAPITAL) * tall
    soft = 1.0 / max(capital * camera.px_per_mm, 1.0)
    for place, text in numerals(ruler, camera.px_per_mm):
        wide = width_of_text(text.removesuffix(" mm")) * capital
        x0 = ruler.ends_mm[0, 0] + place - 0.5 * wide
        box = np.array([[x0, y0], [x0 + width_of_text(text) * capital, y0 + capital]])
        box += np.array([[-0.3], [0.3]]) * capital
        part = _window(camera, box)
        u, v = ((axis[part] - np.float32(start)) / np.float32(capital)
                for axis, start in zip(grid, (x0, y0), strict=True))  # fmt: skip
        ink = cover_of_text(u, v, text, pen=max(0.13, 1.2 * soft), soft=soft)
        light[part] *= (1.0 - (1.0 - _INK) * ink)[..., None]


def _window(camera: Camera, box_mm: NDArray[np.float64]) -> tuple[slice, slice]:
    """Rows and columns of the picture that hold a box of the plane."""
    (x0, y0), (x1, y1) = box_mm
    px = camera.to_px(np.array([[x0, y0], [x1, y0], [x0, y1], [x1, y1]]))
    low = np.floor(px.min(axis=0)).astype(int)
    high = np.ceil(px.max(axis=0)).astype(int) + 1
    ends = (camera.width, camera.height)
    columns, rows = (
        slice(min(max(a, 0), end), min(max(b, 0), end))
        for a, b, end in zip(low, high, ends, strict=True)
    )
    return rows, columns
