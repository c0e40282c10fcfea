"""A pinhole camera over a plane: millimetres to pixels and back.

The plane is z = 0 with its origin in the middle of the picture, x to the right
and y down. A tilt turns the plane about an axis through the origin, so that the
scale along that axis stays the asked one and the picture is an exact homography
of the plane (Hartley and Zisserman 2004, section 2.3).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from corallum.draw.surface.view import ViewOptions

__all__ = ["Camera", "Floats32", "aim_camera"]

# Single precision in fact; numpy's own types widen it in most expressions.
Floats32 = NDArray[np.floating[Any]]

# Camera this many picture widths away: a close-up with a moderate lens. From there
# the horizon stays out of the picture up to the steepest view.
_WIDTHS_AWAY = 2.5


@dataclass(frozen=True)
class Camera:
    """Where each millimetre of the plane lands.

    Attributes
    ----------
    homography : ndarray, shape (3, 3)
        (x mm, y mm, 1) to (x px, y px, 1) times a factor.
    px_per_mm : float
        Scale at the origin, along the axis of the tilt.
    width, height : int
        Pixels.
    """

    homography: NDArray[np.float64]
    px_per_mm: float
    width: int
    height: int

    def to_px(self, points_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Take points, shape (n, 2), from the plane to the picture."""
        return _transform(self.homography, points_mm)

    def to_mm(self, points_px: NDArray[np.float64]) -> NDArray[np.float64]:
        """Take points, shape (n, 2), from the picture to the plane."""
        return _transform(np.linalg.inv(self.homography), points_px)

    def sees(self, points_mm: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Whether points of the plane, shape (n, 2), fall within the picture."""
        px = self.to_px(points_mm)
        inside = (px >= -0.5) & (px <= np.array([self.width - 0.5, self.height - 0.5]))
        return np.asarray(inside.all(axis=1))

    def box_mm(self) -> tuple[float, float, float, float]:
        """Least and most x, then y, of the part of the plane in view."""
        right, bottom = self.width - 0.5, self.height - 0.5
        corners = np.array([[-0.5, -0.5], [right, -0.5], [right, bottom], [-0.5, bottom]])
        (x0, y0), (x1, y1) = (f(self.to_mm(corners), axis=0) for f in (np.min, np.max))
        return float(x0), float(x1), float(y0), float(y1)

    def grid_mm(self) -> tuple[Floats32, Floats32]:
        """Millimetres x and y of the middle of every pixel, each (height, width)."""
        inverse = np.linalg.inv(self.homography)
        inverse /= inverse[2, 2]
        u = np.arange(self.width)[None, :]
        v = np.arange(self.height)[:, None]
        below = inverse[2, 0] * u + inverse[2, 1] * v + 1.0
        x = (inverse[0, 0] * u + inverse[0, 1] * v + inverse[0, 2]) / below
        y = (inverse[1, 0] * u + inverse[1, 1] * v + inverse[1, 2]) / below
        return x.astype(np.float32), y.astype(np.float32)

    def slopes(self, height_mm: Floats32, x: Floats32, y: Floats32) -> tuple[Floats32, Floats32]:
        """Slope of a height along x and y of the plane, from its values at the pixels.

        The chain rule with the Jacobian of the homography at every pixel.
        """
        down, along = np.gradient(height_mm)
        h = self.homography.astype(np.float32)
        if not h[2, :2].any():
            return h[0, 0] * along + h[1, 0] * down, h[0, 1] * along + h[1, 1] * down
        w = h[2, 0] * x + h[2, 1] * y + h[2, 2]
        u = np.arange(self.width, dtype=np.float32)[None, :]
        v = np.arange(self.height, dtype=np.float32)[:, None]
        slope_x = ((h[0, 0] - u * h[2, 0]) * along + (h[1, 0] - v * h[2, 0]) * down) / w
        slope_y = ((h[0, 1] - u * h[2, 1]) * along + (h[1, 1] - v * h[2, 1]) * down) / w
        return slope_x, slope_y


def aim_camera(px_per_mm: float, options: ViewOptions, rng: np.random.Generator) -> Camera:
    """Set up the camera of a view.

    Parameters
    ----------
    px_per_mm : float
        Scale at the origin, along the axis of the tilt.
    options : ViewOptions
        Size of the picture and angle of the view.
    rng : numpy.random.Generator
        Draws the direction of the tilt.

    Returns
    -------
    Camera
        Looking at the origin.
    """
    direction = rng.uniform(0.0, 2.0 * np.pi)
    tilt = np.deg2rad(options.oblique_degrees)
    away = _WIDTHS_AWAY * options.width / px_per_mm
    turn = _rotation(direction) @ _tilting(tilt) @ _rotation(-direction)
    extrinsic = np.column_stack([turn[:, 0], turn[:, 1], [0.0, 0.0, away]])
    focal = px_per_mm * away
    middle_x, middle_y = (options.width - 1) / 2.0, (options.height - 1) / 2.0
    intrinsic = np.array([[focal, 0.0, middle_x], [0.0, focal, middle_y], [0.0, 0.0, 1.0]])
    homography = intrinsic @ extrinsic
    homography /= homography[2, 2]
    if tilt == 0.0:
        homography = np.array(
            [[px_per_mm, 0.0, middle_x], [0.0, px_per_mm, middle_y], [0.0, 0.0, 1.0]]
        )
    return Camera(homography, px_per_mm, options.width, options.height)


def _transform(homography: Floats32, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Apply a homography to points, shape (n, 2)."""
    points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    mapped = np.column_stack([points, np.ones(len(points))]) @ homography.T
    return np.asarray(mapped[:, :2] / mapped[:, 2:])


def _rotation(angle: float) -> NDArray[np.float64]:
    """Turn about the line of sight."""
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


def _tilting(angle: float) -> NDArray[np.float64]:
    """Turn about x."""
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])
