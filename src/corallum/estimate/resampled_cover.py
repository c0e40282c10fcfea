"""Cover of resampled transects, joined draw by draw with what said names may truly be.

Two levels: transects outside, names inside. The first tells what another set of transects
would have found, the second what names known as well, but by other evidence, would have
made of it. Where the doubt about names comes from is the caller's: `shared_out` has it from
a posterior. Second readings that were resampled with their transects are
`identification_share`'s.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.errors import Fault
from corallum.estimate.estimate import Estimate, Floats
from corallum.estimate.log_interval import Spread, log_estimate, spread_of
from corallum.estimate.refusals import check_level, fault, numbers, refuse, strata_of

__all__ = [
    "CorrectedCover",
    "Names",
    "Resampling",
    "TransectCover",
    "Transects",
    "correct_transects",
    "prepare_transects",
]

_AT_ONCE = 200


@dataclass(frozen=True, slots=True, eq=False)
class TransectCover:
    """What was said on each transect.

    Parameters
    ----------
    met : ndarray, shape (T, K)
        Points, intercept or colonies said of each name; what is no coral is a genus like any
        other here, where corals may be taken for it.
    searched : ndarray, shape (T,)
        Points, length or area of each transect.
    stratum : ndarray of int, shape (T,)
        Number of each transect's stratum.
    weight : ndarray, shape (H,)
        Area, or share, of each stratum.
    """

    met: Floats
    searched: Floats
    stratum: NDArray[np.int64]
    weight: Floats


@dataclass(frozen=True, slots=True)
class Resampling:
    """How to resample.

    Parameters
    ----------
    draws : int
        Resamples.
    level : float
        Coverage of the intervals, 0 to 1.
    """

    draws: int = 2000
    level: float = 0.95


@dataclass(frozen=True, slots=True, eq=False)
class CorrectedCover:
    """Cover side by side.

    Parameters
    ----------
    uncorrected, corrected : Estimate
        Cover by genus, shape (G,), intervals symmetric in the logarithm.
    identification : ndarray, shape (G,)
        Share of the corrected figure's variance that the doubt about names causes, 0 to 1:
        what more second readings could take away, but for nothing where no variance is.
    uncorrected_draws, draws : ndarray, shape (B, G)
        Resamples of both, to be carried into any further figure.
    """

    uncorrected: Estimate
    corrected: Estimate
    identification: Floats
    uncorrected_draws: Floats
    draws: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Names:
    """What said names may truly be, and how well that is known.

    Parameters
    ----------
    rows : ndarray, shape (K, S)
        1 where a said name belongs to a row of `given`, otherwise 0.
    given : ndarray, shape (S, G)
        P(true | said), the best estimate.
    draw : callable
        From a number n and a generator to draws of `given`, shape (n, S, G).
    degrees : float
        Degrees of freedom behind the draws; infinite where they are a posterior's.
    """

    rows: Floats
    given: Floats
    draw: Callable[[int, np.random.Generator], Floats]
    degrees: float

    def share_out(self, cover: Floats, given: Floats) -> Floats:
        """Return corrected cover of one or many draws of either or both.

        Parameters
        ----------
        cover : ndarray, shape (K,) or (B, K)
            Cover said of each name.
        given : ndarray, shape (S, G) or (B, S, G)
            P(true | said).

        Returns
        -------
        ndarray, shape (G,) or (B, G)
            Cover of each true genus.
        """
        weight = cover @ self.rows
        return np.asarray((weight[..., None, :] @ given)[..., 0, :])


@dataclass(frozen=True, slots=True, eq=False)
class Transects:
    """Transects of a survey, checked and ready to be resampled.

    Parameters
    ----------
    strata : tuple
        Of each stratum with weight: its share, what was met, and what was searched.
    cover : ndarray, shape (K,)
        Ratio of sums in each stratum, weighted.
    """

    strata: tuple[tuple[float, Floats, Floats], ...]
    cover: Floats

    def parts(self) -> list[Floats]:
        """Return the linear part of each transect in the cover, shape (n, K) a stratum.

        Returns
        -------
        list of ndarray
            W_h / sum searched (met - R_h searched), of which `spread_of` makes the variance.
        """
        return [
            share / x.sum() * (y - x[:, None] * (y.sum(axis=0) / x.sum()))
            for share, y, x in self.strata
        ]

    def resample(self, draws: int, rng: np.random.Generator) -> Floats:
        """Return cover of resampled transects, one fewer in each stratum.

        Parameters
        ----------
        draws : int
            Resamples.
        rng : numpy.random.Generator
            Source of randomness.

        Returns
        -------
        ndarray, shape (draws, K)
            Cover said of each name.
        """
        cover = np.zeros((draws, len(self.cover)))
        for weight, met, searched in self.strata:
            n = len(met)
            times = rng.multinomial(n - 1, np.full(n, 1 / n), size=draws)
            cover += weight * (times @ met) / (times @ searched)[:, None]
        return cover


def prepare_transects(survey: TransectCover) -> Transects:
    """Check a survey's transects and make them ready.

    Parameters
    ----------
    survey : TransectCover
        Two transects or more in each stratum with weight.

    Returns
    -------
    Transects
        To be resampled.

    Raises
    ------
    InputError
        Naming what does not fit, and each stratum of fewer than two transects.
    """
    met, searched = numbers("met", survey.met), numbers("searched", survey.searched)
    weight = numbers("weight", survey.weight)
    faults: list[Fault] = []
    if met.ndim != 2 or searched.shape != met.shape[:1]:
        faults.append(fault("searched", f"{len(met)} numbers", searched.size, "One a transect."))
    if searched.min() <= 0:
        faults.append(fault("searched", "above 0", searched.min(), "Leave such a transect out."))
    refuse(faults)
    h = strata_of(survey.stratum, len(met), len(weight))
    _check_strata(h, weight)
    strata = tuple(
        (float(weight[i] / weight.sum()), met[h == i], searched[h == i])
        for i in np.flatnonzero(weight).tolist()
    )
    cover = np.sum([w * y.sum(axis=0) / x.sum() for w, y, x in strata], axis=0)
    return Transects(strata, cover)


def correct_transects(
    transects: Transects,
    names: Names,
    rng: tuple[np.random.Generator, np.random.Generator],
    plan: Resampling,
    progress: Callable[[float], None] = lambda _: None,
) -> CorrectedCover:
    """Correct the cover of transects, with the error of both levels.

    Parameters
    ----------
    transects : Transects
        Cover said of K names.
    names : Names
        What these may truly be; the first G names are the G genera.
    rng : tuple of numpy.random.Generator
        For transects and for names; may be the same twice.
    plan : Resampling
        How many resamples, and the level.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    CorrectedCover
        Uncorrected and corrected, shape (G,) each.

    Raises
    ------
    InputError
        For a level outside 0 to 1, or fewer than two resamples.

    Notes
    -----
    The variance is that between transects of what each adds, shared out by the best estimate
    of P(true | said), plus that of draws of it with the cover said as it is. Intervals are
    those of `log_interval`.
    """
    check_level(plan.level)
    if plan.draws < 2:
        refuse([fault("resamples", "2 or more", plan.draws, "Take 2000.")])
    genera = names.given.shape[1]
    first, second, inner = _resample(transects, names, rng, plan.draws, progress)
    parts = transects.parts()
    between = spread_of([names.share_out(z, names.given) for z in parts])
    doubt = inner.var(axis=0, ddof=1)
    of_names = Spread(doubt, 2 * doubt**2 / names.degrees)
    total = between.variance + doubt
    return CorrectedCover(
        log_estimate(
            transects.cover[:genera], spread_of([z[:, :genera] for z in parts]), plan.level
        ),
        log_estimate(names.share_out(transects.cover, names.given), between + of_names, plan.level),
        np.divide(doubt, total, out=np.zeros_like(total), where=total > 0),
        first[:, :genera],
        second,
    )


def _resample(
    transects: Transects,
    names: Names,
    rng: tuple[np.random.Generator, np.random.Generator],
    draws: int,
    progress: Callable[[float], None],
) -> tuple[Floats, Floats, Floats]:
    """Draw cover said and corrected, and it with names alone varying."""
    found: tuple[list[Floats], ...] = ([], [], [])
    for start in range(0, draws, _AT_ONCE):
        n = min(_AT_ONCE, draws - start)
        cover, given = transects.resample(n, rng[0]), names.draw(n, rng[1])
        found[0].append(cover)
        found[1].append(names.share_out(cover, given))
        found[2].append(names.share_out(transects.cover, given))
        progress((start + n) / draws)
    first, second, inner = (np.concatenate(part) for part in found)
    return first, second, inner


def _check_strata(h: NDArray[np.int64], weight: Floats) -> None:
    """Refuse strata whose spread is unknown."""
    used = np.bincount(h, minlength=len(weight))
    remedy = "Lay another there, or join it to a neighbouring stratum."
    refuse(
        [
            fault(f"stratum {i}", "at least 2 transects", used[i], remedy)
            for i in np.flatnonzero((used < 2) & (weight > 0)).tolist()
        ]
    )
    if weight.sum() <= 0:
        refuse([fault("weight", "some above 0", weight, "Give areas.")])
