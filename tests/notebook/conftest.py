"""What the tests of the library for notebooks share."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from corallum.actions import references
from corallum.cli import determine
from corallum.cli.main import main
from corallum.notebook import Programme, Reference, open_programme
from support import library
from surveyed import Surveyed, make_surveys

Command = Callable[..., list[Any]]


@pytest.fixture(scope="session")
def reference() -> Reference:
    """The shipped reference."""
    return Reference(library())


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Command:
    """Run ``corallum`` with ``--json`` and return what it prints; tables are read once."""

    def shared(folder: Path | None = None) -> references.Library:
        return library() if folder is None else real(folder)

    real = references.Library
    monkeypatch.setattr(references, "Library", shared)
    monkeypatch.setattr(determine, "Library", shared)

    def call(*args: object) -> list[Any]:
        monkeypatch.setattr(sys, "argv", ["corallum", *map(str, args), "--json"])
        with pytest.raises(SystemExit):
            main()
        return [json.loads(line) for line in capsys.readouterr().out.splitlines()]

    return call


@pytest.fixture(scope="module")
def surveyed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Surveyed]:
    """An invented programme with surveys, every record of two of them read again."""
    made = make_surveys(tmp_path_factory.mktemp("surveyed") / "programme")
    yield made
    made.team.programme.close()


@pytest.fixture(scope="module")
def folder(surveyed: Surveyed) -> Path:
    """Its folder."""
    return surveyed.team.programme.folder


@pytest.fixture(scope="module")
def programme(folder: Path) -> Iterator[Programme]:
    """It, opened for reading."""
    with open_programme(folder) as found:
        yield found
