"""Change of all figures between two surveys, with the error of names carried.

Both surveys bring resamples. Where the same transects were laid again these match row by
row, so that what a transect keeps cancels; otherwise they are independent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

from corallum.estimate.estimate import Estimate, Floats, t_estimate
from corallum.estimate.refusals import check_level, fault, refuse

__all__ = ["Draws", "Moved", "change_of_figures"]


@dataclass(frozen=True, slots=True, eq=False)
class Draws:
    """Figures of one survey.

    Parameters
    ----------
    value : ndarray, shape (F,)
        Best estimates.
    draws : ndarray, shape (B, F)
        Resamples around them.
    degrees : float
        Transects less strata.
    """

    value: Floats
    draws: Floats
    degrees: float


@dataclass(frozen=True, slots=True, eq=False)
class Moved:
    """Change of F figures.

    Parameters
    ----------
    difference : Estimate
        After less before.
    decline_chance : ndarray, shape (F,)
        Probability of a fall by more than the threshold, flat prior; not a number where
        nothing was there before.
    """

    difference: Estimate
    decline_chance: Floats


def change_of_figures(
    before: Draws, after: Draws, *, paired: bool, fall: float = 0.2, level: float = 0.95
) -> Moved:
    """Return change with its interval.

    Parameters
    ----------
    before, after : Draws
        Of the same F figures; where paired, of the same transects in the same order,
        resampled alike.
    paired : bool
        Whether they are.
    fall : float
        What counts as a decline, as a share of before: .2 is a fifth; 0 to below 1.
    level : float
        Coverage of the interval, 0 to 1.

    Returns
    -------
    Moved
        Student's t on the resampled standard error.

    Raises
    ------
    InputError
        For shapes that do not match, or a fall that is no share.

    Notes
    -----
    se^2 = var(after - before) over matched draws where paired, else var(after) + var(before).
    Degrees of freedom: those of one survey where paired, else by Welch and Satterthwaite. The
    chance of a decline is that of after - (1 - fall) before below 0, so that no ratio is taken.

    References
    ----------
    Welch B.L. 1947. Biometrika 34:28-35; Satterthwaite F.E. 1946. Biometrics 2:110-114.
    """
    check_level(level)
    _check(before, after, fall, paired=paired)
    difference = _contrast(before, after, 1.0, paired=paired, level=level)
    left = _contrast(before, after, 1.0 - fall, paired=paired, level=level)
    with np.errstate(invalid="ignore", divide="ignore"):
        chance = np.asarray(student.cdf(-left.value / left.se, left.df))
    chance = np.where(left.se > 0, chance, (left.value < 0).astype(np.float64))
    there = (before.value > 0) | (after.value > 0)
    return Moved(difference, np.where(there, chance, np.nan))


def _contrast(
    before: Draws, after: Draws, factor: float, *, paired: bool, level: float
) -> Estimate:
    """Return after less a factor of before."""
    value = after.value - factor * before.value
    if paired:
        variance = (after.draws - factor * before.draws).var(axis=0, ddof=1)
        df = np.full_like(value, min(before.degrees, after.degrees))
        return t_estimate(value, np.sqrt(variance), df, level)
    first = factor**2 * before.draws.var(axis=0, ddof=1)
    second = after.draws.var(axis=0, ddof=1)
    total = first + second
    below = first**2 / before.degrees + second**2 / after.degrees
    plain = np.full_like(total, before.degrees + after.degrees)
    df = np.divide(total**2, below, out=plain, where=below > 0)
    return t_estimate(value, np.sqrt(total), df, level)


def _check(before: Draws, after: Draws, fall: float, *, paired: bool) -> None:
    """Refuse what does not match."""
    faults = []
    if before.value.shape != after.value.shape:
        remedy = "Give both surveys of one list of genera."
        faults.append(fault("after", f"{before.value.size} figures", after.value.size, remedy))
    if paired and before.draws.shape != after.draws.shape:
        remedy = "Resample both as often, or compare them unpaired."
        faults.append(fault("draws", str(before.draws.shape), after.draws.shape, remedy))
    if not 0 <= fall < 1:
        faults.append(fault("fall", "0 to below 1", fall, "Give .2 for a fall by a fifth."))
    refuse(faults)
