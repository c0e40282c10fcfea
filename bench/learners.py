"""What the order of practice saves: every kind of simulated learner, every order.

Run with ``python bench/learners.py``; about two minutes. Learners are of our own
construction and forget by curves that the scheduler does not use; figures are no
measurement of people. The same seed is the same learner in every order.
"""

from __future__ import annotations

import numpy as np
from rich.progress import Progress

from corallum.practice.courses import ORDERS, answers_needed
from corallum.practice.learners import KINDS, Course, reef_shares

__all__ = ["bench_learners"]

LEARNERS = 200
GENERA = 20
GOAL = 0.85
# Shares fall as 1 / rank^steepness: none, as a mixed reef, and a reef of few genera.
STEEPNESS = (0.0, 1.0, 1.5)


def bench_learners(learners: int = LEARNERS) -> list[str]:
    """Return lines of figures: mean answers to the goal, and what ours saves."""
    lines = [
        f"answers to a share-weighted accuracy of {GOAL}, {learners} simulated learners a kind, "
        f"{GENERA} genera (95 % range of what is saved by resampling learners)"
    ]
    with Progress(transient=True) as bar:
        task = bar.add_task("learners", total=len(STEEPNESS) * len(KINDS) * len(ORDERS))
        for steepness in STEEPNESS:
            course = Course(reef_shares(GENERA, steepness))
            for kind in KINDS:
                found = []
                for order in ORDERS:
                    found.append(answers_needed(kind, course, order, np.arange(learners), GOAL))
                    bar.advance(task)
                lines.append(f"shares 1/rank^{steepness:g}, {kind.name}: {_line(found)}")
    return lines


def _line(found: list[np.ndarray]) -> str:
    """Figures of one kind of learner."""
    *others, ours = found
    means = ", ".join(f"{n} {f.mean():.0f}" for n, f in zip(ORDERS, found, strict=True))
    saved = ", ".join(
        f"{_saved(ours, other)} on {name}" for name, other in zip(ORDERS, others, strict=False)
    )
    return f"{means}; saves {saved}"


def _saved(ours: np.ndarray, other: np.ndarray) -> str:
    """Share of answers saved, with its range."""
    rng = np.random.default_rng(1)
    rows = rng.integers(len(ours), size=(2000, len(ours)))
    again = 1 - ours[rows].mean(axis=1) / other[rows].mean(axis=1)
    low, high = np.percentile(again, [2.5, 97.5])
    return f"{1 - ours.mean() / other.mean():.0%} ({low:.0%} to {high:.0%})"


if __name__ == "__main__":
    for line in bench_learners():
        print(line)
