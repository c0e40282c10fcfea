"""Permits under which samples may be taken: their number, holder and expiry."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np

from corallum.actions.unit_of_work import check_line, check_notes, new_id, unit_of_work
from corallum.errors import ConflictError, Fault, InputError
from corallum.records.programme import Role
from corallum.records.survey import Permit
from corallum.store import schema, surveys
from corallum.store.database import Connection
from corallum.store.people import insert_keyed
from corallum.store.programme import Programme

__all__ = ["AddPermit", "add_permit", "list_permits", "require_permit"]


@dataclass(frozen=True, slots=True)
class AddPermit:
    """A permit: what it covers in words, such as genera and numbers."""

    number: str
    holder: str
    expires_on: dt.date | None
    covers: str = ""
    note: str = ""


def add_permit(
    programme: Programme,
    command: AddPermit,
    now: dt.datetime,
    rng: np.random.Generator,
    person: str,
) -> Permit:
    """Add a permit.

    Raises
    ------
    ConflictError
        Where one of that number is there already.
    InputError
        Where its number, holder or expiry is missing.
    """
    with unit_of_work(programme, person, now, Role.LEAD, "add permits") as unit:
        number = check_line(command.number, "permit number")
        holder = check_line(command.holder, "holder")
        if command.expires_on is None:
            remedy = "Write the last day on which it is good."
            raise InputError([Fault("permit", "expires on", "a date", "none", remedy)])
        if any(one.number == number for one in surveys.all_permits(unit.connection)):
            raise ConflictError(f"there is a permit {number!r} already.")
        row = {
            "id": new_id(rng), "number": number, "holder": holder,
            "expires_on": command.expires_on.isoformat(),
            "covers": check_notes(command.covers, "covers", empty=True),
            "note": check_notes(command.note, "note", empty=True),
        }  # fmt: skip
        insert_keyed(unit.connection, unit.act, "add permit", schema.permit, row)
        return next(one for one in surveys.all_permits(unit.connection) if one.number == number)


def list_permits(programme: Programme) -> tuple[Permit, ...]:
    """Return permits by number."""
    with programme.read() as connection:
        return surveys.all_permits(connection)


def require_permit(connection: Connection, number: str, day: dt.date) -> Permit:
    """Return the permit of a number that is good on a day.

    Raises
    ------
    InputError
        Where there is none, or it has expired: no voucher without one.
    """
    found = [one for one in surveys.all_permits(connection) if one.number == number.strip()]
    if not found:
        known = ", ".join(one.number for one in surveys.all_permits(connection)) or "none yet"
        remedy = "Add the permit first, with its holder and expiry; no sample without one."
        expected = f"the number of a permit of this programme ({known})"
        raise InputError([Fault("voucher", "permit", expected, repr(number)[:60], remedy)])
    if found[0].expires_on < day:
        remedy = "Take no sample; have it renewed, and add the new one."
        expected = f"a permit that is good on {day}"
        said = f"one that expired on {found[0].expires_on}"
        raise InputError([Fault("voucher", "permit", expected, said, remedy)])
    return found[0]
