"""Whether centres are closer together along one direction, as in an oblique view."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from corallum.measure.neighbours import adjacent_pairs

__all__ = ["seen_slant", "slant_warning"]

Floats = NDArray[np.float64]
_LEAST_PAIRS = 60
# Rendered colonies from straight above, of six arrangements, kept within this of even.
_LEAST_SLANT, _NOISE = 0.1, 1.3


def seen_slant(centres: Floats, shape: tuple[int, int]) -> float | None:
    """Tell whether centres are closer together along one direction.

    Parameters
    ----------
    centres : ndarray, (n, 2)
        x and y, in pixels.
    shape : tuple of int
        Height and width of the picture, in pixels.

    Returns
    -------
    float or None
        Least over greatest root mean square of the distances of adjacent centres along
        any direction; None where it is too near to 1, or the pairs are too few, to tell.
    """
    pairs = adjacent_pairs(centres, shape)
    n = len(pairs.lengths)
    if n < _LEAST_PAIRS:
        return None
    apart = centres[pairs.ends[:, 1]] - centres[pairs.ends[:, 0]]
    least, greatest = np.linalg.eigvalsh(apart.T @ apart)
    ratio = float(np.sqrt(max(least, 0.0) / greatest))
    return ratio if 1 - ratio > max(_LEAST_SLANT, _NOISE / math.sqrt(n)) else None


def slant_warning(ratio: float | None) -> str | None:
    """Say what a slant does to the sizes, where there is one.

    Parameters
    ----------
    ratio : float or None
        From ``seen_slant``.
    """
    if ratio is None:
        return None
    off, degrees = 1 - ratio, math.degrees(math.acos(ratio))
    return (
        f"Centres are {100 * off:.0f} % closer together along one direction: the view is oblique "
        f"by about {degrees:.0f} degrees, and sizes come out about {50 * off:.0f} % small, or the "
        "calices are drawn out. Take it from straight above, or use a rectangle."
    )
