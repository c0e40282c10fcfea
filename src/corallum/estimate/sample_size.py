"""How many transects, points or colonies a wanted precision takes.

Numbers come back as they are, not rounded: `whole` rounds up. What a pilot says is
itself uncertain: a spread from five transects may be out by half.
"""

from __future__ import annotations

import math

from scipy.stats import norm

from corallum.estimate.refusals import check_share, fault, refuse

__all__ = [
    "points_for_share",
    "size_for_mean",
    "size_for_poisson",
    "size_for_share",
    "standard_error_of_share",
    "whole",
]

# Rounding errors are not to cost a transect.
_SLACK = 1e-9


def whole(n: float) -> int:
    """Round a number of units up."""
    return math.ceil(n - _SLACK)


def size_for_share(
    half_width: float, share: float = 0.5, *, z: float = 2.0, population: float = math.inf
) -> float:
    """Return how many independent units a share takes.

    Parameters
    ----------
    half_width : float
        Wanted half of the interval, in shares: .05 for plus or minus 5 points.
    share : float
        Expected share; .5 is the worst.
    z : float
        Standard errors in the half width: 1.96 for 95 %; Cochran takes 2.
    population : float
        Units that there are.

    Returns
    -------
    float
        Units: n0 / (1 + (n0 - 1) / N) with n0 = z^2 p (1 - p) / d^2.

    Raises
    ------
    InputError
        For a share or half width outside 0 to 1.

    References
    ----------
    Cochran W.G. 1977. Sampling Techniques, 3rd ed., section 4.4.

    Examples
    --------
    >>> whole(size_for_share(0.05)), whole(size_for_share(0.05, population=3200))
    (400, 356)
    """
    check_share("half width", half_width)
    check_share("share", share)
    n = z**2 * share * (1 - share) / half_width**2
    return n / (1 + (n - 1) / population)


def size_for_mean(sd: float, mean: float, precision: float) -> float:
    """Return how many transects a mean takes from a pilot's spread.

    Parameters
    ----------
    sd : float
        Standard deviation between transects.
    mean : float
        Mean of the pilot, above 0.
    precision : float
        Wanted standard error as a share of the mean: .2 for 20 %.

    Returns
    -------
    float
        (s / (D mean))^2.

    Raises
    ------
    InputError
        For numbers that are not above 0.

    References
    ----------
    Elliott J.M. 1977. Statistical Analysis of Samples of Benthic Invertebrates; Green R.H.
    1979. Sampling Design and Statistical Methods (formula).
    """
    _above_nought(sd=sd, mean=mean, precision=precision)
    return (sd / (precision * mean)) ** 2


def size_for_poisson(mean: float, precision: float) -> float:
    """Return how many quadrats a mean count takes where colonies lie at random.

    Parameters
    ----------
    mean : float
        Colonies a quadrat, above 0.
    precision : float
        Wanted standard error as a share of the mean.

    Returns
    -------
    float
        1 / (D^2 mean): the least, for corals lie in clumps.

    Raises
    ------
    InputError
        For numbers that are not above 0.

    References
    ----------
    Elliott J.M. 1977. Statistical Analysis of Samples of Benthic Invertebrates.
    """
    _above_nought(mean=mean, precision=precision)
    return 1 / (precision**2 * mean)


def standard_error_of_share(share: float, points: float) -> float:
    """Return the standard error of a share of independent points.

    Parameters
    ----------
    share : float
        True share, 0 to 1.
    points : float
        Points, above 0. Points of one frame are not independent: this is the least.

    Returns
    -------
    float
        The root of p (1 - p) / n.

    Raises
    ------
    InputError
        For a share outside 0 to 1, or no point.
    """
    check_share("share", share)
    _above_nought(points=points)
    return math.sqrt(share * (1 - share) / points)


def points_for_share(half_width: float, share: float, level: float = 0.95) -> float:
    """Return how many independent points a share takes.

    Parameters
    ----------
    half_width : float
        Wanted half of the interval, in shares.
    share : float
        Expected share.
    level : float
        Coverage, 0 to 1.

    Returns
    -------
    float
        Points: z^2 p (1 - p) / d^2, z of the level. Points of one frame are not independent.

    Raises
    ------
    InputError
        For numbers outside 0 to 1.

    Examples
    --------
    >>> whole(points_for_share(0.05, 0.3))
    323
    """
    check_share("level", level)
    return size_for_share(half_width, share, z=float(norm.ppf((1 + level) / 2)))


def _above_nought(**values: float) -> None:
    """Refuse numbers that are not above 0."""
    refuse(
        [
            fault(name, "above 0", value, "Take it from a pilot survey.")
            for name, value in values.items()
            if not value > 0
        ]
    )
