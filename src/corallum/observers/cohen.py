"""Cohen's kappa of two observers, plain and weighted, with its standard error.

Agreement beyond that of two observers who keep their own shares of labels but
name items by lot. Falls when one label is most of the reef: read it with the
shares, and beside AC1.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.observers.coefficient import Coefficient, no_coefficient, with_interval

__all__ = [
    "Kappa",
    "agreement_weights",
    "as_agreement",
    "cohen_kappa",
    "cross_table",
    "weighted_kappa",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Kappa:
    """Cohen's kappa of one cross table.

    Attributes
    ----------
    coefficient : Coefficient
        Value with asymptotic standard error and interval, or the reason why there is none.
    observed, expected : float
        (Weighted) agreement seen, and expected by lot.
    most : float
        Highest kappa that the two observers' shares of labels allow; NaN if weighted.
    se_cohen : float
        Standard error as Cohen gave it in 1960, which takes the expected agreement as known.
    se_null : float
        Standard error if the two observers agreed by lot only.
    n : int
        Items that both read.
    """

    coefficient: Coefficient
    observed: float
    expected: float
    most: float
    se_cohen: float
    se_null: float
    n: int


def cross_table(first: NDArray[np.int64], second: NDArray[np.int64], n_labels: int) -> Floats:
    """Count pairs of labels of two observers, shape (L, L); -1 is not read."""
    both = (first >= 0) & (second >= 0)
    cell = first[both] * n_labels + second[both]
    counts: Floats = np.bincount(cell, minlength=n_labels**2).astype(np.float64)
    return counts.reshape(n_labels, n_labels)


def cohen_kappa(counts: Floats) -> Kappa:
    """Reckon Cohen's kappa.

    Parameters
    ----------
    counts : ndarray, shape (L, L)
        Items by label of the first observer (rows) and of the second (columns).

    Returns
    -------
    Kappa
        Kappa is (po - pc) / (1 - pc).

    References
    ----------
    Cohen 1960, Educational and Psychological Measurement 20:37-46. Standard errors: Fleiss,
    Cohen and Everitt 1969, Psychological Bulletin 72:323-327.
    """
    return weighted_kappa(counts, np.eye(len(counts)))


def weighted_kappa(counts: Floats, weights: Floats) -> Kappa:
    """Reckon weighted kappa.

    Parameters
    ----------
    counts : ndarray, shape (L, L)
        Items by label of the first observer (rows) and of the second (columns).
    weights : ndarray, shape (L, L)
        Agreement weights: 1 is full agreement, 0 none. Disagreement weights are turned into
        these by `as_agreement`, which leaves kappa as it is.

    Returns
    -------
    Kappa
        Kappa is (po - pc) / (1 - pc) with po and pc weighted.

    References
    ----------
    Cohen 1968, Psychological Bulletin 70:213-220; Fleiss, Cohen and Everitt 1969,
    Psychological Bulletin 72:323-327, for both variances.
    """
    n = float(counts.sum())
    if n == 0:
        nan = math.nan
        return Kappa(
            no_coefficient("no item was read by both observers"), nan, nan, nan, nan, nan, 0
        )
    share = counts / n
    rows, columns = share.sum(axis=1), share.sum(axis=0)
    observed = float((weights * share).sum())
    expected = float(rows @ weights @ columns)
    most = math.nan
    if np.array_equal(weights, np.eye(len(counts))):
        most = (float(np.minimum(rows, columns).sum()) - expected) / max(1 - expected, 1e-300)
    if 1 - expected < 1e-12:
        reason = "both observers used one and the same label only"
        nan = math.nan
        return Kappa(no_coefficient(reason), observed, expected, nan, nan, nan, int(n))
    kappa = (observed - expected) / (1 - expected)
    variance, null = _variances(share, weights, kappa, expected)
    cohen = math.sqrt(max(observed * (1 - observed), 0.0) / n) / (1 - expected)
    found = with_interval(kappa, variance / n)
    return Kappa(found, observed, expected, most, cohen, math.sqrt(null / n), int(n))


def _variances(
    share: Floats, weights: Floats, kappa: float, expected: float
) -> tuple[float, float]:
    """N times the variance of kappa, in general and under agreement by lot."""
    rows, columns = share.sum(axis=1), share.sum(axis=0)
    mean = (weights @ columns)[:, None] + (rows @ weights)[None, :]
    # Both formulas are variances of a cell's pull; centred, they lose nothing to rounding.
    variance = _variance_of(weights - mean * (1 - kappa), share)
    null = _variance_of(weights - mean, np.outer(rows, columns))
    scale = (1 - expected) ** 2
    return variance / scale, null / scale


def _variance_of(pull: Floats, share: Floats) -> float:
    """Variance of values that have shares adding up to 1."""
    return float((share * (pull - (share * pull).sum()) ** 2).sum())


def as_agreement(disagreement: Floats) -> Floats:
    """Turn disagreement weights (0 is full agreement) into agreement weights."""
    return 1 - disagreement / max(float(disagreement.max()), 1e-300)


def agreement_weights(n_labels: int, kind: str) -> Floats:
    """Return the agreement weights of ordered labels.

    Parameters
    ----------
    n_labels : int
        Labels, in their order.
    kind : str
        "none": all disagreements count alike; "linear", "quadratic": by the number of steps
        between the labels, or its square.
    """
    if kind == "none":
        return np.eye(n_labels)
    steps = np.abs(np.subtract.outer(np.arange(n_labels), np.arange(n_labels)))
    power = {"linear": 1, "quadratic": 2}[kind]
    return as_agreement(steps.astype(np.float64) ** power)
