"""The places of a programme for a map: sites, transects, strata and colonies.

A transect is a line where both its ends are given; else it lies at its site, as a colony
does. Where positions are not told exactly, notes are left out too: they may tell them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from corallum.actions.unit_of_work import check_choice
from corallum.errors import Fault, InputError, NotFoundError
from corallum.exchange.coordinates import EXACT, CoordinateRule
from corallum.exchange.geojson import Place, Value, geojson_text
from corallum.exchange.sheet import shown
from corallum.exchange.transect_ends import TransectEnds
from corallum.records.colony_record import ColonyRow
from corallum.records.programme import Event, Site
from corallum.records.survey import Stratum, SurveyPlan
from corallum.store import colonies, people, surveys
from corallum.store.database import Connection
from corallum.store.programme import Programme

__all__ = ["KINDS", "ExportPlaces", "PlacesFound", "export_places"]

KINDS = ("site", "transect", "stratum", "colony")
_STEP = 1000
Degrees = tuple[float, float]


@dataclass(frozen=True, slots=True)
class ExportPlaces:
    """What to put on a map.

    Parameters
    ----------
    rule : CoordinateRule
        How exactly positions are told.
    kinds : tuple of str
        Of `KINDS`.
    ends : tuple of TransectEnds
        Where transects begin and end; by the names of survey, site and transect.
    file : str
        What to call the table of ends in a fault.
    survey : str
        Id of a survey, whose places alone are told; empty tells those of the programme.
    """

    rule: CoordinateRule = EXACT
    kinds: tuple[str, ...] = KINDS
    ends: tuple[TransectEnds, ...] = ()
    file: str = ""
    survey: str = ""


@dataclass(frozen=True, slots=True)
class PlacesFound:
    """The text, and how many places of each kind are in it, with and without a position."""

    text: str
    placed: Mapping[str, int]
    unplaced: Mapping[str, int]


@dataclass(slots=True)
class _Survey:
    """A survey's event, plan and transects, by visit the slates' depths."""

    event: Event
    plan: SurveyPlan
    transects: tuple[Event, ...]
    depths: dict[str, float | None] = field(default_factory=dict)


def export_places(programme: Programme, command: ExportPlaces) -> PlacesFound:
    """Write the places of a programme as GeoJSON.

    Raises
    ------
    InputError
        Where ends are given of a transect that isn't there, with every such row.
    NotFoundError
        Where there is no such survey.
    """
    kinds = {check_choice(kind, "kind of place", KINDS) for kind in command.kinds}
    with programme.read() as connection:
        writer = _Writer(connection, command)
        writer.check()
        makers = {
            "site": writer.sites, "transect": writer.transects, "stratum": writer.strata,
            "colony": writer.colonies,
        }  # fmt: skip
        places = [place for kind in KINDS if kind in kinds for place in makers[kind]()]
    placed = dict.fromkeys((kind for kind in KINDS if kind in kinds), 0)
    unplaced = dict(placed)
    for place in places:
        (placed if place.points else unplaced)[str(place.properties["kind"])] += 1
    return PlacesFound(geojson_text(places), placed, unplaced)


class _Writer:
    """Makes a place of each thing."""

    def __init__(self, connection: Connection, command: ExportPlaces) -> None:
        self.connection, self.rule, self.command = connection, command.rule, command
        self.known: dict[str, Site] = {one.id: one for one in people.all_sites(connection)}
        self.events = {one.id: one for one in people.all_events(connection, None, None)}
        if command.survey and command.survey not in surveys.plans(connection):
            raise NotFoundError("survey", command.survey)
        self.surveys = [
            self._survey(event, plan)
            for event, plan in sorted(
                ((self.events[id_], plan) for id_, plan in surveys.plans(connection).items()),
                key=lambda pair: (str(pair[0].date or ""), pair[0].name),
            )
            if command.survey in ("", event.id)
        ]
        self.ends = {(one.survey, one.site, one.transect): one.ends for one in command.ends}

    def _survey(self, event: Event, plan: SurveyPlan) -> _Survey:
        """Read what a survey's places need."""
        found = _Survey(event, plan, surveys.transects_of(self.connection, event.id))
        for slate in surveys.slates_of(self.connection, event.id):
            found.depths.setdefault(slate.transect, slate.depth_m)
        return found

    def _names(self, survey: _Survey, transect: Event) -> tuple[str, str, str]:
        """Return the names by which a transect's ends are given."""
        site = self.known[transect.site].name if transect.site else ""
        return survey.event.name, site, transect.name

    def check(self) -> None:
        """Refuse ends of transects that are not there."""
        there = {self._names(one, transect) for one in self.surveys for transect in one.transects}
        faults = [
            Fault(self.command.file, f"row {one.row}", "a transect of this programme",
                  shown(f"{one.survey}, {one.site}, {one.transect}"), "Mend the names.")
            for one in self.command.ends
            if (one.survey, one.site, one.transect) not in there
        ]  # fmt: skip
        if faults:
            raise InputError(faults)

    def _position(self, site: str | None) -> tuple[Degrees, ...]:
        """Return the position of a site as it is told."""
        found = self.known.get(site or "")
        at = None if found is None else self.rule.at(found.latitude, found.longitude)
        return () if at is None else (at,)

    def _told(self, position: str) -> dict[str, str]:
        """Say what a position is of, and what was done to it."""
        said = self.rule.withheld or self.rule.generalised or "coordinates as kept"
        return {"position_of": position, "coordinates": said}

    def _off(self, points: tuple[Degrees, ...]) -> dict[str, int]:
        """Say how far rounded points may lie off, in metres; nothing of exact ones."""
        far = [self.rule.uncertainty_m(latitude) for latitude, _ in points]
        return {"uncertainty_m": max(one for one in far if one is not None)} if any(far) else {}

    def _note(self, note: str) -> dict[str, str]:
        """Return a note, where it may be told."""
        return {"note": note} if self.rule.exact else {}

    def _is_of(self, event: str | None) -> bool:
        """Whether an event is the survey asked for, or a part of it."""
        while event is not None and event != self.command.survey:
            found = self.events.get(event)
            event = None if found is None else found.parent
        return event is not None

    def _used(self) -> set[str | None]:
        """Return the sites that are planned or were dived."""
        planned = {id_ for one in self.surveys for s in one.plan.strata for id_ in s.sites}
        return planned | {each.site for one in self.surveys for each in one.transects}

    def sites(self) -> Iterator[Place]:
        """Yield the sites by name."""
        used = self._used() if self.command.survey else set(self.known)
        for one in self.known.values():
            if one.id not in used:
                continue
            about = {"kind": "site", "name": one.name, "region": one.region}
            at = self._position(one.id)
            told: dict[str, Value] = {
                **about,
                **self._note(one.note),
                **self._told("the site"),
                **self._off(at),
            }
            yield Place(f"site {one.id}", at, told)

    def transects(self) -> Iterator[Place]:
        """Yield the transects of each survey."""
        for survey in self.surveys:
            for one in survey.transects:
                yield self._transect(survey, one)

    def _transect(self, survey: _Survey, one: Event) -> Place:
        """Return one transect: a line between its ends, or a point at its site."""
        name, site, _ = names = self._names(survey, one)
        ends = self.ends.get(names)
        points = self._position(one.site)
        of = "the site of the transect"
        if ends is not None:
            told = [at for at in (self.rule.at(*end) for end in ends) if at is not None]
            # Rounded ends are no line that anybody laid: one point is enough.
            points, of = (tuple(told), "both ends of the transect") if self.rule.exact else (
                tuple(told[:1]), "the beginning of the transect"
            )  # fmt: skip
        stratum = next((s.name for s in survey.plan.strata if one.site in s.sites), None)
        about = {
            "kind": "transect", "name": one.name, "survey": name, "site": site,
            "stratum": stratum, "method": survey.plan.method.value,
            "date": one.date.isoformat() if one.date else None,
            "depth_m": survey.depths.get(one.id), "has_slate": one.id in survey.depths,
            **self._note(one.note), **self._told(of), **self._off(points),
        }  # fmt: skip
        return Place(f"transect {one.id}", points, about, line=len(points) == 2)

    def strata(self) -> Iterator[Place]:
        """Yield the strata of each survey, each the points of its sites."""
        for survey in self.surveys:
            for number, one in enumerate(survey.plan.strata, start=1):
                yield self._stratum(survey, one, f"stratum {survey.event.id} {number}")

    def _stratum(self, survey: _Survey, one: Stratum, id_: str) -> Place:
        """Return one stratum."""
        points = tuple(point for site in one.sites for point in self._position(site))
        names = tuple(self.known[site].name for site in one.sites)
        about: dict[str, Value] = {
            "kind": "stratum", "name": one.name, "survey": survey.event.name, "area": one.area,
            "sites": names, **self._told("its sites"), **self._off(points),
        }  # fmt: skip
        return Place(id_, tuple(dict.fromkeys(points)), about)

    def colonies(self) -> Iterator[Place]:
        """Yield the colonies that stand, by number."""
        total = colonies.count_rows(self.connection, colonies.Wanted())
        rows: list[ColonyRow] = []
        for skip in range(0, total, _STEP):
            rows += colonies.list_rows(self.connection, colonies.Wanted(), skip=skip, most=_STEP)
        for row in sorted(rows, key=lambda row: row.number):
            if self.command.survey and not self._is_of(row.event):
                continue
            yield self._colony(row)

    def _colony(self, row: ColonyRow) -> Place:
        """Return one colony, at its site."""
        event = self.events.get(row.event or "")
        site, at = self.known.get(row.site or ""), self._position(row.site)
        about = {
            "kind": "colony", "number": row.number, "name": row.name,
            "identification": row.shown_name or None, "status": row.status,
            "probability": row.probability, "region": row.region,
            "site": site.name if site else None, "event": event.name if event else None,
            "seen_on": row.seen_on.isoformat(), **self._told("the site of the colony"),
            **self._off(at),
        }  # fmt: skip
        return Place(f"colony {row.id}", at, about)
