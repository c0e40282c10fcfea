"""The record of a colony: start it, add evidence in any order, take back, undo, list."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

import numpy as np

from corallum.actions.colony_changes import change_colony, write_colony_entry
from corallum.actions.colony_lists import ColonyFilter, get_colony, history_of, list_colonies
from corallum.actions.programme_reference import check_report, programme_library
from corallum.actions.unit_of_work import (
    Unit,
    check_choice,
    check_id,
    check_line,
    check_notes,
    check_number,
    new_id,
    unit_of_work,
)
from corallum.errors import ConflictError, Fault, InputError, NotAllowedError, NotFoundError
from corallum.records.colony import Report
from corallum.records.colony_record import ColonyRecord, HistoryEntry
from corallum.records.programme import Role
from corallum.reference.genera import REGIONS
from corallum.store import colonies as store
from corallum.store import people
from corallum.store.history import write_entry
from corallum.store.programme import Programme

__all__ = [
    "AddEvidence",
    "AddNote",
    "ColonyFilter",
    "NameColony",
    "PlaceColony",
    "RemoveEvidence",
    "StartColony",
    "Undo",
    "add_evidence",
    "add_note",
    "get_colony",
    "history_of",
    "list_colonies",
    "name_colony",
    "place_colony",
    "remove_evidence",
    "start_colony",
    "undo",
]

_EVIDENCE = ("report", "condition", "region", "observer")


@dataclass(frozen=True, slots=True)
class StartColony:
    """A new colony; what is None is taken from the event, the site or who acts."""

    name: str = ""
    site: str | None = None
    event: str | None = None
    region: str | None = None
    observer: str | None = None
    seen_on: date | None = None


@dataclass(frozen=True, slots=True)
class AddEvidence:
    """One thing that was seen, measured or said of a colony.

    Parameters
    ----------
    colony : str
        Id of the colony.
    kind : str
        report, condition, region or observer.
    subject : str
        Character, view or condition; empty for a region or an observer.
    value : object
        As a colony file may hold it, or a report; True or False for a condition.
    measurement : int or None
        The measurement on a photo that it rests on.
    """

    colony: str
    kind: str
    subject: str
    value: object
    measurement: int | None = None


@dataclass(frozen=True, slots=True)
class RemoveEvidence:
    """Evidence to take back: it was not looked at after all."""

    colony: str
    kind: str
    subject: str


@dataclass(frozen=True, slots=True)
class NameColony:
    """A name for a colony; empty takes it away."""

    colony: str
    name: str


@dataclass(frozen=True, slots=True)
class AddNote:
    """A note on a colony."""

    colony: str
    text: str


@dataclass(frozen=True, slots=True)
class PlaceColony:
    """Where and when a colony was seen; what is None stays."""

    colony: str
    site: str | None = None
    event: str | None = None
    seen_on: date | None = None


@dataclass(frozen=True, slots=True)
class Undo:
    """An entry to undo; None is the newest in effect by who acts."""

    colony: str
    entry: int | None = None


def start_colony(
    programme: Programme,
    command: StartColony,
    now: datetime,
    rng: np.random.Generator,
    person: str,
) -> ColonyRecord:
    """Start the record of a colony.

    Raises
    ------
    NotFoundError
        Where the site, event or observer is not there.
    """
    id_ = new_id(rng)
    with unit_of_work(programme, person, now, Role.OBSERVER, "start colonies") as unit:
        site, event, day = _place(unit, command.site, command.event, command.seen_on)
        region = command.region
        if region is not None:
            check_choice(region, "region", REGIONS)
        elif site is not None:
            region = people.site_of(unit.connection, site).region
        elif len(programme.settings.regions) == 1:
            region = programme.settings.regions[0]
        observer = command.observer or person
        people.person_of(unit.connection, check_id(observer, "person"))
        name = check_line(command.name, "name", empty=True)
        first = {"site": site, "event": event, "region": region, "observer": observer,
                 "name": name, "seen_on": (day or now.date()).isoformat()}  # fmt: skip
        store.begin_colony(unit.connection, unit.act, id_)
        for kind, value in first.items():
            if value:
                write_colony_entry(unit, id_, kind, "", value, verb="start")
        return store.rewrite_row(unit.connection, id_)


def _place(
    unit: Unit, site: str | None, event: str | None, day: date | None
) -> tuple[str | None, str | None, date | None]:
    """Check a place and fill it up from the event."""
    if event is not None:
        found = people.event_of(unit.connection, check_id(event, "event"))
        site, day = site or found.site, day or found.date
    if site is not None:
        people.site_of(unit.connection, check_id(site, "site"))
    return site, event, day


def add_evidence(
    programme: Programme,
    command: AddEvidence,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> ColonyRecord:
    """Add one piece of evidence; an older one on the same subject is kept, but no longer counts.

    Raises
    ------
    InputError
        Where the reference does not know the character, state, condition or region, or a
        size is not plausible.
    """

    def change(unit: Unit, record: ColonyRecord) -> None:
        subject, report = _evidence(programme, unit, command)
        _check_measurement(record, command)
        write_colony_entry(
            unit, record.id, command.kind, subject, report, measurement=command.measurement
        )

    return change_colony(programme, command.colony, (now, person), "add evidence", change)


def _evidence(
    programme: Programme, unit: Unit, command: AddEvidence
) -> tuple[str, Report | str | bool]:
    """Check evidence and return its subject and what is kept."""
    kind = check_choice(command.kind, "kind of evidence", _EVIDENCE)
    value = command.value
    if kind == "report":
        return command.subject, check_report(programme, command.subject, value)
    if kind == "condition":
        compiled = programme_library(programme).compiled
        known = (*compiled.conditions, *compiled.hidden)
        subject = check_choice(command.subject, "condition", known)
        if not isinstance(value, bool):
            fault = Fault(subject, "", "true or false", repr(value)[:40], "Use one of these words.")
            raise InputError([fault])
        return subject, value
    if kind == "region":
        return "", check_choice(str(value), "region", REGIONS)
    return "", people.person_of(unit.connection, check_id(str(value), "person")).id


def _check_measurement(record: ColonyRecord, command: AddEvidence) -> None:
    """Refuse a measurement that is not one of this colony."""
    wanted = command.measurement
    if wanted is not None and wanted not in {item.history for item in record.measurements}:
        raise NotFoundError("measurement", wanted)


def remove_evidence(
    programme: Programme,
    command: RemoveEvidence,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> ColonyRecord:
    """Take evidence back: it counts as not looked at; what was written is kept.

    Raises
    ------
    ConflictError
        Where nothing stands there to take back.
    """
    check_choice(command.kind, "kind of evidence", _EVIDENCE)

    def change(unit: Unit, record: ColonyRecord) -> None:
        standing = {
            "report": command.subject in record.reports,
            "condition": command.subject in record.conditions,
            "region": record.region is not None,
            "observer": record.observer is not None,
        }[command.kind]
        subject = command.subject if command.kind in ("report", "condition") else ""
        if not standing:
            message = f"nothing is reported on {subject or command.kind} to take back. Look again."
            raise ConflictError(message)
        write_colony_entry(unit, record.id, command.kind, subject, None)

    return change_colony(programme, command.colony, (now, person), "take evidence back", change)


def name_colony(
    programme: Programme,
    command: NameColony,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> ColonyRecord:
    """Give a colony a name."""
    name = check_line(command.name, "name", empty=True)

    def change(unit: Unit, record: ColonyRecord) -> None:
        write_colony_entry(unit, record.id, "name", "", name or None)

    return change_colony(programme, command.colony, (now, person), "name colonies", change)


def add_note(
    programme: Programme,
    command: AddNote,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> ColonyRecord:
    """Add a note to a colony."""
    text = check_notes(command.text, "note")

    def change(unit: Unit, record: ColonyRecord) -> None:
        write_colony_entry(unit, record.id, "note", "", text)

    return change_colony(programme, command.colony, (now, person), "add notes", change)


def place_colony(
    programme: Programme,
    command: PlaceColony,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> ColonyRecord:
    """Say where and when a colony was seen; the region follows the site."""

    def change(unit: Unit, record: ColonyRecord) -> None:
        site, event, day = _place(unit, command.site, command.event, command.seen_on)
        new = {"site": site, "event": event, "seen_on": day.isoformat() if day else None}
        if site is not None:
            new["region"] = people.site_of(unit.connection, site).region
        old = {"site": record.site, "event": record.event, "region": record.region,
               "seen_on": record.seen_on.isoformat()}  # fmt: skip
        for kind, value in new.items():
            if value is not None and value != old[kind]:
                write_colony_entry(unit, record.id, kind, "", value)

    return change_colony(programme, command.colony, (now, person), "place colonies", change)


def undo(
    programme: Programme,
    command: Undo,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> ColonyRecord:
    """Undo one entry of a colony's history, by a new entry that names it.

    To undo an undo brings back what it took. Observers undo their own entries, leads
    any. To undo the start withdraws the colony.

    Raises
    ------
    ConflictError
        Where it is undone already, or there is nothing to undo.
    NotAllowedError
        Where an observer would undo what somebody else did.
    """
    check_id(command.colony, "colony")
    with unit_of_work(programme, person, now, Role.OBSERVER, "undo") as unit:
        record = store.load_colony(unit.connection, command.colony)
        target = _target(record, command.entry, person)
        if target.person != person and unit.person.role is not Role.LEAD:
            raise NotAllowedError(unit.person.role, "undo what somebody else did", Role.LEAD)
        detail = {"undoes": target.verb}
        write_entry(unit.connection, unit.act, "undo", detail, colony=record.id, undoes=target.id)
        return store.rewrite_row(unit.connection, record.id)


def _target(record: ColonyRecord, wanted: int | None, person: str) -> HistoryEntry:
    """Return the entry to undo."""
    if wanted is not None:
        check_number(wanted, "entry")
        found = next((entry for entry in record.history if entry.id == wanted), None)
        if found is None:
            raise NotFoundError("entry", wanted)
        if found.id not in record.in_effect:
            raise ConflictError(f"entry {wanted} is undone already. Look again.")
        return found
    for entry in reversed(record.history):
        own = entry.person == person and entry.verb not in ("start", "undo")
        if own and entry.id in record.in_effect:
            return entry
    raise ConflictError("there is nothing of yours to undo here.")
