"""Where and when colonies are looked at: sites, and surveys down to the quadrat."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np

from corallum.actions.unit_of_work import (
    Unit,
    check_choice,
    check_id,
    check_line,
    check_notes,
    check_share,
    new_id,
    unit_of_work,
)
from corallum.errors import ConflictError, Fault, InputError
from corallum.records.programme import EVENT_KINDS, Event, Role, Site
from corallum.reference.genera import REGIONS
from corallum.store import people as store
from corallum.store import schema
from corallum.store.programme import Programme

__all__ = [
    "AddEvent",
    "AddSite",
    "add_event",
    "add_site",
    "get_event",
    "get_site",
    "list_events",
    "list_sites",
]

# What an event may be a part of; None is nothing.
_PARENTS: dict[str, tuple[str | None, ...]] = {
    "survey": (None,),
    "visit": ("survey", None),
    "transect": ("visit",),
    "quadrat": ("transect", "visit"),
    "frame": ("transect", "visit"),
}


@dataclass(frozen=True, slots=True)
class AddSite:
    """A new site; degrees north and east."""

    name: str
    region: str
    latitude: float | None = None
    longitude: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class AddEvent:
    """A new survey, visit, transect, quadrat or frame."""

    kind: str
    name: str
    parent: str | None = None
    site: str | None = None
    date: dt.date | None = None
    note: str = ""


def add_site(
    programme: Programme, command: AddSite, now: dt.datetime, rng: np.random.Generator, person: str
) -> Site:
    """Add a site.

    Raises
    ------
    ConflictError
        Where a site has that name already.
    """
    with unit_of_work(programme, person, now, Role.OBSERVER, "add sites") as unit:
        name = check_line(command.name, "name")
        if any(one.name.casefold() == name.casefold() for one in store.all_sites(unit.connection)):
            raise ConflictError(f"there is a site {name!r} already. Choose another name.")
        row = {
            "id": new_id(rng),
            "name": name,
            "region": check_choice(command.region, "region", REGIONS),
            "latitude": check_share(command.latitude, "latitude", -90, 90),
            "longitude": check_share(command.longitude, "longitude", -180, 180),
            "note": check_notes(command.note, "note", empty=True),
        }
        store.insert_keyed(unit.connection, unit.act, "add site", schema.site, row)
        return store.site_of(unit.connection, str(row["id"]))


def add_event(
    programme: Programme,
    command: AddEvent,
    now: dt.datetime,
    rng: np.random.Generator,
    person: str,
) -> Event:
    """Add an event; one within a visit is at the visit's site.

    Raises
    ------
    InputError
        Where it can't be a part of what it is said to be, or a visit has no site.
    """
    with unit_of_work(programme, person, now, Role.OBSERVER, "add events") as unit:
        kind = check_choice(command.kind, "kind", EVENT_KINDS)
        parent = _parent(unit, command)
        site = command.site
        if site is not None:
            store.site_of(unit.connection, check_id(site, "site"))
        if parent is not None and kind != "visit":
            site = parent.site
        if kind == "visit" and site is None:
            raise InputError([Fault("visit", "site", "a site", "none", "Choose one.")])
        day = command.date or (parent.date if parent is not None else None)
        row = {
            "id": new_id(rng),
            "kind": kind,
            "parent": None if parent is None else parent.id,
            "site": None if kind == "survey" else site,
            "name": check_line(command.name, "name"),
            "date": None if day is None else day.isoformat(),
            "note": check_notes(command.note, "note", empty=True),
        }
        store.insert_keyed(unit.connection, unit.act, "add event", schema.event, row)
        return store.event_of(unit.connection, str(row["id"]))


def _parent(unit: Unit, command: AddEvent) -> Event | None:
    """Return what an event is a part of, if it may be."""
    allowed = _PARENTS[command.kind]
    parent = None
    if command.parent is not None:
        parent = store.event_of(unit.connection, check_id(command.parent, "event"))
    if (parent.kind if parent is not None else None) not in allowed:
        expected = " or ".join(f"a {kind}" if kind else "nothing" for kind in allowed)
        found = f"a {parent.kind}" if parent is not None else "nothing"
        fault = Fault(command.kind, "part of", expected, found, "Choose another.")
        raise InputError([fault])
    return parent


def list_sites(programme: Programme) -> tuple[Site, ...]:
    """Return all sites by name."""
    with programme.read() as connection:
        return store.all_sites(connection)


def get_site(programme: Programme, id_: str) -> Site:
    """Return one site."""
    check_id(id_, "site")
    with programme.read() as connection:
        return store.site_of(connection, id_)


def list_events(
    programme: Programme, kind: str | None = None, parent: str | None = None
) -> tuple[Event, ...]:
    """Return events, the newest first; of one kind, or the parts of one."""
    if kind is not None:
        check_choice(kind, "kind", EVENT_KINDS)
    if parent is not None:
        check_id(parent, "event")
    with programme.read() as connection:
        return store.all_events(connection, kind, parent)


def get_event(programme: Programme, id_: str) -> Event:
    """Return one event."""
    check_id(id_, "event")
    with programme.read() as connection:
        return store.event_of(connection, id_)
