"""Sizes from points that a person clicked."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from corallum.measure.neighbours import adjacent_pairs
from corallum.measure.scale import MeasureError, Scale
from corallum.records.colony import SizeReport

__all__ = ["HandSize", "spacing_by_hand", "widths_by_hand"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class HandSize:
    """A size measured by hand.

    Parameters
    ----------
    n : int
        Number of lengths.
    mean, sd : float
        Of the lengths, in millimetres; sd is nan for one length.
    low, high : float
        95 % interval of the mean, in millimetres.
    """

    n: int
    mean: float
    sd: float
    low: float
    high: float

    @property
    def report(self) -> SizeReport:
        """The size as evidence for the model."""
        return SizeReport(self.mean, self.n, "photo")


def widths_by_hand(ends: Floats, scale: Scale, *, u_click_px: float = 2.0) -> HandSize:
    """Measure diameters of calices or widths of valleys.

    Parameters
    ----------
    ends : ndarray, (n, 2, 2)
        x and y of both ends of each length, in pixels.
    scale : Scale
        Millimetres to a pixel, with its uncertainty.
    u_click_px : float
        Standard uncertainty of a click along the length, in pixels.

    Raises
    ------
    MeasureError
        Where there is no length, or its ends fall together.

    Notes
    -----
    The spread of the lengths holds the clicks' own errors already. With one length,
    only these remain, and how calices differ is not covered. The scale's error is
    common to all lengths and is added at the end (GUM 5.1.2).
    """
    pixels = np.hypot(*(ends[:, 1] - ends[:, 0]).T) if len(ends) else np.zeros(0)
    if not len(pixels) or (pixels <= 0).any():
        raise MeasureError("expected two ends apart for each length. Click them again.")
    u_click = math.sqrt(2) * u_click_px / math.sqrt(len(pixels))
    return _summary(pixels, u_click, scale)


def spacing_by_hand(
    centres: Floats, scale: Scale, shape: tuple[int, int], *, u_click_px: float = 2.0
) -> HandSize:
    """Measure the spacing of calices from their centres.

    Parameters
    ----------
    centres : ndarray, (n, 2)
        x and y, in pixels; all centres of a patch, or two neighbours.
    scale : Scale
        Millimetres to a pixel, with its uncertainty.
    shape : tuple of int
        Height and width of the picture, in pixels.
    u_click_px : float
        Standard uncertainty of a click in each direction, in pixels.

    Raises
    ------
    MeasureError
        Where no two centres are adjacent.

    Notes
    -----
    The mean is over all adjacent pairs. Pairs share centres, so the interval counts
    centres, not pairs.
    """
    if len(centres) == 2:
        return widths_by_hand(centres[None], scale, u_click_px=u_click_px)
    pairs = adjacent_pairs(centres, shape)
    if not len(pairs.lengths):
        raise MeasureError(
            "expected a patch of neighbouring centres, found none that are neighbours. Click "
            "seven or more, one in the middle of the others."
        )
    n = len(np.unique(pairs.ends))
    u_click = math.sqrt(2) * u_click_px / math.sqrt(n)
    return _summary(pairs.lengths, u_click, scale, n)


def _summary(pixels: Floats, u_click: float, scale: Scale, n: int | None = None) -> HandSize:
    """Mean, spread and interval of lengths; ``n`` of them count as independent."""
    count = n or len(pixels)
    mean = float(pixels.mean())
    sd = float(pixels.std(ddof=1)) if len(pixels) > 1 else math.nan
    u_mean = max(sd / math.sqrt(count), 0.0) if len(pixels) > 1 else u_click
    wide = float(student.ppf(0.975, count - 1)) if count > 1 else 1.96
    half = math.hypot(wide * u_mean, 1.96 * scale.relative * mean)
    mm = scale.mm_per_pixel
    return HandSize(len(pixels), mean * mm, sd * mm, max(mean - half, 0.0) * mm, (mean + half) * mm)
