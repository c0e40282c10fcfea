"""The programme: who takes part, their devices, its sites, and what was changed last."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import Response

from corallum.actions.colonies import history_of
from corallum.actions.people import (
    AddPerson,
    ChangePerson,
    RevokeDevice,
    add_person,
    change_person,
    get_person,
    list_devices,
    list_people,
    revoke_device,
)
from corallum.actions.permits import AddPermit, add_permit, list_permits
from corallum.actions.places import AddEvent, AddSite, add_event, add_site, list_events, list_sites
from corallum.actions.programme_reference import reference_version
from corallum.errors import NotAllowedError
from corallum.records.programme import EVENT_KINDS, Role
from corallum.reference.genera import REGIONS
from corallum.web.colony import read_day
from corallum.web.forms import optional_number, optional_text
from corallum.web.visit import Visit, Visited

__all__ = ["router"]

router = APIRouter()

Short = Annotated[str, Form(max_length=200)]
_HISTORY = 100


@router.get("/programme")
def programme(visit: Visited) -> Response:
    """Show the programme."""
    return _show(visit, code="", code_for="")


def _show(visit: Visit, code: str, code_for: str) -> Response:
    """Show the programme, with a code to read out if one was made."""
    people = list_people(visit.programme)
    return visit.page(
        "programme.html",
        people=people,
        names={person.id: person.name for person in people},
        devices=list_devices(visit.programme),
        sites=list_sites(visit.programme),
        events=list_events(visit.programme)[-30:][::-1],
        kinds=EVENT_KINDS,
        regions=REGIONS,
        roles=tuple(Role),
        permits=list_permits(visit.programme),
        today=visit.now.date(),
        version=reference_version(visit.programme),
        network=visit.request.app.state.network,
        code=code,
        code_for=code_for,
    )


@router.get("/programme/history")
def history(visit: Visited, page: Annotated[str, Query(max_length=20)] = "1") -> Response:
    """Show who changed what, newest first."""
    number = int(optional_number(page, "page") or 1)
    return visit.page(
        "history.html",
        entries=history_of(visit.programme, number, _HISTORY),
        page=number,
        size=_HISTORY,
        names={person.id: person.name for person in list_people(visit.programme)},
    )


@router.post("/programme/people")
def new_person(
    visit: Visited, name: Short = "", role: Short = "observer", errors: Short = "unknown"
) -> Response:
    """Add somebody."""
    visit.do(add_person, AddPerson(name, role, errors))
    return visit.go("/programme#people")


@router.post("/programme/people/{person}")
def person(
    visit: Visited,
    person: str,
    name: Short = "",
    role: Short = "",
    errors: Short = "",
    active: Short = "",
) -> Response:
    """Change somebody's name, role or whose errors to assume; or let them leave."""
    command = ChangePerson(
        person,
        role=optional_text(role),
        errors=optional_text(errors),
        active={"yes": True, "no": False}.get(active),
        name=optional_text(name),
    )
    visit.do(change_person, command)
    return visit.go("/programme#people")


@router.post("/programme/pair")
def make_code(visit: Visited, person: Short = "", device: Short = "") -> Response:
    """Make a code that pairs one device with one person."""
    if not visit.may("lead"):
        raise NotAllowedError(visit.person.role, "pair devices", Role.LEAD)
    whom = get_person(visit.programme, person)
    code = visit.request.app.state.codes.make(
        whom.id, device.strip() or f"Device of {whom.name}", visit.person.id
    )
    return _show(visit, code=code, code_for=whom.name)


@router.post("/programme/devices/{device}/take-back")
def take_back(visit: Visited, device: str) -> Response:
    """Take a device's key back."""
    visit.do(revoke_device, RevokeDevice(device))
    return visit.go("/programme#devices")


@router.post("/programme/sites")
def new_site(
    visit: Visited,
    name: Short = "",
    region: Short = "",
    latitude: Short = "",
    longitude: Short = "",
    note: Short = "",
) -> Response:
    """Add a site."""
    command = AddSite(
        name, region, optional_number(latitude, "latitude"),
        optional_number(longitude, "longitude"), note,
    )  # fmt: skip
    visit.do(add_site, command)
    return visit.go("/programme#sites")


@router.post("/programme/permits")
def new_permit(
    visit: Visited,
    permit_number: Short = "",
    holder: Short = "",
    expires: Short = "",
    covers: Annotated[str, Form(max_length=4000)] = "",
    note: Annotated[str, Form(max_length=4000)] = "",
) -> Response:
    """Add a permit under which samples may be taken."""
    command = AddPermit(permit_number, holder, read_day(expires), covers, note)
    visit.do(add_permit, command)
    return visit.go("/programme#permits")


@router.post("/programme/events")
def new_event(
    visit: Visited,
    kind: Short = "visit",
    name: Short = "",
    parent: Short = "",
    site: Short = "",
    date: Short = "",
) -> Response:
    """Add a survey, a visit, a transect or what lies on one."""
    command = AddEvent(
        kind, name, parent=optional_text(parent), site=optional_text(site), date=read_day(date)
    )
    visit.do(add_event, command)
    return visit.go("/programme#sites")
