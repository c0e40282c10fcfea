"""A writer to be killed: adds colonies and says the number of each once it is committed.

Loads the store once and forks a fresh process for every line it reads, so that two
hundred of them cost little: each child opens the programme anew.
"""

from __future__ import annotations

import os
import sys
from datetime import UTC, datetime
from pathlib import Path

from corallum.store import schema
from corallum.store.colonies import begin_colony, rewrite_row
from corallum.store.history import Act, add_row
from corallum.store.programme import open_folder

NOW = datetime(2026, 3, 14, tzinfo=UTC)


def write(folder: Path, person: str, turn: int) -> None:
    """Add colonies with evidence until killed."""
    programme = open_folder(folder)
    act = Act(person, NOW)
    for i in range(100_000):
        id_ = f"{turn:06d}{i:06d}"
        with programme.write() as connection:
            begin_colony(connection, act, id_)
            for subject in ("growth_form", "tissue", "columella"):
                row = {"colony": id_, "kind": "report", "subject": subject,
                       "report": '{"states": ["massive"], "sure": true}',
                       "measurement": None}  # fmt: skip
                add_row(connection, act, "report", schema.entry, row)
            rewrite_row(connection, id_)
        say(id_)


def say(line: str) -> None:
    """Write a line in one piece, so that who is killed has said all of it or nothing."""
    os.write(sys.stdout.fileno(), f"{line}\n".encode())


def main() -> None:
    """Start one writer for every line of standard input, and wait for its end."""
    folder, person = Path(sys.argv[1]), sys.argv[2]
    for turn, _ in enumerate(sys.stdin):
        child = os.fork()
        if child == 0:
            write(folder, person, turn)
        say(f"pid {child}")
        os.waitpid(child, 0)
        say("ended")


if __name__ == "__main__":
    main()
