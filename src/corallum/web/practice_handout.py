"""A set shown to a room, on paper, or as one file: answers hidden first, then worked."""

from __future__ import annotations

import base64
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from corallum.actions.colony_photos import photo_file
from corallum.actions.practice_answers import worked_item_alone
from corallum.actions.practice_sets import get_set
from corallum.errors import ConflictError
from corallum.practice.item import Item
from corallum.practice.kept import PracticeSet
from corallum.practice.worked import Worked
from corallum.web.characters import Shown, scheme_shown
from corallum.web.forms import optional_number
from corallum.web.practice_item import told_of
from corallum.web.practice_pictures import draw_item, item_of
from corallum.web.templates import render
from corallum.web.visit import Visit, Visited

__all__ = ["router"]

router = APIRouter()

Short = Annotated[str, Query(max_length=20)]
_SECONDS = 60


@dataclass(frozen=True, slots=True)
class Slide:
    """One colony as it is handed out: ``decides`` are words for each look that decides."""

    number: int
    item: Item
    told: list[tuple[str, str]]
    picture: str
    worked: Worked
    decides: list[str]


def _open_set(visit: Visit, set_id: str) -> PracticeSet:
    """Return a set that may be shown; a test may not."""
    found = get_set(visit.programme, set_id)
    if found.purpose == "test":
        raise ConflictError("a test is taken by one person and is not handed out.")
    return found


def _slide(visit: Visit, found: PracticeSet, number: int, picture: str = "") -> Slide:
    """Make one slide."""
    item = item_of(found, number)
    worked = worked_item_alone(visit.programme, item)
    known = scheme_shown(visit.library)
    told = [(one.label, text) for one, text, _ in told_of(visit, item)]
    return Slide(number, item, told, picture, worked, _decides(known, item, worked))


def _decides(known: Mapping[str, Shown], item: Item, worked: Worked) -> list[str]:
    """Say in words what decides."""
    lines = []
    for entry in worked.decides:
        for id_ in (entry.character, *entry.with_):
            one = known.get(id_)
            if one is None or id_ not in item.shown:
                continue
            value = item.shown[id_]
            text = one.labels.get(value, value) if isinstance(value, str) else f"{value:.3g}"
            unit = "" if isinstance(value, str) else f" {one.unit}"
            lines.append(f"{one.label}: {text}{unit}")
    return lines[:4]


@router.get("/practice/{set_id}/show")
def projector(
    visit: Visited, set_id: str, item: Short = "1", seconds: Short = "", answers: Short = ""
) -> Response:
    """Show one colony to a room, with a clock; or, afterwards, its worked answer."""
    found = _open_set(visit, set_id)
    number = int(optional_number(item, "item") or 1)
    slide = _slide(visit, found, number)
    limit = int(optional_number(seconds, "seconds") or _SECONDS)
    return visit.page(
        "projector.html",
        set=found, slide=slide, number=number, seconds=min(max(limit, 5), 3600),
        answers=answers == "1", last=number == len(found.items),
    )  # fmt: skip


@router.get("/practice/{set_id}/paper")
def paper(visit: Visited, set_id: str, answers: Short = "") -> Response:
    """Show a set ready to be printed, with lines to write on, or its answers."""
    found = _open_set(visit, set_id)
    slides = [_slide(visit, found, i + 1) for i in range(len(found.items))]
    return visit.page("paper.html", set=found, slides=slides, answers=answers == "1")


@router.get("/practice/{set_id}/file")
def one_file(visit: Visited, set_id: str) -> Response:
    """Return a set as one page that opens anywhere."""
    found = _open_set(visit, set_id)
    slides = [
        _slide(visit, found, i + 1, _embedded(visit, found, item))
        for i, item in enumerate(found.items)
    ]
    text = render(
        "handout.html", set=found, slides=slides, programme=visit.programme, today=visit.now
    )
    name = re.sub(r"[^A-Za-z0-9]+", "-", found.title).strip("-").lower() or "practice"
    headers = {"Content-Disposition": f'attachment; filename="{name}.html"'}
    return Response(text.encode(), media_type="text/html", headers=headers)


def _embedded(visit: Visit, found: PracticeSet, item: Item) -> str:
    """Return a picture as part of the page."""
    if item.kind == "rendered":
        data, kind = draw_item(visit.programme, found, item).data, "image/jpeg"
    elif item.kind == "photo":
        file = photo_file(visit.programme, item.photo, "page")
        data, kind = file.path.read_bytes(), file.media_type
    else:
        return ""
    return f"data:{kind};base64,{base64.b64encode(data).decode()}"
