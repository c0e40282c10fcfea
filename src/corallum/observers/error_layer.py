r"""What an observer's reports show of their errors: misjudged states and sizes.

Every row of P(reported | true) is a Dirichlet around the group's row, every judgement
of a size by eye a log error around the observer's own bias. A report that belongs to
a group of characters misread as a whole tells nothing of either, so each group of
reports counts by its chance of not being one:

.. math:: w = (1 - e) \prod_c L_c / ((1 - e) \prod_c L_c + e B)

with L_c from the observer's own errors as all other colonies show them, found anew
until nothing moves, and B the likelihood of the reports at the base rate of all forms, as
in the model.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv
from scipy.stats import beta as beta_law

from corallum.model.compiled import CompiledReference, Floats
from corallum.model.errors import OwnErrors
from corallum.model.likelihood import Kernel
from corallum.observers.answered import Answered
from corallum.observers.eye import EyePosterior, EyePrior, learn_eye
from corallum.observers.group_errors import GroupErrors
from corallum.observers.weighing import Weighing

__all__ = ["ErrorPosterior", "Misjudged", "learn_errors"]

_MOST_ROUNDS = 40
_SMALL = 1e-6


@dataclass(frozen=True, slots=True)
class Misjudged:
    """How often an observer takes one state for another: mean and 90 % interval (0 to 1)."""

    character: str
    true: str
    said: str
    mean: float
    low: float
    high: float
    looks: float
    group: float


@dataclass(frozen=True, slots=True)
class ErrorPosterior:
    """What is known of one observer's errors.

    Attributes
    ----------
    counts : mapping of int to ndarray, each (S, S)
        Dirichlet parameters of each true state's row, by character.
    seen : mapping of int to ndarray, each (S, S)
        Reports behind them, weighted by their chance of not being misread.
    eye : EyePosterior
        Of sizes judged by eye.
    group : GroupErrors
        What the rows were shrunk to.
    n : int
        Colonies answered.
    """

    counts: Mapping[int, Floats]
    seen: Mapping[int, Floats]
    eye: EyePosterior
    group: GroupErrors
    n: int

    def own_errors(self, compiled: CompiledReference) -> OwnErrors:
        """Return the mean errors, for the model to use where this observer reports."""
        states = {}
        for c, rows in self.counts.items():
            size = len(rows)
            matrix = np.eye(size + 1)
            matrix[:size, :size] = rows / rows.sum(axis=1, keepdims=True)
            states[compiled.characters[c].id] = matrix
        return OwnErrors(states, self.eye.bias, self.eye.sd)

    def rate(self, c: int, true: int, said: int, mass: float = 0.9) -> tuple[float, float, float]:
        """Return mean, low and high of one P(said | true)."""
        row = self.counts[c][true]
        a, b = float(row[said]), float(row.sum() - row[said])
        low, high = betaincinv(a, b, [(1 - mass) / 2, (1 + mass) / 2])
        return a / (a + b), float(low), float(high)

    def misjudged(self, compiled: CompiledReference, least_looks: float = 3) -> list[Misjudged]:
        """List what the observer takes for what else, worst against the group first.

        Parameters
        ----------
        compiled : CompiledReference
            For the names.
        least_looks : float
            Reports that a true state needs behind it.
        """
        found = []
        for c, seen in self.seen.items():
            character = compiled.characters[c]
            looks = seen.sum(axis=1)
            for t, s in np.argwhere(seen > 0).tolist():
                if t == s or looks[t] < least_looks:
                    continue
                mean, low, high = self.rate(c, t, s)
                group = float(self.group.states[c][t, s])
                found.append(
                    Misjudged(character.id, character.states[t], character.states[s],
                              mean, low, high, float(looks[t]), group)
                )  # fmt: skip
        return sorted(found, key=lambda one: -(one.mean - one.group))

    def density(self, c: int, true: int, said: int, at: Floats) -> Floats:
        """Density of one P(said | true) at several values, for a plot."""
        row = self.counts[c][true]
        values: Floats = beta_law.pdf(at, row[said], row.sum() - row[said])
        return values


def learn_errors(
    kernel: Kernel, group: GroupErrors, answered: Answered, eye: EyePrior | None = None
) -> ErrorPosterior:
    """Learn one observer's errors from reports beside the truth.

    Parameters
    ----------
    kernel : Kernel
        Of an unknown observer: its base rates weigh whether a group was misread.
    group : GroupErrors
        What each row is shrunk to, and how strongly.
    answered : Answered
        Reports and truth of N colonies; N may be 0.
    eye : EyePrior or None
        What sizes by eye are shrunk to; None is that of the group.

    Returns
    -------
    ErrorPosterior
        For every character with states.
    """
    compiled = kernel.compiled
    prior = {c: group.strength * rows for c, rows in group.states.items()}
    eye_prior = eye or group.eye
    weighing = Weighing(kernel, answered)
    weight = np.ones((answered.evidence.size, len(compiled.groups)))
    counts, seen, own = dict(prior), {}, learn_eye(eye_prior, np.zeros(0), np.zeros(0))
    for _ in range(_MOST_ROUNDS):
        seen = weighing.reports(counts, weight)
        counts = {c: prior[c] + seen[c] if c in seen else prior[c] for c in prior}
        own = learn_eye(eye_prior, *weighing.residuals(weight))
        moved = weighing.not_misread(counts, own, weight)
        change = float(np.abs(moved - weight).max(initial=0.0))
        weight = moved
        if change < _SMALL:
            break
    return ErrorPosterior(counts, seen, own, group, answered.evidence.size)
