"""Copy a programme while others write to it, and make one again from the copy.

A backup is a folder like a programme's, with a list of the hash of every file in
it. It has its name only once it is whole.
"""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from tempfile import mkdtemp

from corallum.errors import ConflictError, Fault, InputError, StoreError
from corallum.store.database import connect_file, readable_errors
from corallum.store.files import file_hash, sync_folder, write_whole
from corallum.store.history import time_text
from corallum.store.programme import DATABASE_NAME, MANIFEST, Programme
from corallum.store.programme_file import FILE_NAME

__all__ = ["MANIFEST", "Manifest", "copy_backup", "read_manifest", "write_backup"]

_FORMAT = "corallum backup 1"
Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup holds: the SHA-256 of every file, by path, and a few counts."""

    made_at: str
    name: str
    colonies: int
    photos: int
    history: int
    newest_hash: str
    files: dict[str, str]


def write_backup(programme: Programme, target: Path, now: datetime, progress: Progress) -> Manifest:
    """Copy a programme into a new folder, whoever writes to it meanwhile.

    Parameters
    ----------
    programme : Programme
        To copy; its database must be the file in its folder.
    target : Path
        Must not exist.
    now : datetime
        The moment, for the list.
    progress : callable
        Is told the share done, 0 to 1.

    Raises
    ------
    ConflictError
        Where something stands at ``target``, or it is within the programme.
    StoreError
        Where the disk is full, or the database is a shared one.
    """
    source = programme.database.file
    if source is None:
        message = "a shared database is backed up with its own tools, not from here."
        raise StoreError(message)
    if target.resolve().is_relative_to(programme.folder.resolve()):
        raise ConflictError(f"{target}: expected a folder outside the programme. Choose another.")
    with _new_folder(target) as part:
        copy = part / DATABASE_NAME
        with closing(connect_file(source)) as live, closing(sqlite3.connect(copy)) as saved:
            # In one step: the copy is one state of the database, others go on writing.
            live.backup(saved)
            # One file, that can be read from a locked stick.
            saved.execute("PRAGMA journal_mode = DELETE")
        # Every photo that the copied state names was on disk before that state was.
        photos = _photo_names(copy)
        _copy_photos(programme.photo_folder, part / "photos", photos, progress)
        shutil.copytree(programme.reference_folder, part / "reference")
        shutil.copyfile(programme.folder / FILE_NAME, part / FILE_NAME)
        manifest = _manifest(part, programme.settings.name, len(photos), now)
        text = json.dumps({"format": _FORMAT, **asdict(manifest)}, indent=1, sort_keys=True)
        write_whole(part / MANIFEST, text.encode())
        _sync_all(part)
    progress(1.0)
    return manifest


@contextmanager
def _new_folder(target: Path) -> Iterator[Path]:
    """Make a folder under another name, and give it its own once all went well."""
    with readable_errors(target):
        if target.exists() or target.is_symlink():
            raise ConflictError(f"{target}: expected a new folder. Choose another name.")
        target.parent.mkdir(parents=True, exist_ok=True)
        part = Path(mkdtemp(dir=target.parent, prefix=f".{target.name}-"))
        try:
            yield part
            part.chmod(0o755)
            part.rename(target)
            sync_folder(target.parent)
        except BaseException:
            shutil.rmtree(part, ignore_errors=True)
            raise


def _photo_names(database: Path) -> list[str]:
    """Return the hashes of the photos that a database names."""
    with closing(sqlite3.connect(database)) as connection:
        found = connection.execute("SELECT sha256 FROM photo ORDER BY sha256")
        return [row[0] for row in found]


def _copy_photos(source: Path, target: Path, hashes: list[str], progress: Progress) -> None:
    """Copy originals; small copies are made again when they are asked for."""
    target.mkdir()
    for i, sha256 in enumerate(hashes):
        found = sorted((source / sha256[:2]).glob(f"{sha256}.*"))
        if not found:
            message = f"photo {sha256}: expected it in {source}, found none. Run corallum verify."
            raise StoreError(message)
        (target / sha256[:2]).mkdir(exist_ok=True)
        shutil.copyfile(found[0], target / sha256[:2] / found[0].name)
        progress(0.9 * (i + 1) / len(hashes))


def _manifest(folder: Path, name: str, photos: int, now: datetime) -> Manifest:
    """List what was copied, by what is on disk now."""
    with closing(sqlite3.connect(folder / DATABASE_NAME)) as connection:
        colonies = connection.execute("SELECT count(*) FROM colony").fetchone()[0]
        newest = connection.execute(
            "SELECT id, hash FROM history ORDER BY id DESC LIMIT 1"
        ).fetchone() or (0, "")
    files = {
        path.relative_to(folder).as_posix(): file_hash(path)
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
    return Manifest(time_text(now), name, colonies, photos, newest[0], newest[1], files)


def _sync_all(folder: Path) -> None:
    """Bring a folder with all in it to disk."""
    for path in folder.rglob("*"):
        if path.is_dir():
            sync_folder(path)
        else:
            with path.open("rb") as stream:
                os.fsync(stream.fileno())
    sync_folder(folder)


def read_manifest(backup: Path) -> Manifest | None:
    """Return the list of a backup; None where the folder has none.

    Raises
    ------
    InputError
        Where the list can't be read.
    """
    path = backup / MANIFEST
    if not path.is_file():
        return None
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        if found.pop("format", None) != _FORMAT:
            raise ValueError("no list of a backup")  # noqa: TRY301  caught with its kin
        return Manifest(**found)
    except (OSError, ValueError, TypeError, AttributeError) as error:
        remedy = "Use another backup."
        fault = Fault(str(path), "", "the list of a backup", str(error)[:80], remedy)
        raise InputError([fault]) from error


def copy_backup(backup: Path, manifest: Manifest, target: Path, progress: Progress) -> None:
    """Make a programme in a new folder from a backup, checking every file as it is copied.

    Raises
    ------
    InputError
        Where a file of the backup is missing or not as it was, with all of them.
    ConflictError
        Where something stands at ``target``.
    """
    with _new_folder(target) as part:
        faults = []
        for i, (name, wanted) in enumerate(manifest.files.items()):
            fault = _copy_one(backup, name, wanted, part)
            if fault is not None:
                faults.append(fault)
            progress((i + 1) / len(manifest.files))
        if faults:
            raise InputError(faults)
        _sync_all(part)


def _copy_one(backup: Path, name: str, wanted: str, part: Path) -> Fault | None:
    """Copy one file if it is as the list says, and stays within the folder."""
    source, target = backup / name, part / name
    remedy = "Use another backup."
    if not target.resolve().is_relative_to(part.resolve()):
        return Fault(name, "", "a path within the backup", "one that leads out of it", remedy)
    if not source.is_file():
        return Fault(name, "", "a file of the backup", "none", remedy)
    target.parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(source, target)
    if file_hash(target) != wanted:
        return Fault(name, "", "the file as it was backed up", "another content", remedy)
    return None
