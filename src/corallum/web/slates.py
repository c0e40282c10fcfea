"""Slates: type one at the pace of reading it, see one line by line, mend one."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import Response
from pydantic import BaseModel, Field

from corallum.actions.record_readings import reading_state
from corallum.actions.slates import WriteSlate, get_slate, resolver_of, write_slate
from corallum.actions.survey_flags import flags_of_survey
from corallum.actions.survey_plans import SurveyView, get_survey
from corallum.errors import NotFoundError
from corallum.exchange.slate_rows import mend_lines, read_rows
from corallum.exchange.slate_text import slate_text
from corallum.records.programme import Event, Person
from corallum.records.survey import Line, Method, Slate
from corallum.records.survey_checks import RULES
from corallum.web.colony import read_day
from corallum.web.forms import optional_number, optional_text
from corallum.web.refusals import REFUSED, lines_of
from corallum.web.slate_words import NOTATION, line_words, measured_words, rows_words
from corallum.web.survey_plan_form import EFFORT_WORDS, EFFORTS, read_effort
from corallum.web.surveys import observers_of, waits_for
from corallum.web.visit import Visit, Visited

__all__ = ["LINES_A_PAGE", "router"]

router = APIRouter()

Short = Annotated[str, Field(max_length=200)]
Asked = Annotated[str, Query(max_length=20)]
LINES_A_PAGE = 200


class SlateForm(BaseModel):
    """A slate as it is typed."""

    text: Annotated[str, Field(max_length=400_000)] = ""
    observer: Short = ""
    date: Short = ""
    depth: Short = ""
    note: Annotated[str, Field(max_length=4000)] = ""
    length_cm: Short = ""
    interval_cm: Short = ""
    width_cm: Short = ""
    frames: Short = ""
    points: Short = ""
    frame_area_m2: Short = ""


@dataclass(frozen=True, slots=True)
class _Desk:
    """Where a slate is typed: its transect, what is typed, and the slate that it mends."""

    view: SurveyView
    transect: Event
    typed: SlateForm
    mends: Slate | None = None
    faults: list[str] = field(default_factory=list)

    @property
    def method(self) -> Method:
        """How its lines are typed."""
        return self.mends.method if self.mends else self.view.plan.method


def _transect_of(view: SurveyView, transect: str) -> Event:
    """Return a transect of a survey."""
    found = next((one for one in view.transects if one.id == transect), None)
    if found is None:
        raise NotFoundError("transect", transect)
    return found


@router.get("/surveys/{survey_id}/transects/{transect}")
def type_slate(visit: Visited, survey_id: str, transect: str) -> Response:
    """Show where a slate is typed."""
    view = get_survey(visit.programme, survey_id)
    one = _transect_of(view, transect)
    named = view.plan.observers
    observer = visit.person.id if visit.person.id in named or not named else named[0]
    on = one.date or visit.now.date()
    return _desk(visit, _Desk(view, one, SlateForm(observer=observer, date=on.isoformat())))


@router.post("/surveys/{survey_id}/transects/{transect}")
def write(
    visit: Visited, survey_id: str, transect: str, form: Annotated[SlateForm, Form()]
) -> Response:
    """Write a slate; what was typed stays where it can't be read."""
    view = get_survey(visit.programme, survey_id)
    one = _transect_of(view, transect)
    try:
        command = _command(form, one.id, view.plan.method, form.text)
        slate = visit.do(write_slate, command)
    except REFUSED as error:
        return _desk(visit, _Desk(view, one, form, faults=lines_of(error)))
    return visit.go(f"/slates/{slate.history}")


def _command(
    form: SlateForm, transect: str, method: Method, lines: str | tuple[Line, ...]
) -> WriteSlate:
    """Read what stands around the lines."""
    return WriteSlate(
        transect, lines, optional_text(form.observer), read_day(form.date),
        optional_number(form.depth, "depth"), read_effort(form.model_dump(), method),
        note=form.note,
    )  # fmt: skip


@router.post("/surveys/{survey_id}/transects/{transect}/read")
def read(
    visit: Visited, survey_id: str, transect: str, form: Annotated[SlateForm, Form()]
) -> Response:
    """Say what each typed line is taken for; nothing is written."""
    view = get_survey(visit.programme, survey_id)
    one = _transect_of(view, transect)
    return _read(visit, _Desk(view, one, form))


def _read(visit: Visit, desk: _Desk) -> Response:
    """Show what is typed and what each line is taken for."""
    if visit.partial:
        rows = read_rows(desk.typed.text, desk.method, resolver_of(visit.programme))
        return visit.page("slate_rows.html", rows=rows, rows_words=rows_words)
    return _desk(visit, desk)


def _desk(visit: Visit, desk: _Desk) -> Response:
    """Show where a slate is typed, with what each line is taken for."""
    rows, faults = None, desk.faults
    try:
        if desk.typed.text.strip():
            rows = read_rows(desk.typed.text, desk.method, resolver_of(visit.programme))
    except REFUSED as error:
        faults = faults or lines_of(error)
    return visit.page(
        "slate_type.html", 422 if faults else 200,
        desk=desk, view=desk.view, transect=desk.transect, typed=desk.typed, faults=faults,
        site=desk.view.sites.get(desk.transect.site or ""), rows=rows, rows_words=rows_words,
        notation=NOTATION[desk.method], people=_readers(visit, desk), uses=EFFORTS[desk.method],
        effort_words=EFFORT_WORDS,
        planned=desk.mends.effort if desk.mends else desk.view.plan.effort,
        standing=desk.view.slates.get(desk.transect.id, ()),
    )  # fmt: skip


def _readers(visit: Visit, desk: _Desk) -> list[Person]:
    """Return who may have read a slate: observers, and whoever did though they left since."""
    found = observers_of(visit)
    gone = desk.view.people.get(desk.mends.observer) if desk.mends else None
    return found if gone is None or gone in found else [*found, gone]


@router.get("/slates/{slate_id}")
def one_slate(visit: Visited, slate_id: int, page: Asked = "1", show: Asked = "") -> Response:
    """Show a slate line by line, with its flags, second readings and photos."""
    slate, survey_id = get_slate(visit.programme, slate_id)
    view = get_survey(visit.programme, survey_id)
    flags = [
        one for one in flags_of_survey(visit.programme, survey_id) if one.flag.slate == slate_id
    ]
    state = reading_state(visit.programme, survey_id)
    slates = {one.history: one for found in view.slates.values() for one in found}
    waiting = {record[1] for record in waits_for(visit, state, slates)
               if record[0] == slate_id}  # fmt: skip
    pages = max(1, -(-len(slate.lines) // LINES_A_PAGE))
    at = int(min(max(optional_number(page, "page") or 1, 1), pages))
    first = LINES_A_PAGE * (at - 1)
    shown = list(enumerate(slate.lines, start=1))[first : first + LINES_A_PAGE]
    # Who reads a record again does not see what was said first; a lead may look all the same.
    veiled = set() if visit.may("lead") and show == "1" else waiting
    return visit.page(
        "slate.html",
        slate=slate, view=view, transect=_any_transect(view, slate.transect), shown=shown,
        page=at, pages=pages, veiled=veiled, waiting=waiting, flags=flags, rules=RULES,
        readings={line: one for (of, line), one in state.readings.items() if of == slate_id},
        frames=_frames(shown), measured=measured_words, said=line_words,
        newer=_newer(visit, view, slate), next=_next(view), effort_words=EFFORT_WORDS,
        uses=EFFORTS[slate.method], may_mend=_may_mend(visit, slate),
        person_name={one.id: one.name for one in view.people.values()},
    )  # fmt: skip


def _any_transect(view: SurveyView, transect: str) -> Event:
    """Return the transect of a slate."""
    return next(one for one in view.transects if one.id == transect)


def _may_mend(visit: Visit, slate: Slate) -> bool:
    """Whether this person may mend a slate."""
    own = visit.person.id in (slate.person, slate.observer)
    return visit.may("lead") or (own and visit.may("observer"))


def _newer(visit: Visit, view: SurveyView, slate: Slate) -> int | None:
    """Return the slate that replaced another, None where it stands."""
    standing = view.slates.get(slate.transect, ())
    if any(one.history == slate.history for one in standing):
        return None
    for one in standing:
        replaced, newest = one.replaces, one.history
        while replaced is not None:
            if replaced == slate.history:
                return newest
            replaced = get_slate(visit.programme, replaced)[0].replaces
    return None


def _next(view: SurveyView) -> Event | None:
    """Return a transect that has no slate yet."""
    return next((one for one in view.transects if one.id not in view.slates), None)


def _frames(shown: list[tuple[int, Line]]) -> dict[str, tuple[int | None, list[tuple[int, Line]]]]:
    """Return photos of the lines shown: the frame of each, and the lines with a place on it."""
    found: dict[str, tuple[int | None, list[tuple[int, Line]]]] = {}
    for number, line in shown:
        if line.photo is not None:
            placed = found.setdefault(line.photo, (line.frame, []))[1]
            if line.x is not None and line.y is not None:
                placed.append((number, line))
    return found


@router.get("/slates/{slate_id}/mend")
def mend(visit: Visited, slate_id: int) -> Response:
    """Show where a slate is mended: its own lines, to be typed over."""
    slate, survey_id = get_slate(visit.programme, slate_id)
    view = get_survey(visit.programme, survey_id)
    typed = SlateForm(
        text=slate_text(slate.lines, slate.method), observer=slate.observer,
        date=slate.date.isoformat(), note=slate.note,
        depth="" if slate.depth_m is None else f"{slate.depth_m:g}",
    )  # fmt: skip
    return _desk(visit, _Desk(view, _any_transect(view, slate.transect), typed, slate))


@router.post("/slates/{slate_id}/mend")
def write_mended(visit: Visited, slate_id: int, form: Annotated[SlateForm, Form()]) -> Response:
    """Write a slate that replaces another; lines left alone keep all that they had."""
    slate, survey_id = get_slate(visit.programme, slate_id)
    view = get_survey(visit.programme, survey_id)
    one = _any_transect(view, slate.transect)
    try:
        lines = mend_lines(slate.lines, form.text, slate.method, resolver_of(visit.programme))
        command = _command(form, one.id, slate.method, lines)
        mended = visit.do(write_slate, _mending(command, slate))
    except REFUSED as error:
        return _desk(visit, _Desk(view, one, form, slate, lines_of(error)))
    return visit.go(f"/slates/{mended.history}")


def _mending(command: WriteSlate, slate: Slate) -> WriteSlate:
    """Say which slate is mended; what was not typed of the effort is as it was there."""
    effort = replace(
        slate.effort,
        **{
            one.name: value
            for one in fields(command.effort)
            if (value := getattr(command.effort, one.name)) is not None
        },
    )
    return replace(command, effort=effort, replaces=slate.history)


@router.post("/slates/{slate_id}/read")
def read_mended(visit: Visited, slate_id: int, form: Annotated[SlateForm, Form()]) -> Response:
    """Say what each line of a slate that is mended is taken for; nothing is written."""
    slate, survey_id = get_slate(visit.programme, slate_id)
    view = get_survey(visit.programme, survey_id)
    return _read(visit, _Desk(view, _any_transect(view, slate.transect), form, slate))
