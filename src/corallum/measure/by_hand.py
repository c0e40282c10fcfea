"""Sizes from points that a person clicked.

The interval is that of the mean of the colony, as far as what was clicked is a fair
sample of it. The part that clicking has in it stands beside, so that a person sees
whether better clicks, or more of them, would help.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri, stdtrit

from corallum.measure.neighbours import Pairs, adjacent_pairs
from corallum.measure.scale import MeasureError, Scale
from corallum.records.colony import SizeReport

__all__ = ["HandSize", "spacing_by_hand", "widths_by_hand"]

Floats = NDArray[np.float64]
_MOST_IN_A_REPORT = 10_000
# Clicks on whole pixels: the variance of a length from rounding both ends (GUM F.2.2.1).
_ROUNDING = 1 / 6
_Z = float(ndtri(0.975))
# Along the rim of a clicked patch, centres with a gap between them share a wall as well.
_LONGEST = 1.65


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
        95 % interval of the mean of the colony, in millimetres.
    u_marking : float
        Standard uncertainty of the mean of these very lengths, from clicks and scale
        alone, in millimetres.
    """

    n: int
    mean: float
    sd: float
    low: float
    high: float
    u_marking: float = 0.0

    @property
    def report(self) -> SizeReport:
        """The size as evidence for the model."""
        return SizeReport(self.mean, min(self.n, _MOST_IN_A_REPORT), "photo")


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
    if not len(pixels) or not (pixels > 0).all():
        raise MeasureError("expected two ends apart for each length. Click them again.")
    n = len(pixels)
    u_click = math.sqrt(2) * u_click_px / math.sqrt(n)
    if n == 1:
        return _summary(pixels, _Z * u_click, u_click, scale)
    half = _half(math.sqrt(pixels.var(ddof=1) / n), n - 1, math.sqrt(_ROUNDING / n))
    return _summary(pixels, half, u_click, scale)


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
    The mean is over all adjacent pairs. A calice that is large is far from all its
    neighbours, so pairs are no independent sample: with a length of a_i + a_j, of
    variance s^2 = 2 var(a), the mean of the pairs of n calices is about twice the mean of
    a, and has the variance 4 var(a) / n = 2 s^2 / n, however many pairs there are. What
    clicks add to s^2 is taken off first. A click moves all pairs of its centre, and what
    it adds to one it mostly takes from the opposite one: its part is found from the
    derivative of the mean to each centre (GUM 5.1.2).
    """
    if len(centres) == 2:
        return widths_by_hand(centres[None], scale, u_click_px=u_click_px)
    pairs = adjacent_pairs(centres, shape)
    if len(pairs.lengths):
        near = pairs.lengths <= _LONGEST * np.median(pairs.lengths)
        pairs = Pairs(pairs.ends[near], pairs.lengths[near])
    if len(pairs.lengths) < 3:
        raise MeasureError(
            "expected a patch of neighbouring centres, found none that are neighbours. Click "
            "seven or more, one in the middle of the others."
        )
    n = len(np.unique(pairs.ends))
    u_click = u_click_px * math.sqrt(_by_clicks(centres, pairs))
    natural = max(float(pairs.lengths.var(ddof=1)) - 2 * u_click_px**2, 0.0)
    u_clicked = max(u_click, math.sqrt(_ROUNDING / len(pairs.lengths)))
    half = math.hypot(float(stdtrit(n - 1, 0.975)) * math.sqrt(2 * natural / n), _Z * u_clicked)
    return _summary(pairs.lengths, half, u_click, scale)


def _by_clicks(centres: Floats, pairs: Pairs) -> float:
    """Variance of the mean of the pairs for clicks of 1 px, by its derivative to each centre."""
    along = (centres[pairs.ends[:, 1]] - centres[pairs.ends[:, 0]]) / pairs.lengths[:, None]
    moved = np.zeros_like(centres)
    np.add.at(moved, pairs.ends[:, 1], along)
    np.add.at(moved, pairs.ends[:, 0], -along)
    return float((moved**2).sum()) / len(pairs.lengths) ** 2


def _half(u_mean: float, freedom: int, least: float) -> float:
    """Half of a 95 % interval of a mean, no less than rounding the clicks allows."""
    return max(float(stdtrit(freedom, 0.975)) * u_mean, _Z * least)


def _summary(pixels: Floats, half: float, u_click: float, scale: Scale) -> HandSize:
    """Mean, spread and interval of lengths, in millimetres; ``half`` is that of the mean.

    Scale and mean each join at their own 95 %: effective degrees of freedom (GUM G.4)
    hold the truth too seldom where the spread rests on two lengths.
    """
    mean, mm = float(pixels.mean()), scale.mm_per_pixel
    sd = float(pixels.std(ddof=1)) if len(pixels) > 1 else math.nan
    u_scale = scale.relative * mean
    half = math.hypot(half, _Z * u_scale)
    low, high = max(mean - half, 0.0) * mm, (mean + half) * mm
    return HandSize(len(pixels), mean * mm, sd * mm, low, high, math.hypot(u_click, u_scale) * mm)
