"""A station: a programme and the server of its pages, and the devices that look at it."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest

__all__ = ["LAPTOP", "NOW", "PHONE", "Station", "served"]

NOW = datetime.now(UTC).astimezone()
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
LAPTOP = {"viewport": {"width": 1280, "height": 800}}


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
