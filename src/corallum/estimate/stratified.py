"""The mean over strata: each stratum weighs by its share of the reef, not by its transects.

Refuses a stratum with weight but fewer than two transects: its spread is unknown, and
leaving it out would say that the reef is only what was visited.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.errors import Fault
from corallum.estimate.estimate import Estimate, Floats, t_estimate
from corallum.estimate.refusals import fault, numbers, refuse, strata_of

__all__ = ["StratifiedMean", "estimate_stratified"]


@dataclass(frozen=True, slots=True, eq=False)
class StratifiedMean:
    """Mean of a survey and of its strata.

    Parameters
    ----------
    survey : Estimate
        Over all strata; no dimension, or (K,).
    strata : Estimate
        Of each stratum, shape (H,) or (H, K).
    weight : ndarray, shape (H,)
        Shares of the strata, adding up to 1.
    """

    survey: Estimate
    strata: Estimate
    weight: Floats


def estimate_stratified(
    met: ArrayLike,
    stratum: ArrayLike,
    weight: ArrayLike,
    *,
    searched: ArrayLike | None = None,
    population: ArrayLike | None = None,
    level: float = 0.95,
) -> StratifiedMean:
    """Estimate a mean over strata that were sampled apart.

    Parameters
    ----------
    met : array_like, shape (n,) or (n, K)
        Of each transect; K genera side by side.
    stratum : array_like, shape (n,)
        Number of the transect's stratum, 0 to H - 1.
    weight : array_like, shape (H,)
        Area, or share, of each stratum; divided by their sum.
    searched : array_like, shape (n,), optional
        Length, points or area of each transect; then a ratio within each stratum.
    population : array_like, shape (H,), optional
        Transects that could be laid in each stratum, where they can be counted.
    level : float
        Coverage of the intervals, 0 to 1.

    Returns
    -------
    StratifiedMean
        The survey's degrees of freedom by Satterthwaite; a stratum's are one less than its
        transects. Where no transect differs from another, those of all strata together.

    Raises
    ------
    InputError
        Naming each stratum with weight and fewer than two transects.

    Notes
    -----
    mean = sum_h W_h m_h; variance v = sum_h W_h^2 (1 - f_h) s_h^2 / n_h;
    df = v^2 / sum_h [W_h^2 (1 - f_h) s_h^2 / n_h]^2 / (n_h - 1). With lengths, m_h is the
    ratio of the stratum and s_h^2 / n_h the variance of that ratio (separate ratio estimator).

    References
    ----------
    Cochran W.G. 1977. Sampling Techniques, 3rd ed., sections 5.3, 5.4 (equation 5.16) and 6.10.
    """
    y = numbers("met", met)
    share = _shares(weight)
    h = strata_of(stratum, len(y), len(share))
    x = np.ones(len(y)) if searched is None else numbers("searched", searched)
    sizes = _sizes(population, len(share))
    _check(h, share, x, sizes, len(y))
    mean, variance = _by_stratum(y, x, h, sizes)
    used = np.bincount(h, minlength=len(share))
    parts = (variance.T * share**2).T
    total = parts.sum(axis=0)
    df = _satterthwaite(parts, used)
    survey = t_estimate(np.tensordot(share, mean, 1), np.sqrt(total), df, level)
    each = np.maximum(used - 1, 1).reshape(-1, *[1] * (y.ndim - 1))
    return StratifiedMean(survey, t_estimate(mean, np.sqrt(variance), each, level), share)


def _by_stratum(y: Floats, x: Floats, h: ArrayLike, sizes: Floats) -> tuple[Floats, Floats]:
    """Mean or ratio of each stratum, and its variance; 0 where nothing was laid."""
    mean = np.zeros((len(sizes), *y.shape[1:]))
    variance = np.zeros_like(mean)
    for i in np.unique(h).tolist():
        of, size = y[h == i], x[h == i]
        n = len(of)
        mean[i] = of.sum(axis=0) / size.sum()
        residual = of - np.multiply.outer(size, mean[i])
        spread = (residual**2).sum(axis=0) / max(n - 1, 1) / n
        variance[i] = (1 - n / sizes[i]) * spread / size.mean() ** 2
    return mean, variance


def _satterthwaite(parts: Floats, used: NDArray[np.integer[Any]]) -> Floats:
    """Degrees of freedom of a sum of variances, shape of one of them."""
    own = np.maximum(used - 1, 1).reshape(-1, *[1] * (parts.ndim - 1))
    below = (parts**2 / own).sum(axis=0)
    plain = float(np.maximum(used - 1, 0).sum())
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(np.where(below > 0, parts.sum(axis=0) ** 2 / below, plain))


def _shares(weight: ArrayLike) -> Floats:
    """Weights, adding up to 1."""
    found = numbers("weight", weight)
    if found.ndim != 1 or found.sum() <= 0:
        refuse([fault("weight", "one a stratum, some above 0", found, "Give areas.")])
    return np.asarray(found / found.sum())


def _sizes(population: ArrayLike | None, n_strata: int) -> Floats:
    """Transects that could be laid in each stratum."""
    if population is None:
        return np.full(n_strata, np.inf)
    found = np.asarray(population, np.float64)
    if found.shape != (n_strata,):
        refuse([fault("population", f"{n_strata} numbers", found.size, "Give each its own.")])
    return found


def _check(h: NDArray[np.int64], share: Floats, x: Floats, sizes: Floats, n: int) -> None:
    """Refuse strata that can't be estimated, all at once."""
    faults: list[Fault] = []
    if x.shape != (n,) or x.min() <= 0:
        faults.append(fault("searched", f"{n} numbers above 0", x.size, "Leave others out."))
    used = np.bincount(h, minlength=len(share))
    remedy = "Lay another transect there, or join it to a neighbouring stratum."
    faults += [
        fault(f"stratum {i}", "at least 2 transects", used[i], remedy)
        for i in np.flatnonzero((used < 2) & (share > 0)).tolist()
    ]
    faults += [
        fault(f"stratum {i}", f"at most {sizes[i]:g}", used[i], "Count again.")
        for i in np.flatnonzero(used > sizes).tolist()
    ]
    refuse(faults)
