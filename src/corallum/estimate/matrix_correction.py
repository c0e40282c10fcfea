"""Shares of all genera at once, corrected by solving for them through an error matrix.

For validation by training items, where P(said | true) is known and P(true | said) is not.
Where the survey's own records were read again, `said_and_true` needs no matrix solved and
is steadier. Refuses a matrix whose errors would be blown up: the condition number says by
how much.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from corallum.errors import Fault
from corallum.estimate.estimate import Estimate, Floats, t_estimate
from corallum.estimate.refusals import fault, numbers, refuse

__all__ = ["MatrixCorrection", "correct_by_matrix"]

# Our own choice, no source: a tenth of what the said shares are off by becomes all of it.
MOST_CONDITION = 10.0


@dataclass(frozen=True, slots=True, eq=False)
class MatrixCorrection:
    """Shares before and after correction.

    Parameters
    ----------
    said : ndarray, shape (G,)
        Shares said.
    corrected : Estimate
        Shape (G,), not clipped; adds up to 1.
    shown : ndarray, shape (G,)
        Clipped at 0 and divided by their sum, for show only.
    covariance : ndarray, shape (G, G)
        Of the corrected shares.
    condition : float
        Condition number of the matrix, 1 or more.
    """

    said: Floats
    corrected: Estimate
    shown: Floats
    covariance: Floats
    condition: float


def correct_by_matrix(
    said: ArrayLike,
    rows: ArrayLike,
    *,
    validated: ArrayLike | None = None,
    most_condition: float = MOST_CONDITION,
    level: float = 0.95,
) -> MatrixCorrection:
    """Correct shares by an error matrix.

    Parameters
    ----------
    said : array_like, shape (G,)
        Records said to be of each genus; their sum is the n of the survey.
    rows : array_like, shape (G, G)
        P(said | true): rows true, columns said, each row adding up to 1.
    validated : array_like, shape (G,), optional
        Colonies of each true genus that its row rests on; None where the rows are known.
    most_condition : float
        Refuse above this.
    level : float
        Coverage of the intervals, 0 to 1.

    Returns
    -------
    MatrixCorrection
        Raw and for show.

    Raises
    ------
    InputError
        For shapes that do not fit, rows that do not add up to 1, or a condition number above
        the most, with what to do.

    Notes
    -----
    q = P' pi, so pi = (P')^-1 q;
    Cov = A [S(q) / n + sum_i pi_i^2 S(P_i) / n_i] A' with A = (P')^-1, S(p) = diag(p) - p p'.
    The condition number is the 2-norm's of P.

    References
    ----------
    Selen J. 1986. Journal of the American Statistical Association 81:75-81 (from memory);
    Buonaccorsi J.P. 2010. Measurement Error, chapter 3.

    Examples
    --------
    >>> rows = [[0.9, 0.08, 0.02], [0.1, 0.85, 0.05], [0.05, 0.15, 0.8]]
    >>> correct_by_matrix([315, 269, 416], rows).corrected.value.round(6).tolist()
    [0.3, 0.2, 0.5]
    """
    counts, p = numbers("said", said), numbers("rows", rows)
    _check(counts, p)
    condition = float(np.linalg.cond(p))
    if condition > most_condition:
        refuse([_too_alike(p, condition, most_condition)])
    n = counts.sum()
    q = counts / n
    solve = np.linalg.inv(p.T)
    value = solve @ q
    inner = _spread(q) / n
    if validated is not None:
        behind = numbers("validated", validated)
        if behind.shape != counts.shape or behind.min() <= 0:
            remedy = "Test the observers on the genera that lack."
            refuse([fault("validated", "a number above 0 for each genus", behind, remedy)])
        inner = inner + sum(
            v**2 / m * _spread(row) for v, m, row in zip(value, behind, p, strict=True)
        )
    covariance = solve @ inner @ solve.T
    se = np.sqrt(np.maximum(np.diagonal(covariance), 0.0))
    shown = np.maximum(value, 0.0)
    corrected = t_estimate(value, se, np.inf, level)
    return MatrixCorrection(q, corrected, shown / shown.sum(), covariance, condition)


def _spread(p: Floats) -> Floats:
    """Covariance of one multinomial draw."""
    return np.asarray(np.diag(p) - np.outer(p, p))


def _too_alike(p: Floats, condition: float, most: float) -> Fault:
    """Name the two rows that are most alike."""
    apart = np.abs(p[:, None] - p[None]).sum(axis=2) / 2
    np.fill_diagonal(apart, np.inf)
    a, b = np.unravel_index(int(np.argmin(apart)), apart.shape)
    remedy = (
        f"Genera {min(a, b)} and {max(a, b)} are named most alike: count them as one, or have "
        "the survey's own records read again."
    )
    return fault("condition number", f"at most {most:g}", f"{condition:.1f}", remedy)


def _check(counts: Floats, p: Floats) -> None:
    """Refuse shapes and rows that mean nothing."""
    size = counts.size
    if counts.ndim != 1 or p.shape != (size, size):
        refuse([fault("rows", f"{size} by {size}", p.shape, "Give a row for each genus.")])
    if counts.sum() <= 0:
        refuse([fault("said", "some records", 0, "Wait for a survey.")])
    off = np.abs(p.sum(axis=1) - 1)
    refuse(
        [
            fault(f"row {i}", "shares that add up to 1", f"{p[i].sum():g}", "Divide by the sum.")
            for i in np.flatnonzero(off > 1e-6).tolist()
        ]
    )
