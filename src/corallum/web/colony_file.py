"""What is done with a colony's record: name, note, place, keep, hand on, override, photos."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, File, Form, UploadFile
from fastapi.responses import Response

from corallum.actions.colonies import (
    AddNote,
    NameColony,
    PlaceColony,
    add_note,
    get_colony,
    name_colony,
    place_colony,
)
from corallum.actions.colony_answers import (
    Override,
    SaveDetermination,
    override_determination,
    save_determination,
)
from corallum.actions.colony_photos import AttachPhoto, attach_photo
from corallum.actions.second_opinions import AskReading, SendVoucher, ask_reading, send_voucher
from corallum.errors import Fault, InputError
from corallum.web.colony import read_day, show_colony
from corallum.web.forms import optional_text
from corallum.web.visit import Visit, Visited

__all__ = ["router"]

router = APIRouter()

Text = Annotated[str, Form(max_length=5000)]
Short = Annotated[str, Form(max_length=300)]


def _again(visit: Visit, colony: str, said: str) -> Response:
    """Show the colony as it stands after a change that returns something else."""
    return show_colony(visit, get_colony(visit.programme, colony), said)


@router.post("/colonies/{colony}/name")
def name(visit: Visited, colony: str, name: Short = "") -> Response:
    """Name a colony."""
    return show_colony(visit, visit.do(name_colony, NameColony(colony, name)), "Name kept.")


@router.post("/colonies/{colony}/note")
def note(visit: Visited, colony: str, text: Text = "") -> Response:
    """Add a note."""
    return show_colony(visit, visit.do(add_note, AddNote(colony, text)), "Note kept.")


@router.post("/colonies/{colony}/place")
def place(visit: Visited, colony: str, site: Short = "", seen_on: Short = "") -> Response:
    """Say where and when it was seen."""
    command = PlaceColony(colony, site=optional_text(site), seen_on=read_day(seen_on))
    return show_colony(visit, visit.do(place_colony, command), "Place kept.")


@router.post("/colonies/{colony}/keep")
def keep(visit: Visited, colony: str) -> Response:
    """Keep what the model says now, dated and signed."""
    kept = visit.do(save_determination, SaveDetermination(colony))
    return _again(visit, colony, f"Kept: {kept.name}.")


@router.post("/colonies/{colony}/override")
def override(visit: Visited, colony: str, genus: Short = "", reason: Text = "") -> Response:
    """Name it as a lead, with the reason."""
    kept = visit.do(override_determination, Override(colony, genus, reason))
    return _again(visit, colony, f"Kept: {kept.name}, as you say.")


@router.post("/colonies/{colony}/second-reader")
def second_reader(visit: Visited, colony: str, question: Text = "", of: Short = "") -> Response:
    """Send it to a second reader."""
    visit.do(ask_reading, AskReading(colony, question, optional_text(of)))
    return _again(visit, colony, "Sent to a second reader.")


@router.post("/colonies/{colony}/voucher")
def voucher(
    visit: Visited,
    colony: str,
    permit: Short = "",
    label: Short = "",
    held_by: Short = "",
    note: Text = "",
) -> Response:
    """Say that a sample was taken under a permit."""
    visit.do(send_voucher, SendVoucher(colony, permit, label, held_by, note))
    return _again(visit, colony, "Voucher kept.")


@router.post("/colonies/{colony}/photos")
def photos(
    visit: Visited,
    colony: str,
    photo: Annotated[list[UploadFile], File()] = [],  # noqa: B006  copied by the framework
    caption: Short = "",
) -> Response:
    """Add photos; each is checked by what is in it, and its name is never used."""
    files = [one for one in photo if one.size]
    if not files:
        raise InputError([Fault("photo", "", "a photo", "no file", "Choose one.")])
    for one in files:
        visit.do(attach_photo, AttachPhoto(colony, one.file.read(), caption))
    many = "Photo added." if len(files) == 1 else f"{len(files)} photos added."
    return _again(visit, colony, many)
