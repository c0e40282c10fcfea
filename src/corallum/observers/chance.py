"""What coefficients of many observers share: agreement within items, and its spread over items.

Agreement beyond chance with readings missing, as Gwet 2014 has it: an item that
one observer read tells of the shares of labels only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from corallum.observers.coefficient import Coefficient, with_interval

__all__ = ["Agreement", "beyond_chance", "item_agreement"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Agreement:
    """Agreement within N items.

    Attributes
    ----------
    total : ndarray, shape (N,)
        Readings of each item.
    shares : sparse array, shape (N, L)
        Share of each label among the readings of each item.
    share : ndarray, shape (L,)
        Mean of these over items.
    by_item : ndarray, shape (N,)
        Share of pairs of readings that agree; 0 for an item read once.
    n_compared : int
        Items read twice or more.
    """

    total: Floats
    shares: sparse.csr_array
    share: Floats
    by_item: Floats
    n_compared: int

    @property
    def observed(self) -> float:
        """Mean agreement of the items read twice or more."""
        return float(self.by_item.sum()) / self.n_compared if self.n_compared else math.nan


def item_agreement(counts: sparse.csr_array) -> Agreement:
    """Reckon agreement within items from how many observers gave each label, shape (N, L)."""
    total = np.asarray(counts.sum(axis=1), dtype=np.float64).ravel()
    counts, total = counts[total > 0], total[total > 0]
    shares = sparse.csr_array(counts.multiply(1 / total[:, None]))
    share = np.asarray(shares.mean(axis=0), dtype=np.float64).ravel()
    same = np.asarray(counts.power(2).sum(axis=1), dtype=np.float64).ravel() - total
    pairs = total * (total - 1)
    by_item = np.divide(same, pairs, out=np.zeros_like(pairs), where=pairs > 0)
    return Agreement(total, shares, share, by_item, int((total > 1).sum()))


def beyond_chance(seen: Agreement, expected: float, expected_by_item: Floats) -> Coefficient:
    """Return (P - Pe) / (1 - Pe) with its interval over items.

    Parameters
    ----------
    seen : Agreement
        Agreement within items.
    expected : float
        Agreement expected by chance, Pe.
    expected_by_item : ndarray, shape (N,)
        The same with the item's own shares in the place of one of the two that Pe multiplies;
        its mean over items is Pe.

    References
    ----------
    Gwet 2014, Handbook of Inter-Rater Reliability, 4th edition: variance over items by
    linearisation, Student's t with N - 1 degrees of freedom.
    """
    n = len(seen.total)
    value = (seen.observed - expected) / (1 - expected)
    compared = seen.total > 1
    own = (n / seen.n_compared) * (seen.by_item - expected * compared) / (1 - expected)
    own = own - 2 * (1 - value) * (expected_by_item - expected) / (1 - expected)
    variance = float(((own - value) ** 2).sum()) / (n * (n - 1)) if n > 1 else math.inf
    return with_interval(value, variance, n - 1)
