"""Intervals of a share of right answers, from counts.

Wald's interval is here only to show that it misses: Wilson's is the one to report,
Clopper and Pearson's the one to qualify by, for it never covers less than it says.
Answers are taken as independent.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv
from scipy.stats import binom, norm

from corallum.errors import Fault, InputError

__all__ = [
    "Interval",
    "clopper_pearson_interval",
    "coverage",
    "jeffreys_interval",
    "lower_bound",
    "wald_interval",
    "wilson_interval",
]


@dataclass(frozen=True, slots=True)
class Interval:
    """A range of shares, 0 to 1.

    Parameters
    ----------
    low, high : float
        Ends, both within the range; Wald's may lie outside 0 to 1.
    """

    low: float
    high: float


def wald_interval(right: int, n: int, level: float = 0.95) -> Interval:
    """Return the interval of the textbooks, share plus or minus z standard errors.

    Never report it: at many pairs of n and share it covers far less than it says.

    Parameters
    ----------
    right, n : int
        Right answers, and answers; at least one answer.
    level : float
        Nominal coverage, 0 to 1.

    Returns
    -------
    Interval
        Not clipped to 0 to 1.

    References
    ----------
    Brown L.D., Cai T.T., DasGupta A. 2001. Interval estimation for a binomial proportion.
    Statistical Science 16:101-133, section 2.
    """
    _check(right, n, level)
    share = right / n
    half = _z(level) * math.sqrt(share * (1 - share) / n)
    return Interval(share - half, share + half)


def wilson_interval(right: int, n: int, level: float = 0.95) -> Interval:
    """Return the shares that a score test would not reject (Wilson 1927).

    Parameters
    ----------
    right, n : int
        Right answers, and answers; at least one answer.
    level : float
        Nominal coverage, 0 to 1; the true one is near it on average over shares.

    Returns
    -------
    Interval
        Within 0 to 1.

    References
    ----------
    Newcombe R.G. 1998. Two-sided confidence intervals for the single proportion.
    Statistics in Medicine 17:857-872, method 3.
    """
    _check(right, n, level)
    z = _z(level)
    centre = right + z * z / 2
    half = z * math.sqrt(right * (n - right) / n + z * z / 4)
    low = 0.0 if right == 0 else (centre - half) / (n + z * z)
    high = 1.0 if right == n else (centre + half) / (n + z * z)
    return Interval(low, high)


def clopper_pearson_interval(right: int, n: int, level: float = 0.95) -> Interval:
    """Return the exact interval, which covers at least as often as it says.

    Parameters
    ----------
    right, n : int
        Right answers, and answers; at least one answer.
    level : float
        Coverage kept at every share, 0 to 1.

    Returns
    -------
    Interval
        Within 0 to 1; wider than needed at most shares.

    References
    ----------
    Clopper C.J., Pearson E.S. 1934. Biometrika 26:404-413.
    """
    _check(right, n, level)
    tail = (1 - level) / 2
    return Interval(_exact_low(right, n, tail), 1 - _exact_low(n - right, n, tail))


def jeffreys_interval(
    right: int, n: int, level: float = 0.95, *, modified: bool = True
) -> Interval:
    """Return the central range of the posterior under Jeffreys' prior, ends mended.

    Parameters
    ----------
    right, n : int
        Right answers, and answers; at least one answer.
    level : float
        Probability within, 0 to 1.
    modified : bool
        Apply the end modifications of Brown and others: with none right or all right, the
        exact end; with one right or one wrong, the range is drawn out to 0 or 1.

    Returns
    -------
    Interval
        Within 0 to 1.

    References
    ----------
    Brown L.D., Cai T.T., DasGupta A. 2001. Statistical Science 16:101-133, sections 3.1.3
    and 4.1.2, table 5.
    """
    _check(right, n, level)
    tail = (1 - level) / 2
    low = _jeffreys_low(right, n, tail, modified=modified)
    return Interval(low, 1 - _jeffreys_low(n - right, n, tail, modified=modified))


def lower_bound(right: int, n: int, level: float = 0.95) -> float:
    """Return the share that an observer reaches with confidence, one-sided and exact.

    Parameters
    ----------
    right, n : int
        Right answers, and answers; at least one answer.
    level : float
        Confidence, 0 to 1.

    Returns
    -------
    float
        Lower Clopper-Pearson bound with the whole error below it.

    Examples
    --------
    >>> round(lower_bound(59, 59), 3)
    0.95
    """
    _check(right, n, level)
    return _exact_low(right, n, 1 - level)


def coverage(
    method: Callable[[int, int, float], Interval], n: int, share: float, level: float = 0.95
) -> float:
    """Return how often an interval holds the true share, summed over every outcome.

    Parameters
    ----------
    method : callable
        One of the intervals of this module: (right, n, level) to an interval.
    n : int
        Answers.
    share : float
        True share, 0 to 1.
    level : float
        Nominal coverage handed to the method.

    Returns
    -------
    float
        Exact coverage, 0 to 1.
    """
    chance = binom.pmf(np.arange(n + 1), n, share)
    ranges = [method(right, n, level) for right in range(n + 1)]
    held = np.array([r.low <= share <= r.high for r in ranges])
    return float(chance[held].sum())


def _z(level: float) -> float:
    """Upper quantile of the normal distribution."""
    return float(norm.ppf((1 + level) / 2))


def _exact_low(right: int, n: int, tail: float) -> float:
    """Share at which this many right or more has the tail's chance."""
    return 0.0 if right == 0 else float(betaincinv(right, n - right + 1, tail))


def _jeffreys_low(right: int, n: int, tail: float, *, modified: bool) -> float:
    """Lower end under Jeffreys' prior."""
    if right == 0 or (modified and right == 1 and n > 1):
        return 0.0
    if modified and right == n:
        return float(tail ** (1 / n))
    return float(betaincinv(right + 0.5, n - right + 0.5, tail))


def _check(right: int, n: int, level: float) -> None:
    """Refuse counts and levels that mean nothing."""
    faults = []
    if n < 1:
        faults.append(_fault("answers", "at least 1", str(n), "Wait for an answer."))
    elif not 0 <= right <= n:
        faults.append(_fault("right answers", f"0 to {n}", str(right), "Check the counts."))
    if not 0 < level < 1:
        faults.append(_fault("level", "between 0 and 1", str(level), "Give .95 for 95 %."))
    if faults:
        raise InputError(faults)


def _fault(place: str, expected: str, found: str, remedy: str) -> Fault:
    """Name one fault of the input."""
    return Fault("interval", place, expected, found, remedy)
