"""A person's own errors as text that is kept with what was determined by them."""

from __future__ import annotations

import hashlib
import json
import math

import numpy as np

from corallum.errors import Fault, InputError
from corallum.model.compiled import CompiledReference, Floats
from corallum.model.errors import OwnErrors

__all__ = ["errors_from_text", "errors_hash", "errors_to_text"]

# Figures that are kept of each rate: enough that no answer moves.
_DIGITS = 6
_ROUNDED = 1e-3


def errors_to_text(errors: OwnErrors, compiled: CompiledReference) -> str:
    """Write errors with the names of their states, rates to six figures."""
    states = {
        id_: {
            "states": list(compiled.characters[compiled.character_index[id_]].states),
            "rows": np.round(matrix[:-1, :-1], _DIGITS).tolist(),
        }
        for id_, matrix in errors.states.items()
    }
    found = {"states": states, "eye_bias": errors.eye_bias, "eye_sd": errors.eye_sd}
    return json.dumps(found, sort_keys=True, allow_nan=False)


def errors_hash(text: str) -> str:
    """Return the SHA-256 of errors as text."""
    return hashlib.sha256(text.encode()).hexdigest()


def errors_from_text(compiled: CompiledReference, text: str) -> OwnErrors:
    """Read errors; a character whose states were edited since has no own errors.

    Raises
    ------
    InputError
        Where the text was altered into something else.
    """
    try:
        found = json.loads(text)
        states = {}
        for id_, value in found["states"].items():
            index = compiled.character_index.get(id_)
            if index is None or list(compiled.characters[index].states) != value["states"]:
                continue
            states[id_] = _matrix(value["rows"], len(value["states"]))
        return OwnErrors(states, *_eye(found["eye_bias"], found["eye_sd"]))
    except (ValueError, LookupError, TypeError, AttributeError, ArithmeticError,
            RecursionError) as error:  # fmt: skip
        fault = Fault("errors of an observer", "", "as kept", text[:40], "Restore a backup.")
        raise InputError([fault]) from error


def _matrix(rows: object, size: int) -> Floats:
    """Return rates as the model reads them; they were rounded, so each row is divided again."""
    rates = np.asarray(rows, dtype=np.float64)
    # Also where it is no number at all.
    if rates.shape != (size, size) or not (rates >= 0).all():
        raise ValueError("not a rate for each true and said state")
    total = rates.sum(axis=1, keepdims=True)
    if not (np.abs(total - 1) < _ROUNDED).all():
        raise ValueError("rates of a state that do not add up")
    matrix = np.eye(size + 1)
    matrix[:size, :size] = rates / total
    return matrix


def _eye(bias: object, sd: object) -> tuple[float | None, float | None]:
    """Return bias and spread, both or neither."""
    if bias is None and sd is None:
        return None, None
    if not isinstance(bias, int | float) or not isinstance(sd, int | float):
        raise TypeError("not a number")
    if not (math.isfinite(bias) and math.isfinite(sd) and sd > 0):
        raise ValueError("not a bias and a spread")
    return float(bias), float(sd)
