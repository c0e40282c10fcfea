"""Run all evidence again: first what would change, then the change."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import Response

from corallum.actions.programme_reference import reference_version
from corallum.actions.redetermination import (
    Redetermine,
    preview_redetermination,
    redetermine,
)
from corallum.errors import NotAllowedError
from corallum.records.programme import Role
from corallum.web.visit import Visited

__all__ = ["router"]

router = APIRouter()

_MOST = 500


@router.get("/programme/redetermine")
def ask(visit: Visited) -> Response:
    """Say what running everything again means."""
    return visit.page(
        "redetermine.html", result=None, done=False, most=_MOST,
        version=reference_version(visit.programme),
    )  # fmt: skip


@router.post("/programme/redetermine/preview")
def preview(visit: Visited) -> Response:
    """Show what would change; nothing is written."""
    if not visit.may("lead"):
        raise NotAllowedError(visit.person.role, "run all evidence again", Role.LEAD)
    found = preview_redetermination(visit.programme)
    return visit.page(
        "redetermine.html", result=found, done=False, most=_MOST, version=found.version
    )


@router.post("/programme/redetermine")
def apply(visit: Visited, hash: Annotated[str, Form(max_length=100)] = "") -> Response:  # noqa: A002
    """Keep the new answers as new determinations."""
    found = visit.do(redetermine, Redetermine(hash))
    return visit.page(
        "redetermine.html", result=found, done=True, most=_MOST, version=found.version
    )
