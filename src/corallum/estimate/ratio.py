"""The ratio estimator: cover or density from transects of unequal length.

Adds up what was met and what was searched, so that a long transect counts for more.
Refuses fewer than two transects: one tells nothing of the spread between them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from corallum.estimate.estimate import Estimate, Floats, t_estimate
from corallum.estimate.refusals import fault, numbers, refuse

__all__ = ["estimate_ratio", "estimate_total_by_mean", "estimate_total_by_ratio"]


def estimate_ratio(
    met: ArrayLike,
    searched: ArrayLike,
    *,
    population: float = np.inf,
    level: float = 0.95,
) -> Estimate:
    """Estimate what is met per unit searched.

    Parameters
    ----------
    met : array_like, shape (n,) or (n, K)
        Of each transect: intercept, points, colonies; K genera side by side.
    searched : array_like, shape (n,)
        Length, points or area of each transect, above 0, in the unit of the answer.
    population : float
        Transects that could have been laid, where they can be counted; else infinite.
    level : float
        Coverage of the interval, 0 to 1.

    Returns
    -------
    Estimate
        No dimension, or (K,); t with n - 1 degrees of freedom.

    Raises
    ------
    InputError
        For fewer than two transects, a length of 0, or a population below the sample.

    Notes
    -----
    R = sum(y) / sum(x); SE = sqrt((1 - n/N) sum((y - R x)^2) / ((n - 1) n)) / mean(x).
    Biased by the order of 1/n; the interval is doubtful below about ten transects or where
    lengths differ by more than tenfold.

    References
    ----------
    Cochran W.G. 1977. Sampling Techniques, 3rd ed., section 6.3.

    Examples
    --------
    >>> found = estimate_ratio([3, 5, 7, 3], [10, 20, 20, 15])
    >>> round(float(found.value), 5), round(float(found.se), 5)
    (0.27692, 0.03468)
    """
    y, x = _sample(met, searched, population)
    ratio, spread = _ratio(y, x, population)
    return t_estimate(ratio, spread / x.mean(), len(x) - 1, level)


def estimate_total_by_ratio(
    met: ArrayLike,
    searched: ArrayLike,
    total_searched: float,
    population: float,
    level: float = 0.95,
) -> Estimate:
    """Estimate a total from a ratio and the known total of what it is a ratio to.

    Parameters
    ----------
    met : array_like, shape (n,) or (n, K)
        Of each unit of the sample.
    searched : array_like, shape (n,)
        Size of each unit, above 0.
    total_searched : float
        Sizes of all units of the population, added up.
    population : float
        Units in the population.
    level : float
        Coverage of the interval, 0 to 1.

    Returns
    -------
    Estimate
        Total over the population.

    Notes
    -----
    Y = R X; SE = N sqrt((1 - n/N) sum((y - R x)^2) / ((n - 1) n)).

    References
    ----------
    Cochran W.G. 1977. Sampling Techniques, 3rd ed., section 6.3 and table 6.1.
    """
    y, x = _sample(met, searched, population)
    ratio, spread = _ratio(y, x, population)
    return t_estimate(ratio * total_searched, spread * population, len(x) - 1, level)


def estimate_total_by_mean(met: ArrayLike, population: float, level: float = 0.95) -> Estimate:
    """Estimate a total from the mean alone, which sizes that differ make worse.

    Parameters
    ----------
    met : array_like, shape (n,) or (n, K)
        Of each unit of the sample.
    population : float
        Units in the population.
    level : float
        Coverage of the interval, 0 to 1.

    Returns
    -------
    Estimate
        Total over the population.

    References
    ----------
    Cochran W.G. 1977. Sampling Techniques, 3rd ed., section 2.5.
    """
    y = numbers("met", met)
    ones = np.ones(len(y))
    y, ones = _sample(y, ones, population)
    mean, spread = _ratio(y, ones, population)
    return t_estimate(mean * population, spread * population, len(y) - 1, level)


def _ratio(y: Floats, x: Floats, population: float) -> tuple[Floats, Floats]:
    """Ratio, and standard error of the mean residual."""
    n = len(x)
    ratio = np.asarray(y.sum(axis=0) / x.sum())
    residual = y - np.multiply.outer(x, ratio)
    variance = (1 - n / population) * (residual**2).sum(axis=0) / ((n - 1) * n)
    return ratio, np.asarray(np.sqrt(variance))


def _sample(met: ArrayLike, searched: ArrayLike, population: float) -> tuple[Floats, Floats]:
    """Check a sample."""
    y, x = numbers("met", met), numbers("searched", searched)
    n = x.size
    faults = []
    if x.ndim != 1 or len(y) != n:
        faults.append(
            fault("searched", f"one for each of {len(y)} transects", n, "Give each its length.")
        )
    if n < 2:
        faults.append(fault("transects", "at least 2", n, "One tells nothing of the spread."))
    if x.min() <= 0:
        faults.append(fault("searched", "above 0", x.min(), "Leave such a transect out."))
    if population < n:
        faults.append(fault("population", f"at least {n}", population, "Count all units."))
    refuse(faults)
    return y, x
