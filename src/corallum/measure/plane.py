"""From a picture to the plane of a known rectangle, and what the plane does not cover."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.measure.scale import MeasureError

__all__ = ["Plane", "fit_homography", "parallax", "plane_from_rectangle", "project"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Plane:
    """A plane in a picture.

    Parameters
    ----------
    homography : ndarray, (3, 3)
        Takes x, y of the picture (pixels) to x, y of the plane (millimetres).
    residual_mm : float
        Root mean square distance of the corners from where they should be; always 0
        for four corners, which fit exactly.
    obliqueness : float
        Greatest over least length of a pixel at the rectangle's middle: 1 seen from
        straight above, 1.15 at 30 degrees.
    click_mm : float
        Standard uncertainty of a corner in the plane, from clicking.
    """

    homography: Floats
    residual_mm: float
    obliqueness: float
    click_mm: float

    @property
    def warning(self) -> str | None:
        """Say how far lengths would be off if the plane were not straightened."""
        off = 1 - 1 / self.obliqueness
        if off < 0.05:
            return None
        degrees = math.degrees(math.acos(1 / self.obliqueness))
        return (
            f"The view is oblique by about {degrees:.0f} degrees: without straightening, "
            f"lengths along the slope would come out {100 * off:.0f} % short."
        )


def fit_homography(picture: Floats, plane: Floats) -> Floats:
    """Find the homography from points in two planes.

    Parameters
    ----------
    picture, plane : ndarray, (n, 2)
        The same points in either plane; n at least 4, no three of four in a line.

    Returns
    -------
    ndarray, (3, 3)
        Scaled so that its last entry is 1.

    Raises
    ------
    MeasureError
        Where the points do not determine one.

    References
    ----------
    Hartley & Zisserman 2004, Multiple View Geometry, algorithm 4.2 (normalised DLT).
    """
    if len(picture) < 4 or len(picture) != len(plane):
        raise MeasureError(f"expected four corners, found {len(picture)}. Click all four.")
    a, ta = _normalised(picture)
    b, tb = _normalised(plane)
    zero, one = np.zeros(len(a)), np.ones(len(a))
    x, y, u, v = a[:, 0], a[:, 1], b[:, 0], b[:, 1]
    rows = np.r_[
        np.c_[x, y, one, zero, zero, zero, -u * x, -u * y, -u],
        np.c_[zero, zero, zero, x, y, one, -v * x, -v * y, -v],
    ]
    _, sizes, turns = np.linalg.svd(rows)
    h = np.linalg.inv(tb) @ turns[-1].reshape(3, 3) @ ta
    if sizes[7] < 1e-9 * sizes[0] or abs(h[2, 2]) < 1e-12 * np.abs(h).max():
        raise MeasureError(
            "expected four corners of a rectangle, found three of them in a line. Click them again."
        )
    result: Floats = h / h[2, 2]
    if abs(np.linalg.det(result)) < 1e-15 * np.abs(result).max():
        raise MeasureError(
            "expected four corners of a rectangle, found three of them in a line. Click them again."
        )
    return result


def _normalised(points: Floats) -> tuple[Floats, Floats]:
    """Move points to mean 0 and mean distance root 2, with the matrix that does so."""
    middle = points.mean(0)
    size = float(np.hypot(*(points - middle).T).mean())
    if size <= 0:
        raise MeasureError("expected corners apart, found one place. Click them again.")
    s = math.sqrt(2) / size
    matrix = np.array([[s, 0, -s * middle[0]], [0, s, -s * middle[1]], [0, 0, 1]])
    return (points - middle) * s, matrix


def project(homography: Floats, points: Floats) -> Floats:
    """Take points through a homography.

    Parameters
    ----------
    homography : ndarray, (3, 3)
        From the first plane to the second.
    points : ndarray, (n, 2)
        x and y in the first plane.

    Returns
    -------
    ndarray, (n, 2)
        Places in the second plane, x and y.
    """
    through = np.c_[points, np.ones(len(points))] @ homography.T
    result: Floats = through[:, :2] / through[:, 2:]
    return result


def plane_from_rectangle(
    corners: Floats, width_mm: float, height_mm: float, *, u_click_px: float = 2.0
) -> Plane:
    """Find the plane of a rectangle of known size.

    Parameters
    ----------
    corners : ndarray, (4, 2)
        x and y in pixels, in order round the rectangle; the first two span its width.
    width_mm, height_mm : float
        Its size, in millimetres.
    u_click_px : float
        Standard uncertainty of each click, in pixels.

    Raises
    ------
    MeasureError
        Where the corners do not go round a rectangle.
    """
    if not (width_mm > 0 and height_mm > 0):
        raise MeasureError("expected a rectangle of some size, found none. Enter its size again.")
    sides = np.roll(corners, -1, 0) - corners
    turns = sides[:, 0] * np.roll(sides[:, 1], -1) - sides[:, 1] * np.roll(sides[:, 0], -1)
    if not ((turns > 0).all() or (turns < 0).all()):
        raise MeasureError(
            "expected four corners in order round the rectangle, found sides that cross or "
            "bend inwards. Click them again, one after the other."
        )
    wanted = np.array([[0, 0], [width_mm, 0], [width_mm, height_mm], [0, height_mm]], float)
    h = fit_homography(corners, wanted)
    gap = project(h, corners) - wanted
    sizes = np.linalg.svd(_stretch(h, corners.mean(0)))[1]
    return Plane(
        h,
        float(np.sqrt((gap**2).sum(1).mean())),
        float(sizes[0] / sizes[1]),
        u_click_px * float(np.sqrt(sizes[0] * sizes[1])),
    )


def _stretch(h: Floats, at: Floats) -> Floats:
    """Derivative of a homography at a point (2, 2)."""
    x, y, w = h @ np.array([at[0], at[1], 1.0])
    rows = [(h[0, :2] * w - x * h[2, :2]) / w**2, (h[1, :2] * w - y * h[2, :2]) / w**2]
    return np.array(rows)


def parallax(nearer_mm: float, distance_mm: float) -> tuple[float, str | None]:
    """Say how far a length is off where the colony is not in the ruler's plane.

    Parameters
    ----------
    nearer_mm : float
        How much nearer to the camera the colony is than the ruler; negative: farther.
    distance_mm : float
        Distance from the camera to the ruler.

    Returns
    -------
    tuple of float and str or None
        Relative error of a length, about dh / h, and a warning from 2 % on.
    """
    if not distance_mm > max(nearer_mm, 0):
        raise MeasureError("expected a colony before the camera, found one behind it.")
    off = nearer_mm / (distance_mm - nearer_mm)
    if abs(off) < 0.02:
        return off, None
    way = "large" if off > 0 else "small"
    side = "nearer" if off > 0 else "farther"
    return off, (
        f"The colony is {abs(nearer_mm):g} mm {side} than the ruler: "
        f"sizes come out {100 * abs(off):.0f} % too {way}."
    )
