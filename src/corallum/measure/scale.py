"""Millimetres to a pixel, and how well they are known.

A scale holds in the plane of the ruler only: see ``plane.parallax``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.errors import CorallumError

__all__ = ["MeasureError", "Scale", "scale_from_disc", "scale_from_ruler", "seen_flattening"]

Floats = NDArray[np.float64]


class MeasureError(CorallumError):
    """What was clicked can't be measured: click again, as the message says."""


@dataclass(frozen=True, slots=True)
class Scale:
    """Millimetres to a pixel.

    Parameters
    ----------
    mm_per_pixel : float
        Length of a pixel's side in the plane of the scale object, in millimetres.
    relative : float
        Standard uncertainty as a part of it; 0 where it is taken as known.
    """

    mm_per_pixel: float
    relative: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a scale that is no length."""
        if not (math.isfinite(self.mm_per_pixel) and self.mm_per_pixel > 0):
            raise MeasureError(
                f"expected a scale above 0 mm per pixel, found {self.mm_per_pixel:g}. "
                "Click the ruler again."
            )

    @property
    def relative_area(self) -> float:
        """Standard uncertainty of an area as a part of it: twice that of a length."""
        return 2 * self.relative


def scale_from_ruler(
    points: Floats, length_mm: float, *, u_length_mm: float = 0.5, u_click_px: float = 2.0
) -> Scale:
    """Find the scale from two points on a ruler.

    Parameters
    ----------
    points : ndarray, (2, 2)
        x and y of the two points, in pixels.
    length_mm : float
        Length between them, in millimetres.
    u_length_mm : float
        Standard uncertainty of that length.
    u_click_px : float
        Standard uncertainty of each click along the ruler, in pixels.

    Raises
    ------
    MeasureError
        Where the points fall together or the length is not above 0.

    Notes
    -----
    s = L / n, (u_s / s)^2 = (u_L / L)^2 + (u_n / n)^2, with u_n^2 = 2 u_click^2 for two
    clicks, each with an error of its own.

    References
    ----------
    JCGM 100:2008 (GUM), 5.1.6.
    """
    _need_length(length_mm, "ruler")
    n = float(np.hypot(*(points[1] - points[0])))
    if n <= 0:
        raise MeasureError("expected two points apart, found one place. Click the ruler again.")
    u_n = math.sqrt(2) * u_click_px
    return Scale(length_mm / n, math.hypot(u_length_mm / length_mm, u_n / n))


def scale_from_disc(
    points: Floats, diameter_mm: float, *, u_diameter_mm: float = 0.05, u_click_px: float = 2.0
) -> Scale:
    """Find the scale from points on the edge of a disc, such as a coin.

    Parameters
    ----------
    points : ndarray, (n, 2)
        x and y on the edge, in pixels; at least three, well spread.
    diameter_mm : float
        Diameter of the disc, in millimetres.
    u_diameter_mm : float
        Standard uncertainty of the diameter.
    u_click_px : float
        Standard uncertainty of each click, in pixels.

    Raises
    ------
    MeasureError
        Where the points do not make a circle, or the diameter is not above 0.

    Notes
    -----
    Algebraic least squares: x^2 + y^2 + D x + E y + F = 0. The uncertainty of the radius
    follows from the clicks through the same equations.
    """
    _need_length(diameter_mm, "disc")
    radius, away = _circle(points)
    # An error of a click along the radius moves centre and radius as in this plane.
    spread = np.linalg.pinv(np.c_[away, np.ones(len(points))])[2]
    u_radius = u_click_px * float(np.sqrt((spread**2).sum()))
    relative = math.hypot(u_diameter_mm / diameter_mm, u_radius / radius)
    if not relative < _LARGEST:
        raise MeasureError(
            f"expected points spread round the disc, found an arc that leaves its size open. "
            f"{_ROUND_THE_DISC}"
        )
    return Scale(diameter_mm / (2 * radius), relative)


_ROUND_THE_DISC = "Click three or more points round the edge of the disc."
_LARGEST = 0.25


def _circle(points: Floats) -> tuple[float, Floats]:
    """Radius of the circle through points, and their directions from its centre."""
    if len(points) < 3:
        raise MeasureError(f"expected three points or more, found {len(points)}. {_ROUND_THE_DISC}")
    middle = points.mean(0)
    x, y = (points - middle).T
    design = np.c_[x, y, np.ones(len(x))]
    size = float(np.hypot(x, y).max())
    if np.linalg.matrix_rank(design / [max(size, 1e-9), max(size, 1e-9), 1], tol=1e-6) < 3:
        raise MeasureError(f"expected points on a circle, found a straight line. {_ROUND_THE_DISC}")
    d, e, f = np.linalg.lstsq(design, -(x**2 + y**2), rcond=None)[0]
    radius = math.sqrt(max((d * d + e * e) / 4 - f, 1e-18))
    away: Floats = (points - middle - np.array([-d / 2, -e / 2])) / radius
    return radius, away


def seen_flattening(points: Floats, *, u_click_px: float = 2.0) -> float | None:
    """Tell an oblique view by a disc that is seen as an ellipse.

    Parameters
    ----------
    points : ndarray, (n, 2)
        x and y on the edge, in pixels; fewer than six can't tell.
    u_click_px : float
        Standard uncertainty of each click, in pixels.

    Returns
    -------
    float or None
        Short over long axis, the cosine of the angle from straight above; None where
        three standard uncertainties of the clicks would explain the difference.

    Notes
    -----
    The distance from the centre is r (1 + a cos 2t + b sin 2t), an ellipse to the first
    order in its flattening; the axes are r (1 +- c) with c^2 = a^2 + b^2.
    """
    if len(points) < 6:
        return None
    radius, away = _circle(points)
    turn = np.arctan2(away[:, 1], away[:, 0])
    design = np.c_[
        np.cos(turn), np.sin(turn), np.ones(len(turn)), np.cos(2 * turn), np.sin(2 * turn)
    ]
    inverse = np.linalg.pinv(design)
    a, b = (inverse @ np.hypot(*away.T))[3:]
    u = u_click_px / radius * float(np.sqrt((inverse[3:] ** 2).sum(1).max()))
    flat = math.hypot(a, b)
    return None if flat < 3 * u else float((1 - flat) / (1 + flat))


def _need_length(length_mm: float, what: str) -> None:
    """Refuse a length that is none."""
    if not (math.isfinite(length_mm) and length_mm > 0):
        raise MeasureError(
            f"expected the {what}'s length above 0 mm, found {length_mm:g}. Enter it again."
        )
