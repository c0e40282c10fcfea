"""Find what is damaged, missing or not as it was written in a programme or a backup.

Reads only. A fault is something that was lost or altered; what can be made again, such
as a small copy of a photo, is none.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import sqlalchemy as sa

from corallum.errors import CorallumError, Fault, InputError, TableError
from corallum.records.programme import ProgrammeSettings
from corallum.reference.reference import parse_reference
from corallum.store import schema
from corallum.store.backup import Manifest, read_manifest
from corallum.store.colonies import load_colony, row_values
from corallum.store.database import Database, connect_file
from corallum.store.files import file_hash
from corallum.store.history import chain_faults
from corallum.store.programme import DATABASE_NAME, schema_version
from corallum.store.programme_file import read_settings
from corallum.store.reference_folder import read_reference_folder
from corallum.store.schema import SCHEMA_VERSION
from corallum.store.surveys import record_rows

__all__ = ["Found", "verify_folder"]

_RESTORE = "Restore a backup."
_MOST_FAULTS = 1000
Progress = Callable[[float], None]


@dataclass(slots=True)
class Found:
    """Faults and counts, as they come."""

    faults: list[Fault]
    photos: int = 0
    colonies: int = 0
    history: int = 0

    def add(self, where: str, place: str, expected: str, found: str) -> None:
        """Keep one fault; the thousandth is one too many to read."""
        if len(self.faults) < _MOST_FAULTS:
            self.faults.append(Fault(where, place, expected, found, _RESTORE))


def verify_folder(folder: Path, progress: Progress) -> Found:
    """Check a programme or a backup: files, database, history, and that lists follow it.

    Raises
    ------
    InputError
        Where the folder is no programme.
    """
    found = Found([])
    settings = read_settings(folder)
    manifest = _manifest(folder, found)
    if manifest is not None:
        _check_files(folder, manifest, found)
    try:
        parse_reference(read_reference_folder(folder / "reference"))
    except TableError as error:
        found.faults.extend(error.faults)
    progress(0.1)
    _check_database(folder, settings, found, progress)
    progress(1.0)
    return found


def _manifest(folder: Path, found: Found) -> Manifest | None:
    """Return the list of a backup, where there is one."""
    try:
        return read_manifest(folder)
    except InputError as error:
        found.faults.extend(error.faults)
        return None


def _check_files(folder: Path, manifest: Manifest, found: Found) -> None:
    """Compare every file of a backup with its list."""
    for name, wanted in manifest.files.items():
        path = folder / name
        if not path.is_file():
            found.add(name, "", "a file of the backup", "none")
        elif file_hash(path) != wanted:
            found.add(name, "", "the file as it was backed up", "another content")


def _check_database(
    folder: Path, settings: ProgrammeSettings, found: Found, progress: Progress
) -> None:
    """Check the database, then what it says against what is on disk."""
    where = folder / DATABASE_NAME if settings.database is None else settings.database
    if isinstance(where, Path) and not _is_whole(where, found):
        return
    try:
        with _opened(where) as database, database.read() as connection:
            _check_history(connection, found)
            _check_photos(connection, folder / "photos", found)
            progress(0.3)
            _check_survey_records(connection, found)
            progress(0.4)
            _check_colonies(connection, found, lambda share: progress(0.4 + 0.6 * share))
    except (CorallumError, ValueError, KeyError, TypeError, IndexError) as error:
        # What is written there was altered into something that can't even be read.
        found.add(str(where), "", "records that can be read", _line(error))


@contextmanager
def _opened(where: Path | str) -> Iterator[Database]:
    """Open a database for reading; of an older one a copy is brought up to date."""
    with TemporaryDirectory() as folder:
        database = Database(where, read_only=True)
        if isinstance(where, Path) and schema_version(database) < SCHEMA_VERSION:
            from corallum.store.migrate import upgrade_database  # noqa: PLC0415  slow

            database.close()
            copy = Path(folder) / where.name
            with (
                closing(connect_file(where, read_only=True)) as source,
                closing(sqlite3.connect(copy)) as target,
            ):
                source.backup(target)
            database = Database(copy)
            upgrade_database(database)
        try:
            yield database
        finally:
            database.close()


def _line(error: BaseException) -> str:
    """Return what an error says in one line."""
    return " ".join(f"{type(error).__name__}: {error}".split())[:200]


def _is_whole(path: Path, found: Found) -> bool:
    """Whether a database file is one, and sound in itself."""
    if not path.is_file():
        found.add(path.name, "", "the database", "none")
        return False
    before = len(found.faults)
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as db:
            for (line,) in db.execute("PRAGMA integrity_check"):
                if line != "ok":
                    found.add(path.name, "", "a sound database", " ".join(str(line).split()))
            for table, row, parent, _ in db.execute("PRAGMA foreign_key_check"):
                place = f"{table}, row {row}"
                found.add(path.name, place, f"a row of {parent} that it names", "none")
    except sqlite3.DatabaseError as error:
        found.add(path.name, "", "a sound database", str(error))
    return len(found.faults) == before


def _rows(connection: sa.Connection, table: sa.Table, *order: str) -> Iterator[Mapping[str, Any]]:
    """Yield the rows of a table without holding them all."""
    asked = sa.select(table).order_by(*(table.c[name] for name in order))
    result = connection.execution_options(yield_per=1000).execute(asked)
    for row in result.mappings():
        yield dict(row)


def _check_history(connection: sa.Connection, found: Found) -> None:
    """Check the seals of the history, and that every row is as its entry wrote it."""
    written: dict[str, dict[Any, dict[str, Any]]] = {}
    keyed = {table.name for table in schema.KEYED}

    def noted() -> Iterator[Mapping[str, Any]]:
        for row in _rows(connection, schema.history, "id"):
            found.history += 1
            detail = json.loads(row["detail"])
            table, values = detail.get("table"), detail.get("row", {})
            if table in keyed:
                written.setdefault(table, {}).setdefault(values["id"], {}).update(values)
            elif table is not None and table != "colony":
                written.setdefault(table, {})[row["id"]] = values
            yield row

    for fault in chain_faults(noted(), DATABASE_NAME):
        found.add(fault.where, fault.place, fault.expected, fault.found)
    for table in (*schema.APPENDED, *schema.KEYED):
        key = "id" if table.name in keyed else "history"
        _check_rows(connection, table, key, written.get(table.name, {}), found)


def _check_rows(
    connection: sa.Connection,
    table: sa.Table,
    key: str,
    wanted: dict[Any, dict[str, Any]],
    found: Found,
) -> None:
    """Compare the rows of one table with what the history says was written."""
    left = set(wanted)
    for row in _rows(connection, table, key):
        id_ = row[key]
        left.discard(id_)
        values = {name: value for name, value in row.items() if name != "history"}
        if id_ not in wanted:
            found.add(DATABASE_NAME, f"{table.name} {id_}", "an entry that wrote it", "none")
        elif values != wanted[id_]:
            place = f"{table.name} {id_}"
            found.add(DATABASE_NAME, place, "the row as it was written", "another")
    for id_ in sorted(left, key=str):
        found.add(DATABASE_NAME, f"{table.name} {id_}", "the row that was written", "none")


def _check_photos(connection: sa.Connection, folder: Path, found: Found) -> None:
    """Check that every photo is there, byte by byte."""
    for row in _rows(connection, schema.photo, "sha256"):
        found.photos += 1
        sha256 = row["sha256"]
        files = sorted((folder / sha256[:2]).glob(f"{sha256}.*"))
        if not files:
            found.add(f"photo {sha256}", "", "its file", "none")
        elif files[0].stat().st_size != row["bytes"] or file_hash(files[0]) != sha256:
            found.add(f"photo {sha256}", "", "the photo as it was added", "another content")


def _check_colonies(connection: sa.Connection, found: Found, progress: Progress) -> None:
    """Check that the line of every colony in lists is what its history says."""
    table = schema.colony
    for row in _rows(connection, table, "number"):
        found.colonies += 1
        values = row_values(load_colony(connection, row["id"]))
        wrong = sorted(name for name, value in values.items() if row[name] != value)
        if wrong:
            place = f"colony {row['number']}, {', '.join(wrong)}"
            found.add(DATABASE_NAME, place, "what its history says", "something else")
        if found.colonies % 100 == 0:
            progress(min(1.0, found.colonies / 1e5))


def _check_survey_records(connection: sa.Connection, found: Found) -> None:
    """Check that the lines of every slate in sums are what its history says."""
    table = schema.survey_record
    slates = connection.execute(sa.select(schema.slate.c.history)).scalars().all()
    for history in slates:
        asked = sa.select(table).where(table.c.slate == history).order_by(table.c.line)
        here = [dict(row) for row in connection.execute(asked).mappings()]
        if here != record_rows(connection, history):
            place = f"lines of slate {history}"
            found.add(DATABASE_NAME, place, "what its history says", "something else")
    known = sa.select(schema.slate.c.history)
    asked = sa.select(sa.func.count()).where(table.c.slate.not_in(known))
    if connection.execute(asked).scalar_one():
        found.add(DATABASE_NAME, "lines of surveys", "a slate that they are of", "none")
