"""A survey as arrays: what was said on each transect, and what was read again of it.

T transects, K names said (genera, coral not identified, and what is no coral), H strata.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from corallum.estimate.estimate import Floats

__all__ = ["ALL_CORAL", "Grouping", "SurveyTable", "group_labels"]

# Name of the group of all coral.
ALL_CORAL = "all stony coral"
Indices = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class SurveyTable:
    """A survey, ready to be estimated from.

    Parameters
    ----------
    labels : tuple of str
        Names said, or found at the second reading, K of them.
    is_coral, is_genus : ndarray of bool, shape (K,)
        Whether a name counts as living stony coral, and whether it is a genus.
    transects, sites, strata, observers : tuple of str
        Names or ids that the numbers below count.
    site, stratum, observer : ndarray of int, shape (T,)
        Of each transect.
    weight : ndarray, shape (H,)
        Area, or share, of each stratum.
    met : ndarray, shape (T, K)
        Amounts: centimetres, points, colonies.
    lines : ndarray, shape (T, K)
        Records behind them.
    searched : ndarray, shape (T,)
        In the unit that makes amounts cover or density.
    readings : ndarray, shape (T, K, K)
        Second readings of each transect: rows said, columns true.
    is_cover : bool
        Whether figures are shares of the bottom, not colonies per square metre.
    """

    labels: tuple[str, ...]
    is_coral: NDArray[np.bool_]
    is_genus: NDArray[np.bool_]
    transects: tuple[str, ...]
    sites: tuple[str, ...]
    strata: tuple[str, ...]
    observers: tuple[str, ...]
    site: Indices
    stratum: Indices
    observer: Indices
    weight: Floats
    met: Floats
    lines: Floats
    searched: Floats
    readings: Floats
    is_cover: bool

    def at(self, keep: NDArray[np.bool_]) -> SurveyTable:
        """Return the same of some transects, a mask of shape (T,)."""
        names = tuple(name for name, here in zip(self.transects, keep, strict=True) if here)
        return replace(
            self, transects=names, site=self.site[keep], stratum=self.stratum[keep],
            observer=self.observer[keep], met=self.met[keep], lines=self.lines[keep],
            searched=self.searched[keep], readings=self.readings[keep],
        )  # fmt: skip

    @property
    def n_read_again(self) -> int:
        """Second readings in all."""
        return int(self.readings.sum())


@dataclass(frozen=True, slots=True, eq=False)
class Grouping:
    """Groups of names that figures are given of.

    Parameters
    ----------
    names : tuple of str
        Of F groups.
    matrix : ndarray, shape (K, F)
        1 where a name belongs to a group; a name may belong to several.
    """

    names: tuple[str, ...]
    matrix: Floats


def group_labels(
    labels: Sequence[str],
    is_coral: NDArray[np.bool_],
    group_of: Mapping[str, str],
    total: str | None = ALL_CORAL,
) -> Grouping:
    """Group the names of living coral.

    Parameters
    ----------
    labels : sequence of str
        K names.
    is_coral : ndarray of bool, shape (K,)
        Others belong to no group.
    group_of : mapping of str to str
        Group of each name; one that is not in it is a group by itself.
    total : str or None
        Name of the group of all coral, which comes first; None is no such group.

    Returns
    -------
    Grouping
        Groups in the order of their names.
    """
    own = [group_of.get(label, label) for label in labels]
    names = sorted({name for name, coral in zip(own, is_coral, strict=True) if coral})
    first = [] if total is None else [total]
    matrix = np.zeros((len(labels), len(names) + len(first)))
    for k, (name, coral) in enumerate(zip(own, is_coral, strict=True)):
        if coral:
            matrix[k, len(first) + names.index(name)] = 1
            matrix[k, : len(first)] = 1
    return Grouping((*first, *names), matrix)
