"""Rows that are known by an id: people, devices, sites and events.

Their fields may be set anew; the history keeps every setting.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

import sqlalchemy as sa

from corallum.errors import NotFoundError
from corallum.records.programme import Device, Event, Person, Role, Site
from corallum.store import schema
from corallum.store.history import Act, time_of, write_entry

__all__ = [
    "all_devices",
    "all_events",
    "all_people",
    "all_sites",
    "change_keyed",
    "device_of_token",
    "event_of",
    "insert_keyed",
    "person_of",
    "site_of",
]


def insert_keyed(
    connection: sa.Connection,
    act: Act,
    verb: str,
    table: sa.Table,
    row: Mapping[str, object],
) -> int:
    """Write a new row and its entry."""
    connection.execute(table.insert(), dict(row))
    return write_entry(connection, act, verb, {"table": table.name, "row": dict(row)})


def change_keyed(
    connection: sa.Connection,
    act: Act,
    verb: str,
    table: sa.Table,
    row: Mapping[str, object],
) -> int:
    """Set some fields of the row of the same id anew, and write the entry."""
    values = {name: value for name, value in row.items() if name != "id"}
    connection.execute(table.update().where(table.c.id == row["id"]).values(**values))
    return write_entry(connection, act, verb, {"table": table.name, "row": dict(row)})


def _one(connection: sa.Connection, table: sa.Table, id_: str) -> sa.Row[Any]:
    """Return the row of an id, or say that there is none."""
    row = connection.execute(sa.select(table).where(table.c.id == id_)).first()
    if row is None:
        raise NotFoundError(table.name, id_)
    return row


def _person(row: sa.Row[Any]) -> Person:
    """Turn a row into a person."""
    return Person(row.id, row.name, Role(row.role), row.errors, row.active, time_of(row.added_at))


def person_of(connection: sa.Connection, id_: str) -> Person:
    """Return one person."""
    return _person(_one(connection, schema.person, id_))


def all_people(connection: sa.Connection) -> tuple[Person, ...]:
    """Return all people, those added first first."""
    found = sa.select(schema.person).order_by(schema.person.c.added_at, schema.person.c.id)
    return tuple(map(_person, connection.execute(found)))


def _site(row: sa.Row[Any]) -> Site:
    """Turn a row into a site."""
    return Site(row.id, row.name, row.region, row.latitude, row.longitude, row.note)


def site_of(connection: sa.Connection, id_: str) -> Site:
    """Return one site."""
    return _site(_one(connection, schema.site, id_))


def all_sites(connection: sa.Connection) -> tuple[Site, ...]:
    """Return all sites by name."""
    found = sa.select(schema.site).order_by(schema.site.c.name, schema.site.c.id)
    return tuple(map(_site, connection.execute(found)))


def _event(row: sa.Row[Any]) -> Event:
    """Turn a row into an event."""
    day = date.fromisoformat(row.date) if row.date else None
    return Event(row.id, row.kind, row.parent, row.site, row.name, day, row.note)


def event_of(connection: sa.Connection, id_: str) -> Event:
    """Return one event."""
    return _event(_one(connection, schema.event, id_))


def all_events(
    connection: sa.Connection, kind: str | None, parent: str | None
) -> tuple[Event, ...]:
    """Return events, the newest first."""
    table = schema.event.c
    found = sa.select(schema.event).order_by(table.date.desc(), table.name, table.id)
    if kind is not None:
        found = found.where(table.kind == kind)
    if parent is not None:
        found = found.where(table.parent == parent)
    return tuple(map(_event, connection.execute(found)))


def _device(row: sa.Row[Any]) -> Device:
    """Turn a row into a device."""
    return Device(row.id, row.person, row.name, time_of(row.paired_at), row.revoked)


def all_devices(connection: sa.Connection) -> tuple[Device, ...]:
    """Return all devices, those paired last first."""
    found = sa.select(schema.device).order_by(schema.device.c.paired_at.desc())
    return tuple(map(_device, connection.execute(found)))


def device_of_token(connection: sa.Connection, token_hash: str) -> Device | None:
    """Return the device with a token, if there is one."""
    found = sa.select(schema.device).where(schema.device.c.token_hash == token_hash)
    row = connection.execute(found).first()
    return None if row is None else _device(row)
