"""Rows of the plain tables of places, people and surveys."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from functools import cached_property

from corallum.exchange.coordinates import CoordinateRule
from corallum.exchange.tables_out.bring_back import BackSlate
from corallum.exchange.tables_out.columns import Value
from corallum.records.programme import EVENT_KINDS, Event
from corallum.records.survey import Effort, Line, Slate, SurveyPlan
from corallum.store import people as people_store
from corallum.store import practice, surveys
from corallum.store.database import Connection
from corallum.store.photo_points import frames_of, points_of

__all__ = ["PeopleNumbers", "SurveyRows"]

Row = dict[str, Value]
_MOST_SETS = 1_000_000


class PeopleNumbers:
    """People by numbers, in the order in which they were added.

    Parameters
    ----------
    connection : Connection
        To read them with.
    named : bool
        Whether their names may be told.
    """

    def __init__(self, connection: Connection, *, named: bool) -> None:
        self.people = people_store.all_people(connection)
        self.named = named
        self._numbers = {one.id: number for number, one in enumerate(self.people, start=1)}

    def number(self, person: str | None) -> int | None:
        """Return the number of a person, None of nobody."""
        return None if person is None else self._numbers[person]

    def name(self, person: str) -> str:
        """Return the name of a person, whether it may be told or not."""
        return self.people[self._numbers[person] - 1].name

    def told(self, text: str) -> str:
        """Return a text that names somebody, or nothing where that may not be told."""
        return text if self.named else ""


class SurveyRows:
    """Makes the rows of each table.

    Parameters
    ----------
    connection : Connection
        To read with.
    numbers : PeopleNumbers
        Of the people.
    rule : CoordinateRule
        How exactly positions are told.
    """

    def __init__(
        self, connection: Connection, numbers: PeopleNumbers, rule: CoordinateRule
    ) -> None:
        self.connection, self.numbers, self.rule = connection, numbers, rule
        self.known_sites = people_store.all_sites(connection)
        self.known_events = tuple(
            sorted(people_store.all_events(connection, None, None), key=_when_and_what)
        )
        self.event_names = {one.id: one.name for one in self.known_events}

    @cached_property
    def plans(self) -> Mapping[str, SurveyPlan]:
        """Plans by survey, in the order of the surveys' events."""
        found = surveys.plans(self.connection)
        return {one.id: found[one.id] for one in self.known_events if one.id in found}

    def _note(self, note: str) -> str:
        """Return a note where positions are exact: else it may tell them."""
        return note if self.rule.exact else ""

    def sites(self) -> Iterator[Row]:
        """Yield sites by name."""
        for one in self.known_sites:
            at = self.rule.at(one.latitude, one.longitude) or (None, None)
            yield {
                "site": one.id, "name": one.name, "region": one.region, "latitude_deg": at[0],
                "longitude_deg": at[1], "note": self._note(one.note),
                "uncertainty_m": None if at[0] is None else self.rule.uncertainty_m(at[0]),
                "coordinates": self.rule.withheld or self.rule.generalised,
            }  # fmt: skip

    def events(self) -> Iterator[Row]:
        """Yield events, the oldest first."""
        for one in self.known_events:
            yield {
                "event": one.id, "kind": one.kind, "part_of": one.parent, "site": one.site,
                "name": one.name, "date": one.date, "note": self._note(one.note),
            }  # fmt: skip

    def people(self) -> Iterator[Row]:
        """Yield people in the order in which they were added."""
        for one in self.numbers.people:
            yield {
                "person": self.numbers.number(one.id), "name": self.numbers.told(one.name),
                "role": one.role, "errors": one.errors, "active": one.active,
                "added_at": one.added_at,
            }  # fmt: skip

    def qualifications(self) -> Iterator[Row]:
        """Yield tests, the oldest first."""
        for one in reversed(practice.all_qualifications(self.connection)):
            plan = {name: one.plan[name] for name in
                    ("good", "good_failed", "poor", "poor_passed", "days")}  # fmt: skip
            yield {
                "qualification": one.id, "person": self.numbers.number(one.person),
                "practice_set": one.practice_set, "genera": one.genera, "outcome": one.outcome,
                **plan, "started_at": one.started_at, "ended_at": one.ended_at,
                "expires_on": one.expires_on,
            }  # fmt: skip

    def practice_sets(self) -> Iterator[Row]:
        """Yield sets, the oldest first."""
        for one in reversed(practice.all_sets(self.connection, _MOST_SETS)):
            title = one.title if one.made_for is None else self.numbers.told(one.title)
            yield {
                "practice_set": one.id, "title": title, "purpose": one.purpose,
                "region": one.region, "made_for": self.numbers.number(one.made_for),
                "items": len(one.items), "reference_hash": one.reference_hash,
                "made_at": one.made_at, "open": one.open,
            }  # fmt: skip

    def practice_answers(self) -> Iterator[Row]:
        """Yield answers in the order given."""
        items = {one.id: one.items for one in practice.all_sets(self.connection, _MOST_SETS)}
        for one in practice.all_answers(self.connection):
            yield {
                "answer": one.history, "practice_set": one.practice_set, "item": one.item + 1,
                "genus": items[one.practice_set][one.item].genus,
                "person": self.numbers.number(one.person), "answered_at": one.at,
                "said": one.answer.genera, "confidence": one.answer.confidence,
                "seconds": one.answer.seconds, "score": one.score, "right": one.right,
                "qualification": one.qualification,
            }  # fmt: skip

    def permits(self) -> Iterator[Row]:
        """Yield permits by number."""
        for one in surveys.all_permits(self.connection):
            yield {
                "permit": one.id, "number": one.number, "holder": self.numbers.told(one.holder),
                "expires_on": one.expires_on, "covers": one.covers, "note": one.note,
            }  # fmt: skip

    def surveys(self) -> Iterator[Row]:
        """Yield plans of surveys, the oldest first."""
        for id_, plan in self.plans.items():
            observers = tuple(str(self.numbers.number(one)) for one in plan.observers)
            yield {
                "survey": id_, "name": self.event_names[id_], "method": plan.method,
                "transects_per_site": plan.transects_per_site, **_effort(plan.effort),
                "observers": observers, "second_share": plan.second_share,
                "follows": plan.follows, "same_transects": plan.same_transects,
                "sites_drawn": plan.sites_drawn, "scatter": plan.scatter, "seed": plan.seed,
                "note": plan.note,
            }  # fmt: skip

    def strata(self) -> Iterator[Row]:
        """Yield the sites of the strata of each survey."""
        for id_, plan in self.plans.items():
            for one in plan.strata:
                for site in one.sites:
                    yield {"survey": id_, "stratum": one.name, "area": one.area, "site": site}

    def _slates(self) -> Iterator[tuple[str, Slate, bool]]:
        """Yield the survey of each slate, the slate, and whether it stands."""
        for id_ in self.plans:
            found = surveys.slates_of(self.connection, id_, replaced=True)
            gone = {one.replaces for one in found}
            for one in found:
                yield id_, one, one.history not in gone

    def slates(self) -> Iterator[Row]:
        """Yield all slates, also those that others mend."""
        for survey, one, stands in self._slates():
            yield {
                "slate": one.history, "survey": survey, "transect": one.transect,
                "method": one.method, "observer": self.numbers.number(one.observer),
                "date": one.date, "depth_m": one.depth_m, **_effort(one.effort),
                "replaces": one.replaces, "stands": stands, "source": one.source,
                "note": one.note, "written_by": self.numbers.number(one.person),
                "written_at": one.at,
            }  # fmt: skip

    def lines(self) -> Iterator[Row]:
        """Yield all lines of all slates."""
        out: dict[str, set[tuple[int, int | None]]] = {}
        for survey, slate, stands in self._slates():
            if survey not in out:
                out[survey] = surveys.left_out_of(self.connection, survey)
            whole = stands and (slate.history, None) not in out[survey]
            for number, line in enumerate(slate.lines, start=1):
                counts = whole and (slate.history, number) not in out[survey]
                yield {"slate": slate.history, "line": number, **_line(line), "stands": counts}

    def flags(self) -> Iterator[Row]:
        """Yield decisions on flags in their order."""
        for survey in self.plans:
            for one in surveys.flag_answers_of(self.connection, survey):
                yield {
                    "decision_number": one.history, "slate": one.slate, "line": one.line,
                    "rule": one.rule, "decision": one.decision, "note": one.note,
                    "decided_by": self.numbers.number(one.person), "decided_at": one.at,
                }  # fmt: skip

    def drawn_records(self) -> Iterator[Row]:
        """Yield records that were drawn to be read again."""
        for survey in self.plans:
            for one in surveys.draws_of(self.connection, survey):
                for slate, line in one.records:
                    yield {
                        "draw": one.history, "survey": survey, "share": one.share,
                        "asked_of": self.numbers.number(one.asked_of), "slate": slate,
                        "line": line,
                    }  # fmt: skip

    def second_readings(self) -> Iterator[Row]:
        """Yield second readings of lines in their order."""
        for survey in self.plans:
            for one in surveys.readings_of(self.connection, survey):
                yield {
                    "reading": one.history, "slate": one.slate, "line": one.line,
                    "said": one.said, "label": one.label, "kind": one.kind, "note": one.note,
                    "read_by": self.numbers.number(one.person), "read_at": one.at,
                }  # fmt: skip

    def transect_photos(self) -> Iterator[Row]:
        """Yield photos of transects."""
        for one in self.known_events:
            if one.kind == "transect":
                for frame in frames_of(self.connection, one.id):
                    yield {"transect": one.id, "frame": frame.frame, "photo": frame.photo}

    def point_readings(self) -> Iterator[Row]:
        """Yield what was said of the points of photos."""
        framed = sorted({str(row["transect"]) for row in self.transect_photos()})
        for transect in framed:
            for person in self.numbers.people:
                for one in points_of(self.connection, transect, person.id):
                    yield {
                        "point_reading": one.history, "transect": transect, "frame": one.frame,
                        "point": one.point, "said": one.said,
                        "said_by": self.numbers.number(person.id),
                    }  # fmt: skip

    def back_slates(self, survey: str) -> Sequence[BackSlate]:
        """Return the slates of a survey that stand, with the names an import looks for."""
        sites = {one.id: one.name for one in self.known_sites}
        places = {one.id: sites[one.site] for one in self.known_events if one.site}
        return [
            BackSlate(
                places[one.transect], self.event_names[one.transect],
                self.numbers.name(one.observer), one,
            )
            for one in surveys.slates_of(self.connection, survey)
        ]  # fmt: skip


def _when_and_what(event: Event) -> tuple[str, int, str, str]:
    """Return what events are put in order by: day, kind from the widest, name."""
    return str(event.date or ""), EVENT_KINDS.index(event.kind), event.name, event.id


def _effort(effort: Effort) -> Row:
    """Return what is searched, by column."""
    return asdict(effort)


def _line(line: Line) -> Row:
    """Return a line by column."""
    found: Row = asdict(line)
    found["colony_mark"] = found.pop("colony")
    return found
