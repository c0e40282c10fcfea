"""A backup made while somebody writes gives back the same records and photos, hash by hash."""

from __future__ import annotations

import hashlib
import json
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from corallum.actions.backups import make_backup, restore_backup, verify_programme
from corallum.actions.colonies import AddNote, add_note
from corallum.actions.colony_lists import ColonyFilter, get_colony, list_colonies
from corallum.actions.colony_photos import AttachPhoto, attach_photo
from corallum.actions.programmes import open_programme
from corallum.errors import ConflictError, InputError, StoreError
from invented import NOW, Team, picture

WRITER = Path(__file__).with_name("write_records.py")


def hashes(folder: Path) -> dict[str, str]:
    """SHA-256 of every file of a folder, small copies of photos left out."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file() and "small" not in path.parts
    }


def rows(folder: Path, upto: int) -> dict[str, list[tuple[object, ...]]]:
    """All that was written up to an entry of the history, table by table."""
    tables = ("entry", "colony_photo", "determination", "measurement")
    with closing(sqlite3.connect(folder / "corallum.db")) as database:
        found = {
            table: database.execute(
                f"SELECT * FROM {table} WHERE history <= ? ORDER BY history",  # noqa: S608
                (upto,),
            ).fetchall()
            for table in tables
        }
        log = "SELECT * FROM history WHERE id <= ? ORDER BY id"
        found["history"] = database.execute(log, (upto,)).fetchall()
    return found


@pytest.fixture
def filled(team: Team) -> Team:
    """A programme with colonies and photos."""
    for i in range(4):
        colony = team.colony(name=f"colony {i}")
        for j in range(3):
            command = AttachPhoto(colony.id, picture(10 * i + j))
            attach_photo(team.programme, command, *team.by())
    return team


def test_backup_while_another_process_writes(filled: Team, tmp_path: Path) -> None:
    """Verify finds the copy sound, and what is restored is what was there, byte by byte."""
    folder = filled.programme.folder
    command = [sys.executable, str(WRITER), str(folder), filled.lead]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as writer:
        assert writer.stdin is not None
        assert writer.stdout is not None
        writer.stdin.write("next\n")
        writer.stdin.flush()
        pid = next(int(line[4:]) for line in writer.stdout if line.startswith("pid "))
        for _, _line in zip(range(20), writer.stdout, strict=False):
            pass
        manifest = make_backup(filled.programme, tmp_path / "backup", NOW)
        # It was still at work when the copy was done.
        said = [writer.stdout.readline() for _ in range(20)]
        subprocess.run(["kill", "-9", str(pid)], check=True)
        writer.stdin.close()
        writer.stdout.read()
    assert all(said)
    assert verify_programme(tmp_path / "backup").sound
    restore_backup(tmp_path / "backup", tmp_path / "again")
    found = verify_programme(tmp_path / "again")
    assert found.sound
    assert found.photos == 12
    assert found.colonies >= 4 + 20
    assert found.history == manifest.history
    assert rows(tmp_path / "again", manifest.history) == rows(folder, manifest.history)
    kept = {name: value for name, value in hashes(folder).items() if name.startswith("photos/")}
    again = hashes(tmp_path / "again")
    assert {name: again.get(name) for name in kept} == kept
    with closing(sqlite3.connect(folder / "corallum.db")) as database:
        now = database.execute("SELECT max(id) FROM history").fetchone()[0]
    assert now > manifest.history


def test_restored_is_the_same_programme(filled: Team, tmp_path: Path) -> None:
    """Every record of a programme that was saved and restored is equal to the one before."""
    make_backup(filled.programme, tmp_path / "backup", NOW)
    restore_backup(tmp_path / "backup", tmp_path / "again")
    again = open_programme(tmp_path / "again")
    listed = list_colonies(filled.programme, ColonyFilter())
    assert list_colonies(again, ColonyFilter()) == listed
    for row in listed.rows:
        assert get_colony(again, row.id) == get_colony(filled.programme, row.id)
    assert again.settings == filled.programme.settings
    again.close()


def test_the_list_names_every_file_with_its_hash(filled: Team, tmp_path: Path) -> None:
    """The list in a backup is of all its files, and right."""
    make_backup(filled.programme, tmp_path / "backup", NOW)
    listed = json.loads((tmp_path / "backup/manifest.json").read_text(encoding="utf-8"))["files"]
    found = hashes(tmp_path / "backup")
    del found["manifest.json"]
    assert listed == found


def test_a_backup_can_be_read_but_not_worked_in(filled: Team, tmp_path: Path) -> None:
    """To open a backup as a programme is refused: it would no longer be what it lists."""
    make_backup(filled.programme, tmp_path / "backup", NOW)
    with pytest.raises(InputError, match=r"found a backup\. Make a programme of it"):
        open_programme(tmp_path / "backup")


def test_nothing_that_stands_is_written_over(filled: Team, tmp_path: Path) -> None:
    """Backup and restore go into new folders only."""
    make_backup(filled.programme, tmp_path / "backup", NOW)
    with pytest.raises(ConflictError, match="expected a new folder"):
        make_backup(filled.programme, tmp_path / "backup", NOW)
    with pytest.raises(ConflictError, match="expected a new folder"):
        restore_backup(tmp_path / "backup", filled.programme.folder)
    with pytest.raises(ConflictError, match="outside the programme"):
        make_backup(filled.programme, filled.programme.folder / "copy", NOW)


def damage(path: Path) -> None:
    """Turn one bit in the middle of a file."""
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(data)


DAMAGES: dict[str, Callable[[Path], None]] = {
    "a photo altered": lambda folder: damage(next(folder.glob("photos/??/*.jpg"))),
    "a photo lost": lambda folder: next(folder.glob("photos/??/*.jpg")).unlink(),
    "the database altered": lambda folder: damage(folder / "corallum.db"),
    "the database lost": lambda folder: (folder / "corallum.db").unlink(),
    "a table altered": lambda folder: damage(folder / "reference/words.csv"),
    "the settings altered": lambda folder: (folder / "programme.toml").write_text(
        'name = "Another"\nregions = ["atlantic"]\n', encoding="utf-8"
    ),
}


@pytest.mark.parametrize("name", DAMAGES)
def test_a_damaged_backup_is_not_restored(filled: Team, tmp_path: Path, name: str) -> None:
    """One bit is enough: verify tells, restore refuses, and leaves no folder behind."""
    make_backup(filled.programme, tmp_path / "backup", NOW)
    DAMAGES[name](tmp_path / "backup")
    assert not verify_programme(tmp_path / "backup").sound
    with pytest.raises(InputError):
        restore_backup(tmp_path / "backup", tmp_path / "again")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["backup", "programme"]


def test_a_list_that_leads_out_of_the_backup_is_refused(filled: Team, tmp_path: Path) -> None:
    """A path with dots in the list writes nothing outside the new folder."""
    make_backup(filled.programme, tmp_path / "backup", NOW)
    path = tmp_path / "backup/manifest.json"
    listed = json.loads(path.read_text(encoding="utf-8"))
    listed["files"]["../escaped.csv"] = "0" * 64
    path.write_text(json.dumps(listed), encoding="utf-8")
    with pytest.raises(InputError, match="leads out of it"):
        restore_backup(tmp_path / "backup", tmp_path / "again")
    assert not (tmp_path / "escaped.csv").exists()


def test_a_missing_photo_stops_a_backup(filled: Team, tmp_path: Path) -> None:
    """A programme that has lost a photo can't be copied as if it had not."""
    next(filled.programme.photo_folder.glob("??/*.jpg")).unlink()
    with pytest.raises(StoreError, match=r"found none\. Run corallum verify"):
        make_backup(filled.programme, tmp_path / "backup", NOW)
    assert not (tmp_path / "backup").exists()


def test_a_folder_that_is_no_backup(team: Team, tmp_path: Path) -> None:
    """A programme is not taken for a backup of one."""
    with pytest.raises(InputError, match=r"expected a backup with manifest\.json, found none"):
        restore_backup(team.programme.folder, tmp_path / "again")


def test_what_is_written_after_a_backup_is_not_in_it(team: Team, tmp_path: Path) -> None:
    """A backup is of one moment."""
    colony = team.colony({})
    make_backup(team.programme, tmp_path / "backup", NOW)
    add_note(team.programme, AddNote(colony.id, "later"), *team.by())
    restore_backup(tmp_path / "backup", tmp_path / "again")
    again = open_programme(tmp_path / "again")
    assert get_colony(again, colony.id).notes == ()
    again.close()
