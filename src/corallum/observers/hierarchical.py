"""Dawid and Skene's model with each observer's rows drawn towards those of the group.

An observer who met a label three times has no error rates to speak of; the group
may have. Each row has a Dirichlet prior round the group's row, the group's row one
round a given matrix, such as confusions simulated from the reference. How strongly
rows are drawn is itself estimated from how far observers differ, or set.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import digamma, gammaln

from corallum.observers.dawid_skene import Fit, Model, ReadingMatrix, expect, has_settled

__all__ = [
    "STRENGTH_RATE",
    "STRENGTH_SHAPE",
    "GroupFit",
    "Shrinkage",
    "even_confusions",
    "fit_group",
    "group_prior",
]

Floats = NDArray[np.float64]
# Our own choices, no source: they matter where there are few readings only.
_RIGHT = 0.7
_FLOOR = 0.01
_STRENGTH_START = 10.0
STRENGTH_SHAPE, STRENGTH_RATE = 2.0, 0.1
_STEPS = 5
_TOLERANCE = 1e-11
_MOST_STRENGTH = 1e6


@dataclass(frozen=True, slots=True, eq=False)
class Shrinkage:
    """How rows are drawn together.

    Parameters
    ----------
    strength : float or None
        How many readings the group's row counts for in each observer's; None estimates it.
    prior : ndarray, shape (L, L), or None
        Rows that the group's are drawn to; None is `even_confusions`.
    prior_strength : float
        How many readings these count for in the group's rows.
    """

    strength: float | None = None
    prior: Floats | None = None
    prior_strength: float = 5.0


@dataclass(frozen=True, slots=True, eq=False)
class GroupFit(Fit):
    """Observers and their group.

    The rows of its model are posterior means, (counts + strength x group) / (weights +
    strength); its bounds are lower bounds of the log evidence, up to a constant.

    Attributes
    ----------
    group : ndarray, shape (L, L)
        P(said | true) of the group.
    strength : float
        How many readings the group's row counted for.
    concentration : ndarray, shape (O, L, L)
        Dirichlet posterior of each row: how well it is known, for what is reckoned from it.
    """

    group: Floats
    strength: float
    concentration: Floats


def even_confusions(n_labels: int) -> Floats:
    """Rows that say the true label in 70 % of readings, any other equally often."""
    if n_labels == 1:
        return np.ones((1, 1))
    rows = np.full((n_labels, n_labels), (1 - _RIGHT) / (n_labels - 1))
    np.fill_diagonal(rows, _RIGHT)
    return rows


def group_prior(n_labels: int, shrinkage: Shrinkage) -> Floats:
    """Readings that the given rows count for in the group's, none of them 0, shape (L, L)."""
    given = even_confusions(n_labels) if shrinkage.prior is None else shrinkage.prior
    return shrinkage.prior_strength * ((1 - _FLOOR) * given + _FLOOR / n_labels)


def fit_group(
    matrix: ReadingMatrix,
    start: Floats,
    shrinkage: Shrinkage | None = None,
    most_rounds: int = 2000,
    progress: Callable[[float], None] = lambda _: None,
) -> GroupFit:
    """Fit prevalences, observers' rows and the group's rows.

    Use it where observers have few readings of some labels, which is nearly always; plain
    Dawid and Skene then gives rates of 0 and 1 that are nobody's. Not to find an observer
    who calls everything by another name than all others: rows are drawn to the group's.

    Parameters
    ----------
    matrix : ReadingMatrix
        Readings of N items.
    start : ndarray, shape (N, L)
        Posterior to start from, such as the shares of votes.
    shrinkage : Shrinkage, optional
        How rows are drawn together.
    most_rounds : int
        Rounds after which to give up.
    progress : callable
        Is told the share of the rounds done, 0 to 1.

    Returns
    -------
    GroupFit
        With `converged` False where the rounds ran out.

    Notes
    -----
    theta_ok ~ Dirichlet(s g_k), g_k ~ Dirichlet(1 + t prior_k), s ~ Gamma(2, rate 0.1),
    prevalences by maximum likelihood. Mean-field variational EM: labels and rows have
    distributions, g and s are at their mode. One bound rises throughout.

    References
    ----------
    Dirichlet rows under expectations: Bishop 2006, Pattern Recognition and Machine Learning,
    section 10.2 (from memory). Steps for g and s: fixed points of Minka 2000, Estimating a
    Dirichlet distribution (from memory).
    """
    shrinkage = shrinkage or Shrinkage()
    state = _Group(matrix, start, shrinkage)
    bounds: list[float] = []
    converged = False
    posterior = start
    while not converged and len(bounds) < most_rounds:
        prevalence = posterior.mean(axis=0)
        state.update(matrix.tally(posterior))
        posterior, log_expected = expect(matrix, state.expected_log_rows(), prevalence)
        bounds.append(float(log_expected + state.penalty()))
        converged = has_settled(bounds, _TOLERANCE)
        progress(len(bounds) / most_rounds)
    model = Model(prevalence, state.mean_rows())
    _, log_likelihood = expect(matrix, np.log(model.matrices), prevalence)
    weights = state.counts.sum(axis=2)
    return GroupFit(
        model,
        posterior,
        weights,
        log_likelihood,
        tuple(bounds),
        converged,
        state.group,
        state.strength,
        state.concentration,
    )


class _Group:
    """The group's rows, their strength, and the observers' rows round them."""

    def __init__(self, matrix: ReadingMatrix, start: Floats, shrinkage: Shrinkage) -> None:
        self.prior = group_prior(matrix.n_labels, shrinkage)
        self.is_estimated = shrinkage.strength is None
        self.strength = _STRENGTH_START if shrinkage.strength is None else shrinkage.strength
        self.counts = matrix.tally(start)
        pooled = self.counts.sum(axis=0) + self.prior
        self.group: Floats = pooled / pooled.sum(axis=1, keepdims=True)

    @property
    def concentration(self) -> Floats:
        """Dirichlet posterior of each row, shape (O, L, L)."""
        return self.counts + self.strength * self.group

    def update(self, counts: Floats) -> None:
        """Take new expected counts, and step g and s uphill."""
        self.counts = counts
        for _ in range(_STEPS):
            self._step_group()
            if self.is_estimated:
                self._step_strength()

    def _draws(self) -> Floats:
        """Expected number of readings that came from the group and not from habit, (O, L, L)."""
        own = self.strength * self.group
        draws: Floats = own * (digamma(self.counts + own) - digamma(own))
        return draws

    def _step_group(self) -> None:
        """Set the group's rows to what came from the group, and the prior."""
        pooled = self._draws().sum(axis=0) + self.prior
        self.group = pooled / pooled.sum(axis=1, keepdims=True)

    def _step_strength(self) -> None:
        """Set the strength to what makes as many readings come from the group."""
        reads = self.counts.sum(axis=2)
        rate = float((digamma(reads + self.strength) - digamma(self.strength)).sum())
        drawn = float(self._draws().sum())
        found = (STRENGTH_SHAPE - 1 + drawn) / (STRENGTH_RATE + rate)
        self.strength = min(found, _MOST_STRENGTH)

    def expected_log_rows(self) -> Floats:
        """Expected log of each row, shape (O, L, L)."""
        concentration = self.concentration
        total = concentration.sum(axis=2, keepdims=True)
        logs: Floats = digamma(concentration) - digamma(total)
        return logs

    def mean_rows(self) -> Floats:
        """Posterior mean of each row, shape (O, L, L)."""
        concentration = self.concentration
        rows: Floats = concentration / concentration.sum(axis=2, keepdims=True)
        return rows

    def penalty(self) -> float:
        """Log prior of g and s, less what the rows' distributions say beyond their prior."""
        own = np.broadcast_to(self.strength * self.group, self.counts.shape)
        reads = self.counts.sum(axis=2)
        apart = gammaln(reads + self.strength) - gammaln(self.strength)
        within = gammaln(own + self.counts) - gammaln(own)
        gain = (self.counts * self.expected_log_rows()).sum(axis=2)
        divergence = float((apart - within.sum(axis=2) + gain).sum())
        prior = float((self.prior * np.log(self.group)).sum())
        if self.is_estimated:
            prior += (STRENGTH_SHAPE - 1) * math.log(self.strength) - STRENGTH_RATE * self.strength
        return prior - divergence
