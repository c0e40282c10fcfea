"""Practice: what is due, the sets, and a set's items in order."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import Response

from corallum.actions.people import list_people
from corallum.actions.practice_answers import course_of
from corallum.actions.practice_needs import rank_needs
from corallum.actions.practice_sets import (
    AddDrawnItem,
    AddPhotoItem,
    CloseSet,
    MakeSet,
    MoveItem,
    NoteItem,
    RemoveItem,
    add_drawn_item,
    add_photo_item,
    close_set,
    list_sets,
    make_set,
    move_item,
    note_item,
    remove_item,
)
from corallum.errors import ConflictError
from corallum.practice.looks import PICTURED
from corallum.practice.sets import PURPOSES
from corallum.records.programme import Role
from corallum.web.forms import optional_number, optional_text
from corallum.web.visit import Visit, Visited

__all__ = ["router"]

router = APIRouter()

Short = Annotated[str, Form(max_length=200)]
Text = Annotated[str, Form(max_length=4000)]
_MOST_DUE = 12


@router.get("/practice")
def practice(visit: Visited) -> Response:
    """Show what is due for this person, and the sets."""
    region = visit.programme.settings.regions[0]
    ranked = rank_needs(visit.programme, visit.person.id, region, visit.now)
    due = [one for one in ranked if one.due is not None and one.due <= visit.now]
    later = sorted(one.due for one in ranked if one.due is not None and one.due > visit.now)
    sets = list_sets(visit.programme)
    courses = [course_of(visit.programme, one.id, visit.person.id) for one in sets if one.open]
    compiled = visit.library.compiled
    return visit.page(
        "practice.html",
        due=due,
        next_due=later[0] if later else None,
        mine=[one for one in courses if one.set.made_for in (None, visit.person.id)],
        others=[one for one in courses if one.set.made_for not in (None, visit.person.id)],
        closed=[one for one in sets if not one.open],
        purposes=PURPOSES,
        people=_observers(visit),
        genera=compiled.genera,
        characters=sorted(PICTURED),
    )


def _observers(visit: Visit) -> dict[str, str]:
    """Return the names of those who may answer."""
    return {
        one.id: one.name
        for one in list_people(visit.programme)
        if one.active and one.role.covers(Role.OBSERVER)
    }


@router.post("/practice")
def new_set(  # noqa: PLR0913, PLR0917  one for each field of the form
    visit: Visited,
    purpose: Short = "common",
    title: Short = "",
    size: Short = "12",
    genus_a: Short = "",
    genus_b: Short = "",
    character: Short = "",
    made_for: Short = "",
    described: Short = "0",
) -> Response:
    """Make a set."""
    genera = tuple(one.strip() for one in (genus_a, genus_b) if one.strip())
    if purpose not in ("pair", "mixed"):
        genera = ()
    command = MakeSet(
        title.strip() or _title(purpose, genera, character),
        purpose,
        size=int(optional_number(size, "items") or 0),
        genera=genera,
        character=character.strip() if purpose in ("character", "pair") else "",
        made_for=optional_text(made_for),
        described=(optional_number(described, "told in words") or 0.0) / 100,
    )
    made = visit.do(make_set, command)
    return visit.go(f"/practice/{made.id}")


def _title(purpose: str, genera: tuple[str, ...], character: str) -> str:
    """Name a set that nobody named."""
    if purpose == "pair" and genera:
        return " or ".join(genera)
    if purpose == "character" and character:
        return character.strip().replace("_", " ").removesuffix(" mm").capitalize()
    return PURPOSES.get(purpose, "Chosen by hand")


@router.get("/practice/{set_id}")
def one_set(visit: Visited, set_id: str) -> Response:
    """Show a set: how far this person is, and, to a lead, its items."""
    course = course_of(visit.programme, set_id, visit.person.id)
    if course.set.purpose == "test" and not visit.may("lead"):
        raise ConflictError("the items of a test are shown one at a time.")
    scores = [one.score for one in course.answers.values()]
    return visit.page(
        "practice_set.html",
        course=course,
        set=course.set,
        mean=sum(scores) / len(scores) if scores else None,
        right=sum(one.right for one in course.answers.values()),
        people=_observers(visit),
        genera=visit.library.compiled.genera,
    )


@router.post("/practice/{set_id}/open")
def set_open(visit: Visited, set_id: str, now: Short = "closed") -> Response:
    """Close a set, or open it again."""
    visit.do(close_set, CloseSet(set_id, now == "open"))
    return visit.go(f"/practice/{set_id}")


@router.post("/practice/{set_id}/add")
def add(
    visit: Visited, set_id: str, genus: Short = "", form: Short = "", note: Text = ""
) -> Response:
    """Add a drawn colony of a genus that a lead chose."""
    visit.do(add_drawn_item, AddDrawnItem(set_id, genus.strip(), form.strip(), note))
    return visit.go(f"/practice/{set_id}")


@router.post("/practice/{set_id}/add-photo")
def add_photo(visit: Visited, set_id: str, colony: Short = "", note: Text = "") -> Response:
    """Add the first photo of a settled colony, by the id in its address."""
    typed = colony.strip().rstrip("/").rpartition("/")[2]
    visit.do(add_photo_item, AddPhotoItem(set_id, typed, "", note))
    return visit.go(f"/practice/{set_id}")


@router.post("/practice/{set_id}/items/{number}/note")
def note(visit: Visited, set_id: str, number: int, note: Text = "") -> Response:
    """Write a teaching note."""
    visit.do(note_item, NoteItem(set_id, number - 1, note))
    return visit.go(f"/practice/{set_id}")


@router.post("/practice/{set_id}/items/{number}/move")
def move(visit: Visited, set_id: str, number: int, to: Short = "") -> Response:
    """Put an item elsewhere in the order."""
    place = int(optional_number(to, "place") or 0)
    visit.do(move_item, MoveItem(set_id, number - 1, place - 1))
    return visit.go(f"/practice/{set_id}")


@router.post("/practice/{set_id}/items/{number}/remove")
def remove(visit: Visited, set_id: str, number: int) -> Response:
    """Take an item out."""
    visit.do(remove_item, RemoveItem(set_id, number - 1))
    return visit.go(f"/practice/{set_id}")
