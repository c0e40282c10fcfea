"""Make sheets to write transects on: blank, or for the transects of a planned survey."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from corallum.errors import ConflictError, Fault, InputError
from corallum.records.survey import Method
from corallum.report.paper import paper_called
from corallum.report.recording_sheet import (
    PlannedTransect,
    RecordingSheets,
    blank_sheet,
    planned_sheets,
    set_recording_sheets,
)

if TYPE_CHECKING:
    from corallum.actions.survey_plans import SurveyView
    from corallum.store.programme import Programme

__all__ = ["MadeRecordingSheets", "MakeRecordingSheets", "make_recording_sheets"]

_MOST_PAGES = 1000


@dataclass(frozen=True, slots=True)
class MakeRecordingSheets:
    """Sheets of a method, or of a planned survey; ``again`` for transects with a slate too."""

    method: str = ""
    survey: str = ""
    paper: str = "a4"
    again: bool = False


@dataclass(frozen=True, slots=True)
class MadeRecordingSheets:
    """Sheets, and their PDF; ``transects`` is 0 where they are blank."""

    sheets: RecordingSheets
    transects: int
    pdf: bytes


def make_recording_sheets(
    programme: Programme | None, command: MakeRecordingSheets, now: datetime
) -> MadeRecordingSheets:
    """Make sheets to write on.

    Parameters
    ----------
    programme : Programme or None
        Whose survey it is; None makes a blank one.
    command : MakeRecordingSheets
        What is wished.
    now : datetime
        Moment written into the file.

    Raises
    ------
    InputError
        Where neither a method nor a survey is named, or one that there is not.
    ConflictError
        Where no transect is left to be dived.
    """
    paper = paper_called(command.paper)
    if command.survey:
        sheets, transects = _planned(programme, command)
    else:
        known = tuple(one.value for one in Method)
        if command.method not in known:
            found = repr(command.method)[:40] if command.method else "none, and no --survey"
            expected = f"one of {', '.join(known)}"
            raise InputError([Fault("--method", "", expected, found, "Use one of these.")])
        title = "" if programme is None else programme.settings.name
        sheets, transects = blank_sheet(Method(command.method), paper, title), 0
    return MadeRecordingSheets(sheets, transects, set_recording_sheets(sheets, now))


def _planned(
    programme: Programme | None, command: MakeRecordingSheets
) -> tuple[RecordingSheets, int]:
    """Make the sheets of a planned survey."""
    from corallum.actions.survey_plans import find_survey, get_survey  # noqa: PLC0415  slow

    if programme is None:
        fault = Fault("--survey", "", "a programme that planned it", "none", "Name its folder.")
        raise InputError([fault])
    view = get_survey(programme, find_survey(programme, command.survey))
    method = view.plan.method
    if command.method not in ("", method.value):
        expected = f"{method.value}, as the survey is planned"
        fault = Fault("--method", "", expected, repr(command.method)[:40], "Leave it out.")
        raise InputError([fault])
    transects = _transects(view, again=command.again)
    if not transects:
        message = f"every transect of {view.event.name!r} has a slate. Add --again to print all."
        raise ConflictError(message)
    paper = paper_called(command.paper)
    title = f"{programme.settings.name}, {view.event.name}"
    sheets = planned_sheets(method, paper, title, view.plan.effort, transects)
    if len(sheets.pages) > _MOST_PAGES:
        expected, found = f"at most {_MOST_PAGES} pages", str(len(sheets.pages))
        fault = Fault("--survey", "", expected, found, "Take a larger paper.")
        raise InputError([fault])
    return sheets, len(transects)


def _transects(view: SurveyView, *, again: bool) -> list[PlannedTransect]:
    """Return the transects to be dived, by stratum and site as the plan lists them."""
    strata = {site: stratum.name for stratum in view.plan.strata for site in stratum.sites}
    place = {site: i for i, site in enumerate(strata)}
    several = len(view.plan.strata) > 1
    found = []
    for one in sorted(view.transects, key=lambda each: place.get(each.site or "", len(place))):
        if one.id in view.slates and not again:
            continue
        site = view.sites.get(one.site or "")
        date = "" if one.date is None else f"{one.date.day} {one.date:%B %Y}"
        stratum = strata.get(one.site or "", "") if several else ""
        found.append(PlannedTransect("" if site is None else site.name, one.name, stratum, date))
    return found
