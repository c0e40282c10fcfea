r"""Mark an answer against the best that the water allows, so that honesty pays.

The answer is read as a distribution q over genera and scored quadratically against the
posterior p of a full look without error:

.. math:: s = 1 - \tfrac{1}{2} \sum_g (q_g - p_g)^2

which is 1 where they agree and 0 where they are certain of different genera. Up to terms
in p alone it is the expected score of Brier 1950 (Monthly Weather Review 78:1-3), so no
other answer than p scores better: a set of two where the water can't part them, and a
confidence as high as is warranted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from corallum.model.compiled import CompiledReference, Floats
from corallum.practice.item import Item, PracticeAnswer

__all__ = ["Mark", "as_distribution", "best_distribution", "mark_answer", "quadratic_score"]

_SET_MASS = 0.9


@dataclass(frozen=True, slots=True)
class Mark:
    """How good an answer was.

    Attributes
    ----------
    score : float
        0 to 1; 1 agrees with the best posterior.
    right : bool
        The truth is named, and nothing beside it that a full look rules out.
    honest_set : tuple of str
        Smallest set that holds 90 % of the best posterior.
    """

    score: float
    right: bool
    honest_set: tuple[str, ...]


def best_distribution(compiled: CompiledReference, best: Mapping[str, float]) -> Floats:
    """Return the best posterior as an array, shape (G + 1,), the rest on something else."""
    p = np.zeros(len(compiled.genera) + 1)
    for genus, share in best.items():
        if genus in compiled.genera:
            p[compiled.genera.index(genus)] = share
    p[-1] = max(1.0 - p.sum(), 0.0)
    total: Floats = p / p.sum()
    return total


def as_distribution(compiled: CompiledReference, answer: PracticeAnswer, prior: Floats) -> Floats:
    """Read an answer as a distribution, shape (G + 1,).

    Parameters
    ----------
    answer : PracticeAnswer
        Its confidence is shared evenly by the genera named.
    prior : ndarray, shape (G + 1,)
        P(genus) of the region: takes the rest, without the genera named.
    """
    named = [compiled.genera.index(genus) for genus in answer.genera] or [len(compiled.genera)]
    rest = prior.copy()
    rest[named] = 0.0
    q: Floats = (1 - answer.confidence) * rest / rest.sum()
    q[named] = answer.confidence / len(named)
    return q


def quadratic_score(q: Floats, p: Floats) -> float:
    """Score a distribution against the best one, 0 to 1."""
    return float(1 - 0.5 * ((q - p) ** 2).sum())


def mark_answer(
    compiled: CompiledReference, item: Item, answer: PracticeAnswer, prior: Floats
) -> Mark:
    """Mark one answer.

    Parameters
    ----------
    item : Item
        With its best posterior.
    answer : PracticeAnswer
        Of genera of the reference.
    prior : ndarray, shape (G + 1,)
        P(genus) of the item's region.
    """
    p = best_distribution(compiled, item.best)
    honest = _smallest_set(compiled, p)
    allowed = {*honest, item.genus}
    named = set(answer.genera)
    right = item.genus in named and named <= allowed
    return Mark(quadratic_score(as_distribution(compiled, answer, prior), p), right, honest)


def _smallest_set(compiled: CompiledReference, p: Floats) -> tuple[str, ...]:
    """Return the smallest set of genera that holds the wanted mass."""
    order = np.argsort(-p[:-1], kind="stable")
    held = np.cumsum(p[order])
    n = min(int(np.searchsorted(held, _SET_MASS)) + 1, len(order))
    return tuple(compiled.genera[i] for i in order[:n].tolist() if p[i] > 0)
