"""How large a survey must be to see a change, and what change a survey can see."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from scipy.optimize import brentq
from scipy.special import gammainc, gammainccinv, gammaincinv, gammaln, ndtr, ndtri, stdtrit
from scipy.stats import norm

from corallum.estimate.refusals import check_share, fault, refuse

__all__ = [
    "detectable_difference",
    "effect_of_shares",
    "pairs_for",
    "power_of_pairs",
    "power_of_two",
    "size_of_two",
    "trend_is_seen",
    "years_for_trend",
]

_FEWEST, _MOST = 2.0, 1e7
# Beyond, Student's t is the normal distribution to seven decimals.
_NORMAL_FROM = 1e7
# Nodes and weights on -1 to 1; tails of less than a normal distribution's at 9 are left out.
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(120)
_FAR = 9.0
_TAIL = 1e-16


def power_of_two(effect: float, n: float, alpha: float = 0.05) -> float:
    """Return how often two groups of n transects show a difference, two-sided t test.

    Parameters
    ----------
    effect : float
        Difference of the means in standard deviations between transects (Cohen's d).
    n : float
        Transects in each group, 2 or more.
    alpha : float
        Chance of a false alarm.

    Returns
    -------
    float
        Chance, 0 to 1, by the noncentral t distribution.

    Raises
    ------
    InputError
        For an effect that is no number, fewer than 2, or a chance outside 0 to 1.

    References
    ----------
    Cohen J. 1988. Statistical Power Analysis for the Behavioral Sciences, 2nd ed., chapter 2.
    """
    _check_power(effect, n, alpha)
    return _power(abs(effect) * math.sqrt(n / 2), 2 * n - 2, alpha)


def power_of_pairs(effect: float, n: float, alpha: float = 0.05) -> float:
    """Return how often n transects laid twice show a difference, two-sided t test.

    Parameters
    ----------
    effect : float
        Mean difference in standard deviations of the differences.
    n : float
        Pairs, 2 or more.
    alpha : float
        Chance of a false alarm.

    Returns
    -------
    float
        Chance, 0 to 1, by the noncentral t distribution.

    Raises
    ------
    InputError
        For an effect that is no number, fewer than 2, or a chance outside 0 to 1.

    References
    ----------
    Cohen J. 1988. Statistical Power Analysis for the Behavioral Sciences, 2nd ed., chapter 2.
    """
    _check_power(effect, n, alpha)
    return _power(abs(effect) * math.sqrt(n), n - 1, alpha)


def size_of_two(effect: float, power: float = 0.8, alpha: float = 0.05) -> float:
    """Return how many transects each of two groups needs.

    Parameters
    ----------
    effect : float
        Difference in standard deviations; not 0.
    power, alpha : float
        Chance of seeing it, and of a false alarm.

    Returns
    -------
    float
        Not rounded.

    Raises
    ------
    InputError
        For an effect of 0, or one so small that ten million would not show it; for chances
        outside 0 to 1.

    Examples
    --------
    >>> round(size_of_two(0.5), 2)
    63.77
    """
    return _size(lambda n: power_of_two(effect, n, alpha), effect, power)


def pairs_for(effect: float, power: float = 0.8, alpha: float = 0.05) -> float:
    """Return how many transects must be laid twice.

    Parameters
    ----------
    effect : float
        Mean difference in standard deviations of the differences; not 0.
    power, alpha : float
        Chance of seeing it, and of a false alarm.

    Returns
    -------
    float
        Not rounded.

    Raises
    ------
    InputError
        For an effect of 0, or one so small that ten million would not show it; for chances
        outside 0 to 1.
    """
    return _size(lambda n: power_of_pairs(effect, n, alpha), effect, power)


def detectable_difference(
    se_before: float, se_after: float, df: float = math.inf, power: float = 0.8, alpha: float = 0.05
) -> float:
    """Return the smallest difference that two surveys show with a wanted chance.

    Parameters
    ----------
    se_before, se_after : float
        Standard errors of both figures, every part of the variance included.
    df : float
        Degrees of freedom of the difference.
    power, alpha : float
        Chance of seeing it, and of a false alarm.

    Returns
    -------
    float
        In the unit of the figures, by the noncentral t distribution.

    Raises
    ------
    InputError
        For standard errors below 0, degrees of freedom below 1, chances outside 0 to 1, or a
        power no larger than alpha, which a difference of nothing has.

    Examples
    --------
    >>> round(detectable_difference(3.0, 4.0), 1)
    14.0
    """
    check_share("alpha", alpha)
    check_share("power", power)
    faults = [
        fault(f"standard error {name}", "0 or more", se, "Take it from a survey.")
        for name, se in (("before", se_before), ("after", se_after))
        if not 0 <= se < math.inf
    ]
    if not df >= 1:
        faults.append(fault("degrees of freedom", "1 or more", df, "Lay more transects."))
    if power <= alpha:
        faults.append(fault("power", f"above alpha, {alpha:g}", power, "Give .8 for 80 %."))
    refuse(faults)
    high = 1.0
    while _power(high, df, alpha) < power:
        high *= 2
    shift = brentq(lambda x: _power(x, df, alpha) - power, 0.0, high, xtol=1e-10)
    return float(shift) * math.hypot(se_before, se_after)


def effect_of_shares(one: float, other: float) -> float:
    """Return Cohen's h of two shares.

    Parameters
    ----------
    one, other : float
        Shares, 0 to 1.

    Returns
    -------
    float
        2 asin(sqrt(p1)) - 2 asin(sqrt(p2)).

    Raises
    ------
    InputError
        For a share outside 0 to 1.

    References
    ----------
    Cohen J. 1988. Statistical Power Analysis for the Behavioral Sciences, 2nd ed., chapter 6.

    Examples
    --------
    >>> round(effect_of_shares(0.5, 0.4), 4)
    0.2014
    """
    for share in (one, other):
        if not 0 <= share <= 1:
            refuse([fault("share", "0 to 1", share, "Give .3 for 30 %.")])
    return 2 * math.asin(math.sqrt(one)) - 2 * math.asin(math.sqrt(other))


def trend_is_seen(rate: float, cv: float, n: int, alpha: float = 0.05, beta: float = 0.05) -> bool:
    """Whether n yearly surveys show a straight trend.

    Parameters
    ----------
    rate : float
        Change a year as a share of the first figure.
    cv : float
        Standard error of a year's figure as a share of it, the same in all years.
    n : int
        Surveys, evenly spaced.
    alpha, beta : float
        Chance of a false alarm (one-sided), and of missing the trend.

    Returns
    -------
    bool
        Whether r^2 n (n - 1) (n + 1) >= 12 CV^2 (z_alpha + z_beta)^2.

    Raises
    ------
    InputError
        For chances outside 0 to 1.

    Notes
    -----
    By the normal distribution, which is too hopeful for fewer than about five years.

    References
    ----------
    Gerrodette T. 1987. Ecology 68:1364-1372 (form from memory; linear, constant CV).
    """
    check_share("alpha", alpha)
    check_share("beta", beta)
    z = norm.isf(alpha) + norm.isf(beta)
    return bool(rate**2 * n * (n - 1) * (n + 1) >= 12 * cv**2 * z**2)


def years_for_trend(rate: float, cv: float, alpha: float = 0.05, beta: float = 0.05) -> int:
    """Return the fewest yearly surveys that show a straight trend.

    Parameters
    ----------
    rate : float
        Change a year as a share of the first figure; not 0.
    cv : float
        Standard error of a year's figure as a share of it.
    alpha, beta : float
        Chance of a false alarm (one-sided), and of missing the trend.

    Returns
    -------
    int
        Surveys, 3 or more.

    Raises
    ------
    InputError
        For a rate of 0, or a CV that is not above 0.

    Examples
    --------
    >>> years_for_trend(0.05, 0.1)
    9
    """
    faults = []
    if not abs(rate) > 0:
        faults.append(fault("rate", "not 0", rate, "Give .05 for 5 % a year."))
    if not cv > 0:
        faults.append(fault("cv", "above 0", cv, "Take it from a survey."))
    refuse(faults)
    n = max(3, int((12 * (cv / rate) ** 2) ** (1 / 3)))
    while n > 3 and trend_is_seen(rate, cv, n - 1, alpha, beta):
        n -= 1
    while not trend_is_seen(rate, cv, n, alpha, beta):
        n += 1
    return n


def _power(shift: float, df: float, alpha: float) -> float:
    """Chance that |t| exceeds its bound under a shift.

    SciPy's noncentral t is not a number at some shifts from 5 on, so it is not used.
    """
    if df > _NORMAL_FROM:
        bound = -float(ndtri(alpha / 2))
        return float(ndtr(shift - bound) + ndtr(-shift - bound))
    bound = -float(stdtrit(df, alpha / 2))
    return min(_above(shift, bound, df) + _above(-shift, bound, df), 1.0)


def _above(shift: float, bound: float, df: float) -> float:
    """P((Z + shift) / S > bound), Z normal and df S^2 chi-squared.

    Where bound S is far below the shift it is sure, far above it never; between, a Gauss sum.
    """
    half = df / 2
    low = math.sqrt(gammaincinv(half, _TAIL) / half)
    high = math.sqrt(gammainccinv(half, _TAIL) / half)
    start = max((shift - _FAR) / bound, low)
    end = min((shift + _FAR) / bound, high)
    sure = float(gammainc(half, half * start**2)) if start > low else 0.0
    if end <= start:
        return sure
    # In the root of S, as the density has a corner at 0 where there are few degrees of freedom.
    first, last = math.sqrt(start), math.sqrt(end)
    root = first + (last - first) * (_NODES + 1) / 2
    log_density = half * math.log(half) - gammaln(half) + (2 * df - 1) * np.log(root)
    density = 2 * (last - first) * np.exp(log_density - half * root**4)
    return sure + float(_WEIGHTS @ (density * ndtr(shift - bound * root**2)))


def _size(power_of: Callable[[float], float], effect: float, power: float) -> float:
    """Size at which a power is reached."""
    check_share("power", power)
    if not abs(effect) > 0:
        refuse([fault("effect", "not 0", effect, "No survey shows a change of nothing.")])
    if power_of(_FEWEST) >= power:
        return _FEWEST
    high = 2 * _FEWEST
    while power_of(high) < power:
        high *= 2
        if high > _MOST:
            expected = f"large enough for fewer than {_MOST:g} transects"
            refuse([fault("effect", expected, effect, "Ask for a larger change.")])
    return float(brentq(lambda n: power_of(n) - power, high / 2, high, xtol=1e-8))


def _check_power(effect: float, n: float, alpha: float) -> None:
    """Refuse what has no power."""
    check_share("alpha", alpha)
    faults = []
    if not math.isfinite(effect):
        faults.append(fault("effect", "a number", effect, "Take it from a pilot."))
    if not n >= _FEWEST:
        faults.append(fault("transects", f"{_FEWEST:g} or more", n, "One has no spread."))
    refuse(faults)
