"""Measure a photo from what was marked on it: the scale first, then by hand or by program."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from corallum.errors import Fault, InputError
from corallum.measure.by_hand import HandSize, spacing_by_hand, widths_by_hand
from corallum.measure.plane import Plane, plane_from_rectangle, project
from corallum.measure.scale import Scale, scale_from_disc, scale_from_ruler
from corallum.measure.surface import Interval, Refused, measure_surface
from corallum.store.picture import Photo, read_photo

__all__ = ["MarkedPhoto", "MarkedScale", "PhotoSizes", "Size", "measure_marks"]

Floats = NDArray[np.float64]
_MOST_WARPED = 1600
# How far beyond a rectangle its plane is trusted, in its own widths.
_BEYOND = 2.0


@dataclass(frozen=True, slots=True)
class MarkedScale:
    """How the scale was marked.

    Parameters
    ----------
    kind : str
        ruler (two points), disc (three or more on its edge), rectangle (four corners in
        order) or known (no points).
    points : ndarray, (n, 2)
        x and y, in pixels of the upright original.
    first, second : float
        Length of the ruler, diameter of the disc, width and height of the rectangle, in
        mm; or mm to a pixel where it is known.
    """

    kind: str
    points: Floats
    first: float
    second: float = 0.0


@dataclass(frozen=True, slots=True)
class MarkedPhoto:
    """What was marked to be measured.

    Parameters
    ----------
    task : str
        widths (pairs of ends), centres (neighbouring centres) or program.
    points : ndarray, (n, 2)
        x and y, in pixels of the upright original.
    region : ndarray, (2, 2), or empty
        Two opposite corners within which the program looks.
    """

    task: str
    points: Floats
    region: Floats = field(default_factory=lambda: np.zeros((0, 2)))


@dataclass(frozen=True, slots=True)
class Size:
    """A size in mm with its 95 % interval; ``kind`` is width, spacing, calice or valley."""

    kind: str
    value: float
    low: float
    high: float
    n: int


@dataclass(frozen=True, slots=True)
class PhotoSizes:
    """What a marked photo measured.

    Parameters
    ----------
    sizes : tuple of Size
        Empty where the program refused.
    centres : ndarray, (n, 2)
        What the program found, in pixels of the upright original.
    mm_per_pixel, relative : float
        The scale, and its relative standard uncertainty.
    notes : tuple of str
        What to mind about it.
    refused : str
        Why nothing was measured; empty where something was.
    """

    sizes: tuple[Size, ...]
    centres: Floats
    mm_per_pixel: float
    relative: float
    notes: tuple[str, ...] = ()
    refused: str = ""


def measure_marks(
    path: Path, size: tuple[int, int], scale: MarkedScale, marked: MarkedPhoto
) -> PhotoSizes:
    """Measure what was marked.

    Parameters
    ----------
    path : Path
        The original.
    size : tuple of int
        Width and height of the upright original, in pixels.
    scale : MarkedScale
        Where the scale lies.
    marked : MarkedPhoto
        What to measure.

    Raises
    ------
    InputError
        Where the marks are not what the kind of scale or task needs.
    MeasureError
        Where they fall together, or make no circle or rectangle.
    """
    _check_inside(scale.points, size, "scale")
    _check_inside(marked.points, size, "points")
    _check_inside(marked.region, size, "region")
    if scale.kind == "rectangle":
        return _in_plane(path, size, scale, marked)
    known = _scale_of(scale)
    if marked.task == "program":
        return _by_program(path, known, marked.region)
    return _by_hand(marked.task, marked.points, known, (size[1], size[0]), known)


def _scale_of(scale: MarkedScale) -> Scale:
    """Turn marks into a scale."""
    if scale.kind == "known":
        return Scale(scale.first)
    if scale.kind == "ruler":
        _need(scale.points, 2, "the two ends of the ruler")
        return scale_from_ruler(scale.points, scale.first)
    if scale.kind == "disc":
        return scale_from_disc(scale.points, scale.first)
    expected = "ruler, disc, rectangle or known"
    raise InputError([Fault("scale", "kind", expected, repr(scale.kind[:40]), "Choose one.")])


def _by_hand(
    task: str, points: Floats, scale: Scale, shape: tuple[int, int], shown: Scale,
    u_click: float = 2.0,
) -> PhotoSizes:  # fmt: skip
    """Measure from points that were placed."""
    if task == "widths":
        if len(points) < 2 or len(points) % 2:
            expected = "two ends for each width"
            remedy = "Place both ends."
            raise InputError([Fault("points", "", expected, f"{len(points)} points", remedy)])
        found = widths_by_hand(points.reshape(-1, 2, 2), scale, u_click_px=u_click)
        kind = "width"
    elif task == "centres":
        if len(points) < 2:
            fault = Fault("points", "", "two centres or more", str(len(points)), "Place them.")
            raise InputError([fault])
        found = spacing_by_hand(points, scale, shape, u_click_px=u_click)
        kind = "spacing"
    else:
        expected = "widths, centres or program"
        raise InputError([Fault("task", "", expected, repr(task[:40]), "Choose one.")])
    return PhotoSizes((_size(kind, found),), np.zeros((0, 2)), shown.mm_per_pixel, shown.relative)


def _size(kind: str, found: HandSize | Interval) -> Size:
    """Turn either kind of result into a size."""
    value = found.mean if isinstance(found, HandSize) else found.value
    return Size(kind, float(value), float(found.low), float(found.high), int(found.n))


def _by_program(path: Path, scale: Scale, region: Floats) -> PhotoSizes:
    """Measure by program, seen from straight above."""
    photo = read_photo(path)
    mask = None
    if len(region) == 2:
        mask = np.zeros(photo.image.shape, np.bool_)
        (left, top), (right, bottom) = np.sort(region, axis=0) / photo.reduction
        mask[int(top) : int(bottom) + 1, int(left) : int(right) + 1] = True
    here = Scale(scale.mm_per_pixel * photo.reduction, scale.relative)
    return _outcome(photo.image, here, mask, scale, lambda xy: (xy + 0.5) * photo.reduction - 0.5)


def _outcome(image, here, mask, shown, back) -> PhotoSizes:  # type: ignore[no-untyped-def]  # noqa: ANN001
    """Run the program, and take what it found back to the original."""
    found = measure_surface(image, here, mask)
    scale = (shown.mm_per_pixel, shown.relative)
    if isinstance(found, Refused):
        return PhotoSizes((), np.zeros((0, 2)), *scale, refused=found.reason)
    named = (
        ("spacing", found.spacing),
        ("calice", found.calice_diameter),
        ("valley", found.valley_width),
    )
    sizes = tuple(_size(kind, one) for kind, one in named if one is not None)
    notes = () if found.note is None else (found.note,)
    return PhotoSizes(sizes, back(found.centres), *scale, notes)


def _in_plane(
    path: Path, size: tuple[int, int], scale: MarkedScale, marked: MarkedPhoto
) -> PhotoSizes:
    """Measure in the plane of a rectangle of known size."""
    _need(scale.points, 4, "the four corners, one after the other")
    plane = plane_from_rectangle(scale.points, scale.first, scale.second)
    pixels = float(np.sqrt(_area(scale.points)))
    mm_per_pixel = math.sqrt(scale.first * scale.second) / pixels
    relative = plane.click_mm / math.sqrt(scale.first * scale.second)
    shown = Scale(mm_per_pixel, relative)
    notes = () if plane.warning is None else (plane.warning,)
    if marked.task == "program":
        found = _warped(read_photo(path), size, plane, marked.region, shown)
    else:
        flat = project(plane.homography, marked.points) if len(marked.points) else marked.points
        corner = flat.min(0) if len(flat) else np.zeros(2)
        across = np.ptp(flat, axis=0) if len(flat) else np.ones(2)
        in_mm = Scale(1.0, relative)
        shape = (max(2, math.ceil(across[1])), max(2, math.ceil(across[0])))
        found = _by_hand(marked.task, flat - corner, in_mm, shape, shown, plane.click_mm)
    return PhotoSizes(
        found.sizes, found.centres, shown.mm_per_pixel, shown.relative,
        notes + found.notes, found.refused,
    )  # fmt: skip


def _warped(
    photo: Photo, size: tuple[int, int], plane: Plane, region: Floats, shown: Scale
) -> PhotoSizes:
    """Straighten the part of a photo around the rectangle and measure it there."""
    low, high = _extent(size, plane, region)
    step = max(shown.mm_per_pixel * photo.reduction, float((high - low).max()) / _MOST_WARPED)
    width, height = (max(2, int(n)) for n in (high - low) / step)
    to_mm = np.array([[step, 0, low[0]], [0, step, low[1]], [0, 0, 1]])
    r = photo.reduction
    to_small = np.array([[1 / r, 0, 0.5 / r - 0.5], [0, 1 / r, 0.5 / r - 0.5], [0, 0, 1]])
    back = np.linalg.inv(plane.homography) @ to_mm
    through = to_small @ back
    through = through / through[2, 2]
    grey = Image.fromarray(np.round(photo.image * 255).astype(np.uint8))
    flat = grey.transform(
        (width, height), Image.Transform.PERSPECTIVE, tuple(through.ravel()[:8]),
        Image.Resampling.BILINEAR,
    )  # fmt: skip
    inside = Image.new("L", grey.size, 255).transform(
        (width, height), Image.Transform.PERSPECTIVE, tuple(through.ravel()[:8])
    )
    mask = np.asarray(inside) > 0
    image = np.asarray(flat, dtype=np.float32) / np.float32(255)
    here = Scale(step, shown.relative)
    return _outcome(
        image, here, None if mask.all() else mask, shown,
        lambda xy: project(back, xy) if len(xy) else xy,
    )  # fmt: skip


def _extent(size: tuple[int, int], plane: Plane, region: Floats) -> tuple[Floats, Floats]:
    """Return the least and greatest x and y to straighten, in mm of the plane."""
    width, height = size
    if len(region) == 2:
        (x0, y0), (x1, y1) = np.sort(region, axis=0)
        corners = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
        found = project(plane.homography, corners)
        return found.min(0), found.max(0)
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    found = project(plane.homography, corners)
    centre = project(plane.homography, np.array([[width / 2, height / 2]]))[0]
    reach = _BEYOND * max(1.0, float(np.abs(found - centre).min()))
    return np.maximum(found.min(0), centre - reach), np.minimum(found.max(0), centre + reach)


def _area(corners: Floats) -> float:
    """Area of a polygon, by the shoelace formula."""
    x, y = corners.T
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2) or 1.0


def _need(points: Floats, n: int, what: str) -> None:
    """Refuse another number of points."""
    if len(points) != n:
        found = f"{len(points)} points"
        raise InputError([Fault("scale", "points", what, found, "Place them on the photo.")])


def _check_inside(points: Floats, size: tuple[int, int], what: str) -> None:
    """Refuse points outside the photo."""
    if len(points) and ((points < -1).any() or (points > np.array(size) + 1).any()):
        expected = f"points within {size[0]} x {size[1]} pixels"
        raise InputError([Fault(what, "", expected, "one outside", "Place it again.")])
