"""Photo points: add photos of a transect, name its points one at a time, make the slate."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, File, Form, Query, UploadFile
from fastapi.responses import Response
from pydantic import BaseModel, Field

from corallum.actions.photo_points import (
    AddFrame,
    FinishPoints,
    FramePoint,
    NamePoint,
    PointWork,
    add_frame,
    finish_points,
    name_point,
    point_work,
)
from corallum.actions.photo_records import get_photo
from corallum.actions.slates import resolver_of
from corallum.actions.survey_plans import get_survey
from corallum.errors import Fault, InputError
from corallum.web.close_up import ZOOMS, close_up
from corallum.web.colony import read_day
from corallum.web.forms import optional_number
from corallum.web.refusals import REFUSED, lines_of
from corallum.web.visit import Visit, Visited

__all__ = ["router"]

router = APIRouter()

Asked = Annotated[str, Query(max_length=20)]
Short = Annotated[str, Field(max_length=200)]
_MOST_NAMED = 100


class PointForm(BaseModel):
    """The name of one point."""

    frame: Short = ""
    point: Short = ""
    said: Short = ""
    zoom: Short = "middle"


class FinishForm(BaseModel):
    """What stands on the slate besides the points."""

    depth: Short = ""
    date: Short = ""
    note: Annotated[str, Field(max_length=4000)] = ""


@router.get("/transects/{transect}/points")
def points(
    visit: Visited, transect: str, at: Asked = "", zoom: Asked = "middle", page: Asked = "1"
) -> Response:
    """Show the next point without a name, or the point with the number that is asked for."""
    return _show(visit, transect, at, PointForm(zoom=zoom), [], page=page)


def _show(  # noqa: PLR0913  what was sent, and what is wrong with it
    visit: Visit,
    transect: str,
    at: str,
    typed: PointForm,
    faults: list[str],
    *,
    finish: FinishForm | None = None,
    page: str = "1",
) -> Response:
    """Show one point, with what is wrong about what was sent."""
    work = point_work(visit.programme, transect, visit.person.id)
    view = get_survey(visit.programme, work.survey)
    number = _number(work, at)
    one = work.points[number - 1] if number else None
    shown = None
    if one is not None:
        shown = close_up(get_photo(visit.programme, one.photo), one.x, one.y, typed.zoom)
    pages = max(1, -(-len(work.points) // _MOST_NAMED))
    listed = int(min(max(optional_number(page, "page") or 1, 1), pages))
    return visit.page(
        "photo_points.html", 422 if faults else 200,
        work=work, view=view, transect=work.transect, number=number, one=one, shown=shown,
        typed=typed, faults=faults, zooms=tuple(ZOOMS), choices=_choices(visit, work),
        site=view.sites.get(work.transect.site or ""), finish=finish or _finish(visit, work),
        page=listed, pages=pages,
        named=list(enumerate(work.points, 1))[_MOST_NAMED * (listed - 1) : _MOST_NAMED * listed],
        standing=view.slates.get(work.transect.id, ()),
    )  # fmt: skip


def _number(work: PointWork, at: str) -> int:
    """Return the number of the point that is shown; 0 where all have a name and none is asked."""
    asked = int(min(max(optional_number(at, "point") or 0, 0), len(work.points)))
    if asked:
        return asked
    return next((i for i, one in enumerate(work.points, start=1) if not one.said), 0)


def _finish(visit: Visit, work: PointWork) -> FinishForm:
    """Fill in the day of the transect."""
    return FinishForm(date=(work.transect.date or visit.now.date()).isoformat())


def _choices(visit: Visit, work: PointWork) -> list[str]:
    """Return what may be typed, names that were met on this transect first."""
    met = dict.fromkeys(one.said for one in reversed(work.points) if one.said)
    return list(dict.fromkeys([*met, *resolver_of(visit.programme).choices]))


@router.post("/transects/{transect}/points")
def name(visit: Visited, transect: str, form: Annotated[PointForm, Form()]) -> Response:
    """Keep the name of a point, and go on to the next."""
    try:
        frame, point = optional_number(form.frame, "frame"), optional_number(form.point, "point")
        command = NamePoint(transect, int(frame or 0), int(point or 0), form.said)
        visit.do(name_point, command)
    except REFUSED as error:
        work = point_work(visit.programme, transect, visit.person.id)
        return _show(visit, transect, _place(work.points, form), form, lines_of(error))
    zoom = f"?zoom={form.zoom}" if form.zoom in ZOOMS and form.zoom != "middle" else ""
    return visit.go(f"/transects/{transect}/points{zoom}")


def _place(points_: tuple[FramePoint, ...], form: PointForm) -> str:
    """Return the number of the point that a form is about."""
    for number, one in enumerate(points_, start=1):
        if (str(one.frame), str(one.point)) == (form.frame, form.point):
            return str(number)
    return ""


@router.post("/transects/{transect}/photos")
def photos(
    visit: Visited,
    transect: str,
    photo: Annotated[list[UploadFile], File()] = [],  # noqa: B006  copied by the framework
) -> Response:
    """Add photos in the order of their names; one that can't be kept leaves the others."""
    files = sorted((one for one in photo if one.size), key=lambda one: one.filename or "")
    faults = []
    try:
        if not files:
            raise InputError([Fault("photo", "", "a photo", "no file", "Choose one.")])
        for number, one in enumerate(files, start=1):
            try:
                visit.do(add_frame, AddFrame(transect, one.file.read()))
            except REFUSED as error:
                faults += [f"Photo {number} of {len(files)}: {line}" for line in lines_of(error)]
    except REFUSED as error:
        faults = lines_of(error)
    if faults:
        return _show(visit, transect, "", PointForm(), faults)
    return visit.go(f"/transects/{transect}/points")


@router.post("/transects/{transect}/finish")
def finish(visit: Visited, transect: str, form: Annotated[FinishForm, Form()]) -> Response:
    """Make the slate of the points that were named."""
    try:
        depth, day = optional_number(form.depth, "depth"), read_day(form.date)
        slate = visit.do(finish_points, FinishPoints(transect, depth, day, form.note))
    except REFUSED as error:
        return _show(visit, transect, "", PointForm(), lines_of(error), finish=form)
    return visit.go(f"/slates/{slate.history}")
