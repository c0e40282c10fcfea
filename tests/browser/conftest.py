"""A real browser against a real server; skipped, with the reason, where either is absent."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from corallum.actions.demo import make_demo
from corallum.actions.programmes import CreateProgramme, create_programme

NOW = datetime.now(UTC).astimezone()
ARGS = (
    "--no-sandbox --disable-gpu --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync"
).split()
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
LAPTOP = {"viewport": {"width": 1280, "height": 800}}


def pytest_configure(config: pytest.Config) -> None:
    """Name the marker of these tests."""
    config.addinivalue_line("markers", "browser: drives a real browser against a real server")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test of this folder."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)


class Station:
    """A programme and the server of its pages, which can be stopped and started again."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.process: subprocess.Popen[str] | None = None
        self.url = ""

    def start(self) -> None:
        """Serve on a free port and wait until it says where."""
        command = [sys.executable, "-m", "corallum.cli", "serve", str(self.folder), "--port", "0"]
        self.process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        assert self.process.stdout is not None
        for line in self.process.stdout:
            if "http://" in line:
                self.url = line.split()[-1].rstrip("/")
                return
        pytest.fail("the server ended before it said where it listens")

    def stop(self, *, kill: bool = False) -> None:
        """End the server, politely or not."""
        if self.process is None:
            return
        if kill:
            self.process.kill()
        else:
            self.process.terminate()
        self.process.wait(timeout=20)
        if self.process.stdout is not None:
            self.process.stdout.close()
        self.process = None


@contextmanager
def served(folder: Path) -> Iterator[Station]:
    """Serve a programme while a block runs."""
    station = Station(folder)
    station.start()
    try:
        yield station
    finally:
        station.stop()


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    """Start the browser once."""
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("there is no chromium on this machine")
    with playwright.sync_playwright() as runner:
        found = runner.chromium.launch(executable_path=chromium, args=ARGS)
        yield found
        found.close()


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory, browser: object) -> Iterator[Station]:
    """Serve a small invented reserve to look at."""
    del browser  # nothing is made where it would not be looked at
    folder = tmp_path_factory.mktemp("demo") / "reserve"
    make_demo(folder, NOW, colonies=30, photos=4).close()
    with served(folder) as station:
        yield station


@pytest.fixture
def station(tmp_path: Path, browser: object) -> Iterator[Station]:
    """Serve an empty programme to write into."""
    del browser
    command = CreateProgramme("Invented", ("indo_pacific",), "Lead")
    create_programme(tmp_path / "own", command, NOW, np.random.default_rng(5)).close()
    with served(tmp_path / "own") as found:
        yield found
