"""The colony page: what was seen in one column, what it is in the other."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import Response

from corallum.actions.colonies import (
    AddEvidence,
    RemoveEvidence,
    StartColony,
    Undo,
    add_evidence,
    get_colony,
    remove_evidence,
    start_colony,
    undo,
)
from corallum.actions.places import list_events, list_sites
from corallum.actions.programme_reference import programme_library
from corallum.errors import Fault, InputError
from corallum.records.colony_record import ColonyRecord
from corallum.web.characters import character_of
from corallum.web.colony_view import colony_context, look_context
from corallum.web.forms import optional_number, optional_text
from corallum.web.visit import Visit, Visited

__all__ = ["router", "show_colony"]

router = APIRouter()

Text = Annotated[str, Form(max_length=4000)]
Short = Annotated[str, Form(max_length=200)]


def show_colony(visit: Visit, record: ColonyRecord, said: str = "") -> Response:
    """Show a colony after something changed: the part that changes, or the page."""
    if not visit.partial:
        return visit.go(f"/colonies/{record.id}")
    return visit.page("colony_work.html", said=said, **colony_context(visit, record))


@router.get("/colonies/new")
def ask_start(visit: Visited) -> Response:
    """Ask where and when, before a record is started."""
    return visit.page(
        "colony_new.html",
        sites=list_sites(visit.programme),
        events=list_events(visit.programme)[-50:][::-1],
        today=visit.now.date(),
    )


@router.post("/colonies")
def start(
    visit: Visited, name: Short = "", site: Short = "", event: Short = "", seen_on: Short = ""
) -> Response:
    """Start a record and go to it."""
    command = StartColony(
        name=name,
        site=optional_text(site),
        event=optional_text(event),
        seen_on=read_day(seen_on),
    )
    return visit.go(f"/colonies/{visit.do(start_colony, command).id}")


def read_day(text: str) -> date | None:
    """Read a day from a form."""
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        fault = Fault("day", "", "a day such as 2026-03-14", repr(text[:40]), "Write it so.")
        raise InputError([fault]) from error


@router.get("/colonies/{colony}")
def show(visit: Visited, colony: str) -> Response:
    """Show one colony."""
    return visit.page(
        "colony.html", said="", **colony_context(visit, get_colony(visit.programme, colony))
    )


@router.get("/colonies/{colony}/look/{character}")
def look(
    visit: Visited, colony: str, character: str, several: Annotated[str, Query()] = ""
) -> Response:
    """Open one character: its states as buttons, or its size."""
    del several  # read with the rest of the chooser
    record = get_colony(visit.programme, colony)
    shown = character_of(programme_library(visit.programme), character)
    asked = look_context(visit, record, shown)
    if visit.partial:
        return visit.page("look.html", **asked)
    return visit.page("colony.html", said="", **{**colony_context(visit, record), **asked})


@router.post("/colonies/{colony}/states")
def report_states(
    visit: Visited,
    colony: str,
    character: Short,
    state: Annotated[list[str], Form(max_length=40)] = [],  # noqa: B006  copied by the framework
    unsure: Short = "",
) -> Response:
    """Report a state, or the states that can't be told apart."""
    states = list(dict.fromkeys(state))
    value = {"state": states[0] if len(states) == 1 else states, "sure": not unsure}
    if not states:
        fault = Fault(character, "", "a state", "none", "Tap one, or go back.")
        raise InputError([fault])
    record = visit.do(add_evidence, AddEvidence(colony, "report", character, value))
    return show_colony(visit, record)


@router.post("/colonies/{colony}/size")
def report_size(  # noqa: PLR0913, PLR0917  one for each field
    visit: Visited,
    colony: str,
    character: Short,
    value: Short = "",
    n: Short = "1",
    method: Short = "eye",
    unsure: Short = "",
) -> Response:
    """Report a size or a count."""
    size = optional_number(value, character)
    count = optional_number(n, "how many")
    count = 1 if count is None else count
    if size is None:
        fault = Fault(character, "", "a number", "nothing", "Write it, or go back.")
        raise InputError([fault])
    whole = int(count) if count == int(count) else count
    report = {"value": size, "n": whole, "method": method, "sure": not unsure}
    record = visit.do(add_evidence, AddEvidence(colony, "report", character, report))
    return show_colony(visit, record)


@router.post("/colonies/{colony}/setting")
def set_setting(
    visit: Visited, colony: str, kind: Short, value: Short = "", subject: Short = ""
) -> Response:
    """Say a condition, the region or the observer, or take it back."""
    if kind == "condition":
        known = get_colony(visit.programme, colony).conditions
        change = AddEvidence(colony, kind, subject, value=subject not in known)
        return show_colony(visit, visit.do(add_evidence, change))
    if not value:
        return show_colony(visit, visit.do(remove_evidence, RemoveEvidence(colony, kind, "")))
    return show_colony(visit, visit.do(add_evidence, AddEvidence(colony, kind, "", value)))


@router.post("/colonies/{colony}/sure")
def set_sure(visit: Visited, colony: str, character: Short) -> Response:
    """Turn a report from sure to unsure, or back."""
    entry = get_colony(visit.programme, colony).reports.get(character)
    report = entry.report if entry else None
    if report is None or isinstance(report, str | bool):
        fault = Fault(character, "", "a report", "none", "Report it first.")
        raise InputError([fault])
    turned = replace(report, sure=not report.sure)
    return show_colony(
        visit, visit.do(add_evidence, AddEvidence(colony, "report", character, turned))
    )


@router.post("/colonies/{colony}/take-back")
def take_back(visit: Visited, colony: str, character: Short) -> Response:
    """Take a report back: it was not looked at after all."""
    return show_colony(
        visit, visit.do(remove_evidence, RemoveEvidence(colony, "report", character))
    )


@router.post("/colonies/{colony}/undo")
def undo_last(visit: Visited, colony: str, entry: Short = "") -> Response:
    """Undo the newest change of one's own, or a named one."""
    number = optional_number(entry, "entry")
    return show_colony(visit, visit.do(undo, Undo(colony, None if number is None else int(number))))
