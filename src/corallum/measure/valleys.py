"""Width of valleys on surfaces where calices run together between winding walls.

It is read as the distance from valley to valley, which is their width where neighbours
share a wall. Brightness alone does not tell a gap between two walls from a broad wall,
so where each valley has walls of its own the gap is counted in: the note says so.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from corallum.measure.bands import Bands
from corallum.measure.detect import FEATURES, Found, detect
from corallum.measure.spectrum import Ring

__all__ = ["VALLEY_NOTE", "are_valleys", "valley_width"]

VALLEY_NOTE = (
    "measured from valley to valley: where each valley has walls of its own, the gap between "
    "them is counted in; click across a valley instead"
)

_LEAST_RING = 1.8
# Below this, what looks like a centre at the scale of the ring is part of a ridge.
_MOST_ROUND = 0.46
_CLEAR_QUALITY = 0.6


def are_valleys(bands: Bands, ring: Ring, found: Sequence[Found], quality: float) -> bool:
    """Tell valleys from calices: one clear wave length, of ridges and not of round spots.

    Parameters
    ----------
    bands : Bands
        The picture.
    ring : Ring
        Strongest ring of its spectrum.
    found : sequence of Found
        Centres found; where there are none, nothing is round.
    quality : float
        Quality of the best of them.
    """
    if ring.prominence < _LEAST_RING or quality > _CLEAR_QUALITY or not found:
        return False
    band = bands.band(max(1.2, 0.22 / ring.frequency))
    rows = [detect(band, bands.shape, bright=bright) for bright in (True, False)]
    round_ = float(np.mean([row.features[FEATURES.index("roundness")] for row in rows]))
    return round_ < _MOST_ROUND


def valley_width(ring: Ring, shape: tuple[int, int]) -> tuple[float, float, int]:
    """Mean width of valleys, from crest to crest.

    Parameters
    ----------
    ring : Ring
        Ring of the spectrum. Ridges side by side are 1 / f apart: no factor here.
    shape : tuple of int
        Height and width of the picture, in pixels.

    Returns
    -------
    tuple of float, float and int
        Width in pixels, its relative standard uncertainty, and the number of valleys
        that a straight line across the picture and one down would cross.
    """
    width = 1 / ring.frequency
    patches = max(shape[0] * shape[1] / width**2, 1.0)
    relative = math.hypot(0.01, ring.spread / math.sqrt(patches))
    return width, relative, max(round((shape[0] + shape[1]) / width), 1)
