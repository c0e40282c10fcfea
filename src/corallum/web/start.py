"""The start page: what waits, and a record to start."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from corallum.actions.second_opinions import waiting_readings
from corallum.actions.waiting import waiting_work
from corallum.web.visit import Visited

__all__ = ["router"]

router = APIRouter()

_SHOWN = 6


@router.get("/")
def start(visit: Visited) -> Response:
    """Say what waits."""
    waiting = waiting_work(visit.programme, visit.now)
    return visit.page(
        "start.html",
        waiting=waiting,
        readings=waiting_readings(visit.programme, _SHOWN),
        shown=_SHOWN,
    )
