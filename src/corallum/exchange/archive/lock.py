"""One process at a time in a folder of parts, so that no two mix theirs.

The lock is of the operating system: it goes with the process that holds it, however that ends.
Where there is none of this kind (Windows), nothing is locked.
"""

from __future__ import annotations

import os
import weakref
from pathlib import Path

from corallum.errors import Fault, InputError

try:
    import fcntl
except ImportError:  # pragma: no cover  not on Windows
    fcntl = None  # type: ignore[assignment]

__all__ = ["LOCK", "hold"]

LOCK = "lock"


def hold(folder: Path, target: Path, owner: object) -> None:
    """Keep other processes out of a folder for as long as an object lives.

    Parameters
    ----------
    folder : Path
        That is there.
    target : Path
        What is written, for a fault.
    owner : object
        When it is gone, so is the lock.

    Raises
    ------
    InputError
        Where another process holds it.
    """
    if fcntl is None:  # pragma: no cover  not on Windows
        return
    file = os.open(folder / LOCK, os.O_RDWR | os.O_CREAT, 0o644)
    try:
        fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        os.close(file)
        found = "another one that is writing it now"
        remedy = "Wait until it has ended, or choose another name."
        raise InputError([Fault(str(target), "", "no other export", found, remedy)]) from error
    weakref.finalize(owner, os.close, file)
