"""An estimate with its standard error and interval, for one quantity or for many at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import t as student

from corallum.estimate.refusals import check_level

__all__ = ["Estimate", "Floats", "t_estimate"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """Value, standard error and interval; arrays of no dimension, or of shape (K,).

    Parameters
    ----------
    value, se : ndarray
        Estimate and standard error, in the unit of the data.
    low, high : ndarray
        Ends of the interval; never clipped.
    df : ndarray
        Degrees of freedom of Student's t behind the interval; infinite for the normal.
    """

    value: Floats
    se: Floats
    low: Floats
    high: Floats
    df: Floats


def t_estimate(value: ArrayLike, se: ArrayLike, df: ArrayLike, level: float = 0.95) -> Estimate:
    """Return an estimate with the interval of Student's t.

    Parameters
    ----------
    value, se : array_like
        Of one shape.
    df : array_like
        Degrees of freedom, above 0; infinite for the normal distribution.
    level : float
        Coverage, 0 to 1.

    Returns
    -------
    Estimate
        Value plus and minus t standard errors.

    Raises
    ------
    InputError
        For a level that is not between 0 and 1.

    Examples
    --------
    >>> found = t_estimate(10.0, 1.0, np.inf)
    >>> round(float(found.low), 2)
    8.04
    """
    check_level(level)
    value, se = np.asarray(value, np.float64), np.asarray(se, np.float64)
    df = np.broadcast_to(np.asarray(df, np.float64), value.shape)
    half = np.asarray(student.ppf((1 + level) / 2, df), np.float64) * se
    return Estimate(value, se, np.asarray(value - half), np.asarray(value + half), df)
