"""Dive sheets: one transect a sheet, to be printed and written on in the water."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from corallum.actions.recording_sheets import MakeRecordingSheets, make_recording_sheets
from corallum.actions.survey_plans import SurveyView, get_survey
from corallum.actions.unit_of_work import check_choice
from corallum.errors import ConflictError, InputError
from corallum.records.programme import Event
from corallum.records.survey import Effort, Method
from corallum.report.recording_sheet import COLUMNS
from corallum.web.downloads import PDF, attached, for_a_page
from corallum.web.field_paper import PAPER_WORDS
from corallum.web.forms import optional_number
from corallum.web.results_files import file_name
from corallum.web.survey_plan_form import EFFORT_WORDS, EFFORTS
from corallum.web.visit import Visited

__all__ = ["router"]

router = APIRouter()

Asked = Annotated[str, Query(max_length=20)]
_A_PAGE = 40
# Ruled lines that fit on a sheet of A4 under its head, at a height that a pencil needs.
_RULED = 22
_OTHERS = (
    "sand", "rock", "rubble", "turf algae", "macroalgae", "coralline algae", "soft coral",
    "sponge", "recently dead coral", "old dead coral", "unreadable",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Sheet:
    """One transect on paper."""

    transect: Event
    site: str
    stratum: str


@router.get("/surveys/{survey_id}/sheets")
def sheets(
    visit: Visited, survey_id: str, site: Asked = "", which: Asked = "left", page: Asked = "1"
) -> Response:
    """Show the sheets of transects that have no slate yet, or of all."""
    view = get_survey(visit.programme, survey_id)
    found = [
        one for one in _sheets(view)
        if (not site or one.transect.site == site)
        and (which == "all" or one.transect.id not in view.slates)
    ]  # fmt: skip
    pages = max(1, -(-len(found) // _A_PAGE))
    at = int(min(max(optional_number(page, "page") or 1, 1), pages))
    return visit.page(
        "dive_sheets.html",
        view=view, sheets=found[_A_PAGE * (at - 1) : _A_PAGE * at], all=len(found),
        page=at, pages=pages, site=site, which=which, columns=COLUMNS[view.plan.method],
        effort=effort_words(view.plan.method, view.plan.effort), ruled=range(_RULED),
        sites=[view.sites[one] for stratum in view.plan.strata for one in stratum.sites],
        names=_OTHERS, papers=PAPER_WORDS,
    )  # fmt: skip


@router.get("/surveys/{survey_id}/sheets/recording.pdf")
def recording(
    visit: Visited, survey_id: str, paper: Asked = "a4", which: Asked = "left"
) -> Response:
    """Hand out the sheets as a PDF."""
    view = get_survey(visit.programme, survey_id)
    check_choice(paper, "paper", tuple(PAPER_WORDS))
    again = check_choice(which, "transects", ("left", "all")) == "all"
    if not again and all(one.id in view.slates for one in view.transects):
        raise ConflictError("every transect has a slate. Go back and choose all transects.")
    command = MakeRecordingSheets(survey=survey_id, paper=paper, again=again)
    try:
        made = make_recording_sheets(visit.programme, command, visit.now)
    except InputError as error:
        raise for_a_page(error) from error
    return attached(made.pdf, PDF, f"{file_name(view.event.name, 'sheets', paper)}.pdf")


def _sheets(view: SurveyView) -> list[Sheet]:
    """Return a sheet for each transect, as the plan lists their sites."""
    strata = {site: stratum.name for stratum in view.plan.strata for site in stratum.sites}
    place = {site: i for i, site in enumerate(strata)}
    names = {id_: site.name for id_, site in view.sites.items()}
    return [
        Sheet(one, names.get(one.site or "", ""), strata.get(one.site or "", ""))
        for one in sorted(view.transects, key=lambda one: place.get(one.site or "", len(place)))
    ]


def effort_words(method: Method, effort: Effort) -> str:
    """Say what is searched on one transect."""
    found = [(EFFORT_WORDS[name], getattr(effort, name)) for name in EFFORTS[method]]
    return "; ".join(f"{text}: {value:g}" for text, value in found if value is not None)
