"""Intervals of what is above 0 and skewed: cover or density of one genus over transects.

Most transects have little of a genus and few have much, so that a sample that happens to
miss the few looks poor and precise at once. Symmetric intervals, and percentile intervals
of resamples, then lie too low. These are symmetric in the logarithm, and their degrees of
freedom are those that the spread has, not those that normal data would have.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

from corallum.estimate.estimate import Estimate, Floats
from corallum.estimate.refusals import check_level

__all__ = ["Spread", "log_estimate", "spread_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Spread:
    """A variance, and how well it is known.

    Parameters
    ----------
    variance : ndarray, shape (G,)
        Of the figure.
    doubt : ndarray, shape (G,)
        Variance of that variance.
    """

    variance: Floats
    doubt: Floats

    @property
    def degrees(self) -> Floats:
        """Degrees of freedom, 2 V^2 / var(V); infinite where nothing varies."""
        unlimited = np.full_like(self.variance, np.inf)
        return np.divide(2 * self.variance**2, self.doubt, out=unlimited, where=self.doubt > 0)

    def __add__(self, other: Spread) -> Spread:
        """Return the spread of a sum of two independent parts."""
        return Spread(self.variance + other.variance, self.doubt + other.doubt)


def spread_of(strata: Iterable[Floats]) -> Spread:
    """Return the spread of a sum over transects that were drawn in strata.

    Parameters
    ----------
    strata : iterable of ndarray, each (n, G)
        What each transect adds to the figure, n at least 2; for a ratio its linear part.

    Returns
    -------
    Spread
        V = sum_h sum_t q_t, q_t = n / (n - 1) (z_t - mean)^2, and var(V) = sum_h n s^2(q).

    References
    ----------
    Cochran W.G. 1977. Sampling Techniques, 3rd ed., sections 6.11 and 5A. Degrees of freedom
    from the data's own kurtosis: Kott P.S. 1994. Proceedings of the Survey Research Methods
    Section, American Statistical Association (from memory).
    """
    variance, doubt = 0.0, 0.0
    for z in strata:
        n = len(z)
        squares = n / (n - 1) * (z - z.mean(axis=0)) ** 2
        variance = variance + squares.sum(axis=0)
        doubt = doubt + n * squares.var(axis=0, ddof=1)
    return Spread(np.asarray(variance), np.asarray(doubt))


def log_estimate(value: Floats, spread: Spread, level: float = 0.95) -> Estimate:
    """Return an estimate whose interval is symmetric in the logarithm.

    Parameters
    ----------
    value : ndarray, shape (G,)
        Figures, 0 or more.
    spread : Spread
        Of the same.
    level : float
        Coverage, 0 to 1.

    Returns
    -------
    Estimate
        From value / f to value f with f = exp(t se / value); from 0 to 0 where nothing was met.

    Raises
    ------
    InputError
        For a level outside 0 to 1.

    Notes
    -----
    Of a genus that was met on one transect alone the spread has two degrees of freedom: such
    an interval has hardly an upper end, and says so.

    References
    ----------
    Burnham K.P. et al. 1987. American Fisheries Society Monograph 5 (interval of a log-normal
    figure; from memory).
    """
    check_level(level)
    se, df = np.sqrt(spread.variance), spread.degrees
    apart = np.divide(se, value, out=np.zeros_like(se), where=value > 0)
    factor = np.exp(np.minimum(student.ppf((1 + level) / 2, df) * apart, 700.0))
    return Estimate(value, se, np.asarray(value / factor), np.asarray(value * factor), df)
