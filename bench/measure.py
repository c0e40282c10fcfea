"""Time a piece of work: the best of several runs, as little disturbed as can be."""

from __future__ import annotations

import time
from collections.abc import Callable

__all__ = ["best_seconds", "median_seconds"]


def best_seconds(work: Callable[[], object], runs: int = 5) -> float:
    """Return the shortest of several runs."""
    return min(_seconds(work) for _ in range(runs))


def median_seconds(work: Callable[[], object], runs: int = 21) -> float:
    """Return the median of several runs."""
    return sorted(_seconds(work) for _ in range(runs))[runs // 2]


def _seconds(work: Callable[[], object]) -> float:
    """Time one run."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start
