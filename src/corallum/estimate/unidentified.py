"""Three things that are not the same: absent, not looked for, and not identified.

Absent is a 0. Not looked for is no figure at all: the transect is left out for that
genus. Not identified is coral that is some genus or other: it makes every genus that it
could be uncertain, by bounds that need no assumption. Putting it under absent would make
rare genera rarer; sharing it out evenly assumes that what could not be named is like
what could.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.errors import Fault
from corallum.estimate.estimate import Estimate, Floats
from corallum.estimate.ratio import estimate_ratio
from corallum.estimate.refusals import fault, numbers, refuse

__all__ = ["BoundedFigure", "estimate_with_unidentified"]


@dataclass(frozen=True, slots=True, eq=False)
class BoundedFigure:
    """Cover or density by genus, with what was not identified kept apart.

    Parameters
    ----------
    named : Estimate
        (K,), what was named alone: the lower bound.
    at_most : Estimate
        (K,), with all that it could be: the upper bound. These do not add up over genera.
    in_proportion : Estimate
        (K,), what was not identified shared out in the proportions of what was, over all
        transects; assumes that it is like the rest.
    low, high : ndarray, shape (K,)
        Lower end of the lower bound's interval, upper end of the upper bound's.
    coral : Estimate
        All coral, named or not: no bound is needed. No dimension.
    unidentified_share : float
        Of all coral, 0 to 1; NaN without coral.
    n_looked : ndarray, shape (K,)
        Transects on which each genus was looked for; figures of fewer than two are NaN.
    """

    named: Estimate
    at_most: Estimate
    in_proportion: Estimate
    low: Floats
    high: Floats
    coral: Estimate
    unidentified_share: float
    n_looked: NDArray[np.int64]


def estimate_with_unidentified(
    named: ArrayLike,
    unidentified: ArrayLike,
    searched: ArrayLike,
    *,
    could_be: ArrayLike | None = None,
    looked_for: ArrayLike | None = None,
    level: float = 0.95,
) -> BoundedFigure:
    """Estimate cover or density with bounds for what was not identified.

    Parameters
    ----------
    named : array_like, shape (T, K)
        Points, intercept or colonies of each genus on each transect; 0 is absent. Where a
        genus was not looked for it must be 0.
    unidentified : array_like, shape (T, U)
        The same of coral named no further than a group: a family, a form, or just coral.
    searched : array_like, shape (T,)
        Points, length or area of each transect.
    could_be : array_like of bool, shape (U, K), optional
        Which genera each group could be; all if left out.
    looked_for : array_like of bool, shape (T, K), optional
        False where a genus was not looked for; all were if left out.
    level : float
        Coverage of the intervals, 0 to 1.

    Returns
    -------
    BoundedFigure
        Both bounds, and the figure under the assumption, side by side.

    Raises
    ------
    InputError
        For shapes that do not fit, a genus counted where it was not looked for, or a group
        that could be no genus.

    Notes
    -----
    The interval from the lower end of one bound to the upper end of the other holds the true
    figure at least as often as its level says, whatever the unidentified coral was.

    References
    ----------
    Horowitz J.L., Manski C.F. 2000. Journal of the American Statistical Association 95:77-84.
    """
    y, u = numbers("named", named), numbers("unidentified", unidentified)
    x = np.atleast_1d(numbers("searched", searched))
    may, looked = _masks(y, u, could_be, looked_for)
    _check_cells(y, may, looked)
    if len(x) != len(y):
        refuse([fault("searched", f"one for each of {len(y)} transects", len(x), "Give each.")])
    upper = y + u @ may
    middle = y + _shared_out(y, u, may)
    lower_bound = _each(y, x, looked, level)
    upper_bound = _each(upper, x, looked, level)
    coral = y.sum(axis=1) + u.sum(axis=1)
    total = float(coral.sum())
    return BoundedFigure(
        lower_bound,
        upper_bound,
        _each(middle, x, looked, level),
        lower_bound.low,
        upper_bound.high,
        estimate_ratio(coral, x, level=level),
        float(u.sum()) / total if total else float("nan"),
        looked.sum(axis=0),
    )


def _shared_out(y: Floats, u: Floats, may: Floats) -> Floats:
    """Give each group to the genera that it could be, as these were named over all."""
    weight = may * y.sum(axis=0)
    total = weight.sum(axis=1, keepdims=True)
    # A group of genera none of which was named goes to all of them alike.
    even = may / may.sum(axis=1, keepdims=True)
    parts = np.where(total > 0, weight / np.where(total > 0, total, 1.0), even)
    return np.asarray(u @ parts)


def _each(y: Floats, x: Floats, looked: NDArray[np.bool_], level: float) -> Estimate:
    """Ratio of each genus over the transects on which it was looked for."""
    n_genera = y.shape[1]
    value, se, low, high, df = (np.full(n_genera, np.nan) for _ in range(5))
    patterns, which = np.unique(looked, axis=1, return_inverse=True)
    which = which.ravel()
    for number, pattern in enumerate(patterns.T):
        if int(pattern.sum()) < 2:
            continue
        genera = which == number
        found = estimate_ratio(y[np.ix_(pattern, genera)], x[pattern], level=level)
        value[genera], se[genera], df[genera] = found.value, found.se, found.df
        low[genera], high[genera] = found.low, found.high
    return Estimate(value, se, low, high, df)


def _masks(
    y: Floats, u: Floats, could_be: ArrayLike | None, looked_for: ArrayLike | None
) -> tuple[Floats, NDArray[np.bool_]]:
    """Both masks, filled in and of the right shapes."""
    if y.ndim != 2 or u.ndim != 2 or len(y) != len(u):
        found = f"{y.shape} and {u.shape}"
        remedy = "Give a row a transect in both."
        refuse([fault("named and unidentified", "tables of like rows", found, remedy)])
    groups, n_genera = u.shape[1], y.shape[1]
    may = np.ones((groups, n_genera)) if could_be is None else np.asarray(could_be, np.float64)
    looked = np.ones(y.shape, np.bool_)
    if looked_for is not None:
        looked = np.asarray(looked_for, np.bool_)
    faults: list[Fault] = []
    if may.shape != (groups, n_genera):
        expected = f"shape {(groups, n_genera)}"
        faults.append(fault("could be", expected, may.shape, "A row a group, a column a genus."))
    if looked.shape != y.shape:
        remedy = "A row a transect, a column a genus."
        faults.append(fault("looked for", f"shape {y.shape}", looked.shape, remedy))
    refuse(faults)
    return may, looked


def _check_cells(y: Floats, may: Floats, looked: NDArray[np.bool_]) -> None:
    """Refuse counts where nobody looked, and groups without a genus."""
    faults = [
        fault(f"transect {t}, genus {k}", "0, as it was not looked for", y[t, k], "Say which.")
        for t, k in np.argwhere(~looked & (y > 0))[:20].tolist()
    ]
    faults += [
        fault(f"group {g}", "at least one genus that it could be", "none", "Name its genera.")
        for g in np.flatnonzero(may.sum(axis=1) == 0).tolist()
    ]
    refuse(faults)
