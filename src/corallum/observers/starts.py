"""Start EM from several places, to learn whether another start ends somewhere likelier.

EM climbs to the nearest maximum. The start from the votes gives labels the
meaning that most observers give them; a likelier maximum may explain the readings
better, or only split a rare label to suit a few of them. Hence the votes' own
maximum is kept by default, and what the others found is said.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.observers.dawid_skene import Fit, ReadingMatrix, vote_shares

__all__ = ["StartPlan", "Starts", "draw_start", "try_starts"]

Floats = NDArray[np.float64]
Run = Callable[[Floats, Callable[[float], None]], Fit]
# Two ends nearer than this in what EM drives up are the same end.
_SAME = 0.01


@dataclass(frozen=True, slots=True)
class StartPlan:
    """Where to start from, and which end to keep.

    Parameters
    ----------
    n : int
        Random starts, beside that from the votes.
    keep : str
        "votes": the end of the start from the votes. "best": the highest end.
    """

    n: int = 5
    keep: str = "votes"


@dataclass(frozen=True, slots=True)
class Starts:
    """What several starts ended in.

    Attributes
    ----------
    tried : int
        Starts in all, that from the votes among them.
    same : int
        Starts that ended where the kept one did.
    best_bound : float
        Highest end of what EM drives up; the log likelihood, where nothing is shrunk.
    changed : int
        Items whose label is another at that end than at the kept one.
    kept : str
        "votes" or "best".
    """

    tried: int
    same: int
    best_bound: float
    changed: int
    kept: str

    @property
    def agree(self) -> bool:
        """Whether all starts ended in one place."""
        return self.same == self.tried


def draw_start(matrix: ReadingMatrix, rng: np.random.Generator) -> Floats:
    """Draw a posterior to start from, shape (N, L).

    Votes with the observers weighed at random (exponential weights), a fifth of each item's
    share given to labels at random (uniform Dirichlet).
    """
    votes = vote_shares(matrix, rng.exponential(size=matrix.n_observers))
    noise = rng.standard_exponential((matrix.n_items, matrix.n_labels))
    noise /= noise.sum(axis=1, keepdims=True)
    start: Floats = 0.8 * votes + 0.2 * noise
    return start


def try_starts(
    matrix: ReadingMatrix,
    run: Run,
    rng: np.random.Generator,
    plan: StartPlan,
    progress: Callable[[float], None] = lambda _: None,
) -> tuple[Fit, Starts]:
    """Run EM from the votes and from random starts.

    Parameters
    ----------
    matrix : ReadingMatrix
        Readings of N items.
    run : callable
        Takes a posterior to start from, and whom to tell the share done; returns a Fit.
    rng : numpy.random.Generator
        Draws the starts.
    plan : StartPlan
        How many, and which end to keep.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    Fit and Starts
        The kept fit, and what the starts ended in.
    """
    n, keep = plan.n, plan.keep
    votes = best = run(vote_shares(matrix), lambda share: progress(share / (n + 1)))
    ends = [votes.bounds[-1]]
    for i in range(1, n + 1):
        start = draw_start(matrix, rng)
        other = run(start, lambda share, done=i: progress((done + share) / (n + 1)))  # type: ignore[misc]  # a lambda's default
        ends.append(other.bounds[-1])
        # Only a start that ends clearly higher replaces one found before it.
        if other.bounds[-1] > best.bounds[-1] + _SAME:
            best = other
    kept = best if keep == "best" else votes
    same = sum(1 for end in ends if abs(end - kept.bounds[-1]) <= _SAME)
    changed = int((best.posterior.argmax(axis=1) != votes.posterior.argmax(axis=1)).sum())
    return kept, Starts(n + 1, same, max(ends), changed if kept is votes else 0, keep)
