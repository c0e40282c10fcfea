"""Reports to hand out: of a survey, of an observer and of the reference, as PDF or as a page."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from corallum.actions.observer_report import observer_report
from corallum.actions.people import get_person
from corallum.actions.reference_report import ReferenceQuestion, reference_report
from corallum.actions.references import check_region
from corallum.actions.survey_findings import SurveyQuestion
from corallum.actions.survey_plans import list_surveys
from corallum.actions.survey_report import survey_report
from corallum.errors import Fault, InputError, NotFoundError
from corallum.report.report import Report
from corallum.report.report_html import report_html
from corallum.report.report_pdf import report_pdf
from corallum.store.programme import Programme
from corallum.web.downloads import HTML, PDF, attached
from corallum.web.forms import optional_number
from corallum.web.long_work import make_once
from corallum.web.observers import check_may_see
from corallum.web.results import survey_name
from corallum.web.results_files import file_name
from corallum.web.results_kept import kept
from corallum.web.visit import Visit, Visited

__all__ = ["WAYS", "router"]

router = APIRouter()

Short = Annotated[str, Query(max_length=200)]
WAYS = ("genus", "family")
_FALL = 0.2


def _sent(report: Report, ending: str, name: str, made: datetime) -> Response:
    """Send a report in the form of an ending."""
    if ending == "pdf":
        return attached(report_pdf(report, made), PDF, f"{name}.pdf")
    return attached(report_html(report).encode(), HTML, f"{name}.html")


def _form(ending: str) -> str:
    """Return the ending of a report's file.

    Raises
    ------
    NotFoundError
        Where there is none of that ending.
    """
    if ending not in ("pdf", "html"):
        raise NotFoundError("report that ends in", ending)
    return ending


@router.get("/results/{survey}/report.{ending}")
def of_survey(  # noqa: PLR0913, PLR0917  one for each field of the question
    visit: Visited, survey: str, ending: str, by: Short = "genus", errors: Short = "0",
    against: Short = "", fall: Short = "",
) -> Response:  # fmt: skip
    """Hand out the report of a survey, asked as its page is."""
    ending, name = _form(ending), survey_name(visit, survey)
    question = SurveyQuestion(
        survey, _earlier(visit, against), _way(by), _fall(fall), errors == "1"
    )
    now = visit.now
    report = kept(
        visit, ("report", question, now.date()),
        lambda: survey_report(visit.programme, question, now),
    )  # fmt: skip
    return _sent(report, ending, file_name(name, "report"), now)


def _way(by: str) -> str:
    """Read what figures are given of."""
    if by not in WAYS:
        found = repr(by)[:40]
        raise InputError([Fault("report", "by", "genus or family", found, "Choose one.")])
    return by


def _fall(text: str) -> float:
    """Read what counts as a decline."""
    percent = optional_number(text, "decline")
    if percent is None:
        return _FALL
    if not 0 <= percent < 100:
        found, remedy = repr(text)[:40], "Write 20 for a fifth."
        raise InputError([Fault("report", "decline", "0 to 99 percent", found, remedy)])
    return percent / 100


def _earlier(visit: Visit, survey: str) -> str | None:
    """Return the survey to compare with; None is the one that was followed."""
    if survey and all(card.event.id != survey for card in list_surveys(visit.programme)):
        raise NotFoundError("survey", survey)
    return survey or None


@router.get("/observers/{person}/report.{ending}")
def of_observer(visit: Visited, person: str, ending: str) -> Response:
    """Hand out the report of an observer to those who may see it."""
    ending, found = _form(ending), get_person(visit.programme, person)
    check_may_see(visit, found.id)
    now = visit.now
    return _sent(
        observer_report(visit.programme, found, now), ending, file_name(found.name, "report"), now
    )


Asked = tuple[str, str, datetime]


@router.get("/genera/report.{ending}")
def of_reference(visit: Visited, ending: str, region: Short = "") -> Response:
    """Hand out the report of the reference, which simulates for some seconds."""
    ending = _form(ending)
    check_region(region or None)
    day = visit.now.replace(hour=0, minute=0, second=0, microsecond=0)
    made = make_once(visit, reference_file, (ending, region, day))
    name = file_name("reference", region, "report")
    return attached(made, PDF if ending == "pdf" else HTML, f"{name}.{ending}")


def reference_file(programme: Programme, asked: Asked) -> bytes:
    """Make the report of the reference: ending, region and day."""
    ending, region, day = asked
    report = reference_report(programme, ReferenceQuestion(region or None), day)
    return report_pdf(report, day) if ending == "pdf" else report_html(report).encode()
