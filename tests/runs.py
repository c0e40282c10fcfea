"""What a run of the command line prints."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

__all__ = ["Run", "Runner"]


@dataclass(frozen=True)
class Run:
    """What a run printed, and its exit status."""

    status: int
    out: str
    err: str

    @property
    def objects(self) -> list[dict[str, Any]]:
        """The lines of standard output as JSON."""
        return [json.loads(line) for line in self.out.splitlines()]

    @property
    def faults(self) -> list[str]:
        """The lines of standard error."""
        return self.err.splitlines()


Runner = Callable[..., Run]
