"""Practice answers beside what the items showed: what the error layer learns from."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from corallum.model.compiled import CompiledReference, Floats
from corallum.model.evidence import batch, read_colony
from corallum.observers.answered import Answered
from corallum.practice.item import Item, PracticeAnswer
from corallum.records.colony import Colony

__all__ = ["answers_beside_truth", "genera_said"]


def answers_beside_truth(
    compiled: CompiledReference, pairs: Sequence[tuple[Item, PracticeAnswer]]
) -> Answered:
    """Put the reports of one observer beside what the items showed.

    Parameters
    ----------
    compiled : CompiledReference
        Which must know every character and state reported.
    pairs : sequence of (Item, PracticeAnswer)
        In any order. Reports of what an item does not show teach nothing.
    """
    evidence = batch(
        compiled,
        [
            read_colony(
                compiled, Colony(str(i), answer.reports, item.region, None, item.conditions)
            )
            for i, (item, answer) in enumerate(pairs)
        ],
    )
    true = {c: _true_states(compiled, c, [item for item, _ in pairs]) for c in evidence.states
            if not compiled.characters[c].is_size}  # fmt: skip
    sizes = {c: _true_sizes(compiled, c, [item for item, _ in pairs]) for c in evidence.sizes}
    return Answered(evidence, true, sizes)


def _true_states(compiled: CompiledReference, c: int, items: Sequence[Item]) -> Floats:
    """True states of one character, (N, S); rows of zeros where an item does not show it."""
    character = compiled.characters[c]
    true = np.zeros((len(items), len(character.states)))
    for i, item in enumerate(items):
        state = item.shown.get(character.id)
        if state in character.states:
            true[i, character.states.index(str(state))] = 1.0
    return true


def _true_sizes(compiled: CompiledReference, c: int, items: Sequence[Item]) -> Floats:
    """Log of the true size, (N,); nan where an item does not show it."""
    id_ = compiled.characters[c].id
    found = [item.shown.get(id_) for item in items]
    return np.array(
        [np.log(value) if isinstance(value, int | float) and value > 0 else np.nan
         for value in found]
    )  # fmt: skip


def genera_said(
    compiled: CompiledReference, pairs: Sequence[tuple[Item, PracticeAnswer]]
) -> tuple[np.ndarray[tuple[int], np.dtype[np.int64]], Floats]:
    """Return true genus, (n,), and the answer shared among the genera named, (n, G + 1)."""
    size = len(compiled.genera)
    true = np.array([compiled.genera.index(item.genus) for item, _ in pairs], dtype=np.int64)
    said = np.zeros((len(pairs), size + 1))
    for i, (_, answer) in enumerate(pairs):
        named = [compiled.genera.index(genus) for genus in answer.genera] or [size]
        said[i, named] = 1.0 / len(named)
    return true, said
