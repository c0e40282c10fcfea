"""A matrix of states: taxa, characters, and what each cell scores."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

__all__ = ["GAP", "MISSING", "SYMBOLS", "Cell", "Matrix", "MatrixCharacter", "rule_of"]

Cell: TypeAlias = tuple[int, ...] | None
MISSING: Cell = None
GAP: Cell = ()
"""The character makes no sense there."""

# Case makes no difference in a file, unless it says so: 36 signs, and no more.
SYMBOLS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class MatrixCharacter:
    """A character with the names of its states, in the order of their symbols."""

    name: str
    states: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Matrix:
    """Scores of each taxon (rows) in each character: state numbers from 0, missing or gap.

    ``rules`` says for the name of a character the one on which it hangs and the states of
    that in which it makes sense. ``uncertain`` are places, by row and column, where a file
    says that one of several states is meant, not which.
    """

    taxa: tuple[str, ...]
    characters: tuple[MatrixCharacter, ...]
    cells: tuple[tuple[Cell, ...], ...]
    rules: Mapping[str, tuple[str, tuple[str, ...]]]
    uncertain: frozenset[tuple[int, int]] = frozenset()


def rule_of(rule: tuple[str, tuple[str, ...]]) -> str:
    """Return a rule as the table of characters writes it."""
    return f"{rule[0]} = {'|'.join(rule[1])}"
