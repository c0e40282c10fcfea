"""Cover corrected by what is known of the observers' errors, for surveys read but once.

What every observer takes for what comes from practice and earlier second readings, with
its uncertainty; second readings of this survey's own records are added where there are
any. Refuses to report what the chains do not agree on.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.errors import Fault
from corallum.estimate.bayes_sampler import Chain, SaidCounts
from corallum.estimate.convergence import Diagnostics, Limits, diagnose, require_convergence
from corallum.estimate.estimate import Estimate, Floats
from corallum.estimate.refusals import check_level, fault, numbers, refuse

__all__ = ["BayesCorrection", "SamplingPlan", "correct_by_errors", "said_counts"]

# Survey shares below this are reported, but do not hold the rest up.
_NEGLIGIBLE = 1e-3
_KEPT = 250
# Two thirds of them are the fewest that can be looked at for convergence.
_FEWEST = 12


@dataclass(frozen=True, slots=True)
class SamplingPlan:
    """How long to sample.

    Parameters
    ----------
    chains : int
        Chains, each from a start of its own.
    sweeps : int
        Sweeps of each chain after which convergence is looked at, and again after as many,
        until it holds or `most` is reached; the first third is never counted.
    most : int
        Sweeps of each chain at which to give up.
    limits : Limits
        What counts as converged.
    flat : bool
        Whether every place has a flat prior of its own. Otherwise places are drawn towards
        what they have in common, as strongly as they are alike.
    """

    chains: int = 4
    sweeps: int = 500
    most: int = 6000
    limits: Limits = field(default_factory=Limits)
    flat: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class BayesCorrection:
    """Posterior of the true shares.

    Parameters
    ----------
    said : ndarray, shape (P, K)
        Shares said at each place: the uncorrected figure.
    weight : ndarray, shape (P,)
        Of the places in the survey, adding up to 1.
    draws : ndarray, shape (D, G)
        True shares of the survey: the weighted mean of its places.
    place_draws : ndarray of float32, shape (B, P, G)
        True shares of the places, thinned.
    given : ndarray of float32, shape (B, K, G)
        P(true | said) over the survey's records, thinned alike: rows names said, columns true
        genera, each row adding up to 1, or of noughts where the name was not said. It corrects
        lengths and areas, which cannot be counted: see `share_out_cover`.
    diagnostics : Diagnostics
        Of the survey's shares, shape (G,).
    sweeps : int
        Of each chain.
    """

    said: Floats
    weight: Floats
    draws: Floats
    place_draws: NDArray[np.float32]
    given: NDArray[np.float32]
    diagnostics: Diagnostics
    sweeps: int

    def survey(self, level: float = 0.95) -> Estimate:
        """Return shares of the survey's places, shape (G,): median and central range."""
        return _central(self.draws, level)

    def places(self, level: float = 0.95) -> Estimate:
        """Return shares of every place, shape (P, G): median and central range."""
        return _central(self.place_draws, level)

    def reef_draws(self, stratum: ArrayLike, rng: np.random.Generator) -> Floats:
        """Return draws that also carry which places were visited.

        Parameters
        ----------
        stratum : array_like, shape (P,)
            Number of each place's stratum.
        rng : numpy.random.Generator
            Resamples places within strata, one fewer than there are.

        Returns
        -------
        ndarray, shape (B, G)
            For a statement on the reef, of which the places are a sample.

        Raises
        ------
        InputError
            For a stratum of one place.

        References
        ----------
        Rao J.N.K., Wu C.F.J. 1988. Journal of the American Statistical Association 83:231-241.
        """
        h = np.asarray(stratum)
        n_draws = len(self.place_draws)
        times = np.zeros((n_draws, len(h)))
        for i in np.unique(h):
            own = np.flatnonzero(h == i)
            n = len(own)
            if n < 2:
                refuse([fault(f"stratum {i}", "at least 2 places", n, "Join it to another.")])
            part = rng.multinomial(n - 1, np.full(n, 1 / n), size=n_draws) * self.weight[own]
            # The stratum keeps its weight whatever was drawn of it.
            times[:, own] = part / part.sum(axis=1, keepdims=True) * self.weight[own].sum()
        return np.asarray(np.einsum("bp,bpg->bg", times, self.place_draws))


def said_counts(
    said: ArrayLike,
    place: ArrayLike | None = None,
    observer: ArrayLike | None = None,
    read_again: ArrayLike | None = None,
) -> SaidCounts:
    """Return counts of what was said, places and observers numbered.

    Parameters
    ----------
    said : array_like, shape (N, K)
        Records of each cell by name.
    place : array_like, shape (N,), optional
        Number of each cell's place; None makes each cell a place.
    observer : array_like, shape (N,), optional
        Number of each cell's observer; None is one for all.
    read_again : array_like, shape (R, 3), optional
        Second readings: cell, said, true.

    Returns
    -------
    SaidCounts
        As `correct_by_errors` takes them.
    """
    counts = numbers("said", said)
    n = len(counts)
    again = np.zeros((0, 3), np.int64) if read_again is None else np.asarray(read_again, np.int64)
    if again.size % 3:
        refuse([fault("second readings", "3 numbers each", again.shape, "Cell, said, true.")])
    return SaidCounts(
        counts,
        np.arange(n) if place is None else np.asarray(place, np.int64),
        np.zeros(n, np.int64) if observer is None else np.asarray(observer, np.int64),
        again.reshape(-1, 3),
    )


def correct_by_errors(
    counts: SaidCounts,
    rows: ArrayLike,
    rng: np.random.Generator,
    plan: SamplingPlan | None = None,
    *,
    weight: ArrayLike | None = None,
    progress: Callable[[float], None] = lambda _: None,
) -> BayesCorrection:
    """Correct shares by error rows and second readings together.

    Parameters
    ----------
    counts : SaidCounts
        What was said; points or colonies, not lengths.
    rows : array_like, shape (O, G, K)
        Dirichlet parameters of P(said | true) of every observer, all above 0: what is known
        before this survey.
    rng : numpy.random.Generator
        Source of randomness; each chain has a child of it.
    plan : SamplingPlan, optional
        How long.
    weight : array_like, shape (P,), optional
        Of each place in the survey; None weighs them alike.
    progress : callable
        Is told the share done of the most sweeps, 0 to 1; then 1 once it has converged.

    Returns
    -------
    BayesCorrection
        Only when the chains agree.

    Raises
    ------
    InputError
        For counts or rows that do not fit, an observer without a row, or fewer than 12 sweeps.
    NotConvergedError
        Naming by number the genera above a share of .001 on which the chains do not agree.

    Notes
    -----
    z_cgk of cell c: said k, truly g. z_c.k ~ Multinomial(y_ck, pi_pg theta_ogk / sum);
    pi_p ~ Dirichlet(s m), theta_og ~ Dirichlet(rows); m ~ Dirichlet(1), s ~ Gamma(1, rate
    .02). All are drawn in turn, s by Metropolis steps. A record read again has its z known,
    which is right however second readings were drawn, as long as that hung on what was said
    alone. Time grows in proportion to the records.

    References
    ----------
    Gelman et al. 2013. Bayesian Data Analysis, 3rd ed., chapters 11 and 12; Swartz T. et al.
    2004. Canadian Journal of Statistics 32:285-302 (misclassified multinomial counts); Antoniak
    C.E. 1974. Annals of Statistics 2:1152-1174 (all from memory).
    """
    plan = plan or SamplingPlan()
    prior = numbers("rows", rows)
    _check(counts, prior, plan)
    n_places = int(counts.place.max()) + 1
    share = np.ones(n_places) if weight is None else numbers("weight", weight)
    if share.shape != (n_places,) or share.sum() <= 0:
        refuse([fault("weight", f"{n_places} numbers", share.size, "One for each place.")])
    share = share / share.sum()
    chains = [Chain(counts, prior, child, flat=plan.flat) for child in rng.spawn(plan.chains)]
    run = _Run(chains, share, plan)
    sweeps = min(plan.sweeps, plan.most)
    while True:
        run.go_to(sweeps, progress)
        draws = run.counted()
        found = diagnose(draws, plan.limits)
        held = draws.mean(axis=(0, 1)) >= _NEGLIGIBLE
        done = bool(found.converged[held].all())
        if done or sweeps >= plan.most:
            break
        sweeps = min(sweeps + plan.sweeps, plan.most)
    names = tuple(f"genus {i}" for i in np.flatnonzero(held).tolist())
    require_convergence(Diagnostics(found.ratio[held], found.size[held], plan.limits), names)
    progress(1.0)
    flat = draws.reshape(-1, draws.shape[2])
    said = _shares_said(counts, n_places)
    return BayesCorrection(said, share, flat, run.places(), run.given(), found, sweeps)


_Kept = tuple[NDArray[np.float32], NDArray[np.float32]]


class _Run:
    """Several chains, and what is kept of them."""

    def __init__(self, chains: list[Chain], weight: Floats, plan: SamplingPlan) -> None:
        self.chains, self.weight, self.plan = chains, weight, plan
        self.survey: list[list[Floats]] = [[] for _ in chains]
        # Of each chain: shares of places, and P(true | said).
        self.kept: list[list[_Kept]] = [[] for _ in chains]
        self.step = 1

    def go_to(self, sweeps: int, progress: Callable[[float], None]) -> None:
        """Sweep every chain until it has so many."""
        while self.done < sweeps:
            for i, chain in enumerate(self.chains):
                chain.sweep()
                self.survey[i].append(self.weight @ chain.shares)
                if len(self.survey[i]) % self.step == 0:
                    kept = chain.shares.astype(np.float32), chain.given.astype(np.float32)
                    self.kept[i].append(kept)
            if len(self.kept[0]) > 2 * _KEPT:
                self.kept = [one[1::2] for one in self.kept]
                self.step *= 2
            progress(self.done / self.plan.most)

    @property
    def done(self) -> int:
        """Sweeps of each chain."""
        return len(self.survey[0])

    def counted(self) -> Floats:
        """Survey shares after the first third, shape (chains, draws, G)."""
        return np.array([one[self.done // 3 :] for one in self.survey])

    def places(self) -> NDArray[np.float32]:
        """Shares of the places after the first third."""
        return self._thinned(0)

    def given(self) -> NDArray[np.float32]:
        """P(true | said) after the first third."""
        return self._thinned(1)

    def _thinned(self, which: int) -> NDArray[np.float32]:
        first = len(self.kept[0]) // 3
        return np.concatenate(
            [np.array([one[which] for one in kept[first:]]) for kept in self.kept]
        )


def _central(draws: NDArray[np.floating], level: float) -> Estimate:
    """Median, standard deviation and central range over the first axis."""
    check_level(level)
    low, middle, high = np.quantile(draws, [(1 - level) / 2, 0.5, (1 + level) / 2], axis=0)
    se = np.asarray(draws.std(axis=0, ddof=1), np.float64)
    return Estimate(middle, se, low, high, np.full(middle.shape, np.inf))


def _shares_said(counts: SaidCounts, n_places: int) -> Floats:
    """Shares said at each place, shape (P, K)."""
    total = np.zeros((n_places, counts.said.shape[1]))
    np.add.at(total, counts.place, counts.said)
    return np.asarray(total / total.sum(axis=1, keepdims=True))


def _check(counts: SaidCounts, rows: Floats, plan: SamplingPlan) -> None:
    """Refuse what does not fit, all at once."""
    if counts.said.ndim != 2:
        refuse([fault("said", "cells by names", counts.said.shape, "Give a row for each cell.")])
    k = counts.said.shape[1]
    if rows.ndim != 3 or rows.shape[2] != k or rows.shape[1] > k:
        remedy = "Observers, true genera, names; the genera are the first names."
        refuse([fault("rows", f"O by G by {k}, G of at most {k}", rows.shape, remedy)])
    faults = [
        fault(name, f"{least} or more", found, "Sample longer.")
        for name, least, found in (
            ("chains", 1, plan.chains),
            ("sweeps", _FEWEST, plan.sweeps),
            ("sweeps at most", _FEWEST, plan.most),
        )
        if found < least
    ]
    if rows.min() <= 0:
        faults.append(fault("rows", "above 0", rows.min(), "Add what an unknown observer errs."))
    if not np.array_equal(counts.said, np.round(counts.said)):
        faults.append(fault("said", "whole numbers", "parts", "Count points or colonies."))
    cells = _number_faults(counts, len(rows))
    if not cells:
        records = np.bincount(counts.place, counts.said.sum(axis=1))
        cells = [
            fault(f"place {i}", "some records", 0, "Leave it out.")
            for i in np.flatnonzero(records == 0).tolist()
        ]
    refuse([*faults, *cells, *_read_again_faults(counts, rows.shape[1])])


def _number_faults(counts: SaidCounts, n_observers: int) -> list[Fault]:
    """Places and observers that are not one to a cell, or have no number or row."""
    n = len(counts.said)
    faults = []
    for name, index in (("place", counts.place), ("observer", counts.observer)):
        if index.shape != (n,):
            faults.append(fault(name, f"one for each of {n} cells", index.size, "Give each one."))
        elif index.min() < 0:
            faults.append(fault(name, "0 or more", index.min(), "Number from 0."))
    if counts.observer.max(initial=0) >= n_observers:
        remedy = "Give the group's row for an observer who never practised."
        faults.append(fault("observer", f"below {n_observers}", counts.observer.max(), remedy))
    return faults


def _read_again_faults(counts: SaidCounts, size: int) -> list[Fault]:
    """Second readings that are not among the records."""
    if not len(counts.read_again):
        return []
    n, k = counts.said.shape
    cell, said, true = counts.read_again.T
    if counts.read_again.min() < 0 or cell.max() >= n or said.max() >= k or true.max() >= size:
        expected = f"cells below {n}, said below {k}, true below {size}"
        return [fault("second readings", expected, "others", "Number from 0.")]
    left = counts.said.copy()
    np.subtract.at(left, (cell, said), 1)
    return [
        fault(f"second readings of cell {c}, said {s}", "no more than records", "more", "Count.")
        for c, s in np.argwhere(left < 0).tolist()
    ]
