"""On paper and on a phone: what is carried into the water, made from the reference here."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import Response

from corallum.actions.field_sheets import MakeFieldSheet, make_field_sheet
from corallum.actions.phone_sheet import phone_sheet
from corallum.actions.practice_sheets import MakePracticeSheets, make_practice_sheets
from corallum.actions.unit_of_work import check_choice
from corallum.errors import ConflictError, Fault, InputError
from corallum.reference.genera import REGIONS
from corallum.report.paper import PAPERS
from corallum.store.programme import Programme
from corallum.web.downloads import HTML, PDF, attached, for_a_page
from corallum.web.forms import wanted_number
from corallum.web.long_work import make_once
from corallum.web.refusals import REFUSED, lines_of
from corallum.web.results_files import file_name
from corallum.web.visit import Visit, Visited

__all__ = ["PAPER_WORDS", "router"]

router = APIRouter()

Short = Annotated[str, Form(max_length=60)]
PAPER_WORDS = {"a4": "A4", "a5": "A5", "letter": "letter"}
_MOST_PAGES, _MOST_ITEMS = 4, 60
# Half those of the command, which halves the time.
_COLONIES = 1000


@dataclass(frozen=True, slots=True)
class Typed:
    """What was asked for."""

    region: str
    paper: str = "a4"
    pages: str = "2"
    items: str = "12"
    answers: bool = True


def _home(visit: Visit) -> str:
    """Return the region of the programme."""
    return visit.programme.settings.regions[0]


@router.get("/genera/paper")
def offer(visit: Visited) -> Response:
    """Offer what is carried into the water."""
    return _show(visit, Typed(_home(visit)), [])


def _show(visit: Visit, typed: Typed, faults: list[str], status: int = 200) -> Response:
    """Show the forms as they were filled, with what is wrong."""
    return visit.page(
        "field_paper.html", status,
        typed=typed, faults=faults, regions=REGIONS, papers=PAPER_WORDS,
        page_counts=[str(n + 1) for n in range(_MOST_PAGES)],
    )  # fmt: skip


def _whole(text: str, place: str, most: int) -> int:
    """Read a whole number from 1 on."""
    value = wanted_number(text, place)
    if value != int(value) or not 1 <= value <= most:
        expected = f"a whole number from 1 to {most}"
        raise InputError([Fault(place, "", expected, repr(text)[:40], "Mend it.")])
    return int(value)


@router.post("/genera/paper/sheet")
def sheet(visit: Visited, region: Short = "", paper: Short = "a4", pages: Short = "2") -> Response:
    """Make a field sheet of genera, which takes about half a minute."""
    typed = Typed(region or _home(visit), paper, pages)
    try:
        command = MakeFieldSheet(
            check_choice(typed.region, "region", REGIONS),
            check_choice(paper, "paper", tuple(PAPERS)), _whole(pages, "pages", _MOST_PAGES),
            colonies=_COLONIES,
        )  # fmt: skip
        made = make_once(visit, field_sheet_file, (command, _day(visit)))
    except REFUSED as error:
        return _refused(visit, typed, error)
    return attached(made, PDF, f"{file_name('genera', typed.region, paper)}.pdf")


def _day(visit: Visit) -> datetime:
    """Return the beginning of this day, so that the same wish has the same file all day."""
    return visit.now.replace(hour=0, minute=0, second=0, microsecond=0)


def _refused(visit: Visit, typed: Typed, error: Exception) -> Response:
    """Show what is wrong beside what was asked."""
    if isinstance(error, InputError):
        return _show(visit, typed, lines_of(for_a_page(error)), 422)
    busy = isinstance(error, ConflictError)
    return _show(visit, typed, [str(error)], 409 if busy else 422)


def field_sheet_file(programme: Programme, asked: tuple[MakeFieldSheet, datetime]) -> bytes:
    """Make a field sheet: what is wished, and the day."""
    return make_field_sheet(programme, *asked).pdf


@router.post("/genera/paper/practice")
def practice(
    visit: Visited, region: Short = "", paper: Short = "a4", items: Short = "12",
    answers: Short = "",
) -> Response:  # fmt: skip
    """Make drawn colonies to be named, other ones on every day."""
    typed = Typed(region or _home(visit), paper, items=items, answers=answers == "1")
    day = _day(visit)
    try:
        command = MakePracticeSheets(
            check_choice(typed.region, "region", REGIONS), _whole(items, "colonies", _MOST_ITEMS),
            paper=check_choice(paper, "paper", tuple(PAPERS)), seed=day.toordinal(),
            answers=typed.answers,
        )  # fmt: skip
        made = make_once(visit, practice_file, (command, day))
    except REFUSED as error:
        return _refused(visit, typed, error)
    return attached(made, PDF, f"{file_name('practice', typed.region, day.date().isoformat())}.pdf")


def practice_file(programme: Programme, asked: tuple[MakePracticeSheets, datetime]) -> bytes:
    """Make practice sheets: what is wished, and the day."""
    return make_practice_sheets(programme, *asked).pdf


@router.get("/genera/paper/phone")
def phone(visit: Visited) -> Response:
    """Hand out the page for a phone."""
    name = file_name(visit.programme.settings.name, "phone")
    return attached(phone_sheet(visit.programme).encode(), HTML, f"{name}.html")
