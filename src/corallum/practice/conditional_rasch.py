"""Rasch difficulties by conditional maximum likelihood: no assumption on the abilities.

Given how many items an observer has right, which ones they are does not depend on the
ability; so the difficulties are found from that alone. Every observer must have answered
every item, and those with none or all right say nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.errors import Fault, InputError
from corallum.practice.item_response import read_answers

__all__ = ["ConditionalFit", "elementary_symmetric", "fit_conditional_rasch"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ConditionalFit:
    """Rasch difficulties found without the abilities.

    Parameters
    ----------
    difficulty, difficulty_error : ndarray, (I,)
        In logits, adding up to zero, and standard errors.
    log_likelihood : float
        Conditional on the scores, natural logarithm.
    n : int
        Observers that say something: some right, some wrong.
    converged : bool
        Whether Newton's method came to rest.
    """

    difficulty: Floats
    difficulty_error: Floats
    log_likelihood: float
    n: int
    converged: bool


def elementary_symmetric(ease: ArrayLike) -> Floats:
    """Return the elementary symmetric functions of order 0 to I.

    Parameters
    ----------
    ease : array_like, (I,)
        exp(-difficulty) of each item.

    Returns
    -------
    ndarray, (I + 1,)
        Sum over all subsets of r items of the product of their ease.

    Examples
    --------
    >>> elementary_symmetric([1.0, 2.0, 3.0]).tolist()
    [1.0, 6.0, 11.0, 6.0]
    """
    gamma = np.array([1.0])
    for value in np.asarray(ease, dtype=float):
        longer = np.append(gamma, 0.0)
        longer[1:] += value * gamma
        gamma = longer
    return gamma


def fit_conditional_rasch(
    answers: ArrayLike, counts: ArrayLike | None = None, most_steps: int = 100
) -> ConditionalFit:
    """Find Rasch difficulties given the scores.

    Parameters
    ----------
    answers : array_like, (O, I)
        1 right, 0 wrong; all asked.
    counts : array_like, (O,), or None
        How often each row was seen; None means once each.
    most_steps : int
        Largest number of Newton steps.

    Returns
    -------
    ConditionalFit
        Difficulties that add up to zero, and standard errors.

    Raises
    ------
    InputError
        If an answer is missing, or an item is right with all or none of the observers that
        say something.

    References
    ----------
    Andersen E.B. 1972. The numerical solution of a set of conditional estimation equations.
    Journal of the Royal Statistical Society B 34:42-54.
    """
    data = read_answers(answers, counts)
    right = data.right
    if not (right + data.wrong == 1).all():
        remedy = "Leave the row out, or use marginal maximum likelihood."
        raise InputError([Fault("answers", "table", "no gaps", "an item not asked", remedy)])
    items = right.shape[1]
    score = right.sum(axis=1).astype(int)
    seen = np.where((score > 0) & (score < items), data.counts, 0.0)
    solved, by_score = seen @ right, np.bincount(score, seen, items + 1).astype(float)
    _check_solved(solved, float(seen.sum()))
    difficulty, moved = np.zeros(items), np.inf
    for _ in range(most_steps):
        expected, information, _ = _moments(difficulty, by_score)
        step = np.linalg.pinv(information) @ (solved - expected)
        difficulty = difficulty - np.clip(step, -1, 1)
        difficulty = difficulty - difficulty.mean()
        moved = float(np.abs(step).max())
        if moved < 1e-10:
            break
    _, information, log_gamma = _moments(difficulty, by_score)
    log = float(-solved @ difficulty - by_score[1:-1] @ log_gamma[1:-1])
    # The information is singular along the all-ones direction that the zero sum takes away.
    error = np.sqrt(np.diag(np.linalg.pinv(information)))
    return ConditionalFit(difficulty, error, log, round(float(seen.sum())), moved < 1e-8)


def _moments(difficulty: Floats, by_score: Floats) -> tuple[Floats, Floats, Floats]:
    """Expected right answers, their covariance over all observers, and log gamma."""
    ease = np.exp(-difficulty)
    n = len(ease)
    gamma = elementary_symmetric(ease)
    expected, information = np.zeros(n), np.zeros((n, n))
    single = np.zeros((n, n + 1))
    for i in range(n):
        single[i, 1:] = ease[i] * elementary_symmetric(np.delete(ease, i)) / gamma[1:]
    for i in range(n):
        for j in range(i):
            both = np.zeros(n + 1)
            rest = elementary_symmetric(np.delete(ease, [i, j]))
            both[2:] = ease[i] * ease[j] * rest / gamma[2:]
            information[i, j] = information[j, i] = by_score @ (both - single[i] * single[j])
        information[i, i] = by_score @ (single[i] * (1 - single[i]))
        expected[i] = by_score @ single[i]
    return expected, information, np.log(gamma)


def _check_solved(solved: Floats, n: float) -> None:
    """Refuse items that have no finite difficulty."""
    faults = [
        Fault(
            "answers",
            f"column {i + 1}",
            "right and wrong answers from observers with some right and some wrong",
            f"{solved[i]:g} right of {n:g}",
            "Leave the item out, or use the difficulty with shrinkage.",
        )
        for i in np.flatnonzero((solved == 0) | (solved == n))
    ]
    if faults:
        raise InputError(faults)
