"""Change between surveys as one difference with its interval.

Two intervals that overlap do not say that nothing changed; the interval of the
difference does. Which one applies is a matter of design: the same transects again are
pairs, new ones are not.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import t as student

from corallum.estimate.estimate import Estimate, Floats, t_estimate
from corallum.estimate.refusals import fault, numbers, refuse

__all__ = [
    "change_in_pairs",
    "change_unpaired",
    "contrast",
    "decline_chance",
    "decline_chance_in_pairs",
    "impact_contrast",
    "impact_contrast_of_sites",
]


def contrast(parts: Sequence[Estimate], signs: Sequence[float], level: float = 0.95) -> Estimate:
    """Return a sum of independent estimates, each with its factor.

    Parameters
    ----------
    parts : sequence of Estimate
        Independent of one another, of one shape.
    signs : sequence of float
        Factor of each.
    level : float
        Coverage, 0 to 1.

    Returns
    -------
    Estimate
        Degrees of freedom by Welch and Satterthwaite.

    References
    ----------
    Welch B.L. 1947. Biometrika 34:28-35; Satterthwaite F.E. 1946. Biometrics 2:110-114.
    """
    variances = np.array([s**2 * one.se**2 for s, one in zip(signs, parts, strict=True)])
    value = np.sum([s * one.value for s, one in zip(signs, parts, strict=True)], axis=0)
    total = variances.sum(axis=0)
    below = (variances**2 / np.array([one.df for one in parts])).sum(axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        df = np.where(below > 0, total**2 / below, np.inf)
    return t_estimate(value, np.sqrt(total), df, level)


def change_unpaired(before: Estimate, after: Estimate, level: float = 0.95) -> Estimate:
    """Return the change between surveys on different transects.

    Parameters
    ----------
    before, after : Estimate
        Independent of each other.
    level : float
        Coverage, 0 to 1.

    Returns
    -------
    Estimate
        After less before.
    """
    return contrast([after, before], [1.0, -1.0], level)


def change_in_pairs(before: ArrayLike, after: ArrayLike, level: float = 0.95) -> Estimate:
    """Return the mean change of transects that were surveyed twice.

    Parameters
    ----------
    before, after : array_like, shape (n,) or (n, K)
        Of the same transects in the same order.
    level : float
        Coverage, 0 to 1.

    Returns
    -------
    Estimate
        After less before; t with n - 1 degrees of freedom.

    Raises
    ------
    InputError
        For fewer than two pairs, or surveys of different shapes.
    """
    first, second = _pairs(before, after)
    return _mean(second - first, level)


def decline_chance(before: Estimate, after: Estimate, share: float) -> Floats:
    """Return the probability that a figure fell by more than a share of what it was.

    Parameters
    ----------
    before, after : Estimate
        Independent of each other.
    share : float
        0 to 1: .2 for a fall by more than a fifth; 0 for any fall.

    Returns
    -------
    ndarray
        P(after < (1 - share) before), 0 to 1.

    Raises
    ------
    InputError
        For a share outside 0 to 1.

    Notes
    -----
    Flat priors on both means, so that (after - (1 - share) before) follows a t distribution
    around what was seen, its degrees of freedom by Welch and Satterthwaite. No ratio is taken,
    so a figure near 0 does no harm.
    """
    _check_fall(share)
    return _below_nought(contrast([after, before], [1.0, share - 1.0]))


def decline_chance_in_pairs(before: ArrayLike, after: ArrayLike, share: float) -> Floats:
    """Return the probability of a decline from transects that were surveyed twice.

    Parameters
    ----------
    before, after : array_like, shape (n,) or (n, K)
        Of the same transects in the same order.
    share : float
        0 to 1: .2 for a fall by more than a fifth.

    Returns
    -------
    ndarray
        P(after < (1 - share) before), 0 to 1, flat prior.

    Raises
    ------
    InputError
        For fewer than two pairs, or a share outside 0 to 1.
    """
    _check_fall(share)
    first, second = _pairs(before, after)
    return _below_nought(_mean(second - (1 - share) * first, 0.95))


def impact_contrast(
    control: tuple[Estimate, Estimate], impact: tuple[Estimate, Estimate], level: float = 0.95
) -> Estimate:
    """Return how much more an impact place changed than a control place did.

    Parameters
    ----------
    control, impact : tuple of Estimate
        Before and after; all four independent.
    level : float
        Coverage, 0 to 1.

    Returns
    -------
    Estimate
        (after - before) at the impact less (after - before) at the control.

    Notes
    -----
    With one place of each kind the contrast is of these two places, and whatever else
    differed between them is in it: use `impact_contrast_of_sites` where there are several.

    References
    ----------
    Green R.H. 1979. Sampling Design and Statistical Methods for Environmental Biologists;
    Underwood A.J. 1994. Ecological Applications 4:3-15 (from memory).
    """
    parts = [impact[1], impact[0], control[1], control[0]]
    return contrast(parts, [1.0, -1.0, -1.0, 1.0], level)


def impact_contrast_of_sites(
    control: tuple[ArrayLike, ArrayLike],
    impact: tuple[ArrayLike, ArrayLike],
    level: float = 0.95,
) -> Estimate:
    """Return the contrast with sites as the units.

    Parameters
    ----------
    control, impact : tuple of array_like, each (n,) or (n, K)
        Before and after of each site, two sites or more of each kind.
    level : float
        Coverage, 0 to 1.

    Returns
    -------
    Estimate
        Difference of the sites' mean changes, Welch's t.

    Raises
    ------
    InputError
        For fewer than two sites of a kind.
    """
    return change_unpaired(change_in_pairs(*control), change_in_pairs(*impact), level)


def _mean(values: Floats, level: float) -> Estimate:
    """Mean over the first axis."""
    n = len(values)
    se = values.std(axis=0, ddof=1) / np.sqrt(n)
    return t_estimate(values.mean(axis=0), se, n - 1, level)


def _below_nought(found: Estimate) -> Floats:
    """Probability of a value below 0; where nothing is uncertain, whether it is."""
    with np.errstate(invalid="ignore", divide="ignore"):
        z = np.where(found.se > 0, -found.value / found.se, -np.sign(found.value) * np.inf)
    chance = student.cdf(z, found.df)
    return np.asarray(np.where(np.isnan(z), 0.0, chance))


def _pairs(before: ArrayLike, after: ArrayLike) -> tuple[Floats, Floats]:
    """Check two surveys of the same transects."""
    first = numbers("before", before, negative=True)
    second = numbers("after", after, negative=True)
    faults = []
    if first.shape != second.shape:
        remedy = "Pair the same transects, or compare the surveys unpaired."
        faults.append(fault("after", f"shape {first.shape}", second.shape, remedy))
    if first.ndim == 0 or len(first) < 2:
        faults.append(fault("pairs", "at least 2", first.size, "One tells nothing of the spread."))
    refuse(faults)
    return first, second


def _check_fall(share: float) -> None:
    """Refuse a fall that is not a share."""
    if not 0 <= share < 1:
        refuse([fault("share", "0 to below 1", share, "Give .2 for a fall by a fifth.")])
