"""What people type into forms, read with care."""

from __future__ import annotations

import json
import math

import numpy as np
from numpy.typing import NDArray

from corallum.errors import Fault, InputError

__all__ = ["optional_number", "optional_text", "read_points", "wanted_number"]

_MOST_POINTS = 5000


def optional_text(text: str) -> str | None:
    """Return a text, or None where nothing was typed."""
    return text.strip() or None


def optional_number(text: str, place: str) -> float | None:
    """Read a number; a comma does for a point. None where nothing was typed.

    Raises
    ------
    InputError
        Where it is no number.
    """
    typed = text.strip().replace(",", ".")
    if not typed:
        return None
    try:
        value = float(typed)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        fault = Fault(place, "", "a number", repr(text[:40]), "Write digits, such as 7.5.")
        raise InputError([fault])
    return value


def wanted_number(text: str, place: str) -> float:
    """Read a number that must be there.

    Raises
    ------
    InputError
        Where it is missing or no number.
    """
    value = optional_number(text, place)
    if value is None:
        raise InputError([Fault(place, "", "a number", "nothing", "Write it.")])
    return value


def read_points(text: str, place: str) -> NDArray[np.float64]:
    """Read points as they stand in a form: pairs of pixels, as JSON or one pair a line.

    Returns
    -------
    ndarray, (n, 2)
        x and y, in pixels of the upright original.

    Raises
    ------
    InputError
        Where it is anything else.
    """
    typed = text.strip()
    if not typed:
        return np.zeros((0, 2))
    try:
        if typed.startswith("["):
            found = np.array(json.loads(typed), dtype=float)
        else:
            rows = [line.replace(",", " ").split() for line in typed.splitlines() if line.strip()]
            found = np.array(rows, dtype=float)
        found = found.reshape(0, 2) if not found.size else found
        good = found.ndim == 2 and found.shape[1] == 2 and bool(np.isfinite(found).all())
    except (ValueError, TypeError, RecursionError, OverflowError):
        good, found = False, np.zeros((0, 2))
    if not good or len(found) > _MOST_POINTS or (np.abs(found) > 1e6).any():
        expected = f"at most {_MOST_POINTS} points, two numbers each"
        raise InputError([Fault(place, "", expected, repr(typed[:40]), "Place them again.")])
    return found
