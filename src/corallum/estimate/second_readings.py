"""How many records to have read again, and of which said genera."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.estimate.refusals import fault, numbers, refuse
from corallum.estimate.sample_size import whole

__all__ = ["share_out_readings", "size_for_overall_accuracy"]


def size_for_overall_accuracy(weight: ArrayLike, users: ArrayLike, se: float) -> float:
    """Return how many second readings the overall accuracy takes.

    Parameters
    ----------
    weight : array_like, shape (G,)
        Share of all records said of each genus; divided by their sum.
    users : array_like, shape (G,)
        Expected P(true = said | said), 0 to 1.
    se : float
        Wanted standard error of the overall accuracy, above 0.

    Returns
    -------
    float
        (sum_i W_i S_i / se)^2 with S_i = sqrt(U_i (1 - U_i)); not rounded.

    Raises
    ------
    InputError
        For accuracies outside 0 to 1 or a standard error that is not above 0.

    References
    ----------
    Olofsson P. et al. 2014. Remote Sensing of Environment 148:42-57, equation 13 (after
    Cochran 1977, equation 5.25).
    """
    w, u = numbers("weight", weight), numbers("users", users)
    faults = []
    if w.shape != u.shape or w.sum() <= 0:
        faults.append(fault("users", f"{w.size} numbers", u.size, "One for each genus."))
    if u.max() > 1:
        faults.append(fault("users", "0 to 1", u.max(), "Give .9 for 90 %."))
    if not se > 0:
        faults.append(fault("wanted standard error", "above 0", se, "Give .01 for 1 point."))
    refuse(faults)
    return float((w / w.sum() @ np.sqrt(u * (1 - u)) / se) ** 2)


def share_out_readings(records: ArrayLike, readings: float, least: int = 10) -> NDArray[np.int64]:
    """Share second readings out among said genera.

    Parameters
    ----------
    records : array_like, shape (G,)
        Records said of each genus.
    readings : float
        Second readings in all; more are given where the least of each genus takes more.
    least : int
        For each said genus, or all its records if fewer: our own choice, no source.

    Returns
    -------
    ndarray of int, shape (G,)
        The rest in proportion to the records, rounded up.

    Raises
    ------
    InputError
        For negative numbers.

    References
    ----------
    Olofsson P. et al. 2014. Remote Sensing of Environment 148:42-57, section 5.1 (a least for
    rare classes, the rest in proportion).
    """
    found = numbers("records", records)
    faults = [
        fault(name, "0 or more", value, "Give a number of records.")
        for name, value in (("readings", readings), ("least", least))
        if not value >= 0
    ]
    refuse(faults)
    floor = np.minimum(found, least)
    left = max(readings - floor.sum(), 0.0)
    room = found - floor
    extra = room * min(left / room.sum(), 1.0) if room.sum() > 0 else room
    return np.array([whole(x) for x in floor + extra], np.int64)
