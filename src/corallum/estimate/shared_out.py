"""Cover shared out among true genera by what is believed of the names said.

For lengths, areas and any cover of transects that were read but once: the correction by
observers' errors works on counts, and what it makes of them, P(true | said), is carried
over to lengths here. It takes the length said of a name to be made up as its records are.
Refuses a name with cover of which there is no record.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from corallum.errors import Fault
from corallum.estimate.estimate import Floats
from corallum.estimate.refusals import fault, numbers, refuse
from corallum.estimate.resampled_cover import (
    CorrectedCover,
    Names,
    Resampling,
    TransectCover,
    correct_transects,
    prepare_transects,
)

__all__ = ["share_out_cover"]

# Rows kept in single precision add up to 1 but for this.
_ROUNDING = 1e-4


def share_out_cover(
    survey: TransectCover,
    given: Floats | NDArray[np.float32],
    rng: np.random.Generator,
    plan: Resampling | None = None,
) -> CorrectedCover:
    """Correct cover by posterior draws of P(true | said), with the error of both.

    Parameters
    ----------
    survey : TransectCover
        What was said, of K names; two transects or more in each stratum with weight.
    given : ndarray, shape (D, K, G)
        Draws: rows names said, columns true genera, which are the first G names. A row adds up
        to 1, or is of noughts where the name was not said. As `BayesCorrection.given`.
    rng : numpy.random.Generator
        Resamples transects, and picks draws with replacement.
    plan : Resampling, optional
        How many resamples, and the level.

    Returns
    -------
    CorrectedCover
        Of the G genera. `identification` is the share of the variance that the draws cause.

    Raises
    ------
    InputError
        For shapes that do not fit, rows that do not add up to 1, or a name with cover that has
        a row of noughts.

    Notes
    -----
    cover_true = cover_said @ P(true | said), with the mean of the draws. Its variance is that
    between transects, shared out by it, plus that of cover said @ the draws. Intervals are those
    of `log_interval`. Draws take one transect fewer than there are of each stratum, each with a
    draw of P(true | said) of its own.

    References
    ----------
    Rao J.N.K., Wu C.F.J. 1988. Journal of the American Statistical Association 83:231-241.
    Cochran W.G. 1977. Sampling Techniques, 3rd ed., section 6.11.
    """
    transects = prepare_transects(survey)
    draws = numbers("given", given)
    _check(draws, transects.cover)

    def draw(n: int, source: np.random.Generator) -> Floats:
        return np.asarray(draws[source.integers(0, len(draws), n)])

    names = Names(np.eye(len(transects.cover)), draws.mean(axis=0), draw, np.inf)
    return correct_transects(transects, names, (rng, rng), plan or Resampling())


def _check(given: Floats, cover: Floats) -> None:
    """Refuse draws that do not fit the names."""
    size = len(cover)
    if given.ndim != 3 or given.shape[1] != size or given.shape[2] > size or len(given) < 2:
        expected = f"2 draws or more of {size} names by {size} genera or fewer"
        refuse([fault("given", expected, given.shape, "The genera are the first names.")])
    rows = given.sum(axis=2)
    whole = np.abs(rows - 1) <= _ROUNDING
    faults: list[Fault] = []
    for i in range(size):
        if (rows[:, i] == 0).all():
            if cover[i] > 0:
                remedy = "Take its records into the correction too, or leave its cover out."
                faults.append(fault(f"said {i}", "records of a name with cover", "none", remedy))
        elif not whole[:, i].all():
            worst = rows[np.argmax(np.abs(rows[:, i] - 1)), i]
            expected = "shares that add up to 1"
            faults.append(fault(f"given, row {i}", expected, f"{worst:g}", "Divide by the sum."))
    refuse(faults)
