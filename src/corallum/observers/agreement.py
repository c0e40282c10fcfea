"""Every coefficient of agreement of one table of readings, and each pair of observers.

First readings only: a repeat by the same observer is no second opinion. Repeats
are compared with the first by themselves.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from corallum.observers.coefficient import Coefficient, no_coefficient
from corallum.observers.cohen import agreement_weights, cohen_kappa, cross_table, weighted_kappa
from corallum.observers.fleiss import FleissKappa, fleiss_kappa
from corallum.observers.gwet import gwet_ac1
from corallum.observers.krippendorff import Level, krippendorff_alpha
from corallum.observers.paired import PairedDifference, paired_difference
from corallum.observers.readings import Readings

__all__ = ["Agreement", "Pair", "Repeats", "measure_agreement"]

# More observers than this have their pairs left out: they grow with the square.
_MOST_IN_PAIRS = 60


@dataclass(frozen=True, slots=True)
class Pair:
    """Two observers over the items that they read."""

    first: str
    second: str
    difference: PairedDifference
    kappa: Coefficient


@dataclass(frozen=True, slots=True)
class Repeats:
    """How often an observer's repeat reading gives the label of the first."""

    observer: str
    repeats: int
    same: int


@dataclass(frozen=True, slots=True)
class Agreement:
    """How far observers agree.

    Attributes
    ----------
    n_items, n_observers, n_readings, n_repeats : int
        Size of the table; first readings, and repeats, which are left out.
    labels : tuple of str
        Labels, sorted.
    cohen, fleiss, alpha, ac1 : Coefficient
        Cohen's kappa (two observers), Fleiss' kappa, Krippendorff's alpha, Gwet's AC1.
    weighted : Coefficient or None
        Weighted kappa, where weights were asked for.
    most_kappa : float or None
        Highest Cohen's kappa that the two observers' shares of labels allow.
    by_label : tuple of (str, float)
        Fleiss' kappa of each label against all others; NaN where it has none.
    pairs : tuple of Pair
        Every two observers; none if there are more than 60 observers.
    repeats : tuple of Repeats
        Observers with repeat readings.
    """

    n_items: int
    n_observers: int
    n_readings: int
    n_repeats: int
    labels: tuple[str, ...]
    cohen: Coefficient
    fleiss: Coefficient
    alpha: Coefficient
    ac1: Coefficient
    weighted: Coefficient | None
    most_kappa: float | None
    by_label: tuple[tuple[str, float], ...]
    pairs: tuple[Pair, ...]
    repeats: tuple[Repeats, ...]


def measure_agreement(  # noqa: PLR0913  all but the first two have defaults
    readings: Readings,
    rng: np.random.Generator,
    *,
    level: Level = Level.NOMINAL,
    weights: str = "none",
    values: NDArray[np.float64] | None = None,
    draws: int = 1000,
    progress: Callable[[float], None] = lambda _: None,
) -> Agreement:
    """Reckon every coefficient of a table of readings.

    Parameters
    ----------
    readings : Readings
        Who named which item what.
    rng : numpy.random.Generator
        For the interval of alpha.
    level : Level
        Level of alpha.
    weights : str
        "none", "linear" or "quadratic": for weighted kappa, labels being in their order.
    values : ndarray, shape (L,), optional
        The number that each label is, for alpha of interval and ratio.
    draws : int
        Samples of items for the interval of alpha.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    Agreement
        With a reason in the place of each coefficient that can't be reckoned.
    """
    first = readings.first
    counts = first.counts
    numbers = np.arange(len(readings.labels), dtype=np.float64) if values is None else values
    fleiss = fleiss_kappa(counts)
    cohen, most, weighted = _two_observers(readings, weights)
    alpha = krippendorff_alpha(counts, level, numbers, rng, draws=draws, progress=progress)
    ac1 = gwet_ac1(counts)
    if len(readings.observers) < 2:
        alone = no_coefficient("one observer only")
        cohen, alpha, ac1, fleiss = alone, alone, alone, _without(fleiss, alone)
    return Agreement(
        len(readings.items),
        len(readings.observers),
        len(first),
        len(readings) - len(first),
        readings.labels,
        cohen,
        fleiss.coefficient,
        alpha,
        ac1,
        weighted,
        most,
        tuple(zip(readings.labels, fleiss.by_label.tolist(), strict=True)),
        _pairs(readings),
        _repeats(readings),
    )


def _without(fleiss: FleissKappa, reason: Coefficient) -> FleissKappa:
    """Put a reason in the place of the value."""
    return FleissKappa(
        reason, fleiss.observed, fleiss.expected, fleiss.share, fleiss.z, fleiss.by_label
    )


def _two_observers(
    readings: Readings, weights: str
) -> tuple[Coefficient, float | None, Coefficient | None]:
    """Cohen's kappa, the highest it could be, and weighted kappa, where there are two observers."""
    n = len(readings.observers)
    if n != 2:
        found = no_coefficient(f"needs two observers, found {n}")
        return found, None, found if weights != "none" else None
    n_labels = len(readings.labels)
    counts = cross_table(readings.of_observer(0), readings.of_observer(1), n_labels)
    kappa = cohen_kappa(counts)
    weighted = None
    if weights != "none":
        weighted = weighted_kappa(counts, agreement_weights(n_labels, weights)).coefficient
    return kappa.coefficient, None if kappa.coefficient.value is None else kappa.most, weighted


def _pairs(readings: Readings) -> tuple[Pair, ...]:
    """Compare every two observers, those who disagree most first."""
    n = len(readings.observers)
    if n > _MOST_IN_PAIRS:
        return ()
    columns = readings.table.T
    found = []
    for a, b in combinations(range(n), 2):
        difference = paired_difference(columns[a], columns[b])
        counts = cross_table(columns[a], columns[b], len(readings.labels))
        kappa = cohen_kappa(counts).coefficient
        found.append(Pair(readings.observers[a], readings.observers[b], difference, kappa))
    return tuple(sorted(found, key=_disagreement, reverse=True))


def _disagreement(pair: Pair) -> float:
    """Share of the items both read that they named apart; -1 where there are none."""
    both = pair.difference.n_both
    return 1 - pair.difference.agreements / both if both else -1.0


def _repeats(readings: Readings) -> tuple[Repeats, ...]:
    """Compare each repeat with the first reading."""
    cell = readings.item * len(readings.observers) + readings.observer
    _, first, back = np.unique(cell, return_index=True, return_inverse=True)
    first = first[back]
    later = first != np.arange(len(readings))
    same = later & (readings.label == readings.label[first])
    n = len(readings.observers)
    repeats = np.bincount(readings.observer[later], minlength=n).tolist()
    agreed = np.bincount(readings.observer[same], minlength=n).tolist()
    rows = zip(readings.observers, repeats, agreed, strict=True)
    return tuple(Repeats(*row) for row in rows if row[1])
