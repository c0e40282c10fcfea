"""Richness at another size of sample, or at another coverage.

Coverage is the share of the reef's colonies that belong to genera which were met. Compare
surveys at equal coverage, not at equal counts: a poor reef is covered sooner. Smaller
than the sample is interpolation and exact; larger is extrapolation, to be trusted to
about twice the sample.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaln

from corallum.estimate.estimate import Floats
from corallum.estimate.refusals import fault, numbers, refuse
from corallum.estimate.richness import ChaoForm, estimate_chao
from corallum.estimate.tally import Tally

__all__ = [
    "MOST_EXTRAPOLATED",
    "RichnessCurve",
    "rarefy_to_coverage",
    "rarefy_to_size",
    "sample_coverage",
]

#: Times the sample beyond which extrapolation is not to be trusted (Chao and others 2014).
MOST_EXTRAPOLATED = 2.0

Method = Literal["rarefied", "observed", "extrapolated"]


@dataclass(frozen=True, slots=True, eq=False)
class RichnessCurve:
    """Richness at sizes of sample.

    Parameters
    ----------
    size : ndarray, shape (M,)
        Colonies, or transects; broken where a coverage was asked for.
    richness, coverage : ndarray, shape (M,)
        Genera expected, and share of colonies whose genus is among them.
    method : tuple of str, length M
        Whether rarefied, observed or extrapolated.
    too_far : ndarray of bool, shape (M,)
        Beyond twice the sample: not to be reported as a figure.
    """

    size: Floats
    richness: Floats
    coverage: Floats
    method: tuple[Method, ...]
    too_far: NDArray[np.bool_]


def sample_coverage(tally: Tally) -> float:
    """Estimate the share of colonies (incidences) that belong to genera which were met.

    Parameters
    ----------
    tally : Tally
        Of colonies or of transects.

    Returns
    -------
    float
        1 - (f1 / n) A with A = (n - 1) f1 / ((n - 1) f1 + 2 f2); of transects, incidences
        stand below f1. It is 1 where one genus at most was met once and none twice: nothing
        says then that others are there, not even in a sample of one.

    References
    ----------
    Chao A., Jost L. 2012. Ecology 93:2533-2547, equation 4a.
    """
    return 1 - tally.once / tally.total * _next_is_new(tally)


def rarefy_to_size(tally: Tally, sizes: ArrayLike) -> RichnessCurve:
    """Return the richness and coverage of samples of other sizes.

    Parameters
    ----------
    tally : Tally
        Of colonies or of transects.
    sizes : array_like, shape (M,)
        Whole numbers of colonies, or transects, at least 1.

    Returns
    -------
    RichnessCurve
        At the sizes in their order.

    Raises
    ------
    InputError
        For sizes that are not whole or below 1.

    Notes
    -----
    Below n: S - sum C(n - x, m) / C(n, m); coverage 1 - sum (x / n) C(n - x, m) / C(n - 1, m).
    Above, by m*: S + f0 [1 - (1 - f1 / (n f0 + f1))^m*] with f0 of Chao1 with (n - 1)/n;
    coverage 1 - (f1 / n) A^(m* + 1).

    References
    ----------
    Hurlbert S.H. 1971. Ecology 52:577-586. Chao A., Jost L. 2012. Ecology 93:2533-2547. Of
    transects: Colwell R.K. and others 2012. Journal of Plant Ecology 5:3-21.
    """
    found = np.atleast_1d(numbers("sizes", sizes))
    bad = found[(found < 1) | (found != np.floor(found))]
    if len(bad):
        refuse([fault("sizes", "whole numbers from 1", bad[0], "Round them.")])
    return _curve(tally, found)


def rarefy_to_coverage(tally: Tally, coverage: ArrayLike) -> RichnessCurve:
    """Return the richness of samples of given coverage.

    Parameters
    ----------
    tally : Tally
        Of colonies or of transects.
    coverage : array_like, shape (M,)
        Wanted coverage, above 0 and below 1.

    Returns
    -------
    RichnessCurve
        Sizes are broken: below the sample, on the straight line between two whole sizes.

    Raises
    ------
    InputError
        For a coverage outside 0 to 1, or below that of a sample of one.

    References
    ----------
    Chao A., Jost L. 2012. Ecology 93:2533-2547.
    """
    wanted = np.atleast_1d(numbers("coverage", coverage))
    outside = wanted[(wanted <= 0) | (wanted >= 1)]
    if len(outside):
        refuse([fault("coverage", "between 0 and 1", outside[0], "Give .95 for 95 %.")])
    here, least = sample_coverage(tally), float(_rarefied(tally, np.ones(1))[1][0])
    if wanted.min() < least:
        expected = f"at least {least:.3f}, which a sample of one has"
        refuse([fault("coverage", expected, wanted.min(), "Ask for more.")])
    sizes = [_size_for(tally, one, here) for one in wanted.tolist()]
    return _curve(tally, np.array(sizes))


def _curve(tally: Tally, sizes: Floats) -> RichnessCurve:
    """Richness and coverage at sizes, broken ones on a straight line between whole ones."""
    n = tally.n
    richness, coverage = np.empty(len(sizes)), np.empty(len(sizes))
    beyond = sizes > n
    richness[beyond], coverage[beyond] = _extrapolated(tally, sizes[beyond] - n)
    within = sizes[~beyond]
    low, part = np.floor(within), within - np.floor(within)
    at_low, at_high = _rarefied(tally, low), _rarefied(tally, np.minimum(low + 1, n))
    richness[~beyond] = at_low[0] + part * (at_high[0] - at_low[0])
    coverage[~beyond] = at_low[1] + part * (at_high[1] - at_low[1])
    method = tuple(_method(size, n) for size in sizes.tolist())
    return RichnessCurve(sizes, richness, coverage, method, sizes > MOST_EXTRAPOLATED * n)


def _method(size: float, n: int) -> Method:
    """Say how a figure came about."""
    if size == n:
        return "observed"
    return "rarefied" if size < n else "extrapolated"


def _rarefied(tally: Tally, sizes: Floats) -> tuple[Floats, Floats]:
    """Richness and coverage of whole sizes up to n, by the chances of missing each genus."""
    times, genera = np.unique(tally.met, return_counts=True)
    x, m, n = times[None, :].astype(np.float64), sizes[:, None], tally.n
    # C(n - x, m) / C(n, m), and nothing where a sample can't miss the genus.
    can = n - x - m >= 0
    left = np.where(can, n - x - m, 0.0)
    ways = gammaln(n - x + 1) - gammaln(left + 1) - gammaln(n + 1.0) + gammaln(n - m + 1)
    missed = np.where(can, np.exp(np.where(can, ways, 0.0)), 0.0)
    richness = tally.richness - missed @ genera
    # C(n - x, m) / C(n - 1, m) is the same times n / (n - m).
    rest = np.where(m < n, n / np.where(m < n, n - m, 1.0), 0.0)
    coverage = 1 - (missed * rest * x) @ genera / tally.total
    return np.asarray(richness), np.where(sizes == n, sample_coverage(tally), coverage)


def _extrapolated(tally: Tally, more: Floats) -> tuple[Floats, Floats]:
    """Richness and coverage with more colonies, or transects, than the sample has."""
    f1, n = tally.once, tally.n
    missing = estimate_chao(tally, ChaoForm.SAMPLE_SIZE).value - tally.richness
    step = f1 / (n * missing + f1) if missing else 1.0
    # Where one genus alone was met once, nothing more is expected.
    richness = tally.richness + missing * (1 - (1 - step) ** more)
    coverage = 1 - f1 / tally.total * _next_is_new(tally) ** (more + 1)
    return np.asarray(richness), np.asarray(coverage)


def _next_is_new(tally: Tally) -> float:
    """Return A of Chao and Jost, by which the chance of a new genus falls with each draw."""
    f1, f2, n = tally.once, tally.twice, tally.n
    if f1 == 0:
        return 0.0
    if f2:
        return (n - 1) * f1 / ((n - 1) * f1 + 2 * f2)
    return (n - 1) * (f1 - 1) / ((n - 1) * (f1 - 1) + 2)


def _size_for(tally: Tally, wanted: float, here: float) -> float:
    """Size of sample with a wanted coverage."""
    n = tally.n
    if wanted > here:
        fall = math.log(tally.total * (1 - wanted) / tally.once)
        return n + fall / math.log(_next_is_new(tally)) - 1
    low, high = 1, n
    while high - low > 1:
        middle = (low + high) // 2
        reached = float(_rarefied(tally, np.array([float(middle)]))[1][0])
        low, high = (middle, high) if reached <= wanted else (low, middle)
    at = _rarefied(tally, np.array([float(low), float(high)]))[1]
    gap = float(at[1] - at[0])
    return low + (float(wanted - at[0]) / gap if gap > 0 else 0.0)
