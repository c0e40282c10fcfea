"""A task that another process can find by its name."""

from __future__ import annotations

import os

from corallum.store.programme import Programme

__all__ = ["who_did_it"]


def who_did_it(programme: Programme, asked: str) -> bytes:
    """Return the programme's name, what was asked, and the number of the process."""
    return f"{programme.settings.name}|{asked}|{os.getpid()}".encode()
