"""Counts of one sample by genus, as estimators of diversity take them.

Two kinds. Colonies: how many of each genus, out of n colonies. Incidences: on how many
transects each genus was met, out of n transects; corals lie in clumps, and then this is
the sounder of the two, for the transect is what was drawn at random.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.estimate.refusals import fault, numbers, refuse

__all__ = ["Tally", "tally_colonies", "tally_incidences"]


@dataclass(frozen=True, slots=True, eq=False)
class Tally:
    """What was met, genera that were not left out.

    Parameters
    ----------
    met : ndarray, shape (S,)
        Colonies of each genus, or transects with it; at least 1, in ascending order.
    n : int
        Colonies, or transects: the size of the sample.
    of_transects : bool
        Whether transects were counted, not colonies.
    """

    met: NDArray[np.int64]
    n: int
    of_transects: bool = False

    @property
    def richness(self) -> int:
        """Genera met, S."""
        return len(self.met)

    @property
    def total(self) -> int:
        """Colonies, or incidences, in all."""
        return int(self.met.sum())

    @property
    def once(self) -> int:
        """Genera met once, f1 (Q1 of transects)."""
        return self.times(1)

    @property
    def twice(self) -> int:
        """Genera met twice, f2 (Q2 of transects)."""
        return self.times(2)

    def times(self, k: int) -> int:
        """Count the genera met k times."""
        return int((self.met == k).sum())


def tally_colonies(counts: ArrayLike) -> Tally:
    """Tally colonies by genus.

    Parameters
    ----------
    counts : array_like, shape (G,)
        Colonies of each genus, whole numbers; genera not met may be left out or be 0.

    Returns
    -------
    Tally
        Its size is the number of colonies.

    Raises
    ------
    InputError
        For counts that are negative, broken or all 0, naming the first.
    """
    met = _whole("colonies", counts)
    return Tally(met, int(met.sum()))


def tally_incidences(transects_with: ArrayLike, n_transects: int) -> Tally:
    """Tally on how many transects each genus was met.

    Parameters
    ----------
    transects_with : array_like, shape (G,)
        Transects on which each genus was met.
    n_transects : int
        Transects searched, those without coral too.

    Returns
    -------
    Tally
        Its size is the number of transects.

    Raises
    ------
    InputError
        For counts that are negative, broken, all 0, or above the number of transects.
    """
    met = _whole("transects with a genus", transects_with)
    if met.max() > n_transects:
        remedy = "Count a transect once a genus, and every transect that was searched."
        refuse([fault("transects with a genus", f"at most {n_transects}", met.max(), remedy)])
    return Tally(met, n_transects, of_transects=True)


def _whole(name: str, values: ArrayLike) -> NDArray[np.int64]:
    """Return what is above 0 in ascending order; refuse what is no count."""
    found = numbers(name, values)
    if found.ndim != 1:
        remedy = "Add up the transects first, or take one at a time."
        refuse([fault(name, "one number a genus", f"shape {found.shape}", remedy)])
    broken = np.flatnonzero(found != np.floor(found))
    if len(broken):
        at = int(broken[0])
        remedy = "Cover is no count: use the observed Hill numbers of shares."
        refuse([fault(f"{name}, genus {at}", "a whole number", found[at], remedy)])
    met = np.sort(found[found > 0]).astype(np.int64)
    if not len(met):
        refuse([fault(name, "at least one above 0", "none", "There is nothing to reckon with.")])
    return met
