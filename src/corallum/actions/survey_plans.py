"""Plan a survey: its strata, sites and transects are laid out at once."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

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
from corallum.exchange.sheet import plain
from corallum.records.programme import Event, Person, Role, Site
from corallum.records.survey import SCATTERS, Effort, Method, Slate, Stratum, SurveyPlan
from corallum.records.survey_json import plan_to_text
from corallum.store import people as store
from corallum.store import schema, surveys
from corallum.store.programme import Programme

__all__ = [
    "ChangePlan",
    "PlanSurvey",
    "SurveyCard",
    "SurveyView",
    "change_plan",
    "check_effort",
    "find_survey",
    "get_survey",
    "list_surveys",
    "plan_survey",
]

_MOST_TRANSECTS, _MOST_STRATA = 200, 50
_MOST_NUMBER = 1e6
# What a method can't do without.
_NEEDED: Mapping[Method, tuple[str, ...]] = {
    Method.LINE: ("length_cm",),
    Method.POINTS: ("points",),
    Method.PHOTO: ("frames", "points"),
    Method.BELT: ("length_cm", "width_cm"),
    Method.QUADRAT: ("frames", "frame_area_m2"),
    Method.QUADRAT_COVER: ("frames",),
}


@dataclass(frozen=True, slots=True)
class PlanSurvey:
    """A new survey; fields as in `records.survey.SurveyPlan`."""

    name: str
    method: str
    strata: tuple[Stratum, ...]
    transects_per_site: int
    effort: Effort
    observers: tuple[str, ...] = ()
    second_share: float = 0.1
    follows: str | None = None
    same_transects: bool = False
    date: dt.date | None = None
    scatter: str = "random"
    note: str = ""
    sites_drawn: bool = False


@dataclass(frozen=True, slots=True)
class ChangePlan:
    """Who dives, how much is read again, and notes; None leaves it."""

    survey: str
    observers: tuple[str, ...] | None = None
    second_share: float | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True)
class SurveyCard:
    """A survey in a list; ``done`` of ``transects`` have a slate."""

    event: Event
    plan: SurveyPlan
    transects: int
    done: int


@dataclass(frozen=True, slots=True)
class SurveyView:
    """A survey with all that belongs to it.

    ``slates`` are those that stand, by transect in the order written.
    """

    event: Event
    plan: SurveyPlan
    sites: Mapping[str, Site]
    people: Mapping[str, Person]
    transects: tuple[Event, ...]
    slates: Mapping[str, tuple[Slate, ...]]

    def stratum_of(self, site: str) -> int:
        """Return the number of a site's stratum."""
        return next(i for i, one in enumerate(self.plan.strata) if site in one.sites)


def plan_survey(
    programme: Programme,
    command: PlanSurvey,
    now: dt.datetime,
    rng: np.random.Generator,
    person: str,
) -> SurveyView:
    """Plan a survey and lay out its visits and transects.

    Raises
    ------
    InputError
        With every fault of the plan at once.
    ConflictError
        Where a survey has that name already.
    """
    with unit_of_work(programme, person, now, Role.LEAD, "plan surveys") as unit:
        name = check_line(command.name, "name")
        surveys_ = store.all_events(unit.connection, "survey", None)
        if any(one.name.casefold() == name.casefold() for one in surveys_):
            raise ConflictError(f"there is a survey {name!r} already. Choose another name.")
        plan = _checked(unit, command, int(rng.integers(1, 2**31)))
        survey = _add_event(unit, rng, Event("", "survey", None, None, name, command.date, ""))
        plan = replace(plan, survey=survey)
        row = {"id": survey, "plan": plan_to_text(plan)}
        store.insert_keyed(unit.connection, unit.act, "plan survey", schema.survey_plan, row)
        _lay_out(unit, rng, plan, command.date)
    return get_survey(programme, survey)


def _checked(unit: Unit, command: PlanSurvey, seed: int) -> SurveyPlan:
    """Check a plan; all its faults at once."""
    faults: list[Fault] = []
    method = check_choice(command.method, "method", tuple(one.value for one in Method))
    scatter = check_choice(command.scatter, "points lie", SCATTERS)
    share = check_share(command.second_share, "share read again", 0.0, 1.0) or 0.0
    n = command.transects_per_site
    if not 1 <= n <= _MOST_TRANSECTS:
        faults.append(_fault("transects a site", f"1 to {_MOST_TRANSECTS}", n))
    faults += check_effort(Method(method), command.effort)
    faults += _strata_faults(unit, command.strata)
    if faults:
        raise InputError(faults)
    for observer in command.observers:
        store.person_of(unit.connection, check_id(observer, "person"))
    if command.follows is not None:
        surveys.plan_of(unit.connection, check_id(command.follows, "survey"))
    note = check_notes(command.note, "note", empty=True)
    strata = tuple(replace(one, name=check_line(one.name, "stratum")) for one in command.strata)
    return SurveyPlan(
        "", Method(method), strata, n, command.effort, command.observers, share, command.follows,
        command.same_transects and command.follows is not None, seed, scatter, note,
        command.sites_drawn,
    )  # fmt: skip


def check_effort(method: Method, effort: Effort) -> list[Fault]:
    """Find what a method needs and the effort lacks, and numbers that can't be."""
    faults = []
    for field in fields(effort):
        value = getattr(effort, field.name)
        words = field.name.replace("_", " ")
        if value is None:
            if field.name in _NEEDED[method]:
                faults.append(_fault(words, "a number above 0", "none"))
        elif not 0 < value <= _MOST_NUMBER:
            faults.append(_fault(words, "a number above 0", value))
    return faults


def _strata_faults(unit: Unit, strata: tuple[Stratum, ...]) -> list[Fault]:
    """Find strata that can't be sampled, and sites in several."""
    if not 1 <= len(strata) <= _MOST_STRATA:
        return [_fault("strata", f"1 to {_MOST_STRATA}", len(strata))]
    known = {site.id for site in store.all_sites(unit.connection)}
    faults = []
    times = Counter(site for one in strata for site in one.sites)
    names = Counter(one.name.casefold() for one in strata)
    for one in strata:
        place = f"stratum {plain(one.name)}"
        if not 0 < one.area < float("inf"):
            faults.append(_fault(f"{place}, area", "a number above 0", one.area))
        if not one.sites:
            faults.append(_fault(place, "at least one site", "none"))
        if names[one.name.casefold()] > 1:
            faults.append(_fault(place, "a name of its own", "it twice"))
        faults += [
            _fault(place, "sites of the programme", plain(str(site)))
            for site in one.sites if site not in known
        ]  # fmt: skip
    faults += [
        _fault(f"site {plain(str(site))}", "one stratum for each site", f"{n} of them")
        for site, n in times.items() if n > 1
    ]  # fmt: skip
    return faults


def _fault(place: str, expected: str, found: object) -> Fault:
    return Fault("plan", place, expected, str(found), "Mend it.")


def _add_event(unit: Unit, rng: np.random.Generator, event: Event) -> str:
    """Write one event; return its id."""
    row = {
        "id": new_id(rng), "kind": event.kind, "parent": event.parent, "site": event.site,
        "name": event.name, "date": None if event.date is None else event.date.isoformat(),
        "note": event.note,
    }  # fmt: skip
    store.insert_keyed(unit.connection, unit.act, "add event", schema.event, row)
    return str(row["id"])


def _lay_out(unit: Unit, rng: np.random.Generator, plan: SurveyPlan, date: dt.date | None) -> None:
    """Write a visit for each site, and its transects: those of the survey before, if they are."""
    before: dict[str, list[str]] = {}
    if plan.same_transects and plan.follows is not None:
        for one in surveys.transects_of(unit.connection, plan.follows):
            before.setdefault(one.site or "", []).append(one.name)
    names = {site.id: site.name for site in store.all_sites(unit.connection)}
    for stratum in plan.strata:
        for site in stratum.sites:
            visit = _add_event(
                unit, rng, Event("", "visit", plan.survey, site, names[site], date, "")
            )
            numbered = [f"T{i + 1}" for i in range(plan.transects_per_site)]
            for name in before.get(site, numbered):
                _add_event(unit, rng, Event("", "transect", visit, site, name, date, ""))


def change_plan(
    programme: Programme,
    command: ChangePlan,
    now: dt.datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> SurveyView:
    """Change who dives, how much is read again, or the notes of a plan."""
    survey = check_id(command.survey, "survey")
    with unit_of_work(programme, person, now, Role.LEAD, "plan surveys") as unit:
        plan = surveys.plan_of(unit.connection, survey)
        if command.observers is not None:
            for one in command.observers:
                store.person_of(unit.connection, check_id(one, "person"))
            plan = replace(plan, observers=command.observers)
        if command.second_share is not None:
            share = check_share(command.second_share, "share read again")
            plan = replace(plan, second_share=share or 0.0)
        if command.note is not None:
            plan = replace(plan, note=check_notes(command.note, "note", empty=True))
        row = {"id": survey, "plan": plan_to_text(plan)}
        store.change_keyed(unit.connection, unit.act, "change plan", schema.survey_plan, row)
    return get_survey(programme, survey)


def list_surveys(programme: Programme) -> tuple[SurveyCard, ...]:
    """Return planned surveys, the newest first."""
    with programme.read() as connection:
        plans = surveys.plans(connection)
        events = store.all_events(connection, "survey", None)
        cards = []
        for event in events:
            if event.id in plans:
                transects = surveys.transects_of(connection, event.id)
                done = {row["transect"] for row in surveys.slate_heads(connection, event.id)}
                cards.append(SurveyCard(event, plans[event.id], len(transects), len(done)))
    return tuple(cards)


def find_survey(programme: Programme, name: str) -> str:
    """Return the id of a survey by its name or id.

    Raises
    ------
    InputError
        With the names of those that there are.
    """
    cards = list_surveys(programme)
    for card in cards:
        if name == card.event.id or name.casefold() == card.event.name.casefold():
            return card.event.id
    known = ", ".join(card.event.name for card in cards) or "none yet: plan one"
    raise InputError([Fault("survey", "", f"one of {known}", repr(name)[:60], "Use its name.")])


def get_survey(programme: Programme, survey: str) -> SurveyView:
    """Return a survey with its sites, transects and slates."""
    check_id(survey, "survey")
    with programme.read() as connection:
        plan = surveys.plan_of(connection, survey)
        by_transect: dict[str, list[Slate]] = {}
        for slate in surveys.slates_of(connection, survey):
            by_transect.setdefault(slate.transect, []).append(slate)
        return SurveyView(
            store.event_of(connection, survey),
            plan,
            {one.id: one for one in store.all_sites(connection)},
            {one.id: one for one in store.all_people(connection)},
            surveys.transects_of(connection, survey),
            {transect: tuple(found) for transect, found in by_transect.items()},
        )
