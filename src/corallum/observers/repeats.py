"""The same observer, the same items, days apart: how often the answer is the same.

It says how steady an observer is, not how right: who always errs the same way repeats
well. Items read again within a day are left out, for then the answer is remembered.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import norm

from corallum.errors import Fault, InputError
from corallum.observers.intervals import Interval, wilson_interval

__all__ = ["Repeats", "chance_corrected", "compare_repeats"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Repeats:
    """How steady an observer is.

    Parameters
    ----------
    n, same : int
        Items read twice, and those with the same answer both times.
    too_soon : int
        Items left out because the readings were too close.
    share : float or None
        Share with the same answer; None without a pair.
    share_range : Interval or None
        Wilson's interval of it.
    corrected : float or None
        Cohen's kappa of the two readings; None where every answer is one label, or
        without a pair.
    corrected_range : Interval or None
        Large-sample interval of it, rough below about 30 items.
    """

    n: int
    same: int
    too_soon: int
    share: float | None
    share_range: Interval | None
    corrected: float | None
    corrected_range: Interval | None


def compare_repeats(
    first: Sequence[Hashable],
    second: Sequence[Hashable],
    days_between: ArrayLike,
    least_days: float = 1.0,
    level: float = 0.95,
) -> Repeats:
    """Compare two readings of the same items by the same observer.

    Parameters
    ----------
    first, second : sequence, (n,)
        Labels given at the first and the second reading.
    days_between : array_like, (n,)
        Days between them; not negative.
    least_days : float
        Pairs closer than this are left out and counted.
    level : float
        Coverage of the intervals, 0 to 1.

    Returns
    -------
    Repeats
        Share of same answers and the same corrected for chance, with intervals.

    Raises
    ------
    InputError
        If the three differ in length or a number of days is negative or missing.
    """
    days = np.asarray(days_between, dtype=float)
    if not len(first) == len(second) == len(days):
        found = f"{len(first)}, {len(second)} and {len(days)}"
        remedy = "Give each item both readings and the days between them."
        raise InputError([Fault("repeats", "lengths", "three the same", found, remedy)])
    if not (days >= 0).all():
        remedy = "Give the days from the first reading to the second."
        raise InputError([Fault("repeats", "days", "0 or more", str(days.min()), remedy)])
    kept = np.flatnonzero(days >= least_days).tolist()
    n, too_soon = len(kept), len(days) - len(kept)
    if n == 0:
        return Repeats(0, 0, too_soon, None, None, None, None)
    table = _cross_table([first[i] for i in kept], [second[i] for i in kept])
    same = int(np.trace(table))
    kappa = chance_corrected(table)
    corrected, ends = None, None
    if kappa is not None:
        corrected, error = kappa
        half = float(norm.ppf((1 + level) / 2)) * error
        ends = Interval(max(corrected - half, -1.0), min(corrected + half, 1.0))
    return Repeats(n, same, too_soon, same / n, wilson_interval(same, n, level), corrected, ends)


def chance_corrected(table: ArrayLike) -> tuple[float, float] | None:
    """Return Cohen's kappa of a square table and its large-sample standard error.

    Parameters
    ----------
    table : array_like, (L, L)
        Counts, first reading by second reading.

    Returns
    -------
    tuple of float or None
        Kappa and its standard error; None where chance alone would agree always.

    References
    ----------
    Cohen J. 1960. Educational and Psychological Measurement 20:37-46. Fleiss J.L., Cohen J.,
    Everitt B.S. 1969. Psychological Bulletin 72:323-327, for the standard error.
    """
    counts = np.asarray(table, dtype=float)
    n = counts.sum()
    share = counts / n
    rows, columns = share.sum(axis=1), share.sum(axis=0)
    seen, chance = float(np.trace(share)), float(rows @ columns)
    if math.isclose(chance, 1.0, abs_tol=1e-12):
        return None
    kappa = (seen - chance) / (1 - chance)
    lean = rows[None, :] + columns[:, None]  # column share of i, row share of j
    own = np.diag(share) @ (1 - np.diag(lean) * (1 - kappa)) ** 2
    rest = share * lean**2
    other = (1 - kappa) ** 2 * (rest.sum() - np.trace(rest))
    variance = own + other - (kappa - chance * (1 - kappa)) ** 2
    return kappa, math.sqrt(max(variance, 0.0) / n) / (1 - chance)


def _cross_table(first: list[Hashable], second: list[Hashable]) -> Floats:
    """Counts of each pair of labels."""
    place = {label: i for i, label in enumerate(dict.fromkeys([*first, *second]))}
    table = np.zeros((len(place), len(place)))
    for one, two in zip(first, second, strict=True):
        table[place[one], place[two]] += 1
    return table
