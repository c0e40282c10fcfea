"""What estimates refuse alike: numbers that mean nothing, each named with what to do."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.errors import Fault, InputError

__all__ = ["check_level", "check_share", "fault", "numbers", "refuse", "strata_of"]


def fault(place: str, expected: str, found: object, remedy: str) -> Fault:
    """Return a fault in what an estimate was given."""
    return Fault("estimate", place, expected, str(found), remedy)


def refuse(faults: list[Fault]) -> None:
    """Raise InputError where there is any fault."""
    if faults:
        raise InputError(faults)


def check_level(level: float) -> None:
    """Refuse a level that is not between 0 and 1."""
    if not 0 < level < 1:
        raise InputError([fault("level", "between 0 and 1", level, "Give .95 for 95 %.")])


def check_share(name: str, share: float) -> None:
    """Refuse what is not a share strictly between 0 and 1."""
    if not 0 < share < 1:
        raise InputError([fault(name, "between 0 and 1", share, "Give .3 for 30 %.")])


def numbers(name: str, values: ArrayLike, *, negative: bool = False) -> NDArray[np.float64]:
    """Return values as floats; refuse what is empty, not finite or, unless allowed, negative."""
    found = np.asarray(values, np.float64)
    if not found.size:
        refuse([fault(name, "at least one value", "none", "Wait for a survey.")])
    bad = np.argwhere(~np.isfinite(found))
    if len(bad):
        at = ", ".join(str(i) for i in bad[0].tolist())
        refuse([fault(name, "finite numbers", f"none at {at}", "Leave the record out.")])
    if not negative and found.min() < 0:
        refuse([fault(name, "0 or more", found.min(), "Check the sign.")])
    return found


def strata_of(stratum: ArrayLike, n: int, n_strata: int) -> NDArray[np.int64]:
    """Return stratum numbers of n units, each from 0 to one less than the strata."""
    found = np.asarray(stratum, np.int64)
    if found.shape != (n,):
        refuse([fault("stratum", f"one for each of {n}", len(found), "Give each its own.")])
    if n and (found.min() < 0 or found.max() >= n_strata):
        expected = f"0 to {n_strata - 1}"
        refuse([fault("stratum", expected, f"{found.min()} to {found.max()}", "Count from 0.")])
    return found
