"""Flags: what looks wrong on the slates of a survey, and a lead's decisions on it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import Response
from pydantic import BaseModel, Field

from corallum.actions.record_readings import reading_state
from corallum.actions.survey_flags import AnswerFlag, FlagLine, answer_flag, flags_of_survey
from corallum.actions.survey_plans import SurveyView, get_survey
from corallum.records.survey import Decision
from corallum.records.survey_checks import RULES
from corallum.web.forms import optional_number
from corallum.web.refusals import REFUSED, lines_of
from corallum.web.slate_words import line_words, measured_words
from corallum.web.slates import LINES_A_PAGE
from corallum.web.surveys import waits_for
from corallum.web.visit import Visit, Visited

__all__ = ["router"]

router = APIRouter()

Asked = Annotated[str, Query(max_length=20)]
Short = Annotated[str, Field(max_length=40)]
_A_PAGE = 25


class FlagForm(BaseModel):
    """A decision on a flag."""

    slate: Short = ""
    line: Short = ""
    rule: Short = ""
    decision: Short = ""
    note: Annotated[str, Field(max_length=4000)] = ""
    page: Short = "1"


@router.get("/surveys/{survey_id}/flags")
def flags(visit: Visited, survey_id: str, page: Asked = "1") -> Response:
    """Show the flags of a survey, those that wait first."""
    return _show(visit, survey_id, page, FlagForm(), [])


def _show(visit: Visit, survey_id: str, page: str, typed: FlagForm, faults: list[str]) -> Response:
    """Show the flags, with what is wrong about a decision."""
    view = get_survey(visit.programme, survey_id)
    found = flags_of_survey(visit.programme, survey_id)
    pages = max(1, -(-len(found) // _A_PAGE))
    at = int(min(max(optional_number(page, "page") or 1, 1), pages))
    return visit.page(
        "survey_flags.html", 422 if faults else 200,
        view=view, faults=faults, typed=typed, rules=RULES, page=at, pages=pages,
        found=found[_A_PAGE * (at - 1) : _A_PAGE * at], all=len(found),
        waiting=sum(1 for one in found if one.answer is None),
        places={one.history: _place(view, one.transect)
                for slates in view.slates.values() for one in slates},
        said=line_words, measured=measured_words, link=_link,
        veiled=_veiled(visit, view),
        person_name={one.id: one.name for one in view.people.values()},
    )  # fmt: skip


def _place(view: SurveyView, transect: str) -> str:
    """Return the name of a transect and its site."""
    one = next(event for event in view.transects if event.id == transect)
    site = view.sites.get(one.site or "")
    return f"{one.name}, {site.name}" if site else one.name


def _link(one: FlagLine) -> str:
    """Return where the line of a flag is shown."""
    number, line = one.flag.slate, one.flag.line
    if line is None:
        return f"/slates/{number}"
    return f"/slates/{number}?page={1 + (line - 1) // LINES_A_PAGE}#line-{line}"


def _veiled(visit: Visit, view: SurveyView) -> set[tuple[int, int]]:
    """Return records whose names a second reader is not to see yet; a lead decides on all."""
    if visit.may("lead"):
        return set()
    slates = {one.history: one for found in view.slates.values() for one in found}
    state = reading_state(visit.programme, view.event.id)
    return set(waits_for(visit, state, slates))


@router.post("/surveys/{survey_id}/flags")
def decide(visit: Visited, survey_id: str, form: Annotated[FlagForm, Form()]) -> Response:
    """Decide that a line stands, or leave it out."""
    try:
        line = optional_number(form.line, "line")
        slate = optional_number(form.slate, "slate")
        command = AnswerFlag(
            int(slate or 0), None if line is None else int(line), form.rule, form.decision,
            form.note,
        )  # fmt: skip
        visit.do(answer_flag, command)
    except REFUSED as error:
        faults = lines_of(error)
        if form.decision == Decision.LEFT_OUT and not form.note.strip():
            faults = ["Say why it is left out: the reason stays in the record."]
        return _show(visit, survey_id, form.page, form, faults)
    return visit.go(f"/surveys/{survey_id}/flags")
