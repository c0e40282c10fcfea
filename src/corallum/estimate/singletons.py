"""Richness before and after genera met once were looked at again.

One colony under a wrong name is a genus that is not there, met once; two of them raise
Chao's estimate by more than two. So richness is never given from said names alone where
singletons were re-checked, and never from re-checked names alone either.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.errors import Fault
from corallum.estimate.diversity import Diversity, summarise_diversity
from corallum.estimate.rarefaction import sample_coverage
from corallum.estimate.refusals import fault, numbers, refuse
from corallum.estimate.richness import ChaoForm, RichnessEstimate, estimate_ace, estimate_chao
from corallum.estimate.tally import tally_colonies

__all__ = ["NOT_NAMED", "RecheckedRichness", "Richness", "recheck_singletons", "summarise_richness"]

#: A second look that could not name the colony, or found none.
NOT_NAMED = -1


@dataclass(frozen=True, slots=True)
class Richness:
    """Richness of one sample of colonies.

    Parameters
    ----------
    met, once, twice : int
        Genera met, met once, met twice.
    coverage : float
        Share of colonies whose genus was met.
    chao1 : RichnessEstimate
        With (n - 1)/n.
    chao1_bias_corrected : RichnessEstimate
        The other form, less moved by few genera met twice.
    ace : float
        From all rare genera.
    diversity : Diversity
        Hill numbers, observed and asymptotic.
    """

    met: int
    once: int
    twice: int
    coverage: float
    chao1: RichnessEstimate
    chao1_bias_corrected: RichnessEstimate
    ace: float
    diversity: Diversity


@dataclass(frozen=True, slots=True, eq=False)
class RecheckedRichness:
    """Richness by said names and by re-checked ones, side by side.

    Parameters
    ----------
    said, rechecked : Richness
        As recorded, and with what the second look found.
    counts : ndarray, shape (G,)
        Colonies of each genus after the second look.
    singletons, looked_at, confirmed : int
        Genera met once as said; of these looked at again; of these found to be so.
    not_named : int
        Colonies that the second look could not name: they leave the counts, not the reef.
    """

    said: Richness
    rechecked: Richness
    counts: NDArray[np.int64]
    singletons: int
    looked_at: int
    confirmed: int
    not_named: int


def summarise_richness(counts: ArrayLike) -> Richness:
    """Reckon the richness of one sample of colonies.

    Parameters
    ----------
    counts : array_like, shape (G,)
        Colonies of each genus, whole numbers.

    Returns
    -------
    Richness
        Met and estimated.

    Raises
    ------
    InputError
        For counts that are negative, broken or all 0.
    """
    tally = tally_colonies(counts)
    return Richness(
        tally.richness,
        tally.once,
        tally.twice,
        sample_coverage(tally),
        estimate_chao(tally),
        estimate_chao(tally, ChaoForm.BIAS_CORRECTED),
        estimate_ace(tally),
        summarise_diversity(counts),
    )


def recheck_singletons(counts: ArrayLike, said: ArrayLike, found: ArrayLike) -> RecheckedRichness:
    """Recompute richness with genera met once looked at again.

    Parameters
    ----------
    counts : array_like, shape (G,)
        Colonies of each genus as said, over every genus that may be found.
    said : array_like, shape (K,)
        Genera whose only colony was looked at again, 0 to G - 1.
    found : array_like, shape (K,)
        Genus that each was found to be; `NOT_NAMED` where it could not be named.

    Returns
    -------
    RecheckedRichness
        Both figures. A singleton not looked at stays as said.

    Raises
    ------
    InputError
        Naming each genus that was not met once, was given twice, or is not of the list.
    """
    before = numbers("colonies", counts)
    was, now = np.asarray(said, np.int64), np.asarray(found, np.int64)
    _check(before, was, now)
    after = before.copy()
    np.subtract.at(after, was, 1)
    named = now != NOT_NAMED
    np.add.at(after, now[named], 1)
    return RecheckedRichness(
        summarise_richness(before),
        summarise_richness(after),
        after.astype(np.int64),
        int((before == 1).sum()),
        len(was),
        int((was == now).sum()),
        int((~named).sum()),
    )


def _check(counts: np.ndarray, was: NDArray[np.int64], now: NDArray[np.int64]) -> None:
    """Refuse second looks at what is no singleton."""
    n = len(counts)
    if was.shape != now.shape or was.ndim != 1:
        refuse([fault("found", f"one for each of {len(was)} looked at", len(now), "Give both.")])
    faults: list[Fault] = []
    for place, genus in enumerate(was.tolist()):
        where = f"second look {place}"
        if not 0 <= genus < n:
            faults.append(fault(where, f"a genus from 0 to {n - 1}", genus, "Look it up."))
        elif counts[genus] != 1:
            remedy = "Only genera met once belong here; correct others by second readings."
            faults.append(fault(where, "a genus met once", f"met {counts[genus]:g} times", remedy))
        elif genus in was[:place]:
            faults.append(fault(where, "each genus once", f"{genus} again", "Give one of both."))
    for place, genus in enumerate(now.tolist()):
        if not NOT_NAMED <= genus < n:
            expected = f"a genus from 0 to {n - 1}, or {NOT_NAMED} for not named"
            faults.append(fault(f"second look {place}", expected, genus, "Look it up."))
    refuse(faults)
