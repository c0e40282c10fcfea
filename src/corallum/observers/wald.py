"""Wald's sequential test without an end: his formulas, as a start and as a check.

They leave out how far the last answer carries past a bound, so the error rates are
rough and the test may run on for ever. `sequential` makes a plan to be used.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["WaldTest", "wald_test"]


@dataclass(frozen=True, slots=True)
class WaldTest:
    """Wald's test of one rate against another.

    Parameters
    ----------
    hit, miss : float
        What one event, and one non-event, add to the logarithm of the odds for the second
        rate, natural logarithm.
    upper, lower : float
        Bounds on that logarithm: the second rate is taken at the upper, the first at the
        lower.
    slope, accept, reject : float
        The same as lines on the count of events after n: the first rate is taken at or
        below ``-accept + slope * n``, the second at or above ``reject + slope * n``.
    mean_first, mean_second : float
        Expected number of observations at either rate, bounds taken as hit exactly.
    """

    hit: float
    miss: float
    upper: float
    lower: float
    slope: float
    accept: float
    reject: float
    mean_first: float
    mean_second: float


def wald_test(first: float, second: float, alpha: float = 0.05, beta: float = 0.05) -> WaldTest:
    """Return Wald's bounds for telling two rates apart.

    Parameters
    ----------
    first, second : float
        The two rates of the event, between 0 and 1, the second the higher.
    alpha : float
        Chance of taking the second where the first is true.
    beta : float
        Chance of taking the first where the second is true.

    Returns
    -------
    WaldTest
        Bounds, lines and expected numbers.

    References
    ----------
    Wald A. 1947. Sequential Analysis. Wiley, chapters 3 and 5.

    Examples
    --------
    >>> round(wald_test(0.01, 0.10, 0.05, 0.10).slope, 4)
    0.0397
    """
    hit = math.log(second / first)
    miss = math.log((1 - second) / (1 - first))
    upper, lower = math.log((1 - beta) / alpha), math.log(beta / (1 - alpha))
    step = hit - miss
    mean_first = ((1 - alpha) * lower + alpha * upper) / (first * hit + (1 - first) * miss)
    mean_second = (beta * lower + (1 - beta) * upper) / (second * hit + (1 - second) * miss)
    return WaldTest(
        hit, miss, upper, lower, -miss / step, -lower / step, upper / step, mean_first, mean_second
    )
