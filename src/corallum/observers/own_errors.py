"""A person's own errors as text that is kept with what was determined by them."""

from __future__ import annotations

import hashlib
import json

import numpy as np

from corallum.errors import Fault, InputError
from corallum.model.compiled import CompiledReference
from corallum.model.errors import OwnErrors

__all__ = ["errors_from_text", "errors_hash", "errors_to_text"]

# Figures that are kept of each rate: enough that no answer moves.
_DIGITS = 6


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
            size = len(value["states"])
            matrix = np.eye(size + 1)
            rows = np.asarray(value["rows"], dtype=np.float64)
            matrix[:size, :size] = rows / rows.sum(axis=1, keepdims=True)
            states[id_] = matrix
        return OwnErrors(states, float(found["eye_bias"]), float(found["eye_sd"]))
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        fault = Fault("errors of an observer", "", "as kept", text[:40], "Restore a backup.")
        raise InputError([fault]) from error
