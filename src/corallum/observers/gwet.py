"""Gwet's AC1: agreement beyond chance that does not collapse where one label is common.

Chance is that of an observer who guesses on some items; where one label is most
of the reef, kappa can be low though nearly all readings agree, and AC1 is not.
"""

from __future__ import annotations

import numpy as np
from scipy import sparse

from corallum.observers.chance import beyond_chance, item_agreement
from corallum.observers.coefficient import Coefficient, no_coefficient

__all__ = ["gwet_ac1"]


def gwet_ac1(counts: sparse.csr_array) -> Coefficient:
    """Reckon AC1, readings missing or not.

    Parameters
    ----------
    counts : sparse array, shape (N, L)
        How many observers gave each item each label; L counts, so a label that nobody used
        must not be there unless it could have been used.

    Returns
    -------
    Coefficient
        Value with its standard error over items, and the interval of Student's t.

    Notes
    -----
    AC1 = (P - Pe) / (1 - Pe), Pe = sum_k p_k (1 - p_k) / (L - 1), p_k the mean over items of
    the share of label k. P as in Fleiss' kappa.

    References
    ----------
    Gwet 2008, British Journal of Mathematical and Statistical Psychology 61:29-48; Gwet 2014,
    Handbook of Inter-Rater Reliability, 4th edition.
    """
    seen = item_agreement(counts)
    if seen.n_compared == 0:
        return no_coefficient("no item was read twice or more")
    n_labels = len(seen.share)
    if n_labels < 2:
        return no_coefficient("one label only was used")
    chance = (1 - seen.share) / (n_labels - 1)
    by_item = np.asarray(seen.shares @ chance, dtype=np.float64).ravel()
    return beyond_chance(seen, float(seen.share @ chance), by_item)
