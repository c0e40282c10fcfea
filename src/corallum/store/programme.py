"""A programme: its folder, its settings and its database, opened together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import sqlalchemy as sa

from corallum.errors import ConflictError, Fault, InputError, StoreError
from corallum.records.programme import ProgrammeSettings
from corallum.store.database import Database, readable_errors
from corallum.store.files import sync_folder, write_whole
from corallum.store.programme_file import FILE_NAME, read_settings, settings_text
from corallum.store.schema import SCHEMA_VERSION

__all__ = [
    "DATABASE_NAME", "MANIFEST", "Programme", "create_folder", "open_folder", "schema_version",
]  # fmt: skip

DATABASE_NAME = "corallum.db"
# A folder that holds this list is a backup, and stays as it was made.
MANIFEST = "manifest.json"


class Programme:
    """An open programme; one for all threads of a process.

    Parameters
    ----------
    folder : Path
        Of the programme.
    settings : ProgrammeSettings
        What ``programme.toml`` says.
    database : Database
        Where the records are.
    """

    def __init__(self, folder: Path, settings: ProgrammeSettings, database: Database) -> None:
        self.folder = folder
        self.settings = settings
        self.database = database

    @property
    def reference_folder(self) -> Path:
        """Its own copy of the reference."""
        return self.folder / "reference"

    @property
    def photo_folder(self) -> Path:
        """Originals and small copies."""
        return self.folder / "photos"

    def read(self) -> AbstractContextManager[sa.Connection]:
        """Open a reading transaction."""
        return self.database.read()

    def write(self) -> AbstractContextManager[sa.Connection]:
        """Open the writing transaction."""
        return self.database.write()

    @contextmanager
    def together(self) -> Iterator[None]:
        """Make one unit of work of all that this thread does in the block."""
        with self.database.write():
            yield

    def close(self) -> None:
        """Let go of the database."""
        self.database.close()


def create_folder(
    folder: Path, settings: ProgrammeSettings, tables: Mapping[str, str]
) -> Programme:
    """Make the folder of a new programme and open it.

    Parameters
    ----------
    folder : Path
        Must not exist, or be empty.
    settings : ProgrammeSettings
        Checked by the caller.
    tables : mapping of str to str
        The reference to begin with, text by path.

    Raises
    ------
    ConflictError
        Where something stands there.
    StoreError
        Where it can't be written.
    """
    from corallum.store.migrate import upgrade_database  # noqa: PLC0415  slow, and rarely needed

    with readable_errors(folder):
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise ConflictError(f"{folder}: expected a new or empty folder. Choose another.")
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "photos").mkdir()
        for path, text in tables.items():
            target = folder / "reference" / path
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_text(text, encoding="utf-8", newline="")
        file = folder / DATABASE_NAME
        if settings.database is None:
            file.touch()
        database = Database(file if settings.database is None else settings.database)
        upgrade_database(database)
        # Last, because the folder is a programme once this file is there.
        write_whole(folder / FILE_NAME, settings_text(settings).encode())
        sync_folder(folder)
    return Programme(folder, settings, database)


def open_folder(folder: Path, *, read_only: bool = False) -> Programme:
    """Open a programme; an older database is brought up to date first.

    Parameters
    ----------
    folder : Path
        Of the programme.
    read_only : bool
        Whether nothing may be written; then an older database is refused.

    Raises
    ------
    InputError
        Where it is no programme, or ``programme.toml`` has faults.
    StoreError
        Where the database can't be opened, or a newer program made it.
    """
    settings = read_settings(folder)
    if (folder / MANIFEST).exists():
        remedy = "Make a programme of it with corallum restore."
        fault = Fault(str(folder), "", "a programme to work in", "a backup", remedy)
        raise InputError([fault])
    if settings.database is None and not (folder / DATABASE_NAME).is_file():
        message = f"{folder / DATABASE_NAME}: expected the database, found none. Restore a backup."
        raise StoreError(message)
    where = folder / DATABASE_NAME if settings.database is None else settings.database
    database = Database(where, read_only=read_only)
    version = schema_version(database)
    if version < SCHEMA_VERSION and read_only:
        database.close()
        message = (
            f"{where}: expected a database of version {SCHEMA_VERSION} to read, found {version}. "
            "Bring it up to date: open it once with corallum serve."
        )
        raise StoreError(message)
    if version < SCHEMA_VERSION:
        from corallum.store.migrate import upgrade_database  # noqa: PLC0415  slow, rarely needed

        upgrade_database(database)
    elif version > SCHEMA_VERSION:
        message = (
            f"{where}: expected a database of version {SCHEMA_VERSION} at most, found {version}. "
            "Use the newer program that made it."
        )
        raise StoreError(message)
    return Programme(folder, settings, database)


def schema_version(database: Database) -> str:
    """Return the version of the tables; empty where there are none."""
    with database.read() as connection:
        if not sa.inspect(connection).has_table("alembic_version"):
            return ""
        found = connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalar()
    return str(found or "")
