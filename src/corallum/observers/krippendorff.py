"""Krippendorff's alpha: agreement of any number of observers, with readings missing.

Disagreement seen within items over that expected if all readings were dealt out
anew. Labels may be names, ranks, or numbers.
"""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from corallum.observers.coefficient import Coefficient, no_coefficient

__all__ = ["Level", "krippendorff_alpha"]

Floats = NDArray[np.float64]


class Level(StrEnum):
    """What a difference between two labels means."""

    NOMINAL = "nominal"
    ORDINAL = "ordinal"
    INTERVAL = "interval"
    RATIO = "ratio"


def krippendorff_alpha(
    counts: sparse.csr_array,
    level: Level,
    values: Floats,
    rng: np.random.Generator,
    *,
    draws: int = 1000,
    progress: Callable[[float], None] = lambda _: None,
) -> Coefficient:
    """Reckon alpha with a bootstrap interval over items.

    Parameters
    ----------
    counts : sparse array, shape (N, L)
        How many observers gave each item each label; items read once are left out.
    level : Level
        What a difference between two labels means.
    values : ndarray, shape (L,)
        The number that each label is, for interval and ratio; not used for the others.
        For ordinal the labels stand in their order.
    rng : numpy.random.Generator
        Draws the items anew.
    draws : int
        How often; 0 gives no interval.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    Coefficient
        Alpha is 1 - Do / De; the interval is between the 2.5th and 97.5th percentile of alpha
        over samples of items drawn with replacement.

    Notes
    -----
    Do = sum_ck o_ck d_ck / n, De = sum_ck n_c n_k d_ck / (n (n - 1)), with o_ck the
    coincidences: pairs of labels within an item, each item weighing 1 / (m - 1).

    References
    ----------
    Krippendorff 2011, Computing Krippendorff's alpha-reliability. Bootstrap over items: Zapf,
    Castell, Morawietz and Karch 2016, BMC Medical Research Methodology 16:93 (from memory).
    """
    read = np.asarray(counts.sum(axis=1)).ravel()
    pairable = sparse.csr_array(counts[read > 1])
    n = pairable.shape[0]
    if n == 0:
        return no_coefficient("no item was read twice or more")
    alpha = _Alpha(pairable, level, values)
    value = float(alpha(np.ones((1, n)))[0])
    if np.isnan(value):
        return no_coefficient("one label only was used")
    if n < 2 or draws == 0:
        return Coefficient(value, None, None, note="one item tells nothing of the spread")
    found = _bootstrap(alpha, n, rng, draws, progress)
    return _with_percentiles(value, found)


def _with_percentiles(value: float, drawn: Floats) -> Coefficient:
    """Return alpha with the interval of its draws; those with one label only have none."""
    defined = drawn[~np.isnan(drawn)]
    if len(defined) == 0:
        return Coefficient(value, None, None, note="no sample of items has two labels")
    low, high = (float(q) for q in np.quantile(defined, [0.025, 0.975]))
    note = None
    if len(defined) < len(drawn):
        left = len(drawn) - len(defined)
        note = f"{left} of {len(drawn)} samples of items hold one label only and were left out"
    elif high - low < 1e-12:
        note = "no spread between items was seen, so the interval says nothing of other items"
    return Coefficient(value, low, high, float(defined.std()), note=note)


class _Alpha:
    """Alpha of the same items under any weights."""

    def __init__(self, counts: sparse.csr_array, level: Level, values: Floats) -> None:
        self.counts, self.level = counts, level
        self.read = np.asarray(counts.sum(axis=1), dtype=np.float64).ravel()
        self.distance = _distance(level, values)
        self.apart = self._apart() if level != Level.ORDINAL else np.zeros(0)

    def _apart(self) -> Floats:
        """Disagreement within each item, summed over pairs, shape (N,)."""
        if self.level == Level.NOMINAL:
            same = np.asarray(self.counts.power(2).sum(axis=1), dtype=np.float64).ravel()
            return (self.read**2 - same) / (self.read - 1)
        to_others = self.counts @ self.distance
        total = np.asarray(self.counts.multiply(to_others).sum(axis=1), dtype=np.float64).ravel()
        return total / (self.read - 1)

    def __call__(self, weights: Floats) -> Floats:
        """Alpha under each row of weights, shape (B, N); NaN where one label only is left."""
        used = np.asarray(weights @ self.counts, dtype=np.float64)
        if self.level == Level.ORDINAL:
            pairs = zip(weights, used, strict=True)
            return np.array([self._ordinal(weight, row) for weight, row in pairs])
        n = used.sum(axis=1)
        seen = weights @ self.apart / n
        expected = ((used @ self.distance) * used).sum(axis=1) / (n * (n - 1))
        return _one_less(seen, expected)

    def _ordinal(self, weights: Floats, used: Floats) -> float:
        """Alpha of ranks, whose distances hang on how often each was used."""
        scaled = self.counts.multiply((weights / (self.read - 1))[:, None])
        pairs = (self.counts.T @ scaled).toarray() - np.diag(np.asarray(scaled.sum(axis=0)).ravel())
        below = np.cumsum(used) - used / 2
        distance = np.subtract.outer(below, below) ** 2
        n = used.sum()
        seen, expected = (pairs * distance).sum() / n, used @ distance @ used / (n * (n - 1))
        return float(_one_less(np.array([seen]), np.array([expected]))[0])


def _one_less(seen: Floats, expected: Floats) -> Floats:
    """1 - Do / De; NaN where nothing else than agreement could be expected."""
    out = np.full(len(seen), np.nan)
    np.divide(seen, expected, out=out, where=expected > 0)
    return 1 - out


def _distance(level: Level, values: Floats) -> Floats:
    """Squared difference between labels, shape (L, L); that of ranks is not fixed."""
    if level in (Level.NOMINAL, Level.ORDINAL):
        return 1.0 - np.eye(len(values))
    apart = np.subtract.outer(values, values)
    if level == Level.INTERVAL:
        return apart**2
    total = np.add.outer(values, values)
    ratio = np.divide(apart, total, out=np.zeros_like(apart), where=total != 0)
    squared: Floats = ratio**2
    return squared


def _bootstrap(
    alpha: _Alpha,
    n: int,
    rng: np.random.Generator,
    draws: int,
    progress: Callable[[float], None],
) -> Floats:
    """Alpha of samples of items drawn with replacement, shape (draws,)."""
    block = max(1, min(draws, 4_000_000 // n))
    even = np.full(n, 1 / n)
    found = []
    for start in range(0, draws, block):
        size = min(block, draws - start)
        found.append(alpha(rng.multinomial(n, even, size=size).astype(np.float64)))
        progress((start + size) / draws)
    return np.concatenate(found)
