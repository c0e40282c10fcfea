"""The list of colonies, with filters and pages."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from fastapi.responses import Response

from corallum.actions.colonies import ColonyFilter, list_colonies
from corallum.actions.places import list_sites
from corallum.records.colony_record import STATUSES
from corallum.web.colony import read_day
from corallum.web.forms import optional_number, optional_text
from corallum.web.visit import Visited

__all__ = ["router"]

router = APIRouter()

Short = Annotated[str, Query(max_length=200)]


@router.get("/colonies")
def colonies(  # noqa: PLR0913, PLR0917  one for each filter
    visit: Visited,
    genus: Short = "",
    status: Short = "",
    site: Short = "",
    since: Short = "",
    until: Short = "",
    text: Short = "",
    waits: Short = "",
    event: Short = "",
    page: Short = "1",
) -> Response:
    """List colonies, those seen last first."""
    asked = {
        "genus": genus.strip(), "status": status, "site": site, "since": since, "until": until,
        "text": text.strip(), "waits": waits, "event": event,
    }  # fmt: skip
    wanted = ColonyFilter(
        genus=optional_text(genus),
        status=optional_text(status),
        site=optional_text(site),
        event=optional_text(event),
        since=read_day(since),
        until=read_day(until),
        text=optional_text(text),
        waits=optional_text(waits),
        page=int(optional_number(page, "page") or 1),
    )
    kept = urlencode({key: value for key, value in asked.items() if value})
    return visit.page(
        "records.html",
        found=list_colonies(visit.programme, wanted),
        asked=asked,
        sites=list_sites(visit.programme),
        statuses=STATUSES,
        url=f"/colonies?{kept}{'&' if kept else ''}",
    )
