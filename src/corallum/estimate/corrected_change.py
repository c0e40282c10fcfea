"""Change of corrected cover between two surveys, with the error of names in both.

The spread comes from draws of both, so that what they share cancels: the same transects,
or the same second readings, where draws match row by row. Percentiles of the differences
are not used: they take the spread for known, and find a change where there is none more
often than they say.
"""

from __future__ import annotations

import numpy as np

from corallum.estimate.change import contrast
from corallum.estimate.estimate import Estimate, t_estimate
from corallum.estimate.refusals import fault, refuse
from corallum.estimate.resampled_cover import CorrectedCover

__all__ = ["change_of_cover"]


def change_of_cover(
    before: CorrectedCover, after: CorrectedCover, level: float = 0.95
) -> tuple[Estimate, Estimate]:
    """Return the change of cover, uncorrected and corrected.

    Parameters
    ----------
    before, after : CorrectedCover
        Of as many resamples. Surveys of the same transects in the same order are each given
        generators of the same seed, so that draws match row by row; others are given
        different ones.
    level : float
        Coverage, 0 to 1.

    Returns
    -------
    tuple of Estimate
        After less before, shape (G,) each.

    Raises
    ------
    InputError
        For draws of different shapes, or a level outside 0 to 1.

    Notes
    -----
    Difference plus and minus t times the standard deviation of the differences of draws,
    degrees of freedom by Welch and Satterthwaite from those of both surveys.

    References
    ----------
    Welch B.L. 1947. Biometrika 34:28-35. Hesterberg T.C. 2015. American Statistician
    69:371-386 (t interval with bootstrap standard error).
    """
    if before.draws.shape != after.draws.shape:
        remedy = "Take as many resamples of one list of genera."
        refuse([fault("draws after", f"shape {before.draws.shape}", after.draws.shape, remedy)])
    moved = after.uncorrected_draws - before.uncorrected_draws, after.draws - before.draws
    pairs = (before.uncorrected, after.uncorrected), (before.corrected, after.corrected)
    plain, corrected = (
        t_estimate(
            last.value - first.value,
            np.std(draws, axis=0, ddof=1),
            contrast([last, first], [1.0, -1.0], level).df,
            level,
        )
        for draws, (first, last) in zip(moved, pairs, strict=True)
    )
    return plain, corrected
