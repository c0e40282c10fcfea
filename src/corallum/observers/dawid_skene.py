"""What is true, and how each observer errs, from readings alone.

Nobody knows the true label. The story: each item has one, drawn with the
prevalences; each reading of it is drawn, independently of the others, from the
observer's row for that true label. EM finds prevalences, rows and labels that
make the readings most probable. Repeat readings count one each, so three reads by
one person weigh as three observers, which they are not.

Refuses nothing, hence mind: labels mean what most observers call them, so errors
that most observers share can't be seen; and rows of rare labels rest on few items.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from corallum.observers.readings import Readings

__all__ = [
    "Fit",
    "Model",
    "Priors",
    "ReadingMatrix",
    "draw_readings",
    "expect",
    "fit_dawid_skene",
    "has_settled",
    "maximise",
    "penalty",
    "run_em",
    "vote_shares",
]

Floats = NDArray[np.float64]
# A rise of the bound this small, against its size, is rounding.
_TOLERANCE = 1e-12
# 2 MB of numbers: about what a core keeps close.
_BLOCK_CELLS = 250_000
_LEAST = 1e-200


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """How readings come about.

    Attributes
    ----------
    prevalence : ndarray, shape (L,)
        P(true label).
    matrices : ndarray, shape (O, L, L)
        P(said | observer, true): rows are true labels, columns said ones.
    """

    prevalence: Floats
    matrices: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Priors:
    """Counts added before any reading is counted; 0 is maximum likelihood.

    Attributes
    ----------
    matrices : ndarray, broadcast to (O, L, L), or 0
        Readings by true and said label, added to each observer's.
    prevalence : ndarray, broadcast to (L,), or 0
        Items added to each label.
    """

    matrices: Floats | float = 0.0
    prevalence: Floats | float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """A model fitted to readings.

    Attributes
    ----------
    model : Model
        Prevalences and rows. The row of a label that the observer was never shown, as far as
        the fit knows, is flat.
    posterior : ndarray, shape (N, L)
        P(true label | readings).
    weights : ndarray, shape (O, L)
        Expected number of readings that each row rests on.
    log_likelihood : float
        Log probability of the readings under `model`, in the order in which they were made.
    bounds : tuple of float
        What EM drives up, after each round; never falls.
    converged : bool
        False where the rounds ran out first.
    """

    model: Model
    posterior: Floats
    weights: Floats
    log_likelihood: float
    bounds: tuple[float, ...]
    converged: bool


class ReadingMatrix:
    """Readings as a sparse matrix, items by observer and label, and back.

    Parameters
    ----------
    readings : Readings
        Repeats are counted.
    """

    def __init__(self, readings: Readings) -> None:
        self.n_items, self.n_labels = len(readings.items), len(readings.labels)
        self.n_observers = len(readings.observers)
        column = readings.observer * self.n_labels + readings.label
        shape = (self.n_items, self.n_observers * self.n_labels)
        ones = np.ones(len(readings))
        self.by_item = sparse.csr_array((ones, (readings.item, column)), shape=shape)

    @cached_property
    def blocks(self) -> list[tuple[slice, sparse.csr_array]]:
        """The same in blocks of items whose scores fit a processor's cache."""
        size = max(1, _BLOCK_CELLS // self.n_labels)
        places = [slice(start, start + size) for start in range(0, self.n_items, size)]
        return [(place, self.by_item[place]) for place in places]

    def said_first(self, table: Floats) -> Floats:
        """Turn table[observer, true, said] into rows by observer and said label, (O L, L)."""
        return np.ascontiguousarray(table.transpose(0, 2, 1)).reshape(-1, self.n_labels)

    def score(self, table: Floats) -> Floats:
        """Sum over each item's readings of table[observer, true, said], shape (N, L)."""
        total: Floats = self.by_item @ self.said_first(table)
        return total

    def tally(self, posterior: Floats) -> Floats:
        """Expected readings by observer, true and said label, shape (O, L, L)."""
        flat: Floats = self.by_item.T @ posterior
        return flat.reshape(self.n_observers, self.n_labels, self.n_labels).transpose(0, 2, 1)


def draw_readings(
    model: Model,
    item: NDArray[np.int64],
    observer: NDArray[np.int64],
    rng: np.random.Generator,
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Tell the story once: draw true labels and readings.

    Parameters
    ----------
    model : Model
        Prevalences and rows.
    item, observer : ndarray of int, shape (R,)
        Who reads what.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    ndarray of int, shape (N,), and ndarray of int, shape (R,)
        True label of each item, and the label said in each reading.
    """
    n_labels = len(model.prevalence)
    truth = rng.choice(n_labels, size=int(item.max()) + 1, p=model.prevalence)
    steps = np.cumsum(model.matrices, axis=2)[observer, truth[item]]
    said = (rng.random(len(item))[:, None] * steps[:, -1:] >= steps).sum(axis=1)
    return truth, np.minimum(said, n_labels - 1)


def vote_shares(matrix: ReadingMatrix, trust: Floats | None = None) -> Floats:
    """Share of each label among an item's readings: where EM starts.

    Parameters
    ----------
    matrix : ReadingMatrix
        Readings of N items.
    trust : ndarray, shape (O,), optional
        Weight of each observer's votes; all alike by default.

    Returns
    -------
    ndarray, shape (N, L)
        Flat for an item that nobody read.
    """
    weight = np.ones(matrix.n_observers) if trust is None else trust
    votes = matrix.score(np.eye(matrix.n_labels) * weight[:, None, None])
    total = votes.sum(axis=1, keepdims=True)
    shares = np.full(votes.shape, 1 / matrix.n_labels)
    np.divide(votes, total, out=shares, where=total > 0)
    return shares


def expect(matrix: ReadingMatrix, log_rows: Floats, prevalence: Floats) -> tuple[Floats, float]:
    """E-step: P(true label) of each item, and the log probability of the readings.

    Parameters
    ----------
    matrix : ReadingMatrix
        Readings of N items.
    log_rows : ndarray, shape (O, L, L)
        Log of P(said | observer, true).
    prevalence : ndarray, shape (L,)
        P(true label).

    Notes
    -----
    Dawid and Skene 1979, equation 2.5.
    """
    table = matrix.said_first(log_rows)
    with np.errstate(divide="ignore"):
        log_prevalence = np.log(prevalence)
    posterior = np.empty((matrix.n_items, matrix.n_labels))
    log_likelihood = 0.0
    # Block by block, so that all steps but the first find their numbers in the cache.
    for place, readings in matrix.blocks:
        logs = readings @ table
        logs += log_prevalence
        shares, total, off = _exponentials(logs)
        np.multiply(shares, 1 / total, out=posterior[place])
        log_likelihood += float(np.log(total).sum()) + off
    return posterior, log_likelihood


def _exponentials(logs: Floats) -> tuple[Floats, Floats, float]:
    """Exponentials of logs of at most 0, their sums by row, and what was taken off first."""
    shares = np.exp(logs)
    total = shares.sum(axis=1, keepdims=True)
    # A few readings leave every row far above the least number there is; many may not.
    if total.min(initial=1.0) > _LEAST:
        return shares, total, 0.0
    top = logs.max(axis=1, keepdims=True)
    shares = np.exp(logs - top)
    return shares, shares.sum(axis=1, keepdims=True), float(top.sum())


def maximise(matrix: ReadingMatrix, posterior: Floats, priors: Priors) -> tuple[Model, Floats]:
    """M-step: prevalences and rows from expected counts, and these counts, shape (O, L, L).

    Notes
    -----
    Dawid and Skene 1979, equations 2.3 and 2.4, the counts of the priors added. A row that
    nothing rests on is flat: any row fits it equally.
    """
    counts = matrix.tally(posterior)
    added = counts + priors.matrices
    total = added.sum(axis=2, keepdims=True)
    rows = np.full(added.shape, 1 / matrix.n_labels)
    np.divide(added, total, out=rows, where=total > 0)
    shares = posterior.sum(axis=0) + priors.prevalence
    return Model(shares / shares.sum(), rows), counts


def penalty(model: Model, priors: Priors) -> float:
    """Log density of the priors at a model, up to a constant; 0 under maximum likelihood."""
    with np.errstate(divide="ignore", invalid="ignore"):
        rows = priors.matrices * np.log(model.matrices)
        shares = priors.prevalence * np.log(model.prevalence)
    return float(np.nansum(rows) + np.nansum(shares))


def run_em(
    matrix: ReadingMatrix,
    posterior: Floats,
    priors: Priors,
    most_rounds: int = 2000,
    progress: Callable[[float], None] = lambda _: None,
) -> Fit:
    """Run EM from a posterior until the bound no longer rises.

    Parameters
    ----------
    matrix : ReadingMatrix
        Readings of N items.
    posterior : ndarray, shape (N, L)
        Where to start.
    priors : Priors
        Counts added.
    most_rounds : int
        Rounds after which to give up.
    progress : callable
        Is told the share of the rounds done, 0 to 1.
    """
    bounds: list[float] = []
    converged = False
    while not converged and len(bounds) < most_rounds:
        model, counts = maximise(matrix, posterior, priors)
        with np.errstate(divide="ignore"):
            log_rows = np.log(model.matrices)
        posterior, log_likelihood = expect(matrix, log_rows, model.prevalence)
        bounds.append(log_likelihood + penalty(model, priors))
        converged = has_settled(bounds)
        progress(len(bounds) / most_rounds)
    weights = counts.sum(axis=2)
    return Fit(model, posterior, weights, log_likelihood, tuple(bounds), converged)


def has_settled(bounds: list[float], tolerance: float = _TOLERANCE) -> bool:
    """Whether the last round raised the bound by a part of it no larger than the tolerance."""
    if len(bounds) < 2:
        return False
    return bounds[-1] - bounds[-2] <= tolerance * (1 + abs(bounds[-1]))


def fit_dawid_skene(
    readings: Readings,
    *,
    priors: Priors | None = None,
    most_rounds: int = 2000,
    progress: Callable[[float], None] = lambda _: None,
) -> Fit:
    """Fit prevalences and error rates from the shares of votes.

    Use it where several observers read the same items and nobody knows the truth. Not with
    fewer than three observers to most items: two can't be told right from wrong.

    Parameters
    ----------
    readings : Readings
        Repeats count one each; readings may be missing.
    priors : Priors, optional
        Counts added; none is maximum likelihood.
    most_rounds : int
        Rounds of EM after which to give up.
    progress : callable
        Is told the share of the rounds done, 0 to 1.

    Returns
    -------
    Fit
        The local maximum that the votes lead to, as Dawid and Skene have it; there may be
        higher ones, see `starts.try_starts`.

    References
    ----------
    Dawid and Skene 1979, Applied Statistics 28:20-28.
    """
    matrix = ReadingMatrix(readings)
    return run_em(matrix, vote_shares(matrix), priors or Priors(), most_rounds, progress)
