"""Spacing, diameters and valleys of a surface by program, or a refusal with its reason."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from corallum.measure.bands import Bands, flatten_light
from corallum.measure.detect import Found, bands_around, search
from corallum.measure.diameters import calice_diameters
from corallum.measure.neighbours import adjacent_pairs
from corallum.measure.quality import quality
from corallum.measure.rows import Rows, search_rows
from corallum.measure.scale import Scale
from corallum.measure.spectrum import Ring, radial_power, strongest_ring
from corallum.measure.valleys import are_valleys, measure_valleys

__all__ = ["MOST_PIXELS", "Interval", "Measured", "Refused", "measure_surface"]

Floats = NDArray[np.float64]
MOST_PIXELS = 1280
_LEAST_PIXELS = 64
_LEAST_QUALITY = 0.33
_LEAST_RING = 0.3
_COARSE, _LEAST_COARSE = 1 / 3.5, 0.05
_EDGE_NOTE = (
    "the diameter is where the brightness changes most: look whether the circles lie on the "
    "walls, and click across a calice where they do not"
)
_ROW_ERROR = 0.005
_ROW_NOTE = "the units stand in rows: the spacing is along the rows, not across"


@dataclass(frozen=True, slots=True)
class Interval:
    """A size with its 95 % interval, in millimetres.

    Parameters
    ----------
    value, low, high : float
        Estimate and ends of the interval.
    n : int
        Number of calices or pairs it rests on.
    sd : float
        Standard deviation between calices; nan where it is not known.
    """

    value: float
    low: float
    high: float
    n: int
    sd: float = math.nan


@dataclass(frozen=True, slots=True)
class Measured:
    """What a surface measured.

    Parameters
    ----------
    spacing : Interval or None
        Mean distance of adjacent centres; None for valleys.
    calice_diameter : Interval or None
        Mean diameter of calices; None where no edge is seen.
    valley_width : Interval or None
        Mean width of valleys; None for separate calices.
    quality : float
        Probability that these are the units of the surface, 0 to 1.
    centres : ndarray, (n, 2)
        x and y, in pixels of the picture.
    note : str or None
        What to mind about it.
    """

    spacing: Interval | None
    calice_diameter: Interval | None
    valley_width: Interval | None
    quality: float
    centres: Floats
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Refused:
    """Why a surface was not measured.

    Parameters
    ----------
    reason : str
        For a person.
    quality : float
        Quality of the best that was found, 0 to 1.
    """

    reason: str
    quality: float = 0.0


def measure_surface(
    image: NDArray[np.float32], scale: Scale, region: NDArray[np.bool_] | None = None
) -> Measured | Refused:
    """Measure the repeating units of a surface.

    Parameters
    ----------
    image : ndarray, (h, w)
        Grey picture, seen from straight above.
    scale : Scale
        Millimetres to a pixel of this picture.
    region : ndarray of bool, (h, w), or None
        Where to measure; None means everywhere.

    Returns
    -------
    Measured or Refused
        A refusal where the surface has no repeating unit that can be relied on.
    """
    corner = np.zeros(2)
    if region is not None:
        if not region.any():
            return Refused("the region is empty")
        rows, columns = np.flatnonzero(region.any(1)), np.flatnonzero(region.any(0))
        corner = np.array([columns[0], rows[0]], float)
        box = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
        image, region = image[box], region[box]
        region = None if region.all() else region
    factor = -(-max(image.shape) // MOST_PIXELS)
    small, mask = _reduce(image, factor), None
    if min(small.shape) < _LEAST_PIXELS:
        return Refused(f"the picture or region is less than {_LEAST_PIXELS} pixels wide")
    if not np.isfinite(small).all() or float(small.std()) < 1e-4:
        return Refused("the picture is of one even brightness")
    flat = flatten_light(small)
    if region is not None:
        h, w = small.shape
        mask = region[: h * factor : factor, : w * factor : factor]
        flat = np.where(mask, flat, np.float32(0))
    outcome = _measure_flat(Bands(flat), Scale(scale.mm_per_pixel * factor, scale.relative), mask)
    if isinstance(outcome, Refused):
        return outcome
    centres = (outcome.centres + 0.5) * factor - 0.5 + corner
    return replace(outcome, centres=centres)


def _reduce(image: NDArray[np.float32], factor: int) -> NDArray[np.float32]:
    """Average blocks of pixels."""
    if factor == 1:
        return image.astype(np.float32)
    h, w = (n // factor * factor for n in image.shape)
    rows = image[:h:factor, :w].astype(np.float32)
    for k in range(1, factor):
        rows = rows + image[k:h:factor, :w]
    small = rows[:, ::factor].copy()
    for k in range(1, factor):
        small += rows[:, k::factor]
    return small / np.float32(factor * factor)


def _measure_flat(bands: Bands, scale: Scale, mask: NDArray[np.bool_] | None) -> Measured | Refused:
    """Measure a picture of even light."""
    spectrum = radial_power(bands.waves)
    ring = strongest_ring(*spectrum)
    if ring is None or ring.prominence < _LEAST_RING:
        return Refused("no size of unit repeats over the surface")
    scales = bands_around(bands, ring)
    rows = search_rows(scales, bands.shape, mask)
    if rows is not None:
        return _as_rows(rows, scale)
    found = search(scales, ring, bands.shape, mask)
    # Septa are finer than their calices, and often stand out more.
    coarse = strongest_ring(*spectrum, below=ring.frequency * _COARSE)
    if coarse is not None and coarse.prominence > _LEAST_COARSE:
        found += search(bands_around(bands, coarse), coarse, bands.shape, mask)
    scores = [quality(row) for row in found]
    best = int(np.argmax(scores)) if scores else -1
    score = scores[best] if scores else 0.0
    if are_valleys(bands, ring, found, score):
        return _as_valleys(bands, ring, scale)
    if score < _LEAST_QUALITY:
        return Refused("something repeats, but not evenly enough to tell the units", score)
    return _as_calices(bands, found[best], scale, score)


def _as_rows(rows: Rows, scale: Scale) -> Measured:
    """Spacing along rows with its interval."""
    spacing = _interval(rows.lengths, scale, _ROW_ERROR)
    return Measured(spacing, None, None, rows.share, rows.centres, _ROW_NOTE)


def _as_valleys(bands: Bands, ring: Ring, scale: Scale) -> Measured:
    """Width of valleys with its interval."""
    found = measure_valleys(bands, ring)
    mm = found.width * scale.mm_per_pixel
    half = 1.96 * mm * math.hypot(found.relative, scale.relative)
    quality_of_ring = 1 - math.exp(-ring.prominence)
    valley = Interval(mm, mm - half, mm + half, found.n)
    return Measured(None, None, valley, quality_of_ring, np.zeros((0, 2)), found.note)


def _as_calices(bands: Bands, found: Found, scale: Scale, score: float) -> Measured:
    """Spacing and diameters with their intervals."""
    lengths = adjacent_pairs(found.centres, bands.shape).lengths
    spacing = _interval(lengths, scale, 0.006 + 0.07 * (1 - score), effective=1 / 6)
    across = calice_diameters(bands, found)
    diameter = _interval(across.lengths, scale, across.relative) if across else None
    note = _EDGE_NOTE if diameter else None
    return Measured(spacing, diameter, None, score, found.centres, note)


def _interval(lengths: Floats, scale: Scale, method: float, effective: float = 1) -> Interval:
    """Mean and interval: spread of the units, error of the method, error of the scale.

    Each centre has about three pairs to its name, and neighbours are not independent: about
    two centres count as one. ``effective`` says what part of the lengths count.
    """
    mean, sd = float(lengths.mean()), float(lengths.std(ddof=1))
    u_mean = sd / math.sqrt(max(len(lengths) * effective, 1))
    half = 1.96 * math.sqrt(u_mean**2 + (mean * method) ** 2 + (mean * scale.relative) ** 2)
    mm = scale.mm_per_pixel
    return Interval(mean * mm, (mean - half) * mm, (mean + half) * mm, len(lengths), sd * mm)
