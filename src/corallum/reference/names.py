"""From an older name to the genera of today, one or several."""

from __future__ import annotations

import difflib
from dataclasses import dataclass

from corallum.errors import UnknownNameError
from corallum.reference.genera import OlderName
from corallum.reference.reference import Reference

__all__ = ["ResolvedName", "nearest_genera", "resolve_name"]


@dataclass(frozen=True, slots=True)
class ResolvedName:
    """What a name means today.

    ``current`` is true where the name itself is in use; ``moved`` lists the
    genera to which it, or part of it, went.
    """

    name: str
    current: bool
    moved: tuple[OlderName, ...]

    @property
    def genera(self) -> tuple[str, ...]:
        """Genera that the name may mean, the name itself first where it is in use."""
        moved = (older.genus for older in self.moved)
        return tuple(dict.fromkeys(((self.name,) if self.current else ()) + tuple(moved)))


def resolve_name(reference: Reference, name: str) -> ResolvedName:
    """Resolve a genus name, written in any case.

    Raises
    ------
    UnknownNameError
        With the nearest names that the reference holds.
    """
    wanted = name.strip().capitalize()
    moved = tuple(older for older in reference.entries.names if older.older_name == wanted)
    current = wanted in reference.entries.genera
    if not current and not moved:
        raise UnknownNameError("genus", name, nearest_genera(reference, wanted))
    return ResolvedName(wanted, current, moved)


def nearest_genera(reference: Reference, name: str) -> tuple[str, ...]:
    """Return up to three names, current or older, spelt most like ``name``."""
    older = (older.older_name for older in reference.entries.names)
    known = dict.fromkeys([*reference.entries.genera, *older])
    return tuple(difflib.get_close_matches(name.capitalize(), [*known], n=3, cutoff=0.6))
