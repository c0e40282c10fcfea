"""Sizes of colonies: classes, mean, quantiles and the share of juveniles.

The transect is the unit: colonies of one transect settled in the same years and are more
alike than colonies at large. Sizes from a line are those of colonies that a line meets,
which are the large ones; use belts or quadrats.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.estimate.estimate import Estimate, Floats
from corallum.estimate.ratio import estimate_ratio
from corallum.estimate.refusals import check_share, fault, numbers, refuse, strata_of

__all__ = [
    "SizeClasses",
    "SizeQuantile",
    "SizeStructure",
    "SizedColonies",
    "size_quantile",
    "size_structure",
]


_MOST_NAMED = 20


@dataclass(frozen=True, slots=True, eq=False)
class SizedColonies:
    """Colonies whose centre is inside, of one genus or of all.

    Parameters
    ----------
    size_cm : array_like, shape (M,)
        Longest diameter of each, above 0, cm.
    transect : array_like of int, shape (M,)
        Transect of each, from 0.
    n_transects : int
        Transects, T, those without such a colony too.
    """

    size_cm: ArrayLike
    transect: ArrayLike
    n_transects: int


@dataclass(frozen=True, slots=True, eq=False)
class SizeClasses:
    """Colonies by class of size.

    Parameters
    ----------
    edges_cm : ndarray, shape (K + 1,)
        Each class from its edge to just below the next.
    counts : ndarray, shape (T, K)
        Colonies by transect and class.
    share : Estimate
        (K,), shares of all colonies.
    density : Estimate or None
        (K,), colonies per square metre, where areas were given.
    """

    edges_cm: Floats
    counts: Floats
    share: Estimate
    density: Estimate | None


@dataclass(frozen=True, slots=True, eq=False)
class SizeStructure:
    """Sizes of the colonies of one genus, or of all.

    Parameters
    ----------
    n : int
        Colonies.
    n_without : int
        Transects without a colony: they count for densities, not for shares.
    mean_cm : Estimate
        Mean size over colonies.
    classes : SizeClasses
        Distribution.
    juvenile_limit_cm : float
        A colony no larger counts as a juvenile: a matter of size, not of age.
    juvenile_share : Estimate
        Of all colonies.
    juvenile_density : Estimate or None
        Per square metre, where areas were given.
    """

    n: int
    n_without: int
    mean_cm: Estimate
    classes: SizeClasses
    juvenile_limit_cm: float
    juvenile_share: Estimate
    juvenile_density: Estimate | None


@dataclass(frozen=True, slots=True)
class SizeQuantile:
    """A quantile of size.

    Parameters
    ----------
    share : float
        Share of colonies at or below it.
    value_cm, low_cm, high_cm : float
        Estimate and interval; an end beyond the sizes seen is 0 or infinite.
    """

    share: float
    value_cm: float
    low_cm: float
    high_cm: float


def size_structure(
    colonies: SizedColonies,
    edges_cm: ArrayLike,
    *,
    juvenile_limit_cm: float = 5.0,
    area_m2: ArrayLike | None = None,
    level: float = 0.95,
) -> SizeStructure:
    """Describe the sizes of colonies, with intervals over transects.

    Parameters
    ----------
    colonies : SizedColonies
        At least one on each of two transects.
    edges_cm : array_like, shape (K + 1,)
        Edges of the classes, rising; together they must hold every colony. The last may be
        infinite.
    juvenile_limit_cm : float
        Juveniles are no larger; programmes take 4 or 5 cm (Edmunds and others 1998: 5).
    area_m2 : array_like, shape (T,), optional
        Area searched of each transect, for densities.
    level : float
        Coverage of the intervals, 0 to 1.

    Returns
    -------
    SizeStructure
        Shares and mean by the ratio estimator, colonies of a transect in its denominator.

    Raises
    ------
    InputError
        For sizes that are 0, outside the classes, or on fewer than two transects; for edges
        that do not rise.
    """
    size, t, n_transects = _colonies(colonies)
    edges = _edges(edges_cm, size)
    class_of = np.searchsorted(edges, size, side="right") - 1
    n_classes = len(edges) - 1
    cell = np.bincount(t * n_classes + class_of, minlength=n_transects * n_classes)
    counts = cell.reshape(n_transects, n_classes).astype(np.float64)
    each = counts.sum(axis=1)
    young = _by_transect(t, (size <= juvenile_limit_cm).astype(np.float64), n_transects)
    some = _with_colonies(each)
    share = estimate_ratio(counts[some], each[some], level=level)
    total = _by_transect(t, size, n_transects)
    dense, young_dense = None, None
    if area_m2 is not None:
        dense = estimate_ratio(counts, area_m2, level=level)
        young_dense = estimate_ratio(young, area_m2, level=level)
    return SizeStructure(
        len(size),
        int((~some).sum()),
        estimate_ratio(total[some], each[some], level=level),
        SizeClasses(edges, counts, share, dense),
        juvenile_limit_cm,
        estimate_ratio(young[some], each[some], level=level),
        young_dense,
    )


def size_quantile(colonies: SizedColonies, share: float = 0.5, level: float = 0.95) -> SizeQuantile:
    """Estimate a quantile of size, with an interval over transects.

    Parameters
    ----------
    colonies : SizedColonies
        At least one on each of two transects.
    share : float
        .5 for the median.
    level : float
        Coverage of the interval, 0 to 1.

    Returns
    -------
    SizeQuantile
        The smallest size with at least this share of colonies at or below it.

    Raises
    ------
    InputError
        For sizes that are 0 or on fewer than two transects, or a share outside 0 to 1.

    Notes
    -----
    The interval of the share of colonies at or below the estimate, by the ratio estimator
    over transects, is carried back to sizes. It is taken with the colony at the estimate in
    and out, and the wider is kept: the largest colony alone would seem to have no error.

    References
    ----------
    Woodruff R.S. 1952. Journal of the American Statistical Association 47:635-646.
    """
    check_share("share", share)
    size, t, n_transects = _colonies(colonies)
    value = _at(size, share)
    each = _by_transect(t, np.ones(len(size)), n_transects)
    some = _with_colonies(each)
    # The shares up to the colony itself, and short of it; the more uncertain of the two.
    upto = np.stack([size <= value, size < value], axis=1).astype(np.float64)
    below = np.stack([_by_transect(t, one, n_transects) for one in upto.T], axis=1)
    found = estimate_ratio(below[some], each[some], level=level)
    half = float((found.high - found.low).max()) / 2
    return SizeQuantile(share, value, _at(size, share - half), _at(size, share + half))


def _at(size: Floats, share: float) -> float:
    """Smallest size with this share of colonies at or below it."""
    if share <= 0:
        return 0.0
    if share >= 1:
        return float("inf")
    return float(np.quantile(size, share, method="inverted_cdf"))


def _by_transect(transect: NDArray[np.int64], what: Floats, n: int) -> Floats:
    """Add up by transect."""
    return np.asarray(np.bincount(transect, weights=what, minlength=n), np.float64)


def _with_colonies(each: Floats) -> NDArray[np.bool_]:
    """Say which transects have a colony; refuse where fewer than two do."""
    some = each > 0
    if int(some.sum()) < 2:
        remedy = "One transect tells nothing of the spread: survey more, or take more genera."
        refuse([fault("transects with a colony", "at least 2", int(some.sum()), remedy)])
    return np.asarray(some)


def _edges(edges_cm: ArrayLike, size: Floats) -> Floats:
    """Edges of the classes, which rise and hold every colony."""
    edges = np.asarray(edges_cm, np.float64)
    if edges.ndim != 1 or len(edges) < 2 or not (np.diff(edges) > 0).all():
        refuse([fault("edges", "at least two, rising", edges.tolist(), "Put them in order.")])
    outside = np.flatnonzero((size < edges[0]) | (size >= edges[-1]))
    if len(outside):
        at = int(outside[0])
        expected = f"from {edges[0]:g} to below {edges[-1]:g} cm"
        remedy = "Widen the classes: no colony is left out unsaid."
        refuse([fault(f"size of colony {at}", expected, f"{size[at]:g} cm", remedy)])
    return edges


def _colonies(colonies: SizedColonies) -> tuple[Floats, NDArray[np.int64], int]:
    """Sizes, transects and their number; refuse colonies without a size."""
    size = numbers("size", colonies.size_cm)
    t = strata_of(colonies.transect, len(size), colonies.n_transects)
    refuse(
        [
            fault(f"size of colony {at}", "above 0 cm", size[at], "Measure it, or leave it out.")
            for at in np.flatnonzero(size <= 0)[:_MOST_NAMED].tolist()
        ]
    )
    return size, t, colonies.n_transects
