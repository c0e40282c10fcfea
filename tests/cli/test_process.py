"""The program as a person starts it: a process of its own, with its pipes and its encodings."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

COLONY = {"id": "c1", "observations": {"growth_form": "massive", "tissue": "fleshy"}}


def start(
    *arguments: str, stdin: bytes = b"", **environment: str
) -> subprocess.CompletedProcess[bytes]:
    """Run the program to its end."""
    return subprocess.run(
        [sys.executable, "-m", "corallum.cli", *arguments],
        input=stdin,
        capture_output=True,
        check=False,
        timeout=60,
        env={**os.environ, **environment},
    )


def test_a_colony_is_answered() -> None:
    """A colony on standard input is answered on standard output, with status 0."""
    found = start("determine", "-", "--json", stdin=json.dumps(COLONY).encode())
    assert (found.returncode, found.stderr) == (0, b"")
    assert json.loads(found.stdout)["id"] == "c1"


def test_one_bad_colony_among_others() -> None:
    """The others are answered, the bad one is named on both streams, with status 1."""
    lines = f'{json.dumps(COLONY)}\n{{"id": "c2", "region": "mars"}}\n'
    found = start("determine", "-", "--json", stdin=lines.encode())
    assert found.returncode == 1
    assert [json.loads(line)["id"] for line in found.stdout.splitlines()] == ["c1", "c2"]
    assert found.stderr.startswith(b"colony c2, region: expected one of indo_pacific")


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    """One line and status 2, never a traceback."""
    found = start("determine", str(tmp_path / "nowhere.json"))
    assert (found.returncode, found.stdout) == (2, b"")
    assert len(found.stderr.splitlines()) == 1


def test_bad_use() -> None:
    """One line and status 2, with the program under its own name."""
    found = start("determine", "--colour")
    assert (found.returncode, found.stdout) == (2, b"")
    assert found.stderr.startswith(b"corallum determine: ")


def test_the_command_alone_is_its_help() -> None:
    """Without a command the help is shown, with status 2."""
    found = start()
    assert found.returncode == 2
    assert b"determine" in found.stdout + found.stderr
    assert b"Traceback" not in found.stderr


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252"])
def test_a_terminal_that_is_not_unicode(encoding: str) -> None:
    """A stream that can't hold the bars gets the answer all the same."""
    found = start("determine", "-", stdin=json.dumps(COLONY).encode(), PYTHONIOENCODING=encoding)
    assert (found.returncode, found.stderr) == (0, b"")
    assert b"Look, do not touch" in found.stdout


def test_a_reader_that_stops_early(tmp_path: Path) -> None:
    """Where the reader closes the pipe the program stops without a traceback."""
    file = tmp_path / "c.jsonl"
    file.write_text(f"{json.dumps(COLONY)}\n" * 20, encoding="utf-8")
    command = [sys.executable, "-m", "corallum.cli", "determine", str(file), "--json"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.readline()
        process.stdout.close()
        said = process.stderr.read()
    assert b"Traceback" not in said
