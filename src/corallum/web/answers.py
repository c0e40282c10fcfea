"""Answers for the pages: worked out beside the server, and kept a while.

A page is often asked for twice, so the last answers are kept. The model keeps a core
busy for a moment; other processes do that, so that the server stays free for taps.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections import OrderedDict
from concurrent.futures import BrokenExecutor, ProcessPoolExecutor
from pathlib import Path
from typing import cast

from corallum.actions.colony_answers import errors_of
from corallum.actions.programme_reference import programme_determiner, programme_library
from corallum.errors import CorallumError
from corallum.records.answer import Answer
from corallum.records.colony import Colony
from corallum.records.colony_record import ColonyRecord
from corallum.records.fold import as_colony
from corallum.records.programme import ProgrammeSettings
from corallum.store.database import Database
from corallum.store.programme import Programme

__all__ = ["Answers", "begin"]

_MOST = 512


class Answers:
    """The answers given last, by what they rest on.

    Parameters
    ----------
    programme : Programme
        Whose reference answers.
    workers : int
        Processes beside the server; 0 works answers out here, one at a time, since side
        by side they would only slow each other down.
    """

    def __init__(self, programme: Programme, workers: int = 0) -> None:
        self._programme = programme
        self._kept: OrderedDict[tuple[object, ...], Answer] = OrderedDict()
        self._lock = threading.Lock()
        self._one_at_a_time = threading.Lock()
        self._pool: ProcessPoolExecutor | None = None
        if workers:
            context = multiprocessing.get_context("spawn")
            self._pool = ProcessPoolExecutor(workers, context, begin)
        self._workers = workers

    @property
    def _place(self) -> tuple[Path, ProgrammeSettings]:
        """Where the programme is, as another process needs to know."""
        return self._programme.folder, self._programme.settings

    def of(self, record: ColonyRecord, errors: str = "") -> Answer | str:
        """Return the answer for a colony as it stands, or why there is none.

        ``errors`` is whose to assume; empty is those of its observer.
        """
        try:
            return self._look_up(record, errors)
        except CorallumError as error:
            # The reference was edited and no longer knows some of what was seen.
            return str(error)

    def make_ready(self) -> None:
        """Start the other processes, which then read the tables before the first tap."""
        if self._pool is not None:
            for _ in range(self._workers):
                self._pool.submit(_answer, *self._place, Colony("ready", {}), "unknown")

    def close(self) -> None:
        """Let the other processes go."""
        if self._pool is not None:
            self._pool.shutdown(wait=False, cancel_futures=True)

    def _look_up(self, record: ColonyRecord, errors: str) -> Answer:
        """Look the answer up, or have it worked out."""
        hash_ = programme_library(self._programme).compiled.hash
        errors = errors or errors_of(self._programme, record.observer)
        reports = sorted((key, repr(entry.report)) for key, entry in record.reports.items())
        key = (hash_, errors, record.region, record.conditions, *reports)
        with self._lock:
            found = self._kept.get(key)
            if found is not None:
                self._kept.move_to_end(key)
                return found
        found = self._work_out(as_colony(record), errors)
        if found.reference == hash_:
            with self._lock:
                self._kept[key] = found
                while len(self._kept) > _MOST:
                    self._kept.popitem(last=False)
        return found

    def _work_out(self, colony: Colony, errors: str) -> Answer:
        """Have an answer worked out, here where there is no other process any more."""
        if self._pool is not None:
            try:
                return self._pool.submit(_answer, *self._place, colony, errors).result()
            except (BrokenExecutor, RuntimeError):
                self._pool = None
        with self._one_at_a_time:
            return programme_determiner(self._programme, errors).determine(colony)


def begin() -> None:
    """Begin a process that leaves Ctrl-C to the server, and ends when the server does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    server = multiprocessing.parent_process()

    def end_with_server() -> None:
        if server is not None:
            server.join()
            os._exit(0)

    threading.Thread(target=end_with_server, daemon=True).start()


def _answer(folder: Path, settings: ProgrammeSettings, colony: Colony, errors: str) -> Answer:
    """Answer in another process, which reads the tables and never the records."""
    programme = Programme(folder, settings, cast(Database, None))
    return programme_determiner(programme, errors).determine(colony)
