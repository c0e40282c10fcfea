"""A disk that is full and a folder that is locked: a clear line, nothing half-written."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from corallum.actions.colonies import AddNote, add_note
from corallum.actions.colony_photos import AttachPhoto, attach_photo
from corallum.actions.programmes import open_programme
from corallum.errors import StoreError
from corallum.store.programme import Programme
from corallum.store.verify import verify_folder
from invented import Team, picture

pytestmark = pytest.mark.skipif(os.name != "posix", reason="needs limits of the system")


def in_child(work: str, *arguments: object) -> str:
    """Run some lines in a process of its own and return what it printed."""
    done = subprocess.run(
        [sys.executable, "-c", work, *map(str, arguments)],
        capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


WRITE_UNTIL = """
import resource, sys
from datetime import UTC, datetime
from pathlib import Path
import numpy as np
from corallum.actions.colonies import AddNote, add_note
from corallum.actions.programmes import open_programme
from corallum.errors import StoreError
folder, colony, person, limit = Path(sys.argv[1]), *sys.argv[2:4], int(sys.argv[4])
programme = open_programme(folder)
if limit:
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
rng, done = np.random.default_rng(1), 0
try:
    for i in range(3000):
        add_note(programme, AddNote(colony, "x" * 3000), datetime.now(UTC), rng, person)
        done += 1
except StoreError as error:
    print(error)
print(done)
"""


def test_no_room_for_the_file(team: Team) -> None:
    """Where the file can't grow the writer says so, and all that it wrote before is there."""
    colony = team.colony({})
    folder = team.programme.folder
    limit = 1_500_000
    said, done = in_child(WRITE_UNTIL, folder, colony.id, team.observer, limit).splitlines()
    assert said == (
        f"{folder}/corallum.db: the disk can't take more (full, or it failed). "
        "Nothing was changed. Make room and try again."
    )
    found = verify_folder(folder, lambda _: None)
    assert found.faults == []
    assert found.history == len(colony.history) + 4 + int(done)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 6 MB, where the system lets us make one."""
    place = tmp_path / "disk"
    place.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=6m", "tmpfs", str(place)]
    try:
        made = subprocess.run(command, check=False, capture_output=True)
    except OSError:
        pytest.skip("no mount command")
    if made.returncode != 0:
        pytest.skip("mounting a small disk is not allowed here")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def test_a_full_disk(small_disk: Path) -> None:
    """On a full disk records and photos are refused in one line, and what was there is sound."""
    team = Team(small_disk / "programme")
    colony = team.colony({})
    said, done = in_child(
        WRITE_UNTIL, team.programme.folder, colony.id, team.observer, 0
    ).splitlines()
    # What SQLite says depends on which of its files came up against the end.
    assert "the disk is full" in said or "the disk can't take more" in said
    command = AttachPhoto(colony.id, picture(size=(1000, 800), kind="PNG"))
    with pytest.raises(StoreError, match=r"disk is full|take more"):
        attach_photo(team.programme, command, *team.by())
    assert not list(team.programme.photo_folder.rglob(".part-*"))
    team.programme.close()
    found = verify_folder(small_disk / "programme", lambda _: None)
    assert found.faults == []
    assert found.photos == 0
    assert found.history == len(colony.history) + 4 + int(done)


READ_ONLY = """
import os, sys
from datetime import UTC, datetime
from pathlib import Path
import numpy as np
from corallum.actions.colonies import AddNote, add_note, get_colony
from corallum.actions.programmes import open_programme
from corallum.errors import StoreError
rng, now = np.random.default_rng(1), datetime.now(UTC)
if os.getuid() == 0:
    # Nobody in particular may not even read what the interpreter has not loaded yet.
    os.setgid(65534)
    os.setuid(65534)
programme = open_programme(Path(sys.argv[1]))
print(len(get_colony(programme, sys.argv[2]).reports))
try:
    add_note(programme, AddNote(sys.argv[2], "x"), now, rng, sys.argv[3])
except StoreError as error:
    print(error)
"""


def test_a_folder_that_can_not_be_written(team: Team) -> None:
    """A locked folder can be read; a write is refused in one line and leaves no trace."""
    colony = team.colony()
    folder = team.programme.folder
    team.programme.close()
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    parents = [parent for parent in folder.parents if parent != Path("/")]
    modes = {path: path.stat().st_mode for path in (*parents, *folder.rglob("*"), folder)}
    try:
        # All but those that hold other people's folders too.
        for parent in parents[:-1]:
            parent.chmod(0o755)
        for path in (*folder.rglob("*"), folder):
            path.chmod(0o555 if path.is_dir() else 0o444)
        reports, said = in_child(READ_ONLY, folder, colony.id, team.observer).splitlines()
    finally:
        for path, mode in modes.items():
            if path in modes and path not in parents[-1:]:
                path.chmod(mode)
    assert int(reports) == 4
    assert said == (
        f"{folder}/corallum.db: the folder can't be written. Nothing was changed. "
        "Check who may write there."
    )
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before


def test_a_new_programme_where_nothing_can_be_written(tmp_path: Path) -> None:
    """Where the folder can't be made the command line says so in one line, with status 2."""
    file = tmp_path / "file"
    file.touch()
    done = subprocess.run(
        [sys.executable, "-m", "corallum.cli", "new", str(file / "reef")],
        capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.splitlines()) == 1


def test_two_processes_take_turns(team: Team) -> None:
    """A second process writes while this one has the programme open; neither loses anything."""
    colony = team.colony({})
    other = open_programme(team.programme.folder)

    def notes(programme: Programme) -> None:
        for _ in range(5):
            add_note(programme, AddNote(colony.id, "x"), *team.by())

    notes(team.programme)
    notes(other)
    notes(team.programme)
    other.close()
    found = verify_folder(team.programme.folder, lambda _: None)
    assert found.faults == []
    assert found.history == len(colony.history) + 4 + 15
