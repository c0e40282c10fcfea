"""Files that are made to be kept: sent as attachments, and never left behind.

What an action writes to disk is written into a folder of its own, which is gone as soon as the
file was sent, or could not be. No path of this machine gets into what a reader is told.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from anyio import to_thread
from fastapi.responses import FileResponse, Response
from starlette.types import Receive, Scope, Send

from corallum.errors import Fault, InputError

__all__ = ["HTML", "PDF", "attached", "for_a_page", "made_file"]

PDF = "application/pdf"
HTML = "text/html; charset=utf-8"
_PREFIX = "corallum-"
_NO_ROOM = Fault(
    "the file", "", "a disk that takes it", "none",
    "See whether the disk of this station is full, then ask again.",
)  # fmt: skip


def _headers(name: str) -> dict[str, str]:
    """Return what says that this is a file to keep; the name is plain ASCII."""
    return {
        "Content-Disposition": f'attachment; filename="{name}"',
        "Cache-Control": "no-store",
    }


def attached(content: bytes, media_type: str, name: str) -> Response:
    """Return a file to keep.

    Parameters
    ----------
    content : bytes
        What is in it.
    media_type : str
        What it is.
    name : str
        Of letters that every machine takes, with its ending.
    """
    return Response(content, media_type=media_type, headers=_headers(name))


class _GoneOnceSent(FileResponse):
    """A file whose folder is deleted once it was sent, or the reader went away."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Send it."""
        try:
            await super().__call__(scope, receive, send)
        finally:
            await to_thread.run_sync(_remove, Path(self.path).parent)


def _remove(folder: Path) -> None:
    """Delete a folder with all that is in it."""
    shutil.rmtree(folder, ignore_errors=True)


def made_file(make: Callable[[Path], object], media_type: str, name: str) -> Response:
    """Have a file made, and return it to be kept.

    Parameters
    ----------
    make : callable
        Writes the file, which is not there yet, at the path that it is given.
    media_type : str
        What it is.
    name : str
        Of letters that every machine takes, with its ending.

    Raises
    ------
    InputError
        Where it can't be made; then nothing is left.
    """
    try:
        folder = Path(tempfile.mkdtemp(prefix=_PREFIX))
    except OSError as error:
        raise InputError([_NO_ROOM]) from error
    try:
        make(folder / name)
    except InputError as error:
        _remove(folder)
        raise for_a_page(error, folder) from error
    except BaseException:
        _remove(folder)
        raise
    return _GoneOnceSent(folder / name, media_type=media_type, headers=_headers(name))


def for_a_page(error: InputError, folder: Path | None = None) -> InputError:
    """Return an error of an action as a page says it: without options, and without paths.

    Parameters
    ----------
    error : InputError
        Its faults may name options of a command, or files.
    folder : Path or None
        Whose path is not to be told.
    """
    return InputError([_told(one, folder) for one in error.faults])


def _told(fault: Fault, folder: Path | None) -> Fault:
    """Return a fault without options and paths."""
    if folder is not None and str(folder) in str(fault):
        return _NO_ROOM
    return replace(fault, where=fault.where.removeprefix("--"))
