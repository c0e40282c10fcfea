"""Databases are brought up to date: from nothing, and from one that the version before made."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy.dialects import postgresql

import corallum.store
from corallum.actions.colonies import AddNote, add_note
from corallum.actions.colony_lists import ColonyFilter, get_colony, list_colonies
from corallum.actions.people import list_people
from corallum.actions.programmes import open_programme
from corallum.actions.second_opinions import AskReading, ask_reading
from corallum.errors import StoreError
from corallum.records.programme import ProgrammeSettings
from corallum.store import schema
from corallum.store.database import Database
from corallum.store.migrate import upgrade_database
from corallum.store.programme_file import settings_text
from corallum.store.verify import verify_folder
from invented import NOW, Team

Tables = Mapping[str, str]
VERSIONS = ("0001", "0002", "0003")


def older(folder: Path, tables: Tables, more: str = "", of: str = "0001") -> Path:
    """A programme whose database an older version made."""
    dump = Path(__file__).with_name(f"programme_{of}.sql")
    settings = ProgrammeSettings("Invented reserve", ("red_sea",))
    folder.mkdir()
    (folder / "programme.toml").write_text(settings_text(settings), encoding="utf-8")
    for name, text in tables.items():
        (folder / "reference" / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / "reference" / name).write_text(text, encoding="utf-8", newline="")
    with closing(sqlite3.connect(folder / "corallum.db")) as database:
        database.executescript(dump.read_text(encoding="utf-8") + more)
    return folder


def version(folder: Path) -> str:
    """The version of the tables, as the database says."""
    with closing(sqlite3.connect(folder / "corallum.db")) as database:
        found: str = database.execute("SELECT version_num FROM alembic_version").fetchone()[0]
    return found


def test_steps_from_nothing_give_the_tables_of_today(tmp_path: Path) -> None:
    """All steps one after the other make exactly the tables that the program works with."""
    file = tmp_path / "corallum.db"
    file.touch()
    database = Database(file)
    upgrade_database(database)
    with database.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_server_default": True})
        assert compare_metadata(context, schema.metadata) == []
    database.close()


def test_the_newest_step_is_the_version_that_the_program_asks_for() -> None:
    """Steps are one chain, numbered in order, ending at the version of the tables."""
    folder = Path(corallum.store.__file__).with_name("migrations")
    steps = [step.revision for step in ScriptDirectory(str(folder)).walk_revisions()]
    assert steps == ["0004", "0003", "0002", "0001"]
    assert steps[0] == schema.SCHEMA_VERSION


@pytest.mark.parametrize("of", VERSIONS)
def test_a_programme_of_the_version_before_keeps_everything(
    tmp_path: Path, shipped_tables: Tables, of: str
) -> None:
    """Colonies, evidence, opinions and history of an older database are read as they were."""
    folder = older(tmp_path / "older", shipped_tables, of=of)
    programme = open_programme(folder)
    rows = {row.name: row for row in list_colonies(programme, ColonyFilter()).rows}
    assert {name: (row.genus, row.status) for name, row in rows.items()} == {
        "first": ("Favites", "overridden"),
        "second": (None, "not_determined"),
        "third": (None, "open"),
    }
    first = get_colony(programme, rows["first"].id)
    assert [note.report for note in first.notes] == ["beside the buoy"]
    assert [one.kind for one in first.determinations] == ["model", "override"]
    assert len(first.photos) == 1
    assert get_colony(programme, rows["second"].id).reports == {}
    programme.close()
    assert version(folder) == schema.SCHEMA_VERSION
    found = verify_folder(folder, lambda _: None)
    # The dump holds no files: the photo is all that is missing.
    assert [fault.where for fault in found.faults] == [f"photo {first.photos[0].photo.sha256}"]
    assert not list(folder.glob("*.before-upgrade"))


def test_an_older_programme_can_be_worked_in(tmp_path: Path, shipped_tables: Tables) -> None:
    """After the steps, what they added works on what was there, and the history goes on."""
    programme = open_programme(older(tmp_path / "older", shipped_tables))
    lead = list_people(programme)[0].id
    row = list_colonies(programme, ColonyFilter(text="third")).rows[0]
    ask_reading(programme, AskReading(row.id), NOW, np.random.default_rng(1), lead)
    waiting = list_colonies(programme, ColonyFilter(waits="reading"))
    assert [one.name for one in waiting.rows] == ["third"]
    programme.close()


def test_a_colony_that_needed_a_sample_waits_for_one(
    tmp_path: Path, shipped_tables: Tables
) -> None:
    """Where nothing could be sent before, the step notes what waits."""
    more = "UPDATE colony SET needs = 'voucher' WHERE name = 'third';"
    programme = open_programme(older(tmp_path / "older", shipped_tables, more))
    waiting = list_colonies(programme, ColonyFilter(waits="voucher"))
    assert [row.name for row in waiting.rows] == ["third"]
    programme.close()


def test_a_step_that_fails_leaves_the_database_as_it_was(
    tmp_path: Path, shipped_tables: Tables
) -> None:
    """A step is one transaction: where its end fails its beginning is undone, and a copy kept."""
    # The last thing that the step makes is in its way.
    more = "CREATE INDEX colony_waiting ON colony (id);"
    folder = older(tmp_path / "older", shipped_tables, more)
    with pytest.raises(StoreError, match="colony_waiting already exists"):
        open_programme(folder)
    assert version(folder) == "0001"
    with closing(sqlite3.connect(folder / "corallum.db")) as database:
        names = {row[0] for row in database.execute("SELECT name FROM sqlite_master")}
        assert "device" not in names
        assert database.execute("SELECT count(*) FROM colony").fetchone() == (3,)
    assert [path.name for path in folder.glob("*.before-upgrade")] == ["corallum.db.before-upgrade"]


def test_a_database_of_a_newer_program_is_refused(team: Team) -> None:
    """A database from the future is not touched."""
    folder = team.programme.folder
    team.programme.close()
    with closing(sqlite3.connect(folder / "corallum.db")) as database:
        database.execute("UPDATE alembic_version SET version_num = '9999'")
        database.commit()
    with pytest.raises(StoreError) as caught:
        open_programme(folder)
    assert str(caught.value) == (
        f"{folder}/corallum.db: expected a database of version 0004 at most, found 9999. "
        "Use the newer program that made it."
    )


def test_an_older_database_is_checked_without_being_changed(
    tmp_path: Path, shipped_tables: Tables
) -> None:
    """Verify reads a database of the version before and leaves it as it is."""
    folder = older(tmp_path / "older", shipped_tables)
    before = (folder / "corallum.db").read_bytes()
    found = verify_folder(folder, lambda _: None)
    assert (found.colonies, len(found.faults)) == (3, 1)
    assert (folder / "corallum.db").read_bytes() == before


@pytest.mark.parametrize("table", schema.metadata.sorted_tables, ids=lambda table: table.name)
def test_the_tables_can_be_made_elsewhere(table: sa.Table) -> None:
    """The tables can be written down for PostgreSQL too; whether they run there is not tried."""
    made = str(sa.schema.CreateTable(table).compile(dialect=postgresql.dialect()))
    assert f"CREATE TABLE {table.name}" in made


def test_notes_after_an_upgrade_are_sealed(tmp_path: Path, shipped_tables: Tables) -> None:
    """The first entry after the steps carries the seal of the last before them."""
    folder = older(tmp_path / "older", shipped_tables)
    programme = open_programme(folder)
    row = list_colonies(programme, ColonyFilter(text="second")).rows[0]
    lead = list_people(programme)[0].id
    add_note(programme, AddNote(row.id, "again"), NOW, np.random.default_rng(1), lead)
    programme.close()
    assert len(verify_folder(folder, lambda _: None).faults) == 1
