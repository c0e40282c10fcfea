"""The photo page: mark the scale, measure by hand or by program, put it into the evidence."""

from __future__ import annotations

import json
from typing import Annotated, Any

from fastapi import APIRouter, Form
from fastapi.responses import Response
from pydantic import BaseModel, Field

from corallum.actions.colonies import get_colony
from corallum.actions.colony_photos import AddMeasurement, add_measurement, photo_file
from corallum.actions.people import list_people
from corallum.actions.photo_measuring import (
    MarkedPhoto,
    MarkedScale,
    PhotoSizes,
    Size,
    measure_marks,
)
from corallum.actions.programme_reference import programme_library
from corallum.errors import Fault, InputError, NotAllowedError, NotFoundError
from corallum.records.colony_record import ColonyPhoto, ColonyRecord
from corallum.records.programme import Role
from corallum.web.characters import scheme_shown
from corallum.web.forms import optional_number, read_points, wanted_number
from corallum.web.visit import Visit, Visited

__all__ = ["router"]

router = APIRouter()

# Which characters a measured size may answer.
_ANSWERS = {
    "width": (
        "calice_diameter_mm", "corallite_diameter_mm", "valley_width_mm", "tooth_height_mm",
    ),
    "spacing": ("corallite_spacing_mm",),
    "calice": ("calice_diameter_mm",),
    "valley": ("valley_width_mm",),
}  # fmt: skip
_SAYS = {"width": "Width", "spacing": "Between neighbouring centres", "calice": "Across a calice",
         "valley": "Across a valley"}  # fmt: skip
_MOST_MARKS = 2000


class Marks(BaseModel):
    """What was marked on a photo, as the form holds it."""

    scale_kind: str = Field(default="ruler", max_length=20)
    scale_points: str = Field(default="", max_length=20_000)
    first: str = Field(default="", max_length=20)
    second: str = Field(default="", max_length=20)
    task: str = Field(default="program", max_length=20)
    points: str = Field(default="", max_length=200_000)
    region: str = Field(default="", max_length=20_000)
    character: str = Field(default="", max_length=60)
    kind: str = Field(default="", max_length=20)


Marked = Annotated[Marks, Form()]


def _found(visit: Visit, colony: str, sha256: str) -> tuple[ColonyRecord, ColonyPhoto]:
    """Return a colony and one of its photos."""
    record = get_colony(visit.programme, colony)
    photo = next((one for one in record.photos if one.photo.sha256 == sha256), None)
    if photo is None:
        raise NotFoundError("photo of this colony", sha256)
    return record, photo


@router.get("/colonies/{colony}/photos/{sha256}")
def show(visit: Visited, colony: str, sha256: str) -> Response:
    """Show a photo to measure on."""
    record, photo = _found(visit, colony, sha256)
    return visit.page(
        "photo.html", colony=record, one=photo, photo=photo.photo, sizes=None, marks=Marks(),
        measured=[item for item in record.measurements if item.photo == sha256],
        people={person.id: person.name for person in list_people(visit.programme)},
        shown=scheme_shown(programme_library(visit.programme)),
        answers=_ANSWERS, says=_SAYS, found="[]", problem="",
    )  # fmt: skip


@router.post("/colonies/{colony}/photos/{sha256}/measure")
def measure(visit: Visited, colony: str, sha256: str, marks: Marked) -> Response:
    """Measure what was marked; nothing is kept yet."""
    record, photo = _found(visit, colony, sha256)
    sizes = _measured(visit, photo, marks)
    context: dict[str, Any] = {
        "colony": record, "one": photo, "photo": photo.photo, "sizes": sizes, "marks": marks,
        "shown": scheme_shown(programme_library(visit.programme)), "answers": _ANSWERS,
        "says": _SAYS, "found": json.dumps(sizes.centres.round(1).tolist()), "problem": "",
        "people": {person.id: person.name for person in list_people(visit.programme)},
        "measured": [item for item in record.measurements if item.photo == sha256],
    }  # fmt: skip
    return visit.page("photo_sizes.html" if visit.partial else "photo.html", **context)


def _measured(visit: Visit, photo: ColonyPhoto, marks: Marks) -> PhotoSizes:
    """Read the form and measure."""
    if not visit.may("observer"):
        raise NotAllowedError(visit.person.role, "measure photos", Role.OBSERVER)
    scale = MarkedScale(
        marks.scale_kind,
        read_points(marks.scale_points, "scale"),
        wanted_number(marks.first, "size of the scale"),
        optional_number(marks.second, "height of the rectangle") or 0.0,
    )
    marked = MarkedPhoto(
        marks.task, read_points(marks.points, "points"), read_points(marks.region, "region")
    )
    path = photo_file(visit.programme, photo.photo.sha256, "original").path
    return measure_marks(path, (photo.photo.width, photo.photo.height), scale, marked)


@router.post("/colonies/{colony}/photos/{sha256}/keep")
def keep(visit: Visited, colony: str, sha256: str, marks: Marked) -> Response:
    """Measure again from the same marks and put the size into the evidence."""
    _, photo = _found(visit, colony, sha256)
    sizes = _measured(visit, photo, marks)
    size = next((one for one in sizes.sizes if one.kind == marks.kind), None)
    if size is None or marks.character not in _ANSWERS.get(size.kind, ()):
        fault = Fault("measurement", "", "a size that was measured", marks.kind[:40], "Measure it.")
        raise InputError([fault])
    visit.do(add_measurement, _command(colony, sha256, marks, sizes, size))
    return visit.go(f"/colonies/{colony}")


def _command(
    colony: str, sha256: str, marks: Marks, sizes: PhotoSizes, size: Size
) -> AddMeasurement:
    """Build the measurement to keep."""
    drawn = {
        "scale": marks.scale_kind, "scale_points": read_points(marks.scale_points, "").tolist(),
        "first": marks.first, "second": marks.second, "task": marks.task,
        "points": read_points(marks.points, "").tolist(),
        "region": read_points(marks.region, "").tolist(),
        "centres": sizes.centres[:_MOST_MARKS].round(1).tolist(),
    }  # fmt: skip
    return AddMeasurement(
        colony, sha256, marks.character, size.value, n=size.n,
        low=min(size.low, size.value), high=max(size.high, size.value),
        by="program" if marks.task == "program" else "hand",
        mm_per_pixel=sizes.mm_per_pixel, relative=min(sizes.relative, 0.5), marks=drawn,
    )  # fmt: skip
