"""What an observer is shown, what they answer, and how both are written down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from corallum.errors import Fault, InputError
from corallum.records.colony import Report

__all__ = ["KINDS", "Item", "PracticeAnswer", "item_from_json", "item_to_json"]

KINDS = ("rendered", "photo", "described")


@dataclass(frozen=True, slots=True)
class Item:
    """One colony to be named.

    Parameters
    ----------
    kind : str
        ``rendered`` (a drawing), ``photo`` (of the programme) or ``described``.
    genus : str
        What it is; of a photo, its settled determination.
    form : str
        Form of the genus; empty for a photo.
    region : str
        Where it is said to be from.
    seed : int
        Makes the same picture again.
    scene : str
        What the picture shows; empty where there is none.
    conditions : tuple of str
        What acts on the colony, told to the observer.
    shown : mapping of str to str or float
        True state, or size in the character's unit, of what can be seen.
    told : tuple of str
        Characters of ``shown`` that are told in words; the picture shows the others.
    best : mapping of str to float
        P(genus) after a full look without error; what is left is something else.
    photo, colony : str
        Of a photo: its hash, and the id of its colony.
    ruler : bool
        Whether the picture has one.
    ask : str
        Character that the item practises; empty for the genus.
    why : str
        Why it is in the set.
    note : str
        The lead's teaching note.
    """

    kind: str
    genus: str
    form: str
    region: str
    seed: int
    scene: str = ""
    conditions: tuple[str, ...] = ()
    shown: Mapping[str, str | float] = field(default_factory=dict)
    told: tuple[str, ...] = ()
    best: Mapping[str, float] = field(default_factory=dict)
    photo: str = ""
    colony: str = ""
    ruler: bool = True
    ask: str = ""
    why: str = ""
    note: str = ""

    @property
    def pictured(self) -> tuple[str, ...]:
        """Characters that only the picture shows."""
        return tuple(id_ for id_ in self.shown if id_ not in self.told)


@dataclass(frozen=True, slots=True)
class PracticeAnswer:
    """What an observer says of an item.

    Parameters
    ----------
    genera : tuple of str
        One genus, or those that can't be told apart here; none is "not in the reference".
    confidence : float
        That the truth is among them, 0 to 1.
    reports : mapping of str to Report
        What was seen, by character; sizes by eye.
    seconds : float or None
        Taken to answer.
    """

    genera: tuple[str, ...]
    confidence: float
    reports: Mapping[str, Report] = field(default_factory=dict)
    seconds: float | None = None


def item_to_json(item: Item) -> dict[str, Any]:
    """Write an item as JSON holds it."""
    found = asdict(item)
    found["conditions"], found["told"] = list(item.conditions), list(item.told)
    return found


def item_from_json(value: object, where: str) -> Item:
    """Read an item.

    Raises
    ------
    InputError
        With every field that is missing or of the wrong kind.
    """
    if not isinstance(value, dict):
        raise InputError([Fault(where, "", "an item", repr(value)[:40], "Make the set again.")])
    faults = [
        Fault(where, name, _KINDS[kind], repr(value.get(name))[:40], "Make the set again.")
        for name, kind in _FIELDS.items()
        if not isinstance(value.get(name, _OPTIONAL.get(name)), kind)
    ]
    if not faults and value["kind"] not in KINDS:
        expected = f"one of {', '.join(KINDS)}"
        faults = [Fault(where, "kind", expected, repr(value["kind"])[:40], "Mend it.")]
    if not faults:
        faults = _faults_inside(value, where)
    if faults:
        raise InputError(faults)
    known = {name: value[name] for name in _FIELDS if name in value}
    for name in ("conditions", "told"):
        known[name] = tuple(known.get(name, ()))
    return Item(**known)


def _faults_inside(value: Mapping[str, Any], where: str) -> list[Fault]:
    """Check what stands in the lists and mappings of an item."""
    remedy = "Make the set again."
    faults = [
        Fault(where, name, "texts", "something else", remedy)
        for name in ("conditions", "told")
        if not all(isinstance(one, str) for one in value.get(name, ()))
    ]
    if not all(isinstance(one, str | int | float) for one in value.get("shown", {}).values()):
        faults.append(Fault(where, "shown", "states and sizes", "something else", remedy))
    best = value.get("best", {}).values()
    if not all(isinstance(p, int | float) and 0 <= p <= 1 for p in best):
        faults.append(Fault(where, "best", "numbers from 0 to 1", "something else", remedy))
    return faults


_FIELDS: dict[str, type] = {
    "kind": str, "genus": str, "form": str, "region": str, "seed": int, "scene": str,
    "conditions": list, "shown": dict, "told": list, "best": dict, "photo": str, "colony": str,
    "ruler": bool, "ask": str, "why": str, "note": str,
}  # fmt: skip
_KINDS: dict[type, str] = {
    str: "a text", int: "a whole number", list: "a list", dict: "an object",
    bool: "true or false",
}  # fmt: skip
_OPTIONAL: dict[str, object] = {
    "scene": "", "conditions": [], "shown": {}, "told": [], "best": {}, "photo": "", "colony": "",
    "ruler": True, "ask": "", "why": "", "note": "",
}  # fmt: skip
