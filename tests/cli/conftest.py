"""Runs of the command line within the test's own process."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

import support
from corallum.actions import references
from corallum.cli import determine
from corallum.cli.main import main
from corallum.model.answer import Determiner
from corallum.model.compiled import CompiledReference
from corallum.model.errors import Observer


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


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Runner:
    """Run ``corallum`` with arguments and standard input; the shipped reference is read once."""

    def library(folder: Path | None = None) -> references.Library:
        return support.library() if folder is None else real(folder)

    def determiner(compiled: CompiledReference, observer: Observer) -> Determiner:
        shared = compiled is support.compiled()
        return support.determiner(observer) if shared else Determiner(compiled, observer)

    real = references.Library
    monkeypatch.setattr(references, "Library", library)
    monkeypatch.setattr(determine, "Library", library)
    monkeypatch.setattr(determine, "Determiner", determiner)
    monkeypatch.setenv("COLUMNS", "120")

    def call(*args: object, stdin: bytes = b"") -> Run:
        monkeypatch.setattr(sys, "argv", ["corallum", *map(str, args)])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
        with pytest.raises(SystemExit) as end:
            main()
        printed = capsys.readouterr()
        status = end.value.code
        return Run(status if isinstance(status, int) else 0, printed.out, printed.err)

    return call
