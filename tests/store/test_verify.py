"""What is damaged, lost or altered in a programme is found, and only that."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from corallum.actions.colony_answers import SaveDetermination, save_determination
from corallum.actions.colony_photos import AttachPhoto, attach_photo, photo_file
from corallum.records.colony_record import ColonyRecord
from corallum.store.verify import verify_folder
from invented import Team, picture


@pytest.fixture
def colony(team: Team) -> ColonyRecord:
    """A colony with evidence, a photo and a determination, the programme closed."""
    record = team.colony(name="first")
    attach_photo(team.programme, AttachPhoto(record.id, picture()), *team.by())
    save_determination(team.programme, SaveDetermination(record.id), *team.by())
    team.programme.close()
    return record


def faults(folder: Path) -> list[str]:
    """What verify finds, as lines."""
    return [str(fault) for fault in verify_folder(folder, lambda _: None).faults]


def alter(folder: Path, statement: str) -> None:
    """Change the database behind the program's back."""
    with closing(sqlite3.connect(folder / "corallum.db")) as database:
        database.execute(statement)
        database.commit()


def test_a_sound_programme_has_no_fault(team: Team, colony: ColonyRecord) -> None:
    """All that was written is counted, and nothing is a fault."""
    found = verify_folder(team.programme.folder, lambda _: None)
    assert (found.faults, found.colonies, found.photos) == ([], 1, 1)
    assert found.history == 4 + len(colony.history) + 2


def test_a_damaged_photo(team: Team, colony: ColonyRecord) -> None:  # noqa: ARG001  made for it
    """One bit of a photo is enough, though the picture still opens."""
    path = next(team.programme.photo_folder.glob("??/*.jpg"))
    data = bytearray(path.read_bytes())
    data[-10] ^= 1
    path.write_bytes(data)
    expected = "expected the photo as it was added, found another content. Restore a backup."
    assert faults(team.programme.folder) == [f"photo {path.stem}: {expected}"]


def test_a_missing_photo(team: Team, colony: ColonyRecord) -> None:  # noqa: ARG001  made for it
    """A photo that is gone is named by its hash."""
    path = next(team.programme.photo_folder.glob("??/*.jpg"))
    path.unlink()
    expected = "expected its file, found none. Restore a backup."
    assert faults(team.programme.folder) == [f"photo {path.stem}: {expected}"]


def test_a_small_copy_is_no_loss(team: Team, colony: ColonyRecord) -> None:  # noqa: ARG001
    """Small copies of photos can be made again, so they are no fault, and are made again."""
    for path in team.programme.photo_folder.glob("small/*/*"):
        path.unlink()
    assert faults(team.programme.folder) == []
    sha256 = next(team.programme.photo_folder.glob("??/*.jpg")).stem
    assert photo_file(team.programme, sha256, "thumb").path.is_file()


def test_a_database_that_is_gone(team: Team, colony: ColonyRecord) -> None:  # noqa: ARG001
    """A missing database is one line."""
    (team.programme.folder / "corallum.db").unlink()
    expected = "corallum.db: expected the database, found none. Restore a backup."
    assert faults(team.programme.folder) == [expected]


@pytest.mark.parametrize("start", [0, 4096 * 3, 4096 * 20])
def test_a_database_with_holes(team: Team, colony: ColonyRecord, start: int) -> None:  # noqa: ARG001
    """Pages written over are found, whether the first or one in the middle."""
    path = team.programme.folder / "corallum.db"
    data = bytearray(path.read_bytes())
    data[start : start + 4096] = b"\xa5" * 4096
    path.write_bytes(data)
    assert faults(team.programme.folder)


ALTERED: dict[str, tuple[str, str]] = {
    "evidence": (
        "UPDATE entry SET report = replace(report, 'massive', 'columnar')",
        "expected the row as it was written, found another",
    ),
    "history": (
        "UPDATE history SET detail = replace(detail, 'massive', 'columnar')",
        "expected the entry as it was written, found another",
    ),
    "who": (
        "UPDATE history SET person = (SELECT id FROM person WHERE name = 'Reader') WHERE id = 8",
        "history, entry 8: expected the entry as it was written",
    ),
    "an entry removed": (
        "DELETE FROM entry WHERE subject = 'columella'",
        "expected the row that was written, found none",
    ),
    "history removed": ("DELETE FROM history WHERE id = 2", "expected entry 2, found entry 3"),
    "a role": (
        "UPDATE person SET role = 'lead'",
        "expected the row as it was written, found another",
    ),
    "a determination": (
        "UPDATE determination SET name = 'Favites sp.'",
        "expected the row as it was written, found another",
    ),
    "a list": (
        "UPDATE colony SET status = 'settled'",
        "colony 1, status: expected what its history says, found something else",
    ),
    "a report that is none": (
        "UPDATE entry SET report = '{' WHERE subject = 'columella'",
        "expected",
    ),
}


@pytest.mark.parametrize("name", ALTERED)
def test_what_was_altered_behind_the_programs_back(
    team: Team,
    colony: ColonyRecord,  # noqa: ARG001  made for it
    name: str,
) -> None:
    """A row or an entry that was changed by hand is named."""
    statement, wanted = ALTERED[name]
    alter(team.programme.folder, statement)
    assert wanted in "\n".join(faults(team.programme.folder))


def test_a_table_of_the_reference_with_a_fault(team: Team) -> None:
    """A copy of the reference that is unsound is named by file, row and column."""
    path = team.programme.reference_folder / "values/atlantic.csv"
    text = path.read_text(encoding="utf-8").replace("always attached", "allways attached", 1)
    path.write_text(text, encoding="utf-8")
    assert faults(team.programme.folder)[0].startswith("values/atlantic.csv, row 2, column value:")


def test_verify_writes_nothing(team: Team, colony: ColonyRecord) -> None:  # noqa: ARG001
    """Every file is after the check as it was before."""
    folder = team.programme.folder

    def state() -> dict[Path, bytes]:
        return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}

    before = state()
    verify_folder(folder, lambda _: None)
    assert {path: data for path, data in state().items() if path in before} == before
