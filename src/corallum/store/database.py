"""The database of a programme: one locked writer, synced to disk before it answers.

SQLite in the folder by default. Another database can be given by its address; the
statements are portable, the locking below knows SQLite and PostgreSQL.
"""

from __future__ import annotations

import os
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy import event as sa_event
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.pool import ConnectionPoolEntry, QueuePool

from corallum.errors import StoreError

__all__ = ["Connection", "Database", "connect_file", "readable_errors"]

# A transaction, for those who may hold one but write no statements of their own.
Connection = sa.Connection
_BUSY_SECONDS = 20.0
# A number of our own, so that writers of a shared database take turns.
_LOCK_KEY = 0x436F72616C


class Database:
    """Connections to one database, shared by the threads of a process.

    Parameters
    ----------
    where : Path or str
        A file of SQLite, or the address of a shared database.
    read_only : bool
        Whether a file is opened for reading only, and left as it is byte by byte.
    """

    def __init__(self, where: Path | str, *, read_only: bool = False) -> None:
        self.where = where
        self.file = where if isinstance(where, Path) else None
        self._writer = threading.RLock()
        self._open = threading.local()
        if isinstance(where, str):
            self.engine = _shared_engine(where)
        else:
            self.engine = _file_engine(where, read_only)

    def close(self) -> None:
        """Let go of all connections."""
        self.engine.dispose()

    @contextmanager
    def read(self) -> Iterator[sa.Connection]:
        """Open a reading transaction: one state of the database, whoever writes."""
        current = self._current()
        if current is not None:
            yield current
            return
        with readable_errors(self.where), self.engine.begin() as connection:
            yield connection

    @contextmanager
    def write(self) -> Iterator[sa.Connection]:
        """Open the writing transaction; it is on disk when the block ends, or undone.

        Within another block of the same thread it is a part of that one.
        """
        current = self._current()
        if current is not None:
            with current.begin_nested():
                yield current
            return
        with readable_errors(self.where), self._writer, self.engine.connect() as connection:
            writing = connection.execution_options(corallum_write=True)
            with writing.begin():
                self._lock_shared(writing)
                self._open.connection = writing
                try:
                    yield writing
                finally:
                    self._open.connection = None

    def _current(self) -> sa.Connection | None:
        """Return the writing transaction of this thread, where one is open."""
        found: sa.Connection | None = getattr(self._open, "connection", None)
        return found

    def _lock_shared(self, connection: sa.Connection) -> None:
        """Wait for other writers of a shared database; a file was locked as it began."""
        if self.engine.dialect.name == "postgresql":
            connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_LOCK_KEY)))


def connect_file(path: Path, *, read_only: bool = False) -> sqlite3.Connection:
    """Open a database file that is there; no transaction begins by itself.

    One that can't be written, as a copy on a locked stick, is opened for reading.
    """
    how = "mode=ro" if read_only else "mode=rw"
    log = path.with_name(f"{path.name}-wal")
    locked = path.is_file() and not os.access(path.parent, os.W_OK)
    if locked and not (log.is_file() and log.stat().st_size):
        how = "mode=ro&immutable=1"
    return sqlite3.connect(
        f"{path.resolve().as_uri()}?{how}", uri=True, timeout=_BUSY_SECONDS,
        isolation_level=None, check_same_thread=False,
    )  # fmt: skip


def _file_engine(path: Path, read_only: bool) -> sa.Engine:  # noqa: FBT001  private
    """Make an engine for a file: readers never wait, writers take turns."""
    engine = sa.create_engine(
        "sqlite+pysqlite://", creator=lambda: connect_file(path, read_only=read_only),
        poolclass=QueuePool, pool_size=8, max_overflow=32,
    )  # fmt: skip
    if not read_only:
        sa_event.listen(engine, "connect", _prepare_file)
    sa_event.listen(engine, "begin", _begin_file)
    return engine


def _prepare_file(connection: DBAPIConnection, _: ConnectionPoolEntry) -> None:
    """Set up a connection to a file: every commit is synced to disk."""
    cursor = connection.cursor()
    cursor.execute("PRAGMA foreign_keys = ON")
    # Where the folder can't be written this fails, and a write will say so.
    with suppress(sqlite3.OperationalError):
        cursor.execute("PRAGMA journal_mode = WAL")
    cursor.execute("PRAGMA synchronous = FULL")
    cursor.close()


def _begin_file(connection: sa.Connection) -> None:
    """Begin a transaction; a writer takes its turn at once, not half-way."""
    write = connection.get_execution_options().get("corallum_write")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")


def _shared_engine(address: str) -> sa.Engine:
    """Make an engine for a database by address."""
    try:
        return sa.create_engine(address)
    except (SQLAlchemyError, ImportError) as error:
        message = (
            f"programme.toml, database: expected the address of a database whose driver is "
            f"installed, found {address!r}: {_first_line(error)}. Mend it."
        )
        raise StoreError(message) from error


@contextmanager
def readable_errors(where: Path | str) -> Iterator[None]:
    """Say in one line why the database or the disk did not do it."""
    try:
        yield
    except DBAPIError as error:
        raise StoreError(_told(where, error.orig or error)) from error
    except (SQLAlchemyError, sqlite3.Error) as error:
        raise StoreError(_told(where, error)) from error
    except OSError as error:
        raise StoreError(_told(where, error)) from error


# What SQLite says, in the words of somebody at a field station.
_REASONS = (
    ("full", "the disk is full", "Make room and try again."),
    ("no space left", "the disk is full", "Make room and try again."),
    ("too large", "the disk can't take more (full, or it failed)", "Make room and try again."),
    ("disk i/o", "the disk can't take more (full, or it failed)", "Make room and try again."),
    ("readonly", "the folder can't be written", "Check who may write there."),
    ("read-only", "the folder can't be written", "Check who may write there."),
    ("permission denied", "it can't be written", "Check who may write there."),
    ("locked", "somebody else is writing", "Wait a moment and try again."),
    ("unable to open", "the file can't be opened", "Check the path and who may read there."),
    ("malformed", "the database is damaged", "Run corallum verify, then restore a backup."),
    ("not a database", "this is no database", "Run corallum verify, then restore a backup."),
)


def _told(where: Path | str, error: BaseException) -> str:
    """Say what the database said."""
    text = (getattr(error, "strerror", None) or _first_line(error)).rstrip(".")
    for part, reason, remedy in _REASONS:
        if part in text.lower():
            return f"{where}: {reason}. Nothing was changed. {remedy}"
    remedy = "Check the path." if isinstance(error, OSError) else "Run corallum verify."
    return f"{where}: {text}. Nothing was changed. {remedy}"


def _first_line(error: BaseException) -> str:
    """Return the first line of what an error says."""
    return (str(error).splitlines() or [type(error).__name__])[0].rstrip(".")
