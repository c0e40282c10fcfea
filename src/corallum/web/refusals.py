"""Refusals that a page shows beside what was typed, so that nothing has to be typed again."""

from __future__ import annotations

from corallum.errors import ConflictError, CorallumError, InputError, UnknownNameError

__all__ = ["REFUSED", "lines_of"]

# What somebody can mend in the form that they sent. A role that does not allow it, or a
# record that is not there, is answered by a page of its own.
REFUSED = (InputError, ConflictError, UnknownNameError)


def lines_of(error: CorallumError) -> list[str]:
    """Return an error as sentences, one for each fault."""
    return [line for line in str(error).splitlines() if line]
