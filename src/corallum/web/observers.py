"""Observers: what each one misjudges and mixes up, and how far readers agree."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import Response

from corallum.actions.observer_errors import (
    UseOwnErrors,
    learn_observers,
    use_own_errors,
)
from corallum.actions.observer_progress import abilities, progress_of
from corallum.actions.people import ChangePerson, change_person, get_person, list_people
from corallum.actions.practice_needs import rank_needs
from corallum.actions.qualifications import repeats_of, survey_rights
from corallum.actions.reading_consensus import report_readings
from corallum.errors import NotAllowedError
from corallum.model.prior import genus_prior
from corallum.records.programme import Role
from corallum.web.visit import Visit, Visited

__all__ = ["check_may_see", "router"]

router = APIRouter()

Short = Annotated[str, Form(max_length=40)]
_MOST_ROWS = 12


@router.get("/observers")
def observers(visit: Visited) -> Response:
    """List the observers, what each mixes up most, and how far readers agree."""
    region = visit.programme.settings.regions[0]
    known = learn_observers(visit.programme, region)
    compiled = visit.library.compiled
    shares = genus_prior(compiled, region)[:-1]
    found = (one for one in list_people(visit.programme) if one.role.covers(Role.OBSERVER))
    people = sorted(found, key=lambda one: one.name)
    return visit.page(
        "observers.html",
        people=people,
        names={one.id: one.name for one in people},
        known=known,
        pairs={id_: one.confusions.worst_pair(compiled, shares) for id_, one in known.items()},
        rights={one.person: one for one in survey_rights(
            visit.programme, region, visit.now.date())},
        abilities=abilities(visit.programme),
        readings=report_readings(visit.programme),
    )  # fmt: skip


def check_may_see(visit: Visit, person: str) -> None:
    """Let people see their own errors, and a lead those of all."""
    if person != visit.person.id and not visit.may("lead"):
        raise NotAllowedError(visit.person.role, "see the errors of others", Role.LEAD)


@router.get("/observers/{person}")
def observer(visit: Visited, person: str) -> Response:
    """Show one observer."""
    found = get_person(visit.programme, person)
    check_may_see(visit, found.id)
    region = visit.programme.settings.regions[0]
    known = learn_observers(visit.programme, region).get(found.id)
    compiled = visit.library.compiled
    shares = genus_prior(compiled, region)[:-1]
    pair = None if known is None else known.confusions.worst_pair(compiled, shares)
    return visit.page(
        "observer.html",
        one=found,
        known=known,
        pair=pair,
        confusions=[] if known is None
        else known.confusions.worst(compiled, shares, _MOST_ROWS),
        misjudged=[] if known is None else known.errors.misjudged(compiled)[:_MOST_ROWS],
        progress=progress_of(visit.programme, found.id, pair[:2] if pair else ()),
        ability=abilities(visit.programme).people.get(found.id),
        needs=rank_needs(visit.programme, found.id, region, visit.now)[:6],
        repeats=repeats_of(visit.programme, found.id),
        right=next((one for one in survey_rights(visit.programme, region, visit.now.date())
                    if one.person == found.id), None),
    )  # fmt: skip


@router.post("/observers/{person}/errors")
def errors(visit: Visited, person: str, errors: Short = "own") -> Response:
    """Say whose errors apply to what a person reports from now on."""
    if errors == "own":
        visit.do(use_own_errors, UseOwnErrors(person))
    else:
        visit.do(change_person, ChangePerson(person, errors=errors))
    return visit.go(f"/observers/{person}")
