"""Double sampling: all records named once, a random part of them named surely as well.

The part is drawn at random from all records, not class by class; for that design use
`said_and_true`. What the first names are worth is the coefficient K: at 0 they add
nothing to the part, at 1 they are as good as sure.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from corallum.estimate.estimate import Estimate, Floats, t_estimate
from corallum.estimate.refusals import fault, numbers, refuse

__all__ = ["DoubleSample", "estimate_by_double_sampling"]


@dataclass(frozen=True, slots=True, eq=False)
class DoubleSample:
    """Shares of true genera from a double sample.

    Parameters
    ----------
    said : ndarray, shape (I,)
        Shares said, of all records.
    shares : Estimate
        Of true genera, shape (J,).
    true_given_said : ndarray, shape (I, J)
        P(true | said), rows of names never used being 0.
    said_given_true : ndarray, shape (J, I)
        P(said | true) that follow; rows of genera not found being 0.
    worth : ndarray, shape (J,)
        Coefficient K, 0 to 1.
    """

    said: Floats
    shares: Estimate
    true_given_said: Floats
    said_given_true: Floats
    worth: Floats


def estimate_by_double_sampling(
    validated: ArrayLike, further: ArrayLike, level: float = 0.95
) -> DoubleSample:
    """Estimate shares of true genera from a random part that was named surely.

    Parameters
    ----------
    validated : array_like, shape (I, J)
        Records of the part: rows said, columns true.
    further : array_like, shape (I,)
        All other records by what was said.
    level : float
        Coverage of the intervals, 0 to 1.

    Returns
    -------
    DoubleSample
        Normal intervals.

    Raises
    ------
    InputError
        Naming each name that was used but of which no record was named surely.

    Notes
    -----
    p_j = sum_i P(true j | said i) q_i; Var = p (1 - p) [(1 - K) / n + K / N], n named surely of
    N; K_j = [sum_i q_i P(j | i)^2 - p_j^2] / [p_j (1 - p_j)], which for two classes is
    Tenenbein's.

    References
    ----------
    Tenenbein A. 1970. Journal of the American Statistical Association 65:1350-1361, and
    1972. Technometrics 14:187-202.
    """
    table, rest = numbers("validated", validated), numbers("further", further)
    _check(table, rest)
    row = table.sum(axis=1)
    n, total = row.sum(), row.sum() + rest.sum()
    q = (row + rest) / total
    given = np.divide(table, row[:, None], out=np.zeros_like(table), where=row[:, None] > 0)
    p = q @ given
    spread = p * (1 - p)
    excess = q @ given**2 - p**2
    worth = np.divide(excess, spread, out=np.zeros_like(p), where=spread > 0)
    variance = spread * ((1 - worth) / n + worth / total)
    both = (q[:, None] * given).T
    back = np.divide(both, p[:, None], out=np.zeros_like(both), where=p[:, None] > 0)
    shares = t_estimate(p, np.sqrt(np.maximum(variance, 0.0)), np.inf, level)
    return DoubleSample(q, shares, given, back, worth)


def _check(table: Floats, rest: Floats) -> None:
    """Refuse names that nobody checked."""
    if table.ndim != 2 or rest.shape != table.shape[:1]:
        refuse([fault("further", f"{len(table)} numbers", rest.size, "One for each name.")])
    lacking = np.flatnonzero((table.sum(axis=1) == 0) & (rest > 0))
    remedy = "Have some of its records read again, or join it to a like name."
    faults = [
        fault(f"said {i}", "at least 1 record named surely", 0, remedy) for i in lacking.tolist()
    ]
    if table.sum() == 0:
        faults.append(fault("validated", "some records", 0, "Have a random part read again."))
    refuse(faults)
