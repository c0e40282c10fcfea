"""The range of a size over all forms of each genus."""

from __future__ import annotations

from collections.abc import Mapping

from corallum.reference.reference import Reference
from corallum.reference.values import SizeRange

__all__ = ["genus_ranges"]


def genus_ranges(reference: Reference, character: str) -> Mapping[str, tuple[float, float]]:
    """Return the widest range of a size that the forms of each genus have.

    Parameters
    ----------
    reference : Reference
        Checked tables.
    character : str
        Id of a size, such as ``depth_m``.

    Returns
    -------
    mapping of str to (float, float)
        Lowest and highest end of the ranges that hold 95 % of colonies, in the character's
        unit; genera without one are left out.
    """
    found: dict[str, tuple[float, float]] = {}
    for key, cell in reference.entries.values.items():
        if key[2] != character or not isinstance(cell.value, SizeRange):
            continue
        low, high = found.get(key[0], (cell.value.low, cell.value.high))
        found[key[0]] = min(low, cell.value.low), max(high, cell.value.high)
    return found
