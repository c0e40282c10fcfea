"""What keeps a core busy for half a minute: one at a time, and beside the server.

The first who asks has it made; who asks for the same meanwhile gets the same, and who asks
for something else is told to wait. So a tap too many costs nothing.
"""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Callable, Hashable
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import TypeVar

from corallum.actions.programmes import open_programme
from corallum.errors import ConflictError, CorallumError
from corallum.store.programme import Programme
from corallum.web.answers import begin
from corallum.web.results_kept import kept
from corallum.web.visit import Visit

__all__ = ["LongWork", "make_once", "outcome"]

Asked = TypeVar("Asked", bound=Hashable)
Work = Callable[[Programme, Asked], bytes]
_BUSY = (
    "something else that takes long is being made for these pages. Wait half a minute, then ask "
    "again."
)
_KINDER = 5


class LongWork:
    """Makes one thing at a time.

    Parameters
    ----------
    apart : bool
        Whether in a process of its own, so that the server stays free for taps.
    """

    def __init__(self, *, apart: bool) -> None:
        self._apart = apart
        self._busy = threading.Lock()
        self._process: BaseProcess | None = None

    def make(self, programme: Programme, work: Work[Asked], asked: Asked) -> bytes:
        """Make something.

        Parameters
        ----------
        programme : Programme
            Of which.
        work : callable
            A function of a module, which another process can find.
        asked : hashable
            What it is to make.

        Raises
        ------
        ConflictError
            Where something else is being made.
        """
        if not self._busy.acquire(blocking=False):
            raise ConflictError(_BUSY)
        try:
            if self._apart:
                return self._made_apart(programme.folder, work, asked)
            return work(programme, asked)
        finally:
            self._busy.release()

    def close(self) -> None:
        """End what is being made, as nobody waits for it any more."""
        process = self._process
        if process is not None:
            process.terminate()

    def _made_apart(self, folder: Path, work: Work[Asked], asked: Asked) -> bytes:
        """Make something in a process of its own, which ends with the server."""
        context = multiprocessing.get_context("spawn")
        here, there = context.Pipe(duplex=False)
        process = context.Process(target=_apart, args=(there, folder, work, asked), daemon=True)
        process.start()
        self._process = process
        # Only the other process holds this end now, so that its end is heard here.
        there.close()
        try:
            made, why = here.recv()
        except EOFError as error:
            message = "it could not be made: the work was ended from outside. Ask again."
            raise ConflictError(message) from error
        finally:
            process.join()
            self._process = None
            here.close()
        if why:
            raise ConflictError(why)
        found: bytes = made
        return found


def make_once(visit: Visit, work: Work[Asked], asked: Asked) -> bytes:
    """Return what is asked for, made now or, since the last entry of the history, before.

    Parameters
    ----------
    visit : Visit
        Whose programme.
    work : callable
        A function of a module.
    asked : hashable
        What it is to make, the day included if it says the day.

    Raises
    ------
    ConflictError
        Where something else is being made.
    """
    maker: LongWork = visit.request.app.state.long_work
    key = (work.__module__, work.__qualname__, asked)
    return kept(visit, key, lambda: maker.make(visit.programme, work, asked))


def _apart(there: Connection, folder: Path, work: Work[Asked], asked: Asked) -> None:
    """Make something here, in the other process, and send it back."""
    begin()
    if hasattr(os, "nice"):
        os.nice(_KINDER)
    there.send(outcome(folder, work, asked))


def outcome(folder: Path, work: Work[Asked], asked: Asked) -> tuple[bytes, str]:
    """Make something of a programme that is not open here.

    Returns
    -------
    tuple of (bytes, str)
        What was made; or nothing, and why.
    """
    try:
        programme = open_programme(folder)
        try:
            return work(programme, asked), ""
        finally:
            programme.close()
    except CorallumError as error:
        return b"", str(error)
