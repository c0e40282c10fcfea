"""Take in what a phone saved: every record as it was kept, all of them or none.

Each entry becomes an entry of the colony, in its order. The record itself, with the
moment of each entry by the phone's clock, is kept in the history beside them.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from corallum.actions.colony_changes import write_colony_entry
from corallum.actions.programme_reference import programme_determiner, programme_library
from corallum.actions.unit_of_work import Unit, check_line, check_notes, new_id, unit_of_work
from corallum.errors import ConflictError, Fault, InputError
from corallum.exchange.phone_answers import PhoneAnswer
from corallum.exchange.phone_records import (
    PhoneEntry,
    PhoneRecord,
    colony_after,
    read_phone_records,
)
from corallum.model.compiled import CompiledReference
from corallum.model.evidence import read_colony
from corallum.records.colony import Colony, SizeReport, StateReport
from corallum.records.colony_record import ColonyRecord
from corallum.records.programme import Role
from corallum.store import colonies as store
from corallum.store import people
from corallum.store.history import add_row, time_text, write_entry
from corallum.store.phone_imports import PHONE_IMPORT, KnownRecord, known_records
from corallum.store.programme import Programme
from corallum.store.reference_copy import keep_version
from corallum.store.reference_folder import read_reference_folder
from corallum.store.schema import determination

__all__ = ["ImportPhone", "PhoneImported", "import_phone"]

# Two programs that work out the same chance may differ in what lies below.
_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class ImportPhone:
    """A file that the page for a phone saved.

    Parameters
    ----------
    text, file : str
        What it holds, and what to call it.
    skip_known : bool
        Leave out what is imported already, rather than refuse the file.
    names : mapping of str to str
        What else a site or person of the programme is called on the phone: the name
        there, and the name here.
    """

    text: str
    file: str
    skip_known: bool = False
    names: Mapping[str, str] | None = None


@dataclass(frozen=True, slots=True)
class PhoneImported:
    """What was written: new colonies, colonies that were added to, numbers left out."""

    new: tuple[ColonyRecord, ...]
    added_to: tuple[ColonyRecord, ...]
    left_out: tuple[int, ...]


def import_phone(
    programme: Programme,
    command: ImportPhone,
    now: datetime,
    rng: np.random.Generator,
    person: str,
) -> PhoneImported:
    """Write the records of a phone into a programme.

    A record that was imported before and went on on the phone is added to its colony.

    Raises
    ------
    InputError
        With every fault of the file at once: nothing was written.
    ConflictError
        Where a record is imported already, or what was imported of it has changed.
    """
    records = read_phone_records(command.text, command.file)
    names = _Names(programme, command)
    faults = [fault for record in records for fault in _faults(programme, names, record)]
    if faults:
        raise InputError(faults)
    with unit_of_work(programme, person, now, Role.OBSERVER, "import records of a phone") as unit:
        known = known_records(unit.connection)
        left_out = _refuse(unit, records, known, command)
        writer = _Writer(programme, unit, names, rng)
        new, added = [], []
        for record in records:
            before = known.get(record.id)
            if before is None:
                new.append(writer.write(record))
            elif before.entries < len(record.entries):
                added.append(writer.write(record, before))
    return PhoneImported(tuple(new), tuple(added), left_out)


class _Names:
    """The sites and people of a programme by their names."""

    def __init__(self, programme: Programme, command: ImportPhone) -> None:
        self.file = command.file
        self.other = {key.casefold(): name for key, name in (command.names or {}).items()}
        with programme.read() as connection:
            sites = {one.name: one.id for one in people.all_sites(connection)}
            persons = {one.name: one.id for one in people.all_people(connection)}
        self.known = {"site": sites, "observer": persons}

    def id_of(self, kind: str, name: str) -> str | None:
        """Return the id of a site or an observer."""
        plain = name.strip()
        here = self.other.get(plain.casefold(), plain)
        folded = {known.casefold(): id_ for known, id_ in self.known[kind].items()}
        return folded.get(here.casefold())

    def faults(self, record: PhoneRecord) -> Iterator[Fault]:
        """Say which names are not those of this programme, each once."""
        for kind in ("site", "observer"):
            said = {
                entry.value for entry in record.entries
                if entry.kind == kind and isinstance(entry.value, str)
            }  # fmt: skip
            for name in sorted(said):
                if self.id_of(kind, name) is None:
                    what = "site" if kind == "site" else "person"
                    expected = (
                        f"a {what} of this programme ({', '.join(self.known[kind]) or 'none yet'})"
                    )
                    remedy = f"Add the {what} first, or say who or what {name[:40]!r} is here."
                    yield Fault(self.file, f"{record.place}, {kind}", expected, name[:40], remedy)


def _faults(programme: Programme, names: _Names, record: PhoneRecord) -> list[Fault]:
    """Say what of a record this programme can't take."""
    faults = list(names.faults(record))
    compiled = programme_library(programme).compiled
    place = f"{names.file}, {record.place}"
    for entry in record.entries:
        try:
            _check_entry(compiled, entry)
        except InputError as error:
            faults += [replace(fault, where=place) for fault in error.faults]
    if not faults:
        faults += _answer_faults(programme, place, record)
    return faults


def _check_entry(compiled: CompiledReference, entry: PhoneEntry) -> None:
    """Refuse an entry that could not have been written in the programme itself."""
    value = entry.value
    if isinstance(value, StateReport | SizeReport):
        read_colony(compiled, Colony("record", {entry.subject: value}))
    elif entry.kind == "condition":
        read_colony(compiled, Colony("record", conditions=(entry.subject,)))
    elif entry.kind == "region" and isinstance(value, str):
        read_colony(compiled, Colony("record", region=value))
    elif entry.kind == "name" and isinstance(value, str):
        check_line(value, "name")
    elif entry.kind == "note" and isinstance(value, str):
        check_notes(value, "note")


def _answer_faults(programme: Programme, place: str, record: PhoneRecord) -> list[Fault]:
    """Refuse an answer that this reference does not give; other references can't be asked."""
    determiner = programme_determiner(programme)
    faults = []
    for answer in record.answers:
        if answer.reference != determiner.compiled.hash:
            continue
        here = determiner.determine(colony_after(record, answer.upto)).verdict
        there = answer.verdict
        if replace(there, probability=0.0) != replace(here, probability=0.0) or (
            abs(there.probability - here.probability) > _SAME
        ):
            found = f"{there.name} ({there.status}, {there.probability:.3f})"
            expected = f"the answer of this reference, {here.name} ({here.status})"
            remedy = "The file was edited: take it from the phone again."
            faults.append(Fault(place, "shown", expected, found, remedy))
    return faults


def _refuse(
    unit: Unit, records: Sequence[PhoneRecord], known: Mapping[str, KnownRecord],
    command: ImportPhone,
) -> tuple[int, ...]:  # fmt: skip
    """Refuse what was imported and has changed since; return the numbers of what is known."""
    same = []
    for record in records:
        before = known.get(record.id)
        if before is None:
            continue
        whole = len(record.entries) >= before.entries
        if not whole or record.seal(before.entries) != before.seal:
            message = (
                f"{command.file}, {record.place}: what was imported of it as colony no. "
                f"{before.number} is not what the file says now. Nothing was written. "
                "Take the file from the phone again."
            )
            raise ConflictError(message)
        if len(record.entries) == before.entries:
            same.append(before.number)
        elif store.load_colony(unit.connection, before.colony).withdrawn:
            message = f"colony {before.number} was withdrawn. Undo that first."
            raise ConflictError(message)
    if same and not command.skip_known:
        numbers = ", ".join(map(str, sorted(same)))
        message = (
            f"{len(same)} of the {len(records)} records of {command.file} are imported already, "
            f"as colonies no. {numbers}. Nothing was written. Ask to leave out what is known."
        )
        raise ConflictError(message)
    return tuple(sorted(same))


class _Writer:
    """Writes records in one unit of work."""

    def __init__(
        self, programme: Programme, unit: Unit, names: _Names, rng: np.random.Generator
    ) -> None:
        self.programme, self.unit, self.names, self.rng = programme, unit, names, rng

    def write(self, record: PhoneRecord, before: KnownRecord | None = None) -> ColonyRecord:
        """Write one record, or what came to it since it was imported."""
        if before is None:
            colony = new_id(self.rng)
            store.begin_colony(self.unit.connection, self.unit.act, colony)
        else:
            colony = before.colony
        done = 0 if before is None else before.entries
        detail = {
            "phone": record.id, "entries": len(record.entries),
            "seal": record.seal(len(record.entries)), "record": dict(record.kept),
        }  # fmt: skip
        write_entry(self.unit.connection, self.unit.act, PHONE_IMPORT, detail, colony=colony)
        by_end: dict[int, list[PhoneAnswer]] = {}
        for answer in record.answers:
            by_end.setdefault(answer.upto, []).append(answer)
        for count, entry in enumerate(record.entries[done:], start=done + 1):
            value = entry.value
            if entry.kind in ("site", "observer") and isinstance(value, str):
                value = self.names.id_of(entry.kind, value)
            upto = write_colony_entry(self.unit, colony, entry.kind, entry.subject, value)
            for answer in by_end.get(count, ()):
                self._determination(colony, answer, upto)
        return store.rewrite_row(self.unit.connection, colony)

    def _determination(self, colony: str, answer: PhoneAnswer, upto: int) -> None:
        """Write an answer as the phone showed it."""
        unit, verdict = self.unit, answer.verdict
        if answer.reference == programme_library(self.programme).compiled.hash:
            about = (answer.reference, answer.version, time_text(unit.act.now))
            tables = read_reference_folder(self.programme.reference_folder)
            keep_version(unit.connection, about, tables)
        row = {
            "colony": colony, "kind": "model", "status": verdict.status,
            "genera": json.dumps(verdict.genera), "name": verdict.name,
            "probability": verdict.probability, "rank": verdict.rank, "needs": verdict.needs,
            "reason": f"Shown on a phone, {answer.at.isoformat()}.", "evidence_upto": upto,
            "reference_hash": answer.reference, "reference_version": answer.version,
            "program": "phone page", "observer_errors": "unknown",
        }  # fmt: skip
        add_row(unit.connection, unit.act, "determine", determination, row)
