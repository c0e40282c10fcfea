"""One practice item: the colony, the answer, and the worked answer after it."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from corallum.actions.colony_answers import errors_of
from corallum.actions.people import get_person
from corallum.actions.practice_answers import (
    AnswerItem,
    Course,
    answer_item,
    course_of,
    worked_item,
)
from corallum.errors import ConflictError, NotAllowedError
from corallum.practice.item import Item
from corallum.practice.kept import PracticeSet
from corallum.practice.pointing import point_at
from corallum.practice.worked import Worked
from corallum.records.programme import Person, Role
from corallum.web.characters import Shown, scheme_shown
from corallum.web.forms import optional_number
from corallum.web.practice_pictures import HEIGHT, WIDTH, draw_item, item_of
from corallum.web.visit import Visit, Visited

__all__ = ["router", "told_of"]

router = APIRouter()

Asked = Annotated[str, Query(max_length=40)]
_KEEP = {"Cache-Control": "private, max-age=86400"}
# Asked of every item alike, so that the questions tell nothing of the answer.
ASKED = (
    "corallite_arrangement", "calice_diameter_mm", "valley_width_mm", "corallite_relief",
    "groove_between", "wall_crest", "septa_order", "septa_relief", "septal_teeth", "columella",
    "paliform_crown", "coenosteum_texture", "tissue", "living_colour",
)  # fmt: skip
SURE = ((50, "a guess"), (70, "rather"), (80, "quite"), (90, "very"), (99, "certain"))


@router.get("/practice/{set_id}/items/{number}/picture.jpg")
def picture(visit: Visited, set_id: str, number: int) -> Response:
    """Return the picture of an item: a drawing, and no photograph."""
    found = course_of(visit.programme, set_id, visit.person.id).set
    drawn = draw_item(visit.programme, found, item_of(found, number))
    return Response(drawn.data, media_type="image/jpeg", headers=_KEEP)


@router.get("/practice/{set_id}/items/{number}")
def show(visit: Visited, set_id: str, number: int, of: Asked = "") -> Response:
    """Show an item to be answered, or its worked answer.

    ``of`` is whose answer a lead enters from paper.
    """
    person = _person(visit, of)
    course = course_of(visit.programme, set_id, person.id)
    item = item_of(course.set, number)
    _check_turn(visit, course, number)
    kept = course.answers.get(number - 1)
    if kept is not None and course.set.purpose != "test":
        return _worked(visit, course, number, item)
    if kept is not None:
        return visit.go(f"/practice/{set_id}/go-on")
    asked = [*ASKED, item.ask] if item.ask and item.ask not in ASKED else list(ASKED)
    known = scheme_shown(visit.library)
    return visit.page(
        "practice_item.html",
        set=course.set, item=item, number=number, sure=SURE, told=told_of(visit, item),
        asked=[known[id_] for id_ in asked if id_ in known and id_ not in item.told],
        across=_across(visit, course.set, item), genera=visit.library.compiled.genera,
        of=of and person.id, of_name=person.name,
        asks=None if item.ask in item.told else known.get(item.ask),
    )  # fmt: skip


def _person(visit: Visit, of: str) -> Person:
    """Return whose answers are meant: one's own, or, to a lead, somebody else's."""
    if not of or of == visit.person.id:
        return visit.person
    if not visit.may("lead"):
        raise NotAllowedError(visit.person.role, "enter or see the answers of others", Role.LEAD)
    return get_person(visit.programme, of)


def _check_turn(visit: Visit, course: Course, number: int) -> None:
    """In a test an item shows only to its person, when its turn has come."""
    if course.set.purpose != "test" or visit.person.id != course.set.made_for:
        return
    if course.next is not None and number - 1 > course.next:
        raise ConflictError("the items of a test come one after the other. Go back to yours.")


def _across(visit: Visit, found: PracticeSet, item: Item) -> float | None:
    """Millimetres across a picture without a ruler, to judge sizes by."""
    if item.kind != "rendered" or item.ruler:
        return None
    return draw_item(visit.programme, found, item).across_mm


def told_of(visit: Visit, item: Item) -> list[tuple[Shown, str, str]]:
    """Return what is told in words: character, text, drawing."""
    known = scheme_shown(visit.library)
    told = []
    for id_ in item.told:
        if id_ not in known:
            continue
        one, value = known[id_], item.shown[id_]
        if isinstance(value, str):
            drawing = next((state.drawing for state in one.states if state.id == value), "")
            told.append((one, one.labels.get(value, value), drawing))
        else:
            told.append((one, f"{value:.2g} {one.unit}".strip(), ""))
    return told


@router.post("/practice/{set_id}/items/{number}")
async def answer(request: Request, visit: Visited, set_id: str, number: int) -> Response:
    """Keep an answer and show it worked."""
    form = await request.form(max_fields=200)
    typed = {key: str(value)[:400] for key, value in form.items()}
    command = read_command(typed, set_id, number - 1)
    kept = visit.do(answer_item, command)
    if kept.person != visit.person.id:
        return visit.go(f"/practice/{set_id}/go-on?of={kept.person}")
    return visit.go(
        f"/practice/{set_id}/go-on" if kept.qualification else f"/practice/{set_id}/items/{number}"
    )


def read_command(typed: dict[str, str], set_id: str, item: int) -> AnswerItem:
    """Read the form of an answer."""
    reports: dict[str, object] = {}
    for key, value in typed.items():
        id_ = key.removeprefix("look.")
        if id_ == key or not value.strip():
            continue
        if id_.endswith(("_mm", "_cm", "_m")) or id_ == "septa_count":
            size = optional_number(value, id_)
            if size is not None:
                reports[id_] = {"value": size, "method": "eye"}
        else:
            reports[id_] = value
    names = typed.get("genera", "").replace(" or ", ",").split(",")
    genera = tuple(one.strip() for one in names if one.strip())
    if typed.get("outside") == "1":
        genera = ()
    elif not genera:
        raise ConflictError("name a genus, or say that it is not in the reference.")
    sure = optional_number(typed.get("confidence", ""), "confidence")
    seconds = optional_number(typed.get("seconds", ""), "seconds")
    share = 0.8 if sure is None else sure / 100
    return AnswerItem(set_id, item, genera, share, reports, seconds, typed.get("of") or None)


@router.get("/practice/{set_id}/go-on")
def go_on(visit: Visited, set_id: str, of: Asked = "") -> Response:
    """Go to the next item, or back to the set where all are answered."""
    person = _person(visit, of)
    course = course_of(visit.programme, set_id, person.id)
    if course.set.purpose == "test":
        return visit.go(f"/observers/tests/{set_id}")
    if course.next is None:
        return visit.go(f"/practice/{set_id}")
    whose = f"?of={person.id}" if person.id != visit.person.id else ""
    return visit.go(f"/practice/{set_id}/items/{course.next + 1}{whose}")


@router.get("/practice/{set_id}/items/{number}/worked")
def worked(visit: Visited, set_id: str, number: int, of: Asked = "") -> Response:
    """Show the worked answer, to a lead also that of somebody else."""
    course = course_of(visit.programme, set_id, _person(visit, of).id)
    return _worked(visit, course, number, item_of(course.set, number))


def _worked(visit: Visit, course: Course, number: int, item: Item) -> Response:
    """Show the worked answer."""
    kept = course.answers.get(number - 1)
    if kept is None:
        raise ConflictError("this item is not answered yet.")
    errors = errors_of(visit.programme, kept.person)
    found = worked_item(visit.programme, item, kept, errors)
    return visit.page(
        "practice_worked.html",
        set=course.set, item=item, number=number, kept=kept, worked=found,
        left=len(course.set.items) - len(course.answers), told=told_of(visit, item),
        pointer=_pointer(visit, course.set, item, found), width=WIDTH, height=HEIGHT,
        **_words(visit, item, found),
    )  # fmt: skip


def _words(visit: Visit, item: Item, found: Worked) -> dict[str, Any]:
    """Return what decides, with the state that was there and its drawing."""
    known = scheme_shown(visit.library)
    decides = []
    for entry in found.decides:
        ids = [id_ for id_ in (entry.character, *entry.with_) if id_ in item.shown]
        lines = []
        for id_ in ids[:3]:
            value = item.shown[id_]
            one = known.get(id_)
            if one is None:
                continue
            text = one.labels.get(value, value) if isinstance(value, str) else f"{value:.3g}"
            drawing = next((state.drawing for state in one.states if state.id == value), "")
            lines.append((one, f"{text} {one.unit if not isinstance(value, str) else ''}", drawing))
        decides.append((entry, lines))
    top = max((abs(entry.value) for entry in found.decides), default=1.0)
    return {"decides": decides, "known": known, "top": top}


def _pointer(visit: Visit, found: PracticeSet, item: Item, worked: Worked) -> object:
    """Point at what decides most, of what the picture shows."""
    if item.kind != "rendered":
        return None
    for entry in worked.decides:
        for id_ in (entry.character, *entry.with_):
            if id_ in item.pictured:
                truth = draw_item(visit.programme, found, item).truth
                ring = point_at(truth, id_, WIDTH, HEIGHT)
                return None if ring is None else (ring, id_)
    return None
