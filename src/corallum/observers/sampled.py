"""The hierarchical model sampled: probabilities that know how little is known of the rates.

EM takes the rates that it found as if they were known, and so claims too much of
tables of a few hundred items or less. Here labels, rows, the group's rows and
their strength are drawn in turn, each given the others, and labels are counted
over all draws. Slow for large tables, where EM is as good.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import digamma, gammaln

from corallum.observers.dawid_skene import ReadingMatrix, expect
from corallum.observers.hierarchical import STRENGTH_RATE, STRENGTH_SHAPE, Shrinkage, group_prior

__all__ = ["SamplePlan", "Sampled", "sample_labels"]

Floats = NDArray[np.float64]
_CHAINS = 2
_STRENGTH_START = 10.0
# Steps of the strength in a sweep, and their standard deviation in logs.
_STRENGTH_STEPS, _STRENGTH_STEP = 3, 0.5
# Draws of a cell that are made one by one; beyond, by their Poisson limit.
_ONE_BY_ONE = 100
_LEAST = 1e-300


@dataclass(frozen=True, slots=True)
class SamplePlan:
    """How long to sample.

    Parameters
    ----------
    sweeps : int
        Sweeps of each of two chains, the first third of which is not counted.
    """

    sweeps: int = 1500


@dataclass(frozen=True, slots=True, eq=False)
class Sampled:
    """What two chains found together.

    Attributes
    ----------
    posterior : ndarray, shape (N, L)
        P(true label | readings), rates and group being uncertain.
    prevalence : ndarray, shape (L,)
        Posterior mean of the prevalences.
    matrices, group : ndarray, shapes (O, L, L) and (L, L)
        Posterior means of the observers' rows and of the group's.
    weights : ndarray, shape (O, L)
        Expected number of readings that each row rests on.
    strength : float
        Posterior mean of the strength.
    apart : float
        Largest difference between the chains in any item's probability of any label.
    """

    posterior: Floats
    prevalence: Floats
    matrices: Floats
    group: Floats
    weights: Floats
    strength: float
    apart: float


def sample_labels(
    matrix: ReadingMatrix,
    start: Floats,
    shrinkage: Shrinkage,
    rng: np.random.Generator,
    plan: SamplePlan | None = None,
    progress: Callable[[float], None] = lambda _: None,
) -> Sampled:
    """Sample labels and rates of the hierarchical model.

    Parameters
    ----------
    matrix : ReadingMatrix
        Readings of N items.
    start : ndarray, shape (N, L)
        Posterior to start from; labels keep the meaning that they have there.
    shrinkage : Shrinkage
        How rows are drawn together.
    rng : numpy.random.Generator
        Source of randomness.
    plan : SamplePlan, optional
        How long.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    Sampled
        Means over the counted sweeps of both chains.

    Notes
    -----
    Gibbs sampling of the model of `hierarchical`, prevalences with a flat Dirichlet prior.
    The group's rows are drawn by way of how many readings came from the group (Antoniak's
    distribution), the strength by Metropolis steps in its log.

    References
    ----------
    Gelman et al. 2013, Bayesian Data Analysis, chapter 11; Antoniak 1974, Annals of
    Statistics 2:1152-1174; Teh et al. 2006, Journal of the American Statistical Association
    101:1566-1581 (all from memory).
    """
    sweeps = (plan or SamplePlan()).sweeps
    chains = []
    for i in range(_CHAINS):
        chain = _Chain(matrix, shrinkage, rng)
        posterior = start
        for sweep in range(sweeps):
            posterior = chain.sweep(posterior, counted=sweep >= sweeps // 3)
            progress((i + (sweep + 1) / sweeps) / _CHAINS)
        chains.append(chain.means())
    means = {name: np.mean([chain[name] for chain in chains], axis=0) for name in chains[0]}
    apart = float(np.abs(chains[0]["posterior"] - chains[1]["posterior"]).max())
    return Sampled(
        means["posterior"],
        means["prevalence"],
        means["matrices"],
        means["group"],
        means["weights"],
        float(means["strength"]),
        apart,
    )


class _Chain:
    """One chain, and the sums of what it drew."""

    def __init__(
        self, matrix: ReadingMatrix, shrinkage: Shrinkage, rng: np.random.Generator
    ) -> None:
        self.matrix, self.rng = matrix, rng
        self.prior = group_prior(matrix.n_labels, shrinkage)
        self.is_estimated = shrinkage.strength is None
        self.strength = _STRENGTH_START if shrinkage.strength is None else shrinkage.strength
        self.group: Floats = self.prior / self.prior.sum(axis=1, keepdims=True)
        self.sums: dict[str, Floats] = {}
        self.n = 0

    def sweep(self, posterior: Floats, *, counted: bool) -> Floats:
        """Draw everything once, labels from the posterior given the last rates."""
        labels = self._draw_labels(posterior)
        counts = self.matrix.tally(labels)
        self.group = _dirichlet(self._draw_origins(counts).sum(axis=0) + self.prior + 1, self.rng)
        if self.is_estimated:
            for _ in range(_STRENGTH_STEPS):
                self._step_strength(counts)
        rows = _dirichlet(counts + self.strength * self.group, self.rng)
        prevalence = _dirichlet(labels.sum(axis=0) + 1, self.rng)
        posterior, _ = expect(self.matrix, np.log(rows), prevalence)
        if counted:
            self._count(posterior, prevalence, rows, counts)
        return posterior

    def _draw_labels(self, posterior: Floats) -> Floats:
        """Draw a label of each item, as a one among noughts, shape (N, L)."""
        steps = np.cumsum(posterior, axis=1)
        point = self.rng.random((len(steps), 1)) * steps[:, -1:]
        drawn = np.minimum((steps <= point).sum(axis=1), posterior.shape[1] - 1)
        labels = np.zeros_like(posterior)
        labels[np.arange(len(labels)), drawn] = 1.0
        return labels

    def _draw_origins(self, counts: Floats) -> Floats:
        """Draw how many readings of each cell came from the group and not from habit."""
        own = np.broadcast_to(self.strength * self.group, counts.shape)
        cells = np.flatnonzero(counts > 0)
        weight, left = own.ravel()[cells], counts.ravel()[cells]
        found = np.zeros(len(cells))
        for j in range(int(min(left.max(initial=0), _ONE_BY_ONE))):
            found += (left > j) & (self.rng.random(len(cells)) < weight / (weight + j))
        many = left > _ONE_BY_ONE
        rest = digamma(weight[many] + left[many]) - digamma(weight[many] + _ONE_BY_ONE)
        found[many] += self.rng.poisson(weight[many] * rest)
        origins = np.zeros(counts.size)
        origins[cells] = found
        return origins.reshape(counts.shape)

    def _log_strength(self, counts: Floats, strength: float) -> float:
        """Log density of the log of a strength, given labels and the group's rows."""
        own = strength * self.group
        within = float((gammaln(counts + own) - gammaln(own)).sum())
        reads = counts.sum(axis=2)
        apart = float((gammaln(reads + strength) - gammaln(strength)).sum())
        return within - apart + STRENGTH_SHAPE * float(np.log(strength)) - STRENGTH_RATE * strength

    def _step_strength(self, counts: Floats) -> None:
        """Step the strength, or stay."""
        other = self.strength * float(np.exp(_STRENGTH_STEP * self.rng.standard_normal()))
        gain = self._log_strength(counts, other) - self._log_strength(counts, self.strength)
        if np.log(self.rng.random()) < gain:
            self.strength = other

    def _count(self, posterior: Floats, prevalence: Floats, rows: Floats, counts: Floats) -> None:
        """Add what was drawn to the sums."""
        drawn = {
            "posterior": posterior,
            "prevalence": prevalence,
            "matrices": rows,
            "group": self.group,
            "weights": counts.sum(axis=2),
            "strength": np.array(self.strength),
        }
        for name, value in drawn.items():
            self.sums[name] = self.sums[name] + value if name in self.sums else value.copy()
        self.n += 1

    def means(self) -> dict[str, Floats]:
        """Means over the counted sweeps."""
        return {name: total / self.n for name, total in self.sums.items()}


def _dirichlet(concentration: Floats, rng: np.random.Generator) -> Floats:
    """Draw shares along the last axis, never quite 0."""
    drawn = np.maximum(rng.standard_gamma(concentration), _LEAST)
    shares: Floats = np.maximum(drawn / drawn.sum(axis=-1, keepdims=True), _LEAST)
    return shares
