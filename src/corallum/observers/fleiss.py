"""Fleiss' kappa of any number of observers, for labels in no order.

The observers need not be the same ones for every item, nor equally many; who
said what does not count, only how many.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from corallum.observers.chance import Agreement, beyond_chance, item_agreement
from corallum.observers.coefficient import Coefficient, no_coefficient

__all__ = ["FleissKappa", "fleiss_kappa"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class FleissKappa:
    """Fleiss' kappa of N items.

    Attributes
    ----------
    coefficient : Coefficient
        Value with its standard error over items and interval, or the reason why there is none.
    observed, expected : float
        Mean agreement within items, and that expected by lot.
    share : ndarray, shape (L,)
        Share of each label.
    z : float
        Kappa over its standard error under agreement by lot; NaN where items have unequal
        numbers of readings.
    by_label : ndarray, shape (L,)
        Kappa of each label against all others; NaN for one never used.
    """

    coefficient: Coefficient
    observed: float
    expected: float
    share: Floats
    z: float
    by_label: Floats


def fleiss_kappa(counts: sparse.csr_array) -> FleissKappa:
    """Reckon Fleiss' kappa.

    Parameters
    ----------
    counts : sparse array, shape (N, L)
        How many observers gave each item each label.

    Returns
    -------
    FleissKappa
        Items read once tell of the shares, not of the agreement.

    Notes
    -----
    kappa = (P - Pe) / (1 - Pe), P the mean over items of sum_k n_ik (n_ik - 1) / (n_i (n_i - 1)),
    Pe = sum_k p_k^2. With missing readings p_k is the mean over items of n_ik / n_i. The
    interval is Gwet's, over items; z has the standard error of Fleiss, Nee and Landis.

    References
    ----------
    Fleiss 1971, Psychological Bulletin 76:378-382; Fleiss, Nee and Landis 1979, Psychological
    Bulletin 86:974-977; Gwet 2014, Handbook of Inter-Rater Reliability, 4th edition.
    """
    seen = item_agreement(counts)
    share = seen.share
    expected = float(share @ share)
    nan = np.full(len(share), math.nan)
    if seen.n_compared == 0:
        none = no_coefficient("no item was read twice or more")
        return FleissKappa(none, math.nan, expected, share, math.nan, nan)
    if 1 - expected < 1e-12:
        none = no_coefficient("one label only was used")
        return FleissKappa(none, seen.observed, expected, share, math.nan, nan)
    by_item = np.asarray(seen.shares @ share).ravel()
    found = beyond_chance(seen, expected, by_item)
    z = math.nan
    if found.value is not None and len(set(seen.total.tolist())) == 1:
        z = found.value / _null_se(share, len(seen.total), float(seen.total[0]))
    return FleissKappa(found, seen.observed, expected, share, z, _by_label(counts, seen))


def _null_se(share: Floats, n: int, m: float) -> float:
    """Standard error of kappa under agreement by lot: Fleiss, Nee and Landis 1979."""
    pq = share * (1 - share)
    inner = pq.sum() ** 2 - (pq * (1 - 2 * share)).sum()
    return float(math.sqrt(2 * inner / (n * m * (m - 1))) / pq.sum())


def _by_label(counts: sparse.csr_array, seen: Agreement) -> Floats:
    """Kappa of each label against the rest; disagreement over its expectation."""
    pairs = seen.total * (seen.total - 1)
    weight = np.divide(1.0, pairs, out=np.zeros_like(pairs), where=pairs > 0)
    apart = counts.multiply((seen.total * weight)[:, None]) - counts.power(2).multiply(
        weight[:, None]
    )
    seen_apart = np.asarray(apart.sum(axis=0)).ravel() / seen.n_compared
    expected = seen.share * (1 - seen.share)
    out = np.full(len(expected), math.nan)
    np.divide(expected - seen_apart, expected, out=out, where=expected > 0)
    return out
