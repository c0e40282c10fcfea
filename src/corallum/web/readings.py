"""Second readings: those that wait, and the form in which one is answered."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import Response

from corallum.actions.colonies import get_colony
from corallum.actions.people import list_people
from corallum.actions.programme_reference import programme_library
from corallum.actions.second_opinions import (
    AnswerReading,
    answer_reading,
    list_vouchers,
    waiting_readings,
)
from corallum.errors import NotFoundError
from corallum.web.colony_view import seen_items
from corallum.web.forms import optional_number
from corallum.web.visit import Visited

__all__ = ["router"]

router = APIRouter()

Text = Annotated[str, Form(max_length=4000)]
_MOST = 200


@router.get("/readings")
def waiting(visit: Visited) -> Response:
    """List the second readings that wait, and the vouchers."""
    return visit.page(
        "readings.html",
        readings=waiting_readings(visit.programme, _MOST),
        vouchers=list_vouchers(visit.programme, _MOST),
        people={person.id: person for person in list_people(visit.programme)},
    )


@router.get("/readings/{request_id}")
def ask(visit: Visited, request_id: int) -> Response:
    """Show a colony to a second reader: the evidence and the photos, not the answer."""
    found = next(
        ((one, row) for one, row in waiting_readings(visit.programme, _MOST)
         if one.history == request_id),
        None,
    )  # fmt: skip
    if found is None:
        raise NotFoundError("waiting second reading", request_id)
    record = get_colony(visit.programme, found[1].id)
    return visit.page(
        "reading.html",
        reading=found[0],
        colony=record,
        seen=seen_items(visit, record),
        genera=programme_library(visit.programme).compiled.genera,
        people={person.id: person for person in list_people(visit.programme)},
    )


@router.post("/readings/{request_id}")
def answer(
    visit: Visited, request_id: int, genera: Text = "", confidence: Text = "", note: Text = ""
) -> Response:
    """Keep what a second reader says."""
    names = tuple(part.strip() for part in genera.replace(" or ", ",").split(",") if part.strip())
    share = optional_number(confidence, "confidence")
    share = None if share is None else share / 100
    kept = visit.do(answer_reading, AnswerReading(request_id, names, share, note))
    return visit.go(f"/colonies/{kept.colony}")
