"""Runs of the command line within the test's own process."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest

import support
from corallum.actions import references
from corallum.cli import determine
from corallum.cli.main import main
from corallum.model.answer import Determiner
from corallum.model.compiled import CompiledReference
from corallum.model.errors import Observer
from runs import Run, Runner


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
