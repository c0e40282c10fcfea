"""One chain of the Bayesian correction: true counts, shares and error rates drawn in turn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import digamma, gammaln

from corallum.estimate.estimate import Floats

__all__ = ["Chain", "SaidCounts"]

Indices = NDArray[np.int64]
# Prior of how alike places are, as Gamma(shape, rate), and the step of its log: our own.
_STRENGTH_SHAPE, _STRENGTH_RATE = 1.0, 0.02
_STRENGTH_STEP = 0.4
# Draws of a cell that are made one by one; beyond, by their Poisson limit.
_ONE_BY_ONE = 40
_LEAST = 1e-300


@dataclass(frozen=True, slots=True, eq=False)
class SaidCounts:
    """What was said, by place and observer.

    Parameters
    ----------
    said : ndarray, shape (N, K)
        Records of each cell that were said to be each of K names; a cell is what one
        observer read at one place. The first G names are the genera; further ones, such as
        "unidentified", can be said but not be true.
    place, observer : ndarray of int, shape (N,)
        Numbers of each cell's place and observer, from 0.
    read_again : ndarray of int, shape (R, 3)
        Second readings, a row each: cell, said and true. They are among the records of
        `said`.
    """

    said: Floats
    place: Indices
    observer: Indices
    read_again: Indices


class Chain:
    """State of one chain.

    Parameters
    ----------
    counts : SaidCounts
        Checked already.
    rows : ndarray, shape (O, G, K)
        Dirichlet parameters of every observer's error rows, above 0.
    rng : numpy.random.Generator
        Source of randomness.
    flat : bool
        Whether places have nothing in common: each has a flat prior of its own.

    Attributes
    ----------
    shares : ndarray, shape (P, G)
        True shares of every place, as drawn last.
    given : ndarray, shape (K, G)
        P(true | said) over all records, as drawn last; noughts for a name never said.
    """

    def __init__(
        self, counts: SaidCounts, rows: Floats, rng: np.random.Generator, *, flat: bool = False
    ) -> None:
        self.rng, self.rows, self.flat = rng, rows, flat
        n_observers, size, n_names = rows.shape
        n_places = int(counts.place.max()) + 1
        cell, said, true = counts.read_again.T
        left = counts.said.astype(np.int64)
        np.subtract.at(left, (cell, said), 1)
        self.known_at: Floats = np.zeros((n_places, size))
        np.add.at(self.known_at, (counts.place[cell], true), 1)
        self.known_by: Floats = np.zeros((n_observers, size, n_names))
        np.add.at(self.known_by, (counts.observer[cell], true, said), 1)
        at, name = np.nonzero(left)
        # Records of one cell and one name have the same chances: a lot.
        self.place = counts.place[at]
        self.row = counts.observer[at] * n_names + name
        self.lot = np.repeat(np.arange(len(at)), left[at, name])
        self.errors = _dirichlet(rows + self.known_by, rng)
        self.base = np.full(size, 1 / size) if flat else _dirichlet(np.ones(size), rng)
        self.strength = float(size) if flat else 10.0 * float(np.exp(rng.standard_normal()))
        self.shares = _dirichlet(np.ones((n_places, size)), rng)
        self.given: Floats = np.zeros((n_names, size))

    def sweep(self) -> None:
        """Draw everything once."""
        true = self._draw_true()
        at = _tally(self.place[self.lot], true, self.known_at.shape) + self.known_at
        o, size, k = self.rows.shape
        by = _tally(self.row[self.lot], true, (o * k, size)).reshape(o, k, size)
        by = by.transpose(0, 2, 1) + self.known_by
        if not self.flat:
            self._draw_base(at)
        self.shares = _dirichlet(at + self.strength * self.base, self.rng)
        self.errors = _dirichlet(by + self.rows, self.rng)
        pairs = by.sum(axis=0).T
        said = pairs.sum(axis=1, keepdims=True)
        self.given = np.divide(pairs, said, out=np.zeros_like(pairs), where=said > 0)

    def _draw_true(self) -> Indices:
        """Draw the true genus of every record that was not read again."""
        size = self.rows.shape[1]
        # By name, then true genus, so that a lot's chances lie together.
        rates = np.ascontiguousarray(self.errors.transpose(0, 2, 1)).reshape(-1, size)
        steps = self.shares[self.place]
        steps *= rates[self.row]
        np.cumsum(steps, axis=1, out=steps)
        steps /= steps[:, -1:]
        # Every lot one higher than the one before: a single search serves all.
        steps += np.arange(len(steps))[:, None]
        point = self.rng.random(len(self.lot)) + self.lot
        found = np.searchsorted(steps.ravel(), point, side="right") - self.lot * size
        return np.asarray(np.minimum(found, size - 1))

    def _draw_base(self, at: Floats) -> None:
        """Draw what places have in common, and how alike they are, their shares summed out."""
        origins = self._draw_origins(at).sum(axis=0)
        self.base = _dirichlet(origins + 1, self.rng)
        other = self.strength * float(np.exp(_STRENGTH_STEP * self.rng.standard_normal()))
        gain = self._log_strength(at, other) - self._log_strength(at, self.strength)
        if np.log(self.rng.random()) < gain:
            self.strength = other

    def _draw_origins(self, at: Floats) -> Floats:
        """Draw how many records of each place and genus stand for what places share."""
        own = np.broadcast_to(self.strength * self.base, at.shape)
        cells = np.flatnonzero(at > 0)
        weight, left = own.ravel()[cells], at.ravel()[cells]
        found = np.zeros(len(cells))
        active = np.arange(len(cells))
        for j in range(int(min(left.max(initial=0), _ONE_BY_ONE))):
            active = active[left[active] > j]
            part = weight[active]
            found[active] += self.rng.random(len(active)) < part / (part + j)
        many = left > _ONE_BY_ONE
        rest = digamma(weight[many] + left[many]) - digamma(weight[many] + _ONE_BY_ONE)
        found[many] += self.rng.poisson(weight[many] * rest)
        origins = np.zeros(at.size)
        origins[cells] = found
        return origins.reshape(at.shape)

    def _log_strength(self, at: Floats, strength: float) -> float:
        """Log density of the log of a strength."""
        own = np.broadcast_to(strength * self.base, at.shape)
        seen = at > 0
        within = float((gammaln(at[seen] + own[seen]) - gammaln(own[seen])).sum())
        records = at.sum(axis=1)
        apart = float((gammaln(records + strength) - gammaln(strength)).sum())
        prior = _STRENGTH_SHAPE * float(np.log(strength)) - _STRENGTH_RATE * strength
        return within - apart + prior


def _tally(to: Indices, true: Indices, shape: tuple[int, ...]) -> Floats:
    """Count records by what they belong to and true genus."""
    n, size = shape
    return np.bincount(to * size + true, minlength=n * size).reshape(n, size).astype(np.float64)


def _dirichlet(concentration: Floats, rng: np.random.Generator) -> Floats:
    """Draw shares along the last axis, never quite 0."""
    drawn = np.maximum(rng.standard_gamma(concentration), _LEAST)
    shares: Floats = np.maximum(drawn / drawn.sum(axis=-1, keepdims=True), _LEAST)
    return shares
