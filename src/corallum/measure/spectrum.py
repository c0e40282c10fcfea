"""The ring that a repeating texture leaves in a picture's spectrum.

Mind the factor: in a hexagonal texture of spacing d the first ring of the
autocorrelation lies at d, but that of the power spectrum at 2 / (root 3 * d).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Ring", "hexagonal_spacing", "radial_power", "strongest_ring"]

Floats = NDArray[np.float64]
_STEPS_AN_OCTAVE = 10


@dataclass(frozen=True, slots=True)
class Ring:
    """A ring in the spectrum.

    Parameters
    ----------
    frequency : float
        Middle of the ring, in cycles per pixel.
    spread : float
        Half its width at half power, as a part of the frequency.
    prominence : float
        Natural logarithm of its power over the stronger of the powers two thirds of
        an octave below and above; at most 0 where the spectrum only falls.
    """

    frequency: float
    spread: float
    prominence: float


def hexagonal_spacing(frequency: float) -> float:
    """Return the centre spacing of a hexagonal texture from its first ring.

    Parameters
    ----------
    frequency : float
        Frequency of the first ring of the power spectrum, in cycles per pixel.

    Notes
    -----
    The rows of a hexagonal lattice are d * root(3) / 2 apart, so d is 1.1547 / f. Of
    ridges side by side, and of squares, it is 1 / f.
    """
    return 2 / (math.sqrt(3) * frequency)


def radial_power(waves: NDArray[np.float32]) -> tuple[Floats, Floats]:
    """Mean power on rings of frequency.

    Parameters
    ----------
    waves : ndarray, (h, w)
        Coefficients of the cosine transform of a picture.

    Returns
    -------
    tuple of ndarray
        Frequencies in cycles per pixel, ten to an octave, and mean power there.
    """
    h, w = waves.shape
    least = 3 / min(h, w)
    count = int(_STEPS_AN_OCTAVE * np.log2(0.5 / least))
    # Coarse rings need few coefficients; only a fine one reads the whole transform.
    frequency, power = [], []
    for octave in range(0, count, _STEPS_AN_OCTAVE):
        low = least * 2 ** (octave / _STEPS_AN_OCTAVE)
        rows, columns = (min(n, int(4 * n * low) + 4) for n in (h, w))
        fy = np.arange(rows, dtype=np.float32)[:, None] / (2 * h)
        fx = np.arange(columns, dtype=np.float32)[None] / (2 * w)
        f = np.sqrt(fy**2 + fx**2)
        at = np.floor(_STEPS_AN_OCTAVE * np.log2(np.maximum(f, 1e-9) / low)).astype(np.int64)
        inside = (at >= 0) & (at < _STEPS_AN_OCTAVE)
        square = waves[:rows, :columns][inside].astype(np.float64) ** 2
        total = np.bincount(at[inside], square, _STEPS_AN_OCTAVE)
        number = np.bincount(at[inside], minlength=_STEPS_AN_OCTAVE)
        frequency.append(low * 2 ** ((np.arange(_STEPS_AN_OCTAVE) + 0.5) / _STEPS_AN_OCTAVE))
        power.append(total / np.maximum(number, 1))
    return np.concatenate(frequency)[:count], np.concatenate(power)[:count]


def strongest_ring(frequency: Floats, power: Floats, *, below: float = np.inf) -> Ring | None:
    """Find the ring that stands out most.

    Parameters
    ----------
    frequency, power : ndarray, (k,)
        As from ``radial_power``.
    below : float
        Only rings of a lower frequency count.

    Returns
    -------
    Ring or None
        None where no frequency is low enough.
    """
    log = np.log(power + 1e-12)
    log = np.convolve(np.pad(log, 1, mode="edge"), [0.25, 0.5, 0.25], mode="valid")
    away = 2 * _STEPS_AN_OCTAVE // 3
    inner = log[away:-away]
    prominence = inner - np.maximum(log[: -2 * away], log[2 * away :])
    prominence = prominence[frequency[away:-away] < below]
    if not len(prominence):
        return None
    best = int(prominence.argmax()) + away
    top = log[best]
    near = slice(max(best - away, 0), best + away + 1)
    weight = np.where(log[near] > top - np.log(2) * 1.5, power[near], 0)
    middle = float(np.exp((weight * np.log(frequency[near])).sum() / weight.sum()))
    half = np.count_nonzero(log[near] > top - np.log(2)) / 2
    spread = float(2 ** (half / _STEPS_AN_OCTAVE) - 1)
    return Ring(middle, spread, float(prominence[best - away]))
