"""Said and true where the strata are not what was said: sites, depths, or an earlier map.

Records of a stratum were drawn at random for a second reading, whatever was said of them.
Every figure is a ratio of two totals over strata.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.estimate.estimate import Estimate, Floats, t_estimate
from corallum.estimate.refusals import fault, numbers, refuse, strata_of

__all__ = ["SecondReadings", "StrataSaidAndTrue", "estimate_in_strata"]


@dataclass(frozen=True, slots=True, eq=False)
class SecondReadings:
    """Records that were read again, one place each in three columns.

    Parameters
    ----------
    stratum, said, true : ndarray of int, shape (n,)
        Numbers from 0.
    """

    stratum: NDArray[np.int64]
    said: NDArray[np.int64]
    true: NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class StrataSaidAndTrue:
    """Shares and accuracies over strata.

    Parameters
    ----------
    shares : Estimate
        Of true genera, shape (G,).
    cells : Estimate
        Share of each said (rows) and true (columns), shape (G, G).
    users, producers : Estimate
        P(true = said | said) and P(said = true | true), shape (G,).
    overall : Estimate
        Share named right.
    """

    shares: Estimate
    cells: Estimate
    users: Estimate
    producers: Estimate
    overall: Estimate


def estimate_in_strata(
    readings: SecondReadings, sizes: ArrayLike, n_genera: int, level: float = 0.95
) -> StrataSaidAndTrue:
    """Estimate shares and accuracies where strata differ from said genera.

    Parameters
    ----------
    readings : SecondReadings
        Drawn at random within each stratum.
    sizes : array_like, shape (H,)
        Records in each stratum.
    n_genera : int
        Genera, said and true numbered alike.
    level : float
        Coverage of the intervals, 0 to 1.

    Returns
    -------
    StrataSaidAndTrue
        Normal intervals; finite population correction applied.

    Raises
    ------
    InputError
        Naming each stratum with records but fewer than two second readings, unless its one
        record was read; for genera that are not among the numbers.

    Notes
    -----
    R = sum_h N_h y_h / sum_h N_h x_h;
    V = sum_h N_h^2 (1 - n_h / N_h)(s_y^2 + R^2 s_x^2 - 2 R s_xy) / n_h / (sum_h N_h x_h)^2.

    References
    ----------
    Stehman S.V. 2014. International Journal of Remote Sensing 35:4923-4939.
    """
    total = numbers("sizes", sizes)
    n = len(readings.stratum)
    h = strata_of(readings.stratum, n, len(total))
    _check_genera(readings, n_genera)
    _check(h, total)
    genera = np.arange(n_genera)
    said = (readings.said[:, None] == genera).astype(np.float64)
    true = (readings.true[:, None] == genera).astype(np.float64)
    both = said * true
    one = np.ones(n)
    cells = (said[:, :, None] * true[:, None, :]).reshape(n, -1)
    every = np.ones_like(cells)
    found = _ratio(cells, every, h, total, level)
    square = Estimate(
        *(getattr(found, name).reshape(n_genera, n_genera) for name in Estimate.__slots__)
    )
    return StrataSaidAndTrue(
        _ratio(true, np.ones_like(true), h, total, level),
        square,
        _ratio(both, said, h, total, level),
        _ratio(both, true, h, total, level),
        _ratio(both.sum(axis=1), one, h, total, level),
    )


def _ratio(y: Floats, x: Floats, h: NDArray[np.int64], total: Floats, level: float) -> Estimate:
    """Ratio of two totals over strata."""
    n = np.bincount(h, minlength=len(total)).astype(np.float64)
    used = np.flatnonzero(n)
    above = sum(total[i] * y[h == i].mean(axis=0) for i in used)
    below = np.asarray(sum(total[i] * x[h == i].mean(axis=0) for i in used))
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = np.where(below > 0, above / below, np.nan)
        variance = np.zeros_like(ratio)
        for i in used[n[used] > 1]:
            residual = y[h == i] - ratio * x[h == i]
            spread = residual.var(axis=0, ddof=1)
            variance = variance + total[i] ** 2 * (1 - n[i] / total[i]) * spread / n[i]
        se = np.sqrt(variance) / below
    return t_estimate(ratio, np.where(np.isnan(ratio), np.nan, se), np.inf, level)


def _check_genera(readings: SecondReadings, n_genera: int) -> None:
    """Refuse genera that would be counted nowhere."""
    n = len(readings.stratum)
    faults = []
    for name, genera in (("said", readings.said), ("true", readings.true)):
        if genera.shape != (n,):
            faults.append(fault(name, f"one for each of {n}", genera.size, "Give each its own."))
        elif n and (genera.min() < 0 or genera.max() >= n_genera):
            found = f"{genera.min()} to {genera.max()}"
            faults.append(fault(name, f"0 to {n_genera - 1}", found, "Count from 0."))
    refuse(faults)


def _check(h: NDArray[np.int64], total: Floats) -> None:
    """Refuse strata whose spread is unknown."""
    n = np.bincount(h, minlength=len(total))
    needed = np.minimum(total, 2)
    remedy = "Have more of its records read again, or join it to another stratum."
    faults = [
        fault(f"stratum {i}", f"at least {needed[i]:g} second readings", n[i], remedy)
        for i in np.flatnonzero((n < needed) & (total > 0)).tolist()
    ]
    faults += [
        fault(f"stratum {i}", f"at most {total[i]:g} second readings", n[i], "Count again.")
        for i in np.flatnonzero(n > total).tolist()
    ]
    refuse(faults)
