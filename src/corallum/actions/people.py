"""Who works in a programme, in which role, and on which devices."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from corallum.actions.unit_of_work import (
    Unit,
    check_choice,
    check_id,
    check_line,
    new_id,
    unit_of_work,
)
from corallum.errors import ConflictError, NotFoundError
from corallum.records.programme import Device, Person, Role
from corallum.store import people as store
from corallum.store import schema
from corallum.store.history import time_text
from corallum.store.programme import Programme

__all__ = [
    "ERRORS",
    "AddPerson",
    "ChangePerson",
    "PairDevice",
    "RevokeDevice",
    "add_person",
    "change_person",
    "get_person",
    "list_devices",
    "list_people",
    "pair_device",
    "person_of_token",
    "revoke_device",
]

# Whose errors to assume for what a person reports.
ERRORS = ("unknown", "trained", "new")
_ROLES = tuple(map(str, Role))


@dataclass(frozen=True, slots=True)
class AddPerson:
    """A new person."""

    name: str
    role: str
    errors: str = "unknown"


@dataclass(frozen=True, slots=True)
class ChangePerson:
    """What to set anew; None leaves it."""

    person: str
    role: str | None = None
    errors: str | None = None
    active: bool | None = None
    name: str | None = None


@dataclass(frozen=True, slots=True)
class PairDevice:
    """A device that shall act for a person."""

    person: str
    name: str


@dataclass(frozen=True, slots=True)
class RevokeDevice:
    """A device that shall act for nobody any more."""

    device: str


def add_person(
    programme: Programme, command: AddPerson, now: datetime, rng: np.random.Generator, person: str
) -> Person:
    """Add a person (a lead's work)."""
    with unit_of_work(programme, person, now, Role.LEAD, "add people") as unit:
        row = {
            "id": new_id(rng),
            "name": check_line(command.name, "name"),
            "role": check_choice(str(command.role), "role", _ROLES),
            "errors": check_choice(command.errors, "errors", ERRORS),
            "active": True,
            "added_at": time_text(now),
        }
        _refuse_same_name(unit, str(row["name"]), "")
        store.insert_keyed(unit.connection, unit.act, "add person", schema.person, row)
        return store.person_of(unit.connection, str(row["id"]))


def change_person(
    programme: Programme,
    command: ChangePerson,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> Person:
    """Change a person's name, role, errors, or whether they are active (a lead's work).

    Raises
    ------
    ConflictError
        Where no active lead would be left, or the name is taken.
    """
    check_id(command.person, "person")
    with unit_of_work(programme, person, now, Role.LEAD, "change people") as unit:
        old = store.person_of(unit.connection, command.person)
        row: dict[str, object] = {"id": old.id}
        if command.name is not None:
            row["name"] = check_line(command.name, "name")
            _refuse_same_name(unit, str(row["name"]), old.id)
        if command.role is not None:
            row["role"] = check_choice(str(command.role), "role", _ROLES)
        if command.errors is not None:
            # What is set already may stay: a person's own errors are set by their answers.
            row["errors"] = check_choice(command.errors, "errors", (*ERRORS, old.errors))
        if command.active is not None:
            row["active"] = bool(command.active)
        if len(row) > 1:
            verb = "change person"
            store.change_keyed(unit.connection, unit.act, verb, schema.person, row)
        everybody = store.all_people(unit.connection)
        if not any(one.active and one.role is Role.LEAD for one in everybody):
            message = f"{old.name} is the last lead. Make another person a lead first."
            raise ConflictError(message)
        return store.person_of(unit.connection, old.id)


def _refuse_same_name(unit: Unit, name: str, id_: str) -> None:
    """Refuse a name that somebody else has: nobody could tell them apart."""
    for one in store.all_people(unit.connection):
        if one.id != id_ and one.name.casefold() == name.casefold():
            raise ConflictError(f"there is a person {one.name!r} already. Choose another name.")


def list_people(programme: Programme) -> tuple[Person, ...]:
    """Return all people, those added first first."""
    with programme.read() as connection:
        return store.all_people(connection)


def get_person(programme: Programme, id_: str) -> Person:
    """Return one person."""
    check_id(id_, "person")
    with programme.read() as connection:
        return store.person_of(connection, id_)


def pair_device(
    programme: Programme,
    command: PairDevice,
    now: datetime,
    rng: np.random.Generator,
    person: str,
) -> str:
    """Let a device act for a person (a lead's work), and return its secret.

    The secret is shown once and kept only as a hash. It does not come from ``rng``,
    which could be foreseen.
    """
    check_id(command.person, "person")
    token = secrets.token_urlsafe(32)
    with unit_of_work(programme, person, now, Role.LEAD, "pair devices") as unit:
        owner = store.person_of(unit.connection, command.person)
        row = {
            "id": new_id(rng),
            "person": owner.id,
            "name": check_line(command.name, "name of the device"),
            "token_hash": _token_hash(token),
            "paired_at": time_text(now),
            "revoked": False,
        }
        store.insert_keyed(unit.connection, unit.act, "pair device", schema.device, row)
    return token


def revoke_device(
    programme: Programme,
    command: RevokeDevice,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> Device:
    """Let a device act for nobody any more (a lead's work)."""
    check_id(command.device, "device")
    with unit_of_work(programme, person, now, Role.LEAD, "revoke devices") as unit:
        row = {"id": command.device, "revoked": True}
        found = [d for d in store.all_devices(unit.connection) if d.id == command.device]
        if not found:
            raise NotFoundError("device", command.device)
        store.change_keyed(unit.connection, unit.act, "revoke device", schema.device, row)
        return next(d for d in store.all_devices(unit.connection) if d.id == command.device)


def list_devices(programme: Programme) -> tuple[Device, ...]:
    """Return all devices, those paired last first."""
    with programme.read() as connection:
        return store.all_devices(connection)


def person_of_token(programme: Programme, token: str) -> Person | None:
    """Return the active person for whom a device acts, by its secret; else None."""
    if not token.isascii():
        return None
    with programme.read() as connection:
        device = store.device_of_token(connection, _token_hash(token))
        if device is None or device.revoked:
            return None
        person = store.person_of(connection, device.person)
        return person if person.active else None


def _token_hash(token: str) -> str:
    """Return the hash under which a secret is kept."""
    return hashlib.sha256(token.encode()).hexdigest()
