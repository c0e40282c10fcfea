"""How well single characters tell two genera apart."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from corallum.model.compiled import CompiledCharacter, Floats
from corallum.model.errors import size_error
from corallum.model.likelihood import Kernel, size_density
from corallum.model.next_looks import ASSUMED_METHOD, ASSUMED_READINGS

__all__ = ["Contrast", "contrast_genera"]

_SIZE_NODES = 257


@dataclass(frozen=True, slots=True)
class Contrast:
    """Chance of naming the right one of two genera by one character (0.5 to 1)."""

    character: str
    seen: str
    seconds: float
    right: float


def contrast_genera(kernel: Kernel, a: int, b: int) -> tuple[Contrast, ...]:
    """Rank the characters by how well each alone tells two genera apart.

    Parameters
    ----------
    kernel : Kernel
        The observer.
    a, b : int
        Indices of the genera, taken as equally probable.

    Returns
    -------
    tuple of Contrast
        The deciding characters first.
    """
    compiled = kernel.compiled
    found = []
    for c, character in enumerate(compiled.characters):
        outcomes = _outcomes(kernel, c, character)
        weighted = compiled.genus_sum(outcomes * compiled.form_weight)
        right = float(np.maximum(weighted[:, a], weighted[:, b]).sum() / weighted[:, [a, b]].sum())
        found.append(Contrast(character.id, character.seen, character.seconds, right))
    return tuple(sorted(found, key=lambda item: -item.right))


def _outcomes(kernel: Kernel, c: int, character: CompiledCharacter) -> Floats:
    """P(report | form) over all reports of one character, shape (outcomes, NF)."""
    if not character.is_size:
        table = kernel.tables[c]
        return table if table.ndim == 2 else table[0]
    compiled = kernel.compiled
    readings = ASSUMED_READINGS if character.unit == "mm" else 1
    variance, _ = size_error(compiled, ASSUMED_METHOD, readings, kernel.observer)
    values = np.linspace(np.log(character.least), np.log(character.most), _SIZE_NODES)
    density = size_density(compiled, character, values, np.full(_SIZE_NODES, variance))
    density = density[:, 0] if character.log_shift.size else density
    shares = density * (values[1] - values[0])
    slip = compiled.settings.inapplicable
    outside = character.applies * slip + (1 - character.applies) * (1 - slip)
    return np.vstack([shares, outside]) if character.conditional else shares
