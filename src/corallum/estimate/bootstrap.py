"""Resampling of transects within strata, for figures that have no formula.

A statistic takes indices of transects, many samples at once, and returns one value a
sample. Percentile intervals are too short for few transects; bias-corrected and
accelerated ones less so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from corallum.estimate.estimate import Floats
from corallum.estimate.refusals import check_level, fault, refuse

__all__ = [
    "Bootstrap",
    "Jackknife",
    "Statistic",
    "bootstrap",
    "jackknife",
    "resample_transects",
]

Statistic = Callable[[NDArray[np.int64]], Floats]
_AT_ONCE = 500_000


@dataclass(frozen=True, slots=True, eq=False)
class Jackknife:
    """What leaving out each transect in turn says.

    Parameters
    ----------
    values : ndarray, shape (n,) or (n, K)
        The statistic without each transect.
    bias, se, acceleration : ndarray
        No dimension, or (K,).
    """

    values: Floats
    bias: Floats
    se: Floats
    acceleration: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Bootstrap:
    """Resampled values of a statistic.

    Parameters
    ----------
    value : ndarray
        Of the sample itself; no dimension, or (K,).
    draws : ndarray, shape (B,) or (B, K)
        Of the resamples.
    leave_one_out : Jackknife
        Of the same sample.
    """

    value: Floats
    draws: Floats
    leave_one_out: Jackknife

    @property
    def se(self) -> Floats:
        """Standard deviation of the draws."""
        return np.asarray(self.draws.std(axis=0, ddof=1))

    def percentile(self, level: float = 0.95) -> tuple[Floats, Floats]:
        """Return the central range of the draws (Efron and Tibshirani 1993, chapter 13)."""
        check_level(level)
        low, high = np.quantile(self.draws, [(1 - level) / 2, (1 + level) / 2], axis=0)
        return low, high

    def bca(self, level: float = 0.95) -> tuple[Floats, Floats]:
        """Return the bias-corrected and accelerated interval.

        Parameters
        ----------
        level : float
            Coverage, 0 to 1.

        Returns
        -------
        tuple of ndarray
            Low and high ends.

        References
        ----------
        Efron B. 1987. Journal of the American Statistical Association 82:171-185.
        """
        check_level(level)
        below = (self.draws < self.value).mean(axis=0)
        ties = (self.draws == self.value).mean(axis=0)
        least = 0.5 / len(self.draws)
        bias = ndtri(np.clip(below + ties / 2, least, 1 - least))
        a = self.leave_one_out.acceleration
        ends = []
        for tail in ((1 - level) / 2, (1 + level) / 2):
            z = bias + ndtri(tail)
            ends.append(_quantile_each(self.draws, ndtr(bias + z / (1 - a * z))))
        return ends[0], ends[1]


def resample_transects(
    stratum: ArrayLike, draws: int, rng: np.random.Generator, *, fewer: int = 0
) -> NDArray[np.int64]:
    """Draw transects with replacement, each stratum apart.

    Parameters
    ----------
    stratum : array_like, shape (n,)
        Number of each transect's stratum.
    draws : int
        Resamples.
    rng : numpy.random.Generator
        Source of randomness.
    fewer : int
        How many fewer than there are to draw in each stratum. One fewer makes the variance of
        a mean over strata exactly the unbiased one.

    Returns
    -------
    ndarray, shape (draws, m)
        Indices of transects, strata in order.

    References
    ----------
    Rao J.N.K., Wu C.F.J. 1988. Journal of the American Statistical Association 83:231-241.
    """
    h = np.asarray(stratum)
    found = []
    for i in np.unique(h):
        own = np.flatnonzero(h == i)
        m = max(len(own) - fewer, 1)
        found.append(own[rng.integers(0, len(own), (draws, m))])
    return np.concatenate(found, axis=1)


def jackknife(statistic: Statistic, stratum: ArrayLike) -> Jackknife:
    """Leave out each transect in turn.

    Parameters
    ----------
    statistic : callable
        From indices of shape (B, m) to values of shape (B,) or (B, K).
    stratum : array_like, shape (n,)
        Number of each transect's stratum; noughts for none.

    Returns
    -------
    Jackknife
        Strata apart: v = sum_h (n_h - 1) / n_h sum_i (t_hi - mean_h)^2.

    Raises
    ------
    InputError
        For a stratum of one transect.

    References
    ----------
    Efron B., Tibshirani R.J. 1993. An Introduction to the Bootstrap, chapters 11 and 14;
    in strata, Davison A.C., Hinkley D.V. 1997. Bootstrap Methods, section 3.2 (from memory).
    """
    h = np.asarray(stratum)
    _check(h)
    n = len(h)
    every = np.arange(n)
    value = statistic(every[None])[0]
    index = np.array([np.delete(every, i) for i in range(n)])
    values = statistic(index)
    size, pull = np.empty(n), np.empty_like(values)
    bias = np.zeros_like(value)
    for i in np.unique(h):
        own = h == i
        size[own] = own.sum()
        centre = values[own].mean(axis=0)
        pull[own] = (own.sum() - 1) * (centre - values[own])
        bias = bias + (own.sum() - 1) * (centre - value)
    share = (1 / size).reshape(-1, *[1] * (values.ndim - 1))
    # An influence counts for as much as its transect does in its stratum.
    second = ((pull * share) ** 2).sum(axis=0)
    third = ((pull * share) ** 3).sum(axis=0)
    sizes = size.reshape(share.shape)
    variance = (pull**2 / (sizes * (sizes - 1))).sum(axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        acceleration = np.where(second > 0, third / (6 * second**1.5), 0.0)
    return Jackknife(
        values, np.asarray(bias), np.asarray(np.sqrt(variance)), np.asarray(acceleration)
    )


def bootstrap(
    statistic: Statistic,
    stratum: ArrayLike,
    rng: np.random.Generator,
    draws: int = 2000,
    progress: Callable[[float], None] = lambda _: None,
) -> Bootstrap:
    """Resample transects within strata.

    Parameters
    ----------
    statistic : callable
        From indices of shape (B, m) to values of shape (B,) or (B, K).
    stratum : array_like, shape (n,)
        Number of each transect's stratum; noughts for none.
    rng : numpy.random.Generator
        Source of randomness.
    draws : int
        Resamples; 2,000 or more for the ends of an interval.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    Bootstrap
        Draws, and the jackknife.

    Raises
    ------
    InputError
        For a stratum of one transect.
    """
    h = np.asarray(stratum)
    leave_one_out = jackknife(statistic, h)
    value = statistic(np.arange(len(h))[None])[0]
    step = max(_AT_ONCE // len(h), 1)
    parts = []
    for start in range(0, draws, step):
        parts.append(statistic(resample_transects(h, min(step, draws - start), rng)))
        progress(min((start + step) / draws, 1.0))
    return Bootstrap(np.asarray(value), np.concatenate(parts), leave_one_out)


def _quantile_each(draws: Floats, level: Floats) -> Floats:
    """Quantile of each column at a level of its own."""
    if draws.ndim == 1:
        return np.asarray(np.quantile(draws, float(level)))
    pairs = zip(draws.T, level, strict=True)
    return np.array([np.quantile(column, at) for column, at in pairs])


def _check(h: NDArray[np.int64]) -> None:
    """Refuse strata that can't be resampled."""
    names, counts = np.unique(h, return_counts=True)
    remedy = "Lay another, or join the stratum to a neighbour."
    faults = [
        fault(f"stratum {name}", "at least 2 transects", 1, remedy)
        for name in names[counts < 2].tolist()
    ]
    if not len(h):
        faults.append(fault("transects", "at least 2", 0, "Wait for a survey."))
    refuse(faults)
