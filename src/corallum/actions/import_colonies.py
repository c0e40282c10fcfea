"""Take colonies in out of an archive: each with its whole history, or none of them.

Every entry is written anew in its order, in the name of who wrote it and with its time, and
says where it comes from. A colony keeps its id, so that it is known when it comes again.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

from corallum.actions.archived_colony_checks import NamesHere, check_colonies, compare_colonies
from corallum.actions.programme_reference import programme_library
from corallum.actions.unit_of_work import Unit, unit_of_work
from corallum.exchange.colony_archive.log import LogEntry
from corallum.exchange.colony_archive.read import ArchivedColonies, ArchivedColony, open_colonies
from corallum.records.colony_record import ColonyRecord
from corallum.records.programme import Role
from corallum.store import colonies as store
from corallum.store import people, schema
from corallum.store.history import Act, add_row, time_text, write_entry
from corallum.store.photo_rows import add_photo, all_photos
from corallum.store.photos import MOST_PHOTO_BYTES, CheckedPhoto, check_photo, keep_photo
from corallum.store.programme import Programme

__all__ = ["IMPORT_COLONY", "ColoniesImported", "ImportColonies", "import_colonies"]

IMPORT_COLONY = "import colony"
"""The verb of the entry that says where a colony comes from."""
_TABLES = {
    table.name: table
    for table in (
        schema.entry, schema.colony_photo, schema.measurement, schema.determination,
        schema.reading_request, schema.reading_answer, schema.voucher,
    )
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class ImportColonies:
    """An archive to take in.

    Parameters
    ----------
    path : Path
        The zip.
    names : mapping of str to str
        What else a site or person of this programme is called there: the name there, and
        the name here.
    """

    path: Path
    names: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ColoniesImported:
    """What was taken in.

    Parameters
    ----------
    new : tuple of ColonyRecord
        Colonies that were written.
    known : tuple of int
        Numbers here of colonies that were here already, with the same history.
    other : tuple of int
        Numbers here of colonies that were here with another history: they were left alone.
    new_sites : tuple of str
        Names of sites that were added.
    photos_left_out : int
        Photos whose original is neither in the archive nor here; sizes measured on them are
        left out too.
    """

    new: tuple[ColonyRecord, ...]
    known: tuple[int, ...]
    other: tuple[int, ...]
    new_sites: tuple[str, ...]
    photos_left_out: int


def import_colonies(
    programme: Programme,
    command: ImportColonies,
    now: dt.datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
    progress: Callable[[float], None] = lambda _: None,
) -> ColoniesImported:
    """Take in all colonies of an archive that are not here yet, or none of them.

    Parameters
    ----------
    programme : Programme
        To write to.
    command : ImportColonies
        The archive.
    now : datetime
        The moment, with its time zone.
    rng : numpy.random.Generator
        Not used: colonies keep their ids.
    person : str
        Id of the lead who does it.
    progress : callable
        Is told the share done, 0 to 1.

    Raises
    ------
    InputError
        With every fault of the archive at once: nothing was written.
    NotAllowedError
        Where somebody else than a lead would do it: it writes in the names of others.
    """
    with unit_of_work(programme, person, now, Role.LEAD, "take in archives of colonies"):
        pass
    with open_colonies(command.path) as archive:
        kept, photos = _photos(programme, archive)
        with unit_of_work(programme, person, now, Role.LEAD, "take in archives") as unit:
            writer = _Writer(programme, unit, archive, command)
            writer.check()
            for photo in photos:
                add_photo(unit.connection, photo, now)
            found = writer.write(kept, progress)
    return found


def _photos(
    programme: Programme, archive: ArchivedColonies
) -> tuple[frozenset[str], tuple[CheckedPhoto, ...]]:
    """Keep the originals that are packed; return all that may be named, and the new ones."""
    with programme.read() as connection:
        here = {one.sha256 for one in all_photos(connection)}
    wanted = {
        str(entry.row["photo"])
        for colony in archive.colonies for entry in colony.log if entry.table == "colony_photo"
    }  # fmt: skip
    new = []
    for sha256 in sorted(wanted & archive.photos.keys() - here):
        data = archive.unpacked.read(archive.photos[sha256], MOST_PHOTO_BYTES)
        # A small copy bears the hash of its original in its name, and is none.
        if hashlib.sha256(data).hexdigest() == sha256:
            checked = check_photo(data)
            keep_photo(programme.photo_folder, checked)
            new.append(replace(checked, copies={}))
    return frozenset((wanted & here) | {one.sha256 for one in new}), tuple(new)


class _Writer:
    """Writes colonies in one unit of work."""

    def __init__(
        self, programme: Programme, unit: Unit, archive: ArchivedColonies, command: ImportColonies
    ) -> None:
        self.programme, self.unit, self.archive = programme, unit, archive
        self.file = command.path.name
        self.sha256 = _hash(command.path)
        self.names = NamesHere(unit.connection, command.names)
        self.here = set(store.colony_ids(unit.connection, withdrawn=True))
        self.wanted = [one for one in archive.colonies if one.id not in self.here]
        self.new_sites: list[str] = []

    def check(self) -> None:
        """Refuse the archive where anything in it could not have been written here."""
        compiled = programme_library(self.programme).compiled
        about = (compiled, self.unit.act.now, self.file)
        check_colonies(self.archive, self.wanted, self.names, about)

    def write(self, photos: frozenset[str], progress: Callable[[float], None]) -> ColoniesImported:
        """Write all colonies that are not here."""
        new: list[ColonyRecord] = []
        known: list[int] = []
        other: list[int] = []
        missing: set[str] = set()
        for done, colony in enumerate(self.archive.colonies):
            progress(done / len(self.archive.colonies))
            if colony.id in self.here:
                record = store.load_colony(self.unit.connection, colony.id)
                same = _origin_of(record) == _seal(colony) or self._is_own(record, colony)
                (known if same else other).append(record.number)
                continue
            missing |= self._write(colony, photos)
            new.append(store.rewrite_row(self.unit.connection, colony.id))
        compare_colonies(self.unit.connection, self.wanted, self.names, self.file)
        progress(1.0)
        return ColoniesImported(
            tuple(new), tuple(known), tuple(other), tuple(self.new_sites), len(missing)
        )

    def _is_own(self, record: ColonyRecord, colony: ArchivedColony) -> bool:
        """Whether a colony was written here, and has the entries that the archive has."""
        return [(one.id, one.at, one.verb) for one in record.history] == [
            (one.number, one.at, one.verb) for one in colony.log
        ]

    def _write(self, colony: ArchivedColony, photos: frozenset[str]) -> set[str]:
        """Write one colony; return photos that were left out."""
        unit, first = self.unit, colony.log[0]
        start = Act(self.names.person(first.by), first.at)
        numbers = {first.number: store.begin_colony(unit.connection, start, colony.id)}
        detail = {
            "archive": self.file, "sha256": self.sha256, "programme": colony.programme,
            "number": colony.number, "entries": len(colony.log), "seal": _seal(colony),
        }  # fmt: skip
        write_entry(unit.connection, unit.act, IMPORT_COLONY, detail, colony=colony.id)
        missing: set[str] = set()
        for entry in colony.log[1:]:
            photo = entry.row.get("photo")
            if photo is not None and photo not in photos:
                missing.add(str(photo))
                continue
            if entry.undoes is not None and entry.undoes not in numbers:
                continue  # it undoes what was left out
            numbers[entry.number] = self._write_entry(colony.id, entry, numbers)
        return missing

    def _write_entry(self, colony: str, entry: LogEntry, numbers: Mapping[int, int]) -> int:
        """Write one entry with its row; return its number here."""
        act = Act(self.names.person(entry.by), entry.at)
        origin = {"entry": entry.number, "archive": self.sha256}
        connection = self.unit.connection
        if not entry.table:
            undoes = None if entry.undoes is None else numbers[entry.undoes]
            detail = {**entry.detail, "origin": origin}
            return write_entry(connection, act, entry.verb, detail, colony=colony, undoes=undoes)
        row: dict[str, Any] = {"colony": colony, **entry.row}
        if entry.table == "entry":
            self._localise(row)
            row["measurement"] = numbers.get(row["measurement"])
        elif entry.table == "reading_answer":
            row["request"] = numbers[row["request"]]
        elif entry.table == "reading_request" and row["asked_of"] is not None:
            row["asked_of"] = self.names.person(row["asked_of"])
        elif entry.table == "determination":
            known = [here for there, here in numbers.items() if there <= row["evidence_upto"]]
            row["evidence_upto"] = max(known, default=0)
        return add_row(connection, act, entry.verb, _TABLES[entry.table], row, origin=origin)

    def _localise(self, row: dict[str, Any]) -> None:
        """Put ids of here in place of names, and add sites and events that are missing."""
        said = json.loads(row["report"])
        if not isinstance(said, str):
            return
        if row["kind"] == "observer":
            row["report"] = json.dumps(self.names.person(said))
        elif row["kind"] == "site":
            row["report"] = json.dumps(self._site(said))
        elif row["kind"] == "event":
            self._event(said)

    def _site(self, name: str) -> str:
        """Return the id of a site; one that is not here is added."""
        key = self.names.here(name)
        if key not in self.names.sites:
            site = self.archive.sites[name]
            row = {"id": site.id, "name": site.name, "region": site.region,
                   "latitude": site.latitude, "longitude": site.longitude,
                   "note": site.note}  # fmt: skip
            people.insert_keyed(self.unit.connection, self.unit.act, "add site", schema.site, row)
            self.names.sites[key] = site.id
            self.new_sites.append(site.name)
        return self.names.sites[key]

    def _event(self, id_: str) -> None:
        """Add an event that is not here, with all that it is a part of."""
        chain: list[str] = []
        at: str | None = id_
        while at is not None and at not in self.names.events:
            chain.append(at)
            at = self.archive.events[at][0].parent
        for one in reversed(chain):
            event, site = self.archive.events[one]
            row = {
                "id": event.id, "kind": event.kind, "parent": event.parent,
                "site": self._site(site) if site else None, "name": event.name,
                "date": event.date.isoformat() if event.date else None, "note": event.note,
            }  # fmt: skip
            people.insert_keyed(self.unit.connection, self.unit.act, "add event", schema.event, row)
            self.names.events.add(one)


def _seal(colony: ArchivedColony) -> str:
    """Return a hash of a colony's history, by which it is known again."""
    log = [
        [one.number, time_text(one.at), one.by, one.verb, one.undoes, one.table,
         dict(one.row), dict(one.detail)]
        for one in colony.log
    ]  # fmt: skip
    text = json.dumps(log, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _origin_of(record: ColonyRecord) -> str | None:
    """Return the hash of the history that a colony was taken in with."""
    for entry in record.history:
        if entry.verb == IMPORT_COLONY and "origin" not in entry.detail:
            return str(entry.detail.get("seal"))
    return None


def _hash(path: Path) -> str:
    """Return the SHA-256 of a file."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
