"""The error layer: what observers report when looking at a state, or judging a size.

Default errors of an unknown observer are the mean of a trained and a new one. All
are guesses with little weight until an observer's own answers are known.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

import numpy as np

from corallum.model.compiled import CompiledCharacter, CompiledReference, Floats
from corallum.reference.scheme import Character, Scheme

__all__ = ["Errors", "Observer", "OwnErrors", "error_matrix", "size_error", "state_errors"]


class Observer(Enum):
    """Whose errors apply; the value is the weight of (trained, new) errors."""

    TRAINED = (1.0, 0.0)
    NEW = (0.0, 1.0)
    UNKNOWN = (0.5, 0.5)
    EXACT = (0.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class OwnErrors:
    """Errors of one observer, as their answers have shown them so far.

    Attributes
    ----------
    states : mapping of str to ndarray, each (S + 1, S + 1)
        Mean of P(reported | true) by character id; a character that is not there
        has the errors of an unknown observer.
    eye_bias, eye_sd : float
        Mean and standard deviation of the log of one size judged by eye against the
        true one. Sizes by ruler or photo keep the errors of an unknown observer.
    """

    states: Mapping[str, Floats] = field(default_factory=dict)
    eye_bias: float | None = None
    eye_sd: float | None = None


Errors = Observer | OwnErrors


def error_matrix(scheme: Scheme, character: Character) -> Floats:
    """Compile P(reported | true) of a trained and of a new observer.

    Returns
    -------
    ndarray, shape (2, S + 1, S + 1)
        Rows are true states. The last column, "not applicable", is not
        confused: applicability has a rule of its own.
    """
    ids = character.state_ids
    size = len(ids)
    matrices = np.zeros((2, size + 1, size + 1))
    slips = (scheme.settings.other_slip_trained, scheme.settings.other_slip_new)
    for level, slip in enumerate(slips):
        rates = np.full((size, size), slip / (size - 1))
        for pair in scheme.confusions:
            if pair.character == character.id:
                a, b = ids.index(pair.a), ids.index(pair.b)
                rates[a, b] = rates[b, a] = (pair.trained, pair.new)[level]
        np.fill_diagonal(rates, 0.0)
        # A state with many look-alikes keeps at least half of its reports.
        excess = np.maximum(rates.sum(axis=1, keepdims=True) / 0.5, 1.0)
        rates /= excess
        np.fill_diagonal(rates, 1.0 - rates.sum(axis=1))
        matrices[level, :size, :size] = rates
        matrices[level, size, size] = 1.0
    return matrices


def state_errors(character: CompiledCharacter, observer: Errors) -> Floats:
    """Return P(reported | true) for an observer, shape (S + 1, S + 1)."""
    if isinstance(observer, OwnErrors):
        own = observer.states.get(character.id)
        if own is not None:
            return own
        observer = Observer.UNKNOWN
    if observer is Observer.EXACT:
        return np.eye(len(character.states) + 1)
    trained, new = observer.value
    matrix: Floats = trained * character.errors[0] + new * character.errors[1]
    return matrix


def size_error(
    compiled: CompiledReference, method: str, n: int, observer: Errors
) -> tuple[float, float]:
    """Return the variance and the bias of the log of a measured size.

    Parameters
    ----------
    method : str
        eye, ruler, photo or published.
    n : int
        Readings averaged: only the part of each reading shrinks with it.
    observer : Observer or OwnErrors
        Whose errors; EXACT gives no error at all.

    Returns
    -------
    variance, bias : float
        In natural log units; the variance never grows with ``n``.
    """
    if observer is Observer.EXACT:
        return 0.0, 0.0
    kind = compiled.methods[method]
    if isinstance(observer, OwnErrors):
        if method == "eye" and observer.eye_sd is not None and observer.eye_bias is not None:
            # What does not shrink with n is what is left of one reading's spread.
            own = max(observer.eye_sd**2 - kind.each_sd**2, (0.25 * observer.eye_sd) ** 2)
            each = observer.eye_sd**2 - own
            return own + max(each, 0.0) / n, observer.eye_bias
        observer = Observer.UNKNOWN
    trained, new = observer.value
    sd = trained * kind.observer_sd[0] + new * kind.observer_sd[1]
    bias = trained * kind.bias[0] + new * kind.bias[1]
    return sd**2 + kind.each_sd**2 / n, bias
