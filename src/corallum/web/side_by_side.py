"""Two or three genera side by side, the characters that decide between them first."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

from corallum.actions.accounts import compare_genera
from corallum.actions.references import Library
from corallum.web.characters import Shown, scheme_shown

__all__ = ["SideBySide", "side_by_side"]


@dataclass(frozen=True, slots=True)
class Row:
    """A character, what each genus shows, and the chance to tell the hardest pair by it."""

    character: Shown
    right: float
    texts: tuple[str, ...]
    known: bool


@dataclass(frozen=True, slots=True)
class SideBySide:
    """Rows, the deciding first, and what the reference says of the pairs."""

    notes: tuple[str, ...]
    rows: tuple[Row, ...]


def side_by_side(library: Library, genera: tuple[str, ...]) -> SideBySide:
    """Compare genera.

    A character is worth what it tells of the pair that it tells least apart.
    """
    shown = scheme_shown(library)
    right: dict[str, float] = {}
    texts: dict[str, dict[str, str]] = {}
    notes: list[str] = []
    for a, b in combinations(genera, 2):
        pair = compare_genera(library, a, b)
        notes += [note if len(genera) == 2 else f"{a} and {b}: {note}" for note in pair.notes]
        for row in pair.rows:
            right[row.character] = min(right.get(row.character, 1.0), row.right)
            said = texts.setdefault(row.character, {})
            said[a], said[b] = row.a, row.b
    rows = [
        Row(shown[id_], right[id_], tuple(said.get(genus, "") for genus in genera),
            all(said.get(genus) for genus in genera))
        for id_, said in texts.items() if id_ in shown and any(said.values())
    ]  # fmt: skip
    rows.sort(key=lambda row: (not row.known, row.character.seen == "k", -row.right))
    return SideBySide(tuple(notes), tuple(rows))
