"""Measure photos, by program or from clicks, one bad photo never losing the others."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from corallum.actions.scales import Canvas, Sight, lay_canvas
from corallum.errors import Fault, InputError
from corallum.measure.by_hand import HandSize, spacing_by_hand, widths_by_hand
from corallum.measure.scale import Scale
from corallum.measure.slant import seen_slant, slant_warning
from corallum.measure.surface import Interval, Measured, Refused, measure_surface
from corallum.store.overlay import is_overlay
from corallum.store.picture import Photo, photos_in, read_photo

__all__ = [
    "Clicks",
    "PhotoMeasurement",
    "Region",
    "evidence_object",
    "list_photos",
    "measure_by_hand",
    "measure_photo",
    "measurement_object",
    "revise_centres",
    "sizes_of",
]

Floats = NDArray[np.float64]
Region = tuple[float, float, float, float]
# Below it the model is told that the reading is unsure.
_SURE = 0.8


@dataclass(frozen=True, slots=True)
class Clicks:
    """What a person clicked; all places in pixels of the upright original.

    Parameters
    ----------
    calices, valleys : ndarray, (n, 2, 2)
        Ends of diameters of calices, and of widths across valleys.
    centres : ndarray, (n, 2)
        All centres of a patch, or two neighbours.
    u_click_px : float
        Standard uncertainty of a click in each direction.
    """

    calices: Floats
    valleys: Floats
    centres: Floats
    u_click_px: float = 2.0


@dataclass(frozen=True, slots=True)
class PhotoMeasurement:
    """What a photo measured.

    Parameters
    ----------
    path : Path
        The photo.
    photo : Photo
        As it was read.
    canvas : Canvas
        As it was measured.
    sight : Sight
        How it sees sizes.
    outcome : Measured or Refused
        Sizes in millimetres; centres in pixels of the upright original.
    method : str
        ``program``, ``hand`` or ``edited``.
    clicked : tuple of ndarray, each (2, 2)
        Ends of lengths measured by hand.
    marking : mapping of str to float
        By size (``spacing``, ``calice_diameter``, ``valley_width``): standard uncertainty
        of the mean from clicks and scale alone, in millimetres; by hand only.
    """

    path: Path
    photo: Photo
    canvas: Canvas
    sight: Sight
    outcome: Measured | Refused
    method: str = "program"
    clicked: tuple[Floats, ...] = ()
    marking: Mapping[str, float] = field(default_factory=dict)

    @property
    def centres(self) -> Floats:
        """Centres in pixels of the upright original, none where it was refused (n, 2)."""
        return np.zeros((0, 2)) if isinstance(self.outcome, Refused) else self.outcome.centres

    @property
    def warnings(self) -> tuple[str, ...]:
        """What to mind about the sizes."""
        if self.method == "hand" or self.sight.plane is not None:
            return self.sight.warnings
        slant = None
        if len(self.centres):
            height, width = self.canvas.image.shape
            slant = seen_slant(self.canvas.own_points(self.centres), (height, width))
        own = (slant_warning(slant), self._scale_object_within())
        return (*self.sight.warnings, *(text for text in own if text))

    def _scale_object_within(self) -> str | None:
        """Say where the scale object lies in what was measured."""
        if self.sight.points is None:
            return None
        there = np.round(self.canvas.own_points(self.sight.points)).astype(int)
        height, width = self.canvas.image.shape
        x, y = np.clip(there.T, 0, [[width - 1], [height - 1]])
        if self.canvas.inside is not None and not self.canvas.inside[y, x].any():
            return None
        return (
            f"The {self.sight.source} lies in what was measured: look whether anything on it was "
            "taken for calices, and leave it out with --region."
        )


def list_photos(paths: Iterable[Path]) -> list[Path]:
    """List photos; a folder stands for all photos in it, copies drawn over left out.

    Raises
    ------
    InputError
        Where a folder holds none.
    """
    found: list[Path] = []
    for path in paths:
        found += [p for p in photos_in(path) if not is_overlay(p)] if path.is_dir() else [path]
    return found


def measure_photo(
    path: Path, scale: Scale | Sight, region: Region | None = None
) -> PhotoMeasurement:
    """Measure one photo by program.

    Parameters
    ----------
    path : Path
        The photo.
    scale : Scale or Sight
        Millimetres to a pixel of the upright original.
    region : tuple of float or None
        Left, top, right and bottom in pixels of the upright original; None means all.

    Raises
    ------
    InputError
        Where the photo can't be read or the region or scale object is outside it.
    """
    sight, photo, canvas = _laid(path, scale, region)
    outcome = measure_surface(canvas.image, canvas.scale, canvas.inside)
    if isinstance(outcome, Measured):
        outcome = replace(outcome, centres=canvas.photo_points(outcome.centres))
    return PhotoMeasurement(path, photo, canvas, sight, outcome)


def _laid(path: Path, scale: Scale | Sight, region: Region | None) -> tuple[Sight, Photo, Canvas]:
    """Read a photo and make the picture that is measured."""
    sight = scale if isinstance(scale, Sight) else Sight(scale)
    photo = read_photo(path)
    if region is not None:
        corners = np.array(region).reshape(2, 2)
        _need_inside(path, photo, corners, "--region", np.array(photo.size))
    if sight.points is not None:
        _need_inside(path, photo, sight.points, f"--{sight.source}", np.array(photo.size) - 1)
    return sight, photo, lay_canvas(photo, sight, region)


def _need_inside(path: Path, photo: Photo, points: Floats, what: str, most: Floats) -> None:
    """Refuse points outside a photo."""
    out = points[((points < 0) | (points > most)).any(1)]
    if len(out):
        expected = f"points within its {photo.size[0]} x {photo.size[1]} pixels"
        found = f"{out[0][0]:g},{out[0][1]:g}"
        raise InputError([Fault(str(path), "", expected, found, f"Mend {what}.")])


def measure_by_hand(path: Path, scale: Scale | Sight, clicks: Clicks) -> PhotoMeasurement:
    """Measure one photo from what a person clicked.

    Parameters
    ----------
    path : Path
        The photo.
    scale : Scale or Sight
        Millimetres to a pixel of the upright original.
    clicks : Clicks
        At least one length, or two centres.

    Raises
    ------
    InputError, MeasureError
        Where the photo can't be read, or the points are outside it or tell no size.
    """
    sight, photo, canvas = _laid(path, scale, None)
    for what in ("calices", "valleys", "centres"):
        points = getattr(clicks, what).reshape(-1, 2)
        _need_inside(path, photo, points, f"--{what}", np.array(photo.size) - 1)
    u = clicks.u_click_px
    found: dict[str, HandSize] = {}
    if len(clicks.centres):
        found["spacing"] = _spacing(canvas, clicks.centres, u)
    for name, ends in (("calice_diameter", clicks.calices), ("valley_width", clicks.valleys)):
        if len(ends):
            found[name] = _clicked_widths(canvas, ends, u)
    sizes = {name: _hand_interval(size) for name, size in found.items()}
    outcome = Measured(
        sizes.get("spacing"), sizes.get("calice_diameter"), sizes.get("valley_width"),
        1.0, clicks.centres,
    )  # fmt: skip
    marking = {name: size.u_marking for name, size in found.items()}
    clicked = (*clicks.calices, *clicks.valleys)
    return PhotoMeasurement(path, photo, canvas, sight, outcome, "hand", clicked, marking)


def _clicked_widths(canvas: Canvas, ends: Floats, u_click_px: float) -> HandSize:
    """Lengths between clicked ends."""
    there = canvas.own_points(ends.reshape(-1, 2)).reshape(-1, 2, 2)
    u = u_click_px * canvas.own_pixels(ends.reshape(-1, 2).mean(0))
    return widths_by_hand(there, canvas.scale, u_click_px=u)


def _spacing(canvas: Canvas, centres: Floats, u_click_px: float) -> HandSize:
    """Spacing of centres in pixels of the upright original."""
    there = canvas.own_points(centres)
    u = u_click_px * canvas.own_pixels(centres.mean(0))
    height, width = canvas.image.shape
    return spacing_by_hand(there, canvas.scale, (height, width), u_click_px=u)


def _hand_interval(size: HandSize) -> Interval:
    """A size by hand as the program's own sizes are."""
    return Interval(size.mean, size.low, size.high, size.n, size.sd)


def revise_centres(done: PhotoMeasurement, add: Floats, remove: Floats) -> PhotoMeasurement:
    """Measure the spacing again after a person added and removed centres.

    Parameters
    ----------
    done : PhotoMeasurement
        As measured, or refused, before.
    add : ndarray, (n, 2)
        x and y of new centres, in pixels of the upright original.
    remove : ndarray, (m, 2)
        Places of centres to be left out: the nearest one, within half a spacing.

    Returns
    -------
    PhotoMeasurement
        The diameter of calices stays as it was, and the note says so.

    Raises
    ------
    InputError
        Where there is no centre to remove, or one already where one is to be added.
    MeasureError
        Where no neighbours are left.
    """
    outcome = done.outcome
    before = done.centres
    _need_inside(done.path, done.photo, add, "--add", np.array(done.photo.size) - 1)
    near = _half_spacing(done)
    kept = np.delete(before, [_nearest(done.path, before, point, near) for point in remove], axis=0)
    for point in add:
        if len(kept) and np.hypot(*(kept - point).T).min() < near / 2:
            at = f"{point[0]:g},{point[1]:g}"
            remedy = "Remove that one first, or leave it."
            raise InputError([Fault("--add", at, "a place without a centre", "one there", remedy)])
        kept = np.r_[kept, point[None]]
    size = _spacing(done.canvas, kept, 2.0)
    spacing = _hand_interval(size)
    note = f"Centres edited by hand: {len(add)} added, {len(remove)} removed."
    if isinstance(outcome, Refused):
        edited = Measured(spacing, None, None, 1.0, kept, note)
    else:
        if outcome.calice_diameter:
            note += " The calice diameter is still that found before."
        edited = replace(outcome, spacing=spacing, centres=kept, note=note)
    marking = {"spacing": size.u_marking}
    return replace(done, outcome=edited, method="edited", marking=marking)


def _half_spacing(done: PhotoMeasurement) -> float:
    """Half a spacing, in pixels of the upright original."""
    outcome = done.outcome
    if isinstance(outcome, Refused) or outcome.spacing is None or not len(outcome.centres):
        return max(done.photo.size) / 200
    one = done.canvas.scale.mm_per_pixel * done.canvas.own_pixels(outcome.centres.mean(0))
    return outcome.spacing.value / one / 2


def _nearest(path: Path, centres: Floats, point: Floats, near: float) -> int:
    """Row of the centre nearest to a place."""
    away = np.hypot(*(centres - point).T) if len(centres) else np.array([math.inf])
    if away.min() > near:
        at = f"{point[0]:g},{point[1]:g}"
        remedy = "Write a place on one, or its number in the overlay."
        raise InputError([Fault(str(path), f"--remove {at}", "a centre there", "none", remedy)])
    return int(away.argmin())


def sizes_of(outcome: Measured) -> list[tuple[str, Interval]]:
    """Sizes that were measured, with their names in plain words."""
    named = (
        ("spacing", outcome.spacing),
        ("calice diameter", outcome.calice_diameter),
        ("valley width", outcome.valley_width),
    )
    return [(name, size) for name, size in named if size]


def measurement_object(done: PhotoMeasurement) -> dict[str, Any]:
    """Turn a measurement into the JSON object of the command line."""
    outcome, sight = done.outcome, done.sight
    is_refused = isinstance(outcome, Refused)
    plane = sight.plane
    found = outcome if isinstance(outcome, Measured) else None
    return {
        "photo": str(done.path),
        "status": "refused" if is_refused else "measured",
        "reason": outcome.reason if isinstance(outcome, Refused) else None,
        "method": done.method,
        "note": found.note if found else None,
        "warnings": list(done.warnings),
        "quality": outcome.quality,
        "scale": {
            "mm_per_pixel": sight.scale.mm_per_pixel,
            "relative_uncertainty": sight.scale.relative,
            "source": sight.source,
            "residual_mm": plane.residual_mm if plane else None,
            "obliqueness": plane.obliqueness if plane else None,
        },
        "size_px": list(done.photo.size),
        **{f"{name}_mm": _interval(done, name) for _, name in _EVIDENCE},
        "centres": _rounded(found.centres) if found else [],
    }


def _rounded(points: Floats) -> list[list[float]]:
    """Places to a hundredth of a pixel."""
    return [[round(float(x), 2), round(float(y), 2)] for x, y in points]


_EVIDENCE: Sequence[tuple[str, str]] = (
    ("corallite_spacing_mm", "spacing"),
    ("calice_diameter_mm", "calice_diameter"),
    ("valley_width_mm", "valley_width"),
)


def _interval(done: PhotoMeasurement, name: str) -> dict[str, Any] | None:
    """Turn one size into JSON."""
    size: Interval | None = getattr(done.outcome, name, None)
    if size is None:
        return None
    sd = None if math.isnan(size.sd) else size.sd
    shown = {"value": size.value, "low": size.low, "high": size.high, "n": size.n, "sd": sd}
    return shown | {"u_marking": done.marking.get(name)}


def evidence_object(done: PhotoMeasurement) -> dict[str, Any]:
    """Turn a measurement into a colony that ``corallum determine`` reads.

    A refusal is a colony of which nothing was measured.
    """
    observations: dict[str, Any] = {}
    outcome = done.outcome
    for character, name in _EVIDENCE:
        size: Interval | None = getattr(outcome, name, None)
        if size is not None:
            observations[character] = {
                "value": size.value,
                "n": min(max(size.n, 1), 10_000),
                "method": "photo",
                "sure": done.method != "program" or outcome.quality >= _SURE,
            }
    return {"id": "".join(c if c.isprintable() else "?" for c in str(done.path)),
            "observations": observations}  # fmt: skip
