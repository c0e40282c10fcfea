"""How many genera there are, from the transects on which each was met.

The transect is the unit: nothing is assumed of how colonies lie within one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from corallum.estimate.estimate import Floats
from corallum.estimate.refusals import fault, numbers, refuse
from corallum.estimate.richness import ChaoForm, RichnessEstimate, estimate_chao
from corallum.estimate.tally import Tally, tally_incidences

__all__ = [
    "IncidenceRichness",
    "estimate_incidence_richness",
    "jackknife_first",
    "jackknife_second",
]


@dataclass(frozen=True, slots=True)
class IncidenceRichness:
    """Genera estimated from presence on transects.

    Parameters
    ----------
    n : int
        Transects.
    richness : int
        Genera met.
    chao2 : RichnessEstimate
        With (n - 1)/n.
    jackknife_1, jackknife_1_se : float
        First-order jackknife.
    jackknife_2 : float
        Second-order jackknife; no standard error is printed for it.
    bootstrap, bootstrap_se : float
        Smith and van Belle's, without drawing anything.
    """

    n: int
    richness: int
    chao2: RichnessEstimate
    jackknife_1: float
    jackknife_1_se: float
    jackknife_2: float
    bootstrap: float
    bootstrap_se: float


def estimate_incidence_richness(met: ArrayLike, level: float = 0.95) -> IncidenceRichness:
    """Estimate the number of genera from presence on transects.

    Parameters
    ----------
    met : array_like, shape (n, G)
        Amount of each genus on each transect; anything above 0 is presence.
    level : float
        Coverage of Chao2's interval, 0 to 1.

    Returns
    -------
    IncidenceRichness
        Four estimates: where they lie far apart, the survey was too small to say.

    Raises
    ------
    InputError
        For fewer than two transects, or no coral at all.

    Notes
    -----
    With p the share of transects on which a genus was met: bootstrap S + sum (1 - p)^n;
    its variance is sum q (1 - q) + 2 sum_{i<j} (z_ij - q_i q_j) with q = (1 - p)^n and z_ij =
    (share of transects with neither)^n. Variance of the first jackknife: (n - 1)/n (sum of
    l_t^2 - Q1^2 / n), with l_t the genera met on transect t alone.

    References
    ----------
    Smith E.P., van Belle G. 1984. Biometrics 40:119-129 (both jackknives, bootstrap).
    Heltshe J.F., Forrester N.E. 1983. Biometrics 39:1-11 (variance of the jackknife).
    """
    amounts = numbers("met", met)
    if amounts.ndim != 2 or len(amounts) < 2:
        remedy = "Give a row a transect and a column a genus."
        refuse([fault("met", "at least two transects", f"shape {amounts.shape}", remedy)])
    present = amounts > 0
    with_it = present.sum(axis=0)
    tally = tally_incidences(with_it, len(present))
    n, q1 = tally.n, tally.once
    alone = present[:, with_it == 1].sum(axis=1).astype(np.float64)
    jackknife_se = math.sqrt(max((n - 1) / n * (float((alone**2).sum()) - q1**2 / n), 0.0))
    boot, boot_se = _bootstrap(present[:, with_it > 0], tally.richness)
    return IncidenceRichness(
        n,
        tally.richness,
        estimate_chao(tally, ChaoForm.SAMPLE_SIZE, level),
        jackknife_first(tally),
        jackknife_se,
        jackknife_second(tally),
        boot,
        boot_se,
    )


def jackknife_first(tally: Tally) -> float:
    """Return the first-order jackknife, S + Q1 (n - 1)/n.

    Parameters
    ----------
    tally : Tally
        Of transects.

    Returns
    -------
    float
        Genera.

    References
    ----------
    Burnham K.P., Overton W.S. 1979. Ecology 60:927-936.
    """
    return tally.richness + tally.once * (tally.n - 1) / tally.n


def jackknife_second(tally: Tally) -> float:
    """Return the second-order jackknife.

    Parameters
    ----------
    tally : Tally
        Of transects, at least two.

    Returns
    -------
    float
        S + Q1 (2n - 3)/n - Q2 (n - 2)^2 / (n (n - 1)).

    Raises
    ------
    InputError
        For fewer than two transects.

    References
    ----------
    Burnham K.P., Overton W.S. 1979. Ecology 60:927-936.
    """
    n = tally.n
    if n < 2:
        refuse([fault("transects", "at least 2", n, "Survey another transect.")])
    return (
        tally.richness + tally.once * (2 * n - 3) / n - tally.twice * (n - 2) ** 2 / (n * (n - 1))
    )


def _bootstrap(
    present: np.ndarray[tuple[int, ...], np.dtype[np.bool_]], met: int
) -> tuple[float, float]:
    """Smith and van Belle's bootstrap and its standard error."""
    n = len(present)
    absent: Floats = (~present).astype(np.float64)
    missed = absent.mean(axis=0) ** n
    together = (absent.T @ absent / n) ** n - np.outer(missed, missed)
    variance = float(together.sum())
    return met + float(missed.sum()), math.sqrt(max(variance, 0.0))
