"""Published forgetting curves: how much is left after some time.

The scheduler uses the power law; simulated learners forget by the other two, so that a
scheduler is never judged by learners made in its own image.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "ebbinghaus_savings",
    "half_life_recall",
    "half_life_wait",
    "power_factor",
    "power_recall",
]

Floats = NDArray[np.float64]

_K, _C = 1.84, 1.25


def ebbinghaus_savings(minutes: ArrayLike) -> Floats:
    """Return the share of the first effort that is saved on learning again.

    Parameters
    ----------
    minutes : array_like
        Time since learning, in minutes; below one minute counts as one.

    Returns
    -------
    ndarray
        Savings, 0 to 1; exactly 1 at one minute.

    Notes
    -----
    b = 100 k / ((log10 t)^c + k), k = 1.84, c = 1.25, in per cent, for one person and
    nonsense syllables.

    References
    ----------
    Ebbinghaus H. 1885. Ueber das Gedaechtnis. Duncker & Humblot, section 29.

    Examples
    --------
    >>> round(float(ebbinghaus_savings(1440.0)), 3)
    0.304
    """
    t = np.maximum(np.asarray(minutes, dtype=float), 1.0)
    savings: Floats = _K / (np.log10(t) ** _C + _K)
    return savings


def half_life_recall(elapsed: ArrayLike, half_life: ArrayLike) -> Floats:
    """Return the chance of recall where it halves with every half-life.

    Parameters
    ----------
    elapsed, half_life : array_like
        In the same unit of time; half-life above 0.

    Returns
    -------
    ndarray
        2^(-elapsed / half_life).

    References
    ----------
    Settles B., Meeder B. 2016. A trainable spaced repetition model for language learning.
    Proceedings of the 54th Annual Meeting of the ACL, 1848-1858, equation 1.
    """
    ratio = np.asarray(elapsed, dtype=float) / np.asarray(half_life, dtype=float)
    recall: Floats = np.exp2(-ratio)
    return recall


def half_life_wait(chance: float, half_life: float) -> float:
    """Return how long until recall has fallen to a chance.

    Parameters
    ----------
    chance : float
        Above 0, at most 1.
    half_life : float
        Any unit of time.

    Returns
    -------
    float
        In the unit of the half-life.
    """
    return -half_life * float(np.log2(chance))


def power_factor(exponent: float) -> float:
    """Return the factor F that makes recall nine tenths after one stability.

    Parameters
    ----------
    exponent : float
        w of the power law, above 0.

    Returns
    -------
    float
        F = .9^(-1/w) - 1.

    Examples
    --------
    >>> round(power_factor(0.5), 6)
    0.234568
    """
    return float(0.9 ** (-1 / exponent)) - 1.0


def power_recall(elapsed: ArrayLike, stability: ArrayLike, exponent: float = 0.5) -> Floats:
    """Return the chance of recall under a power law of forgetting.

    Parameters
    ----------
    elapsed, stability : array_like
        In the same unit of time; stability above 0.
    exponent : float
        w, above 0.

    Returns
    -------
    ndarray
        (1 + F elapsed / stability)^(-w); nine tenths where the two are equal.

    References
    ----------
    The open description of the FSRS scheduler, version 4.5 with w = .5; later versions fit w.
    """
    ratio = np.asarray(elapsed, dtype=float) / np.asarray(stability, dtype=float)
    recall: Floats = (1 + power_factor(exponent) * ratio) ** -exponent
    return recall
