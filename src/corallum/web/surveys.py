"""Surveys: those that are planned, a new one, and what is to be done next on one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import Response

from corallum.actions.people import list_people
from corallum.actions.permits import list_permits
from corallum.actions.places import list_sites
from corallum.actions.qualifications import SurveyRight, survey_rights
from corallum.actions.record_readings import ReadingState, reading_state
from corallum.actions.survey_flags import flags_of_survey
from corallum.actions.survey_plans import (
    ChangePlan,
    SurveyView,
    change_plan,
    get_survey,
    list_surveys,
    plan_survey,
)
from corallum.errors import NotAllowedError
from corallum.records.programme import Event, Person, Role
from corallum.records.survey import SCATTERS, Method, Slate
from corallum.web.forms import optional_number, wanted_number
from corallum.web.refusals import REFUSED, lines_of
from corallum.web.survey_plan_form import (
    EFFORT_WORDS,
    EFFORTS,
    PlanForm,
    filled_from,
    read_plan,
)
from corallum.web.visit import Visit, Visited
from corallum.web.words import day

__all__ = ["observers_of", "right_words", "router", "waits_for"]

router = APIRouter()

Asked = Annotated[str, Query(max_length=20)]
_A_PAGE = 100
_SOON = timedelta(days=60)
_SCATTER_WORDS = {
    "random": "anywhere on the photo, at random",
    "stratified": "one at random in each cell of a grid",
    "grid": "in the middle of each cell of a grid",
}


@dataclass(frozen=True, slots=True)
class Next:
    """Something that is to be done next: a sentence, and where it is done."""

    text: str
    path: str = ""


@router.get("/surveys")
def surveys(visit: Visited) -> Response:
    """Show the surveys that are planned, with how far they are."""
    return visit.page("surveys.html", cards=list_surveys(visit.programme))


@router.get("/surveys/new")
def new(visit: Visited, like: Asked = "") -> Response:
    """Show the form of a new survey, filled as another where one is to be repeated."""
    _check_lead(visit)
    filled = PlanForm(observers=[one.id for one in observers_of(visit)])
    if like:
        filled = filled_from(get_survey(visit.programme, like))
    return _form(visit, filled, [])


@router.post("/surveys/new")
def plan(visit: Visited, form: Annotated[PlanForm, Form()]) -> Response:
    """Plan a survey; what was typed stays where it can't be."""
    _check_lead(visit)
    try:
        view = visit.do(plan_survey, read_plan(form, list_sites(visit.programme)))
    except REFUSED as error:
        return _form(visit, form, lines_of(error))
    return visit.go(f"/surveys/{view.event.id}")


def _check_lead(visit: Visit) -> None:
    """Let a lead plan, nobody else."""
    if not visit.may("lead"):
        raise NotAllowedError(visit.person.role, "plan surveys", Role.LEAD)


def _form(visit: Visit, typed: PlanForm, faults: list[str]) -> Response:
    """Show the form as it was filled, with what is wrong."""
    used = {name: [m.value for m in Method if name in EFFORTS[m]] for name in EFFORT_WORDS}
    return visit.page(
        "survey_new.html", 422 if faults else 200,
        typed=typed, faults=faults, methods=tuple(Method), effort_words=EFFORT_WORDS, used=used,
        scatters={one: _SCATTER_WORDS[one] for one in SCATTERS},
        sites=list_sites(visit.programme), surveys=list_surveys(visit.programme),
        people=observers_of(visit), rights=_rights(visit, visit.now.date()),
    )  # fmt: skip


def observers_of(visit: Visit) -> list[Person]:
    """Return those who may dive, by name."""
    found = (one for one in list_people(visit.programme) if one.active)
    return sorted(
        (one for one in found if one.role.covers(Role.OBSERVER)), key=lambda one: one.name
    )


def _rights(visit: Visit, on: date) -> Mapping[str, str]:
    """Return what each person may record on a day, in words."""
    region = visit.programme.settings.regions[0]
    return {
        one.person: right_words(one) for one in survey_rights(visit.programme, region, on)
    }  # fmt: skip


def right_words(right: SurveyRight) -> str:
    """Say what somebody may record."""
    named = ", ".join(right.genera) if right.genera is not None else "all genera"
    but = f", but {', '.join(right.not_yet)} to family only" if right.not_yet else ""
    return f"{named}{but}, until {day(right.until)}"


@router.get("/surveys/{survey_id}")
def survey(visit: Visited, survey_id: str, page: Asked = "1") -> Response:
    """Show one survey: what is to be done next, then all its transects."""
    return _show(visit, survey_id, page, [])


def _show(visit: Visit, survey_id: str, page: str, faults: list[str]) -> Response:
    """Show one survey, with what is wrong about a change of it."""
    view = get_survey(visit.programme, survey_id)
    flags = [one for one in flags_of_survey(visit.programme, survey_id) if one.answer is None]
    state = reading_state(visit.programme, survey_id)
    slates = {slate.history: slate for found in view.slates.values() for slate in found}
    mine = waits_for(visit, state, slates)
    pages = max(1, -(-len(view.transects) // _A_PAGE))
    number = int(min(max(optional_number(page, "page") or 1, 1), pages))
    shown = _in_order(view)[_A_PAGE * (number - 1) : _A_PAGE * number]
    on = view.event.date or visit.now.date()
    rights = _rights(visit, on)
    return visit.page(
        "survey.html", 422 if faults else 200,
        view=view, plan=view.plan, faults=faults, on=on, rights=rights,
        nexts=[*_nexts(visit, view, len(flags), state, len(mine)), *_unqualified(view, rights)],
        done=sum(1 for one in view.transects if one.id in view.slates),
        shown=shown, page=number, pages=pages, people=observers_of(visit),
        waiting=Counter(slates[one.flag.slate].transect for one in flags),
        effort_words=EFFORT_WORDS, uses=EFFORTS[view.plan.method],
        follows=_name_of(visit, view.plan.follows), scatters=_SCATTER_WORDS,
    )  # fmt: skip


def waits_for(
    visit: Visit, state: ReadingState, slates: Mapping[int, Slate]
) -> list[tuple[int, int]]:
    """Return records that wait for a second reading by this person."""
    if not visit.may("observer"):
        return []
    asked = {record: draw.asked_of for draw in state.draws for record in draw.records}
    person = visit.person.id
    return [
        record for record in state.waiting
        if asked[record] in (None, person) and slates[record[0]].observer != person
    ]  # fmt: skip


def _in_order(view: SurveyView) -> list[Event]:
    """Return transects as the plan lists their sites."""
    sites = [site for stratum in view.plan.strata for site in stratum.sites]
    place = {site: i for i, site in enumerate(sites)}
    # A transect that somebody added at another site comes last.
    return sorted(view.transects, key=lambda one: place.get(one.site or "", len(place)))


def _name_of(visit: Visit, survey_id: str | None) -> str:
    """Return the name of a survey."""
    cards = list_surveys(visit.programme) if survey_id else ()
    return next((card.event.name for card in cards if card.event.id == survey_id), "")


def _nexts(
    visit: Visit, view: SurveyView, flags: int, state: ReadingState, mine: int
) -> list[Next]:
    """Say what is to be done next, the most pressing first."""
    path = f"/surveys/{view.event.id}"
    found = []
    left = [one for one in _in_order(view) if one.id not in view.slates]
    if left:
        first = left[0]
        where = f"{view.sites[first.site or ''].name}, {first.name}"
        text = f"{_of(len(left), 'transect has', 'transects have')} no slate yet; next: {where}."
        found.append(Next(text, f"{path}/transects/{first.id}"))
    if flags:
        who = "" if visit.may("lead") else " A lead decides."
        text = f"{_of(flags, 'flag waits', 'flags wait')} for a decision.{who}"
        found.append(Next(text, f"{path}/flags"))
    if state.waiting:
        whose = "none of them for you" if not mine else f"{mine} of them for you"
        n = len(state.waiting)
        text = f"{_of(n, 'record waits', 'records wait')} for a second reading, {whose}."
        found.append(Next(text, f"{path}/readings"))
    elif view.slates and not state.draws and view.plan.second_share:
        share = f"{100 * view.plan.second_share:g} %"
        text = f"No records are drawn to be read again yet; the plan says {share}."
        found.append(Next(text, f"{path}/readings"))
    soon = visit.now.date() + _SOON
    found += [
        Next(f"The permit {one.number} {_ends(one.expires_on, visit.now.date())}.",
             "/programme#permits")
        for one in list_permits(visit.programme) if one.expires_on <= soon
    ]  # fmt: skip
    return found


def _of(n: int, one: str, many: str) -> str:
    """Count something in words."""
    return f"{n} {one if n == 1 else many}"


def _ends(last: date, today: date) -> str:
    """Say when a permit ends."""
    return f"expired on {day(last)}" if last < today else f"expires on {day(last)}"


def _unqualified(view: SurveyView, rights: Mapping[str, str]) -> list[Next]:
    """Name observers of the plan who may record no genera, while there is still to dive."""
    if all(one.id in view.slates for one in view.transects):
        return []
    names = [view.people[one].name for one in view.plan.observers if one not in rights]
    if not names:
        return []
    text = f"May record families only, as no test is passed: {', '.join(names)}."
    return [Next(text, "/observers/tests")]


@router.post("/surveys/{survey_id}/plan")
def change(
    visit: Visited,
    survey_id: str,
    observers: Annotated[list[str], Form()] = [],  # noqa: B006  copied by the framework
    share: Annotated[str, Form(max_length=20)] = "",
    note: Annotated[str, Form(max_length=4000)] = "",
) -> Response:
    """Change who dives, how much is read again, and the note."""
    try:
        percent = wanted_number(share, "percent read again")
        command = ChangePlan(survey_id, tuple(observers), percent / 100, note)
        visit.do(change_plan, command)
    except REFUSED as error:
        return _show(visit, survey_id, "1", lines_of(error))
    return visit.go(f"/surveys/{survey_id}")
