"""The honest name: the smallest set of genera that is probable enough.

Statuses are tried in this order: not in the reference, settled, not separable in
water, open. To add a rule, add its test to :func:`_status` and its need to
:func:`_needs`, in the place where it belongs in that order.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from corallum.model.compiled import CompiledReference, Floats
from corallum.records.answer import Limits, NextLook, Verdict

__all__ = ["decide", "is_settled", "leader_of", "open_name", "ranked", "smallest_set"]

# Below this expected gain a further look is not worth a diver's time.
_WORTH_A_LOOK_BITS = 0.01
# Probabilities that agree to so many decimals are equal: what sets them apart is
# rounding, which is not the same on every machine or in every language.
_TIE_DECIMALS = 12


def ranked(genus: Floats) -> NDArray[np.int64]:
    """Return the indices of genera, most probable first; ties go to the first in the list.

    Parameters
    ----------
    genus : ndarray, shape (G + 1,) or less
        P(genus | evidence).
    """
    return np.argsort(-np.round(genus, _TIE_DECIMALS), kind="stable")


def leader_of(genus: Floats) -> int:
    """Return the index of the most probable genus; ties go to the first in the list."""
    return int(np.argmax(np.round(genus, _TIE_DECIMALS)))


def smallest_set(genus: Floats, mass: float) -> NDArray[np.int64]:
    """Return the fewest genera that hold ``mass`` (0 to 1), most probable first.

    Parameters
    ----------
    genus : ndarray, shape (G + 1,)
        P(genus | evidence); ties go to the first.
    """
    order = ranked(genus)
    held = np.cumsum(genus[order])
    count = int(np.searchsorted(held, mass - 1e-12)) + 1
    return order[: min(count, len(order))]


def is_settled(compiled: CompiledReference, genus: Floats) -> bool:
    """Whether one genus of the reference reaches the threshold by itself."""
    best = leader_of(genus)
    return best < len(compiled.genera) and bool(genus[best] >= compiled.settings.set_mass)


def decide(
    compiled: CompiledReference, genus: Floats, limits: Limits, looks: tuple[NextLook, ...]
) -> Verdict:
    """Return the verdict on one colony.

    Parameters
    ----------
    genus : ndarray, shape (G + 1,)
        P(genus | evidence).
    limits : Limits
        What could be known at best.
    looks : tuple of NextLook
        What is still worth looking at.
    """
    status = _status(compiled, genus, limits)
    if status == "settled":
        chosen = np.array([leader_of(genus)])
    else:
        chosen = smallest_set(genus, compiled.settings.set_mass)
    names = tuple(compiled.genera[i] if i < len(compiled.genera) else None for i in chosen.tolist())
    name, rank = open_name(compiled, names)
    return Verdict(
        status,
        names,
        name,
        float(genus[chosen].sum()),
        rank,
        _needs(compiled, status, limits, looks),
    )


def _status(compiled: CompiledReference, genus: Floats, limits: Limits) -> str:
    """Return the first status that holds."""
    if leader_of(genus) == len(compiled.genera):
        return "not_in_reference"
    if is_settled(compiled, genus):
        return "settled"
    if limits.best_in_water < compiled.settings.separable:
        return "not_separable_in_water"
    return "open"


def _needs(
    compiled: CompiledReference, status: str, limits: Limits, looks: tuple[NextLook, ...]
) -> str:
    """Return what would help most."""
    if status == "settled":
        return "nothing"
    if status == "not_separable_in_water":
        skeleton = limits.best_with_skeleton >= compiled.settings.separable
        return "voucher" if skeleton else "second_reader"
    worth = any(look.gain_bits >= _WORTH_A_LOOK_BITS for look in looks)
    return "look" if status != "not_in_reference" and worth else "second_reader"


def open_name(compiled: CompiledReference, genera: tuple[str | None, ...]) -> tuple[str, str]:
    """Name a set in open nomenclature: genus, common family, common order, or neither.

    Returns
    -------
    name, rank : str
        Such as ``Dipsastraea sp.`` and ``genus``.

    References
    ----------
    Sigovini M., Keppel E. and Tagliapietra D. 2016. Open nomenclature in the
    biodiversity era. Methods in Ecology and Evolution 7:1217-1225.
    """
    known = [compiled.genera.index(name) for name in genera if name is not None]
    if not known or len(known) < len(genera):
        return "stony coral indet.", "none"
    if len(known) == 1:
        return f"{compiled.genera[known[0]]} sp.", "genus"
    families = {compiled.families[i] for i in known}
    if len(families) == 1:
        return f"{families.pop()} indet.", "family"
    orders = {compiled.orders[i] for i in known}
    if len(orders) == 1:
        return f"{orders.pop()} indet.", "order"
    return "stony coral indet.", "none"
