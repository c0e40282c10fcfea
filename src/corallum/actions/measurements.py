"""Measure photos, one bad photo never losing the others."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from corallum.errors import Fault, InputError
from corallum.measure.scale import Scale
from corallum.measure.surface import Interval, Measured, Refused, measure_surface
from corallum.store.picture import Photo, photos_in, read_photo, write_overlay

__all__ = ["PhotoMeasurement", "list_photos", "measure_photo", "measurement_object", "parse_region"]

Region = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class PhotoMeasurement:
    """What a photo measured.

    Parameters
    ----------
    path : Path
        The photo.
    photo : Photo
        As it was measured.
    outcome : Measured or Refused
        Sizes in millimetres; centres in pixels of ``photo.image``.
    """

    path: Path
    photo: Photo
    outcome: Measured | Refused


def list_photos(paths: Iterable[Path]) -> list[Path]:
    """List photos; a folder stands for all photos in it.

    Raises
    ------
    InputError
        Where a folder holds none.
    """
    return [photo for path in paths for photo in (photos_in(path) if path.is_dir() else [path])]


def parse_region(text: str) -> Region:
    """Read a region: left, top, right and bottom in pixels of the upright photo.

    Raises
    ------
    InputError
        Where it is not four numbers of a rectangle.
    """
    try:
        numbers = [float(part) for part in text.split(",")]
        x0, y0, x1, y1 = numbers
    except ValueError:
        numbers, x0, y0, x1, y1 = [], 0.0, 0.0, 0.0, 0.0
    if not (numbers and all(map(math.isfinite, numbers)) and 0 <= x0 < x1 and 0 <= y0 < y1):
        remedy = "Write left,top,right,bottom in pixels, such as 100,50,900,700."
        raise InputError([Fault("--region", "", "x0,y0,x1,y1", repr(text), remedy)])
    return x0, y0, x1, y1


def measure_photo(
    path: Path, scale: Scale, region: Region | None = None, overlay: Path | None = None
) -> PhotoMeasurement:
    """Measure one photo by program.

    Parameters
    ----------
    path : Path
        The photo.
    scale : Scale
        Millimetres to a pixel of the upright original.
    region : tuple of float or None
        Left, top, right and bottom in pixels of the upright original; None means all.
    overlay : Path or None
        Where to write a copy with what was found drawn over it.

    Raises
    ------
    InputError
        Where the photo can't be read, the region is outside it, or the overlay would
        write over the photo.
    """
    if overlay is not None and overlay.resolve() == path.resolve():
        fault = Fault(str(overlay), "", "a new file", "the photo itself", "Name another file.")
        raise InputError([fault])
    photo = read_photo(path)
    mask = None if region is None else _mask(path, photo, region)
    here = Scale(scale.mm_per_pixel * photo.reduction, scale.relative)
    outcome = measure_surface(photo.image, here, mask)
    if overlay is not None:
        _draw(photo, outcome, here, overlay)
    return PhotoMeasurement(path, photo, outcome)


def _mask(path: Path, photo: Photo, region: Region) -> NDArray[np.bool_]:
    """Region as a mask of the reduced photo."""
    width, height = photo.size
    x0, y0, x1, y1 = region
    if x1 > width or y1 > height:
        found = f"a region to {x1:g}, {y1:g}"
        raise InputError(
            [Fault(str(path), "", f"a region within {width} x {height}", found, "Mend --region.")]
        )
    mask = np.zeros(photo.image.shape, np.bool_)
    left, top, right, bottom = (round(v / photo.reduction) for v in (x0, y0, x1, y1))
    mask[top : max(bottom, top + 1), left : max(right, left + 1)] = True
    return mask


def _draw(photo: Photo, outcome: Measured | Refused, scale: Scale, out: Path) -> None:
    """Write the overlay."""
    if isinstance(outcome, Refused):
        write_overlay(photo, np.zeros((0, 2)), 0, [f"not measured: {outcome.reason}"], out)
        return
    named = (
        ("spacing", outcome.spacing),
        ("calice", outcome.calice_diameter),
        ("valley", outcome.valley_width),
    )
    lines = [f"{name} {i.value:.2f} mm ({i.low:.2f} to {i.high:.2f})" for name, i in named if i]
    across = outcome.calice_diameter or outcome.spacing
    ticks = (across.value / scale.mm_per_pixel) if across else 0.0
    write_overlay(photo, outcome.centres, ticks, lines, out)


def measurement_object(done: PhotoMeasurement) -> dict[str, Any]:
    """Turn a measurement into the JSON object of the command line."""
    outcome = done.outcome
    if isinstance(outcome, Refused):
        return {
            "photo": str(done.path),
            "status": "refused",
            "reason": outcome.reason,
            "note": None,
            "quality": outcome.quality,
            "spacing_mm": None,
            "calice_diameter_mm": None,
            "valley_width_mm": None,
            "centres": [],
        }
    centres = (outcome.centres + 0.5) * done.photo.reduction - 0.5
    return {
        "photo": str(done.path),
        "status": "measured",
        "reason": None,
        "note": outcome.note,
        "quality": outcome.quality,
        "spacing_mm": _interval(outcome.spacing),
        "calice_diameter_mm": _interval(outcome.calice_diameter),
        "valley_width_mm": _interval(outcome.valley_width),
        "centres": [[round(float(x), 2), round(float(y), 2)] for x, y in centres],
    }


def _interval(size: Interval | None) -> dict[str, Any] | None:
    """Turn an interval into JSON."""
    if size is None:
        return None
    sd = None if math.isnan(size.sd) else size.sd
    return {"value": size.value, "low": size.low, "high": size.high, "n": size.n, "sd": sd}
