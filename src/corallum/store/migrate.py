"""Bring a database up to date, one numbered step in one transaction after the other.

Imported only where a step is due: the migration tool takes a second to load.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from alembic import command
from alembic.config import Config

from corallum.store.database import Database, connect_file, readable_errors
from corallum.store.schema import SCHEMA_VERSION

__all__ = ["upgrade_database"]

_STEPS = Path(__file__).resolve().parent / "migrations"


def upgrade_database(database: Database, version: str = SCHEMA_VERSION) -> None:
    """Bring the tables to a version; a file is copied beside itself before that.

    Raises
    ------
    StoreError
        Where a step fails; the steps before it stand, and the copy is kept.
    """
    with readable_errors(database.where):
        copy = _copy(database.file) if database.file is not None else None
        config = Config()
        config.set_main_option("script_location", str(_STEPS).replace("%", "%%"))
        with database.engine.connect() as connection:
            config.attributes["connection"] = connection.execution_options(corallum_write=True)
            command.upgrade(config, version)
        if copy is not None:
            copy.unlink()


def _copy(file: Path) -> Path | None:
    """Copy a database that holds something, for the time of the steps."""
    with closing(connect_file(file)) as source:
        if not source.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
            return None
        copy = file.with_name(f"{file.name}.before-upgrade")
        with closing(sqlite3.connect(copy)) as target:
            source.backup(target)
    return copy
