"""The "said and true" estimator: what was said is the stratum, second readings tell the truth.

A random part of the survey's own records of each said genus is read again. This needs
no assumption on how observers err, only that the second reading is right and the part
was drawn at random. Refuses a said genus with weight but fewer than two second readings.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.estimate.estimate import Estimate, Floats, t_estimate
from corallum.estimate.refusals import fault, numbers, refuse

__all__ = ["SaidAndTrue", "check_readings", "estimate_said_and_true"]


@dataclass(frozen=True, slots=True, eq=False)
class SaidAndTrue:
    """Shares and accuracies from a table of said by true.

    Parameters
    ----------
    said : ndarray, shape (G,)
        Shares said: the uncorrected figure.
    shares : Estimate
        Shares of true genera, shape (G,): the corrected figure.
    totals : Estimate or None
        The same in units of the sizes, where sizes were given.
    cells : ndarray, shape (G, G)
        Estimated share of each said (rows) and true (columns).
    users, producers : Estimate
        P(true = said | said) and P(said = true | true), shape (G,); not a number where the
        genus was not said, or not found.
    overall : Estimate
        Share named right.
    """

    said: Floats
    shares: Estimate
    totals: Estimate | None
    cells: Floats
    users: Estimate
    producers: Estimate
    overall: Estimate


def estimate_said_and_true(
    readings: ArrayLike,
    *,
    weight: ArrayLike | None = None,
    sizes: ArrayLike | None = None,
    finite: bool = False,
    level: float = 0.95,
) -> SaidAndTrue:
    """Estimate shares of true genera where said genera are the strata.

    Parameters
    ----------
    readings : array_like, shape (G, G)
        Second readings: rows said at first, columns true; one list of genera for both, with
        those that were only said, or only found, among them.
    weight : array_like, shape (G,), optional
        Share of all points said of each genus; divided by their sum. Or give `sizes`.
    sizes : array_like, shape (G,), optional
        Points, area or records said of each genus, from which weights follow.
    finite : bool
        Take off what was read already: for a statement on these very records, where a said
        genus with all its records read again is known for sure. Sizes are then records.
    level : float
        Coverage of the intervals, 0 to 1.

    Returns
    -------
    SaidAndTrue
        Normal intervals, not clipped.

    Raises
    ------
    InputError
        Naming each said genus that lacks second readings.

    Notes
    -----
    p_.j = sum_i W_i n_ij / n_i; S^2 = sum_i W_i^2 (n_ij / n_i)(1 - n_ij / n_i) / (n_i - 1);
    user's, producer's and overall accuracy by equations 1 to 7 of the 2014 paper.

    References
    ----------
    Olofsson P. et al. 2013. Remote Sensing of Environment 129:122-131, and 2014. 148:42-57.
    """
    table = numbers("readings", readings)
    size = table.shape[0]
    if table.shape != (size, size):
        refuse([fault("readings", "as many rows as columns", table.shape, "One list of genera.")])
    w, n_said = _weights(weight, sizes, size)
    row = table.sum(axis=1)
    if finite and sizes is None:
        refuse([fault("sizes", "records of each genus", "none", "Give sizes, not weights.")])
    left = 1 - row / np.where(n_said > 0, n_said, np.inf) if finite else np.ones(size)
    if left.min() < 0:
        i = int(np.argmin(left))
        refuse([fault(f"said {i}", f"at most {n_said[i]:g} readings", row[i], "Count again.")])
    check_readings(row, w, left)
    part = np.divide(table, row[:, None], out=np.zeros_like(table), where=row[:, None] > 0)
    own = np.divide(left, row - 1, out=np.zeros(size), where=row > 1)
    spread = part * (1 - part) * own[:, None]
    share = w @ part
    se = np.sqrt(w**2 @ spread)
    right = np.diagonal(part)
    shares = t_estimate(share, se, np.inf, level)
    scale = n_said.sum()
    return SaidAndTrue(
        w,
        shares,
        None if sizes is None else t_estimate(share * scale, se * scale, np.inf, level),
        w[:, None] * part,
        _users(right, np.diagonal(spread), w > 0, level),
        _producers(w, part, spread, level),
        t_estimate(w @ right, np.sqrt(w**2 @ np.diagonal(spread)), np.inf, level),
    )


def check_readings(row: Floats, weight: Floats, left: Floats | None = None) -> None:
    """Refuse strata with weight that lack second readings.

    Parameters
    ----------
    row : ndarray, shape (S,)
        Second readings of each stratum.
    weight : ndarray, shape (S,)
        Weights of the strata.
    left : ndarray, shape (S,), optional
        Share of the stratum's records not read again; a stratum with none needs no second one.
    """
    needed = np.full(len(row), 2.0) if left is None else np.where(left > 0, 2.0, 1.0)
    remedy = "Have more of its records read again, or join it to a like genus."
    lacking = np.flatnonzero((row < needed) & (weight > 0))
    refuse(
        [
            fault(f"said {i}", f"at least {needed[i]:g} second readings", f"{row[i]:g}", remedy)
            for i in lacking.tolist()
        ]
    )


def _weights(weight: ArrayLike | None, sizes: ArrayLike | None, size: int) -> tuple[Floats, Floats]:
    """Weights adding up to 1, and the numbers that they come from."""
    if (weight is None) == (sizes is None):
        refuse([fault("weight", "either weights or sizes", "both or neither", "Give one.")])
    given = numbers("weight", weight if sizes is None else sizes)  # type: ignore[arg-type]  # one of them is there
    if given.shape != (size,) or given.sum() <= 0:
        refuse([fault("weight", f"{size} numbers, some above 0", given, "One for each genus.")])
    return np.asarray(given / given.sum()), given


def _users(right: Floats, spread: Floats, is_said: NDArray[np.bool_], level: float) -> Estimate:
    """User's accuracy; not a number of what was not said."""
    value = np.where(is_said, right, np.nan)
    se = np.where(is_said, np.sqrt(spread), np.nan)
    return t_estimate(value, se, np.inf, level)


def _producers(w: Floats, part: Floats, spread: Floats, level: float) -> Estimate:
    """Producer's accuracy: equation 7 of Olofsson et al. 2014."""
    share = w @ part
    kept = w * np.diagonal(part)
    with np.errstate(invalid="ignore", divide="ignore"):
        value = np.where(share > 0, kept / share, np.nan)
        own = w**2 * np.diagonal(spread)
        others = w**2 @ spread - own
        variance = ((1 - value) ** 2 * own + value**2 * others) / share**2
    return t_estimate(value, np.sqrt(variance), np.inf, level)
