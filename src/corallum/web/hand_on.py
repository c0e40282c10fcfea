"""Data to hand on: archives, a map and plain tables, for leads."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import Response
from pydantic import BaseModel, Field

from corallum.actions.export_colonies import ExportColonies, export_colonies
from corallum.actions.export_places import ExportPlaces, export_places
from corallum.actions.export_survey import ExportSurvey, export_survey
from corallum.actions.export_tables import ExportTables, export_tables
from corallum.actions.survey_plans import list_surveys
from corallum.actions.unit_of_work import check_choice, check_line
from corallum.errors import ConflictError, Fault, InputError, NotAllowedError, NotFoundError
from corallum.exchange.archive.eml import LICENCES
from corallum.exchange.coordinates import CoordinateRule, parse_coordinate_rule
from corallum.records.programme import Role
from corallum.web.downloads import attached, for_a_page, made_file
from corallum.web.refusals import REFUSED, lines_of
from corallum.web.results_files import file_name
from corallum.web.visit import Visit, Visited

__all__ = ["router"]

router = APIRouter()

# Of what data are handed on: the colonies or the whole programme, else the id of a survey.
_ALL = "all"
_POSITIONS = {
    "exact": "exact, as kept",
    "0.001": "to 0.001 degree, about 110 m",
    "0.01": "to 0.01 degree, about 1.1 km",
    "0.1": "to 0.1 degree, about 11 km",
    "1": "to a degree, about 110 km",
    "withheld": "withheld",
}
_PEOPLE = {"number": "as numbers", "name": "by name"}
_MOST_CREATORS = 50
_ZIP, _MAP = "application/zip", "application/geo+json"


class Wish(BaseModel):
    """What is to be handed on, and how; each form has some of it."""

    data: Annotated[str, Field(max_length=60)] = _ALL
    coordinates: Annotated[str, Field(max_length=20)] = "0.01"
    licence: Annotated[str, Field(max_length=40)] = ""
    creators: Annotated[str, Field(max_length=4000)] = ""
    photos: Annotated[str, Field(max_length=4)] = ""
    figures: Annotated[str, Field(max_length=4)] = ""
    people: Annotated[str, Field(max_length=20)] = "number"

    @property
    def survey(self) -> str:
        """Id of the survey, or nothing."""
        return "" if self.data == _ALL else self.data


Wished = Annotated[Wish, Form()]


def _check_lead(visit: Visit) -> None:
    """Let a lead hand data on, nobody else."""
    if not visit.may("lead"):
        raise NotAllowedError(visit.person.role, "hand data on", Role.LEAD)


@router.get("/programme/files")
def offer(visit: Visited, survey: Annotated[str, Query(max_length=60)] = "") -> Response:
    """Offer what can be handed on."""
    _check_lead(visit)
    wish = Wish(data=survey or _ALL)
    _name_of(visit, wish)
    return _show(visit, wish, [])


def _show(visit: Visit, wish: Wish, faults: list[str], status: int = 200) -> Response:
    """Show the forms as they were filled, with what is wrong."""
    return visit.page(
        "hand_on.html", status,
        wish=wish, faults=faults, all=_ALL, positions=_POSITIONS, licences=tuple(LICENCES),
        people_words=_PEOPLE,
        surveys=[card.event for card in list_surveys(visit.programme)],
    )  # fmt: skip


def _refused(visit: Visit, wish: Wish, error: Exception) -> Response:
    """Show what is wrong beside what was asked."""
    if isinstance(error, InputError):
        return _show(visit, wish, lines_of(for_a_page(error)), 422)
    return _show(visit, wish, [str(error)], 409 if isinstance(error, ConflictError) else 422)


def _name_of(visit: Visit, wish: Wish) -> str:
    """Return what the data are called.

    Raises
    ------
    NotFoundError
        Where there is no such survey.
    """
    if not wish.survey:
        return visit.programme.settings.name
    names = {card.event.id: card.event.name for card in list_surveys(visit.programme)}
    if wish.survey not in names:
        raise NotFoundError("survey", wish.survey)
    return names[wish.survey]


def _rule(wish: Wish) -> CoordinateRule:
    """Read how exactly positions are told."""
    return parse_coordinate_rule(check_choice(wish.coordinates, "positions", tuple(_POSITIONS)))


def _creators(text: str) -> tuple[str, ...]:
    """Read who is named, one a line."""
    lines = [line.strip() for line in text.replace("\r", "").split("\n") if line.strip()]
    if len(lines) > _MOST_CREATORS:
        expected, found = f"at most {_MOST_CREATORS} names", str(len(lines))
        raise InputError([Fault("who is named", "", expected, found, "Name a body instead.")])
    return tuple(check_line(line, "who is named") for line in lines)


@router.post("/programme/files/archive")
def archive(visit: Visited, wish: Wished) -> Response:
    """Hand out a survey, or the colonies, as an archive of Darwin Core."""
    _check_lead(visit)
    name = file_name(_name_of(visit, wish), "" if wish.survey else "colonies")
    try:
        rule, creators = _rule(wish), _creators(wish.creators)
        licence = check_choice(wish.licence, "licence", ("", *LICENCES))
        if wish.survey:
            return made_file(
                lambda target: export_survey(visit.programme, ExportSurvey(
                    wish.survey, target, rule, creators, licence,
                    estimates=wish.figures == "1", photos=wish.photos == "1",
                ), visit.now), _ZIP, f"{name}.zip",
            )  # fmt: skip
        photos = "small" if wish.photos == "1" else "none"
        return made_file(
            lambda target: export_colonies(visit.programme, ExportColonies(
                target, rule, creators, licence, photos,
            ), visit.now), _ZIP, f"{name}.zip",
        )  # fmt: skip
    except REFUSED as error:
        return _refused(visit, wish, error)


@router.post("/programme/files/map")
def on_a_map(visit: Visited, wish: Wished) -> Response:
    """Hand out the places of a survey, or of the programme, as GeoJSON."""
    _check_lead(visit)
    name = file_name(_name_of(visit, wish), "places")
    try:
        found = export_places(visit.programme, ExportPlaces(_rule(wish), survey=wish.survey))
    except REFUSED as error:
        return _refused(visit, wish, error)
    return attached(found.text.encode(), _MAP, f"{name}.geojson")


@router.post("/programme/files/tables")
def tables(visit: Visited, wish: Wished) -> Response:
    """Hand out everything as plain tables in one zip."""
    _check_lead(visit)
    name = file_name(visit.programme.settings.name, "tables")
    try:
        rule = _rule(wish)
        named = check_choice(wish.people, "people", tuple(_PEOPLE)) == "name"
        return made_file(
            lambda target: export_tables(visit.programme, ExportTables(target, rule, named)),
            _ZIP, f"{name}.zip",
        )  # fmt: skip
    except REFUSED as error:
        return _refused(visit, wish, error)
