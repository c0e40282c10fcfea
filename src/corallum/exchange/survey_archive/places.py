"""Surveys, visits and transects as events, and where they are, as it is told."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field

from corallum.exchange.archive.guard import guarded
from corallum.exchange.archive.text_table import cell
from corallum.exchange.coordinates import CoordinateRule
from corallum.exchange.survey_archive.shape import EVENT_TYPES, MARK, PROTOCOLS
from corallum.records.programme import Event, Site
from corallum.records.survey import Effort, Method, ReadingDraw, SurveyPlan

__all__ = ["EventRows", "Placed", "effort_words", "place_site", "sample_size"]

_CM_PER_M, _CM2_PER_M2 = 100.0, 1e4
_NOTES = "notes withheld, as they may tell positions"


@dataclass(frozen=True, slots=True)
class Placed:
    """Where something is, as cells of a row, and what was done to that."""

    location: str = ""
    locality: str = ""
    position: tuple[str, str, str, str] = ("", "", "", "")
    generalised: str = ""
    withheld: str = ""

    def cells(self) -> tuple[str, ...]:
        """Return id and name of the site, latitude, longitude, datum and uncertainty."""
        return self.location, self.locality, *self.position


def place_site(site: Site, rule: CoordinateRule) -> Placed:
    """Return where a site is, as it is told."""
    at = rule.at(site.latitude, site.longitude)
    position = ("", "", "", "")
    if at is not None:
        uncertainty = rule.uncertainty_m(at[0])
        position = (cell(at[0]), cell(at[1]), "EPSG:4326", cell(uncertainty))
    withheld = "; ".join(filter(None, (rule.withheld, "" if rule.exact else _NOTES)))
    generalised = rule.generalised if at is not None else ""
    return Placed(site.id, guarded(site.name), position, generalised, withheld)


def sample_size(method: Method, effort: Effort, *, one_frame: bool = False) -> tuple[str, str]:
    """Return how much was sampled and its unit, both or neither; of one frame on request."""
    frames = 1 if one_frame else effort.frames
    area = effort.frame_area_m2
    quadrats = (frames, "quadrats") if area is None else (_times(frames, area), "square metre")
    value, unit = {
        Method.LINE: (_times(effort.length_cm, 1 / _CM_PER_M), "metre"),
        Method.POINTS: (effort.points, "points"),
        Method.PHOTO: (_times(frames, effort.points), "points"),
        Method.BELT: (_times(effort.length_cm, effort.width_cm, 1 / _CM2_PER_M2), "square metre"),
        Method.QUADRAT: quadrats,
        Method.QUADRAT_COVER: quadrats,
    }[method]
    return (cell(value), unit) if value else ("", "")


def _times(*factors: float | None) -> float | None:
    """Multiply numbers, unless one is missing; no more digits than anybody measures."""
    found = 1.0
    for one in factors:
        if one is None:
            return None
        found *= one
    return round(found, 6)


def effort_words(method: Method, effort: Effort) -> str:
    """Return what was searched, in words."""
    cm = effort.length_cm, effort.width_cm
    words = {
        Method.LINE: f"1 observer, tape of {_number(cm[0])} cm",
        Method.POINTS: f"1 observer, {_number(effort.points)} points",
        Method.PHOTO: f"{_number(effort.frames)} photos with {_number(effort.points)} points each",
        Method.BELT: f"1 observer, belt of {_number(cm[0])} by {_number(cm[1])} cm",
        Method.QUADRAT: f"1 observer, {_number(effort.frames)} quadrats",
        Method.QUADRAT_COVER: f"1 observer, {_number(effort.frames)} quadrats",
    }
    return words[method]


def _number(value: float | None) -> str:
    """Write a number in words' company."""
    return "an unknown number of" if value is None else f"{value:g}"


@dataclass(frozen=True, slots=True)
class EventRows:
    """Makes the rows of a survey and its visits and transects.

    Parameters
    ----------
    survey : Event
        The survey.
    plan : SurveyPlan
        Of it.
    sites : mapping of str to Site
        All of the programme.
    people : mapping of str to str
        Names by id.
    rule : CoordinateRule
        How exactly positions are told.
    placed : mapping of str to Placed
        Each site as it is told.
    """

    survey: Event
    plan: SurveyPlan
    sites: Mapping[str, Site]
    people: Mapping[str, str]
    rule: CoordinateRule
    placed: Mapping[str, Placed]
    draws: Sequence[ReadingDraw] = field(default=())

    def of_survey(self, days: tuple[dt.date, dt.date] | None) -> list[str]:
        """Return the row of the survey, with its plan among its properties."""
        about = {
            "archive": MARK, "plan": self._plan(),
            "draws": [
                {"id": one.history, "share": one.share, "strata": dict(one.strata),
                 "asked_of": None if one.asked_of is None else self.people[one.asked_of]}
                for one in self.draws
            ],
        }  # fmt: skip
        withheld = "" if self.rule.exact else _NOTES
        return self._row(
            self.survey, self._days(days, self.survey), ("", "", ""), Placed(withheld=withheld),
            ("", about),
        )  # fmt: skip

    def of_visit(self, visit: Event, days: tuple[dt.date, dt.date] | None) -> list[str]:
        """Return the row of a visit to a site."""
        site = self.sites[visit.site or ""]
        note = site.note if self.rule.exact else ""
        day = self._days(days, visit)
        placed = self.placed[site.id]
        return self._row(visit, day, ("", "", ""), placed, (note, {"region": site.region}))

    def of_transect(
        self,
        transect: Event,
        days: tuple[dt.date, dt.date] | None,
        depths: tuple[float | None, float | None],
    ) -> list[str]:
        """Return the row of a transect; what was planned to be searched on it."""
        placed = self.placed[transect.site or ""]
        effort = self.plan.effort
        size = (*sample_size(self.plan.method, effort), effort_words(self.plan.method, effort))
        row = self._row(transect, self._days(days, transect), size, placed, ("", None))
        row[15], row[16] = cell(depths[0]), cell(depths[1])
        return row

    def _row(
        self,
        event: Event,
        days: str,
        size: tuple[str, str, str],
        placed: Placed,
        more: tuple[str, object],
    ) -> list[str]:
        """Return the row of an event."""
        properties = "" if more[1] is None else json.dumps(
            more[1], sort_keys=True, ensure_ascii=False
        )  # fmt: skip
        note = event.note if self.rule.exact else ""
        return [
            event.id, event.parent or "", EVENT_TYPES[event.kind], guarded(event.name), days,
            PROTOCOLS[self.plan.method], *size, *placed.cells(), "", "", placed.generalised,
            placed.withheld, guarded(more[0]), guarded(note), properties,
        ]  # fmt: skip

    @staticmethod
    def _days(days: tuple[dt.date, dt.date] | None, event: Event) -> str:
        """Write the days of slates, else the day that was planned."""
        if days is None:
            return event.date.isoformat() if event.date else ""
        first, last = days
        return first.isoformat() if first == last else f"{first}/{last}"

    def _plan(self) -> dict[str, object]:
        """Return the plan, people by name, and sites by id."""
        values = asdict(self.plan)
        del values["survey"]
        values["method"] = self.plan.method.value
        values["observers"] = [self.people[one] for one in self.plan.observers]
        values["effort"] = {k: v for k, v in values["effort"].items() if v is not None}
        values["note"] = self.plan.note if self.rule.exact else ""
        values["date"] = self.survey.date.isoformat() if self.survey.date else None
        return values
