"""A writer that is killed in the middle loses nothing that it said was written."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from corallum.store.verify import verify_folder
from invented import Team

KILLS = 200
WRITER = Path(__file__).with_name("write_records.py")

pytestmark = pytest.mark.skipif(os.name != "posix", reason="needs fork and signals")


def kill_one(writer: subprocess.Popen[str], wait: float) -> list[str]:
    """Start a writer, kill it after its first record and a while, return what it acknowledged."""
    assert writer.stdin is not None
    assert writer.stdout is not None
    writer.stdin.write("next\n")
    writer.stdin.flush()
    pid, said = 0, []
    while not (pid and said):
        line = writer.stdout.readline().strip()
        if line.startswith("pid "):
            pid = int(line[4:])
        else:
            assert line not in ("", "ended"), "the writer stopped by itself"
            said.append(line)
    time.sleep(wait)
    os.kill(pid, signal.SIGKILL)
    while (line := writer.stdout.readline().strip()) != "ended":
        said.append(line)
    return said


def test_killed_200_times(team: Team) -> None:
    """After each of 200 kills every acknowledged record is there and the database is sound."""
    folder = team.programme.folder
    command = [sys.executable, str(WRITER), str(folder), team.lead]
    waits = np.random.default_rng(20260314)
    acknowledged: set[str] = set()
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as writer:
        for _ in range(KILLS):
            acknowledged.update(kill_one(writer, waits.uniform(0, 0.03)))
            with closing(sqlite3.connect(folder / "corallum.db")) as database:
                kept = {row[0] for row in database.execute("SELECT id FROM colony")}
                assert database.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert acknowledged <= kept
        assert writer.stdin is not None
        writer.stdin.close()
    assert len(acknowledged) >= KILLS
    found = verify_folder(folder, lambda _: None)
    assert found.faults == []
    # A record that was cut off in the middle is not there at all.
    assert found.colonies >= len(acknowledged)
    assert found.history == 4 + 4 * found.colonies
