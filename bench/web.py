"""The pages under clients: the answer to a tap, start-up, first page, lists of 100,000 colonies.

Server and clients share the machine. Each client is a thread with its own colony and its
own connection, and taps another state every two seconds. Every fourth tap is a size that
nobody else has, so that no answer comes out of the memory of an earlier one.
"""

from __future__ import annotations

import http.client
import re
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from itertools import cycle
from pathlib import Path
from urllib.parse import urlencode

import numpy as np

from corallum.actions.programmes import CreateProgramme, create_programme
from measure import median_seconds
from store import _fill

__all__ = ["bench_web"]

NOW = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
EVERY = 2.0
SECONDS = 30.0
CLIENTS = 20
WANTED_MS, WANTED_LIST_MS, WANTED_KB, WANTED_START = 150, 300, 300, 3
LOADS = (20, 30, 40, 60, 80, 100, 120)
COLONIES = 100_000
FORM = {
    "Sec-Fetch-Site": "same-origin",
    "HX-Request": "true",
    "Accept-Encoding": "gzip",
    "Content-Type": "application/x-www-form-urlencoded",
}
TAPS = (
    ("growth_form", "massive"), ("corallite_arrangement", "plocoid"), ("columella", "spongy"),
    ("corallite_relief", "domed"), ("tissue", "thin"), ("wall_crest", "rounded"),
    ("growth_form", "encrusting"), ("corallite_arrangement", "cerioid"), ("columella", "absent"),
    ("corallite_relief", "conical"), ("tissue", "fleshy"), ("living_colour", "very_dark"),
    ("septal_teeth", "fine"), ("budding", "both"), ("habitat", "crest"),
    ("day_expansion", "retracted"),
)  # fmt: skip


@contextmanager
def _served(folder: Path) -> Iterator[tuple[int, float]]:
    """Serve a programme; give the port and the seconds until the first page was there."""
    command = [sys.executable, "-m", "corallum.cli", "serve", str(folder), "--port", "0"]
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    try:
        if process.stdout is None:
            raise RuntimeError("the server says nothing")
        port = next(
            int(found[1]) for line in process.stdout if (found := re.search(r":(\d+)/", line))
        )
        _get(port, "/")
        yield port, time.perf_counter() - start
    finally:
        process.terminate()
        process.wait(20)


def _get(port: int, path: str) -> tuple[int, int, str]:
    """Return bytes as sent, bytes unpacked, and the text of a page."""
    import gzip  # noqa: PLC0415  only here

    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    connection.request("GET", path, headers={"Accept-Encoding": "gzip"})
    answer = connection.getresponse()
    body = answer.read()
    if answer.status != 200:
        raise RuntimeError(f"{path}: {answer.status}")
    packed = answer.headers.get("Content-Encoding") == "gzip"
    connection.close()
    whole = gzip.decompress(body) if packed else body
    return len(body), len(whole), whole.decode("utf-8", errors="replace")


def _weight(port: int, path: str) -> tuple[int, int]:
    """Return bytes as sent and unpacked of a page and all that it loads."""
    sent, whole, text = _get(port, path)
    wanted = set(re.findall(r'(?:src|<link[^>]*href|<use href)="(/[^"#]+)', text))
    for other in wanted:
        one, two, _ = _get(port, other.replace("&amp;", "&"))
        sent, whole = sent + one, whole + two
    return sent, whole


class _Client(threading.Thread):
    """One person who taps every two seconds."""

    def __init__(self, port: int, number: int, clients: int, until: float) -> None:
        super().__init__(daemon=True)
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self.wait = EVERY * number / clients
        self.until = until
        self.taps = cycle(TAPS[number % len(TAPS) :] + TAPS[: number % len(TAPS)])
        self.seconds: list[float] = []
        self.random = np.random.default_rng([number, clients])
        self.colony = self._send("/colonies", {}, 200).split("/")[-1]

    def _send(self, path: str, data: dict[str, str], status: int) -> str:
        """Send a form and return where it leads, if anywhere."""
        self.connection.request("POST", path, urlencode(data), FORM)
        answer = self.connection.getresponse()
        answer.read()
        if answer.status != status:
            raise RuntimeError(f"{path}: {answer.status}")
        return answer.headers.get("HX-Redirect") or ""

    def _next(self) -> tuple[str, dict[str, str]]:
        """Return what is tapped next."""
        if len(self.seconds) % 4 == 0:
            size = f"{self.random.uniform(2, 12):.6f}"
            return "size", {"character": "calice_diameter_mm", "value": size, "n": "5"}
        character, state = next(self.taps)
        return "states", {"character": character, "state": state}

    def run(self) -> None:
        """Tap until the time is over."""
        due = time.perf_counter() + self.wait
        while due < self.until:
            time.sleep(max(0.0, due - time.perf_counter()))
            path, data = self._next()
            # From when the tap was due: one that waits behind another waits.
            start = max(due, time.perf_counter() - EVERY)
            self._send(f"/colonies/{self.colony}/{path}", data, 200)
            self.seconds.append(time.perf_counter() - start)
            due += EVERY


def _tapped(port: int, clients: int) -> tuple[float, float, float]:
    """Return the median and 95th percentile (ms) of a tap, and answers a second."""
    until = time.perf_counter() + SECONDS + 0.05 * clients
    people = [_Client(port, number, clients, until) for number in range(clients)]
    start = time.perf_counter()
    for person in people:
        person.start()
    for person in people:
        person.join()
    took = time.perf_counter() - start
    seconds = np.concatenate([person.seconds for person in people])
    half, most = np.percentile(1000 * seconds, [50, 95])
    return float(half), float(most), len(seconds) / took


def bench_web(colonies: int = COLONIES) -> list[str]:
    """Return lines of figures."""
    with tempfile.TemporaryDirectory() as place:
        small, large = Path(place) / "small", Path(place) / "large"
        rng = np.random.default_rng(17)
        for folder in (small, large):
            command = CreateProgramme("Invented reserve", ("indo_pacific",), "Lead")
            programme = create_programme(folder, command, NOW, rng)
            if folder == large:
                _fill(programme, colonies, rng)
            programme.close()
        return [*_small(small), *_large(large, colonies)]


def _small(folder: Path) -> list[str]:
    """Start-up, weights and taps."""
    lines = []
    with _served(folder) as (port, started):
        lines.append(f"start-up to the first page: {started:.1f} s (wanted {WANTED_START})")
        time.sleep(6)  # what is made ready in the background is ready
        first = _Client(port, 0, 1, 0.0)
        pages = ("/", f"/colonies/{first.colony}", f"/colonies/{first.colony}/look/growth_form")
        for path in pages:
            sent, whole = _weight(port, path)
            name = path.replace(first.colony, "ID")
            lines.append(
                f"{name} with all it loads: {whole / 1000:.0f} kB, {sent / 1000:.0f} kB as sent "
                f"(wanted {WANTED_KB})"
            )
        _tapped(port, 4)
        broken = False
        for clients in LOADS:
            half, most, rate = _tapped(port, clients)
            wanted = f" (wanted {WANTED_MS})" if clients == CLIENTS else ""
            lines.append(
                f"{clients} clients, a tap every {EVERY:g} s: median {half:.0f} ms, 95th "
                f"percentile {most:.0f} ms{wanted}, {rate:.1f} answers a second"
            )
            if most > 5 * WANTED_MS and broken:
                break
            broken = most > WANTED_MS
    return lines


def _large(folder: Path, colonies: int) -> list[str]:
    """Lists of many colonies."""
    lines = []
    with _served(folder) as (port, started):
        lines.append(f"start-up with {colonies:,} colonies: {started:.1f} s")
        paths = (
            "/", "/colonies", "/colonies?page=2000", "/colonies?genus=Favites",
            "/colonies?status=open", "/colonies?text=buoy+42", "/colonies?waits=reading",
            "/colonies?since=2025-01-01&until=2025-03-01", "/readings", "/programme",
            "/programme/history", "/programme/history?page=4000", "/genera/weak",
        )  # fmt: skip
        for path in paths:
            median = 1000 * median_seconds(lambda path=path: _get(port, path), 9)
            lines.append(f"{path}: {median:.0f} ms median (wanted {WANTED_LIST_MS})")
    return lines


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else COLONIES
    for text in bench_web(count):
        print(text, flush=True)
