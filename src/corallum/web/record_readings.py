"""Second readings of a survey's records: drawn by a lead, read blind, and what they say."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import Response
from pydantic import BaseModel, Field

from corallum.actions.photo_records import get_photo
from corallum.actions.reading_agreement import reading_agreement
from corallum.actions.record_readings import (
    DrawReadings,
    ReadRecord,
    WaitingRecord,
    draw_readings,
    read_record,
    reading_state,
    waiting_records,
)
from corallum.actions.slates import resolver_of
from corallum.actions.survey_plans import get_survey
from corallum.errors import Fault, InputError, NotFoundError
from corallum.web.close_up import ZOOMS, CloseUp, close_up
from corallum.web.forms import optional_number, optional_text, wanted_number
from corallum.web.refusals import REFUSED, lines_of
from corallum.web.surveys import observers_of, waits_for
from corallum.web.visit import Visit, Visited

__all__ = ["router"]

router = APIRouter()

Asked = Annotated[str, Query(max_length=20)]
Short = Annotated[str, Field(max_length=200)]
_MOST_ROWS = 30
_MOST_LEAST = 10_000


class ReadingForm(BaseModel):
    """What a second reader says of one record."""

    slate: Short = ""
    line: Short = ""
    said: Short = ""
    note: Annotated[str, Field(max_length=4000)] = ""
    zoom: Short = "middle"


class DrawForm(BaseModel):
    """Which share of the records to draw, and for whom."""

    share: Short = ""
    least: Short = "10"
    asked_of: Short = ""


@router.get("/surveys/{survey_id}/readings")
def readings(visit: Visited, survey_id: str, zoom: Asked = "middle") -> Response:
    """Show the next record to this reader, blind, and how far the readings are."""
    return _show(visit, survey_id, ReadingForm(zoom=zoom), DrawForm(), [])


def _show(
    visit: Visit, survey_id: str, typed: ReadingForm, draw: DrawForm, faults: list[str]
) -> Response:
    """Show the page, with what is wrong about what was sent."""
    view = get_survey(visit.programme, survey_id)
    state = reading_state(visit.programme, survey_id)
    slates = {one.history: one for found in view.slates.values() for one in found}
    waits = waiting_records(visit.programme, survey_id, visit.person.id, 1)
    agreed = reading_agreement(visit.programme, survey_id)
    return visit.page(
        "record_readings.html", 422 if faults else 200,
        view=view, state=state, typed=typed, draw=draw, faults=faults,
        mine=len(waits_for(visit, state, slates)),
        next=waits[0] if waits and visit.may("observer") else None,
        picture=_picture(visit, waits[0], typed.zoom) if waits else None, zooms=tuple(ZOOMS),
        choices=resolver_of(visit.programme).choices, people=observers_of(visit),
        drawn=len(state.lines), read=len(state.readings),
        agreed=agreed, rows=agreed.table[:_MOST_ROWS] if agreed else (),
        person_name={one.id: one.name for one in view.people.values()},
    )  # fmt: skip


def _picture(visit: Visit, waits: WaitingRecord, zoom: str) -> CloseUp | None:
    """Return the photo of a record around its point; None where there is none to look at."""
    if waits.point is None:
        return None
    try:
        photo = get_photo(visit.programme, waits.point.photo)
    except NotFoundError:
        return None
    x, y = waits.point.x, waits.point.y
    if x is None or y is None:
        # Without a place the whole photo is shown.
        return close_up(photo, 0.5, 0.5, "whole")
    return close_up(photo, x, y, zoom)


@router.post("/surveys/{survey_id}/readings")
def read(visit: Visited, survey_id: str, form: Annotated[ReadingForm, Form()]) -> Response:
    """Keep what a second reader says, and go on to the next record."""
    try:
        slate, line = optional_number(form.slate, "slate"), optional_number(form.line, "line")
        command = ReadRecord(int(slate or 0), int(line or 0), form.said, form.note)
        visit.do(read_record, command)
    except REFUSED as error:
        return _show(visit, survey_id, form, DrawForm(), lines_of(error))
    zoom = f"?zoom={form.zoom}" if form.zoom in ZOOMS and form.zoom != "middle" else ""
    return visit.go(f"/surveys/{survey_id}/readings{zoom}")


@router.post("/surveys/{survey_id}/readings/draw")
def draw(visit: Visited, survey_id: str, form: Annotated[DrawForm, Form()]) -> Response:
    """Draw records to be read again."""
    try:
        share = optional_number(form.share, "percent")
        least = wanted_number(form.least, "at least of each name")
        if not 0 <= least <= _MOST_LEAST:
            expected, remedy = f"0 to {_MOST_LEAST}", "Mend it."
            raise InputError([Fault("draw", "least of a name", expected, f"{least:g}", remedy)])
        command = DrawReadings(
            survey_id, None if share is None else share / 100, int(least),
            optional_text(form.asked_of),
        )  # fmt: skip
        visit.do(draw_readings, command)
    except REFUSED as error:
        return _show(visit, survey_id, ReadingForm(), form, lines_of(error))
    return visit.go(f"/surveys/{survey_id}/readings")
