"""How far two observers' lists of the same items differ: in names, and in number.

The quality checks of a second reading. Percent difference in enumeration has two
definitions in use, one twice the other: both are given, and named.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "PairedDifference",
    "enumeration_difference",
    "paired_difference",
    "taxonomic_disagreement",
]


@dataclass(frozen=True, slots=True)
class PairedDifference:
    """Two observers over the same items.

    Attributes
    ----------
    n_first, n_second, n_both : int
        Items that each read, and that both read.
    agreements : int
        Items that both gave the same label.
    disagreement_percent : float
        Percent taxonomic disagreement, PTD; NaN where none was read.
    enumeration_of_sum_percent, enumeration_of_mean_percent : float
        Percent difference in enumeration, PDE: over the sum of the two numbers, and over
        their mean, which is twice that.
    """

    n_first: int
    n_second: int
    n_both: int
    agreements: int
    disagreement_percent: float
    enumeration_of_sum_percent: float
    enumeration_of_mean_percent: float


def taxonomic_disagreement(agreements: int, n_first: int, n_second: int) -> float:
    """Percent taxonomic disagreement: (1 - agreements / the larger number) * 100.

    References
    ----------
    Stribling, Moulton and Lester 2003, Journal of the North American Benthological Society
    22:621-631.
    """
    larger = max(n_first, n_second)
    return 100 * (1 - agreements / larger) if larger else math.nan


def enumeration_difference(n_first: int, n_second: int, *, of_mean: bool = False) -> float:
    """Percent difference in enumeration: abs(n1 - n2) / (n1 + n2) * 100.

    Parameters
    ----------
    n_first, n_second : int
        Items that each observer counted.
    of_mean : bool
        Divide by the mean of the two instead of their sum, as some quality plans do.
    """
    total = n_first + n_second
    if not total:
        return math.nan
    return (200 if of_mean else 100) * abs(n_first - n_second) / total


def paired_difference(first: NDArray[np.int64], second: NDArray[np.int64]) -> PairedDifference:
    """Compare two observers' labels of the same N items; -1 is not read."""
    read_first, read_second = first >= 0, second >= 0
    agreements = int((read_first & (first == second)).sum())
    n_first, n_second = int(read_first.sum()), int(read_second.sum())
    return PairedDifference(
        n_first,
        n_second,
        int((read_first & read_second).sum()),
        agreements,
        taxonomic_disagreement(agreements, n_first, n_second),
        enumeration_difference(n_first, n_second),
        enumeration_difference(n_first, n_second, of_mean=True),
    )
