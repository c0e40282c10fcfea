"""Back up a programme, check it, and make one again from a backup."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from corallum.errors import Fault, InputError
from corallum.store.backup import MANIFEST, Manifest, copy_backup, read_manifest, write_backup
from corallum.store.programme import Programme
from corallum.store.verify import verify_folder

__all__ = ["Manifest", "Verification", "make_backup", "restore_backup", "verify_programme"]


@dataclass(frozen=True, slots=True)
class Verification:
    """Whether a programme is as it was written, what is not, and how much was looked at."""

    sound: bool
    faults: tuple[Fault, ...]
    photos: int
    colonies: int
    history: int


def _nothing(_: float) -> None:
    """Tell nobody."""


def make_backup(
    programme: Programme,
    target: Path,
    now: datetime,
    progress: Callable[[float], None] = _nothing,
) -> Manifest:
    """Copy a programme into a new folder while others go on writing.

    Raises
    ------
    ConflictError
        Where something stands at ``target``, or it is within the programme.
    StoreError
        Where the disk is full, a photo is missing, or the database is a shared one.
    """
    return write_backup(programme, target, now, progress)


def restore_backup(
    backup: Path, folder: Path, progress: Callable[[float], None] = _nothing
) -> Manifest:
    """Make a programme in a new folder from a backup; nothing that stands is touched.

    Raises
    ------
    InputError
        Where the backup is none, or something in it is missing or altered, with all faults.
    ConflictError
        Where something stands at ``folder``.
    """
    manifest = read_manifest(backup)
    if manifest is None:
        remedy = "Check the path; a backup is made with corallum backup."
        fault = Fault(str(backup), "", f"a backup with {MANIFEST}", "none", remedy)
        raise InputError([fault])
    copy_backup(backup, manifest, folder, progress)
    return manifest


def verify_programme(folder: Path, progress: Callable[[float], None] = _nothing) -> Verification:
    """Check a programme or a backup: hashes, database, history; nothing is written.

    Raises
    ------
    InputError
        Where the folder is no programme.
    """
    found = verify_folder(folder, progress)
    return Verification(
        not found.faults, tuple(found.faults), found.photos, found.colonies, found.history
    )
