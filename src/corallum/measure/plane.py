"""From a picture to the plane of a known rectangle, and what the plane does not cover."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.measure.scale import MeasureError, Scale

__all__ = [
    "Plane",
    "at_height",
    "fit_homography",
    "oblique_warning",
    "parallax",
    "plane_from_rectangle",
    "project",
    "stretch",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Plane:
    """A plane in a picture.

    Parameters
    ----------
    homography : ndarray, (3, 3)
        Takes x, y of the picture (pixels) to x, y of the plane (millimetres).
    residual_mm : float
        Root mean square distance of the points from where they should be; always 0
        for four corners, which fit exactly.
    obliqueness : float
        Greatest over least length of a pixel at the rectangle's middle: 1 seen from
        straight above, 1.15 at 30 degrees.
    click_mm : float
        Standard uncertainty of a corner in the plane, from clicking.
    relative : float
        Standard uncertainty of a length at the rectangle's middle, as a part of it,
        from the clicks and the sides.
    n : int
        Number of points it rests on: 4, or 8.
    """

    homography: Floats
    residual_mm: float
    obliqueness: float
    click_mm: float
    relative: float = 0.0
    n: int = 4

    @property
    def warning(self) -> str | None:
        """Say how far lengths would be off if the plane were not straightened."""
        return oblique_warning(1 / self.obliqueness, straightened=True)

    @property
    def misfit(self) -> str | None:
        """Say where clicks alone do not explain the residual.

        The sum of squares of 16 coordinates less 8 unknowns, over the square of a click,
        is chi-square with 8 degrees of freedom: above 26.1 in one case of a thousand.
        """
        if self.n <= 4 or self.residual_mm**2 * self.n < 26.1 * self.click_mm**2:
            return None
        return (
            f"The rectangle's points miss a flat rectangle by {self.residual_mm:.2g} mm, more "
            "than clicks explain: the lens bends lines, the rectangle is not flat, or its sides "
            "are wrong."
        )


def oblique_warning(ratio: float, *, straightened: bool) -> str | None:
    """Say that a view is oblique, and what it does to lengths.

    Parameters
    ----------
    ratio : float
        Length along the slope as seen, over the same length across it.
    straightened : bool
        Whether the picture was straightened before measuring.

    Returns
    -------
    str or None
        None below 5 %.
    """
    off = 1 - ratio
    if off < 0.05:
        return None
    degrees = math.degrees(math.acos(max(ratio, 0.0)))
    said = f"The view is oblique by about {degrees:.0f} degrees"
    if straightened:
        return (
            f"{said}, and was straightened: without that, lengths along the slope would come out "
            f"{100 * off:.0f} % short. What stands up from the plane is still seen from the side."
        )
    return (
        f"{said}: lengths along the slope come out up to {100 * off:.0f} % short, means over all "
        f"directions about {50 * off:.0f} %. Take it from straight above, or use a rectangle."
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
    corners: Floats,
    width_mm: float,
    height_mm: float,
    *,
    u_click_px: float = 2.0,
    u_side_mm: float = 0.0,
) -> Plane:
    """Find the plane of a rectangle of known size.

    Parameters
    ----------
    corners : ndarray, (4, 2) or (8, 2)
        x and y in pixels, in order round the rectangle; the first two span its width.
        Four more are the middles of the sides in the same order, the first between the
        first two corners: they leave a residual that tells whether the rectangle fits.
    width_mm, height_mm : float
        Its size, in millimetres.
    u_click_px : float
        Standard uncertainty of each click in each direction, in pixels.
    u_side_mm : float
        Standard uncertainty of each side, in millimetres.

    Raises
    ------
    MeasureError
        Where the corners do not go round a rectangle.

    Notes
    -----
    The uncertainty of a length at the middle is that of the root of the area of a pixel,
    from each coordinate and each side by central differences (GUM 5.1.3, note 2).
    """
    if not (0 < width_mm < math.inf and 0 < height_mm < math.inf):
        raise MeasureError("expected a rectangle of some size, found none. Enter its size again.")
    _need_round(corners)
    wanted = _known_points(width_mm, height_mm)[: len(corners)]
    h = fit_homography(corners, wanted)
    gap = project(h, corners) - wanted
    sizes = np.linalg.svd(stretch(h, corners[:4].mean(0)))[1]
    sides = u_side_mm * math.hypot(1 / width_mm, 1 / height_mm) / 2
    return Plane(
        h,
        float(np.sqrt((gap**2).sum(1).mean())),
        float(sizes[0] / sizes[1]),
        u_click_px * float(np.sqrt(sizes[0] * sizes[1])),
        math.hypot(u_click_px * _per_click(corners, wanted), sides),
        len(corners),
    )


def _known_points(width: float, height: float) -> Floats:
    """Corners of a rectangle, then the middles of its sides (8, 2)."""
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    known: Floats = np.r_[corners, (corners + np.roll(corners, -1, 0)) / 2]
    return known


def _need_round(corners: Floats) -> None:
    """Refuse corners that do not go round a rectangle."""
    if len(corners) not in (4, 8):
        raise MeasureError(
            f"expected four corners, or these and the middles of the sides, found {len(corners)} "
            "points. Click four, or eight."
        )
    four = corners[:4]
    sides = np.roll(four, -1, 0) - four
    turns = sides[:, 0] * np.roll(sides[:, 1], -1) - sides[:, 1] * np.roll(sides[:, 0], -1)
    if not ((turns > 0).all() or (turns < 0).all()):
        raise MeasureError(
            "expected four corners in order round the rectangle, found sides that cross, bend "
            "inwards or lie in a line. Click them again, one after the other."
        )


def _per_click(corners: Floats, wanted: Floats, step: float = 0.05) -> float:
    """Relative change of a length at the middle for clicks of 1 px, all in quadrature."""
    middle = corners[:4].mean(0)
    total = 0.0
    for at in np.ndindex(corners.shape):
        ends = []
        for way in (step, -step):
            moved = corners.copy()
            moved[at] += way
            ends.append(
                math.log(abs(np.linalg.det(stretch(fit_homography(moved, wanted), middle))))
            )
        total += ((ends[0] - ends[1]) / (2 * step) / 2) ** 2
    return math.sqrt(total)


def stretch(h: Floats, at: Floats) -> Floats:
    """Derivative of a homography at a point (2, 2): its determinant is what areas grow by."""
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
        f"The colony is {abs(nearer_mm):g} mm {side} than the scale object: uncorrected, "
        f"sizes would come out {100 * abs(off):.0f} % too {way}."
    )


# A height above the ruler is judged, seldom measured: common practice, no source.
_HEIGHT_KNOWN_TO = 0.25


def at_height(scale: Scale, nearer_mm: float, distance_mm: float) -> Scale:
    """Move a scale from its own plane to that of the colony.

    Parameters
    ----------
    scale : Scale
        In the plane of the scale object.
    nearer_mm, distance_mm : float
        As in ``parallax``.

    Returns
    -------
    Scale
        Scale of s (h - dh) / h, with a quarter of the correction kept as its standard uncertainty.
    """
    off, _ = parallax(nearer_mm, distance_mm)
    u_off = _HEIGHT_KNOWN_TO * abs(off)
    return Scale(scale.mm_per_pixel / (1 + off), math.hypot(scale.relative, u_off))
