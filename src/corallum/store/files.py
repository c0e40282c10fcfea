"""Write files so that they are there whole, or not at all, whatever happens."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path
from tempfile import NamedTemporaryFile

__all__ = ["file_hash", "sync_folder", "write_whole"]

_PIECE = 1 << 20


def write_whole(path: Path, data: bytes) -> None:
    """Write a file, synced to disk and renamed into its place in one step.

    Raises
    ------
    OSError
        Where it can't be written; what stood there before still stands.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    with NamedTemporaryFile(dir=path.parent, prefix=".part-", delete=False) as stream:
        part = Path(stream.name)
        try:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        except BaseException:
            part.unlink(missing_ok=True)
            raise
    try:
        part.chmod(0o644)
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Bring the names of a folder to disk; not every system can or needs to."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def file_hash(path: Path) -> str:
    """Return the SHA-256 of a file, in hexadecimal."""
    found = hashlib.sha256()
    with path.open("rb") as stream:
        while piece := stream.read(_PIECE):
            found.update(piece)
    return found.hexdigest()
