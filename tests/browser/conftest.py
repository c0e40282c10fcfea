"""A real browser against a real server; skipped, with the reason, where either is absent."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from browser.stations import NOW, Station, served
from corallum.actions.demo import make_demo
from corallum.actions.programmes import CreateProgramme, create_programme

if TYPE_CHECKING:
    from playwright.sync_api import Browser


def pytest_configure(config: pytest.Config) -> None:
    """Name the marker of these tests."""
    config.addinivalue_line("markers", "browser: drives a real browser against a real server")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test of this folder."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory, browser: Browser) -> Iterator[Station]:
    """Serve a small invented reserve to look at."""
    del browser  # nothing is made where it would not be looked at
    folder = tmp_path_factory.mktemp("demo") / "reserve"
    make_demo(folder, NOW, colonies=30, photos=4).close()
    with served(folder) as station:
        yield station


@pytest.fixture
def station(tmp_path: Path, browser: Browser) -> Iterator[Station]:
    """Serve an empty programme to write into."""
    del browser
    command = CreateProgramme("Invented", ("indo_pacific",), "Lead")
    create_programme(tmp_path / "own", command, NOW, np.random.default_rng(5)).close()
    with served(tmp_path / "own") as found:
        yield found
