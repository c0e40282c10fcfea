"""Write the tables of a reference into a new folder: there whole, or not at all."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from pathlib import Path
from tempfile import mkdtemp

from corallum.errors import Fault, InputError
from corallum.store.files import sync_folder, write_whole

__all__ = ["check_new_folder", "write_new_reference"]


def check_new_folder(folder: Path) -> None:
    """Refuse a folder where something is already.

    Raises
    ------
    InputError
        Where it is a file, or a folder that is not empty.
    """
    try:
        taken = folder.is_file() or (folder.is_dir() and any(folder.iterdir()))
        taken = taken or folder.is_symlink()
    except (OSError, ValueError) as error:
        raise InputError([_cannot(folder, error)]) from error
    if taken:
        fault = Fault(str(folder), "", "a new or empty folder", "something that is there",
                      "Choose another folder.")  # fmt: skip
        raise InputError([fault])


def write_new_reference(folder: Path, tables: Mapping[str, str]) -> None:
    """Write tables into a new folder, in one step.

    Parameters
    ----------
    folder : Path
        Must not be there, or be empty.
    tables : mapping of str to str
        Text by path within it.

    Raises
    ------
    InputError
        Where something is there, or it can't be written; nothing is left behind.
    """
    check_new_folder(folder)
    part: Path | None = None
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        part = Path(mkdtemp(dir=folder.parent, prefix=".part-"))
        part.chmod(0o755)
        for name, text in tables.items():
            write_whole(part / name, text.encode("utf-8"))
        if folder.is_dir():
            folder.rmdir()
        part.rename(folder)
        sync_folder(folder.parent)
    except (OSError, ValueError) as error:
        if part is not None:
            shutil.rmtree(part, ignore_errors=True)
        raise InputError([_cannot(folder, error)]) from error


def _cannot(folder: Path, error: OSError | ValueError) -> Fault:
    """Say that a folder can't be written, and why."""
    reason = getattr(error, "strerror", None) or str(error)
    return Fault(str(folder), "", "a folder that can be written", reason, "Check the path.")
