"""Density of colonies from belts and quadrats.

A colony counts where its centre lies inside. Counting every colony that reaches in
would count large ones more often than small ones; counting those wholly inside would
miss them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.errors import Fault
from corallum.estimate.estimate import Estimate, Floats
from corallum.estimate.ratio import estimate_ratio
from corallum.estimate.refusals import fault, numbers, refuse, strata_of

__all__ = ["BeltDensity", "centre_inside", "estimate_belt_density"]


@dataclass(frozen=True, slots=True, eq=False)
class BeltDensity:
    """Colonies per square metre.

    Parameters
    ----------
    counts : ndarray, shape (T, K)
        Colonies by belt and genus.
    by_belt : ndarray, shape (T, K)
        Per square metre.
    by_genus : Estimate
        (K,), by the ratio estimator: a large belt counts for more.
    coral : Estimate
        All genera together, no dimension.
    """

    counts: Floats
    by_belt: Floats
    by_genus: Estimate
    coral: Estimate


def centre_inside(
    along_m: ArrayLike, across_m: ArrayLike, length_m: float, width_m: float
) -> NDArray[np.bool_]:
    """Say which colonies have their centre inside a belt or quadrat.

    Parameters
    ----------
    along_m : array_like, shape (M,)
        Centre along the belt from its start, m.
    across_m : array_like, shape (M,)
        Centre across, from the middle line, m; left of it is negative.
    length_m, width_m : float
        Of the belt, above 0, m.

    Returns
    -------
    ndarray of bool, shape (M,)
        A centre on the starting edge or the left one is inside, on the far or the right one
        outside: belts that adjoin count each colony once.

    Raises
    ------
    InputError
        For centres that are no numbers, or a belt without area.
    """
    along = numbers("along the belt", along_m, negative=True)
    across = numbers("across the belt", across_m, negative=True)
    if along.shape != across.shape:
        refuse([fault("across the belt", f"{along.shape}", across.shape, "Give both of each.")])
    if not min(length_m, width_m) > 0:
        found = f"{length_m:g} by {width_m:g} m"
        refuse([fault("belt", "a length and width above 0", found, "Measure the belt.")])
    half = width_m / 2
    inside = (along >= 0) & (along < length_m) & (across >= -half) & (across < half)
    return np.asarray(inside)


def estimate_belt_density(
    belt: ArrayLike, genus: ArrayLike, area_m2: ArrayLike, n_genera: int, level: float = 0.95
) -> BeltDensity:
    """Estimate density by genus from belts or quadrats, of unlike area too.

    Parameters
    ----------
    belt : array_like of int, shape (M,)
        Belt of each colony whose centre is inside, from 0.
    genus : array_like of int, shape (M,)
        Genus of each, from 0; colonies not identified may have a number of their own.
    area_m2 : array_like, shape (T,)
        Area searched of each belt, above 0, square metres; empty belts too.
    n_genera : int
        Genera of the list, K.
    level : float
        Coverage of the intervals, 0 to 1.

    Returns
    -------
    BeltDensity
        Per square metre, with the variance between belts. Densities of colonies of any size
        hold only down to the smallest that were looked for: say which.

    Raises
    ------
    InputError
        For fewer than two belts, an area of 0, a colony of a belt or genus not listed.

    References
    ----------
    Cochran W.G. 1977. Sampling Techniques, 3rd ed., section 6.3.
    """
    area = np.atleast_1d(numbers("area", area_m2))
    faults: list[Fault] = [
        fault(f"area of belt {one}", "above 0 square metres", area[one], "Give what was searched.")
        for one in np.flatnonzero(area <= 0).tolist()
    ]
    k = np.asarray(genus, np.int64)
    t = strata_of(belt, len(k), len(area))
    if len(k) and not (k.min() >= 0 and k.max() < n_genera):
        found = f"{k.min()} to {k.max()}"
        faults.append(fault("genus", f"0 to {n_genera - 1}", found, "Look them up."))
    refuse(faults)
    cell = np.bincount(t * n_genera + k, minlength=len(area) * n_genera)
    counts = cell.reshape(len(area), n_genera).astype(np.float64)
    return BeltDensity(
        counts,
        counts / area[:, None],
        estimate_ratio(counts, area, level=level),
        estimate_ratio(counts.sum(axis=1), area, level=level),
    )
