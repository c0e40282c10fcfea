"""From what was clicked on a scale object to millimetres, and what to mind about it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from corallum.measure.plane import (
    Plane,
    at_height,
    oblique_warning,
    parallax,
    plane_from_rectangle,
    project,
    stretch,
)
from corallum.measure.scale import (
    MeasureError,
    Scale,
    scale_from_disc,
    scale_from_ruler,
    seen_flattening,
)
from corallum.measure.straighten import straighten
from corallum.store.picture import Photo

__all__ = ["Canvas", "ScaleObject", "Sight", "find_scale", "lay_canvas"]

Floats = NDArray[np.float64]
Box = tuple[float, float, float, float]
Kind = Literal["ruler", "disc", "rectangle"]
_LEAST_SCALE, _MOST_SCALE, _LEAST_KNOWN = 1e-5, 100.0, 0.5
# Standard uncertainty of a length in mm where none is stated: half a division of a ruler of
# millimetres, and less for a coin, which is struck closer (common practice, no source).
_KNOWN_TO = {"ruler": 0.5, "disc": 0.05, "rectangle": 0.5}


@dataclass(frozen=True, slots=True)
class ScaleObject:
    """Something of known size in a photo.

    Parameters
    ----------
    kind : {'ruler', 'disc', 'rectangle'}
        What it is.
    points : ndarray, (n, 2)
        x and y of what was clicked, in pixels of the upright original.
    size_mm : tuple of float
        Length, diameter, or both sides.
    u_size_mm : float or None
        Standard uncertainty of the size; None takes that of the kind.
    u_click_px : float
        Standard uncertainty of a click in each direction.
    """

    kind: Kind
    points: Floats
    size_mm: tuple[float, ...]
    u_size_mm: float | None = None
    u_click_px: float = 2.0


@dataclass(frozen=True, slots=True)
class Sight:
    """How a photo sees sizes.

    Parameters
    ----------
    scale : Scale
        Millimetres to a pixel of the upright original; with a plane, at its rectangle.
    source : str
        ``stated``, ``ruler``, ``disc`` or ``rectangle``.
    plane : Plane or None
        Where the photo is straightened before it is measured.
    points : ndarray, (n, 2)
        What was clicked.
    height : float
        Sizes in the plane of the scale object over those of the colony; 1 in one plane.
    warnings : tuple of str
        What to mind.
    """

    scale: Scale
    source: str = "stated"
    plane: Plane | None = None
    points: Floats | None = None
    height: float = 1.0
    warnings: tuple[str, ...] = ()


def find_scale(
    stated: Scale | ScaleObject, nearer_mm: float = 0.0, distance_mm: float = math.inf
) -> Sight:
    """Find the scale of a photo.

    Parameters
    ----------
    stated : Scale or ScaleObject
        Known beforehand, or clicked.
    nearer_mm : float
        How much nearer to the camera the colony is than the scale object.
    distance_mm : float
        From the camera to the scale object.

    Raises
    ------
    MeasureError
        Where the points do not make the object.
    """
    warnings: list[str | None] = []
    plane = points = None
    if isinstance(stated, Scale):
        scale, source = stated, "stated"
    else:
        source, points = stated.kind, stated.points
        scale, plane, warnings = _from_object(stated)
    _need_plausible(scale)
    height, warning = 1.0, None
    if nearer_mm:
        off, warning = parallax(nearer_mm, distance_mm)
        height = 1 / (1 + off)
        scale = at_height(scale, nearer_mm, distance_mm)
    said = tuple(text for text in (*warnings, _corrected(warning)) if text)
    return Sight(scale, source, plane, points, height, said)


def _need_plausible(scale: Scale) -> None:
    """Refuse a scale that no photo of a colony has, or that is not known at all."""
    if not _LEAST_SCALE <= scale.mm_per_pixel <= _MOST_SCALE:
        raise MeasureError(
            f"expected {_LEAST_SCALE:g} to {_MOST_SCALE:g} mm per pixel, found "
            f"{scale.mm_per_pixel:g}. Check the sizes: they are in mm."
        )
    if not scale.relative <= _LEAST_KNOWN:
        raise MeasureError(
            f"expected a scale known to {100 * _LEAST_KNOWN:g} %, found one known to "
            f"{100 * scale.relative:.3g} %. Click points further apart."
        )


def _corrected(warning: str | None) -> str | None:
    """Say that a warning was acted on."""
    return f"{warning} They are corrected, and the interval is wider for it." if warning else None


def _from_object(clicked: ScaleObject) -> tuple[Scale, Plane | None, list[str | None]]:
    """Scale, plane and warnings of a scale object."""
    u_size = _KNOWN_TO[clicked.kind] if clicked.u_size_mm is None else clicked.u_size_mm
    points, size, u_click = clicked.points, clicked.size_mm, clicked.u_click_px
    if clicked.kind == "rectangle":
        plane = plane_from_rectangle(points, size[0], size[1], u_click_px=u_click, u_side_mm=u_size)
        pixel = math.sqrt(abs(np.linalg.det(stretch(plane.homography, points[:4].mean(0)))))
        return Scale(pixel, plane.relative), plane, [plane.warning, plane.misfit]
    if clicked.kind == "ruler":
        if len(points) != 2:
            raise MeasureError(f"expected two points, found {len(points)}. Click both ends.")
        scale = scale_from_ruler(points, size[0], u_length_mm=u_size, u_click_px=u_click)
        return scale, None, []
    scale = scale_from_disc(points, size[0], u_diameter_mm=u_size, u_click_px=u_click)
    ratio = seen_flattening(points, u_click_px=u_click)
    oblique = None if ratio is None else oblique_warning(ratio, straightened=False)
    return scale, None, [oblique]


@dataclass(frozen=True, slots=True)
class Canvas:
    """The picture that is measured, and how it lies on the photo.

    Parameters
    ----------
    image : ndarray of float32, (h, w)
        Grey, upright, reduced, straightened where there is a plane.
    inside : ndarray of bool, (h, w), or None
        Where to measure; None means everywhere.
    scale : Scale
        Millimetres to a pixel of ``image``.
    to_photo : ndarray, (3, 3)
        Takes x, y of ``image`` to those of the upright original.
    """

    image: NDArray[np.float32]
    inside: NDArray[np.bool_] | None
    scale: Scale
    to_photo: Floats

    def photo_points(self, points: Floats) -> Floats:
        """Places in the upright original."""
        return project(self.to_photo, points) if len(points) else np.zeros((0, 2))

    def own_points(self, points: Floats) -> Floats:
        """Places in ``image``."""
        return project(self._back, points) if len(points) else np.zeros((0, 2))

    def own_pixels(self, at: Floats) -> float:
        """Pixels of ``image`` to one of the upright original, at a place of the latter."""
        return math.sqrt(abs(np.linalg.det(stretch(self._back, at))))

    @property
    def _back(self) -> Floats:
        """From the upright original to ``image`` (3, 3)."""
        return np.linalg.inv(self.to_photo).astype(np.float64)


def lay_canvas(photo: Photo, sight: Sight, region: Box | None) -> Canvas:
    """Make the picture that is measured.

    Parameters
    ----------
    photo : Photo
        As read.
    sight : Sight
        How it sees sizes.
    region : tuple of float or None
        Left, top, right and bottom in pixels of the upright original, within it.

    Raises
    ------
    MeasureError
        Where the region is not in the rectangle's plane.
    """
    r, (height, width) = photo.reduction, photo.image.shape
    to_photo = np.array([[r, 0, (r - 1) / 2], [0, r, (r - 1) / 2], [0, 0, 1]], float)
    if sight.plane is None:
        scale = Scale(sight.scale.mm_per_pixel * r, sight.scale.relative)
        mask = None if region is None else _mask(photo.image.shape, region, r)
        return Canvas(photo.image, mask, scale, to_photo)
    box = (0.0, 0.0, width - 1.0, height - 1.0)
    if region is not None:
        ends = [(v + 0.5) / r - 0.5 for v in region]
        box = (ends[0], ends[1], min(ends[2], box[2]), min(ends[3], box[3]))
    middle = np.zeros(2) if sight.points is None else sight.points[:4].mean(0)
    anchor = (middle + 0.5) / r - 0.5
    straight = straighten(photo.image, sight.plane.homography @ to_photo, box, anchor)
    inside = None if straight.inside.all() else straight.inside
    scale = Scale(straight.mm_per_pixel * sight.height, sight.scale.relative)
    return Canvas(straight.image, inside, scale, to_photo @ straight.to_picture)


def _mask(shape: tuple[int, ...], region: Box, reduction: int) -> NDArray[np.bool_]:
    """Region as a mask of the reduced photo."""
    mask = np.zeros(shape, np.bool_)
    left, top, right, bottom = (round(v / reduction) for v in region)
    mask[top : max(bottom, top + 1), left : max(right, left + 1)] = True
    return mask
